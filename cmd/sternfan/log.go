package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"sternfan/event"

	"sternfan"
	"sternfan/logbook"
	"sternfan/report"
	"sternfan/trip"
	"sternfan/unit"
)

type logCmd struct {
	List   logListCmd   `cmd:"" help:"The trips in the log, or the events of one."`
	Show   logShowCmd   `cmd:"" help:"One trip added up, with what is out now; or one event with its corrections."`
	Add    logAddCmd    `cmd:"" help:"Write down what happens: a trip begins, a line is set, a strike."`
	Fix    logFixCmd    `cmd:"" help:"Correct an event. What was written stays, and so does the correction."`
	Join   logJoinCmd   `cmd:"" help:"Two trips begun apart, on two devices, are one."`
	Import logImportCmd `cmd:"" help:"Take in another device's log, or a CSV file by a mapping."`
	Export logExportCmd `cmd:"" help:"Write strikes or effort as CSV, strikes as GPX or GeoJSON, or every event."`
	Backup logBackupCmd `cmd:"" help:"Copy the whole log to a new file, also while it is in use."`
	Verify logVerifyCmd `cmd:"" help:"Check the file, every event, and that what is worked out is what the events say."`
	Day    logDayCmd    `cmd:"" help:"A day's sheet: hours, anglers, kept and released by species. Local rules decide what must be reported."`
}

// logFlags say which log.
type logFlags struct {
	Log string `env:"STERNFAN_LOG" placeholder:"FILE" help:"The log's file; by default sternfan/log.db in your settings folder. Also STERNFAN_LOG."`
}

func (f *logFlags) path() (string, error) {
	if f.Log != "" {
		return f.Log, nil
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", &usageError{"there is no settings folder to keep the log in", "name the log's file with --log FILE"}
	}
	return filepath.Join(dir, "sternfan", "log.db"), nil
}

// use opens the log, and closes it when the work is done.
func (f *logFlags) use(ctx context.Context, opt logbook.Options, work func(*logbook.Log) error) (err error) {
	path, err := f.path()
	if err != nil {
		return err
	}
	l, err := logbook.Open(ctx, path, opt)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close()) }()
	return work(l)
}

// old opens a log that is there already.
func (f *logFlags) old(ctx context.Context, work func(*logbook.Log) error) error {
	path, err := f.path()
	if err != nil {
		return err
	}
	if _, err := os.Stat(path); err != nil {
		return &usageError{"there is no log at " + path, "begin a trip with sternfan log add begin, or name the log with --log FILE"}
	}
	return f.use(ctx, logbook.Options{}, work)
}

// eventFlags are the flags of every event.
type eventFlags struct {
	logFlags
	At    string `placeholder:"TIME" help:"When, if not now: 06:12 on the trip's day, '2026-07-04 06:12', or with an offset as in 2026-07-04T06:12:00-04:00."`
	By    string `env:"STERNFAN_BY" placeholder:"NAME" help:"Who or what writes this; by default the log's own name."`
	Trip  string `placeholder:"ID" help:"The trip, if not the latest."`
	Where string `placeholder:"LAT,LON" help:"Where the boat is, in degrees, as in 43.512,-77.204 (south and west negative)."`
}

// entry is an event being written.
type entry struct {
	ctx  context.Context
	log  *logbook.Log
	w    *world
	trip *trip.Outing // nil: none yet
	at   event.Instant
	by   string
	here *sternfan.Place

	settled *trip.Settled
	state   *trip.State
}

// write opens the log and prepares an event; underWay asks for a trip that has not ended.
func (f *eventFlags) write(ctx context.Context, w *world, underWay bool, work func(*entry) error) error {
	return f.use(ctx, logbook.Options{}, func(l *logbook.Log) error {
		e := &entry{ctx: ctx, log: l, w: w}
		var err error
		if e.by = f.By; e.by == "" {
			if e.by, err = l.Device(ctx); err != nil {
				return err
			}
		}
		if f.Where != "" {
			if e.here, err = parsePlace(f.Where); err != nil {
				return err
			}
		}
		if underWay {
			if e.trip, err = tripOf(ctx, l, f.Trip); err != nil {
				return err
			}
			if e.trip.Ended && f.Trip == "" {
				return &usageError{fmt.Sprintf("the last trip (%s, %s) has ended", e.trip.Day(), tripTitle(e.trip)),
					"begin one with sternfan log add begin, or name a trip with --trip " + report.ShortID(e.trip.Trip)}
			}
		}
		if underWay && e.trip.Ended && f.At == "" {
			return &usageError{"the trip has ended, so now is no moment of it", "say when it was with --at, as in --at 06:12"}
		}
		if e.at, err = parseAtTime(f.At, e.trip, w.clock()); err != nil {
			return err
		}
		return work(e)
	})
}

