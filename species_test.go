package sternfan

import (
	"math"
	"strings"
	"testing"

	"sternfan/unit"

	"pgregory.net/rapid"
)

// The published figures, from the papers' abstracts.
func TestPublishedTemperatures(t *testing.T) {
	for _, row := range []struct {
		name     string
		from, to float64
		source   string
	}{
		{"Chinook salmon", 13, 14, "Stewart & Bowlby 2009"}, // "13 to 14 C during August and September"
		{"king salmon", 13, 14, "Stewart & Bowlby 2009"},
		{"steelhead", 13, 14, "Stewart & Bowlby 2009"},
		{"Lake Trout", 10.1, 10.2, "Edsall & Cleland 2000"}, // "between 10.1 C and 10.2 C"
	} {
		s, ok := Species{Name: row.name}.Filled()
		if !ok || s.From.SI() != row.from || s.To.SI() != row.to || s.Basis != BasisPublished || !strings.Contains(s.Source, row.source) {
			t.Errorf("%s: %+v", row.name, s)
		}
	}
	for _, s := range SpeciesAdvice() {
		if s.Source == "" || s.Basis != BasisPublished && s.Basis != BasisUnverified || !(s.From.SI() < s.To.SI()) {
			t.Errorf("%+v", s)
		}
		if s.Basis == BasisUnverified && !strings.Contains(s.Source, "no source") {
			t.Errorf("%s is not labeled", s.Name)
		}
	}
	if _, ok := (Species{Name: "sturgeon"}).Filled(); ok {
		t.Error("nothing is known of sturgeon here")
	}
	own, ok := Species{Name: "king salmon", From: Of(unit.Temperature(9)), To: Of(unit.Temperature(12)), Source: "my log"}.Filled()
	if !ok || own.Basis != BasisOwn || own.From.SI() != 9 || own.Allow != 0 || own.Source != "my log" {
		t.Errorf("a person's entry was changed: %+v", own)
	}
}

func TestIs(t *testing.T) {
	for _, row := range []struct {
		name, other string
		want        bool
	}{{"steelhead", "rainbow trout", true}, {"Rainbow-Trout", "steelhead", true}, {"lakers", "lake trout", true}, {"king", "lake trout", false}, {"perch", "Perch", true}, {"perch", "pike", false}} {
		if got := (Species{Name: row.name}).Is(row.other); got != row.want {
			t.Errorf("%s is %s: %v", row.name, row.other, got)
		}
	}
}

func fahrenheit(v float64) unit.Temperature { return unit.Temperature((v - 32) / 1.8) }

func feet(v float64) unit.Length { return unit.Length(v) * unit.Foot }

// july is a made-up profile.
var july = []TempPoint{{Depth: 0, Temperature: fahrenheit(70)}, {Depth: feet(40), Temperature: fahrenheit(68)}, {Depth: feet(55), Temperature: fahrenheit(56)}, {Depth: feet(75), Temperature: fahrenheit(48)}, {Depth: feet(150), Temperature: fahrenheit(42)}}

