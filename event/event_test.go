package event_test

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"sternfan/event"

	"pgregory.net/rapid"

	"sternfan"
	"sternfan/internal/logtest"
)

// The examples of github.com/ulid/spec: 01ARZ3NDEKTSV4RRFFQ69G5FAV is its specimen, and
// 7ZZZZZZZZZZZZZZZZZZZZZZZZZ the largest that is valid. The time of 01ARYZ6S41TSV4RRFFQ69G5FAV,
// of the library's documentation, is 1469918176385 (quoted from memory).
func TestEventIDs(t *testing.T) {
	id, err := event.ParseID("01ARYZ6S41TSV4RRFFQ69G5FAV")
	if err != nil || id.Milli() != 1469918176385 {
		t.Errorf("%v at %d: %v", id, id.Milli(), err)
	}
	for _, text := range []string{"01ARZ3NDEKTSV4RRFFQ69G5FAV", "7ZZZZZZZZZZZZZZZZZZZZZZZZZ", "00000000000000000000000000"} {
		id, err := event.ParseID(text)
		if err != nil || id.String() != text {
			t.Errorf("%s is read as %v: %v", text, id, err)
		}
		if low, err := event.ParseID(strings.ToLower(text)); err != nil || low != id {
			t.Errorf("%s in lower case is read as %v: %v", text, low, err)
		}
	}
	for _, text := range []string{"", "01ARZ3NDEKTSV4RRFFQ69G5FA", "01ARZ3NDEKTSV4RRFFQ69G5FAVX", "8ZZZZZZZZZZZZZZZZZZZZZZZZZ", "01ARZ3NDEKTSV4RRFFQ69G5FAU", "01ARZ3NDEKTSV4RRFFQ69G5FA\x00"} {
		if id, err := event.ParseID(text); err == nil {
			t.Errorf("%q is read as %v", text, id)
		}
	}
}

func TestEventIDsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.Int64Range(0, 1<<48-1).Draw(t, "ms")
		var chance [10]byte
		copy(chance[:], rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "chance"))
		id := event.MakeID(ms, chance)
		if got, err := event.ParseID(id.String()); err != nil || got != id || got.Milli() != ms {
			t.Fatalf("%v reads back as %v: %v", id, got, err)
		}
		other := event.MakeID(rapid.Int64Range(0, 1<<48-1).Draw(t, "other"), chance)
		if strings.Compare(id.String(), other.String()) != id.Compare(other) {
			t.Fatalf("text and bytes of %v and %v are in different order", id, other)
		}
	})
}

func TestInstantKeepsLocalTime(t *testing.T) {
	at, err := event.ParseInstant("2026-07-04T06:12:03.120-04:00")
	if err != nil {
		t.Fatal(err)
	}
	if at.Milli != time.Date(2026, 7, 4, 10, 12, 3, 120e6, time.UTC).UnixMilli() || at.Offset != -240 {
		t.Errorf("%+v", at)
	}
	if at.String() != "2026-07-04T06:12:03.120-04:00" {
		t.Error(at)
	}
	if day, minute := at.Local(); day != "2026-07-04" || minute != 6*60+12 {
		t.Errorf("%s, minute %d", day, minute)
	}
	for _, bad := range []string{"", "2026-07-04", "2026-07-04T06:12:03", "1869-01-01T00:00:00Z", "2900-01-01T00:00:00Z", "yesterday"} {
		if got, err := event.ParseInstant(bad); err == nil {
			t.Errorf("%q is read as %v", bad, got)
		}
	}
}

