package spread_test

import (
	"sternfan/internal/exampletest"

	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/spread"
)

// Two releases on one cable are 5 ft or more apart, assumed; what counts are the settings, of
// which the default is 0.5 m.
func TestReleasesTooNear(t *testing.T) {
	for _, c := range []struct {
		lower, upper string
		near         bool
	}{
		{"above_ball: 4 ft", "above_ball: 8.5 ft", true},
		{"above_ball: 4 ft", "above_ball: 9 ft", false},
		{"above_ball: 4 ft", "above_ball: 20 ft", false},
		{"set_load: 2 lbf", "above_ball: 2.5 m", false},
		{"set_load: 2 lbf", "above_ball: 1 m", true},
	} {
		const rig = "{kind: downrigger, line: mono-17, downrigger: d, behind: [{lure: spoon-standard}]}"
		text := scene(2.5, rig, "{"+c.lower+", lead: 20 ft}", "downriggers: [{id: d, boom: b, cable: rigger-cable-150, ball: ball-round-10, cable_out: 60 ft}]") +
			fmt.Sprintf("  - {id: s, holder: h, rig: %s, settings: {%s, lead: 20 ft}}\n", rig, c.upper)
		fan, err := spread.Solve(context.Background(), exampletest.Parse(t, "stacked", []byte(text)), spread.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range fan.Rods {
			i := slices.IndexFunc(r.Warnings, func(w sternfan.Warning) bool { return w.Code == "stacked-close" })
			if near := i >= 0; near != c.near || near && !strings.Contains(r.Warnings[i].Text, "less than 5 ft") {
				t.Errorf("%s and %s: rod %s is told %v", c.lower, c.upper, r.Rod, r.Warnings)
			}
		}
	}
}
