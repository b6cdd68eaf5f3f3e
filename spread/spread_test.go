package spread_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

// examples returns every demo scenario, resolved.
func examples(t testing.TB) map[string]*tackle.Model {
	t.Helper()
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	out := map[string]*tackle.Model{}
	for _, f := range files {
		out[strings.TrimSuffix(filepath.Base(f), ".yaml")] = load(t, f)
	}
	return out
}

func load(t testing.TB, file string) *tackle.Model {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return parse(t, file, data)
}

func parse(t testing.TB, name string, data []byte) *tackle.Model {
	t.Helper()
	sc, _, err := scenario.DecodeWith(name, data, scenario.Options{Known: func(list, id string) bool { return tackle.Known(strings.TrimSuffix(list, "s"), id) }})
	if err != nil {
		t.Fatal(err)
	}
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return m
}

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
			if testing.Short() {
				n = 500
			}
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

// TestExamplesRun solves every demo scenario and asks for an answer from every rod.
func TestExamplesRun(t *testing.T) {
	for name, m := range examples(t) {
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
