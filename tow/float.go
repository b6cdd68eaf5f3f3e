package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/num"
)

// floatRounds bounds how often the part behind a board and the part before it take turns,
// partTries the passes over each in one turn.
const (
	floatRounds = 6
	partTries   = 24
)

// afloat solves a branch with a board on the way to its end, at depth target, in two parts:
// what trails behind the board, so that it ends where the board floats; and how deep the
// board floats, by the line before it alone. A millimeter of freeboard may be a meter at
// the tip, far below what the steps along the trailing part can tell: as one root in the
// leaf's depth the end would drown in their noise. It reports false, having changed nothing
// that lasts, when there is no board or it does not float.
func (w *Solver) afloat(bi int, target float64) bool {
	b := &w.plan.branches[bi]
	node := w.floating(b)
	if node < 0 || node == b.leaf {
		return false
	}
	k := 0
	for w.sys.Lines[b.lines[k]].From != node {
		k++
	}
	h := w.height(node)
	if h == 0 {
		return false
	}
	p, at := b.hint, 0.0
	if b.warm {
		at = b.float
	}
	near := math.Max(0.5*w.tol, 1e-9*h)
	// Moved by what its end misses, the part behind the board is off by this share of it.
	share := 1.0
	if b.warm && b.tail > 0 {
		share = math.Abs(1 - 1/b.tail)
	}
	for range floatRounds {
		// Behind the board.
		var f, r geom.Vec
		var was, wasAt float64
		for i := range partTries {
			if p > w.env.bottom() {
				return false
			}
			w.sol.Iterations++
			b.prefix = 0
			var ok bool
			if f, r, ok = w.along(bi, 0, k, geom.Vec{}, geom.Vec{Z: p}, 0); !ok {
				return false
			}
			step, d := at-r.Z, (r.Z-wasAt)/(p-was)
			if i > 0 && d > 0.3 && d < 3 {
				share, b.tail = math.Abs(1-1/d), d
				step /= d
			}
			if miss := math.Abs(r.Z - at); miss < near || miss < movable*near && miss*share < near {
				break
			}
			if i == partTries-1 {
				return false
			}
			was, wasAt = p, r.Z
			p += step
		}
		// Before it.
		root := num.NewRoot(-0.6*h, 0.6*h, at)
		slope := b.slope
		for {
			w.sol.Iterations++
			_, end, ok := w.along(bi, k, len(b.lines), f, geom.Vec{X: r.X, Y: r.Y, Z: root.X}, 0)
			if !ok {
				return false
			}
			miss := end.Z - target
			if s := root.Slope(root.X, miss); s > 0.2 {
				slope = s
			}
			if math.Abs(miss) <= w.tol {
				w.r[bi] = end
				w.sol.Residual = math.Max(w.sol.Residual, math.Abs(miss))
				break
			}
			if root.Count > 2*partTries || root.Hi-root.Lo < 1e-13*h {
				return false
			}
			root.Take(miss, slope)
		}
		b.slope, at = slope, root.X
		if by := math.Abs(at - r.Z); by < 2*near || by < 2*movable*near && by*share < near {
			// The rest of the way it is moved.
			by := at - r.Z
			w.lift(b, k, by)
			b.prefix, b.part = 0, 0
			b.hint, b.float, b.warm = p+by, at, true
			return true
		}
		p += at - r.Z
	}
	return false
}

// lift moves the lines of a branch before the given one, and what joins them, by a depth.
func (w *Solver) lift(b *branch, before int, by float64) {
	for i, l := range b.lines[:before] {
		from := w.sys.Lines[l].From
		w.at[from].Z += by
		if i > 0 {
			for _, j := range w.plan.joining[from] {
				w.shift[j].Z += by
			}
		}
		s := w.sol.Samples[l]
		for k := range s {
			s[k].R.Z += by
		}
	}
}
