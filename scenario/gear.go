package scenario

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

var gear = object[sternfan.Gear]{
	name: "gear",
	doc:  "Your own gear. An item with the id of a built-in default changes only the fields it gives; another starts from the default named in from.",
	fields: []field[sternfan.Gear]{
		key("lines", "Lines, per unstretched length.", list[sternfan.Line]{elem: gearLine}, func(g *sternfan.Gear) *[]sternfan.Line { return &g.Lines }),
		key("reels", "Reels.", list[sternfan.Reel]{elem: gearReel}, func(g *sternfan.Gear) *[]sternfan.Reel { return &g.Reels }),
		key("divers", "Directional and slide-through divers.", list[sternfan.Diver]{elem: gearDiver}, func(g *sternfan.Gear) *[]sternfan.Diver { return &g.Divers }),
		key("boards", "In-line and mast boards.", list[sternfan.Board]{elem: gearBoard}, func(g *sternfan.Gear) *[]sternfan.Board { return &g.Boards }),
		key("balls", "Downrigger balls.", list[sternfan.Ball]{elem: gearBall}, func(g *sternfan.Gear) *[]sternfan.Ball { return &g.Balls }),
		key("weights", "In-line sinkers and clip-on weights.", list[sternfan.Weight]{elem: gearWeight}, func(g *sternfan.Gear) *[]sternfan.Weight { return &g.Weights }),
		key("attractors", "Flashers, dodgers, paddles.", list[sternfan.Attractor]{elem: gearAttractor}, func(g *sternfan.Gear) *[]sternfan.Attractor { return &g.Attractors }),
		key("lures", "Lures.", list[sternfan.Lure]{elem: gearLure}, func(g *sternfan.Gear) *[]sternfan.Lure { return &g.Lures }),
		key("leaders", "Named lengths of line.", list[sternfan.Leader]{elem: gearLeader}, func(g *sternfan.Gear) *[]sternfan.Leader { return &g.Leaders }),
		key("snubbers", "Short elastic sections.", list[sternfan.Snubber]{elem: gearSnubber}, func(g *sternfan.Gear) *[]sternfan.Snubber { return &g.Snubbers }),
	},
}

// item returns the keys that every piece of gear has.
func item[S any](get func(*S) *sternfan.Item, kinds ...string) []field[S] {
	var kind codec[string] = words[string]{}
	doc := "The kind of thing, in words."
	if len(kinds) > 0 {
		kind, doc = choice[string](kinds), "The kind of thing."
	}
	return []field[S]{
		need("id", "Name that rigs refer to.", ident{}, func(s *S) *string { return &get(s).ID }),
		key("from", "Built-in default that gives every field not given here.", ident{}, func(s *S) *string { return &get(s).From }),
		key("kind", doc, kind, func(s *S) *string { return &get(s).Kind }),
		key("attributes", "Free words for the log: color, finish, glow.", attributes{}, func(s *S) *map[string]string { return &get(s).Attributes }),
	}
}

// small is a length of the size of gear: up to 10 m.
func small() quantity[unit.Length] {
	return quantity[unit.Length]{dim: lengths, in: "mm", hi: 10, above: true}
}
func mass() quantity[unit.Mass] { return quantity[unit.Mass]{dim: massesDim, in: "oz", hi: maxMass} }
func area() quantity[unit.Area] { return quantity[unit.Area]{dim: areas, in: "in2", hi: 100} }
func volume() quantity[float64] { return quantity[float64]{dim: volumes, in: "cm3", hi: 10} }
func dense() quantity[unit.Density] {
	return quantity[unit.Density]{dim: densities, in: "g/cm3", hi: 25_000, above: true}
}
func stiffness() quantity[unit.Force] {
	return quantity[unit.Force]{dim: forces, in: "N", hi: 1e9, above: true}
}
func perLength() quantity[unit.LinearDensity] {
	return quantity[unit.LinearDensity]{dim: lineDensities, in: "g/m", hi: 100}
}

