package lay

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"testing"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/internal/tier"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

func read(t testing.TB, file string) *sternfan.Scenario {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return parse(t, file, data)
}

func parse(t testing.TB, name string, data []byte) *sternfan.Scenario {
	t.Helper()
	sc, _, err := scenario.DecodeWith(name, data, scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		t.Fatal(err)
	}
	return sc
}

func plan(t testing.TB, sc *sternfan.Scenario, opt Options) *sternfan.Layout {
	t.Helper()
	l, err := Plan(context.Background(), sc, opt)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// keepsTheRules solves a plan's scenario anew, as the program that reads it back does, and
// holds it against every hard rule.
func keepsTheRules(t *testing.T, sc *sternfan.Scenario, p *sternfan.Plan) {
	t.Helper()
	data, err := scenario.Encode(p.Scenario)
	if err != nil {
		t.Fatal(err)
	}
	back := parse(t, "plan", data)
	m, faults := tackle.Resolve(back)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	fan, err := spread.Solve(context.Background(), m, spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	holders, lures := map[string]bool{}, 0
	used := map[string]int{}
	for i := range back.Rods {
		r, track := &back.Rods[i], &fan.Rods[i]
		if b := breachOf(track); b != 0 {
			t.Errorf("rod %s breaks a rule: %s %v", r.ID, track.Status, track.Warnings)
		}
		if holders[r.Holder] {
			t.Errorf("two rods in holder %s", r.Holder)
		}
		holders[r.Holder] = true
		lures += len(track.Lures)
		for _, part := range m.Scenario.Rods[i].Rig.Parts {
			used[part.Gear]++
		}
	}
	if n := sc.Wants.Caps.Lines; n > 0 && len(back.Rods) > n {
		t.Errorf("%d lines of %d", len(back.Rods), n)
	}
	if n := sc.Wants.Caps.Lures; n > 0 && lures > n {
		t.Errorf("%d lures of %d", lures, n)
	}
	for _, h := range sc.Wants.Lay.Have {
		if used[h.Gear] > h.Count {
			t.Errorf("%d of %s, there are %d", used[h.Gear], h.Gear, h.Count)
		}
	}
	for _, r := range sc.Rods {
		if !r.Fixed {
			continue
		}
		k := slices.IndexFunc(back.Rods, func(x sternfan.Rod) bool { return x.ID == r.ID })
		if k < 0 || back.Rods[k].Holder != r.Holder || back.Rods[k].Settings.LineOut.Value != r.Settings.LineOut.Value || back.Rods[k].Settings.Dial.Value != r.Settings.Dial.Value {
			t.Errorf("fixed rod %s was moved or left out", r.ID)
		}
	}
	if len(back.Rods) < sc.Wants.Lay.Lines {
		t.Errorf("%d lines of %d at least", len(back.Rods), sc.Wants.Lay.Lines)
	}
	for b, band := range p.Bands {
		least, in := sc.Wants.Bands[b].Least, 0
		pl := &planner{sc: sc, bands: []sternfan.ProposedBand{{Band: sc.Wants.Bands[b]}}}
		for i := range fan.Rods {
			for _, l := range fan.Rods[i].Lures {
				if pl.fit(0, &berth{geom.Vec{Z: l.Depth}, l.DepthLo, l.DepthHi}) >= fitEnough-1e-3 {
					in++
				}
			}
		}
		if in < least {
			t.Errorf("%d lures of %d at least from %.1f to %.1f m", in, least, band.From, band.To)
		}
	}
	for _, g := range clearance.Clearances(m.Scenario, fan, clearance.MarginsOf(&sc.Wants)) {
		if g.Ratio < 1 {
			t.Errorf("%s and %s keep %.3f of the margin", g.A, g.B, g.Ratio)
		}
	}
	if p.Score < 0 || p.Score > 1 {
		t.Errorf("score %g", p.Score)
	}
}

var wishes = flag.Uint64("wishes", 24, "random wishes that plans are held to the hard rules for")

// Random wishes on a boat of five rods, with the real engine: no plan breaks a hard rule.
func TestPlansKeepTheHardRules(t *testing.T) {
	tier.Native(t)
	cases := *wishes
	if runtime.GOARCH == "wasm" {
		cases = min(cases, 8) // several times as slow there: that it comes to the same
	}
	for seed := range cases {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(seed, 11))
			sc := read(t, "testdata/five.yaml")
			sc.Wants.Horizontal.Value = unit.Length((5 + 20*rng.Float64()) * foot)
			sc.Wants.Vertical.Value = unit.Length((2 + 10*rng.Float64()) * foot)
			sc.Water.Bottom.Value = unit.Length((70 + 100*rng.Float64()) * foot)
			if rng.IntN(2) == 0 {
				sc.Wants.Caps.Lines = 2 + rng.IntN(4)
			}
			if rng.IntN(2) == 0 {
				sc.Wants.Caps.Lures = 2 + rng.IntN(4)
			}
			if rng.IntN(2) == 0 {
				sc.Wants.Lay.Have = []sternfan.Stock{{Gear: "diver-large", Count: rng.IntN(3)}, {Gear: "flasher-8in", Count: 1}}
			}
			if rng.IntN(4) == 0 {
				sc.Wants.Lay.Lines = 1 + rng.IntN(5)
			}
			if rng.IntN(3) == 0 {
				sc.Wants.Bands[rng.IntN(3)].Least = 1 + rng.IntN(2)
			}
			fix := rng.IntN(5)
			sc.Rods[fix].Fixed = rng.IntN(2) == 0
			if rng.IntN(4) == 0 {
				sc.Wants.Lay.Turns = bothWays(40 + 60*rng.Float64())[rng.IntN(2):]
			}
			if rng.IntN(3) == 0 {
				sc.Boat.Kickers = []sternfan.Kicker{{At: geom.Vec{X: -0.3, Y: 1.6*rng.Float64() - 0.8}}}
				sc.Boat.SpeedBags = []sternfan.SpeedBag{{At: geom.Vec{X: 1 + 3*rng.Float64(), Y: 1.5, Z: -0.6}}}
			}
			l := plan(t, sc, Options{Top: 2, Seed: seed, Rounds: 30})
			for i := range l.Plans {
				keepsTheRules(t, sc, &l.Plans[i])
			}
			if len(l.Plans) == 0 && len(l.Conflict) == 0 {
				t.Error("neither a plan nor a conflict")
			}
			if len(l.Plans) > 0 && l.Plans[0].Score > l.Bound+1e-9 {
				t.Errorf("score %g over the bound %g", l.Plans[0].Score, l.Bound)
			}
		})
	}
}