// clock returns the time of day.
func (w *world) clock() time.Time {
	if w.now == nil {
		return time.Now()
	}
	return w.now()
}

// tripOf returns the trip by the beginning of its id, or the latest.
func tripOf(ctx context.Context, l *logbook.Log, id string) (*trip.Outing, error) {
	if id == "" {
		o, err := l.Latest(ctx)
		if err == nil && o == nil {
			err = &usageError{"the log has no trip yet", "begin one with sternfan log add begin"}
		}
		return o, err
	}
	full, err := l.Find(ctx, id)
	if err != nil {
		return nil, wrongID(err)
	}
	o, err := l.Outing(ctx, full)
	if errors.Is(err, logbook.ErrNoEvent) {
		return nil, &usageError{id + " is no trip", "sternfan log list shows the trips"}
	}
	return o, err
}

func wrongID(err error) error {
	return &usageError{err.Error(), "sternfan log list --events shows the ids"}
}

func tripTitle(o *trip.Outing) string {
	for _, s := range []string{o.Begins.Name, o.Begins.Boat} {
		if s != "" {
			return s
		}
	}
	return "no name"
}

// parseAtTime reads --at: by itself a time of day is one of the trip's day, in its local
// time.
func parseAtTime(text string, o *trip.Outing, now time.Time) (event.Instant, error) {
	if text == "" {
		return event.InstantOf(now), nil
	}
	zone, day := now.Location(), now.Format(time.DateOnly)
	if o != nil {
		zone, day = time.FixedZone("", int(o.East)), o.Day()
	}
	if at, err := event.ParseInstant(text); err == nil {
		return at, nil
	}
	for _, layout := range []string{"15:04", "15:04:05"} {
		if at, err := time.ParseInLocation("2006-01-02 "+layout, day+" "+text, zone); err == nil {
			return event.InstantOf(at), nil
		}
		if at, err := time.ParseInLocation("2006-01-02 "+layout, text, zone); err == nil {
			return event.InstantOf(at), nil
		}
	}
	return event.Instant{}, &usageError{fmt.Sprintf("--at %q is no time", text),
		"write it as 06:12, '2026-07-04 06:12' or 2026-07-04T06:12:00-04:00"}
}

func parsePlace(text string) (*sternfan.Place, error) {
	lat, lon, found := strings.Cut(text, ",")
	var p sternfan.Place
	var errLat, errLon error
	p.Lat, errLat = strconv.ParseFloat(strings.TrimSpace(lat), 64)
	p.Lon, errLon = strconv.ParseFloat(strings.TrimSpace(lon), 64)
	if !found || errLat != nil || errLon != nil {
		return nil, &usageError{fmt.Sprintf("--where %q is no position", text), "write degrees as in 43.512,-77.204"}
	}
	return &p, nil
}

// make returns an event at the entry's moment.
func (e *entry) make(rod string, body event.Body) event.Event {
	made := event.Event{ID: e.log.NewID(e.w.clock().UnixMilli()), At: e.at, By: e.by, Rod: rod, Where: e.here, Body: body}
	if e.trip != nil {
		made.Trip = e.trip.Trip
	}
	return made
}

// add appends events and says so.
func (e *entry) add(events ...event.Event) error {
	if _, err := e.log.Append(e.ctx, events...); err != nil {
		return flagFaults(err)
	}
	for i := range events {
		if err := e.say(&events[i]); err != nil {
			return err
		}
	}
	return nil
}

// flagFaults takes the inner paths out of the faults of an event that was put together
// from flags.
func flagFaults(err error) error {
	var faults sternfan.Faults
	if !errors.As(err, &faults) {
		return err
	}
	out := make(sternfan.Faults, len(faults))
	for i, f := range faults {
		_, f.Path, _ = strings.Cut(f.Path, ".")
		f.Path = strings.TrimPrefix(f.Path, "body.")
		out[i] = f
	}
	return out
}

func (e *entry) say(event *event.Event) error {
	_, err := fmt.Fprintf(e.w.stdout, "%s  %s  %s\n", event.At.Time().Format("15:04"), report.ShortID(event.ID), report.EventWords(event, unit.US))
	return err
}

// at returns the trip's state at the entry's moment.
func (e *entry) now() (*trip.State, error) {
	if e.state != nil {
		return e.state, nil
	}
	events, err := e.log.TripEvents(e.ctx, e.trip.Trip)
	if err != nil {
		return nil, err
	}
	e.settled = trip.Settle(events)
	e.state = trip.StateAt(e.trip.Trip, e.settled, e.at.Milli)
	return e.state, nil
}
