package stats

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
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

// Totals left out as impossible change nothing; nor does the order of the events.
func TestEnumerationLeavesOutNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var groups []Group
		n := 0
		for range rapid.IntRange(2, 60).Draw(t, "groups") {
			g := Group{N: float64(rapid.IntRange(1, 8).Draw(t, "events")), Odds: math.Exp(rapid.Float64Range(-4, 4).Draw(t, "log odds"))}
			n += int(g.N)
			groups = append(groups, g)
		}
		d := Tally{Total: rapid.IntRange(0, n).Draw(t, "total"), N: n, Groups: groups}
		d.Prepare()
		whole := d
		whole.exact, whole.level = d.enumerate(d.Best, 0), d.enumerate(0, 0)
		slices.Reverse(groups)
		turned := Tally{Total: d.Total, N: n, Groups: groups}
		turned.Prepare()
		for _, x := range []float64{0, d.Best, d.Best - 2/math.Sqrt(d.info), d.Best + 2/math.Sqrt(d.info)} {
			got, want, other := d.tails(x), whole.tails(x), turned.tails(x)
			for _, v := range [][3]float64{{got.lower, want.lower, other.lower}, {got.upper, want.upper, other.upper}, {got.at, want.at, other.at}} {
				if math.Abs(v[0]-v[1]) > 1e-10*v[1] || math.Abs(v[2]-v[1]) > 1e-9*v[1] {
					t.Fatalf("at %g: %g, of all totals %g, turned about %g", x, v[0], v[1], v[2])
				}
			}
			// The slopes against differences.
			const h = 1e-5
			before, after := whole.tails(x-h), whole.tails(x+h)
			if math.Abs((after.lower-before.lower)/(2*h)-got.lowerRise) > 1e-6*math.Sqrt(d.info+1) || math.Abs((after.upper-before.upper)/(2*h)-got.upperRise) > 1e-6*math.Sqrt(d.info+1) {
				t.Fatalf("at %g: slopes %g and %g", x, got.lowerRise, got.upperRise)
			}
		}
	})
}

// Strata of one ratio of efforts are a single binomial, whose tails are incomplete beta
// functions (DLMF 8.17.5); taken as two groups of many events they are the saddlepoint's. It has
// no gap where the total seen is the one expected.
func TestTailsOfOneBinomial(t *testing.T) {
	for _, c := range []struct{ n, k int }{{1, 0}, {1, 1}, {12, 5}, {700, 3}, {2000, 1000}, {2000, 1030}, {200_000, 17}} {
		one := Tally{Total: c.k, N: c.n, Groups: []Group{{float64(c.n), 0.7}}}
		one.Prepare()
		two := Tally{Total: c.k, N: c.n, Groups: []Group{{float64(c.n) / 2, 0.7}, {float64(c.n) / 2, 0.7}}}
		saddle := c.n > MostExact
		if saddle {
			two.Prepare()
		}
		for _, z := range []float64{-7, -2, -0.3, -0.04, -0.001, 0, 0.02, 0.3, 2, 7} {
			x := one.Best + z/math.Sqrt(one.info)
			p := math.Exp(x) * 0.7 / (1 + math.Exp(x)*0.7)
			k, n := float64(c.k), float64(c.n)
			lower, upper := 1.0, 1.0
			if c.k < c.n {
				lower = mathext.RegIncBeta(n-k, k+1, 1-p)
			}
			if c.k > 0 {
				upper = mathext.RegIncBeta(k, n-k+1, p)
			}
			got := one.tails(x)
			near(t, fmt.Sprint(c, z, " lower"), got.lower, lower, 1e-8*lower+1e-15)
			near(t, fmt.Sprint(c, z, " upper"), got.upper, upper, 1e-8*upper+1e-15)
			if saddle && c.k > 100 {
				got := two.tails(x)
				near(t, fmt.Sprint(c, z, " lower by saddlepoint"), got.lower, lower, 2e-6*lower+1e-9)
				near(t, fmt.Sprint(c, z, " upper by saddlepoint"), got.upper, upper, 2e-6*upper+1e-9)
			}
		}
	}
}
