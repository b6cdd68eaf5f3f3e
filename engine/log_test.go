//go:build !core && !js

package engine_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"sternfan/event"

	"sternfan"
	"sternfan/engine"
	"sternfan/internal/logtest"
	"sternfan/trip"
)

// sailed is a trip written as the app writes it: bodies are what the engine answers.
type sailed struct {
	t      *testing.T
	e      *engine.Engine
	m      *logtest.Maker
	text   string
	events []event.Event
}

func newSailed(t *testing.T) *sailed {
	t.Helper()
	text, err := os.ReadFile("../examples/summer.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s := &sailed{t: t, e: new(engine.Engine), m: logtest.NewMaker("phone", time.Date(2026, 7, 4, 10, 0, 0, 0, time.UTC).UnixMilli(), 4), text: string(text)}
	s.write("", event.TripBegins{Name: "invented day", Anglers: 3, Scenario: s.text})
	return s
}

func (s *sailed) write(rod string, b event.Body) event.ID {
	e := s.m.Event(rod, b)
	s.events = append(s.events, e)
	return e.ID
}

func (s *sailed) lines() string {
	text, err := event.EncodeAll(s.events)
	if err != nil {
		s.t.Fatal(err)
	}
	return string(text)
}

func (s *sailed) ask(op string, ask, answer any) {
	s.t.Helper()
	text, err := json.Marshal(ask)
	if err != nil {
		s.t.Fatal(err)
	}
	var got struct {
		Answer json.RawMessage
		Faults sternfan.Faults
		Failed string
	}
	if err := json.Unmarshal(s.e.Handle(s.t.Context(), op, text, nil), &got); err != nil {
		s.t.Fatal(err)
	}
	if got.Faults != nil || got.Failed != "" {
		s.t.Fatalf("%s: %v %s", op, got.Faults, got.Failed)
	}
	if err := json.Unmarshal(got.Answer, answer); err != nil {
		s.t.Fatalf("%s: %v", op, err)
	}
}

func (s *sailed) now(set ...string) *engine.TripNow {
	s.t.Helper()
	var got engine.TripNow
	s.ask("trip", engine.TripAsk{Given: engine.Given{Text: s.text, Set: set}, Events: s.lines(), Trip: s.events[0].ID.String(), At: s.m.Now}, &got)
	return &got
}

func rodOf(t *testing.T, n *engine.TripNow, id string) engine.RodNow {
	t.Helper()
	for _, r := range n.Rods {
		if r.Rod == id {
			return r
		}
	}
	t.Fatalf("no rod %s", id)
	return engine.RodNow{}
}

// set logs a rod as the open scenario has it.
func (s *sailed) set(rod string) event.ID {
	s.t.Helper()
	var line event.Line
	if err := json.Unmarshal(rodOf(s.t, s.now(), rod).Line, &line); err != nil {
		s.t.Fatal(err)
	}
	return s.write(rod, event.LineSet{Line: line})
}

// Which side a rod fishes from is the same in a spread's answer and in the log's line of it;
// the rods of the example by where the file has their tips: the center rigger's is 1 ft to
// starboard, the chute's on the center line.
func TestARodHasOneSide(t *testing.T) {
	s := newSailed(t)
	var spread struct {
		Fan struct {
			Rods []struct {
				Rod  string
				Side int
			}
		}
	}
	s.ask("spread", engine.SpreadAsk{Given: engine.Given{Text: s.text}, Fan: true}, &spread)
	now := s.now()
	want := map[string]int{"center": 1, "chute": 0, "p-low": -1, "s-slide": 1}
	for _, r := range spread.Fan.Rods {
		var line event.Line
		if err := json.Unmarshal(rodOf(t, now, r.Rod).Line, &line); err != nil {
			t.Fatal(err)
		}
		if logged := map[string]int{"port": -1, "": 0, "starboard": 1}[line.Side]; logged != r.Side {
			t.Errorf("%s is on side %d in the answer and %q in the log", r.Rod, r.Side, line.Side)
		}
		if side, named := want[r.Rod]; named && side != r.Side {
			t.Errorf("%s: side %d, want %d", r.Rod, r.Side, side)
		}
		delete(want, r.Rod)
	}
	if len(want) > 0 {
		t.Errorf("the answer lacks %v", want)
	}
}

func TestTripNow(t *testing.T) {
	s := newSailed(t)
	now := s.now()
	if len(now.Rods) != 12 || now.Rods[0].Out || now.Rods[0].Line == nil || now.ShownDiffers == "" || now.Name != "invented day" || now.Anglers != 3 {
		t.Fatalf("%+v", now)
	}
	s.set("p-high")
	s.set("s-high")
	var shown event.Conditions
	if err := json.Unmarshal(now.Shown, &shown); err != nil {
		t.Fatal(err)
	}
	s.write("", shown)
	s.m.Wait(30)
	now = s.now()
	for _, id := range []string{"p-high", "s-high"} {
		r := rodOf(t, now, id)
		if !r.Out || r.Differs != "" || !strings.Contains(r.Settings, "dial 3") || math.Abs(r.RodHours-0.5) > 0.001 {
			t.Errorf("%+v", r)
		}
	}
	if now.ShownDiffers != "" || math.Abs(now.RodHours-1) > 0.002 || now.Ended {
		t.Errorf("%q %v", now.ShownDiffers, now.RodHours)
	}
	// Turned on the screen, not yet on the water.
	now = s.now("rods.p-high.settings.dial=1.5", "rods.p-high.settings.line_out=200 ft", "speed.value=3.1 mph")
	if got := rodOf(t, now, "p-high").Differs; !strings.HasPrefix(got, "line out 200 ft, logged ") || !strings.HasSuffix(got, "; dial 1.5, logged 3") {
		t.Errorf("%q", got)
	}
	if rodOf(t, now, "s-high").Differs != "" || !strings.HasPrefix(now.ShownDiffers, "3.1 mph over ground, logged ") {
		t.Errorf("%q %q", rodOf(t, now, "s-high").Differs, now.ShownDiffers)
	}

	strike := s.write("p-high", event.Strike{})
	s.m.Wait(5)
	length := 0.8
	s.write("p-high", event.Landed{Strike: strike, Species: "king salmon", Length: &length, Fate: event.Kept})
	now = s.now()
	r := rodOf(t, now, "p-high")
	if r.Out || r.Strikes != 1 || math.Abs(r.RodHours-0.5) > 0.001 { // from the strike on it was in hand
		t.Errorf("%+v", r)
	}
	if len(now.Strikes) != 1 || now.Strikes[0].Outcome != trip.WasLanded || now.Strikes[0].Position == "p-high" || now.Strikes[0].Time != "06:30" || !now.Strikes[0].Counted {
		t.Errorf("%+v", now.Strikes)
	}
	// Taken back: it is in the log, and counts no more.
	s.write("", event.Fix{Of: strike, Void: true, Why: "a slip"})
	now = s.now()
	last := now.Entries[len(now.Entries)-1]
	if !last.Void || last.Kind != event.KindStrike || len(last.Fixes) != 1 {
		t.Errorf("%+v", last)
	}
	s.write("", event.TripEnds{})
	s.m.Wait(600)
	if now = s.now(); !now.Ended || now.RodHours > 2 {
		t.Errorf("ended: %v, %v h", now.Ended, now.RodHours)
	}
}

// A file that is being written does not stop the log.
func TestTripBesideAFaultyFile(t *testing.T) {
	s := newSailed(t)
	s.set("p-high")
	s.text = "version: 1\nrods: tea\n"
	now := s.now()
	if len(now.Faults) == 0 || !rodOf(t, now, "p-high").Out {
		t.Errorf("%+v", now)
	}
}

// What the last strikes share is said after a few.
func TestTripFired(t *testing.T) {
	s := newSailed(t)
	m := s.m
	for rod := range 4 {
		set := m.Line(rod)
		color := "black"
		if rod == 0 {
			color = "bright"
		}
		for i := range set.Line.Parts {
			if set.Line.Parts[i].Kind == sternfan.PartDiver {
				set.Line.Parts[i].Attributes = map[string]string{"color": color}
			}
		}
		s.write(fmt.Sprintf("rod-%d", rod+1), set)
	}
	for range 5 {
		m.Wait(11)
		s.write("rod-1", event.Strike{})
	}
	m.Wait(1)
	now := s.now()
	if len(now.Fired) == 0 || !strings.Contains(strings.Join(now.Fired, " "), "5 of the last 5 strikes on") || now.Shares == nil {
		t.Errorf("%q", now.Fired)
	}
}

func TestDayTakeInHandOn(t *testing.T) {
	m := logtest.NewMaker("phone", time.Date(2026, 7, 4, 10, 0, 0, 0, time.UTC).UnixMilli(), 4)
	s := &sailed{t: t, e: new(engine.Engine), m: m}
	s.events = m.Day("invented day", 4, 60)
	var day struct {
		Sheet trip.DaySheet `json:"sheet"`
	}
	s.ask("day", engine.DayAsk{Events: s.lines(), Day: "2026-07-04"}, &day)
	want := trip.Sheet("2026-07-04", []*trip.Outing{trip.Project(s.events[0].ID, s.events)})
	if day.Sheet.Strikes != want.Strikes || len(day.Sheet.Trips) != 1 || len(day.Sheet.Species) != len(want.Species) || want.Strikes == 0 {
		t.Errorf("%+v, want %+v", day.Sheet, want)
	}
	var in engine.TakeInAnswer
	s.ask("takein", engine.TakeInAsk{Name: "boat.jsonl", Text: s.lines()}, &in)
	if in.Count != len(s.events) || in.Events != s.lines() {
		t.Errorf("%d events of %d", in.Count, len(s.events))
	}
	for _, format := range []string{"strikes", "effort", "gpx", "geojson"} {
		var out engine.HandOnAnswer
		s.ask("handon", engine.HandOnAsk{Events: s.lines(), Format: format}, &out)
		if len(out.Text) < 20 {
			t.Errorf("%s: %q", format, out.Text)
		}
	}
	ask, err := json.Marshal(engine.TakeInAsk{Name: "boat.jsonl", Text: s.lines() + `{"id":"no"}`})
	if err != nil {
		t.Fatal(err)
	}
	if got := string(s.e.Handle(t.Context(), "takein", ask, nil)); !strings.Contains(got, `"faults"`) || !strings.Contains(got, "boat.jsonl") {
		t.Errorf("%s", got)
	}
	csv := engine.TakeInAsk{Name: "old.csv", Text: "Day,Hour,Rod,Fish,Color\n7/4/2026,06:12,PD,king salmon,green\n", MappingName: "old.yaml",
		Mapping: "rows: landed\ndevice: old notebook\ntime: {columns: [Day, Hour], layout: M/D/YYYY HH:mm, offset: \"-04:00\"}\ncolumns:\n  rod: Rod\n  species: Fish\n  lure.color: Color\n"}
	s.ask("takein", csv, &in)
	if in.Count == 0 || !strings.Contains(in.Events, "king salmon") {
		t.Errorf("%+v", in)
	}
}
