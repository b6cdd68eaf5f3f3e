package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/num"
)

// side solves a free branch whose upper end must lie at depth z. Its answer depends on
// depth alone, so in uniform water, and on the way there in any, it is found once and
// moved; by less than anyone asked for, always.
func (w *Solver) side(bi int, z float64) bool {
	b := &w.plan.branches[bi]
	by := z - w.r[bi].Z
	if b.solved && math.Abs(by) <= w.nearEnough(b.cached) {
		b.miss = -by
		return true
	}
	if (w.alike || w.rough > 1) && b.cached {
		if b.least+by > depthClear && b.most+by < w.env.bottom()-depthClear {
			b.miss = 0
			return true
		}
	}
	b.cached, b.solved = false, false
	// Its error comes on top of that of the chain it hangs on.
	rtol, tol := w.rtol, w.tol
	w.rtol *= 0.25
	defer func() { w.rtol, w.tol = rtol, tol }()
	if w.solveLeaf(bi, z, false) != Converged {
		return false
	}
	w.bound(b)
	if w.tol = w.nearEnough(b.cached); w.tol < tol {
		if w.solveLeaf(bi, z, false) != Converged {
			return false
		}
		w.bound(b)
	}
	b.solved = true
	return true
}

// nearEnough returns how near a free branch must end to where it should, m. Close to surface or
// bottom its pull changes with its bodies' immersion or weight on the bottom, by newtons a
// millimeter, and what it hangs on would answer to that by more than the tolerance.
func (w *Solver) nearEnough(clear bool) float64 {
	if clear {
		return w.tol
	}
	return 0.01 * w.tol
}

// bound notes between which depths a branch lies, and whether clear of surface and bottom.
func (w *Solver) bound(b *branch) {
	b.least, b.most = math.Inf(1), math.Inf(-1)
	fit := true
	for i, l := range b.lines {
		var ok bool
		b.least, b.most, ok = w.extremes(l, i > 0, b.least, b.most)
		fit = fit && ok
	}
	b.cached = fit && b.least > depthClear && b.most < w.env.bottom()-depthClear
}

// depthClear is how far from surface and bottom a branch must stay to be moved in depth
// without solving it again, m: more than any body's height there.
const depthClear = 0.3

// solveLeaf finds the depth of a free leaf at which its branch ends at depth target.
//
// long: one search for a root whose cases (floating, landed, kept from before) share its bracket.
func (w *Solver) solveLeaf(bi int, target float64, main bool) Status {
	b := &w.plan.branches[bi]
	reach := 0.0
	for _, l := range b.lines {
		reach += w.sol.Length[l]
	}
	bottom := w.env.bottom()
	hi := target + 1.5*reach + 1
	lo := math.Min(target, 0) - 1.5*reach - 1
	if !b.warm {
		// Somewhere in clear water: the first miss then tells the whole rise.
		b.hint = math.Min(math.Max(target, 0)+0.4*reach, 0.5*bottom)
		if w.alike {
			// Rather too deep: what is under the surface need not be worked out again.
			b.hint = math.Min(math.Max(target, 0)+0.6*reach, 0.8*bottom)
		}
		if k := w.floating(b); k == b.leaf {
			b.hint = 0
		}
		if !main {
			b.hint = math.Max(target, 0.05)
		}
	}
	if !b.warm {
		b.slope = 1
	}
	b.miss = 0
	if w.once && b.warm && b.hint < bottom && w.floating(b) < 0 {
		w.sol.Iterations++
		f, r, ok := w.chain(bi, geom.Vec{}, geom.Vec{Z: b.hint}, 0)
		if !ok {
			return Exhausted
		}
		w.f[bi], w.r[bi], b.miss = f, r, r.Z-target
		return Converged
	}
	if main {
		if w.afloat(bi, target) {
			return Converged
		}
		b.prefix, b.part = 0, 0
	}
	root := num.NewRoot(lo, hi, b.hint)
	float := w.floating(b)
	tol := w.tol
	if !main {
		tol = math.Min(w.tol, w.rough*w.opt.Tolerance*0.02*w.scale)
	}
	for range w.opt.MaxIter {
		p := root.X
		z, laid := p, 0.0
		if rest := bottom + restDepth; p > rest {
			z, laid = rest, p-rest
			if laid > reach {
				laid = reach
			}
		}
		w.sol.Iterations++
		f, r, ok := w.chain(bi, geom.Vec{}, geom.Vec{Z: z}, laid)
		if !ok {
			return Exhausted
		}
		w.f[bi], w.r[bi] = f, r
		miss := r.Z - target
		if rise := p - laid - r.Z; root.Count == 0 && math.Abs(rise) > reach {
			// It stretches to more than its length.
			root.Lo = math.Min(root.Lo, target+1.5*rise-1)
			root.Hi = math.Max(root.Hi, target+1.5*rise+1)
		}
		if main {
			w.sol.Laid = laid
		}
		slope, known := b.slope, b.warm
		if s := root.Slope(p, miss); s > 0.2 {
			slope, known = s, true
		}
		left := math.Abs(miss)
		if known && laid == 0 && left < movable*tol {
			// All of it will be moved by what its end misses; its leaf belongs elsewhere by only
			// this.
			left *= math.Abs(1 - 1/slope)
		}
		if left <= tol {
			b.slope = slope
			b.hint, b.warm = p-miss/b.slope, true
			w.sol.Residual = math.Max(w.sol.Residual, left)
			return Converged
		}
		if root.Hi-root.Lo < 1e-13*(1+math.Abs(p)) {
			break
		}
		root.Take(miss, b.slope)
		if float >= 0 && !b.warm && root.Count <= floatTries {
			root.X = math.Min(math.Max(w.surfaced(float, p, miss, &float), root.Lo), root.Hi)
		}
	}
	b.warm = false
	if miss := w.r[bi].Z - target; math.Abs(miss) < 1e-6*w.scale {
		// The steps' own noise is all that is left.
		w.sol.Residual = math.Max(w.sol.Residual, math.Abs(miss))
		return Converged
	}
	if root.Hi-root.Lo < 1e-9*(1+reach) {
		// The bracket closed on a jump: the end cannot come out at that depth.
		return NoBracket
	}
	return Exhausted
}