// Bands worked out by hand on the straight pieces of the profile.
func TestProposedBands(t *testing.T) {
	own := func(from, to float64) Species {
		return Species{Name: "trout", From: Of(fahrenheit(from)), To: Of(fahrenheit(to)), Source: "my log", Dated: "2026-07-01"}
	}
	for _, row := range []struct {
		name     string
		profile  []TempPoint
		bottom   float64 // ft
		species  Species
		from, to float64 // ft
		says     []string
	}{
		// 13-14 C and 2 to either side is 51.8-60.8 F: 40 + 7.2/0.8 and 55 + 4.2/0.4 ft.
		{"published", july, 0, Species{Name: "king salmon"}, 49, 65.5, []string{"king salmon: water of 52-61°F lies at 49-6", "Stewart & Bowlby 2009", "55-57°F, and 4°F to either side, assumed"}},
		{"own", july, 0, own(52, 64), 45, 65, []string{"52-64°F lies at 45-65 ft", "your own entry, my log, 2026-07-01"}},
		{"unverified", july, 0, Species{Name: "coho"}, 55 - 1.2/0.8, 65.5, []string{"unverified", "no source"}},
		{"to the surface", july, 0, own(60, 80), 0, 50, nil},
		{"the profile ends", july, 0, own(40, 48), 75, 150, []string{"where the profile ends"}},
		{"the bottom ends it", july, 100, own(40, 48), 75, 100, nil},
		// Grown upward to 3 m: 2 degrees at 0.8 a foot are 2.5 ft.
		{"thin", july, 0, own(60, 62), 50 - 3/0.3048, 50, nil},
		// Coldest at the bottom, 60 ft, is 54 F; within 1.8 F of it below 55.5 ft: grown to 3 m.
		{"too warm everywhere", july, 60, own(40, 45), 60 - 3/0.3048, 60, []string{"54-56°F water at 50-60 ft is the coldest measured and warmer than the 40-45°F looked for"}},
		{"too cold everywhere", july, 0, own(75, 80), 0, 36, []string{"the warmest measured and colder than the 75-80°F looked for"}},
		{"from its first point up", []TempPoint{{Depth: feet(20), Temperature: fahrenheit(60)}, {Depth: feet(60), Temperature: fahrenheit(40)}}, 0, own(55, 65), 0, 30, nil},
	} {
		p := ProposeBands(row.profile, feet(row.bottom), []Species{row.species}, unit.US)
		if len(p.Bands) != 1 || len(p.Notes) != 0 {
			t.Errorf("%s: %+v", row.name, p)
			continue
		}
		b := p.Bands[0]
		if math.Abs(float64(b.From-feet(row.from))) > 1e-6 || math.Abs(float64(b.To-feet(row.to))) > 1e-6 || b.Weight != 1 {
			t.Errorf("%s: %.2f to %.2f ft, want %.2f to %.2f; weight %g", row.name, b.From/unit.Foot, b.To/unit.Foot, row.from, row.to, b.Weight)
		}
		for _, s := range row.says {
			if !strings.Contains(b.Reason, s) {
				t.Errorf("%s: %q does not say %q", row.name, b.Reason, s)
			}
		}
	}
	// A warm layer between two cold ones is looked for above and below; the weight is shared.
	turned := []TempPoint{{Depth: 0, Temperature: 8}, {Depth: 10, Temperature: 16}, {Depth: 30, Temperature: 8}}
	p := ProposeBands(turned, 0, []Species{{Name: "trout", From: Of(unit.Temperature(8)), To: Of(unit.Temperature(12)), Weight: 3}}, unit.SI)
	if len(p.Bands) != 2 || math.Abs(p.Bands[0].Weight-1) > 1e-9 || math.Abs(p.Bands[1].Weight-2) > 1e-9 || !strings.Contains(p.Bands[1].Reason, "8.0-12.0°C lies at 20.0-30.0 m") {
		t.Errorf("%+v", p.Bands)
	}
}

func TestWhatTemperatureDoesNotSay(t *testing.T) {
	spring := []TempPoint{{Depth: 0, Temperature: 4}, {Depth: 30, Temperature: 4.4}}
	for name, row := range map[string]struct {
		profile []TempPoint
		species string
		code    string
	}{
		"one temperature": {spring[:1], "lake trout", "no-profile"},
		"alike":           {spring, "lake trout", "same-water"},
		"not known":       {july, "sturgeon", "unknown-species"},
		"no water":        {nil, "lake trout", "no-profile"},
	} {
		p := ProposeBands(row.profile, 0, []Species{{Name: row.species}}, unit.US)
		if len(p.Bands) != 0 || len(p.Notes) != 1 || p.Notes[0].Code != row.code {
			t.Errorf("%s: %+v", name, p)
		}
	}
	if p := ProposeBands(nil, 0, nil, unit.US); len(p.Bands)+len(p.Notes) != 0 {
		t.Errorf("%+v", p)
	}
}

