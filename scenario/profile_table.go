package scenario

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sternfan"
	"sternfan/unit"
)

// oceanColumns returns the names of the columns of an NDBC .ocean text, nil when it is
// none. The header begins with # since 2007 and without it in older files. Source: NDBC,
// "Measurement Descriptions and Units" and its notes on the changes of 2007.
func oceanColumns(text string) []string {
	const headerWithin = 5 // lines
	for range headerWithin {
		line, rest, more := strings.Cut(text, "\n")
		names := strings.Fields(strings.TrimLeft(line, "# \t"))
		for i := range names {
			names[i] = strings.Trim(names[i], "#")
		}
		if slices.Contains(names, "DEPTH") && slices.Contains(names, "OTMP") {
			return names
		}
		if !more {
			return nil
		}
		text = rest
	}
	return nil
}

// ocean reads the rows of an NDBC .ocean text: meters and degrees Celsius.
func (d *profileDecoder) ocean(text string, names []string) []reading {
	find := func(any ...string) int {
		return slices.IndexFunc(names, func(n string) bool { return slices.Contains(any, n) })
	}
	depth, temp := find("DEPTH"), find("OTMP")
	clock := [5]int{find("YY", "YYYY"), find("MM"), find("DD"), find("hh"), find("mm")}
	var out []reading
	for number := 1; text != "" && !d.stop; number++ {
		var line string
		line, text, _ = strings.Cut(text, "\n")
		cells, places := wordsOf(line)
		if len(cells) == 0 || strings.HasPrefix(cells[0], "#") || slices.Contains(cells, "OTMP") {
			continue
		}
		if len(cells) <= max(depth, temp) {
			d.fault(number, 1, sternfan.Fault{Code: "syntax", Text: "this row has fewer columns than the header", Found: fmt.Sprintf("%d columns", len(cells)),
				Allowed: []string{fmt.Sprintf("%d or more", max(depth, temp)+1)}})
			continue
		}
		if missingValue(cells[depth], 999) || missingValue(cells[temp], 99) {
			continue
		}
		r := reading{}
		at := [2]int{places[depth], places[temp]}
		ok := true
		for i, into := range []*float64{&r.depth, &r.temp} {
			cell := cells[[2]int{depth, temp}[i]]
			v, err := parseNumber(cell)
			if err != nil {
				d.fault(number, at[i], sternfan.Fault{Code: "bad-number", Text: "this is not a number", Found: show(cell), Allowed: []string{"a decimal number", "MM"}})
				ok = false
			}
			*into = v
		}
		if !ok || !d.within(&r, number, at, [2]string{cells[depth] + " m", cells[temp] + " °C"}) {
			continue
		}
		if !d.oceanTime(&r, number, cells, clock) {
			continue
		}
		out = append(out, r)
	}
	return out
}

// oceanTime fills the time of a row from its columns of year, month, day, hour, minute.
func (d *profileDecoder) oceanTime(r *reading, number int, cells []string, clock [5]int) bool {
	var v [5]int
	for i, c := range clock {
		if c < 0 {
			if i < 3 {
				return true // a file without dates is one profile
			}
			continue
		}
		n, err := -1, error(nil)
		if c < len(cells) && len(cells[c]) <= 4 {
			n, err = strconv.Atoi(cells[c])
		}
		if err != nil || n < 0 {
			d.fault(number, 1, sternfan.Fault{Code: "bad-number", Text: "the time of this row cannot be read", Found: show(strings.Join(cells[:min(len(cells), 5)], " "))})
			return false
		}
		v[i] = n
	}
	if v[0] < 100 {
		v[0] += 1900
		if v[0] < 1970 {
			v[0] += 100
		}
	}
	t := time.Date(v[0], time.Month(v[1]), v[2], v[3], v[4], 0, 0, time.UTC)
	r.minute, r.time = t.Unix()/60, t.Format("2006-01-02 15:04")+" UTC"
	return true
}

// wordsOf returns the words of a line and the columns at which they begin, from 1.
func wordsOf(line string) (words []string, at []int) {
	column, from, began := 0, -1, 0
	for i, r := range line {
		column++
		blank := r == ' ' || r == '\t'
		switch {
		case blank && from >= 0:
			words, at, from = append(words, line[from:i]), append(at, began), -1
		case !blank && from < 0:
			from, began = i, column
		}
	}
	if from >= 0 {
		words, at = append(words, line[from:]), append(at, began)
	}
	return words, at
}

// missingValue reports whether a cell says that there is no value: MM and the like, or
// nines alone from so many on.
func missingValue(cell string, from float64) bool {
	switch strings.ToUpper(cell) {
	case "", "MM", "NA", "N/A", "NAN", "-":
		return true
	}
	if !allNines(cell) {
		return false
	}
	v, err := strconv.ParseFloat(cell, 64)
	return err != nil || v >= from
}

// table is what is known of a CSV's columns.
type table struct {
	depth, temp, time   int    // -1: none
	depthUnit, tempUnit string // "": in the cells
}

// units of the two columns as headers write them.
var (
	depthUnits = map[string]string{"ft": "ft", "feet": "ft", "foot": "ft", "m": "m", "meter": "m", "meters": "m", "metre": "m", "metres": "m"}
	tempUnits  = map[string]string{"f": "F", "°f": "F", "degf": "F", "fahrenheit": "F", "c": "C", "°c": "C", "degc": "C", "celsius": "C"}
)

