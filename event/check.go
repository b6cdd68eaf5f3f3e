package event

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sternfan"
	"sternfan/setting"
)

// Limits that catch slips and keep a log that strangers write to from growing without
// bound. Those of the scenario file, where there is one.
const (
	maxName     = 64
	maxWords    = 200
	maxNote     = 4000
	maxText     = 1 << 20 // the scenario
	maxLogParts = 64
	maxLogDepth = 4
	maxProfile  = 500
)

// Check returns everything that is wrong with an event: what is missing, out of
// range or cannot be. A decoded event has been checked.
func Check(e *Event) sternfan.Faults {
	var c bodyCheck
	if e.ID.IsZero() {
		c.fault("id", "missing", "an event needs an id", "", "make one when the event is made")
	}
	if y := e.At.Time().UTC().Year(); e.At.IsZero() || y < firstYear || y > lastYear {
		c.fault("at", "out-of-range", fmt.Sprintf("a time lies in the years %d to %d", firstYear, lastYear), e.At.String(), "set the device's clock, or correct the time")
	}
	if e.At.Offset < -18*60 || e.At.Offset > 18*60 {
		c.fault("at", "out-of-range", "local time is at most 18 hours from UTC", strconv.Itoa(int(e.At.Offset))+" minutes", "")
	}
	c.name("by", e.By, true)
	c.name("rod", e.Rod, false)
	if e.Where != nil {
		c.number("where.lat", e.Where.Lat, -90, 90)
		c.number("where.lon", e.Where.Lon, -180, 180)
	}
	if e.Body == nil {
		c.fault("body", "missing", "an event needs a kind and a body", "", "")
		return c.faults
	}
	kind := e.Kind()
	if e.Rod == "" && kind.OfRod() {
		c.fault("rod", "missing", "this kind of event is about a rod", string(kind), "name the rod")
	}
	if kind == KindTripBegins && !e.Trip.IsZero() {
		c.fault("trip", "refused", "the event that begins a trip is itself the trip", e.Trip.String(), "leave trip out")
	}
	c.in = "body."
	e.Body.check(&c)
	return c.faults
}

// bodyCheck collects the faults of an event.
type bodyCheck struct {
	in     string // prefix of paths
	faults sternfan.Faults
}

func (c *bodyCheck) fault(path, code, text, found, hint string, allowed ...string) {
	c.faults = append(c.faults, sternfan.Fault{Code: code, Path: c.in + path, Text: text, Found: found, Hint: hint, Allowed: allowed})
}

// text checks words that a person wrote: valid, printable, not endless.
func (c *bodyCheck) text(path, s string, most int) {
	if len(s) > most {
		c.fault(path, "too-long", fmt.Sprintf("this text is over %d bytes", most), clipText(strings.ToValidUTF8(s, "?"), 40), "shorten it")
		return
	}
	if !utf8.ValidString(s) {
		c.fault(path, "bad-text", "this text is not UTF-8", "", "")
		return
	}
	for _, r := range s {
		if unicode.IsControl(r) && (most < maxNote || r != '\n' && r != '\r' && r != '\t') {
			c.fault(path, "bad-text", "this text holds a character that cannot be seen", fmt.Sprintf("%U", r), "take it out")
			return
		}
	}
}

// name checks an id or a device's name.
func (c *bodyCheck) name(path, s string, needed bool) {
	if needed && strings.TrimSpace(s) == "" {
		c.fault(path, "missing", "this is needed", "", "")
	}
	c.text(path, s, maxName)
}

func (c *bodyCheck) number(path string, v, lo, hi float64) {
	if math.IsNaN(v) || v < lo || v > hi {
		c.fault(path, "out-of-range", fmt.Sprintf("this lies between %g and %g", lo, hi), strconv.FormatFloat(v, 'g', -1, 64), "")
	}
}

func (c *bodyCheck) maybe(path string, v *float64, lo, hi float64) {
	if v != nil {
		c.number(path, *v, lo, hi)
	}
}

func (c *bodyCheck) word(path, s string, allowed ...string) {
	if s != "" && !slices.Contains(allowed, s) {
		c.fault(path, "unknown-word", "this word has no meaning here", clipText(s, 40), "", allowed...)
	}
}

func (c *bodyCheck) count(path string, n, most int) bool {
	if n > most {
		c.fault(path, "too-many", fmt.Sprintf("there are at most %d of these", most), strconv.Itoa(n), "")
		return false
	}
	return true
}

// The ranges of the scenario file: line to 10 km, depth to 1000 m, speed to 10 m/s.
const (
	farM, deepM, fastMps, pullN = 10_000, 1_000, 10, 1e5
)

func (b TripBegins) check(c *bodyCheck) {
	c.text("name", b.Name, maxWords)
	c.text("boat", b.Boat, maxWords)
	c.text("from", b.From, maxWords)
	c.number("people", float64(b.People), 0, 1000)
	c.number("anglers", float64(b.Anglers), 0, 1000)
	if b.People > 0 && b.Anglers > b.People {
		c.fault("anglers", "out-of-range", "more fish than are aboard", fmt.Sprintf("%d of %d", b.Anglers, b.People), "")
	}
	c.text("scenario", b.Scenario, maxText)
	c.text("note", b.Note, maxNote)
}

