// Package rows reads tables that people made, and says row and column of everything that
// is wrong with them.
package rows

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"sternfan"
)

const (
	// MostFaults is how many are gathered before reading ends.
	MostFaults = 20

	mostRows = 2_000_000
	mostCell = 200 // letters
)

// Reader reads a table and gathers what is wrong with it, up to [MostFaults].
type Reader struct {
	File   string // the name that faults give it
	Faults sternfan.Faults
}

// Fault adds a fault unless there are enough.
func (r *Reader) Fault(code, text, found string, line, column int, hint string, allowed ...string) {
	if len(r.Faults) < MostFaults {
		if utf8.RuneCountInString(found) > 60 {
			found = string([]rune(found)[:60]) + "..."
		}
		r.Faults = append(r.Faults, sternfan.Fault{
			Code: code, File: r.File, Line: line, Column: column, Text: text, Found: found, Allowed: allowed, Hint: hint,
		})
	}
}

// Row is one record and where its cells are.
type Row struct {
	Cells  []string
	At     func(column int) (line, column1 int)
	Column map[string]int // place of a name's cell in Cells
}

// Cell returns a cell without the blanks around it, and its place, counted from 1; "" and
// no place when the row has none of the name.
func (w *Row) Cell(name string) (text string, line, column int) {
	i, ok := w.Column[name]
	if !ok || i >= len(w.Cells) {
		return "", 0, 0
	}
	line, column = w.At(i)
	return strings.TrimSpace(w.Cells[i]), line, column
}

// Table reads a CSV table, whose first row names the columns (lower case) and must have
// those needed, and hands over its rows until there are enough faults. The row is written
// over by the next.
func (r *Reader) Table(data []byte, need []string, each func(*Row)) (header []string) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if i := FirstInvalid(data); i >= 0 {
		r.Fault("not-text", "the file is not UTF-8 text", fmt.Sprintf("byte %d", i+1), 1+bytes.Count(data[:i], []byte{'\n'}), 1, "save it as CSV in UTF-8")
		return nil
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.ReuseRecord = true
	c.FieldsPerRecord = -1
	head, err := c.Read()
	if err != nil {
		if errors.Is(err, io.EOF) {
			r.Fault("missing", "the file is empty", "", 1, 1, "the first row names the columns", need...)
		} else {
			r.broken(err)
		}
		return nil
	}
	w := &Row{At: c.FieldPos, Column: map[string]int{}}
	for i, name := range head {
		name = strings.ToLower(strings.TrimSpace(name))
		line, column := c.FieldPos(i)
		switch _, twice := w.Column[name]; {
		case name == "" || utf8.RuneCountInString(name) > mostCell:
			r.Fault("missing", "a column needs a short name", name, line, column, "")
		case twice:
			r.Fault("duplicate-id", "two columns have the same name", name, line, column, "remove one of them")
		default:
			w.Column[name] = i
		}
		header = append(header, name)
	}
	for _, n := range need {
		if _, ok := w.Column[n]; !ok {
			r.Fault("missing", "a column is missing", n, 1, 1, "the first row names the columns", need...)
		}
	}
	if len(r.Faults) > 0 {
		return nil
	}
	for n := 0; len(r.Faults) < MostFaults; n++ {
		w.Cells, err = c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			r.broken(err)
			break
		}
		line, _ := c.FieldPos(0)
		if n == mostRows {
			r.Fault("out-of-range", "the file has too many rows", "", line, 1, fmt.Sprintf("split it into files of at most %d rows", mostRows))
			break
		}
		if len(w.Cells) != len(header) {
			r.Fault("missing", fmt.Sprintf("the row has %d cells where the header has %d", len(w.Cells), len(header)), "", line, 1, "quote a cell that holds a comma")
			continue
		}
		each(w)
	}
	return header
}

// FirstInvalid returns where text stops being UTF-8 without zero bytes, -1 when it does
// not.
func FirstInvalid(data []byte) int {
	for i := 0; i < len(data); {
		c, n := utf8.DecodeRune(data[i:])
		if c == utf8.RuneError && n == 1 || c == 0 {
			return i
		}
		i += n
	}
	return -1
}

func (r *Reader) broken(err error) {
	var p *csv.ParseError
	if errors.As(err, &p) {
		r.Fault("not-csv", "the row cannot be read: "+p.Err.Error(), "", p.Line, p.Column, "a cell with a comma or a quote is quoted whole")
		return
	}
	r.Fault("not-csv", "the row cannot be read", "", 0, 0, "")
}

// Text returns a cell that is a name: one line of at most 200 letters.
func (r *Reader) Text(w *Row, name string, must bool) string {
	text, line, column := w.Cell(name)
	switch {
	case must && text == "":
		r.Fault("missing", "the cell of "+name+" is empty", "", line, column, "")
	case utf8.RuneCountInString(text) > mostCell || strings.ContainsFunc(text, func(c rune) bool { return c < ' ' || c == 0x7f }):
		r.Fault("out-of-range", "a name is one line of at most 200 letters", text, line, column, "")
		return ""
	}
	return text
}
