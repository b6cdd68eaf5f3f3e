package learn

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"sternfan"
)

// Log is effort in columns: what was logged, laid out so that a season's table takes a
// moment. Add stints, then ask. The zero Log is empty. It is not for concurrent use while
// stints are added; any number may ask at once after [Log.Sort].
type Log struct {
	trips, rods, positions, species names
	setups                          []*sternfan.Setup
	setupOf                         map[*sternfan.Setup]int32

	// A row a stint.
	trip, rod, position, setup []int32
	side                       []int8
	from                       []int64 // local time, ms
	span                       []int32 // ms
	known                      []uint16
	measures                   [sternfan.Measured][]float32

	// A row a strike that has effort behind it.
	stint    []int32
	struck   []int64 // local time, ms
	kind     []int32 // species
	noEffort int
	sorted   bool
}

// names numbers strings in order of their first appearance.
type names struct {
	of    []string
	index map[string]int32
	last  int32 // asked for: names come in runs
}

func (n *names) number(s string) int32 {
	if len(n.of) > 0 && n.of[n.last] == s {
		return n.last
	}
	if i, ok := n.index[s]; ok {
		n.last = i
		return i
	}
	if n.index == nil {
		n.index = map[string]int32{}
	}
	i := int32(len(n.of))
	n.of = append(n.of, s)
	n.index[s], n.last = i, i
	return i
}

const (
	hourMS  = 3600_000
	longest = 48 * hourMS // of a stint
)

// Add appends a stint with its strikes. A stint that ends before it begins or lasts over
// two days is refused with a fault, since a clock or a forgotten end is behind it.
func (l *Log) Add(s *sternfan.Stint) error {
	span := s.To - s.From
	if span < 0 || span > longest {
		return sternfan.Fault{
			Code: "out-of-range", Path: s.ID,
			Text:  fmt.Sprintf("the rod %.40q of trip %.40q fished for %.1f h", s.Rod, s.Trip, float64(span)/hourMS),
			Found: fmt.Sprintf("%.1f h", float64(span)/hourMS), Allowed: []string{"0 to 48 h"},
			Hint: "correct the time at which the line was set or reeled in",
		}
	}
	if span == 0 {
		l.noEffort += len(s.Strikes)
		return nil
	}
	if l.setupOf == nil {
		l.setupOf = map[*sternfan.Setup]int32{}
	}
	row := int32(len(l.trip))
	var setup int32
	if row > 0 && l.setups[l.setup[row-1]] == s.Setup {
		setup = l.setup[row-1]
	} else {
		var ok bool
		if setup, ok = l.setupOf[s.Setup]; !ok {
			setup = int32(len(l.setups))
			l.setups = append(l.setups, s.Setup)
			l.setupOf[s.Setup] = setup
		}
	}
	if len(l.trip) == cap(l.trip) {
		l.grow(len(l.trip)/2 + 128)
	}
	trip := l.trips.number(s.Trip)
	l.sorted = l.sorted && (row == 0 || l.trip[row-1] <= trip) || row == 0
	l.trip = append(l.trip, trip)
	l.rod = append(l.rod, l.rods.number(s.Rod))
	l.position = append(l.position, l.positions.number(s.Position))
	l.setup = append(l.setup, setup)
	l.side = append(l.side, int8(s.Side))
	east := int64(s.East) * 1000
	l.from = append(l.from, s.From+east)
	l.span = append(l.span, int32(span))
	l.known = append(l.known, s.Measures.Known)
	for m := range l.measures {
		l.measures[m] = append(l.measures[m], s.Measures.Values[m])
	}
	for i := range s.Strikes {
		k := &s.Strikes[i]
		// A tap may come a little after the rod was lifted out: it is counted in the
		// stint's last moment.
		at := min(max(k.At, s.From), s.To-1)
		l.stint = append(l.stint, row)
		l.struck = append(l.struck, at+east)
		l.kind = append(l.kind, l.species.number(k.Species))
	}
	l.sorted = l.sorted && len(s.Strikes) == 0
	return nil
}

// grow makes room for so many stints: half as many again at a time copies less than the
// runtime's quarter.
func (l *Log) grow(n int) {
	for _, c := range []*[]int32{&l.trip, &l.rod, &l.position, &l.setup, &l.span} {
		*c = slices.Grow(*c, n)
	}
	l.side, l.from, l.known = slices.Grow(l.side, n), slices.Grow(l.from, n), slices.Grow(l.known, n)
	for m := range l.measures {
		l.measures[m] = slices.Grow(l.measures[m], n)
	}
}

// Len returns how many stints and strikes with effort there are.
func (l *Log) Len() (stints, strikes int) { return len(l.trip), len(l.stint) }

// Sort puts stints in order of trips and strikes in order of trip and time. Asking does
// it, too; only asking from several goroutines at once needs it done before.
func (l *Log) Sort() {
	if l.sorted {
		return
	}
	l.sorted = true
	if !slices.IsSorted(l.trip) {
		l.byTrip()
	}
	order := make([]int32, len(l.stint))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(l.trip[l.stint[a]], l.trip[l.stint[b]]), cmp.Compare(l.struck[a], l.struck[b]))
	})
	l.stint, l.struck, l.kind = permuted(l.stint, order), permuted(l.struck, order), permuted(l.kind, order)
}

// byTrip orders the stints by trip.
func (l *Log) byTrip() {
	order := make([]int32, len(l.trip))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(l.trip[a], l.trip[b]) })
	place := make([]int32, len(order))
	for i, o := range order {
		place[o] = int32(i)
	}
	for i := range l.stint {
		l.stint[i] = place[l.stint[i]]
	}
	l.trip, l.rod, l.position, l.setup = permuted(l.trip, order), permuted(l.rod, order), permuted(l.position, order), permuted(l.setup, order)
	l.side, l.from, l.span, l.known = permuted(l.side, order), permuted(l.from, order), permuted(l.span, order), permuted(l.known, order)
	for m := range l.measures {
		l.measures[m] = permuted(l.measures[m], order)
	}
}

func permuted[T any](s []T, order []int32) []T {
	out := make([]T, len(s))
	for i, o := range order {
		out[i] = s[o]
	}
	return out
}

// Attributes returns the names that can be compared by, sorted: those of the setups, then
// the ones that every log has and the measures that are known.
func (l *Log) Attributes() []string {
	have := map[string]bool{}
	for _, s := range l.setups {
		if s == nil {
			continue
		}
		for k := range s.Attributes {
			have[k] = true
		}
	}
	out := append(slices.Sorted(maps.Keys(have)), byRod, byPosition, bySide, byHour)
	var known uint16
	for _, k := range l.known {
		known |= k
	}
	for m := range sternfan.Measured {
		if known&(1<<m) != 0 {
			out = append(out, m.String())
		}
	}
	return out
}
