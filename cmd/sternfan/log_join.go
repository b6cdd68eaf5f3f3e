package main

import (
	"context"
	"fmt"
	"math"

	"sternfan/event"

	"sternfan/logbook"
	"sternfan/report"
	"sternfan/trip"
)

type logJoinCmd struct {
	logFlags
	By    string `env:"STERNFAN_BY" placeholder:"NAME" help:"Who joins them; by default the log's own name."`
	ID    string `arg:"" name:"id" help:"The trip that is part of another, by the beginning of its id."`
	To    string `placeholder:"ID" help:"The trip that it is part of; by default the one under way at the same time."`
	Apart bool   `help:"It is a trip of its own after all: take the joining back."`
	Why   string `help:"Why, for those who read it later."`
}

func (c *logJoinCmd) Run(ctx context.Context, w *world) error {
	return c.old(ctx, func(l *logbook.Log) error {
		e, err := entryNow(ctx, w, l, c.By)
		if err != nil {
			return err
		}
		if c.Apart {
			return c.apart(e)
		}
		part, err := tripOf(ctx, l, c.ID)
		if err != nil {
			return err
		}
		whole, err := c.whole(e, part)
		if err != nil {
			return err
		}
		e.trip = whole
		return e.add(e.make("", event.Fix{Of: part.Trip, Trip: &whole.Trip, Why: c.Why}))
	})
}

// whole returns the trip to join to.
func (c *logJoinCmd) whole(e *entry, part *trip.Outing) (*trip.Outing, error) {
	if part.Trip.IsZero() {
		return nil, &usageError{"what belongs to no trip cannot be joined as one", "sternfan log fix ID --trip ID moves an event"}
	}
	if c.To != "" {
		whole, err := tripOf(e.ctx, e.log, c.To)
		if err == nil && (whole.Trip == part.Trip || whole.Trip.IsZero()) {
			err = &usageError{"a trip is joined to another one", "sternfan log list shows the trips"}
		}
		return whole, err
	}
	var found []*trip.Outing
	err := e.log.EachOuting(e.ctx, func(o *trip.Outing) error {
		if o.Trip != part.Trip && !o.Trip.IsZero() && o.From <= lasts(part) && lasts(o) >= part.From {
			found = append(found, o)
		}
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case len(found) == 1:
		return found[0], nil
	case len(found) == 0:
		return nil, &usageError{"no other trip was under way at the same time", "name it with --to ID; sternfan log list shows the trips"}
	}
	return nil, &usageError{fmt.Sprintf("%d other trips were under way at the same time", len(found)), "name one with --to, as in --to " + report.ShortID(found[0].Trip)}
}

// lasts returns until when a trip may be under way: one that was never ended for half a day
// past what was written last.
func lasts(o *trip.Outing) int64 {
	if o.Ended {
		return o.To
	}
	return o.To + 12*3600_000
}

func (c *logJoinCmd) apart(e *entry) error {
	id, err := e.log.Find(e.ctx, c.ID)
	if err != nil {
		return wrongID(err)
	}
	outings, err := e.log.Outings(e.ctx, math.MinInt64, math.MaxInt64)
	if err != nil {
		return err
	}
	for _, o := range outings {
		for _, j := range o.Joined {
			if j.Trip == id {
				e.trip = o
				return e.add(e.make("", event.Fix{Of: j.Fix, Void: true, Why: c.Why}))
			}
		}
	}
	return &usageError{c.ID + " is joined to no trip", "sternfan log show ID says which trips are part of one"}
}
