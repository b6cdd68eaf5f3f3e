//go:build !js

package spread_test

import (
	"context"
	"testing"

	"sternfan/spread"
)

// TestIntervalsHold draws 4,000 worlds from the registry with one seed for every demo
// rig: the stated 80 % interval of every depth must hold 78 to 82 % of them.
func TestIntervalsHold(t *testing.T) {
	for name, m := range examples(t) {
		s := spread.New(m, spread.Options{Intervals: true})
		if _, err := s.Fan(context.Background()); err != nil {
			t.Fatal(err)
		}
		for gi := range m.Groups {
			lo, hi := s.Bands(gi)
			in := make([]int, len(lo))
			lost, n := 0, 4000
			err := s.Worlds(context.Background(), gi, n, 20260101, func(d []float64) {
				if d == nil {
					lost++
					return
				}
				for i := range d {
					if d[i] >= lo[i] && d[i] <= hi[i] {
						in[i]++
					}
				}
			})
			if err != nil {
				t.Fatal(err)
			}
			// A world that finds no rest counts as outside; more than 1 in 1,000 is a fault.
			if lost > n/1000 {
				t.Errorf("%s group %d: %d of %d worlds did not converge", name, gi, lost, n)
			}
			for i, ref := range m.Groups[gi].Nodes {
				if ref.Kind == "" || ref.Kind == "tip" || s.Floating(gi, i) || hi[i] < 0 {
					continue // a point on the boat or in the air; a board, whose depth is its freeboard
				}
				share := float64(in[i]) / float64(n)
				label := "device"
				if ref.Rod >= 0 {
					label = "rod " + m.Scenario.Rods[ref.Rod].ID
				}
				if share < 0.78 || share > 0.82 {
					t.Errorf("%s %s %s: %.1f %% of worlds inside %.2f to %.2f m", name, label, ref.ID, 100*share, lo[i], hi[i])
				}
			}
		}
	}
}
