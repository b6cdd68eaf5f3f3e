package tow_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/unit"
	"sternfan/water"
)

// Bounds of every solve here at the default counts: of iterations some five times the most
// that thirty thousand wild rigs took; of steps 200 lines of 4,000, and a pass over four.
const (
	mostIterations = 50_000
	mostSteps      = 204 * 4_000
)

// sane fails when a solution holds something that is no number, or took endless work.
func sane(t testing.TB, sol *tow.Solution) {
	t.Helper()
	for i, p := range sol.Nodes {
		if sol.Status == tow.Converged && !p.Finite() {
			t.Fatalf("converged with node %d at %v", i, p)
		}
	}
	if sol.Status == tow.Converged {
		for i, p := range sol.Samples {
			for _, s := range p {
				if !s.R.Finite() || !s.F.Finite() || math.IsNaN(s.S) {
					t.Fatalf("converged with line %d: %+v", i, s)
				}
			}
		}
	}
	if sol.Iterations > mostIterations || sol.Steps > mostSteps {
		t.Fatalf("%d iterations, %d steps", sol.Iterations, sol.Steps)
	}
}

func attempt(t testing.TB, sys *tow.System, env *tow.Env) *tow.Solution {
	t.Helper()
	var s tow.Solver
	sol := s.Solve(context.Background(), sys, env, tow.Options{})
	sane(t, sol)
	return sol
}

func ball(kg float64) hydro.Body {
	d := math.Cbrt(6 * kg / 11340 / math.Pi)
	return hydro.Body{Mass: kg, Volume: kg / 11340, DragArea: 0.47 * area(d), Height: d}
}

func wire(length float64) tow.Line {
	return tow.Line{Length: length, Props: hydro.Line{Diameter: 5e-4, Mass: 7930 * area(5e-4), Cn: 1.2, Cf: 0.02, EA: 3e4}}
}

// tipped moves the tow point.
func tipped(sys *tow.System, at geom.Vec) *tow.System {
	sys.Nodes[sys.Root].At = at
	return sys
}

// Everything hangs straight down when nothing moves: the length plus the stretch by the
// weights below each point, closed form.
func TestZeroSpeed(t *testing.T) {
	line := wire(30)
	b := ball(3)
	sol := settle(t, tipped(single(line, b), geom.Vec{X: -1, Y: 2, Z: 0}), &tow.Env{Water: still(t, 1000)}, 1e-7)
	w, weight := line.Props.WeightInWater(1000), b.WeightInWater(1000)
	want := geom.Vec{X: -1, Y: 2, Z: 30 + (weight*30+w*30*30/2)/line.Props.EA}
	if d := sol.Nodes[0].Sub(want).Norm(); d > 1e-6 {
		t.Errorf("at %v, want %v", sol.Nodes[0], want)
	}
	top := sol.Samples[0][len(sol.Samples[0])-1].F
	if math.Abs(top.Z+weight+30*w) > 1e-5*weight || top.Horizontal() > 1e-9 {
		t.Errorf("pull %v, want %g up", top, weight+30*w)
	}
	// A line alone hangs too.
	sol = attempt(t, single(wire(30)), &tow.Env{Water: still(t, 1000)})
	if sol.Status != tow.Converged || math.Abs(sol.Nodes[0].Z-30) > 0.03 || sol.Nodes[0].Horizontal() > 0.03 {
		t.Errorf("an unloaded line at rest: %s at %v", sol.Status, sol.Nodes[0])
	}
	// The boat drifts with the water: no flow, however fast both go over ground.
	col, err := water.NewColumn(water.Spec{Rho: 1000, Nu: 1.3e-6, Current: flow(t, 1.4, 2)})
	if err != nil {
		t.Fatal(err)
	}
	drift := attempt(t, single(wire(30), ball(3)), &tow.Env{Water: col})
	if drift.Status != tow.Converged || math.Abs(drift.Nodes[0].Z-want.Z) > 0.03 || drift.Nodes[0].Horizontal() > 0.03 {
		t.Errorf("drifting: %s at %v", drift.Status, drift.Nodes[0])
	}
}

