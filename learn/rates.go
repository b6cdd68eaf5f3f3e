package learn

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"sternfan"
	"sternfan/learn/stats"
	"sternfan/unit"
)

// Query is a question to the log.
type Query struct {
	Compare    []string // attributes; a table each
	Levels     []string // compare these alone; needs a single attribute
	Given      []string // held equal: "trip-hour" when empty, "trip", "hour" (of the day), "none", and any attribute
	Species    []string // strikes that count; empty: all
	FlurryMS   int64    // strikes of a trip no further apart count once; 0: [Flurry]; negative: each counts
	Band       float64  // width of a measure's bands, SI; 0: the measure's own
	Units      unit.System
	Looked     int     // comparisons looked at before, by whoever asks
	Confidence float64 // of intervals; 0: [Confidence]
	Workers    int     // on one answer at the same time; the answer does not depend on it

	bare bool // the comparisons alone: worlds by the thousand look at nothing else
}

// Flurry is the default gap, ms, within which strikes of a trip form one flurry.
const Flurry = 5 * 60_000

// Rates answers the query, a result an attribute. Every comparison made for it counts
// toward what luck could have done. Errors are faults: an attribute, level or species
// that the log does not have.
func (l *Log) Rates(q Query) ([]*sternfan.Rates, error) {
	q = q.filled()
	if len(q.Compare) == 0 {
		return nil, sternfan.Fault{Code: "missing", Text: "there is nothing to compare by", Allowed: l.Attributes()}
	}
	if len(q.Levels) > 0 && len(q.Compare) > 1 {
		return nil, sternfan.Fault{Code: "refused", Text: "levels can be chosen for one attribute at a time", Found: strings.Join(q.Compare, ", ")}
	}
	var (
		out    []*sternfan.Rates
		leasts [][]float64
	)
	looked := q.Looked
	for _, name := range q.Compare {
		r, least, err := l.compare(name, &q)
		if err != nil {
			return nil, err
		}
		out, leasts = append(out, r), append(leasts, least)
		looked += len(r.Contrasts)
	}
	for i, r := range out {
		judged(r, leasts[i], looked)
	}
	return out, nil
}

func (q Query) filled() Query {
	q.Confidence, q.FlurryMS = cmp.Or(q.Confidence, Confidence), cmp.Or(q.FlurryMS, Flurry)
	return q
}

// compare answers for one attribute; verdicts wait until all comparisons are counted.
func (l *Log) compare(name string, q *Query) (*sternfan.Rates, []float64, error) {
	c, err := l.cutter(name, q)
	if err != nil {
		return nil, nil, err
	}
	t := c.build(q.Workers, longShare)
	r := &sternfan.Rates{
		Compare: name, Given: givenNames(name, q.Given), Species: q.Species, Confidence: q.Confidence,
		FlurryS: float64(max(0, q.FlurryMS)) / 1000, Trips: t.trips, Stints: t.stints,
		Unknown: sternfan.RatesUnknown{RodHours: t.unknownHours, Strikes: t.unknownStrikes, NoEffort: l.noEffort},
		Ordered: t.order != nil,
	}
	for v := range t.levels {
		r.RodHours += t.hours[v]
		r.Strikes += t.each[v]
		r.Events += t.events[v]
	}
	t.bare, t.workers = q.bare, q.Workers
	return r, t.answer(r, q.Confidence), nil
}

