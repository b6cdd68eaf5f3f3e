package engine_test

import (
	"math"
	"testing"

	"sternfan"
	"sternfan/engine"
)

// A quarter turn to starboard ends a quarter turn to starboard; every series has a value
// a sample.
func TestTurn(t *testing.T) {
	var e engine.Engine
	given := engine.Given{Text: example(t, "class.yaml")}
	got := do[engine.TurnAnswer](t, &e, "turn", engine.TurnAsk{Given: given, To: sternfan.Starboard, Angle: new(math.Pi / 2), Radius: new(60.0), Before: new(20.0), After: new(20.0), Every: new(2.0)})
	turn := got.Turn
	if len(turn.Boat) < 2 || len(turn.Tracks) == 0 || len(got.Words) == 0 {
		t.Fatalf("%d poses, %d tracks, %d sentences", len(turn.Boat), len(turn.Tracks), len(got.Words))
	}
	if last := turn.Boat[len(turn.Boat)-1].Heading; math.Abs(last-math.Pi/2) > 1e-6 {
		t.Errorf("heading %g at its end, want %g", last, math.Pi/2)
	}
	for _, track := range turn.Tracks {
		for _, p := range track.Points {
			if track.Stopped == nil && len(p.At) != len(turn.Boat) {
				t.Errorf("%s %s: %d places for %d poses", track.Rod, p.ID, len(p.At), len(turn.Boat))
			}
		}
	}
}

// Lines set one after another come out in the planner's order, with shapes to draw.
func TestHands(t *testing.T) {
	var e engine.Engine
	given := engine.Given{Text: example(t, "class.yaml")}
	turn := do[engine.TurnAnswer](t, &e, "turn", engine.TurnAsk{Given: given, Event: "set", Shapes: true, Before: new(5.0), After: new(60.0), Every: new(2.0)}).Turn
	if len(turn.Tasks) != 1 || turn.Shapes != 1 || len(turn.Tracks[0].Shapes) == 0 {
		t.Fatalf("%d tasks, a shape every %d samples", len(turn.Tasks), turn.Shapes)
	}
	shapes := turn.Tracks[0].Shapes[0]
	if len(shapes[0]) != 0 || len(shapes[len(shapes)-1]) < 6 {
		t.Errorf("%v before it is set, %v after", shapes[0], shapes[len(shapes)-1])
	}
}

// The first step of a turn is the turn without what it leaves out; to draw, its series stand
// in the points one after another.
func TestTurnToDraw(t *testing.T) {
	var e engine.Engine
	ask := engine.TurnAsk{Given: engine.Given{Text: example(t, "summer.yaml")}, To: sternfan.Port, Angle: new(math.Pi / 2), Radius: new(40.0), Before: new(10.0), After: new(20.0), Every: new(2.0)}
	whole := do[engine.TurnAnswer](t, &e, "turn", ask)
	ask.First, ask.Shapes = true, true
	plain := do[engine.TurnAnswer](t, &e, "turn", ask)
	ask.Draw = true
	first := do[engine.TurnAnswer](t, &e, "turn", ask)
	if !first.First || whole.First || first.Turn.Other != nil || whole.Turn.Other == nil {
		t.Errorf("first %v with the other side %v, whole %v with %v", first.First, first.Turn.Other, whole.First, whole.Turn.Other)
	}
	if len(first.Drawn) != len(whole.Turn.Tracks) || len(first.Turn.Boat) != len(whole.Turn.Boat) {
		t.Fatalf("%d tracks are drawn, of %d", len(first.Drawn), len(whole.Turn.Tracks))
	}
	at := 0
	next := func(want [3]float64, what string) {
		t.Helper()
		for k, w := range want {
			if got := float64(first.Points[at+k]); math.Abs(got-w) > 1e-6*math.Max(1, math.Abs(w)) {
				t.Fatalf("%s: %v, want %v", what, first.Points[at:at+3], want)
			}
		}
		at += 3
	}
	for i, track := range plain.Turn.Tracks {
		d := first.Drawn[i]
		if 3*d.From != at || d.Samples != len(track.Points[0].At) {
			t.Fatalf("%s: from %d with %d samples, want %d with %d", track.Rod, d.From, d.Samples, at/3, len(track.Points[0].At))
		}
		for k, p := range track.Points {
			lean := first.Turn.Tracks[i].Points[k]
			full := whole.Turn.Tracks[i].Points[k]
			if p.Lure && !(full.DepthHi > full.DepthLo) || lean.DepthHi != lean.DepthLo || len(lean.At) > 0 || len(lean.Through) > 0 {
				t.Errorf("%s %s: from %v to %v m with %d numbers, whole from %v to %v m", track.Rod, p.ID, lean.DepthLo, lean.DepthHi, len(lean.At), full.DepthLo, full.DepthHi)
			}
			for _, want := range p.At {
				next(want, track.Rod+" "+p.ID)
			}
		}
		for k, chain := range track.Shapes {
			for n, flat := range chain {
				if d.Shapes[k][n] != len(flat)/3 {
					t.Fatalf("%s: a shape of %d points, want %d", track.Rod, d.Shapes[k][n], len(flat)/3)
				}
				for c := 0; c < len(flat); c += 3 {
					next([3]float64{float64(flat[c]) / 100, float64(flat[c+1]) / 100, float64(flat[c+2]) / 100}, track.Rod)
				}
			}
		}
	}
	if at != len(first.Points) {
		t.Errorf("%d numbers are left over", len(first.Points)-at)
	}
}
