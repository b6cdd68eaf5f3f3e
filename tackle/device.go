package tackle

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/unit"
)

// release is a place on a device's line where rods are clipped.
type release struct {
	up   float64 // from the seaward end, m
	rods []int   // indices of the prepared rods
	node int
}

// leastUp keeps a release off the ball or board itself, m.
const leastUp = 0.1

// defaultAbove is where a release goes when nothing is said, m; assumed.
const defaultAbove = 0.5

// defaultSetLoad is the pull that a rod bent over a release keeps, N; assumed (3 lbf).
const defaultSetLoad = 3 * lbf

// releaseLoad is the pull at which a release lets go, N; assumed (4 lbf).
const releaseLoad = 4 * lbf

// tree grows a device's line from its fixed end down over the releases to its end body.
func (w *grower) tree(line *sternfan.Line, id string, total float64, counter int, rel []release) int {
	// From the fixed end down: releases by falling height above the end.
	slices.SortStableFunc(rel, func(a, b release) int {
		switch {
		case a.up > b.up:
			return -1
		case a.up < b.up:
			return 1
		}
		return 0
	})
	at, left := 0, total
	for i := range rel {
		rel[i].node = w.node(freeNode(), NodeRef{Rod: -1, ID: id, Kind: string(sternfan.PartRelease)})
		n := left - rel[i].up
		w.deviceLine(line, rel[i].node, at, length{fixed: n}, counter, at == 0, total, i)
		at, left = rel[i].node, rel[i].up
	}
	end := w.node(freeNode(), NodeRef{Rod: -1})
	w.deviceLine(line, end, at, length{fixed: left}, counter, at == 0, total, len(rel))
	return end
}

// deviceLine adds one stretch of a device's line. What the counter is off lies in the
// uppermost stretch, as releases are placed from the end.
func (w *grower) deviceLine(line *sternfan.Line, from, to int, n length, counter int, top bool, total float64, number int) {
	if top {
		n.fixed -= total
		n.counter = total
	}
	t := w.gearLine(line, from, to, n, false)
	if top {
		t.counterAt = counter
	}
	ref := LineRef{Rod: -1, ID: "cable-" + itoa(number+1), Kind: sternfan.PartLine, Gear: line.ID, LineKind: line.Kind, Strength: line.Strength.SI(), Nominal: n.nominal()}
	w.g.lines = append(w.g.lines, t)
	w.g.Lines = append(w.g.Lines, ref)
}

// prepared is a rod whose parts are measured, waiting for its device.
type prepared struct {
	rod   int
	parts []measured
	clip  int // index of the release part
	on    string
	slide []measured
}

// hang adds a rod clipped to a release: the line from its tip, a free slider on it, and
// what trails from the release.
func (w *grower) hang(p *prepared, at int, mast bool) bool {
	set := w.set
	if len(p.parts) == 0 {
		return false
	}
	// Before the release: one free line, and at most one slider.
	var own *measured
	slider := -1
	for i := range p.clip {
		switch {
		case p.parts[i].line != nil && own == nil:
			own = &p.parts[i]
		case p.parts[i].part.Kind == sternfan.PartSlider && slider < 0:
			slider = i
		default:
			w.r.fault(sternfan.Fault{Code: "refused", Path: p.parts[i].path, Text: "between the tip and a release there is one line and at most one free slider",
				Found: string(p.parts[i].part.Kind)})
			return false
		}
	}
	if own == nil {
		w.r.fault(sternfan.Fault{Code: "missing", Path: "rods[" + itoa(p.rod) + "].rig", Text: "a clipped rod needs its line"})
		return false
	}
	if slider >= 0 && mast {
		w.r.fault(sternfan.Fault{Code: "refused", Path: p.parts[slider].path, Text: "a free slider runs on a downrigger's line only"})
		return false
	}
	load, source := set.SetLoad, set.SetLoad.Source
	if !load.Given {
		load.Value, source = unit.Force(defaultSetLoad), "assumed: 3 lbf at the tip of a bent rod"
	}
	spread := load.Scatter
	if spread.Kind == sternfan.Exact {
		spread = sternfan.Rel(loadRel)
	}
	tip := w.node(fixedNode(w.info.Tip), NodeRef{Rod: w.rod, Kind: "tip"})
	w.g.nodes[tip].pull = w.entry("rod", w.id(), ParamSetLoad, sternfan.ScopeRod, load.SI(), "N", spread, source)
	w.info.SetLoad = load.SI()

	end, ok := w.chain(p.parts[p.clip+1:], at)
	if !ok {
		return false
	}
	if len(w.info.Lures) == 0 || end == at {
		w.r.fault(sternfan.Fault{Code: "missing", Path: "rods[" + itoa(p.rod) + "].rig", Text: "a rod needs a lure behind its release"})
		return false
	}
	trip := Trip{ID: p.parts[p.clip].part.ID, Kind: sternfan.PartRelease, Node: at, Line: w.info.Lines[0], Load: releaseLoad}
	if set.TripLoad.Given {
		trip.Load, trip.Adjusted = set.TripLoad.SI(), true
	}
	w.info.Trips = append(w.info.Trips, trip)

	ref := w.lineRef(own)
	trailing := w.info.Lines
	w.info.Lines = nil
	if slider < 0 {
		w.addLine(w.gearLine(own.line, tip, at, length{}, true), ref)
	} else {
		n := freeNode()
		n.kind = tow.Ring
		ring := w.node(n, NodeRef{Rod: w.rod, ID: p.parts[slider].part.ID, Kind: string(sternfan.PartSlider)})
		w.addLine(w.gearLine(own.line, tip, ring, length{}, true), ref)
		ref.ID += "-below"
		w.addLine(w.gearLine(own.line, ring, at, length{}, true), ref)
		lures := len(w.info.Lures)
		own := w.info.Lines
		w.info.Lines = nil
		if _, ok := w.chain(p.slide, ring); !ok {
			return false
		}
		if len(w.info.Lures) == lures {
			w.r.fault(sternfan.Fault{Code: "missing", Path: p.parts[slider].path, Text: "a free slider needs a lure"})
			return false
		}
		trailing = append(trailing, w.info.Lines...)
		w.info.Lines = own
	}
	w.info.Lines = append(w.info.Lines, trailing...)
	return true
}

// ballBody makes the ball of a downrigger.
func (w *grower) ballBody(b *sternfan.Ball, at int) {
	v := b.Mass.SI() / b.Density.SI()
	t := none(hydro.Body{Mass: b.Mass.SI(), Volume: v, AddedMass: .5 * fresh * v})
	d := math.Cbrt(v * 6 / math.Pi)
	if b.DragArea.Given {
		t.drag, t.unit = quantity(w, "ball", b.ID, ParamDrag, b.DragArea, "m2"), 1
	} else {
		// Brown & Lawler's drag and a share of it more or less.
		area := hydro.Sphere(1e5) * circle(d)
		t.body.Sphere = d
		t.drag = w.entry("ball", b.ID, ParamDrag, sternfan.ScopeDevice, 1, "times", sternfan.Rel(.1), "Brown & Lawler 2003 for a smooth sphere; 10 % assumed for its eye and snap")
		t.unit, t.base = area, -area
	}
	t.body.Height = d
	w.body(at, t)
}
