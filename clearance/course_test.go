package clearance

import (
	"sternfan/internal/exampletest"
	"sternfan/spread"

	"context"
	"math"
	"os"
	"slices"
	"testing"

	"sternfan"
	"sternfan/geom"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/unit"

	"pgregory.net/rapid"
)

// straight returns a party of one line from a tip to an end.
func straight(id string, band, reach float64, from, to geom.Vec) *Course {
	return NewCourse(id, "", band, reach, []Chain{{Points: []geom.Vec{from, to}, Parts: []string{"line"}}})
}

var plainMargins = Margins{Horizontal: 3, Vertical: 2, Hull: 0.5}

// Closed forms: two lines of 100 m side by side, apart by a given vector everywhere. The
// ratio is least at their ends, where the margins have their full size.
func TestGapOfParallelLines(t *testing.T) {
	for _, c := range []struct {
		name        string
		apart       geom.Vec
		band, reach float64
		want        float64
	}{
		{"to the side", geom.Vec{Y: 6}, 0, 0, 2},
		{"above one another", geom.Vec{Z: 5}, 0, 0, 2.5},
		{"aslant", geom.Vec{Y: 3, Z: 2}, 0, 0, math.Sqrt2},
		{"grown by intervals of 3 and 4 m", geom.Vec{Z: 14}, 1, 0, 2},
		{"grown by a reach of half a meter", geom.Vec{Y: 7}, 0, 0.5, 2},
	} {
		a := straight("a", 3*c.band, c.reach, geom.Vec{Z: 1}, geom.Vec{X: -100, Z: 1})
		b := straight("b", 4*c.band, 0, geom.Vec{Z: 1}.Add(c.apart), geom.Vec{X: -100, Z: 1}.Add(c.apart))
		g, ok := a.Gap(b, plainMargins, math.Inf(1))
		if !ok || math.Abs(g.Ratio-c.want) > 1e-9 {
			t.Errorf("%s: ratio %g, want %g", c.name, g.Ratio, c.want)
		}
		if want := c.apart.Norm(); math.Abs(g.Distance-want) > 1e-9 || g.PartA != "line" {
			t.Errorf("%s: %g m apart on %q, want %g", c.name, g.Distance, g.PartA, want)
		}
	}
}

// Half way down both lines half of the margin holds: lines that meet there are inside it,
// lines that pass there 1.6 m apart under a margin of 1.5 are not.
func TestMarginGrowsFromTheTip(t *testing.T) {
	cross := func(up float64) sternfan.Gap {
		line := func(y, z float64) []geom.Vec {
			p := make([]geom.Vec, 201)
			for i := range p {
				s := float64(i) / 200
				p[i] = geom.Vec{X: -100 * s, Y: y * (1 - 2*s), Z: z}
			}
			return p
		}
		a := NewCourse("a", "", 0, 0, []Chain{{Points: line(30, 10)}})
		b := NewCourse("b", "", 0, 0, []Chain{{Points: line(-30, 10+up)}})
		g, _ := a.Gap(b, plainMargins, math.Inf(1))
		return g
	}
	// Segments are 0.5 % of the length, and the margin is that at their lower ends.
	if g := cross(1.6); math.Abs(g.Ratio-1.6/1.005) > 0.01 || math.Abs(g.AtA[0]+50) > 1 {
		t.Errorf("passing at half length: %+v", g)
	}
	if g := cross(0); g.Ratio != 0 {
		t.Errorf("meeting lines are apart: %+v", g)
	}
}

func TestGapIsTheSameBothWaysAndMirrored(t *testing.T) {
	coordinate := rapid.Float64Range(-30, 30)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) []geom.Vec {
			p := make([]geom.Vec, rapid.IntRange(2, 20).Draw(t, label))
			for i := range p {
				p[i] = geom.Vec{X: -4 * float64(i), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")}
			}
			return p
		}
		one, two := draw("one"), draw("two")
		band := rapid.Float64Range(0, 3).Draw(t, "band")
		gap := func(p, q []geom.Vec) sternfan.Gap {
			g, _ := NewCourse("a", "", band, 0.1, []Chain{{Points: p}}).Gap(NewCourse("b", "", 1, 0, []Chain{{Points: q}}), plainMargins, math.Inf(1))
			return g
		}
		g := gap(one, two)
		back, _ := NewCourse("b", "", 1, 0, []Chain{{Points: two}}).Gap(NewCourse("a", "", band, 0.1, []Chain{{Points: one}}), plainMargins, math.Inf(1))
		if math.Abs(back.Ratio-g.Ratio) > 1e-12*(1+g.Ratio) {
			t.Fatalf("%g one way, %g the other", g.Ratio, back.Ratio)
		}
		mirror := func(p []geom.Vec) []geom.Vec {
			out := make([]geom.Vec, len(p))
			for i := range p {
				out[i] = p[i].Mirror()
			}
			return out
		}
		if m := gap(mirror(one), mirror(two)); math.Abs(m.Ratio-g.Ratio) > 1e-12*(1+g.Ratio) {
			t.Fatalf("%g, and %g in the mirror", g.Ratio, m.Ratio)
		}
	})
}

