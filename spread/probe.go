package spread

import (
	"context"
	"math"
	"slices"

	"sternfan/portable"
	"sternfan/tackle"
	"sternfan/tow"
)

// dominants is how many inputs of each depth are moved in pairs, singled how many of those
// are moved to the scores of ladder, and theLeast what share of a variance makes a dominant.
const (
	dominants = 5
	singled   = 3
	theLeast  = 0.03
)

// noise is a deviation of a depth, m, under which its slopes are all that is asked: a float
// on the surface, a point on the boat. Answers are good to some millimeters.
const noise = 0.01

// minor is the share of every depth's variance below which an input's other side is taken to
// answer like the first.
const minor = 0.002

// smallMove is how far a depth moves, m, under which the other side of an input is not asked.
const smallMove = 0.05

// each moves every input alone.
func (p *probes) each(ctx context.Context, a *answers) {
	const moves = Eighty * Eighty * smallMove * smallMove
	total := make([]float64, len(a.base))
	for j := range a.up {
		alone := p.at(ctx, a.up[j], move{j, Eighty})
		if !alone {
			p.pair(ctx, a.up[j], a.down[j], move{j, Eighty})
		}
		matters := false
		for k, y := range a.up[j] {
			d := y - a.base[k]
			a.down[j][k] = a.base[k] - d
			total[k] += d * d
			matters = matters || d*d > minor*total[k] && total[k] > moves
		}
		if alone && matters {
			p.mark(j)
		}
	}
	for j := range a.up {
		matters := false
		for k, y := range a.up[j] {
			d := y - a.base[k]
			matters = matters || d*d > minor*total[k] && total[k] > moves
		}
		if matters && !p.at(ctx, a.down[j], move{j, -Eighty}) {
			for k, y := range a.up[j] {
				a.down[j][k] = 2*a.base[k] - y
			}
		}
	}
}

// mains finds the inputs that matter most to each depth a person is told, and moves them
// further and in pairs. A depth held by the bottom has corners, which further points only
// smear.
func (p *probes) mains(ctx context.Context, a *answers, held bool) {
	nodes, inputs := len(a.base), len(p.touches)
	pairs, single := make([]bool, inputs*inputs), make([]bool, inputs)
	place := make([]int, inputs)
	for j := range place {
		place[j] = -1
	}
	for k := range nodes {
		if kind := p.s.model.Groups[p.g.Index].Nodes[k].Kind; kind == "" || kind == "tip" {
			continue
		}
		top := dominant(a, k)
		for i, e := range top {
			single[e] = single[e] || i < singled && !held
			if place[e] < 0 {
				place[e] = len(a.main)
				a.main = append(a.main, e)
			}
			for _, f := range top[:i] {
				pairs[e*inputs+f], pairs[f*inputs+e] = true, true
			}
		}
	}
	a.rungs = make([][len(ladder)][2][]float64, len(a.main))
	a.both = make([][][]float64, len(a.main))
	for i, e := range a.main {
		if single[e] {
			for k, x := range ladder {
				a.rungs[i][k] = [2][]float64{make([]float64, nodes), make([]float64, nodes)}
				p.pair(ctx, a.rungs[i][k][0], a.rungs[i][k][1], move{e, x})
			}
		}
		a.both[i] = make([][]float64, len(a.main))
		for j := i + 1; j < len(a.main); j++ {
			if f := a.main[j]; pairs[e*inputs+f] {
				row := make([]float64, nodes)
				if p.at(ctx, row, move{e, Eighty}, move{f, Eighty}) {
					a.both[i][j] = row
				}
			}
		}
	}
}

// dominant returns the inputs with the largest shares of a depth's variance, largest first.
func dominant(a *answers, node int) []int {
	total := 0.0
	share := make([]float64, len(a.up))
	for j := range share {
		d := a.up[j][node] - a.down[j][node]
		share[j] = d * d
		total += d * d
	}
	if !(total > 4*Eighty*Eighty*noise*noise) {
		return nil
	}
	var out []int
	for len(out) < dominants {
		best := 0
		for j, v := range share {
			if v > share[best] {
				best = j
			}
		}
		if share[best] < theLeast*total {
			break
		}
		out = append(out, best)
		share[best] = 0
	}
	return out
}

