package dynamics_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// sliding is a downrigger with a free slider: ball, cable, release with a lure behind it,
// the rod's line with the ring and a lure on it.
type sliding struct {
	cable, pull, speed, lure float64
}

const (
	slideTip, slideRing, slideClip = 1, 2, 3
	slideUpper                     = 2 // line from the tip to the ring; the next one goes on to the release
)

func (s *sliding) system() (*tow.System, *tow.Env) {
	mono := hydro.Line{Diameter: 0.00045, Mass: 1.8e-4, EA: 300, Auto: true, Cf: 0.02}
	steel := hydro.Line{Diameter: 0.0009, Mass: 0.0035, EA: 5e4, Cn: 1.2, Cf: 0.02}
	lure := func(area float64) []hydro.Body {
		return []hydro.Body{{Mass: 0.015, Volume: 2e-6, AddedMass: 0.005, DragArea: area}}
	}
	sys := &tow.System{
		Nodes: []tow.Node{
			{Kind: tow.Fixed, At: geom.Vec{X: -0.6, Y: 2, Z: -0.5}},
			{Kind: tow.Fixed, At: geom.Vec{X: -3, Y: 1.5, Z: -1.5}},
			{Kind: tow.Ring},
			{},
			{Bodies: []hydro.Body{{Mass: 4.5, Volume: 4e-4, AddedMass: 0.2, DragArea: 0.005}}},
			{Bodies: lure(0.0015)},
			{Bodies: lure(s.lure)},
		},
		Lines: []tow.Line{
			{From: 3, To: 0, Length: s.cable, Props: steel},
			{From: 4, To: 3, Length: 1, Props: steel},
			{From: 1, To: 2, Open: true, Props: mono},
			{From: 2, To: 3, Open: true, Props: mono},
			{From: 5, To: 3, Length: 6, Props: mono},
			{From: 6, To: 2, Length: 2, Props: mono},
		},
		Root: 0, Main: 4, Pull: []float64{0, s.pull, 0, 0, 0, 0, 0},
	}
	return sys, &tow.Env{Water: fresh(), Speed: s.speed}
}

// TestSliderFollows drives faster with a free slider out, the reel keeping its pull, and
// asks everything to where the statics put it at that speed.
func TestSliderFollows(t *testing.T) {
	s := sliding{cable: 20, pull: 6, speed: 1.1, lure: 0.001}
	sys, env := s.system()
	faster := *env
	faster.Speed = 1.25
	want := at(t, sys, &faster)
	course := ahead(env, dynamics.Leg{Duration: 20, Speed: constant(1.1)}, dynamics.Leg{Duration: 20, Speed: [2]float64{1.1, 1.25}},
		dynamics.Leg{Duration: 1, Speed: constant(1.25)})
	r := start(t, sys, env, course, dynamics.Options{})
	before := r.Length(slideUpper)
	r.Winch(slideUpper, s.pull, 0)
	advance(t, r, 900)
	after := r.Length(slideUpper)
	if d := off(r, want); d > 1e-3 {
		t.Errorf("off by %.1e of the depth", d)
	}
	if d := math.Abs(after - want.Length[slideUpper]); d > 0.05*math.Abs(after-before)+0.01 {
		t.Errorf("%.3f m of line above the ring, then %.3f, the statics say %.3f", before, after, want.Length[slideUpper])
	}
	t.Logf("%.2f m above the ring, then %.2f, off by %.1e, %+v", before, after, off(r, want), r.Count())
}

// TestSliderBalance asks the discrete system to miss the ring's balance the less the finer
// it is.
func TestSliderBalance(t *testing.T) {
	s := sliding{cable: 20, pull: 6, speed: 1.1, lure: 0.001}
	sys, env := s.system()
	last := math.Inf(1)
	for _, n := range []int{20, 40, 80, 160} {
		r := start(t, sys, env, ahead(env), dynamics.Options{Nodes: n})
		b := math.Abs(r.Bias())
		t.Logf("%d segments: %.1e of the pull", n, b)
		if b > 0.6*last || b > 5e-3 {
			t.Errorf("%d segments: off by %.1e of the pull, with half as many %.1e", n, b, last)
		}
		last = b
	}
}

