package stats

import (
	"cmp"
	"math"
	"slices"

	"sternfan"

	"gonum.org/v1/gonum/mathext"
)

// Stratum is one stretch of fishing in which two levels are compared: what each caught in
// how many rod-hours.
type Stratum struct {
	A, B           int
	HoursA, HoursB float64
}

const (
	// MostExact events are enumerated.
	MostExact = 600
	// fewEvents are enumerated one by one, at the likeliest ratio and at none.
	fewEvents = 64
	// MostBins is into how many bins strata go beyond that, whose ratios of effort differ
	// little.
	MostBins = 64
	// Pinned is the factor each way within which a ratio counts as pinned.
	Pinned = 1.25
)

// Compare returns what strata say about the ratio of A's rate to B's. Given the n events
// of a stratum, A's are binomial with the odds ratio x HoursA / HoursB: the stratum's own
// rate drops out (Przyborowski and Wilenski, Biometrika 31, 1940, for one stratum; the
// conditional logistic likelihood for many). Strata in which one of the two did not fish,
// and those without events, say nothing.
//
// To 600 events the distribution of A's total is enumerated, by convolution or, where A has
// a small part of many events, by a recurrence that is as exact. Beyond, its
// tails come from the saddlepoint approximation of Lugannani and Rice (Adv. Appl. Probab.
// 12, 1980) with the lattice correction. It panics on negative counts, hours that are
// negative or not finite, or a confidence outside 0 to 1.
func Compare(strata []Stratum, confidence float64) sternfan.RatioEstimate {
	if !(confidence > 0 && confidence < 1) {
		panic("stats: a confidence is between 0 and 1")
	}
	var est sternfan.RatioEstimate
	groups := make([]Group, 0, len(strata))
	for _, s := range strata {
		if s.A < 0 || s.B < 0 || !(s.HoursA >= 0 && s.HoursB >= 0) || math.IsInf(s.HoursA+s.HoursB, 0) {
			panic("stats: a stratum needs counts and hours that are not negative")
		}
		if s.HoursA == 0 || s.HoursB == 0 {
			continue
		}
		est.HoursA += s.HoursA
		est.HoursB += s.HoursB
		if s.A+s.B > 0 {
			est.A += s.A
			est.B += s.B
			est.Strata++
			groups = append(groups, Group{N: float64(s.A + s.B), Odds: OddsOf(s.HoursA, s.HoursB)})
		}
	}
	solveRatio(&est, groups, confidence)
	return est
}

// solveRatio fills in everything but the counts and hours.
func solveRatio(est *sternfan.RatioEstimate, groups []Group, confidence float64) {
	t := Tally{Total: est.A, N: est.A + est.B}
	var binned bool
	t.Groups, binned = Gather(groups)
	t.Prepare()
	if binned {
		t.Polish(expected(groups, t.Best))
	}
	t.Report(est, confidence)
}

// Polish takes one more Newton step, from the expected total and the information about the
// log ratio before groups were joined to neighbors.
func (t *Tally) Polish(mean, info float64) {
	if t.Total > 0 && t.Total < t.N {
		t.Best += (float64(t.Total) - mean) / info
	}
}

// Report fills in an estimate from a tally that is prepared, all but its counts, its hours
// and whether it is decidable: for that it returns the smallest two-sided p that so many
// events could have had.
func (t *Tally) Report(est *sternfan.RatioEstimate, confidence float64) float64 {
	est.P, est.PMid, est.Chance = 1, 1, 0.5
	est.Method = MethodExact
	n := t.N
	if n == 0 {
		est.Open = true
		est.Exact, est.MidP = sternfan.Interval{Open: true}, sternfan.Interval{Open: true}
		return 1
	}
	if len(t.Groups) > 1 && n > MostExact {
		est.Method = MethodSaddle
	}
	switch {
	case est.B == 0:
		est.Open = true
	case est.A > 0:
		est.Ratio = math.Exp(t.Best)
	}
	null := t.tails(0)
	est.P = min(1, 2*min(null.lower, null.upper))
	est.PMid = min(1, 2*min(null.lower, null.upper)-null.at)
	est.Chance = max(0.5, 1-min(null.lower, null.upper))
	est.Exact, est.MidP = t.intervals((1 - confidence) / 2)

	// What a fair test side by side adds to the information about the log ratio, per
	// rod-hour of each.
	ratio := math.Exp(t.Best)
	z := mathext.NormalQuantile((1 + confidence) / 2)
	need := math.Pow(z/math.Log(Pinned), 2)
	perHour := 2 * float64(n) / (est.HoursA + est.HoursB) * ratio / ((1 + ratio) * (1 + ratio))
	est.More = max(0, (need-t.info)/perHour)
	return t.least
}

