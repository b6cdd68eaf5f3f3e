package bench_test

import (
	"context"
	"testing"

	"sternfan"
	"sternfan/bench"
	"sternfan/spread"
	"sternfan/unit"
)

// In a row every rod that has its device to itself runs as in the whole boat, and one that
// cannot be set as it is asked is left out without harm to the others.
func TestRow(t *testing.T) {
	ctx := context.Background()
	for _, name := range examples {
		for how, sc := range withProbes(load(t, name)) {
			whole, err := spread.Solve(ctx, resolve(t, sc), spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			mates := map[string]int{}
			var ask []bench.Trial
			for _, r := range sc.Rods {
				mates[r.Device()]++
				ask = append(ask, bench.Trial{Rod: r, Source: r.ID})
			}
			last := sc.Rods[len(sc.Rods)-1]
			last.Settings.LineOut, last.Settings.Lead = sternfan.Of(unit.Length(-1)), sternfan.Of(unit.Length(-1))
			last.Settings.AboveBall = sternfan.Of(1000 * unit.Foot)
			ask = append(ask, bench.Trial{Rod: last, Source: last.ID})
			m, rods, err := bench.New(sc, nil, spread.Options{}).Row(ctx, ask)
			if err != nil {
				t.Fatal(err)
			}
			fan, err := spread.Solve(ctx, m, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(rods) != len(ask) || rods[len(rods)-1] != -1 {
				t.Fatalf("%s, %s: the trials are rods %d", name, how, rods)
			}
			for i, r := range sc.Rods {
				if r.Device() != "" && mates[r.Device()] > 1 {
					continue
				}
				is, want := &fan.Rods[rods[i]], &whole.Rods[i]
				if len(is.Lures) != len(want.Lures) || !same(is.Lures[0].Depth, want.Lures[0].Depth) || !same(is.Lures[0].Side, want.Lures[0].Side) || !same(is.TipPull, want.TipPull) {
					t.Errorf("%s, %s, %s: %+v, in the boat %+v", name, how, r.ID, is.Lures, want.Lures)
				}
			}
		}
	}
}

// A trial's cable is let out for it alone.
func TestRowsCables(t *testing.T) {
	ctx := context.Background()
	sc := load(t, "laketrout")
	r := sc.Rods[1]
	var ask []bench.Trial
	for _, cable := range []float64{0, 10, 20} {
		ask = append(ask, bench.Trial{Rod: r, Source: r.ID, Cable: cable})
	}
	m, rods, err := bench.New(sc, nil, spread.Options{}).Row(ctx, ask)
	if err != nil {
		t.Fatal(err)
	}
	row, err := spread.Solve(ctx, m, spread.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range ask {
		as := *sc
		as.Downriggers = append([]sternfan.Downrigger(nil), sc.Downriggers...)
		if a.Cable > 0 {
			as.Downriggers[1].CableOut.Value = unit.Length(a.Cable)
		}
		fan, err := spread.Solve(ctx, resolve(t, &as), spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if is, want := row.Rods[rods[i]].Lures[0].Depth, fan.Rods[1].Lures[0].Depth; !same(is, want) {
			t.Errorf("%g m of cable: %.4f m down, in the boat %.4f", a.Cable, is, want)
		}
	}
}
