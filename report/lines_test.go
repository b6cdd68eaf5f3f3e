package report

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"
)

// A line of the person's own that names no kind gets its caution all the same.
func TestOwnLinesGetTheirCautions(t *testing.T) {
	const wire, core = "Wire and copper under load cut", "Lead core under load cuts"
	mm := func(v float64) sternfan.Q[unit.Length] { return sternfan.Of(unit.Length(v / 1000)) }
	grams := func(v float64) sternfan.Q[unit.LinearDensity] { return sternfan.Of(unit.LinearDensity(v / 1000)) }
	for name, row := range map[string]struct {
		line sternfan.Line
		says string
	}{
		"its kind":       {sternfan.Line{Item: sternfan.Item{ID: "a", Kind: "copper"}}, wire},
		"made from wire": {sternfan.Line{Item: sternfan.Item{ID: "a", From: "wire-30"}}, wire},
		"made from core": {sternfan.Line{Item: sternfan.Item{ID: "a", From: "lead-core-27"}}, core},
		"solid":          {sternfan.Line{Item: sternfan.Item{ID: "a"}, Solid: sternfan.Of(1.0)}, wire},
		// Stainless steel, 7930 kg/m3, over 0.4 mm is 1.0 g/m; nylon, 1140, is 0.14.
		"as heavy as steel": {sternfan.Line{Item: sternfan.Item{ID: "a"}, Diameter: mm(0.4), Mass: grams(1.0)}, wire},
		"as light as nylon": {sternfan.Line{Item: sternfan.Item{ID: "a"}, Diameter: mm(0.4), Mass: grams(0.14)}, ""},
		"says it is mono":   {sternfan.Line{Item: sternfan.Item{ID: "wire-like", Kind: "mono"}}, ""},
		"nothing known":     {sternfan.Line{Item: sternfan.Item{ID: "a"}}, ""},
	} {
		sc := &sternfan.Scenario{Gear: sternfan.Gear{Lines: []sternfan.Line{row.line}}, Rods: []sternfan.Rod{{ID: "r", Rig: sternfan.Rig{Line: row.line.ID}}}}
		said := Cautions(&sternfan.Fan{}, sc)
		for _, c := range []string{wire, core} {
			if got := slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, c) }); got != (c == row.says) {
				t.Errorf("%s: %q", name, said)
			}
		}
	}
}

// Settings that would be broken into a column of single words take rows of their own.
func TestLongSettingsStandBelow(t *testing.T) {
	fan, _ := summer()
	long := "15 ft lead, release 12 ft above the ball, tripped, ring off"
	fan.Rods[3].Settings = long + ", 118 ft out"
	for _, width := range []int{90, 100, 140} {
		var b bytes.Buffer
		if err := Table(&b, fan, Options{Width: width}); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(b.String(), "\n") {
			// The first is the sentence for the captain, which is never broken.
			if n := len([]rune(line)); i > 0 && n > width {
				t.Errorf("%d columns of %d: %s", n, width, line)
			}
		}
		if !strings.Contains(b.String(), long) {
			t.Errorf("%d columns: the setting is broken up\n%s", width, b.String())
		}
		if strings.Contains(b.String(), "118 ft out") {
			t.Error("the line out is said twice")
		}
	}
	fan.Rods[3].Settings = "8 m lead, 36 m out from the water"
	var b bytes.Buffer
	if err := Table(&b, fan, Options{Units: unit.SI, Width: 140}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "36 m out") || !strings.Contains(b.String(), "8 m lead") {
		t.Error(b.String())
	}
}

func TestSpeedsNameRodsAsCrewsDo(t *testing.T) {
	table := speedTable()
	table.Lures[0].Rod, table.Lures[0].Position = "p3", "port high diver"
	var b bytes.Buffer
	if err := SpeedTable(&b, table, unit.US); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "port high diver  ") || strings.Contains(b.String(), "p3") {
		t.Error(b.String())
	}
}

