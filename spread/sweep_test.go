package spread_test

import (
	"sternfan/internal/exampletest"

	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/spread"
)

// A sweep between two settings, its dial turned and its speed changed, runs the lure where
// a scenario with those very settings does, and finds the same limits.
func TestSweep(t *testing.T) {
	data, err := os.ReadFile("../examples/class.yaml")
	if err != nil {
		t.Fatal(err)
	}
	at := func(out, dial, mph float64) string {
		return replaceAll(string(data), map[string]string{
			"line_out: 150 ft": fmt.Sprintf("line_out: %g ft", out), "dial: 2": fmt.Sprintf("dial: %g", dial), "value: 2.4 mph": fmt.Sprintf("value: %g mph", mph)})
	}
	a, b := exampletest.Parse(t, "a", []byte(at(40, 2, 2.4))), exampletest.Parse(t, "b", []byte(at(700, 2, 2.4)))
	w, ok := spread.NewSweep(a, b, 0, 40, 700, spread.Options{})
	if !ok {
		t.Fatal("two line outs are not one sweep")
	}
	ctx := context.Background()
	for _, c := range []struct{ out, dial, mph float64 }{{40, 2, 2.4}, {120, 2, 2.4}, {120, 0, 2.4}, {300, 3.5, 2.4}, {300, 1.5, 2.0}, {90, 4, 3.1}, {700, 0, 2.4}, {60, 1, 2.4}} {
		w.Dial(c.dial)
		got := w.At(ctx, c.out, c.mph*.44704)
		fan, err := spread.Solve(ctx, exampletest.Parse(t, "c", []byte(at(c.out, c.dial, c.mph))), spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		want := &fan.Rods[0]
		// Two solutions, each within the default tolerance of 0.1 % of depth.
		if l := want.Lures[0]; math.Abs(got.Lures[0].Z-l.Depth) > .002*l.Depth || math.Abs(got.Lures[0].Y-l.Side) > .05 || math.Abs(got.TipPull-want.TipPull) > .01*want.TipPull {
			t.Errorf("%+v: %v with %.2f N, want depth %.3f side %.3f with %.2f N", c, got.Lures, got.TipPull, l.Depth, l.Side, want.TipPull)
		}
		if (got.Limit == spread.LimitBottom) != (want.Status == sternfan.StatusBottom) || (got.Limit == spread.LimitNone) != (want.Status == sternfan.StatusOK) {
			t.Errorf("%+v: limit %q, status %s", c, got.Limit, want.Status)
		}
	}
	if from, to := w.Ends(); from != 40 || to != 700 || math.Abs(w.Speed()-2.4*.44704) > 1e-9 {
		t.Errorf("from %g to %g at %g m/s", from, to, w.Speed())
	}
	// What is tied on otherwise is no sweep.
	c := exampletest.Parse(t, "c", []byte(replaceAll(string(data), map[string]string{"        - {snubber: snubber-12in}\n": ""})))
	if _, ok := spread.NewSweep(a, c, 0, 0, 1, spread.Options{}); ok {
		t.Error("a snubber more or less went unnoticed")
	}
}

func replaceAll(s string, with map[string]string) string {
	for old, now := range with {
		s = strings.Replace(s, old, now, 1)
	}
	return s
}

// A sweep that goes on from another answers as one of its own; what a further setting adds
// to the lengths is the sum; and a standing sweep's other speeds are told of boards and of
// coupled rods as they are solved.
func TestSweepGoesOn(t *testing.T) {
	data, err := os.ReadFile("../examples/class.yaml")
	if err != nil {
		t.Fatal(err)
	}
	at := func(out float64) string {
		return strings.Replace(string(data), "line_out: 150 ft", fmt.Sprintf("line_out: %g ft", out), 1)
	}
	ctx := context.Background()
	a, b := exampletest.Parse(t, "a", []byte(at(40))), exampletest.Parse(t, "b", []byte(at(700)))
	first, _ := spread.NewSweep(a, b, 0, 40, 700, spread.Options{})
	second, _ := spread.NewSweep(a, b, 0, 40, 700, spread.Options{})
	if second.GoOn(first) {
		t.Error("goes on from a sweep that has solved nothing")
	}
	want := first.At(ctx, 200, 0).Lures[0]
	if !second.GoOn(first) {
		t.Fatal("does not go on")
	}
	if got := second.At(ctx, 200, 0).Lures[0]; got.Sub(want).Norm() > 1e-3*want.Z {
		t.Errorf("%v and %v", got, want)
	}
	other, ok := second.Lengths(exampletest.Parse(t, "c", []byte(at(100))))
	if !ok {
		t.Fatal("no lengths")
	}
	second.Shift(other, .5)
	if got := second.At(ctx, 170, 0).Lures[0]; got.Sub(want).Norm() > 1e-3*want.Z {
		t.Errorf("shifted %v, want %v", got, want)
	}
	if same, _ := second.Lengths(b); !second.Square(other, same) == second.Square(other, other) {
		t.Error("square")
	}
}

func TestSweepStands(t *testing.T) {
	m := exampletest.File(t, "../examples/summer.yaml")
	ctx := context.Background()
	for rod := range m.Rods {
		if m.Rods[rod].Group < 0 {
			continue
		}
		s := spread.New(m, spread.Options{})
		fan, err := s.Fan(ctx)
		if err != nil {
			t.Fatal(err)
		}
		w := spread.NewStanding(s, rod)
		if here := w.Here(); here.Lures[0].Z != fan.Rods[rod].Lures[0].Depth || (here.Limit == spread.LimitNone) != (fan.Rods[rod].Status == sternfan.StatusOK) {
			t.Errorf("%s: %v, %s; the fan has %g, %s", fan.Rods[rod].Rod, here.Lures, here.Limit, fan.Rods[rod].Lures[0].Depth, fan.Rods[rod].Status)
		}
		v := w.Speed() * 1.08
		solved := append([]geom.Vec(nil), w.At(ctx, 0, v).Lures...)
		pull := w.At(ctx, 0, v).TipPull
		w.At(ctx, 0, w.Speed())
		w.Nigh(true)
		told := w.At(ctx, 0, v)
		for i := range solved {
			if d := told.Lures[i].Sub(solved[i]).Norm(); d > 4e-3*solved[i].Z+.01 {
				t.Errorf("%s at %.3f m/s: told (%v) %v, solved %v", fan.Rods[rod].Rod, v, w.Told(), told.Lures[i], solved[i])
			}
		}
		if math.Abs(told.TipPull-pull) > .02*pull+.05 {
			t.Errorf("%s: pull %.2f N, told %.2f", fan.Rods[rod].Rod, pull, told.TipPull)
		}
	}
}
