package stats

import (
	"math"

	"sternfan"

	"gonum.org/v1/gonum/mathext"
)

// Tally is the distribution of A's total over the groups at any log ratio.
type Tally struct {
	Total, N int // A's events, all events
	Groups   []Group
	Best     float64 // log ratio of greatest likelihood, once prepared; at a boundary, half an event from it

	info, skew, kurt float64 // second to fourth cumulants of the total at best
	least            float64 // smallest two-sided p of any outcome

	exact []float64 // chance of each total at the log ratio best; nil: one group, or too many
	level []float64 // the same at log ratio 0; nil: the other reaches as far
	mode  float64   // log of the greatest chance that the total can have; of one group

	at, above point // of the total seen and of the next, when there are too many to enumerate
}

// Prepare finds the likeliest ratio and what the tails need.
func (t *Tally) Prepare() {
	if t.N == 0 {
		return
	}
	t.Best = t.solve(min(max(float64(t.Total), 0.5), float64(t.N)-0.5), math.NaN())
	t.info, t.skew, t.kurt = t.cumulants(t.Best)
	// The smallest p of so many events is below this, and nothing that matters to anyone.
	t.least = math.Ldexp(2, -t.N)
	switch {
	case len(t.Groups) == 1: // by sums of the binomial
		t.atNull()
		t.mode = logMode(t.N, t.Total)
	case t.N <= fewEvents:
		t.atNull()
		t.exact, t.level = t.enumerate(t.Best, 0), t.enumerate(0, 0)
	case t.N <= MostExact:
		if t.exact = t.cluster(); t.exact != nil {
			return
		}
		// Beyond this log ratio 0 is enumerated for itself, so that the other enumeration
		// need reach no further than its limits.
		const far, part = 60, 1e-30
		unlike := t.atNull()
		t.exact = t.enumerate(t.Best, part*math.Exp(-min(unlike, far)))
		if unlike > far {
			t.level = t.enumerate(0, 0) // the total seen is all but impossible there
		}
	default:
		t.at, t.above = t.point(t.Total), t.point(t.Total+1)
	}
}

// cumulants returns the second to the fourth of the total at the log ratio x.
func (t *Tally) cumulants(x float64) (info, skew, kurt float64) {
	r := math.Exp(x)
	for _, g := range t.Groups {
		q := 1 / (1 + r*g.Odds)
		v := g.N * q * (1 - q)
		info += v
		skew += v * (2*q - 1)
		kurt += v * (1 - 6*q*(1-q))
	}
	return info, skew, kurt
}

// product is a product of powers, kept as a logarithm when it grows long.
type product struct{ factor, logged float64 }

func (p *product) times(base, power float64) {
	if !(power <= 4 && base > 1e-35 && base < 1e35) {
		p.logged += power * math.Log(base)
		return
	}
	switch square := base * base; power {
	case 1:
	case 2:
		base = square
	case 3:
		base *= square
	case 4:
		base = square * square
	default: // half an event
		base = math.Pow(base, power)
	}
	if p.factor *= base; p.factor < 1e-150 || p.factor > 1e150 {
		p.logged += math.Log(p.factor)
		p.factor = 1
	}
}

func (p *product) log() float64 { return p.logged + math.Log(p.factor) }

// atNull fills in the smallest p, and returns how much less likely at best than at log
// ratio 0 are the totals that count there, to nine deviations from the one expected: the
// logarithm of the factor.
func (t *Tally) atNull() (unlike float64) {
	all, none, apart := product{factor: 1}, product{factor: 1}, product{factor: 1}
	mean, info, r := 0.0, 0.0, math.Exp(t.Best)
	for _, g := range t.Groups {
		q := 1 / (1 + g.Odds)
		p := g.Odds * q
		mean += g.N * p
		info += g.N * p * q
		all.times(p, g.N)
		none.times(q, g.N)
		apart.times(q+r*p, g.N)
	}
	t.least = min(1, 2*math.Exp(min(all.log(), none.log())))
	return apart.log() - t.Best*mean + math.Abs(t.Best)*9*math.Sqrt(info)
}