func TestWantedBands(t *testing.T) {
	sc := &Scenario{Water: Water{Temperature: july}, Wants: Wants{Species: []Species{{Name: "king salmon"}}}}
	if p := sc.WantedBands(unit.US); len(p.Bands) != 1 || p.Bands[0].Species != "king salmon" {
		t.Errorf("%+v", p)
	}
	sc.Wants.Bands = []Band{{From: feet(30), To: feet(55), Weight: 2}}
	if p := sc.WantedBands(unit.US); len(p.Bands) != 1 || p.Bands[0].Band != sc.Wants.Bands[0] || p.Bands[0].Reason != "30-55 ft is wanted in the file" {
		t.Errorf("%+v", p)
	}
}

// Sitar et al. 2017: 15.0 % below 10 C at the surface, 42.6 and 43.3 % above, Lake Superior.
func TestReleaseCaution(t *testing.T) {
	lakers := []Species{{Name: "king"}, {Name: "lakers"}}
	warm := ReleaseCaution(july, lakers, unit.US)
	if warm == nil || !strings.Contains(warm.Text, "the surface is 70°F: above 50°F about 2 in 5") {
		t.Errorf("%+v", warm)
	}
	cold := ReleaseCaution([]TempPoint{{Depth: 0, Temperature: 8}}, lakers, unit.SI)
	if cold == nil || !strings.Contains(cold.Text, "below 10.0°C about 3 in 20") || !strings.Contains(cold.Text, "here it is 8.0°C") {
		t.Errorf("%+v", cold)
	}
	if w := ReleaseCaution(july, lakers[:1], unit.US); w != nil {
		t.Errorf("nobody fishes for lake trout: %+v", w)
	}
	if w := ReleaseCaution(nil, lakers, unit.US); w != nil {
		t.Errorf("no temperature is known: %+v", w)
	}
}

// Whatever the profile, bands lie within what was measured, in order, and hold the right
// water somewhere; their weights add up to the species'.
func TestProposalsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var profile []TempPoint
		z := 0.0
		for range rapid.IntRange(2, 8).Draw(t, "points") {
			profile = append(profile, TempPoint{Depth: unit.Length(z), Temperature: unit.Temperature(rapid.Float64Range(0, 30).Draw(t, "temp"))})
			z += rapid.Float64Range(0.01, 40).Draw(t, "gap")
		}
		from := rapid.Float64Range(0, 28).Draw(t, "from")
		to := from + rapid.Float64Range(0, 10).Draw(t, "width")
		bottom := rapid.SampledFrom([]float64{0, 5, 60}).Draw(t, "bottom")
		weight := rapid.Float64Range(0.1, 5).Draw(t, "weight")
		p := ProposeBands(profile, unit.Length(bottom), []Species{{Name: "x", From: Of(unit.Temperature(from)), To: Of(unit.Temperature(to)), Weight: weight}}, unit.US)
		if len(p.Bands)+len(p.Notes) == 0 {
			t.Fatal("neither a band nor a note")
		}
		end := float64(profile[len(profile)-1].Depth)
		if bottom > 0 {
			end = math.Min(end, bottom)
		}
		sum, last := 0.0, 0.0
		for _, b := range p.Bands {
			if !(b.From >= 0) || !(b.To > b.From) || float64(b.To) > end+1e-9 || float64(b.To) < last {
				t.Fatalf("band %v of a profile to %g", b.Band, end)
			}
			last = float64(b.To)
			sum += b.Weight
		}
		if len(p.Bands) > 0 && math.Abs(sum-weight) > 1e-9 {
			t.Fatalf("weights add up to %g of %g", sum, weight)
		}
	})
}