var gearLine = object[sternfan.Line]{
	name: "line",
	doc:  "A line, per unstretched length.",
	fields: append(item(func(l *sternfan.Line) *sternfan.Item { return &l.Item }, "mono", "fluorocarbon", "braid", "lead-core", "copper", "weighted-steel", "wire", "cable"),
		key("diameter", "Outside diameter.", small(), func(l *sternfan.Line) *sternfan.Q[unit.Length] { return &l.Diameter }),
		key("mass", "Mass per length, in air.", perLength(), func(l *sternfan.Line) *sternfan.Q[unit.LinearDensity] { return &l.Mass }),
		key("stiffness", "EA: pull over strain.", stiffness(), func(l *sternfan.Line) *sternfan.Q[unit.Force] { return &l.Stiffness }),
		key("strength", "Strength on the label. It is less once the line is kinked, nicked or knotted.", force(), func(l *sternfan.Line) *sternfan.Q[unit.Force] { return &l.Strength }),
		key("normal", "Drag coefficient across the line, on its diameter; by Reynolds number when not given.", ratio(0, 10), func(l *sternfan.Line) *sternfan.Q[float64] { return &l.Normal }),
		key("normal_scale", "Multiplies that coefficient: strumming and roughness; 1 when not given.", ratio(0, 10), func(l *sternfan.Line) *sternfan.Q[float64] { return &l.NormalScale }),
		key("friction", "Drag coefficient along the line, on its wetted surface.", ratio(0, 1), func(l *sternfan.Line) *sternfan.Q[float64] { return &l.Friction }),
		key("solid", "A solid wire, which does not run through a slide-through diver.", yesNoQ{}, func(l *sternfan.Line) *sternfan.Q[float64] { return &l.Solid }),
	),
}

var gearReel = object[sternfan.Reel]{
	name: "reel",
	doc:  "A reel and its spool.",
	fields: append(item(func(r *sternfan.Reel) *sternfan.Item { return &r.Item }),
		key("arbor", "Diameter of the bare spool.", small(), func(r *sternfan.Reel) *sternfan.Q[unit.Length] { return &r.Arbor }),
		key("flange", "Diameter at which the spool is full.", small(), func(r *sternfan.Reel) *sternfan.Q[unit.Length] { return &r.Flange }),
		key("width", "Width inside the spool.", small(), func(r *sternfan.Reel) *sternfan.Q[unit.Length] { return &r.Width }),
		key("backing", "Line under the main line (gear.lines).", ident{}, func(r *sternfan.Reel) *string { return &r.Backing }),
		key("backing_length", "How much of it.", lineLength(), func(r *sternfan.Reel) *sternfan.Q[unit.Length] { return &r.BackingLength }),
		key("capacity", "Length of main line on it.", lineLength(), func(r *sternfan.Reel) *sternfan.Q[unit.Length] { return &r.Capacity }),
	),
}

var gearDiver = object[sternfan.Diver]{
	name: "diver",
	doc:  "A directional or slide-through diver.",
	fields: append(item(func(v *sternfan.Diver) *sternfan.Item { return &v.Item }, "directional", "slide-through"),
		key("diameter", "Diameter of the disc.", small(), func(v *sternfan.Diver) *sternfan.Q[unit.Length] { return &v.Diameter }),
		key("ring_diameter", "Diameter with the ring on; without it the diver takes no ring.", small(), func(v *sternfan.Diver) *sternfan.Q[unit.Length] { return &v.RingDiameter }),
		key("mass", "Mass in air.", mass(), func(v *sternfan.Diver) *sternfan.Q[unit.Mass] { return &v.Mass }),
		key("volume", "Volume.", volume(), func(v *sternfan.Diver) *sternfan.Q[float64] { return &v.Volume }),
		key("normal_coefficient", "Normal force coefficient at 45 deg, on the disc's area.", ratio(0, 10), func(v *sternfan.Diver) *sternfan.Q[float64] { return &v.NormalCoefficient }),
		key("incidence", "Incidence without a leader's pull.", angle(0, 90), func(v *sternfan.Diver) *sternfan.Q[unit.Angle] { return &v.Incidence }),
		key("give", "Incidence lost to the leader's pull.", quantity[float64]{dim: gives, in: "deg/lb", hi: 1}, func(v *sternfan.Diver) *sternfan.Q[float64] { return &v.Give }),
		dialRows,
		key("dial_spread", "How far off the whole table may be, relative: 15 %.", relative{}, func(v *sternfan.Diver) *sternfan.Scatter { return &v.DialTiltScatter }),
		key("ratchet", "The dial clicks and holds; off: it turns freely.", yesNoQ{}, func(v *sternfan.Diver) *sternfan.Q[float64] { return &v.Ratchet }),
		key("tripped_area", "Drag area with the arm open.", area(), func(v *sternfan.Diver) *sternfan.Q[unit.Area] { return &v.TrippedArea }),
		key("trip_load", "Pull at which the arm opens.", force(), func(v *sternfan.Diver) *sternfan.Q[unit.Force] { return &v.TripLoad }),
	),
}

