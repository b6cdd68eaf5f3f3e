package lay

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/spread"
)

// How a fit falls off outside a band; assumed. A lure above the band by its height, and
// at least by thisFar, is of no use to it.
const (
	thisFar    = 15 * foot
	lowerEdge  = 0.7      // fit at the band's lower edge
	justAbove  = 3 * foot // above the band is as good as in it
	lookUp     = 3.0      // default of wants.lay.look_up
	hookReach  = 12 * foot
	longLead   = 20 * foot // of a slide-through diver, from which it counts as long
	longestAll = 100 * foot
)

// fit returns how well a lure suits a band, 0 to 1: over its interval on average. Fish
// look up: full marks from just above the band to its middle, 0.7 at its lower edge, and
// below that it falls off look_up times as fast as above.
func (pl *planner) fit(band int, b *berth) float64 {
	if len(pl.bands) == 0 {
		return 1
	}
	// Three points carry the mean of a normal distribution up to fifth powers
	// (Gauss-Hermite).
	up := (b.at.Z - b.lo) / 1.2815515655446004
	down := (b.hi - b.at.Z) / 1.2815515655446004
	root := math.Sqrt(3)
	return (4*pl.fitAt(band, b.at.Z) + pl.fitAt(band, b.at.Z-root*up) + pl.fitAt(band, b.at.Z+root*down)) / 6
}

func (pl *planner) fitAt(band int, z float64) float64 {
	b := &pl.bands[band]
	from, to := float64(b.From), float64(b.To)
	far := math.Max(to-from, thisFar)
	worse := lookUp
	if q := pl.sc.Wants.Lay.LookUp; q.Given {
		worse = q.SI()
	}
	mid := (from + to) / 2
	switch {
	case z < from-justAbove:
		return math.Max(0, 1-(from-justAbove-z)/far)
	case z <= mid:
		return 1
	case z <= to:
		return 1 - (1-lowerEdge)*(z-mid)/(to-mid)
	}
	return math.Max(0, lowerEdge-worse*(z-to)/far)
}

// judge notes which rules an option breaks by itself and how far.
func (pl *planner) judge(w *way, g *rigging, a *answer, o *option) {
	t := a.track
	o.pull = t.TipPull
	for _, x := range []*sternfan.Track{a.track, a.device} {
		if x == nil {
			continue
		}
		o.breaks |= breachOf(x)
	}
	if math.IsNaN(o.pull) {
		panic("lay: a pull that is not a number")
	}
	holder := &pl.sc.Boat.Holders[w.holder]
	set := func(t term, v float64) { o.solo[t-firstSolo] = clamp01(v) }
	if holder.Bears.Given && holder.Bears.SI() > 0 {
		set(bears, 2*(o.pull/holder.Bears.SI()-1))
	}
	if g.info.diver == "directional" {
		w.hook = behindDiver(t, g.info.parts)
		reach := orLength(pl.sc.Wants.Lay.Reach, hookReach)
		set(hookInReach, (w.hook-reach)/reach)
		if g.info.stiff && !g.info.snubber {
			set(snubber, 1)
		}
	}
	if g.info.diver == "slide-through" {
		w.lead = g.def.Settings.Lead.SI()
	}
	off := 0.0
	for _, l := range t.Lures {
		if l.Window != nil {
			wide := 0.1 * l.ThroughWater
			off += clamp01(math.Max(l.Window[0]-l.ThroughWater, l.ThroughWater-l.Window[1])/wide) / float64(len(t.Lures))
		}
	}
	set(lureSpeed, off)
	if has(t, "near-trip") {
		set(tripRoom, 1)
	}
	if holder.ID != pl.sc.Rods[g.rod].Holder || g.kit >= 0 {
		set(asNow, 1)
	}
	for _, hard := range pl.hard {
		if w.course == nil {
			break
		}
		if _, near := w.course.Gap(hard, pl.margins, 1); near {
			o.breaks |= breachHull
		}
	}
}

// breachOf returns the hard rules that a solved track breaks.
func breachOf(t *sternfan.Track) breach {
	var b breach
	switch t.Status {
	case sternfan.StatusBottom:
		b = breachBottom
	case sternfan.StatusBeyondSpool:
		b = breachSpool
	case sternfan.StatusOverStrength:
		b = breachStrength
	case sternfan.StatusNotConverged, sternfan.StatusRefused:
		b = breachUnsolved
	}
	for _, w := range t.Warnings {
		switch w.Code {
		case "bottom":
			b |= breachBottom
		case "beyond-spool":
			b |= breachSpool
		case "over-strength":
			b |= breachStrength
		case "trips":
			b |= breachTrip
		}
	}
	return b
}

func has(t *sternfan.Track, code string) bool {
	return slices.ContainsFunc(t.Warnings, func(w sternfan.Warning) bool { return w.Code == code })
}

