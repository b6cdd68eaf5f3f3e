package dynamics_test

import (
	"context"
	"fmt"
	"testing"

	"sternfan/tow/dynamics"
)

// BenchmarkHalfTurn runs 100 m of wire with a weight through six minutes with a turn of
// 180 degrees, after asserting that the depth at this very setting is within 0.2 % of the
// finest at all times.
func BenchmarkHalfTurn(b *testing.B) {
	sys, env := weighted(100, 0.5, 0.0005, 0.0015, 4e4)
	sol := at(b, sys, env)
	ref, _ := depths(b, sys, sol, env, dynamics.Options{Nodes: 320, Tolerance: 2e-5})
	z, count := depths(b, sys, sol, env, dynamics.Options{})
	d := apart(z, ref)
	if d > 2e-3 {
		b.Fatalf("depth off by %.2e", d)
	}
	course := halfTurn()
	var r dynamics.Run
	b.ReportAllocs()
	for b.Loop() {
		if st := r.Start(sys, sol, env, course, dynamics.Options{}); st != dynamics.OK {
			b.Fatal(st)
		}
		if st := r.Watch(context.Background(), 360, 1, func(float64) { r.Node(1) }); st != dynamics.OK {
			b.Fatal(st)
		}
	}
	b.ReportMetric(d, "depth-error")
	b.ReportMetric(float64(count.Steps), "steps")
	b.ReportMetric(float64(count.Iterations), "iterations")
}

// BenchmarkNodes shows what a point costs a second of the same turn.
func BenchmarkNodes(b *testing.B) {
	sys, env := weighted(100, 0.5, 0.0005, 0.0015, 4e4)
	sol := at(b, sys, env)
	course := halfTurn()
	for _, nodes := range []int{10, 100, 1000, 10000} {
		b.Run(fmt.Sprint(nodes), func(b *testing.B) {
			var r dynamics.Run
			iterations := 0
			for b.Loop() {
				if st := r.Start(sys, sol, env, course, dynamics.Options{Nodes: nodes}); st != dynamics.OK {
					b.Fatal(st)
				}
				if st := r.Advance(context.Background(), 100); st != dynamics.OK {
					b.Fatal(st)
				}
				iterations += r.Count().Iterations
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(iterations)/float64(nodes), "ns/iteration/node")
		})
	}
}
