//go:build !core

package engine

import (
	"encoding/json/v2"
	"errors"
	"fmt"
	"slices"
	"strings"

	"sternfan/event"

	"sternfan"
	"sternfan/learn"
	"sternfan/report"
	"sternfan/trip"
	"sternfan/trip/exchange"
	"sternfan/unit"
	"sternfan/wire"
)

// logged is the events that were read last.
type logged struct {
	text  string
	batch *event.Batch
}

// TripAsk asks how a trip stands by its events.
type TripAsk struct {
	Given         // the scenario that is open, to say where it differs from what was logged; its text may be empty
	Events string `json:"events"` // of the trip and of none, with what corrects them: JSON, one after another
	Trip   string `json:"trip"`   // the id of the event that began it
	At     int64  `json:"at_ms"`  // now: effort of a trip under way is counted until then
}

// TripNow is a trip at a moment.
type TripNow struct {
	Trip            string           `json:"trip"`
	Name            string           `json:"name"`
	Day             string           `json:"day"` // local, as 2026-07-04
	From            int64            `json:"from_ms"`
	To              int64            `json:"to_ms"`
	Ended           bool             `json:"ended"`
	Anglers         int              `json:"anglers"` // 0: not given
	RodHours        float64          `json:"rod_hours"`
	Rods            []RodNow         `json:"rods"` // the open scenario's, then those that only the log knows
	Strikes         []StrikeNow      `json:"catches"`
	Entries         []EntryNow       `json:"entries"` // as they stand after corrections, in order of time; then those taken back
	Conditions      wire.Raw         `json:"conditions" ts:"LogConditions"`
	ConditionsWords string           `json:"conditions_words"`
	Shown           wire.Raw         `json:"shown,omitempty" ts:"LogConditions"` // as the open scenario has them
	ShownDiffers    string           `json:"shown_differs,omitempty"`            // where those are not the ones logged, in words
	Notices         []LogNotice      `json:"notices"`
	Fired           []string         `json:"fired"` // what the last strikes share, a sentence each, strongest evidence first
	Shares          *sternfan.Fired  `json:"shares,omitempty"`
	Faults          []sternfan.Fault `json:"faults,omitempty"` // of the open scenario
}

// RodNow is a rod in a trip.
type RodNow struct {
	Rod      string   `json:"rod"`
	Position string   `json:"position"`
	Out      bool     `json:"out"`
	Fouled   bool     `json:"fouled,omitempty"`
	Set      string   `json:"set,omitempty"` // the event that put its line there or last changed it
	Since    int64    `json:"since_ms,omitempty"`
	Checked  int64    `json:"checked_ms,omitempty"` // known to have run free then
	Settings string   `json:"settings"`             // as logged, in words; where its lure runs
	Strikes  int      `json:"strikes"`
	RodHours float64  `json:"rod_hours"`
	Line     wire.Raw `json:"line,omitempty" ts:"LogLine"` // as the open scenario has it: to be logged as set or changed
	Shown    string   `json:"shown,omitempty"`             // that in words
	Differs  string   `json:"differs,omitempty"`           // where that is not what is logged as out, in words
}

// StrikeNow is a strike and what became of it.
type StrikeNow struct {
	Strike   string       `json:"strike"`
	At       int64        `json:"at_ms"`
	Time     string       `json:"time"` // local, as 06:12
	Rod      string       `json:"rod"`
	Position string       `json:"position"`
	Lure     string       `json:"lure,omitempty"`
	Species  string       `json:"species,omitempty"`
	Outcome  trip.Outcome `json:"outcome,omitempty"`
	Fate     event.Fate   `json:"fate,omitempty"`
	Length   *float64     `json:"length_m,omitempty"`
	Mass     *float64     `json:"mass_kg,omitempty"`
	Note     string       `json:"note,omitempty"`
	Depth    string       `json:"depth"` // in words, with its interval
	Counted  bool         `json:"counted"`
}

// EntryNow is an event as it stands.
type EntryNow struct {
	ID    string     `json:"id"`
	At    int64      `json:"at_ms"` // with the clock put right
	Time  string     `json:"time"`
	Kind  event.Kind `json:"kind"`
	Rod   string     `json:"rod,omitempty"`
	By    string     `json:"by"`
	Words string     `json:"words"`
	Void  bool       `json:"void,omitempty"`              // taken back
	Fixes []string   `json:"fixes,omitempty"`             // what corrected it, latest first
	Body  wire.Raw   `json:"body,omitempty" ts:"unknown"` // of what may be corrected by hand: strikes, fish, conditions, measurements, notes
}

