package tow_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/internal/reference/scipy"
	"sternfan/tow"
	"sternfan/unit"
	"sternfan/water"
)

// changed returns a copy of the case with every current replaced; still water becomes a
// current of one point, so that a velocity can be added to it.
func changed(c *scipy.Case, change func(geom.Vec) geom.Vec) *scipy.Case {
	out := *c
	out.Water.Current = append([]scipy.Current(nil), c.Water.Current...)
	if len(out.Water.Current) == 0 {
		out.Water.Current = []scipy.Current{{}}
	}
	for i := range out.Water.Current {
		p := &out.Water.Current[i]
		v := change(geom.Vec{X: p.XMPS, Y: p.YMPS})
		p.XMPS, p.YMPS = v.X, v.Y
	}
	return &out
}

// The rigs of every fixture, the coupled ones among them, mirrored, and with one velocity
// added to boat and water. Newton's differences are not mirrored to the last bit, so
// the tolerance of the solution is what is asked for.
func TestCoupledInvariants(t *testing.T) {
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	const tolerance = 1e-7
	for i := range cases {
		c := &cases[i]
		want := settleBuilt(t, fromCase(t, c), tolerance)
		compare := func(what string, b built, turn func(geom.Vec) geom.Vec) {
			t.Helper()
			got := settleBuilt(t, b, tolerance)
			size, worst := 1.0, 0.0
			for k := range want.nodes {
				size = max(size, want.nodes[k].Norm())
				worst = max(worst, got.nodes[k].Sub(turn(want.nodes[k])).Norm())
			}
			if !(worst <= 20*tolerance*size) {
				t.Errorf("%s %s: off by %g m of %g m", c.ID, what, worst, size)
			}
			if f := got.pull.Sub(turn(want.pull)).Norm(); !(f <= 50*tolerance*(1+want.pull.Norm())) {
				t.Errorf("%s %s: pull %v, want %v", c.ID, what, got.pull, turn(want.pull))
			}
		}
		if c.Bottom == nil { // the ground does not move with them
			compare("with a velocity added", fromCase(t, changed(c, func(v geom.Vec) geom.Vec {
				return v.Add(geom.Vec{X: -0.7, Y: 0.4})
			})), same)
		}
		m := fromCase(t, changed(c, geom.Vec.Mirror))
		for k := range m.sys.Nodes {
			n := &m.sys.Nodes[k]
			n.At = n.At.Mirror()
			for j := range n.Bodies {
				n.Bodies[j].Roll = -n.Bodies[j].Roll
			}
		}
		compare("mirrored", m, geom.Vec.Mirror)
	}
}

type outcome struct {
	nodes []geom.Vec
	pull  geom.Vec
}

func settleBuilt(t testing.TB, b built, tolerance float64) outcome {
	t.Helper()
	sol := settle(t, b.sys, b.env, tolerance)
	return outcome{append([]geom.Vec(nil), sol.Nodes...), pullAtRoot(b.sys, sol)}
}

// drawRigger draws a ball on wire with a fishing line up to a rod that keeps enough pull.
func drawRigger(t *rapid.T) (*tow.System, *tow.Env) {
	sys := riggerWith(span(t, "pull", 6, 25))
	sys.Nodes[0].Bodies[0] = ball(span(t, "kg", 3, 8))
	sys.Nodes[2].At = geom.Vec{X: span(t, "boom x", -1, 0), Y: span(t, "boom y", -2, 2), Z: -span(t, "boom height", 0.3, 1.5)}
	sys.Nodes[3].At = geom.Vec{X: span(t, "tip x", -0.5, 1), Y: span(t, "tip y", -3, 3), Z: -span(t, "tip height", 0.5, 3)}
	sys.Lines[1].Length, sys.Lines[3].Length = span(t, "cable", 4, 25), span(t, "lead", 2, 15)
	current, err := water.NewCurrent([]water.CurrentPoint{
		{Depth: 0, Speed: unit.Speed(span(t, "c0", 0, 0.3)), Set: unit.Angle(span(t, "set0", -3, 3))},
		{Depth: 10, Speed: unit.Speed(span(t, "c1", 0, 0.3)), Set: unit.Angle(span(t, "set1", -3, 3))},
	})
	if err != nil {
		t.Fatal(err)
	}
	col, err := water.NewColumn(water.Spec{Rho: 999, Nu: 1.2e-6, Current: current})
	if err != nil {
		t.Fatal(err)
	}
	return sys, &tow.Env{Water: col, Speed: span(t, "speed", 0.5, 1.3)}
}

