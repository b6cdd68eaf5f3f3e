package tow

import (
	"context"
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/water"
)

// Solver solves systems at rest in the boat's frame. It keeps its memory and its last
// answer, so that solving a slightly changed system again is quick and allocates nothing.
// It is not for use by two goroutines at once.
type Solver struct {
	plan  plan
	ready bool
	sys   *System
	env   *Env
	opt   Options
	water *water.Column

	uniform  bool
	alike    bool // every depth is like every other: one form of load under the surface
	state    water.State
	top      water.State
	boat     geom.Vec // velocity over ground
	zones    []zone
	levels   []float64
	scale    float64 // length of the longest chain, m
	rough    float64 // by which tolerances are widened
	span     float64 // how deep the system reaches, m, as last found
	rtol     float64
	edge     float64
	tol      float64 // of positions, m
	friction float64
	once     bool // each end is looked at once and may miss its depth, for all to be corrected together

	sol      Solution
	f        []geom.Vec // by branch: pull at its upper end
	r        []geom.Vec // by branch: where its upper end came out, before translation
	shift    []geom.Vec // by branch: translation of its samples
	hints    []float64  // by line: first step
	x        []float64  // outer unknowns
	warm     bool
	at       []geom.Vec // by node: where it came out, before translation
	base     []geom.Vec // by branch: direction about which a kept pull turns
	ringD    []float64
	ringPull []float64 // by ring: the sum of both tensions, N
	baseWas  []geom.Vec
	newton
	mesh mesh // of the search
	near mesh // of Linearize
}

// newton is the memory of the outer iteration.
type newton struct {
	res, trial, dx, xt []float64
	jac, lu, work      []float64
	kept               bool // jac is that of the last answer
}

// Reset forgets the last answer and the plan: for a system of another topology.
func (w *Solver) Reset() {
	w.ready, w.warm, w.kept, w.near.ok, w.near.still, w.span = false, false, false, false, false, 0
}

// Solve finds the state at rest of sys in env. The returned solution is the solver's own
// and is overwritten by the next call. ctx is looked at between outer iterations.
func (w *Solver) Solve(ctx context.Context, sys *System, env *Env, opt Options) *Solution {
	w.begin(sys, env, opt)
	sol := &w.sol
	for range 3 {
		if w.plan.unknowns == 0 {
			if !w.plan.branches[0].warm && !w.alike {
				w.widen(roughly)
				if w.sweep() == Converged {
					w.measure()
				}
				w.widen(1)
			}
			sol.Status = w.sweep()
		} else {
			sol.Status = w.outer(ctx)
		}
		w.finish()
		if sol.Status != Converged || !w.shallower() {
			break
		}
	}
	return sol
}

func (w *Solver) begin(sys *System, env *Env, opt Options) {
	if opt.Tolerance <= 0 {
		opt.Tolerance = DefaultTolerance
	}
	if opt.MaxSteps <= 0 {
		opt.MaxSteps = 4000
	}
	if opt.MaxIter <= 0 {
		opt.MaxIter = 80
	}
	w.sys, w.env, w.opt, w.water = sys, env, opt, env.Water
	if !w.ready {
		w.plan.build(sys)
		w.ready, w.warm = true, false
		w.mesh.shaped, w.near.shaped = false, false
		w.mesh.factored = false
		w.room()
	}
	for i := range w.plan.branches {
		b := &w.plan.branches[i]
		b.cached, b.solved, b.prefix, b.part = false, false, 0, 0
		if b.leaf < len(sys.Pull) && b.fixed && b.pull > 0 {
			b.pull = sys.Pull[b.leaf]
		}
	}
	w.sol.Iterations, w.sol.Steps, w.sol.Residual, w.sol.Laid = 0, 0, 0, 0
	w.uniform = env.Water.Uniform()
	w.water.At(0, &w.top)
	w.state = w.top
	w.boat = geom.Vec{X: w.top.Cx + env.Speed, Y: w.top.Cy}
	w.rough = 1
	w.makeZones()
	w.alike = w.uniform && len(w.zones) == 2
	w.scale = 0
	for i, l := range sys.Lines {
		if !l.Open {
			w.sol.Length[i] = l.Length
		}
	}
	for _, l := range w.plan.branches[0].lines {
		w.scale += w.sol.Length[l]
	}
	if w.scale == 0 {
		w.scale = 1
	}
	if w.span == 0 {
		w.span = 0.3 * w.scale
	}
	w.tighten()
	w.friction = env.Friction
}