// LogNotice is something about a log that a person should know.
type LogNotice struct {
	Code string `json:"code"`
	Text string `json:"text"` // one sentence with the next step
}

// eventsOf returns the events of a text; those that are refused do not hold up the others.
func (e *Engine) eventsOf(text string) *event.Batch {
	if e.logged.batch == nil || e.logged.text != text {
		b := event.DecodeAll("events", []byte(text))
		e.logged = logged{text, &b}
	}
	return e.logged.batch
}

func (e *Engine) trip(_ *Call, ask *TripAsk) (*TripNow, error) {
	read := e.eventsOf(ask.Events)
	id, err := event.ParseID(ask.Trip)
	if err != nil {
		return nil, &BadAsk{err}
	}
	settled := trip.Settle(read.Events)
	until(settled, id, ask.At)
	o := trip.ProjectSettled(id, settled)
	if o.Events == 0 {
		return nil, sternfan.Faults{{Code: "unknown-event", Text: "this trip is not in the log", Found: ask.Trip}}
	}
	u := ask.system()
	out := &TripNow{Trip: ask.Trip, Name: o.Begins.Name, Day: o.Day(), From: o.From, To: o.To, Ended: o.Ended, Anglers: o.Begins.Anglers,
		Conditions: raw(o.Conditions), ConditionsWords: report.ConditionWords(&o.Conditions, u)}
	if out.Name == "" {
		out.Name = o.Begins.Boat
	}
	for i := range o.Stints {
		out.RodHours += o.Stints[i].RodHours()
	}
	if out.Rods, err = e.rodsNow(ask, o, out); err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, r := range out.Rods {
		names[r.Rod] = r.Position
	}
	for i := range o.Strikes {
		out.Strikes = append(out.Strikes, strikeNow(&o.Strikes[i], names, u))
	}
	for _, all := range [][]trip.Entry{settled.Entries, settled.Unknown, settled.Voided} {
		for i := range all {
			if of := &all[i]; (of.Trip == id || of.ID == id) && !of.ID.IsZero() {
				out.Entries = append(out.Entries, entryNow(of, u))
			}
		}
	}
	if n := read.Refused; n > 0 {
		out.Notices = append(out.Notices, LogNotice{"refused", fmt.Sprintf("%d of the entries cannot be read and count in nothing: %v", n, read.Faults[0])})
	}
	for _, n := range o.Notices {
		text := n.Text
		if n.Hint != "" {
			text += "; " + n.Hint
		}
		out.Notices = append(out.Notices, LogNotice{n.Code, text})
	}
	out.Shares = fired(o, u)
	out.Fired = report.FiredWords(out.Shares)
	return out, nil
}

// until lets the lines of a trip that has not ended fish on to a moment. The entry has no
// id: it is nothing that happened.
func until(s *trip.Settled, id event.ID, at int64) {
	east := int16(0)
	for i := range s.Entries {
		e := &s.Entries[i]
		if _, ends := e.Body.(event.TripEnds); ends && e.Trip == id {
			return
		}
		if e.ID == id {
			east = e.At.Offset
		}
		if e.Time >= at && (e.Trip == id || e.ID == id) {
			return
		}
	}
	now := event.Event{Trip: id, At: event.Instant{Milli: at, Offset: east}, Body: event.Note{}}
	s.Entries = append(s.Entries, trip.Entry{Event: now, Time: at})
}

// raw is a value of the log's types as JSON.
func raw(v any) wire.Raw {
	text, err := json.Marshal(v, json.Deterministic(true))
	if err != nil {
		panic("engine: a part of a log cannot be written: " + err.Error())
	}
	return wire.Raw(text)
}

func strikeNow(c *trip.Strike, names map[string]string, u unit.System) StrikeNow {
	out := StrikeNow{Strike: c.ID.String(), At: c.At.Milli, Time: c.At.Time().Format("15:04"), Rod: c.Rod, Position: names[c.Rod], Lure: c.Lure,
		Species: c.Species, Outcome: c.Outcome, Fate: c.Fate, Length: c.Length, Mass: c.Mass, Note: c.Note, Depth: report.FanWords(c.Fan, c.Lure, u), Counted: c.Counted}
	if out.Position == "" {
		out.Position = c.Rod
	}
	return out
}

