package spread

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"sternfan"
	"sternfan/num"
	"sternfan/tow"
)

// Eighty is the standard normal score of the interval's ends: 4 times in 5 between.
// Source: normal quantile of 0.9, R qnorm(0.9).
const Eighty = 1.2815515655446004

// interval is a depth's quantiles and what moves it.
type interval struct {
	lo, hi  float64
	drivers []sternfan.Driver
}

// intervals moves each entry of the registry that touches the group to the scores of the
// interval's ends, those that matter most also to others and in pairs, and at last all
// together along the way each depth changes fastest; the answers give the depths' quantiles.
func (s *Solver) intervals(ctx context.Context, g *System) {
	p := s.probing(g)
	nodes, inputs := len(g.depth), len(p.touches)
	a := answers{base: g.depth, up: table(inputs, nodes), down: table(inputs, nodes)}
	p.each(ctx, &a)
	held := s.nominal.Bottom > 0 && g.depth[g.Sys.Main] > s.nominal.Bottom-0.1
	p.mains(ctx, &a, held)
	g.band = make([]interval, nodes)
	var ways []way
	var r response
	for i := range g.band {
		iv := &g.band[i]
		a.response(&r, i, held)
		iv.lo, iv.hi = r.quantiles()
		if !held {
			lo, hi := p.misses(ctx, &ways, &r, i)
			iv.lo, iv.hi = iv.lo+lo, iv.hi+hi
		}
		iv.lo, iv.hi = math.Min(iv.lo, g.depth[i]), math.Max(iv.hi, g.depth[i])
		if g.depth[i] >= 0 {
			iv.lo = math.Max(iv.lo, 0)
		}
		iv.drivers = drivers(&r, p.touches, s.model.Registry)
	}
	// Leave the group as it was found: at its nominal answer.
	if g.solver.Return() {
		s.build(g, nil)
		return
	}
	s.solve(ctx, g, nil, &s.nominal)
}

func table(rows, columns int) [][]float64 {
	t, all := make([][]float64, rows), make([]float64, rows*columns)
	for i := range t {
		t[i], all = all[:columns:columns], all[columns:]
	}
	return t
}

// drivers returns the inputs that make up most of a depth's variance, largest first.
func drivers(r *response, touches []int, reg []sternfan.Entry) []sternfan.Driver {
	total := 0.0
	for i := range r.own {
		total += r.own[i][1]
	}
	if total == 0 {
		return nil
	}
	var ds []sternfan.Driver
	for i, e := range touches {
		if share := r.own[i][1] / total; share >= 0.02 {
			ds = append(ds, sternfan.Driver{Name: reg[e].Name, Share: share})
		}
	}
	slices.SortStableFunc(ds, func(a, b sternfan.Driver) int { return cmp.Compare(b.Share, a.Share) })
	return ds[:min(len(ds), 5)]
}

// Mixing returns the lower triangular factor L of the correlation among the entries at
// touches, n x n by rows: scores = L x for independent x. Without correlations it is the
// identity.
func Mixing(reg []sternfan.Entry, touches []int) []float64 {
	n := len(touches)
	c := make([]float64, n*n)
	for i := range n {
		c[i*n+i] = 1
		for _, with := range reg[touches[i]].Corr {
			for k, e := range touches {
				if reg[e].Name == with.With {
					c[i*n+k], c[k*n+i] = with.Rho, with.Rho
				}
			}
		}
	}
	if !num.Cholesky(c, n) {
		panic("spread: correlations of the registry are not positive definite")
	}
	return c
}

// Mix turns independent scores x into the scores of a world, by the factor that [Mixing]
// returns for all entries.
func Mix(factor, x, world []float64) {
	for i := range world {
		world[i] = 0
		for j := 0; j <= i; j++ {
			world[i] += factor[i*len(x)+j] * x[j]
		}
	}
}

// Worlds calls visit with the depths of group g's nodes in n worlds drawn from the
// registry. The same seed gives the same worlds; a world that does not converge gives nil.
func (s *Solver) Worlds(ctx context.Context, gi, n int, seed uint64, visit func(depths []float64)) error {
	g := &s.groups[gi]
	all := make([]int, len(s.model.Registry))
	for i := range all {
		all[i] = i
	}
	mix := Mixing(s.model.Registry, all)
	rng := rand.New(rand.NewPCG(seed, uint64(gi)))
	k := len(all)
	x, world, depths := make([]float64, k), make([]float64, k), make([]float64, len(g.depth))
	for range n {
		if err := ctx.Err(); err != nil {
			return err
		}
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		Mix(mix, x, world)
		env := s.model.EnvAt(world, s.probe)
		s.solve(ctx, g, world, &env)
		if g.Sol.Status != tow.Converged {
			visit(nil)
			continue
		}
		for i, p := range g.Sol.Nodes {
			depths[i] = p.Z
		}
		visit(depths)
	}
	return nil
}

// Bands returns the ends of the 80 % interval of every node of a group, as last found.
func (s *Solver) Bands(gi int) (lo, hi []float64) {
	for _, b := range s.groups[gi].band {
		lo, hi = append(lo, b.lo), append(hi, b.hi)
	}
	return lo, hi
}

// Floating reports whether a node of a group carries a body that floats, as last built.
func (s *Solver) Floating(gi, node int) bool {
	return floats(&s.groups[gi].Sys.Nodes[node])
}