// cutter resolves the query's names.
func (l *Log) cutter(name string, q *Query) (*cutter, error) {
	l.Sort()
	by, err := l.axis(name, q)
	if err != nil {
		return nil, err
	}
	c := &cutter{log: l, by: by, flurry: q.FlurryMS}
	for _, want := range q.Levels {
		v := slices.Index(by.levels, want)
		if v < 0 {
			return nil, sternfan.Fault{Code: "unknown-level", Text: "the log has no such level of " + name, Found: want, Allowed: some(by.levels)}
		}
		if c.wanted == nil {
			c.wanted = make([]bool, len(by.levels))
		}
		c.wanted[v] = true
	}
	for _, want := range q.Species {
		if c.species == nil {
			c.species = make([]bool, len(l.species.of))
		}
		found := false
		for i, s := range l.species.of {
			if strings.EqualFold(s, want) {
				c.species[i], found = true, true
			}
		}
		if !found {
			return nil, sternfan.Fault{Code: "unknown-species", Text: "the log has no strike of this species", Found: want, Allowed: some(l.species.of)}
		}
	}
	for _, g := range givenNames(name, q.Given) {
		switch g {
		case givenNone:
		case byTrip:
			c.cut = cutTrip
		case byHour:
			c.cut = cutHour
		case givenTripHour:
			c.cut = cutTripHour
		default:
			if g == name {
				return nil, sternfan.Fault{Code: "refused", Text: "what is compared cannot be held equal as well", Found: g}
			}
			a, err := l.axis(g, q)
			if err != nil {
				return nil, err
			}
			c.given = joint(c.given, a, len(l.trip))
		}
	}
	return c, nil
}

// some returns the first few names for a fault.
func some(names []string) []string {
	const most = 20
	out := make([]string, 0, most)
	for _, n := range names {
		if n != "" && len(out) < most {
			out = append(out, n)
		}
	}
	return out
}

// givenNames returns what is held equal when an attribute is compared: the trip's hour,
// unless that is what is compared.
func givenNames(compare string, given []string) []string {
	if len(given) > 0 {
		timed := slices.ContainsFunc(given, func(g string) bool {
			return g == givenNone || g == byTrip || g == byHour || g == givenTripHour
		})
		if timed {
			return given
		}
		return append(givenNames(compare, nil), given...)
	}
	switch compare {
	case byHour:
		return []string{byTrip}
	case byTrip:
		return []string{byHour}
	}
	return []string{givenTripHour}
}

// joint returns one column that tells apart what either tells apart.
func joint(a, b *axis, rows int) *axis {
	type pair struct{ a, b int32 }
	seen := map[pair]int32{}
	out := &axis{column: make([]int32, rows)}
	last, lastNumber := pair{-2, -2}, int32(0)
	for i := range rows {
		p := pair{-1, b.column[i]}
		if a != nil {
			p.a = a.column[i]
		}
		if p != last {
			n, ok := seen[p]
			if !ok {
				n = int32(len(seen))
				seen[p] = n
			}
			last, lastNumber = p, n
		}
		out.column[i] = lastNumber
	}
	return out
}

// answer fills in levels and comparisons, and returns the smallest p that each comparison
// could have had.
func (t *table) answer(r *sternfan.Rates, confidence float64) []float64 {
	var levels []int32
	for v := range t.levels {
		if t.hours[v] > 0 {
			levels = append(levels, int32(v))
		}
	}
	if len(levels) == 0 {
		return nil
	}
	// The rates drawn together and the comparisons do not need one another, nor do these
	// each other once the strata are turned about: what is long goes first.
	var (
		pooled   stats.Pooled
		events   = newCompared(len(t.levels))
		each     = events
		expected []float64
		tasks    = []func(){func() {
			expected = t.exposures(ones(len(t.levels)))
			pooled = t.pool(levels, expected, confidence)
		}}
		flurries = !slices.Equal(t.each, t.events)
	)
	if len(levels) > 1 {
		turned := sync.OnceValue(t.byLevel)
		if flurries {
			each = newCompared(len(t.levels))
		}
		count := min(comparedParts, len(levels))
		add := func(out *compared, strikes bool) {
			for i := range count {
				tasks = append(tasks, func() {
					o := turned()
					if cuts := o.parts(count); i+1 < len(cuts) {
						o.compare(out, t, cuts[i], cuts[i+1], strikes, confidence)
					}
				})
			}
		}
		add(&events, false)
		if flurries {
			add(&each, true)
		}
	}
	together(t.workers, tasks)
	levels = t.fill(r, levels, expected, &pooled, confidence)
	if len(levels) > 1 {
		return t.contrasts(r, levels, &events, &each)
	}
	return nil
}

// comparedParts is how finely the comparisons of a long list are shared out.
const comparedParts = 32

