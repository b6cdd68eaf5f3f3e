package scenario

import (
	"errors"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/setting"
	"sternfan/unit"
)

// Limits on what can be meant, SI. They catch slips of unit and of digits; what makes
// sense within them is for the solver to say.
const (
	maxLine  = 10_000 // of line, m
	deepest  = 1000   // of anything in the water, m
	maxSpeed = 10     // m/s either way
	maxForce = 20_000 // N
	maxMass  = 1000   // kg
)

func lineLength() quantity[unit.Length] {
	return quantity[unit.Length]{dim: lengths, in: "ft", hi: maxLine}
}
func lineLengthAbove() quantity[unit.Length] {
	return quantity[unit.Length]{dim: lengths, in: "ft", hi: maxLine, above: true}
}
func depth() quantity[unit.Length] { return quantity[unit.Length]{dim: lengths, in: "ft", hi: deepest} }
func speed() quantity[unit.Speed] {
	return quantity[unit.Speed]{dim: speeds, in: "mph", lo: -maxSpeed, hi: maxSpeed}
}
func speedUp() quantity[unit.Speed] {
	return quantity[unit.Speed]{dim: speeds, in: "mph", hi: maxSpeed}
}
func angle(lo, hi float64) quantity[unit.Angle] {
	return quantity[unit.Angle]{dim: angles, in: "deg", lo: lo * float64(unit.Degree), hi: hi * float64(unit.Degree)}
}
func force() quantity[unit.Force] { return quantity[unit.Force]{dim: forces, in: "lb", hi: maxForce} }
func ratio(lo, hi float64) quantity[float64] {
	return quantity[float64]{dim: numbers, lo: lo, hi: hi}
}

var file = object[sternfan.Scenario]{
	name: "scenario",
	doc:  "A boat, its gear and rods, the water and the speed.",
	fields: []field[sternfan.Scenario]{
		key("version", "Version of this file format: 1.", whole{1, sternfan.FileVersion}, func(s *sternfan.Scenario) *int { return &s.Version }),
		key("name", "What this scenario is called.", words[string]{}, func(s *sternfan.Scenario) *string { return &s.Name }),
		key("note", "Free text. Demonstration files say here that they are invented.", words[string]{}, func(s *sternfan.Scenario) *string { return &s.Note }),
		key("boat", "The hull and the fixed points on it.", boat, func(s *sternfan.Scenario) *sternfan.Boat { return &s.Boat }),
		key("people", "People aboard, for the limits you entered yourself.", whole{0, 100}, func(s *sternfan.Scenario) *int { return &s.People }),
		key("water", "What the lures run in.", water, func(s *sternfan.Scenario) *sternfan.Water { return &s.Water }),
		need("speed", "The speed you know and where it was measured.", speedOf, func(s *sternfan.Scenario) *sternfan.Speed { return &s.Speed }),
		key("heading", "Where the bow points, clockwise from true north. Needed with a current.", angle(-360, 360), func(s *sternfan.Scenario) *sternfan.Q[unit.Angle] { return &s.Heading }),
		key("gear", "Your own gear, and changes to the built-in gear.", gear, func(s *sternfan.Scenario) *sternfan.Gear { return &s.Gear }),
		key("downriggers", "Cables and balls that rods clip to.", list[sternfan.Downrigger]{elem: downrigger}, func(s *sternfan.Scenario) *[]sternfan.Downrigger { return &s.Downriggers }),
		key("mast_boards", "Boards towed from a mast, with rods hung from releases on their lines.", list[sternfan.MastBoard]{elem: mastBoard}, func(s *sternfan.Scenario) *[]sternfan.MastBoard { return &s.MastBoards }),
		need("rods", "The rods, with what is tied on and how they are set.", list[sternfan.Rod]{elem: rod, min: 1, max: 64}, func(s *sternfan.Scenario) *[]sternfan.Rod { return &s.Rods }),
		key("wants", "What the spread is laid out for.", wants, func(s *sternfan.Scenario) *sternfan.Wants { return &s.Wants }),
		key("manoeuvre", "The turn you intend.", manoeuvre, func(s *sternfan.Scenario) *sternfan.Manoeuvre { return &s.Manoeuvre }),
		key("solver", "Tolerances.", solver, func(s *sternfan.Scenario) *sternfan.Solver { return &s.Solver }),
		key("uncertainty", "Changes to how uncertain an input is, by its name in the registry.", list[sternfan.Override]{elem: override}, func(s *sternfan.Scenario) *[]sternfan.Override { return &s.Uncertainty }),
		key("calibrations", "What your own measurements say, by name in the registry.", list[sternfan.Calibration]{elem: calibration}, func(s *sternfan.Scenario) *[]sternfan.Calibration { return &s.Calibrations }),
	},
	check: func(d *decoder, n *node, path string, s *sternfan.Scenario) {
		if len(s.Water.Current) > 0 && n.child("heading") == nil {
			d.missing(n, path, "heading", "With a current, give where the bow points, as in heading: 20 deg.")
		}
	},
}