// solve returns the log ratio at which the expected total is want, by Newton steps kept
// within a bracket, from a first guess or, without one (NaN), as if all odds were alike.
func (t *Tally) solve(want, x float64) float64 {
	least, most, sum := math.Inf(1), 0.0, 0.0
	for _, g := range t.Groups {
		least, most = min(least, g.Odds), max(most, g.Odds)
		sum += g.N * g.Odds
	}
	n := float64(t.N)
	logit := math.Log(want / (n - want))
	if len(t.Groups) == 1 {
		return max(-mostLog, min(mostLog, logit-math.Log(most)))
	}
	lo, hi := max(-mostLog, logit-math.Log(most)), min(mostLog, logit-math.Log(least))
	if math.IsNaN(x) {
		x = logit - math.Log(sum/n)
	}
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
		next, newton := x+(want-mean)/info, true
		if !(next > lo && next < hi) {
			next, newton = (lo+hi)/2, false
		}
		step := math.Abs(next - x)
		x = next
		// A Newton step misses by less than half its square.
		if newton && step < 1e-8 || step < 1e-14*(1+math.Abs(x)) {
			break
		}
	}
	return x
}

// enumerate returns the chance of each total at the log ratio x, by multiplying the
// events' chances together, four at a time. Totals that are less likely than the cut
// after any of the events are taken as impossible.
func (t *Tally) enumerate(x, cut float64) []float64 {
	const block = 4
	all := make([]float64, t.N+1+2*block)
	sum := all[block:] // nothing below a total of none
	sum[0] = 1
	lo, hi := 0, 0
	take := func(o *[block]float64) {
		var p, q [block]float64
		for i := range o {
			q[i] = 1 / (1 + o[i])
			p[i] = o[i] * q[i]
		}
		a0, a1, a2 := q[0]*q[1], p[0]*q[1]+q[0]*p[1], p[0]*p[1]
		b0, b1, b2 := q[2]*q[3], p[2]*q[3]+q[2]*p[3], p[2]*p[3]
		c0, c1, c2, c3, c4 := a0*b0, a0*b1+a1*b0, a0*b2+a1*b1+a2*b0, a1*b2+a2*b1, a2*b2
		// From the top down, in place: what is read has not been written.
		from := all[lo : hi+2*block+1]
		var s0, s1, s2, s3 float64
		for k := len(from) - 1 - block; k >= 0; k-- {
			s4 := from[k]
			from[k+block] = c0*s0 + c1*s1 + c2*s2 + c3*s3 + c4*s4
			s0, s1, s2, s3 = s1, s2, s3, s4
		}
		for hi += block; hi > lo && sum[hi] <= cut; hi-- {
			sum[hi] = 0
		}
		for ; lo < hi && sum[lo] <= cut; lo++ {
			sum[lo] = 0
		}
	}
	r := math.Exp(x)
	var odds [block]float64
	filled := 0
	for _, g := range t.Groups {
		for range int(g.N) {
			odds[filled] = r * g.Odds
			if filled++; filled == block {
				take(&odds)
				filled = 0
			}
		}
	}
	if filled > 0 {
		clear(odds[filled:]) // certain not to be A's
		take(&odds)
	}
	return sum[:t.N+1]
}

// tails are the chances of a total no greater and no smaller than the one seen, and how
// fast they rise with the log ratio; and the same of that very total.
type tails struct{ lower, upper, at, lowerRise, upperRise float64 }

// side is a tail and how fast it rises.
type side func(tails) (chance, rise float64)

