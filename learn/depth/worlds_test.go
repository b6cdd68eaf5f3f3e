//go:build !js

package depth

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"sternfan"
	"sternfan/internal/worldtest"
	"sternfan/num"
	"sternfan/spread"
)

// standIn answers like the engine to second order about what is assumed: a thousand fits
// through the engine would take minutes. Curvatures are those of the strongest columns.
type standIn struct {
	base, jac []float64
	strong    []int
	curve     []float64 // readings by strong by strong
	n         int
}

func (s *standIn) size() (int, int) { return len(s.base), s.n }

func (s *standIn) predict(_ context.Context, x, out []float64) {
	q := len(s.strong)
	for k := range out {
		v := s.base[k]
		for c, g := range s.jac[k*s.n : (k+1)*s.n] {
			v += g * x[c]
		}
		for a, i := range s.strong {
			for b, j := range s.strong {
				v += s.curve[(k*q+a)*q+b] * x[i] * x[j] / 2
			}
		}
		out[k] = v
	}
}

func (s *standIn) slopes(_ context.Context, x, jac []float64) {
	copy(jac, s.jac)
	q := len(s.strong)
	for k := range s.base {
		for a, i := range s.strong {
			for b, j := range s.strong {
				jac[k*s.n+i] += s.curve[(k*q+a)*q+b] * x[j]
			}
		}
	}
}

// measuredBoat is a season's measurements of the test's boat, of every kind.
var measuredBoat = sync.OnceValues(func() (*workshop, *standIn) {
	var ms []sternfan.Measurement
	add := func(kind sternfan.MeasuredKind, sd float64, s [4]float64) {
		id, set := setOf(s)
		ms = append(ms, sternfan.Measurement{Dated: "2026-06-03", Rod: id, Kind: kind, SD: sd, Settings: set})
	}
	for _, s := range twelve {
		add(sternfan.MeasuredDepth, 2*foot, s)
	}
	for _, s := range [][4]float64{{0, 150, 1, 2.4}, {1, 180, 2, 2.4}} {
		add(sternfan.MeasuredPull, 2, s)
		add(sternfan.MeasuredAngle, 2, s)
		add(sternfan.MeasuredSide, 3*foot, s)
	}
	ms = append(ms,
		sternfan.Measurement{Dated: "2026-06-03", Rod: "p1", Kind: sternfan.MeasuredBottom, SD: foot, Touched: true,
			Settings: []string{"rods.p1.settings.line_out=200 ft"}, ClearAt: []string{"rods.p1.settings.line_out=180 ft"}},
		sternfan.Measurement{Dated: "2026-06-03", Rod: "dr", Kind: sternfan.MeasuredRange, SD: foot, Settings: []string{"speed.value=2.8 mph"}, Transducer: [3]float64{0, 0, 0.5}})
	sc := decodeText(depthBoat)
	w := &workshop{q: Query{Scenario: sc, Measured: ms, With: func(set []string) (*sternfan.Scenario, error) { return decodeText(depthBoat, set...), nil }},
		stands: map[string]*stand{}, fills: map[string]float64{}}
	w.boat.index = map[string]int{}
	data, faults := w.ask(context.Background())
	if len(faults) > 0 {
		panic(faults)
	}
	w.data = data
	ctx := context.Background()
	w.boat.prune(ctx)
	p, n := w.boat.size()
	s := &standIn{n: n, base: make([]float64, p), jac: make([]float64, p*n)}
	x := make([]float64, n)
	w.boat.predict(ctx, x, s.base)
	w.boat.slopes(ctx, x, s.jac)
	effect := make([]float64, n)
	order := make([]int, n)
	for c := range n {
		order[c] = c
		for k := range p {
			effect[c] += math.Abs(s.jac[k*n+c]) / w.boat.readings[k].sd
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(effect[b], effect[a]) })
	s.strong = order[:6]
	q := len(s.strong)
	s.curve = make([]float64, p*q*q)
	at := func(i, j int, sign float64) []float64 {
		out := make([]float64, p)
		clear(x)
		x[i] += sign * 0.5
		x[j] += sign * 0.5
		w.boat.predict(ctx, x, out)
		return out
	}
	for a, i := range s.strong {
		for b, j := range s.strong[:a+1] {
			up, down := at(i, j, 1), at(i, j, -1)
			for k := range p {
				// v'(t) along e_i + e_j; the diagonals are found first and taken out.
				v := (up[k] + down[k] - 2*s.base[k]) / 0.25
				if a == b {
					s.curve[(k*q+a)*q+b] = v / 4
					continue
				}
				s.curve[(k*q+a)*q+b] = v
			}
		}
	}
	for k := range p {
		for a := range q {
			for b := range a {
				v := (s.curve[(k*q+a)*q+b] - s.curve[(k*q+a)*q+a] - s.curve[(k*q+b)*q+b]) / 2
				s.curve[(k*q+a)*q+b], s.curve[(k*q+b)*q+a] = v, v
			}
		}
	}
	return w, s
})

