package learn

import (
	"math"

	"sternfan"
	"sternfan/learn/stats"
)

// table is the log cut into strata: how much each level fished and caught in each.
type table struct {
	levels          []string
	order           []float64
	hours           []float64 // by level
	each, events    []int     // by level: every strike; a flurry as one
	shared, against []float64 // rod-hours of the level, and of all others, where both fished
	rows            []stratum
	cells           []cell // of all rows, one after the other

	bare           bool // no pooled view
	workers        int
	unknownHours   float64
	unknownStrikes int
	trips, stints  int
}

// stratum is a run of cells; strata in which fewer than two levels fished, or nothing
// struck, are left out.
type stratum struct {
	from, to     int32 // cells
	each, events int32
	hours        float64
}

// cell is one level in one stratum.
type cell struct {
	level        int32
	each, events int32
	hours        float64
}

// cut is how time makes strata.
type cut uint8

const (
	cutNone cut = iota
	cutTrip
	cutHour // of the day, over all trips
	cutTripHour
)

// cutter holds what building a table needs.
type cutter struct {
	log     *Log
	by      *axis
	wanted  []bool // levels that take part
	given   *axis  // what else is held equal, as one column; nil: nothing
	cut     cut
	flurry  int64  // ms
	species []bool // that count
	t       *table

	// Of the part of the log in hand (a trip, or all of it).
	place      []int32 // of a stratum's key; -1: none yet
	keys       []int32 // keys of the strata in use
	first      []int32 // of a stratum's cells; -1: none yet
	cells      []linked
	index      []int32         // of the cell of a stratum and level; -1: none yet
	far        map[int64]int32 // the same where that would be too long
	base       int64           // first hour
	spanHours  int64
	nextStrike int
}

// linked is a cell and the next one of its stratum, -1 at the end.
type linked struct {
	cell
	next int32
}

// mostIndex bounds the index of cells by stratum and level.
const mostIndex = 1 << 22

// build cuts the log.
func (c *cutter) build() *table {
	l := c.log
	l.Sort()
	k := len(c.by.levels)
	c.t = &table{
		levels: c.by.levels, order: c.by.order,
		hours: make([]float64, k), each: make([]int, k), events: make([]int, k),
		shared: make([]float64, k), against: make([]float64, k),
	}
	n := len(l.trip)
	c.t.cells = make([]cell, 0, min(n, 4*len(l.stint)))
	if c.cut == cutNone || c.cut == cutHour {
		c.part(0, n)
	} else {
		for from := 0; from < n; {
			to := from + 1
			for to < n && l.trip[to] == l.trip[from] {
				to++
			}
			c.part(from, to)
			from = to
		}
	}
	return c.t
}

// part adds the stints from one row to another, which share no stratum with others.
func (c *cutter) part(from, to int) {
	l := c.log
	c.spanHours = 1
	if c.cut == cutHour {
		c.spanHours = hoursOfDay
	}
	if c.cut == cutTripHour {
		first, last := int64(math.MaxInt64), int64(math.MinInt64)
		for i := from; i < to; i++ {
			first = min(first, l.from[i])
			last = max(last, l.from[i]+int64(l.span[i]))
		}
		c.base = floorHour(first)
		c.spanHours = floorHour(last) - c.base + 1
		if c.spanHours > mostTripHours {
			// Weeks apart under one trip's name: hours fold over each other, and such a
			// trip is compared by the week's hour.
			c.spanHours = mostTripHours
		}
	}
	before := -1
	for i := from; i < to; i++ {
		if int(l.trip[i]) != before {
			before = int(l.trip[i])
			c.t.trips++
		}
		c.stint(i)
	}
	c.strikes(from, to)
	c.emit()
}

const mostTripHours = 24 * 7

func floorHour(ms int64) int64 {
	h := ms / hourMS
	if ms < h*hourMS {
		h--
	}
	return h
}

func hourOfDay(h int64) int64 { return ((h % hoursOfDay) + hoursOfDay) % hoursOfDay }

// level returns the level of a stint in one hour; -1 is not known.
func (c *cutter) level(row int, hour int64) int32 {
	if c.by.byPiece {
		return int32(hourOfDay(hour))
	}
	return c.by.column[row]
}

