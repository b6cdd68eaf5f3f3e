package trip

import (
	"cmp"
	"slices"

	"sternfan/event"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// Out is a line in the water.
type Out struct {
	Rod     string     `json:"rod"`
	Set     event.ID   `json:"set"`        // the event that put it there or last changed it
	Since   int64      `json:"since_ms"`   // it has been out since
	Moved   int64      `json:"moved_ms"`   // set or changed last
	Checked int64      `json:"checked_ms"` // known to have run free then: for the timer
	Fouled  bool       `json:"fouled,omitzero"`
	Line    event.Line `json:"line"`
	Fan     *event.Fan `json:"fan,omitzero"`
}

// State is a trip at its last event: what a helm needs to go on, and what solving needs.
type State struct {
	Trip       event.ID         `json:"trip"`
	Begins     event.TripBegins `json:"begins"`
	Ended      bool             `json:"ended,omitzero"`
	Conditions event.Conditions `json:"conditions"` // the latest of each
	Lines      []Out            `json:"lines"`      // out, by rod
	Was        []Out            `json:"was"`        // in again, as they were last out: for setting them the same
}

// StateAt returns a trip's state at a moment in milliseconds since 1970, from its settled
// log.
func StateAt(id event.ID, s *Settled, at int64) *State {
	until := &Settled{}
	for _, e := range s.Entries {
		if e.Time <= at {
			until.Entries = append(until.Entries, e)
		}
	}
	o := ProjectSettled(id, until)
	return &o.State
}

// Line returns the line that a rod has out.
func (s *State) Line(rod string) (*Out, bool) {
	i := slices.IndexFunc(s.Lines, func(o Out) bool { return o.Rod == rod })
	if i < 0 {
		return nil, false
	}
	return &s.Lines[i], true
}

// Scenario returns the spread as it fished at the state: the boat and gear of the base
// scenario with the lines that are out, and the conditions that were read since. A rod
// that is in is left out. Base is not changed.
func Scenario(base *sternfan.Scenario, s *State) *sternfan.Scenario {
	sc := *base
	sc.Rods = nil
	sc.Downriggers = slices.Clone(base.Downriggers)
	sc.MastBoards = slices.Clone(base.MastBoards)
	for i := range s.Lines {
		sc.Rods = append(sc.Rods, rodOf(s.Lines[i].Rod, &s.Lines[i].Line))
	}
	// Of the rods on one device the one that was touched last knows its line.
	byTime := slices.Clone(s.Lines)
	slices.SortStableFunc(byTime, func(a, b Out) int { return cmp.Or(cmp.Compare(a.Moved, b.Moved), a.Set.Compare(b.Set)) })
	for i := range byTime {
		o := &byTime[i]
		on := setting.Of(&sc, sc.Rod(o.Rod))
		for r := range setting.Rows {
			if v := r.Logged(&o.Line.Settings); v.Given && r.Owner != setting.Rod {
				r.Set(on, v)
			}
		}
	}
	read(&sc, &s.Conditions)
	return &sc
}

// keep sets a quantity and keeps how uncertain it was said to be.
func keep[U ~float64](q *sternfan.Q[U], v float64) { q.Value, q.Given = U(v), true }

// read puts conditions in the place of the scenario's own.
func read(sc *sternfan.Scenario, c *event.Conditions) {
	if c.Heading != nil {
		keep(&sc.Heading, *c.Heading*float64(unit.Degree))
	}
	if len(c.Temperature) > 0 {
		sc.Water.Temperature = nil
		for _, t := range c.Temperature {
			sc.Water.Temperature = append(sc.Water.Temperature, sternfan.TempPoint{Depth: unit.Length(t[0]), Temperature: unit.Temperature(t[1])})
		}
	}
	if len(c.Current) > 0 {
		sc.Water.Current = nil
		for _, p := range c.Current {
			sc.Water.Current = append(sc.Water.Current, p.Point())
		}
	}
	if c.Bottom != nil {
		keep(&sc.Water.Bottom, *c.Bottom)
	}
	give := func(kind sternfan.SpeedKind, v float64) {
		if sc.Speed.Given != kind {
			sc.Speed = sternfan.Speed{Given: kind, Band: sc.Speed.Band}
		}
		keep(&sc.Speed.Value, v)
	}
	switch {
	case c.Surface != nil: // nearest to what the lines feel
		give(sternfan.SpeedSurface, *c.Surface)
	case c.Probe != nil && c.ProbeDepth != nil:
		give(sternfan.SpeedProbe, *c.Probe)
		sc.Speed.Ball = ""
		keep(&sc.Speed.Depth, *c.ProbeDepth)
	case c.OverGround != nil:
		give(sternfan.SpeedGround, *c.OverGround)
	}
}

// update takes in what was read anew.
func update(c *event.Conditions, read *event.Conditions) {
	// A speed read anew stands alone: the others were of another moment.
	if read.Surface != nil || read.OverGround != nil || read.Probe != nil {
		c.Surface, c.OverGround, c.Probe, c.ProbeDepth = read.Surface, read.OverGround, read.Probe, read.ProbeDepth
	}
	latest(&c.Heading, read.Heading)
	latest(&c.Bottom, read.Bottom)
	latest(&c.Secchi, read.Secchi)
	if len(read.Temperature) > 0 {
		c.Temperature = read.Temperature
	}
	if len(read.Current) > 0 {
		c.Current = read.Current
	}
	if read.Sky != "" {
		c.Sky = read.Sky
	}
	if read.Clarity != "" {
		c.Clarity = read.Clarity
	}
}

func latest(into **float64, v *float64) {
	if v != nil {
		*into = v
	}
}