// mark is one row of a diver's dial table.
type mark struct {
	mark float64
	tilt unit.Angle
}

var dialMark = object[mark]{
	name: "dial-mark",
	doc:  "The tilt at a mark of the dial.",
	fields: []field[mark]{
		need("mark", "The mark.", number{lo: 0, hi: 10, always: true}, func(m *mark) *float64 { return &m.mark }),
		need("tilt", "Tilt (roll) there.", plain[unit.Angle]{angle(0, 90), true}, func(m *mark) *unit.Angle { return &m.tilt }),
	},
}

// dialTable is the list of marks, which the domain keeps as two columns.
type dialTable struct{}

func (dialTable) list() list[mark] { return list[mark]{elem: dialMark, min: 2, max: 50} }

func (t dialTable) decode(d *decoder, n *node, path string, into *sternfan.Diver) {
	var rows []mark
	before := d.count()
	t.list().decode(d, n, path, &rows)
	if d.count() > before {
		return
	}
	for i, r := range rows {
		if i > 0 && r.mark <= rows[i-1].mark {
			d.at(n.items[i], fmt.Sprintf("%s[%d]", path, i), sternfan.Fault{Code: "out-of-order", Text: "a dial's marks ascend", Found: decimal(r.mark, 6) + " after " + decimal(rows[i-1].mark, 6)})
			return
		}
		into.DialMarks = append(into.DialMarks, r.mark)
		into.DialTilt = append(into.DialTilt, r.tilt)
	}
}

// dialRows is the dial's key: it is read into two columns of the diver and not into one
// field of its own, so it is revised with the diver.
var dialRows = func() field[sternfan.Diver] {
	f := key("dial", "Tilt at each mark of the dial.", dialTable{}, func(v *sternfan.Diver) *sternfan.Diver { return v })
	f.revise = nil
	return f
}()

func (t dialTable) encode(v *sternfan.Diver) *node {
	rows := make([]mark, min(len(v.DialMarks), len(v.DialTilt)))
	for i := range rows {
		rows[i] = mark{v.DialMarks[i], v.DialTilt[i]}
	}
	return t.list().encode(&rows)
}

func (t dialTable) schema(b *builder) *schema { return t.list().schema(b) }

// relative is a relative uncertainty: "15 %".
type relative struct{}

func (relative) decode(d *decoder, n *node, path string, into *sternfan.Scatter) {
	if !d.want(n, path, kindScalar) {
		return
	}
	text, percent := strings.CutSuffix(strings.TrimSpace(n.text), "%")
	v, err := parseNumber(text)
	if !percent || err != nil || v < 0 || v > 300 {
		d.at(n, path, sternfan.Fault{Code: "bad-number", Text: "this must be a percentage", Found: show(n.text), Allowed: []string{"0 % to 300 %"}})
		return
	}
	*into = sternfan.Rel(v / 100)
}

func (relative) encode(v *sternfan.Scatter) *node {
	if v.Kind != sternfan.LogNormal {
		return nil
	}
	return &node{kind: kindScalar, text: decimal(v.SD*100, 15) + " %"}
}

func (relative) schema(*builder) *schema {
	return &schema{Type: "string", Pattern: `^\s*[0-9.]+\s*%\s*$`}
}

