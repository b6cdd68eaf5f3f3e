package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"sternfan/event"
)

// Filter says which events to read; the zero Filter is all.
type Filter struct {
	Trip  *event.ID // of this trip; the zero id is those of none
	Rod   string
	Kinds []event.Kind
	Since int64 // after this place in the order of arrival
	Limit int   // 0: all
}

// Arrived is an event with its place in the order of arrival, which differs from log to
// log: for handing on what is new.
type Arrived struct {
	Seq int64
	event.Event
}

// Each reads the events of a filter in the order of arrival, one at a time, until the
// function says no.
func (l *Log) Each(ctx context.Context, f Filter, do func(Arrived) bool) error {
	var where []string
	var args []any
	add := func(clause string, values ...any) {
		where = append(where, clause)
		args = append(args, values...)
	}
	if f.Trip != nil {
		add("trip = ?", key(*f.Trip))
	}
	if f.Rod != "" {
		add("json ->> 'rod' = ?", f.Rod)
	}
	if len(f.Kinds) > 0 {
		var values []any
		for _, k := range f.Kinds {
			values = append(values, string(k))
		}
		add("kind in (?"+strings.Repeat(", ?", len(values)-1)+")", values...)
	}
	if f.Since > 0 {
		add("seq > ?", f.Since)
	}
	query := "select seq, json from event"
	if len(where) > 0 {
		query += " where " + strings.Join(where, " and ")
	}
	query += " order by seq"
	if f.Limit > 0 {
		query += fmt.Sprintf(" limit %d", f.Limit)
	}
	rows, err := l.read.QueryContext(ctx, query, args...)
	if err != nil {
		return l.explain(err)
	}
	defer rows.Close()
	for rows.Next() {
		var a Arrived
		var text sql.RawBytes
		if err := rows.Scan(&a.Seq, &text); err != nil {
			return l.explain(err)
		}
		if a.Event, err = l.decode(text); err != nil {
			return err
		}
		if !do(a) {
			return nil
		}
	}
	return l.explain(rows.Err())
}

// Events returns the events of a filter in the order of arrival.
func (l *Log) Events(ctx context.Context, f Filter) ([]event.Event, error) {
	var out []event.Event
	err := l.Each(ctx, f, func(a Arrived) bool {
		out = append(out, a.Event)
		return true
	})
	return out, err
}

// Event returns one event as it was written, and everything that corrects or solves it.
// The error wraps [ErrNoEvent] when the log does not have it.
func (l *Log) Event(ctx context.Context, id event.ID) (event event.Event, about []event.Event, err error) {
	all, err := l.queryEvents(ctx, l.read, `
		with recursive s(id) as (
			select ?1 union select e.id from event e join s on e.of = s.id)
		select e.json from s join event e on e.id = s.id order by e.id = ?1 desc, e.id`, id[:])
	if err != nil {
		return event, nil, err
	}
	if len(all) == 0 || all[0].ID != id {
		return event, nil, fmt.Errorf("%s: %w", id, ErrNoEvent)
	}
	return all[0], all[1:], nil
}

// TripEvents returns everything that has a bearing on a trip: its events, those moved to
// it, those of trips joined to it, whatever corrects or solves them, and the clocks of its devices. It is what
// [trip.Project] needs.
func (l *Log) TripEvents(ctx context.Context, id event.ID) ([]event.Event, error) {
	return l.tripEvents(ctx, l.read, key(id))
}

type queryer interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

const tripQuery = `
	with recursive t(trip) as (
		select ?1
		union select m.of from t cross join move m on m.trip = t.trip
			join event b on b.id = m.of and b.kind = 'trip-begins'),
	s(id) as (
		select e.id from t cross join event e on e.trip = t.trip
		union select m.of from t cross join move m on m.trip = t.trip
		union select id from clock
		union select e.id from event e join s on e.of = s.id)
	select e.json from s join event e on e.id = s.id
	union all
	select c.json from s join clash c on c.id = s.id`

func (l *Log) tripEvents(ctx context.Context, q queryer, k []byte) ([]event.Event, error) {
	return l.queryEvents(ctx, q, tripQuery, k)
}

func (l *Log) queryEvents(ctx context.Context, q queryer, query string, args ...any) ([]event.Event, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, l.explain(err)
	}
	defer rows.Close()
	var out []event.Event
	for rows.Next() {
		var text sql.RawBytes
		if err := rows.Scan(&text); err != nil {
			return nil, l.explain(err)
		}
		e, err := l.decode(text)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, l.explain(rows.Err())
}

// decode reads an event that was checked when it was added: by an earlier version, maybe,
// to which something was unknown that is refused by now.
func decode[T string | []byte | sql.RawBytes](text T) (event.Event, error) {
	e, err := event.Decode([]byte(text))
	if err != nil {
		if sealed, ok := event.Seal([]byte(text)); ok {
			return sealed, nil
		}
	}
	return e, err
}

func (l *Log) decode(text []byte) (event.Event, error) {
	e, err := decode(text)
	if err != nil {
		return e, &Error{Path: l.path, Err: ErrDamaged, Cause: err, Hint: "an event in it cannot be read: " + err.Error()}
	}
	return e, nil
}

// Last returns the place of the last event in the order of arrival, 0 for an empty log.
func (l *Log) Last(ctx context.Context) (int64, error) {
	var seq sql.NullInt64
	err := l.read.QueryRowContext(ctx, `select max(seq) from event`).Scan(&seq)
	return seq.Int64, l.explain(err)
}

// Find returns the id of the one event that begins with the given characters, so that a
// person need not type all 26. ErrNoEvent when there is none.
func (l *Log) Find(ctx context.Context, prefix string) (event.ID, error) {
	if id, err := event.ParseID(prefix); err == nil {
		return id, nil
	}
	lo, errLo := event.ParseID(pad(prefix, '0'))
	hi, errHi := event.ParseID(pad(prefix, 'Z'))
	if errLo != nil || errHi != nil || prefix == "" {
		return event.ID{}, fmt.Errorf("%q is no beginning of an event's id", prefix)
	}
	rows, err := l.read.QueryContext(ctx, `select id from event where id between ? and ? limit 2`, lo[:], hi[:])
	if err != nil {
		return event.ID{}, l.explain(err)
	}
	var found []event.ID
	if err := each(rows, func(b []byte) { found = append(found, event.ID(b)) }); err != nil {
		return event.ID{}, l.explain(err)
	}
	switch len(found) {
	case 0:
		return event.ID{}, fmt.Errorf("%s: %w", prefix, ErrNoEvent)
	case 1:
		return found[0], nil
	}
	return event.ID{}, errors.New(prefix + " is the beginning of several events; give more of it")
}

func pad(prefix string, with byte) string {
	if len(prefix) > 26 {
		return prefix
	}
	return prefix + strings.Repeat(string(with), 26-len(prefix))
}
