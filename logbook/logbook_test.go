package logbook_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json/v2"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync/atomic"
	"testing"

	"sternfan/event"

	"sternfan"
	"sternfan/internal/logtest"
	"sternfan/logbook"
	"sternfan/trip"
)

// start is six in the morning of an invented day, local time four hours behind UTC.
const start = int64(1783159200000)

func open(t testing.TB, path string, opt logbook.Options) *logbook.Log {
	t.Helper()
	l, err := logbook.Open(t.Context(), path, opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func appendAll(t testing.TB, l *logbook.Log, events []event.Event) {
	t.Helper()
	if _, err := l.Append(t.Context(), events...); err != nil {
		t.Fatal(err)
	}
}

func text(t testing.TB, v any) []byte {
	t.Helper()
	out, err := json.Marshal(v, json.Deterministic(true))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// What the log keeps of a trip is what its events add up to, after it has been closed and
// opened again too.
func TestOutingsAreWhatEventsAddUpTo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a folder?", "log #1.db")
	l := open(t, path, logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	var all []event.Event
	var ids []event.ID
	for range 3 {
		day := m.Day("invented day", 6, 30)
		all = append(all, day...)
		ids = append(ids, day[0].ID)
		appendAll(t, l, day)
		m.Wait(20 * 60)
	}
	check := func(l *logbook.Log) {
		t.Helper()
		var stints []sternfan.Stint
		for _, id := range ids {
			got, err := l.Outing(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			want := trip.Project(id, all)
			if g, w := text(t, got), text(t, want); !bytes.Equal(g, w) {
				t.Fatalf("kept\n%s\nworked out\n%s", g, w)
			}
			stints = append(stints, want.Stints...)
		}
		got, err := l.Stints(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(text(t, got), text(t, stints)) {
			t.Fatal("the effort of the whole log is not that of its trips")
		}
	}
	check(l)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	l = open(t, path, logbook.Options{})
	check(l)
	// Nothing is added the second time, in any order.
	slices.Reverse(all)
	if n, err := l.Append(t.Context(), all...); n != 0 || err != nil {
		t.Errorf("%d added again: %v", n, err)
	}
	last, err := l.Last(t.Context())
	if err != nil || last != int64(len(all)) {
		t.Errorf("last is %d of %d: %v", last, len(all), err)
	}
	some, err := l.Events(t.Context(), logbook.Filter{Since: last - 5, Limit: 3})
	if err != nil || len(some) != 3 {
		t.Errorf("%d events after %d: %v", len(some), last-5, err)
	}
}

// Whatever order events arrive in, one by one or in batches, with reading in between, the
// database comes to what the pure code makes of all of them.
func TestArrivalInAnyOrder(t *testing.T) {
	var joined atomic.Int32
	t.Cleanup(func() {
		if joined.Load() < 5 {
			t.Errorf("trips were joined %d times", joined.Load())
		}
	})
	for seed := range uint64(40) {
		t.Run(strconv.FormatUint(seed, 10), func(t *testing.T) {
			t.Parallel()
			joined.Add(int32(arrive(t, seed)))
		})
	}
}

func arrive(t *testing.T, seed uint64) (joined int) {
	l := open(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	r := rand.New(rand.NewPCG(seed, 3))
	m := logtest.NewMaker("helm", start, seed)
	events := m.Day("one", 3, 8)
	first := m.Trip
	m.Wait(24 * 60)
	events = append(events, m.Day("two", 3, 8)...)
	second := m.Trip
	for range 12 {
		m.Trip = []event.ID{first, second, {}}[r.IntN(3)]
		of := events[r.IntN(len(events))]
		var b event.Body
		switch r.IntN(8) {
		case 6: // a trip joined to another, at times in a circle
			ends := []event.ID{first, second}
			r.Shuffle(2, func(i, j int) { ends[i], ends[j] = ends[j], ends[i] })
			b = event.Fix{Of: ends[0], Trip: &ends[1]}
		case 0:
			b = event.Fix{Of: of.ID, Void: true}
		case 1:
			to := []event.ID{first, second, {}}[r.IntN(3)]
			b = event.Fix{Of: of.ID, Trip: &to}
		case 2:
			b = event.Clock{Of: "helm", Shift: r.Int64N(1e7)}
		case 3:
			b = event.Solved{Of: of.ID, Fan: *m.Line(1).Fan}
		default:
			at := of.At.Add(r.Int64N(1e6))
			b = event.Fix{Of: of.ID, At: &at}
		}
		events = append(events, m.Event("", b))
	}
	if r.IntN(3) == 0 { // a fault: two events under one id
		e := events[r.IntN(len(events))]
		b := m.Event("", event.Fix{Of: events[r.IntN(len(events))].ID, Void: true})
		b.ID = e.ID
		events = append(events, b)
	}
	shuffled := slices.Clone(events)
	r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	for len(shuffled) > 0 {
		k := min(1+r.IntN(20), len(shuffled))
		if _, err := l.Append(t.Context(), shuffled[:k]...); err != nil {
			t.Fatal(err)
		}
		shuffled = shuffled[k:]
		if r.IntN(3) == 0 {
			if err := l.Refresh(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, id := range []event.ID{first, second, {}} {
		want := trip.Project(id, events)
		got, err := l.Outing(t.Context(), id)
		if want.Events == 0 {
			if !errors.Is(err, logbook.ErrNoEvent) {
				t.Fatalf("trip %v of no events: %v", id, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		// Of notices the log keeps those that its own trip's events give rise to.
		got.Notices, want.Notices = nil, nil
		joined += len(want.Joined)
		if g, w := text(t, got), text(t, want); !bytes.Equal(g, w) {
			t.Fatalf("trip %v\nkept\n%s\nworked out\n%s", id, g, w)
		}
	}
	return joined
}

func TestOpenRefusesWhatIsNoLog(t *testing.T) {
	dir := t.TempDir()
	other := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(other, []byte("Dear all, this is not a database of any kind, but it is long enough to be one.\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := logbook.Open(t.Context(), other, logbook.Options{}); !errors.Is(err, logbook.ErrNotLog) {
		t.Errorf("a letter: %v", err)
	}
	if _, err := logbook.Open(t.Context(), dir, logbook.Options{}); err == nil {
		t.Error("a folder was opened")
	}
	if _, err := logbook.Open(t.Context(), filepath.Join(dir, "none.db"), logbook.Options{ReadOnly: true}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

func TestAppendRefusesFaultyEventsWhole(t *testing.T) {
	l := open(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	events := logtest.NewMaker("helm", start, 1).Day("invented", 2, 4)
	events[2].By = ""
	_, err := l.Append(t.Context(), events...)
	var faults sternfan.Faults
	if !errors.As(err, &faults) || faults[0].Path != "events[2].by" {
		t.Errorf("%v", err)
	}
	if last, _ := l.Last(t.Context()); last != 0 {
		t.Errorf("%d events of a faulty batch were kept", last)
	}
}

func TestCancelledAppendKeepsNothing(t *testing.T) {
	l := open(t, filepath.Join(t.TempDir(), "log.db"), logbook.Options{})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := l.Append(ctx, logtest.NewMaker("helm", start, 1).Day("invented", 2, 4)...); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if last, _ := l.Last(t.Context()); last != 0 {
		t.Errorf("%d events kept", last)
	}
}

func TestNewIDsComeAfterTheLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := open(t, path, logbook.Options{})
	events := logtest.NewMaker("helm", start, 1).Day("invented", 2, 4)
	appendAll(t, l, events)
	last := events[len(events)-1].ID
	if id := l.NewID(start - 1e9); id.Compare(last) <= 0 {
		t.Errorf("%v comes before %v", id, last)
	}
	l.Close()
	l = open(t, path, logbook.Options{})
	if id := l.NewID(start - 1e9); id.Compare(last) <= 0 {
		t.Errorf("opened again, %v comes before %v", id, last)
	}
	if id, err := l.Find(t.Context(), last.String()[:25]); err != nil || id != last {
		t.Errorf("found %v: %v", id, err)
	}
	if _, err := l.Find(t.Context(), "01"); err == nil {
		t.Error("a beginning of many was taken")
	}
	if _, err := l.Find(t.Context(), "7ZZZ"); !errors.Is(err, logbook.ErrNoEvent) {
		t.Error(err)
	}
}

// meddle changes the file behind the log's back.
func meddle(t *testing.T, path, query string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(t.Context(), query); err != nil {
		t.Fatal(err)
	}
}
