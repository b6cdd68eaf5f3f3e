package tow_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/internal/reference/scipy"
	"sternfan/internal/towtest"
	"sternfan/tow"
)

// built is a fixture's system with the way back to its names.
type built struct {
	sys   *tow.System
	env   *tow.Env
	node  map[string]int
	lines map[string][]int // sections, lowest first
}

func vec(v scipy.Vector) geom.Vec { return towtest.Vec(v) }

func fromCase(t testing.TB, c *scipy.Case) built {
	t.Helper()
	r := towtest.FromCase(t, c, false)
	return built{r.Sys, r.Env, r.Node, r.Lines}
}

// TestAgainstSciPy solves every fixture at the default tolerance and asks for 0.1 % of
// depth, then at a tight one and asks for 1e-6 of depth.
func TestAgainstSciPy(t *testing.T) {
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i := range cases {
		c := &cases[i]
		for _, tight := range []bool{false, true} {
			name := c.ID + "/default"
			if tight {
				name = c.ID + "/tight"
			}
			t.Run(name, func(t *testing.T) {
				b := fromCase(t, c)
				var s tow.Solver
				opt := tow.Options{}
				tol := 1e-3
				if tight {
					opt.Tolerance, tol = 1e-7, 2e-6
				}
				if c.Bottom != nil {
					// Contact here is a penalty: bodies sink in 2 cm.
					tol = math.Max(tol, 0.02/c.Bottom.DepthM*1.5)
				}
				sol := s.Solve(context.Background(), b.sys, b.env, opt)
				if sol.Status != tow.Converged {
					t.Fatalf("%s after %d iterations, %d steps", sol.Status, sol.Iterations, sol.Steps)
				}
				deepest := 1.0
				for _, n := range c.Expected.Nodes {
					deepest = math.Max(deepest, n.PositionM[2])
				}
				for _, n := range c.Expected.Nodes {
					got, want := sol.Nodes[b.node[n.ID]], vec(n.PositionM)
					if d := math.Abs(got.Z - want.Z); d > tol*deepest {
						t.Errorf("%s depth %.6f, want %.6f: off %.2e of depth", n.ID, got.Z, want.Z, d/deepest)
					}
					side := 3.0
					if d := math.Hypot(got.X-want.X, got.Y-want.Y); d > side*tol*math.Max(deepest, s2(want)) {
						t.Errorf("%s at %.5f %.5f, want %.5f %.5f", n.ID, got.X, got.Y, want.X, want.Y)
					}
				}
				for _, l := range c.Expected.Lines {
					ids := b.lines[l.ID]
					p := sol.Samples[ids[len(ids)-1]]
					end := p[len(p)-1].F.Norm()
					if b.sys.Lines[ids[0]].Open {
						end = p[0].F.Norm()
					}
					if math.Abs(end-l.UpperTensionN) > 5*tol*(l.UpperTensionN+1) {
						t.Errorf("%s upper tension %.5f, want %.5f", l.ID, end, l.UpperTensionN)
					}
				}
			})
		}
	}
}

func s2(v geom.Vec) float64 { return math.Hypot(v.X, v.Y) }
