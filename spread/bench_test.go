package spread_test

import (
	"sternfan/internal/exampletest"

	"context"
	"testing"

	"sternfan/spread"
)

// BenchmarkFan solves the demo's twelve rods of all kinds from nothing; with intervals it
// also moves every entry of the registry. The tolerance is the default, whose accuracy
// package tow asserts.
func BenchmarkFan(b *testing.B) {
	m := exampletest.File(b, "../examples/summer.yaml")
	for _, c := range []struct {
		name      string
		intervals bool
	}{{"depths", false}, {"intervals", true}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := spread.Solve(context.Background(), m, spread.Options{Intervals: c.intervals}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(c.name+"/again", func(b *testing.B) {
			s := spread.New(m, spread.Options{Intervals: c.intervals})
			for b.Loop() {
				if _, err := s.Fan(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
