//go:build !js

package spread_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

// TestDefaultToleranceHolds asks every rod of the demo scenarios, slow, as given and fast, for
// depths within a thousandth of its deepest point's, against a solution at 1e-8.
func TestDefaultToleranceHolds(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	worst, where := 0.0, ""
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, set := range [][]string{nil, {"speed.value=1.6mph"}, {"speed.value=3.2mph"}} {
			sc, _, err := scenario.DecodeWith(file, data, scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set})
			if err != nil {
				t.Fatal(err)
			}
			m, faults := tackle.Resolve(sc)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			quick, err := spread.Solve(context.Background(), m, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			exact, err := spread.Solve(context.Background(), m, spread.Options{Tolerance: 1e-8})
			if err != nil {
				t.Fatal(err)
			}
			for i, r := range exact.Rods {
				got, want := places(&quick.Rods[i]), places(&r)
				deepest := 0.1
				for _, z := range want {
					deepest = math.Max(deepest, z)
				}
				for k, z := range want {
					d := math.Abs(got[k]-z) / deepest
					if d > 1e-3 {
						t.Errorf("%s %v %s: %.4f m, %.4f m at 1e-8: off by %.1e", file, set, r.Rod, got[k], z, d)
					}
					if d > worst {
						worst, where = d, file+" "+r.Rod
					}
				}
			}
		}
	}
	t.Logf("worst %.1e in %s", worst, where)
}

// places returns the depths of a rod's lures and bodies.
func places(r *sternfan.Track) []float64 {
	var z []float64
	for _, l := range r.Lures {
		z = append(z, l.Depth)
	}
	for _, b := range r.Bodies {
		z = append(z, b.Depth)
	}
	return z
}
