package trip

import (
	"cmp"
	"slices"

	"sternfan/event"

	"sternfan"
)

// DaySheet is what a charter is asked about a day. What must be reported, how and by when
// is for local rules to decide.
type DaySheet struct {
	Day      string       `json:"day"` // local, as 2026-07-04
	Trips    []DayTrip    `json:"trips"`
	Species  []DaySpecies `json:"species"`
	Strikes  int          `json:"strikes"`
	Lost     int          `json:"lost"`
	Unknown  int          `json:"strikes_of_unknown_end"`
	RodHours float64      `json:"rod_hours"`
}

// DayTrip is one trip of the day.
type DayTrip struct {
	Trip        event.ID      `json:"trip,omitzero"`
	Name        string        `json:"name,omitzero"`
	Boat        string        `json:"boat,omitzero"`
	From        event.Instant `json:"from"`
	To          event.Instant `json:"to"`
	Ended       bool          `json:"ended"`
	Hours       float64       `json:"hours"`        // from leaving to return
	LinesHours  float64       `json:"lines_hours"`  // with any line fishing
	Anglers     int           `json:"anglers"`      // 0: not given
	AnglerHours float64       `json:"angler_hours"` // anglers times the hours with lines fishing
	Lines       int           `json:"lines"`        // most at once
	Kept        int           `json:"kept"`
	Released    int           `json:"released"`
}

// DaySpecies is what was caught of one kind of fish.
type DaySpecies struct {
	Species  string  `json:"species"` // "": not known
	Kept     int     `json:"kept"`
	Released int     `json:"released"`
	Unsaid   int     `json:"landed_fate_not_given"`
	Mass     float64 `json:"kept_mass_kg,omitzero"` // of those weighed
	Weighed  int     `json:"kept_weighed,omitzero"`
}

// Sheet returns the sheet of a local day from its outings; those of other days are
// passed over. A trip belongs to the day on which it began.
func Sheet(day string, outings []*Outing) *DaySheet {
	sheet := &DaySheet{Day: day, Trips: []DayTrip{}, Species: []DaySpecies{}}
	species := map[string]*DaySpecies{}
	for _, o := range outings {
		if o.Day() != day {
			continue
		}
		t := DayTrip{
			Trip: o.Trip, Name: o.Begins.Name, Boat: o.Begins.Boat, From: o.instant(o.From), To: o.instant(o.To),
			Ended: o.Ended, Hours: hours(o.To - o.From), Anglers: o.Begins.Anglers,
		}
		t.LinesHours, t.Lines = fishing(o.Stints)
		t.AnglerHours = float64(t.Anglers) * t.LinesHours
		for i := range o.Stints {
			sheet.RodHours += o.Stints[i].RodHours()
		}
		for i := range o.Strikes {
			c := &o.Strikes[i]
			sheet.Strikes++
			switch c.Outcome {
			case WasLost:
				sheet.Lost++
				continue
			case "":
				sheet.Unknown++
				continue
			}
			s := species[c.Species]
			if s == nil {
				s = &DaySpecies{Species: c.Species}
				species[c.Species] = s
			}
			switch c.Fate {
			case event.Kept:
				s.Kept++
				t.Kept++
				if c.Mass != nil {
					s.Mass += *c.Mass
					s.Weighed++
				}
			case event.Released:
				s.Released++
				t.Released++
			default:
				s.Unsaid++
			}
		}
		sheet.Trips = append(sheet.Trips, t)
	}
	for _, s := range species {
		sheet.Species = append(sheet.Species, *s)
	}
	slices.SortFunc(sheet.Species, func(a, b DaySpecies) int { return cmp.Compare(a.Species, b.Species) })
	slices.SortFunc(sheet.Trips, func(a, b DayTrip) int { return cmp.Compare(a.From.Milli, b.From.Milli) })
	return sheet
}

func hours(ms int64) float64 { return float64(ms) / 3.6e6 }

// Day returns the local day on which the trip began, as "2026-07-04".
func (o *Outing) Day() string {
	day, _ := o.instant(o.From).Local()
	return day
}

func (o *Outing) instant(ms int64) event.Instant {
	return event.Instant{Milli: ms, Offset: int16(o.East / 60)}
}

// fishing returns the hours in which any line fished, and the most lines at once.
func fishing(stints []sternfan.Stint) (hoursOut float64, most int) {
	type edge struct {
		at   int64
		step int
	}
	var edges []edge
	for i := range stints {
		if s := &stints[i]; s.To > s.From {
			edges = append(edges, edge{s.From, 1}, edge{s.To, -1})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.step, b.step)) })
	var total, since int64
	n := 0
	for _, e := range edges {
		if n == 0 {
			since = e.at
		}
		n += e.step
		most = max(most, n)
		if n == 0 {
			total += e.at - since
		}
	}
	return hours(total), most
}