// Twelve rods over a thermocline, in a sheared current, with sliders and a stacked cable.
func TestPlanOfTheDemonstration(t *testing.T) {
	tier.Native(t)
	sc := read(t, "../examples/summer.yaml")
	rounds := standardRounds
	if runtime.GOARCH == "wasm" {
		rounds /= 6 // several times as slow there
	}
	l := plan(t, sc, Options{Top: 2, Seed: 1, Rounds: rounds})
	if len(l.Plans) != 2 || len(l.Plans[0].Rods) < 9 {
		t.Fatalf("%d plans, %d rods", len(l.Plans), len(l.Plans[0].Rods))
	}
	for i := range l.Plans {
		keepsTheRules(t, sc, &l.Plans[i])
	}
	a, b := &l.Plans[0], &l.Plans[1]
	if a.Score < b.Score {
		t.Error("plans are not best first")
	}
	unlike := 0
	for _, r := range a.Rods {
		if !slices.ContainsFunc(b.Rods, func(q sternfan.Placed) bool { return q.Holder == r.Holder && q.Rod == r.Rod && q.Band == r.Band }) {
			unlike++
		}
	}
	if unlike < 2 {
		t.Errorf("the second plan differs in %d rods", unlike)
	}
	for _, p := range l.Plans {
		for _, r := range p.Rods {
			if len(r.Why) == 0 {
				t.Errorf("rod %s has no reason", r.Rod)
			}
		}
		if len(p.Set) != len(p.Rods) || len(p.Clear) != len(p.Rods) || p.SetTime <= 0 || p.Nearest == nil || p.Nearest.Ratio < 1 || len(p.Speed) < len(p.Rods) {
			t.Errorf("%d rods, %d steps to set, %d to clear, %g minutes, nearest %v", len(p.Rods), len(p.Set), len(p.Clear), p.SetTime, p.Nearest)
		}
	}
}

