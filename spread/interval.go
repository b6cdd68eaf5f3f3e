package spread

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"sternfan"
	"sternfan/num"
	"sternfan/tackle"
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

// response is how one depth answers to the registry: depth = base + sum b_i x_i + a_i x_i^2
// in independent standard normal scores x.
type response struct {
	base float64
	b, a []float64
}

// quantiles returns the depths that are not reached 1 time in 10 and passed 1 time in 10.
// The cumulants of the quadratic form are exact; its quantiles are those of Cornish &
// Fisher 1938 to the fourth cumulant.
func (r *response) quantiles() (lo, hi float64) {
	mean, k2, k3, k4 := r.base, 0.0, 0.0, 0.0
	for i, b := range r.b {
		a := r.a[i]
		mean += a
		k2 += b*b + 2*a*a
		k3 += 6*b*b*a + 8*a*a*a
		k4 += 48*b*b*a*a + 48*a*a*a*a
	}
	if k2 == 0 {
		return r.base, r.base
	}
	sd := math.Sqrt(k2)
	// Beyond these the expansion is no longer monotone at the scores used.
	skew := clamp(k3/(k2*sd), -1, 1)
	kurt := clamp(k4/(k2*k2), 0, 2)
	at := func(z float64) float64 {
		return mean + sd*(z+(z*z-1)*skew/6+(z*z*z-3*z)*kurt/24-(2*z*z*z-5*z)*skew*skew/36)
	}
	return at(-Eighty), at(Eighty)
}

func clamp(x, lo, hi float64) float64 { return math.Min(math.Max(x, lo), hi) }

// intervals moves each entry of the registry that touches the group to the scores of the
// interval's ends and solves again; the answers give each depth's response.
func (s *Spread) intervals(ctx context.Context, g *group) {
	touches := s.model.Touches(g.index)
	mix := mixing(s.model.Registry, touches)
	world := make([]float64, len(s.model.Registry))
	n := len(g.depth)
	rs := make([]response, n)
	for i := range rs {
		rs[i] = response{base: g.depth[i], b: make([]float64, len(touches)), a: make([]float64, len(touches))}
	}
	up, down := make([]float64, n), make([]float64, n)
	for j := range touches {
		okUp := s.at(ctx, g, world, touches, mix, j, Eighty, up)
		okDown := s.at(ctx, g, world, touches, mix, j, -Eighty, down)
		for i := range rs {
			y0, u, d := rs[i].base, up[i], down[i]
			switch {
			case okUp && okDown:
				rs[i].b[j] = (u - d) / (2 * Eighty)
				rs[i].a[j] = (u + d - 2*y0) / (2 * Eighty * Eighty)
			case okUp:
				rs[i].b[j] = (u - y0) / Eighty
			case okDown:
				rs[i].b[j] = (y0 - d) / Eighty
			}
		}
	}
	fits := s.correct(ctx, g, world, touches, mix, rs)
	g.band = make([]interval, n)
	for i := range rs {
		iv := &g.band[i]
		iv.lo, iv.hi = rs[i].quantiles()
		sd := rs[i].scale()
		for _, end := range [2]*float64{&iv.lo, &iv.hi} {
			x := (*end - rs[i].base) / sd
			*end += fits[i][0] + x*(fits[i][1]+x*fits[i][2])
		}
		iv.lo, iv.hi = math.Min(iv.lo, g.depth[i]), math.Max(iv.hi, g.depth[i])
		if g.depth[i] >= 0 {
			iv.lo = math.Max(iv.lo, 0)
		}
		iv.drivers = drivers(&rs[i], touches, s.model.Registry)
	}
	// Leave the group as it was found: at its nominal answer.
	s.solve(ctx, g, nil, &s.nominal)
}

// at solves the group with the independent score j at x and notes the depths.
func (s *Spread) at(ctx context.Context, g *group, world []float64, touches []int, mix []float64, j int, x float64, out []float64) bool {
	n := len(touches)
	for i, e := range touches {
		world[e] = mix[i*n+j] * x
	}
	env := s.envAt(world, touches, mix, j, x)
	g.solver.Expect(g.depth[g.sys.Main])
	s.solve(ctx, g, world, env)
	for _, e := range touches {
		world[e] = 0
	}
	if g.sol.Status != tow.Converged {
		return false
	}
	for i, p := range g.sol.Nodes {
		out[i] = p.Z
	}
	return true
}

// envAt returns the surroundings in a world that moves one independent score. Most
// entries leave them alone; the others move them alike for every group.
func (s *Spread) envAt(world []float64, touches []int, mix []float64, j int, x float64) *tow.Env {
	n := len(touches)
	for i := range touches {
		if i != j && mix[i*n+j] != 0 {
			env := s.model.EnvAt(world, s.probe)
			return &env
		}
	}
	e := touches[j]
	if !movesEnv(s.model.Registry[e].Param) {
		return &s.nominal
	}
	key := envKey{e, x > 0}
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

type envKey struct {
	entry int
	up    bool
}

// drivers returns the inputs that make up most of a depth's variance, largest first.
func drivers(r *response, touches []int, reg []sternfan.Entry) []sternfan.Driver {
	total := 0.0
	for i := range r.b {
		total += r.b[i]*r.b[i] + 2*r.a[i]*r.a[i]
	}
	if total == 0 {
		return nil
	}
	var ds []sternfan.Driver
	for i, e := range touches {
		if share := (r.b[i]*r.b[i] + 2*r.a[i]*r.a[i]) / total; share >= 0.02 {
			ds = append(ds, sternfan.Driver{Name: reg[e].Name, Share: share})
		}
	}
	slices.SortStableFunc(ds, func(a, b sternfan.Driver) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return ds[:min(len(ds), 5)]
}

// mixing returns the lower triangular factor L of the correlation among the entries at
// touches, n x n by rows: scores = L x for independent x. Without correlations it is the
// identity.
func mixing(reg []sternfan.Entry, touches []int) []float64 {
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

// Worlds calls visit with the depths of group g's nodes in n worlds drawn from the
// registry. The same seed gives the same worlds; a world that does not converge gives nil.
func (s *Spread) Worlds(ctx context.Context, gi, n int, seed uint64, visit func(depths []float64)) error {
	g := &s.groups[gi]
	all := make([]int, len(s.model.Registry))
	for i := range all {
		all[i] = i
	}
	mix := mixing(s.model.Registry, all)
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
		for i := range k {
			world[i] = 0
			for j := 0; j <= i; j++ {
				world[i] += mix[i*k+j] * x[j]
			}
		}
		env := s.model.EnvAt(world, s.probe)
		s.solve(ctx, g, world, &env)
		if g.sol.Status != tow.Converged {
			visit(nil)
			continue
		}
		for i, p := range g.sol.Nodes {
			depths[i] = p.Z
		}
		visit(depths)
	}
	return nil
}

// Bands returns the ends of the 80 % interval of every node of a group, as last found.
func (s *Spread) Bands(gi int) (lo, hi []float64) {
	for _, b := range s.groups[gi].band {
		lo, hi = append(lo, b.lo), append(hi, b.hi)
	}
	return lo, hi
}

// Floating reports whether a node of a group carries a body that floats, as last built.
func (s *Spread) Floating(gi, node int) bool {
	for _, b := range s.groups[gi].sys.Nodes[node].Bodies {
		if b.Floats {
			return true
		}
	}
	return false
}
