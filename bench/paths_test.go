package bench_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"sternfan"
	"sternfan/bench"
	"sternfan/setting"
	"sternfan/spread"
	"sternfan/unit"
)

// count returns the setting by which line goes out of a rod and what it is, m.
func count(sc *sternfan.Scenario, rod int) (id string, now float64) {
	r := &sc.Rods[rod]
	for _, d := range sc.Downriggers {
		if d.ID == r.Device() {
			return "cable_out", d.CableOut.SI()
		}
	}
	switch {
	case r.Settings.Colors.Given:
		return "colors", r.Settings.Colors.SI() * float64(unit.Color)
	case r.Device() != "" || r.Rig.Board != "":
		return "lead", r.Settings.Lead.SI()
	}
	return "line_out", r.Settings.LineOut.SI()
}

// Every rod of the demos has paths, and on each the lure goes down as line, cable or lead
// goes out, until it only trails behind. Where a count cannot be fished the tick says why.
// The whole boat with the count of the tick nearest to the rod's own has the lure there.
func TestPathsOfEveryRod(t *testing.T) {
	for _, name := range examples {
		sc := load(t, name)
		b := bench.New(sc, resolve(t, sc), spread.Options{})
		for i := range sc.Rods {
			r := &sc.Rods[i]
			p, err := b.Paths(context.Background(), r.ID, false)
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, path := range p.Paths {
				runs := checkTicks(t, name+" "+r.ID+", "+path.Label, path.Ticks)
				if len(runs) > 0 && (!r.Settings.Dial.Given || path.Mark == r.Settings.Dial.Value) {
					found = true
					checkNearest(t, name, sc, i, runs)
				}
			}
			if !found {
				t.Errorf("%s %s: no path as it is set", name, r.ID)
			}
		}
	}
}

func checkTicks(t *testing.T, who string, ticks []sternfan.PathTick) (runs []sternfan.PathTick) {
	t.Helper()
	for _, k := range ticks {
		told := k.Status == sternfan.StatusRefused || k.Status == sternfan.StatusNotConverged
		if told != (k.Why != "") {
			t.Errorf("%s at %.1f m: %s, %q", who, k.Count, k.Status, k.Why)
		}
		if !told {
			runs = append(runs, k)
		}
	}
	if len(runs) < 4 {
		t.Errorf("%s: %d ticks", who, len(runs))
		return nil
	}
	// In sheared water a long line may rise a little as more goes out.
	if a, b := runs[0].Depth, runs[len(runs)-1].Depth; !(b > a+.5) {
		t.Errorf("%s: from %.2f to %.2f m", who, a, b)
	}
	return runs
}

func checkNearest(t *testing.T, name string, sc *sternfan.Scenario, rod int, runs []sternfan.PathTick) {
	t.Helper()
	id, now := count(sc, rod)
	near := runs[0]
	for _, k := range runs {
		if math.Abs(k.Count-now) < math.Abs(near.Count-now) {
			near = k
		}
	}
	as := *sc
	as.Rods, as.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	if id == "colors" {
		if math.Abs(near.Count-now) > 1e-9 {
			t.Fatalf("%s %s: no tick at its whole colors", name, sc.Rods[rod].ID)
		}
	} else {
		row, _ := setting.Find(id)
		row.Set(setting.Of(&as, &as.Rods[rod]), setting.Value{Given: true, Number: near.Count})
	}
	fan, err := spread.Solve(context.Background(), resolve(t, &as), spread.Options{})
	if err != nil {
		t.Fatal(err)
	}
	track := &fan.Rods[rod]
	lure := &track.Lures[len(track.Lures)-1]
	if !same(near.Depth, lure.Depth) || !same(near.Side, lure.Side) || !same(near.Astern, lure.Astern) || !same(near.TipPull, track.TipPull) || near.Status != track.Status {
		t.Errorf("%s %s at %.1f m: %.5f m down, %s, in the boat %.5f m, %s", name, track.Rod, near.Count, near.Depth, near.Status, lure.Depth, track.Status)
	}
}