// TestSlidersHold draws rigs with a free slider: they stay where the statics have them,
// come back after a blow, and mirror.
func TestSlidersHold(t *testing.T) {
	found, drawn := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		drawn++
		s := sliding{
			cable: rapid.Float64Range(12, 28).Draw(t, "cable"),
			pull:  rapid.Float64Range(5, 8).Draw(t, "pull"),
			speed: rapid.Float64Range(0.95, 1.2).Draw(t, "speed"),
			lure:  rapid.Float64Range(0.0007, 0.0015).Draw(t, "lure"),
		}
		sys, env := s.system()
		var solver tow.Solver
		sol := solver.Solve(t.Context(), sys, env, tow.Options{Tolerance: 1e-6})
		if sol.Status != tow.Converged {
			return // the ring finds no place of rest
		}
		found++
		var r, m dynamics.Run
		if st := r.Start(sys, sol, env, ahead(env), dynamics.Options{}); st != dynamics.OK {
			t.Fatal(st)
		}
		first := r.Length(slideUpper)
		if st := r.Advance(t.Context(), 60); st != dynamics.OK || off(&r, sol) > 1e-3 || math.Abs(r.Length(slideUpper)-first) > 1e-2 {
			t.Errorf("%s: off by %.1e of the depth, %.3f m slid", st, off(&r, sol), r.Length(slideUpper)-first)
		}
		r.Start(sys, sol, env, ahead(env), dynamics.Options{})
		other := *sol
		other.Nodes = nil
		for _, p := range sol.Nodes {
			other.Nodes = append(other.Nodes, p.Mirror())
		}
		other.Samples = make([][]tow.Sample, len(sol.Samples))
		for l := range sol.Samples {
			for _, p := range sol.Samples[l] {
				other.Samples[l] = append(other.Samples[l], tow.Sample{S: p.S, R: p.R.Mirror(), F: p.F.Mirror()})
			}
		}
		m.Start(mirrored(sys), &other, env, ahead(env), dynamics.Options{})
		blow := func(i int) (move, v geom.Vec) {
			return geom.Vec{}, geom.Vec{X: math.Sin(float64(3 * i)), Y: 0.7 * math.Cos(float64(5*i)), Z: 0.5 * math.Sin(float64(7*i))}
		}
		r.Disturb(blow)
		m.Disturb(func(i int) (geom.Vec, geom.Vec) { a, b := blow(i); return a, b.Mirror() })
		for k := 1.0; k < 5; k++ {
			if st := r.Advance(t.Context(), 15*k); st != dynamics.OK {
				t.Fatalf("%s at %g s", st, r.Time())
			}
			m.Advance(t.Context(), 15*k)
			for i := range sys.Nodes {
				p, _ := r.Node(i)
				q, _ := m.Node(i)
				if d := p.Sub(q.Mirror()).Norm(); d > 1e-8*(1+p.Norm()) {
					t.Fatalf("at %g s node %d at %v and %v", r.Time(), i, p, q)
				}
			}
		}
		if st := r.Advance(t.Context(), 400); st != dynamics.OK || off(&r, sol) > 1e-3 {
			t.Errorf("%s: off by %.1e of the depth six minutes after a blow, %.3f m slid", st, off(&r, sol), r.Length(slideUpper)-first)
		}
	})
	if found < drawn/2 {
		t.Errorf("%d of %d rigs came to rest", found, drawn)
	}
}

// TestSliderParts opens the release below a free slider: its line leaves the cable, and
// where the ring lies free of its stops both sides of it pull alike.
func TestSliderParts(t *testing.T) {
	for _, pull := range []float64{5, 6, 7} {
		s := sliding{cable: 20, pull: pull, speed: 1.1, lure: 0.001}
		sys, env := s.system()
		r := start(t, sys, env, ahead(env), dynamics.Options{})
		if !r.FromBoat(slideUpper+1) || r.FromBoat(4) {
			t.Fatal("which line comes from the boat?")
		}
		r.LetGo(slideClip, slideUpper+1, 4)
		advance(t, r, 600)
		ball, _ := r.Node(4)
		alone := &tow.System{Nodes: []tow.Node{sys.Nodes[0], {}, sys.Nodes[4]}, Root: 0, Main: 2,
			Lines: []tow.Line{{From: 1, To: 0, Length: s.cable, Props: sys.Lines[0].Props}, {From: 2, To: 1, Length: 1, Props: sys.Lines[1].Props}}}
		if want := at(t, alone, env).Nodes[2]; math.Abs(ball.Z-want.Z) > 1e-3*want.Z {
			t.Errorf("the ball is %.3f m down, alone %.3f", ball.Z, want.Z)
		}
		_, above := r.Tension(slideUpper)
		below, _ := r.Tension(slideUpper + 1)
		up, low := r.Length(slideUpper), r.Length(slideUpper+1)
		if up > 0.5 && low > 0.5 && math.Abs(above-below) > 0.02*above {
			t.Errorf("%.3f N above the ring and %.3f below it, with %.2f and %.2f m of line", above, below, up, low)
		}
		t.Logf("%.2f m above the ring, %.2f below, %.2f and %.2f N, %+v", up, low, above, below, r.Count())
	}
}
