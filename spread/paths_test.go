package spread_test

import (
	"context"
	"testing"

	"sternfan"
	"sternfan/internal/exampletest"
	"sternfan/spread"
)

// Every rod of the demos has paths, and on each the lure goes down as line, cable or lead
// goes out, until it only trails behind. Where a count cannot be fished the tick says why.
func TestPathsOfEveryRod(t *testing.T) {
	for _, file := range []string{"class", "summer", "spring", "deep", "laketrout"} {
		m := exampletest.Load(t, file)
		for _, r := range m.Scenario.Rods {
			p, err := spread.Paths(context.Background(), m, r.ID, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, path := range p.Paths {
				var runs []sternfan.PathTick
				for _, k := range path.Ticks {
					told := k.Status == sternfan.StatusRefused || k.Status == sternfan.StatusNotConverged
					if told != (k.Why != "") {
						t.Errorf("%s %s, %s at %.1f m: %s, %q", file, r.ID, path.Label, k.Count, k.Status, k.Why)
					}
					if !told {
						runs = append(runs, k)
					}
				}
				if len(runs) < 4 {
					t.Errorf("%s %s, %s: %d ticks", file, r.ID, path.Label, len(runs))
					continue
				}
				// In sheared water a long line may rise a little as more goes out.
				if a, b := runs[0].Depth, runs[len(runs)-1].Depth; !(b > a+.5) {
					t.Errorf("%s %s, %s: from %.2f to %.2f m", file, r.ID, path.Label, a, b)
				}
			}
		}
	}
}