func (b TripEnds) check(c *bodyCheck)    { c.text("note", b.Note, maxNote) }
func (b LineChecked) check(c *bodyCheck) { c.text("note", b.Note, maxNote) }
func (b LineIn) check(c *bodyCheck)      { c.text("note", b.Note, maxNote) }

func (b LineFouled) check(c *bodyCheck) {
	c.text("with", b.With, maxWords)
	c.text("note", b.Note, maxNote)
}

func (b LineSet) check(c *bodyCheck)     { c.line(&b.Line); c.fan("fan", b.Fan) }
func (b LineChanged) check(c *bodyCheck) { c.line(&b.Line); c.fan("fan", b.Fan) }

func (b Strike) check(c *bodyCheck) {
	c.name("lure", b.Lure, false)
	c.text("species", b.Species, maxWords)
	c.fan("fan", b.Fan)
	c.text("note", b.Note, maxNote)
}

func (b Landed) check(c *bodyCheck) {
	c.text("species", b.Species, maxWords)
	c.maybe("length_m", b.Length, 0, 10)
	c.maybe("mass_kg", b.Mass, 0, 1000)
	c.word("fate", string(b.Fate), string(Kept), string(Released))
	c.text("note", b.Note, maxNote)
}

func (b Lost) check(c *bodyCheck) {
	c.text("species", b.Species, maxWords)
	c.text("note", b.Note, maxNote)
}

func (b Conditions) check(c *bodyCheck) {
	c.maybe("over_ground_mps", b.OverGround, -fastMps, fastMps)
	c.maybe("surface_mps", b.Surface, -fastMps, fastMps)
	c.maybe("probe_mps", b.Probe, -fastMps, fastMps)
	c.maybe("probe_depth_m", b.ProbeDepth, 0, deepM)
	c.maybe("heading_deg", b.Heading, -360, 360)
	c.maybe("bottom_m", b.Bottom, 0, deepM)
	c.maybe("secchi_m", b.Secchi, 0, 100)
	c.text("sky", b.Sky, maxWords)
	c.text("clarity", b.Clarity, maxWords)
	c.text("note", b.Note, maxNote)
	if c.count("temperature_c", len(b.Temperature), maxProfile) {
		for i, t := range b.Temperature {
			c.number(fmt.Sprintf("temperature_c[%d][0]", i), t[0], 0, deepM)
			c.number(fmt.Sprintf("temperature_c[%d][1]", i), t[1], -3, 45)
		}
	}
	if c.count("current", len(b.Current), maxProfile) {
		for i, t := range b.Current {
			at := fmt.Sprintf("current[%d].", i)
			c.number(at+"depth_m", t.Depth, 0, deepM)
			c.number(at+"mps", t.Speed, -fastMps, fastMps)
			c.number(at+"toward_deg", t.Toward, -360, 360)
		}
	}
}

// ReadingKinds returns what may be measured.
func ReadingKinds() []ReadingKind {
	return []ReadingKind{ReadDepth, ReadSide, ReadAstern, ReadSlant, ReadPull, ReadAngle, ReadTouched, ReadClear}
}

func (b Reading) check(c *bodyCheck) {
	lo, hi := 0.0, float64(deepM)
	switch b.What {
	case ReadSide:
		lo = -deepM
	case ReadPull:
		hi = pullN
	case ReadAngle:
		lo, hi = -90, 90
	}
	var names []string
	for _, k := range ReadingKinds() {
		names = append(names, string(k))
	}
	if b.What == "" {
		c.fault("what", "missing", "what was measured is needed", "", "", names...)
	}
	c.word("what", string(b.What), names...)
	c.number("value", b.Value, lo, hi)
	c.number("sd", b.SD, 0, hi)
	c.name("part", b.Part, false)
	c.text("with", b.With, maxWords)
	c.text("note", b.Note, maxNote)
}

func (b Note) check(c *bodyCheck) {
	if strings.TrimSpace(b.Text) == "" {
		c.fault("text", "missing", "a note needs words", "", "")
	}
	c.text("text", b.Text, maxNote)
}

