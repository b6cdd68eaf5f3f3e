package tackle

import (
	"math"
	"reflect"
	"testing"

	"sternfan"
	"sternfan/internal/reference"
	"sternfan/tow"
	"sternfan/unit"

	"pgregory.net/rapid"
)

// Every number of the built-in gear says where it comes from.
func TestSources(t *testing.T) {
	var walk func(v reflect.Value, path string)
	walk = func(v reflect.Value, path string) {
		switch v.Kind() {
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i), path+"["+itoa(i)+"]")
			}
		case reflect.Struct:
			if given := v.FieldByName("Given"); given.IsValid() {
				if given.Bool() && v.FieldByName("Source").String() == "" {
					t.Errorf("%s has no source", path)
				}
				return
			}
			for i := range v.NumField() {
				walk(v.Field(i), path+"."+v.Type().Field(i).Name)
			}
		}
	}
	walk(reflect.ValueOf(*Builtins()), "gear")
}

// The ids are part of the file format: files name them.
func TestIDs(t *testing.T) {
	want := map[string][]string{
		"line": {"mono-12", "mono-17", "mono-20", "mono-30", "fluoro-20", "fluoro-30", "braid-30", "braid-50", "wire-30", "solid-wire-30",
			"lead-core-27", "lead-core-18", "copper-32", "copper-45", "weighted-steel-45", "rigger-cable-150", "rigger-braid-200"},
		"reel":      {"reel-line-counter-medium", "reel-line-counter-large", "reel-copper-extra-large"},
		"diver":     {"diver-small", "diver-standard", "diver-large", "slide-through-standard", "slide-through-large"},
		"board":     {"board-in-line", "board-mast"},
		"ball":      {"ball-round-10", "ball-round-12", "ball-finned-12", "ball-torpedo-12", "ball-finned-15"},
		"weight":    {"sinker-2oz", "sinker-4oz", "sinker-8oz", "clip-1oz", "clip-3oz"},
		"attractor": {"flasher-8in", "flasher-11in", "dodger-8in", "paddle-10in"},
		"lure":      {"spoon-standard", "spoon-large", "spoon-light", "fly-tinsel", "plug-shallow", "plug-deep", "plug-cut", "bait-rig"},
		"snubber":   {"snubber-12in", "snubber-18in"},
		"leader":    nil,
	}
	for kind, list := range want {
		got := Names(kind)
		if len(got) != len(list) {
			t.Errorf("%s: %v", kind, got)
			continue
		}
		for i, id := range list {
			if got[i] != id && !Known(kind, id) {
				t.Errorf("%s: no %s", kind, id)
			}
		}
	}
	if Known("line", "diver-small") || Known("rope", "mono-12") {
		t.Error("gear is known by a kind that it is not of")
	}
}

func builtLine(t testing.TB, id string) *sternfan.Line {
	l := sternfan.FindGear(Builtins().Lines, id)
	if l == nil {
		t.Fatalf("no line %s", id)
	}
	return l
}

// Diameters of the labeled lines against the tables, and densities of their materials.
func TestLinesAgainstTables(t *testing.T) {
	for id, rows := range map[string][]reference.LineDiameterRow{
		"mono-12": reference.MonoDiameters, "mono-17": reference.MonoDiameters, "mono-20": reference.MonoDiameters, "mono-30": reference.MonoDiameters,
		"braid-30": reference.BraidDiameters, "braid-50": reference.BraidDiameters,
	} {
		l := builtLine(t, id)
		found := false
		for _, r := range rows {
			if math.Abs(r.StrengthN-l.Strength.SI()) < 1e-6*r.StrengthN {
				found = true
				if math.Abs(r.DiameterM-l.Diameter.SI()) > 1e-9 {
					t.Errorf("%s is %g m, the table says %g m (%s)", id, l.Diameter.SI(), r.DiameterM, r.Source)
				}
				if l.Diameter.Scatter != sternfan.Rel(r.ToleranceRel) {
					t.Errorf("%s: spread %+v", id, l.Diameter.Scatter)
				}
			}
		}
		if !found {
			t.Errorf("%s: no row of its strength", id)
		}
	}
	for name, d := range map[string]float64{"nylon": densityNylon, "uhmwpe": densityUHMWPE, "pvdf": densityPVDF, "copper": densityCopper, "stainless": densityStainless, "lead": densityLead} {
		for _, r := range reference.Materials {
			if r.Material == name && (d < r.LowKgM3 || d > r.HighKgM3) {
				t.Errorf("%s: %g kg/m3, the tables say %g to %g", name, d, r.LowKgM3, r.HighKgM3)
			}
		}
	}
	// A nylon line's mass per metre is its section's.
	if l := builtLine(t, "mono-20"); math.Abs(l.Mass.SI()/(1140*math.Pi/4*square(l.Diameter.SI()))-1) > 1e-12 {
		t.Errorf("mono-20: %g kg/m", l.Mass.SI())
	}
}