// The depths that the temperature proposes stand beside the view from the side, at its
// scale, each with its reason, and the picture says that they are advice.
func TestPlanDrawsAdvisedDepths(t *testing.T) {
	fan, opt := helm()
	d := LinesPlan(fan, opt.Scenario, opt.Options)
	views := map[string]*sternfan.View{}
	for i := range d.Views {
		views[d.Views[i].ID] = &d.Views[i]
	}
	strip := views["temperature"]
	if strip == nil || views["side"] == nil || strip.Place[1] != views["side"].Place[1] || strip.V.From != views["side"].V.From {
		t.Fatal("the temperature is not beside the view from the side")
	}
	// The made-up water is 20 C at 14 m, 11 at 20 m and 7 at 30 m. King salmon are looked for
	// in 11 to 16 C, at 14 + 6 x 4/9 to 20 m; lake trout in 8.1 to 12.2 C, at 14 + 6 x 7.8/9
	// to 20 + 10 x 2.9/4 m.
	want := [][2]float64{{14 + 6*4.0/9, 20}, {14 + 6*7.8/9, 20 + 10*2.9/4}}
	var got []sternfan.Shape
	for _, s := range strip.Shapes {
		if s.Class == "band" {
			got = append(got, s)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d bands", len(got))
	}
	for i, s := range got {
		if math.Abs(s.Points[0][1]-want[i][0]) > 1e-3 || math.Abs(s.Points[2][1]-want[i][1]) > 1e-3 || !strings.HasPrefix(s.Alt, "advice, no rule: ") {
			t.Errorf("%v %q, want %v", s.Points, s.Alt, want[i])
		}
	}
	if !strings.Contains(d.Note, "Temperature advice, no rule: king salmon 55-66 ft; lake trout 63-89 ft.") {
		t.Error(d.Note)
	}
	opt.Scenario.Wants.Species = nil
	for _, v := range LinesPlan(fan, opt.Scenario, opt.Options).Views {
		if slices.ContainsFunc(v.Shapes, func(s sternfan.Shape) bool { return s.Class == "band" }) {
			t.Error("a band for no species")
		}
	}
}

// TestFittingsAreDrawn holds kicker and speed bags to be in every view, the bag on the
// other side mirrored, and a raised kicker to be in none.
func TestFittingsAreDrawn(t *testing.T) {
	fan, sc := summer()
	own := *sc
	own.Boat.Kickers = []sternfan.Kicker{{At: geom.Vec{X: -0.3, Y: 0.8}}}
	own.Boat.SpeedBags = []sternfan.SpeedBag{{At: geom.Vec{X: 2, Y: -1.5, Z: -0.6}}, {At: geom.Vec{X: 2, Y: 1.5, Z: -0.6}}}
	count := func(sc *sternfan.Scenario, view int) map[string]int {
		got := map[string]int{}
		for _, s := range LinesPlan(fan, sc, Options{Scenario: sc}).Views[view].Shapes {
			if s.Class == "hull" && len(s.Points) > 1 {
				got[s.Alt]++
			}
		}
		return got
	}
	plain := LinesPlan(fan, sc, Options{Scenario: sc})
	for i, v := range plain.Views {
		if v.ID != "above" && v.ID != "side" && v.ID != "astern" {
			continue
		}
		got := count(&own, i)
		for alt, n := range map[string]int{"the kicker": 2, "the port speed bag": 1, "the port speed bag's rope": 1, "the starboard speed bag": 1} {
			if got[alt] != n {
				t.Errorf("from %s: %d times %s, want %d", v.ID, got[alt], alt, n)
			}
		}
		port, starboard := 0.0, 0.0
		for _, s := range fittings(&own, fromAstern) {
			for _, p := range s.Points {
				if s.Alt == "the port speed bag" {
					port += p[0]
				}
				if s.Alt == "the starboard speed bag" {
					starboard += p[0]
				}
			}
		}
		if port == 0 || math.Abs(port+starboard) > 1e-12 {
			t.Errorf("bags at %g and %g", port, starboard)
		}
		own.Boat.Kickers[0].Raised = true
		if got := count(&own, i); got["the kicker"] != 0 {
			t.Error("a raised kicker is drawn")
		}
		own.Boat.Kickers[0].Raised = false
	}
}
