package logbook

import (
	"context"
	"database/sql"
	"encoding/json/v2"
	"errors"
	"fmt"
	"math"
	"slices"

	"sternfan/event"

	"sternfan"
	"sternfan/trip"
)

// head is what an outing has beside its effort and catches.
type head struct {
	trip.State
	By      string          `json:"by"`
	From    int64           `json:"from_ms"`
	To      int64           `json:"to_ms"`
	East    int32           `json:"east_s"`
	Where   *sternfan.Place `json:"where,omitzero"`
	Way     way             `json:"way,omitempty"`
	Joined  []trip.Joined   `json:"joined,omitempty"`
	Notices []trip.Notice   `json:"notices,omitempty"`
	Events  int             `json:"events"`
}

// way is where the boat was: milliseconds, and millionths of a degree north and east, each
// less the one before.
type way []int64

const perDegree = 1e6

func wayOf(spots []trip.Spot) way {
	var out way
	var last [3]int64
	for _, s := range spots {
		now := [3]int64{s.At, int64(math.Round(s.Lat * perDegree)), int64(math.Round(s.Lon * perDegree))}
		for i, v := range now {
			out = append(out, v-last[i])
		}
		last = now
	}
	return out
}

func (w way) spots() []trip.Spot {
	var out []trip.Spot
	var now [3]int64
	for ; len(w) >= 3; w = w[3:] {
		for i := range now {
			now[i] += w[i]
		}
		out = append(out, trip.Spot{At: now[0], Lat: float64(now[1]) / perDegree, Lon: float64(now[2]) / perDegree})
	}
	return out
}

// setupCache knows the setups of the database by text and by number.
type setupCache struct {
	byText map[string]uint64
	byID   []*sternfan.Setup // from 1
}

// loadSetups reads the setups that are new since the last time.
func (c *setupCache) load(ctx context.Context, q queryer) error {
	rows, err := q.QueryContext(ctx, `select id, attributes from setup where id >= ? order by id`, len(c.byID))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id uint64
		var text string
		if err := rows.Scan(&id, &text); err != nil {
			return err
		}
		s := &sternfan.Setup{}
		if err := json.Unmarshal([]byte(text), &s.Attributes); err != nil {
			return err
		}
		for uint64(len(c.byID)) <= id {
			c.byID = append(c.byID, nil)
		}
		c.byID[id], c.byText[text] = s, id
	}
	return rows.Err()
}

// cache returns the setups, made when first needed. The caller holds mu.
func (l *Log) cache() *setupCache {
	if l.setups == nil {
		l.setups = &setupCache{byText: map[string]uint64{}, byID: make([]*sternfan.Setup, 1)}
	}
	return l.setups
}

// Refresh brings up every projection that events have left behind. Reading does so too;
// this is for doing it ahead of time, after many events were added.
func (l *Log) Refresh(ctx context.Context) error {
	for {
		n, err := l.refresh(ctx, refreshBatch)
		if err != nil || n == 0 {
			return l.explain(err)
		}
	}
}

// refreshBatch is how many trips are brought up in one transaction: other writers wait
// for as long.
const refreshBatch = 200

// refreshFew brings up a few projections, and none if there are many.
func (l *Log) refreshFew() error {
	ctx := context.Background()
	var n int
	if err := l.write.QueryRowContext(ctx, `select count(*) from (select 1 from stale limit 21)`).Scan(&n); err != nil || n == 0 || n > 20 {
		return nil // it is no fault of closing that a disk was pulled out
	}
	if _, err := l.refresh(ctx, n); err != nil && !errors.Is(l.explain(err), ErrFull) {
		return err
	}
	return nil
}

