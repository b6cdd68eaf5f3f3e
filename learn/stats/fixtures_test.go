package stats

import (
	"math"
	"testing"

	"sternfan/internal/reference"
	"sternfan/internal/reference/r"
)

const confidence = 0.8

func near(t *testing.T, name string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", name, got, want, tolerance)
	}
}

// rel is a tolerance relative to the value, not tighter than absolute below one.
func rel(tolerance, want float64) float64 { return tolerance * max(1, math.Abs(want)) }

func TestPublishedPairs(t *testing.T) {
	for _, row := range reference.TwoRates {
		strata := []Stratum{{row.CountA, row.CountB, row.EffortA, row.EffortB}}
		got := Compare(strata, 0.95)
		near(t, row.Source+" ratio", got.Ratio, row.Ratio, row.Tolerance)
		near(t, row.Source+" low", got.Exact.Lo, row.Low, row.Tolerance)
		near(t, row.Source+" high", got.Exact.Hi, row.High, row.Tolerance)
		if row.PCentral != 0 {
			near(t, row.Source+" p", got.P, row.PCentral, row.Tolerance)
		}
		if row.PMinLike != 0 {
			near(t, row.Source+" p of outcomes no likelier", minLike(strata[0]), row.PMinLike, row.Tolerance)
		}
	}
	for _, row := range reference.EqualEffort {
		got := Compare([]Stratum{{row.CountA, row.CountB, 10, 10}}, confidence)
		near(t, row.Source, got.P, row.P, row.Tolerance)
	}
}

// minLike sums what is no likelier than the outcome seen, over the distribution that the
// package enumerates.
func minLike(s Stratum) float64 {
	d := Tally{Total: s.A, N: s.A + s.B, Groups: []Group{{N: float64(s.A + s.B), Odds: s.HoursA / s.HoursB}}}
	all, p := d.enumerate(0, 0), 0.0
	for _, v := range all {
		if v <= all[s.A]*(1+1e-7) {
			p += v
		}
	}
	return p
}

func TestPublishedRates(t *testing.T) {
	for _, row := range reference.PoissonLimits {
		got := RateExact(row.Count, 1, 0.95)
		near(t, row.Source+" low", got.Lo, row.Low, row.Tolerance)
		near(t, row.Source+" high", got.Hi, row.High, row.Tolerance)
	}
	for _, row := range reference.GammaPoisson {
		g := gamma{row.PriorShape, row.PriorRate}.after(float64(row.Count), row.Exposure)
		near(t, "shape", g.shape, row.Shape, 0)
		near(t, "rate", g.rate, row.Rate, 0)
		near(t, "mean", g.mean(), row.Mean, row.MeanTolerance)
		near(t, "above one", 1-g.below(1), row.ProbAboveOne, row.Tolerance)
		near(t, "low", g.quantile(0.025), row.Low, row.Tolerance)
		near(t, "high", g.quantile(0.975), row.High, row.Tolerance)
	}
}

// R 4.2.2, poisson.test and uniroot; internal/reference/r.
func TestRatesFromR(t *testing.T) {
	for _, row := range r.Read("rates") {
		x, c := int(row.Number("events")), row.Number("confidence")
		exact, mid := RateExact(x, 1, c), RateMidP(x, 1, c)
		for _, v := range []struct {
			name string
			got  float64
		}{{"exact_lo", exact.Lo}, {"exact_hi", exact.Hi}, {"mid_lo", mid.Lo}, {"mid_hi", mid.Hi}} {
			want := row.Number(v.name)
			near(t, row["events"]+" "+v.name, v.got, want, rel(1e-8, want))
		}
	}
}

func strataOf(name string) []Stratum {
	var out []Stratum
	for _, row := range r.Read("strata") {
		if row["case"] == name {
			out = append(out, Stratum{int(row.Number("a")), int(row.Number("b")), row.Number("hours_a"), row.Number("hours_b")})
		}
	}
	return out
}

// R 4.2.2, glm and counting of every outcome; internal/reference/r. Beyond 600 events the
// saddlepoint approximation stands in for counting: its limits are held to 1e-5.
func TestRatiosFromR(t *testing.T) {
	methods := map[string]int{}
	for _, row := range r.Read("ratios") {
		name := row["case"]
		got := Compare(strataOf(name), confidence)
		methods[got.Method]++
		if float64(got.A+got.B) != row.Number("events") {
			t.Errorf("%s: %d events, want %s", name, got.A+got.B, row["events"])
		}
		tolerance := 1e-6
		if got.Method == MethodSaddle {
			tolerance = 1e-5
		}
		near(t, name+" log ratio", math.Log(got.Ratio), row.Number("log_ratio"), 1e-6)
		for _, v := range []struct {
			name string
			got  float64
		}{
			{"p", got.P}, {"p_mid", got.PMid}, {"exact_lo", got.Exact.Lo}, {"exact_hi", got.Exact.Hi},
			{"mid_lo", got.MidP.Lo}, {"mid_hi", got.MidP.Hi},
		} {
			want := row.Number(v.name)
			near(t, name+" "+v.name, v.got, want, rel(tolerance, want))
		}
	}
	if methods[MethodExact] < 5 || methods[MethodSaddle] == 0 {
		t.Errorf("methods used: %v", methods)
	}
}

// R 4.2.2, a fine grid of dnbinom; internal/reference/r. Means are smooth sums. A limit is
// where a sum of distribution functions crosses a level: where the spread is small these
// are steps, on either grid, and the limit is good to a fraction of a step.
func TestPoolingFromR(t *testing.T) {
	rows := map[string][]r.Row{}
	for _, row := range r.Read("pools") {
		rows[row["pool"]] = append(rows[row["pool"]], row)
	}
	for name, levels := range rows {
		var events, exposure []float64
		for _, row := range levels {
			events, exposure = append(events, row.Number("events")), append(exposure, row.Number("exposure"))
		}
		got := Pool(events, exposure, confidence)
		near(t, name+" spread", got.Spread, levels[0].Number("spread"), 1e-6)
		for i, row := range levels {
			near(t, name+" mean", got.Mean[i], row.Number("mean"), 1e-6)
			near(t, name+" lo", got.Interval[i].Lo, row.Number("lo"), 1e-3*row.Number("mean"))
			near(t, name+" hi", got.Interval[i].Hi, row.Number("hi"), 1e-3*row.Number("mean"))
		}
	}
}