// floating returns the first node of the branch that carries a floating body, -1 for none.
func (w *Solver) floating(b *branch) int {
	for _, l := range b.lines {
		n := w.sys.Lines[l].From
		for i := range w.sys.Nodes[n].Bodies {
			if w.sys.Nodes[n].Bodies[i].Floats {
				return n
			}
		}
	}
	return -1
}

// movable is by how many times the tolerance of its end a chain may be moved as it is.
const movable = 16

// floatTries is how many passes a root may spend on bringing a board to the surface.
const floatTries = 6

// surfaced returns where to look next so that the board at the node comes to the surface,
// whose depth answers for all above it: straight there while it is far off, then at its
// other side, half its height away, so that the root lies between. Then it sets done to -1.
func (w *Solver) surfaced(node int, p, miss float64, done *int) float64 {
	z, h := w.at[node].Z, w.height(node)
	if math.Abs(z) > h/2 {
		return p - z
	}
	*done = -1
	if miss > 0 {
		return p - z - 0.55*h
	}
	return p - z + 0.55*h
}

// height returns over how much depth the floating body at a node immerses, m.
func (w *Solver) height(node int) float64 {
	h := 0.0
	for i := range w.sys.Nodes[node].Bodies {
		h = math.Max(h, w.sys.Nodes[node].Bodies[i].Height)
	}
	return h
}

// restDepth is how far a body has sunk in when the bottom carries all its weight; see
// hydro.Body.
const restDepth = 0.02

// layDown lays the first laid metres of the line along the bottom, straight astern: only
// friction and drag along it add to the pull. It returns the rest.
func (w *Solver) layDown(line *Line, l int, f, r geom.Vec, laid float64, out []Sample) (geom.Vec, geom.Vec, float64, []Sample, float64) {
	length := w.sol.Length[l]
	use := math.Min(laid, length)
	if !w.uniform {
		w.water.At(r.Z, &w.state)
	} else {
		w.state = w.top
	}
	u := geom.Vec{X: w.state.Cx - w.boat.X, Y: w.state.Cy - w.boat.Y}
	ahead := w.boat.Unit()
	weight := math.Max(line.Props.WeightInWater(w.state.Rho), 0)
	load := line.Props.Load(ahead, u, w.state.Rho, w.state.Nu, nil)
	pull := math.Max(w.friction*weight-load.Dot(ahead), 0)
	f.Z = 0
	out = append(out, Sample{R: r, F: f})
	f = f.AddScaled(pull*use, ahead)
	stretch := 1.0
	if line.Props.EA > 0 {
		stretch += f.Norm() / line.Props.EA
	}
	r = r.AddScaled(use*stretch, ahead)
	return f, r, length - use, out, laid - use
}