var gearBoard = object[sternfan.Board]{
	name: "planer board",
	doc:  "An in-line or mast board.",
	fields: append(item(func(b *sternfan.Board) *sternfan.Item { return &b.Item }, "in-line", "mast"),
		key("mass", "Mass in air.", mass(), func(b *sternfan.Board) *sternfan.Q[unit.Mass] { return &b.Mass }),
		key("volume", "Volume when fully under.", volume(), func(b *sternfan.Board) *sternfan.Q[float64] { return &b.Volume }),
		key("height", "Height over which it immerses.", small(), func(b *sternfan.Board) *sternfan.Q[unit.Length] { return &b.Height }),
		key("lift_area", "Lift coefficient times area, to the side.", area(), func(b *sternfan.Board) *sternfan.Q[unit.Area] { return &b.LiftArea }),
		key("drag_area", "Drag coefficient times area.", area(), func(b *sternfan.Board) *sternfan.Q[unit.Area] { return &b.DragArea }),
		key("trip_load", "Pull at which its clip lets go.", force(), func(b *sternfan.Board) *sternfan.Q[unit.Force] { return &b.TripLoad }),
	),
}

var gearBall = object[sternfan.Ball]{
	name: "ball",
	doc:  "A downrigger's weight.",
	fields: append(item(func(b *sternfan.Ball) *sternfan.Item { return &b.Item }, "round", "finned", "torpedo"),
		key("mass", "Mass in air.", quantity[unit.Mass]{dim: massesDim, in: "lb", hi: maxMass}, func(b *sternfan.Ball) *sternfan.Q[unit.Mass] { return &b.Mass }),
		key("density", "Density of its material.", dense(), func(b *sternfan.Ball) *sternfan.Q[unit.Density] { return &b.Density }),
		key("drag_area", "Drag coefficient times area; for a round ball by its size when not given.", area(), func(b *sternfan.Ball) *sternfan.Q[unit.Area] { return &b.DragArea }),
	),
}

var gearWeight = object[sternfan.Weight]{
	name: "weight",
	doc:  "An in-line sinker or clip-on weight.",
	fields: append(item(func(w *sternfan.Weight) *sternfan.Item { return &w.Item }),
		key("mass", "Mass in air.", mass(), func(w *sternfan.Weight) *sternfan.Q[unit.Mass] { return &w.Mass }),
		key("density", "Density of its material.", dense(), func(w *sternfan.Weight) *sternfan.Q[unit.Density] { return &w.Density }),
		key("drag_area", "Drag coefficient times area.", area(), func(w *sternfan.Weight) *sternfan.Q[unit.Area] { return &w.DragArea }),
	),
}

var gearAttractor = object[sternfan.Attractor]{
	name: "attractor",
	doc:  "A flasher, dodger or paddle; kind is how it moves.",
	fields: append(item(func(a *sternfan.Attractor) *sternfan.Item { return &a.Item }, "rotating", "swaying"),
		key("plate_area", "Area of the plate.", area(), func(a *sternfan.Attractor) *sternfan.Q[unit.Area] { return &a.PlateArea }),
		key("coefficient", "Drag coefficient on that area as it moves.", ratio(0, 10), func(a *sternfan.Attractor) *sternfan.Q[float64] { return &a.Coefficient }),
		key("mass", "Mass in air.", mass(), func(a *sternfan.Attractor) *sternfan.Q[unit.Mass] { return &a.Mass }),
		key("density", "Density of its material.", dense(), func(a *sternfan.Attractor) *sternfan.Q[unit.Density] { return &a.Density }),
		key("length", "Length.", small(), func(a *sternfan.Attractor) *sternfan.Q[unit.Length] { return &a.Length }),
	),
}

