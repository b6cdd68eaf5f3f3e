package hydro_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/hydro"
)

func span(t *rapid.T, label string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, label)
}

// direction draws a unit vector.
func direction(t *rapid.T, label string) geom.Vec {
	z, psi := span(t, label+" z", -1, 1), span(t, label+" psi", -math.Pi, math.Pi)
	h := math.Sqrt(1 - z*z)
	return geom.Vec{X: h * math.Cos(psi), Y: h * math.Sin(psi), Z: z}
}

func column(m *geom.Mat, j int) geom.Vec { return geom.Vec{X: m[0][j], Y: m[1][j], Z: m[2][j]} }

var axes = [3]geom.Vec{{X: 1}, {Y: 1}, {Z: 1}}

// agree fails when a derivative differs from its central difference by more than tol of
// the size given.
func agree(t *rapid.T, what string, got, diff geom.Vec, size, tol float64) {
	t.Helper()
	if d := got.Sub(diff).Norm(); !(d <= tol*size) {
		t.Fatalf("%s: %v, difference %v: off %.2e of %.3g", what, got, diff, d/size, size)
	}
}

func drawLine(t *rapid.T) hydro.Line {
	return hydro.Line{
		Diameter: span(t, "diameter", 1e-4, 3e-3), Mass: span(t, "mass", 0, 0.02), Cn: span(t, "cn", 0, 2),
		Auto: rapid.Bool().Draw(t, "auto"), Scale: span(t, "scale", 0, 3), Cf: span(t, "cf", 0, 0.05),
	}
}

func TestLineDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLine(t)
		tan := direction(t, "tangent")
		u := direction(t, "flow").Scale(span(t, "speed", 0.05, 4))
		// Where the flow runs along the line the normal load's second derivative jumps;
		// the differences stay within one side of it.
		if un := u.AddScaled(-u.Dot(tan), tan).Norm(); un < 1e-3 || math.Abs(u.Dot(tan)) < 1e-3 {
			return
		}
		rho, nu := span(t, "rho", 900, 1100), span(t, "nu", 5e-7, 2e-6)
		var jac hydro.LineJac
		f := l.Load(tan, u, rho, nu, &jac)
		if plain := l.Load(tan, u, rho, nu, nil); plain != f {
			t.Fatalf("with derivatives %v, without %v", f, plain)
		}
		const h = 1e-6
		drag := f
		drag.Z -= l.WeightInWater(rho)
		size := drag.Norm()/u.Norm() + 0.5*rho*l.Diameter*u.Norm()
		for j, e := range axes {
			up, dn := l.Load(tan, u.AddScaled(h, e), rho, nu, nil), l.Load(tan, u.AddScaled(-h, e), rho, nu, nil)
			agree(t, "flow", column(&jac.Flow, j), up.Sub(dn).Scale(1/(2*h)), size, 3e-6)
			up, dn = l.Load(tan.AddScaled(h, e), u, rho, nu, nil), l.Load(tan.AddScaled(-h, e), u, rho, nu, nil)
			agree(t, "tangent", column(&jac.Tangent, j), up.Sub(dn).Scale(1/(2*h)), size*u.Norm()*(1+1/u.Norm()), 3e-6)
		}
		// The form for implicit steps: the same derivatives, that of the direction with the
		// tangent kept a unit vector.
		wet := l.In(rho, nu)
		var step hydro.WetJac
		if g := wet.LoadJac(tan, u, &step); g.Sub(f).Norm() > 1e-12*(f.Norm()+1e-6) {
			t.Fatalf("for a step %v, else %v", g, f)
		}
		for j, e := range axes {
			agree(t, "flow for a step", column(&step.Flow, j), column(&jac.Flow, j), size, 1e-9)
			across := e.AddScaled(-e.Dot(tan), tan)
			agree(t, "turn for a step", column(&step.Turn, j), jac.Tangent.MulVec(across), size*u.Norm()*(1+1/u.Norm()), 1e-9)
		}
		// The load is linear in density. Its parts may cancel; what a difference rounds off goes
		// by them.
		const hr = 0.1
		parts := drag.Norm() + 9.80665*(l.Mass+rho*math.Pi/4*l.Diameter*l.Diameter)
		up, dn := l.Load(tan, u, rho+hr, nu, nil), l.Load(tan, u, rho-hr, nu, nil)
		agree(t, "density", jac.Rho, up.Sub(dn).Scale(1/(2*hr)), parts/rho+1e-9, 1e-9)
	})
}