// asMeasured returns the measurements of a world with normal errors, some gross.
func asMeasured(w *workshop, y []float64, rng *rand.Rand, gross float64) []asked {
	data := slices.Clone(w.data)
	for i := range data {
		a := &data[i]
		wide := 1.0
		if rng.Float64() < gross {
			wide = grossWidth
		}
		e := a.sd * wide * rng.NormFloat64()
		if !a.bottom {
			a.value = y[a.at] + e
			continue
		}
		// A line is let out until it touches: the depth of water is anywhere between.
		a.value = y[a.clear] + rng.Float64()*(y[a.at]-y[a.clear]) + e
	}
	return data
}

// The figures to hold are the project's own: 80 % intervals of the numbers hold 77 to 83
// times in 100 over worlds drawn from the registry, with normal errors and with one gross
// error in twenty. 16,000 worlds gave 79.4 to 80.9; those of every day scatter by 0.6 about
// that, so that other seeds pass as well.
func TestNumbersCoverage(t *testing.T) {
	w, s := measuredBoat()
	prior := w.boat.prior()
	for _, gross := range []float64{0, grossChance} {
		t.Run(fmt.Sprint("gross ", gross), func(t *testing.T) {
			t.Parallel()
			const worlds = 4000
			p, n := s.size()
			held, narrow := make([]int, n), make([]float64, n)
			x, y := make([]float64, n), make([]float64, p)
			unsettled := 0
			for k := range worlds {
				rng := worldtest.Rand(uint64(k), 1977)
				for c := range x {
					x[c] = rng.NormFloat64()
				}
				s.predict(t.Context(), x, y)
				f := maximize(t.Context(), s, asMeasured(w, y, rng, gross), prior)
				if !f.settled {
					unsettled++
				}
				for c := range x {
					sd := math.Sqrt(f.cov[c*n+c])
					narrow[c] += sd / worlds
					if math.Abs(f.x[c]-x[c]) <= spread.Eighty*sd {
						held[c]++
					}
				}
			}
			all, many := 0, 0
			for c := range x {
				if narrow[c] > shrunk || w.boat.columns[c].occasion != "" {
					continue
				}
				many++
				all += held[c]
				t.Logf("%s: narrowed to %.2f, held %.1f %%", w.boat.columns[c].entry.Name, narrow[c], 100*float64(held[c])/worlds)
				if r := float64(held[c]) / worlds; r < 0.77 || r > 0.83 {
					t.Errorf("%s holds %.1f %%", w.boat.columns[c].entry.Name, 100*r)
				}
			}
			rate := float64(all) / float64(many*worlds)
			t.Logf("%d numbers together: %.2f %%; %d fits unsettled", many, 100*rate, unsettled)
			if many < 5 || rate < 0.77 || rate > 0.83 || unsettled > worlds/100 {
				t.Errorf("%d numbers hold %.2f %%, want 77 to 83 of at least 5; %d fits unsettled", many, 100*rate, unsettled)
			}
		})
	}
}

