package dynamics_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"sternfan/geom"
	"sternfan/tow"
	"sternfan/tow/dynamics"
	"sternfan/water"
)

// ahead is the course straight on.
func ahead(env *tow.Env, legs ...dynamics.Leg) *dynamics.Track {
	var top water.State
	env.Water.At(0, &top)
	if len(legs) == 0 {
		legs = []dynamics.Leg{{Duration: 1, Speed: constant(env.Speed)}}
	}
	return dynamics.NewTrack(geom.Vec{X: top.Cx, Y: top.Cy}, legs)
}

// off returns how far the nodes are in depth from where the statics have them, relative
// to the deepest.
func off(r *dynamics.Run, sol *tow.Solution) float64 {
	deepest, worst := 0.0, 0.0
	for i := range sol.Nodes {
		deepest = math.Max(deepest, sol.Nodes[i].Z)
	}
	for i := range sol.Nodes {
		p, _ := r.Node(i)
		worst = math.Max(worst, math.Abs(p.Z-sol.Nodes[i].Z)/deepest)
	}
	return worst
}

// TestStays starts every fixture of the statics and goes straight on: it stays where the
// statics put it, within 0.1 %.
func TestStays(t *testing.T) {
	worst := 0.0
	for _, b := range fixtures(t) {
		sol := at(t, b.sys, b.env)
		r := start(t, b.sys, b.env, ahead(b.env), dynamics.Options{})
		first := off(r, sol)
		advance(t, r, 60)
		d := math.Max(first, off(r, sol))
		worst = math.Max(worst, d)
		if d > 1e-3 {
			t.Errorf("%s: off by %.1e of the depth", b.id, d)
		}
	}
	t.Logf("worst %.1e of the depth", worst)
}

// TestReturns starts every fixture from a disturbance, and asks it back to its own rest
// within 0.1 %. Where the bottom holds what it carries by friction, there is no one rest.
func TestReturns(t *testing.T) {
	for _, b := range fixtures(t) {
		if b.env.Bottom > 0 {
			continue
		}
		sol := at(t, b.sys, b.env)
		r := start(t, b.sys, b.env, ahead(b.env), dynamics.Options{})
		rest := append([]geom.Vec(nil), r.Line(0, nil)...)
		random := rand.New(rand.NewPCG(4, 1))
		r.Disturb(func(int) (geom.Vec, geom.Vec) {
			f := func(k float64) geom.Vec {
				return geom.Vec{X: k * random.NormFloat64(), Y: k * random.NormFloat64(), Z: k * random.NormFloat64()}
			}
			return f(0.3), f(0.3)
		})
		if len(rest) > 1 && off(r, sol) < 1e-3 {
			t.Errorf("%s: the disturbance moved nothing", b.id)
		}
		advance(t, r, 900)
		if d := off(r, sol); d > 1e-3 {
			t.Errorf("%s: off by %.1e of the depth after 15 minutes, %+v", b.id, d, r.Count())
		}
	}
}

// TestStraightAgain turns every fixture by a right angle in still water, and asks that it
// ends up behind the boat as it began.
func TestStraightAgain(t *testing.T) {
	for _, b := range fixtures(t) {
		if b.env.Bottom > 0 {
			continue
		}
		sol := at(t, b.sys, b.env)
		legs := turning(b.env.Speed, math.Pi/2, 40, 10, 3, 1)
		r := start(t, b.sys, b.env, ahead(b.env, legs...), dynamics.Options{})
		d := 0.0
		const until = 1500.0
		advance(t, r, until)
		var top, here water.State
		b.env.Water.At(0, &top)
		sheared := false
		for z := 1.0; z < 60; z++ {
			b.env.Water.At(z, &here)
			sheared = sheared || here.Cx != top.Cx || here.Cy != top.Cy
		}
		if sheared {
			continue // another heading in the same current is another fan
		}
		if d = off(r, sol); d > 1e-3 {
			t.Errorf("%s: off by %.1e of the depth, %+v", b.id, d, r.Count())
		}
	}
}