var boat = object[sternfan.Boat]{
	name: "boat",
	doc:  "The hull and the fixed points on it. Points are measured from the transom's center line at the waterline.",
	fields: []field[sternfan.Boat]{
		key("name", "Her name.", words[string]{}, func(b *sternfan.Boat) *string { return &b.Name }),
		key("length", "Length over all.", quantity[unit.Length]{dim: lengths, in: "ft", hi: pointReach, above: true}, func(b *sternfan.Boat) *sternfan.Q[unit.Length] { return &b.Length }),
		key("beam", "Greatest width.", quantity[unit.Length]{dim: lengths, in: "ft", hi: pointReach, above: true}, func(b *sternfan.Boat) *sternfan.Q[unit.Length] { return &b.Beam }),
		key("holders", "Rod holders, known by where the tip of the rod in them is.", list[sternfan.Holder]{elem: holder}, func(b *sternfan.Boat) *[]sternfan.Holder { return &b.Holders }),
		key("booms", "Downrigger arms, known by where the cable leaves them.", list[sternfan.Boom]{elem: boom}, func(b *sternfan.Boat) *[]sternfan.Boom { return &b.Booms }),
		key("masts", "Masts for the tow lines of mast boards.", list[sternfan.Mast]{elem: mast}, func(b *sternfan.Boat) *[]sternfan.Mast { return &b.Masts }),
		key("hull", "Outline at the waterline, as points around it.", list[geom.Vec]{elem: point{}}, func(b *sternfan.Boat) *[]geom.Vec { return &b.Hull }),
		key("propellers", "Where the propellers are.", list[geom.Vec]{elem: point{}, max: 8}, func(b *sternfan.Boat) *[]geom.Vec { return &b.Propellers }),
		key("kickers", "Small motors beside the main one.", list[sternfan.Kicker]{elem: kicker, max: 4}, func(b *sternfan.Boat) *[]sternfan.Kicker { return &b.Kickers }),
		key("speed_bags", "Speed bags (drift socks) towed beside the hull.", list[sternfan.SpeedBag]{elem: speedBag, max: 8}, func(b *sternfan.Boat) *[]sternfan.SpeedBag { return &b.SpeedBags }),
	},
}

var holder = object[sternfan.Holder]{
	name: "holder",
	doc:  "A rod holder.",
	fields: []field[sternfan.Holder]{
		need("id", "Name that rods refer to.", ident{}, func(h *sternfan.Holder) *string { return &h.ID }),
		key("position", "What the crew calls it: port high diver, chute.", words[string]{}, func(h *sternfan.Holder) *string { return &h.Position }),
		need("tip", "Where the tip of the rod in it is.", point{}, func(h *sternfan.Holder) *geom.Vec { return &h.Tip }),
		key("bears", "Pull that it is meant to bear.", force(), func(h *sternfan.Holder) *sternfan.Q[unit.Force] { return &h.Bears }),
	},
}

var boom = object[sternfan.Boom]{
	name: "boom",
	doc:  "A downrigger's arm.",
	fields: []field[sternfan.Boom]{
		need("id", "Name that downriggers refer to.", ident{}, func(b *sternfan.Boom) *string { return &b.ID }),
		need("end", "Where the cable leaves it.", point{}, func(b *sternfan.Boom) *geom.Vec { return &b.End }),
	},
}

