package dynamics_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// TestPayOut lets 20 m of line out and takes 30 m in: after each it comes to the statics
// of the length then out.
func TestPayOut(t *testing.T) {
	sys, env := weighted(60, 0.5, 0.0005, 0.0015, 4e4)
	r := start(t, sys, env, ahead(env), dynamics.Options{})
	points := r.Points()
	for _, c := range []struct{ rate, duration float64 }{{0.5, 40}, {-1, 30}} {
		r.Pay(0, c.rate)
		advance(t, r, r.Time()+c.duration)
		r.Pay(0, 0)
		advance(t, r, r.Time()+400)
		now := *sys
		now.Lines = append([]tow.Line(nil), sys.Lines...)
		now.Lines[0].Length = r.Length(0)
		want := at(t, &now, env)
		if d := off(r, want); d > 2e-3 {
			t.Errorf("%.3f m out: off by %.1e of the depth", r.Length(0), d)
		}
		t.Logf("%.3f m out in %d points, %+v", r.Length(0), r.Points(), r.Count())
	}
	if d := math.Abs(r.Length(0) - 50); d > 1e-6 {
		t.Errorf("%.6f m out, want 50", r.Length(0))
	}
	if r.Points() >= points+5 || r.Points() < points-8 {
		t.Errorf("%d points, began with %d", r.Points(), points)
	}
	// To the last of it, and no further.
	r.Pay(0, -2)
	advance(t, r, r.Time()+60)
	if l := r.Length(0); l < 0.29 || l > 0.31 {
		t.Errorf("%.3f m left out", l)
	}
}

// TestOnItsWay lets line out behind a diver and behind a weight at half the boat's speed.
// What goes out moves through the water at half that speed, so it is not where the statics
// have it with as much line: the diver, which dives by its speed, is far above, the weight,
// which sinks against it, far below. Three minutes after the end both are where the statics say.
func TestOnItsWay(t *testing.T) {
	braid := hydro.Line{Diameter: 0.0003, Mass: 7e-5, EA: 3000, Auto: true, Cf: 0.02}
	diver := hydro.Body{Mass: 0.1, Volume: 6e-5, AddedMass: 0.3, PlateArea: 0.0123, PlateCN: 1.3, Incidence: 0.75, Give: 0.01, Roll: 0.2}
	weight := hydro.Body{Mass: 0.4, Volume: 3.5e-5, AddedMass: 0.02, DragArea: 0.002}
	env := &tow.Env{Water: fresh(), Speed: 1.1}
	for _, c := range []struct {
		name   string
		body   hydro.Body
		lo, hi float64 // of the depth on the way over that at rest with as much line
	}{{"diver", diver, 0, 0.95}, {"weight", weight, 1.05, math.Inf(1)}} {
		rig := func(length float64) *tow.System {
			return &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{Y: 2, Z: -1}}, {Bodies: []hydro.Body{c.body}}},
				Lines: []tow.Line{{From: 1, To: 0, Length: length, Props: braid}}, Root: 0, Main: 1}
		}
		r := start(t, rig(5), env, ahead(env), dynamics.Options{Hands: true, Pull: 60, Depth: 20})
		r.Feed(0, dynamics.ToEnd, 0.55, 1)
		advance(t, r, 45)
		p, _ := r.Node(1)
		at1 := at(t, rig(r.Length(0)), env).Nodes[1]
		ratio := p.Z / at1.Z
		r.Feed(0, dynamics.ToEnd, 0, 0)
		advance(t, r, r.Time()+180)
		q, _ := r.Node(1)
		t.Logf("%s with %.1f m out: %.2f m down on its way, %.2f at rest (%.2f); three minutes later %.2f", c.name, r.Length(0), p.Z, at1.Z, ratio, q.Z)
		if ratio < c.lo || ratio > c.hi {
			t.Errorf("%s: %.2f m down on its way, at rest with as much line %.2f", c.name, p.Z, at1.Z)
		}
		if math.Abs(q.Z-at1.Z) > 5e-3*at1.Z {
			t.Errorf("%s: %.3f m down three minutes after, want %.3f", c.name, q.Z, at1.Z)
		}
	}
}

// TestTrips opens a diver's arm on the way: it comes to the statics of the tripped diver.
func TestTrips(t *testing.T) {
	diver := hydro.Body{Mass: 0.1, Volume: 6e-5, AddedMass: 0.3, PlateArea: 0.0123, PlateCN: 1.3, Incidence: 0.75, Give: 0.01, Roll: 0.5}
	tripped := hydro.Body{Mass: 0.1, Volume: 6e-5, AddedMass: 0.06, DragArea: 0.002}
	sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{Y: 2, Z: -1}}, {Bodies: []hydro.Body{diver}},
		{Bodies: []hydro.Body{{Mass: 0.02, Volume: 2.5e-6, DragArea: 0.002}}}},
		Lines: []tow.Line{{From: 1, To: 0, Length: 50, Props: hydro.Line{Diameter: 0.0003, Mass: 7e-5, EA: 3000, Auto: true, Cf: 0.02}},
			{From: 2, To: 1, Length: 3, Props: hydro.Line{Diameter: 0.0004, Mass: 1.4e-4, EA: 250, Auto: true, Cf: 0.02}}}, Root: 0, Main: 2}
	env := &tow.Env{Water: fresh(), Speed: 1}
	r := start(t, sys, env, ahead(env), dynamics.Options{})
	before, _ := r.Node(1)
	r.SetBodies(1, []hydro.Body{tripped})
	advance(t, r, 600)
	after := *sys
	after.Nodes = append([]tow.Node(nil), sys.Nodes...)
	after.Nodes[1].Bodies = []hydro.Body{tripped}
	want := at(t, &after, env)
	if d := off(r, want); d > 3e-3 || want.Nodes[1].Z > before.Z/2 {
		t.Errorf("off by %.1e of %.2f m, from %.2f", d, want.Nodes[1].Z, before.Z)
	}
}

