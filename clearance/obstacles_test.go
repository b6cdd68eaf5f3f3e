package clearance

import (
	"math"
	"slices"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"

	"pgregory.net/rapid"
)

// fitted is a boat with everything on her that a line can foul.
func fitted() *sternfan.Boat {
	return &sternfan.Boat{
		Hull: []geom.Vec{{Y: -1}, {X: 6}, {Y: 1}}, Propellers: []geom.Vec{{X: 0.5, Z: 0.6}},
		Kickers: []sternfan.Kicker{{At: geom.Vec{X: -0.3, Y: -0.8}, Leg: sternfan.Of(unit.Length(0.7))}},
		SpeedBags: []sternfan.SpeedBag{
			{At: geom.Vec{X: 3, Y: -1.2, Z: -0.7}, Rope: sternfan.Of(unit.Length(2)), Diameter: sternfan.Of(unit.Length(0.6))},
			{At: geom.Vec{X: 3, Y: 1.2, Z: -0.7}, Rope: sternfan.Of(unit.Length(2)), Diameter: sternfan.Of(unit.Length(0.6))},
		},
	}
}

// TestPartsOfTheBoat holds each part to be where arithmetic puts it: the bag's mouth at
// the rope's 2 m from its cleat, 0.3 m under water and so sqrt(3) m astern of it.
func TestPartsOfTheBoat(t *testing.T) {
	b := fitted()
	want := []string{"hull", "propeller", "kicker", "port speed bag", "starboard speed bag"}
	all := Obstacles(b)
	if len(all) != len(want) {
		t.Fatalf("%d parts, want %d", len(all), len(want))
	}
	for i, c := range all {
		if c.ID != want[i] || !sternfan.PartOfBoat(c.ID) {
			t.Errorf("part %d is %q, want %q", i, c.ID, want[i])
		}
	}
	mouth := geom.Vec{X: 3 - math.Sqrt(3), Y: -1.2, Z: 0.3}
	if p := all[3].chains[0].Points; math.Abs(p[0].Z) > 1e-12 || p[1].Sub(mouth).Norm() > 1e-12 || math.Abs(p[2].X-(mouth.X-0.9)) > 1e-12 {
		t.Errorf("the bag and its rope lie at %v", p)
	}
	b.Kickers[0].Raised = true
	if n := len(Obstacles(b)); n != len(want)-1 {
		t.Errorf("a raised kicker is still one of %d parts", n)
	}
	if words := Party(&sternfan.Fan{}, "port speed bag"); words != "the port speed bag" {
		t.Errorf("said: %q", words)
	}
}

// TestLineUnderTheKicker is a closed form: a level line 0.9 m down passes 0.2 m below the
// foot of a leg of 0.7 m, under a margin of 0.5 m and the propeller's radius.
func TestLineUnderTheKicker(t *testing.T) {
	line := straight("line", 0, 0, geom.Vec{X: 4, Y: -0.8, Z: 0.9}, geom.Vec{X: -40, Y: -0.8, Z: 0.9})
	g, ok := line.Gap(Obstacles(fitted())[2], plainMargins, math.Inf(1))
	if want := 0.2 / (0.5 + sternfan.KickerPropeller); !ok || math.Abs(g.Ratio-want) > 1e-9 || g.B != "kicker" {
		t.Errorf("%+v, want a ratio of %g", g, want)
	}
}

// TestPartsOfTheBoatAgainstBruteForce holds the gap of random lines from each part against
// the least over a fine sampling of both.
func TestPartsOfTheBoatAgainstBruteForce(t *testing.T) {
	parts := Obstacles(fitted())
	coordinate := rapid.Float64Range(-4, 4)
	rapid.Check(t, func(t *rapid.T) {
		p := make([]geom.Vec, rapid.IntRange(2, 8).Draw(t, "points"))
		for i := range p {
			p[i] = geom.Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: rapid.Float64Range(-1, 3).Draw(t, "z")}
		}
		own := rapid.Float64Range(0, 0.3).Draw(t, "reach")
		band := rapid.Float64Range(0, 0.3).Draw(t, "half interval")
		line := NewCourse("line", "", band, own, []Chain{{Points: p}})
		length, whole := make([]float64, len(p)), 0.0
		for i := 1; i < len(p); i++ {
			whole += p[i].Sub(p[i-1]).Norm()
			length[i] = whole
		}
		// What is under water counts, from where the line first goes in.
		first := slices.IndexFunc(p, func(q geom.Vec) bool { return q.Z >= 0 })
		var samples []geom.Vec
		var grown []float64 // by how much of the half interval the margin is larger at each
		for i := max(first, 1); i < len(p) && first >= 0; i++ {
			from := p[i-1]
			if i == first {
				from = from.AddScaled(from.Z/(from.Z-p[i].Z), p[i].Sub(from))
			}
			for k := range 101 {
				samples = append(samples, from.AddScaled(float64(k)/100, p[i].Sub(from)))
				grown = append(grown, band*length[i]/math.Max(whole, math.SmallestNonzeroFloat64))
			}
		}
		for _, part := range parts {
			least := math.Inf(1)
			for _, h := range part.chains {
				for i := range max(len(h.Points)-1, 1) {
					a, b := h.Points[i], h.Points[min(i+1, len(h.Points)-1)]
					reach := part.Reach
					if i == 0 && len(h.Points) == 3 {
						reach = 0 // a bag's rope
					}
					for k, q := range samples {
						least = math.Min(least, fromSegment(q, a, b)/(plainMargins.Hull+own+reach+grown[k]))
					}
				}
			}
			g, ok := line.Gap(part, plainMargins, math.Inf(1))
			if ok != (len(samples) > 0) {
				t.Fatalf("%s: compared: %v, %d samples", part.ID, ok, len(samples))
			}
			// A sample lies within half a step, 6 cm at most, of the nearest place.
			if ok && (g.Ratio > least+1e-9 || g.Ratio < least-0.06/plainMargins.Hull) {
				t.Fatalf("%s: %g margins, by brute force %g", part.ID, g.Ratio, least)
			}
		}
	})
}

func fromSegment(q, a, b geom.Vec) float64 {
	d := b.Sub(a)
	s := 0.0
	if d2 := d.Dot(d); d2 > 0 {
		s = math.Min(math.Max(q.Sub(a).Dot(d)/d2, 0), 1)
	}
	return q.Sub(a.AddScaled(s, d)).Norm()
}
