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
// To 600 events the distribution of A's total is enumerated by convolution. Beyond, its
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
	t.Groups, t.Binned = Gather(groups)
	t.Prepare()
	if t.Binned {
		t.Polish(expected(groups, t.Best))
	}
	t.Report(est, confidence)
}

// Polish takes one more Newton step at the groups before neighbors were joined.
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
	est.PMid = min(1, 2*min(null.lowerMid(), null.upperMid()))
	est.Chance = max(0.5, 1-min(null.lower, null.upper))
	tail := (1 - confidence) / 2
	est.Exact, est.MidP = t.intervals(tail)
	least := t.least()

	// What a fair test side by side adds to the information about the log ratio, per
	// rod-hour of each.
	ratio := math.Exp(t.Best)
	_, info := expected(t.Groups, t.Best)
	z := mathext.NormalQuantile((1 + confidence) / 2)
	need := math.Pow(z/math.Log(Pinned), 2)
	perHour := 2 * float64(n) / (est.HoursA + est.HoursB) * ratio / ((1 + ratio) * (1 + ratio))
	est.More = max(0, (need-info)/perHour)
	return least
}

const (
	MethodExact  = "exact"
	MethodSaddle = "saddlepoint"
)

// Group is the events of all strata with one ratio of efforts.
type Group struct{ N, Odds float64 } // events; HoursA/HoursB

// OddsOf bounds a ratio of efforts to where products with ratios of rates stay finite.
func OddsOf(a, b float64) float64 { return min(1e150, max(1e-150, a/b)) }

// mostLog bounds log ratios for the same reason.
const mostLog = 300

