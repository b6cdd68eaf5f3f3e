package tackle

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
)

// grower adds nodes and lines to a group.
type grower struct {
	r    *resolver
	g    *Group
	rod  int
	set  *sternfan.Settings
	info *RodInfo
	side sternfan.Side // side setting, or the holder's
}

func (w *grower) node(n nodeTpl, ref NodeRef) int {
	w.g.nodes = append(w.g.nodes, n)
	w.g.Nodes = append(w.g.Nodes, ref)
	return len(w.g.nodes) - 1
}

func freeNode() nodeTpl { return nodeTpl{pull: -1} }

func fixedNode(at geom.Vec) nodeTpl { return nodeTpl{kind: tow.Fixed, at: at, pull: -1} }

// touch notes that an entry moves the group.
func (w *grower) touch(i int) int {
	if !slices.Contains(w.g.touches, i) {
		w.g.touches = append(w.g.touches, i)
	}
	return i
}

func (w *grower) entry(first, target, param string, scope sternfan.Scope, nominal float64, unitName string, s sternfan.Scatter, source string) int {
	return w.touch(w.r.reg.add(first, target, param, scope, nominal, unitName, s, source))
}

// device adds an entry of a piece of gear from its quantity.
func quantity[U ~float64](w *grower, first, target, param string, v sternfan.Q[U], unitName string) int {
	return w.entry(first, target, param, sternfan.ScopeDevice, v.SI(), unitName, v.Scatter, v.Source)
}

func (w *grower) body(node int, b bodyTpl) {
	w.g.bodies = append(w.g.bodies, b)
	w.g.nodes[node].own = append(w.g.nodes[node].own, len(w.g.bodies)-1)
}

// none is a body template without entries.
func none(b hydro.Body) bodyTpl {
	b.Friction = bottomFriction
	return bodyTpl{body: b, drag: -1, mass: -1, lift: -1, cn: -1, incidence: -1, give: -1, dial: -1, tilt: -1}
}

// gearLine makes a line template from a piece of gear.
func (w *grower) gearLine(l *sternfan.Line, from, to int, n length, open bool) lineTpl {
	t := lineTpl{from: from, to: to, length: n, open: open, mass: -1, counterAt: -1, leadAt: -1}
	t.props = hydro.Line{Diameter: l.Diameter.SI(), Mass: l.Mass.SI(), EA: l.Stiffness.SI(), Auto: !l.Normal.Given, Cn: l.Normal.SI(),
		Scale: l.NormalScale.SI(), Cf: l.Friction.SI()}
	t.diameter = quantity(w, "line", l.ID, ParamDiameter, l.Diameter, "m")
	scale := l.NormalScale
	if l.Normal.Given && scale.Scatter == (sternfan.Scatter{}) {
		scale.Scatter = l.Normal.Scatter
	}
	t.normal = quantity(w, "line", l.ID, ParamNormal, scale, "times")
	t.friction = quantity(w, "line", l.ID, ParamFriction, l.Friction, "on the wetted area")
	t.follow = len(l.Mass.Source) >= len(massFollows) && l.Mass.Source[:len(massFollows)] == massFollows
	switch l.Kind {
	case lineMono, lineFluorocarbon, lineBraid:
	default:
		t.mass = quantity(w, "line", l.ID, ParamMass, l.Mass, "kg/m")
	}
	return t
}

func snubberLine(s *sternfan.Snubber, from, to int) lineTpl {
	return lineTpl{from: from, to: to, length: length{fixed: s.Length.SI()}, diameter: -1, normal: -1, friction: -1, mass: -1, counterAt: -1, leadAt: -1,
		props: hydro.Line{Diameter: s.Diameter.SI(), Mass: s.Mass.SI(), EA: s.Stiffness.SI(), Auto: true, Cf: .02}}
}

// rel80 is the standard deviation, as a fraction, of a counter or a tape.
const (
	counterRel = 0.015
	leadRel    = 0.02
	loadRel    = 0.15
	cableRel   = 0.01
)

// relative turns the spread of a length into that of a factor on it.
func relative[U ~float64](v sternfan.Q[U], fallback float64, source string) (sternfan.Scatter, string) {
	switch {
	case v.Scatter.Kind == sternfan.LogNormal:
		return v.Scatter, v.Source
	case v.Scatter.Kind != sternfan.Exact && v.SI() > 0:
		s := v.Scatter
		s.SD /= v.SI()
		return s, v.Source
	}
	return sternfan.Rel(fallback), source
}

func (w *grower) id() string { return w.r.sc.Rods[w.rod].ID }

