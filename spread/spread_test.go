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