// In a downrigger with its rod: loads sum to the pulls of both fixed ends, the rod keeps
// its pull, the lines meet, and a split changes nothing.
func TestRandomRiggers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const tolerance = 1e-8
		sys, env := drawRigger(t)
		w := world{sys: sys}
		sol := w.solveIn(t, env, tolerance)
		var sum geom.Vec
		size := 0.0
		add := func(f geom.Vec) { sum, size = sum.Add(f), size+f.Norm() }
		for i := range sys.Nodes {
			if sys.Nodes[i].Kind != tow.Fixed {
				add(loadsAt(sys.Nodes[i].Bodies, env, sol.Nodes[i].Z))
			}
		}
		for i, l := range sys.Lines {
			p := sol.Samples[i]
			for k := 1; k < len(p); k++ {
				add(segmentLoad(&l.Props, env, p[k-1], p[k]))
			}
			ends := [2]geom.Vec{p[0].R, p[len(p)-1].R}
			for k, node := range [2]int{l.From, l.To} {
				if d := ends[k].Sub(sol.Nodes[node]).Norm(); !(d <= 100*tolerance*30) {
					t.Fatalf("line %d ends %g m from node %d", i, d, node)
				}
			}
		}
		// The default tolerance holds what it promises.
		var quick tow.Solver
		if q := quick.Solve(context.Background(), sys, env, tow.Options{}); q.Status != tow.Converged {
			t.Fatalf("%s at the default tolerance", q.Status)
		} else {
			for i := range sys.Nodes {
				if d := math.Abs(q.Nodes[i].Z - sol.Nodes[i].Z); !(d <= 1e-3*sol.Nodes[0].Z) {
					t.Fatalf("node %d at %g m at the default tolerance, %g m", i, q.Nodes[i].Z, sol.Nodes[i].Z)
				}
			}
		}
		// The rod's line begins at the rod: what it pulls there is the rod's force reversed.
		rod := sol.Samples[2][0].F
		if d := pullAtRoot(sys, sol).Sub(rod).Add(sum).Norm(); !(d <= 2e-5*size) {
			t.Fatalf("pulls %v and %v, loads %v", pullAtRoot(sys, sol), rod, sum)
		}
		if math.Abs(rod.Norm()/sys.Pull[3]-1) > 1e-9 {
			t.Fatalf("the rod pulls %g N, set to %g N", rod.Norm(), sys.Pull[3])
		}
		if drop := sol.Nodes[1].Z - sol.Nodes[0].Z; drop > 0 || sol.Length[2] < sol.Nodes[1].Sub(sys.Nodes[3].At).Norm()*(1-0.1) {
			t.Fatalf("ball %v, release %v, %g m of line", sol.Nodes[0], sol.Nodes[1], sol.Length[2])
		}
		split := copySystem(sys)
		split.Nodes = append(split.Nodes, tow.Node{})
		split.Pull = append(append([]float64(nil), sys.Pull...), 0)
		upper := split.Lines[1]
		part := span(t, "part", 0.1, 0.9)
		upper.From, upper.Length = len(split.Nodes)-1, upper.Length*(1-part)
		split.Lines[1].To, split.Lines[1].Length = len(split.Nodes)-1, split.Lines[1].Length*part
		split.Lines = append(split.Lines, upper)
		ws := world{sys: split}
		got := ws.solveIn(t, env, tolerance)
		for i := range sys.Nodes {
			if d := got.Nodes[i].Sub(sol.Nodes[i]).Norm(); !(d <= 100*tolerance*30) {
				t.Fatalf("node %d at %v, unsplit %v", i, got.Nodes[i], sol.Nodes[i])
			}
		}
	})
}