func entryNow(e *trip.Entry, u unit.System) EntryNow {
	at := event.Instant{Milli: e.Time, Offset: e.At.Offset}
	out := EntryNow{ID: e.ID.String(), At: e.Time, Time: at.Time().Format("15:04"), Kind: e.Kind(), Rod: e.Rod, By: e.By,
		Words: report.EventWords(&e.Event, u), Void: e.Void}
	for _, f := range e.Fixes {
		out.Fixes = append(out.Fixes, f.String())
	}
	switch e.Body.(type) {
	case event.Strike, event.Landed, event.Lost, event.Conditions, event.Reading, event.Note:
		out.Body = raw(e.Body)
	}
	return out
}

// rodsNow returns the rods of the open scenario and of the log, and notes what the
// scenario has otherwise.
func (e *Engine) rodsNow(ask *TripAsk, o *trip.Outing, out *TripNow) ([]RodNow, error) {
	u := ask.system()
	var rods []RodNow
	at := map[string]int{}
	add := func(id string) *RodNow {
		i, known := at[id]
		if !known {
			i, at[id] = len(rods), len(rods)
			rods = append(rods, RodNow{Rod: id, Position: id})
		}
		return &rods[i]
	}
	shown := map[string]event.Line{}
	if ask.Text != "" {
		sc, m, err := e.model(&ask.Given)
		var faults sternfan.Faults
		switch {
		case errors.As(err, &faults): // the log goes on beside a file that is being written
			out.Faults = faults
		case err != nil:
			return nil, err
		default:
			for i := range sc.Rods {
				r := add(sc.Rods[i].ID)
				line, ok := trip.LineOf(sc, m.Scenario, r.Rod)
				if !ok {
					continue
				}
				shown[r.Rod] = line
				r.Line, r.Shown = raw(line), report.LineWords(&line, u)
				if line.Position != "" {
					r.Position = line.Position
				}
			}
			now := conditionsOf(sc)
			out.Shown = raw(now)
			if !o.Ended {
				out.ShownDiffers = conditionsDiffer(&o.Conditions, &now, u)
			}
		}
	}
	for _, was := range [][]trip.Out{o.Lines, o.Was} {
		for i := range was {
			l := &was[i]
			r := add(l.Rod)
			if r.Line == nil && l.Line.Position != "" {
				r.Position = l.Line.Position
			}
			r.Settings = report.LineWords(&l.Line, u)
			if where := report.FanWords(l.Fan, "", u); where != "" {
				r.Settings += "; " + where
			}
		}
	}
	for i := range o.Lines {
		l := &o.Lines[i]
		r := add(l.Rod)
		r.Out, r.Fouled, r.Set, r.Since, r.Checked = true, l.Fouled, l.Set.String(), l.Since, l.Checked
		if now, ok := shown[l.Rod]; ok {
			r.Differs = strings.Join(differences(&l.Line, &now, u), "; ")
		}
	}
	for i := range o.Stints {
		s := &o.Stints[i]
		r := add(s.Rod)
		r.RodHours += s.RodHours()
		r.Strikes += len(s.Strikes)
	}
	return rods, nil
}

// fired returns what the trip's last strikes share; nil when there were none.
func fired(o *trip.Outing, u unit.System) *sternfan.Fired {
	if len(o.Strikes) == 0 {
		return &sternfan.Fired{Hints: []sternfan.Share{}}
	}
	log := &learn.Log{}
	for i := range o.Stints {
		_ = addStint(log, &o.Stints[i]) // never refused
	}
	return log.Fired(learn.FiredQuery{Bands: learn.Query{Units: u}})
}

// addStint adds a stint to what is learnt from, without its time and what it caught when
// it cannot be.
func addStint(log *learn.Log, s *sternfan.Stint) error {
	if log.Add(s) == nil {
		return nil
	}
	without := *s
	without.To = s.From
	return log.Add(&without)
}

// DayAsk asks for a day's sheet.
type DayAsk struct {
	Events string `json:"events"` // of the day's trips
	Day    string `json:"day"`    // local, as 2026-07-04
}