func (c *cutter) stint(row int) {
	l := c.log
	at, end := l.from[row], l.from[row]+int64(l.span[row])
	byHour := c.cut >= cutHour || c.by.byPiece
	counted := false
	for at < end {
		stop, hour := end, int64(0)
		if byHour {
			hour = floorHour(at)
			stop = min(end, (hour+1)*hourMS)
		}
		hours := float64(stop-at) / hourMS
		level := c.level(row, hour)
		switch {
		case level < 0:
			c.t.unknownHours += hours
		case c.wanted == nil || c.wanted[level]:
			counted = true
			c.t.hours[level] += hours
			c.cell(row, level, hour).hours += hours
		}
		at = stop
	}
	if counted {
		c.t.stints++
	}
}

// key returns the number of the stratum within the part.
func (c *cutter) key(row int, hour int64) int64 {
	k := int64(0)
	switch c.cut {
	case cutTripHour:
		k = (hour - c.base) % c.spanHours
	case cutHour:
		k = hourOfDay(hour)
	}
	if c.given != nil {
		k += c.spanHours * int64(c.given.column[row])
	}
	return k
}

// cell returns where the level's count in the stratum is kept, until the next call.
func (c *cutter) cell(row int, level int32, hour int64) *cell {
	k := c.key(row, hour)
	for int64(len(c.place)) <= k {
		c.place = append(c.place, -1)
	}
	p := c.place[k]
	if p < 0 {
		p = int32(len(c.keys))
		c.place[k] = p
		c.keys = append(c.keys, int32(k))
		c.first = append(c.first, -1)
	}
	at := int64(p)*int64(len(c.by.levels)) + int64(level)
	if at >= mostIndex {
		i, ok := c.far[at]
		if !ok {
			if c.far == nil {
				c.far = map[int64]int32{}
			}
			i = c.link(p, level)
			c.far[at] = i
		}
		return &c.cells[i].cell
	}
	for int64(len(c.index)) <= at {
		c.index = append(c.index, -1)
	}
	if c.index[at] < 0 {
		c.index[at] = c.link(p, level)
	}
	return &c.cells[c.index[at]].cell
}

// link adds a cell to a stratum.
func (c *cutter) link(place, level int32) int32 {
	i := int32(len(c.cells))
	c.cells = append(c.cells, linked{cell{level: level}, c.first[place]})
	c.first[place] = i
	return i
}

// strikes counts the strikes of the rows, which come in order of trip and time.
func (c *cutter) strikes(from, to int) {
	l := c.log
	var trip int32 = -1
	last := int64(math.MinInt64)
	for ; c.nextStrike < len(l.stint) && int(l.stint[c.nextStrike]) < to; c.nextStrike++ {
		i := c.nextStrike
		row := int(l.stint[i])
		if c.species != nil && !c.species[l.kind[i]] {
			continue
		}
		hour := floorHour(l.struck[i])
		level := c.level(row, hour)
		if level < 0 {
			c.t.unknownStrikes++
			continue
		}
		if c.wanted != nil && !c.wanted[level] {
			continue
		}
		// A flurry goes on while each strike follows the last within the gap; its first
		// strike stands for it, since what struck first was as free as any other.
		first := c.flurry <= 0 || l.trip[row] != trip || l.struck[i]-last > c.flurry
		trip, last = l.trip[row], l.struck[i]
		at := c.cell(row, level, hour)
		at.each++
		c.t.each[level]++
		if first {
			at.events++
			c.t.events[level]++
		}
	}
}

// emit keeps the strata of the part that can tell something and clears it.
func (c *cutter) emit() {
	levels := int64(len(c.by.levels))
	for p, key := range c.keys {
		row := stratum{from: int32(len(c.t.cells))}
		active := 0
		for i := c.first[p]; i >= 0; i = c.cells[i].next {
			x := &c.cells[i]
			row.hours += x.hours
			row.each += x.each
			row.events += x.events
			if x.hours > 0 {
				active++
			}
			if at := int64(p)*levels + int64(x.level); at < mostIndex {
				c.index[at] = -1
			}
		}
		if active > 1 {
			for i := c.first[p]; i >= 0; i = c.cells[i].next {
				x := &c.cells[i]
				if x.hours > 0 {
					c.t.shared[x.level] += x.hours
					c.t.against[x.level] += row.hours - x.hours
					if row.each > 0 {
						c.t.cells = append(c.t.cells, x.cell)
					}
				}
			}
			if row.each > 0 {
				row.to = int32(len(c.t.cells))
				c.t.rows = append(c.t.rows, row)
			}
		}
		c.place[key] = -1
	}
	clear(c.far)
	c.keys, c.first, c.cells = c.keys[:0], c.first[:0], c.cells[:0]
}