var mast = object[sternfan.Mast]{
	name: "mast",
	doc:  "A mast for mast boards.",
	fields: []field[sternfan.Mast]{
		need("id", "Name that mast boards refer to.", ident{}, func(m *sternfan.Mast) *string { return &m.ID }),
		need("top", "Where the tow line leaves it.", point{}, func(m *sternfan.Mast) *geom.Vec { return &m.Top }),
	},
}

var water = object[sternfan.Water]{
	name: "water",
	doc:  "What the lures run in. Everything has a default: fresh water, still, without a bottom.",
	fields: []field[sternfan.Water]{
		key("temperature", "One temperature, or a list by depth.", temperatureProfile{}, func(w *sternfan.Water) *[]sternfan.TempPoint { return &w.Temperature }),
		key("profile", "A file with the temperatures instead: CSV, or an NDBC .ocean text. It is in this file's folder or below.", profileName{}, func(w *sternfan.Water) *string { return &w.Profile }),
		key("current", "Current over ground by depth.", list[sternfan.CurrentPoint]{elem: currentPoint, max: 200}, func(w *sternfan.Water) *[]sternfan.CurrentPoint { return &w.Current }),
		key("density", "Density of the water; by temperature when not given.", quantity[unit.Density]{dim: densities, in: "g/cm3", lo: 100, hi: 20_000}, func(w *sternfan.Water) *sternfan.Q[unit.Density] { return &w.Density }),
		key("viscosity", "Dynamic viscosity; by temperature when not given.", quantity[unit.Viscosity]{dim: viscosities, in: "mPa s", hi: 10, above: true}, func(w *sternfan.Water) *sternfan.Q[unit.Viscosity] { return &w.Viscosity }),
		key("bottom", "Depth of the water; without it there is no bottom.", quantity[unit.Length]{dim: lengths, in: "ft", hi: deepest, above: true}, func(w *sternfan.Water) *sternfan.Q[unit.Length] { return &w.Bottom }),
		key("fleas", "Water fleas on the lines.", choice[string]{"light", "heavy"}, func(w *sternfan.Water) *string { return &w.Fleas }),
	},
	check: func(d *decoder, n *node, path string, w *sternfan.Water) {
		ascending(d, n, join(path, "temperature"), len(w.Temperature), func(i int) float64 { return float64(w.Temperature[i].Depth) })
		if p := n.child("profile"); p != nil && n.child("temperature") != nil {
			d.at(p, join(path, "profile"), sternfan.Fault{Code: "conflict", Text: "the water has one of temperature and profile", Hint: "keep one of the two"})
		}
		ascending(d, n, join(path, "current"), len(w.Current), func(i int) float64 { return float64(w.Current[i].Depth) })
	},
}

func ascending(d *decoder, n *node, path string, count int, depth func(int) float64) {
	items := n.find(path[len("water."):]).items
	for i := 1; i < count && i < len(items); i++ {
		if items[i].child("depth") != nil && items[i-1].child("depth") != nil && depth(i) <= depth(i-1) {
			at := items[i].child("depth")
			d.at(at, path, sternfan.Fault{Code: "out-of-order", Text: "depths must go down the list", Found: show(at.text) + " after " + show(items[i-1].child("depth").text),
				Hint: "sort the list by depth and give each depth once"})
		}
	}
}

var waterTemperature = plain[unit.Temperature]{quantity[unit.Temperature]{dim: temperatures, in: "F", lo: -5, hi: 60}, true}

var tempPoint = object[sternfan.TempPoint]{
	name: "temperature-point",
	doc:  "The temperature at a depth.",
	fields: []field[sternfan.TempPoint]{
		need("depth", "Depth of this point.", plain[unit.Length]{depth(), true}, func(p *sternfan.TempPoint) *unit.Length { return &p.Depth }),
		need("temp", "Temperature there.", waterTemperature, func(p *sternfan.TempPoint) *unit.Temperature { return &p.Temperature }),
	},
}

// temperatureProfile is a list of points, or one temperature for all depths.
type temperatureProfile struct{}

func (temperatureProfile) list() list[sternfan.TempPoint] {
	return list[sternfan.TempPoint]{elem: tempPoint, max: 200}
}

func (t temperatureProfile) decode(d *decoder, n *node, path string, into *[]sternfan.TempPoint) {
	if n.kind != kindScalar {
		t.list().decode(d, n, path, into)
		return
	}
	var p sternfan.TempPoint
	waterTemperature.decode(d, n, path, &p.Temperature)
	*into = []sternfan.TempPoint{p}
}

