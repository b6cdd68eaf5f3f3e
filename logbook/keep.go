package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"sternfan/event"
)

// Backup writes the whole log to a new file, while it may be in use. A file that is there
// is not overwritten: the error wraps fs.ErrExist. The copy is on the disk, complete,
// when it has its name.
func (l *Log) Backup(ctx context.Context, path string) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s is there already and is left as it is: %w", path, fs.ErrExist)
	}
	part, err := os.MkdirTemp(filepath.Dir(path), ".log-backup-*")
	if err != nil {
		return fmt.Errorf("the backup cannot be written there: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(part)) }()
	file := filepath.Join(part, "log.db")
	// VACUUM INTO needs a connection that may write, though not to the log.
	if _, err := l.write.ExecContext(ctx, `vacuum into ?`, file); err != nil {
		return l.explain(err)
	}
	if err := syncFile(file); err != nil {
		return err
	}
	// A link fails where a file has appeared since; not every file system has links.
	if err := os.Link(file, path); err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	return os.Rename(file, path)
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Report is what [Log.Verify] found.
type Report struct {
	Events  int      `json:"events"`
	Clashes int      `json:"clashes"`
	Trips   int      `json:"trips"`
	Stale   int      `json:"stale"`            // trips to be worked out anew, which is no fault
	Faults  []string `json:"faults,omitempty"` // a sentence each; none: all is well
}

// mostFaults bounds the report of a file that is wrong throughout.
const mostFaults = 100

func (r *Report) fault(format string, args ...any) {
	if len(r.Faults) < mostFaults {
		r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
	}
}

// Verify checks the file, that every event can be read and is filed under what it says,
// and that what is kept of every trip is what its events add up to. It changes nothing.
func (l *Log) Verify(ctx context.Context) (*Report, error) {
	r := &Report{}
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return nil, l.explain(err)
	}
	defer tx.Rollback()
	rows, err := tx.QueryContext(ctx, `pragma integrity_check`)
	if err != nil {
		return nil, l.explain(err)
	}
	if err := each(rows, func(b []byte) {
		if string(b) != "ok" {
			r.fault("the database says: %s", b)
		}
	}); err != nil {
		return nil, l.explain(err)
	}
	if err := l.verifyEvents(ctx, tx, r); err != nil {
		return nil, l.explain(err)
	}
	if err := l.verifyOutings(ctx, tx, r); err != nil {
		return nil, l.explain(err)
	}
	return r, nil
}

func (l *Log) verifyEvents(ctx context.Context, tx *sql.Tx, r *Report) error {
	if err := tx.QueryRowContext(ctx, `select count(*) from clash`).Scan(&r.Clashes); err != nil {
		return err
	}
	rows, err := tx.QueryContext(ctx, `select seq, id, trip, of, kind, json from event`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var seq int64
		var id, k, of, text sql.RawBytes
		var kind string
		if err := rows.Scan(&seq, &id, &k, &of, &kind, &text); err != nil {
			return err
		}
		r.Events++
		e, err := decode(text)
		switch {
		case err != nil:
			r.fault("event %d cannot be read: %v", seq, err)
		case e.Text() != string(text):
			r.fault("event %d (%s) is not written as it should be", seq, e.ID)
		case string(e.ID[:]) != string(id), string(tripKey(&e)) != string(k), string(about(&e)) != string(of), string(e.Kind()) != kind:
			r.fault("event %d (%s) is filed under what it does not say", seq, e.ID)
		}
	}
	return rows.Err()
}

func (l *Log) verifyOutings(ctx context.Context, tx *sql.Tx, r *Report) error {
	if err := tx.QueryRowContext(ctx, `select count(*) from stale`).Scan(&r.Stale); err != nil {
		return err
	}
	rows, err := tx.QueryContext(ctx, `select distinct trip from event union select trip from move union select trip from outing except select trip from stale`)
	if err != nil {
		return err
	}
	var keys [][]byte
	if err := each(rows, func(k []byte) { keys = append(keys, k) }); err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.setups = nil                    // what the file says counts, not what is remembered of it
	defer func() { l.setups = nil }() // may hold numbers that are rolled back
	for _, k := range keys {
		var kept packed
		err := tx.QueryRowContext(ctx, `select head, catches, effort from outing where trip = ?`, k).Scan(&kept.head, &kept.catches, &kept.effort)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if err == nil {
			r.Trips++
		}
		made, err := l.work(ctx, tx, k)
		if err != nil {
			return err
		}
		if made.head != kept.head || made.catches != kept.catches || string(made.effort) != string(kept.effort) {
			r.fault("what is kept of trip %s is not what its events add up to", tripName(k))
		}
	}
	return nil
}

// Rebuild throws away everything that is worked out and makes it again from the events.
func (l *Log) Rebuild(ctx context.Context) error {
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return l.explain(err)
	}
	defer tx.Rollback()
	l.mu.Lock()
	l.setups = nil
	l.mu.Unlock()
	for _, q := range []string{`delete from outing`, `delete from setup`, `delete from stale`} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return l.explain(err)
		}
	}
	if err := derive(ctx, tx); err != nil {
		return l.explain(err)
	}
	if err := tx.Commit(); err != nil {
		return l.explain(err)
	}
	return l.Refresh(ctx)
}

// derive files every event anew under what this version reads in it, settles clashes, and
// marks every trip to be worked out.
func derive(ctx context.Context, tx *sql.Tx) error {
	for _, q := range []string{`delete from wrote`, `delete from move`, `delete from clock`} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	a, err := newAppender(ctx, tx)
	if err != nil {
		return err
	}
	var refile []event.Event // what says something of others, or is filed under what it does not say
	rows, err := tx.QueryContext(ctx, `select id, trip, of, kind, json from event`)
	if err != nil {
		return err
	}
	defer rows.Close()
	wrote := map[[2]string]bool{}
	for rows.Next() {
		var id, k, of, text sql.RawBytes
		var kind string
		if err := rows.Scan(&id, &k, &of, &kind, &text); err != nil {
			return err
		}
		e, err := decode(text)
		if err != nil {
			continue // it stays as it is: log verify says what is wrong
		}
		a.grown = a.grown || e.Grown()
		wrote[[2]string{e.By, string(tripKey(&e))}] = true
		_, fix := e.Body.(event.Fix)
		_, clock := e.Body.(event.Clock)
		if fix || clock || string(tripKey(&e)) != string(k) || string(about(&e)) != string(of) || string(e.Kind()) != kind {
			refile = append(refile, e)
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for w := range wrote {
		if _, err := tx.ExecContext(ctx, `insert into wrote (device, trip) values (?, ?)`, w[0], []byte(w[1])); err != nil {
			return err
		}
	}
	for i := range refile {
		if err := a.file(ctx, &refile[i]); err != nil {
			return err
		}
	}
	if err := a.resettle(ctx); err != nil {
		return err
	}
	if err := a.mark(ctx); err != nil {
		return err
	}
	for _, q := range []string{`select trip from event`, `select trip from outing`, `select trip from move`} {
		if _, err := tx.ExecContext(ctx, `insert or ignore into stale `+q); err != nil {
			return err
		}
	}
	return nil
}
