package learn

import (
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
	// Up to so many events the distribution is enumerated.
	mostExact = 600
	// Beyond that, strata whose shares of effort differ little are
	// taken together.
	mostGroups = 128
	// pinned is the factor each way within which a ratio counts as pinned.
	pinned = 1.25
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
	est, _ := compare(strata, confidence)
	return est
}

// compare also returns the smallest two-sided p that so many events could have had.
func compare(strata []Stratum, confidence float64) (sternfan.RatioEstimate, float64) {
	if !(confidence > 0 && confidence < 1) {
		panic("learn: a confidence is between 0 and 1")
	}
	var est sternfan.RatioEstimate
	groups := make([]group, 0, len(strata))
	for _, s := range strata {
		if s.A < 0 || s.B < 0 || !(s.HoursA >= 0 && s.HoursB >= 0) || math.IsInf(s.HoursA+s.HoursB, 0) {
			panic("learn: a stratum needs counts and hours that are not negative")
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
			groups = append(groups, group{n: s.A + s.B, offset: math.Log(s.HoursA / s.HoursB)})
		}
	}
	return est, solveRatio(&est, groups, confidence)
}

// solveRatio fills in everything but the counts and hours, and returns the smallest
// two-sided p that so many events could have had.
func solveRatio(est *sternfan.RatioEstimate, groups []group, confidence float64) float64 {
	n := est.A + est.B
	est.P, est.PMid, est.Chance = 1, 1, 0.5
	if n == 0 {
		est.Open = true
		est.Exact, est.MidP = sternfan.Interval{Open: true}, sternfan.Interval{Open: true}
		est.Method = methodExact
		return 1
	}
	t := tally{total: est.A, n: n, groups: gather(groups)}
	t.prepare()
	if len(t.groups) < len(groups) && est.A > 0 && est.B > 0 {
		t.polish(groups)
	}
	est.Method = methodExact
	if len(t.groups) > 1 && n > mostExact {
		est.Method = methodSaddle
	}
	switch {
	case est.B == 0:
		est.Open = true
	case est.A > 0:
		est.Ratio = math.Exp(t.best)
	}
	null := t.tails(0)
	est.P = min(1, 2*min(null.lower, null.upper))
	est.PMid = min(1, 2*min(null.lowerMid(), null.upperMid()))
	est.Chance = max(0.5, 1-min(null.lower, null.upper))
	tail := (1 - confidence) / 2
	est.Exact = t.interval(tail, tails.lowerIs, tails.upperIs)
	est.MidP = t.interval(tail, tails.lowerMid, tails.upperMid)
	least := t.least()
	est.Decidable = least <= claimLikely

	// What a fair test side by side adds to the information about the log ratio, per
	// rod-hour of each.
	ratio := math.Exp(t.best)
	z := normalQuantile((1 + confidence) / 2)
	need := math.Pow(z/math.Log(pinned), 2)
	perHour := 2 * float64(n) / (est.HoursA + est.HoursB) * ratio / ((1 + ratio) * (1 + ratio))
	est.More = max(0, (need-t.information(t.best))/perHour)
	return least
}

const (
	methodExact  = "exact"
	methodSaddle = "saddlepoint"
)

// group is the events of all strata with one ratio of efforts.
type group struct {
	n      int
	offset float64 // log of HoursA/HoursB
}

// gather sorts the groups and returns them with those of equal offset joined; if there
// are many events and many groups left, also neighbors, at their mean offset.
func gather(groups []group) []group {
	if len(groups) > 4*mostGroups {
		all := 0
		for _, g := range groups {
			all += g.n
		}
		if all > mostExact {
			return binned(groups)
		}
	}
	slices.SortFunc(groups, func(a, b group) int {
		switch {
		case a.offset < b.offset:
			return -1
		case a.offset > b.offset:
			return 1
		}
		return a.n - b.n
	})
	out, total := make([]group, 0, min(len(groups), 4*mostGroups)), 0
	for _, g := range groups {
		total += g.n
		// Efforts are sums of spans; the last digits of their ratio mean nothing.
		if k := len(out) - 1; k >= 0 && g.offset-out[k].offset <= 1e-12 {
			out[k].n += g.n
			continue
		}
		out = append(out, g)
	}
	if total <= mostExact || len(out) <= mostGroups {
		return out
	}
	return binned(out)
}

