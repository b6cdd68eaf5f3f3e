package scenario

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Profile is a temperature profile read from a file.
type Profile struct {
	Points   []sternfan.TempPoint // by depth, ascending; at least one, at most 200
	Measured string               // the time of its newest reading as the file has it, or ""
	Readings int                  // how many readings went into it
}

// MaxProfileBytes is the largest profile's file that is read: 45 days of a long string of
// sensors every ten minutes.
const MaxProfileBytes = 8 << 20

// Bounds on a profile's file.
const (
	maxProfileFaults   = 20
	maxProfilePoints   = 200
	profileHour        = 60   // minutes: readings so much older than the newest are another profile
	sameLevel          = 0.05 // m: readings so close are of one depth
	leastGap           = 0.01 // m, between the points returned
	manyPoints         = 40   // above it, points on a straight line between others are dropped
	straightC          = 0.1  // deg C, within which a line counts as straight
	coldestC, warmestC = 0, 40
	undercooled        = 0.5 // deg C below freezing that a sensor may read in ice water
)

// reading is one temperature at one depth.
type reading struct {
	depth, temp float64 // m, deg C
	minute      int64   // of its time, from an epoch of no meaning; the same for all without times
	time        string
}

// DecodeProfile reads a temperature profile from CSV or from the text of an NDBC .ocean
// file, which it knows by its header's DEPTH and OTMP. The name is for faults. The error
// is a sternfan.Faults.
//
// CSV has a header with a depth and a temperature column; their units stand in the header
// ("depth ft", "temp (F)"), in a row of units under it or in every cell. With a column
// time, and in a .ocean file, the newest reading of each depth counts, if it is not more
// than an hour older than the newest of all. Missing values are empty cells, MM, NA, NaN
// and numbers of nines alone (99.0 as a temperature, 999 as either). Readings at one depth
// are averaged; a long cast is thinned to points between which straight lines stay within
// 0.1 degrees C of it.
func DecodeProfile(name string, data []byte) (*Profile, error) {
	d := &profileDecoder{decoder: decoder{name: name}}
	readings := d.readings(data)
	if err := d.done(); err != nil {
		return nil, err
	}
	if len(readings) == 0 {
		d.refuse("missing", "the file holds no reading of depth and temperature", "", "values that are missing are left out; see docs/scenario.md for the form")
		return nil, d.done()
	}
	return profileOf(readings), nil
}

type profileDecoder struct {
	decoder
	stop bool // enough faults
}

// fault adds a fault at a place of the file.
func (d *profileDecoder) fault(line, column int, f sternfan.Fault) {
	f.Line, f.Column = line, column
	d.add(f)
	d.stop = d.count() >= maxProfileFaults
}

func (d *profileDecoder) readings(data []byte) []reading {
	if len(data) > MaxProfileBytes {
		d.refuse("too-large", "the file is too large for a temperature profile", "more than 8 MiB",
			"cut it to the last days", "up to 8 MiB")
		return nil
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(data)) == 0 {
		d.refuse("empty", "the file is empty", "nothing", "a temperature profile has a header and a row for each depth")
		return nil
	}
	if !d.isText(data) {
		return nil
	}
	text := strings.ReplaceAll(strings.ReplaceAll(string(data), "\r\n", "\n"), "\r", "\n")
	if columns := oceanColumns(text); columns != nil {
		return d.ocean(text, columns)
	}
	return d.table(text)
}

// within reports whether depth and temperature are those of water, and adds the fault
// when they are not. The texts are as the file has them.
func (d *profileDecoder) within(r *reading, line int, column [2]int, text [2]string) bool {
	if !(r.depth >= 0 && r.depth <= deepest) {
		f := sternfan.Fault{Code: "out-of-range", Text: "this depth is out of range", Found: show(text[0]),
			Allowed: []string{fmt.Sprintf("0 to %.0f ft, positive down", deepest/float64(unit.Foot))}}
		d.fault(line, column[0], f)
		return false
	}
	if !(r.temp >= coldestC-undercooled && r.temp <= warmestC) {
		d.fault(line, column[1], sternfan.Fault{Code: "out-of-range", Text: "this temperature is out of range", Found: show(text[1]),
			Allowed: []string{"0 to 40 °C (32 to 104 °F)"}, Hint: "check whether the column is in Fahrenheit or Celsius"})
		return false
	}
	r.temp = math.Max(r.temp, coldestC)
	return true
}

