package api_test

import (
	"math"
	"testing"

	"sternfan"
	"sternfan/api"
)

// A quarter turn to starboard ends a quarter turn to starboard; every series has a value
// a sample.
func TestTurn(t *testing.T) {
	var e api.Engine
	given := api.Given{Text: example(t, "class.yaml")}
	got := do[api.TurnAnswer](t, &e, "turn", api.TurnAsk{Given: given, To: sternfan.Starboard, Angle: math.Pi / 2, Radius: 60, Before: 20, After: 20, Every: 2})
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
	var e api.Engine
	given := api.Given{Text: example(t, "class.yaml")}
	turn := do[api.TurnAnswer](t, &e, "turn", api.TurnAsk{Given: given, Hands: "set", Before: 5, After: 60, Every: 2}).Turn
	if len(turn.Tasks) != 1 || turn.Shapes != 1 || len(turn.Tracks[0].Shapes) == 0 {
		t.Fatalf("%d tasks, a shape every %d samples", len(turn.Tasks), turn.Shapes)
	}
	shapes := turn.Tracks[0].Shapes[0]
	if len(shapes[0]) != 0 || len(shapes[len(shapes)-1]) < 6 {
		t.Errorf("%v before it is set, %v after", shapes[0], shapes[len(shapes)-1])
	}
}
