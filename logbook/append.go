package logbook

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"sternfan/event"

	"sternfan"
)

// Append adds the events that the log does not have, all of them or, with an error, none,
// and returns how many those were. When it returns they are on the disk. Events may come
// in any order and any number of times. The error is a [sternfan.Faults] when an event is
// not as it should be, and wraps [ErrFull] when the disk is full.
func (l *Log) Append(ctx context.Context, events ...event.Event) (added int, err error) {
	if len(events) == 0 {
		return 0, nil
	}
	var faults sternfan.Faults
	texts := make([]string, len(events))
	for i := range events {
		if fs := event.Check(&events[i]); len(fs) > 0 {
			for k := range fs {
				fs[k].Path = fmt.Sprintf("events[%d].%s", i, fs[k].Path)
			}
			faults = append(faults, fs...)
			continue
		}
		texts[i] = events[i].Text()
	}
	if len(faults) > 0 {
		return 0, faults
	}
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return 0, l.explain(err)
	}
	defer tx.Rollback()
	a, err := newAppender(ctx, tx)
	if err != nil {
		return 0, l.explain(err)
	}
	for i := range events {
		new, err := a.add(ctx, &events[i], texts[i])
		if err != nil {
			return 0, l.explain(err)
		}
		if new {
			added++
		}
	}
	if err := a.mark(ctx); err != nil {
		return 0, l.explain(err)
	}
	if err := tx.Commit(); err != nil {
		return 0, l.explain(err)
	}
	l.mu.Lock()
	for i := range events {
		l.ids.Saw(events[i].ID)
	}
	l.mu.Unlock()
	return added, nil
}

// appender adds events within one transaction.
type appender struct {
	tx     *sql.Tx
	insert *sql.Stmt
	moves  bool // some event was moved to another trip
	grown  bool // some event is one that programs before events could grow do not read
	stale  map[string]bool
	wrote  map[[2]string]bool
}

func newAppender(ctx context.Context, tx *sql.Tx) (*appender, error) {
	a := &appender{tx: tx, stale: map[string]bool{}, wrote: map[[2]string]bool{}}
	var err error
	a.insert, err = tx.PrepareContext(ctx, `insert into event (id, trip, of, kind, json) values (?, ?, ?, ?, ?) on conflict (id) do nothing`)
	if err != nil {
		return nil, err
	}
	err = tx.QueryRowContext(ctx, `select exists (select 1 from move)`).Scan(&a.moves)
	return a, err
}

// none is the key of events that belong to no trip.
var none = []byte{}

// key returns a trip's key in the database.
func key(id event.ID) []byte {
	if id.IsZero() {
		return none
	}
	return id[:]
}

func tripKey(e *event.Event) []byte {
	if _, begins := e.Body.(event.TripBegins); begins {
		return e.ID[:]
	}
	return key(e.Trip)
}

// about returns the event that one is about, for those that have no life of their own.
func about(e *event.Event) []byte {
	switch b := e.Body.(type) {
	case event.Fix:
		return b.Of[:]
	case event.Solved:
		return b.Of[:]
	}
	return nil
}

func (a *appender) add(ctx context.Context, e *event.Event, text string) (new bool, err error) {
	of := about(e)
	res, err := a.insert.ExecContext(ctx, e.ID[:], tripKey(e), of, string(e.Kind()), text)
	if err != nil {
		return false, err
	}
	n, err := res.RowsAffected()
	if err != nil {
		return false, err
	}
	if n == 0 {
		return false, a.clash(ctx, e, text)
	}
	return true, a.index(ctx, e, of)
}

// index keeps what the event means for projections.
func (a *appender) index(ctx context.Context, e *event.Event, of []byte) error {
	k := tripKey(e)
	a.grown = a.grown || e.Grown()
	a.stale[string(k)] = true
	if w := [2]string{e.By, string(k)}; !a.wrote[w] {
		a.wrote[w] = true
		if _, err := a.tx.ExecContext(ctx, `insert or ignore into wrote (device, trip) values (?, ?)`, e.By, k); err != nil {
			return err
		}
	}
	switch b := e.Body.(type) {
	case event.Fix:
		if b.Trip != nil {
			a.moves = true
			a.stale[string(key(*b.Trip))] = true
			if _, err := a.tx.ExecContext(ctx, `insert or ignore into move (fix, of, trip) values (?, ?, ?)`, e.ID[:], b.Of[:], key(*b.Trip)); err != nil {
				return err
			}
		}
	case event.Clock:
		if !e.Trip.IsZero() {
			break
		}
		if _, err := a.tx.ExecContext(ctx, `insert or ignore into clock (id, of) values (?, ?)`, e.ID[:], b.Of); err != nil {
			return err
		}
		if _, err := a.tx.ExecContext(ctx, `insert or ignore into stale select trip from wrote where device = ? union select trip from move`, b.Of); err != nil {
			return err
		}
	}
	if of != nil || a.moves {
		return a.reach(ctx, e.ID[:], of)
	}
	return nil
}

// reach marks the trips on which an event has a bearing through others: along what it is
// about, and where those were moved to.
func (a *appender) reach(ctx context.Context, id, of []byte) error {
	const deepest = 1000 // corrections of corrections
	for range deepest {
		rows, err := a.tx.QueryContext(ctx, `select trip from move where of = ?1 or fix = ?1`, id)
		if err != nil {
			return err
		}
		if err := each(rows, func(trip []byte) { a.stale[string(trip)] = true }); err != nil {
			return err
		}
		if of == nil {
			return nil
		}
		var k, next []byte
		var kind, device string
		err = a.tx.QueryRowContext(ctx, `select trip, of, kind, json ->> 'by' from event where id = ?`, of).Scan(&k, &next, &kind, &device)
		if errors.Is(err, sql.ErrNoRows) {
			return nil // the event has yet to arrive, and its trip will be stale then
		}
		if err != nil {
			return err
		}
		a.stale[string(k)] = true
		if kind == string(event.KindClock) {
			// A clock taken back: wherever its device wrote.
			if _, err := a.tx.ExecContext(ctx, `insert or ignore into stale select trip from wrote where device = (select of from clock where id = ?)`, of); err != nil {
				return err
			}
		}
		id, of = of, next
	}
	return nil
}

