package stats

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// long draws the events of one level of a long list: many strata in which it had a small
// part of the effort, some in which it had more, and all events.
func long(t *rapid.T) Tally {
	var groups []Group
	n := 0
	middle, spread := rapid.Float64Range(-7, -0.5).Draw(t, "log odds"), rapid.Float64Range(0, 2).Draw(t, "spread")
	want := rapid.IntRange(fewEvents+1, MostExact).Draw(t, "events")
	for n < want {
		odds := math.Exp(middle + spread*rapid.Float64Range(-1, 1).Draw(t, "off"))
		if rapid.IntRange(0, 30).Draw(t, "alone") == 0 {
			odds = math.Exp(rapid.Float64Range(-2, 3).Draw(t, "log odds alone"))
		}
		g := Group{N: float64(min(want-n, rapid.IntRange(1, 20).Draw(t, "of one stratum"))), Odds: odds}
		n += int(g.N)
		groups = append(groups, g)
	}
	// Totals as they come at ratios up to twenty times either way.
	mean, info := expected(groups, rapid.Float64Range(-3, 3).Draw(t, "log ratio"))
	at := math.Round(mean + rapid.Float64Range(-4, 4).Draw(t, "deviations")*math.Sqrt(info))
	return Tally{Total: int(max(0, min(float64(n), at))), N: n, Groups: groups}
}

// The recurrence gives what multiplying all events together gives, the tails at equal
// rates included however small they are, and the limits that follow.
func TestClusterIsTheEnumeration(t *testing.T) {
	clusters, off := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		d := long(t)
		d.Prepare()
		if d.exact == nil || len(d.exact) == d.N+1 {
			return // enumerated
		}
		clusters++
		for _, g := range d.Groups {
			if odds := g.Odds * math.Exp(d.Best); odds > 1 {
				off++
				break
			}
		}
		whole := d
		whole.exact, whole.level = d.enumerate(d.Best, 0), d.enumerate(0, 0)
		peak := whole.exact[d.Total]
		for k, v := range whole.exact {
			got := 0.0
			if k < len(d.exact) {
				got = d.exact[k]
			}
			if math.Abs(got-v) > 1e-11*peak {
				t.Fatalf("total %d: %g, enumerated %g", k, got, v)
			}
		}
		sd := 1 / math.Sqrt(d.info)
		for _, x := range []float64{0, d.Best, d.Best + 1e-9, d.Best - 5*sd, d.Best - 2*sd, d.Best - 0.3*sd, d.Best + 0.3*sd, d.Best + 2*sd, d.Best + 5*sd} {
			got, want := d.tails(x), summed(d.enumerate(x, 0), d.Total)
			small, other := [2]float64{got.lower, want.lower}, [2]float64{got.upper, want.upper}
			if want.upper < want.lower {
				small, other = other, small
			}
			for _, v := range [][2]float64{small, {got.at, want.at}} {
				if math.Abs(v[0]-v[1]) > 1e-10*v[1]+1e-300 {
					t.Fatalf("at %g: tail %.17g, enumerated %.17g; %d of %d; best %g info %g len %d; %v %v; %v", x, v[0], v[1], d.Total, d.N, d.Best, d.info, len(d.exact), got, want, d.Groups)
				}
			}
			if math.Abs(other[0]-other[1]) > 1e-11 {
				t.Fatalf("at %g: the greater tail %g, enumerated %g", x, other[0], other[1])
			}
			scale := 1e-9 * (math.Sqrt(d.info) + math.Abs(want.lowerRise) + math.Abs(want.upperRise))
			if math.Abs(got.lowerRise-want.lowerRise) > scale || math.Abs(got.upperRise-want.upperRise) > scale {
				t.Fatalf("at %g: slopes %g and %g, enumerated %g and %g", x, got.lowerRise, got.upperRise, want.lowerRise, want.upperRise)
			}
		}
		for _, size := range []float64{0.1, 0.025, 1e-4} {
			exact, mid := d.intervals(size)
			wantExact, wantMid := whole.intervals(size)
			for _, v := range [][2]float64{{exact.Lo, wantExact.Lo}, {exact.Hi, wantExact.Hi}, {mid.Lo, wantMid.Lo}, {mid.Hi, wantMid.Hi}} {
				if math.Abs(v[0]-v[1]) > 1e-9*v[1] {
					t.Fatalf("tail %g: limit %.12g, enumerated %.12g", size, v[0], v[1])
				}
			}
		}
	})
	t.Logf("%d clusters, %d with strata off them", clusters, off)
	if clusters < 20 || off < 10 {
		t.Errorf("only %d clusters, %d with strata off them", clusters, off)
	}
}

// summed returns the tails of an enumerated distribution: the slope of a chance with the
// log ratio is what its totals lie above the mean, weighed.
func summed(chance []float64, total int) tails {
	mean := 0.0
	for k, v := range chance {
		mean += float64(k) * v
	}
	s := tails{at: chance[total]}
	for k, v := range chance {
		if k <= total {
			s.lower += v
			s.lowerRise += (float64(k) - mean) * v
		}
		if k >= total {
			s.upper += v
			s.upperRise += (float64(k) - mean) * v
		}
	}
	return s
}

// Of a level that caught nothing the chance at equal rates is a product.
func TestClusterWithoutEventsOfItsOwn(t *testing.T) {
	d := Tally{N: 153, Groups: []Group{{90, 0.04}, {60, 0.05}, {3, 1}}}
	d.Prepare()
	if len(d.exact) == d.N+1 {
		t.Fatal("enumerated")
	}
	want := math.Pow(1.04, -90) * math.Pow(1.05, -60) * math.Pow(2, -3)
	near(t, "none", d.tails(0).lower, want, 1e-12*want)
	near(t, "none at all", d.tails(0).at, want, 1e-12*want)
	near(t, "any", d.tails(0).upper, 1, 0)
}
