package tow_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/internal/reference/scipy"
	"sternfan/tow"
)

// nudge returns the case with all lines thicker and the boat faster by a share.
func nudge(b built, share float64) (*tow.System, *tow.Env) {
	sys, env := copySystem(b.sys), *b.env
	for i := range sys.Lines {
		sys.Lines[i].Props.Diameter *= 1 + share
	}
	env.Speed *= 1 + share/2
	return sys, &env
}

// What Near tells of a change is the change between two solutions at 1e-8, for every
// fixture that has a linear form, both ways and from either start.
func TestNear(t *testing.T) {
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	ctx, answered := context.Background(), 0
	for i := range cases {
		b := fromCase(t, &cases[i])
		var s, ref tow.Solver
		if st := s.Solve(ctx, b.sys, b.env, tow.Options{}).Status; st != tow.Converged {
			t.Fatalf("%s: %s", cases[i].ID, st)
		}
		if !s.Linearize() {
			t.Logf("%s has no linear form", cases[i].ID)
			continue
		}
		base := depths(ref.Solve(ctx, b.sys, b.env, tow.Options{Tolerance: 1e-8}))
		var from []float64
		if sol, ok := s.Near(b.sys, b.env, tow.Options{}); !ok {
			t.Errorf("%s: no answer to no change", cases[i].ID)
			continue
		} else {
			from = depths(sol)
		}
		deepest := 0.0
		for k, z := range base {
			deepest = math.Max(deepest, z)
			// The form's own error, which differences leave out.
			if d := math.Abs(from[k] - z); d > 2e-3*deepest+1e-3 {
				t.Errorf("%s: node %d at %g m, %g m solved", cases[i].ID, k, from[k], z)
			}
		}
		marked := 0
		for mark, c := range []struct {
			share float64
			along []tow.Along
		}{{0.06, nil}, {0.02, nil}, {-0.06, []tow.Along{{Times: -1}}}, {-0.04, []tow.Along{{Times: 0.5}, {Mark: 1, Times: -3.5}}}} {
			if marked < mark && c.along != nil {
				continue
			}
			sys, env := nudge(b, c.share)
			sol, ok := s.Near(sys, env, tow.Options{}, c.along...)
			if ok {
				s.Mark(mark)
				marked++
			} else {
				t.Logf("%s: a change of %g is too large", cases[i].ID, c.share)
				continue
			}
			answered++
			got := depths(sol)
			want := ref.Solve(ctx, sys, env, tow.Options{Tolerance: 1e-8})
			for k, z := range depths(want) {
				change, told := z-base[k], got[k]-from[k]
				if math.Abs(told-change) > 0.02*math.Abs(change)+3e-4*deepest {
					t.Errorf("%s, %g: node %d moves %.4f m, told %.4f m", cases[i].ID, c.share, k, change, told)
				}
			}
		}
	}
	if most := 4 * len(cases); answered < most*8/10 {
		t.Errorf("%d of %d changes answered", answered, most)
	}
}

func depths(s *tow.Solution) []float64 {
	z := make([]float64, len(s.Nodes))
	for i, p := range s.Nodes {
		z[i] = p.Z
	}
	return z
}

// Near tells where the nodes are to the side and astern, too.
func TestNearPlaces(t *testing.T) {
	b := fromCase(t, named(t, "D4"))
	ctx := context.Background()
	var s, ref tow.Solver
	s.Solve(ctx, b.sys, b.env, tow.Options{})
	if !s.Linearize() {
		t.Fatal("no linear form")
	}
	sys, env := nudge(b, 0.03)
	sol, ok := s.Near(sys, env, tow.Options{})
	if !ok {
		t.Fatal("too far")
	}
	got := append([]geom.Vec(nil), sol.Nodes...)
	for i, p := range ref.Solve(ctx, sys, env, tow.Options{Tolerance: 1e-8}).Nodes {
		if d := got[i].Sub(p).Norm(); d > 0.02 {
			t.Errorf("node %d at %v, solved %v", i, got[i], p)
		}
	}
}

func TestNearDoesNotAllocate(t *testing.T) {
	b := fromCase(t, named(t, "D6"))
	var s tow.Solver
	s.Solve(context.Background(), b.sys, b.env, tow.Options{})
	if !s.Linearize() {
		t.Fatal("no linear form")
	}
	sys, env := nudge(b, 0.03)
	if n := testing.AllocsPerRun(20, func() { s.Near(sys, env, tow.Options{}) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// BenchmarkNear answers one small change of all lines and the speed.
func BenchmarkNear(b *testing.B) {
	for _, bc := range benchCases {
		b.Run(bc.what, func(b *testing.B) {
			built := fromCase(b, named(b, bc.id))
			var s tow.Solver
			s.Solve(context.Background(), built.sys, built.env, tow.Options{})
			if !s.Linearize() {
				b.Fatal("no linear form")
			}
			sys, env := nudge(built, 0.03)
			b.ReportAllocs()
			for b.Loop() {
				if _, ok := s.Near(sys, env, tow.Options{}); !ok {
					b.Fatal("too far")
				}
			}
		})
	}
}
