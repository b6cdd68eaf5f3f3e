package aim_test

import (
	"context"
	"errors"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/aim"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

const foot = .3048

func load(t testing.TB, file string, set ...string) *sternfan.Scenario {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	sc, _, err := scenario.DecodeWith(file, data, scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set})
	if err != nil {
		t.Fatal(err)
	}
	return sc
}

func boat(t testing.TB, sc *sternfan.Scenario, opt aim.Options) *aim.Boat {
	t.Helper()
	b, err := aim.New(sc, opt)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func reach(t testing.TB, b *aim.Boat, req aim.Request) *sternfan.Aim {
	t.Helper()
	a, err := b.Reach(context.Background(), req)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// BenchmarkReach aims rods of the demo and of the class scenario: every combination of
// their settings, the five best solved again and at two other speeds, without intervals.
func BenchmarkReach(b *testing.B) {
	for _, c := range []struct {
		file, rod string
		depth     float64
	}{{"class", "class", 60}, {"summer", "p-low", 65}, {"summer", "p-high", 50}, {"summer", "s-slide", 40}, {"summer", "p-rigger", 70},
		{"summer", "chute", 60}, {"summer", "p-board", 40}, {"summer", "s-board", 6}, {"summer", "center", 90}} {
		b.Run(c.file+"/"+c.rod, func(b *testing.B) {
			bt := boat(b, load(b, "../examples/"+c.file+".yaml"), aim.Options{})
			for b.Loop() {
				reach(b, bt, aim.Request{Rod: c.rod, Depth: c.depth * foot})
			}
		})
	}
}

// Targets at the ends of what a rod can do.
func TestEdges(t *testing.T) {
	sc := load(t, "../examples/class.yaml")
	b := boat(t, sc, aim.Options{})
	bottom := sc.Water.Bottom.SI()

	// The bottom itself is come near to, within what is promised, and not touched.
	a := reach(t, b, aim.Request{Rod: "class", Depth: bottom})
	for _, w := range a.Ways {
		if w.Status != sternfan.StatusOK || w.Lure.Depth >= bottom || w.Depth < .995*bottom {
			t.Errorf("at the bottom: %s, %s at %g m", w.Text, w.Status, w.Lure.Depth)
		}
	}
	if len(a.Ways) == 0 {
		t.Errorf("at the bottom: limit %+v", a.Limit)
	}
	a = reach(t, boat(t, load(t, "../examples/class.yaml", "water.bottom=60ft"), aim.Options{}), aim.Request{Rod: "class", Depth: 59.99 * foot, Keep: []string{"line-out", "dial", "ring"}})
	if len(a.Ways) > 0 && a.Ways[0].Vary != "speed" {
		t.Errorf("all kept but the speed: %+v", a.Ways[0])
	}
	a = reach(t, b, aim.Request{Rod: "class", Depth: 0})
	if len(a.Ways) > 0 || a.Limit == nil || !(a.Limit.Depth > 0 && a.Limit.Depth < 8*foot) {
		t.Errorf("at the surface: %d ways, limit %+v", len(a.Ways), a.Limit)
	}
	if again := reach(t, b, aim.Request{Rod: "class", Depth: a.Limit.Depth}); len(again.Ways) == 0 {
		t.Errorf("the limit %g is out of reach", a.Limit.Depth)
	}
	for _, d := range []float64{-1, bottom + 1, math.NaN(), math.Inf(1)} {
		var faults sternfan.Faults
		if _, err := b.Reach(context.Background(), aim.Request{Rod: "class", Depth: d}); !errors.As(err, &faults) {
			t.Errorf("depth %g: %v", d, err)
		}
	}
	// A ball that is meant to tick the bottom may.
	lake := boat(t, load(t, "../examples/laketrout.yaml"), aim.Options{})
	a = reach(t, lake, aim.Request{Rod: "port", Depth: 109 * foot})
	if len(a.Ways) == 0 {
		t.Errorf("near the bottom, intended: limit %+v", a.Limit)
	}
}

// What is kept does not change; a side that is asked for is come near to.
func TestKeepAndSide(t *testing.T) {
	sc := load(t, "../examples/summer.yaml")
	b := boat(t, sc, aim.Options{Top: 20})
	for _, key := range []string{"dial", "ring", "line-out"} {
		a := reach(t, b, aim.Request{Rod: "p-low", Depth: 60 * foot, Keep: []string{key}})
		if len(a.Ways) == 0 {
			t.Errorf("keep %s: limit %+v", key, a.Limit)
		}
		for _, w := range a.Ways {
			for _, s := range w.Settings {
				if s.Key == key && s.Changed {
					t.Errorf("keep %s: %s", key, w.Text)
				}
			}
		}
	}
	side := 60 * foot
	for _, rod := range []string{"s-board", "p-high"} {
		a := reach(t, b, aim.Request{Rod: rod, Depth: 8 * foot, Side: &side, Keep: nil})
		if rod == "p-high" {
			a = reach(t, b, aim.Request{Rod: rod, Depth: 60 * foot, Side: &side})
		}
		if len(a.Ways) == 0 || math.Abs(math.Abs(a.Ways[0].Lure.Side)-side) > 6*foot {
			t.Errorf("%s: %+v", rod, a.Ways)
		}
	}
	var faults sternfan.Faults
	if _, err := b.Reach(context.Background(), aim.Request{Rod: "p-low", Depth: 20, Keep: []string{"dail"}}); !errors.As(err, &faults) || faults[0].Hint != "did you mean dial?" {
		t.Errorf("%v", err)
	}
	if _, err := b.Reach(context.Background(), aim.Request{Rod: "plow", Depth: 20}); !errors.As(err, &faults) || faults[0].Hint != "did you mean p-low?" {
		t.Errorf("%v", err)
	}
}

// Out of reach, each single change that is named reaches the target, with gear that the
// scenario has told from what has to be bought.
func TestChanges(t *testing.T) {
	for _, c := range []struct {
		file, rod string
		depth     float64
		keep, set []string
		kinds     []string
	}{
		{"spring", "p-out", 14, nil, nil, []string{"speed", "lure", "weight"}},
		{"class", "class", 110, []string{"line-out"}, nil, []string{"keep"}},
		{"class", "class", 78, []string{"line-out", "ring"}, []string{"rods.class.rig.diver=diver-standard"}, []string{"keep", "diver", "line", "speed"}},
		{"laketrout", "starboard", 108, []string{"cable-out"}, nil, []string{"speed", "keep"}},
	} {
		b := boat(t, load(t, "../examples/"+c.file+".yaml", c.set...), aim.Options{})
		a := reach(t, b, aim.Request{Rod: c.rod, Depth: c.depth * foot, Keep: c.keep})
		if len(a.Ways) > 0 || a.Limit == nil {
			t.Errorf("%s %g ft: %d ways", c.rod, c.depth, len(a.Ways))
		}
		var kinds []string
		for _, ch := range a.Changes {
			t.Logf("%s %g ft: %s (to buy %v): %s", c.rod, c.depth, ch.Text, ch.Buy, ch.Way.Text)
			kinds = append(kinds, ch.Kind)
			if math.Abs(ch.Way.Depth-c.depth*foot) > math.Max(.1*foot, .005*c.depth*foot) {
				t.Errorf("%s, %s: %.2f ft for %g", c.rod, ch.Text, ch.Way.Depth/foot, c.depth)
			}
			if strings.Contains(ch.Text, "diver-") != ch.Buy && ch.Kind == "diver" {
				t.Errorf("%s: to buy %v", ch.Text, ch.Buy)
			}
		}
		for _, kind := range c.kinds {
			if !slices.Contains(kinds, kind) {
				t.Errorf("%s %g ft: no change of %s among %v", c.rod, c.depth, kind, kinds)
			}
		}
	}
}

// A way's changes of the file give the very depth that it prints.
func TestChangesOfTheFile(t *testing.T) {
	for _, file := range []string{"../examples/summer.yaml", "../examples/deep.yaml"} {
		changesOfTheFile(t, file)
	}
}

func changesOfTheFile(t *testing.T, file string) {
	sc := load(t, file)
	b := boat(t, sc, aim.Options{Top: 3})
	for i := range sc.Rods {
		rod := sc.Rods[i].ID
		a := reach(t, b, aim.Request{Rod: rod, Depth: []float64{8, 58}[min(1, len(rod)%7)] * foot})
		for _, w := range a.Ways {
			if len(w.Set) == 0 {
				if slices.ContainsFunc(w.Settings, func(s sternfan.WaySetting) bool { return s.Changed }) {
					t.Errorf("%s: %s is no change of the file", rod, w.Text)
				}
				continue
			}
			m, faults := tackle.Resolve(load(t, file, w.Set...))
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			fan, err := spread.Solve(context.Background(), m, spread.Options{})
			if err != nil {
				t.Fatal(err)
			}
			near := math.Inf(1)
			for _, l := range fan.Rods[i].Lures {
				near = math.Min(near, math.Abs(l.Depth-w.Lure.Depth))
			}
			if near > 1e-6 {
				t.Errorf("%s: %v: %g m off", rod, w.Set, near)
			}
		}
	}
}

// A canceled context ends the search at once and leaves the best so far, told to its end and
// marked as such; progress is told and ends at the total.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	looked := 0
	sc := load(t, "../examples/summer.yaml")
	b := boat(t, sc, aim.Options{Progress: func(done, total int) {
		if looked++; done >= total || done < 0 {
			t.Errorf("%d of %d", done, total)
		}
		if looked == 3 {
			cancel()
		}
	}})
	a, err := b.Reach(ctx, aim.Request{Rod: "p-low", Depth: 20})
	if err != nil || a.Finished || len(a.Ways) != 1 || a.Found < 2 {
		t.Fatalf("%+v, %v", a, err)
	}
	whole := reach(t, boat(t, sc, aim.Options{Top: 30}), aim.Request{Rod: "p-low", Depth: 20})
	if !whole.Finished || !slices.ContainsFunc(whole.Ways, func(w sternfan.Way) bool {
		return w.Text == a.Ways[0].Text && math.Abs(w.Lure.Depth-a.Ways[0].Lure.Depth) < 1e-9
	}) {
		t.Errorf("the whole answer has no %s", a.Ways[0].Text)
	}
	if looked > 4 {
		t.Errorf("looked %d times", looked)
	}
	// With nothing yet there is nothing to tell.
	for what, ask := range map[string]func() (any, error){
		"reach": func() (any, error) { return b.Reach(ctx, aim.Request{Rod: "p-low", Depth: 20}) },
		"all":   func() (any, error) { return b.All(ctx, aim.Order{By: 1}) },
		"like":  func() (any, error) { return b.Like(ctx, "65ft down") },
	} {
		if _, err := ask(); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", what, err)
		}
	}
	// Every rod: those looked at move, the others say why not.
	ctx, cancel = context.WithCancel(context.Background())
	b = boat(t, sc, aim.Options{Progress: func(done, _ int) {
		if done == 5 {
			cancel()
		}
	}})
	all, err := b.All(ctx, aim.Order{Said: "down 1 m", By: 1})
	if err != nil || all.Finished {
		t.Fatalf("%v, finished %v", err, all != nil && all.Finished)
	}
	moved, left := 0, 0
	for _, m := range all.Rods {
		if m.Way != nil {
			moved++
		} else if m.Stays == "stopped before it was looked at" {
			left++
		}
	}
	if moved < 3 || left < 4 {
		t.Errorf("%d moved, %d not looked at", moved, left)
	}
	ctx, cancel = context.WithCancel(context.Background())
	b = boat(t, sc, aim.Options{Top: 1, Progress: func(done, _ int) {
		if done == 5 {
			cancel()
		}
	}})
	if like, err := b.Like(ctx, "65ft down"); err != nil || like.Finished || len(like.Ways) == 0 {
		t.Errorf("%+v, %v", like, err)
	}
	// Out of reach: the limit and the changes found so far.
	ctx, cancel = context.WithCancel(context.Background())
	begun := 0 // the ways, then the changes of gear
	b = boat(t, load(t, "../examples/class.yaml", "rods.class.rig.diver=diver-standard"), aim.Options{Progress: func(done, _ int) {
		if done == 0 {
			if begun++; begun == 2 {
				cancel()
			}
		}
	}})
	if a, err := b.Reach(ctx, aim.Request{Rod: "class", Depth: 78 * foot, Keep: []string{"line-out", "ring"}}); err != nil || a.Finished || a.Limit == nil {
		t.Errorf("%+v, %v", a, err)
	}
}

// The file's own scenario is left as it was, and a rod that it fixes does not move.
func TestLeavesTheFileAlone(t *testing.T) {
	sc := load(t, "../examples/deep.yaml", "rods.chute.fixed=yes")
	before := load(t, "../examples/deep.yaml", "rods.chute.fixed=yes")
	b := boat(t, sc, aim.Options{})
	a, err := b.All(context.Background(), aim.Order{Said: "down 2 m", By: 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range a.Rods {
		if (m.Rod == "chute") != (m.Way == nil) {
			t.Errorf("%s: %+v", m.Rod, m.Way)
		}
	}
	reach(t, b, aim.Request{Rod: "s-in", Depth: 30})
	if !reflect.DeepEqual(before, sc) {
		t.Error("the scenario was changed")
	}
}
