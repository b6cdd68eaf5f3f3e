package main

import (
	"bytes"
	"context"
	"encoding/json/v2"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"sternfan/event"

	"sternfan/logbook"
	"sternfan/report"
	"sternfan/trip"
	"sternfan/unit"
)

type logListCmd struct {
	logFlags
	outFlags
	Events bool     `help:"The events of one trip, as they stand after corrections."`
	Trip   string   `placeholder:"ID" help:"Which trip's events, if not the latest's."`
	Rod    string   `placeholder:"ID" help:"Only this rod's."`
	Kind   []string `placeholder:"KIND" help:"Only events of this kind, as in strike. May be repeated."`
	Last   int      `default:"20" help:"How many trips, the latest; 0 is all."`
	Format string   `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

func (c *logListCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	return c.old(ctx, func(l *logbook.Log) error {
		if c.Events || c.Trip != "" || c.Rod != "" || len(c.Kind) > 0 {
			return c.events(ctx, w, l, format)
		}
		outings, err := l.Outings(ctx, math.MinInt64, math.MaxInt64)
		if err != nil {
			return err
		}
		more := 0
		if c.Last > 0 && len(outings) > c.Last {
			more = len(outings) - c.Last
			outings = outings[more:]
		}
		if format == "json" {
			return c.json(w, outings)
		}
		if len(outings) == 0 {
			return c.put(w, []byte("The log is empty. Begin a trip with sternfan log add begin.\n"))
		}
		var out bytes.Buffer
		t := report.NewGrid("", report.Words("day", "from", "to", "trip", "rod-hours", "strikes", "landed", "lost", "id"))
		for _, o := range outings {
			landed, lost := outcomes(o)
			to := at(o, o.To)
			if !o.Ended {
				to = "under way"
			}
			t.Add(o.Day(), at(o, o.From), to, brief(tripTitle(o), 40), fmt.Sprintf("%.1f", rodHours(o)), strconv.Itoa(len(o.Strikes)), strconv.Itoa(landed), strconv.Itoa(lost), tripCell(o))
		}
		out.WriteString(t.String())
		if more > 0 {
			fmt.Fprintf(&out, "and %d earlier (--last 0 shows all)\n", more)
		}
		return c.put(w, out.Bytes())
	})
}

func tripCell(o *trip.Outing) string {
	if o.Trip.IsZero() {
		return "(no trip)"
	}
	return report.ShortID(o.Trip)
}

func at(o *trip.Outing, ms int64) string {
	return event.Instant{Milli: ms, Offset: int16(o.East / 60)}.Time().Format("15:04")
}

func outcomes(o *trip.Outing) (landed, lost int) {
	for _, c := range o.Strikes {
		switch c.Outcome {
		case trip.WasLanded:
			landed++
		case trip.WasLost:
			lost++
		}
	}
	return landed, lost
}

func rodHours(o *trip.Outing) float64 {
	sum := 0.0
	for i := range o.Stints {
		sum += o.Stints[i].RodHours()
	}
	return sum
}

// quoted returns a name in quotes, nothing for none.
func quoted(name string) string {
	if name == "" {
		return "without a name"
	}
	return strconv.Quote(name)
}

func brief(s string, most int) string {
	r := []rune(s)
	if len(r) > most {
		return string(r[:most-3]) + "..."
	}
	return s
}

func (o *outFlags) json(w *world, v any) error {
	text, err := json.Marshal(v, json.Deterministic(true))
	if err != nil {
		return err
	}
	return o.put(w, append(text, '\n'))
}

func (c *logListCmd) events(ctx context.Context, w *world, l *logbook.Log, format string) error {
	o, err := tripOf(ctx, l, c.Trip)
	if err != nil {
		return err
	}
	all, err := l.TripEvents(ctx, o.Trip)
	if err != nil {
		return err
	}
	s := trip.Settle(all)
	entries := slices.Concat(s.Entries, s.Unknown, s.Voided)
	for _, k := range c.Kind {
		of := func(e trip.Entry) bool { return e.Kind() == event.Kind(k) }
		if !event.Kind(k).Known() && !slices.ContainsFunc(entries, of) {
			return unknownKind(k)
		}
	}
	var out bytes.Buffer
	for _, e := range entries {
		if c.Rod != "" && e.Rod != c.Rod || len(c.Kind) > 0 && !slices.Contains(c.Kind, string(e.Kind())) {
			continue
		}
		if format == "json" {
			out.WriteString(e.Text() + "\n")
			continue
		}
		mark := ""
		switch {
		case e.Void:
			mark = "  (taken back)"
		case len(e.Fixes) > 0:
			mark = "  (corrected)"
		case e.Time != e.At.Milli:
			mark = "  (its clock showed " + e.At.Time().Format("2006-01-02 15:04") + ")"
		}
		when := event.Instant{Milli: e.Time, Offset: e.At.Offset}.Time()
		fmt.Fprintf(&out, "%s  %s  %s%s\n", when.Format("15:04"), report.ShortID(e.ID), report.EventWords(&e.Event, c.system()), mark)
	}
	if format != "json" {
		notices(&out, s.Notices)
		notices(&out, o.Notices[min(len(s.Notices), len(o.Notices)):])
	}
	return c.put(w, out.Bytes())
}

func unknownKind(kind string) error {
	var names []string
	for _, k := range event.Kinds() {
		names = append(names, string(k))
	}
	return &usageError{fmt.Sprintf("there is no kind of event called %q", kind), "kinds are " + report.List(names)}
}

func notices(out *bytes.Buffer, all []trip.Notice) {
	for _, n := range all {
		id := ""
		if !n.ID.IsZero() {
			id = " (" + report.ShortID(n.ID) + ")"
		}
		fmt.Fprintf(out, "Note%s: %s; %s.\n", id, n.Text, n.Hint)
	}
}

type logShowCmd struct {
	logFlags
	outFlags
	ID     string `arg:"" optional:"" name:"id" help:"A trip or an event, by the beginning of its id; by default the latest trip."`
	Format string `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

func (c *logShowCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	return c.old(ctx, func(l *logbook.Log) error {
		if c.ID != "" {
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
			if found.Kind() != event.KindTripBegins {
				return c.event(w, found, about, format)
			}
		}
		o, err := tripOf(ctx, l, c.ID)
		if err != nil {
			return err
		}
		if format == "json" {
			return c.json(w, o)
		}
		var out bytes.Buffer
		c.outing(&out, o, w.clock())
		return c.put(w, out.Bytes())
	})
}

func (c *logShowCmd) event(w *world, found event.Event, about []event.Event, format string) error {
	if format == "json" {
		return c.json(w, append([]event.Event{found}, about...))
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "%s  %s  %s\n", found.At.Time().Format("2006-01-02 15:04"), found.ID, report.EventWords(&found, c.system()))
	fmt.Fprintf(&out, "written by %s\n", found.By)
	if p := found.Where; p != nil {
		fmt.Fprintf(&out, "at %.5f, %.5f\n", p.Lat, p.Lon)
	}
	for i := range about {
		fmt.Fprintf(&out, "%s  %s  %s\n", about[i].At.Time().Format("2006-01-02 15:04"), report.ShortID(about[i].ID), report.EventWords(&about[i], c.system()))
	}
	return c.put(w, out.Bytes())
}

// outing writes what a trip adds up to. For a trip under way, now is for the timers.
func (c *logShowCmd) outing(out *bytes.Buffer, o *trip.Outing, now time.Time) {
	u := c.system()
	landed, lost := outcomes(o)
	state := "to " + at(o, o.To)
	if !o.Ended {
		state = "under way"
	}
	fmt.Fprintf(out, "%s, %s from %s, %s (%s)\n", tripTitle(o), o.Day(), at(o, o.From), state, tripCell(o))
	fmt.Fprintf(out, "%s in %.1f rod-hours: %d landed, %d lost, %d of which no more is known\n",
		report.Count(len(o.Strikes), "strike"), rodHours(o), landed, lost, len(o.Strikes)-landed-lost)
	for _, j := range o.Joined {
		fmt.Fprintf(out, "with the trip %s begun by %s at %s (%s)\n", quoted(j.Name), j.By, at(o, j.At.Milli), report.ShortID(j.Trip))
	}
	if words := report.ConditionWords(&o.Conditions, u); words != "" {
		fmt.Fprintf(out, "last read: %s\n", words)
	}
	if len(o.Lines) > 0 {
		fmt.Fprintln(out, "\nout now")
		t := report.NewGrid("", report.Words("", "", "", ""))
		for _, l := range o.Lines {
			checked := fmt.Sprintf("checked %s", at(o, l.Checked))
			if ago := now.UnixMilli() - l.Checked; ago >= 0 && ago < 24*3600*1000 {
				checked += fmt.Sprintf(" (%d min ago)", ago/60000)
			}
			if l.Fouled {
				checked = "fouled"
			}
			t.Add(l.Rod, report.LineWords(&l.Line, u), report.FanWords(l.Fan, "", u), checked)
		}
		out.WriteString(t.String())
	}
	if len(o.Strikes) > 0 {
		fmt.Fprintln(out, "\nstrikes")
		t := report.NewGrid("", report.Words("", "", "", "", "", "", ""))
		for i := range o.Strikes {
			k := &o.Strikes[i]
			end := string(k.Outcome)
			if k.Fate != "" {
				end += ", " + string(k.Fate)
			}
			size := ""
			if k.Length != nil {
				size = report.FishLength(*k.Length, u)
			}
			if k.Mass != nil {
				size = strings.TrimPrefix(size+", "+u.Mass(unit.Mass(*k.Mass)), ", ")
			}
			counted := ""
			if !k.Counted {
				counted = "in no effort"
			}
			t.Add(k.At.Time().Format("15:04"), k.Rod, k.Species, end, size, report.FanWords(k.Fan, k.Lure, u), counted)
		}
		out.WriteString(t.String())
	}
	hours := map[string]float64{}
	strikes := map[string]int{}
	var rods []string
	for i := range o.Stints {
		s := &o.Stints[i]
		if _, seen := hours[s.Rod]; !seen {
			rods = append(rods, s.Rod)
		}
		hours[s.Rod] += s.RodHours()
		strikes[s.Rod] += len(s.Strikes)
	}
	if len(rods) > 0 {
		fmt.Fprintln(out, "\neffort")
		t := report.NewGrid("  ", report.Numbers("", "rod", "hours", "strikes"))
		for _, r := range rods {
			t.Add(r, fmt.Sprintf("%.2f", hours[r]), strconv.Itoa(strikes[r]))
		}
		out.WriteString(t.String())
	}
	notices(out, o.Notices)
}
