package depth

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"sternfan"
	"sternfan/learn/rows"
	"sternfan/unit"
)

// reader reads measurements.
type reader struct{ rows.Reader }

// assumedSD is the standard error of a measurement that does not say its own. Assumed.
var assumedSD = map[sternfan.MeasuredKind]string{
	sternfan.MeasuredDepth: "2 ft", sternfan.MeasuredBottom: "2 ft", sternfan.MeasuredAngle: "2 deg", sternfan.MeasuredSide: "5 ft",
	sternfan.MeasuredAstern: "10 ft", sternfan.MeasuredPull: "0.5 lb", sternfan.MeasuredRange: "2 ft",
}

// kindNames lists the kinds in the order of the documentation.
var kindNames = []string{"depth", "bottom", "angle", "side", "astern", "pull", "range"}

// settingColumns are the columns that stand for a key of the scenario; ID is the rod's.
var settingColumns = map[string]string{
	"dial": "rods.ID.settings.dial", "ring": "rods.ID.settings.ring", "lead": "rods.ID.settings.lead", "colors": "rods.ID.settings.colors",
	"above_ball": "rods.ID.settings.above_ball", "speed": "speed.value", "heading": "heading",
}

var ownColumns = []string{"date", "rod", "kind", "part", "value", "sd", "line_out", "touched_at", "clear_at", "transducer_aft", "transducer_starboard", "transducer_down", "note"}

// mostMeasured bounds a file of measurements: each is solved many times.
const mostMeasured = 500

// ReadMeasured reads measurements for a scenario, as docs/learning.md describes them: a
// CSV table, a row each, or a YAML list of mappings with the same names, of which any name
// with a dot is a key of the scenario. The error is [sternfan.Faults] with row and column.
func ReadMeasured(name string, data []byte, sc *sternfan.Scenario) ([]sternfan.Measurement, error) {
	r := &reader{rows.Reader{File: name}}
	var out []sternfan.Measurement
	checked := false
	need := []string{"date", "rod", "kind", "value"}
	read := func(w *rows.Row) {
		if len(out) == mostMeasured {
			_, line, _ := w.Cell("rod")
			r.Fault("out-of-range", "there are too many measurements", "", line, 1, "give at most "+strconv.Itoa(mostMeasured)+" at a time")
		}
		out = append(out, r.measurement(w, sc))
	}
	if isYAML(name, data) {
		r.listed(data, need, read)
	} else {
		r.Table(data, need, func(w *rows.Row) {
			if !checked {
				checked = true
				r.measuredColumns(w)
			}
			read(w)
		})
	}
	if err := r.Faults.Err(); err != nil {
		return nil, err
	}
	return out, nil
}

func (r *reader) measuredColumns(w *rows.Row) {
	for name, i := range w.Column {
		if !isMeasuredColumn(name) {
			_, column := w.At(i)
			r.unknownColumn(name, place{1, column})
		}
	}
}

func (r *reader) measurement(w *rows.Row, sc *sternfan.Scenario) sternfan.Measurement {
	m := sternfan.Measurement{Dated: r.Text(w, "date", true), Rod: r.Text(w, "rod", true), Part: r.Text(w, "part", false), Settings: []string{}}
	kind, line, column := w.Cell("kind")
	m.Kind, m.Line = sternfan.MeasuredKind(strings.ToLower(kind)), line
	if !slices.Contains(kindNames, string(m.Kind)) {
		r.Fault("out-of-range", "this is nothing that can be measured here", kind, line, column, "", kindNames...)
		return m
	}
	if text, line, column := w.Cell("date"); text != "" {
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			r.Fault("out-of-range", "this is no date", text, line, column, "write year, month and day", "2026-06-14")
		}
	}
	if !hasRod(sc, m.Rod) {
		text, line, column := w.Cell("rod")
		var ids []string
		for i := range sc.Rods {
			ids = append(ids, sc.Rods[i].ID)
		}
		for i := range sc.Downriggers {
			ids = append(ids, sc.Downriggers[i].ID)
		}
		r.Fault("unknown-id", "the scenario has no such rod or downrigger", text, line, column, "", ids...)
		return m
	}
	value, line, column := w.Cell("value")
	m.Value = r.amount(m.Kind, value, line, column)
	sd, sdLine, sdColumn := w.Cell("sd")
	if sd == "" {
		sd, sdLine, sdColumn = assumedSD[m.Kind], line, column
	}
	if m.SD = r.amount(m.Kind, sd, sdLine, sdColumn); m.SD == 0 {
		r.Fault("out-of-range", "a measurement is not exact", sd, sdLine, sdColumn, "give one standard deviation: two of three readings are within it")
	}
	m.Transducer = [3]float64{0 - r.lengthOf(w, "transducer_aft"), r.lengthOf(w, "transducer_starboard"), r.lengthOf(w, "transducer_down")}
	r.set(w, &m, sc)
	return m
}

