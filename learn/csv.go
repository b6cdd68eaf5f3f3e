package learn

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sternfan"
	"sternfan/learn/rows"
	"sternfan/unit"
)

// CSV is effort as two tables: stints, a row for each, and strikes, a row for each. Names
// are those that faults give the two.
type CSV struct {
	Stints, Strikes         []byte
	StintsName, StrikesName string
}

// ReadCSV reads effort from tables of the project's own form, which docs/learning.md
// describes. A stint has trip, rod, from and to, and any of position, side, the measures
// by name and further columns as attributes; a strike has trip, rod and at, and any of
// species and landed. Nothing is taken over when anything is wrong: the error is then
// [sternfan.Faults] with row and column, up to twenty of them.
func ReadCSV(in CSV) (*Log, error) {
	r := &reader{Reader: rows.Reader{File: in.StintsName}}
	stints := r.stints(in.Stints)
	r.overlaps(stints)
	r.File = in.StrikesName
	if len(r.Faults) == 0 {
		r.strikes(in.Strikes, stints)
	}
	if err := r.Faults.Err(); err != nil {
		return nil, err
	}
	log := &Log{}
	for i := range stints {
		if err := log.Add(&stints[i].Stint); err != nil {
			return nil, sternfan.Faults{err.(sternfan.Fault)}
		}
	}
	for _, s := range r.lost {
		_ = log.Add(&sternfan.Stint{Strikes: []sternfan.Strike{s}}) // without effort: no fault possible
	}
	return log, nil
}

// lined is a stint and the line of the file it is on.
type lined struct {
	sternfan.Stint
	line int
}

// reader reads the two tables.
type reader struct {
	rows.Reader
	lost []sternfan.Strike
}

var own = []string{"trip", "rod", "position", "side", "from", "to"}

func (r *reader) stints(data []byte) []lined {
	var out []lined
	setups := map[string]*sternfan.Setup{}
	var attributes []string
	var key strings.Builder
	r.Table(data, []string{"trip", "rod", "from", "to"}, func(w *rows.Row) {
		if attributes == nil {
			attributes = attributesOf(w)
		}
		s := lined{}
		s.Trip, s.Rod = r.Text(w, "trip", true), r.Text(w, "rod", true)
		s.Position = r.Text(w, "position", false)
		s.Side = r.side(w)
		var east int32
		s.From, s.East = r.time(w, "from")
		s.To, east = r.time(w, "to")
		_, line, column := w.Cell("to")
		s.line = line
		if s.From != noTime && s.To != noTime && (s.To < s.From || s.To-s.From > longest) {
			text, _, _ := w.Cell("to")
			r.Fault("out-of-range", "a stint ends after it begins, within two days", text, line, column, "give the date with each time")
		}
		if east != s.East {
			s.East = min(s.East, east) // over the change of the clocks: the hours of one side
		}
		for m := range sternfan.Measured {
			r.measure(w, m, &s.Measures)
		}
		key.Reset()
		for _, a := range attributes {
			v, _, _ := w.Cell(a)
			key.WriteString(v)
			key.WriteByte(0)
		}
		if s.Setup = setups[key.String()]; s.Setup == nil {
			s.Setup = &sternfan.Setup{Attributes: map[string]string{}}
			for _, a := range attributes {
				if v := r.Text(w, a, false); v != "" {
					s.Setup.Attributes[a] = v
				}
			}
			setups[key.String()] = s.Setup
		}
		out = append(out, s)
	})
	return out
}

