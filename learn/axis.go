package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// What every log can be compared by, whatever its setups say.
const (
	byRod      = "rod"
	byPosition = "position"
	bySide     = "side"
	byHour     = "hour"
	byTrip     = "trip"

	// Given alone:
	givenTripHour = "trip-hour"
	givenNone     = "none"
)

// axis is an attribute as a column of level numbers.
type axis struct {
	levels  []string
	order   []float64 // place of each level on a scale of its own; nil: names only
	column  []int32   // a row a stint; -1: not known
	byPiece bool      // the level is the hour of the day of each piece; no column
}

const hoursOfDay = 24

// axis returns the attribute's levels and column.
func (l *Log) axis(name string, q *Query) (*axis, error) {
	switch name {
	case byHour:
		a := &axis{byPiece: true}
		for h := range hoursOfDay {
			a.levels = append(a.levels, fmt.Sprintf("%02d-%02d h", h, h+1))
			a.order = append(a.order, float64(h))
		}
		return a, nil
	case byRod:
		return &axis{levels: l.rods.of, column: l.rod}, nil
	case byPosition:
		return known(&axis{levels: l.positions.of, column: l.position}), nil
	case byTrip:
		return &axis{levels: l.trips.of, column: l.trip}, nil
	case bySide:
		a := &axis{levels: []string{"port", "middle", "starboard"}, column: make([]int32, len(l.side))}
		for i, s := range l.side {
			a.column[i] = int32(s) + 1
		}
		return a, nil
	}
	for m := range sternfan.Measured {
		if name == m.String() {
			return l.bands(m, q), nil
		}
	}
	if a := l.attribute(name); a != nil {
		return a, nil
	}
	fault := sternfan.Fault{
		Code: "unknown-attribute", Text: "the log has no such attribute to compare by", Found: name,
		Allowed: l.Attributes(), Hint: "gear's own attributes are named kind.attribute, as in diver.color",
	}
	// The same attribute of other gear is what was most likely meant.
	if _, what, ok := strings.Cut(name, "."); ok {
		var of []string
		for _, a := range fault.Allowed {
			if strings.HasSuffix(a, "."+what) {
				of = append(of, a)
			}
		}
		if len(of) > 0 {
			fault.Hint = "of this the log has " + strings.Join(of, ", ")
		}
	}
	return nil, fault
}

// known turns levels without a name into not known.
func known(a *axis) *axis {
	none := int32(slices.Index(a.levels, ""))
	if none < 0 {
		return a
	}
	column := slices.Clone(a.column)
	for i, c := range column {
		if c == none {
			column[i] = -1
		}
	}
	return &axis{levels: a.levels, order: a.order, column: column}
}

// attribute returns the axis of an attribute of the setups, nil when none has it.
func (l *Log) attribute(name string) *axis {
	var levels names
	of := make([]int32, len(l.setups))
	for i, s := range l.setups {
		of[i] = -1
		if s == nil {
			continue
		}
		if v := strings.TrimSpace(s.Attributes[name]); v != "" {
			of[i] = levels.number(v)
		}
	}
	if len(levels.of) == 0 {
		return nil
	}
	a := &axis{levels: levels.of, column: make([]int32, len(l.setup))}
	for i, s := range l.setup {
		a.column[i] = of[s]
	}
	return a
}

// band is how a measure is cut: its width in the person's unit and the quantity's style.
type band struct {
	us, si float64 // width, in the unit of that system
	usSize float64 // that unit in SI
	siSize float64
	usName string
	siName string
}

const (
	foot  = 0.3048
	mph   = 0.44704
	fromF = 5.0 / 9
)

var bandsOf = [sternfan.Measured]band{
	sternfan.MeasureDepth:   {20, 5, foot, 1, "ft", "m"},
	sternfan.MeasureLineOut: {25, 10, foot, 1, "ft", "m"},
	sternfan.MeasureLead:    {10, 3, foot, 1, "ft", "m"},
	sternfan.MeasureDial:    {0.5, 0.5, 1, 1, "", ""},
	sternfan.MeasureSpeed:   {0.2, 0.1, mph, 1, "mph", "m/s"},
	sternfan.MeasureProbe:   {0.2, 0.1, mph, 1, "mph", "m/s"},
	sternfan.MeasureBottom:  {25, 10, foot, 1, "ft", "m"},
	sternfan.MeasureSurface: {3, 2, fromF, 1, "°F", "°C"},
}

// bands cuts a measure into levels. Bands are closed below; marks of a dial stand for
// what is nearest to them; courses are taken in five parts of the circle.
func (l *Log) bands(m sternfan.Measure, q *Query) *axis {
	b := bandsOf[m]
	width, size, label := b.us, b.usSize, b.usName
	if q.Units == unit.SI {
		width, size, label = b.si, b.siSize, b.siName
	}
	if q.Band > 0 {
		width = q.Band / size
	}
	shift, zero := 0.0, 0.0
	if m == sternfan.MeasureDial {
		shift = 0.5
	}
	if m == sternfan.MeasureSurface && q.Units != unit.SI {
		zero = 32
	}
	// Values reach us in single precision: an edge takes what lies a hair below it.
	const hair = 1e-5
	number := func(v float64) int {
		if m == sternfan.MeasureToCurrent {
			return toCurrent(v)
		}
		return int(math.Floor((v/size+zero)/width + shift + hair))
	}
	column := make([]int32, len(l.known))
	lo, hi := math.MaxInt32, math.MinInt32
	for i, k := range l.known {
		column[i] = -1
		if k&(1<<m) != 0 {
			n := max(-mostBands, min(mostBands, number(float64(l.measures[m][i]))))
			lo, hi = min(lo, n), max(hi, n)
		}
	}
	a := &axis{column: column}
	if lo > hi {
		return a
	}
	for i, k := range l.known {
		if k&(1<<m) != 0 {
			n := max(-mostBands, min(mostBands, number(float64(l.measures[m][i]))))
			column[i] = int32(n - lo)
		}
	}
	for n := lo; n <= hi; n++ {
		from := float64(n) * width
		a.order = append(a.order, (from-zero)*size)
		switch m {
		case sternfan.MeasureDial:
			a.levels = append(a.levels, "mark "+trimmed(from))
		case sternfan.MeasureToCurrent:
			a.levels = append(a.levels, courses[n])
			a.order[n-lo] = float64(n)
		default:
			a.levels = append(a.levels, trimmed(from)+"-"+trimmed(from+width)+" "+label)
		}
	}
	return a
}

// mostBands bounds the number of bands each way, whatever a log holds.
const mostBands = 2000

func trimmed(v float64) string { return fmt.Sprintf("%.4g", v) }

var courses = []string{"with the current", "quartering with it", "across it", "quartering into it", "into the current"}

// toCurrent numbers the five courses; v is the angle to the current's set, degrees.
func toCurrent(v float64) int {
	v = math.Abs(math.Mod(v, 360))
	if v > 180 {
		v = 360 - v
	}
	switch {
	case v < 22.5:
		return 0
	case v < 67.5:
		return 1
	case v < 112.5:
		return 2
	case v < 157.5:
		return 3
	}
	return 4
}
