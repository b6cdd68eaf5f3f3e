package spread_test

import (
	"sternfan/internal/exampletest"

	"context"
	"math"
	"testing"

	"sternfan"
	"sternfan/spread"
)

// TestExamplesRun solves every demo scenario and asks for an answer from every rod.
func TestExamplesRun(t *testing.T) {
	for name, m := range exampletest.All(t) {
		fan, err := spread.Solve(context.Background(), m, spread.Options{Intervals: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range fan.Rods {
			if r.Status == sternfan.StatusNotConverged || r.Status == sternfan.StatusRefused {
				t.Errorf("%s rod %s: %s %v", name, r.Rod, r.Status, r.Warnings)
				continue
			}
			if len(r.Lures) == 0 {
				t.Errorf("%s rod %s has no lure", name, r.Rod)
			}
			for _, l := range r.Lures {
				t.Logf("%s %s %s: %.1f ft (%.1f-%.1f) side %.1f astern %.1f ft, tip %.1f N, %s", name, r.Rod, l.ID,
					l.Depth/.3048, l.DepthLo/.3048, l.DepthHi/.3048, l.Side/.3048, l.Astern/.3048, r.TipPull, r.Status)
				if math.IsNaN(l.Depth) || l.DepthLo > l.Depth || l.DepthHi < l.Depth {
					t.Errorf("%s rod %s: depth %v interval %v to %v", name, r.Rod, l.Depth, l.DepthLo, l.DepthHi)
				}
			}
			for _, w := range r.Warnings {
				t.Logf("    %s: %s; %s", w.Code, w.Text, w.Hint)
			}
		}
	}
}