// DayAnswer is what a charter is asked about a day.
type DayAnswer struct {
	Sheet wire.Raw `json:"sheet" ts:"DaySheet"`
}

func (e *Engine) day(_ *Call, ask *DayAsk) (*DayAnswer, error) {
	return &DayAnswer{raw(trip.Sheet(ask.Day, outings(e.eventsOf(ask.Events).Events)))}, nil
}

// outings works out every trip that began in the events.
func outings(events []event.Event) []*trip.Outing {
	settled := trip.Settle(events)
	var out []*trip.Outing
	for i := range settled.Entries {
		if _, begins := settled.Entries[i].Body.(event.TripBegins); begins {
			out = append(out, trip.ProjectSettled(settled.Entries[i].ID, settled))
		}
	}
	return out
}

// TakeInAsk asks to read a file of events: those of another log, a line of JSON each, or a
// CSV file by a mapping.
type TakeInAsk struct {
	Name        string `json:"name"`
	Text        string `json:"text"`
	MappingName string `json:"mapping_name,omitempty"`
	Mapping     string `json:"mapping,omitempty"`
}

// TakeInAnswer is the events that are well formed, as they stand in the file.
type TakeInAnswer struct {
	Events  string           `json:"events"` // a line of JSON each
	Count   int              `json:"count"`
	Refused int              `json:"refused"`          // that are not among them
	Faults  []sternfan.Fault `json:"faults,omitempty"` // why, by line
}

func (e *Engine) takein(_ *Call, ask *TakeInAsk) (*TakeInAnswer, error) {
	var read event.Batch
	if ask.Mapping != "" {
		m, err := exchange.DecodeMapping(ask.MappingName, []byte(ask.Mapping))
		if err == nil {
			read.Events, err = exchange.ReadCSV(ask.Name, []byte(ask.Text), m)
		}
		if err != nil {
			return nil, err
		}
	} else {
		read = event.DecodeAll(ask.Name, []byte(ask.Text))
	}
	if len(read.Events) == 0 && read.Refused > 0 {
		return nil, read.Faults
	}
	text, err := event.EncodeAll(read.Events)
	if err != nil {
		return nil, err
	}
	return &TakeInAnswer{string(text), len(read.Events), read.Refused, read.Faults}, nil
}

// HandOnAsk asks for what a log says in a form for others.
type HandOnAsk struct {
	Events string `json:"events"`
	Format string `json:"format"` // "strikes" or "effort" as CSV, "gpx", "geojson"
	Units  string `json:"units,omitempty"`
}

// HandOnAnswer is the file's text.
type HandOnAnswer struct {
	Text    string `json:"text"`
	Without int    `json:"without"` // strikes left out: where they were is not known
}

func (e *Engine) handon(_ *Call, ask *HandOnAsk) (*HandOnAnswer, error) {
	u := (&Given{Units: ask.Units}).system()
	all := outings(e.eventsOf(ask.Events).Events)
	out := &HandOnAnswer{}
	var b strings.Builder
	var err error
	switch ask.Format {
	case "strikes":
		err = exchange.StrikesCSV(&b, all, u)
	case "effort":
		err = exchange.EffortCSV(&b, all, u)
	case "gpx":
		out.Without, err = exchange.GPX(&b, all, u)
	case "geojson":
		out.Without, err = exchange.GeoJSON(&b, all)
	default:
		return nil, &BadAsk{fmt.Errorf("there is no format %.40q", ask.Format)}
	}
	out.Text = b.String()
	return out, err
}

// logOps returns the operations on the trip log.
func logOps() []Op {
	return []Op{
		op("trip", "How a trip stands by its events: what is out, since when, effort, strikes, and where the open scenario differs from what was logged.", (*Engine).trip),
		op("day", "A day's sheet: hours, anglers, kept and released by species.", (*Engine).day),
		op("takein", "The events of a file, and what is wrong with those that are not taken.", (*Engine).takein),
		op("handon", "Strikes or effort as a file for others.", (*Engine).handon),
	}
}

// EventTypes returns the type of each kind of event's body, for the app's own types.
func EventTypes() (kinds []event.Kind, bodies []any) {
	for _, k := range event.Kinds() {
		if b, err := event.DecodeBody(k, []byte("{}")); b != nil || err == nil {
			kinds, bodies = append(kinds, k), append(bodies, b)
		}
	}
	return slices.Clip(kinds), bodies
}