func (t temperatureProfile) encode(v *[]sternfan.TempPoint) *node {
	if len(*v) == 1 && (*v)[0].Depth == 0 {
		return waterTemperature.encode(&(*v)[0].Temperature)
	}
	return t.list().encode(v)
}

func (t temperatureProfile) schema(b *builder) *schema {
	return &schema{AnyOf: []*schema{waterTemperature.schema(b), t.list().schema(b)}}
}

var currentPoint = object[sternfan.CurrentPoint]{
	name: "current-point",
	doc:  "The current at a depth.",
	fields: []field[sternfan.CurrentPoint]{
		need("depth", "Depth of this point.", plain[unit.Length]{depth(), true}, func(p *sternfan.CurrentPoint) *unit.Length { return &p.Depth }),
		need("speed", "Speed over ground.", plain[unit.Speed]{speedUp(), true}, func(p *sternfan.CurrentPoint) *unit.Speed { return &p.Speed }),
		need("toward", "Where the water flows to, clockwise from true north.", plain[unit.Angle]{angle(-360, 360), true}, func(p *sternfan.CurrentPoint) *unit.Angle { return &p.Set }),
	},
}

var speedOf = object[sternfan.Speed]{
	name: "speed",
	doc:  "The speed you know and where it was measured.",
	fields: []field[sternfan.Speed]{
		need("given", "surface: through the water at the surface; ground: over ground; probe: through the water at a depth.",
			choice[sternfan.SpeedKind]{sternfan.SpeedSurface, sternfan.SpeedGround, sternfan.SpeedProbe}, func(s *sternfan.Speed) *sternfan.SpeedKind { return &s.Given }),
		need("value", "The speed; negative is backwards.", speed(), func(s *sternfan.Speed) *sternfan.Q[unit.Speed] { return &s.Value }),
		key("band", "Plus or minus this much, in waves: the true mean is inside 4 times in 5.", plain[unit.Speed]{speedUp(), false}, func(s *sternfan.Speed) *unit.Speed { return &s.Band }),
		key("at", "Depth of the probe.", depth(), func(s *sternfan.Speed) *sternfan.Q[unit.Length] { return &s.Depth }),
		key("ball", "Downrigger whose ball carries the probe.", ident{}, func(s *sternfan.Speed) *string { return &s.Ball }),
	},
	check: func(d *decoder, n *node, path string, s *sternfan.Speed) {
		at, ball := n.child("at"), n.child("ball")
		switch {
		case at != nil && ball != nil:
			d.at(ball, join(path, "ball"), sternfan.Fault{Code: "conflict", Text: "a probe has one of at and ball", Hint: "keep one of the two"})
		case s.Given == sternfan.SpeedProbe && at == nil && ball == nil:
			d.missing(n, path, "at", "Give the probe's depth (at), or the downrigger whose ball carries it (ball).")
		case s.Given != "" && s.Given != sternfan.SpeedProbe && at != nil:
			d.at(at, join(path, "at"), sternfan.Fault{Code: "conflict", Text: "only a probe's speed has a depth", Hint: "write given: probe, or remove at"})
		case s.Given != "" && s.Given != sternfan.SpeedProbe && ball != nil:
			d.at(ball, join(path, "ball"), sternfan.Fault{Code: "conflict", Text: "only a probe's speed has a ball", Hint: "write given: probe, or remove ball"})
		}
	},
}

var downrigger = object[sternfan.Downrigger]{
	name: "downrigger",
	doc:  "One cable with its ball.",
	fields: slices.Concat([]field[sternfan.Downrigger]{
		need("id", "Name that rods refer to.", ident{}, func(r *sternfan.Downrigger) *string { return &r.ID }),
		need("boom", "Boom that it runs over.", ident{}, func(r *sternfan.Downrigger) *string { return &r.Boom }),
		key("cable", "Line used as the cable (gear.lines).", ident{}, func(r *sternfan.Downrigger) *string { return &r.Cable }),
		need("ball", "The ball (gear.balls).", ident{}, func(r *sternfan.Downrigger) *string { return &r.Ball }),
	}, needed(settingFields(setting.Downrigger, func(r *sternfan.Downrigger) setting.On { return setting.On{Downrigger: r} })), []field[sternfan.Downrigger]{
		key("bottom", "The ball is meant to tick the bottom.", choice[string]{"intended"}, func(r *sternfan.Downrigger) *string { return &r.Bottom }),
	}),
}

