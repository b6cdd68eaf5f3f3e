package trip

import (
	"fmt"
	"math"
	"slices"

	"sternfan/event"
	"sternfan/setting"

	"sternfan"
)

// Outing is what a trip adds up to.
type Outing struct {
	State
	By      string           // the device that began it
	From    int64            // milliseconds since 1970: first and last event
	To      int64            //
	East    int32            // local time less UTC, seconds
	Where   *sternfan.Place  // where it began, or the first place known
	Stints  []sternfan.Stint // by rod and time; the effort, with its strikes
	Strikes []Strike         `json:"Catches"` // in order of time
	Way     []Spot           // where the boat was known to be, by time, a minute or more apart
	Joined  []Joined         // trips that turned out to be part of this one
	Notices []Notice
	Events  int // that stand, corrections not counted
}

// Spot is where the boat was at a time.
type Spot struct {
	At       int64   `json:"at_ms"`
	Lat, Lon float64 `json:",omitzero"`
}

// Strike is a fish that took hold, and all that is known of it: event.Strike is the entry that
// says so, sternfan.Strike what of it counts in effort.
type Strike struct {
	ID      event.ID        `json:"strike"`
	At      event.Instant   `json:"at"` // with the clock put right
	Rod     string          `json:"rod"`
	Set     event.ID        `json:"set,omitzero"` // the line it struck
	Lure    string          `json:"lure,omitzero"`
	Species string          `json:"species,omitzero"`
	Outcome Outcome         `json:"outcome,omitzero"`
	Fate    event.Fate      `json:"fate,omitzero"`
	Length  *float64        `json:"length_m,omitzero"`
	Mass    *float64        `json:"mass_kg,omitzero"`
	Where   *sternfan.Place `json:"where,omitzero"`
	Fan     *event.Fan      `json:"fan,omitzero"`
	Counted bool            `json:"counted"` // within effort
	Note    string          `json:"note,omitzero"`
}

// Outcome is how a strike ended.
type Outcome string

// The outcomes; "" is not known.
const (
	WasLanded Outcome = "landed"
	WasLost   Outcome = "lost"
)

// Stint returns the stint that a catch counts in, or the one of no time that it was given.
func (o *Outing) Stint(c *Strike) *sternfan.Stint {
	id := c.ID.String()
	for i := range o.Stints {
		s := &o.Stints[i]
		if s.Rod == c.Rod && slices.ContainsFunc(s.Strikes, func(k sternfan.Strike) bool { return k.ID == id }) {
			return s
		}
	}
	return nil
}

// Depth returns the predicted depth of the lure that was struck and its 80 % interval, m.
func (c *Strike) Depth() (depth, lo, hi float64, ok bool) {
	l := lureOf(c.Fan, c.Lure)
	if l == nil {
		return 0, 0, 0, false
	}
	return l.Depth, l.DepthLo, l.DepthHi, true
}

func lureOf(fan *event.Fan, id string) *event.Lure {
	if fan == nil || len(fan.Lures) == 0 {
		return nil
	}
	for i := range fan.Lures {
		if fan.Lures[i].ID == id {
			return &fan.Lures[i]
		}
	}
	return &fan.Lures[0]
}

// projector walks a trip's events in order.
type projector struct {
	out    *Outing
	trip   string
	lines  map[string]*line
	rods   []string // in the order in which they were first seen
	struck map[event.ID]int
	last   map[string]int // rod -> its last catch
}

// line is one rod as it goes.
type line struct {
	Out
	out     bool
	setup   *sternfan.Setup
	fishing bool // out and not fouled
	open    int  // stint that is open, by index; -1: none
	stints  []sternfan.Stint
}

// Project works a trip out of its events, in any order: those of the trip and whatever
// corrects them. Events of other trips are passed over.
func Project(id event.ID, events []event.Event) *Outing {
	s := Settle(events)
	return ProjectSettled(id, s)
}