func flow(t testing.TB, speed, set float64) *water.Current {
	t.Helper()
	c, err := water.NewCurrent([]water.CurrentPoint{{Speed: unit.Speed(speed), Set: unit.Angle(set)}})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Held at anchor in a current, a rig lies as it does towed at that speed.
func TestCurrentEqualsSpeed(t *testing.T) {
	col, err := water.NewColumn(water.Spec{Rho: 1000, Nu: 1.3e-6, Current: flow(t, 1.1, math.Pi)})
	if err != nil {
		t.Fatal(err)
	}
	anchored := attempt(t, single(wire(30), ball(3)), &tow.Env{Water: col, Speed: 1.1})
	towed := attempt(t, single(wire(30), ball(3)), &tow.Env{Water: still(t, 1000), Speed: 1.1})
	if anchored.Status != tow.Converged || anchored.Nodes[0].Sub(towed.Nodes[0]).Norm() > 1e-9 {
		t.Errorf("%s at %v, towed %v", anchored.Status, anchored.Nodes[0], towed.Nodes[0])
	}
}

// Backwards, a rig leads the boat: fore and aft change places and nothing else does.
func TestBackwards(t *testing.T) {
	ahead := settle(t, single(wire(40), ball(3)), &tow.Env{Water: still(t, 1000), Speed: 1.3}, 1e-7)
	astern := settle(t, single(wire(40), ball(3)), &tow.Env{Water: still(t, 1000), Speed: -1.3}, 1e-7)
	want := ahead.Nodes[0]
	want.X = -want.X
	if d := astern.Nodes[0].Sub(want).Norm(); d > 1e-9 || want.X < 1 {
		t.Errorf("at %v, want %v", astern.Nodes[0], want)
	}
}

// What floats, floats: at rest the body carries its weight by the part that is immersed.
func TestFloatingWeight(t *testing.T) {
	float := hydro.Body{Mass: 0.3, Volume: 1e-3, DragArea: 0.002, Height: 0.1}
	slack := tow.Line{Length: 20, Props: hydro.Line{Diameter: 3e-4, Mass: 1150 * area(3e-4), Cn: 1.2, Cf: 0.02}}
	for _, v := range []float64{0.5, 1.2, 3} {
		sol := attempt(t, tipped(single(slack, float), geom.Vec{Z: -2}), &tow.Env{Water: still(t, 1000), Speed: v})
		// Between dry and awash, unless the line lifts it.
		if sol.Status == tow.Converged && (sol.Nodes[0].Z > 0.05+0.02 || sol.Nodes[0].X > 0) {
			t.Errorf("%g m/s: a float at %v", v, sol.Nodes[0])
		}
		t.Logf("%g m/s: %s at %v, %d iterations", v, sol.Status, sol.Nodes[0], sol.Iterations)
	}
	sol := attempt(t, single(slack, float), &tow.Env{Water: still(t, 1000)})
	t.Logf("at rest: %s at %v", sol.Status, sol.Nodes[0])
	// A line that floats and nothing on it.
	light := tow.Line{Length: 20, Props: hydro.Line{Diameter: 3e-4, Mass: 900 * area(3e-4), Cn: 1.2, Cf: 0.02}}
	for _, v := range []float64{0, 1.2} {
		sol := attempt(t, single(light), &tow.Env{Water: still(t, 1000), Speed: v})
		t.Logf("light line at %g m/s: %s at %v", v, sol.Status, sol.Nodes[0])
		if sol.Status == tow.Converged && sol.Nodes[0].Z > 0.02 {
			t.Errorf("%g m/s: a floating line at %v", v, sol.Nodes[0])
		}
	}
}

// A line longer than the lake is deep: the ball lies on the bottom and so does some line.
func TestLineLongerThanTheLake(t *testing.T) {
	for _, friction := range []float64{0, 0.3} {
		b := ball(3)
		b.Friction = friction
		env := &tow.Env{Water: still(t, 1000), Speed: 0.8, Bottom: 12, Friction: friction}
		sol := attempt(t, single(wire(80), b), env)
		if sol.Status != tow.Converged {
			t.Fatalf("friction %g: %s", friction, sol.Status)
		}
		// Contact is a penalty that lets a body sink in 2 cm.
		if z := sol.Nodes[0].Z; z < 12 || z > 12.03 {
			t.Errorf("friction %g: the ball at %g m, the bottom is at 12 m", friction, z)
		}
		// At the ball the line pulls what drag and friction take, and lifts what the bottom
		// does not carry; without friction so little that some line lies there too.
		p := sol.Samples[0]
		drag := 0.5 * 1000 * b.DragArea * 0.8 * 0.8
		push := b.WeightInWater(1000) + p[0].F.Z
		if want := drag + friction*push; math.Abs(p[0].F.X/want-1) > 1e-3 || push < 0 {
			t.Errorf("friction %g: the ball is drawn with %v, want %g N forward", friction, p[0].F, want)
		}
		if (friction == 0) != (sol.Laid > 0) || sol.Laid > 80-12 {
			t.Errorf("friction %g: %g m of 80 m laid", friction, sol.Laid)
		}
		for _, s := range p {
			if s.R.Z > 12.03 || s.S < 0 || s.S > 80*(1+1e-9) {
				t.Errorf("friction %g: below the bottom at %v", friction, s.R)
			}
		}
		// The path from ball to tip is as long as the line, less its stretch.
		if chord := sol.Nodes[0].Norm(); chord > 80.1 || chord < 12 {
			t.Errorf("friction %g: %g m away on 80 m of line", friction, chord)
		}
	}
	// At rest everything but the depth lies on the bottom, in whatever heap.
	sol := attempt(t, single(wire(80), ball(3)), &tow.Env{Water: still(t, 1000), Bottom: 12})
	t.Logf("at rest: %s at %v, %g m laid", sol.Status, sol.Nodes[0], sol.Laid)
}

// A rubber of next to no stiffness hangs as its closed form says at rest, and is a
// number under way.
func TestHardlyAnyStiffness(t *testing.T) {
	line := tow.Line{Length: 1, Props: hydro.Line{EA: 0.5}}
	b := hydro.Body{Mass: 20 / geom.Gravity}
	sol := settle(t, single(line, b), &tow.Env{Water: still(t, 1000)}, 1e-6)
	if z := sol.Nodes[0].Z; math.Abs(z-41) > 1e-3 { // 1 m (1 + 20 N / 0.5 N)
		t.Errorf("at %g m, want 41 m", z)
	}
	line.Props.Diameter, line.Props.Cn, line.Props.Mass, line.Props.EA = 1e-3, 1.2, 2e-3, 1e-3
	attempt(t, single(line, b), &tow.Env{Water: still(t, 1000), Speed: 1})
}

func TestNoLength(t *testing.T) {
	tip := geom.Vec{X: 0.5, Y: 1, Z: 2}
	sol := settle(t, tipped(single(tow.Line{}, ball(2)), tip), &tow.Env{Water: still(t, 1000), Speed: 1}, 1e-6)
	if d := sol.Nodes[0].Sub(tip).Norm(); d > 1e-5 {
		t.Errorf("at %v, the tip is at %v", sol.Nodes[0], tip)
	}
	// A length of nothing among others changes nothing.
	sys := single(wire(20), ball(2))
	want := settle(t, sys, &tow.Env{Water: still(t, 1000), Speed: 1}, 1e-7).Nodes[0]
	sys.Nodes = append(sys.Nodes, tow.Node{})
	sys.Lines[0].To = 2
	sys.Lines = append(sys.Lines, tow.Line{From: 2, To: 1, Props: sys.Lines[0].Props})
	if got := settle(t, sys, &tow.Env{Water: still(t, 1000), Speed: 1}, 1e-7).Nodes[0]; got.Sub(want).Norm() > 1e-5 {
		t.Errorf("with no length more at %v, without at %v", got, want)
	}
}

// Drag without bound: the line streams out along the surface behind the boat, its depth
// that of the critical angle or less.
func TestEnormousDrag(t *testing.T) {
	line := wire(30)
	line.Props.Cn = 1e6
	b := ball(1)
	b.DragArea = 1e4
	sol := attempt(t, single(line, b), &tow.Env{Water: still(t, 1000), Speed: 2})
	if sol.Status == tow.Converged && (sol.Nodes[0].Z > 0.1 || sol.Nodes[0].Horizontal() < 29.9) {
		t.Errorf("at %v", sol.Nodes[0])
	}
	t.Logf("%s at %v", sol.Status, sol.Nodes[0])
}

// In the air alone there is no drag: straight down at any speed.
func TestWhollyInAir(t *testing.T) {
	tip := geom.Vec{X: -2, Z: -20}
	line := wire(10)
	sol := settle(t, tipped(single(line, ball(2)), tip), &tow.Env{Water: still(t, 1000), Speed: 2}, 1e-7)
	want := tip
	want.Z += 10 + (2*geom.Gravity*10+line.Props.Mass*geom.Gravity*50)/line.Props.EA
	if d := sol.Nodes[0].Sub(want).Norm(); d > 1e-5 {
		t.Errorf("at %v, want %v", sol.Nodes[0], want)
	}
	// A line alone in the air, too.
	sol = attempt(t, tipped(single(line), tip), &tow.Env{Water: still(t, 1000), Speed: 2})
	if sol.Status != tow.Converged || sol.Nodes[0].Sub(geom.Vec{X: -2, Z: -10}).Norm() > 0.02 {
		t.Errorf("a line alone: %s at %v", sol.Status, sol.Nodes[0])
	}
}

// A tip under water is a tip: depths move with it in water that is the same everywhere.
func TestTipUnderWater(t *testing.T) {
	env := &tow.Env{Water: still(t, 1000), Speed: 1.2}
	at := settle(t, single(wire(25), ball(3)), env, 1e-8).Nodes[0]
	under := settle(t, tipped(single(wire(25), ball(3)), geom.Vec{Z: 7}), env, 1e-8).Nodes[0]
	if d := under.Sub(at.Add(geom.Vec{Z: 7})).Norm(); d > 1e-5 {
		t.Errorf("at %v, want 7 m below %v", under, at)
	}
}

// Ten kilometres of wire without friction along it: the whole of it near the critical
// angle, T = T0 + w z.
func TestTenKilometers(t *testing.T) {
	line := wire(10_000)
	line.Props.Cf, line.Props.EA = 0, 0
	b := ball(3)
	sol := settle(t, single(line, b), &tow.Env{Water: still(t, 1000), Speed: 1}, 1e-6)
	sane(t, sol)
	angle := hydro.CriticalAngle(line.Props.WeightInWater(1000), 0.5*1000*1.2*5e-4)
	p := sol.Samples[0]
	if got := math.Atan2(-p[len(p)-1].F.Z, p[len(p)-1].F.X); math.Abs(got-angle) > 1e-3 {
		t.Errorf("angle at the top %g, critical %g rad", got, angle)
	}
	want := p[0].F.Norm() + line.Props.WeightInWater(1000)*sol.Nodes[0].Z
	if got := p[len(p)-1].F.Norm(); math.Abs(got/want-1) > 1e-5 {
		t.Errorf("tension %g, want %g N", got, want)
	}
}

// Loads of a millionth of a newton have the shape of loads of one.
func TestTinyLoads(t *testing.T) {
	shape := func(k float64) geom.Vec {
		const rho = 1000
		line := tow.Line{Length: 10, Props: hydro.Line{Diameter: 1e-3 * k, Mass: rho * area(1e-3*k), Cn: 1}}
		b := hydro.Body{Mass: k / geom.Gravity, DragArea: 1e-4 * k}
		return settle(t, single(line, b), &tow.Env{Water: still(t, rho), Speed: 1}, 1e-7).Nodes[0]
	}
	if a, b := shape(1), shape(1e-6); a.Sub(b).Norm() > 1e-5 {
		t.Errorf("at 1 N %v, at 1e-6 N %v", a, b)
	}
}

// riggerWith is a ball on wire with a fishing line from a release up to a rod that keeps
// the pull given.
func riggerWith(pull float64) *tow.System {
	cable := wire(0).Props
	mono := hydro.Line{Diameter: 4e-4, Mass: 1150 * area(4e-4), Cn: 1.2, Cf: 0.02, EA: 400}
	return &tow.System{
		Nodes: []tow.Node{
			{Bodies: []hydro.Body{ball(4)}},
			{}, // release
			{Kind: tow.Fixed, At: geom.Vec{X: -0.3, Y: 1, Z: -1}},              // boom
			{Kind: tow.Fixed, At: geom.Vec{X: 0.2, Y: 1.5, Z: -2.5}},           // rod tip
			{Bodies: []hydro.Body{{Mass: 0.02, Volume: 1e-6, DragArea: 2e-4}}}, // lure
		},
		Lines: []tow.Line{
			{From: 0, To: 1, Length: 1, Props: cable},
			{From: 1, To: 2, Length: 20, Props: cable},
			{From: 3, To: 1, Length: 0, Open: true, Props: mono},
			{From: 4, To: 1, Length: 10, Props: mono},
		},
		Root: 2, Main: 0, Pull: []float64{0, 0, 0, pull, 0},
	}
}

// A rod whose pull cannot hold its line's drag up to the tip must be refused in a bounded
// number of iterations; one that can must be solved.
func TestRodPullTooSmall(t *testing.T) {
	env := &tow.Env{Water: still(t, 1000), Speed: 1.1}
	for _, pull := range []float64{8, 1, 0.3, 0.1, 0.01, 1e-4, 1e-9} {
		sol := attempt(t, riggerWith(pull), env)
		t.Logf("%g N: %s, %d iterations, %d steps", pull, sol.Status, sol.Iterations, sol.Steps)
		if pull >= 8 && sol.Status != tow.Converged {
			t.Errorf("%g N: %s", pull, sol.Status)
		}
		if pull <= 0.01 && sol.Status == tow.Converged {
			t.Errorf("%g N holds a line whose drag is some newtons", pull)
		}
	}
}

// A context that has ended stops the outer equations; a single chain is one bounded root.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	env := &tow.Env{Water: still(t, 1000), Speed: 1.1}
	var s tow.Solver
	sol := s.Solve(ctx, riggerWith(8), env, tow.Options{})
	sane(t, sol)
	if sol.Status != tow.Exhausted {
		t.Errorf("a cancelled solve ended %s", sol.Status)
	}
	var chain tow.Solver
	sane(t, chain.Solve(ctx, single(wire(20), ball(3)), env, tow.Options{}))
}