var gearLure = object[sternfan.Lure]{
	name: "lure",
	doc:  "A lure.",
	fields: append(item(func(l *sternfan.Lure) *sternfan.Item { return &l.Item }, "spoon", "plug", "lipped-plug", "fly", "bait"),
		key("mass", "Mass in air.", mass(), func(l *sternfan.Lure) *sternfan.Q[unit.Mass] { return &l.Mass }),
		key("volume", "Volume.", volume(), func(l *sternfan.Lure) *sternfan.Q[float64] { return &l.Volume }),
		key("drag_area", "Drag coefficient times area.", area(), func(l *sternfan.Lure) *sternfan.Q[unit.Area] { return &l.DragArea }),
		key("down_area", "Lift coefficient times area of a lip, downward; from the rated depth when not given.", area(), func(l *sternfan.Lure) *sternfan.Q[unit.Area] { return &l.DownArea }),
		key("rated", "A depth that a lipped plug reaches.", rating, func(l *sternfan.Lure) *sternfan.Rating { return &l.Rated }),
		key("speed_lo", "Slowest speed at which it works.", speedUp(), func(l *sternfan.Lure) *sternfan.Q[unit.Speed] { return &l.SpeedLo }),
		key("speed_hi", "Fastest speed at which it works.", speedUp(), func(l *sternfan.Lure) *sternfan.Q[unit.Speed] { return &l.SpeedHi }),
	),
	check: func(d *decoder, n *node, path string, l *sternfan.Lure) {
		if l.SpeedLo.Given && l.SpeedHi.Given && l.SpeedHi.Value <= l.SpeedLo.Value {
			d.at(n.child("speed_hi"), join(path, "speed_hi"), sternfan.Fault{Code: "out-of-order", Text: "a lure's speed window ends above its beginning", Hint: "swap speed_lo and speed_hi"})
		}
	},
}

var rating = object[sternfan.Rating]{
	name: "rating",
	doc:  "A depth that a lipped plug reaches, and how it was found.",
	fields: []field[sternfan.Rating]{
		need("depth", "Depth reached.", depth(), func(r *sternfan.Rating) *sternfan.Q[unit.Length] { return &r.Depth }),
		need("line_out", "On this much line.", lineLengthAbove(), func(r *sternfan.Rating) *sternfan.Q[unit.Length] { return &r.LineOut }),
		key("line_diameter", "Of this diameter.", small(), func(r *sternfan.Rating) *sternfan.Q[unit.Length] { return &r.LineDiameter }),
		key("speed", "At this speed.", speedUp(), func(r *sternfan.Rating) *sternfan.Q[unit.Speed] { return &r.Speed }),
	},
}

var gearLeader = object[sternfan.Leader]{
	name: "leader",
	doc:  "A named length of line.",
	fields: append(item(func(l *sternfan.Leader) *sternfan.Item { return &l.Item }),
		key("line", "Line that it is made of (gear.lines).", ident{}, func(l *sternfan.Leader) *string { return &l.Line }),
		key("length", "Its length.", lineLength(), func(l *sternfan.Leader) *sternfan.Q[unit.Length] { return &l.Length }),
	),
}

var gearSnubber = object[sternfan.Snubber]{
	name: "snubber",
	doc:  "A short elastic section.",
	fields: append(item(func(s *sternfan.Snubber) *sternfan.Item { return &s.Item }),
		key("length", "Length at rest.", quantity[unit.Length]{dim: lengths, in: "in", hi: 10, above: true}, func(s *sternfan.Snubber) *sternfan.Q[unit.Length] { return &s.Length }),
		key("diameter", "Diameter.", small(), func(s *sternfan.Snubber) *sternfan.Q[unit.Length] { return &s.Diameter }),
		key("mass", "Mass per length, in air.", perLength(), func(s *sternfan.Snubber) *sternfan.Q[unit.LinearDensity] { return &s.Mass }),
		key("stiffness", "EA: pull over strain.", stiffness(), func(s *sternfan.Snubber) *sternfan.Q[unit.Force] { return &s.Stiffness }),
	),
}

// essentials are the fields that gear which starts from nothing cannot do without.
var essentials = map[string][]string{
	"lines":    {"diameter", "mass"},
	"divers":   {"diameter"},
	"balls":    {"mass"},
	"weights":  {"mass"},
	"leaders":  {"line"},
	"snubbers": {"length"},
}

func without(n *node, names []string) []string {
	return slices.DeleteFunc(slices.Clone(names), func(name string) bool { return n.child(name) != nil })
}
