package dynamics_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/internal/reference"
	"sternfan/tow"
	"sternfan/tow/dynamics"
	"sternfan/water"
)

// fresh is still water of one density and viscosity.
func fresh() *water.Column {
	c, err := water.NewColumn(water.Spec{Rho: 1000, Nu: 1.2e-6})
	if err != nil {
		panic(err)
	}
	return c
}

// at solves the statics closely.
func at(t testing.TB, sys *tow.System, env *tow.Env) *tow.Solution {
	t.Helper()
	var s tow.Solver
	sol := s.Solve(context.Background(), sys, env, tow.Options{Tolerance: 1e-5})
	if sol.Status != tow.Converged {
		t.Fatalf("statics: %s", sol.Status)
	}
	return sol
}

// start puts a system on a course.
func start(t testing.TB, sys *tow.System, env *tow.Env, course dynamics.Course, opt dynamics.Options) *dynamics.Run {
	t.Helper()
	var r dynamics.Run
	if st := r.Start(sys, at(t, sys, env), env, course, opt); st != dynamics.OK {
		t.Fatalf("start: %s, %+v", st, r.Count())
	}
	return &r
}

func advance(t testing.TB, r *dynamics.Run, until float64) {
	t.Helper()
	if st := r.Advance(context.Background(), until); st != dynamics.OK {
		t.Fatalf("%s at %.3f s, %+v", st, r.Time(), r.Count())
	}
}

func constant(v float64) [2]float64 { return [2]float64{v, v} }

// turning is a turn by angle, rad, positive to starboard, between straight legs.
func turning(v, angle, radius, before, ramp, after float64) []dynamics.Leg {
	rate := math.Copysign(v/radius, angle)
	s := constant(v)
	return []dynamics.Leg{{Duration: before, Speed: s},
		{Duration: ramp, Yaw: [2]float64{0, rate}, Speed: s},
		{Duration: angle/rate - ramp, Yaw: constant(rate), Speed: s},
		{Duration: ramp, Yaw: [2]float64{rate, 0}, Speed: s},
		{Duration: after, Speed: s}}
}

// taut is the system of the steady turn: a line of no weight and no drag and a body as
// heavy as water, 5 m down. The statics of it are a straight line astern.
func taut(row reference.TurnTautRow) (*tow.System, *tow.Solution, *tow.Env) {
	volume := row.BodyMassKg / 1000
	tip := geom.Vec{Z: 5}
	sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: tip},
		{Bodies: []hydro.Body{{Mass: row.BodyMassKg, Volume: volume, AddedMass: row.AddedMassRatio * 1000 * volume, DragArea: row.DragAreaM2}}}},
		Lines: []tow.Line{{From: 1, To: 0, Length: row.LengthM}}, Root: 0, Main: 1}
	end := tip
	end.X -= row.LengthM
	pull := geom.Vec{X: 0.5 * 1000 * row.DragAreaM2 * row.BoatSpeedMPS * row.BoatSpeedMPS}
	sol := &tow.Solution{Nodes: []geom.Vec{tip, end}, Length: []float64{row.LengthM},
		Samples: [][]tow.Sample{{{R: end, F: pull}, {S: row.LengthM, R: tip, F: pull}}}}
	return sys, sol, &tow.Env{Water: fresh(), Speed: row.BoatSpeedMPS}
}

// TestTurnTaut holds the body to the circle to which its line is a tangent.
func TestTurnTaut(t *testing.T) {
	for _, row := range reference.TurnTaut {
		sys, sol, env := taut(row)
		circle := 2 * math.Pi * row.BoatRadiusM / row.BoatSpeedMPS
		rate := row.BoatSpeedMPS / row.BoatRadiusM
		course := dynamics.NewTrack(geom.Vec{}, []dynamics.Leg{{Duration: 10 * circle, Yaw: constant(rate), Speed: constant(row.BoatSpeedMPS)}})
		var r dynamics.Run
		if st := r.Start(sys, sol, env, course, dynamics.Options{}); st != dynamics.OK {
			t.Fatalf("%s, %+v", st, r.Count())
		}
		center := geom.Vec{Y: row.BoatRadiusM}
		worst := 0.0
		st := r.Watch(context.Background(), (row.Circles+2)*circle, 1, func(at float64) {
			if at < row.Circles*circle {
				return
			}
			p, v := r.Node(1)
			p.Z = 0
			worst = math.Max(worst, math.Abs(p.Sub(center).Norm()/row.BodyRadiusM-1))
			worst = math.Max(worst, math.Abs(v.Norm()/row.BoatSpeedMPS/row.SpeedRatio-1))
		})
		if st != dynamics.OK {
			t.Fatalf("%s, %+v", st, r.Count())
		}
		if worst > row.ToleranceRel {
			t.Errorf("off by %.2e, allowed %g", worst, row.ToleranceRel)
		}
		t.Logf("worst %.2e, %+v", worst, r.Count())
	}
}