// wild draws a number over many magnitudes, now and then none at all.
func wild(t *rapid.T, label string, lo, hi float64) float64 {
	if rapid.IntRange(0, 9).Draw(t, label+" zero") == 0 {
		return 0
	}
	return math.Pow(10, span(t, label, math.Log10(lo), math.Log10(hi)))
}

// Whatever the numbers, an answer of numbers or a status, after bounded work.
func TestWildRigs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(t, "lines")
		sys := &tow.System{Root: n}
		for i := range n {
			d := wild(t, "diameter", 1e-6, 0.1)
			sys.Lines = append(sys.Lines, tow.Line{From: i, To: i + 1, Length: wild(t, "length", 1e-3, 1e4), Props: hydro.Line{
				Diameter: d, Mass: wild(t, "density", 1, 1e5) * area(d), EA: wild(t, "ea", 1e-2, 1e9),
				Cn: wild(t, "cn", 1e-3, 1e3), Auto: rapid.Bool().Draw(t, "auto"), Cf: wild(t, "cf", 1e-4, 10)}})
			sys.Nodes = append(sys.Nodes, tow.Node{Bodies: []hydro.Body{{
				Mass: wild(t, "mass", 1e-7, 1e4), Volume: wild(t, "volume", 1e-9, 10), DragArea: wild(t, "drag", 1e-8, 10),
				LiftArea: wild(t, "lift", 1e-8, 1), Roll: span(t, "roll", -7, 7), Height: wild(t, "height", 1e-3, 1),
				PlateArea: wild(t, "plate", 1e-4, 1), PlateCN: 1.3, Incidence: span(t, "incidence", -1, 2), Give: wild(t, "give", 1e-5, 1),
				Floats: rapid.Bool().Draw(t, "floats"), Friction: wild(t, "friction", 0.01, 10)}}})
		}
		sys.Nodes = append(sys.Nodes, tow.Node{Kind: tow.Fixed, At: geom.Vec{X: span(t, "x", -5, 5), Y: span(t, "y", -5, 5), Z: span(t, "z", -30, 30)}})
		if n > 1 && rapid.Bool().Draw(t, "rod") {
			rod := len(sys.Nodes)
			sys.Nodes = append(sys.Nodes, tow.Node{Kind: tow.Fixed, At: geom.Vec{X: span(t, "rx", -5, 5), Y: span(t, "ry", -5, 5), Z: span(t, "rz", -5, 0)}})
			sys.Lines = append(sys.Lines, tow.Line{From: rod, To: 1, Open: true, Props: sys.Lines[0].Props})
			sys.Pull = make([]float64, len(sys.Nodes))
			sys.Pull[rod] = math.Max(wild(t, "pull", 1e-6, 1e4), 1e-6)
		}
		col, err := water.NewColumn(water.Spec{Rho: 1000, Nu: 1e-6})
		if err != nil {
			t.Fatal(err)
		}
		env := &tow.Env{Water: col, Speed: rapid.SampledFrom([]float64{0, 1e-9, 0.5, 1, 3, -1, 50}).Draw(t, "speed"),
			Bottom: rapid.SampledFrom([]float64{0, 1, 20, 300}).Draw(t, "bottom"), Friction: wild(t, "line friction", 0.01, 10)}
		var s tow.Solver
		sol := s.Solve(context.Background(), sys, env, tow.Options{})
		for i, p := range sol.Samples {
			for _, x := range p {
				if sol.Status == tow.Converged && (!x.R.Finite() || !x.F.Finite()) {
					t.Fatalf("converged with line %d: %+v", i, x)
				}
			}
		}
		for i, p := range sol.Nodes {
			if sol.Status == tow.Converged && !p.Finite() {
				t.Fatalf("converged with node %d at %v", i, p)
			}
		}
		if sol.Iterations > mostIterations || sol.Steps > mostSteps {
			t.Fatalf("%s after %d iterations, %d steps", sol.Status, sol.Iterations, sol.Steps)
		}
	})
}