// Every kind of event reads back as it was written, and the same event has one text.
func TestEventsReadBack(t *testing.T) {
	var events []event.Event
	for seed := range uint64(20) {
		events = append(events, logtest.NewMaker("helm", 1783159200000, seed).Day("invented", 3, 12)...)
	}
	m := logtest.NewMaker("phone", 1783159200000, 99)
	on := true
	at := event.Instant{Milli: 1783159200000, Offset: 330}
	rod := "rod-2"
	line := m.Line(0)
	line.Line.Settings.Ring = &on
	line.Line.Parts = append(line.Line.Parts, event.Part{ID: "slider-1", Kind: sternfan.PartSlider, Parts: []event.Part{{ID: "lure-2", Kind: sternfan.PartLure, Gear: "fly"}}})
	for _, b := range []event.Body{
		event.LineChanged(line), event.LineChecked{Note: "clean"}, event.Note{Text: "birds\nto the north"},
		event.Reading{What: event.ReadDepth, Value: 18.2, SD: .6, With: "logger"},
		event.Fix{Of: m.Event("", event.Note{Text: "x"}).ID, At: &at, Rod: &rod, To: event.KindLost, Body: []byte(`{"still_out":true}`)},
		event.Fix{Of: m.Event("", event.Note{Text: "x"}).ID, Trip: &event.ID{}},
		event.Clock{Of: "phone", Shift: -86400000, Until: &at}, event.Solved{Of: m.Trip, Fan: *line.Fan},
	} {
		if s, ok := b.(event.Solved); ok {
			s.Of = events[0].ID
			b = s
		}
		events = append(events, m.Event(rod, b))
	}
	events[len(events)-1].Where = &sternfan.Place{Lat: 43.5, Lon: -77.25}
	text, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	for name, form := range map[string][]byte{
		"lines": text,
		"list":  []byte("[" + strings.ReplaceAll(strings.TrimSpace(string(text)), "\n", ",\n") + "]\n"),
	} {
		got := event.DecodeAll("log", form)
		if got.Refused != 0 || len(got.Faults) != 0 {
			t.Fatalf("%s: %v", name, got.Faults)
		}
		again, err := event.EncodeAll(got.Events)
		if err != nil || !bytes.Equal(again, text) {
			t.Fatalf("%s: the events read back otherwise: %v", name, err)
		}
	}
	kinds := map[event.Kind]bool{}
	for _, e := range events {
		kinds[e.Kind()] = true
	}
	for _, k := range event.Kinds() {
		if !kinds[k] {
			t.Errorf("%s was not tried", k)
		}
	}
}

func TestFaultyEvents(t *testing.T) {
	const head = `{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03.120-04:00","by":"helm",`
	for _, tt := range []struct{ text, code, path string }{
		{head + `"kind":"strike","body":{}}`, "missing", "rod"},
		{head + `"kind":"strike","kind":"strike","rod":"p1","body":{}}`, "duplicate-key", "kind"},
		{head + `"kind":"","body":{}}`, "missing", "kind"},
		{head + `"kind":"ju\u0000mp","body":{}}`, "bad-text", "kind"},
		{head + `"kind":"landed","rod":"p1","body":{"length_m":"long"}}`, "wrong-type", "body.length_m"},
		{head + `"kind":"landed","rod":"p1","body":{"length_m":-1}}`, "out-of-range", "body.length_m"},
		{head + `"kind":"landed","rod":"p1","body":{"length_m":1e999}}`, "wrong-type", "body.length_m"},
		{head + `"kind":"landed","rod":"p1","body":{"fate":"eaten"}}`, "unknown-word", "body.fate"},
		{head + `"kind":"note","body":{"text":""}}`, "missing", "body.text"},
		{head + `"kind":"note","body":{"text":"\u0007"}}`, "bad-text", "body.text"},
		{head + `"kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV"}}`, "missing", "body."},
		{head + `"kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV","to":"landed","body":{"mass_kg":-2}}}`, "out-of-range", "body.body.mass_kg"},
		{head + `"kind":"line-set","rod":"p1","body":{"line":{"parts":[{"kind":"lure","length_m":99999}]}}}`, "out-of-range", "body.line.parts[0].length_m"},
		{head + `"kind":"note","body":{"text":"x"},"where":{"lat":91,"lon":0}}`, "out-of-range", "where.lat"},
		{`{"at":"2026-07-04T06:12:03.120-04:00","by":"helm","kind":"note","body":{"text":"x"}}`, "missing", "id"},
		{`{"id":"short","at":"2026-07-04T06:12:03.120-04:00","by":"helm","kind":"note","body":{"text":"x"}}`, "wrong-type", "id"},
		{`{"id":`, "bad-json", "id"},
		{`nonsense`, "bad-json", ""},
	} {
		_, err := event.Decode([]byte(tt.text))
		var faults sternfan.Faults
		if !errors.As(err, &faults) {
			t.Errorf("%s\n\tno fault: %v", tt.text, err)
			continue
		}
		if faults[0].Code != tt.code || faults[0].Path != tt.path {
			t.Errorf("%s\n\t%s at %q (%v), want %s at %q", tt.text, faults[0].Code, faults[0].Path, faults[0], tt.code, tt.path)
		}
	}
}

