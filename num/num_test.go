package num_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/num"
)

// A solution made first, the right-hand side from it.
func TestSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		a, x, b := make([]float64, n*n), make([]float64, n), make([]float64, n)
		unit := rapid.Float64Range(-1, 1)
		for i := range n {
			x[i] = unit.Draw(t, "x")
			for j := range n {
				a[i*n+j] = unit.Draw(t, "a")
			}
			// A heavy diagonal, in an order that makes pivoting necessary: the condition
			// stays below 3 so that rounding alone is left.
			a[i*n+(i+1)%n] += 2 * float64(n)
		}
		for i := range n {
			for j := range n {
				b[i] += a[i*n+j] * x[j]
			}
		}
		if !num.Solve(a, b, n) {
			t.Fatal("a regular matrix was refused")
		}
		for i := range n {
			if math.Abs(b[i]-x[i]) > 1e-13*float64(n*n) {
				t.Fatalf("x[%d] = %g, want %g", i, b[i], x[i])
			}
		}
	})
}

// The Hilbert matrix of order 3 (inverse known in whole numbers: 9 -36 30, -36 192 -180,
// 30 -180 180).
func TestSolveHilbert(t *testing.T) {
	inverse := [3][3]float64{{9, -36, 30}, {-36, 192, -180}, {30, -180, 180}}
	for col := range 3 {
		a, b := make([]float64, 9), make([]float64, 3)
		for i := range 9 {
			a[i] = 1 / float64(i/3+i%3+1)
		}
		b[col] = 1
		if !num.Solve(a, b, 3) {
			t.Fatal("refused")
		}
		for i := range 3 {
			if math.Abs(b[i]-inverse[i][col]) > 1e-11 {
				t.Errorf("inverse[%d][%d] = %g, want %g", i, col, b[i], inverse[i][col])
			}
		}
	}
}

func TestSolveSingular(t *testing.T) {
	for _, a := range [][]float64{{0, 0, 0, 0}, {1, 2, 2, 4}, {0, 1, 0, 1}, {math.NaN(), 1, 1, 1}} {
		if num.Solve(a, []float64{1, 1}, 2) {
			t.Errorf("solved %v", a)
		}
	}
	if !num.Solve(nil, nil, 0) {
		t.Error("the empty system has the empty solution")
	}
}

// Functions with one sign change and their roots, all closed form: smooth, flat, steep,
// with a jump, with a corner.
var rootCases = []struct {
	name   string
	f      func(float64) float64
	lo, hi float64
	root   float64
	most   int // evaluations to 1e-12, of the bracket's size for those that bisect
}{
	{"line", func(x float64) float64 { return 3 * (x - 0.7) }, -10, 10, 0.7, 5},
	{"cube", func(x float64) float64 { return x*x*x - 8 }, -100, 300, 2, 90},
	{"flat cube", func(x float64) float64 { return (x - 1) * (x - 1) * (x - 1) }, -7, 40, 1, 200},
	{"exponential", func(x float64) float64 { return math.Exp(x) - 5 }, -50, 50, math.Log(5), 130},
	{"arctangent", func(x float64) float64 { return math.Atan(1e6 * (x - 0.3)) }, -40, 90, 0.3, 130},
	{"jump", func(x float64) float64 { return math.Copysign(1, x-0.25) }, -3, 8, 0.25, 130},
	{"jump to one side", func(x float64) float64 {
		if x < 0.01 {
			return -2
		}
		return 0.02 + 1.5*(x-0.01)
	}, -9, 5, 0.01, 80},
	{"corner", func(x float64) float64 { return math.Max(1e-3*(x-2), 50*(x-2)) }, -60, 9, 2, 60},
}

func TestRoot(t *testing.T) {
	for _, c := range rootCases {
		for _, start := range []float64{c.lo, (c.lo + c.hi) / 2, c.hi, c.root + 0.1, -1e9, 1e9} {
			for _, slope := range []float64{0, 1, 1e-6, 1e6} {
				r := num.NewRoot(c.lo, c.hi, start)
				var last float64
				for r.Count < c.most {
					last = r.X
					if last < c.lo || last > c.hi {
						t.Fatalf("%s from %g: left the bracket for %g", c.name, start, last)
					}
					if math.Abs(last-c.root) < 1e-12*math.Max(1, math.Abs(c.hi)) && c.name != "flat cube" || r.Hi-r.Lo < 1e-12 {
						break
					}
					f := c.f(last)
					if c.name == "flat cube" && math.Abs(f) < 1e-13 {
						break
					}
					r.Take(f, slope)
					if !(r.Lo <= r.Hi) || r.Count > 1 && (c.f(r.Lo) > 0 && r.Lo != c.lo || c.f(r.Hi) <= 0 && r.Hi != c.hi) {
						t.Fatalf("%s: bracket %g to %g does not hold the change of sign", c.name, r.Lo, r.Hi)
					}
				}
				tol := 1e-11 * math.Max(1, math.Abs(c.hi))
				if c.name == "flat cube" {
					tol = 1e-4 // where the cube itself is down to 1e-12
				}
				if math.Abs(last-c.root) > tol {
					t.Errorf("%s from %g with slope %g: %.15g after %d, want %.15g", c.name, start, slope, last, r.Count, c.root)
				}
			}
		}
	}
}

// A value that is no number must not lead the search out of its bracket or to a stop.
func TestRootTakesNaN(t *testing.T) {
	r := num.NewRoot(0, 8, 3)
	for range 100 {
		r.Take(math.NaN(), 1)
		if !(r.X >= 0 && r.X <= 8) {
			t.Fatalf("at %g", r.X)
		}
	}
}

func TestRootSlope(t *testing.T) {
	r := num.NewRoot(0, 10, 2)
	if got := r.Slope(3, 1); got != 0 {
		t.Errorf("slope %g before any value", got)
	}
	r.Take(4, 2)
	if got := r.Slope(3, 7); got != 3 {
		t.Errorf("slope %g, want 3", got)
	}
	if got := r.Slope(2, 7); got != 0 {
		t.Errorf("slope %g through one point", got)
	}
}

// A solution made first, the right-hand side from it; the factors serve twice.
func TestFactor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "n")
		a, b, x, piv := make([]float64, n*n), make([]float64, n), make([]float64, n), make([]int, n)
		unit := rapid.Float64Range(-1, 1)
		for i := range n {
			for j := range n {
				a[i*n+j] = unit.Draw(t, "a")
			}
			a[i*n+(i+1)%n] += 2 * float64(n)
		}
		lu := append([]float64(nil), a...)
		if !num.Factor(lu, piv, n) {
			t.Fatal("a regular matrix was refused")
		}
		for range 2 {
			for i := range n {
				x[i] = unit.Draw(t, "x")
			}
			for i := range n {
				b[i] = 0
				for j := range n {
					b[i] += a[i*n+j] * x[j]
				}
			}
			num.Back(lu, piv, b, n)
			for i := range n {
				if math.Abs(b[i]-x[i]) > 1e-13*float64(n*n) {
					t.Fatalf("x[%d] = %g, want %g", i, b[i], x[i])
				}
			}
		}
	})
}

func TestFactorSingular(t *testing.T) {
	for _, a := range [][]float64{{0, 0, 0, 0}, {1, 2, 2, 4}, {0, 1, 0, 1}, {math.NaN(), 1, 1, 1}} {
		if num.Factor(a, make([]int, 2), 2) {
			t.Errorf("factored %v", a)
		}
	}
}