// profileOf returns the newest profile of the readings, of which there is at least one.
func profileOf(readings []reading) *Profile {
	newest := slices.MaxFunc(readings, func(a, b reading) int { return cmp.Compare(a.minute, b.minute) })
	readings = slices.DeleteFunc(readings, func(r reading) bool { return newest.minute-r.minute > profileHour })
	p := &Profile{Measured: newest.time}
	slices.SortStableFunc(readings, func(a, b reading) int { return cmp.Compare(a.depth, b.depth) })
	var levels []mean
	for i := 0; i < len(readings); {
		j := i
		for j < len(readings) && readings[j].depth-readings[i].depth < sameLevel {
			j++
		}
		l := meanOf(readings[i:j])
		p.Readings += l.count
		if n := len(levels); n > 0 && l.z-levels[n-1].z < leastGap {
			levels[n-1].take(l)
		} else {
			levels = append(levels, l)
		}
		i = j
	}
	for _, l := range thinned(binned(levels)) {
		p.Points = append(p.Points, sternfan.TempPoint{Depth: unit.Length(l.z), Temperature: unit.Temperature(l.t)})
	}
	return p
}

// mean is the mean of some readings.
type mean struct {
	z, t  float64
	count int
}

func (l *mean) take(o mean) {
	n := float64(l.count + o.count)
	l.z = (l.z*float64(l.count) + o.z*float64(o.count)) / n
	l.t = (l.t*float64(l.count) + o.t*float64(o.count)) / n
	l.count += o.count
}

// meanOf returns the mean of the newest of the readings of one depth.
func meanOf(readings []reading) mean {
	newest := readings[0].minute
	for _, r := range readings {
		newest = max(newest, r.minute)
	}
	var l mean
	for _, r := range readings {
		if r.minute == newest {
			l.take(mean{r.depth, r.temp, 1})
		}
	}
	return l
}

// binned averages levels over equal depths when there are very many.
func binned(levels []mean) []mean {
	if len(levels) <= maxProfilePoints {
		return levels
	}
	top := levels[0].z
	high := (levels[len(levels)-1].z - top) / maxProfilePoints
	var out []mean
	bin := -1
	for _, l := range levels {
		at := min(int((l.z-top)/high), maxProfilePoints-1)
		if n := len(out); at == bin && n > 0 || n > 0 && l.z-out[n-1].z < leastGap {
			out[n-1].take(l)
		} else {
			out = append(out, l)
			bin = at
		}
	}
	return out
}

// thinned drops levels that lie on a straight line between others, when there are many
// (Douglas & Peucker 1973, by temperature).
func thinned(levels []mean) []mean {
	if len(levels) <= manyPoints {
		return levels
	}
	keep := make([]bool, len(levels))
	keep[0], keep[len(levels)-1] = true, true
	spans := [][2]int{{0, len(levels) - 1}}
	for len(spans) > 0 {
		a, b := spans[len(spans)-1][0], spans[len(spans)-1][1]
		spans = spans[:len(spans)-1]
		worst, at := straightC, -1
		for i := a + 1; i < b; i++ {
			f := (levels[i].z - levels[a].z) / (levels[b].z - levels[a].z)
			if off := math.Abs(levels[i].t - levels[a].t - f*(levels[b].t-levels[a].t)); off > worst {
				worst, at = off, i
			}
		}
		if at >= 0 {
			keep[at] = true
			spans = append(spans, [2]int{a, at}, [2]int{at, b})
		}
	}
	var out []mean
	for i, l := range levels {
		if keep[i] {
			out = append(out, l)
		}
	}
	return out
}