// attributesOf returns the columns that are none of ours, sorted.
func attributesOf(w *rows.Row) []string {
	out := []string{}
	for name := range w.Column {
		if !slices.Contains(own, name) && !slices.Contains(measureNames(), name) {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

func measureNames() []string {
	out := make([]string, sternfan.Measured)
	for m := range out {
		out[m] = sternfan.Measure(m).String()
	}
	return out
}

func (r *reader) side(w *rows.Row) sternfan.Side {
	text, line, column := w.Cell("side")
	switch strings.ToLower(text) {
	case "port":
		return sternfan.Port
	case "starboard":
		return sternfan.Starboard
	case "", "middle":
		return sternfan.Amidships
	}
	r.Fault("out-of-range", "this is no side of the boat", text, line, column, "", "port", "starboard", "middle")
	return sternfan.Amidships
}

// layouts are the ways to write a time; without an offset it is local and UTC alike.
var layouts = []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// time returns Unix milliseconds and the seconds that local time is ahead of UTC.
func (r *reader) time(w *rows.Row, name string) (ms int64, east int32) {
	text, line, column := w.Cell(name)
	for _, layout := range layouts {
		t, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		if t.Year() < 1900 || t.Year() > 2200 {
			break
		}
		_, seconds := t.Zone()
		return t.UnixMilli(), int32(seconds)
	}
	r.Fault("out-of-range", "this is no time", text, line, column, "write date and time, with the offset from UTC if the log crosses zones",
		"2026-06-14 05:40", "2026-06-14T05:40:00-04:00")
	return noTime, 0
}

// noTime stands for a time that could not be read; its fault has been noted.
const noTime = math.MinInt64

func (r *reader) measure(w *rows.Row, m sternfan.Measure, ms *sternfan.Measures) {
	text, line, column := w.Cell(m.String())
	if text == "" {
		return
	}
	v, err := parseMeasure(m, text)
	if err != nil {
		r.Fault("wrong-unit", "this is no "+m.String()+": "+err.Error(), text, line, column, "write the number with its unit, as in 65 ft or 2.4 mph")
		return
	}
	ms.Set(m, v)
}

func parseMeasure(m sternfan.Measure, text string) (float64, error) {
	switch m {
	case sternfan.MeasureDepth, sternfan.MeasureLineOut, sternfan.MeasureLead, sternfan.MeasureBottom:
		v, err := unit.ParseLength(text)
		return float64(v), err
	case sternfan.MeasureSpeed, sternfan.MeasureProbe:
		v, err := unit.ParseSpeed(text)
		return float64(v), err
	case sternfan.MeasureSurface:
		v, err := unit.ParseTemperature(text)
		return float64(v), err
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= -360 && v <= 360) {
		return 0, errNumber
	}
	return v, nil
}

var errNumber = errors.New("not a plain number")

// overlaps refuses stints of one rod that run at the same time: its effort would count
// twice.
func (r *reader) overlaps(stints []lined) {
	order := byRodAndTime(stints)
	for i := 1; i < len(order); i++ {
		a, b := &stints[order[i-1]], &stints[order[i]]
		if a.Trip == b.Trip && a.Rod == b.Rod && b.From < a.To {
			r.Fault("refused", fmt.Sprintf("the rod %s fishes twice at once: the stint of line %d is not over", strconv.Quote(b.Rod), a.line), "",
				b.line, 1, "end a stint when the rod is reset")
		}
	}
}

// byRodAndTime returns the numbers of the stints, each trip's and rod's one after the other.
func byRodAndTime(stints []lined) []int {
	order := make([]int, len(stints))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &stints[i], &stints[j]
		return cmp.Or(strings.Compare(a.Trip, b.Trip), strings.Compare(a.Rod, b.Rod), cmp.Compare(a.From, b.From))
	})
	return order
}

// strikes puts each strike into its rod's stint. One at the very end of a stint belongs
// to it, unless the next begins there.
func (r *reader) strikes(data []byte, stints []lined) {
	type rodOf struct{ trip, rod string }
	of := map[rodOf][]int{}
	for _, i := range byRodAndTime(stints) {
		k := rodOf{stints[i].Trip, stints[i].Rod}
		of[k] = append(of[k], i)
	}
	r.Table(data, []string{"trip", "rod", "at"}, func(w *rows.Row) {
		k := rodOf{r.Text(w, "trip", true), r.Text(w, "rod", true)}
		s := sternfan.Strike{Species: r.Text(w, "species", false), Landed: r.landed(w)}
		s.At, _ = r.time(w, "at")
		stintsOf := of[k]
		// The last stint that began by then.
		n, _ := slices.BinarySearchFunc(stintsOf, s.At+1, func(i int, at int64) int {
			if stints[i].From < at {
				return -1
			}
			return 1
		})
		if n > 0 && s.At <= stints[stintsOf[n-1]].To {
			in := &stints[stintsOf[n-1]]
			in.Strikes = append(in.Strikes, s)
			return
		}
		r.lost = append(r.lost, s)
	})
}

func (r *reader) landed(w *rows.Row) bool {
	text, line, column := w.Cell("landed")
	switch strings.ToLower(text) {
	case "yes", "true", "1":
		return true
	case "", "no", "false", "0":
		return false
	}
	r.Fault("out-of-range", "landed is yes or no", text, line, column, "", "yes", "no")
	return false
}
