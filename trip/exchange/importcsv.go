package exchange

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"sternfan/event"

	"sternfan"
	"sternfan/unit"
)

// Limits of a CSV file.
const (
	maxCSV    = 64 << 20
	maxFields = 500
	maxFaults = 100
)

// ReadCSV returns the events that the rows of a CSV file stand for, by a mapping. Either
// all rows are read or none: the error is a [sternfan.Faults] with the row and column of
// each. Ids are made from what a row says, so that reading a file twice gives the same
// events, and a log takes them once.
func ReadCSV(name string, data []byte, m *Mapping) ([]event.Event, error) {
	r := &rows{name: name, m: m, trips: map[string]*span{}, seen: map[string]int{}}
	if len(data) > maxCSV {
		r.fault(0, 0, "", "too-large", "the file is too large", fmt.Sprintf("%d MiB", len(data)>>20), "split it", "up to 64 MiB")
		return nil, r.faults
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	in := csv.NewReader(bytes.NewReader(data))
	switch m.Delimiter {
	case ";":
		in.Comma = ';'
	case "tab":
		in.Comma = '\t'
	}
	in.ReuseRecord = true
	r.in = in
	if !r.header() {
		return nil, r.faults
	}
	for len(r.faults) < maxFaults {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		r.row++
		if err != nil && !r.broken(err) {
			break
		}
		if err == nil {
			r.convert(record)
		}
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	r.bracket()
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	return r.events, nil
}

// rows reads the rows of a file.
type rows struct {
	name   string
	m      *Mapping
	in     *csv.Reader
	head   []string
	at     map[string]int // column name -> index
	row    int            // of data, from 1
	events []event.Event
	faults sternfan.Faults
	trips  map[string]*span
	order  []string
	seen   map[string]int // rows alike so far

	record []string
}

// span is what is known of a trip.
type span struct {
	id       event.ID
	name     string
	from, to event.Instant
	anglers  int
}

func (r *rows) fault(line, column int, path, code, text, found, hint string, allowed ...string) {
	if len(r.faults) < maxFaults {
		r.faults = append(r.faults, sternfan.Fault{Code: code, File: r.name, Line: line, Column: column, Path: path, Text: text, Found: found, Hint: hint, Allowed: allowed})
	}
}

// broken says what is wrong with a record, and whether the next can be read.
func (r *rows) broken(err error) bool {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		r.fault(0, 0, "", "bad-csv", "the file cannot be read: "+err.Error(), "", "")
		return false
	}
	where := fmt.Sprintf("row %d", r.row)
	switch {
	case errors.Is(err, csv.ErrFieldCount):
		r.fault(parse.Line, parse.Column, where, "wrong-count", fmt.Sprintf("this row has not the %d fields of the header", len(r.head)), "", "a field that holds the delimiter needs quotes around it")
		return true
	case errors.Is(err, csv.ErrQuote), errors.Is(err, csv.ErrBareQuote):
		r.fault(parse.Line, parse.Column, where, "bad-csv", "a quote stands where none can, or one is not closed; what follows cannot be read", "", "double a quote that is meant, and close every field that begins with one")
	default:
		r.fault(parse.Line, parse.Column, where, "bad-csv", "this row cannot be read: "+parse.Err.Error(), "", "")
	}
	return false
}

// header reads the names of the columns and sees that the mapping's are there.
func (r *rows) header() bool {
	record, err := r.in.Read()
	if errors.Is(err, io.EOF) {
		r.fault(1, 1, "", "empty", "the file is empty", "", "its first row names the columns")
		return false
	}
	if err != nil {
		r.broken(err)
		return false
	}
	if len(record) > maxFields {
		r.fault(1, 1, "header", "too-many", fmt.Sprintf("there are at most %d columns", maxFields), strconv.Itoa(len(record)), "")
		return false
	}
	r.at = map[string]int{}
	for i, name := range record {
		name = strings.TrimSpace(name)
		line, column := r.in.FieldPos(i)
		if !utf8.ValidString(name) {
			r.fault(line, column, "header", "bad-text", "this name is not UTF-8", "", "save the file as UTF-8")
			name = strings.ToValidUTF8(name, "?")
		}
		if _, twice := r.at[name]; twice && name != "" {
			r.fault(line, column, "header", "duplicate-name", "two columns have this name", brief(name), "rename one")
		}
		r.at[name] = i
		r.head = append(r.head, name)
	}
	hint := ""
	if len(r.head) == 1 && strings.ContainsAny(r.head[0], ",;\t") {
		hint = "the first row is one name: the mapping's delimiter is not the file's"
	}
	need := func(path, column string) {
		if _, ok := r.at[column]; !ok && column != "" {
			var names []string
			for _, n := range r.head[:min(len(r.head), 40)] {
				names = append(names, brief(n))
			}
			r.fault(1, 1, path, "unknown-column", "the file has no column that the mapping names", brief(column), hint, names...)
		}
	}
	for _, c := range r.m.Time.Columns {
		need("time", c)
	}
	if r.m.Until != nil {
		for _, c := range r.m.Until.Columns {
			need("until", c)
		}
	}
	need("trip", r.m.Trip)
	var keys []string
	for key := range r.m.Columns {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	for _, key := range keys {
		need("columns."+key, r.m.Columns[key].Column)
	}
	return len(r.faults) == 0
}

func brief(s string) string {
	if len(s) > 40 {
		s = strings.ToValidUTF8(s[:40], "") + "..."
	}
	return strconv.Quote(s)
}

// bad reports a cell.
func (r *rows) bad(column, code, text, found, hint string, allowed ...string) {
	line, at := 0, 0
	if i, ok := r.at[column]; ok && column != "" {
		line, at = r.in.FieldPos(i)
	} else {
		line, _ = r.in.FieldPos(0)
		at = 1
	}
	path := fmt.Sprintf("row %d", r.row)
	if column != "" {
		path += ", column " + column
	}
	if found != "" {
		found = brief(found)
	}
	r.fault(line, at, path, code, text, found, hint, allowed...)
}

// cell returns what a part's column says, in the mapping's words.
func (r *rows) cell(key string) (text, column string, ok bool) {
	source, ok := r.m.Columns[key]
	if !ok {
		return "", "", false
	}
	text = source.Always
	if source.Column != "" {
		text = strings.TrimSpace(r.record[r.at[source.Column]])
	}
	if text == "" {
		return "", source.Column, false
	}
	if !utf8.ValidString(text) {
		r.bad(source.Column, "bad-text", "this is not UTF-8", "", "save the file as UTF-8")
		return "", source.Column, false
	}
	if word, ok := source.Words[text]; ok {
		text = word
	}
	return text, source.Column, text != ""
}

func (r *rows) text(key string) string {
	text, _, _ := r.cell(key)
	return text
}

// time reads a moment.
func (r *rows) time(w *When) (event.Instant, bool) {
	var pieces []string
	for _, c := range w.Columns {
		pieces = append(pieces, strings.TrimSpace(r.record[r.at[c]]))
	}
	text := strings.Join(pieces, " ")
	at, err := time.ParseInLocation(w.layout, text, w.zone)
	if err != nil || at.Year() < 1970 || at.Year() > 2199 {
		r.bad(w.Columns[0], "bad-time", "this is no time as the mapping says times are written", text, "", w.Layout)
		return event.Instant{}, false
	}
	return event.InstantOf(at), true
}

// number reads a number, with its own unit or in the mapping's.
func number[U unit.Quantity](r *rows, key string) *float64 {
	text, column, ok := r.cell(key)
	if !ok {
		return nil
	}
	source := r.m.Columns[key]
	if v, ok := r.plain(text); ok {
		if source.Unit == "" {
			r.bad(column, "missing-unit", "this number has no unit", text, "give the unit in the mapping: "+key+": {column: "+column+", unit: ft}")
			return nil
		}
		// The unit itself is read the way a person's quantity is.
		one, err := unit.Parse[U]("1 " + source.Unit)
		if err != nil {
			r.bad(column, "wrong-unit", "this is no unit for "+key, source.Unit, "")
			return nil
		}
		v *= float64(one)
		return &v
	}
	q, err := unit.Parse[U](text)
	if err != nil {
		r.bad(column, "bad-number", "this is no number that "+key+" can be", text, "")
		return nil
	}
	v := float64(q)
	return &v
}

// plain reads a number without a unit: digits, a sign, a decimal point.
func (r *rows) plain(text string) (float64, bool) {
	if r.m.Decimal == "," {
		if strings.Contains(text, ".") {
			return 0, false
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	if strings.Trim(text, "0123456789.+-") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

func (r *rows) bare(key string) *float64 {
	text, column, ok := r.cell(key)
	if !ok {
		return nil
	}
	v, ok := r.plain(text)
	if !ok {
		r.bad(column, "bad-number", "this is no number", text, "")
		return nil
	}
	return &v
}

// convert makes the events of a row.
func (r *rows) convert(record []string) {
	r.record = record
	before := len(r.faults)
	at, ok := r.time(&r.m.Time)
	rod, rodColumn, named := r.cell("rod")
	if !named {
		r.bad(rodColumn, "missing", "the rod is needed", "", "when the file does not say, map rod to {always: unknown}")
	}
	if !ok || !named {
		return
	}
	trip := r.trip(at)
	id := r.identity()
	var where *sternfan.Place
	if lat, lon := r.bare("lat"), r.bare("lon"); lat != nil && lon != nil {
		where = &sternfan.Place{Lat: *lat, Lon: *lon}
	}
	count := 0
	add := func(at event.Instant, body event.Body) event.ID {
		e := event.Event{ID: eventID(at.Milli, id, count), At: at, By: r.m.Device, Trip: trip.id, Rod: rod, Where: where, Body: body}
		count++
		for _, f := range event.Check(&e) {
			r.checked(f)
		}
		trip.cover(at)
		r.events = append(r.events, e)
		return e.ID
	}
	line, has := r.line()
	var set event.ID
	if has || r.m.Rows == "set" {
		set = add(at, event.LineSet{Line: line})
	}
	note := r.text("note")
	switch r.m.Rows {
	case "set":
		until, ok := r.time(r.m.Until)
		if ok && until.Milli < at.Milli {
			r.bad(r.m.Until.Columns[0], "out-of-range", "this line is reeled in before it is set", until.String(), "")
		}
		add(until, event.LineIn{Note: note})
	case "strike":
		strike := event.Strike{Set: set, Species: r.text("species"), Note: note}
		add(at, strike)
		if has {
			add(at, event.LineIn{})
		}
	case "lost":
		strike := add(at, event.Strike{Set: set, Species: r.text("species")})
		add(at, event.Lost{Strike: strike, Note: note})
	case "landed":
		landed := event.Landed{
			Species: r.text("species"), Length: number[unit.Length](r, "length"), Mass: number[unit.Mass](r, "weight"),
			Fate: event.Fate(strings.ToLower(r.text("fate"))), Note: note,
		}
		landed.Strike = add(at, event.Strike{Set: set, Species: landed.Species})
		add(at, landed)
	}
	if len(r.faults) > before {
		r.events = r.events[:0] // nothing is handed on, so nothing need be kept
	}
}

// checked reports a fault of the event as one of the cell that it came from.
func (r *rows) checked(f sternfan.Fault) {
	key := f.Path[strings.LastIndexByte(f.Path, '.')+1:]
	key = strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(key, "_m"), "_kg"), "_n")
	if key == "mass" {
		key = "weight"
	}
	r.bad(r.m.Columns[key].Column, f.Code, f.Text, strings.Trim(f.Found, `"`), f.Hint, f.Allowed...)
}

// line makes the line that a row describes, and whether it says anything of one.
func (r *rows) line() (event.Line, bool) {
	l := event.Line{
		Rig: sternfan.RigKind(r.text("rig")), Position: r.text("position"), Side: strings.ToLower(r.text("side")),
		Settings: event.Settings{LineOut: number[unit.Length](r, "line_out"), Lead: number[unit.Length](r, "lead"), Dial: r.bare("dial")},
	}
	if text, column, ok := r.cell("ring"); ok {
		on := strings.EqualFold(text, "on")
		if !on && !strings.EqualFold(text, "off") {
			r.bad(column, "unknown-word", "a ring is on or off", text, "say what its words mean: ring: {column: "+column+", words: {Y: \"on\", N: \"off\"}}", "on", "off")
		}
		l.Settings.Ring = &on
	}
	has := l.Rig != "" || l.Position != "" || l.Side != "" || l.Settings != event.Settings{}
	for _, kind := range partNames {
		p := event.Part{ID: kind + "-1", Kind: sternfan.PartKind(kind), Gear: r.text(kind)}
		for key := range r.m.Columns {
			if attribute, ok := strings.CutPrefix(key, kind+"."); ok {
				if text := r.text(key); text != "" {
					if p.Attributes == nil {
						p.Attributes = map[string]string{}
					}
					p.Attributes[attribute] = text
				}
			}
		}
		if p.Gear != "" || len(p.Attributes) > 0 {
			l.Parts, has = append(l.Parts, p), true
		}
	}
	return l, has
}

// trip returns the trip that a row belongs to.
func (r *rows) trip(at event.Instant) *span {
	day, _ := at.Local()
	name := day
	if r.m.Trip != "" {
		if name = strings.TrimSpace(r.record[r.at[r.m.Trip]]); name == "" {
			r.bad(r.m.Trip, "missing", "the trip has no name", "", "")
		}
	}
	t := r.trips[name]
	if t == nil {
		hash := sha256.Sum256([]byte("trip\x00" + r.m.Device + "\x00" + name))
		t = &span{name: name, from: at, to: at, id: eventID(at.Milli, hash, 0)}
		// The day's first moment, so that a row added later does not change the id.
		if midnight, err := time.ParseInLocation(time.DateOnly, day, at.Time().Location()); err == nil {
			t.id = eventID(midnight.UnixMilli(), hash, 0)
		}
		r.trips[name] = t
		r.order = append(r.order, name)
	}
	if n := r.bare("anglers"); n != nil {
		t.anglers = max(t.anglers, int(min(*n, 1000)))
	}
	t.cover(at)
	return t
}

func (t *span) cover(at event.Instant) {
	if at.Milli < t.from.Milli {
		t.from = at
	}
	if at.Milli > t.to.Milli {
		t.to = at
	}
}

// identity returns a number made from what the row says; rows alike are told apart by
// which of them it is.
func (r *rows) identity() [32]byte {
	h := sha256.New()
	fmt.Fprintf(h, "row\x00%s\x00%s", r.m.Device, r.m.Rows)
	for _, f := range r.record {
		fmt.Fprintf(h, "\x00%d\x00%s", len(f), f)
	}
	key := hex.EncodeToString(h.Sum(nil))
	n := r.seen[key]
	r.seen[key]++
	return sha256.Sum256([]byte(key + strconv.Itoa(n)))
}

// eventID makes an id from a moment and a number; ids of one row follow one another.
func eventID(milli int64, from [32]byte, n int) event.ID {
	var chance [10]byte
	copy(chance[:], from[:])
	chance[0] = byte(n)
	return event.MakeID(min(max(milli, 0), 1<<48-1), chance)
}

// bracket adds the events that begin and end each trip.
func (r *rows) bracket() {
	for _, name := range r.order {
		t := r.trips[name]
		begins := event.Event{ID: t.id, At: t.from, By: r.m.Device, Body: event.TripBegins{Name: t.name, Anglers: t.anglers}}
		hash := sha256.Sum256([]byte("end\x00" + t.id.String() + t.to.String()))
		ends := event.Event{ID: eventID(t.to.Milli, hash, 255), At: t.to, By: r.m.Device, Trip: t.id, Body: event.TripEnds{}}
		for _, e := range []event.Event{begins, ends} {
			for _, f := range event.Check(&e) {
				r.fault(0, 0, "trip "+brief(t.name), f.Code, f.Text, f.Found, f.Hint, f.Allowed...)
			}
		}
		r.events = append(r.events, begins, ends)
	}
}
