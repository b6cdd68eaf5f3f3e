package trip

import (
	"cmp"
	"slices"

	"sternfan"
)

// Measured is a reading with the spread as it fished then.
type Measured struct {
	ID      sternfan.EventID
	At      sternfan.Instant // with the clock put right
	Rod     string
	Reading sternfan.Reading
	State   *State // of the trip; Line(Rod) is what was measured
}

// Readings returns a trip's readings in order of time, each with the state in which it was
// taken. A rod that had come in is taken to have been out as it last was; a reading of a
// rod that was never out is left out and noted.
func Readings(id sternfan.EventID, s *Settled) (out []Measured, notices []Notice) {
	for i := range s.Entries {
		e := &s.Entries[i]
		b, ok := e.Body.(sternfan.Reading)
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
			ID: e.ID, At: sternfan.Instant{Milli: e.Time, Offset: e.At.Offset}, Rod: e.Rod, Reading: b, State: state,
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
