package geom_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
)

func draw(t *rapid.T, label string) geom.Vec {
	c := rapid.Float64Range(-10, 10)
	return geom.Vec{X: c.Draw(t, label+".x"), Y: c.Draw(t, label+".y"), Z: c.Draw(t, label+".z")}
}

func near(a, b geom.Vec, tol float64) bool { return a.Sub(b).Norm() <= tol }

// The frame: x forward, y starboard, z down is right-handed, and a positive yaw turns
// the bow to starboard, north to east.
func TestFrame(t *testing.T) {
	x, y, z := geom.Vec{X: 1}, geom.Vec{Y: 1}, geom.Vec{Z: 1}
	if x.Cross(y) != z || y.Cross(z) != x || z.Cross(x) != y {
		t.Error("the frame is not right-handed")
	}
	if got := x.Yaw(math.Pi / 2); !near(got, y, 1e-15) {
		t.Errorf("the bow turned to %v, want starboard", got)
	}
	if got := (geom.Vec{X: 1, Y: 2, Z: 3}).Mirror(); got != (geom.Vec{X: 1, Y: -2, Z: 3}) {
		t.Errorf("mirrored %v", got)
	}
	// 3-4-12-13, a box of whole numbers.
	if v := (geom.Vec{X: 3, Y: -4, Z: 12}); v.Norm() != 13 || v.Horizontal() != 5 {
		t.Errorf("norm %g, horizontal %g", v.Norm(), v.Horizontal())
	}
	// 3rd CGPM, 1901: exact.
	if geom.Gravity != 9.80665 {
		t.Errorf("g = %g", geom.Gravity)
	}
}

// Identities of vector algebra.
func TestVectorIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := draw(t, "a"), draw(t, "b"), draw(t, "c")
		// Lagrange: |a x b|2 = |a|2 |b|2 - (a.b)2; sizes up to 1e5.
		n := a.Cross(b)
		if d := n.Dot(n) - (a.Dot(a)*b.Dot(b) - a.Dot(b)*a.Dot(b)); math.Abs(d) > 1e-9 {
			t.Fatalf("Lagrange's identity is off by %g", d)
		}
		// a x (b x c) = b (a.c) - c (a.b)
		if !near(a.Cross(b.Cross(c)), b.Scale(a.Dot(c)).Sub(c.Scale(a.Dot(b))), 1e-11) {
			t.Fatal("triple product")
		}
		k := rapid.Float64Range(-5, 5).Draw(t, "k")
		if !near(a.AddScaled(k, b), a.Add(b.Scale(k)), 0) || a.Add(a.Neg()) != (geom.Vec{}) {
			t.Fatal("sums")
		}
		if a != (geom.Vec{}) && a.Norm() > 1e-100 && math.Abs(a.Unit().Norm()-1) > 1e-15 {
			t.Fatalf("unit of length %g", a.Unit().Norm())
		}
		p, q := rapid.Float64Range(-7, 7).Draw(t, "p"), rapid.Float64Range(-7, 7).Draw(t, "q")
		if !near(a.Yaw(p).Yaw(q), a.Yaw(p+q), 1e-13) || a.Yaw(p).Z != a.Z {
			t.Fatal("turns do not add")
		}
		if a.Mirror().Yaw(-p) != a.Yaw(p).Mirror() {
			t.Fatal("a mirrored turn goes the other way")
		}
	})
}

func TestMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, v := draw(t, "a"), draw(t, "b"), draw(t, "v")
		k, d := rapid.Float64Range(-5, 5).Draw(t, "k"), rapid.Float64Range(-5, 5).Draw(t, "d")
		var m geom.Mat
		m.AddOuter(k, a, b)
		m.AddDiag(d)
		if want := a.Scale(k*b.Dot(v)).AddScaled(d, v); !near(m.MulVec(v), want, 1e-10) {
			t.Fatalf("%v, want %v", m.MulVec(v), want)
		}
	})
}

func TestOddVectors(t *testing.T) {
	if got := (geom.Vec{}).Unit(); got != (geom.Vec{}) {
		t.Errorf("unit of nothing %v", got)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for i := range 3 {
			v := geom.Vec{X: 1, Y: 1e308, Z: -1e308}
			*[]*float64{&v.X, &v.Y, &v.Z}[i] = bad
			if v.Finite() {
				t.Errorf("%v counts as finite", v)
			}
		}
	}
	if !(geom.Vec{X: math.MaxFloat64, Y: -math.MaxFloat64, Z: 1}).Finite() {
		t.Error("the largest numbers are finite")
	}
}
