package learn

import (
	"math"

	"sternfan"
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
	slot       []int32 // of a level; -1: did not fish
	slots      []int32 // level of a slot
	place      []int32 // of a stratum's key; -1: none yet
	keys       []int32 // keys of the strata in use
	cells      []cell  // slots a stratum
	base       int64   // first hour
	spanHours  int64
	nextStrike int
}

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
	c.slot = make([]int32, k)
	for i := range c.slot {
		c.slot[i] = -1
	}
	n := len(l.trip)
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

// cell returns where the level's count in the stratum is kept.
func (c *cutter) cell(row int, level int32, hour int64) *cell {
	if c.slot[level] < 0 {
		c.slot[level] = int32(len(c.slots))
		c.slots = append(c.slots, level)
		c.widen()
	}
	k := c.key(row, hour)
	for int64(len(c.place)) <= k {
		c.place = append(c.place, -1)
	}
	p := c.place[k]
	if p < 0 {
		p = int32(len(c.keys))
		c.place[k] = p
		c.keys = append(c.keys, int32(k))
		for _, v := range c.slots {
			c.cells = append(c.cells, cell{level: v})
		}
	}
	return &c.cells[int(p)*len(c.slots)+int(c.slot[level])]
}

// widen makes room for one more level in every stratum of the part.
func (c *cutter) widen() {
	s := len(c.slots)
	if len(c.keys) == 0 {
		return
	}
	c.cells = append(c.cells, make([]cell, len(c.keys))...)
	for k := len(c.keys) - 1; k >= 0; k-- {
		copy(c.cells[k*s:k*s+s-1], c.cells[k*(s-1):(k+1)*(s-1)])
		c.cells[k*s+s-1] = cell{level: c.slots[s-1]}
	}
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
	s := len(c.slots)
	for k := range c.keys {
		cells := c.cells[k*s : (k+1)*s]
		row := stratum{from: int32(len(c.t.cells))}
		active := 0
		for i := range cells {
			row.hours += cells[i].hours
			row.each += cells[i].each
			row.events += cells[i].events
			if cells[i].hours > 0 {
				active++
			}
		}
		if active > 1 {
			for i := range cells {
				if h := cells[i].hours; h > 0 {
					c.t.shared[cells[i].level] += h
					c.t.against[cells[i].level] += row.hours - h
				}
			}
			if row.each > 0 {
				for i := range cells {
					if cells[i].hours > 0 {
						c.t.cells = append(c.t.cells, cells[i])
					}
				}
				row.to = int32(len(c.t.cells))
				c.t.rows = append(c.t.rows, row)
			}
		}
		c.place[c.keys[k]] = -1
	}
	for _, v := range c.slots {
		c.slot[v] = -1
	}
	c.slots, c.keys, c.cells = c.slots[:0], c.keys[:0], c.cells[:0]
}

// oneAgainstRest returns, for every level, its counts against those of all others in the
// strata where both fished, and the groups that the ratio is found from; with a flurry as
// one event, or strike by strike.
func (t *table) oneAgainstRest(each bool) ([]sternfan.RatioEstimate, [][]group) {
	ests, groups := make([]sternfan.RatioEstimate, len(t.levels)), make([][]group, len(t.levels))
	for v := range ests {
		ests[v].HoursA, ests[v].HoursB = t.shared[v], t.against[v]
	}
	for i := range t.rows {
		r := &t.rows[i]
		n := int(r.events)
		if each {
			n = int(r.each)
		}
		if n == 0 {
			continue
		}
		for _, c := range t.cells[r.from:r.to] {
			a := int(c.events)
			if each {
				a = int(c.each)
			}
			est := &ests[c.level]
			est.A += a
			est.B += n - a
			est.Strata++
			groups[c.level] = append(groups[c.level], group{n: n, offset: math.Log(c.hours / (r.hours - c.hours))})
		}
	}
	return ests, groups
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
		for _, c := range cells {
			all += rates[c.level] * c.hours
		}
		for _, c := range cells {
			out[c.level] += float64(r.events) * c.hours / all
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
