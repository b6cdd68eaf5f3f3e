package learn

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"sternfan"
	"sternfan/unit"
)

// CSV is effort as two tables: stints, a row for each, and strikes, a row for each. Names
// are those that faults give the two.
type CSV struct {
	Stints, Strikes         []byte
	StintsName, StrikesName string
}

const (
	mostRows   = 2_000_000
	mostFaults = 20
	mostCell   = 200 // letters
)

// ReadCSV reads effort from tables of the project's own form, which docs/learning.md
// describes. A stint has trip, rod, from and to, and any of position, side, the measures
// by name and further columns as attributes; a strike has trip, rod and at, and any of
// species and landed. Nothing is taken over when anything is wrong: the error is then
// [sternfan.Faults] with row and column, up to twenty of them.
func ReadCSV(in CSV) (*Log, error) {
	r := &reader{file: in.StintsName}
	stints := r.stints(in.Stints)
	r.overlaps(stints)
	r.file = in.StrikesName
	if len(r.faults) == 0 {
		r.strikes(in.Strikes, stints)
	}
	if err := r.faults.Err(); err != nil {
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

type reader struct {
	file   string
	faults sternfan.Faults
	lost   []sternfan.Strike
}

func (r *reader) fault(code, text, found string, line, column int, hint string, allowed ...string) {
	if len(r.faults) < mostFaults {
		if utf8.RuneCountInString(found) > 60 {
			found = string([]rune(found)[:60]) + "..."
		}
		r.faults = append(r.faults, sternfan.Fault{
			Code: code, File: r.file, Line: line, Column: column, Text: text, Found: found, Allowed: allowed, Hint: hint,
		})
	}
}

// row is one record and where its cells are.
type row struct {
	cells  []string
	at     func(column int) (line, column1 int)
	column map[string]int
}

func (w *row) cell(name string) (text string, line, column int) {
	i, ok := w.column[name]
	if !ok || i >= len(w.cells) {
		return "", 0, 0
	}
	line, column = w.at(i)
	return strings.TrimSpace(w.cells[i]), line, column
}

// rows reads a table and hands over its rows until there are no more faults to be had.
func (r *reader) rows(data []byte, need []string, each func(*row)) (header []string) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if i := firstInvalid(data); i >= 0 {
		r.fault("not-text", "the file is not UTF-8 text", fmt.Sprintf("byte %d", i+1), 1+bytes.Count(data[:i], []byte{'\n'}), 1, "save it as CSV in UTF-8")
		return nil
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.ReuseRecord = true
	c.FieldsPerRecord = -1
	head, err := c.Read()
	if err != nil {
		if errors.Is(err, io.EOF) {
			r.fault("missing", "the file is empty", "", 1, 1, "the first row names the columns", need...)
		} else {
			r.broken(err)
		}
		return nil
	}
	w := &row{at: c.FieldPos, column: map[string]int{}}
	for i, name := range head {
		name = strings.ToLower(strings.TrimSpace(name))
		line, column := c.FieldPos(i)
		switch _, twice := w.column[name]; {
		case name == "" || utf8.RuneCountInString(name) > mostCell:
			r.fault("missing", "a column needs a short name", name, line, column, "")
		case twice:
			r.fault("duplicate-id", "two columns have the same name", name, line, column, "remove one of them")
		default:
			w.column[name] = i
		}
		header = append(header, name)
	}
	for _, n := range need {
		if _, ok := w.column[n]; !ok {
			r.fault("missing", "a column is missing", n, 1, 1, "the first row names the columns", need...)
		}
	}
	if len(r.faults) > 0 {
		return nil
	}
	for n := 0; len(r.faults) < mostFaults; n++ {
		w.cells, err = c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			r.broken(err)
			break
		}
		line, _ := c.FieldPos(0)
		if n == mostRows {
			r.fault("out-of-range", "the file has too many rows", "", line, 1, fmt.Sprintf("split it into files of at most %d rows", mostRows))
			break
		}
		if len(w.cells) != len(header) {
			r.fault("missing", fmt.Sprintf("the row has %d cells where the header has %d", len(w.cells), len(header)), "", line, 1, "quote a cell that holds a comma")
			continue
		}
		each(w)
	}
	return header
}

func firstInvalid(data []byte) int {
	for i := 0; i < len(data); {
		c, n := utf8.DecodeRune(data[i:])
		if c == utf8.RuneError && n == 1 || c == 0 {
			return i
		}
		i += n
	}
	return -1
}

func (r *reader) broken(err error) {
	var p *csv.ParseError
	if errors.As(err, &p) {
		r.fault("not-csv", "the row cannot be read: "+p.Err.Error(), "", p.Line, p.Column, "a cell with a comma or a quote is quoted whole")
		return
	}
	r.fault("not-csv", "the row cannot be read", "", 0, 0, "")
}

var own = []string{"trip", "rod", "position", "side", "from", "to"}

func (r *reader) stints(data []byte) []lined {
	var out []lined
	setups := map[string]*sternfan.Setup{}
	var attributes []string
	var key strings.Builder
	r.rows(data, []string{"trip", "rod", "from", "to"}, func(w *row) {
		if attributes == nil {
			attributes = attributesOf(w)
		}
		s := lined{}
		s.Trip, s.Rod = r.text(w, "trip", true), r.text(w, "rod", true)
		s.Position = r.text(w, "position", false)
		s.Side = r.side(w)
		var east int32
		s.From, s.East = r.time(w, "from")
		s.To, east = r.time(w, "to")
		_, line, column := w.cell("to")
		s.line = line
		if s.From != noTime && s.To != noTime && (s.To < s.From || s.To-s.From > longest) {
			text, _, _ := w.cell("to")
			r.fault("out-of-range", "a stint ends after it begins, within two days", text, line, column, "give the date with each time")
		}
		if east != s.East {
			s.East = min(s.East, east) // over the change of the clocks: the hours of one side
		}
		for m := range sternfan.Measured {
			r.measure(w, m, &s.Measures)
		}
		key.Reset()
		for _, a := range attributes {
			v, _, _ := w.cell(a)
			key.WriteString(v)
			key.WriteByte(0)
		}
		if s.Setup = setups[key.String()]; s.Setup == nil {
			s.Setup = &sternfan.Setup{Attributes: map[string]string{}}
			for _, a := range attributes {
				if v := r.text(w, a, false); v != "" {
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
func attributesOf(w *row) []string {
	out := []string{}
	for name := range w.column {
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

func (r *reader) text(w *row, name string, must bool) string {
	text, line, column := w.cell(name)
	switch {
	case must && text == "":
		r.fault("missing", "the cell of "+name+" is empty", "", line, column, "")
	case utf8.RuneCountInString(text) > mostCell || strings.ContainsFunc(text, func(c rune) bool { return c < ' ' || c == 0x7f }):
		r.fault("out-of-range", "a name is one line of at most 200 letters", text, line, column, "")
		return ""
	}
	return text
}

func (r *reader) side(w *row) sternfan.Side {
	text, line, column := w.cell("side")
	switch strings.ToLower(text) {
	case "port":
		return sternfan.Port
	case "starboard":
		return sternfan.Starboard
	case "", "middle":
		return sternfan.Amidships
	}
	r.fault("out-of-range", "this is no side of the boat", text, line, column, "", "port", "starboard", "middle")
	return sternfan.Amidships
}

// layouts are the ways to write a time; without an offset it is local and UTC alike.
var layouts = []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// time returns Unix milliseconds and the seconds that local time is ahead of UTC.
func (r *reader) time(w *row, name string) (ms int64, east int32) {
	text, line, column := w.cell(name)
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
	r.fault("out-of-range", "this is no time", text, line, column, "write date and time, with the offset from UTC if the log crosses zones",
		"2026-06-14 05:40", "2026-06-14T05:40:00-04:00")
	return noTime, 0
}

// noTime stands for a time that could not be read; its fault has been noted.
const noTime = math.MinInt64

func (r *reader) measure(w *row, m sternfan.Measure, ms *sternfan.Measures) {
	text, line, column := w.cell(m.String())
	if text == "" {
		return
	}
	v, err := parseMeasure(m, text)
	if err != nil {
		r.fault("wrong-unit", "this is no "+m.String()+": "+err.Error(), text, line, column, "write the number with its unit, as in 65 ft or 2.4 mph")
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
	order := make([]int, len(stints))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return byRodAndTime(&stints[a], &stints[b]) })
	for i := 1; i < len(order); i++ {
		a, b := &stints[order[i-1]], &stints[order[i]]
		if a.Trip == b.Trip && a.Rod == b.Rod && b.From < a.To {
			r.fault("refused", fmt.Sprintf("the rod %s fishes twice at once: the stint of line %d is not over", strconv.Quote(b.Rod), a.line), "",
				b.line, 1, "end a stint when the rod is reset")
		}
	}
}

func byRodAndTime(a, b *lined) int {
	if c := strings.Compare(a.Trip, b.Trip); c != 0 {
		return c
	}
	if c := strings.Compare(a.Rod, b.Rod); c != 0 {
		return c
	}
	switch {
	case a.From < b.From:
		return -1
	case a.From > b.From:
		return 1
	}
	return 0
}

// strikes puts each strike into its rod's stint. One at the very end of a stint belongs
// to it, unless the next begins there.
func (r *reader) strikes(data []byte, stints []lined) {
	type rodOf struct{ trip, rod string }
	of := map[rodOf][]int{}
	order := make([]int, len(stints))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return byRodAndTime(&stints[a], &stints[b]) })
	for _, i := range order {
		k := rodOf{stints[i].Trip, stints[i].Rod}
		of[k] = append(of[k], i)
	}
	r.rows(data, []string{"trip", "rod", "at"}, func(w *row) {
		k := rodOf{r.text(w, "trip", true), r.text(w, "rod", true)}
		s := sternfan.Strike{Species: r.text(w, "species", false), Landed: r.landed(w)}
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

func (r *reader) landed(w *row) bool {
	text, line, column := w.cell("landed")
	switch strings.ToLower(text) {
	case "yes", "true", "1":
		return true
	case "", "no", "false", "0":
		return false
	}
	r.fault("out-of-range", "landed is yes or no", text, line, column, "", "yes", "no")
	return false
}