// TestEnergyLeaves lets go of the boat's speed at once: from then on what moves in still
// water only loses energy.
func TestEnergyLeaves(t *testing.T) {
	for _, kg := range []float64{0.05, 1} {
		sys, env := weighted(60, kg, 0.0005, 0.0015, 2000)
		sys.Nodes[0].At.Z = 1
		r := start(t, sys, env, dynamics.NewTrack(geom.Vec{}, []dynamics.Leg{{Duration: 1}}), dynamics.Options{Tolerance: 1e-4})
		first := r.Energy()
		last, rose := first, 0.0
		for k := 1; k <= 4000; k++ {
			advance(t, r, float64(k)*0.05)
			e := r.Energy()
			rose = math.Max(rose, e-last)
			last = e
		}
		lost := first - last
		if !(lost > 0) || rose > 1e-6*lost {
			t.Errorf("%g kg: rose by %.2e of the %.3f J lost", kg, rose/lost, lost)
		}
	}
}

// mirrored returns the system and the environment on the other side of the boat.
func mirrored(sys *tow.System) *tow.System {
	out := *sys
	out.Nodes = append([]tow.Node(nil), sys.Nodes...)
	for i := range out.Nodes {
		n := &out.Nodes[i]
		n.At = n.At.Mirror()
		n.Bodies = append(n.Bodies[:0:0], n.Bodies...)
		for k := range n.Bodies {
			n.Bodies[k].Roll = -n.Bodies[k].Roll
		}
	}
	return &out
}

// TestMirrored turns mirrored systems the other way.
func TestMirrored(t *testing.T) {
	for _, b := range fixtures(t) {
		var top, here water.State
		b.env.Water.At(0, &top)
		b.env.Water.At(20, &here)
		if here.Cy != 0 || top.Cy != 0 || here.Cx != top.Cx {
			continue
		}
		sol := at(t, b.sys, b.env)
		other := *sol
		other.Nodes = append([]geom.Vec(nil), sol.Nodes...)
		for i := range other.Nodes {
			other.Nodes[i] = other.Nodes[i].Mirror()
		}
		other.Samples = make([][]tow.Sample, len(sol.Samples))
		for l := range sol.Samples {
			for _, s := range sol.Samples[l] {
				other.Samples[l] = append(other.Samples[l], tow.Sample{S: s.S, R: s.R.Mirror(), F: s.F.Mirror()})
			}
		}
		var r, m dynamics.Run
		r.Start(b.sys, sol, b.env, ahead(b.env, turning(b.env.Speed, 2, 30, 5, 3, 20)...), dynamics.Options{})
		m.Start(mirrored(b.sys), &other, b.env, ahead(b.env, turning(b.env.Speed, -2, 30, 5, 3, 20)...), dynamics.Options{})
		for at := 10.0; at < 100; at += 10 {
			advance(t, &r, at)
			advance(t, &m, at)
			for i := range b.sys.Nodes {
				p, _ := r.Node(i)
				q, _ := m.Node(i)
				if d := p.Sub(q.Mirror()).Norm(); d > 1e-9*(1+p.Norm()) {
					t.Fatalf("%s at %g s: %v and %v", b.id, at, p, q)
				}
			}
		}
	}
}

// TestSteppingDoesNotAllocate runs a turn whose memory is there.
func TestSteppingDoesNotAllocate(t *testing.T) {
	sys, env := weighted(100, 0.5, 0.0005, 0.0015, 4e4)
	sol := at(t, sys, env)
	course := dynamics.NewTrack(geom.Vec{}, turning(1, math.Pi, 30, 20, 3, 60))
	var r dynamics.Run
	go1 := func() {
		r.Start(sys, sol, env, course, dynamics.Options{})
		r.Advance(context.Background(), 150)
	}
	go1()
	if n := testing.AllocsPerRun(3, go1); n != 0 {
		t.Errorf("%v allocations a run", n)
	}
}