// each reads a column of keys. The driver returns nothing for the empty key, which would
// go back as a null and match no row.
func each(rows *sql.Rows, do func([]byte)) error {
	defer rows.Close()
	for rows.Next() {
		var b []byte
		if err := rows.Scan(&b); err != nil {
			return err
		}
		if b == nil {
			b = none
		}
		do(b)
	}
	return rows.Err()
}

// clash settles an event whose id the log has: nothing if it is the same event, else the
// one that stands everywhere stays, and the other is kept aside.
func (a *appender) clash(ctx context.Context, e *event.Event, text string) error {
	var have string
	if err := a.tx.QueryRowContext(ctx, `select json from event where id = ?`, e.ID[:]).Scan(&have); err != nil || have == text {
		return err
	}
	old, err := decode(have)
	if err != nil {
		return err
	}
	loser := text
	switch order := bytes.Compare(e.Canonical(), old.Canonical()); {
	case order == 0:
		return nil
	case order < 0:
		loser = have
		a.stale[string(tripKey(&old))] = true
		if err := a.reach(ctx, old.ID[:], about(&old)); err != nil {
			return err
		}
		if err := a.forget(ctx, &old); err != nil {
			return err
		}
		if _, err := a.tx.ExecContext(ctx, `update event set json = ? where id = ?`, text, e.ID[:]); err != nil {
			return err
		}
		if err := a.file(ctx, e); err != nil {
			return err
		}
	}
	return a.aside(ctx, e.ID, loser)
}

// file files an event that is there under what it says.
func (a *appender) file(ctx context.Context, e *event.Event) error {
	of := about(e)
	if _, err := a.tx.ExecContext(ctx, `update event set trip = ?, of = ?, kind = ? where id = ?`, tripKey(e), of, string(e.Kind()), e.ID[:]); err != nil {
		return err
	}
	return a.index(ctx, e, of)
}

// resettle settles anew what was kept aside.
func (a *appender) resettle(ctx context.Context) error {
	rows, err := a.tx.QueryContext(ctx, `delete from clash returning json`)
	if err != nil {
		return err
	}
	var texts []string
	if err := each(rows, func(b []byte) { texts = append(texts, string(b)) }); err != nil {
		return err
	}
	for _, text := range texts {
		e, err := decode(text)
		if err != nil {
			return err
		}
		if _, err := a.add(ctx, &e, text); err != nil {
			return err
		}
	}
	return nil
}

// aside keeps an event that another stands before, once.
func (a *appender) aside(ctx context.Context, id event.ID, text string) error {
	rows, err := a.tx.QueryContext(ctx, `select json from clash where id = ?`, id[:])
	if err != nil {
		return err
	}
	var have []string
	if err := each(rows, func(b []byte) { have = append(have, string(b)) }); err != nil {
		return err
	}
	one, err := decode(text)
	if err != nil {
		return err
	}
	for _, other := range have {
		if o, err := decode(other); err == nil && event.Same(&o, &one) {
			return nil
		}
	}
	_, err = a.tx.ExecContext(ctx, `insert or ignore into clash (id, json) values (?, ?)`, id[:], text)
	return err
}

// forget takes back what was noted of an event.
func (a *appender) forget(ctx context.Context, e *event.Event) error {
	if _, err := a.tx.ExecContext(ctx, `delete from move where fix = ?`, e.ID[:]); err != nil {
		return err
	}
	if c, ok := e.Body.(event.Clock); ok {
		if _, err := a.tx.ExecContext(ctx, `insert or ignore into stale select trip from wrote where device = ?`, c.Of); err != nil {
			return err
		}
	}
	_, err := a.tx.ExecContext(ctx, `delete from clock where id = ?`, e.ID[:])
	return err
}

// mark writes down which projections the events have left behind, and what format the log
// has by them.
func (a *appender) mark(ctx context.Context) error {
	if a.grown {
		if err := raiseFormat(ctx, a.tx); err != nil {
			return err
		}
	}
	if err := a.joined(ctx); err != nil {
		return err
	}
	insert, err := a.tx.PrepareContext(ctx, `insert or ignore into stale (trip) values (?)`)
	if err != nil {
		return err
	}
	for k := range a.stale {
		if _, err := insert.ExecContext(ctx, append([]byte{}, k...)); err != nil {
			return err
		}
	}
	return nil
}

// joined marks the trips that those marked were joined to: they hold the events.
func (a *appender) joined(ctx context.Context) error {
	if !a.moves {
		return nil
	}
	var keys []string
	for k := range a.stale {
		keys = append(keys, k)
	}
	for len(keys) > 0 {
		k := keys[len(keys)-1]
		keys = keys[:len(keys)-1]
		rows, err := a.tx.QueryContext(ctx, `select trip from move where of = ?`, []byte(k))
		if err != nil {
			return err
		}
		if err := each(rows, func(to []byte) {
			if !a.stale[string(to)] {
				a.stale[string(to)] = true
				keys = append(keys, string(to))
			}
		}); err != nil {
			return err
		}
	}
	return nil
}
