package engine_test

import (
	"math"
	"testing"

	"sternfan"
	"sternfan/engine"
)

// A way's changes, tried on the spread, put the lure where the way says: within the
// solver's tolerance, 0.1 % of depth.
func TestAim(t *testing.T) {
	given := engine.Given{Text: example(t, "summer.yaml")}
	var e engine.Engine
	const want = 15.24 // 50 ft
	got := do[sternfan.Aim](t, &e, "aim", engine.AimAsk{Given: given, Rod: "p-high", Depth: want, Top: 2})
	if len(got.Ways) == 0 {
		t.Fatal("no way to 50 ft")
	}
	for _, w := range got.Ways {
		tried := given
		tried.Set = w.Set
		s := do[engine.Spread](t, &e, "spread", engine.SpreadAsk{Given: tried})
		for _, track := range s.Tracks {
			if track.Rod == "p-high" && math.Abs(track.Lures[0].Depth-w.Lure.Depth) > 1e-3*w.Lure.Depth {
				t.Errorf("%s: %.3f m, the way says %.3f", w.Text, track.Lures[0].Depth, w.Lure.Depth)
			}
		}
	}
	if faults, _ := refused(t, &e, "aim", engine.AimAsk{Given: given, Rod: "nobody", Depth: want}); len(faults) != 1 || faults[0].Code != "unknown-rod" {
		t.Errorf("a rod that is not there: %v", faults)
	}
}

func TestOrder(t *testing.T) {
	given := engine.Given{Text: example(t, "class.yaml")}
	var e engine.Engine
	got := do[sternfan.AimAll](t, &e, "order", engine.OrderAsk{Given: given, Order: "down 5 ft"})
	if len(got.Rods) == 0 {
		t.Fatal("no rod was asked")
	}
	for _, m := range got.Rods {
		if m.Way == nil && m.Stays == "" {
			t.Errorf("%s neither moves nor says why it stays", m.Rod)
		}
	}
	if faults, _ := refused(t, &e, "order", engine.OrderAsk{Given: given, Order: "sideways 5 ft"}); faults[0].Code != "bad-order" {
		t.Errorf("no order at all: %v", faults)
	}
}

func TestLike(t *testing.T) {
	given := engine.Given{Text: example(t, "summer.yaml")}
	var e engine.Engine
	got := do[sternfan.AimLike](t, &e, "like", engine.LikeAsk{Given: given, Said: "wire, large, dial 2, 180ft"})
	if len(got.Taken) == 0 || len(got.Ways) == 0 || !(got.Lure.Depth > 0) {
		t.Errorf("understood %q as nothing: %+v", got.Said, got)
	}
}
