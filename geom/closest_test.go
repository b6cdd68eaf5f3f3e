package geom

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// everyPair is the nearest approach by trying all pairs of segments, in order.
func everyPair(a, b *Curve, metric Metric, mine, theirs *Girth, below float64) (Approach, bool) {
	best := Approach{Distance: below, I: -1}
	for i := range a.Segments() {
		for j := range b.Segments() {
			p, q := a.segment(i)
			r, t := b.segment(j)
			h, v := metric.Lengths(mine, theirs, i+1, j+1)
			if got := segments(p, q, r, t, h, v); got.Distance < best.Distance {
				got.I, got.J = i, j
				best = got
			}
		}
	}
	return best, best.I >= 0
}

// wander draws a polyline that goes its way as a line in the water does, or that jumps
// about on a grid, so that equal distances occur.
func wander(t *rapid.T, label string) []Vec {
	n := rapid.IntRange(1, 70).Draw(t, label+" points")
	grid := rapid.Bool().Draw(t, label+" grid")
	step := rapid.Float64Range(-3, 3)
	at := Vec{step.Draw(t, "x"), step.Draw(t, "y"), step.Draw(t, "z")}
	out := make([]Vec, n)
	for i := range out {
		d := Vec{step.Draw(t, "dx") - 2, step.Draw(t, "dy"), step.Draw(t, "dz") + 1}
		if grid {
			d = Vec{math.Round(d.X), math.Round(d.Y), math.Round(d.Z)}
			at = Vec{math.Round(at.X), math.Round(at.Y), math.Round(at.Z)}
		}
		out[i] = at
		at = at.Add(d)
	}
	return out
}

// growing draws a girth that grows along a curve, given at all its points or at the first few.
func growing(t *rapid.T, label string, points int) *Girth {
	g := &Girth{Along: make([]float64, rapid.IntRange(0, points).Draw(t, label+" points that grow"))}
	part := rapid.Float64Range(0, 0.1)
	sum := 0.0
	for i := range g.Along {
		sum += part.Draw(t, label+" grow")
		g.Along[i] = sum
	}
	g.Reach, g.From = rapid.Float64Range(0, 1).Draw(t, label+" reach"), rapid.Float64Range(0, 2).Draw(t, label+" from")
	if rapid.Bool().Draw(t, label+" banded") {
		g.Band = rapid.Float64Range(0, 3).Draw(t, label+" band")
	}
	return g
}

func TestClosestIsThatOfEveryPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := NewCurve(wander(t, "first")), NewCurve(wander(t, "second"))
		metric, mine, theirs := Plain, &Girth{}, &Girth{}
		if !rapid.Bool().Draw(t, "plain") {
			metric = Metric{rapid.Float64Range(0, 5).Draw(t, "wide"), rapid.Float64Range(0, 5).Draw(t, "high"), rapid.Float64Range(0.1, 1).Draw(t, "least"), rapid.Bool().Draw(t, "round")}
			mine, theirs = growing(t, "mine", len(a.points)), growing(t, "theirs", len(b.points))
		}
		below := math.Inf(1)
		if rapid.Bool().Draw(t, "bounded") {
			below = rapid.Float64Range(0, 10).Draw(t, "below")
		}
		got, ok := a.Closest(b, metric, mine, theirs, below)
		want, found := everyPair(a, b, metric, mine, theirs, below)
		if ok != found || ok && got != want {
			t.Fatalf("pruned %+v %v, every pair %+v %v", got, ok, want, found)
		}
	})
}

