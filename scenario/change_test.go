package scenario_test

import (
	"math"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/unit"
)

func spreadToChange() *sternfan.Scenario {
	return &sternfan.Scenario{
		Downriggers: []sternfan.Downrigger{{ID: "other"}, {ID: "dr", CableOut: sternfan.Of(60 * unit.Foot)}},
		Rods: []sternfan.Rod{
			{ID: "high", Rig: sternfan.Rig{Parts: []sternfan.Part{{Kind: sternfan.PartRelease, On: "dr"}, {Kind: sternfan.PartLure, Gear: "spoon-light"}}}},
			{ID: "chute", Rig: sternfan.Rig{Parts: []sternfan.Part{{Kind: sternfan.PartLine, Gear: "mono-17"}, {Kind: sternfan.PartLure, Gear: "spoon-light"}}},
				Settings: sternfan.Settings{LineOut: sternfan.Q[unit.Length]{Value: 90 * unit.Foot, Given: true, Scatter: sternfan.Rel(.03), Source: "counter"}}},
		},
	}
}

// A new value is the person's; what was said of how well it is known stays.
func TestChangeRod(t *testing.T) {
	sc := spreadToChange()
	parts := sc.Rods[1].Rig.Parts
	for _, change := range []string{"line_out=120 ft", "section = 50ft", "ring=on", "side=port", "lure=plug-deep"} {
		if err := scenario.ChangeRod(sc, &sc.Rods[1], change); err != nil {
			t.Fatal(change, err)
		}
	}
	if err := scenario.ChangeRod(sc, &sc.Rods[0], "cable_out=21 m"); err != nil {
		t.Fatal(err)
	}
	want := sternfan.Settings{
		LineOut: sternfan.Q[unit.Length]{Value: 120 * unit.Foot, Given: true, Scatter: sternfan.Rel(.03), Source: "counter"},
		Section: sternfan.Of(50 * unit.Foot), Ring: sternfan.Of(1.0), Side: sternfan.Port,
	}
	got := sc.Rods[1].Settings
	if math.Abs(float64(got.LineOut.Value-want.LineOut.Value)) > 1e-12 || math.Abs(float64(got.Section.Value-want.Section.Value)) > 1e-12 {
		t.Errorf("lengths are %v and %v", got.LineOut.Value, got.Section.Value)
	}
	got.LineOut.Value, got.Section.Value = want.LineOut.Value, want.Section.Value
	if got != want {
		t.Errorf("settings are %+v, want %+v", got, want)
	}
	if sc.Rods[1].Rig.Parts[1].Gear != "plug-deep" || parts[1].Gear != "spoon-light" {
		t.Error("the lure was not changed, or it was changed in the parts that were given too")
	}
	if sc.Downriggers[1].CableOut.Value != 21 || sc.Downriggers[0].CableOut.Given {
		t.Errorf("cables are %+v", sc.Downriggers)
	}
}

func TestChangeRodRefuses(t *testing.T) {
	for change, code := range map[string]string{
		"line_out=120": "missing-unit", "line_out=": "bad-flag", "line_out": "bad-flag", "": "bad-flag", "lead_out=12 ft": "unknown-key",
		"dial=2.3": "out-of-range", "side=up": "unknown-value", "cable_out=50 ft": "conflict", "lure=../x": "bad-id", "line_out=-4 ft": "out-of-range",
	} {
		sc := spreadToChange()
		err := scenario.ChangeRod(sc, &sc.Rods[1], change)
		faults, ok := err.(sternfan.Faults)
		if !ok || len(faults) != 1 || faults[0].Code != code || !strings.HasPrefix(change, faults[0].File) {
			t.Errorf("%q: %v, want one fault %s that names the change", change, err, code)
		}
	}
}
