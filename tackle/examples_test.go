package tackle

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"sternfan/scenario"
	"sternfan/tow"
)

// Every example resolves and has an answer, and its expanded form, written and read back,
// is the same model.
func TestExamples(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no examples", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		sc, _, err := scenario.DecodeWith(file, data, scenario.Options{Known: Known, List: Names})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		m, faults := Resolve(sc)
		if len(faults) > 0 {
			t.Errorf("%s:\n%v", file, faults)
			continue
		}
		env := m.Env(nil)
		for g := range m.Groups {
			var sys tow.System
			var solver tow.Solver
			m.Build(g, nil, &sys)
			s := solver.Solve(context.Background(), &sys, &env, tow.Options{})
			if s.Status != tow.Converged && m.Groups[g].Slides() {
				m.BuildStopped(g, nil, &sys)
				solver.Reset()
				s = solver.Solve(context.Background(), &sys, &env, tow.Options{})
			}
			if s.Status != tow.Converged {
				t.Errorf("%s, group %d: %v after %d iterations", file, g, s.Status, s.Iterations)
			}
		}
		out, err := scenario.Encode(m.Scenario)
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := scenario.DecodeWith("expanded", out, scenario.Options{Known: Known, List: Names})
		if err != nil {
			t.Errorf("%s expanded: %v", file, err)
			continue
		}
		m2, faults := Resolve(again)
		if len(faults) > 0 {
			t.Errorf("%s expanded:\n%v", file, faults)
			continue
		}
		if a, b := describe(m), describe(m2); a != b {
			t.Errorf("%s: expanded it differs\n%s\nthen\n%s", file, a, b)
		}
	}
}
