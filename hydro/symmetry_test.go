package hydro_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/hydro"
)

// Mirroring the flow mirrors the load, and turning it about the vertical turns the load.
func TestLineSymmetry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLine(t)
		tan := direction(t, "tangent")
		u := direction(t, "flow").Scale(span(t, "speed", 0, 4))
		f := l.Load(tan, u, 1000, 1e-6, nil)
		if m := l.Load(tan.Mirror(), u.Mirror(), 1000, 1e-6, nil); m != f.Mirror() {
			t.Fatalf("mirrored %v, want %v", m, f.Mirror())
		}
		size := 1e-14 * (f.Norm() + math.Abs(l.WeightInWater(1000)) + 1e-9)
		if m := l.Load(tan.Neg(), u, 1000, 1e-6, nil); m.Sub(f).Norm() > size {
			t.Fatalf("the other way along the line %v, want %v", m, f)
		}
		psi := span(t, "psi", -4, 4)
		// The cross flow is a difference, so its rounding is that of the whole flow.
		size += 1e-14 * 1000 * l.Diameter * 20 * u.Dot(u)
		if m := l.Load(tan.Yaw(psi), u.Yaw(psi), 1000, 1e-6, nil); m.Sub(f.Yaw(psi)).Norm() > size {
			t.Fatalf("turned %v, want %v", m, f.Yaw(psi))
		}
	})
}

func TestBodySymmetry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, at := drawBody(t)
		f := b.Load(&at, nil)
		mb, mat := b, at
		mb.Roll = -b.Roll
		mat.Flow, mat.Motion = at.Flow.Mirror(), at.Motion.Mirror()
		if m := mb.Load(&mat, nil); m != f.Mirror() {
			t.Fatalf("mirrored %v, want %v", m, f.Mirror())
		}
		psi := span(t, "psi", -4, 4)
		tat := at
		tat.Flow, tat.Motion = at.Flow.Yaw(psi), at.Motion.Yaw(psi)
		if m := b.Load(&tat, nil); m.Sub(f.Yaw(psi)).Norm() > 1e-12*(f.Norm()+1000) {
			t.Fatalf("turned %v, want %v", m, f.Yaw(psi))
		}
	})
}

// Lift stands across the flow with the size of (E7); roll 0 pulls down, a quarter turn
// to starboard of a boat moving against the flow, a half turn up.
func TestLiftDirection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := hydro.Body{LiftArea: span(t, "area", 0.001, 0.1), Roll: span(t, "roll", -7, 7)}
		u := direction(t, "flow").Scale(span(t, "speed", 0.1, 4))
		at := hydro.Surroundings{Depth: 9, Flow: u, Rho: 1000, Nu: 1e-6, Bottom: math.Inf(1)}
		f := b.Load(&at, nil)
		full := 500 * b.LiftArea * u.Dot(u)
		if math.Abs(f.Dot(u)) > 1e-12*full*u.Norm() {
			t.Fatalf("lift %v is not across the flow %v", f, u)
		}
		if n := f.Norm(); n > full*(1+1e-12) || u.Horizontal() > 0.18*u.Norm() && relative(n, full) > 1e-12 {
			t.Fatalf("lift %g, want %g", n, full)
		}
	})
	for _, r := range []struct {
		rollDeg float64
		want    geom.Vec
	}{{0, geom.Vec{Z: 1}}, {90, geom.Vec{Y: 1}}, {180, geom.Vec{Z: -1}}, {-90, geom.Vec{Y: -1}}, {30, geom.Vec{Y: 0.5, Z: math.Sqrt(3) / 2}}} {
		b := hydro.Body{LiftArea: 0.002, Roll: r.rollDeg * math.Pi / 180}
		at := hydro.Surroundings{Depth: 9, Flow: geom.Vec{X: -1}, Rho: 1000, Nu: 1e-6, Bottom: math.Inf(1)}
		if f := b.Load(&at, nil); f.Sub(r.want).Norm() > 1e-14 {
			t.Errorf("roll %g deg: %v, want %v", r.rollDeg, f, r.want)
		}
	}
}

// Whatever the members, a load is a number, and what is in the air feels its weight alone.
func TestBodyLoadIsFinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, at := drawBody(t)
		at.Flow = rapid.SampledFrom([]geom.Vec{{}, {Z: 1}, {Z: -2}, {X: 1e-300}, {X: -1e3, Y: 1e3}, {X: -1e-9, Z: 1}}).Draw(t, "odd flow")
		var jac hydro.BodyJac
		f := b.Load(&at, &jac)
		ok := f.Finite() && jac.Depth.Finite() && jac.Below.Finite()
		for j := range 3 {
			ok = ok && column(&jac.Flow, j).Finite()
		}
		if !ok {
			t.Fatalf("load %v, derivatives %+v", f, jac)
		}
		at.Depth, at.Bottom = -1, math.Inf(1)
		if f := b.Load(&at, nil); f != (geom.Vec{Z: b.Mass * geom.Gravity}) {
			t.Fatalf("in the air %v, want the weight %g", f, b.Mass*geom.Gravity)
		}
	})
}

// A body that lies on the bottom without a pull rests where its weight is carried, and
// friction there opposes the motion with the coefficient times the push.
func TestContact(t *testing.T) {
	b := hydro.Body{Mass: 5, Volume: 5.0 / 11340, Friction: 0.4}
	at := hydro.Surroundings{Depth: 30.02, Bottom: 30, Rho: 1000, Nu: 1e-6, Motion: geom.Vec{X: 1.2}}
	f := b.Load(&at, nil)
	w := b.WeightInWater(1000)
	if math.Abs(f.Z) > 1e-9*w {
		t.Errorf("%g N left of %g N at rest", f.Z, w)
	}
	// The regularisation at 1 cm/s takes 3.5e-5 at 1.2 m/s.
	if relative(f.X, -0.4*w) > 1e-4 || f.Y != 0 {
		t.Errorf("friction %v, want %g astern", f, -0.4*w)
	}
}
