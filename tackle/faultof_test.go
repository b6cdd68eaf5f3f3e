package tackle_test

import (
	"os"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/unit"
)

// A fault found in a rod's or a device's gear and settings says whose they are, one in the
// water or in what is known of the boat is nobody's.
func TestFaultsSayWhose(t *testing.T) {
	text, err := os.ReadFile("../examples/summer.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, of string
		spoil    func(sc *sternfan.Scenario)
	}{
		{"a mark that the dial does not have", "p-low", func(sc *sternfan.Scenario) { sc.Rod("p-low").Settings.Dial = sternfan.Of(9.0) }},
		{"a reel that there is not", "s-high", func(sc *sternfan.Scenario) { sc.Rod("s-high").Reel = "reel-of-nobody" }},
		{"a holder that there is not", "chute", func(sc *sternfan.Scenario) { sc.Rod("chute").Holder = "mast" }},
		{"a release above the cable's end", "p-stack", func(sc *sternfan.Scenario) { sc.Rod("p-stack").Settings.AboveBall = sternfan.Of[unit.Length](100) }},
		{"a downrigger that there is not", "s-rigger", func(sc *sternfan.Scenario) { sc.Rod("s-rigger").Rig.Downrigger = "dr-none" }},
		{"a cable of no length", "dr-center", func(sc *sternfan.Scenario) { sc.Downriggers[1].CableOut = sternfan.Of[unit.Length](0.01) }},
		{"water that boils", "", func(sc *sternfan.Scenario) { sc.Water.Temperature[0].Temperature = 100 }},
		{"a number that there is not", "", func(sc *sternfan.Scenario) { sc.Calibrations = []sternfan.Calibration{{Name: "rod p-low luck"}} }},
	} {
		sc, _, err := scenario.DecodeWith("summer.yaml", text, scenario.Options{Known: tackle.Known})
		if err != nil {
			t.Fatal(err)
		}
		row.spoil(sc)
		_, faults := tackle.Resolve(sc)
		if len(faults) == 0 {
			t.Errorf("%s: no fault", row.name)
		}
		for _, f := range faults {
			if f.Of != row.of {
				t.Errorf("%s: of %q, want %q: %v", row.name, f.Of, row.of, f)
			}
		}
	}
}
