package logbook_test

import (
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"sternfan/event"

	"sternfan/internal/logtest"
	"sternfan/learn"
	"sternfan/logbook"
)

// season makes trips of 100 sets and some 20 strikes, one a day, up to so many sets, and
// hands them on one by one.
func season(sets int, do func([]event.Event)) (events, strikes int) {
	m := logtest.NewMaker("helm", start, 1)
	for done := 0; done < sets; done += 100 {
		day := m.Day("invented day", 12, 100)
		for _, e := range day {
			if _, ok := e.Body.(event.Strike); ok {
				strikes++
			}
		}
		events += len(day)
		do(day)
		m.Now += 14 * 3600 * 1000
	}
	return events, strikes
}

// setsOf returns how many sets the big benchmarks use: a million with
// LOGBOOK_SETS=1000000, fewer for between times.
func setsOf() int {
	if n, err := strconv.Atoi(os.Getenv("LOGBOOK_SETS")); err == nil {
		return n
	}
	return 50_000
}

// BenchmarkSeason fills a log in batches of a trip, closes it, and reads the effort of
// all of it after opening it again, as the first table of rates does.
func BenchmarkSeason(b *testing.B) {
	for b.Loop() {
		path := os.Getenv("LOGBOOK_FILE") // to keep it
		if path == "" {
			path = filepath.Join(b.TempDir(), "log.db")
		}
		l, err := logbook.Open(b.Context(), path, logbook.Options{})
		if err != nil {
			b.Fatal(err)
		}
		var appending time.Duration
		events, strikes := season(setsOf(), func(day []event.Event) {
			from := time.Now()
			if _, err := l.Append(b.Context(), day...); err != nil {
				b.Fatal(err)
			}
			appending += time.Since(from)
		})
		b.ReportMetric(float64(events)/appending.Seconds(), "events/s")
		b.ReportMetric(float64(strikes), "strikes")
		from := time.Now()
		if err := l.Refresh(b.Context()); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(events)/time.Since(from).Seconds(), "added-up/s")
		if err := l.Close(); err != nil {
			b.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(info.Size())/float64(events), "B/event")

		first(b, path, strikes)
	}
}

// BenchmarkFirstTable opens a log that BenchmarkSeason left (LOGBOOK_FILE) and reads its
// effort, as the first table after opening does.
func BenchmarkFirstTable(b *testing.B) {
	path := os.Getenv("LOGBOOK_FILE")
	if path == "" {
		path = filepath.Join(b.TempDir(), "log.db")
		l := open(b, path, logbook.Options{})
		season(10_000, func(day []event.Event) { appendAll(b, l, day) })
		if err := l.Refresh(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		first(b, path, 0)
	}
}

// first opens a log, reads all of its effort, makes a table of it and reports how long
// that took.
func first(b *testing.B, path string, strikes int) {
	from := time.Now()
	since := func(unit string) { b.ReportMetric(float64(time.Since(from).Microseconds())/1000, unit) }
	l, err := logbook.Open(b.Context(), path, logbook.Options{})
	if err != nil {
		b.Fatal(err)
	}
	since("ms-open")
	var effort learn.Log
	if err := l.EachStint(b.Context(), effort.Add); err != nil {
		b.Fatal(err)
	}
	since("ms-first-read")
	all, err := effort.Rates(learn.Query{Compare: []string{"lure"}})
	if err != nil {
		b.Fatal(err)
	}
	since("ms-first-table")
	var mem runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&mem)
	b.ReportMetric(float64(mem.HeapAlloc)/(1<<20), "MiB-live")
	b.ReportMetric(float64(mem.HeapSys)/(1<<20), "MiB-heap")
	stints, struck := effort.Len()
	struck += all[0].Unknown.NoEffort
	if strikes > 0 && (stints < setsOf()*8/10 || struck != strikes) {
		b.Fatalf("%d stints of %d sets, %d strikes of %d", stints, setsOf(), struck, strikes)
	}
	if err := l.Close(); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkAppendOne appends events one at a time, each on the disk before the next.
func BenchmarkAppendOne(b *testing.B) {
	l := open(b, filepath.Join(b.TempDir(), "log.db"), logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	var day []event.Event
	for b.Loop() {
		if len(day) == 0 {
			day = m.Day("invented day", 12, 100)
		}
		if _, err := l.Append(b.Context(), day[0]); err != nil {
			b.Fatal(err)
		}
		day = day[1:]
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

// BenchmarkTripAfterStrike appends a strike to a trip of 100 sets and reads the trip, as
// the helm does after each.
func BenchmarkTripAfterStrike(b *testing.B) {
	l := open(b, filepath.Join(b.TempDir(), "log.db"), logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	day := m.Day("invented day", 12, 100)
	appendAll(b, l, day)
	for b.Loop() {
		m.Wait(.1)
		if _, err := l.Append(b.Context(), m.Event("rod-1", event.Strike{})); err != nil {
			b.Fatal(err)
		}
		if _, err := l.Outing(b.Context(), day[0].ID); err != nil {
			b.Fatal(err)
		}
	}
}
