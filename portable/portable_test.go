package portable

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Against package math, which is good to a unit in the last place itself; the tolerances
// are two units, and for Pow those of y log x besides, and one for each of the products by
// which math.Pow makes a whole power.
func TestAgainstMath(t *testing.T) {
	const ulp = 0x1p-52
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-740, 709).Draw(t, "x")
		if got, want := Exp(x), math.Exp(x); math.Abs(got-want) > 2*ulp*want+0x1p-1073 {
			t.Errorf("exp %g: %g, want %g", x, got, want)
		}
		p := math.Exp(rapid.Float64Range(-700, 700).Draw(t, "log"))
		if got, want := Log(p), math.Log(p); math.Abs(got-want) > 2*ulp*math.Abs(want)+ulp*ulp {
			t.Errorf("log %g: %g, want %g", p, got, want)
		}
		near := rapid.Float64Range(0.5, 2).Draw(t, "near 1")
		if got, want := Log(near), math.Log(near); math.Abs(got-want) > 2*ulp*math.Abs(want) {
			t.Errorf("log %g: %g, want %g", near, got, want)
		}
		base, y := math.Exp(rapid.Float64Range(-20, 20).Draw(t, "base")), rapid.Float64Range(-30, 30).Draw(t, "y")
		if got, want := Pow(base, y), math.Pow(base, y); math.Abs(got-want) > (4+math.Abs(y)+2*math.Abs(y*math.Log(base)))*ulp*want {
			t.Errorf("%g to the %g: %g, want %g", base, y, got, want)
		}
		a, b := rapid.Float64Range(-1e6, 1e6).Draw(t, "a"), rapid.Float64Range(-1e6, 1e6).Draw(t, "b")
		if got, want := Hypot(a, b), math.Hypot(a, b); math.Abs(got-want) > 2*ulp*want+1e-150 {
			t.Errorf("hypot %g %g: %g, want %g", a, b, got, want)
		}
		if got, want := Log10(p), math.Log10(p); math.Abs(got-want) > 4*ulp*math.Abs(want)+ulp*ulp {
			t.Errorf("log10 %g: %g, want %g", p, got, want)
		}
	})
}

// The bits of a few values, the same wherever the test runs: natively and under js/wasm.
// Kept from amd64.
func TestBits(t *testing.T) {
	sum := uint64(14695981039346656037)
	add := func(v float64) {
		sum = (sum ^ math.Float64bits(v)) * 1099511628211
	}
	for i := range 2000 {
		x := 0.37*float64(i) - 350
		add(Exp(x))
		add(Log(1e-3 + float64(i)*float64(i)))
		add(Pow(0.01+float64(i)/300, 0.681))
		add(Hypot(float64(i), 1/(1+float64(i))))
	}
	if want := uint64(0xb84f2d83a8ab8de6); sum != want {
		t.Errorf("the bits add up to %#x, want %#x", sum, want)
	}
}

// The least number: ln 2^-1074 = -1074 ln 2 = -744.4400719213812 (closed form).
func TestLeast(t *testing.T) {
	if got := Log(0x1p-1074); math.Abs(got+1074*math.Ln2) > 1e-12 {
		t.Errorf("the logarithm of the least number is %v", got)
	}
}

// The values that math gives where nothing is left to compute.
func TestEdges(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, x := range []float64{0, math.Copysign(0, -1), inf, -inf, nan, 710, -746, -745, 1, 0x1p-1022, math.MaxFloat64} {
		if got, want := Exp(x), math.Exp(x); got != want && !(got != got && want != want) && math.Abs(got-want) > 1e-15*want {
			t.Errorf("exp %g: %g, want %g", x, got, want)
		}
		if got, want := Log(x), math.Log(x); got != want && !(got != got && want != want) && math.Abs(got-want) > 1e-15*math.Abs(want) {
			t.Errorf("log %g: %g, want %g", x, got, want)
		}
		for _, y := range []float64{0, 0.5, -0.5, 2} {
			if x < 0 || y*math.Log(x) > 700 || math.IsInf(x, 0) {
				continue
			}
			if got, want := Pow(x, y), math.Pow(x, y); got != want && !(got != got && want != want) && math.Abs(got-want) > 1e-12*want {
				t.Errorf("%g to the %g: %g, want %g", x, y, got, want)
			}
		}
	}
}
