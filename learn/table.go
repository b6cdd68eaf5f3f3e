package learn

import (
	"math"
	"slices"
)

// table is the log cut into strata: how much each level fished and caught in each.
type table struct {
	levels          []string
	order           []float64
	hours           []float64 // by level
	each, events    []int     // by level: every strike; a flurry as one
	shared, against []float64 // rod-hours of the level, and of all others, where both fished
	rows            []stratum
	count           int // of their cells

	bare           bool // no pooled view, no limits of single rates
	workers        int
	unknownHours   float64
	unknownStrikes int
	trips, stints  int
}

// stratum is the levels that fished in it; strata in which fewer than two levels fished, or nothing
// struck, are left out.
type stratum struct {
	cells        []cell
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
	block      []cell          // room for those that are kept
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

// build cuts the log. Where trips share no stratum, a long log is cut in shares of about
// so many stints each, whose number does not depend on how many work on them.
func (c *cutter) build(workers, share int) *table {
	c.log.Sort()
	n := len(c.log.trip)
	if c.cut == cutNone || c.cut == cutHour || n < 2*share {
		c.rowsOf(0, n)
		return c.t
	}
	var (
		shares []*cutter
		tasks  []func()
	)
	for from := 0; from < n; {
		to := min(n, from+share)
		for to < n && c.log.trip[to] == c.log.trip[to-1] {
			to++
		}
		s, first := *c, from
		shares = append(shares, &s)
		tasks = append(tasks, func() { s.rowsOf(first, to) })
		from = to
	}
	together(workers, tasks)
	t := shares[0].t
	for _, s := range shares[1:] {
		t.add(s.t)
	}
	return t
}

// longShare is how many stints of a long log are cut at a time.
const longShare = 125_000

// rowsOf cuts the stints from one row to another.
func (c *cutter) rowsOf(from, to int) {
	l := c.log
	k := len(c.by.levels)
	c.t = &table{
		levels: c.by.levels, order: c.by.order,
		hours: make([]float64, k), each: make([]int, k), events: make([]int, k),
		shared: make([]float64, k), against: make([]float64, k),
	}
	c.nextStrike, _ = slices.BinarySearch(l.stint, int32(from))
	if c.cut == cutNone || c.cut == cutHour {
		c.part(from, to)
		return
	}
	for from < to {
		end := from + 1
		for end < to && l.trip[end] == l.trip[from] {
			end++
		}
		c.part(from, end)
		from = end
	}
}

// add adds a table of other strata.
func (t *table) add(o *table) {
	for v := range t.levels {
		t.hours[v] += o.hours[v]
		t.each[v] += o.each[v]
		t.events[v] += o.events[v]
		t.shared[v] += o.shared[v]
		t.against[v] += o.against[v]
	}
	t.rows = append(t.rows, o.rows...)
	t.count += o.count
	t.unknownHours += o.unknownHours
	t.unknownStrikes += o.unknownStrikes
	t.trips += o.trips
	t.stints += o.stints
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
		if k = hour - c.base; k >= c.spanHours {
			k %= c.spanHours
		}
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
		row := stratum{}
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
			if row.each > 0 {
				row.cells = c.room(active)
			}
			for i := c.first[p]; i >= 0; i = c.cells[i].next {
				x := &c.cells[i]
				if x.hours > 0 {
					c.t.shared[x.level] += x.hours
					c.t.against[x.level] += row.hours - x.hours
					if row.each > 0 {
						row.cells = append(row.cells, x.cell)
					}
				}
			}
			if row.each > 0 {
				c.t.count += active
				c.t.rows = append(c.t.rows, row)
			}
		}
		c.place[key] = -1
	}
	clear(c.far)
	c.keys, c.first, c.cells = c.keys[:0], c.first[:0], c.cells[:0]
}

// room returns room for so many cells.
func (c *cutter) room(cells int) []cell {
	const least, most = 1 << 6, 1 << 15
	if cells > len(c.block) {
		// As many again as there are.
		c.block = make([]cell, max(cells, min(most, max(least, c.t.count))))
	}
	out := c.block[:0:cells]
	c.block = c.block[cells:]
	return out
}

// exposures returns what each level's events are to be held against when the strata are
// held equal: the events of each stratum, shared out by effort alone, at rates in the
// proportion given. With rates that fit, events over exposure is the rate.
func (t *table) exposures(rates []float64) []float64 {
	out := make([]float64, len(rates))
	for i := range t.rows {
		r := &t.rows[i]
		cells := r.cells
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
	for i := range t.rows {
		for _, c := range t.rows[i].cells {
			out[c.level] += float64(c.events)
		}
	}
	return out
}