func hasRod(sc *sternfan.Scenario, id string) bool {
	return sc.Rod(id) != nil || sc.Downrigger(id) != nil
}

// set turns the columns of settings into changes of the scenario.
func (r *reader) set(w *rows.Row, m *sternfan.Measurement, sc *sternfan.Scenario) {
	for _, name := range slices.SortedFunc(maps.Keys(w.Column), func(a, b string) int { return w.Column[a] - w.Column[b] }) {
		key := settingColumns[name]
		if key == "" && strings.Contains(name, ".") {
			key = name
		}
		if text := r.Text(w, name, false); key != "" && text != "" {
			m.Settings = append(m.Settings, strings.Replace(key, "ID", m.Rod, 1)+"="+text)
		}
	}
	line := keyOf(sc, m.Rod) + "="
	out := r.Text(w, "line_out", false)
	if m.Kind != sternfan.MeasuredBottom {
		if out != "" {
			m.Settings = append(m.Settings, line+out)
		}
		return
	}
	touched, clear := r.Text(w, "touched_at", false), r.Text(w, "clear_at", false)
	if touched == "" && clear == "" {
		touched = out
	}
	if touched == "" && clear == "" {
		_, at, column := w.Cell("kind")
		r.Fault("missing", "a bottom needs the line out at which it touched, and that at which it did not", "", at, column, "fill in touched_at and clear_at, or one of them")
		return
	}
	base := m.Settings
	if m.Touched = touched != ""; m.Touched {
		m.Settings = append(slices.Clone(base), line+touched)
	}
	if clear != "" {
		m.ClearAt = append(slices.Clone(base), line+clear)
	}
}

func (r *reader) lengthOf(w *rows.Row, name string) float64 {
	text, line, column := w.Cell(name)
	if text == "" {
		return 0
	}
	v, err := unit.ParseLength(text)
	if err != nil {
		r.Fault("wrong-unit", "this is no length: "+err.Error(), text, line, column, "write the number with its unit, as in 3 ft")
	}
	return float64(v)
}

// amount reads a value or error of a kind, in the unit of a Measurement.
func (r *reader) amount(kind sternfan.MeasuredKind, text string, line, column int) float64 {
	var v float64
	var err error
	hint := "write the number with its unit, as in 62 ft"
	switch kind {
	case sternfan.MeasuredAngle:
		var a unit.Angle
		a, err = unit.ParseAngle(text)
		v, hint = float64(a/unit.Degree), "write the number with its unit, as in 24 deg"
	case sternfan.MeasuredPull:
		var f unit.Force
		f, err = unit.ParseForce(text)
		v, hint = float64(f), "write the number with its unit, as in 9 lb"
	default:
		var l unit.Length
		l, err = unit.ParseLength(text)
		v = float64(l)
	}
	switch {
	case err != nil:
		r.Fault("wrong-unit", "this is no "+string(kind)+": "+err.Error(), text, line, column, hint)
		return 0
	case !(v >= 0 && v < 1e5):
		r.Fault("out-of-range", "a measurement is not below zero", text, line, column, "distances to the side are from the center line, on either side")
		return 0
	}
	return v
}