var mastBoard = object[sternfan.MastBoard]{
	name: "mast board",
	doc:  "One board towed from a mast.",
	fields: slices.Concat([]field[sternfan.MastBoard]{
		need("id", "Name that rods refer to.", ident{}, func(m *sternfan.MastBoard) *string { return &m.ID }),
		need("mast", "Mast that it is towed from.", ident{}, func(m *sternfan.MastBoard) *string { return &m.Mast }),
		need("board", "The board (gear.boards).", ident{}, func(m *sternfan.MastBoard) *string { return &m.Board }),
		need("line", "Its tow line (gear.lines).", ident{}, func(m *sternfan.MastBoard) *string { return &m.Line }),
	}, needed(settingFields(setting.MastBoard, func(m *sternfan.MastBoard) setting.On { return setting.On{MastBoard: m} })), []field[sternfan.MastBoard]{
		need("side", "The side it runs to.", side{}, func(m *sternfan.MastBoard) *sternfan.Side { return &m.Side }),
	}),
}

var wants = object[sternfan.Wants]{
	name: "wants",
	doc:  "What the spread is laid out for.",
	fields: []field[sternfan.Wants]{
		key("bands", "Depth bands to put lures in.", list[sternfan.Band]{elem: band, max: 50}, func(w *sternfan.Wants) *[]sternfan.Band { return &w.Bands }),
		key("horizontal", "Margin to keep between lines to the side and astern.", depth(), func(w *sternfan.Wants) *sternfan.Q[unit.Length] { return &w.Horizontal }),
		key("vertical", "Margin to keep between lines up and down.", depth(), func(w *sternfan.Wants) *sternfan.Q[unit.Length] { return &w.Vertical }),
		key("caps", "Your own limits on lines and lures, with the day you entered them.", caps, func(w *sternfan.Wants) *sternfan.Caps { return &w.Caps }),
		key("species", "What is fished for: a name, or a map with temperatures of your own.", list[sternfan.Species]{elem: speciesEntry{}, max: 50}, func(w *sternfan.Wants) *[]sternfan.Species { return &w.Species }),
		key("lay", "How a whole spread is laid out.", lay, func(w *sternfan.Wants) *sternfan.Lay { return &w.Lay }),
	},
}

var band = object[sternfan.Band]{
	name: "band",
	doc:  "A depth band with its weight.",
	fields: []field[sternfan.Band]{
		need("from", "Upper edge.", plain[unit.Length]{depth(), true}, func(b *sternfan.Band) *unit.Length { return &b.From }),
		need("to", "Lower edge.", plain[unit.Length]{depth(), true}, func(b *sternfan.Band) *unit.Length { return &b.To }),
		key("weight", "How much it counts against the other bands; 1 when not given.", number{lo: 0, hi: 1000}, func(b *sternfan.Band) *float64 { return &b.Weight }),
		key("least", "At least so many lures in it.", whole{1, 64}, func(b *sternfan.Band) *int { return &b.Least }),
	},
	check: func(d *decoder, n *node, path string, b *sternfan.Band) {
		if to := n.child("to"); to != nil && n.child("from") != nil && b.To <= b.From {
			d.at(to, join(path, "to"), sternfan.Fault{Code: "out-of-order", Text: "a band ends deeper than it begins", Found: show(to.text), Hint: "swap from and to"})
		}
		if n.child("weight") == nil {
			b.Weight = 1
		}
	},
}

var caps = object[sternfan.Caps]{
	name: "caps",
	doc:  "Your own limits. Rules differ by water and year: enter what holds where you are.",
	fields: []field[sternfan.Caps]{
		key("lines", "Most lines in the water.", whole{1, 64}, func(c *sternfan.Caps) *int { return &c.Lines }),
		key("lures", "Most lures in the water.", whole{1, 500}, func(c *sternfan.Caps) *int { return &c.Lures }),
		key("dated", "The day you entered them.", words[string]{}, func(c *sternfan.Caps) *string { return &c.Dated }),
		key("source", "Where you read them.", words[string]{}, func(c *sternfan.Caps) *string { return &c.Source }),
	},
}

