package tackle

import (
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sternfan"
	"sternfan/internal/tier"
	"sternfan/scenario"
	"sternfan/unit"
)

func exampleScenarios(t *testing.T) map[string]*sternfan.Scenario {
	t.Helper()
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no examples", err)
	}
	out := map[string]*sternfan.Scenario{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		sc, _, err := scenario.DecodeWith(file, data, scenario.Options{Known: Known, List: Names})
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(file)] = sc
	}
	return out
}

// turns are the settings of a rod, each given another value.
var turns = map[string]func(s *sternfan.Settings, x float64){
	"line_out":   func(s *sternfan.Settings, x float64) { s.LineOut = sternfan.Of(unit.Length(5 + 60*x)) },
	"count_from": func(s *sternfan.Settings, x float64) { s.CountFrom = []string{"", "tip", "water"}[int(2.99*x)] },
	"colors":     func(s *sternfan.Settings, x float64) { s.Colors = sternfan.Of(0.5 + 9*x) },
	"section":    func(s *sternfan.Settings, x float64) { s.Section = sternfan.Of(unit.Length(10 + 80*x)) },
	"lead":       func(s *sternfan.Settings, x float64) { s.Lead = sternfan.Of(unit.Length(1 + 30*x)) },
	"lead_spread": func(s *sternfan.Settings, x float64) {
		s.Lead.Scatter, s.Lead.Source = sternfan.Rel(0.1*x), "taped"
	},
	"dial": func(s *sternfan.Settings, x float64) { s.Dial = sternfan.Of(4.5 * x) },
	"side": func(s *sternfan.Settings, x float64) {
		s.Side = []sternfan.Side{sternfan.Port, sternfan.Amidships, sternfan.Starboard}[int(2.99*x)]
	},
	"ring":       func(s *sternfan.Settings, x float64) { s.Ring = sternfan.Of(float64(int(1.99 * x))) },
	"tripped":    func(s *sternfan.Settings, x float64) { s.Tripped = x > 0.5 },
	"above_ball": func(s *sternfan.Settings, x float64) { s.AboveBall = sternfan.Of(unit.Length(20 * x)) },
	"along":      func(s *sternfan.Settings, x float64) { s.Along = sternfan.Of(unit.Length(30 * x)) },
	"set_load":   func(s *sternfan.Settings, x float64) { s.SetLoad = sternfan.Of(unit.Force(1 + 20*x)) },
	"trip_load":  func(s *sternfan.Settings, x float64) { s.TripLoad = sternfan.Of(unit.Force(10 + 20*x)) },
	"bottom":     func(s *sternfan.Settings, x float64) { s.Bottom = []string{"", "intended"}[int(1.99*x)] },
	"no_lead":    func(s *sternfan.Settings, _ float64) { s.Lead = sternfan.Q[unit.Length]{} },
	"no_line":    func(s *sternfan.Settings, _ float64) { s.LineOut = sternfan.Q[unit.Length]{} },
}

func turned(sc *sternfan.Scenario, rod int, turn string, x float64) *sternfan.Scenario {
	out := *sc
	out.Rods = slices.Clone(sc.Rods)
	turns[turn](&out.Rods[rod].Settings, x)
	return &out
}

// bare is a model without what only says where it came from.
func bare(m *Model) *Model {
	if m == nil {
		return nil
	}
	out := *m
	out.self, out.from, out.fresh = nil, nil, nil
	return &out
}

// between are edits that make one scenario of the other.
func between(was, sc *sternfan.Scenario) []sternfan.Edit {
	var out []sternfan.Edit
	note := func(same bool, owner, key string) {
		if !same {
			out = append(out, sternfan.Edit{Owner: owner, Key: key})
		}
	}
	note(was.Speed == sc.Speed, "speed", "value")
	note(reflect.DeepEqual(was.Water, sc.Water), "water", "fleas")
	note(reflect.DeepEqual(was.Calibrations, sc.Calibrations), "", "calibrations")
	note(len(was.Rods) == len(sc.Rods), "", "rods")
	for i := range min(len(was.Rods), len(sc.Rods)) {
		note(was.Rods[i].Settings == sc.Rods[i].Settings, "rods."+sc.Rods[i].ID, "settings.lead")
	}
	for i := range sc.Downriggers {
		note(was.Downriggers[i] == sc.Downriggers[i], "downriggers."+sc.Downriggers[i].ID, "cable_out")
	}
	for i := range sc.MastBoards {
		note(was.MastBoards[i] == sc.MastBoards[i], "mast_boards."+sc.MastBoards[i].ID, "line_out")
	}
	return out
}