func (l *Log) refresh(ctx context.Context, most int) (int, error) {
	var some bool
	if err := l.read.QueryRowContext(ctx, `select exists (select 1 from stale)`).Scan(&some); err != nil || !some {
		return 0, err
	}
	if l.readOnly {
		return 0, fmt.Errorf("%s has trips that were never added up; open it for writing once", l.path)
	}
	tx, err := l.write.BeginTx(ctx, nil)
	if err != nil {
		return 0, err
	}
	defer tx.Rollback()
	rows, err := tx.QueryContext(ctx, `select trip from stale limit ?`, most)
	if err != nil {
		return 0, err
	}
	var keys [][]byte
	if err := each(rows, func(k []byte) { keys = append(keys, k) }); err != nil {
		return 0, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, k := range keys {
		if err := l.project(ctx, tx, k); err != nil {
			l.setups = nil // may hold numbers of a transaction that is undone
			return 0, err
		}
	}
	if err := tx.Commit(); err != nil {
		l.setups = nil
		return 0, err
	}
	return len(keys), nil
}

func tripID(k []byte) event.ID {
	if len(k) != 16 {
		return event.ID{}
	}
	return event.ID(k)
}

// packed is a projection as the database keeps it.
type packed struct {
	head, catches string
	effort        []byte
	outing        *trip.Outing
}

// work makes a trip's projection from its events. The caller holds mu.
func (l *Log) work(ctx context.Context, tx *sql.Tx, k []byte) (*packed, error) {
	events, err := l.tripEvents(ctx, tx, k)
	if err != nil {
		return nil, err
	}
	o := trip.Project(tripID(k), events)
	out := &packed{outing: o}
	if o.Events == 0 {
		return out, nil
	}
	encode := func(v any) string {
		text, failed := json.Marshal(v, json.Deterministic(true))
		err = errors.Join(err, failed)
		return string(text)
	}
	out.head = encode(head{o.State, o.By, o.From, o.To, o.East, o.Where, wayOf(o.Way), o.Joined, o.Notices, o.Events})
	out.catches = encode(o.Strikes)
	if err != nil {
		return nil, err
	}
	out.effort, err = pack(o.Stints, func(s *sternfan.Setup) (uint64, error) { return l.setupNumber(ctx, tx, s) })
	return out, err
}

func (l *Log) project(ctx context.Context, tx *sql.Tx, k []byte) error {
	p, err := l.work(ctx, tx, k)
	if err != nil {
		return err
	}
	if p.outing.Events == 0 {
		if _, err := tx.ExecContext(ctx, `delete from outing where trip = ?`, k); err != nil {
			return err
		}
	} else if _, err := tx.ExecContext(ctx, `insert or replace into outing (trip, from_ms, stints, head, catches, effort) values (?, ?, ?, ?, ?, ?)`,
		k, p.outing.From, len(p.outing.Stints), p.head, p.catches, p.effort); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `delete from stale where trip = ?`, k)
	return err
}

// setupNumber returns the number of a setup, which it adds when it is new.
func (l *Log) setupNumber(ctx context.Context, tx *sql.Tx, s *sternfan.Setup) (uint64, error) {
	c := l.cache()
	text, err := json.Marshal(s.Attributes, json.Deterministic(true))
	if err != nil {
		return 0, err
	}
	if n, ok := c.byText[string(text)]; ok {
		return n, nil
	}
	// Another program may have added it, and others before it.
	if err := c.load(ctx, tx); err != nil {
		return 0, err
	}
	if n, ok := c.byText[string(text)]; ok {
		return n, nil
	}
	if _, err := tx.ExecContext(ctx, `insert into setup (id, attributes) values (?, ?)`, len(c.byID), string(text)); err != nil {
		return 0, err
	}
	n := uint64(len(c.byID))
	c.byID = append(c.byID, s)
	c.byText[string(text)] = n
	return n, nil
}

// Stints returns the effort of the whole log, by trip, rod and time, for comparing rates.
// Stints that fished the same share their setup.
func (l *Log) Stints(ctx context.Context) ([]sternfan.Stint, error) {
	var out []sternfan.Stint
	err := l.efforts(ctx, func(k, effort []byte, setups []*sternfan.Setup, shared words) (err error) {
		out, err = unpack(out, effort, tripName(k), setups, shared)
		return err
	})
	return out, l.explain(err)
}

// EachStint hands over what [Log.Stints] returns, one stint at a time and without the ids
// of strikes: a large log's effort then takes no more room than what is made of it. The
// stint is written over by the next one. An error of the function ends it.
func (l *Log) EachStint(ctx context.Context, do func(*sternfan.Stint) error) error {
	var s sternfan.Stint
	err := l.efforts(ctx, func(k, effort []byte, setups []*sternfan.Setup, shared words) error {
		return unpackEach(effort, tripName(k), setups, shared, &s, false, do)
	})
	return l.explain(err)
}