// Who fishes for lake trout over warm surface water is told what becomes of released ones,
// also where the file says which depths are wanted.
func TestReleaseIsCautioned(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	told := func() int {
		n := 0
		for _, w := range plan(t, sc, Options{Seed: 1, Rounds: 5}).Warnings {
			if w.Code == "release" {
				n++
			}
		}
		return n
	}
	if told() != 0 {
		t.Error("nobody fishes for lake trout")
	}
	sc.Wants.Species = []sternfan.Species{{Name: "lake trout"}}
	if n := told(); n != 1 {
		t.Errorf("told %d times", n)
	}
}

func TestSameSeedSamePlan(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	a, b := plan(t, sc, Options{Seed: 5, Rounds: 20}), plan(t, sc, Options{Seed: 5, Rounds: 20})
	one, err := scenario.Encode(a.Plans[0].Scenario)
	if err != nil {
		t.Fatal(err)
	}
	two, err := scenario.Encode(b.Plans[0].Scenario)
	if err != nil {
		t.Fatal(err)
	}
	if string(one) != string(two) || a.Plans[0].Score != b.Plans[0].Score {
		t.Error("the same seed gave two plans")
	}
}

func TestStoppedEarlyGivesTheBestSoFar(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	l, err := Plan(ctx, read(t, "testdata/five.yaml"), Options{Seed: 1, Top: 3, Progress: func(what string, part, best float64) {
		if part > 0.4 {
			cancel()
		}
	}})
	if err != nil || len(l.Plans) != 1 || l.Finished {
		t.Fatalf("%v, %d plans, finished %v", err, len(l.Plans), l.Finished)
	}
	cancel()
	if _, err := Plan(ctx, read(t, "testdata/five.yaml"), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("ended before there was a plan: %v", err)
	}
}

// Fish look up: as far below a band as above it is worse, and by the factor asked for.
func TestTooDeepCostsMore(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	pl := &planner{sc: sc, bands: []sternfan.ProposedBand{{Band: sternfan.Band{From: 20, To: 30}}}}
	for _, d := range []float64{1.5, 2, 3} {
		up, down := pl.fitAt(0, 20-d), pl.fitAt(0, 30+d)
		if !(down < up) {
			t.Errorf("%g m above the band counts %g, below it %g", d, up, down)
		}
	}
	if pl.fitAt(0, 20) != 1 || pl.fitAt(0, 19.5) != 1 || pl.fitAt(0, 25) != 1 || math.Abs(pl.fitAt(0, 30)-lowerEdge) > 1e-12 {
		t.Error("the band itself")
	}
	slope := func(worse float64) float64 {
		sc.Wants.Lay.LookUp = sternfan.Of(worse)
		return pl.fitAt(0, 30.5) - pl.fitAt(0, 31)
	}
	if math.Abs(slope(4)/slope(2)-2) > 1e-9 {
		t.Error("look_up does not scale what lies too deep")
	}
}

