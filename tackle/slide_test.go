package tackle

import (
	"context"
	"math"
	"testing"

	"sternfan"
	"sternfan/tow"
	"sternfan/unit"
)

// A free slider rests where the pulls of the line on both its sides are the same, if the
// line has a belly; on a taut line that leans astern all the way down it lies against the
// release.
func TestSlider(t *testing.T) {
	place := func(load unit.Force, stopped bool) (*tow.Solution, *Model) {
		sc := boat()
		downrigger(spoon(6), 4)(sc, sternfan.Port)
		sc.Rods[0].Settings.SetLoad = sternfan.Of(load)
		m := resolve(t, sc)
		if !m.Groups[0].Slides() {
			t.Fatal("the group has no slider")
		}
		var sys tow.System
		env := m.Env(nil)
		if m.Build(0, nil, &sys); stopped {
			m.BuildStopped(0, nil, &sys)
		}
		var solver tow.Solver
		return solver.Solve(context.Background(), &sys, &env, tow.Options{Tolerance: 1e-4}), m
	}
	find := func(m *Model, kind string) int {
		for i, n := range m.Groups[0].Nodes {
			if n.Kind == kind {
				return i
			}
		}
		t.Fatalf("there is no %s", kind)
		return 0
	}

	sol, m := place(4, false)
	if sol.Status != tow.Converged {
		t.Fatal(sol.Status)
	}
	slider, clip := find(m, "slider"), find(m, "release")
	if z := sol.Nodes[slider].Z; !(z > 2 && z < sol.Nodes[clip].Z-2) {
		t.Errorf("the slider rests at %g m, the release is at %g m", z, sol.Nodes[clip].Z)
	}
	lines := m.Rods[0].Lines
	_, above := sol.Pull(lines[0])
	below, _ := sol.Pull(lines[1])
	// The solver balances a ring far within that.
	if math.Abs(above-below) > 1e-3*above {
		t.Errorf("pull %g N above the slider, %g N below", above, below)
	}

	if sol, _ = place(13, false); sol.Status == tow.Converged {
		t.Errorf("a slider rests on a taut line at %v", sol.Nodes[slider])
	}
	sol, _ = place(13, true)
	if sol.Status != tow.Converged {
		t.Fatal(sol.Status)
	}
	// Its short line stretches by the rod's pull over EA; the ends meet within 0.1 mm.
	want := stopLength * (1 + 13/builtLine(t, "mono-20").Stiffness.SI())
	if d := sol.Nodes[slider].Sub(sol.Nodes[clip]).Norm(); math.Abs(d-want) > 2e-4 {
		t.Errorf("the stopped slider is %g m from the release, want %g m", d, want)
	}
}