const (
	MethodExact  = "exact"
	MethodSaddle = "saddlepoint"
)

// Group is the events of all strata with one ratio of efforts.
type Group struct{ N, Odds float64 } // events; HoursA/HoursB

// OddsOf bounds a ratio of efforts to where products with ratios of rates stay finite.
func OddsOf(a, b float64) float64 { return min(1e150, max(1e-150, a/b)) }

// fewGroups are sorted to find those of equal odds.
const fewGroups = 64

// mostLog bounds log ratios for the same reason.
const mostLog = 300

// Gather returns the groups with those of equal odds joined. Many groups of many events
// are binned; many of few, which are enumerated one by one, are joined to neighbors alone.
func Gather(groups []Group) (out []Group, binned bool) {
	all := 0.0
	for _, g := range groups {
		all += g.N
	}
	if all > MostExact && len(groups) > 2*MostBins {
		b := newBins(groups)
		for _, g := range groups {
			b.Add(g)
		}
		return b.Groups(), true
	}
	out = groups[:0]
	if all > MostExact || len(groups) <= fewGroups {
		slices.SortFunc(groups, func(a, b Group) int { return cmp.Compare(a.Odds, b.Odds) })
	}
	for _, g := range groups {
		// Efforts are sums of spans; the last digits of their ratio mean nothing.
		if k := len(out) - 1; k >= 0 && math.Abs(g.Odds-out[k].Odds) <= 1e-12*out[k].Odds {
			out[k].N += g.N
			continue
		}
		out = append(out, g)
	}
	return out, false
}

// Bins join groups whose odds are near each other.
type Bins struct {
	of          [MostBins]bin
	first, step float64 // of the odds' bits
	level       bool    // all odds are the same but for their last digits
}

// bin holds the moments of its groups' odds about the first of them.
type bin struct{ n, odds, mean, square float64 }

func newBins(groups []Group) *Bins {
	lo, hi := math.Inf(1), 0.0
	for _, g := range groups {
		lo, hi = min(lo, g.Odds), max(hi, g.Odds)
	}
	return BinsOver(lo, hi)
}

// BinsOver returns bins for odds from one to another.
func BinsOver(lo, hi float64) *Bins {
	// A float's bits rise nearly as its logarithm does.
	first := float64(math.Float64bits(lo))
	b := &Bins{first: first, level: hi <= lo*(1+1e-12)}
	if !b.level {
		b.step = (MostBins - 1) / (float64(math.Float64bits(hi)) - first)
	}
	return b
}

// Add adds a group.
func (b *Bins) Add(g Group) {
	k := &b.of[int((float64(math.Float64bits(g.Odds))-b.first)*b.step)]
	if k.n == 0 {
		k.odds = g.Odds
	}
	d := g.Odds - k.odds
	k.n += g.N
	k.mean += g.N * d
	k.square += g.N * d * d
}

// Groups returns two groups a bin, with the mean and the variance of its odds: what the
// bin hides is of the third order of its width.
func (b *Bins) Groups() []Group {
	var out []Group
	for _, k := range b.of {
		if k.n == 0 {
			continue
		}
		mean := k.mean / k.n
		apart := math.Sqrt(max(0, k.square/k.n-mean*mean))
		if odds := k.odds + mean; b.level || apart < 1e-9*odds || apart >= odds {
			out = append(out, Group{k.n, odds})
		} else {
			out = append(out, Group{k.n / 2, odds - apart}, Group{k.n / 2, odds + apart})
		}
	}
	return out
}

// expected returns the expected total and the information about the log ratio at x.
func expected(groups []Group, x float64) (mean, info float64) {
	r := math.Exp(x)
	for _, g := range groups {
		q := 1 / (1 + r*g.Odds)
		p := r * g.Odds * q
		mean += g.N * p
		info += g.N * p * q
	}
	return mean, info
}