// way is a direction in which a depth changes fastest, and what all inputs moved together
// around it give.
type way struct {
	x     []float64    // a quantile's distance along it
	score [4][]float64 // two points of the upper quantile's surface, two of the lower's
	depth [4][]float64 // there, by node
	lost  bool         // one of them finds no rest
}

// alike is the least cosine between directions that one answer serves.
const alike = 0.97

// misses returns what the response of a node misses around its lower and its upper
// quantile: the mean over two points a standard deviation to either side of where the depth
// changes fastest, in the plane of the two inputs that matter most. These are the points of
// the two-point Gauss and Hermite rule for the normal density across that direction; a
// single point on it would take a third input's product with another for what it is there
// alone. It asks for answers when no earlier ones will do.
func (p *probes) misses(ctx context.Context, ways *[]way, r *response, node int) (lo, hi float64) {
	if kind := p.s.model.Groups[p.g.Index].Nodes[node].Kind; kind == "" || kind == "tip" {
		return 0, 0
	}
	x := r.steepest(Eighty)
	if x == nil {
		return 0, 0
	}
	found := -1
	for i := range *ways {
		dot := 0.0
		for j := range x {
			dot += x[j] * (*ways)[i].x[j]
		}
		if dot > alike*Eighty*Eighty {
			found = i
		}
	}
	if found < 0 {
		found = len(*ways)
		*ways = append(*ways, p.around(ctx, x))
	}
	w := &(*ways)[found]
	if w.lost {
		return 0, 0
	}
	miss := func(k int) float64 { return w.depth[k][node] - r.value(w.score[k]) }
	return (miss(2) + miss(3)) / 2, (miss(0) + miss(1)) / 2
}

// around asks for the answers around a direction.
func (p *probes) around(ctx context.Context, x []float64) way {
	first, second := 0, -1
	for j := range x {
		switch {
		case math.Abs(x[j]) > math.Abs(x[first]):
			first, second = j, first
		case j != first && (second < 0 || math.Abs(x[j]) > math.Abs(x[second])):
			second = j
		}
	}
	across := make([]float64, len(x))
	if second >= 0 {
		n := portable.Hypot(x[first], x[second])
		across[first], across[second] = -x[second]/n, x[first]/n
	}
	w := way{x: x}
	for k, sign := range [4]float64{1, 1, -1, -1} {
		side := float64(1 - 2*(k%2))
		w.score[k], w.depth[k] = make([]float64, len(x)), make([]float64, len(p.g.depth))
		moves := make([]move, len(x))
		for j := range x {
			w.score[k][j] = sign*x[j] + side*across[j]
			moves[j] = move{j, w.score[k][j]}
		}
		if !p.at(ctx, w.depth[k], moves...) {
			w.lost = true
			break
		}
	}
	return w
}

// move puts one independent score at x.
type move struct {
	j int
	x float64
}

// probes asks one group what happens when inputs move.
type probes struct {
	s       *Solver
	g       *System
	touches []int
	mix     []float64
	world   []float64
	near    bool   // changes may be answered about the linearized solution
	isNear  bool   // the last one was
	marked  []bool // by input: its move by Eighty is kept to begin others along it
	from    []tow.Along
	offset  []float64 // of that solution's depths from the nominal ones, by its form
	other   aside
}

func (s *Solver) probing(g *System) *probes {
	touches, n := s.model.Touches(g.Index), len(g.depth)
	p := &probes{s: s, g: g, touches: touches, mix: Mixing(s.model.Registry, touches),
		world:  make([]float64, len(s.model.Registry)),
		marked: make([]bool, len(touches)), offset: make([]float64, n),
		other: aside{solver: &g.second}}
	if g.solver.Linearize() {
		if sol, ok := g.solver.Near(&g.Sys, &s.nominal, s.towing()); ok {
			p.near = true
			for i, at := range sol.Nodes {
				p.offset[i] = at.Z - g.depth[i]
			}
		}
	}
	return p
}

func (s *Solver) towing() tow.Options { return tow.Options{Tolerance: s.opt.Tolerance} }

