package tow_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/internal/reference"
	"sternfan/tow"
	"sternfan/water"
)

// still returns water of one density and viscosity at rest.
func still(t testing.TB, rho float64) *water.Column {
	t.Helper()
	c, err := water.NewColumn(water.Spec{Rho: rho, Nu: 1.3e-6})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// single is one line with bodies at its end, towed from the waterline.
func single(line tow.Line, bodies ...hydro.Body) *tow.System {
	line.From, line.To = 0, 1
	return &tow.System{Nodes: []tow.Node{{Bodies: bodies}, {Kind: tow.Fixed}}, Lines: []tow.Line{line}, Root: 1}
}

// settle solves from nothing and fails unless the solver converges.
func settle(t testing.TB, sys *tow.System, env *tow.Env, tolerance float64) *tow.Solution {
	t.Helper()
	var s tow.Solver
	sol := s.Solve(context.Background(), sys, env, tow.Options{Tolerance: tolerance})
	if sol.Status != tow.Converged {
		t.Fatalf("%s after %d iterations and %d steps, %g m left", sol.Status, sol.Iterations, sol.Steps, sol.Residual)
	}
	return sol
}

// angleDeg returns the angle between flow and line from the pull there.
func angleDeg(f geom.Vec) float64 { return math.Atan2(-f.Z, math.Hypot(f.X, f.Y)) * 180 / math.Pi }

func area(d float64) float64 { return math.Pi / 4 * d * d }

// check compares and keeps the worst relative error of a row for the log.
type check struct {
	t     *testing.T
	name  string
	worst float64
}

func (c *check) rel(what string, got, want, tol float64) {
	c.t.Helper()
	e := math.Abs(got/want - 1)
	c.worst = max(c.worst, e)
	if !(e <= tol) {
		c.t.Errorf("%s: %s %.12g, want %.12g: off %.2e, allowed %.0e", c.name, what, got, want, e, tol)
	}
}

func (c *check) abs(what string, got, want, tol float64) {
	c.t.Helper()
	e := math.Abs(got - want)
	c.worst = max(c.worst, e)
	if !(e <= tol) {
		c.t.Errorf("%s: %s %.12g, want %.12g: off %.2e, allowed %.0e", c.name, what, got, want, e, tol)
	}
}

func (c *check) done() { c.t.Helper(); c.t.Logf("%s: worst %.1e", c.name, c.worst) }

// A long unloaded line lies straight at the critical angle: all of it, so that the
// chord from end to end has the angle as well as the pull at the top.
func TestCriticalAngleOfUnloadedLine(t *testing.T) {
	const rho = 1000.0
	for _, r := range reference.CriticalAngle {
		c := check{t: t, name: "w/R"}
		const d, cn, v = 1e-3, 1.2, 1.1
		drag := 0.5 * rho * cn * d * v * v
		mass := rho*area(d) + r.WeightOverDrag*drag/geom.Gravity
		sys := single(tow.Line{Length: 200, Props: hydro.Line{Diameter: d, Mass: mass, Cn: cn}})
		straight(&c, settle(t, sys, &tow.Env{Water: still(t, rho), Speed: v}, 1e-9), 200, r.AngleDeg, r.ToleranceDeg)
		c.done()
	}
	for _, r := range reference.CriticalAngleLine {
		c := check{t: t, name: r.Name}
		mass := r.LineDensityKgM3 * area(r.DiameterM)
		sys := single(tow.Line{Length: 100, Props: hydro.Line{Diameter: r.DiameterM, Mass: mass, Cn: r.DragCoefficient}})
		straight(&c, settle(t, sys, &tow.Env{Water: still(t, r.WaterDensityKgM3), Speed: r.SpeedMPS}, 1e-9), 100, r.AngleDeg, r.ToleranceDeg)
		c.done()
	}
}

func straight(c *check, sol *tow.Solution, length, deg, tol float64) {
	c.t.Helper()
	top := sol.Samples[0][len(sol.Samples[0])-1]
	c.abs("angle of the pull", angleDeg(top.F), deg, tol)
	c.abs("angle of the chord", angleDeg(top.R.Sub(sol.Nodes[0])), deg, tol)
	c.t.Helper()
	if e := math.Abs(top.R.Sub(sol.Nodes[0]).Norm()/length - 1); e > 1e-9 {
		c.t.Errorf("%s: the chord is %g shorter than the line", c.name, e)
	}
}

func TestWeightless(t *testing.T) {
	for _, r := range reference.Weightless {
		c := check{t: t, name: "weightless"}
		q := 0.5 * r.WaterDensityKgM3 * r.SpeedMPS * r.SpeedMPS
		sys := single(tow.Line{Length: r.LengthM, Props: hydro.Line{Diameter: r.DiameterM,
			Mass: r.WaterDensityKgM3 * area(r.DiameterM), Cn: r.DragCoefficient}},
			hydro.Body{Mass: r.BodyWeightN / geom.Gravity, DragArea: r.BodyDragN / q})
		sol := settle(t, sys, &tow.Env{Water: still(t, r.WaterDensityKgM3), Speed: r.SpeedMPS}, 1e-9)
		for _, s := range sol.Samples[0] {
			c.rel("tension", s.F.Norm(), r.TensionN, r.ToleranceRel)
		}
		p := sol.Samples[0]
		c.rel("angle at the body", angleDeg(p[0].F), r.BodyAngleDeg, r.ToleranceRel)
		c.rel("angle at the top", angleDeg(p[len(p)-1].F), r.TopAngleDeg, r.ToleranceRel)
		c.rel("aft", -sol.Nodes[0].X, r.AftM, r.ToleranceRel)
		c.rel("down", sol.Nodes[0].Z, r.DownM, r.ToleranceRel)
		c.done()
	}
}

// The weightless line from upright: T0/R is 10 m here, the rows' lengths scale by it.
func TestWeightlessUnit(t *testing.T) {
	const rho, v, d, cn = 1000.0, 1.0, 1e-3, 1.0
	const unit = 10.0
	t0 := unit * 0.5 * rho * cn * d * v * v
	for _, r := range reference.WeightlessUnit {
		c := check{t: t, name: "unit"}
		// The row's length is rounded to its eight digits; cot phi is exact.
		length := 1 / math.Tan(r.AngleDeg*math.Pi/180)
		c.abs("length", length, r.Length, r.Tolerance)
		sys := single(tow.Line{Length: length * unit, Props: hydro.Line{Diameter: d, Mass: rho * area(d), Cn: cn}},
			hydro.Body{Mass: t0 / geom.Gravity})
		sol := settle(t, sys, &tow.Env{Water: still(t, rho), Speed: v}, 1e-11)
		top := sol.Samples[0][len(sol.Samples[0])-1]
		c.abs("angle", angleDeg(top.F), r.AngleDeg, 1e-6)
		c.abs("aft", -sol.Nodes[0].X/unit, r.Aft, r.Tolerance)
		c.abs("down", sol.Nodes[0].Z/unit, r.Down, r.Tolerance)
		c.done()
	}
}

// A line that the water does not touch, drawn by a neutrally buoyant body, is a catenary.
func TestCatenary(t *testing.T) {
	for _, r := range reference.Catenary {
		c := check{t: t, name: "catenary"}
		const rho, v, d = 1000.0, 1.2, 1e-3
		sys := single(tow.Line{Length: r.LengthM, Props: hydro.Line{Diameter: d, Mass: rho*area(d) + r.WeightNPM/geom.Gravity}},
			hydro.Body{Mass: 2, Volume: 2 / rho, DragArea: r.PullN / (0.5 * rho * v * v)})
		sol := settle(t, sys, &tow.Env{Water: still(t, rho), Speed: v}, 1e-11)
		top := sol.Samples[0][len(sol.Samples[0])-1]
		c.rel("tension", top.F.Norm(), r.TensionN, r.ToleranceRel)
		c.rel("slope", angleDeg(top.F), r.SlopeDeg, r.ToleranceRel)
		c.rel("across", -sol.Nodes[0].X, r.AcrossM, r.ToleranceRel)
		c.rel("up", sol.Nodes[0].Z, r.UpM, r.ToleranceRel)
		c.done()
	}
}

func TestHeavyWithFriction(t *testing.T) {
	for _, r := range reference.HeavyWithFriction {
		c := check{t: t, name: "heavy"}
		q := 0.5 * r.WaterDensityKgM3 * r.SpeedMPS * r.SpeedMPS
		sys := single(tow.Line{Length: r.LengthM, Props: hydro.Line{Diameter: r.DiameterM,
			Mass: r.LineDensityKgM3 * area(r.DiameterM), Cn: r.DragCoefficient, Cf: r.FrictionCoefficient}},
			hydro.Body{Mass: r.BodyWeightN / geom.Gravity, DragArea: r.BodyDragN / q})
		sol := settle(t, sys, &tow.Env{Water: still(t, r.WaterDensityKgM3), Speed: r.SpeedMPS}, 1e-9)
		top := sol.Samples[0][len(sol.Samples[0])-1]
		c.rel("tension", top.F.Norm(), r.TensionN, r.ToleranceRel)
		c.rel("angle", angleDeg(top.F), r.TopAngleDeg, r.ToleranceRel)
		c.rel("aft", -sol.Nodes[0].X, r.AftM, r.ToleranceRel)
		c.rel("down", sol.Nodes[0].Z, r.DownM, r.ToleranceRel)
		c.done()
	}
}

// A weightless lifting body on a massless line that the water does not touch: the line
// is straight along drag and lift, the lift's shares are cos b down and sin b aside.
func TestKite(t *testing.T) {
	for _, r := range reference.Kite {
		for _, rollDeg := range []float64{0, 20, -45, 70} {
			roll := rollDeg * math.Pi / 180
			lift := hydro.Body{DragArea: 0.004, LiftArea: 0.004 * r.LiftOverDrag, Roll: roll}
			// A plate's lift over drag is the cotangent of its incidence.
			plate := hydro.Body{PlateArea: 0.01, PlateCN: reference.DiscAtIncidence.DefaultNormalAt45,
				Incidence: math.Atan(1 / r.LiftOverDrag), Roll: roll}
			for _, body := range []hydro.Body{lift, plate} {
				c := check{t: t, name: "kite"}
				sol := settle(t, single(tow.Line{Length: 30}, body), &tow.Env{Water: still(t, 1000), Speed: 1.3}, 1e-9)
				end := sol.Nodes[0]
				c.rel("angle", math.Atan2(math.Hypot(end.Y, end.Z), -end.X)*180/math.Pi, r.LineAngleDeg, r.ToleranceRel)
				c.abs("down share", end.Z, math.Hypot(end.Y, end.Z)*math.Cos(roll), 1e-8*30)
				c.abs("side share", end.Y, math.Hypot(end.Y, end.Z)*math.Sin(roll), 1e-8*30)
				c.abs("length", end.Norm(), 30, 1e-8*30)
				c.done()
			}
		}
	}
}

// The stretch of a line by its own row: the body's weight is the pull.
func TestStrain(t *testing.T) {
	for _, r := range reference.Strain {
		c := check{t: t, name: "strain"}
		sys := single(tow.Line{Length: 25, Props: hydro.Line{EA: r.ModulusPa * area(r.DiameterM)}},
			hydro.Body{Mass: r.PullN / geom.Gravity})
		sol := settle(t, sys, &tow.Env{Water: still(t, 1000), Speed: 1}, 1e-9)
		c.rel("strain", sol.Nodes[0].Z/25-1, r.Strain, r.ToleranceRel)
		c.done()
	}
}

// A disc facing the flow and a weight together lean the line by their ratio; the row's
// own coefficient is what is put in, so this holds the reference area.
func TestDiscFacingTheFlow(t *testing.T) {
	r := reference.DiscNormal
	const d, v, rho, weight = 0.08, 1.3, 1000.0, 5.0
	sys := single(tow.Line{Length: 12}, hydro.Body{Mass: weight / geom.Gravity, DragArea: r.DragCoefficient * area(d)})
	sol := settle(t, sys, &tow.Env{Water: still(t, rho), Speed: v}, 1e-9)
	drag := 1.17 * 0.5 * rho * v * v * math.Pi * d * d / 4
	c := check{t: t, name: "disc"}
	c.rel("aft over down", -sol.Nodes[0].X/sol.Nodes[0].Z, drag/weight, r.ToleranceRel)
	c.done()
}

// The rows of a heavy line with a constant tangential load per metre. The public loads
// have a tangential drag that follows the square of the flow along the line, so a
// constant one cannot be asked of them: the normal load and the weight are those of
// package hydro, the constant is added here, and (E6) is integrated here too, by the
// classical fourth-order rule, to the angle of the row.
func TestPodeKind(t *testing.T) {
	const rho, v, d, cn = 1000.0, 1.0, 1e-3, 1.0
	const r0 = 0.5 * rho * cn * d * v * v // R, N/m
	for _, r := range reference.PodeKind {
		c := check{t: t, name: "tangential"}
		line := hydro.Line{Diameter: d, Mass: rho*area(d) + r.WeightOverDrag*r0/geom.Gravity, Cn: cn}
		flow := geom.Vec{X: -v}
		const t0 = r0 // so that lengths are in T0/R = 1 m
		// The pull F leads up and forward; water and friction act astern.
		slope := func(f geom.Vec) (df, dr geom.Vec) {
			tan := f.Unit()
			load := line.Load(tan, flow, rho, 1.3e-6, nil).AddScaled(-r.TangentialOverDrag*r0, tan)
			return load.Neg(), tan
		}
		start := r.StartDeg * math.Pi / 180
		f := geom.Vec{X: t0 * math.Cos(start), Z: -t0 * math.Sin(start)}
		var at geom.Vec
		s, h := 0.0, 1e-3
		step := func(f, at geom.Vec, h float64) (geom.Vec, geom.Vec) {
			k1, p1 := slope(f)
			k2, p2 := slope(f.AddScaled(h/2, k1))
			k3, p3 := slope(f.AddScaled(h/2, k2))
			k4, p4 := slope(f.AddScaled(h, k3))
			return f.AddScaled(h/6, k1.AddScaled(2, k2).AddScaled(2, k3).Add(k4)),
				at.AddScaled(h/6, p1.AddScaled(2, p2).AddScaled(2, p3).Add(p4))
		}
		for h > 1e-12 {
			nf, nat := step(f, at, h)
			if angleDeg(nf) < r.AngleDeg {
				h /= 2
				continue
			}
			f, at, s = nf, nat, s+h
			if s > 100 {
				t.Fatal("the row's angle is not reached")
			}
		}
		c.abs("tau", f.Norm()/t0, r.Tau, r.Tolerance)
		c.abs("sigma", s, r.Sigma, r.Tolerance)
		c.abs("xi", at.X, r.Xi, r.Tolerance)
		c.abs("eta", -at.Z, r.Eta, r.Tolerance)
		c.done()
	}
}