// Gather sorts the groups and returns them with those of equal odds joined. Many groups
// of many events are binned.
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
	slices.SortFunc(groups, func(a, b Group) int { return cmp.Compare(a.Odds, b.Odds) })
	for _, g := range groups {
		// Efforts are sums of spans; the last digits of their ratio mean nothing.
		if k := len(out) - 1; k >= 0 && g.Odds <= out[k].Odds*(1+1e-12) {
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

// Tally is the distribution of A's total over the groups at any log ratio.
type Tally struct {
	Total, N int // A's events, all events
	Groups   []Group
	Binned   bool    // groups stand for more than they are: [Tally.Polish] the ratio
	Best     float64 // log ratio of greatest likelihood, once prepared; at a boundary, half an event from it

	exact  []float64 // chance of each total at the log ratio best; nil: one group, or too many
	level  []float64 // the same at log ratio 0; nil: the other reaches as far
	choose float64   // log of the ways to choose the total; of one group

	at, above point // of the total seen and of the next, when there are too many to enumerate
}

// Prepare finds the likeliest ratio and what the tails need.
func (t *Tally) Prepare() {
	if t.N == 0 {
		return
	}
	t.Best = t.solve(min(max(float64(t.Total), 0.5), float64(t.N)-0.5), math.NaN())
	switch {
	case len(t.Groups) == 1: // by the incomplete beta function
		t.choose = logChoose(t.N, t.Total)
	case t.N <= MostExact:
		t.exact = t.enumerate(t.Best)
		if t.unlike() > 200 {
			t.level = t.enumerate(0)
		}
	default:
		t.at, t.above = t.point(t.Total), t.point(t.Total+1)
	}
}

func logChoose(n, k int) float64 {
	all, _ := math.Lgamma(float64(n + 1))
	a, _ := math.Lgamma(float64(k + 1))
	b, _ := math.Lgamma(float64(n - k + 1))
	return all - a - b
}

// unlike returns how much less likely the total that log ratio 0 expects is at best: the
// logarithm of the factor. Far beyond it, what was enumerated at best has underflowed.
func (t *Tally) unlike() float64 {
	mean, _ := expected(t.Groups, 0)
	d := -t.Best * mean
	r := math.Exp(t.Best)
	for _, g := range t.Groups {
		d += g.N * (math.Log1p(r*g.Odds) - math.Log1p(g.Odds))
	}
	return d
}

// solve returns the log ratio at which the expected total is want, by Newton steps kept
// within a bracket, from a first guess or, without one (NaN), from the middle.
func (t *Tally) solve(want, x float64) float64 {
	least, most := math.Inf(1), 0.0
	for _, g := range t.Groups {
		least, most = min(least, g.Odds), max(most, g.Odds)
	}
	share := want / float64(t.N)
	logit := math.Log(share / (1 - share))
	lo, hi := max(-mostLog, logit-math.Log(most)), min(mostLog, logit-math.Log(least))
	if !(x > lo && x < hi) {
		x = (lo + hi) / 2
	}
	for range 100 {
		mean, info := expected(t.Groups, x)
		if mean > want {
			hi = x
		} else {
			lo = x
		}
		next := x + (want-mean)/info
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-14*(1+math.Abs(x)) {
			return next
		}
		x = next
	}
	return x
}

// enumerate returns the chance of each total at the log ratio x, by convolution of the
// groups' binomials.
func (t *Tally) enumerate(x float64) []float64 {
	sum := make([]float64, t.N+1)
	next := make([]float64, t.N+1)
	one := make([]float64, t.N+1)
	sum[0] = 1
	have := 0
	r := math.Exp(x)
	for _, g := range t.Groups {
		odds, n := r*g.Odds, int(g.N)
		q := 1 / (1 + odds)
		p := odds * q
		if n == 1 {
			for k := have + 1; k > 0; k-- {
				sum[k] = sum[k]*q + sum[k-1]*p
			}
			sum[0] *= q
			have++
			continue
		}
		logP, logQ := math.Log(p), -math.Log1p(odds)
		for k := range n + 1 {
			one[k] = math.Exp(logChoose(n, k) + float64(k)*logP + float64(n-k)*logQ)
		}
		clear(next[:have+n+1])
		for i, s := range sum[:have+1] {
			if s == 0 {
				continue
			}
			into := next[i : i+n+1]
			for k, o := range one[:n+1] {
				into[k] += s * o
			}
		}
		have += n
		sum, next = next, sum
	}
	return sum
}

// tails are the chances of a total no greater and no smaller than the one seen, and of
// that very one.
type tails struct{ lower, upper, at float64 }

func (s tails) lowerIs() float64  { return s.lower }
func (s tails) upperIs() float64  { return s.upper }
func (s tails) lowerMid() float64 { return s.lower - s.at/2 }
func (s tails) upperMid() float64 { return s.upper - s.at/2 }

// tails returns the tails at the log ratio x.
func (t *Tally) tails(x float64) tails {
	switch {
	case len(t.Groups) == 1:
		return t.beta(x)
	case t.exact == nil:
		return t.saddle(x)
	}
	// Totals are sufficient: another ratio only tilts the enumerated chances. Start from
	// the nearer enumeration, so that nothing that matters has underflowed.
	from, at := t.exact, t.Best
	if t.level != nil && math.Abs(x) < math.Abs(x-t.Best) {
		from, at = t.level, 0
	}
	// Outward from the total seen, until nothing is added that counts.
	tilt := math.Exp(x - at)
	seen := from[t.Total]
	s := tails{at: seen}
	add := func(step int, tilt float64) (sum float64) {
		before := seen
		for k, f := t.Total+step, tilt; k >= 0 && k <= t.N; k, f = k+step, f*tilt {
			w := from[k] * f
			if !(w < math.MaxFloat64) || w < before && w < 1e-18*(sum+seen) {
				break
			}
			sum += w
			before = w
		}
		return sum
	}
	s.lower, s.upper = add(-1, 1/tilt), add(1, tilt)
	all := s.lower + seen + s.upper
	return tails{(s.lower + seen) / all, (s.upper + seen) / all, seen / all}
}

func (t *Tally) beta(x float64) tails {
	k, n := float64(t.Total), float64(t.N)
	odds := math.Exp(x) * t.Groups[0].Odds
	q := 1 / (1 + odds)
	p := odds * q
	s := tails{lower: 1, upper: 1}
	if t.Total < t.N {
		s.lower = mathext.RegIncBeta(n-k, k+1, q)
	}
	if t.Total > 0 {
		s.upper = mathext.RegIncBeta(k, n-k+1, p)
	}
	s.at = math.Exp(t.choose - k*math.Log1p(1/odds) - (n-k)*math.Log1p(odds))
	return s
}

// saddle returns the tails by Lugannani and Rice. The tilt that makes a total the
// expected one is the log ratio at which it is expected, less x; that log ratio does not
// depend on x and is found once.
func (t *Tally) saddle(x float64) tails {
	k := t.cumulant(x)
	from, past := t.at.upper(x, k), t.above.upper(x, k)
	return tails{lower: 1 - past, upper: from, at: max(0, from-past)}
}

// cumulant returns the sum of the groups' n log(1 + ratio times odds).
func (t *Tally) cumulant(x float64) float64 {
	k, r := 0.0, math.Exp(x)
	for _, g := range t.Groups {
		k += g.N * math.Log1p(r*g.Odds)
	}
	return k
}

// point is what the saddlepoint approximation needs of one total, whatever the log ratio.
type point struct {
	total             float64 // less a half: the continuity correction
	best              float64 // log ratio at which it is expected
	cumulant          float64 // of the groups at best
	info, skew        float64 // second and third cumulants there
	certain, hopeless bool
}

func (t *Tally) point(total int) point {
	q := point{total: float64(total) - 0.5, certain: total <= 0, hopeless: total > t.N}
	if q.certain || q.hopeless {
		return q
	}
	q.best = t.solve(q.total, t.Best)
	q.cumulant = t.cumulant(q.best)
	r := math.Exp(q.best)
	for _, g := range t.Groups {
		p := r * g.Odds / (1 + r*g.Odds)
		q.info += g.N * p * (1 - p)
		q.skew += g.N * p * (1 - p) * (1 - 2*p)
	}
	return q
}

// upper returns the chance of the point's total or more at the log ratio x, where the
// cumulants add up to k; with the second lattice correction of Daniels (Int.
// Stat. Rev. 55, 1987).
func (q *point) upper(x, k float64) float64 {
	switch {
	case q.certain:
		return 1
	case q.hopeless:
		return 0
	}
	s := q.best - x
	w := math.Copysign(math.Sqrt(max(0, 2*(s*q.total-q.cumulant+k))), s)
	gap := -q.skew / (6 * math.Pow(q.info, 1.5)) // the limit of 1/u - 1/w
	if math.Abs(w) > 1e-3 {
		gap = 1/(2*math.Sinh(s/2)*math.Sqrt(q.info)) - 1/w
	}
	phi := math.Exp(-w*w/2) / math.Sqrt(2*math.Pi)
	return min(1, max(0, 0.5*math.Erfc(w/math.Sqrt2)+phi*gap))
}

// intervals returns the ratios at which the tails are of the given size, exact and mid-p.
func (t *Tally) intervals(size float64) (exact, mid sternfan.Interval) {
	_, info := expected(t.Groups, t.Best)
	slope, off := math.Sqrt(info), -mathext.NormalQuantile(size)
	if t.Total > 0 {
		lo := t.limit(limit{at: t.Best - off/slope, slope: slope}, size, tails.upperIs)
		exact.Lo, mid.Lo = math.Exp(lo.at), math.Exp(t.limit(lo, size, tails.upperMid).at)
	}
	if t.Total == t.N {
		exact.Open, mid.Open = true, true
		return exact, mid
	}
	hi := t.limit(limit{at: t.Best + off/slope, slope: -slope}, size, tails.lowerIs)
	exact.Hi, mid.Hi = math.Exp(hi.at), math.Exp(t.limit(hi, size, tails.lowerMid).at)
	return exact, mid
}

// limit is a log ratio and how fast the tail changes there, on the normal scale.
type limit struct{ at, slope float64 }

// limit returns the log ratio at which a tail is of the given size, from a guess. On the
// normal scale a tail is nearly a straight line of the log ratio, so that a few secant
// steps are enough; they are kept within what is known to hold the limit.
func (t *Tally) limit(from limit, size float64, tail func(tails) float64) limit {
	want := mathext.NormalQuantile(size)
	rising := from.slope > 0
	lo, hi := -float64(mostLog), float64(mostLog)
	x, slope := from.at, from.slope
	before, missed := math.NaN(), math.NaN()
	for range 80 {
		miss := mathext.NormalQuantile(min(1-1e-16, max(1e-300, tail(t.tails(x))))) - want
		if miss == 0 {
			break
		}
		if miss < 0 == rising {
			lo = x
		} else {
			hi = x
		}
		if s := (miss - missed) / (x - before); s > 0 == rising && s != 0 && !math.IsInf(s, 0) && !math.IsNaN(s) {
			slope = s
		}
		next := x - miss/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		before, missed, x = x, miss, next
		if math.Abs(x-before)*math.Abs(slope) < 1e-8 || hi-lo < 1e-13 {
			break
		}
	}
	return limit{x, slope}
}

// least returns the smallest two-sided p of any outcome.
func (t *Tally) least() float64 {
	all, none := 0.0, 0.0
	for _, g := range t.Groups {
		all -= g.N * math.Log1p(1/g.Odds)
		none -= g.N * math.Log1p(g.Odds)
	}
	return min(1, 2*math.Exp(min(all, none)))
}

// Upper returns the chance of the total seen or more at equal rates.
func (t *Tally) Upper() float64 { return t.tails(0).upper }

// Evidence returns log10 of the Bayes factor for a log ratio of its own, normal about none
// with the deviation given, against none.
func (t *Tally) Evidence(sd float64) float64 {
	level := t.cumulant(0)
	// The trapezoid over six deviations each way, which is as good as exact for a smooth
	// function that dies away.
	const nodes = 61
	sum, weights := 0.0, 0.0
	for i := range nodes {
		z := -6 + 12*float64(i)/(nodes-1)
		x := z * sd
		w := math.Exp(-z * z / 2)
		weights += w
		sum += w * math.Exp(float64(t.Total)*x-t.cumulant(x)+level)
	}
	return math.Log10(sum / weights)
}
