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

// keepPart notes which samples of the last line, line i of the chain, hold at other depths
// as the lines before it do: those under the surface. It needs those lines kept, and no
// fixed end, whose pull may change.
func (w *Solver) keepPart(b *branch, i int) {
	if i < len(b.lines)-1 || b.prefix < i || w.plan.unknowns > 0 {
		return
	}
	s := w.sol.Samples[b.lines[i]]
	if i == 0 {
		b.begin = s[0].R.Z
	}
	b.part = w.clear(s, 0)
}

// clear returns how many samples from the first on lie well between surface and bottom,
// once moved by a depth.
func (w *Solver) clear(s []Sample, by float64) int {
	top, bottom := 2*w.edge, w.env.bottom()-depthClear
	for i := range s {
		if z := s[i].R.Z + by; z < top || z > bottom {
			return i
		}
	}
	return len(s)
}

// onward is chain when the lines before the last are in their place: of the last, whose
// lower end f and r are given, the kept samples are moved by a depth, and the rest is
// integrated from the last of them.
func (w *Solver) onward(bi int, by float64, f, r geom.Vec) (geom.Vec, geom.Vec, bool) {
	b := &w.plan.branches[bi]
	i := len(b.lines) - 1
	l := b.lines[i]
	line, s := &w.sys.Lines[l], w.sol.Samples[l]
	above, ok := w.atNode(line.From, f, r, bi, i == 0)
	k := w.clear(s[:b.part], by) - 1
	b.part = 0
	if !ok || k < 1 || above != s[0].F {
		return w.along(bi, i, i+1, f, r, 0)
	}
	for j := range s[:k+1] {
		s[j].R.Z += by
	}
	at := s[k].S
	h := at - s[k-1].S
	f, r, out, good := w.integrate(&line.Props, w.sol.Length[l]-at, s[k].F, s[k].R, &h, s[:k])
	for j := k; j < len(out); j++ {
		out[j].S += at
	}
	w.sol.Samples[l] = out
	if good {
		w.keepPart(b, i)
	}
	return f, r, good
}

// Expect tells a solver that has solved the system before at which depth the main end is
// likely to lie next, m. It saves passes and changes no answer beyond the tolerance.
func (w *Solver) Expect(depth float64) {
	if w.ready && w.plan.branches[0].warm && w.plan.branches[0].hint <= w.env.bottom() {
		w.plan.branches[0].hint = depth
	}
}