func (b Fix) check(c *bodyCheck) {
	if b.Of.IsZero() {
		c.fault("of", "missing", "a correction names the event that it corrects", "", "")
	}
	if !b.Void && b.At == nil && b.Trip == nil && b.Rod == nil && b.To == "" && len(b.Body)+len(b.Change) == 0 {
		c.fault("", "missing", "this corrects nothing", "", "give void, at, trip, rod, or to with change")
	}
	if b.Rod != nil {
		c.name("rod", *b.Rod, false)
	}
	c.text("why", b.Why, maxNote)
	c.text("to", string(b.To), maxName)
	switch whole := len(b.Body) > 0; {
	case (b.To == "") != (!whole && len(b.Change) == 0), whole && len(b.Change) > 0:
		c.fault("body", "missing", "to goes with change, or with body", "", "give the kind in to and what changes in change")
	case b.To == KindFix || b.To == KindClock || b.To == KindSolved:
		c.fault("to", "refused", "an event is not turned into this kind", string(b.To), "void it and write another")
	case !b.To.Known():
	case whole:
		if _, err := DecodeBody(b.To, b.Body); err != nil {
			c.nested("body", err, "")
		}
	default:
		if b.Change.Kind() != '{' {
			c.fault("change", "wrong-type", "what changes is an object", "", "")
		} else if _, err := DecodeBody(b.To, b.Change); err != nil {
			c.nested("change", err, "missing") // that may stand in what is corrected
		}
	}
}

// nested adds the faults of a decoded member under a path, but for those of a code.
func (c *bodyCheck) nested(path string, err error, but string) {
	faults, ok := err.(sternfan.Faults)
	if !ok {
		c.fault(path, "bad-json", err.Error(), "", "")
		return
	}
	for _, f := range faults {
		if f.Code == but {
			continue
		}
		f.Path = strings.TrimSuffix(c.in+path+"."+strings.TrimPrefix(f.Path, "body."), ".")
		c.faults = append(c.faults, f)
	}
}

func (b Clock) check(c *bodyCheck) {
	c.name("of", b.Of, true)
	const century = 100 * 366 * 24 * 3600 * 1000
	c.number("shift_ms", float64(b.Shift), -century, century)
}

func (b Solved) check(c *bodyCheck) {
	if b.Of.IsZero() {
		c.fault("of", "missing", "the event that was solved is needed", "", "")
	}
	c.fan("fan", &b.Fan)
}

func (c *bodyCheck) line(l *Line) {
	defer func(in string) { c.in = in }(c.in)
	c.in += "line."
	c.name("rig", string(l.Rig), false)
	c.name("holder", l.Holder, false)
	c.text("position", l.Position, maxWords)
	c.word("side", l.Side, "port", "starboard")
	c.name("reel", l.Reel, false)
	c.parts("parts", l.Parts, 0)
	c.in += "settings."
	for r := range setting.Rows {
		switch v := r.Logged(&l.Settings); r.Kind {
		case setting.Side, setting.Word:
			c.word(r.LogKey(), v.Word, r.Words...)
		default:
			lo, hi := r.LogRange()
			c.number(r.LogKey(), v.Number, lo, hi)
		}
	}
}

func (c *bodyCheck) parts(path string, parts []Part, depth int) {
	if !c.count(path, len(parts), maxLogParts) {
		return
	}
	if depth >= maxLogDepth {
		c.fault(path, "too-deep", "parts hang on parts at most "+strconv.Itoa(maxLogDepth)+" deep", "", "")
		return
	}
	for i := range parts {
		p := &parts[i]
		at := path + "[" + strconv.Itoa(i) + "]."
		c.name(at+"id", p.ID, false)
		if p.Kind == "" {
			c.fault(at+"kind", "missing", "a part needs a kind", "", "")
		}
		c.name(at+"kind", string(p.Kind), false)
		c.name(at+"gear", p.Gear, false)
		c.name(at+"type", p.Type, false)
		c.name(at+"on", p.On, false)
		c.maybe(at+"length_m", p.Length, 0, farM)
		if c.count(at+"attributes", len(p.Attributes), maxLogParts) {
			for k, v := range p.Attributes {
				c.name(at+"attributes", k, true)
				c.text(at+"attributes", v, maxWords)
			}
		}
		if len(p.Parts) > 0 {
			c.parts(at+"parts", p.Parts, depth+1)
		}
	}
}

func (c *bodyCheck) fan(path string, f *Fan) {
	if f == nil {
		return
	}
	defer func(in string) { c.in = in }(c.in)
	c.in += path + "."
	c.name("status", string(f.Status), true)
	c.number("surface_mps", f.Surface, -2*fastMps, 2*fastMps)
	c.number("tip_pull_n", f.TipPull, 0, 10*pullN)
	c.number("line_angle_deg", f.LineAngle, -180, 180)
	c.name("engine", f.Engine, false)
	if !c.count("lures", len(f.Lures), maxLogParts) {
		return
	}
	for i := range f.Lures {
		l := &f.Lures[i]
		at := "lures[" + strconv.Itoa(i) + "]."
		c.name(at+"id", l.ID, true)
		c.number(at+"depth_m", l.Depth, -100, farM)
		c.number(at+"depth_lo_m", l.DepthLo, -100, farM)
		c.number(at+"depth_hi_m", l.DepthHi, -100, farM)
		c.number(at+"side_m", l.Side, -farM, farM)
		c.number(at+"astern_m", l.Astern, -farM, farM)
		c.number(at+"through_water_mps", l.ThroughWater, -2*fastMps, 2*fastMps)
		c.maybe(at+"temperature_c", l.Temperature, -10, 60)
	}
}
