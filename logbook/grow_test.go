package logbook_test

import (
	"bytes"
	"database/sql"
	"encoding/json/jsontext"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sternfan/event"
	"sternfan/internal/logtest"
	"sternfan/logbook"
	"sternfan/trip"
)

// numberIn reads a number from a log's file.
func numberIn(t *testing.T, path, query string) (n int) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.QueryRow(query).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

func exported(t *testing.T, l *logbook.Log) []byte {
	t.Helper()
	events, err := l.Events(t.Context(), logbook.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := event.EncodeAll(events)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func healthy(t *testing.T, l *logbook.Log) {
	t.Helper()
	if r, err := l.Verify(t.Context()); err != nil || len(r.Faults) > 0 {
		t.Fatalf("%v %v", r, err)
	}
}

// later returns the events of a day as a later version may write them: with members and
// kinds that this one does not know, in an order of its own, with blanks.
func later(t *testing.T, seed uint64) []string {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	day := logtest.NewMaker("later", start, seed).Day("written later", 4, 24)
	var lines []string
	for i := range day {
		text := day[i].Text()
		for _, grow := range []struct{ old, new string }{
			{`"at":`, `"moon":{"phase":[0.50, "waxing"]},"at":`},
			{`"body":{`, `"version":3,"body":{"mood":1e2,`},
			{`"settings":{`, `"settings":{"shim_m":0.010,`},
			{`"kind":"lure"`, `"eyes":2,"kind":"lure"`},
			{`"fan":{`, `"fan":{"trust":"high \u2014 so far",`},
			{`"depth_m":`, `"felt_m":null,"depth_m":`},
			{`"kind":"line-checked"`, `"kind":"line-looked-at"`},
		} {
			if r.IntN(3) == 0 {
				text = strings.Replace(text, grow.old, grow.new, 1)
			}
		}
		lines = append(lines, strings.ReplaceAll(text, ",}", "}"))
	}
	return lines
}

// What a later version wrote goes from log to log as it was received, byte for byte, by
// export, by union and by backup; and the format says so only where there is such an event.
func TestGrownEventsPassThroughByteForByte(t *testing.T) {
	for seed := range uint64(5) {
		lines := later(t, seed)
		want := strings.Join(lines, "\n") + "\n"
		read := event.DecodeAll("later", []byte(want))
		if read.Refused > 0 {
			t.Fatal(read.Faults)
		}
		dir := t.TempDir()
		a, b := open(t, filepath.Join(dir, "a.db"), logbook.Options{}), open(t, filepath.Join(dir, "b.db"), logbook.Options{})
		appendAll(t, a, read.Events)
		if got := string(exported(t, a)); got != want {
			t.Fatalf("exported\n%s\nwant\n%s", got, want)
		}
		appendAll(t, b, event.DecodeAll("a", exported(t, a)).Events)
		if got := string(exported(t, b)); got != want {
			t.Fatal("the second log has other texts")
		}
		backup := filepath.Join(dir, "backup.db")
		if err := b.Backup(t.Context(), backup); err != nil {
			t.Fatal(err)
		}
		c := open(t, backup, logbook.Options{ReadOnly: true})
		if got := string(exported(t, c)); got != want {
			t.Fatal("the backup has other texts")
		}
		healthy(t, b)
		// In another order of members and with other blanks they are the same.
		for i := range lines {
			v := jsontext.Value(lines[i])
			if err := v.Canonicalize(); err != nil {
				t.Fatal(err)
			}
			lines[i] = string(v)
		}
		again := event.DecodeAll("canonical", []byte(strings.Join(lines, "\n")))
		if n, err := b.Append(t.Context(), again.Events...); n != 0 || err != nil {
			t.Errorf("%d added again: %v", n, err)
		}
		if r, err := b.Verify(t.Context()); err != nil || r.Clashes > 0 {
			t.Errorf("%d clashes, %v", r.Clashes, err)
		}
		if _, err := b.Outing(t.Context(), read.Events[0].ID); err != nil {
			t.Error(err)
		}
	}
}

// A log has the format that its events need: programs of the format before read it until
// there is an event in it that they refuse. A format after this one's is refused.
func TestFormatIsWhatTheEventsNeed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	m := logtest.NewMaker("helm", start, 1)
	l := open(t, path, logbook.Options{})
	appendAll(t, l, m.Day("of the first version", 3, 12))
	if v := numberIn(t, path, "pragma user_version"); v != 2 {
		t.Errorf("format %d for events of the first version", v)
	}
	line := m.Line(0)
	line.Line.Settings.Section = logtest.P(45.72)
	appendAll(t, l, []event.Event{m.Event("rod-1", line)})
	if v := numberIn(t, path, "pragma user_version"); v != 3 {
		t.Errorf("format %d with a newer member", v)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	meddle(t, path, `pragma user_version = 4`)
	if _, err := logbook.Open(t.Context(), path, logbook.Options{}); err == nil || !strings.Contains(err.Error(), "newer version") {
		t.Errorf("format 4 opens: %v", err)
	}
}

// What another version derived is derived again, from the events alone.
func TestUpgradeDerivesAgain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := open(t, path, logbook.Options{})
	events := keptEvents()
	appendAll(t, l, events)
	want, err := l.Outing(t.Context(), events[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	tables := map[string]int{"move": 0, "clock": 0, "wrote": 0}
	for table := range tables {
		tables[table] = numberIn(t, path, "select count(*) from "+table)
	}
	for _, q := range []string{
		// As a version would file them that knows neither corrections nor clocks.
		`update event set of = null, kind = 'unheard-of' where kind in ('fix', 'solved', 'clock')`,
		`update event set trip = x'' where kind = 'strike'`,
		`delete from move`, `delete from clock`, `delete from wrote`, `delete from outing`,
		`update meta set value = '3' where key = 'projection'`,
	} {
		meddle(t, path, q)
	}
	l = open(t, path, logbook.Options{})
	healthy(t, l)
	got, err := l.Outing(t.Context(), events[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(text(t, got), text(t, want)) {
		t.Errorf("derived\n%s\nwas\n%s", text(t, got), text(t, want))
	}
	for table, had := range tables {
		if n := numberIn(t, path, "select count(*) from "+table); n != had {
			t.Errorf("%s has %d rows and had %d", table, n, had)
		}
	}
}

// An event that an earlier version took, and that this one would refuse, is kept and
// passed on, and holds up none of the others.
func TestEventThatIsRefusedByNow(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := open(t, path, logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	events := m.Day("invented", 3, 12)
	events = append(events, m.Event("rod-1", event.Landed{Mass: logtest.P(4)}))
	appendAll(t, l, events)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	meddle(t, path, `update event set json = replace(json, '"mass_kg":4', '"mass_kg":-4')`)
	meddle(t, path, `insert into stale select distinct trip from event where true on conflict do nothing`)
	l = open(t, path, logbook.Options{})
	if got := exported(t, l); !bytes.Contains(got, []byte(`"mass_kg":-4`)) {
		t.Error("it is gone")
	}
	o, err := l.Outing(t.Context(), events[0].ID)
	if err != nil || !slices.ContainsFunc(o.Notices, func(n trip.Notice) bool { return n.Code == "unknown-kind" }) {
		t.Errorf("%v: nothing is said of it", err)
	}
}

// Two programs of which the newer knows a member more exchange a log in any order and any
// number of times, through phones that write the text in their own way. They come to the
// same events, none in the way of itself, and the newer, given the older's log, to the
// same trips. The older is this program with the member under a name that it does not know.
func TestTwoVersionsConverge(t *testing.T) {
	names := strings.NewReplacer(`"species":`, `"speciez":`)
	back := strings.NewReplacer(`"speciez":`, `"species":`)
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 9))
		dir := t.TempDir()
		newer, older := open(t, filepath.Join(dir, "newer.db"), logbook.Options{}), open(t, filepath.Join(dir, "older.db"), logbook.Options{})
		m := logtest.NewMaker("boat", start, seed)
		day := m.Day("invented", 4, 40)
		var waiting []string // as the newer writes it
		for i := range day {
			text := day[i].Text()
			if day[i].Kind() == event.KindLanded && r.IntN(2) == 0 {
				text = strings.Replace(text, `"body":{`, `"body":{"note":"",`, 1) // nothing, said
				fix := m.Event("", event.Fix{Of: day[i].ID, To: event.KindLanded, Change: []byte(`{"species":"coho salmon"}`)})
				waiting = append(waiting, fix.Text())
			}
			waiting = append(waiting, text)
		}
		take := func(l *logbook.Log, text string) {
			t.Helper()
			read := event.DecodeAll("exchange", []byte(text))
			if read.Refused > 0 {
				t.Fatal(read.Faults)
			}
			appendAll(t, l, read.Events)
		}
		phone := func(text string) string {
			var out strings.Builder
			for line := range strings.Lines(text) {
				v := jsontext.Value(strings.TrimSpace(line))
				if r.IntN(2) == 0 {
					if err := v.Canonicalize(); err != nil {
						t.Fatal(err)
					}
				}
				out.WriteString(string(v) + "\n")
			}
			return out.String()
		}
		r.Shuffle(len(waiting), func(i, j int) { waiting[i], waiting[j] = waiting[j], waiting[i] })
		for len(waiting) > 0 {
			n := min(1+r.IntN(30), len(waiting))
			batch := strings.Join(waiting[:n], "\n") + "\n"
			waiting = waiting[n:]
			switch r.IntN(4) {
			case 0:
				take(newer, batch)
			case 1:
				take(older, names.Replace(batch))
			case 2:
				take(newer, phone(batch))
				take(older, names.Replace(phone(batch)))
			default:
				take(older, phone(names.Replace(batch)))
				take(newer, back.Replace(phone(string(exported(t, older)))))
			}
		}
		for range 2 {
			take(older, names.Replace(phone(string(exported(t, newer)))))
			take(newer, back.Replace(phone(string(exported(t, older)))))
		}
		for _, l := range []*logbook.Log{newer, older} {
			healthy(t, l)
			if v, err := l.Verify(t.Context()); err != nil || v.Clashes > 0 {
				t.Fatalf("%d clashes, %v", v.Clashes, err)
			}
		}
		upgraded := open(t, filepath.Join(dir, "upgraded.db"), logbook.Options{})
		take(upgraded, back.Replace(string(exported(t, older))))
		a, err := newer.Outing(t.Context(), day[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		b, err := upgraded.Outing(t.Context(), day[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(text(t, a), text(t, b)) {
			t.Fatalf("newer\n%s\nolder, read by the newer\n%s", text(t, a), text(t, b))
		}
		if got, want := canonical(t, back.Replace(string(exported(t, older)))), canonical(t, string(exported(t, newer))); got != want {
			t.Fatalf("older\n%s\nnewer\n%s", got, want)
		}
	}
}

// canonical returns the canonical forms of events in the order of their ids.
func canonical(t *testing.T, text string) string {
	t.Helper()
	merged, clashes := trip.Merge(event.DecodeAll("text", []byte(text)).Events)
	if len(clashes) > 0 {
		t.Fatal("clashes")
	}
	var out strings.Builder
	for i := range merged {
		v := jsontext.Value(merged[i].Text())
		if err := v.Canonicalize(); err != nil {
			t.Fatal(err)
		}
		out.WriteString(string(v) + "\n")
	}
	return out.String()
}

// Events that do differ clash, whichever comes first, and the same one stands.
func TestClashesStandTheSameEverywhere(t *testing.T) {
	m := logtest.NewMaker("helm", start, 1)
	begins := m.Event("", event.TripBegins{Name: "a day"})
	e := m.Event("", event.Note{Text: "birds"})
	var texts []string
	for _, more := range []string{`"b":1,`, `"b":2,`, `"a":[],`, ``} {
		texts = append(texts, strings.Replace(e.Text(), `"text"`, more+`"text"`, 1))
	}
	var stands string
	for seed := range uint64(24) {
		r := rand.New(rand.NewPCG(seed, 2))
		l := open(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
		appendAll(t, l, []event.Event{begins})
		for _, i := range append(r.Perm(len(texts)), r.Perm(len(texts))...) {
			v := jsontext.Value(texts[i])
			if r.IntN(2) == 0 {
				if err := v.Canonicalize(); err != nil {
					t.Fatal(err)
				}
			}
			got, err := event.Decode(v)
			if err != nil {
				t.Fatal(err)
			}
			appendAll(t, l, []event.Event{got})
		}
		have, err := l.Events(t.Context(), logbook.Filter{Kinds: []event.Kind{event.KindNote}})
		if err != nil || len(have) != 1 {
			t.Fatal(len(have), err)
		}
		v := jsontext.Value(have[0].Text())
		if err := v.Canonicalize(); err != nil {
			t.Fatal(err)
		}
		if stands == "" {
			stands = string(v)
		}
		r2, err := l.Verify(t.Context())
		if err != nil || len(r2.Faults) > 0 || r2.Clashes != len(texts)-1 || string(v) != stands {
			t.Fatalf("%+v %v: %s stands, before it was %s", r2, err, v, stands)
		}
	}
}