func (w *grower) addLine(t lineTpl, ref LineRef) int {
	if t.length.counter != 0 {
		s, src := relative(w.set.LineOut, counterRel, "assumed: a counter is 1.5 % off")
		t.counterAt = w.entry("rod", w.id(), ParamCounter, sternfan.ScopeRod, 1, "times", s, src)
	}
	if t.length.lead != 0 {
		s, src := relative(w.set.Lead, leadRel, "assumed: a lead is measured within 2 %")
		t.leadAt = w.entry("rod", w.id(), ParamLead, sternfan.ScopeRod, 1, "times", s, src)
	}
	ref.Open = t.open
	if !t.open {
		ref.Nominal = t.length.nominal()
	}
	w.g.lines = append(w.g.lines, t)
	w.g.Lines = append(w.g.Lines, ref)
	if w.info != nil {
		w.info.Lines = append(w.info.Lines, len(w.g.lines)-1)
		if ref.LineKind != "" && !slices.Contains(w.info.Kinds, ref.LineKind) {
			w.info.Kinds = append(w.info.Kinds, ref.LineKind)
		}
	}
	return len(w.g.lines) - 1
}

func (w *grower) lineRef(p *measured) LineRef {
	ref := LineRef{Rod: w.rod, ID: p.part.ID, Kind: p.part.Kind, Gear: p.part.Gear}
	if p.line != nil {
		ref.Strength, ref.LineKind = p.line.Strength.SI(), p.line.Kind
	}
	return ref
}

// chain grows the parts downward from node at and returns the last node. Attractors lend
// their length to the line above them, else to the one below.
func (w *grower) chain(parts []measured, at int) (int, bool) {
	extra := make([]float64, len(parts))
	pending, above := 0.0, -1
	for i := range parts {
		p := &parts[i]
		switch {
		case p.attr != nil && above >= 0:
			extra[above] += p.length.fixed
		case p.attr != nil:
			pending += p.length.fixed
		case p.isLine() && !p.length.drop:
			above = i
			extra[i] += pending
			pending = 0
		}
	}
	first := at
	upper := -1 // line above the present node
	var waiting *Trip
	for i := range parts {
		p := &parts[i]
		if p.length.drop {
			continue
		}
		if p.part.Free {
			w.r.fault(sternfan.Fault{Code: "refused", Path: p.path, Text: "only the line from the tip to a release is free", Hint: "give this line a length"})
			return at, false
		}
		if p.isLine() {
			below := w.node(freeNode(), NodeRef{Rod: w.rod})
			var t lineTpl
			if p.line != nil {
				t = w.gearLine(p.line, below, at, p.length, false)
			} else {
				t = snubberLine(p.snub, below, at)
			}
			t.length.fixed += extra[i]
			upper = w.addLine(t, w.lineRef(p))
			if waiting != nil {
				waiting.Line = upper
				w.info.Trips = append(w.info.Trips, *waiting)
				waiting = nil
			}
			at = below
			continue
		}
		if at == first && w.g.nodes[at].kind == tow.Fixed {
			w.r.fault(sternfan.Fault{Code: "out-of-range", Path: p.path, Text: "there is no line between the tip and this part"})
			return at, false
		}
		if !w.thing(p, at, upper, &waiting) {
			return at, false
		}
	}
	return at, true
}

// thing puts a part that is not a line at a node.
func (w *grower) thing(p *measured, at, upper int, waiting **Trip) bool {
	ref := &w.g.Nodes[at]
	ref.ID, ref.Kind, ref.Gear = p.part.ID, string(p.part.Kind), p.part.Gear
	switch {
	case p.diver != nil:
		return w.diver(p, at, upper)
	case p.board != nil:
		side := w.side
		if side == sternfan.Amidships {
			w.r.fault(sternfan.Fault{Code: "missing", Path: w.settingsPath() + ".side", Text: "a board needs its side", Allowed: []string{"port", "starboard"}})
			return false
		}
		w.board(p.board, at, side)
		load, adjusted := p.board.TripLoad.SI(), false
		if w.set.TripLoad.Given {
			load, adjusted = w.set.TripLoad.SI(), true
		}
		*waiting = &Trip{ID: p.part.ID, Kind: sternfan.PartBoard, Node: at, Load: load, Adjusted: adjusted}
	case p.weight != nil:
		b := none(hydro.Body{Mass: p.weight.Mass.SI(), Volume: p.weight.Mass.SI() / p.weight.Density.SI()})
		b.body.AddedMass = .5 * fresh * b.body.Volume
		b.drag, b.unit = quantity(w, "weight", p.weight.ID, ParamDrag, p.weight.DragArea, "m2"), 1
		w.body(at, b)
	case p.attr != nil:
		a := p.attr
		b := none(hydro.Body{Mass: a.Mass.SI(), Volume: a.Mass.SI() / a.Density.SI()})
		b.body.AddedMass = fresh * b.body.Volume
		b.drag, b.unit = quantity(w, "attractor", a.ID, ParamDrag, a.Coefficient, "on the plate's area"), a.PlateArea.SI()
		w.body(at, b)
	case p.lure != nil:
		l := p.lure
		b := none(lureBody(l, 0))
		b.drag, b.unit = quantity(w, "lure", l.ID, ParamDrag, l.DragArea, "m2"), 1
		b.mass = quantity(w, "lure", l.ID, ParamMass, l.Mass, "kg")
		if down, s, src := w.r.down(l, p.path); down > 0 {
			b.lift = w.entry("lure", l.ID, ParamDown, sternfan.ScopeDevice, down, "m2", s, src)
		}
		w.body(at, b)
		ref.Lure = true
		ref.WindowLo, ref.WindowHi = l.SpeedLo.SI(), l.SpeedHi.SI()
		ref.Bottom = w.set.Bottom == "intended"
		w.info.Lures = append(w.info.Lures, at)
	default:
		w.r.fault(sternfan.Fault{Code: "refused", Path: p.path, Text: "this part cannot be here", Found: string(p.part.Kind),
			Hint: "one release to a rod, and a free slider between the tip and a downrigger's release"})
		return false
	}
	return true
}

