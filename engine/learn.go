//go:build !js && !core

package engine

import (
	"fmt"
	"strconv"
	"strings"

	"sternfan/learn"
	"sternfan/unit"

	"sternfan"
)

// Table is the text of a table that people made.
type Table struct {
	Name string `json:"name,omitempty"` // what faults call it
	Text string `json:"text"`
}

// Effort is stints and the strikes that go with them: two tables, or a log.
type Effort struct {
	Stints  *Table `json:"stints,omitempty"`
	Strikes *Table `json:"strikes,omitempty"`
	// Kept hands over the stints of a log, by one who keeps it.
	Kept func(do func(*sternfan.Stint) error) error `json:"-"`
}

// read returns the effort. A stint of the log that cannot be (a line never logged as
// reeled in) is left out with what it caught, rather than everything refused for it.
func (f *Effort) read() (*learn.Log, error) {
	if f.Stints != nil && f.Strikes != nil {
		return learn.ReadCSV(learn.CSV{Stints: []byte(f.Stints.Text), StintsName: f.Stints.Name, Strikes: []byte(f.Strikes.Text), StrikesName: f.Strikes.Name})
	}
	if f.Kept == nil {
		return nil, askFault("", "effort is stints and strikes", "give both tables")
	}
	log := &learn.Log{}
	return log, f.Kept(func(s *sternfan.Stint) error { return addStint(log, s) })
}

// RatesAsk asks how often fish strike.
type RatesAsk struct {
	Effort
	Units   string   `json:"units,omitempty"`
	Compare []string `json:"compare,omitempty"` // attributes, or "all"
	Levels  []string `json:"levels,omitempty"`  // of a single one: only these
	Given   []string `json:"given,omitempty"`   // held equal: "trip-hour" when not given
	Species []string `json:"species,omitempty"`
	Flurry  *float64 `json:"flurry_min,omitempty"` // strikes of a trip no more minutes apart count once; 5 when not given
	Band    string   `json:"band,omitempty"`       // width of the bands of a measure: "10 ft"
	Looked  int      `json:"looked,omitempty"`     // comparisons looked at besides these
	Counts  []string `json:"counts,omitempty"`     // instead: "14/61h", "bright=14/61h"
}

// RatesAnswer is a comparison for each attribute.
type RatesAnswer struct {
	Rates []*sternfan.Rates `json:"rates"`
}

// flurry returns minutes in the measure of package learn, which takes 0 for not given.
func flurry(minutes *float64) (ms int64, err error) {
	m := or(minutes, 5)
	if !(m >= 0 && m <= 24*60) {
		return 0, askFault("flurry", fmt.Sprintf("is 0 to 1440 minutes, not %g", m), "")
	}
	if ms = int64(m * 60_000); ms == 0 {
		ms = -1
	}
	return ms, nil
}

// Rates compares rates.
func (e *Engine) Rates(_ *Call, ask *RatesAsk) (*RatesAnswer, error) {
	if ask.Looked < 0 || ask.Looked > 1_000_000 {
		return nil, askFault("looked", fmt.Sprintf("is 0 to 1 million, not %d", ask.Looked), "")
	}
	if len(ask.Counts) > 0 {
		counts, err := parseCounts(ask.Counts)
		if err != nil {
			return nil, err
		}
		r, err := learn.RatesOf(counts, 0, ask.Looked)
		if err != nil {
			return nil, err
		}
		return &RatesAnswer{[]*sternfan.Rates{r}}, nil
	}
	log, err := ask.read()
	if err != nil {
		return nil, err
	}
	q := learn.Query{Compare: ask.Compare, Levels: ask.Levels, Given: ask.Given, Species: ask.Species,
		Units: (&Given{Units: ask.Units}).system(), Looked: ask.Looked, Workers: e.Workers}
	if len(ask.Compare) == 1 && ask.Compare[0] == "all" {
		q.Compare = log.Attributes()
	}
	if q.FlurryMS, err = flurry(ask.Flurry); err != nil {
		return nil, err
	}
	if ask.Band != "" {
		if q.Band, err = parseBand(ask.Compare, ask.Band); err != nil {
			return nil, err
		}
	}
	all, err := log.Rates(q)
	if err != nil {
		return nil, err
	}
	return &RatesAnswer{all}, nil
}

