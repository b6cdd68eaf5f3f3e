package spread_test

import (
	"context"
	"testing"

	"sternfan/internal/exampletest"
	"sternfan/spread"
)

// Every rod of the demos has paths, and on each the lure goes down as line, cable or lead
// goes out, until it only trails behind.
func TestPathsOfEveryRod(t *testing.T) {
	for _, file := range []string{"summer", "spring", "deep"} {
		m := exampletest.Load(t, file)
		for _, r := range m.Scenario.Rods {
			p, err := spread.Paths(context.Background(), m, r.ID, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, path := range p.Paths {
				if len(path.Ticks) < 4 {
					t.Errorf("%s %s, %s: %d ticks", file, r.ID, path.Label, len(path.Ticks))
					continue
				}
				// In sheared water a long line may rise a little as more goes out.
				a, b := path.Ticks[0].Depth, path.Ticks[len(path.Ticks)-1].Depth
				if !(b > a+.5) {
					t.Errorf("%s %s, %s: from %.2f to %.2f m", file, r.ID, path.Label, a, b)
				}
			}
		}
	}
}
