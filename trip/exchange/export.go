// Package exchange writes what a log adds up to as files that other programs read: CSV
// for spreadsheets, GPX and GeoJSON for maps, and reads events from strangers' CSV.
package exchange

import (
	"encoding/csv"
	"encoding/json/v2"
	"encoding/xml"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"sternfan/event"

	"sternfan"
	"sternfan/trip"
	"sternfan/unit"
)

// sheet writes records as RFC 4180 asks: comma, CR LF, quotes where needed.
type sheet struct {
	w   *csv.Writer
	err error
}

func newSheet(w io.Writer) *sheet {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	return &sheet{w: out}
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

// cell keeps a spreadsheet from running a text as a formula, and control characters out.
func cell(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, text)
	if text != "" && strings.ContainsAny(text[:1], "=+-@") {
		return "'" + text
	}
	return text
}

// scale is how a number is shown: divided by the unit, with its name.
type scale struct {
	name string
	per  float64
}

type scales struct{ long, short, speed, mass scale }

func scalesOf(u unit.System) scales {
	if u == unit.SI {
		return scales{scale{"m", 1}, scale{"cm", .01}, scale{"m/s", 1}, scale{"kg", 1}}
	}
	return scales{
		scale{"ft", float64(unit.Foot)}, scale{"in", float64(unit.Inch)},
		scale{"mph", float64(unit.MilePerHour)}, scale{"lb", float64(unit.Pound)},
	}
}

func (s scale) of(v float64) string { return short(v / s.per) }

func (s scale) maybe(v *float64) string {
	if v == nil {
		return ""
	}
	return s.of(*v)
}

func (s scale) measure(ms *sternfan.Measures, m sternfan.Measure) string {
	v, ok := ms.Get(m)
	if !ok {
		return ""
	}
	return s.of(v)
}

// short writes up to two decimals.
func short(v float64) string {
	text := strconv.FormatFloat(v, 'f', 2, 64)
	text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	if text == "-0" || text == "" {
		return "0"
	}
	return text
}