// behindDiver returns the stretched length of line behind a rod's diver, m.
func behindDiver(t *sternfan.Track, parts []sternfan.Part) float64 {
	at := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartDiver })
	sum := 0.0
	for i := range t.Parts {
		k := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.ID == t.Parts[i].ID })
		if k <= at {
			continue
		}
		for n := 1; n < len(t.Parts[i].Points); n++ {
			p, q := t.Parts[i].Points[n-1], t.Parts[i].Points[n]
			sum += geom.Vec{X: q[0] - p[0], Y: q[1] - p[1], Z: q[2] - p[2]}.Norm()
		}
	}
	return sum
}

// roomy is the ratio to the margin from which more room is no better.
const roomy = 1.5

// together returns what two options do to each other.
func (pl *planner) together(i, j int) (out pairing) {
	a, b := pl.ways[i], pl.ways[j]
	if a.course == nil || b.course == nil {
		return out
	}
	ra, rb := pl.rigs[a.rig].rod, pl.rigs[b.rig].rod
	least := 1.0
	if t := pl.tight[[2]int{min(ra, rb), max(ra, rb)}]; t > least {
		least = t
	}
	near := pl.nearness(a, b)
	if near < least {
		out.breaks |= breachClearance
	}
	if a.device != "" && a.device == b.device {
		ga, gb := &pl.rigs[a.rig], &pl.rigs[b.rig]
		if ga.knob.count == countCable || gb.knob.count == countCable {
			if math.Abs(pl.cableOf(a)-pl.cableOf(b)) > 1e-6 || math.Abs(a.above-b.above) < spread.LeastStack {
				out.breaks |= breachCable
			}
		}
	}
	set := func(t term, v float64) { out.cost[t-firstPair] = clamp01(v) }
	set(room, (roomy-near)/(roomy-1))
	ga, gb := &pl.rigs[a.rig], &pl.rigs[b.rig]
	alike := 0.0
	switch {
	case ga.info.look == gb.info.look:
		alike = 1
	case ga.info.kinds == gb.info.kinds:
		alike = 0.3
	}
	if pl.sc.Wants.Lay.Pattern == sternfan.PatternKnown {
		alike = 1 - alike
	}
	set(variety, alike)
	if len(a.lures) == 0 || len(b.lures) == 0 {
		return out
	}
	la, lb := a.lures[0].at, b.lures[0].at
	set(apart, hat((la.Z-lb.Z)/(2*pl.margins.Vertical))*hat((la.X-lb.X)/(2*pl.margins.Horizontal))*hat((la.Y-lb.Y)/(4*pl.margins.Horizontal)))
	if la.Y*lb.Y <= 0 {
		return out
	}
	outer, inner := a, b
	if math.Abs(lb.Y) > math.Abs(la.Y) {
		outer, inner = b, a
	}
	lo, li := outer.lures[0].at, inner.lures[0].at
	if math.Abs(lo.Y)-math.Abs(li.Y) > 1 {
		set(shallowOutside, (lo.Z-li.Z)/(20*foot))
	}
	pl.divers(a, b, &out)
	for _, x := range [2][2]*way{{a, b}, {b, a}} {
		slide, other := x[0], x[1].lures[0].at
		lure := slide.lures[0].at
		if slide.lead > longLead && math.Abs(other.Y) < math.Abs(lure.Y) && other.X > lure.X && other.X < lure.X+slide.lead {
			set(leadAcross, math.Max(out.cost[leadAcross-firstPair], (slide.lead-longLead)/(longestAll-longLead)))
		}
	}
	return out
}

func hat(x float64) float64 { return math.Max(0, 1-math.Abs(x)) }

// divers holds the high diver to be outside the low one: of two directional divers on a
// side, the one whose tip is farther out runs wider and shallower.
func (pl *planner) divers(a, b *way, out *pairing) {
	if pl.rigs[a.rig].info.diver != "directional" || pl.rigs[b.rig].info.diver != "directional" {
		return
	}
	ta, tb := pl.sc.Boat.Holders[a.holder].Tip, pl.sc.Boat.Holders[b.holder].Tip
	outer, inner := a, b
	if math.Abs(tb.Y) > math.Abs(ta.Y)+0.05 || math.Abs(math.Abs(tb.Y)-math.Abs(ta.Y)) <= 0.05 && tb.X > ta.X {
		outer, inner = b, a
	}
	lo, li := outer.lures[0].at, inner.lures[0].at
	v := 0.0
	if math.Abs(lo.Y) < math.Abs(li.Y) {
		v += 0.5
	}
	if lo.Z > li.Z {
		v += 0.5
	}
	out.cost[highOutside-firstPair] = v
}

// cableOf returns the cable of the downrigger that an option is clipped to, m.
func (pl *planner) cableOf(w *way) float64 {
	if pl.rigs[w.rig].knob.count == countCable {
		return w.set.count
	}
	if n := pl.downrigger(w.device); n >= 0 {
		return pl.sc.Downriggers[n].CableOut.SI()
	}
	return 0
}