// together runs the tasks, so many at the same time.
func together(workers int, tasks []func()) {
	if workers < 2 {
		for _, task := range tasks {
			task()
		}
		return
	}
	var (
		wait sync.WaitGroup
		next atomic.Int32
	)
	for range min(workers, len(tasks)) {
		wait.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(tasks) {
					return
				}
				tasks[i]()
			}
		})
	}
	wait.Wait()
}

// fill adds the levels, and returns their numbers in the order given to them.
func (t *table) fill(r *sternfan.Rates, levels []int32, expected []float64, pooled *stats.Pooled, confidence float64) []int32 {
	r.Pooling = sternfan.Pooling{Method: stats.PoolMethod, Spread: pooled.Spread, SpreadIn: pooled.SpreadIn}
	place := make([]int, len(levels))
	for i := range place {
		place[i] = i
	}
	if !r.Ordered {
		// By what each has at the least: the mean of a level that barely fished can still
		// be high after one lucky fish.
		slices.SortFunc(place, func(a, b int) int {
			return cmp.Or(cmp.Compare(pooled.Interval[b].Lo, pooled.Interval[a].Lo),
				strings.Compare(t.levels[levels[a]], t.levels[levels[b]])) // no two are alike
		})
	}
	// Limits of counts, which many levels share.
	limits := map[int]countLimits{}
	of := func(events int) countLimits {
		c, ok := limits[events]
		if !ok && !t.bare {
			c.exact = perHour(stats.RateExact(events, 1, confidence))
			c.mid = perHour(stats.RateMidP(events, 1, confidence))
			limits[events] = c
		}
		return c
	}
	r.Levels = make([]sternfan.RateLevel, 0, len(levels))
	out := make([]int32, 0, len(levels))
	for _, i := range place {
		v := levels[i]
		h := t.hours[v]
		level := sternfan.RateLevel{
			Level: t.levels[v], RodHours: h, Strikes: t.each[v], Events: t.events[v],
			Rate: float64(t.events[v]) / h, Exact: of(t.events[v]).exact.per(h), MidP: of(t.events[v]).mid.per(h),
			Each: float64(t.each[v]) / h, EachMidP: of(t.each[v]).mid.per(h),
			Pooled: pooled.Mean[i], PooledIn: pooled.Interval[i], First: pooled.First[i], Expected: expected[v],
		}
		if t.order != nil {
			level.Order = t.order[v]
		}
		r.Levels = append(r.Levels, level)
		out = append(out, v)
	}
	return out
}

func ones(n int) []float64 { return slices.Repeat([]float64{1}, n) }

func sum(of []float64) float64 {
	s := 0.0
	for _, v := range of {
		s += v
	}
	return s
}

// countLimits are the limits of a count, taken as a rate in one hour.
type countLimits struct{ exact, mid perHour }

type perHour sternfan.Interval

func (p perHour) per(hours float64) sternfan.Interval {
	return sternfan.Interval{Lo: p.Lo / hours, Hi: p.Hi / hours}
}

// pool returns the levels' rates drawn together with the strata held equal, per rod-hour
// in the run of conditions that the log met; equal is their exposures at equal rates.
func (t *table) pool(levels []int32, equal []float64, confidence float64) stats.Pooled {
	if t.bare {
		return stats.Pooled{Mean: make([]float64, len(levels)), Interval: make([]sternfan.Interval, len(levels)), First: make([]float64, len(levels))}
	}
	rates, inStrata := ones(len(t.levels)), t.inStrata()
	events, exposure := make([]float64, len(levels)), make([]float64, len(levels))
	shape := 1 / (stats.SpreadScale * stats.SpreadScale)
	// The exposures depend on the rates: settle them with the rates drawn together by a
	// fixed amount, find the amount, and settle them once more.
	for pass := range 2 {
		t.settle(rates, equal, inStrata, shape)
		e := t.exposures(rates)
		equal = e
		for i, v := range levels {
			events[i], exposure[i] = inStrata[v], e[v]
		}
		if pass > 0 || sum(events) == 0 {
			break
		}
		spread := stats.Spread(events, exposure)
		shape = 1 / max(spread*spread, 1e-4)
	}
	p := stats.Pool(events, exposure, confidence)
	// Relative so far: put the whole at the log's own rate.
	all, weighed := 0.0, 0.0
	for i, v := range levels {
		all += float64(t.events[v])
		weighed += p.Mean[i] * t.hours[v]
	}
	scale := all / weighed
	if all == 0 {
		scale = 0.5 / weighed
	}
	for i := range levels {
		p.Mean[i] *= scale
		p.Interval[i].Lo *= scale
		p.Interval[i].Hi *= scale
	}
	return p
}

