package lay

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// sumOf returns the cost of an order.
func sumOf(order []int, c [][]float64) float64 {
	sum := 0.0
	for i, a := range order {
		for _, b := range order[i+1:] {
			sum += c[a][b]
		}
	}
	return sum
}

// Random costs of up to seven: the order costs what the best of all orders costs.
func TestArrangeEqualsTryingEveryOrder(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 21))
		n := 1 + rng.IntN(7)
		c := make([][]float64, n)
		for a := range c {
			c[a] = make([]float64, n)
			for b := range c[a] {
				if a != b && rng.IntN(2) == 0 {
					c[a][b] = float64(rng.IntN(3)) + 1e-3*float64(rng.IntN(3))
				}
			}
		}
		least := math.Inf(1)
		var visit func(order []int)
		visit = func(order []int) {
			if len(order) == n {
				least = math.Min(least, sumOf(order, c))
				return
			}
			for k := range n {
				if !slices.Contains(order, k) {
					visit(append(slices.Clone(order), k))
				}
			}
		}
		visit(nil)
		got := arrange(n, func(a, b int) float64 { return c[a][b] })
		if math.Abs(sumOf(got, c)-least) > 1e-9 {
			t.Fatalf("case %d: %v costs %g, the best order %g", seed, got, sumOf(got, c), least)
		}
		if rough := exchange(n, c); len(rough) != n || sumOf(rough, c) < least-1e-9 {
			t.Fatalf("case %d: %v", seed, rough)
		}
	}
}

// The order of a real plan: every pass that is not named as a crossing keeps the margin,
// every crossing is one, and no other order has fewer.
func TestOrderOfAPlan(t *testing.T) {
	for _, name := range []string{"testdata/five.yaml", "../examples/spring.yaml"} {
		sc := read(t, name)
		pl, err := newPlanner(context.Background(), sc, Options{Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		if err := pl.table(); err != nil {
			t.Fatal(err)
		}
		pl.prob.pair = pl.together
		pl.prob.ready()
		found := pl.searcher(1).run(context.Background(), effort{rounds: 30}, nil)
		fine := pl.refined(context.Background())
		fine.from, fine.origin = pl, found.best
		x, err := fine.adopt(found.best, pl)
		if err != nil {
			t.Fatal(err)
		}
		e, err := fine.solveWhole(x)
		if err != nil {
			t.Fatal(err)
		}
		p, err := fine.assemble(e, x)
		if err != nil {
			t.Fatal(err)
		}
		exact, picked := fine.exact(e, x)
		near, err := exact.watch(e, picked, e.rods)
		if err != nil {
			t.Fatal(err)
		}
		index := map[string]int{}
		for i, r := range sc.Rods {
			index[r.ID] = i
		}
		named := 0
		for k, s := range p.Set {
			for _, before := range p.Set[:k] {
				g, ok := near[[2]int{index[s.Rod], index[before.Rod]}]
				crossing := slices.ContainsFunc(p.Crossings, func(c sternfan.Crossing) bool { return c.Rod == s.Rod && c.Over == before.Rod })
				if crossing != (ok && g.Ratio < 1) {
					t.Errorf("%s: %s past %s: ratio %g, named %v", name, s.Rod, before.Rod, g.Ratio, crossing)
				}
				if crossing {
					named++
				}
			}
		}
		gangs := exact.gangs(picked)
		least := len(sc.Rods) * len(sc.Rods)
		var visit func(order []int, crossings int)
		visit = func(order []int, crossings int) {
			if crossings >= least {
				return
			}
			if len(order) == len(gangs) {
				least = crossings
				return
			}
			for k := range gangs {
				if slices.Contains(order, k) {
					continue
				}
				more := 0
				for _, a := range order {
					more += int(exact.setting(picked, near, gangs[a], gangs[k]))
				}
				visit(append(slices.Clone(order), k), crossings+more)
			}
		}
		visit(nil, 0)
		if named != least {
			t.Errorf("%s: %d crossings, the best order has %d", name, named, least)
		}
		// Taking in runs the other way.
		for k, id := range p.Clear {
			if id != p.Set[len(p.Set)-1-k].Rod {
				t.Errorf("%s: cleared %v", name, p.Clear)
			}
		}
	}
}

// More hands are no slower, and one line on a side is worked at a time.
func TestCrew(t *testing.T) {
	times := func(people int) float64 {
		c := newCrew(people)
		for _, side := range []sternfan.Side{-1, 1, -1, 1, 0} {
			c.next(side, 2)
		}
		return c.end
	}
	// One sets and steers: 5 times 2 min, and no factor is in the crew's clock.
	if times(1) != 10 || times(2) != 10 || times(3) != 6 || times(6) > times(3) {
		t.Errorf("%g, %g, %g, %g minutes", times(1), times(2), times(3), times(6))
	}
}

// A board that has come in goes inside, and the other slides out into its place; with
// nothing in the way a line goes out as it was.
func TestReset(t *testing.T) {
	sc := read(t, "../examples/spring.yaml")
	l := plan(t, sc, Options{Seed: 1})
	set := l.Plans[0].Scenario
	r, err := Reset(context.Background(), set, "p-out", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.How != "slide" || len(r.Moves) != 1 || r.Moves[0].Rod != "p-in" || r.Moves[0].To <= r.Moves[0].From || r.Blocked == nil || r.Blocked.Ratio >= 1 {
		t.Fatalf("%+v", r)
	}
	for _, g := range r.Passes {
		if g.Ratio < 1 {
			t.Errorf("it passes inside the margin: %+v", g)
		}
	}
	r, err = Reset(context.Background(), set, "s-flat", Options{})
	if err != nil || r.How != "as-was" || r.Blocked != nil {
		t.Fatalf("%v %+v", err, r)
	}
	if _, err := Reset(context.Background(), set, "nobody", Options{}); err == nil {
		t.Error("a rod that is not there was reset")
	}
}

// Two lines that cross whatever is done: the reset says which one is in the way.
func TestResetThatCannotBe(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	sc.Wants.Horizontal.Value, sc.Wants.Vertical.Value = unit.Length(60), unit.Length(60)
	r, err := Reset(context.Background(), sc, "p-high", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.How != "none" || r.Blocked == nil || r.Blocked.A != "p-high" && r.Blocked.B != "p-high" {
		t.Errorf("%+v", r)
	}
}