// binned joins groups whose offsets are near each other, at their mean offset.
func binned(groups []group) []group {
	first, last := math.Inf(1), math.Inf(-1)
	for _, g := range groups {
		first, last = min(first, g.offset), max(last, g.offset)
	}
	bins := make([]group, mostGroups)
	for _, g := range groups {
		k := &bins[0]
		if last > first {
			k = &bins[int(float64(mostGroups-1)*(g.offset-first)/(last-first))]
		}
		k.n += g.n
		k.offset += float64(g.n) / float64(k.n) * (g.offset - k.offset)
	}
	return slices.DeleteFunc(bins, func(g group) bool { return g.n == 0 })
}

// tally is the distribution of A's total over the groups at any log ratio.
type tally struct {
	total, n int
	groups   []group
	best     float64   // log ratio of greatest likelihood; at a boundary, half an event from it
	exact    []float64 // chance of each total at the log ratio best; nil: one group, or too many
	level    []float64 // the same at log ratio 0

	at, above point // of the total seen and of the next, when there are too many to enumerate
}

func logistic(x float64) float64 {
	if x < 0 {
		e := math.Exp(x)
		return e / (1 + e)
	}
	return 1 / (1 + math.Exp(-x))
}

// softplus returns log(1+exp(x)).
func softplus(x float64) float64 { return max(x, 0) + math.Log1p(math.Exp(-math.Abs(x))) }

func (t *tally) prepare() {
	t.best = t.solve(min(max(float64(t.total), 0.5), float64(t.n)-0.5))
	switch {
	case len(t.groups) == 1: // by the incomplete beta function
	case t.n <= mostExact:
		t.exact, t.level = t.enumerate(t.best), t.enumerate(0)
	default:
		t.at, t.above = t.point(t.total), t.point(t.total+1)
	}
}