// ProjectSettled works one trip out of a settled log.
func ProjectSettled(id event.ID, s *Settled) *Outing {
	p := &projector{
		out: &Outing{State: State{Trip: id}, Notices: s.Notices}, lines: map[string]*line{},
		struck: map[event.ID]int{}, last: map[string]int{},
	}
	if !id.IsZero() {
		p.trip = id.String()
	}
	for i := range s.Entries {
		if e := &s.Entries[i]; tripOf(&e.Event) == id {
			p.follow(e)
		}
	}
	for _, j := range s.Joined {
		if j.To == id {
			p.out.Joined = append(p.out.Joined, j)
		}
	}
	p.finish()
	return p.out
}

// fine rounds degrees to a tenth of a meter, and all machines alike.
func fine(degrees float64) float64 { return math.Round(degrees*1e6) / 1e6 }

func (p *projector) notice(e *Entry, code, text, hint string) {
	p.out.Notices = append(p.out.Notices, Notice{code, e.ID, text, hint})
}

func (p *projector) follow(e *Entry) {
	o := p.out
	if o.Events == 0 {
		o.From, o.East, o.By = e.Time, int32(e.At.Offset)*60, e.By
	}
	o.To = e.Time
	o.Events++
	if o.Where == nil {
		o.Where = e.Where
	}
	const apart = 60_000
	if n := len(o.Way); e.Where != nil && (n == 0 || e.Time-o.Way[n-1].At >= apart) {
		o.Way = append(o.Way, Spot{e.Time, fine(e.Where.Lat), fine(e.Where.Lon)})
	}
	switch b := e.Body.(type) {
	case event.TripBegins:
		o.Begins, o.By, o.East = b, e.By, int32(e.At.Offset)*60
		if e.Where != nil {
			o.Where = e.Where
		}
	case event.TripEnds:
		o.Ended = true
		for _, rod := range p.rods {
			p.in(p.lines[rod], e.Time)
		}
	case event.Conditions:
		update(&o.Conditions, &b)
		p.relevel(e)
	case event.LineSet:
		p.set(e, &b.Line, b.Fan, true)
	case event.LineChanged:
		p.set(e, &b.Line, b.Fan, false)
	case event.LineChecked:
		l := p.rod(e.Rod)
		if !l.out {
			p.notice(e, "no-line", fmt.Sprintf("%s was checked, but no line of it is out", e.Rod), "add when it was set")
			return
		}
		l.Checked, l.Fouled = e.Time, false
		if !l.fishing {
			l.fishing = true
			p.begin(l, e)
		}
	case event.LineFouled:
		p.fouled(e)
	case event.LineIn:
		l := p.rod(e.Rod)
		if !l.out {
			p.notice(e, "no-line", fmt.Sprintf("%s was reeled in, but no line of it is out", e.Rod), "add when it was set")
			return
		}
		p.in(l, e.Time)
	case event.Strike:
		p.strike(e, &b)
	case event.Landed:
		p.outcome(e, b.Strike, WasLanded, func(c *Strike) {
			c.Species, c.Fate, c.Length, c.Mass = first(b.Species, c.Species), b.Fate, b.Length, b.Mass
			c.Note = both(c.Note, b.Note)
		}, false)
	case event.Lost:
		p.outcome(e, b.Strike, WasLost, func(c *Strike) {
			c.Species = first(b.Species, c.Species)
			c.Note = both(c.Note, b.Note)
		}, b.StillOut)
	}
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func both(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

func (p *projector) rod(id string) *line {
	l := p.lines[id]
	if l == nil {
		l = &line{open: -1}
		l.Rod = id
		p.lines[id] = l
		p.rods = append(p.rods, id)
	}
	return l
}

// begin opens a stint at an event.
func (p *projector) begin(l *line, e *Entry) {
	s := sternfan.Stint{
		Trip: p.trip, Rod: l.Rod, Position: l.Line.Position, Side: setting.SideNamed(l.Line.Side),
		From: e.Time, To: e.Time, East: int32(e.At.Offset) * 60, Setup: l.setup,
	}
	s.Measures = p.measures(l)
	l.open = len(l.stints)
	l.stints = append(l.stints, s)
}

// end closes the open stint. One that lasted no time and was never struck is dropped.
func (l *line) end(at int64) {
	if l.open < 0 {
		return
	}
	s := &l.stints[l.open]
	s.To = max(s.From, at)
	if s.To == s.From && len(s.Strikes) == 0 {
		l.stints = l.stints[:l.open]
	}
	l.open = -1
}

func (p *projector) in(l *line, at int64) {
	l.end(at)
	l.out, l.fishing, l.Fouled = false, false, false
}

func (p *projector) set(e *Entry, given *event.Line, fan *event.Fan, fresh bool) {
	l := p.rod(e.Rod)
	l.end(e.Time)
	if fresh || !l.out {
		l.Since, l.Checked = e.Time, e.Time
	}
	l.Set, l.Line, l.Fan, l.Moved = e.ID, *given, fan, e.Time
	l.out, l.fishing, l.Fouled = true, true, false
	l.setup = &sternfan.Setup{Attributes: SetupOf(given)}
	p.begin(l, e)
}

// fouled takes back the effort since the line was last known to run free.
func (p *projector) fouled(e *Entry) {
	l := p.rod(e.Rod)
	if !l.out {
		p.notice(e, "no-line", fmt.Sprintf("%s was found fouled, but no line of it is out", e.Rod), "add when it was set")
		return
	}
	l.end(e.Time)
	for n := len(l.stints); n > 0; n-- {
		s := &l.stints[n-1]
		if s.To <= l.Checked {
			break
		}
		if s.From < l.Checked || len(s.Strikes) > 0 {
			s.To = max(s.From, l.Checked)
			break
		}
		l.stints = l.stints[:n-1]
	}
	l.fishing, l.Fouled = false, true
}

// relevel ends and begins stints when the conditions are no longer those they began in.
func (p *projector) relevel(e *Entry) {
	for _, rod := range p.rods {
		l := p.lines[rod]
		if !l.fishing {
			continue
		}
		if now := p.measures(l); !alike(&now, &l.stints[l.open].Measures) {
			l.end(e.Time)
			p.begin(l, e)
		}
	}
}

// steps are the changes that begin a new stint. Less is not worth telling apart, and a
// live feed would cut effort to shreds.
var steps = [sternfan.Measured]float64{
	sternfan.MeasureSpeed: 0.045, sternfan.MeasureProbe: 0.045, // a tenth of a mile an hour
	sternfan.MeasureToCurrent: 20, sternfan.MeasureBottom: 3, sternfan.MeasureSurface: 1,
}

func alike(a, b *sternfan.Measures) bool {
	for m := range sternfan.Measured {
		x, okX := a.Get(m)
		y, okY := b.Get(m)
		if okX != okY || math.Abs(x-y) > steps[m] {
			return false
		}
	}
	return true
}

func (p *projector) measures(l *line) sternfan.Measures {
	var ms sternfan.Measures
	give := func(m sternfan.Measure, v *float64) {
		if v != nil {
			ms.Set(m, *v)
		}
	}
	if lure := lureOf(l.Fan, ""); lure != nil {
		ms.Set(sternfan.MeasureDepth, lure.Depth)
	}
	give(sternfan.MeasureLineOut, l.Line.Settings.LineOut)
	give(sternfan.MeasureLead, l.Line.Settings.Lead)
	give(sternfan.MeasureDial, l.Line.Settings.Dial)
	c := &p.out.Conditions
	give(sternfan.MeasureSpeed, c.OverGround)
	give(sternfan.MeasureProbe, c.Probe)
	give(sternfan.MeasureBottom, c.Bottom)
	if len(c.Temperature) > 0 && c.Temperature[0][0] <= 1 {
		ms.Set(sternfan.MeasureSurface, c.Temperature[0][1])
	}
	if c.Heading != nil && len(c.Current) > 0 {
		ms.Set(sternfan.MeasureToCurrent, math.Remainder(*c.Heading-c.Current[0].Toward, 360))
	}
	return ms
}

func (p *projector) strike(e *Entry, b *event.Strike) {
	l := p.rod(e.Rod)
	c := Strike{ID: e.ID, Rod: e.Rod, Lure: b.Lure, Species: b.Species, Where: e.Where, Fan: b.Fan, Note: b.Note, Set: b.Set}
	c.At = event.Instant{Milli: e.Time, Offset: e.At.Offset}
	mark := sternfan.Strike{ID: e.ID.String(), At: e.Time, Species: b.Species}
	if l.out {
		// A fish on a line shows that it fished, whatever was thought of it.
		if !l.fishing {
			l.fishing, l.Fouled = true, false
			p.begin(l, e)
		}
		l.Checked = e.Time
		s := &l.stints[l.open]
		s.Strikes = append(s.Strikes, mark)
		c.Counted = true
		if c.Set.IsZero() {
			c.Set = l.Set
		}
		if c.Fan == nil {
			c.Fan = l.Fan
		}
	} else {
		s := sternfan.Stint{Trip: p.trip, Rod: e.Rod, From: e.Time, To: e.Time, East: int32(e.At.Offset) * 60}
		if l.setup != nil && l.Set == b.Set && !b.Set.IsZero() {
			s.Setup, s.Position, s.Side = l.setup, l.Line.Position, setting.SideNamed(l.Line.Side)
		}
		s.Strikes = []sternfan.Strike{mark}
		l.stints = append(l.stints, s)
		p.notice(e, "no-line", fmt.Sprintf("%s had a strike, but no line of it is out: it counts in no rate", e.Rod), "add when it was set")
	}
	p.struck[e.ID] = len(p.out.Strikes)
	p.last[e.Rod] = len(p.out.Strikes)
	p.out.Strikes = append(p.out.Strikes, c)
}

// outcome says what became of a strike. The rod has been in hand since it, and is in.
func (p *projector) outcome(e *Entry, strike event.ID, how Outcome, tell func(*Strike), stillOut bool) {
	i, ok := p.struck[strike]
	if !ok {
		i, ok = p.last[e.Rod]
		ok = ok && strike.IsZero() && p.out.Strikes[i].Outcome == ""
	}
	if !ok {
		// A fish in the boat has struck, also when nobody wrote that down.
		p.strike(e, &event.Strike{})
		i = len(p.out.Strikes) - 1
		p.struck[strike] = i
	}
	c := &p.out.Strikes[i]
	c.Outcome = how
	tell(c)
	if c.Where == nil {
		c.Where = e.Where
	}
	l := p.rod(c.Rod)
	id := c.ID.String()
	for n := len(l.stints) - 1; n >= 0; n-- {
		k := slices.IndexFunc(l.stints[n].Strikes, func(s sternfan.Strike) bool { return s.ID == id })
		if k < 0 {
			continue
		}
		s := &l.stints[n].Strikes[k]
		s.Species, s.Landed = c.Species, how == WasLanded
		// What was set again since is another line.
		if !stillOut && l.out && c.Set == l.Set && l.Since <= c.At.Milli {
			p.inHand(l)
		}
		break
	}
}

// inHand ends a line's effort at its last strike: from then on the rod was in hand. A line
// with several lures may have had more than one.
func (p *projector) inHand(l *line) {
	for len(l.stints) > 0 && len(l.stints[len(l.stints)-1].Strikes) == 0 {
		l.stints = l.stints[:len(l.stints)-1] // cut by conditions while the fish was on
	}
	l.open = len(l.stints) - 1
	strikes := l.stints[l.open].Strikes
	p.in(l, strikes[len(strikes)-1].At)
}

// finish closes what is open at the last event, and lays the stints together.
func (p *projector) finish() {
	o := p.out
	slices.Sort(p.rods)
	for _, rod := range p.rods {
		l := p.lines[rod]
		switch {
		case l.out:
			o.Lines = append(o.Lines, l.Out)
		case !l.Set.IsZero():
			o.Was = append(o.Was, l.Out)
		}
		l.end(o.To)
		o.Stints = append(o.Stints, l.stints...)
	}
}