// Means and deviations of the numbers that are saved against a random walk through the
// posterior itself (Metropolis and others, J. Chem. Phys. 21, 1953), in worlds drawn from
// the registry, one of the measurements being 30 ft off. Means lie beside the maximum by
// what [climb.lean] says, at most a third of a deviation.
func TestLaplaceAgainstRandomWalk(t *testing.T) {
	t.Parallel()
	w, s := measuredBoat()
	prior := w.boat.prior()
	p, n := s.size()
	const worlds = 20
	off, ratio, most := make([]float64, n), make([]float64, n), 0.0
	for world := range worlds {
		rng := worldtest.Rand(uint64(world), 1953)
		x, y := make([]float64, n), make([]float64, p)
		for c := range x {
			x[c] = rng.NormFloat64()
		}
		s.predict(t.Context(), x, y)
		data := asMeasured(w, y, rng, 0)
		data[3].value += 30 * foot
		f, m := peak(t.Context(), s, data, prior)
		lean := m.lean(t.Context(), f)
		m.doubts(t.Context(), f, data)
		if f.trust[3] > 0.1 {
			t.Errorf("an error of 30 ft is trusted %.3f", f.trust[3])
		}
		mean, sd := walk(s, m, f, rng)
		for c := range n {
			off[c] += math.Abs(mean[c]-f.x[c]-lean[c]) / sd[c] / worlds
			most = max(most, math.Abs(lean[c])/sd[c])
			ratio[c] += math.Sqrt(f.cov[c*n+c]) / sd[c] / worlds
		}
	}
	t.Logf("means beside the maximum by up to %.2f deviations", most)
	if most > 1.0/3 {
		t.Errorf("a mean %.2f deviations beside the maximum", most)
	}
	for c := range n {
		if w.boat.columns[c].occasion != "" {
			continue
		}
		name := w.boat.columns[c].entry.Name
		t.Logf("%s: mean off by %.2f deviations, deviation %.2f of the walk's", name, off[c], ratio[c])
		// A walk's own mean is good to some 0.1 of a deviation and its deviation to 8 %, twenty
		// together to 2 %. In worlds in which a second measurement is in doubt deviations are
		// up to a fifth too small.
		if off[c] > 0.15 || math.Abs(ratio[c]-1) > 0.08 {
			t.Errorf("%s: mean off by %.3f deviations, deviation %.3f of the walk's", name, off[c], ratio[c])
		}
	}
}

// walk returns means and deviations along a random walk from a fit.
func walk(s *standIn, m *climb, f *fit, rng *rand.Rand) (mean, sd []float64) {
	p, n := s.size()
	step := slices.Clone(f.cov)
	if !num.Cholesky(step, n) {
		panic("no covariance")
	}
	scale := 2.38 / math.Sqrt(float64(n)) // Roberts, Gelman and Gilks, Ann. Appl. Probab. 7, 1997
	at, next, xi, y := slices.Clone(f.x), make([]float64, n), make([]float64, n), make([]float64, p)
	level := m.level(at, f.y, 1)
	mean, sd = make([]float64, n), make([]float64, n)
	const steps, begin = 20_000, 2_000
	for k := range steps + begin {
		for c := range xi {
			xi[c] = rng.NormFloat64()
		}
		for c := range next {
			next[c] = at[c]
			for d := 0; d <= c; d++ {
				next[c] += scale * step[c*n+d] * xi[d]
			}
		}
		s.predict(context.Background(), next, y)
		if l := m.level(next, y, 1); math.Log(rng.Float64()) < level-l {
			copy(at, next)
			level = l
		}
		if k >= begin {
			for c, v := range at {
				mean[c] += v / steps
				sd[c] += v * v / steps
			}
		}
	}
	for c := range sd {
		sd[c] = math.Sqrt(sd[c] - mean[c]*mean[c])
	}
	return mean, sd
}
