package stats

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Counting the other way about turns the ratio over; hours in another unit scale rates
// and leave ratios.
func TestRatioProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "strata")
		var s, mirrored, scaled []Stratum
		for range n {
			x := Stratum{
				rapid.IntRange(0, 9).Draw(t, "a"), rapid.IntRange(0, 9).Draw(t, "b"),
				rapid.Float64Range(0.1, 9).Draw(t, "hours a"), rapid.Float64Range(0.1, 9).Draw(t, "hours b"),
			}
			s = append(s, x)
			mirrored = append(mirrored, Stratum{x.B, x.A, x.HoursB, x.HoursA})
			scaled = append(scaled, Stratum{x.A, x.B, 60 * x.HoursA, 60 * x.HoursB})
		}
		e, m, k := Compare(s, 0.8), Compare(mirrored, 0.8), Compare(scaled, 0.8)
		close := func(name string, got, want float64) {
			if math.Abs(got-want) > 1e-7*math.Max(1, math.Abs(want)) {
				t.Fatalf("%s: %.12g, want %.12g", name, got, want)
			}
		}
		close("p", m.P, e.P)
		close("mid p", m.PMid, e.PMid)
		close("p of minutes", k.P, e.P)
		if e.A > 0 && e.B > 0 {
			close("ratio", m.Ratio*e.Ratio, 1)
			close("exact", m.Exact.Hi*e.Exact.Lo, 1)
			close("mid-p", m.MidP.Lo*e.MidP.Hi, 1)
			close("ratio of minutes", k.Ratio, e.Ratio)
			if !(e.Exact.Lo <= e.MidP.Lo && e.MidP.Lo <= e.Ratio && e.Ratio <= e.MidP.Hi && e.MidP.Hi <= e.Exact.Hi) {
				t.Fatalf("not nested: %+v", e)
			}
		}
	})
}