// headerOf reads a row as a header; ok is false when it is none.
func headerOf(cells []string) (t table, ok bool) {
	t = table{depth: -1, temp: -1, time: -1}
	for i, cell := range cells {
		words := headerWords(strings.ToLower(cell))
		if len(words) == 0 {
			continue
		}
		first := words[0]
		has := func(prefix string) bool {
			return slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, prefix) })
		}
		switch {
		case t.depth < 0 && has("depth"):
			t.depth, t.depthUnit = i, unitAmong(words, depthUnits)
		case t.temp < 0 && has("temp"):
			t.temp, t.tempUnit = i, unitAmong(words, tempUnits)
		case t.time < 0 && (first == "time" || first == "date" || first == "datetime" || first == "timestamp"):
			t.time = i
		}
	}
	return t, t.depth >= 0 && t.temp >= 0
}

func unitAmong(words []string, units map[string]string) string {
	for _, w := range words[1:] {
		if u := units[w]; u != "" {
			return u
		}
	}
	return ""
}

// unitRow takes a row of units under the header, if it is one.
func (t *table) unitRow(cells []string) bool {
	word := func(i int) string {
		if i >= len(cells) {
			return ""
		}
		return strings.Join(headerWords(strings.ToLower(cells[i])), "")
	}
	depth, temp := depthUnits[word(t.depth)], tempUnits[word(t.temp)]
	if depth == "" || temp == "" {
		return false
	}
	t.depthUnit, t.tempUnit = depth, temp
	return true
}

// table reads a CSV.
func (d *profileDecoder) table(text string) []reading {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.Comment = delimiter(text), '#'
	r.FieldsPerRecord, r.TrimLeadingSpace, r.ReuseRecord = -1, true, true
	var (
		out    []reading
		t      table
		header bool
		under  bool // the row after the header was seen
	)
	for !d.stop {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			f, line, column := sternfan.Fault{Code: "syntax", Text: "this row cannot be read as CSV", Hint: "check its quotes"}, 1, 1
			var e *csv.ParseError
			if errors.As(err, &e) {
				line, column = e.Line, e.Column
			}
			d.fault(line, column, f)
			break
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		line, _ := r.FieldPos(0)
		if !header {
			if t, header = headerOf(cells); !header {
				d.fault(line, 1, sternfan.Fault{Code: "missing", Text: "the first row does not name a depth and a temperature column", Found: show(strings.Join(cells, ", ")),
					Hint: "write a header such as: depth ft, temp F"})
				return nil
			}
			continue
		}
		if !under {
			under = true
			if t.unitRow(cells) {
				continue
			}
		}
		if got, ok := d.row(&t, cells, r, line); ok {
			out = append(out, got)
		}
	}
	return out
}

// delimiter returns what separates the cells of the first row that is no comment.
func delimiter(text string) rune {
	for text != "" {
		var line string
		line, text, _ = strings.Cut(text, "\n")
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		for _, r := range []rune{'\t', ';'} {
			if strings.ContainsRune(line, r) {
				return r
			}
		}
		break
	}
	return ','
}

func (d *profileDecoder) row(t *table, cells []string, r *csv.Reader, line int) (reading, bool) {
	var out reading
	place := func(i int) int {
		_, column := r.FieldPos(i)
		return column
	}
	if max(t.depth, t.temp) >= len(cells) {
		if strings.Join(cells, "") != "" {
			d.fault(line, 1, sternfan.Fault{Code: "syntax", Text: "this row has fewer columns than the header", Found: fmt.Sprintf("%d columns", len(cells)),
				Allowed: []string{fmt.Sprintf("%d or more", max(t.depth, t.temp)+1)}})
		}
		return out, false
	}
	depth, temp := cells[t.depth], cells[t.temp]
	if missingValue(depth, 999) || missingValue(temp, 99) {
		return out, false
	}
	at := [2]int{place(t.depth), place(t.temp)}
	ok := true
	for i, c := range []struct {
		text, unit string
		dim        *dim
		into       *float64
		such       string
	}{{depth, t.depthUnit, lengths, &out.depth, "depth ft or depth m"}, {temp, t.tempUnit, temperatures, &out.temp, "temp F or temp C"}} {
		text := c.text
		if _, err := parseNumber(text); err == nil && c.unit != "" {
			text += " " + c.unit
		}
		v, err := c.dim.parse(text)
		if err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
			*c.into = v
			continue
		}
		f := sternfan.Fault{Code: "bad-number", Text: "this is not a " + c.dim.name, Found: show(c.text)}
		var e *unit.Error
		if _, plain := parseNumber(c.text); plain == nil && c.unit == "" {
			f.Code, f.Text, f.Hint = "missing-unit", "this column has no unit", "name it "+c.such+" in the header"
			d.stop = true // every row has it
		} else if errors.As(err, &e) {
			f.Text, f.Allowed, f.Hint = "this "+c.dim.name+" "+clip(e.Problem), e.Allowed, e.Hint
		}
		stop := d.stop
		d.fault(line, at[i], f)
		d.stop = d.stop || stop
		ok = false
	}
	if !ok || !d.within(&out, line, at, [2]string{depth, temp}) {
		return out, false
	}
	if t.time >= 0 && t.time < len(cells) && cells[t.time] != "" {
		when, ok := timeOf(cells[t.time])
		if !ok {
			d.fault(line, place(t.time), sternfan.Fault{Code: "bad-number", Text: "this time cannot be read", Found: show(cells[t.time]),
				Allowed: []string{"2026-07-14 13:00", "2026-07-14T13:00:00Z", "2026-07-14"}})
			return out, false
		}
		out.minute, out.time = when.Unix()/60, clip(cells[t.time])
	}
	return out, true
}

func timeOf(text string) (time.Time, bool) {
	for _, form := range []string{time.RFC3339, "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02"} {
		if t, err := time.Parse(form, text); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}
