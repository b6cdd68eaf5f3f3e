package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"sternfan/event"

	"sternfan/logbook"
	"sternfan/trip"
	"sternfan/unit"
)

type logFixCmd struct {
	logFlags
	By       string `env:"STERNFAN_BY" placeholder:"NAME" help:"Who corrects; by default the log's own name."`
	ID       string `arg:"" optional:"" name:"id" help:"The event, by the beginning of its id."`
	Void     bool   `help:"It never happened."`
	Undo     bool   `help:"Take back the latest correction of it."`
	At       string `placeholder:"TIME" help:"When it really was."`
	Rod      string `placeholder:"ID" help:"Which rod it really was."`
	Trip     string `placeholder:"ID" help:"Which trip it belongs to."`
	Species  string `help:"Of a strike, a fish landed or lost."`
	Length   string `placeholder:"LENGTH" help:"Of a fish landed."`
	Weight   string `placeholder:"WEIGHT" help:"Of a fish landed."`
	Kept     bool   `xor:"fate" help:"It was kept."`
	Released bool   `xor:"fate" help:"It was let go."`
	Anglers  int    `help:"Of a trip's beginning: how many fished."`
	Note     string `help:"The note, or the words of a note."`
	To       string `placeholder:"KIND" help:"It was another kind of event, as in lost."`
	Why      string `help:"Why, for those who read it later."`
	Clock    string `placeholder:"DEVICE=TIME" help:"A device's clock was wrong: what to add to it, as in phone-1=-24h. With --trip in that trip only."`
}

// entryNow begins an entry of now, by a device or, where none is named, by the log's own.
func entryNow(ctx context.Context, w *world, l *logbook.Log, by string) (*entry, error) {
	e := &entry{ctx: ctx, log: l, w: w, at: event.InstantOf(w.clock()), by: by}
	if by != "" {
		return e, nil
	}
	var err error
	e.by, err = l.Device(ctx)
	return e, err
}

func (c *logFixCmd) Run(ctx context.Context, w *world) error {
	return c.old(ctx, func(l *logbook.Log) error {
		e, err := entryNow(ctx, w, l, c.By)
		if err != nil {
			return err
		}
		var moved *trip.Outing
		if c.Trip != "" {
			if moved, err = tripOf(ctx, l, c.Trip); err != nil {
				return err
			}
		}
		if c.Clock != "" {
			return c.clock(e, moved)
		}
		if c.ID == "" {
			return &usageError{"no event is named", "sternfan log list --events shows the ids"}
		}
		id, err := l.Find(ctx, c.ID)
		if err != nil {
			return wrongID(err)
		}
		found, about, err := l.Event(ctx, id)
		if errors.Is(err, logbook.ErrNoEvent) {
			return wrongID(err)
		}
		if err != nil {
			return err
		}
		if c.Undo {
			return c.undo(e, id, about)
		}
		fix := event.Fix{Of: id, Void: c.Void, Why: c.Why}
		// Further corrections of the same event build on what it says by now.
		stands := found
		settled := trip.Settle(append(about, found))
		for _, e := range slices.Concat(settled.Entries, settled.Unknown, settled.Voided) {
			if e.ID == id {
				stands = e.Event
			}
		}
		if c.At != "" {
			o := &trip.Outing{From: stands.At.Milli, East: int32(stands.At.Offset) * 60}
			at, err := parseAtTime(c.At, o, w.clock())
			if err != nil {
				return err
			}
			fix.At = &at
		}
		if c.Rod != "" {
			fix.Rod = &c.Rod
		}
		if moved != nil {
			fix.Trip = &moved.Trip
		}
		body, changed, err := c.body(stands.Body)
		if err != nil {
			return err
		}
		if changed {
			fix.To = event.KindOf(body)
			if fix.Change, err = event.ChangeTo(stands.Body, body); err != nil {
				return err
			}
		}
		e.trip = &trip.Outing{}
		e.trip.Trip = found.Trip
		return e.add(e.make("", fix))
	})
}

