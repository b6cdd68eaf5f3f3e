package learn

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/learn/stats"
)

// byLevel is each level's strata, one level after the other: what there was of its effort
// beside that of all others, and what struck on any of them.
type byLevel struct {
	from    []int32 // of a level; one more than there are levels
	strata  []beside
	a, each []int // the level's own events and strikes in them
}

// beside is a level in one stratum.
type beside struct {
	odds         float64 // its effort over that of the others
	events, each int32   // of all levels
}

func (b *beside) count(each bool) float64 {
	if each {
		return float64(b.each)
	}
	return float64(b.events)
}

// byLevel turns the strata's cells about.
func (t *table) byLevel() *byLevel {
	k := len(t.levels)
	o := &byLevel{from: make([]int32, k+1), strata: make([]beside, t.count), a: make([]int, k), each: make([]int, k)}
	for i := range t.rows {
		for _, c := range t.rows[i].cells {
			o.from[c.level+1]++
			o.a[c.level] += int(c.events)
			o.each[c.level] += int(c.each)
		}
	}
	for v := range k {
		o.from[v+1] += o.from[v]
	}
	next := slices.Clone(o.from)
	for i := range t.rows {
		r := &t.rows[i]
		for _, c := range r.cells {
			o.strata[next[c.level]] = beside{stats.OddsOf(c.hours, r.hours-c.hours), r.events, r.each}
			next[c.level]++
		}
	}
	return o
}

// parts returns where to cut the levels, so many parts of about as many strata each.
func (o *byLevel) parts(count int) []int {
	k := len(o.from) - 1
	cuts := []int{0}
	for i := 1; i < count; i++ {
		at, _ := slices.BinarySearch(o.from, int32(int64(o.from[k])*int64(i)/int64(count)))
		if at = min(at, k); at > cuts[len(cuts)-1] {
			cuts = append(cuts, at)
		}
	}
	return append(cuts, k)
}

// compared is every level against all others.
type compared struct {
	of    []sternfan.RatioEstimate // by level
	least []float64                // the smallest p that each could have had
	under []bool                   // its rate is below that of the others
}

func newCompared(levels int) compared {
	return compared{make([]sternfan.RatioEstimate, levels), make([]float64, levels), make([]bool, levels)}
}

// compare compares the levels from one to another with all others in the strata where both
// fished; with a flurry as one event, or strike by strike.
func (o *byLevel) compare(out *compared, t *table, from, to int, each bool, confidence float64) {
	var groups []stats.Group
	for v := from; v < to; v++ {
		if t.hours[v] == 0 {
			continue
		}
		strata := o.strata[o.from[v]:o.from[v+1]]
		est := &out.of[v]
		est.HoursA, est.HoursB = t.shared[v], t.against[v]
		est.A = o.a[v]
		if each {
			est.A = o.each[v]
		}
		n, lo, hi := 0, math.Inf(1), 0.0
		for i := range strata {
			s := &strata[i]
			if k := s.count(each); k > 0 {
				n += int(k)
				est.Strata++
				lo, hi = min(lo, s.odds), max(hi, s.odds)
			}
		}
		est.B = n - est.A
		d := stats.Tally{Total: est.A, N: n}
		if n > stats.MostExact && est.Strata > 2*stats.MostBins {
			bins := stats.BinsOver(lo, hi)
			for i := range strata {
				if k := strata[i].count(each); k > 0 {
					bins.Add(stats.Group{N: k, Odds: strata[i].odds})
				}
			}
			d.Groups = bins.Groups()
			d.Prepare()
			if len(d.Groups) > 1 {
				d.Polish(expected(strata, each, d.Best))
			}
		} else {
			groups = groups[:0]
			for i := range strata {
				if k := strata[i].count(each); k > 0 {
					groups = append(groups, stats.Group{N: k, Odds: strata[i].odds})
				}
			}
			d.Groups, _ = stats.Gather(groups)
			d.Prepare()
		}
		out.under[v] = d.N > 0 && d.Total < d.N && (d.Total == 0 || d.Best < 0)
		out.least[v] = decidable(est, d.Report(est, confidence))
	}
}

// expected returns the total expected and the information about the log ratio at x.
func expected(strata []beside, each bool, x float64) (mean, info float64) {
	r := math.Exp(x)
	for i := range strata {
		q := 1 / (1 + r*strata[i].odds)
		k := strata[i].count(each) * (1 - q)
		mean += k
		info += k * q
	}
	return mean, info
}