// Rules that cannot be kept together: the set named is the one that was set up, and no
// rule too many.
func TestConflicts(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(sc *sternfan.Scenario)
		want []string
	}{
		{"more lines than rods", func(sc *sternfan.Scenario) { sc.Wants.Lay.Lines = 6 }, []string{"least-lines"}},
		{"more lines than the cap", func(sc *sternfan.Scenario) { sc.Wants.Lay.Lines, sc.Wants.Caps.Lines = 4, 3 }, []string{"cap-lines", "least-lines"}},
		{"two fixed rods, one line allowed", func(sc *sternfan.Scenario) {
			sc.Rods[0].Fixed, sc.Rods[4].Fixed, sc.Wants.Caps.Lines = true, true, 1
		}, []string{"cap-lines", "fixed", "fixed"}},
		{"a fixed rod on the bottom", func(sc *sternfan.Scenario) {
			sc.Rods[1].Fixed, sc.Water.Bottom.Value = true, unit.Length(40*foot)
		}, []string{"bottom", "fixed"}},
		{"a fixed rod of which there is no diver", func(sc *sternfan.Scenario) {
			sc.Rods[1].Fixed, sc.Wants.Lay.Have = true, []sternfan.Stock{{Gear: "diver-large", Count: 0}}
		}, []string{"fixed", "have"}},
		{"two fixed rods in one holder", func(sc *sternfan.Scenario) {
			sc.Rods[0].Fixed, sc.Rods[1].Fixed = true, true
			sc.Rods[1].Holder = sc.Rods[0].Holder
		}, []string{"fixed", "fixed", "holder"}},
		{"a band that nothing reaches", func(sc *sternfan.Scenario) {
			sc.Wants.Bands = []sternfan.Band{{From: unit.Length(30 * foot), To: unit.Length(60 * foot), Weight: 1}, {From: 60, To: 62, Weight: 1, Least: 1}}
		}, []string{"least-band"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			sc := read(t, "testdata/five.yaml")
			c.set(sc)
			l := plan(t, sc, Options{Seed: 1, Rounds: 10})
			var got []string
			for _, r := range l.Conflict {
				got = append(got, r.Code)
			}
			slices.Sort(got)
			if len(l.Plans) != 0 || !slices.Equal(got, c.want) {
				t.Errorf("%d plans; in conflict %v, want %v", len(l.Plans), got, c.want)
			}
		})
	}
}

// A kit is taken where it serves better, and only by the rods that can take it.
func TestKits(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	sc.Rods = sc.Rods[:1]
	sc.Rods[0].Rig.Diver = "diver-small"
	sc.Wants.Lay.Weights.AsNow = sternfan.Of(0.0) // nothing is lost by rigging anew
	sc.Wants.Bands = []sternfan.Band{{From: unit.Length(115 * foot), To: unit.Length(140 * foot), Weight: 1}}
	l := plan(t, sc, Options{Seed: 1, Rounds: 10})
	before := 0.0
	if len(l.Plans) > 0 {
		before = l.Plans[0].Score
	}
	big := sc.Rods[0].Rig
	big.Diver = "diver-large"
	set := sc.Rods[0].Settings
	set.Ring = sternfan.Of(1.0)
	sc.Wants.Lay.Kits = []sternfan.Kit{{ID: "big", Rods: []string{sc.Rods[0].ID}, Rig: big, Settings: set}}
	l = plan(t, sc, Options{Seed: 1, Rounds: 10})
	if len(l.Plans) == 0 || l.Plans[0].Rods[0].Kit != "big" || l.Plans[0].Score <= before {
		t.Fatalf("%+v, before %g", l.Plans, before)
	}
}

// Twelve rods of six kinds, and five rods: docs/performance.md.
func BenchmarkPlan(b *testing.B) {
	for _, name := range []string{"dozen", "five"} {
		sc := read(b, "testdata/"+name+".yaml")
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				plan(b, sc, Options{Seed: 1})
			}
		})
	}
}

// BenchmarkPlanTurns lays the twelve rods out for a turn of 60 m radius to either side.
func BenchmarkPlanTurns(b *testing.B) {
	sc := read(b, "testdata/dozen.yaml")
	for _, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
		sc.Wants.Lay.Turns = append(sc.Wants.Lay.Turns, sternfan.Manoeuvre{To: side, Radius: sternfan.Of(unit.Length(60))})
	}
	for b.Loop() {
		if l := plan(b, sc, Options{Seed: 1}); len(l.Plans) != 1 || len(l.Plans[0].Turns) != 2 {
			b.Fatalf("%d plans", len(l.Plans))
		}
	}
}
