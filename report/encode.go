package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// JSON writes a result as one line of JSON in SI units, unrounded, with the members in the
// order of the types; a fan's, paths' and a table of speeds' lists are empty rather than null.
// A value that is not finite is an error that names it and wraps [ErrNotFinite]; nothing is
// written then.
func JSON(w io.Writer, result any) error {
	switch r := result.(type) {
	case *sternfan.Fan:
		out := *r
		out.Rods = filled(r.Rods)
		if len(r.Devices) > 0 {
			out.Devices = filled(r.Devices)
		}
		result = &out
	case *sternfan.Paths:
		out := *r
		out.Paths = append([]sternfan.Path{}, r.Paths...)
		for i := range out.Paths {
			out.Paths[i].Ticks = append([]sternfan.PathTick{}, out.Paths[i].Ticks...)
		}
		result = &out
	case *sternfan.SpeedTable:
		out := *r
		out.Rows = append([]sternfan.SpeedRow{}, r.Rows...)
		out.Lures = append([]sternfan.WindowRow{}, r.Lures...)
		result = &out
	}
	if err := finiteOnly(result); err != nil {
		return err
	}
	text, err := json.Marshal(result)
	if err != nil {
		return fmt.Errorf("encode the result: %w", err)
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// finiteOnly is an error for a result with a value that is not finite.
func finiteOnly(result any) error {
	if path := notFinite(reflect.ValueOf(result), 0); path != "" {
		return fmt.Errorf("%s: %w", strings.TrimPrefix(path, "."), ErrNotFinite)
	}
	return nil
}

// filled copies the tracks and gives each empty lists for missing ones.
func filled(tracks []sternfan.Track) []sternfan.Track {
	out := append([]sternfan.Track{}, tracks...)
	for i := range out {
		t := &out[i]
		t.Parts = append([]sternfan.PartFan{}, t.Parts...)
		for j := range t.Parts {
			t.Parts[j].Points = append([][3]float64{}, t.Parts[j].Points...)
		}
		t.Bodies = append([]sternfan.BodyFan{}, t.Bodies...)
		t.Lures = append([]sternfan.LureFan{}, t.Lures...)
		t.Warnings = append([]sternfan.Warning{}, t.Warnings...)
	}
	return out
}

// notFinite returns the path of the first value that is infinite or not a number, or "".
func notFinite(v reflect.Value, depth int) string {
	const deepestType = 16 // the result types are far shallower; bounds a cycle
	if depth > deepestType {
		return ""
	}
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return " "
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			return notFinite(v.Elem(), depth+1)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if p := notFinite(v.Index(i), depth+1); p != "" {
				return "[" + strconv.Itoa(i) + "]" + strings.TrimSpace(p)
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if tag == "-" {
				continue
			}
			if p := notFinite(v.Field(i), depth+1); p != "" {
				if f.Anonymous {
					return p
				}
				if tag == "" {
					tag = f.Name
				}
				return "." + tag + strings.TrimSpace(p)
			}
		}
	}
	return ""
}

// number returns a value for a spreadsheet: in the person's unit, to a thousandth,
// without trailing zeros.
func number(u unit.System, style unit.Style, si float64) string {
	v := si
	if u == unit.US {
		switch style {
		case unit.DepthStyle:
			v = float64(unit.Length(si) / unit.Foot)
		case unit.SpeedStyle:
			v = float64(unit.Speed(si) / unit.MilePerHour)
		case unit.ForceStyle:
			v = float64(unit.Force(si) / unit.PoundForce)
		case unit.TemperatureStyle:
			v = unit.Temperature(si).Fahrenheit()
		default:
			panic("report: no spreadsheet unit for this style")
		}
	}
	return plain(v)
}

func plain(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// cell keeps a spreadsheet from running a name as a formula.
func cell(text string) string {
	text = clean(text)
	if text != "" && strings.ContainsAny(text[:1], "=+-@") {
		return "'" + text
	}
	return text
}

// sheet writes records as RFC 4180 asks: comma, CR LF, quotes where needed.
type sheet struct {
	w   *csv.Writer
	err error
}

// newSheet begins the records of a result, which has to be finite.
func newSheet(w io.Writer, result any) *sheet {
	cw := csv.NewWriter(w)
	cw.UseCRLF = true
	return &sheet{w: cw, err: finiteOnly(result)}
}

func (s *sheet) row(cells ...string) {
	if s.err == nil {
		s.err = s.w.Write(cells)
	}
}

func (s *sheet) done() error {
	s.w.Flush()
	if s.err != nil {
		return s.err
	}
	return s.w.Error()
}

// CSV writes the fan for a spreadsheet by RFC 4180: a header, a row with the units, then
// a row for every device and every lure, rods before shared devices. Side is positive to
// starboard. A value that is not finite is an error, as in [JSON].
func CSV(w io.Writer, fan *sternfan.Fan, u unit.System) error {
	ft, mph := u.Label(unit.DepthStyle), u.Label(unit.SpeedStyle)
	s := newSheet(w, fan)
	s.row("rod", "position", "status", "what", "id", "kind", "line out", "depth", "depth low", "depth high",
		"side", "astern", "pull", "line angle", "through water", "temperature", "warnings")
	s.row("", "", "", "", "", "", ft, ft, ft, ft,
		ft+" to starboard", ft, u.Label(unit.ForceStyle), "deg", mph, u.Label(unit.TemperatureStyle), "")
	for _, tracks := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for i := range tracks {
			csvTrack(s, u, &tracks[i])
		}
	}
	return s.done()
}

func csvTrack(s *sheet, u unit.System, t *sternfan.Track) {
	codes := make([]string, len(t.Warnings))
	for i, w := range t.Warnings {
		codes[i] = w.Code
	}
	put := func(what string, b *sternfan.BodyFan, through, temperature string) {
		s.row(cell(t.Rod), cell(t.Position), cell(string(t.Status)), what, cell(b.ID), cell(b.Kind),
			number(u, unit.DepthStyle, t.LineOut),
			number(u, unit.DepthStyle, b.Depth), number(u, unit.DepthStyle, b.DepthLo), number(u, unit.DepthStyle, b.DepthHi),
			number(u, unit.DepthStyle, b.Side), number(u, unit.DepthStyle, b.Astern),
			number(u, unit.ForceStyle, t.TipPull), plain(t.LineAngle), through, temperature,
			cell(strings.Join(codes, " ")))
	}
	if len(t.Lures)+len(t.Bodies) == 0 {
		blank := make([]string, 17)
		blank[0], blank[1], blank[2] = cell(t.Rod), cell(t.Position), cell(string(t.Status))
		blank[16] = cell(strings.Join(codes, " "))
		s.row(blank...)
	}
	for i := range t.Bodies {
		put("device", &t.Bodies[i], "", "")
	}
	for i := range t.Lures {
		l := &t.Lures[i]
		temperature := ""
		if l.Temperature != nil {
			temperature = number(u, unit.TemperatureStyle, *l.Temperature)
		}
		put("lure", &l.BodyFan, number(u, unit.SpeedStyle, l.ThroughWater), temperature)
	}
}
