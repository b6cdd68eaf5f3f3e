package trip

import (
	"cmp"
	"slices"

	"sternfan/event"
)

// Measured is a reading with the spread as it fished then.
type Measured struct {
	ID      event.ID
	At      event.Instant // with the clock put right
	Rod     string
	Reading event.Reading
	State   *State // of the trip; Line(Rod) is what was measured
}

// Readings returns a trip's readings in order of time, each with the state in which it was
// taken. A rod that had come in is taken to have been out as it last was; a reading of a
// rod that was never out is left out and noted.
func Readings(id event.ID, s *Settled) (out []Measured, notices []Notice) {
	for i := range s.Entries {
		e := &s.Entries[i]
		b, ok := e.Body.(event.Reading)
		if !ok || tripOf(&e.Event) != id {
			continue
		}
		state := StateAt(id, s, e.Time)
		if _, out := state.Line(e.Rod); !out {
			k := slices.IndexFunc(state.Was, func(o Out) bool { return o.Rod == e.Rod })
			if k < 0 {
				notices = append(notices, Notice{"no-line", e.ID, "what was measured at " + e.Rod + " belongs to no line", "log when the line was set"})
				continue
			}
			state.Lines = append(state.Lines, state.Was[k])
			slices.SortFunc(state.Lines, func(a, b Out) int { return cmp.Compare(a.Rod, b.Rod) })
		}
		out = append(out, Measured{
			ID: e.ID, At: event.Instant{Milli: e.Time, Offset: e.At.Offset}, Rod: e.Rod, Reading: b, State: state,
		})
	}
	return out, notices
}

// Device returns the downrigger or board that a rod's line is clipped to, "" for none.
func (o *Out) Device() string {
	for _, p := range o.Line.Parts {
		if p.On != "" {
			return p.On
		}
	}
	return ""
}
