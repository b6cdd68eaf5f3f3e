//go:build !js

package engine_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/engine"
)

// Counts are compared by themselves: twice the strikes in the same hours is a ratio of 2.
func TestRates(t *testing.T) {
	var e engine.Engine
	got := do[engine.RatesAnswer](t, &e, "rates", engine.RatesAsk{Counts: []string{"bright=14/61h", "7/61h"}})
	if len(got.Rates) != 1 || len(got.Rates[0].Contrasts) != 1 || got.Rates[0].Contrasts[0].Events.Ratio != 2 || got.Rates[0].Levels[0].Level != "bright" {
		t.Errorf("%+v", got.Rates)
	}
}

// What is wrong with a question is said of its member, and the file is not blamed.
func TestAskFaults(t *testing.T) {
	var e engine.Engine
	given := engine.Given{Text: example(t, "class.yaml")}
	far := 9000.0
	for _, c := range []struct {
		op     string
		ask    any
		member string
	}{
		{"rates", engine.RatesAsk{Counts: []string{"14"}}, "counts"},
		{"rates", engine.RatesAsk{Counts: []string{"14/61h", "7/61h"}, Looked: -1}, "looked"},
		{"fired", engine.FiredAsk{Last: 0}, "last"},
		{"plan", engine.PlanAsk{Compare: "diver.color", Levels: []string{"bright"}, Rods: []string{"port"}}, ""},
		{"calibrations", engine.CalibrationsAsk{Given: given, Undo: true, Off: "x"}, ""},
		{"depth", engine.DepthAsk{Given: given, Since: "June"}, "since"},
		{"turn", engine.TurnAsk{Given: given, Angle: new(-1.0)}, "angle_rad"},
		{"turn", engine.TurnAsk{Given: given, Radius: &far, Angle: new(6.0)}, ""},
		{"turn", engine.TurnAsk{Given: given, Radius: new(60.0), Rate: new(0.1)}, "rate_radps"},
		{"turn", engine.TurnAsk{Given: given, Event: "dance"}, "event"},
		{"turn", engine.TurnAsk{Given: given, Event: "strike"}, "event"},
		{"turn", engine.TurnAsk{Given: given, Event: "stop", Track: []engine.TrackFix{{}}}, "track"},
		{"turn", engine.TurnAsk{Given: given, Track: []engine.TrackFix{{}, {T: 1, North: 900}}}, "track"},
		{"tightest", engine.TurnAsk{Given: given, Event: "stop"}, "event"},
		{"turn", engine.TurnAsk{Given: given, Worlds: -3}, "worlds"},
	} {
		faults, failed := refused(t, &e, c.op, c.ask)
		if len(faults) != 1 || faults[0].Code != engine.AskFault || faults[0].Path != c.member || faults[0].Line != 0 {
			t.Errorf("%s %+v: %+v %s, want member %q", c.op, c.ask, faults, failed, c.member)
		}
	}
}

// A line for each calibration; switched off, the file says so and keeps its comments.
func TestCalibrations(t *testing.T) {
	var e engine.Engine
	measured, err := os.ReadFile(filepath.Join("..", "examples", "measurements.csv"))
	if err != nil {
		t.Fatal(err)
	}
	given := engine.Given{Text: example(t, "summer.yaml")}
	learnt := do[engine.DepthAnswer](t, &e, "depth", engine.DepthAsk{Given: given, Measured: &engine.Table{Name: "day.csv", Text: string(measured)}})
	if learnt.Fit == nil || len(learnt.Fit.Save) == 0 || !strings.HasPrefix(learnt.Text, given.Text[:200]) {
		t.Fatal("nothing was learnt, or the file is another")
	}
	given.Text = learnt.Text
	all := do[engine.CalibrationsAnswer](t, &e, "calibrations", engine.CalibrationsAsk{Given: given})
	if len(all.Lines) != len(learnt.Fit.Save) || all.Text != "" {
		t.Errorf("%d lines for %d calibrations", len(all.Lines), len(learnt.Fit.Save))
	}
	undone := do[engine.CalibrationsAnswer](t, &e, "calibrations", engine.CalibrationsAsk{Given: given, Undo: true})
	if strings.Contains(undone.Text, "calibrations:") || len(undone.Lines) != 0 {
		t.Errorf("after undoing: %q", undone.Lines)
	}
}

// A profile given with the question is the water's, and one that the file names is asked for.
func TestProfileBeside(t *testing.T) {
	given := engine.Given{Text: strings.Replace(example(t, "class.yaml"), "temperature: 54 F", "profile: deep.csv", 1)}
	profile := engine.ProfileAsk{Name: "a/deep.csv", Text: "depth ft,temp F\n0,60\n100,45\n"}
	asked := ""
	e := engine.Engine{Beside: func(path string) (engine.ProfileAsk, bool, error) { asked = path; return profile, true, nil }}
	sc, err := e.Read(&given)
	if err != nil || asked != "deep.csv" || len(sc.Water.Temperature) != 2 || !strings.HasPrefix(sc.Water.Measured, "deep.csv") {
		t.Errorf("%v, asked for %q, %+v", err, asked, sc)
	}
	e = engine.Engine{Beside: func(string) (engine.ProfileAsk, bool, error) { return engine.ProfileAsk{Name: "x"}, false, nil }}
	if faults, _ := refused(t, &e, "spread", engine.SpreadAsk{Given: given}); len(faults) == 0 || faults[0].Path != "water.profile" {
		t.Errorf("%+v", faults)
	}
}

func TestSchema(t *testing.T) {
	var e engine.Engine
	var schema map[string]any
	if err := json.Unmarshal([]byte(do[engine.FileText](t, &e, "schema", nil).Text), &schema); err != nil || schema["$schema"] == nil {
		t.Errorf("%v, %d members", err, len(schema))
	}
}
