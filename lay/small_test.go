//go:build !js

package lay

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"sternfan"
	"sternfan/bench"
	"sternfan/geom"
	"sternfan/unit"
)

// smallReal is a random wish for two to five of the twelve rods, in coarse steps.
func smallReal(t testing.TB, seed uint64) *sternfan.Scenario {
	rng := rand.New(rand.NewPCG(seed, 33))
	sc := largeReal(t, rng.Uint64())
	rods := 2 + rng.IntN(4)
	rng.Shuffle(len(sc.Rods), func(i, j int) { sc.Rods[i], sc.Rods[j] = sc.Rods[j], sc.Rods[i] })
	sc.Rods = sc.Rods[:rods]
	w := &sc.Wants
	w.Caps = sternfan.Caps{}
	switch rng.IntN(4) {
	case 0:
		w.Caps.Lines = 1 + rng.IntN(rods)
	case 1:
		w.Caps.Lures = 1 + rng.IntN(rods)
	}
	w.Lay.Steps = sternfan.Steps{LineOut: sternfan.Of(unit.Length(80 * foot)), CableOut: sternfan.Of(unit.Length(30 * foot)),
		Lead: sternfan.Of(unit.Length(20 * foot)), Dial: sternfan.Of(1.5)}
	w.Lay.Places = nil
	for i := range sc.Rods {
		p := sternfan.LayPlace{Rod: sc.Rods[i].ID, Holders: []string{sc.Rods[i].Holder}}
		if other := sc.Rods[(i+1)%rods]; rods < 4 && other.Rig.Downrigger == "" && sc.Rods[i].Rig.Downrigger == "" {
			p.Holders = append(p.Holders, other.Holder)
		}
		w.Lay.Places = append(w.Lay.Places, p)
	}
	return sc
}

// scored is a pick and the score of its plan.
type scored struct {
	x     pick
	score float64
}

// everyPlan tries all plans of a scenario's rods in whole steps: every setting of every rod
// is solved in its holder, with its interval, every pick of them that keeps the rules is
// scored as a plan is, and the best of them that also keeps the rules when it is solved as
// a whole is the answer. A setting counts whose lure suits a band by a quarter at least.
func everyPlan(t *testing.T, sc *sternfan.Scenario) (best float64, tried int) {
	pl, err := newPlanner(context.Background(), sc, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !pl.all {
		t.Fatal("too many settings for this test")
	}
	for i := range pl.rigs {
		g := &pl.rigs[i]
		for _, h := range pl.stands(g) {
			of := pl.everySetting(g)
			var ask []bench.Trial
			for _, s := range of {
				ask = append(ask, pl.ask(&class{rig: i, holder: h}, s))
			}
			got, err := pl.try(ask, true)
			if err != nil {
				t.Fatal(err)
			}
			for n := range got {
				if got[n].track == nil || len(got[n].track.Lures) == 0 {
					continue
				}
				unfit := pl.sc.Rods[g.rod].Fixed
				for b := range pl.bands {
					lure := pl.berth(g, got[n].track, 0, false, geom.Vec{}, 0)
					if pl.fit(b, &lure) >= leastFit {
						pl.addWay(&got[n], stand{i, h}, of[n], b, false, geom.Vec{}, 0)
						unfit = false
					}
				}
				if unfit {
					pl.addWay(&got[n], stand{i, h}, of[n], -1, false, geom.Vec{}, 0)
				}
			}
		}
	}
	p := pl.prob
	p.pair = pl.together
	p.ready()
	var all []scored
	s := newState(p)
	var visit func(r int)
	visit = func(r int) {
		if r == len(p.must) {
			tried++
			if s.lacks() == 0 {
				all = append(all, scored{slices.Clone(s.pick), s.score()})
			}
			return
		}
		visit(r + 1)
		for _, o := range p.byRod[r] {
			if s.admits(o) {
				s.put(o)
				visit(r + 1)
				s.take(r)
			}
		}
	}
	visit(0)
	slices.SortStableFunc(all, func(a, b scored) int { return cmp.Compare(b.score, a.score) })
	for _, one := range all {
		e, err := pl.solveWhole(one.x)
		if err != nil {
			t.Fatal(err)
		}
		if pl.offender(e, one.x) == none {
			exact, x := pl.exact(e, one.x)
			return exact.prob.exactly(x).score(), tried
		}
	}
	return math.Inf(-1), tried
}

// Two hundred random wishes for two to five rods in coarse steps, by the engine: the whole
// of lay, from the file to the plan solved with its intervals, finds the score that trying
// every plan finds.
func TestSmallPlansEqualTryingEverything(t *testing.T) {
	cases := uint64(200)
	if runtime.GOARCH == "wasm" {
		cases = 5 // several times as slow there: that it comes to the same
	}
	for seed := range cases {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			sc := smallReal(t, seed)
			want, tried := everyPlan(t, sc)
			l := plan(t, sc, Options{Seed: seed})
			got := math.Inf(-1)
			if len(l.Plans) > 0 {
				got = l.Plans[0].Score
			}
			t.Logf("%d rods, %d plans, best %.6f, found %.6f", len(sc.Rods), tried, want, got)
			if math.Abs(got-want) > 1e-4 {
				t.Errorf("%d plans: the best scores %.6f, found was %.6f", tried, want, got)
			}
		})
	}
}
