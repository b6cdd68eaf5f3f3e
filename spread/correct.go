package spread

import (
	"context"
	"math"
	"math/rand/v2"

	"sternfan/num"
	"sternfan/tow"
)

// value returns the response at independent scores x.
func (r *response) value(x []float64) float64 {
	y := r.base
	for i, v := range x {
		y += v * (r.b[i] + r.a[i]*v)
	}
	return y
}

// scale returns the standard deviation of the linear part, never zero.
func (r *response) scale() float64 {
	k := 0.0
	for _, b := range r.b {
		k += b * b
	}
	return math.Max(math.Sqrt(k), 1e-9)
}

// ensemble is how many worlds hold the response against the model itself.
const ensemble = 48

// correct holds the responses against the model in a few worlds, always the same: what
// the response misses there (products of inputs, third powers) is fitted as a quadratic in
// the response. It returns the coefficients by node, of powers of the standardized
// response.
func (s *Spread) correct(ctx context.Context, g *group, world []float64, touches []int, mix []float64, rs []response) [][3]float64 {
	n, m := len(touches), len(rs)
	x := make([]float64, n)
	sums := make([]moments, m)
	for k := range ensemble {
		for i, e := range touches {
			x[i] = s.draw(k, e)
		}
		for i, e := range touches {
			world[e] = 0
			for j := 0; j <= i; j++ {
				world[e] += mix[i*n+j] * x[j]
			}
		}
		env := s.worldEnv(k, world)
		g.solver.Expect(rs[g.sys.Main].value(x))
		s.solve(ctx, g, world, env)
		if g.sol.Status != tow.Converged {
			continue
		}
		for i := range rs {
			y := rs[i].value(x)
			sums[i].add((y-rs[i].base)/rs[i].scale(), g.sol.Nodes[i].Z-y)
		}
	}
	for _, e := range touches {
		world[e] = 0
	}
	out := make([][3]float64, m)
	for i := range out {
		// What lies on the bottom is held by the bottom: there is nothing smooth to fit.
		if s.nominal.Bottom > 0 && (rs[i].base > s.nominal.Bottom-0.1 || s.grounded(g)) {
			continue
		}
		out[i] = sums[i].fit()
	}
	return out
}

// grounded reports whether the group's main end lies on the bottom at nominal.
func (s *Spread) grounded(g *group) bool {
	return g.depth[g.sys.Main] > s.nominal.Bottom-0.1
}

// draw returns the score of registry entry e in world k: worlds in mirrored pairs, a
// little wider than the inputs, since the ends of the interval are where a fit has to hold.
func (s *Spread) draw(k, e int) float64 {
	n := len(s.model.Registry)
	if len(s.draws) != ensemble/2*n {
		rng := rand.New(rand.NewPCG(80, 10))
		s.draws = make([]float64, ensemble/2*n)
		for i := range s.draws {
			s.draws[i] = 1.1 * rng.NormFloat64()
		}
	}
	if x := s.draws[k/2*n+e]; k%2 == 0 {
		return x
	} else {
		return -x
	}
}

// worldEnv returns the surroundings of world k. They are the same for every group, and
// made once, unless an entry of the registry is correlated with another.
func (s *Spread) worldEnv(k int, world []float64) *tow.Env {
	for i := range s.model.Registry {
		if len(s.model.Registry[i].Corr) > 0 {
			fresh := s.model.EnvAt(world, s.probe)
			return &fresh
		}
	}
	if s.worlds[k] == nil {
		whole := make([]float64, len(s.model.Registry))
		for e := range whole {
			if movesEnv(s.model.Registry[e].Param) {
				whole[e] = s.draw(k, e)
			}
		}
		fresh := s.model.EnvAt(whole, s.probe)
		s.worlds[k] = &fresh
	}
	return s.worlds[k]
}

// moments gathers a least-squares fit of a quadratic.
type moments struct {
	n, x, x2, x3, x4, y, xy, x2y, y2 float64
}

func (m *moments) add(x, y float64) {
	m.n++
	m.x += x
	m.x2 += x * x
	m.x3 += x * x * x
	m.x4 += x * x * x * x
	m.y += y
	m.xy += x * y
	m.x2y += x * x * y
	m.y2 += y * y
}

// systematic is the part of what is missed that a fit has to explain to be taken for more
// than the luck of a few worlds.
const systematic = 0.3

// fit returns the coefficients of 1, x and x2; zeros when there is too little to go by.
func (m *moments) fit() [3]float64 {
	if m.n < 8 {
		return [3]float64{}
	}
	a := []float64{m.n, m.x, m.x2, m.x, m.x2, m.x3, m.x2, m.x3, m.x4}
	b := []float64{m.y, m.xy, m.x2y}
	if !num.Solve(a, b, 3) {
		return [3]float64{}
	}
	if explained := b[0]*m.y + b[1]*m.xy + b[2]*m.x2y; !(explained > systematic*m.y2) {
		return [3]float64{}
	}
	return [3]float64{b[0], b[1], b[2]}
}