// TestTurnSpeed holds the speeds of points abreast in a turn.
func TestTurnSpeed(t *testing.T) {
	const v, radius = 1.1, 25.0
	course := dynamics.NewTrack(geom.Vec{}, turning(v, math.Pi, radius, 10, 0, 10))
	var p dynamics.Pose
	for _, offset := range []float64{-4, -1.5, 0, 2, 6} {
		for at := 11.0; at < 80; at += 7 {
			course.At(at, &p)
			// Outside of a turn to starboard is port.
			_, vel := p.Point(geom.Vec{Y: -offset})
			want := reference.TurnSpeed(v, radius, offset)
			if d := math.Abs(vel.Norm()/want - 1); d > reference.TurnSpeedToleranceRel {
				t.Errorf("offset %g m: %.12f m/s, want %.12f", offset, vel.Norm(), want)
			}
		}
	}
}

// TestTrackIsWhatItsVelocitySays holds places to the integral of the velocity, and the
// turn to its angle.
func TestTrackIsWhatItsVelocitySays(t *testing.T) {
	legs := append(turning(1.3, -3, 20, 5, 4, 6), dynamics.Leg{Duration: 8, Yaw: [2]float64{0.3, -0.2}, Speed: [2]float64{1.3, -0.5}})
	course := dynamics.NewTrack(geom.Vec{X: 0.1, Y: -0.2}, legs)
	var a, b, c dynamics.Pose
	const h = 1e-3
	for at := 0.05; at < course.Duration()+5; at += 0.37 {
		course.At(at-h, &a)
		course.At(at, &b)
		course.At(at+h, &c)
		if math.Abs(course.Next(at-h)-at) < 2*h {
			continue
		}
		v := c.At.Sub(a.At).Scale(1 / (2 * h))
		if d := v.Sub(b.Velocity).Norm(); d > 1e-6 {
			t.Errorf("at %.2f s: %v, differences give %v", at, b.Velocity, v)
		}
		if d := (c.Heading-a.Heading)/(2*h) - b.Yaw; math.Abs(d) > 1e-8 {
			t.Errorf("at %.2f s: yaw %v off by %v", at, b.Yaw, d)
		}
	}
	course = dynamics.NewTrack(geom.Vec{}, turning(1.3, -3, 20, 5, 4, 6))
	course.At(course.Duration(), &a)
	if math.Abs(a.Heading+3) > 1e-12 {
		t.Errorf("turned by %v, want -3", a.Heading)
	}
}

// TestSlowTurn asks a heavy ball on a short line to follow the statics at its tip's own
// speed.
func TestSlowTurn(t *testing.T) {
	const v, radius = 1.0, 300.0
	sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{Y: -15, Z: -1}},
		{Bodies: []hydro.Body{{Mass: 2, Volume: 2.0 / 11300, AddedMass: 0.1, DragArea: 0.012}}}},
		Lines: []tow.Line{{From: 1, To: 0, Length: 12, Props: hydro.Line{Diameter: 0.001, Mass: 0.005, EA: 1e5, Auto: true, Cf: 0.02}}}, Root: 0, Main: 1}
	env := &tow.Env{Water: fresh(), Speed: v}
	quick := *env
	quick.Speed = reference.TurnSpeed(v, radius, 15)
	want := at(t, sys, &quick).Nodes[1].Z
	straight := at(t, sys, env).Nodes[1].Z
	r := start(t, sys, env, dynamics.NewTrack(geom.Vec{}, turning(v, math.Pi, radius, 10, 3, 10)), dynamics.Options{})
	advance(t, r, 300)
	p, _ := r.Node(1)
	if d := math.Abs(p.Z/want - 1); d > 1e-3 || math.Abs(want-straight) < 1e-2*want {
		t.Errorf("%.4f m down, statics at the tip's speed %.4f (straight on %.4f)", p.Z, want, straight)
	}
}