// efforts reads the packed effort of every trip.
func (l *Log) efforts(ctx context.Context, do func(k, effort []byte, setups []*sternfan.Setup, shared words) error) error {
	return l.snapshot(ctx, func(tx *sql.Tx, setups []*sternfan.Setup) error {
		shared := words{}
		rows, err := tx.QueryContext(ctx, `select trip, effort from outing order by from_ms`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var k, effort sql.RawBytes
			if err := rows.Scan(&k, &effort); err != nil {
				return err
			}
			switch err := do(k, effort, setups, shared); {
			case errors.Is(err, errPacked):
				return l.stalePack(k, err)
			case err != nil:
				return err
			}
		}
		return rows.Err()
	})
}

func tripName(k []byte) string {
	if id := tripID(k); !id.IsZero() {
		return id.String()
	}
	return ""
}

func (l *Log) stalePack(k []byte, err error) error {
	return fmt.Errorf("the effort of trip %s: %w; sternfan log verify --rebuild makes it again", tripName(k), err)
}

// snapshot brings projections up and reads within one transaction.
func (l *Log) snapshot(ctx context.Context, do func(tx *sql.Tx, setups []*sternfan.Setup) error) error {
	if err := l.Refresh(ctx); err != nil {
		return err
	}
	tx, err := l.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return err
	}
	defer tx.Rollback()
	l.mu.Lock()
	c := l.cache()
	err = c.load(ctx, tx)
	setups := c.byID
	l.mu.Unlock()
	if err != nil {
		return err
	}
	return do(tx, setups)
}

// Outing returns one trip worked out. The error wraps [ErrNoEvent] when the log has none
// of it.
func (l *Log) Outing(ctx context.Context, id event.ID) (*trip.Outing, error) {
	all, err := l.outings(ctx, `where trip = ?`, key(id))
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("trip %s: %w", id, ErrNoEvent)
	}
	if err != nil {
		return nil, err
	}
	return all[0], nil
}

// Outings returns the trips that began from one moment up to another, in milliseconds
// since 1970, in order of time.
func (l *Log) Outings(ctx context.Context, from, to int64) ([]*trip.Outing, error) {
	return l.outings(ctx, `where from_ms >= ? and from_ms < ? order by from_ms, trip`, from, to)
}

// Latest returns the trip that began last, nil in an empty log.
func (l *Log) Latest(ctx context.Context) (*trip.Outing, error) {
	all, err := l.outings(ctx, `where trip <> x'' order by from_ms desc, trip desc limit 1`)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	return all[0], nil
}

func (l *Log) outings(ctx context.Context, where string, args ...any) ([]*trip.Outing, error) {
	var out []*trip.Outing
	err := l.eachOuting(ctx, func(o *trip.Outing) error {
		out = append(out, o)
		return nil
	}, where, args...)
	return slices.Clip(out), err
}

// EachOuting hands over all trips in order of time, one after another, so that a large log
// takes no more room than what is made of it. An error of the function ends it.
func (l *Log) EachOuting(ctx context.Context, do func(*trip.Outing) error) error {
	return l.eachOuting(ctx, do, `order by from_ms, trip`)
}

func (l *Log) eachOuting(ctx context.Context, do func(*trip.Outing) error, where string, args ...any) error {
	err := l.snapshot(ctx, func(tx *sql.Tx, setups []*sternfan.Setup) error {
		shared := words{}
		rows, err := tx.QueryContext(ctx, `select trip, head, catches, effort from outing `+where, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var k, headText, catches, effort sql.RawBytes
			if err := rows.Scan(&k, &headText, &catches, &effort); err != nil {
				return err
			}
			var h head
			if err := json.Unmarshal(headText, &h); err != nil {
				return l.stalePack(k, err)
			}
			o := &trip.Outing{
				State: h.State, By: h.By, From: h.From, To: h.To, East: h.East, Where: h.Where,
				Way: h.Way.spots(), Joined: h.Joined, Notices: h.Notices, Events: h.Events,
			}
			if err := json.Unmarshal(catches, &o.Strikes); err != nil {
				return l.stalePack(k, err)
			}
			if o.Stints, err = unpack(nil, effort, tripName(k), setups, shared); err != nil {
				return l.stalePack(k, err)
			}
			if err := do(o); err != nil {
				return err
			}
		}
		return rows.Err()
	})
	return l.explain(err)
}
