//go:build !js

package spread_test

import (
	"sternfan/internal/exampletest"

	"context"
	"testing"

	"sternfan"
	"sternfan/internal/tier"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// TestIntervalsHold draws 4,000 worlds from the registry with one seed for every demo
// rig: the stated 80 % interval of every depth must hold 78 to 82 % of them.
//
// The bound is that for the 4,000 of make deep. Where fewer are drawn it is wider by three
// deviations of what sampling adds: 0.0141 for 800 worlds, 0.0063 for 4,000.
func TestIntervalsHold(t *testing.T) {
	off := tier.Count(0.043, 0.02, 0.02)
	for name, m := range exampletest.All(t) {
		s := spread.New(m, spread.Options{Intervals: true})
		if _, err := s.Fan(context.Background()); err != nil {
			t.Fatal(err)
		}
		for gi := range m.Groups {
			lo, hi := s.Bands(gi)
			in := make([]int, len(lo))
			lost, n := 0, tier.Count(800, 4000, 40000)
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
				if share < 0.80-off || share > 0.80+off {
					t.Errorf("%s %s %s: %.1f %% of worlds inside %.2f to %.2f m", name, label, ref.ID, 100*share, lo[i], hi[i])
				}
			}
		}
	}
}

// TestFloatsKeepTheirPlace asks every demo spread for its intervals at speeds from 1.5 to 3
// mph: a board on the surface stays within half a foot of its depth, and nothing is told to
// run more than a meter below the bottom, of which the depth is an entry of the registry, too.
func TestFloatsKeepTheirPlace(t *testing.T) {
	boards := 0
	for name, m := range exampletest.All(t) {
		bottom := m.Scenario.Water.Bottom
		for v := 1.5; v <= 3; v += 0.05 {
			sc := *m.Scenario
			sc.Speed.Value = sternfan.Of(unit.Speed(v * 0.44704))
			model, faults := tackle.Resolve(&sc)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			s := spread.New(model, spread.Options{Intervals: true})
			if _, err := s.Fan(context.Background()); err != nil {
				t.Fatal(err)
			}
			for gi := range model.Groups {
				lo, hi := s.Bands(gi)
				for i := range lo {
					ref := &model.Groups[gi].Nodes[i]
					if floats := s.Floating(gi, i); floats && hi[i] < 1 {
						boards++
						if hi[i]-lo[i] > 0.15 {
							t.Errorf("%s, %.2f mph: %s floats at %.2f to %.2f m", name, v, ref.ID, lo[i], hi[i])
						}
					} else if floats && lo[i] < 0.1 && hi[i] > 2 {
						t.Errorf("%s, %.2f mph: %s floats at %.2f to %.2f m", name, v, ref.ID, lo[i], hi[i])
					}
					if bottom.Given && hi[i] > bottom.SI()+1 {
						t.Errorf("%s, %.2f mph: %s runs to %.2f m in %.2f m of water", name, v, ref.ID, hi[i], bottom.SI())
					}
				}
			}
		}
	}
	if boards < 100 {
		t.Errorf("%d boards", boards)
	}
}
