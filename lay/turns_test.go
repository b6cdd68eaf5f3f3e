package lay

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/manoeuvre"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// bothWays are turns of one radius to either side.
func bothWays(meters float64) []sternfan.Manoeuvre {
	r := sternfan.Of(unit.Length(meters))
	return []sternfan.Manoeuvre{{To: sternfan.Port, Radius: r}, {To: sternfan.Starboard, Radius: r}}
}

// turnedAnew takes a plan's scenario, written and read again, through its turns.
func turnedAnew(t *testing.T, p *sternfan.Plan) (broken [][]sternfan.TurnPair) {
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
	s := manoeuvre.New(m, spread.Options{Intervals: true})
	fan, err := s.Fan(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for i := range back.Wants.Lay.Turns {
		mv := manoeuvre.Intended(&back.Wants.Lay.Turns[i])
		near, lost, err := s.Passes(context.Background(), fan, mv)
		if err != nil || len(lost) > 0 {
			t.Fatal(err, lost)
		}
		broken = append(broken, slices.DeleteFunc(near, func(p sternfan.TurnPair) bool { return !manoeuvre.Worsened(&p) }))
	}
	return broken
}

// TestTurnsOfAPlan lays spreads out for turns. What a plan says of them is what its
// scenario, read anew, does in them; laid without them in mind, lines come together that
// now keep their margin; the score counts it; and straight on every rule is kept.
func TestTurnsOfAPlan(t *testing.T) {
	for _, c := range []struct {
		file   string
		radius float64
		seed   uint64
	}{{"testdata/five.yaml", 60, 1}, {"../examples/deep.yaml", 60, 1}, {"testdata/dozen.yaml", 100, 1}} {
		t.Run(c.file, func(t *testing.T) {
			t.Parallel()
			sc := read(t, c.file)
			blind := plan(t, sc, Options{Seed: c.seed}).Plans[0]
			if len(blind.Turns) > 0 {
				t.Fatal("turns that nobody intends")
			}
			sc.Wants.Lay.Turns = bothWays(c.radius)
			blind.Scenario.Wants.Lay.Turns = sc.Wants.Lay.Turns
			l := plan(t, sc, Options{Seed: c.seed})
			got := &l.Plans[0]
			keepsTheRules(t, sc, got)
			if got.Score > l.Bound+1e-9 {
				t.Errorf("score %g over the bound %g", got.Score, l.Bound)
			}
			before, after := turnedAnew(t, &blind), turnedAnew(t, got)
			spoiled := func(all [][]sternfan.TurnPair) float64 {
				sum := 0.0
				for _, list := range all {
					for _, p := range list {
						sum += 1 - p.Ratio
					}
				}
				return sum
			}
			if b, a := spoiled(before), spoiled(after); b == 0 || a >= b {
				t.Errorf("inside the margins by %g without the turns in mind, %g with them", b, a)
			}
			for i, turn := range got.Turns {
				if len(turn.Broken) != len(after[i]) {
					t.Fatalf("turn %d: %d pairs are said to come too near, %d do", i, len(turn.Broken), len(after[i]))
				}
				for k := range turn.Broken {
					if p, q := turn.Broken[k], after[i][k]; p.A != q.A || p.B != q.B || math.Abs(p.Ratio-q.Ratio) > 1e-3 {
						t.Errorf("turn %d: said %s %s %.4f, does %s %s %.4f", i, p.A, p.B, p.Ratio, q.A, q.B, q.Ratio)
					}
				}
				for _, p := range turn.Broken {
					k := slices.IndexFunc(got.Rods, func(r sternfan.Placed) bool { return r.Rod == p.A })
					if k >= 0 && !slices.ContainsFunc(got.Rods[k].Why, func(w sternfan.LayReason) bool { return w.Rod == p.B || w.Code[:4] == "near" }) {
						t.Errorf("rod %s does not say that it comes near %s in a turn", p.A, p.B)
					}
				}
			}
			k := slices.IndexFunc(got.Terms, func(x sternfan.LayTerm) bool { return x.Name == "turns" })
			if full := float64(len(got.Rods)) / float64(len(sc.Rods)); (got.Terms[k].Value < full-1e-9) != (spoiled(after) > 0) {
				t.Errorf("the term for turns is %g, pairs inside %g", got.Terms[k].Value, spoiled(after))
			}
		})
	}
}

// TestTurnsAreDeterministic lays a spread out twice for the same turns.
func TestTurnsAreDeterministic(t *testing.T) {
	sc := read(t, "../examples/deep.yaml")
	sc.Wants.Lay.Turns = bothWays(60)
	one, two := plan(t, sc, Options{Seed: 4, Top: 2}), plan(t, sc, Options{Seed: 4, Top: 2})
	if !reflect.DeepEqual(one.Plans, two.Plans) {
		t.Error("two plans of one seed")
	}
}

// TestTurnsStoppedEarly ends the work when the first plan is solved: it is given without
// its turns, and said not to be finished.
func TestTurnsStoppedEarly(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	sc.Wants.Lay.Turns = bothWays(60)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	l, err := Plan(ctx, sc, Options{Seed: 1, Progress: func(what string, part, best float64) {
		if part >= 0.6 {
			cancel()
		}
	}})
	if err != nil || len(l.Plans) != 1 || l.Finished {
		t.Fatalf("%v, %+v", err, l)
	}
	if len(l.Plans[0].Turns) != 0 {
		t.Error("turns were looked at after the end")
	}
}

// TestWayWithIsWhatTheWholeDoes holds the weighing of a move, one rod by itself against
// the wakes of the others, to what the whole spread does in the turn.
func TestWayWithIsWhatTheWholeDoes(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	sc.Wants.Lay.Turns = bothWays(40)
	pl, err := newPlanner(context.Background(), sc, Options{Seed: 1, Rounds: 50, Top: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := pl.table(); err != nil {
		t.Fatal(err)
	}
	pl.prob.pair = pl.together
	pl.prob.ready()
	got := pl.searcher(1).run(pl.ctx, pl.effort(), nil)
	l, _, err := pl.realize(pl.ctx, got.best, nil)
	if err != nil || l == nil {
		t.Fatal(err)
	}
	if l.e.turns, err = pl.through(l.e); err != nil {
		t.Fatal(err)
	}
	stay, err := pl.wakesOf(l.e)
	if err != nil {
		t.Fatal(err)
	}
	ask, ways := pl.otherWays(l)
	if len(ask) < 5 {
		t.Fatalf("%d other ways", len(ask))
	}
	if err := pl.tryThrough(ask, ways); err != nil {
		t.Fatal(err)
	}
	compared := 0
	rng := rand.New(rand.NewPCG(1, 2))
	for _, i := range rng.Perm(len(ways))[:min(8, len(ways))] {
		w := ways[i]
		answer := pl.tried[w].answer
		n := l.fine.addWay(&answer, stand{w.rig, w.holder}, w.set, w.band, false, geom.Vec{}, w.dialed)
		l.fine.prob.ready()
		x := slices.Clone(l.x)
		r := l.fine.prob.options[n].rod
		x[r] = n
		e, err := l.fine.solveWhole(x)
		if err != nil {
			t.Fatal(err)
		}
		whole, err := pl.through(e)
		if err != nil {
			t.Fatal(err)
		}
		weighed := pl.turnsWith(l, r, l.fine.ways[n], pl.tried[w].wake, stay)
		want, have := spoiled(e, whole), spoiled(l.e, weighed)
		// Compared half as often, and with the interval of the table.
		if math.Abs(want-have) > 0.2 {
			t.Errorf("%s: the whole is spoiled by %.3f, weighed %.3f", fmt.Sprint(w), want, have)
		}
		if want > 0 {
			compared++
		}
	}
	if compared == 0 {
		t.Error("no way was spoiled")
	}
}

// lapsing is a context that ends after it has been asked so many times.
type lapsing struct {
	context.Context
	left int
}

func (l *lapsing) Err() error {
	if l.left--; l.left < 0 {
		return context.Canceled
	}
	return nil
}

// TestStoppedAnywhere ends the work wherever it asks whether it may go on: what comes of
// that is a plan or the word that it was ended, never that there is no plan.
func TestStoppedAnywhere(t *testing.T) {
	sc := read(t, "testdata/five.yaml")
	plans := 0
	for n := 0; n < 40_000; n += 1 + n/3 {
		l, err := Plan(&lapsing{context.Background(), n}, sc, Options{Seed: 1, Rounds: 50})
		switch {
		case err == context.Canceled:
		case err != nil:
			t.Errorf("after %d: %v", n, err)
		case len(l.Plans) == 0:
			t.Errorf("after %d: no plan, no word of the end", n)
		default:
			plans++
		}
	}
	if plans == 0 {
		t.Error("never a plan")
	}
}
