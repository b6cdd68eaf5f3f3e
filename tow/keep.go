package tow

import (
	"math"

	"sternfan/geom"
)

// keepPrefix notes that the chain's shape up to the end of line i holds at any depth, so
// long as all of it and of what joins it on the way stays in clear water.
func (w *Solver) keepPrefix(b *branch, i int, f, r geom.Vec) {
	least, most := b.least, b.most
	if i == 0 {
		least, most = math.Inf(1), math.Inf(-1)
		b.begin = w.sol.Samples[b.lines[0]][0].R.Z
	}
	least, most, ok := w.extremes(b.lines[i], i > 0, least, most)
	if ok && least > depthClear && most < w.env.bottom()-depthClear {
		b.prefix, b.least, b.most, b.endF, b.endR = i+1, least, most, f, r
	}
}

// extremes widens a range of depth by a line and, when asked, by the free branches that
// join where it begins. It reports false when one of those is not fit to be moved.
func (w *Solver) extremes(line int, joined bool, least, most float64) (float64, float64, bool) {
	for _, s := range w.sol.Samples[line] {
		least, most = math.Min(least, s.R.Z), math.Max(most, s.R.Z)
	}
	if !joined {
		return least, most, true
	}
	for _, j := range w.plan.joining[w.sys.Lines[line].From] {
		c := &w.plan.branches[j]
		if c.fixed {
			continue
		}
		if !c.cached {
			return least, most, false
		}
		by := w.shift[j].Z
		least, most = math.Min(least, c.least+by), math.Max(most, c.most+by)
	}
	return least, most, true
}

// movePrefix moves the kept part of a chain, and what joins it, by a depth and returns
// its upper end.
func (w *Solver) movePrefix(b *branch, by float64) (geom.Vec, geom.Vec) {
	w.lift(b, b.prefix, by)
	b.begin, b.least, b.most, b.endR.Z = b.begin+by, b.least+by, b.most+by, b.endR.Z+by
	return b.endF, b.endR
}

// Expect tells a solver that has solved the system before at which depth the main end is
// likely to lie next, m. It saves passes and changes no answer beyond the tolerance.
func (w *Solver) Expect(depth float64) {
	if w.ready && w.plan.branches[0].warm && w.plan.branches[0].hint <= w.env.bottom() {
		w.plan.branches[0].hint = depth
	}
}
