package logbook_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/event"

	"sternfan"
	"sternfan/internal/logtest"
	"sternfan/logbook"
	"sternfan/trip"
)

// keep writes the kept log of the present format. A log of a format that has been
// released is never written again: the next format adds its own.
var keep = flag.Bool("keep", false, "write the kept log of this format, once")

// keptEvents are a day with every kind of event.
func keptEvents() []event.Event {
	m := logtest.NewMaker("helm", start, 6)
	events := m.Day("kept for the versions to come", 4, 20)
	at := events[3].At.Add(60_000)
	rod := "rod-2"
	line := m.Line(1)
	phone := logtest.NewMaker("phone", start+25*3600*1000, 7)
	phone.Trip = m.Trip
	for _, b := range []event.Body{
		line, event.LineChanged(m.Line(1)), event.LineChecked{}, event.LineFouled{With: "weed"}, event.LineIn{},
		event.Strike{Species: "steelhead"}, event.Lost{StillOut: true}, event.Note{Text: "seen from the other side"},
		event.Reading{What: event.ReadSlant, Value: 21.3, SD: .5, Part: "ball", With: "sounder"},
		event.Fix{Of: events[3].ID, At: &at, Rod: &rod, Why: "the wrong rod"},
		event.Fix{Of: events[4].ID, Void: true},
		event.Fix{Of: events[5].ID, Trip: &event.ID{}},
		event.Solved{Of: events[2].ID, Fan: *line.Fan},
		event.Clock{Of: "phone", Shift: -24 * 3600 * 1000, Until: &at},
	} {
		phone.Wait(3)
		events = append(events, phone.Event(rod, b))
	}
	events[len(events)-4].Where = &sternfan.Place{Lat: 43.5, Lon: -77.25}
	// What came with version 2, and what a later one may add.
	section := m.Line(2)
	section.Line.Settings.Section = logtest.P(45.72)
	events = append(events,
		phone.Event(rod, section),
		phone.Event("", event.Fix{Of: events[6].ID, To: events[6].Kind(), Change: []byte(`{"note":"put right"}`)}))
	for _, more := range []struct{ old, new string }{
		{`"kind":"note"`, `"kind":"moon"`},
		{`"body":{`, `"version":7,"mood":{"crew":[ "keen", 1.50 ]},"body":{"loud":true,`},
		{`"text":`, `"tune":"\u266a","text":`},
		{`"kind":"note"`, `"kind":"line-in","hands":2`},
	} {
		e := phone.Event(rod, event.Note{Text: "to be read later"})
		text := strings.Replace(e.Text(), more.old, more.new, 1)
		if strings.Contains(text, "line-in") {
			text = strings.Replace(text, `"text"`, `"words"`, 1)
		}
		e, err := event.Decode([]byte(text))
		if err != nil {
			panic(err)
		}
		events = append(events, e)
	}
	return events
}

// keptCounts are the events and trips of each kept log, as log verify said when it was made.
var keptCounts = map[string][2]int{
	"kept-2.db": {61, 1}, "kept-2-boat.db": {80, 3}, "kept-2-backup.db": {80, 3}, "kept-3.db": {67, 1},
}

// Logs that earlier versions wrote open in this one and say what they said.
func TestKeptLogsOpen(t *testing.T) {
	if *keep {
		writeKept(t)
	}
	files, err := filepath.Glob("testdata/kept-*.db")
	if err != nil || len(files) == 0 {
		t.Fatalf("no kept logs: %v", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "log.db")
			if err := os.WriteFile(path, data, 0o666); err != nil {
				t.Fatal(err)
			}
			l := open(t, path, logbook.Options{})
			if r, err := l.Verify(t.Context()); err != nil || len(r.Faults) > 0 {
				t.Errorf("%v %v", r, err)
			}
			events, err := l.Events(t.Context(), logbook.Filter{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := event.EncodeAll(events)
			if err != nil {
				t.Fatal(err)
			}
			want, err := os.ReadFile(file[:len(file)-len(".db")] + ".jsonl")
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("the events are not those that were kept:\n%s", got)
			}
			trips := 0
			for i := range events {
				if events[i].Kind() != event.KindTripBegins {
					continue
				}
				trips++
				id := events[i].ID
				o, err := l.Outing(t.Context(), id)
				if err != nil {
					t.Fatal(err)
				}
				mine, err := l.TripEvents(t.Context(), id)
				if err != nil {
					t.Fatal(err)
				}
				if g, w := text(t, o), text(t, trip.Project(id, mine)); !bytes.Equal(g, w) {
					t.Errorf("kept\n%s\nworked out\n%s", g, w)
				}
			}
			if want, ok := keptCounts[filepath.Base(file)]; !ok || want != [2]int{len(events), trips} {
				t.Errorf("%d events of %d trips, want %v", len(events), trips, want)
			}
			// It goes on growing.
			if _, err := l.Append(t.Context(), logtest.NewMaker("later", start+1e9, 1).Day("later", 2, 4)...); err != nil {
				t.Error(err)
			}
		})
	}
	if format := "testdata/kept-3.db"; func() bool { _, err := os.Stat(format); return err != nil }() {
		t.Errorf("the present format has no kept log %s: write it with go test ./logbook -run Kept -keep", format)
	}
}

func writeKept(t *testing.T) {
	events := keptEvents()
	l := open(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	appendAll(t, l, events)
	if err := l.Refresh(t.Context()); err != nil {
		t.Fatal(err)
	}
	const name = "testdata/kept-3"
	if err := os.MkdirAll("testdata", 0o777); err != nil {
		t.Fatal(err)
	}
	if err := l.Backup(t.Context(), name+".db"); err != nil {
		t.Fatal(err)
	}
	lines, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name+".jsonl", lines, 0o666); err != nil {
		t.Fatal(err)
	}
}