// settle finds rates that agree with the exposures that follow from them, each drawn
// toward one as by so many events. The exposures at the rates to begin from may be known.
func (t *table) settle(rates, known, events []float64, shape float64) {
	for i := range 20 {
		e := known
		if i > 0 || e == nil {
			e = t.exposures(rates)
		}
		most := 0.0
		for v := range rates {
			next := (events[v] + shape) / (e[v] + shape)
			most = max(most, math.Abs(next/rates[v]-1))
			rates[v] = next
		}
		if most < 1e-4 {
			return
		}
	}
}

// contrasts adds the comparisons: of two levels one, of more each against the others. It
// returns the smallest p that each could have had.
func (t *table) contrasts(r *sternfan.Rates, levels []int32, events, each *compared) (least []float64) {
	numbers := levels
	if len(levels) == 2 {
		// The one ahead is named first.
		numbers = levels[:1]
		if events.under[levels[0]] {
			numbers = levels[1:]
		}
	}
	r.Contrasts = make([]sternfan.Contrast, 0, len(numbers))
	for _, v := range numbers {
		c := sternfan.Contrast{A: t.levels[v], Events: events.of[v], Each: each.of[v]}
		if len(levels) == 2 {
			c.B = t.levels[levels[0]]
			if v == levels[0] {
				c.B = t.levels[levels[1]]
			}
		}
		least = append(least, events.least[v])
		r.Contrasts = append(r.Contrasts, c)
	}
	return least
}

// Count is a level given straight as a count of strikes and its effort.
type Count struct {
	Level   string
	Strikes int
	Hours   float64
}

// RatesOf answers from counts alone, without a log: nothing is held equal, and flurries
// cannot be told. Errors are faults: fewer than two counts, or efforts that are not
// positive.
func RatesOf(counts []Count, confidence float64, looked int) (*sternfan.Rates, error) {
	confidence = cmp.Or(confidence, Confidence)
	if len(counts) < 2 {
		return nil, sternfan.Fault{Code: "missing", Text: "a comparison needs two counts", Found: fmt.Sprint(len(counts)), Hint: "give --counts 14/61h --counts 7/61h"}
	}
	t := &table{}
	row := stratum{}
	for i, c := range counts {
		if c.Strikes < 0 || c.Strikes > mostStrikes || !(c.Hours > 0) || c.Hours > mostHours {
			return nil, sternfan.Fault{
				Code: "out-of-range", Text: "a count needs strikes and the rod-hours that they took", Path: c.Level,
				Found: fmt.Sprintf("%d strikes in %g h", c.Strikes, c.Hours), Allowed: []string{"0 to 1 million strikes in more than 0 and up to 10 million h"},
			}
		}
		t.levels = append(t.levels, c.Level)
		t.hours = append(t.hours, c.Hours)
		t.each, t.events = append(t.each, c.Strikes), append(t.events, c.Strikes)
		row.cells = append(row.cells, cell{level: int32(i), each: int32(c.Strikes), events: int32(c.Strikes), hours: c.Hours})
		row.each += int32(c.Strikes)
		row.events += int32(c.Strikes)
		row.hours += c.Hours
	}
	t.rows, t.count = []stratum{row}, len(counts)
	for _, c := range counts {
		t.shared = append(t.shared, c.Hours)
		t.against = append(t.against, row.hours-c.Hours)
	}
	r := &sternfan.Rates{
		Compare: "counts", Given: []string{givenNone}, Confidence: confidence,
		RodHours: row.hours, Strikes: int(row.each), Events: int(row.events),
	}
	least := t.answer(r, confidence)
	judged(r, least, looked+len(r.Contrasts))
	return r, nil
}

const (
	mostStrikes = 1_000_000
	mostHours   = 1e7
)
