package spread

import (
	"math"
	"testing"
)

// ask answers for a depth that is a function of independent scores, as intervals does of a
// rig: the first main inputs count as those that matter most.
func ask(f func(x []float64) float64, inputs, main int) *answers {
	at := func(moves ...move) []float64 {
		x := make([]float64, inputs)
		for _, m := range moves {
			x[m.j] = m.x
		}
		return []float64{f(x)}
	}
	a := &answers{base: at()}
	for j := range inputs {
		a.up, a.down = append(a.up, at(move{j, Eighty})), append(a.down, at(move{j, -Eighty}))
	}
	for j := range main {
		a.main = append(a.main, j)
		var rung [len(ladder)][2][]float64
		for k, x := range ladder {
			rung[k] = [2][]float64{at(move{j, x}), at(move{j, -x})}
		}
		a.rungs = append(a.rungs, rung)
		row := make([][]float64, main)
		for i := j + 1; i < main; i++ {
			row[i] = at(move{j, Eighty}, move{i, Eighty})
		}
		a.both = append(a.both, row)
	}
	return a
}

// Depths whose 10 % and 90 % points are known in closed form.
func TestResponseQuantiles(t *testing.T) {
	sum := func(s, x []float64) float64 {
		v := 0.0
		for i := range x {
			v += s[i] * x[i]
		}
		return v
	}
	norm := func(s []float64) float64 { return math.Sqrt(sum(s, s)) }
	three, wide := []float64{0.3, 0.2, 0.1}, []float64{0.5, 0.4, 0.3, 0.2}
	for _, c := range []struct {
		name         string
		inputs, main int
		f            func(x []float64) float64
		lo, hi       float64
		tol          float64 // of the interval's width
	}{
		{"normal", 3, 2, func(x []float64) float64 { return 20 + sum(three, x) },
			20 - Eighty*norm(three), 20 + Eighty*norm(three), 1e-5},
		{"what a product of factors leaves", 3, 3, func(x []float64) float64 { return 30 - 4*math.Exp(sum(three, x)) },
			30 - 4*math.Exp(Eighty*norm(three)), 30 - 4*math.Exp(-Eighty*norm(three)), 2e-3},
		{"a product of factors", 4, 4, func(x []float64) float64 { return 3 * math.Exp(sum(wide, x)) },
			3 * math.Exp(-Eighty*norm(wide)), 3 * math.Exp(Eighty*norm(wide)), 2e-2},
		// A monotone function of one score moves its quantiles with it.
		{"switch", 1, 1, func(x []float64) float64 { return 5 + math.Atan(2*x[0]) },
			5 + math.Atan(-2*Eighty), 5 + math.Atan(2*Eighty), 4e-2},
		// x1 x2 has no mean, variance 1, excess 6; its 90 % point from the density K0(|z|)/pi,
		// by SciPy 1.10.1: brentq over quad of scipy.special.k0.
		{"product of two", 2, 2, func(x []float64) float64 { return 10 + x[0]*x[1] }, 10 - 1.03438, 10 + 1.03438, 0.1},
	} {
		a := ask(c.f, c.inputs, c.main)
		var r response
		a.response(&r, 0, false)
		lo, hi := r.quantiles()
		if tol := c.tol * (c.hi - c.lo); math.Abs(lo-c.lo) > tol || math.Abs(hi-c.hi) > tol {
			t.Errorf("%s: %.5f to %.5f, want %.5f to %.5f", c.name, lo, hi, c.lo, c.hi)
		}
	}
}

// The function through points is the points there, and their cumulants are those of what it
// was taken from: of a normal score times 2, and of its square (chi-square with one degree of
// freedom: cumulants 1, 2, 8, 48).
func TestThrough(t *testing.T) {
	var line, square [7]float64
	for i, x := range rungs {
		line[i], square[i] = 2*x, x*x
	}
	for i, x := range rungs {
		if got := through(&square, x); math.Abs(got-square[i]) > 1e-12 {
			t.Errorf("at %g: %g, want %g", x, got, square[i])
		}
	}
	for _, c := range []struct {
		v    *[7]float64
		want [4]float64
		tol  float64
	}{{&line, [4]float64{0, 4, 0, 0}, 0.03}, {&square, [4]float64{1, 2, 8, 48}, 0.4}} {
		got := cumulantsOf(c.v)
		for k := range got {
			// Beyond the last rung it goes on straight, which the square does not.
			if math.Abs(got[k]-c.want[k]) > c.tol*math.Max(1, c.want[k]) {
				t.Errorf("cumulant %d: %g, want %g", k+1, got[k], c.want[k])
			}
		}
	}
}