var manoeuvre = object[sternfan.Manoeuvre]{
	name: "manoeuvre",
	doc:  "The turn you intend.",
	fields: []field[sternfan.Manoeuvre]{
		key("to", "The side you turn to.", side{}, func(m *sternfan.Manoeuvre) *sternfan.Side { return &m.To }),
		key("angle", "How far the heading changes.", angle(0, 720), func(m *sternfan.Manoeuvre) *sternfan.Q[unit.Angle] { return &m.Angle }),
		key("radius", "Radius of the turn; 300 ft when neither it nor the rate is given.", lineLengthAbove(), func(m *sternfan.Manoeuvre) *sternfan.Q[unit.Length] { return &m.Radius }),
		key("rate", "Or the rate of turn, as in 1 deg/s.", rateOfTurn, func(m *sternfan.Manoeuvre) *sternfan.Q[unit.AngularRate] { return &m.Rate }),
		key("speed_to", "Speed at the end of it.", speed(), func(m *sternfan.Manoeuvre) *sternfan.Q[unit.Speed] { return &m.SpeedTo }),
	},
	check: func(d *decoder, n *node, path string, m *sternfan.Manoeuvre) {
		if rate := n.child("rate"); rate != nil && n.child("radius") != nil {
			d.at(rate, join(path, "rate"), sternfan.Fault{Code: "conflict", Text: "a turn has one of radius and rate", Hint: "keep one of the two"})
		}
	},
}

var rateOfTurn = quantity[unit.AngularRate]{dim: rates, in: "deg/s", hi: 0.5, above: true}

var solver = object[sternfan.Solver]{
	name: "solver",
	doc:  "Tolerances.",
	fields: []field[sternfan.Solver]{
		key("tolerance", "Relative to depth; 0.001 when not given.", number{lo: 1e-12, hi: 0.1}, func(s *sternfan.Solver) *float64 { return &s.Tolerance }),
	},
}

// registryValue is a value of the uncertainty registry, whose entries have any unit: a
// bare number is in the entry's SI unit. A pound may be a force or a mass, so it is not
// taken.
var registryValue = &dim{name: "registry value", parse: func(text string) (float64, error) {
	if v, err := parseNumber(text); err == nil {
		return v, nil
	}
	if _, err := unit.ParseForce(text); err == nil {
		if _, err := unit.ParseMass(text); err == nil {
			return 0, &unit.Error{Quantity: "registry value", Input: text, Problem: "may be a force or a mass", Allowed: []string{"N", "kg", "g"}, Hint: "write N for a force or kg for a mass"}
		}
	}
	for _, d := range []*dim{lengths, speeds, forces, massesDim, angles, areas, lineDensities, densities, viscosities, volumes, gives} {
		if v, err := d.parse(text); err == nil {
			return v, nil
		}
	}
	e := &unit.Error{Quantity: "registry value", Input: text, Problem: "has no unit that is known here", Allowed: []string{"a number in SI", "a number with its unit", "%"}}
	var fromUnit *unit.Error
	if _, err := unit.ParseLength(text); errors.As(err, &fromUnit) && len(fromUnit.Allowed) == 0 {
		e.Problem = fromUnit.Problem
	}
	return 0, e
}}

// spreadKeys are the keys sd and range of a map whose spread is read by the map's check.
func spreadKeys[S any](get func(*S) *sternfan.Scatter) []field[S] {
	keyOf := func(name, doc string, kinds ...sternfan.ScatterKind) field[S] {
		return field[S]{name: name, doc: doc,
			decode: func(*decoder, *node, string, *S) {},
			encode: func(v *S) *node {
				s := *get(v)
				for _, k := range kinds {
					if s.Kind != k {
						continue
					}
					if k == sternfan.LogNormal {
						return &node{kind: kindScalar, text: decimal(s.SD*100, 15) + " %"}
					}
					return &node{kind: kindScalar, text: numbers.write(s.SD, "")}
				}
				return nil
			},
			schema: func(*builder) *schema { return &schema{Type: []string{"number", "string"}} },
		}
	}
	return []field[S]{
		keyOf("sd", "One standard deviation: relative as in \"5 %\", with a unit, or a bare number in the entry's SI unit.", sternfan.Normal, sternfan.LogNormal),
		keyOf("range", "Half width of an equally likely range: with a unit, or a bare number in the entry's SI unit.", sternfan.Uniform),
	}
}