func (c *logFixCmd) undo(e *entry, id event.ID, about []event.Event) error {
	void := map[event.ID]bool{}
	var latest event.ID
	for i := len(about) - 1; i >= 0; i-- {
		fix, ok := about[i].Body.(event.Fix)
		if !ok || void[about[i].ID] {
			continue
		}
		if fix.Void && fix.Of != id {
			void[fix.Of] = true
		}
		if fix.Of == id && latest.IsZero() {
			latest = about[i].ID
		}
	}
	if latest.IsZero() {
		return &usageError{"nothing corrects this event", "sternfan log show " + c.ID + " shows it"}
	}
	return e.add(e.make("", event.Fix{Of: latest, Void: true, Why: c.Why}))
}

// clock writes that a device's clock was wrong.
func (c *logFixCmd) clock(e *entry, in *trip.Outing) error {
	device, shift, _ := strings.Cut(c.Clock, "=")
	by, err := time.ParseDuration(shift)
	if err != nil || device == "" {
		return &usageError{fmt.Sprintf("--clock %q is no device and time", c.Clock), "write what to add to its clock, as in phone-1=-24h or phone-1=90s"}
	}
	e.trip = in
	return e.add(e.make("", event.Clock{Of: device, Shift: by.Milliseconds()}))
}

// turned returns a body of the kind that --to names, with what both kinds have.
func (c *logFixCmd) turned(b event.Body) (event.Body, error) {
	to := event.Kind(c.To)
	switch {
	case to == "" || to == event.KindOf(b):
		return b, nil
	case !to.Known():
		return nil, unknownKind(c.To)
	}
	switch was := b.(type) {
	case event.Landed:
		if to == event.KindLost {
			return event.Lost{Strike: was.Strike, Species: was.Species, Note: was.Note}, nil
		}
	case event.Lost:
		if to == event.KindLanded {
			return event.Landed{Strike: was.Strike, Species: was.Species, Note: was.Note}, nil
		}
	}
	other, _ := event.DecodeBody(to, nil) // what is missing in it, the flags may give
	return other, nil
}

// body returns the event's body with the flags in it.
func (c *logFixCmd) body(b event.Body) (event.Body, bool, error) {
	b, err := c.turned(b)
	if err != nil {
		return nil, false, err
	}
	var length, mass *float64
	if err := quantityFlag("--length", c.Length, &length, unit.ParseLength); err != nil {
		return nil, false, err
	}
	if err := quantityFlag("--weight", c.Weight, &mass, unit.ParseMass); err != nil {
		return nil, false, err
	}
	misses := func(flag string) error {
		return &usageError{fmt.Sprintf("an event of kind %s has no %s", event.KindOf(b), flag), ""}
	}
	fishOnly := c.Length != "" || c.Weight != "" || c.Kept || c.Released
	switch x := b.(type) {
	case event.Landed:
		if length != nil {
			x.Length = length
		}
		if mass != nil {
			x.Mass = mass
		}
		switch {
		case c.Kept:
			x.Fate = event.Kept
		case c.Released:
			x.Fate = event.Released
		}
		x.Species, x.Note = or(c.Species, x.Species), or(c.Note, x.Note)
		b = x
	case event.Strike:
		if fishOnly {
			return nil, false, misses("length, weight or fate; correct the event that landed it")
		}
		x.Species, x.Note = or(c.Species, x.Species), or(c.Note, x.Note)
		b = x
	case event.Lost:
		if fishOnly {
			return nil, false, misses("length, weight or fate; --to landed makes it one that was landed")
		}
		x.Species, x.Note = or(c.Species, x.Species), or(c.Note, x.Note)
		b = x
	case event.Note:
		x.Text = or(c.Note, x.Text)
		b = x
	default:
		if fishOnly || c.Species != "" || c.Note != "" {
			return nil, false, misses("such detail")
		}
	}
	if begins, ok := b.(event.TripBegins); ok && c.Anglers > 0 {
		begins.Anglers = c.Anglers
		b = begins
	} else if c.Anglers > 0 {
		return nil, false, misses("anglers")
	}
	return b, c.Anglers > 0 || c.To != "" || fishOnly || c.Species != "" || c.Note != "", nil
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