// drawBody draws any mixture of the members and a depth away from the corners of its
// load: immersion's two ends, a float's tenth, the incidence's stop.
func drawBody(t *rapid.T) (hydro.Body, hydro.Surroundings) {
	b := hydro.Body{
		Mass: span(t, "mass", 0, 10), Volume: span(t, "volume", 0, 5e-3), DragArea: span(t, "drag", 0, 0.05),
		LiftArea: rapid.SampledFrom([]float64{0, 0.01, -0.02, 0.03}).Draw(t, "lift"),
		Roll:     span(t, "roll", -2*math.Pi, 2*math.Pi),
		Sphere:   rapid.SampledFrom([]float64{0, 0.02, 0.09, 0.12}).Draw(t, "sphere"),
		Height:   rapid.SampledFrom([]float64{0, 0.1, 0.5}).Draw(t, "height"),
		Floats:   rapid.Bool().Draw(t, "floats"),
		Friction: span(t, "friction", 0, 1),
	}
	if rapid.Bool().Draw(t, "plate") {
		b.PlateArea, b.PlateCN = span(t, "plate area", 0.001, 0.03), span(t, "cn", 0.5, 2)
		b.Incidence, b.Give = span(t, "incidence", 0.1, 1.5), span(t, "give", 0, 0.05)
	}
	height := b.Height
	if height == 0 {
		height = 0.02
	}
	at := hydro.Surroundings{
		Flow: direction(t, "flow").Scale(span(t, "speed", 0.1, 4)),
		Rho:  span(t, "rho", 950, 1050), Nu: span(t, "nu", 8e-7, 1.8e-6),
		Below: span(t, "below", 0, 50), Bottom: math.Inf(1),
		Motion: geom.Vec{X: span(t, "vx", -2, 2), Y: span(t, "vy", -2, 2), Z: span(t, "vz", -1, 1)},
	}
	switch rapid.SampledFrom([]string{"air", "little", "half", "deep", "contact"}).Draw(t, "where") {
	case "air":
		at.Depth = -height * span(t, "above", 0.51, 5)
	case "little":
		at.Depth = height * (span(t, "frac", 0.01, 0.09) - 0.5)
	case "half":
		at.Depth = height * (span(t, "frac", 0.11, 0.99) - 0.5)
	case "deep":
		at.Depth = span(t, "depth", 1, 50)
	case "contact":
		at.Bottom = span(t, "bottom", 1, 50)
		at.Depth = at.Bottom + span(t, "press", 0.001, 0.1)
	}
	return b, at
}

func TestBodyDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, at := drawBody(t)
		n := at.Flow.Norm()
		// Corners, where a central difference straddles two forms: the sphere's critical
		// Reynolds number, the stop of the incidence, and a flow along the vertical.
		if re := n * b.Sphere / at.Nu; math.Abs(re/hydro.SphereCritical-1) < 1e-3 ||
			b.PlateArea > 0 && math.Abs(b.Incidence-b.Give*at.Below-2*math.Pi/180) < 1e-4 ||
			at.Flow.Horizontal() < 0.02*n {
			return
		}
		var jac hydro.BodyJac
		f := b.Load(&at, &jac)
		if plain := b.Load(&at, nil); plain != f {
			t.Fatalf("with derivatives %v, without %v", f, plain)
		}
		load := func(change func(*hydro.Surroundings)) geom.Vec {
			s := at
			change(&s)
			return b.Load(&s, nil)
		}
		const h = 1e-6
		flow := 0.5*at.Rho*n*n*(b.DragArea+math.Abs(b.LiftArea)+b.Sphere*b.Sphere+2*b.PlateCN*b.PlateArea) + 1e-6
		for j, e := range axes {
			diff := load(func(s *hydro.Surroundings) { s.Flow = s.Flow.AddScaled(h, e) }).Sub(
				load(func(s *hydro.Surroundings) { s.Flow = s.Flow.AddScaled(-h, e) })).Scale(1 / (2 * h))
			// Rounding: the forces' last digits over the step.
			agree(t, "flow", column(&jac.Flow, j), diff, flow/n*(1+1/n)+f.Norm()*1e-4, 2e-5)
		}
		if at.Depth > at.Bottom {
			for j, e := range axes {
				diff := load(func(s *hydro.Surroundings) { s.Motion = s.Motion.AddScaled(h, e) }).Sub(
					load(func(s *hydro.Surroundings) { s.Motion = s.Motion.AddScaled(-h, e) })).Scale(1 / (2 * h))
				agree(t, "motion", column(&jac.Motion, j), diff, f.Norm()*100+1e-6, 1e-5)
			}
		}
		const hz = 1e-7
		diff := load(func(s *hydro.Surroundings) { s.Depth += hz }).Sub(
			load(func(s *hydro.Surroundings) { s.Depth -= hz })).Scale(1 / (2 * hz))
		weight := (b.Mass + at.Rho*b.Volume) * geom.Gravity
		agree(t, "depth", jac.Depth, diff, flow+weight+jac.Depth.Norm(), 1e-6)
		diff = load(func(s *hydro.Surroundings) { s.Below += 1e-4 }).Sub(
			load(func(s *hydro.Surroundings) { s.Below -= 1e-4 })).Scale(1 / 2e-4)
		agree(t, "pull from below", jac.Below, diff, flow+f.Norm()*1e-4, 1e-6)
	})
}