// sameAsAnew checks that a change gives what resolving anew gives, to the last digit, and
// returns its model, nil when there are faults.
func sameAsAnew(t rapid.TB, what string, m *Model, was, sc *sternfan.Scenario) *Model {
	t.Helper()
	got, gotFaults := Changed(m, sc, between(was, sc))
	want, wantFaults := Resolve(sc)
	if !reflect.DeepEqual(gotFaults, wantFaults) {
		t.Fatalf("%s: faults\n%v\nanew\n%v", what, gotFaults, wantFaults)
	}
	if !reflect.DeepEqual(bare(got), bare(want)) {
		t.Fatalf("%s: the model is not the one made anew", what)
	}
	if groups, ok := got.since(m); ok {
		for g := range m.Groups {
			if !slices.Contains(groups, g) && !reflect.DeepEqual(m.Groups[g], got.Groups[g]) {
				t.Fatalf("%s: group %d is said to be what it was", what, g)
			}
		}
	}
	return got
}

func (m *Model) since(was *Model) ([]int, bool) {
	if m == nil {
		return nil, false
	}
	return m.Since(was)
}

// Every setting of every rod of the examples, changed alone: the model is the one made
// anew; and most are made quickly.
func TestChangedIsAnew(t *testing.T) {
	tier.Native(t)
	for name, sc := range exampleScenarios(t) {
		m, faults := Resolve(sc)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		quick, all := 0, 0
		count := func(got *Model) {
			if got == nil {
				return
			}
			all++
			if _, ok := got.Since(m); ok {
				quick++
			}
		}
		for rod := range sc.Rods {
			for turn := range turns {
				for _, x := range []float64{0.1, 0.4, 0.7, 0.95} {
					what := name + " " + sc.Rods[rod].ID + " " + turn
					count(sameAsAnew(t, what, m, sc, turned(sc, rod, turn, x)))
				}
			}
		}
		for i := range sc.Downriggers {
			for _, x := range []unit.Length{10, 22.5, 0.1} {
				out := *sc
				out.Downriggers = slices.Clone(sc.Downriggers)
				out.Downriggers[i].CableOut.Value = x
				count(sameAsAnew(t, name+" cable out", m, sc, &out))
			}
		}
		for i := range sc.MastBoards {
			out := *sc
			out.MastBoards = slices.Clone(sc.MastBoards)
			out.MastBoards[i].LineOut.Value *= 1.1
			count(sameAsAnew(t, name+" tow line", m, sc, &out))
		}
		// The rest is changed too, but not as quick.
		out := *sc
		out.Speed.Value.Value *= 1.1
		sameAsAnew(t, name+" speed", m, sc, &out)
		out.Speed.Band = 0.1
		sameAsAnew(t, name+" speed and band", m, sc, &out)
		out.Water.Fleas = "heavy"
		sameAsAnew(t, name+" fleas", m, sc, &out)
		out.Rods = slices.Clone(sc.Rods[1:])
		sameAsAnew(t, name+" a rod less", m, sc, &out)
		if quick < all/2 {
			t.Errorf("%s: only %d of %d changes were quick", name, quick, all)
		}
	}
}

// One change after another, the model of each made of the one before.
func TestChangedOften(t *testing.T) {
	tier.Native(t)
	sc := exampleScenarios(t)["summer.yaml"]
	first, faults := Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	var names []string
	for name := range turns {
		names = append(names, name)
	}
	slices.Sort(names)
	rapid.Check(t, func(t *rapid.T) {
		m, was := first, sc
		for range 6 {
			rod := rapid.IntRange(0, len(sc.Rods)-1).Draw(t, "rod")
			turn := rapid.SampledFrom(names).Draw(t, "setting")
			next := turned(was, rod, turn, rapid.Float64Range(0, 1).Draw(t, "value"))
			if rapid.IntRange(0, 4).Draw(t, "speed too") == 0 {
				next.Speed.Value.Value *= 1.05
			}
			if rapid.IntRange(0, 4).Draw(t, "calibrated") == 0 {
				entry := rapid.SampledFrom(m.Registry).Draw(t, "entry")
				next.Calibrations = append(slices.Clone(next.Calibrations), sternfan.Calibration{Name: entry.Name, Scale: 1.1, Dated: "2026-07-01"})
			}
			got := sameAsAnew(t, turn, m, was, next)
			if got == nil {
				continue
			}
			m, was = got, next
		}
	})
}