func registrySpread(d *decoder, n *node, path string, into *sternfan.Scatter) {
	if half := n.child("range"); half != nil && half.kind == kindScalar && len(half.text) > 0 && half.text[len(half.text)-1] == '%' {
		d.at(half, join(path, "range"), sternfan.Fault{Code: "wrong-unit", Text: "a range here cannot be relative", Found: show(half.text), Hint: "write sd for a relative uncertainty"})
		return
	}
	d.spread(n, path, registryValue, 0, into)
}

var override = object[sternfan.Override]{
	name: "uncertainty",
	doc:  "How uncertain one input of the registry is.",
	fields: append([]field[sternfan.Override]{
		need("name", "Name of the entry, as run --format json lists it.", words[string]{}, func(o *sternfan.Override) *string { return &o.Name }),
		key("source", "Where this comes from.", words[string]{}, func(o *sternfan.Override) *string { return &o.Source }),
	}, spreadKeys(func(o *sternfan.Override) *sternfan.Scatter { return &o.Scatter })...),
	check: func(d *decoder, n *node, path string, o *sternfan.Override) { registrySpread(d, n, path, &o.Scatter) },
}

var calibration = object[sternfan.Calibration]{
	name: "calibration",
	doc:  "What your own measurements say of one input of the registry.",
	fields: append([]field[sternfan.Calibration]{
		need("name", "Name of the entry, as run --format json lists it.", words[string]{}, func(c *sternfan.Calibration) *string { return &c.Name }),
		key("scale", "Multiplies the nominal value; 1 when not given.", number{lo: 1e-3, hi: 1e3}, func(c *sternfan.Calibration) *float64 { return &c.Scale }),
		key("shift", "Then added: with a unit, or a bare number in the entry's SI unit.", shift{}, func(c *sternfan.Calibration) *float64 { return &c.Shift }),
		key("dated", "The day of the measurement.", words[string]{}, func(c *sternfan.Calibration) *string { return &c.Dated }),
		key("source", "How it was measured.", words[string]{}, func(c *sternfan.Calibration) *string { return &c.Source }),
		key("off", "Keep it, but do not use it.", yesNo{}, func(c *sternfan.Calibration) *bool { return &c.Off }),
		key("correlation", "How it goes together with other calibrations in use.", list[sternfan.Correlation]{elem: correlation, max: 100}, func(c *sternfan.Calibration) *[]sternfan.Correlation { return &c.Corr }),
		key("mark", "Of the measurements that it was learnt from.", words[string]{}, func(c *sternfan.Calibration) *string { return &c.Mark }),
		key("readings", "The entries of the log that are among those measurements.", list[string]{elem: words[string]{}, max: 10_000}, func(c *sternfan.Calibration) *[]string { return &c.Readings }),
	}, spreadKeys(func(c *sternfan.Calibration) *sternfan.Scatter { return &c.Scatter })...),
	check: func(d *decoder, n *node, path string, c *sternfan.Calibration) {
		registrySpread(d, n, path, &c.Scatter)
	},
}

var correlation = object[sternfan.Correlation]{
	name: "correlation",
	doc:  "A tie between two inputs: what was measured knows them together better than each alone.",
	fields: []field[sternfan.Correlation]{
		need("with", "Name of the other entry.", words[string]{}, func(c *sternfan.Correlation) *string { return &c.With }),
		need("rho", "Correlation of the two.", number{lo: -0.9999, hi: 0.9999}, func(c *sternfan.Correlation) *float64 { return &c.Rho }),
	},
}

// shift is a registry value that may be of any unit.
type shift struct{}

func (shift) decode(d *decoder, n *node, path string, into *float64) {
	if v, ok := d.read(n, path, registryValue); ok {
		*into = v
	}
}

func (shift) encode(v *float64) *node {
	if *v == 0 {
		return nil
	}
	return &node{kind: kindScalar, text: numbers.write(*v, "")}
}

func (shift) schema(*builder) *schema { return &schema{Type: []string{"number", "string"}} }
