package spread_test

import (
	"context"
	"testing"

	"sternfan/spread"
)

// BenchmarkTurn takes the twelve rods of examples/summer.yaml through four minutes with a
// half turn in them, the statics they start from included, to one side.
func BenchmarkTurn(b *testing.B) {
	m := load(b, "../examples/summer.yaml")
	mv := spread.ManoeuvreOf(m.Scenario)
	mv.Radius, mv.Before, mv.After = 50, 20, 60
	b.ReportAllocs()
	for b.Loop() {
		if _, err := spread.Turn(context.Background(), m, mv, spread.Options{}, spread.TurnOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTurnWorlds is a sampled world more of the same.
func BenchmarkTurnWorlds(b *testing.B) {
	m := load(b, "../examples/summer.yaml")
	mv := spread.ManoeuvreOf(m.Scenario)
	mv.Radius, mv.Before, mv.After = 50, 20, 60
	s := spread.New(m, spread.Options{})
	if _, err := s.Turn(context.Background(), mv, spread.TurnOptions{Worlds: b.N}); err != nil {
		b.Fatal(err)
	}
}