func (w *grower) settingsPath() string { return "rods[" + itoa(w.rod) + "].settings" }

func (w *grower) diver(p *measured, at, upper int) bool {
	d, set := p.diver, w.set
	disc := d.Diameter.SI()
	if set.Ring.Given && set.Ring.Value == 1 {
		if !d.RingDiameter.Given {
			w.r.fault(sternfan.Fault{Code: "refused", Path: w.settingsPath() + ".ring", Text: "this diver takes no ring", Found: d.ID, Hint: "take the ring off, or use a diver that takes one"})
			return false
		}
		disc = d.RingDiameter.SI()
	}
	a := disc / 2
	b := none(hydro.Body{Mass: d.Mass.SI(), Volume: d.Volume.SI(), AddedMass: 8.0 / 3 * fresh * a * a * a, Height: disc * math.Sqrt2 / 2})
	if set.Tripped {
		b.body.AddedMass = fresh * d.Volume.SI()
		b.drag, b.unit = quantity(w, "diver", d.ID, ParamDrag, d.TrippedArea, "m2"), 1
		w.body(at, b)
		return true
	}
	b.body.PlateArea = circle(disc)
	b.cn = quantity(w, "diver", d.ID, ParamNormal, d.NormalCoefficient, "on the disc's area at 45 deg")
	b.incidence = quantity(w, "diver", d.ID, ParamIncidence, d.Incidence, "rad")
	b.give = quantity(w, "diver", d.ID, ParamGive, d.Give, "rad/N")
	mark := float64(set.Dial.Value)
	last := 0.0
	if n := len(d.DialMarks); n > 0 {
		last = d.DialMarks[n-1]
	}
	if mark > last {
		w.r.fault(sternfan.Fault{Code: "out-of-range", Path: w.settingsPath() + ".dial", Text: "this diver's dial has no such mark", Found: number(mark),
			Allowed: []string{"0 to " + number(last)}})
		return false
	}
	side := float64(w.side)
	if side == 0 {
		if mark > 0 {
			w.r.fault(sternfan.Fault{Code: "missing", Path: w.settingsPath() + ".side", Text: "a dialed diver needs its side", Allowed: []string{"port", "starboard"}})
			return false
		}
		side = 1
	}
	b.side, b.marks = side, d.DialMarks
	for _, t := range d.DialTilt {
		b.tilts = append(b.tilts, float64(t))
	}
	b.tilt = w.entry("diver", d.ID, ParamTilt, sternfan.ScopeDevice, 1, "times", d.DialTiltScatter, "assumed: the offset weight hangs lowest; about 17 deg a mark, less beyond 3")
	half, src := .5, "assumed: a dial that turns freely is half a mark off"
	if d.Ratchet.Given && d.Ratchet.Value == 1 {
		half, src = .1, "assumed: a ratcheted dial is a tenth of a mark off"
	}
	s := sternfan.Abs(half / score80)
	if set.Dial.Scatter.Kind != sternfan.Exact {
		s, src = set.Dial.Scatter, set.Dial.Source
	}
	b.dial = w.entry("rod", w.id(), ParamDial, sternfan.ScopeRod, mark, "marks", s, src)
	w.body(at, b)

	trip := Trip{ID: p.part.ID, Kind: sternfan.PartDiver, Node: at, Line: upper, AtFrom: true, Load: d.TripLoad.SI()}
	if set.TripLoad.Given {
		trip.Load, trip.Adjusted = set.TripLoad.SI(), true
	}
	w.info.Trips = append(w.info.Trips, trip)
	return true
}

func (w *grower) board(bd *sternfan.Board, at int, side sternfan.Side) {
	b := none(hydro.Body{Mass: bd.Mass.SI(), Volume: bd.Volume.SI(), AddedMass: fresh * bd.Volume.SI(), Height: bd.Height.SI(), Floats: true,
		Roll: float64(side) * math.Pi / 2})
	b.lift = quantity(w, "board", bd.ID, ParamLift, bd.LiftArea, "m2")
	b.drag, b.unit = quantity(w, "board", bd.ID, ParamDrag, bd.DragArea, "m2"), 1
	w.body(at, b)
}

// finish lays the bodies out by node and sorts what touches the group.
func (w *grower) finish() {
	var ordered []bodyTpl
	for i := range w.g.nodes {
		n := &w.g.nodes[i]
		n.bodies[0] = len(ordered)
		for _, k := range n.own {
			ordered = append(ordered, w.g.bodies[k])
		}
		n.bodies[1] = len(ordered)
	}
	w.g.bodies = ordered
	w.g.order = slices.Clone(w.g.touches)
	slices.Sort(w.g.touches)
}
