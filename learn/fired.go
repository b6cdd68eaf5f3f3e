package learn

import (
	"cmp"
	"math"
	"slices"

	"sternfan"
	"sternfan/learn/stats"
)

// FiredQuery asks what the last strikes share.
type FiredQuery struct {
	Trip     string // "": the trip of the last strike
	Until    int64  // local time, ms: strikes up to then; 0: all
	Last     int    // so many strikes, a flurry once; 0: 8
	FlurryMS int64  // as in [Query]
	Hints    int    // at most so many; 0: 3
	Bands    Query  // Units and Band for the measures
}

const (
	// The log ratio of a level's rate to the rest, if it has one of its own: normal about
	// none, a factor of 2.5 one deviation. Assumed.
	ownRateSD = 0.9162907318741551 // ln 2.5
)

// Fired returns what the trip's last strikes share, ranked by evidence. At each strike the
// level's chance is its part of the lines then in the water (Cox's partial likelihood, J.
// R. Stat. Soc. B 34, 1972), so a level is not praised for being out on most rods, nor a
// quiet hour held against it. A flurry counts once. Evidence is the Bayes factor of a rate
// of its own against none.
func (l *Log) Fired(q FiredQuery) *sternfan.Fired {
	q.Last, q.FlurryMS, q.Hints = cmp.Or(q.Last, 8), cmp.Or(q.FlurryMS, Flurry), cmp.Or(q.Hints, 3)
	l.Sort()
	out := &sternfan.Fired{Hints: []sternfan.Share{}}
	strikes := l.recent(&q)
	out.Strikes = len(strikes)
	if len(strikes) == 0 {
		return out
	}
	trip := l.trip[l.stint[strikes[0]]]
	from, to := l.rowsOf(trip)
	// A line that came in at the strike was out when it struck.
	outThen := make([][]int, len(strikes))
	for i, s := range strikes {
		for row := from; row < to; row++ {
			if l.from[row] <= l.struck[s] && l.struck[s] < l.from[row]+int64(l.span[row]) {
				outThen[i] = append(outThen[i], row)
			}
		}
	}
	for _, name := range l.Attributes() {
		if name == byHour {
			continue
		}
		a, err := l.axis(name, &q.Bands)
		if err != nil {
			continue
		}
		for _, s := range l.shares(name, a, strikes, outThen) {
			out.Looked++
			if float64(s.Hits) > s.Expected {
				out.Hints = append(out.Hints, s)
			}
		}
	}
	for i := range out.Hints {
		h := &out.Hints[i]
		h.LuckAny = min(1, h.Luck*float64(out.Looked))
	}
	slices.SortStableFunc(out.Hints, func(a, b sternfan.Share) int { return cmp.Compare(b.Evidence, a.Evidence) })
	out.Hints = out.Hints[:min(q.Hints, len(out.Hints))]
	return out
}

// recent returns the strikes asked for, the first of each flurry, oldest first.
func (l *Log) recent(q *FiredQuery) []int {
	trip := int32(-1)
	if q.Trip != "" {
		i, ok := l.trips.index[q.Trip]
		if !ok {
			return nil
		}
		trip = i
	} else {
		last := int64(math.MinInt64)
		for i, at := range l.struck {
			if at > last && (q.Until == 0 || at <= q.Until) {
				trip, last = l.trip[l.stint[i]], at
			}
		}
	}
	var firsts []int
	before := int64(math.MinInt64)
	for i, at := range l.struck {
		if l.trip[l.stint[i]] != trip || q.Until != 0 && at > q.Until {
			continue
		}
		if len(firsts) == 0 || q.FlurryMS <= 0 || at-before > q.FlurryMS {
			firsts = append(firsts, i)
		}
		before = at
	}
	return firsts[max(0, len(firsts)-q.Last):]
}

func (l *Log) rowsOf(trip int32) (from, to int) {
	from, _ = slices.BinarySearch(l.trip, trip)
	to, _ = slices.BinarySearch(l.trip, trip+1)
	return from, to
}

// shares returns every level of an attribute that was out beside others at some strike.
func (l *Log) shares(name string, a *axis, strikes []int, outThen [][]int) []sternfan.Share {
	type part struct {
		hits, of int
		expected float64
		groups   []stats.Group
	}
	parts := map[int32]*part{}
	var order []int32
	for i, s := range strikes {
		hit := a.column[l.stint[s]]
		if hit < 0 {
			continue
		}
		counts, all := map[int32]int{}, 0
		for _, row := range outThen[i] {
			if v := a.column[row]; v >= 0 {
				counts[v]++
				all++
			}
		}
		for v, n := range counts {
			if n == all {
				continue
			}
			p := parts[v]
			if p == nil {
				p = &part{}
				parts[v] = p
				order = append(order, v)
			}
			p.of++
			p.expected += float64(n) / float64(all)
			p.groups = append(p.groups, stats.Group{N: 1, Odds: float64(n) / float64(all-n)})
			if v == hit {
				p.hits++
			}
		}
	}
	slices.Sort(order)
	var out []sternfan.Share
	for _, v := range order {
		p := parts[v]
		t := stats.Tally{Total: p.hits, N: p.of}
		t.Groups, _ = stats.Gather(p.groups)
		t.Prepare()
		out = append(out, sternfan.Share{
			Attribute: name, Level: a.levels[v], Hits: p.hits, Of: p.of, Expected: p.expected,
			Luck: t.Upper(), Evidence: t.Evidence(ownRateSD),
		})
	}
	return out
}
