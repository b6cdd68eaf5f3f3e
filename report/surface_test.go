package report

import (
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// What rides at the surface or hangs above it has no negative depth.
func TestSurfaceWords(t *testing.T) {
	for _, c := range []struct {
		kind          string
		depth, lo, hi float64 // m
		number, span  string
	}{
		{"board", 0.1, 0.05, 0.15, "0", ""},
		{"mast", -0.2, -0.25, -0.1, "0", ""},
		{"board", 0.1, 0, 1.5, "0", "0-5"}, // it may be pulled under
		{"board", 3.048, 2.4384, 3.6576, "10", "8-12"},
		{"release", -1.5, -1.7, -1.3, "above", ""},
		{"release", -0.3, -1, 0.61, "above", "0-2"},
		{"lure", -0.01, -0.4, 0.61, "0", "0-2"},
		{"lure", 0.61, -0.3, 1.524, "2", "0-5"},
	} {
		b := &sternfan.BodyFan{Kind: c.kind, Depth: c.depth, DepthLo: c.lo, DepthHi: c.hi}
		if got := depthNumber(unit.US, b); got != c.number {
			t.Errorf("%s at %g m: depth %q, want %q", c.kind, c.depth, got, c.number)
		}
		if got := spanNumber(unit.US, b); got != c.span {
			t.Errorf("%s at %g m: interval %q, want %q", c.kind, c.depth, got, c.span)
		}
		if got := where(unit.US, b); strings.Contains(got, "-0") || strings.Contains(got, "--") || strings.HasPrefix(got, "-") {
			t.Errorf("%s at %g m: %q", c.kind, c.depth, got)
		}
	}
}

// Gear that is built in is in no scenario; its cautions are due all the same.
func TestCautionsOfBuiltInLines(t *testing.T) {
	for line, want := range map[string]string{
		"wire-30":      "Wire and copper under load cut",
		"copper-32":    "Wire and copper under load cut",
		"lead-core-18": "Lead core under load cuts",
	} {
		sc := &sternfan.Scenario{Rods: []sternfan.Rod{{ID: "r", Rig: sternfan.Rig{Line: line}}}}
		if got := strings.Join(Cautions(&sternfan.Fan{}, sc), "\n"); !strings.Contains(got, want) {
			t.Errorf("%s: no caution %q in\n%s", line, want, got)
		}
	}
	sc := &sternfan.Scenario{Rods: []sternfan.Rod{{ID: "r", Rig: sternfan.Rig{Line: "braid-50"}}}}
	if got := Cautions(&sternfan.Fan{}, sc); len(got) != 1 {
		t.Errorf("braid: %q", got)
	}
}
