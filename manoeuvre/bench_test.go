package manoeuvre_test

import (
	"sternfan/internal/exampletest"

	"context"
	"testing"

	"sternfan"
	"sternfan/manoeuvre"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// BenchmarkTurn takes the twelve rods of examples/summer.yaml through four minutes with a
// half turn in them to either side, from the statics on, with every nearest pass to the
// one and the nearest of all to the other.
func BenchmarkTurn(b *testing.B) {
	m := exampletest.File(b, "../examples/summer.yaml")
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Radius, mv.Before, mv.After = 50, 20, 60
	b.ReportAllocs()
	for b.Loop() {
		if _, err := manoeuvre.Turn(context.Background(), m, mv, spread.Options{}, manoeuvre.TurnOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTurnOneSide is the same without the other side: statics, dynamics and every
// nearest pass.
func BenchmarkTurnOneSide(b *testing.B) {
	m := exampletest.File(b, "../examples/summer.yaml")
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Radius, mv.Before, mv.After = 50, 20, 60
	for b.Loop() {
		turn, err := manoeuvre.Turn(context.Background(), m, mv, spread.Options{}, manoeuvre.TurnOptions{OneSide: true})
		if err != nil {
			b.Fatal(err)
		}
		if p := &turn.Manoeuvre; p.Until < 230 || len(turn.Tracks) < 15 || turn.Other != nil {
			b.Fatalf("%g s with %d lines", p.Until, len(turn.Tracks))
		}
	}
}

// BenchmarkSet sets the same rods one after another: a quarter of an hour.
func BenchmarkSet(b *testing.B) {
	m := exampletest.File(b, "../examples/summer.yaml")
	for b.Loop() {
		if turn := handle(b, m, manoeuvre.Event{Kind: "set"}, 4); len(turn.Tasks) != 12 {
			b.Fatalf("%d tasks", len(turn.Tasks))
		}
	}
}

// BenchmarkTurnWorlds is a sampled world of the same turn to one side.
func BenchmarkTurnWorlds(b *testing.B) {
	m := exampletest.File(b, "../examples/summer.yaml")
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Radius, mv.Before, mv.After = 50, 20, 60
	s := manoeuvre.New(m, spread.Options{})
	if _, err := s.Turn(context.Background(), mv, manoeuvre.TurnOptions{Worlds: b.N}); err != nil {
		b.Fatal(err)
	}
}

// turning returns the twelve rods of examples/summer.yaml as a spread that can turn: over
// no hull, with margins of a foot or two.
func turning(t testing.TB) *tackle.Model {
	sc := *exampletest.File(t, "../examples/summer.yaml").Scenario
	sc.Boat.Hull = nil
	sc.Wants.Horizontal, sc.Wants.Vertical = sternfan.Of(1*unit.Foot), sternfan.Of(unit.Foot/2)
	m, faults := tackle.Resolve(&sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return m
}

// BenchmarkTightest looks for the tightest radius to either side of a spread that can turn
// and of one that cannot, nominal with the margins grown by the intervals, and of the
// first with the radius confirmed in 40 worlds on two cores.
func BenchmarkTightest(b *testing.B) {
	for _, c := range []struct {
		name   string
		model  *tackle.Model
		turns  bool
		worlds int
	}{
		{"twelve rods that turn", turning(b), true, 0},
		{"twelve rods that turn, worlds", turning(b), true, 40},
		{"twelve rods that cannot", exampletest.File(b, "../examples/summer.yaml"), false, 0},
		{"one rod", exampletest.File(b, "../examples/class.yaml"), true, 0},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				rows, err := manoeuvre.New(c.model, spread.Options{Intervals: true}).Tightest(context.Background(),
					manoeuvre.ManoeuvreOf(c.model.Scenario), manoeuvre.TurnOptions{Worlds: c.worlds, Workers: 2})
				if err != nil {
					b.Fatal(err)
				}
				for _, r := range rows {
					if (r.Radius > 0) != c.turns {
						b.Fatalf("to %v: %+v", r.To, r)
					}
					b.ReportMetric(r.Radius, "m_to_"+r.To.String())
				}
			}
		})
	}
}