// asking is what the answers of an interval are held to: the half of the tolerance moves its
// ends by 0.06 % of its width, on average over examples/summer.yaml.
func (s *Solver) asking() tow.Options {
	t := s.opt.Tolerance
	if t == 0 {
		t = tow.DefaultTolerance
	}
	return tow.Options{Tolerance: 2 * t}
}

// pair notes the depths with some scores moved, and with all of them moved the other way.
// What finds no rest is taken to answer like the other side; then it reports false.
func (p *probes) pair(ctx context.Context, up, down []float64, moves ...move) bool {
	okUp := p.at(ctx, up, moves...)
	other := slices.Clone(moves)
	for i := range other {
		other[i].x = -other[i].x
	}
	okDown := p.at(ctx, down, other...)
	for i, y := range p.g.depth {
		switch {
		case !okUp && !okDown:
			up[i], down[i] = y, y
		case !okUp:
			up[i] = 2*y - down[i]
		case !okDown:
			down[i] = 2*y - up[i]
		}
	}
	return okUp && okDown
}

// mark lets later moves of input j begin along the one just answered, by Eighty.
func (p *probes) mark(j int) {
	if p.isNear {
		p.g.solver.Mark(j)
		p.marked[j] = true
	}
}

// at notes the depths with some scores moved.
func (p *probes) at(ctx context.Context, out []float64, moves ...move) bool {
	s, g, n := p.s, p.g, len(p.touches)
	for _, m := range moves {
		for i, e := range p.touches {
			p.world[e] += p.mix[i*n+m.j] * m.x
		}
	}
	env := s.envAt(p.world, p.touches, p.mix, moves)
	s.build(g, p.world)
	var sol *tow.Solution
	ok := false
	if p.near {
		p.from = p.from[:0]
		for _, m := range moves {
			if p.marked[m.j] {
				p.from = append(p.from, tow.Along{Mark: m.j, Times: m.x / Eighty})
			}
		}
		sol, ok = g.solver.Near(&g.Sys, env, s.asking(), p.from...)
	}
	p.isNear = ok
	offset := p.offset
	if !ok {
		if there := p.aside(ctx, env); there != nil {
			sol, ok, offset = there, true, p.other.offset
		}
	}
	if !ok {
		expect := g.depth[g.Sys.Main]
		if sol != nil {
			expect = sol.Nodes[g.Sys.Main].Z
		}
		g.solver.Expect(expect)
		s.solve(ctx, g, p.world, env)
		sol, ok = g.Sol, g.Sol.Status == tow.Converged
	}
	for _, e := range p.touches {
		p.world[e] = 0
	}
	if !ok {
		return false
	}
	for i, at := range sol.Nodes {
		out[i] = at.Z
	}
	if sol != g.Sol {
		for i := range out {
			out[i] -= offset[i]
		}
	}
	return true
}

// envAt returns the surroundings in a world that moves some independent scores. Most
// entries leave them alone; the others move them alike for every group.
func (s *Solver) envAt(world []float64, touches []int, mix []float64, moves []move) *tow.Env {
	n := len(touches)
	key := envKey{-1, -1, moves[0].x}
	for _, m := range moves {
		for i := range touches {
			if i != m.j && mix[i*n+m.j] != 0 {
				env := s.model.EnvAt(world, s.probe)
				return &env
			}
		}
		if e := touches[m.j]; movesEnv(s.model.Registry[e].Param) {
			switch {
			case key.b >= 0:
				env := s.model.EnvAt(world, s.probe)
				return &env
			case key.a >= 0:
				key.b = e
			default:
				key.a = e
			}
		}
	}
	if key.a < 0 {
		return &s.nominal
	}
	env, ok := s.envs[key]
	if !ok {
		fresh := s.model.EnvAt(world, s.probe)
		env = &fresh
		if s.envs == nil {
			s.envs = map[envKey]*tow.Env{}
		}
		s.envs[key] = env
	}
	return env
}

// movesEnv reports whether an entry is of the water or the speed, not of the gear.
func movesEnv(param string) bool {
	switch param {
	case tackle.ParamSpeed, tackle.ParamCurrent, tackle.ParamBottom, tackle.ParamFleas:
		return true
	}
	return false
}

// envKey names the surroundings with up to two entries moved the same way; -1 for none.
type envKey struct {
	a, b int
	x    float64
}
