package logbook_test

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/event"

	"sternfan/internal/logtest"
	"sternfan/logbook"
)

// A log that may grow no further says so, keeps what it has, and takes no part of a
// batch. (The database reports the limit on its pages as it does a full disk.)
func TestFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := open(t, path, logbook.Options{MaxPages: 60})
	m := logtest.NewMaker("helm", start, 1)
	day := m.Day("invented day", 4, 400)
	kept := 0
	var err error
	for kept < len(day) {
		k := min(10, len(day)-kept)
		if _, err = l.Append(t.Context(), day[kept:kept+k]...); err != nil {
			break
		}
		kept += k
	}
	if !errors.Is(err, logbook.ErrFull) || !strings.Contains(err.Error(), "no room left") || !strings.Contains(err.Error(), "make room") {
		t.Fatalf("after %d of %d events: %v", kept, len(day), err)
	}
	// One event at a time fits or not, but the log never lies.
	rest := day[kept:]
	for _, e := range rest[:10] {
		if _, err := l.Append(t.Context(), e); err == nil {
			kept++
		} else if !errors.Is(err, logbook.ErrFull) {
			t.Fatal(err)
		} else {
			break
		}
	}
	l.Close()
	l = open(t, path, logbook.Options{})
	got, err := l.Events(t.Context(), logbook.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != kept {
		t.Errorf("%d events in the log, %d were acknowledged", len(got), kept)
	}
	report, err := l.Verify(t.Context())
	if err != nil || len(report.Faults) > 0 {
		t.Errorf("%v %v", report, err)
	}
	// With room again, the queue goes through whole.
	if n, err := l.Append(t.Context(), day...); err != nil || n != len(day)-kept {
		t.Errorf("%d of %d added: %v", n, len(day)-kept, err)
	}
}

func TestBackupWhileInUse(t *testing.T) {
	dir := t.TempDir()
	l := open(t, filepath.Join(dir, "log.db"), logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	day := m.Day("invented day", 4, 50)
	appendAll(t, l, day[:40])
	copyTo := filepath.Join(dir, "copy.db")
	if err := l.Backup(t.Context(), copyTo); err != nil {
		t.Fatal(err)
	}
	if err := l.Backup(t.Context(), copyTo); err == nil {
		t.Error("a backup was overwritten")
	}
	appendAll(t, l, day[40:])
	c := open(t, copyTo, logbook.Options{})
	got, err := c.Events(t.Context(), logbook.Filter{})
	if err != nil || len(got) != 40 {
		t.Errorf("the copy has %d events: %v", len(got), err)
	}
	if r, err := c.Verify(t.Context()); err != nil || len(r.Faults) > 0 {
		t.Errorf("%v %v", r, err)
	}
	// A copy is a log like any other: the rest joins it.
	if n, err := c.Append(t.Context(), day...); err != nil || n != len(day)-40 {
		t.Errorf("%d added: %v", n, err)
	}
	if names, _ := filepath.Glob(filepath.Join(dir, ".log-backup*")); len(names) > 0 {
		t.Errorf("left behind: %v", names)
	}
}

// Verify finds what was changed behind the log's back, and Rebuild mends what is worked
// out, though never an event.
func TestVerifyFindsTampering(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l := open(t, path, logbook.Options{})
	m := logtest.NewMaker("helm", start, 1)
	day := m.Day("invented day", 4, 30)
	m.Trip = event.ID{}
	other := m.Event("rod-1", event.Note{Text: "before any trip"})
	fix := m.Event("", event.Fix{Of: other.ID, Trip: &day[0].ID})
	appendAll(t, l, append(day, other, fix, m.Event("", event.Clock{Of: "phone", Shift: 1000})))
	if err := l.Refresh(t.Context()); err != nil {
		t.Fatal(err)
	}
	want, err := l.Outing(t.Context(), day[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, sql := range []string{
		`update outing set head = replace(head, '"anglers":4', '"anglers":40')`,
		`delete from outing`,
		`update setup set attributes = '{"lure":"none"}' where id = 1`,
		`delete from move`,
	} {
		meddle(t, path, sql)
		r, err := l.Verify(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Faults) == 0 {
			t.Errorf("%s: not found", sql)
		}
		if err := l.Rebuild(t.Context()); err != nil {
			t.Fatal(err)
		}
		if r, err := l.Verify(t.Context()); err != nil || len(r.Faults) > 0 {
			t.Errorf("%s: after rebuilding %v %v", sql, r, err)
		}
		got, err := l.Outing(t.Context(), day[0].ID)
		if err != nil || string(text(t, got)) != string(text(t, want)) {
			t.Errorf("%s: rebuilt otherwise: %v", sql, err)
		}
	}
	meddle(t, path, `update event set kind = 'strike' where kind = 'line-in'`)
	if r, err := l.Verify(t.Context()); err != nil || len(r.Faults) == 0 {
		t.Errorf("an event under another kind: %v %v", r, err)
	}
}
