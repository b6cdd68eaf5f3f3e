package main

import (
	"context"
	"slices"

	"sternfan/engine"
	"sternfan/event"
	"sternfan/logbook"
)

// loggedFlags take measurements from the log.
type loggedFlags struct {
	logFlags
	Logged     bool   `help:"Take what was measured from the log: every reading since the last calibration from it."`
	Since      string `placeholder:"DATE" help:"Of the log, only what was measured since: 2026-06-01."`
	Trip       string `placeholder:"ID" help:"Of the log, only what was measured on this trip."`
	Transducer string `placeholder:"AFT,STARBOARD,DOWN" help:"Where the sounder's transducer is, from the transom's center line at the waterline, for the log's slant ranges: 1ft,1ft,1ft."`
}

// readings returns the trips that may have readings.
func (c *loggedFlags) readings(ctx context.Context) (out []engine.LoggedTrip, err error) {
	err = c.old(ctx, func(l *logbook.Log) error {
		var ids []event.ID
		if c.Trip != "" {
			o, err := tripOf(ctx, l, c.Trip)
			if err != nil {
				return err
			}
			ids = []event.ID{o.Trip}
		} else if err := l.Each(ctx, logbook.Filter{Kinds: []event.Kind{event.KindMeasured}}, func(a logbook.Arrived) bool {
			if !a.Trip.IsZero() && !slices.Contains(ids, a.Trip) {
				ids = append(ids, a.Trip)
			}
			return true
		}); err != nil {
			return err
		}
		for _, id := range ids {
			events, err := l.TripEvents(ctx, id)
			if err != nil {
				return err
			}
			out = append(out, engine.LoggedTrip{ID: id, Events: events})
		}
		return nil
	})
	return out, err
}
