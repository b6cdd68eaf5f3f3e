package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sternfan"
	"sternfan/internal/worldtest"
)

const worlds = 1000

// season draws a log of two levels: trips of several hours, each hour with its own rate,
// rods that come and go, and strikes of either level in proportion to effort and ratio.
func season(r *rand.Rand, trips int, perHour, ratio float64) []Stratum {
	var out []Stratum
	for range trips {
		bite := math.Exp(0.8 * r.NormFloat64())
		for range 6 {
			hour := perHour * bite * math.Exp(0.6*r.NormFloat64())
			s := Stratum{HoursA: 0.2 + 1.8*r.Float64(), HoursB: 0.2 + 1.8*r.Float64()}
			s.A, s.B = worldtest.Poisson(r, hour*ratio*s.HoursA), worldtest.Poisson(r, hour*s.HoursB)
			out = append(out, s)
		}
	}
	return out
}

// Over 1,000 seeded worlds mid-p 80 % intervals of a rate hold it 77 to 83 % of the time
// from 20 strikes up, exact ones at least 80 %. The bounds are the product's requirement;
// 1,000 worlds scatter by 1.3 points (one deviation of a binomial share at 0.8).
func TestRateCoverage(t *testing.T) {
	for i, mean := range []float64{20, 35.5, 60, 140} {
		r := worldtest.Rand(uint64(i), 20)
		exact, mid := 0, 0
		for range worlds {
			x := worldtest.Poisson(r, mean)
			if holds(RateExact(x, 100, confidence), mean/100) {
				exact++
			}
			if holds(RateMidP(x, 100, confidence), mean/100) {
				mid++
			}
		}
		checkCoverage(t, fmt.Sprintf("mean %g", mean), exact, mid)
	}
}

func checkCoverage(t *testing.T, name string, exact, mid int) {
	t.Helper()
	if mid < worlds*77/100 || mid > worlds*83/100 {
		t.Errorf("%s: mid-p intervals hold %d of %d", name, mid, worlds)
	}
	if exact < worlds*80/100 {
		t.Errorf("%s: exact intervals hold %d of %d", name, exact, worlds)
	}
	t.Logf("%s: mid-p %d, exact %d of %d", name, mid, exact, worlds)
}

// The same of ratios from stratified logs, at true ratios from a third to three.
func TestRatioCoverage(t *testing.T) {
	for i, c := range []struct {
		trips          int
		perHour, ratio float64
	}{{3, 0.5, 1}, {3, 0.5, 2}, {4, 0.8, 1 / 3.0}, {8, 0.4, 2.5}} {
		t.Run(fmt.Sprintf("%d trips, ratio %.2g", c.trips, c.ratio), func(t *testing.T) {
			t.Parallel()
			r := worldtest.Rand(uint64(i), 6)
			exact, mid, seen := 0, 0, 0
			for seen < worlds {
				s := season(r, c.trips, c.perHour, c.ratio)
				est := Compare(s, confidence)
				if est.A+est.B < 20 {
					continue
				}
				seen++
				if holds(est.Exact, c.ratio) {
					exact++
				}
				if holds(est.MidP, c.ratio) {
					mid++
				}
			}
			checkCoverage(t, "ratio", exact, mid)
		})
	}
}

// Without any sampling: the coverage of both kinds of interval of a rate, summed over the
// Poisson distribution. Exact ones never fall below what they say.
func TestExactCoverageEverywhere(t *testing.T) {
	for mean := 0.3; mean < 90; mean *= 1.07 {
		exact, mid := 0.0, 0.0
		for x := range int(mean+12*math.Sqrt(mean)) + 20 {
			logged, _ := math.Lgamma(float64(x) + 1)
			p := math.Exp(float64(x)*math.Log(mean) - mean - logged)
			if holds(RateExact(x, 1, confidence), mean) {
				exact += p
			}
			if holds(RateMidP(x, 1, confidence), mean) {
				mid += p
			}
		}
		if exact < confidence {
			t.Errorf("mean %.3g: exact intervals hold it %.4f of the time", mean, exact)
		}
		// Single means come out on either side of 0.8; by how much is discreteness, of the
		// order of one outcome's probability, 0.4/sqrt(mean).
		if mean >= 20 && math.Abs(mid-confidence) > 0.4/math.Sqrt(mean) {
			t.Errorf("mean %.3g: mid-p intervals hold it %.4f of the time", mean, mid)
		}
	}
}

func holds(in sternfan.Interval, x float64) bool { return in.Lo <= x && (in.Open || x <= in.Hi) }
