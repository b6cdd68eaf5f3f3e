package spread_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"sternfan"
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
	a, b := parse(t, "a", []byte(at(40, 2, 2.4))), parse(t, "b", []byte(at(700, 2, 2.4)))
	w, ok := spread.NewSweep(a, b, 0, 40, 700, spread.Options{})
	if !ok {
		t.Fatal("two line outs are not one sweep")
	}
	ctx := context.Background()
	for _, c := range []struct{ out, dial, mph float64 }{{40, 2, 2.4}, {120, 2, 2.4}, {120, 0, 2.4}, {300, 3.5, 2.4}, {300, 1.5, 2.0}, {90, 4, 3.1}, {700, 0, 2.4}, {60, 1, 2.4}} {
		w.Dial(c.dial)
		got := w.At(ctx, c.out, c.mph*.44704)
		fan, err := spread.Solve(ctx, parse(t, "c", []byte(at(c.out, c.dial, c.mph))), spread.Options{})
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
	c := parse(t, "c", []byte(replaceAll(string(data), map[string]string{"        - {snubber: snubber-12in}\n": ""})))
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
