package stats

import "math"

const (
	// mostCenter keeps the recurrence stable: it divides by 1 + center z, whose powers
	// alternate. The tests hold it to the enumeration.
	mostCenter = 0.3
	// mostReach is up to what factor of a term over the one before odds belong to the
	// cluster, at totals five deviations up: beyond, more terms cost more than a stratum's
	// events by themselves.
	mostReach = 0.25
	mostTerms = 32
	// mostTilt is how many deviations up the expected total may lie for the chances to be
	// added up; their error grows beyond.
	mostTilt = 2
	// leftOut bounds the error of a chance, relative to the greatest.
	leftOut = 1e-13
	// negligible is less the logarithm of the chance of totals that are left out.
	negligible = 32
)

// cluster returns the chance of each total from none up at the log ratio best, to where
// what is left does not count; or nil, unless A's part of the events is small and much the
// same in most strata: one lure of many against the rest. There multiplying hundreds of
// events together is needless. With the generating function
//
//	G(z) = product of (1 + o z)^n over the groups, u = 1 + c z for a center c of the odds o,
//
// differentiating gives u G' = sum over j of (-1)^j E_j G (z/u)^j, where E_j is the sum of
// n o (o-c)^j: a recurrence for the coefficients of G that for a single binomial is its
// own, and whose further terms fall with the spread of the odds. Strata off the cluster are
// multiplied in event by event.
func (t *Tally) cluster() []float64 {
	ratio := math.Exp(t.Best)
	center := float64(t.Total) / float64(t.N-t.Total)
	if !(center <= mostCenter) {
		return nil
	}
	deviation := math.Sqrt(t.info)
	up := 1 + 5/deviation
	most := center + mostReach*(1+center*up)/up
	// As many groups as events at the most; room for three more is for [powers].
	var oddsOf, nOf [MostExact + 3]float64
	var off []Group
	events, mean, kept := 0.0, 0.0, 0
	for _, g := range t.Groups {
		o := ratio * g.Odds
		if o > most {
			off = append(off, Group{g.N, o})
			continue
		}
		oddsOf[kept], nOf[kept] = o, g.N
		kept++
		events += g.N
		mean += g.N * o / (1 + o)
	}
	if events < 0.8*float64(t.N) {
		return nil
	}
	center = mean / (events - mean)
	odds, n := oddsOf[:kept+3], nOf[:kept+3]
	reach, square := 0.0, 0.0
	for i := range kept {
		odds[i] -= center
		reach = max(reach, math.Abs(odds[i]))
		square += n[i] * odds[i] * odds[i]
	}
	terms := terms(center, reach, square, deviation)
	if terms > mostTerms {
		return nil
	}
	// Bernstein's bound of the upper tail, tilted as far as goes.
	variance := t.info * (1 + mostTilt/deviation)
	further := mostTilt*deviation + negligible/3.0 + math.Sqrt(negligible*negligible/9.0+2*negligible*variance)
	var sums [mostTerms + 1]float64
	powers(sums[:terms+1], odds, n)
	chance := recur(sums[:terms+1], center, min(t.N, t.Total+int(further)+1))
	for _, g := range off {
		q := 1 / (1 + g.Odds)
		p := g.Odds * q
		for range int(g.N) {
			below := 0.0
			for k, v := range chance {
				chance[k] = q*v + p*below
				below = v
			}
		}
	}
	all := 1 / total(chance)
	for k := range chance {
		chance[k] *= all
	}
	return chance
}

// terms returns how many terms of the recurrence leave nothing out that counts, from how
// far odds lie off the center and the sum of n (o-c)^2. A total so many deviations up is
// the one expected at odds z times as great, where terms fall more slowly; it is so much
// less likely, too.
func terms(center, reach, square, deviation float64) int {
	most := 2
	for off := 0.0; off < 7; off += 2 { // of what tilting brings up to the bulk
		z := 1 + (off+mostTilt)/deviation
		w := z / (1 + center*z)
		next := reach * w
		if next > 0.9 {
			return math.MaxInt
		}
		less := math.Log(square*w*w/leftOut) - off*off/(2+2*off/(3*deviation)) // Bernstein
		if less > 0 {
			most = max(most, 2+int(less/-math.Log(next))+1)
		}
	}
	return most
}

// powers fills in the sums of n o^j from j = 0 up, four o at a time, since each power waits
// for the one before; what is left over in the end is not looked at.
func powers(sums, o, n []float64) {
	for ; len(o) >= 4 && len(n) >= 4; o, n = o[4:], n[4:] {
		a, b, c, d := n[0], n[1], n[2], n[3]
		oa, ob, oc, od := o[0], o[1], o[2], o[3]
		for j := range sums {
			sums[j] += (a + b) + (c + d)
			a, b, c, d = a*oa, b*ob, c*oc, d*od
		}
	}
}

// recur returns the coefficients of G up to the power top, the first of them one, from the
// sums of n (o-c)^j.
func recur(sums []float64, center float64, top int) []float64 {
	out := make([]float64, top+1)
	var e, g [mostTerms + 1]float64
	last, sign := len(sums)-2, 1.0
	for j := range last + 1 {
		e[j] = sign * (sums[j+1] + center*sums[j])
		sign = -sign
	}
	out[0], g[0] = 1, 1
	for k := range min(top, int(sums[0])) {
		// g[j] is the coefficient k of G (z/u)^j.
		var even, odd float64
		before := g[0]
		for j := 1; j <= last && j+1 < len(g); j += 2 { // past the last e is none
			a, b := g[j], g[j+1]
			odd += e[j] * a
			even += e[j+1] * b
			g[j], g[j+1] = before-center*a, a-center*b
			before = b
		}
		g[0] = (e[0]*out[k] - center*float64(k)*out[k] + even + odd) / float64(k+1)
		out[k+1] = g[0]
	}
	return out
}