// The line of the faulty event is named, and the others are taken.
func TestFaultyEventInALog(t *testing.T) {
	events := logtest.NewMaker("helm", 1783159200000, 1).Day("invented", 2, 4)
	text, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	whole := strings.SplitAfter(strings.TrimSpace(string(text))+"\n", "\n")
	whole = whole[:len(whole)-1]
	for name, spoil := range map[string]func(string) string{
		"a faulty value": func(s string) string { return strings.Replace(s, `"by":"helm"`, `"by":""`, 1) },
		"a key twice":    func(s string) string { return strings.Replace(s, `"by":"helm"`, `"by":"helm","by":"helm"`, 1) },
		"cut short":      func(s string) string { return s[:len(s)/2] + "\n" },
		"no JSON":        func(string) string { return "garbled\n" },
	} {
		for _, k := range []int{0, 3, len(whole) - 1} {
			lines := slices.Clone(whole)
			lines[k] = spoil(lines[k])
			got := event.DecodeAll("day.jsonl", []byte(strings.Join(lines, "")))
			if got.Refused != 1 || len(got.Events) != len(events)-1 {
				t.Errorf("%s in line %d: %d taken of %d, %d refused: %v", name, k+1, len(got.Events), len(events), got.Refused, got.Faults)
				continue
			}
			if f := got.Faults[0]; f.File != "day.jsonl" || f.Line != k+1 {
				t.Errorf("%s in line %d: %v", name, k+1, got.Faults)
			}
			rest, err := event.EncodeAll(got.Events)
			if want := strings.Join(slices.Delete(slices.Clone(whole), k, k+1), ""); err != nil || string(rest) != want {
				t.Errorf("%s in line %d: the others are not as they were: %v", name, k+1, err)
			}
		}
	}
}

// Whatever comes in, the decoder ends, and what it takes it writes back the same.
func FuzzDecodeEvents(f *testing.F) {
	text, err := event.EncodeAll(logtest.NewMaker("helm", 1783159200000, 1).Day("invented", 2, 6))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	for _, line := range bytes.SplitAfter(text, []byte("\n")) {
		f.Add(line)
	}
	f.Add([]byte(`[{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03Z","by":"b","kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV","to":"note","body":{"text":"x"}}}]`))
	f.Add([]byte(`{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03Z","by":"b","kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV","to":"landed","change":{"mass_kg":null,"girth_m":{"by":[1,"tape"]}}}}`))
	f.Add([]byte(`{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03Z","by":"b","version":9,"kind":"line-set","rod":"r","mood":{"a":[]},"body":{"line":{"settings":{"shim_m":1e3},"parts":[{"kind":"lure","eyes":2}]}}}`))
	f.Add([]byte(`{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03Z","by":"b","kind":"weighed","body":[{"any":null}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		got := event.DecodeAll("fuzz", data)
		if (got.Refused > 0) != (len(got.Faults) > 0) {
			t.Fatalf("%d refused with %d faults", got.Refused, len(got.Faults))
		}
		first, err := event.EncodeAll(got.Events)
		if err != nil {
			t.Fatal(err)
		}
		again := event.DecodeAll("again", first)
		if again.Refused > 0 || len(again.Events) != len(got.Events) {
			t.Fatalf("what was taken is refused when written back: %v\n%s", again.Faults, first)
		}
		second, err := event.EncodeAll(again.Events)
		if err != nil || !bytes.Equal(first, second) {
			t.Fatalf("another text the second time: %v\n%s\n%s", err, first, second)
		}
		for i := range got.Events {
			// Written anew it is the same event still.
			e := again.Events[i]
			e.Changed()
			anew, err := event.Decode([]byte(e.Text()))
			if err != nil || !event.Same(&anew, &got.Events[i]) {
				t.Fatalf("another event when written anew: %v\n%s\n%s", err, got.Events[i].Text(), e.Text())
			}
		}
	})
}