// room makes room for the system that has just been planned, in the memory of those before.
func (w *Solver) room() {
	nb, nl, nn, k := len(w.plan.branches), len(w.sys.Lines), len(w.sys.Nodes), w.plan.unknowns
	w.f, w.r, w.shift = anew(w.f, nb), anew(w.r, nb), anew(w.shift, nb)
	w.base, w.baseWas = anew(w.base, nb), anew(w.baseWas, nb)
	w.at, w.hints, w.x = anew(w.at, nn), anew(w.hints, nl), anew(w.x, k)
	w.ringD, w.ringPull = anew(w.ringD, len(w.plan.rings)), anew(w.ringPull, len(w.plan.rings))
	s := &w.sol
	*s = Solution{Samples: longer(s.Samples, nl), Length: anew(s.Length, nl), Nodes: anew(s.Nodes, nn), Loads: anew(s.Loads, nn)}
	none := 0
	for i := range s.Samples {
		if s.Samples[i] = s.Samples[i][:0]; cap(s.Samples[i]) == 0 {
			none++
		}
	}
	all := make([]Sample, none*usual)
	for i := range s.Samples {
		if cap(s.Samples[i]) == 0 {
			s.Samples[i], all = all[:0:usual], all[usual:]
		}
	}
	n := &w.newton
	n.res, n.trial, n.dx, n.xt, n.work = anew(n.res, k), anew(n.trial, k), anew(n.dx, k), anew(n.xt, k), anew(n.work, k)
	n.jac, n.lu, n.kept = anew(n.jac, k*k), anew(n.lu, k*k), false
}