func TestHullAndPropeller(t *testing.T) {
	boat := sternfan.Boat{Hull: []geom.Vec{{Y: -1}, {X: 6}, {Y: 1}}, Propellers: []geom.Vec{{X: 0.5, Z: 0.6}}}
	hard := Obstacles(&boat)
	if len(hard) != 2 {
		t.Fatalf("%d obstacles", len(hard))
	}
	// It enters the water 2 m astern: what is over the gunwale does not count.
	over := straight("over", 1, 0, geom.Vec{X: 2, Z: -2}, geom.Vec{X: -38, Z: 18})
	if g, ok := over.Gap(hard[0], plainMargins, math.Inf(1)); !ok || math.Abs(g.Distance-2) > 0.3 {
		t.Errorf("to the hull: %+v", g)
	}
	// Under the boat, 0.4 m below the wheel: inside the half meter.
	under := straight("under", 0, 0, geom.Vec{X: 5, Z: 1}, geom.Vec{X: -38, Z: 1})
	if g, ok := hard[1].Gap(under, plainMargins, math.Inf(1)); !ok || math.Abs(g.Ratio-0.8) > 1e-9 {
		t.Errorf("to the propeller: %+v", g)
	}
	// Twenty Pieces, the wheel over the third: 3/20 of half its interval of 2 m more.
	p := make([]geom.Vec, 21)
	for i := range p {
		p[i] = geom.Vec{X: 5.5 - 2*float64(i), Z: 1}
	}
	unsure := NewCourse("unsure", "", 1, 0, []Chain{{Points: p}})
	if g, ok := hard[1].Gap(unsure, plainMargins, math.Inf(1)); !ok || math.Abs(g.Ratio-0.4/(0.5+3.0/20)) > 1e-9 || g.Wide != g.High {
		t.Errorf("to the propeller, grown: %+v", g)
	}
	if _, ok := hard[0].Gap(hard[1], plainMargins, math.Inf(1)); ok {
		t.Error("hull and propeller were compared")
	}
}

// The demonstration spread: what is clipped together is not compared where it runs
// together, a slider hangs from its own line, and every place found is on its line.
func TestClearancesOfASolvedSpread(t *testing.T) {
	m := exampletest.Load(t, "summer")
	fan, err := spread.Solve(context.Background(), m, spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	gaps := Clearances(m.Scenario, fan, MarginsOf(&m.Scenario.Wants))
	if len(gaps) < 100 || !slices.IsSortedFunc(gaps, func(a, b sternfan.Gap) int { return int(math.Copysign(1, a.Ratio-b.Ratio)) }) {
		t.Fatalf("%d gaps, or not in order", len(gaps))
	}
	for _, g := range gaps {
		pair := []string{g.A, g.B}
		for _, own := range [][]string{{"p-rigger", "dr-port"}, {"p-stack", "dr-port"}, {"center", "dr-center"}, {"s-rigger", "dr-starboard"}} {
			if slices.Equal(pair, own) {
				t.Errorf("%v are clipped together and were compared", pair)
			}
		}
		if slices.Equal(pair, []string{"p-rigger", "p-stack"}) && (g.PartA == "line-1" || g.PartB == "line-1") {
			t.Errorf("stacked rods were compared before their releases: %+v", g)
		}
		d := math.Hypot(math.Hypot(g.AtA[0]-g.AtB[0], g.AtA[1]-g.AtB[1]), g.AtA[2]-g.AtB[2])
		if math.Abs(d-g.Distance) > 1e-9 || g.Wide <= 0 || g.High <= 0 {
			t.Errorf("a gap of %g m between places %g m apart: %+v", g.Distance, d, g)
		}
	}
	for _, c := range Courses(m.Scenario, fan) {
		if c.ID == "center" && len(c.chains) != 3 {
			t.Errorf("the center rod has %d chains: its line, what trails, its slider", len(c.chains))
		}
	}
}

func TestMarginsOf(t *testing.T) {
	m := MarginsOf(&sternfan.Wants{Vertical: sternfan.Of(unit.Length(2))})
	if m.Vertical != 2 || math.Abs(m.Horizontal-3.048) > 1e-12 {
		t.Errorf("margins %+v", m)
	}
}

func BenchmarkClearances(b *testing.B) {
	data, err := os.ReadFile("../examples/summer.yaml")
	if err != nil {
		b.Fatal(err)
	}
	sc, _, err := scenario.DecodeWith("summer", data, scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		b.Fatal(err)
	}
	m, _ := tackle.Resolve(sc)
	fan, err := spread.Solve(context.Background(), m, spread.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		Clearances(m.Scenario, fan, MarginsOf(&sc.Wants))
	}
}
