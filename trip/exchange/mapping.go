package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"sternfan"

	"github.com/goccy/go-yaml"
)

// Mapping says what the rows of a CSV file are and in which columns their parts stand.
type Mapping struct {
	Rows      string            `yaml:"rows"`      // what a row is: landed, lost, strike, set
	Delimiter string            `yaml:"delimiter"` // "," when not given; ";" or "tab"
	Decimal   string            `yaml:"decimal"`   // "." when not given, or ","
	Device    string            `yaml:"device"`    // the log's name for the source: "old notes"
	Time      When              `yaml:"time"`
	Until     *When             `yaml:"until"` // of a set: when it was reeled in
	Trip      string            `yaml:"trip"`  // column that names the trip; by local day when not given
	Columns   map[string]Source `yaml:"columns"`
}

// When says how a time is written.
type When struct {
	Columns []string `yaml:"columns"` // joined with a space
	Layout  string   `yaml:"layout"`  // YYYY-MM-DD HH:mm
	Offset  string   `yaml:"offset"`  // of local time from UTC: "-04:00"

	layout string
	zone   *time.Location
}

// Source is where a part of an event stands.
type Source struct {
	Column string            `yaml:"column"`
	Unit   string            `yaml:"unit"`   // of plain numbers
	Words  map[string]string `yaml:"words"`  // what its words mean
	Always string            `yaml:"always"` // instead of a column: the same in every row
}

// UnmarshalYAML takes a column's name by itself too.
func (s *Source) UnmarshalYAML(unmarshal func(any) error) error {
	var name string
	if unmarshal(&name) == nil {
		s.Column = name
		return nil
	}
	type plain Source
	return unmarshal((*plain)(s))
}

const maxMapping = 16 << 10

// columnNames are the parts of an event that a column may give; a part of the line with
// its attribute ("lure.color") may be given as well.
var columnNames = []string{
	"rod", "position", "side", "species", "length", "weight", "fate", "note", "lat", "lon",
	"line_out", "lead", "dial", "ring", "rig", "anglers",
}

// partNames are the kinds of part that a column may name the gear of.
var partNames = []string{"line", "diver", "snubber", "attractor", "leader", "lure", "board", "weight"}