// anew returns n zeros, in the memory of s if that is large enough.
func anew[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// longer returns s with n elements, those beyond its own as they were left there, or zero.
func longer[T any](s []T, n int) []T {
	if n <= cap(s) {
		return s[:n]
	}
	return append(s[:cap(s)], make([]T, n-cap(s))...)
}

// usual is how many samples most lines need.
const usual = 24

// tighten sets the tolerances of steps and roots for a system that reaches down to span.
//
// Measured on the fixtures and the trade's rigs: local errors of a tenth of the
// tolerance keep the end within it, in proportion when the chain is long for its depth.
func (w *Solver) tighten() {
	t := w.opt.Tolerance
	t *= w.rough
	w.rtol = 0.1 * t * math.Min(1, math.Max(2*w.span/w.scale, 0.01))
	w.tol = t / 8 * w.span
	w.edge = math.Min(1e-3, t*0.01) * w.span * 0.1
}

// shallower reports whether the solution reaches far less down than was taken for the
// tolerances, and if so tightens them.
func (w *Solver) shallower() bool {
	deepest := 0.01 * w.scale
	for _, p := range w.sol.Nodes {
		deepest = math.Max(deepest, p.Z)
	}
	redo := deepest < 0.6*w.span
	w.span = deepest
	if redo {
		w.tighten()
		// What was kept to be moved has been moved to its place by now.
		w.forget()
	}
	return redo
}

// measure takes how deep the system reaches from what has just been found on the way.
func (w *Solver) measure() {
	deepest := 0.01 * w.scale
	for bi := range w.plan.branches {
		if b := &w.plan.branches[bi]; !b.fixed {
			for _, l := range b.lines {
				deepest = math.Max(deepest, w.at[w.sys.Lines[l].From].Z)
			}
		}
	}
	w.span = deepest
}

// forget drops the shapes that were kept to be moved.
func (w *Solver) forget() {
	for i := range w.plan.branches {
		b := &w.plan.branches[i]
		b.cached, b.solved, b.prefix, b.part = false, false, 0, 0
	}
}

// chain integrates branch b from its leaf, whose pull f and position r are given, to its
// end, taking in what joins it on the way. It reports false when a part failed.
func (w *Solver) chain(bi int, f, r geom.Vec, laid float64) (geom.Vec, geom.Vec, bool) {
	b := &w.plan.branches[bi]
	start := 0
	if laid == 0 && w.alike {
		by := r.Z - b.begin
		if b.prefix > 0 && b.least+by > depthClear && b.most+by < w.env.bottom()-depthClear {
			f, r = w.movePrefix(b, by)
			start = b.prefix
		}
		if b.part > 0 && start == len(b.lines)-1 {
			return w.onward(bi, by, f, r)
		}
	}
	if start == 0 {
		// What is integrated anew overwrites the samples that were kept.
		b.prefix = 0
	}
	b.part = 0
	return w.along(bi, start, len(b.lines), f, r, laid)
}

// mostLines is how many lines' worth of steps a solution may take.
const mostLines = 200

// along is chain for the lines of branch b from the first to before the last given.
func (w *Solver) along(bi, first, last int, f, r geom.Vec, laid float64) (geom.Vec, geom.Vec, bool) {
	if w.sol.Steps > mostLines*w.opt.MaxSteps {
		return f, r, false
	}
	b := &w.plan.branches[bi]
	sys, sol := w.sys, &w.sol
	for i, l := range b.lines[:last] {
		if i < first {
			continue
		}
		line := &sys.Lines[l]
		if i > 0 || !b.fixed {
			ok := true
			if f, ok = w.atNode(line.From, f, r, bi, i == 0); !ok {
				return f, r, false
			}
		}
		length := sol.Length[l]
		out := sol.Samples[l][:0]
		if laid > 0 {
			f, r, length, out, laid = w.layDown(line, l, f, r, laid, out)
		}
		begin := len(out)
		var ok bool
		f, r, out, ok = w.integrate(&line.Props, length, f, r, &w.hints[l], out)
		if begin > 0 {
			for k := begin; k < len(out); k++ {
				out[k].S += sol.Length[l] - length
			}
		}
		sol.Samples[l] = out
		if !ok {
			return f, r, false
		}
		if bi == 0 && laid == 0 && begin == 0 && w.alike && i == b.prefix && i < b.steady {
			w.keepPrefix(b, i, f, r)
		}
		if bi == 0 && laid == 0 && begin == 0 && w.alike {
			w.keepPart(b, i)
		}
	}
	return f, r, true
}

// atNode returns the pull above a node: what the branches ending there pull, less the
// bodies' load.
func (w *Solver) atNode(node int, f, r geom.Vec, bi int, leaf bool) (geom.Vec, bool) {
	below := f
	if !leaf {
		for _, j := range w.plan.joining[node] {
			c := &w.plan.branches[j]
			if !c.fixed {
				if !w.side(j, r.Z) {
					return f, false
				}
				w.shift[j] = geom.Vec{X: r.X - w.r[j].X, Y: r.Y - w.r[j].Y, Z: r.Z - w.r[j].Z}
				below = below.Add(w.f[j])
			}
			f = f.Add(w.f[j])
		}
	}
	w.at[node] = r
	load := w.bodies(node, below, r.Z)
	w.sol.Loads[node] = load
	above := f.Sub(load)
	if w.sys.Nodes[node].Kind == Ring {
		for i, k := range w.plan.rings {
			if k == node {
				below := w.ringBelow(node, f)
				w.ringD[i], w.ringPull[i] = ringFault(above, below), above.Norm()+below.Norm()
			}
		}
	}
	return above, true
}

// ringBelow returns the pull of the line that enters a ring, without what hangs on it.
func (w *Solver) ringBelow(node int, f geom.Vec) geom.Vec {
	for _, j := range w.plan.joining[node] {
		f = f.Sub(w.f[j])
	}
	return f
}

// ringFault is how far the two tensions at a frictionless ring differ, relative.
func ringFault(above, below geom.Vec) float64 {
	a, b := above.Norm(), below.Norm()
	return (a - b) / math.Max(a+b, 1e-9) * 2
}

func (w *Solver) bodies(node int, below geom.Vec, z float64) geom.Vec {
	var load geom.Vec
	bs := w.sys.Nodes[node].Bodies
	if len(bs) == 0 {
		return load
	}
	if !w.uniform {
		w.water.At(z, &w.state)
	} else {
		w.state = w.top
	}
	at := hydro.Surroundings{Depth: z, Rho: w.state.Rho, Nu: w.state.Nu, Bottom: w.env.bottom(),
		Flow: geom.Vec{X: w.state.Cx - w.boat.X, Y: w.state.Cy - w.boat.Y}, Motion: w.boat, Below: below.Norm()}
	for i := range bs {
		load = load.Add(bs[i].Load(&at, nil))
	}
	return load
}

// sweep solves a system with no outer unknowns left: the main chain against the root.
func (w *Solver) sweep() Status {
	root := w.sys.Nodes[w.sys.Root].At
	st := w.solveLeaf(0, root.Z, true)
	// What is left in depth after the root moves the chain as a whole: to first order
	// that is where it belongs.
	w.shift[0] = root.Sub(w.r[0])
	if w.once {
		w.shift[0].Z = 0
	}
	return st
}

// finish moves every sample to its place in the boat frame and notes the nodes.
func (w *Solver) finish() {
	sys, sol := w.sys, &w.sol
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		by := w.totalShift(bi)
		if b.fixed {
			by = geom.Vec{}
		}
		for _, l := range b.lines {
			s := sol.Samples[l]
			for i := range s {
				s[i].R = s[i].R.Add(by)
			}
			if len(s) > 0 {
				sol.Nodes[sys.Lines[l].From] = s[0].R
				if bi == 0 {
					sol.Nodes[sys.Lines[l].To] = s[len(s)-1].R
				}
			}
		}
	}
	for i := range sys.Nodes {
		if sys.Nodes[i].Kind == Fixed {
			sol.Nodes[i] = sys.Nodes[i].At
		}
	}
	if sol.Status == Converged {
		for _, p := range sol.Nodes {
			if !p.Finite() {
				sol.Status = Singular
			}
		}
	}
}

// totalShift adds the translations of the branches that a free branch hangs on.
func (w *Solver) totalShift(bi int) geom.Vec {
	by := geom.Vec{}
	for hops := 0; hops <= len(w.plan.branches); hops++ {
		b := &w.plan.branches[bi]
		if b.fixed {
			return by
		}
		by = by.Add(w.shift[bi])
		if bi == 0 {
			return by
		}
		bi = w.owner(b.join)
	}
	return by
}

// owner returns the branch whose chain passes through a node.
func (w *Solver) owner(node int) int {
	for bi := range w.plan.branches {
		for _, l := range w.plan.branches[bi].lines {
			if w.sys.Lines[l].From == node {
				return bi
			}
		}
	}
	return 0
}

// Cool forgets the last answer but keeps plan and memory: the next solve starts from
// nothing.
func (w *Solver) Cool() {
	w.warm, w.kept, w.span = false, false, 0
	for i := range w.plan.branches {
		w.plan.branches[i].warm = false
	}
	clear(w.hints)
}
