package lay

import (
	"math"
	"slices"
)

// gridCounts is how many counts a curve is first solved at.
const gridCounts = 4

// grid lists the settings at which a class is first solved.
func (pl *planner) grid(c *class) []setTo {
	g := &pl.rigs[c.rig]
	if pl.all {
		return pl.everySetting(g)
	}
	k := &g.knob
	now := g.now(pl)
	out := pl.nows(c)
	if k.count == nil && !k.across {
		return out
	}
	counts := []float64{now.count}
	if k.count != nil {
		counts = counts[:0]
		for i := range gridCounts {
			// Even steps of a square root: finer where little is out.
			f := float64(i) / (gridCounts - 1)
			root := math.Sqrt(k.lo) + f*(math.Sqrt(k.hi)-math.Sqrt(k.lo))
			counts = append(counts, k.round(root*root))
		}
	}
	for _, dial := range pl.dials(g, c.home) {
		for _, across := range pl.acrosses(g) {
			for _, count := range counts {
				out = append(out, setTo{count, dial, across})
			}
		}
	}
	return out
}

// fewSettings is of how many settings, of all rods in all holders, each is solved with its
// interval.
const fewSettings = 200

// few reports whether there are so few settings.
func (pl *planner) few() bool {
	n := 0
	for i := range pl.rigs {
		g := &pl.rigs[i]
		if n += len(pl.stands(g)) * len(pl.everySetting(g)); n > fewSettings {
			return false
		}
	}
	return true
}

// everySetting lists the settings of a rig in whole steps, and the one that it has.
func (pl *planner) everySetting(g *rigging) []setTo {
	k := &g.knob
	now := g.now(pl)
	counts, dials := []float64{now.count}, []float64{now.dial}
	add := func(list *[]float64, x float64) {
		if !slices.ContainsFunc(*list, func(y float64) bool { return math.Abs(x-y) < 1e-9 }) {
			*list = append(*list, x)
		}
	}
	if k.count != nil {
		for n := math.Ceil(k.lo/k.step - 1e-9); n*k.step <= k.hi+1e-9; n++ {
			add(&counts, n*k.step)
		}
	}
	if k.dial {
		step := pl.stepOf(dialMark)
		for n := 0; float64(n)*step <= g.info.marks[len(g.info.marks)-1]; n++ {
			add(&dials, float64(n)*step)
		}
	}
	var out []setTo
	for _, dial := range dials {
		for _, across := range pl.acrosses(g) {
			for _, count := range counts {
				out = append(out, setTo{count, dial, across})
			}
		}
	}
	return out
}

// nows lists the settings that the rods of a class have in the file.
func (pl *planner) nows(c *class) []setTo {
	var out []setTo
	for _, m := range c.members {
		if now := pl.rigs[m.rig].now(pl); !slices.Contains(out, now) {
			out = append(out, now)
		}
	}
	return out
}

// dials lists the marks that a rig is tried at: whole ones, or steps that are no finer,
// and its own.
func (pl *planner) dials(g *rigging, home bool) []float64 {
	now := float64(g.def.Settings.Dial.Value)
	if !g.knob.dial {
		return []float64{now}
	}
	var out []float64
	last := g.info.marks[len(g.info.marks)-1]
	least := 1.0
	if !home {
		least = 1.5
	}
	step := pl.stepOf(dialMark)
	by := step * math.Ceil(least/step-1e-9)
	for k := 0; float64(k)*by <= last; k++ {
		out = append(out, float64(k)*by)
	}
	if now <= last && !slices.Contains(out, now) {
		out = append(out, now)
	}
	return out
}

// acrosses lists the distances to a board that a rig is tried at.
func (pl *planner) acrosses(g *rigging) []float64 {
	if !g.knob.across {
		return []float64{0}
	}
	now := g.def.Settings.LineOut.SI()
	out := []float64{now}
	step := pl.stepOf(countLine)
	for _, x := range []float64{60 * foot, 90 * foot, 120 * foot, 150 * foot} {
		if x = math.Round(x/step) * step; !slices.ContainsFunc(out, func(y float64) bool { return math.Abs(y-x) < step }) {
			out = append(out, x)
		}
	}
	return out
}

// targets lists the depths within each band that rods are set for: near its upper edge
// and near its middle, or one in a thin band.
func (pl *planner) targets() []float64 {
	var out []float64
	for _, b := range pl.bands {
		from, high := float64(b.From), float64(b.To-b.From)
		if high < 2*pl.margins.Vertical {
			out = append(out, from+0.3*high)
			continue
		}
		out = append(out, from+0.1*high, from+0.42*high)
	}
	return out
}
