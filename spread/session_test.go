package spread_test

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

// tried returns the model of the demonstration with changes tried on it.
func tried(t testing.TB, set ...string) *tackle.Model {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "examples", "summer.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	sc, _, err := scenario.DecodeWith("summer.yaml", data, scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set})
	if err != nil {
		t.Fatal(err)
	}
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return m
}

// A settled session is what a fresh solution is, to the last digit, whatever was dragged
// about before.
func TestSessionSettles(t *testing.T) {
	s := spread.NewSession(spread.Options{})
	for _, set := range [][]string{
		nil,
		{"rods.p-high.settings.line_out=170 ft"},
		{"rods.p-high.settings.line_out=170 ft", "rods.p-stack.settings.lead=30 ft"},
		{"speed.value=2.3mph"},
	} {
		m := tried(t, set...)
		for _, out := range []string{"150 ft", "163 ft", "171 ft"} {
			if _, err := s.Move(t.Context(), tried(t, append(slices.Clone(set), "rods.s-high.settings.line_out="+out)...)); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := s.Move(t.Context(), m); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Settle(t.Context(), m, false); err != nil {
			t.Fatal(err)
		}
		want, err := spread.Solve(t.Context(), m, spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Fan(); !reflect.DeepEqual(got, want) {
			t.Errorf("%v: the session's fan is not the fresh one", set)
		}
	}
}

// Intervals too are those of a fresh solution, and are kept where nothing changed.
func TestSessionIntervals(t *testing.T) {
	s := spread.NewSession(spread.Options{})
	first := []string{"rods.p-high.settings.line_out=170 ft"}
	var last []int
	for _, set := range [][]string{nil, first} {
		if _, err := s.Move(t.Context(), tried(t, set...)); err != nil {
			t.Fatal(err)
		}
		changed, err := s.Settle(t.Context(), tried(t, set...), true)
		if err != nil {
			t.Fatal(err)
		}
		last = changed
	}
	if len(last) != 1 {
		t.Errorf("groups %v were worked on for one rod's change", last)
	}
	want, err := spread.Solve(t.Context(), tried(t, first...), spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Fan(); !reflect.DeepEqual(got, want) {
		t.Error("the session's intervals are not the fresh ones")
	}
}

// A dragged rod is where a fresh solution has it, within the solver's tolerance: 1e-3 of
// the depth and as much of the length for side and astern; only its group is solved.
func TestSessionMoves(t *testing.T) {
	s := spread.NewSession(spread.Options{})
	if _, err := s.Settle(t.Context(), tried(t), false); err != nil {
		t.Fatal(err)
	}
	for _, set := range []string{
		"rods.p-high.settings.line_out=161 ft", "rods.p-high.settings.line_out=190 ft", "rods.p-high.settings.line_out=90 ft",
		"rods.p-board.settings.line_out=130 ft", "rods.s-slide.settings.lead=45 ft", "downriggers.dr-port.cable_out=70 ft",
		"rods.center.settings.lead=25 ft", "rods.s-low.settings.dial=2", "rods.chute.settings.line_out=320 ft",
	} {
		m := tried(t, set)
		changed, err := s.Move(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		// The rod dragged last goes back, the next one moves.
		if len(changed) < 1 || len(changed) > 2 {
			t.Errorf("%s: groups %v were solved", set, changed)
		}
		want, err := spread.Solve(t.Context(), m, spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range changed {
			rods, _ := s.Tracks(g)
			for _, got := range rods {
				near(t, set, got, want)
			}
		}
	}
}

func near(t *testing.T, set string, got *sternfan.Track, fan *sternfan.Fan) {
	t.Helper()
	for i := range fan.Rods {
		want := &fan.Rods[i]
		if want.Rod != got.Rod {
			continue
		}
		if got.Status != want.Status || len(got.Lures) != len(want.Lures) {
			t.Errorf("%s: rod %s is %s, fresh %s", set, got.Rod, got.Status, want.Status)
			return
		}
		for k, l := range got.Lures {
			w := want.Lures[k]
			tol := 2e-3 * (1 + math.Abs(w.Depth))
			if math.Abs(l.Depth-w.Depth) > tol || math.Abs(l.Side-w.Side) > 2e-3*(1+w.Astern) || math.Abs(l.Astern-w.Astern) > 2e-3*(1+w.Astern) {
				t.Errorf("%s: rod %s at %.4f %.4f %.4f, fresh %.4f %.4f %.4f", set, got.Rod, l.Depth, l.Side, l.Astern, w.Depth, w.Side, w.Astern)
			}
		}
		return
	}
	t.Errorf("%s: no rod %s", set, got.Rod)
}

// One step of a drag: the changed rod's group, warm.
func BenchmarkSessionMove(b *testing.B) {
	s := spread.NewSession(spread.Options{})
	models := []*tackle.Model{tried(b, "rods.p-high.settings.line_out=160 ft"), tried(b, "rods.p-high.settings.line_out=161 ft")}
	if _, err := s.Settle(b.Context(), models[0], false); err != nil {
		b.Fatal(err)
	}
	i := 0
	for b.Loop() {
		i++
		if _, err := s.Move(b.Context(), models[i%2]); err != nil {
			b.Fatal(err)
		}
	}
}