// attributes returns the names by which any of the stints can be compared, in order.
func attributes(outings []*trip.Outing) []string {
	seen := map[string]bool{}
	for _, o := range outings {
		for i := range o.Stints {
			if s := o.Stints[i].Setup; s != nil {
				for k := range s.Attributes {
					seen[k] = true
				}
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

func (c *columns) setup(s *sternfan.Setup) []string {
	out := make([]string, len(c.names))
	if s != nil {
		for i, n := range c.names {
			out[i] = cell(s.Attributes[n])
		}
	}
	return out
}

type columns struct{ names []string }

func moment(ms int64, eastSeconds int32) event.Instant {
	return event.Instant{Milli: ms, Offset: int16(eastSeconds / 60)}
}

// StrikesCSV writes a row for every strike: what became of it, where the lure ran with
// its interval, and what the line fished. A header, then a row of units.
func StrikesCSV(w io.Writer, outings []*trip.Outing, u unit.System) error {
	names := columns{attributes(outings)}
	s, sc := newSheet(w), scalesOf(u)
	blank := make([]string, len(names.names))
	for i, n := range names.names {
		blank[i] = cell(n)
	}
	s.row(append([]string{"strike", "trip", "day", "time", "rod", "position", "side", "species", "outcome", "fate", "length", "weight",
		"depth", "depth low", "depth high", "line out", "dial", "lead", "speed over ground", "lat", "lon", "in effort", "note"}, blank...)...)
	clear(blank)
	s.row(append([]string{"", "", "", "local", "", "", "", "", "", "", sc.short.name, sc.mass.name,
		sc.long.name, sc.long.name, sc.long.name, sc.long.name, "", sc.long.name, sc.speed.name, "deg", "deg", "", ""}, blank...)...)
	for _, o := range outings {
		for i := range o.Strikes {
			c := &o.Strikes[i]
			st := o.Stint(c)
			if st == nil {
				st = &sternfan.Stint{}
			}
			day, _ := c.At.Local()
			depth, lo, hi := "", "", ""
			if d, l, h, ok := c.Depth(); ok {
				depth, lo, hi = sc.long.of(d), sc.long.of(l), sc.long.of(h)
			}
			lat, lon := placeCells(c.Where)
			counted := "no"
			if c.Counted {
				counted = "yes"
			}
			plain := scale{"", 1}
			s.row(append([]string{c.ID.String(), tripCell(o), day, c.At.Time().Format("15:04:05"), cell(c.Rod), cell(st.Position), st.Side.String(),
				cell(c.Species), string(c.Outcome), string(c.Fate), sc.short.maybe(c.Length), sc.mass.maybe(c.Mass),
				depth, lo, hi, sc.long.measure(&st.Measures, sternfan.MeasureLineOut), plain.measure(&st.Measures, sternfan.MeasureDial),
				sc.long.measure(&st.Measures, sternfan.MeasureLead), sc.speed.measure(&st.Measures, sternfan.MeasureSpeed),
				lat, lon, counted, cell(c.Note)}, names.setup(st.Setup)...)...)
		}
	}
	return s.done()
}

func tripCell(o *trip.Outing) string {
	if o.Trip.IsZero() {
		return ""
	}
	return o.Trip.String()
}

func placeCells(p *sternfan.Place) (lat, lon string) {
	if p == nil {
		return "", ""
	}
	return strconv.FormatFloat(p.Lat, 'f', 6, 64), strconv.FormatFloat(p.Lon, 'f', 6, 64)
}

// EffortCSV writes a row for every stint: a rod fishing with one rig and one setting from
// a time to a time, and the strikes in it. A header, then a row of units.
func EffortCSV(w io.Writer, outings []*trip.Outing, u unit.System) error {
	names := columns{attributes(outings)}
	s, sc := newSheet(w), scalesOf(u)
	blank := make([]string, len(names.names))
	for i, n := range names.names {
		blank[i] = cell(n)
	}
	s.row(append([]string{"trip", "day", "from", "to", "rod", "position", "side", "effort", "strikes", "landed",
		"depth", "line out", "dial", "lead", "speed over ground", "speed at depth", "heading to current", "water depth"}, blank...)...)
	clear(blank)
	s.row(append([]string{"", "", "local", "local", "", "", "", "rod-hours", "", "",
		sc.long.name, sc.long.name, "", sc.long.name, sc.speed.name, sc.speed.name, "deg", sc.long.name}, blank...)...)
	plain := scale{"", 1}
	for _, o := range outings {
		for i := range o.Stints {
			st := &o.Stints[i]
			from, to := moment(st.From, st.East), moment(st.To, st.East)
			day, _ := from.Local()
			landed := 0
			for _, k := range st.Strikes {
				if k.Landed {
					landed++
				}
			}
			m := &st.Measures
			s.row(append([]string{tripCell(o), day, from.Time().Format("15:04:05"), to.Time().Format("15:04:05"), cell(st.Rod), cell(st.Position), st.Side.String(),
				strconv.FormatFloat(st.RodHours(), 'f', 4, 64), strconv.Itoa(len(st.Strikes)), strconv.Itoa(landed),
				sc.long.measure(m, sternfan.MeasureDepth), sc.long.measure(m, sternfan.MeasureLineOut), plain.measure(m, sternfan.MeasureDial),
				sc.long.measure(m, sternfan.MeasureLead), sc.speed.measure(m, sternfan.MeasureSpeed), sc.speed.measure(m, sternfan.MeasureProbe),
				plain.measure(m, sternfan.MeasureToCurrent), sc.long.measure(m, sternfan.MeasureBottom)}, names.setup(st.Setup)...)...)
		}
	}
	return s.done()
}

type gpx struct {
	XMLName xml.Name `xml:"gpx"`
	Version string   `xml:"version,attr"`
	Creator string   `xml:"creator,attr"`
	Space   string   `xml:"xmlns,attr"`
	Points  []gpxPoint
}

type gpxPoint struct {
	XMLName xml.Name `xml:"wpt"`
	Lat     string   `xml:"lat,attr"`
	Lon     string   `xml:"lon,attr"`
	Time    string   `xml:"time"`
	Name    string   `xml:"name"`
	Desc    string   `xml:"desc,omitempty"`
	Type    string   `xml:"type"`
}

// GPX writes a waypoint for every strike with a position, as GPX 1.1, and returns how many
// strikes had none. Not for navigation.
func GPX(w io.Writer, outings []*trip.Outing, u unit.System) (without int, err error) {
	out := gpx{Version: "1.1", Creator: "sternfan", Space: "http://www.topografix.com/GPX/1/1"}
	for _, o := range outings {
		for i := range o.Strikes {
			c := &o.Strikes[i]
			if c.Where == nil {
				without++
				continue
			}
			lat, lon := placeCells(c.Where)
			p := gpxPoint{Lat: lat, Lon: lon, Time: c.At.Time().UTC().Format("2006-01-02T15:04:05.000Z"), Name: printable(title(c)), Type: "strike"}
			p.Desc = printable(describe(c, u))
			out.Points = append(out.Points, p)
		}
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return without, err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", "  ")
	if err := enc.Encode(out); err != nil {
		return without, err
	}
	_, err = io.WriteString(w, "\n")
	return without, err
}

// printable keeps out what XML 1.0 cannot hold.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, s)
}

func title(c *trip.Strike) string {
	name := c.Species
	if name == "" {
		name = "strike"
	}
	return name + ", " + c.Rod
}

func describe(c *trip.Strike, u unit.System) string {
	var words []string
	if c.Outcome != "" {
		words = append(words, string(c.Outcome))
	}
	if c.Fate != "" {
		words = append(words, string(c.Fate))
	}
	if d, lo, hi, ok := c.Depth(); ok {
		words = append(words, "lure at "+u.Depth(unit.Length(d))+" ("+u.Depth(unit.Length(lo))+" to "+u.Depth(unit.Length(hi))+", 4 times in 5)")
	}
	if c.Note != "" {
		words = append(words, c.Note)
	}
	return strings.Join(words, "; ")
}

type feature struct {
	Type       string         `json:"type"`
	Geometry   *point         `json:"geometry"`
	Properties map[string]any `json:"properties"`
}

type point struct {
	Type        string     `json:"type"`
	Coordinates [2]float64 `json:"coordinates"`
}

type collection struct {
	Type     string    `json:"type"`
	Features []feature `json:"features"`
}

// GeoJSON writes a point feature for every strike with a position (RFC 7946), numbers in
// SI, and returns how many strikes had none.
func GeoJSON(w io.Writer, outings []*trip.Outing) (without int, err error) {
	out := collection{Type: "FeatureCollection", Features: []feature{}}
	for _, o := range outings {
		for i := range o.Strikes {
			c := &o.Strikes[i]
			if c.Where == nil {
				without++
				continue
			}
			props := map[string]any{"strike": c.ID.String(), "at": c.At.String(), "rod": c.Rod}
			if !o.Trip.IsZero() {
				props["trip"] = o.Trip.String()
			}
			give := func(name, value string) {
				if value != "" {
					props[name] = value
				}
			}
			give("species", c.Species)
			give("outcome", string(c.Outcome))
			give("fate", string(c.Fate))
			if c.Length != nil {
				props["length_m"] = *c.Length
			}
			if c.Mass != nil {
				props["mass_kg"] = *c.Mass
			}
			if d, lo, hi, ok := c.Depth(); ok {
				props["depth_m"], props["depth_lo_m"], props["depth_hi_m"] = d, lo, hi
			}
			if st := o.Stint(c); st != nil && st.Setup != nil {
				props["setup"] = st.Setup.Attributes
			}
			out.Features = append(out.Features, feature{"Feature", &point{"Point", [2]float64{c.Where.Lon, c.Where.Lat}}, props})
		}
	}
	if err := json.MarshalWrite(w, out, json.Deterministic(true)); err != nil {
		return without, err
	}
	_, err = io.WriteString(w, "\n")
	return without, err
}
