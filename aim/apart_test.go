package aim

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/tackle"
)

// lineAt is a party of one straight line far down, so many metres to the side.
func lineAt(id string, y float64) *clearance.Course {
	return clearance.NewCourse(id, "", 0, 0, []clearance.Chain{{Points: []geom.Vec{{Y: y}, {X: -30, Y: y, Z: 10}}, Parts: []string{"line"}}})
}

// A pair that stays inside the margins is named with why.
func TestWhyNear(t *testing.T) {
	at := func(id string, y ...float64) *unitOfRods {
		u := &unitOfRods{rods: []int{0}}
		for _, y := range y {
			u.options = append(u.options, option{courses: []*clearance.Course{lineAt(id, y)}})
		}
		return u
	}
	for _, c := range []struct {
		units []*unitOfRods
		why   string
	}{
		{[]*unitOfRods{at("a", 0), at("b", 1)}, "neither can move"},
		{[]*unitOfRods{at("a", 0, .5), at("b", 1, 1.2)}, "none of their ways within 8 ft of the depths asked for takes them apart"},
		{[]*unitOfRods{at("a", 0), at("b", 1, 6), at("c", 6.5)}, "apart, the b would come too near the c"},
	} {
		b := &Boat{sc: &sternfan.Scenario{}, model: &tackle.Model{}}
		p := &parting{boat: b, was: map[[2]string]float64{}, known: map[[4]int]float64{}, units: c.units}
		gap, _ := c.units[0].options[0].courses[0].Gap(c.units[1].options[0].courses[0], clearance.MarginsOf(&b.sc.Wants), 1)
		if why := p.whyNear(gap); why != c.why || !p.newly(gap) {
			t.Errorf("%q, want %q", why, c.why)
		}
	}
}

// The choice is the very least of all: held against looking at every one.
func TestCheapestIsTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "units")
		own := make([][]float64, n)
		for i := range own {
			own[i] = rapid.SliceOfN(rapid.Float64Range(0, 30), 1, 5).Draw(t, "own")
		}
		pairs := map[[4]int]float64{}
		for i := range n {
			for j := i + 1; j < n; j++ {
				for x := range own[i] {
					for y := range own[j] {
						if rapid.IntRange(0, 2).Draw(t, "near") == 0 {
							pairs[[4]int{i, x, j, y}] = rapid.Float64Range(0, 100).Draw(t, "cost")
						}
					}
				}
			}
		}
		pair := func(i, x, j, y int) float64 {
			if i >= j {
				t.Fatalf("asked of %d and %d", i, j)
			}
			return pairs[[4]int{i, x, j, y}]
		}
		sum := func(use []int) float64 {
			s := 0.0
			for i := range use {
				s += own[i][use[i]]
				for j := range i {
					s += pair(j, use[j], i, use[i])
				}
			}
			return s
		}
		least := math.Inf(1)
		use := make([]int, n)
		var visit func(i int)
		visit = func(i int) {
			if i == n {
				least = math.Min(least, sum(use))
				return
			}
			for x := range own[i] {
				use[i] = x
				visit(i + 1)
			}
		}
		visit(0)
		if got := sum(cheapest(context.Background(), own, pair, looks)); got > least+1e-9 {
			t.Errorf("%g, the least is %g", got, least)
		}
	})
}