func TestClosestIsNeverBeatenByPlacesOnTheCurves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := wander(t, "first"), wander(t, "second")
		got, _ := Closest(a, b)
		if d := got.Between(); math.Abs(d-got.Distance) > 1e-9*(1+d) {
			t.Fatalf("says %g between places %g apart", got.Distance, d)
		}
		ca, cb := NewCurve(a), NewCurve(b)
		unit := rapid.Float64Range(0, 1)
		for range 20 {
			p, q := ca.segment(rapid.IntRange(0, ca.Segments()-1).Draw(t, "i"))
			r, u := cb.segment(rapid.IntRange(0, cb.Segments()-1).Draw(t, "j"))
			x := p.AddScaled(unit.Draw(t, "s"), q.Sub(p))
			y := r.AddScaled(unit.Draw(t, "t"), u.Sub(r))
			if d := x.Sub(y).Norm(); d < got.Distance-1e-9 {
				t.Fatalf("two places are %g apart, the nearest approach is said to be %g", d, got.Distance)
			}
		}
	})
}

// Closed forms of elementary geometry.
func TestClosestOfKnownSegments(t *testing.T) {
	for _, c := range []struct {
		name       string
		a, b       []Vec
		want, s, u float64
	}{
		{"crossing at right angles, one above", []Vec{{-1, 0, 0}, {1, 0, 0}}, []Vec{{0, -1, 3}, {0, 1, 3}}, 3, 0.5, 0.5},
		{"parallel, side by side", []Vec{{0, 0, 0}, {4, 0, 0}}, []Vec{{0, 3, 4}, {4, 3, 4}}, 5, 0, 0},
		{"in line, end to end", []Vec{{0, 0, 0}, {1, 0, 0}}, []Vec{{3, 0, 0}, {5, 0, 0}}, 2, 1, 0},
		{"a point and a segment", []Vec{{0, 2, 0}}, []Vec{{-1, 0, 0}, {3, 0, 0}}, 2, 0, 0.25},
		{"two points", []Vec{{1, 1, 1}}, []Vec{{1, 1, 1}}, 0, 0, 0},
		{"they meet", []Vec{{-1, -1, 0}, {1, 1, 0}}, []Vec{{-1, 1, 0}, {1, -1, 0}}, 0, 0.5, 0.5},
		// Both in the plane y = z, where the short one meets the long one's line at an angle of
		// 1.5e-4: by 2-D geometry, in the middle.
		{"nearly parallel, one short", []Vec{{0.75, 1e-9, 1e-9}, {0.75 + 2e-5, -1e-9, -1e-9}}, []Vec{{0, 0, 0}, {2, 0, 0}}, 0, 0.5, 0.375005},
		{"nearly parallel, one long", []Vec{{0, 0, 0}, {2, 0, 0}}, []Vec{{0.75, 1e-9, 1e-9}, {0.75 + 2e-5, -1e-9, -1e-9}}, 0, 0.375005, 0.5},
		{"at an angle of a millionth", []Vec{{0, -1e-6, 0}, {2, 1e-6, 0}}, []Vec{{0, 0, 0}, {2, 0, 0}}, 0, 0.5, 0.5},
	} {
		got, ok := Closest(c.a, c.b)
		if !ok || math.Abs(got.Distance-c.want) > 1e-12 || math.Abs(got.S-c.s) > 1e-12 || math.Abs(got.T-c.u) > 1e-12 {
			t.Errorf("%s: got %+v, want %g at %g and %g", c.name, got, c.want, c.s, c.u)
		}
	}
	if _, ok := Closest(nil, []Vec{{}}); ok {
		t.Error("a curve without points is near nothing")
	}
}

func BenchmarkClosest(b *testing.B) {
	// Two lines of 150 segments that run astern side by side.
	line := func(y float64) *Curve {
		p := make([]Vec, 151)
		for i := range p {
			s := float64(i) / 150
			p[i] = Vec{-60 * s, y * (1 + s), 20 * s * s}
		}
		return NewCurve(p)
	}
	one, two := line(2), line(3)
	b.Run("pruned", func(b *testing.B) {
		for b.Loop() {
			one.Closest(two, Plain, &Girth{}, &Girth{}, math.Inf(1))
		}
	})
	b.Run("every pair", func(b *testing.B) {
		for b.Loop() {
			everyPair(one, two, Plain, &Girth{}, &Girth{}, math.Inf(1))
		}
	})
}