// A lead ball of 10, 12 and 15 lb has the reference's diameter.
func TestBallDiameter(t *testing.T) {
	// Diameters computed from 11340 kg/m3, quoted to 0.1 mm.
	for pounds, want := range map[float64]float64{10: .0914, 12: .0971, 15: .1046} {
		d := math.Cbrt(pounds * lb / densityLead * 6 / math.Pi)
		if math.Abs(d-want) > .00006 {
			t.Errorf("%g lb: %g m, want %g m", pounds, d, want)
		}
	}
}

// Another diameter typed for a built-in line takes its mass along, and keeps the
// uncertainty that a label has.
func TestOverride(t *testing.T) {
	sc := boat()
	sc.Gear.Lines = []sternfan.Line{
		{Item: sternfan.Item{ID: "mine", From: "mono-20"}, Diameter: sternfan.Of(.5 * unit.Millimeter)},
		{Item: sternfan.Item{ID: "braid-50"}, Strength: sternfan.Of(40 * unit.PoundForce)},
	}
	plain(sternfan.Rig{Kind: sternfan.RigFlat, Line: "mine", Behind: []sternfan.Part{leaderOf("braid-50", 6), part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{LineOut: ft(50)})(sc, sternfan.Port)
	m := resolve(t, sc)
	l := sternfan.FindGear(m.Scenario.Gear.Lines, "mine")
	if want := 1140 * math.Pi / 4 * .0005 * .0005; math.Abs(l.Mass.SI()-want) > 1e-12 {
		t.Errorf("%g kg/m, want %g", l.Mass.SI(), want)
	}
	if l.Diameter.Scatter != sternfan.Rel(.12) || l.Strength.SI() != builtLine(t, "mono-20").Strength.SI() {
		t.Errorf("%+v", l)
	}
	b := sternfan.FindGear(m.Scenario.Gear.Lines, "braid-50")
	if b.Strength.Value != 40*unit.PoundForce || b.Diameter.SI() != builtLine(t, "braid-50").Diameter.SI() {
		t.Errorf("%+v", b)
	}
}

// A rated plug runs at its rated depth under the rating's own conditions, solved through
// a scenario: a tip at the water, the rating's line, nothing else.
func TestPlugReachesItsRating(t *testing.T) {
	for _, id := range []string{"plug-shallow", "plug-deep"} {
		l := sternfan.FindGear(Builtins().Lures, id)
		sc := boat()
		sc.Boat.Holders[0].Tip.Z = 0
		sc.Speed.Value = sternfan.Of(l.Rated.Speed.Value)
		sc.Gear.Lines = []sternfan.Line{{Item: sternfan.Item{ID: "rating", From: "mono-12"}, Diameter: l.Rated.LineDiameter}}
		plain(sternfan.Rig{Kind: sternfan.RigFlat, Line: "rating", Behind: []sternfan.Part{part(sternfan.PartLure, id)}}, sternfan.Settings{LineOut: l.Rated.LineOut})(sc, sternfan.Port)
		m := resolve(t, sc)
		sol := solveTo(t, m, 0, nil, tow.Options{Tolerance: 1e-5})
		// 0.1 % is the solver's promise for a depth.
		if z, want := sol.Nodes[m.Rods[0].Lures[0]].Z, l.Rated.Depth.SI(); math.Abs(z-want) > 1e-3*want {
			t.Errorf("%s runs at %g m, rated %g m", id, z, want)
		}
	}
}

// Filling a reel and letting the line out are inverse.
func TestReelFill(t *testing.T) {
	reel := sternfan.FindGear(Builtins().Reels, "reel-line-counter-large")
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(.0002, .0012).Draw(t, "diameter")
		under := []Wound{{rapid.Float64Range(.0002, .0006).Draw(t, "backing"), rapid.Float64Range(0, 100).Draw(t, "backing length")}}
		long := Capacity(reel, under, d)
		lines := append(under, Wound{d, long})
		full := ReelFill(reel, lines, 0)
		if math.Abs(full.Full-1) > 1e-9 || math.Abs(full.Diameter/reel.Flange.SI()-1) > 1e-9 || !full.Fits {
			t.Fatalf("filled: %+v", full)
		}
		if over := ReelFill(reel, append(under, Wound{d, long * 1.01}), 0); over.Fits {
			t.Fatalf("over its capacity: %+v", over)
		}
		out := rapid.Float64Range(0, 1).Draw(t, "out") * long
		left := ReelFill(reel, lines, out)
		again := ReelFill(reel, append(under, Wound{d, long - out}), 0)
		if math.Abs(left.Full-again.Full) > 1e-9 || left.Beyond != 0 {
			t.Fatalf("%g m out: %+v, wound back %+v", out, left, again)
		}
		empty := ReelFill(reel, lines, long+under[0].Length+5)
		if math.Abs(empty.Beyond-5) > 1e-6 || math.Abs(empty.Diameter/reel.Arbor.SI()-1) > 1e-6 {
			t.Fatalf("emptied: %+v", empty)
		}
	})
}
