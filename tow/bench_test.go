package tow_test

import (
	"context"
	"math"
	"testing"

	"sternfan/internal/reference/scipy"
	"sternfan/tow"
)

// benchCases are the fixtures whose kind has a target in docs/performance.md.
var benchCases = []struct{ id, what string }{
	{"C2", "fixed diver"}, {"E2", "ten colors behind a board"}, {"D1", "downrigger"},
	{"D4", "downrigger with slider"}, {"D6", "stacked"}, {"C5", "diver, shear, five sections"}, {"H1", "wire, thermocline"},
}

func named(t testing.TB, id string) *scipy.Case {
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i := range cases {
		if cases[i].ID == id {
			return &cases[i]
		}
	}
	t.Fatalf("no fixture %s", id)
	return nil
}

// BenchmarkCold solves from nothing at the default tolerance, after asserting that the
// depths at this very tolerance are within 0.1 % of a solution at 1e-9.
func BenchmarkCold(b *testing.B) {
	for _, bc := range benchCases {
		b.Run(bc.what, func(b *testing.B) {
			built := fromCase(b, named(b, bc.id))
			worst := deviation(b, built)
			if worst > 1e-3 {
				b.Fatalf("depth off by %.2e", worst)
			}
			var s tow.Solver
			b.ReportAllocs()
			for b.Loop() {
				s.Cool()
				if s.Solve(context.Background(), built.sys, built.env, tow.Options{}).Status != tow.Converged {
					b.Fatal("not converged")
				}
			}
			b.ReportMetric(worst, "depth-error")
			sol := s.Solve(context.Background(), built.sys, built.env, tow.Options{})
			b.ReportMetric(float64(sol.Steps), "warm-steps")
		})
	}
}

// deviation returns the largest depth difference between the default and a 1e-9
// tolerance, relative to the deepest node.
func deviation(t testing.TB, b built) float64 {
	var s, ref tow.Solver
	got := s.Solve(context.Background(), b.sys, b.env, tow.Options{})
	want := ref.Solve(context.Background(), b.sys, b.env, tow.Options{Tolerance: 1e-9})
	if got.Status != tow.Converged || want.Status != tow.Converged {
		t.Fatalf("%s, %s", got.Status, want.Status)
	}
	deepest, worst := 0.0, 0.0
	for i := range want.Nodes {
		deepest = math.Max(deepest, want.Nodes[i].Z)
	}
	for i := range want.Nodes {
		worst = math.Max(worst, math.Abs(want.Nodes[i].Z-got.Nodes[i].Z)/deepest)
	}
	return worst
}

func TestDefaultToleranceHolds(t *testing.T) {
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i := range cases {
		if d := deviation(t, fromCase(t, &cases[i])); d > 1e-3 {
			t.Errorf("%s: depth off by %.2e of the deepest point", cases[i].ID, d)
		} else {
			t.Logf("%s %.1e", cases[i].ID, d)
		}
	}
}

func TestSolveDoesNotAllocate(t *testing.T) {
	for _, bc := range benchCases {
		b := fromCase(t, named(t, bc.id))
		var s tow.Solver
		s.Solve(context.Background(), b.sys, b.env, tow.Options{})
		s.Cool()
		s.Solve(context.Background(), b.sys, b.env, tow.Options{})
		if n := testing.AllocsPerRun(20, func() {
			s.Cool()
			s.Solve(context.Background(), b.sys, b.env, tow.Options{})
		}); n != 0 {
			t.Errorf("%s: %v allocations a solve", bc.what, n)
		}
	}
}