func (s tails) lowerIs() (float64, float64) { return s.lower, s.lowerRise }
func (s tails) upperIs() (float64, float64) { return s.upper, s.upperRise }
func (s tails) lowerMid() (float64, float64) {
	return s.lower - s.at/2, (s.lowerRise - s.upperRise) / 2
}
func (s tails) upperMid() (float64, float64) {
	return s.upper - s.at/2, (s.upperRise - s.lowerRise) / 2
}

// tails returns the tails at the log ratio x.
func (t *Tally) tails(x float64) tails {
	switch {
	case len(t.Groups) == 1:
		return t.binomial(x)
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
	add := func(step int, tilt float64) (sum, away, last float64) {
		last = seen
		for k, f, by := t.Total+step, tilt, 1.0; k >= 0 && k < len(from); k, f, by = k+step, f*tilt, by+1 {
			w := from[k] * f
			if !(w < math.MaxFloat64) || w < last && w < 1e-18*(sum+seen) {
				break
			}
			sum += w
			away += w * by
			last = w
		}
		return sum, away, last
	}
	lower, below, _ := add(-1, 1/tilt)
	upper, above, last := add(1, tilt)
	all := lower + seen + upper
	if len(from) <= t.N && (tilt > 1+mostTilt/math.Sqrt(t.info) || !(last < 1e-13*all)) {
		return t.beyond(x, lower, below)
	}
	s := tails{lower: (lower + seen) / all, upper: (upper + seen) / all, at: seen / all}
	mean := (above - below) / all // past the total seen
	s.lowerRise = -below/all - mean*s.lower
	s.upperRise = above/all - mean*s.upper
	return s
}

// beyond returns the tails at the log ratio x where so much more is expected than the
// total seen that the chances up to there are not kept, from the sum of the chances below the
// total, tilted, and the same weighed by how far they are: what all of them add up to is
// known as well.
func (t *Tally) beyond(x, lower, below float64) tails {
	mean, _ := expected(t.Groups, x)
	all := math.Exp(t.weight(t.Best) - t.weight(x) + (x-t.Best)*float64(t.Total))
	mean -= float64(t.Total)
	s := tails{lower: (lower + t.exact[t.Total]) * all, at: t.exact[t.Total] * all}
	s.upper = max(0, 1-lower*all)
	s.lowerRise = -below*all - mean*s.lower
	s.upperRise = -mean*s.at - s.lowerRise
	return s
}

// weight returns the sum of the groups' n log(1 + ratio times odds) of no more events than
// are enumerated.
func (t *Tally) weight(x float64) float64 {
	p, r := product{factor: 1}, math.Exp(x)
	for _, g := range t.Groups {
		p.times(1+r*g.Odds, g.N)
	}
	return p.log()
}

// binomial returns the tails of the one group: the smaller is summed, whose terms fall
// from the first.
func (t *Tally) binomial(x float64) tails {
	k, n := float64(t.Total), float64(t.N)
	odds := math.Exp(x) * t.Groups[0].Odds
	q := 1 / (1 + odds)
	p := odds * q
	var s tails
	switch {
	case t.Total == 0:
		s.at = math.Exp(-n * math.Log1p(odds))
	case t.Total == t.N:
		s.at = math.Exp(-n * math.Log1p(1/odds))
	default:
		// From where the total is likeliest, so that no large numbers are taken apart.
		d := x - t.Best
		s.at = math.Exp(t.mode + k*d - n*math.Log1p(k/n*math.Expm1(d)))
		if math.Abs(d) > 1 || math.Abs(t.Best) == mostLog {
			s.at = math.Exp(t.mode - k*math.Log(k/(n*p)) - (n-k)*math.Log((n-k)/(n*q)))
		}
	}
	sum, term := 0.0, s.at
	if k >= n*p {
		for j := k; j < n && term > 1e-18*sum; j++ {
			term *= (n - j) / (j + 1) * odds
			sum += term
		}
		s.upper, s.lower = min(1, s.at+sum), max(0, 1-sum)
	} else {
		for j := k; j > 0 && term > 1e-18*sum; j-- {
			term *= j / ((n - j + 1) * odds)
			sum += term
		}
		s.lower, s.upper = min(1, s.at+sum), max(0, 1-sum)
	}
	s.upperRise, s.lowerRise = k*q*s.at, -(n-k)*p*s.at
	return s
}

// logMode returns the log of the chance of k of n where it is greatest, at k/n (Loader's
// form of the binomial, 2000: Stirling's formula and what it leaves out).
func logMode(n, k int) float64 {
	if k == 0 || k == n {
		return 0
	}
	a, b, all := float64(k), float64(n-k), float64(n)
	return stirlingLeft(all) - stirlingLeft(a) - stirlingLeft(b) - math.Log(2*math.Pi*a*(b/all))/2
}

// stirlingLeft returns the log of n! less that of Stirling's formula for it.
func stirlingLeft(n float64) float64 {
	if n <= 15 {
		l, _ := math.Lgamma(n + 1)
		return l - (n+0.5)*math.Log(n) + n - math.Log(2*math.Pi)/2
	}
	s := n * n
	return (1.0/12 - (1.0/360-(1.0/1260-1.0/(1680*s))/s)/s) / n
}

// saddle returns the tails by Lugannani and Rice. The tilt that makes a total the
// expected one is the log ratio at which it is expected, less x; that log ratio does not
// depend on x and is found once.
func (t *Tally) saddle(x float64) tails {
	k, mean := t.cumulant(x)
	from, fromRise := t.at.upper(x, k, mean)
	past, pastRise := t.above.upper(x, k, mean)
	return tails{lower: 1 - past, upper: from, at: max(0, from-past), lowerRise: -pastRise, upperRise: fromRise}
}

// cumulant returns the sum of the groups' n log(1 + ratio times odds), and its slope: the
// total expected.
func (t *Tally) cumulant(x float64) (k, mean float64) {
	r := math.Exp(x)
	for _, g := range t.Groups {
		o := r * g.Odds
		k += g.N * math.Log1p(o)
		mean += g.N * o / (1 + o)
	}
	return k, mean
}

// point is what the saddlepoint approximation needs of one total, whatever the log ratio.
type point struct {
	total             float64 // less a half: the continuity correction
	best              float64 // log ratio at which it is expected
	cumulant          float64 // of the groups at best
	info, skew, kurt  float64 // second to fourth cumulants there
	certain, hopeless bool
}

func (t *Tally) point(total int) point {
	q := point{total: float64(total) - 0.5, certain: total <= 0, hopeless: total > t.N}
	if q.certain || q.hopeless {
		return q
	}
	q.best = t.solve(q.total, t.Best+(q.total-float64(t.Total))/t.info)
	q.cumulant, _ = t.cumulant(q.best)
	q.info, q.skew, q.kurt = t.cumulants(q.best)
	return q
}

// upper returns the chance of the point's total or more at the log ratio x, where the
// cumulants add up to k and the total expected is mean, and how fast it rises with x;
// with the second lattice correction of Daniels (Int. Stat. Rev. 55, 1987).
func (q *point) upper(x, k, mean float64) (chance, rise float64) {
	switch {
	case q.certain:
		return 1, 0
	case q.hopeless:
		return 0, 0
	}
	s := q.best - x
	w := math.Copysign(math.Sqrt(max(0, 2*(s*q.total-q.cumulant+k))), s)
	phi := math.Exp(-w*w/2) / math.Sqrt(2*math.Pi)
	root := math.Sqrt(q.info)
	// 1/u - 1/w as a series, for where nothing would be left of the difference.
	skew := q.skew / (q.info * root)
	gap := -skew/6 - w*(1+skew*w/6)*(skew*skew+(1-q.kurt/q.info)/q.info)/24
	rise = phi * root
	if math.Abs(w) > 0.05 {
		half := math.Sinh(s / 2)
		gap = 1/(2*half*root) - 1/w
		slope := (mean - q.total) / w // of w
		rise = phi * (math.Sqrt(1+half*half)/(4*half*half*root) + slope/(w*w) - slope*(1+w*gap))
	}
	return min(1, max(0, 0.5*math.Erfc(w/math.Sqrt2)+phi*gap)), rise
}

// intervals returns the ratios at which the tails are of the given size, exact and mid-p.
func (t *Tally) intervals(size float64) (exact, mid sternfan.Interval) {
	z := -mathext.NormalQuantile(size)
	if t.Total > 0 {
		exact.Lo = math.Exp(t.limit(t.near(-0.5, -z), size, true, tails.upperIs))
		mid.Lo = math.Exp(t.limit(t.near(0, -z), size, true, tails.upperMid))
	}
	if t.Total == t.N {
		exact.Open, mid.Open = true, true
		return exact, mid
	}
	exact.Hi = math.Exp(t.limit(t.near(0.5, z), size, false, tails.lowerIs))
	mid.Hi = math.Exp(t.limit(t.near(0, z), size, false, tails.lowerMid))
	return exact, mid
}

// near returns about where the total seen, moved by so much, lies z deviations from what
// is expected: the saddlepoint approximation with the cumulants at best in a series, turned
// over.
func (t *Tally) near(moved, z float64) float64 {
	// Where the moved total is expected, and the cumulants there.
	off := moved / t.info
	off -= t.skew * off * off / (2 * t.info)
	info := max(t.info/2, t.info+t.skew*off+t.kurt*off*off/2)
	root := math.Sqrt(info)
	skew, kurt := (t.skew+t.kurt*off)/(info*root), t.kurt/(info*info)
	// The signed root of the likelihood, less a sixth of the skewness, is nearly normal.
	v := -z - skew/6
	return t.Best + off - v*(1+v*(skew/6+v*(5*skew*skew/72-kurt/24)))/root
}

// limit returns the log ratio at which a tail is of the given size, from a guess. On the
// normal scale a tail is nearly a straight line of the log ratio, so that a Newton step or
// two are enough; they are kept within what is known to hold the limit.
func (t *Tally) limit(x, size float64, rising bool, tail side) float64 {
	want := mathext.NormalQuantile(size)
	lo, hi := -float64(mostLog), float64(mostLog)
	if !(x > lo && x < hi) {
		x = t.Best
	}
	for range 80 {
		chance, rise := tail(t.tails(x))
		at := mathext.NormalQuantile(min(1-1e-16, max(1e-300, chance)))
		miss := at - want
		if miss == 0 {
			break
		}
		if miss < 0 == rising {
			lo = x
		} else {
			hi = x
		}
		next, newton := x-miss/(rise*math.Sqrt(2*math.Pi)*math.Exp(at*at/2)), true
		if !(next > lo && next < hi) {
			next, newton = (lo+hi)/2, false
		}
		x = next
		// What a step leaves is of the order of its square.
		if newton && math.Abs(miss) < 3e-5 || hi-lo < 1e-13 {
			break
		}
	}
	return x
}

// Upper returns the chance of the total seen or more at equal rates.
func (t *Tally) Upper() float64 { return t.tails(0).upper }

// Evidence returns log10 of the Bayes factor for a log ratio of its own, normal about none
// with the deviation given, against none.
func (t *Tally) Evidence(sd float64) float64 {
	level, _ := t.cumulant(0)
	// The trapezoid over six deviations each way, which is as good as exact for a smooth
	// function that dies away.
	const nodes = 61
	sum, weights := 0.0, 0.0
	for i := range nodes {
		z := -6 + 12*float64(i)/(nodes-1)
		x := z * sd
		w := math.Exp(-z * z / 2)
		weights += w
		k, _ := t.cumulant(x)
		sum += w * math.Exp(float64(t.Total)*x-k+level)
	}
	return math.Log10(sum / weights)
}