// oneAgainstRest returns, for every level, its counts against those of all others in the
// strata where both fished, and the distribution that the ratio is found from; with a
// flurry as one event, or strike by strike.
func (t *table) oneAgainstRest(each bool) ([]sternfan.RatioEstimate, []stats.Tally) {
	type side struct {
		lo, hi   float64 // of the odds
		from, to int     // of the groups, when few
		bins     *stats.Bins
		r        float64
		mean     float64
		info     float64
	}
	k := len(t.levels)
	ests, tallies, sides := make([]sternfan.RatioEstimate, k), make([]stats.Tally, k), make([]side, k)
	for v := range ests {
		ests[v].HoursA, ests[v].HoursB = t.shared[v], t.against[v]
		sides[v].lo = math.Inf(1)
	}
	count := func(c *cell, r *stratum) (a, n int) {
		if each {
			return int(c.each), int(r.each)
		}
		return int(c.events), int(r.events)
	}
	// Thrice through the strata: to see how much there is, to add it up, and to find the
	// likeliest ratios to the last digit.
	through := func(do func(s *side, v int32, a, n int, odds float64)) {
		for i := range t.rows {
			r := &t.rows[i]
			for j := r.from; j < r.to; j++ {
				c := &t.cells[j]
				if a, n := count(c, r); n > 0 {
					do(&sides[c.level], c.level, a, n, stats.OddsOf(c.hours, r.hours-c.hours))
				}
			}
		}
	}
	through(func(s *side, v int32, a, n int, odds float64) {
		s.lo, s.hi = min(s.lo, odds), max(s.hi, odds)
		est := &ests[v]
		est.A += a
		est.B += n - a
		est.Strata++
	})
	few := 0
	for v := range sides {
		est := &ests[v]
		if est.A+est.B > stats.MostExact && est.Strata > 2*stats.MostBins {
			sides[v].bins = stats.BinsOver(sides[v].lo, sides[v].hi)
			continue
		}
		sides[v].from, sides[v].to = few, few
		few += est.Strata
	}
	groups := make([]stats.Group, few)
	through(func(s *side, v int32, a, n int, odds float64) {
		g := stats.Group{N: float64(n), Odds: odds}
		if s.bins != nil {
			s.bins.Add(g)
			return
		}
		groups[s.to] = g
		s.to++
	})
	some := false
	for v := range tallies {
		s, d := &sides[v], &tallies[v]
		d.Total, d.N, d.Binned = ests[v].A, ests[v].A+ests[v].B, s.bins != nil
		if d.Binned {
			d.Groups = s.bins.Groups()
		} else {
			d.Groups, _ = stats.Gather(groups[s.from:s.to])
		}
		d.Prepare()
		d.Binned = d.Binned && len(d.Groups) > 1
		some = some || d.Binned
		s.r = math.Exp(d.Best)
	}
	if !some {
		return ests, tallies
	}
	through(func(s *side, v int32, a, n int, odds float64) {
		q := 1 / (1 + s.r*odds)
		p := s.r * odds * q
		s.mean += float64(n) * p
		s.info += float64(n) * p * q
	})
	for v := range tallies {
		if tallies[v].Binned {
			tallies[v].Polish(sides[v].mean, sides[v].info)
		}
	}
	return ests, tallies
}

// exposures returns what each level's events are to be held against when the strata are
// held equal: the events of each stratum, shared out by effort alone, at rates in the
// proportion given. With rates that fit, events over exposure is the rate.
func (t *table) exposures(rates []float64) []float64 {
	out := make([]float64, len(rates))
	for i := range t.rows {
		r := &t.rows[i]
		cells := t.cells[r.from:r.to]
		all := 0.0
		for j := range cells {
			all += rates[cells[j].level] * cells[j].hours
		}
		share := float64(r.events) / all
		for j := range cells {
			out[cells[j].level] += share * cells[j].hours
		}
	}
	return out
}

// inStrata returns the events of each level in the strata that tell something.
func (t *table) inStrata() []float64 {
	out := make([]float64, len(t.levels))
	for _, c := range t.cells {
		out[c.level] += float64(c.events)
	}
	return out
}