// TestLetGo opens a downrigger's release: the ball comes to the statics of the ball alone,
// the line to that of a line of its own.
func TestLetGo(t *testing.T) {
	for _, b := range fixtures(t) {
		if b.id != "D1" && b.id != "D3" {
			continue
		}
		sol := at(t, b.sys, b.env)
		r := start(t, b.sys, b.env, ahead(b.env), dynamics.Options{})
		tip, clip, lure := b.node["rod"], b.node["release"], b.node["lure"]
		upper, trailing := -1, -1
		for l, line := range b.sys.Lines {
			switch {
			case line.From == tip:
				upper = l
			case line.To == clip && b.sys.Main != line.From:
				trailing = l
			}
		}
		r.LetGo(clip, upper, trailing)
		advance(t, r, 900)

		own := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: b.sys.Nodes[tip].At}, {}, {Bodies: b.sys.Nodes[lure].Bodies}},
			Lines: []tow.Line{{From: 1, To: 0, Length: sol.Length[upper], Props: b.sys.Lines[upper].Props},
				{From: 2, To: 1, Length: b.sys.Lines[trailing].Length, Props: b.sys.Lines[trailing].Props}}, Root: 0, Main: 2}
		// The rod straightens and takes in what it gave at its set load.
		own.Lines[0].Length -= b.sys.Pull[tip] / 25
		_, pull := at(t, own, b.env).Pull(0)
		own.Lines[0].Length += pull / 25
		want := at(t, own, b.env)
		p, _ := r.Node(lure)
		if d := math.Abs(p.Z-want.Nodes[2].Z) / want.Nodes[2].Z; d > 5e-3 {
			t.Errorf("%s: the lure is %.3f m down, its own line says %.3f", b.id, p.Z, want.Nodes[2].Z)
		}
		keep := map[int]int{}
		out := &tow.System{}
		for _, l := range b.sys.Lines {
			if l.From == tip || l.From == lure {
				continue
			}
			for _, n := range []int{l.From, l.To} {
				if _, ok := keep[n]; !ok {
					keep[n] = len(out.Nodes)
					out.Nodes = append(out.Nodes, b.sys.Nodes[n])
				}
			}
			l.From, l.To = keep[l.From], keep[l.To]
			out.Lines = append(out.Lines, l)
		}
		out.Root, out.Main = keep[b.sys.Root], keep[b.sys.Main]
		ball := at(t, out, b.env).Nodes[out.Main]
		p, _ = r.Node(b.sys.Main)
		if d := math.Abs(p.Z-ball.Z) / ball.Z; d > 1e-3 {
			t.Errorf("%s: the ball is %.4f m down, alone %.4f", b.id, p.Z, ball.Z)
		}
	}
}

// TestHardManoeuvres asks for an end to what a boat can do, with numbers, in less than a
// hundred steps a second.
func TestHardManoeuvres(t *testing.T) {
	v := 1.2
	for name, legs := range map[string][]dynamics.Leg{
		"stop":        {{Duration: 2, Speed: constant(v)}, {Duration: 5, Speed: [2]float64{v, 0}}, {Duration: 1}},
		"stop dead":   {{Duration: 2, Speed: constant(v)}, {Duration: 1}},
		"on the spot": {{Duration: 2, Speed: constant(v)}, {Duration: 30, Yaw: constant(0.5)}, {Duration: 10, Speed: constant(v)}},
		"reverse":     {{Duration: 2, Speed: constant(v)}, {Duration: 8, Speed: [2]float64{v, -v}}, {Duration: 40, Speed: constant(-v)}, {Duration: 1, Speed: constant(v)}},
		"spin":        {{Duration: 2, Speed: constant(v)}, {Duration: 60, Yaw: constant(1), Speed: constant(v)}, {Duration: 1, Speed: constant(v)}},
		"faster":      {{Duration: 2, Speed: constant(v)}, {Duration: 1, Speed: [2]float64{v, 4}}, {Duration: 1, Speed: constant(4)}},
	} {
		for _, b := range fixtures(t) {
			switch b.id {
			case "A5", "B2", "C5", "D4", "D7", "E2", "E4", "F1", "G1", "H2":
			default:
				continue
			}
			sol := at(t, b.sys, b.env)
			var r dynamics.Run
			if st := r.Start(b.sys, sol, b.env, ahead(b.env, legs...), dynamics.Options{}); st != dynamics.OK {
				t.Errorf("%s %s: %s", name, b.id, st)
				continue
			}
			st := r.Advance(context.Background(), 180)
			if st != dynamics.OK {
				t.Errorf("%s %s: %s at %.2f s, %+v", name, b.id, st, r.Time(), r.Count())
			}
			if c := r.Count(); c.Steps > 100*180 {
				t.Errorf("%s %s: %+v", name, b.id, c)
			}
			for i := range b.sys.Nodes {
				if p, _ := r.Node(i); !p.Finite() {
					t.Errorf("%s %s: node %d at %v", name, b.id, i, p)
				}
			}
		}
	}
}

// TestTenKilometers turns and stops with ten kilometers of line.
func TestTenKilometers(t *testing.T) {
	sys, env := weighted(10000, 2, 0.001, 0.002, 1e4)
	r := start(t, sys, env, dynamics.NewTrack(geom.Vec{}, turning(1, math.Pi, 50, 20, 3, 20)), dynamics.Options{})
	advance(t, r, 1200)
	if p, _ := r.Node(1); !p.Finite() {
		t.Errorf("the end is at %v", p)
	}
	t.Logf("%+v", r.Count())
}
