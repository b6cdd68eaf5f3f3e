package report

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

func aimWay(text string, out, depth float64) sternfan.Way {
	const foot = float64(unit.Foot)
	w := sternfan.Way{Text: text, Vary: "line-out", Exact: out * foot, Depth: depth * foot, LineOut: out * foot, TipPull: 20, Status: sternfan.StatusOK,
		Settings: []sternfan.WaySetting{{Key: "dial", Value: 2, Text: "dial 2 port"}, {Key: "line-out", Value: out * foot, Text: text, Changed: true}},
		Set:      []string{"rods.p.settings.line_out=148ft"},
		Slower:   &sternfan.WayAt{Speed: 1.0, Depth: (depth + 2) * foot, DepthLo: (depth - 7) * foot, DepthHi: (depth + 9) * foot},
		Faster:   &sternfan.WayAt{Speed: 1.2, Depth: (depth - 2) * foot, DepthLo: (depth - 10) * foot, DepthHi: (depth + 5) * foot, Status: "trip"}}
	w.Lure = sternfan.LureFan{BodyFan: sternfan.BodyFan{ID: "lure-1", Kind: "spoon", Depth: depth * foot, DepthLo: (depth - 8) * foot, DepthHi: (depth + 7) * foot, Side: -40 * foot, Astern: 120 * foot}}
	return w
}

// What people read of an aim, its changes and its limits, in golden files.
func TestGoldenAim(t *testing.T) {
	const foot = float64(unit.Foot)
	sc := &sternfan.Scenario{Boat: sternfan.Boat{Holders: []sternfan.Holder{{ID: "h", Position: "port low diver"}, {ID: "g", Position: "chute"}}},
		Rods:  []sternfan.Rod{{ID: "p", Holder: "h", Rig: sternfan.Rig{Line: "wire-30"}}, {ID: "c", Holder: "g", Rig: sternfan.Rig{Line: "mono-20"}}},
		Water: sternfan.Water{Bottom: sternfan.Of(70 * unit.Foot)}}
	opt := Options{Scenario: sc}
	now := aimWay("dial 2 port, let out 130 ft", 130, 58)
	side := 40 * foot
	reached := &sternfan.Aim{Rod: "p", Depth: 65 * foot, Side: &side, Now: &now, Found: 3, Finished: true, Ways: []sternfan.Way{aimWay("dial 2 port, let out 148 ft", 148, 65), aimWay("dial 1 port, let out 131 ft", 131, 64.8)}}
	reached.Ways[0].Others = []sternfan.WayOther{{Rod: "c", Lure: "lure-1", From: 40 * foot, Depth: 45 * foot, DepthLo: 41 * foot, DepthHi: 48 * foot}}
	reached.Ways[1].Warnings = []sternfan.Warning{{Code: "near-trip", Text: "9 lb of steady pull is close to the diver's trip load of 11 lb"}}
	end, other := aimWay("dial 0, let out 600 ft", 600, 50), aimWay("dial 0, let out 300 ft", 300, 65)
	beyond := &sternfan.Aim{Finished: true, Rod: "p", Depth: 65 * foot, Kept: []string{"ring"}, Limit: &sternfan.AimLimit{Depth: 50 * foot, Why: "the spool ends", Way: &end},
		Changes: []sternfan.AimChange{{Kind: "speed", Text: "slower: 1.8 mph for 2.4 mph", Way: &other}, {Kind: "diver", Text: "a larger diver: diver-large for diver-small", Buy: true, Way: &other}}}
	way := reached.Ways[0]
	all := &sternfan.AimAll{Finished: true, Order: "down 10ft", Rods: []sternfan.AimMove{{Rod: "p", From: 55 * foot, FromLo: 50 * foot, FromHi: 61 * foot, Want: 65 * foot, To: way.Lure, Way: &way}, {Rod: "c", From: 20 * foot, FromLo: 18 * foot, FromHi: 21 * foot, To: end.Lure, Stays: "the file fixes it"}},
		Close: []sternfan.AimGap{{Gap: sternfan.Gap{A: "p", B: "c", Horizontal: 3 * foot, Vertical: foot, AtA: [3]float64{-40, 0, 10}, Ratio: .4}, Why: "neither can move"}},
		Tight: []sternfan.Gap{{A: "p", B: "hull", Ratio: .8}}}
	all.Rods[0].Short = "it would come too near the chute"
	like := &sternfan.AimLike{Finished: true, Said: "wire", Taken: []string{"wire-30", "dial 2"}, Assumed: []string{"ring off", "this boat's water"}, Lure: way.Lure, Ways: []sternfan.Aim{*reached, *beyond}}
	for file, write := range map[string]func(b *bytes.Buffer) error{
		"aim.txt":        func(b *bytes.Buffer) error { return AimTable(b, reached, opt) },
		"aim-si.txt":     func(b *bytes.Buffer) error { return AimTable(b, reached, Options{Scenario: sc, Units: unit.SI}) },
		"aim-beyond.txt": func(b *bytes.Buffer) error { return AimTable(b, beyond, opt) },
		"aim-all.txt":    func(b *bytes.Buffer) error { return AimAllTable(b, all, opt) },
		"aim-like.txt":   func(b *bytes.Buffer) error { return AimLikeTable(b, like, opt) },
		"aim.json":       func(b *bytes.Buffer) error { return JSON(b, reached) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(file, err)
		}
		golden(t, file, b.Bytes())
		if first, _, _ := strings.Cut(b.String(), "\n"); strings.HasSuffix(file, ".txt") && len(first) > 100 {
			t.Errorf("%s: a first line of %d", file, len(first))
		}
	}
	all.Finished = false
	for _, h := range []string{AimHeadline(&sternfan.Aim{Rod: "p", Depth: 65 * foot, Ways: reached.Ways}, opt), aimAllHeadline(all, opt)} {
		if !strings.HasSuffix(h, ". Stopped early: the best so far.") {
			t.Error(h)
		}
	}
	reached.Ways[0].Lure.Depth = math.NaN()
	var b bytes.Buffer
	if err := JSON(&b, reached); !errors.Is(err, ErrNotFinite) || b.Len() > 0 {
		t.Errorf("not a number: %v, wrote %d", err, b.Len())
	}
	if h := AimHeadline(&sternfan.Aim{Rod: "p", Depth: 3}, opt); !strings.Contains(h, "cannot reach") {
		t.Error(h)
	}
}