// parseBand reads a width in the unit of what is compared; a bare number is a dial's.
func parseBand(compare []string, text string) (float64, error) {
	v, err := unit.ParseLength(text)
	if err == nil && v > 0 {
		return float64(v), nil
	}
	if s, err := unit.ParseSpeed(text); err == nil && s > 0 {
		return float64(s), nil
	}
	if n, err := strconv.ParseFloat(text, 64); err == nil && n > 0 && n <= 4 {
		return n, nil
	}
	return 0, askFault("band", fmt.Sprintf("%.40q is no width for bands of %s", text, strings.Join(compare, ", ")), "write 10ft, 0.1mph, or marks of a dial as 1")
}

// parseCounts reads "14/61h" or "bright=14/61h".
func parseCounts(texts []string) ([]learn.Count, error) {
	ordinal := []string{"the first", "the second", "the third", "the fourth", "the fifth", "the sixth", "the seventh", "the eighth", "the ninth", "the tenth"}
	var out []learn.Count
	for i, text := range texts {
		wrong := func(why string) error {
			return askFault("counts", fmt.Sprintf("%.40q: %s", text, why), "write strikes/rod-hours: 14/61h, or with a name: bright=14/61h")
		}
		c := learn.Count{Level: fmt.Sprintf("number %d", i+1)}
		if i < len(ordinal) {
			c.Level = ordinal[i]
		}
		rest := text
		if name, after, ok := strings.Cut(text, "="); ok {
			if c.Level = strings.TrimSpace(name); c.Level == "" {
				return nil, wrong("the name is empty")
			}
			rest = after
		}
		strikes, hours, ok := strings.Cut(rest, "/")
		if !ok {
			return nil, wrong("the effort is missing")
		}
		n, err := strconv.Atoi(strings.TrimSpace(strikes))
		if err != nil || n < 0 {
			return nil, wrong("strikes are a whole number")
		}
		c.Strikes = n
		d, err := unit.ParseDuration(strings.TrimSpace(hours))
		if err != nil {
			return nil, wrong("the effort is a time: " + err.Error())
		}
		c.Hours = float64(d) / 3600
		out = append(out, c)
	}
	return out, nil
}

// PlanAsk asks for a fair test.
type PlanAsk struct {
	Effort
	Scenario *Given    `json:"scenario,omitempty"` // whose rods take part
	Compare  string    `json:"compare"`
	Levels   []string  `json:"levels,omitempty"`      // the two that fished most when not given
	Rods     []string  `json:"rods,omitempty"`        // ids; the scenario's or the log's when not given
	Hours    float64   `json:"hours,omitempty"`       // of fishing in an outing
	Turn     float64   `json:"turn_min,omitempty"`    // about so many minutes between change-overs
	Change   float64   `json:"change_min,omitempty"`  // that a rod is out of the water at one
	Rate     float64   `json:"rate_per_h,omitempty"`  // strikes per rod-hour to reckon with; the log's when not given
	Ratios   []float64 `json:"ratios,omitempty"`      // to plan for
	Power    float64   `json:"power,omitempty"`       // chance of telling a ratio that the hours are worked out for
	Seed     uint64    `json:"seed,omitempty"`        // tosses which level begins where
	FromLog  bool      `json:"from_effort,omitempty"` // reckon with the effort though nothing is missing without it
}