// solve returns the log ratio at which the expected total is want, by Newton steps kept
// within a bracket.
func (t *tally) solve(want float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	share := want / float64(t.n)
	logit := math.Log(share / (1 - share))
	for _, g := range t.groups {
		lo, hi = min(lo, logit-g.offset), max(hi, logit-g.offset)
	}
	x := (lo + hi) / 2
	for range 100 {
		mean, info := 0.0, 0.0
		for _, g := range t.groups {
			p := logistic(x + g.offset)
			mean += float64(g.n) * p
			info += float64(g.n) * p * (1 - p)
		}
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

// polish takes one more Newton step at the groups before neighbors were joined, which are
// a few millionths away.
func (t *tally) polish(groups []group) {
	mean, info := 0.0, 0.0
	for _, g := range groups {
		p := logistic(t.best + g.offset)
		mean += float64(g.n) * p
		info += float64(g.n) * p * (1 - p)
	}
	t.best += (float64(t.total) - mean) / info
}

// information returns the expected information about the log ratio at x.
func (t *tally) information(x float64) float64 {
	info := 0.0
	for _, g := range t.groups {
		p := logistic(x + g.offset)
		info += float64(g.n) * p * (1 - p)
	}
	return info
}

// enumerate returns the chance of each total at the log ratio x, by convolution of the
// groups' binomials.
func (t *tally) enumerate(x float64) []float64 {
	sum := make([]float64, t.n+1)
	next := make([]float64, t.n+1)
	one := make([]float64, t.n+1)
	sum[0] = 1
	have := 0
	for _, g := range t.groups {
		p := logistic(x + g.offset)
		logP, logQ := math.Log(p), -softplus(x+g.offset)
		all, _ := math.Lgamma(float64(g.n + 1))
		for k := range g.n + 1 {
			a, _ := math.Lgamma(float64(k + 1))
			b, _ := math.Lgamma(float64(g.n - k + 1))
			one[k] = math.Exp(all - a - b + float64(k)*logP + float64(g.n-k)*logQ)
		}
		clear(next[:have+g.n+1])
		for i, s := range sum[:have+1] {
			if s == 0 {
				continue
			}
			for k, o := range one[:g.n+1] {
				next[i+k] += s * o
			}
		}
		have += g.n
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
func (t *tally) tails(x float64) tails {
	switch {
	case len(t.groups) == 1:
		return t.beta(x)
	case t.exact == nil:
		return t.saddle(x)
	}
	// Totals are sufficient: another ratio only tilts the enumerated chances. Start from
	// the nearer enumeration, so that nothing that matters has underflowed.
	from, at := t.exact, t.best
	if math.Abs(x) < math.Abs(x-t.best) {
		from, at = t.level, 0
	}
	var s tails
	all := 0.0
	for k, p := range from {
		w := p * math.Exp((x-at)*float64(k-t.total))
		all += w
		switch {
		case k < t.total:
			s.lower += w
		case k > t.total:
			s.upper += w
		default:
			s.at = w
		}
	}
	return tails{(s.lower + s.at) / all, (s.upper + s.at) / all, s.at / all}
}

func (t *tally) beta(x float64) tails {
	k, n := float64(t.total), float64(t.n)
	p, q := logistic(x+t.groups[0].offset), logistic(-x-t.groups[0].offset)
	s := tails{lower: 1, upper: 1}
	if t.total < t.n {
		s.lower = mathext.RegIncBeta(n-k, k+1, q)
	}
	if t.total > 0 {
		s.upper = mathext.RegIncBeta(k, n-k+1, p)
	}
	all, _ := math.Lgamma(n + 1)
	a, _ := math.Lgamma(k + 1)
	b, _ := math.Lgamma(n - k + 1)
	s.at = math.Exp(all - a - b - k*softplus(-x-t.groups[0].offset) - (n-k)*softplus(x+t.groups[0].offset))
	return s
}

// saddle returns the tails by Lugannani and Rice. The tilt that makes a total the
// expected one is the log ratio at which it is expected, less x; that log ratio does not
// depend on x and is found once.
func (t *tally) saddle(x float64) tails {
	k := 0.0
	for _, g := range t.groups {
		k += float64(g.n) * softplus(x+g.offset)
	}
	from, past := t.at.upper(x, k), t.above.upper(x, k)
	return tails{lower: 1 - past, upper: from, at: max(0, from-past)}
}

// point is what the saddlepoint approximation needs of one total, whatever the log ratio.
type point struct {
	total             float64 // less a half: the continuity correction
	best              float64 // log ratio at which it is expected
	cumulant          float64 // sum of n softplus at best
	info, skew        float64 // second and third cumulants there
	certain, hopeless bool
}

func (t *tally) point(total int) point {
	q := point{total: float64(total) - 0.5, certain: total <= 0, hopeless: total > t.n}
	if q.certain || q.hopeless {
		return q
	}
	q.best = t.solve(q.total)
	for _, g := range t.groups {
		p := logistic(q.best + g.offset)
		q.cumulant += float64(g.n) * softplus(q.best+g.offset)
		q.info += float64(g.n) * p * (1 - p)
		q.skew += float64(g.n) * p * (1 - p) * (1 - 2*p)
	}
	return q
}

// upper returns the chance of the point's total or more at the log ratio x, where the
// groups' n softplus add up to k; with the second lattice correction of Daniels (Int.
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

// interval returns the ratios at which the given tails are of the given size.
func (t *tally) interval(size float64, lower, upper func(tails) float64) sternfan.Interval {
	var in sternfan.Interval
	if t.total > 0 {
		in.Lo = math.Exp(t.limit(func(x float64) float64 { return upper(t.tails(x)) - size }))
	}
	if t.total == t.n {
		in.Open = true
		return in
	}
	in.Hi = math.Exp(t.limit(func(x float64) float64 { return size - lower(t.tails(x)) }))
	return in
}

// limit returns where a function rising with the log ratio crosses zero.
func (t *tally) limit(f func(float64) float64) float64 {
	step := 1 / math.Sqrt(t.information(t.best))
	lo, flo := t.best, f(t.best)
	hi, fhi := lo, flo
	for range 60 {
		switch {
		case flo > 0:
			hi, fhi = lo, flo
			lo -= step
			flo = f(lo)
		case fhi < 0:
			lo, flo = hi, fhi
			hi += step
			fhi = f(hi)
		default:
			return cross(f, lo, hi, flo, fhi)
		}
		step *= 1.6
	}
	return lo
}

// least returns the smallest two-sided p of any outcome.
func (t *tally) least() float64 {
	all, none := 0.0, 0.0
	for _, g := range t.groups {
		all -= float64(g.n) * softplus(-g.offset)
		none -= float64(g.n) * softplus(g.offset)
	}
	return min(1, 2*math.Exp(min(all, none)))
}
