package trip_test

import (
	"slices"
	"strings"
	"testing"

	"sternfan/event"
	"sternfan/internal/logtest"
	"sternfan/trip"
)

// decoded returns an event with a piece of its text replaced.
func decoded(t *testing.T, e event.Event, old, new string) event.Event {
	t.Helper()
	text := strings.Replace(e.Text(), old, new, 1)
	if text == e.Text() {
		t.Fatalf("%s is not in %s", old, text)
	}
	got, err := event.Decode([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Corrections by members add up, in the order of their ids; a whole body, as the first
// version wrote it, begins anew; what none of them names stays, known or not.
func TestCorrectionsOfMembersAddUp(t *testing.T) {
	m := logtest.NewMaker("helm", 1783159200000, 1)
	begins := m.Event("", event.TripBegins{Name: "a day"})
	strike := m.Event("p1", event.Strike{})
	landed := decoded(t, m.Event("p1", event.Landed{Strike: strike.ID, Species: "steelhead", Length: logtest.P(.7)}), `"species"`, `"girth_m":0.4,"species"`)
	change := func(text string) event.Event {
		return m.Event("", event.Fix{Of: landed.ID, To: event.KindLanded, Change: []byte(text)})
	}
	first, second := change(`{"mass_kg":4,"species":"coho salmon"}`), change(`{"species":null,"fate":"kept"}`)
	whole := m.Event("", event.Fix{Of: landed.ID, To: event.KindLanded, Body: []byte(`{"length_m":0.8}`)})
	third := change(`{"note":"weighed ashore"}`)
	for name, tt := range map[string]struct {
		fixes []event.Event
		want  string
	}{
		"one":              {[]event.Event{first}, `"species":"coho salmon","length_m":0.7,"mass_kg":4`},
		"two":              {[]event.Event{first, second}, `"length_m":0.7,"mass_kg":4,"fate":"kept"`},
		"a whole body":     {[]event.Event{first, second, whole}, `"length_m":0.8`},
		"and one after it": {[]event.Event{first, second, whole, third}, `"length_m":0.8,"note":"weighed ashore"`},
		"one taken back":   {[]event.Event{first, second, m.Event("", event.Fix{Of: first.ID, Void: true})}, `"length_m":0.7,"fate":"kept"`},
	} {
		events := append([]event.Event{begins, strike, landed}, tt.fixes...)
		slices.Reverse(events) // in whatever order they came
		s := trip.Settle(events)
		i := slices.IndexFunc(s.Entries, func(e trip.Entry) bool { return e.ID == landed.ID })
		got := s.Entries[i].Event
		plain := event.Event{ID: got.ID, At: got.At, By: got.By, Trip: got.Trip, Rod: got.Rod, Body: got.Body}
		if !strings.Contains(plain.Text(), tt.want+"}") {
			t.Errorf("%s: %s, want %s", name, plain.Text(), tt.want)
		}
		_, replaced := slices.BinarySearch([]string{"a whole body", "and one after it"}, name)
		if kept := strings.Contains(got.Text(), `"girth_m":0.4`); kept == replaced {
			t.Errorf("%s: %s", name, got.Text())
		}
	}
}

// A correction that makes no event of its kind is said and leaves the event as it is.
func TestCorrectionThatCannotBe(t *testing.T) {
	m := logtest.NewMaker("helm", 1783159200000, 1)
	begins := m.Event("", event.TripBegins{Name: "a day"})
	note := m.Event("", event.Note{Text: "birds"})
	fix := m.Event("", event.Fix{Of: note.ID, To: event.KindNote, Change: []byte(`{"text":null}`)})
	weighed := decoded(t, m.Event("", event.Fix{Of: note.ID, To: event.KindNote, Change: []byte(`{"pounds":4}`)}), `"to":"note"`, `"to":"weighed"`)
	s := trip.Settle([]event.Event{begins, note, fix, weighed})
	if got := s.Entries[1].Body; got != (event.Note{Text: "birds"}) {
		t.Errorf("%+v", got)
	}
	for _, id := range []event.ID{fix.ID, weighed.ID} {
		if !slices.ContainsFunc(s.Notices, func(n trip.Notice) bool { return n.Code == "bad-fix" && n.ID == id }) {
			t.Errorf("nothing is said of %s: %+v", id, s.Notices)
		}
	}
}

// An entry of an unknown kind is shown, can be corrected, and takes part in nothing.
func TestUnknownKindsTakePartInNothing(t *testing.T) {
	m := logtest.NewMaker("helm", 1783159200000, 4)
	day := m.Day("invented", 3, 12)
	before := trip.Project(day[0].ID, day)
	later := logtest.NewMaker("phone", m.Now+40*3600*1000, 5)
	later.Trip = m.Trip
	var unknown []event.Event
	for range 3 {
		unknown = append(unknown, decoded(t, later.Event("rod-1", event.Note{Text: "x"}), `"kind":"note"`, `"kind":"weighed"`))
	}
	void := later.Event("", event.Fix{Of: unknown[0].ID, Void: true})
	rod := "rod-2"
	moved := later.Event("", event.Fix{Of: unknown[1].ID, Rod: &rod})
	all := slices.Concat(day, unknown, []event.Event{void, moved})
	s := trip.Settle(all)
	if len(s.Unknown) != 2 || s.Unknown[0].Rod != "rod-2" || s.Unknown[0].Kind() != "weighed" || len(s.Voided) != 1 {
		t.Errorf("%+v and %+v", s.Unknown, s.Voided)
	}
	after := trip.Project(day[0].ID, all)
	i := slices.IndexFunc(after.Notices, func(n trip.Notice) bool { return n.Code == "unknown-kind" })
	if i < 0 || !strings.HasPrefix(after.Notices[i].Text, "3 entries are of a kind that this version does not know (weighed)") {
		t.Fatalf("%+v", after.Notices)
	}
	after.Notices = slices.Delete(after.Notices, i, i+1)
	if got, want := string(outingText(t, after)), string(outingText(t, before)); got != want {
		t.Errorf("the trip is another with entries of an unknown kind:\n%s\n%s", got, want)
	}
}

// That an event holds more than is understood is said, once and with a count.
func TestWhatIsNotUnderstoodIsSaid(t *testing.T) {
	m := logtest.NewMaker("helm", 1783159200000, 1)
	begins := decoded(t, m.Event("", event.TripBegins{Name: "a day"}), `"kind"`, `"moon":"full","kind"`)
	note := decoded(t, m.Event("", event.Note{Text: "birds"}), `"body"`, `"version":9,"body"`)
	o := trip.Project(begins.ID, []event.Event{begins, note, m.Event("", event.Note{Text: "more"})})
	if len(o.Notices) != 1 || o.Notices[0].Code != "unknown-member" || !strings.HasPrefix(o.Notices[0].Text, "2 entries hold") || o.Events != 3 {
		t.Errorf("%+v", o.Notices)
	}
}