// Plan plans a fair test.
func (e *Engine) Plan(_ *Call, ask *PlanAsk) (*sternfan.Trial, error) {
	q := learn.TrialQuery{Compare: ask.Compare, Levels: ask.Levels, Hours: ask.Hours, TurnMin: ask.Turn, ChangeMin: ask.Change,
		RatePerH: ask.Rate, Ratios: ask.Ratios, Power: ask.Power, Seed: ask.Seed}
	var err error
	if q.Rods, err = e.trialRods(ask); err != nil {
		return nil, err
	}
	if ask.FromLog || len(q.Levels) < 2 || len(q.Rods) == 0 {
		log, err := ask.read()
		if err != nil {
			return nil, err
		}
		if len(q.Rods) == 0 {
			if q.Rods, err = log.TrialRods(q.Compare); err != nil {
				return nil, err
			}
			if len(q.Rods) == 0 {
				return nil, askFault("", "a test needs rods", "name them: --rods port-high,starboard-high, or give --scenario FILE")
			}
		}
		if q, err = log.TrialFrom(q); err != nil {
			return nil, err
		}
	}
	if len(q.Levels) < 2 {
		return nil, askFault("", "a test needs two levels", "name them: --levels bright,black")
	}
	return learn.Trial(q)
}

// trialRods returns those named, or those of the scenario, or none. A name says its side.
func (e *Engine) trialRods(ask *PlanAsk) ([]sternfan.TrialRod, error) {
	var all []sternfan.TrialRod
	if ask.Scenario != nil {
		sc, err := e.Scenario(ask.Scenario)
		if err != nil {
			return nil, err
		}
		for i := range sc.Rods {
			r := &sc.Rods[i]
			rod := sternfan.TrialRod{ID: r.ID, Side: r.Settings.Side}
			if h := sc.Boat.Holder(r.Holder); h != nil {
				rod.Position, rod.Side = h.Position, h.Side()
			}
			all = append(all, rod)
		}
	}
	if len(ask.Rods) == 0 {
		return all, nil // none: those of the log
	}
	var out []sternfan.TrialRod
	for _, id := range ask.Rods {
		rod := sternfan.TrialRod{ID: id, Position: strings.ReplaceAll(id, "-", " "), Side: sideSaid(id)}
		found := ask.Scenario == nil
		for _, r := range all {
			if r.ID == id {
				rod, found = r, true
			}
		}
		if !found {
			return nil, askFault("", fmt.Sprintf("the scenario has no rod %.40q", id), "sternfan check --expand FILE lists them")
		}
		out = append(out, rod)
	}
	return out, nil
}

// sideSaid returns the side that a rod's name says.
func sideSaid(name string) sternfan.Side {
	name = strings.ToLower(name)
	switch {
	case strings.Contains(name, "port"):
		return sternfan.Port
	case strings.Contains(name, "starboard"):
		return sternfan.Starboard
	}
	return sternfan.Amidships
}

// FiredAsk asks what the last strikes share.
type FiredAsk struct {
	Effort
	Units  string   `json:"units,omitempty"`
	Trip   string   `json:"trip,omitempty"` // that of the last strike when not given
	Last   int      `json:"last,omitempty"` // how many of the last strikes
	Flurry *float64 `json:"flurry_min,omitempty"`
}

// Fired looks at what the last strikes share.
func (e *Engine) Fired(_ *Call, ask *FiredAsk) (*sternfan.Fired, error) {
	q := learn.FiredQuery{Trip: ask.Trip, Last: ask.Last, Bands: learn.Query{Units: (&Given{Units: ask.Units}).system()}}
	if ask.Last < 1 || ask.Last > 1000 {
		return nil, askFault("last", fmt.Sprintf("is 1 to 1000 strikes, not %d", ask.Last), "")
	}
	var err error
	if q.FlurryMS, err = flurry(ask.Flurry); err != nil {
		return nil, err
	}
	log, err := ask.read()
	if err != nil {
		return nil, err
	}
	return log.Fired(q), nil
}