// DecodeMapping reads a mapping file, which is YAML or JSON. The error is a
// [sternfan.Faults].
func DecodeMapping(name string, data []byte) (*Mapping, error) {
	fail := func(code, text, found, hint string, allowed ...string) error {
		return sternfan.Faults{{Code: code, File: name, Text: text, Found: found, Hint: hint, Allowed: allowed}}
	}
	if len(data) > maxMapping {
		return nil, fail("too-large", "a mapping is a page of text; this is more", strconv.Itoa(len(data))+" bytes", "check that this is the right file", "up to 16 KiB")
	}
	if bytes.IndexByte(data, 0) >= 0 || bytes.Count(data, []byte("*"))+bytes.Count(data, []byte("&")) > 100 {
		return nil, fail("bad-text", "this is not the text of a mapping", "", "check that this is the right file")
	}
	var m Mapping
	if err := yaml.UnmarshalWithOptions(data, &m, yaml.Strict()); err != nil {
		f := sternfan.Fault{Code: "bad-yaml", File: name, Text: oneLine(err.Error())}
		var at yaml.Error
		if errors.As(err, &at) {
			f.Text = oneLine(at.GetMessage())
			if tok := at.GetToken(); tok != nil && tok.Position != nil {
				f.Line, f.Column = tok.Position.Line, tok.Position.Column
			}
		}
		return nil, sternfan.Faults{f}
	}
	var faults sternfan.Faults
	add := func(path, code, text, found, hint string, allowed ...string) {
		faults = append(faults, sternfan.Fault{Code: code, File: name, Path: path, Text: text, Found: found, Hint: hint, Allowed: allowed})
	}
	kinds := []string{"landed", "lost", "strike", "set"}
	if !slices.Contains(kinds, m.Rows) {
		add("rows", "missing", "what a row is must be said", m.Rows, "", kinds...)
	}
	switch m.Delimiter {
	case "", ",", ";", "tab":
	default:
		add("delimiter", "unknown-word", "fields cannot be told apart by this", m.Delimiter, "", ",", ";", "tab")
	}
	if m.Decimal != "" && m.Decimal != "." && m.Decimal != "," {
		add("decimal", "unknown-word", "a decimal point is a point or a comma", m.Decimal, "", ".", ",")
	}
	if m.Device == "" {
		m.Device = "import"
	}
	if err := m.Time.prepare(); err != nil {
		add("time", "bad-layout", err.Error(), "", "write it as {columns: [Date, Time], layout: YYYY-MM-DD HH:mm, offset: \"-04:00\"}")
	}
	switch {
	case m.Rows == "set" && m.Until == nil:
		add("until", "missing", "a set needs the time at which it was reeled in, or it would fish for ever", "", "give until as time is given")
	case m.Until != nil:
		if m.Until.Offset == "" {
			m.Until.Offset = m.Time.Offset
		}
		if err := m.Until.prepare(); err != nil {
			add("until", "bad-layout", err.Error(), "", "write it as time is written")
		}
	}
	for key, source := range m.Columns {
		part, _, _ := strings.Cut(key, ".")
		if !slices.Contains(columnNames, key) && !slices.Contains(partNames, part) {
			add("columns."+key, "unknown-key", "there is no such part of an event", key, "or a part with its attribute, as in lure.color", append(slices.Clone(columnNames), partNames...)...)
		}
		if (source.Column == "") == (source.Always == "") {
			add("columns."+key, "missing", "give a column, or what it always is", "", "")
		}
	}
	if _, ok := m.Columns["rod"]; !ok {
		add("columns.rod", "missing", "the rod is needed", "", "when the file does not say, write rod: {always: unknown}")
	}
	slices.SortFunc(faults, func(a, b sternfan.Fault) int { return strings.Compare(a.Path, b.Path) })
	if len(faults) > 0 {
		return nil, faults
	}
	return &m, nil
}

func oneLine(s string) string {
	s, _, _ = strings.Cut(strings.ToValidUTF8(s, "?"), "\n")
	if len(s) > 200 {
		s = strings.ToValidUTF8(s[:200], "") + "..."
	}
	return strings.TrimSpace(s)
}

// layoutWords are the words of a layout, longest first where one begins another.
var layoutWords = [][2]string{
	{"YYYY", "2006"}, {"YY", "06"}, {"MMM", "Jan"}, {"MM", "01"}, {"M", "1"}, {"DD", "02"}, {"D", "2"},
	{"HH", "15"}, {"hh", "03"}, {"h", "3"}, {"mm", "04"}, {"ss", "05"}, {"AM", "PM"}, {"am", "pm"},
}

// prepare reads layout and offset.
func (w *When) prepare() error {
	if len(w.Columns) == 0 {
		return errors.New("the columns that hold the time are needed")
	}
	text := w.Layout
	for text != "" {
		i := slices.IndexFunc(layoutWords, func(p [2]string) bool { return strings.HasPrefix(text, p[0]) })
		switch {
		case i >= 0:
			w.layout += layoutWords[i][1]
			text = text[len(layoutWords[i][0]):]
		case strings.ContainsRune("-/.:, T", rune(text[0])):
			w.layout += text[:1]
			text = text[1:]
		default:
			return fmt.Errorf("%q has no meaning in a layout; use YYYY YY MMM MM M DD D HH hh h mm ss AM", text[:1])
		}
	}
	if !strings.Contains(w.layout, "06") || !strings.Contains(w.layout, "4") {
		return errors.New("a layout needs at least a year and minutes")
	}
	at, err := time.Parse("-07:00", w.Offset)
	if err != nil {
		return errors.New("the offset of local time from UTC is written as \"-04:00\"")
	}
	_, seconds := at.Zone()
	w.zone = time.FixedZone("", seconds)
	return nil
}
