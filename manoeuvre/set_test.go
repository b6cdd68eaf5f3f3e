package manoeuvre_test

import (
	"sternfan/internal/exampletest"

	"context"
	"math"
	"slices"
	"testing"

	"sternfan"
	"sternfan/manoeuvre"
	"sternfan/spread"
	"sternfan/tackle"
)

const footPerSecond = 0.3048

// handle sets or clears a spread.
func handle(t testing.TB, m *tackle.Model, e manoeuvre.Event, every float64) *sternfan.Turn {
	t.Helper()
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	if e.Pay == 0 {
		e.Pay = 2 * footPerSecond
	}
	mv.Event, mv.Before, mv.After = &e, 10, 300
	turn, err := manoeuvre.Turn(context.Background(), m, mv, spread.Options{}, manoeuvre.TurnOptions{Every: every})
	if err != nil {
		t.Fatal(err)
	}
	return turn
}

// TestSetEndsAtRest sets every demo spread: five minutes after the last line went out every
// lure runs as deep as the statics have it, within 1 % of the deepest of its rig or 5 cm.
func TestSetEndsAtRest(t *testing.T) {
	for name, m := range exampletest.All(t) {
		fan, err := spread.Solve(context.Background(), m, spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		turn := handle(t, m, manoeuvre.Event{Kind: "set"}, 10)
		worst := 0.0
		for i := range turn.Tracks {
			tr := &turn.Tracks[i]
			if tr.Stopped != nil {
				t.Errorf("%s %s: stopped at %v s: %+v", name, tr.Rod, *tr.Stopped, tr.Warnings)
				continue
			}
			k := slices.IndexFunc(fan.Rods, func(f sternfan.Track) bool { return f.Rod == tr.Rod })
			if k < 0 {
				continue
			}
			for j := range tr.Points {
				p := &tr.Points[j]
				for _, l := range fan.Rods[k].Lures {
					if l.ID != p.ID {
						continue
					}
					d := math.Abs(p.At[len(p.At)-1][2] - l.Depth)
					worst = math.Max(worst, d/math.Max(l.Depth, 5))
					if d > math.Max(0.01*l.Depth, 0.05) {
						t.Errorf("%s %s %s: set at %.2f m, the statics say %.2f", name, tr.Rod, p.ID, p.At[len(p.At)-1][2], l.Depth)
					}
					if p.At[0][2] > -0.1 {
						t.Errorf("%s %s %s: %.2f m deep before it was set", name, tr.Rod, p.ID, p.At[0][2])
					}
				}
			}
		}
		t.Logf("%s: off by %.1e", name, worst)
	}
}

// TestClearComesIn clears every demo spread: at its end every lure is in.
func TestClearComesIn(t *testing.T) {
	for name, m := range exampletest.All(t) {
		turn := handle(t, m, manoeuvre.Event{Kind: "clear", People: 3}, 10)
		for i := range turn.Tracks {
			tr := &turn.Tracks[i]
			if tr.Stopped != nil {
				t.Errorf("%s %s: stopped at %v s", name, tr.Rod, *tr.Stopped)
			}
			for j := range tr.Points {
				if p := &tr.Points[j]; p.Lure && len(p.At) > 0 && p.At[len(p.At)-1][2] >= 0 {
					t.Errorf("%s %s %s: still %.2f m down", name, tr.Rod, p.ID, p.At[len(p.At)-1][2])
				}
			}
		}
	}
}

// TestTasks holds who does what when: each rod once, those on one side one after another,
// in the order given, clearing in the other, and no more hands than there are.
func TestTasks(t *testing.T) {
	m := exampletest.File(t, "../examples/summer.yaml")
	order := []string{"s-board", "p-board", "p-stack", "p-rigger", "chute"}
	for _, people := range []int{1, 2, 6} {
		set := handle(t, m, manoeuvre.Event{Kind: "set", Order: order, People: people}, 30)
		clear := handle(t, m, manoeuvre.Event{Kind: "clear", Order: order, People: people}, 30)
		if len(set.Tasks) != 12 || len(clear.Tasks) != 12 {
			t.Fatalf("%d and %d tasks", len(set.Tasks), len(clear.Tasks))
		}
		if people == 2 {
			// The lower rod of a stack goes out first, whatever was said.
			var got []string
			for _, x := range set.Tasks[:5] {
				got = append(got, x.Rod)
			}
			if want := []string{"s-board", "p-board", "p-rigger", "p-stack", "chute"}; !slices.Equal(got, want) {
				t.Errorf("set in the order %v", got)
			}
			if last := clear.Tasks[11].Rod; last != "s-board" {
				t.Errorf("%s cleared last", last)
			}
		}
		for _, turn := range []*sternfan.Turn{set, clear} {
			hands := min(max(people-1, 1), 3)
			for i, a := range turn.Tasks {
				at := 0
				for k, b := range turn.Tasks {
					if b.Starts <= a.Starts+1e-9 && a.Starts < b.Ends-1e-9 {
						at++
					}
					if k != i && b.Rod == a.Rod {
						t.Errorf("%s twice", a.Rod)
					}
					if k > i && b.Rod[0] == a.Rod[0] && a.Rod[0] != 'c' && b.Starts < a.Ends-1e-9 && a.Starts < b.Ends-1e-9 {
						t.Errorf("%s and %s at once on one side", a.Rod, b.Rod)
					}
				}
				if at > hands {
					t.Errorf("%d people: %d rods at once", people, at)
				}
			}
		}
	}
}

// TestSetMirrored sets the mirrored spread.
func TestSetMirrored(t *testing.T) {
	a := handle(t, twoRods(t, false), manoeuvre.Event{Kind: "set"}, 5)
	b := handle(t, twoRods(t, true), manoeuvre.Event{Kind: "set"}, 5)
	for i := range a.Tracks {
		for k := range a.Tracks[i].Points {
			p, q := a.Tracks[i].Points[k], b.Tracks[i].Points[k]
			for n := range p.At {
				if d := math.Abs(p.At[n][0]-q.At[n][0]) + math.Abs(p.At[n][1]+q.At[n][1]) + math.Abs(p.At[n][2]-q.At[n][2]); d > 1e-8 {
					t.Fatalf("%s %s at %g s: %v and %v", a.Tracks[i].Rod, p.ID, a.Boat[n].T, p.At[n], q.At[n])
				}
			}
		}
	}
	if len(a.Pairs) == 0 || len(a.Pairs) != len(b.Pairs) || math.Abs(a.Pairs[0].Ratio-b.Pairs[0].Ratio) > 1e-8 {
		t.Errorf("nearest %+v and %+v", a.Pairs, b.Pairs)
	}
}

// TestSetWhileTurning sets lines while the boat comes about: it ends on the other heading
// with the same fan.
func TestSetWhileTurning(t *testing.T) {
	m := twoRods(t, false)
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Event = &manoeuvre.Event{Kind: "set", Pay: 2 * footPerSecond, Turn: true}
	mv.Before, mv.After, mv.Angle = 10, 300, math.Pi/2
	turn, err := manoeuvre.Turn(context.Background(), m, mv, spread.Options{}, manoeuvre.TurnOptions{Every: 5})
	if err != nil {
		t.Fatal(err)
	}
	if h := turn.Boat[len(turn.Boat)-1].Heading; math.Abs(h+math.Pi/2) > 1e-6 {
		t.Errorf("heading %v", h)
	}
	straight := handle(t, m, manoeuvre.Event{Kind: "set"}, 5)
	for i := range turn.Tracks {
		p, q := &turn.Tracks[i].Points[len(turn.Tracks[i].Points)-1], &straight.Tracks[i].Points[len(straight.Tracks[i].Points)-1]
		if a, b := p.At[len(p.At)-1][2], q.At[len(q.At)-1][2]; math.Abs(a-b) > 0.005*b {
			t.Errorf("%s: %.3f m deep, set straight on %.3f", turn.Tracks[i].Rod, a, b)
		}
	}
}

// TestSetCancels ends at once when told to.
func TestSetCancels(t *testing.T) {
	m := exampletest.File(t, "../examples/summer.yaml")
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Event = &manoeuvre.Event{Kind: "set", Pay: 2 * footPerSecond}
	ctx, cancel := context.WithCancel(context.Background())
	steps, last := 0, 0
	_, err := manoeuvre.Turn(ctx, m, mv, spread.Options{}, manoeuvre.TurnOptions{Every: 5, Step: func(done, of int) {
		if steps++; steps == 20 {
			cancel()
		}
		if done < last || done > of {
			t.Errorf("%d of %d after %d", done, of, last)
		}
		last = done
	}})
	if err == nil || steps > 21 {
		t.Errorf("%v after %d steps", err, steps)
	}
}
