package main

import (
	"bytes"
	"context"
	"encoding/json/v2"
	"errors"
	"fmt"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"sternfan"
	"sternfan/logbook"
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
		t := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(t, "day\tfrom\tto\ttrip\trod-hours\tstrikes\tlanded\tlost\tid")
		for _, o := range outings {
			landed, lost := outcomes(o)
			to := at(o, o.To)
			if !o.Ended {
				to = "under way"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%.1f\t%d\t%d\t%d\t%s\n", o.Day(), at(o, o.From), to, brief(tripTitle(o), 40), rodHours(o), len(o.Catches), landed, lost, tripCell(o))
		}
		_ = t.Flush()
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
	return shortID(o.Trip)
}

func at(o *trip.Outing, ms int64) string {
	return sternfan.Instant{Milli: ms, Offset: int16(o.East / 60)}.Time().Format("15:04")
}

func outcomes(o *trip.Outing) (landed, lost int) {
	for _, c := range o.Catches {
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
	kinds := map[string]bool{}
	for _, k := range c.Kind {
		if _, err := sternfan.DecodeBody(sternfan.EventKind(k), nil); strings.Contains(fmt.Sprint(err), "no such kind") {
			var names []string
			for _, k := range sternfan.EventKinds() {
				names = append(names, string(k))
			}
			return &usageError{fmt.Sprintf("there is no kind of event called %q", k), "kinds are " + list(names)}
		}
		kinds[k] = true
	}
	all, err := l.TripEvents(ctx, o.Trip)
	if err != nil {
		return err
	}
	s := trip.Settle(all)
	var out bytes.Buffer
	for _, e := range append(s.Entries, s.Voided...) {
		if c.Rod != "" && e.Rod != c.Rod || len(kinds) > 0 && !kinds[string(e.Body.Kind())] {
			continue
		}
		if format == "json" {
			text, err := e.Event.MarshalJSON()
			if err != nil {
				return err
			}
			out.Write(append(text, '\n'))
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
		when := sternfan.Instant{Milli: e.Time, Offset: e.At.Offset}.Time()
		fmt.Fprintf(&out, "%s  %s  %s%s\n", when.Format("15:04"), shortID(e.ID), eventWords(&e.Event, c.system()), mark)
	}
	if format != "json" {
		notices(&out, s.Notices)
		notices(&out, o.Notices[min(len(s.Notices), len(o.Notices)):])
	}
	return c.put(w, out.Bytes())
}

func notices(out *bytes.Buffer, all []trip.Notice) {
	for _, n := range all {
		id := ""
		if !n.ID.IsZero() {
			id = " (" + shortID(n.ID) + ")"
		}
		fmt.Fprintf(out, "Note%s: %s; %s.\n", id, n.Text, n.Hint)
	}
}

// eventWords says what an event is, in a line.
func eventWords(e *sternfan.Event, u unit.System) string {
	var words []string
	add := func(format string, args ...any) {
		if text := strings.TrimSpace(fmt.Sprintf(format, args...)); text != "" {
			words = append(words, text)
		}
	}
	fish := func(species string) {
		if species != "" {
			add("%s", species)
		}
	}
	head := ""
	if e.Rod != "" {
		head = e.Rod + " "
	}
	switch b := e.Body.(type) {
	case sternfan.TripBegins:
		head += "trip begins"
		add("%s", b.Name)
		if b.Anglers > 0 {
			add("%d anglers", b.Anglers)
		}
		add("%s", b.Note)
	case sternfan.TripEnds:
		head += "trip ends"
		add("%s", b.Note)
	case sternfan.LineSet:
		head += "set"
		add("%s", lineWords(&b.Line, u))
		add("%s", depthWords(b.Fan, "", u))
	case sternfan.LineChanged:
		head += "changed"
		add("%s", lineWords(&b.Line, u))
		add("%s", depthWords(b.Fan, "", u))
	case sternfan.LineChecked:
		head += "checked, runs free"
		add("%s", b.Note)
	case sternfan.LineFouled:
		head += "fouled"
		add("%s", b.With)
		add("no effort since it was last checked")
		add("%s", b.Note)
	case sternfan.LineIn:
		head += "in"
		add("%s", b.Note)
	case sternfan.Struck:
		head += "strike"
		fish(b.Species)
		add("%s", depthWords(b.Fan, b.Lure, u))
		add("%s", b.Note)
	case sternfan.Landed:
		head += "landed"
		fish(b.Species)
		if b.Length != nil {
			add("%s", lengthWords(*b.Length, u))
		}
		if b.Mass != nil {
			add("%s", u.Mass(unit.Mass(*b.Mass)))
		}
		add("%s", b.Fate)
		add("%s", b.Note)
	case sternfan.Lost:
		head += "lost"
		fish(b.Species)
		if b.StillOut {
			add("still out")
		}
		add("%s", b.Note)
	case sternfan.Conditions:
		head += "conditions"
		add("%s", conditionWords(&b, u))
		add("%s", b.Note)
	case sternfan.Reading:
		head += "measured"
		add("%s", readingWords(&b, u))
		add("%s", b.Note)
	case sternfan.Note:
		head += "note"
		add("%s", b.Text)
	case sternfan.Fix:
		head += "correction of " + shortID(b.Of)
		switch {
		case b.Void:
			add("it never happened")
		case b.To != "":
			if body, err := sternfan.DecodeBody(b.To, b.Body); err == nil {
				add("%s", eventWords(&sternfan.Event{Body: body}, u))
			}
		}
		if b.At != nil {
			add("at %s", b.At.Time().Format("2006-01-02 15:04"))
		}
		if b.Rod != nil {
			add("rod %s", *b.Rod)
		}
		add("%s", b.Why)
	case sternfan.Clock:
		head += "clock of " + b.Of
		add("%s to be added", strings.TrimSuffix(strings.TrimSuffix((time.Duration(b.Shift)*time.Millisecond).String(), "0s"), "0m"))
	case sternfan.Solved:
		head += "solved " + shortID(b.Of)
		add("%s", depthWords(&b.Fan, "", u))
	}
	if len(words) == 0 {
		return head
	}
	return head + ": " + strings.Join(words, "; ")
}

// lengthWords shows a fish's length in inches, as people give it.
func lengthWords(m float64, u unit.System) string {
	if u == unit.SI {
		return fmt.Sprintf("%.0f cm", m*100)
	}
	return fmt.Sprintf("%.3g in", m/float64(unit.Inch))
}

func lineWords(l *sternfan.LogLine, u unit.System) string {
	var words []string
	s := &l.Settings
	if s.LineOut != nil {
		words = append(words, u.Depth(unit.Length(*s.LineOut))+" out")
	}
	if s.Colors != nil {
		words = append(words, fmt.Sprintf("%g colors", *s.Colors))
	}
	if s.CableOut != nil {
		words = append(words, u.Depth(unit.Length(*s.CableOut))+" of cable")
	}
	if s.Lead != nil {
		words = append(words, u.Depth(unit.Length(*s.Lead))+" lead")
	}
	if s.Dial != nil {
		words = append(words, fmt.Sprintf("dial %g", *s.Dial))
	}
	if s.Ring != nil && *s.Ring {
		words = append(words, "ring on")
	}
	for _, p := range trip.Lures(l) {
		name := p.Gear
		if color := p.Attributes["color"]; color != "" {
			name += " (" + color + ")"
		}
		words = append(words, name)
	}
	return strings.Join(words, ", ")
}

func conditionWords(b *sternfan.Conditions, u unit.System) string {
	var words []string
	speed := func(name string, v *float64) {
		if v != nil {
			words = append(words, u.Speed(unit.Speed(*v))+" "+name)
		}
	}
	speed("over ground", b.OverGround)
	speed("through the surface water", b.Surface)
	if b.Probe != nil && b.ProbeDepth != nil {
		words = append(words, u.Speed(unit.Speed(*b.Probe))+" at "+u.Depth(unit.Length(*b.ProbeDepth)))
	}
	if b.Heading != nil {
		words = append(words, fmt.Sprintf("heading %.0f deg", *b.Heading))
	}
	for _, t := range b.Temperature {
		words = append(words, u.Temperature(unit.Temperature(t[1]))+" at "+u.Depth(unit.Length(t[0])))
	}
	for _, c := range b.Current {
		words = append(words, fmt.Sprintf("current %s toward %.0f deg at %s", u.Speed(unit.Speed(c.Speed)), c.Toward, u.Depth(unit.Length(c.Depth))))
	}
	if b.Bottom != nil {
		words = append(words, u.Depth(unit.Length(*b.Bottom))+" of water")
	}
	for _, s := range []string{b.Sky, b.Clarity} {
		if s != "" {
			words = append(words, s)
		}
	}
	return strings.Join(words, ", ")
}

func readingWords(b *sternfan.Reading, u unit.System) string {
	name, _, _ := strings.Cut(string(b.What), "_")
	show := func(v float64) string {
		switch b.What {
		case sternfan.ReadPull:
			return u.Force(unit.Force(v))
		case sternfan.ReadAngle:
			return u.Angle(unit.Angle(v) * unit.Degree)
		}
		return u.Depth(unit.Length(v))
	}
	text := name + " " + show(b.Value)
	if b.SD > 0 {
		text += " (give or take " + show(b.SD) + ")"
	}
	if b.Part != "" {
		text += " of " + b.Part
	}
	if b.With != "" {
		text += " by " + b.With
	}
	return text
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
			event, about, err := l.Event(ctx, id)
			if errors.Is(err, logbook.ErrNoEvent) {
				return wrongID(err)
			}
			if err != nil {
				return err
			}
			if event.Body.Kind() != sternfan.KindTripBegins {
				return c.event(w, event, about, format)
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
		return c.put(w, trimmed(out.Bytes()))
	})
}

func (c *logShowCmd) event(w *world, event sternfan.Event, about []sternfan.Event, format string) error {
	if format == "json" {
		return c.json(w, append([]sternfan.Event{event}, about...))
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "%s  %s  %s\n", event.At.Time().Format("2006-01-02 15:04"), event.ID, eventWords(&event, c.system()))
	fmt.Fprintf(&out, "written by %s\n", event.By)
	if p := event.Where; p != nil {
		fmt.Fprintf(&out, "at %.5f, %.5f\n", p.Lat, p.Lon)
	}
	for i := range about {
		fmt.Fprintf(&out, "%s  %s  %s\n", about[i].At.Time().Format("2006-01-02 15:04"), shortID(about[i].ID), eventWords(&about[i], c.system()))
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
		count(len(o.Catches), "strike", "strikes"), rodHours(o), landed, lost, len(o.Catches)-landed-lost)
	if words := conditionWords(&o.Conditions, u); words != "" {
		fmt.Fprintf(out, "last read: %s\n", words)
	}
	if len(o.Lines) > 0 {
		fmt.Fprintln(out, "\nout now")
		t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		for _, l := range o.Lines {
			checked := fmt.Sprintf("checked %s", at(o, l.Checked))
			if ago := now.UnixMilli() - l.Checked; ago >= 0 && ago < 24*3600*1000 {
				checked += fmt.Sprintf(" (%d min ago)", ago/60000)
			}
			if l.Fouled {
				checked = "fouled"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", l.Rod, lineWords(&l.Line, u), depthWords(l.Fan, "", u), checked)
		}
		_ = t.Flush()
	}
	if len(o.Catches) > 0 {
		fmt.Fprintln(out, "\nstrikes")
		t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		for i := range o.Catches {
			k := &o.Catches[i]
			end := string(k.Outcome)
			if k.Fate != "" {
				end += ", " + string(k.Fate)
			}
			size := ""
			if k.Length != nil {
				size = lengthWords(*k.Length, u)
			}
			if k.Mass != nil {
				size = strings.TrimPrefix(size+", "+u.Mass(unit.Mass(*k.Mass)), ", ")
			}
			counted := ""
			if !k.Counted {
				counted = "in no effort"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", k.At.Time().Format("15:04"), k.Rod, k.Species, end, size, depthWords(k.Fan, k.Lure, u), counted)
		}
		_ = t.Flush()
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
		t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(t, "rod\thours\tstrikes\t")
		for _, r := range rods {
			fmt.Fprintf(t, "%s\t%.2f\t%d\t\n", r, hours[r], strikes[r])
		}
		_ = t.Flush()
	}
	notices(out, o.Notices)
}

// trimmed takes the blanks off the ends of lines, which columns leave.
func trimmed(text []byte) []byte {
	lines := bytes.Split(text, []byte("\n"))
	for i := range lines {
		lines[i] = bytes.TrimRight(lines[i], " ")
	}
	return bytes.Join(lines, []byte("\n"))
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
