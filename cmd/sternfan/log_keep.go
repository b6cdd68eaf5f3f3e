package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"sternfan/event"

	"sternfan/logbook"
	"sternfan/report"
	"sternfan/trip"
	"sternfan/trip/exchange"
	"sternfan/unit"
)

type logBackupCmd struct {
	logFlags
	File string `arg:"" help:"The new file. One that is there is not overwritten."`
}

func (c *logBackupCmd) Run(ctx context.Context, w *world) error {
	return c.old(ctx, func(l *logbook.Log) error {
		if err := l.Backup(ctx, c.File); err != nil {
			if errors.Is(err, fs.ErrExist) {
				return &usageError{err.Error(), "name a new file"}
			}
			return err
		}
		n, err := l.Last(ctx)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(w.stdout, "%s holds a copy of the log: %s\n", c.File, report.Count(int(n), "event"))
		return err
	})
}

type logVerifyCmd struct {
	logFlags
	Rebuild bool   `help:"Then throw away what is worked out, and make it again from the events."`
	Format  string `enum:"text,json" default:"text" help:"text or json."`
}

func (c *logVerifyCmd) Run(ctx context.Context, w *world) error {
	return c.old(ctx, func(l *logbook.Log) error {
		r, err := l.Verify(ctx)
		if err != nil {
			return err
		}
		if c.Format == "json" {
			if err := (&outFlags{}).json(w, r); err != nil {
				return err
			}
		} else {
			for _, f := range r.Faults {
				if _, err := fmt.Fprintln(w.stdout, f); err != nil {
					return err
				}
			}
			words := fmt.Sprintf("%s, %s; the file is whole, every event can be read, and every trip is what its events add up to",
				report.Count(r.Events, "event"), report.Count(r.Trips, "trip"))
			if len(r.Faults) > 0 {
				words = fmt.Sprintf("%s, %s", report.Count(r.Events, "event"), report.Count(len(r.Faults), "fault"))
			}
			if r.Clashes > 0 {
				words += fmt.Sprintf("; %s kept aside, each with the id of another", report.Counted(r.Clashes, "event is", "events are"))
			}
			if _, err := fmt.Fprintf(w.stdout, "%s\n", words); err != nil {
				return err
			}
		}
		if c.Rebuild {
			if err := l.Rebuild(ctx); err != nil {
				return err
			}
			again, err := l.Verify(ctx)
			if err != nil {
				return err
			}
			r.Faults = again.Faults
			if len(r.Faults) == 0 && c.Format == "text" {
				if _, err := fmt.Fprintln(w.stdout, "what is worked out was made again from the events, and agrees with them"); err != nil {
					return err
				}
			}
		}
		if len(r.Faults) > 0 {
			return fmt.Errorf("%s has %s; keep the file as it is, and go on with a backup, or try sternfan log verify --rebuild", l.Path(), report.Count(len(r.Faults), "fault"))
		}
		return nil
	})
}

type logExportCmd struct {
	logFlags
	outFlags
	What   string `arg:"" optional:"" enum:"strikes,effort,events,map" default:"strikes" help:"strikes, effort (csv only), events (jsonl: what another log can import) or map (svg, pdf or png: where it was fished and what struck)."`
	Trip   string `placeholder:"ID" help:"Only this trip; by default all."`
	Format string `enum:",csv,gpx,geojson,jsonl,svg,pdf,png" default:"" placeholder:"FORMAT" help:"csv, gpx or geojson; jsonl for events; svg, pdf or png for the map."`
	Scheme string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the map: day, dusk, night or print."`
}

func (c *logExportCmd) Run(ctx context.Context, w *world) error {
	format := c.Format
	if format == "" {
		format = map[string]string{".csv": "csv", ".gpx": "gpx", ".geojson": "geojson", ".json": "geojson", ".jsonl": "jsonl", ".svg": "svg", ".pdf": "pdf", ".png": "png"}[strings.ToLower(filepath.Ext(c.Out))]
	}
	allowed := map[string]string{"strikes": "csv gpx geojson", "effort": "csv", "events": "jsonl", "map": "svg pdf png"}[c.What]
	if format == "" {
		format, _, _ = strings.Cut(allowed, " ")
	}
	if !strings.Contains(" "+allowed+" ", " "+format+" ") {
		return &usageError{fmt.Sprintf("%s cannot be written as %s", c.What, format), "they can as " + report.List(strings.Fields(allowed))}
	}
	path, err := c.path()
	if err != nil {
		return err
	}
	if c.Out != "" && sameFile(c.Out, path) {
		return &usageError{c.Out + " is the log itself, and would be lost", "name another file with -o"}
	}
	return c.old(ctx, func(l *logbook.Log) error {
		var outings []*trip.Outing
		var one *trip.Outing
		if c.Trip != "" {
			if one, err = tripOf(ctx, l, c.Trip); err != nil {
				return err
			}
			outings = []*trip.Outing{one}
		}
		var out bytes.Buffer
		if c.What == "events" {
			if err := writeEvents(ctx, l, one, &out); err != nil {
				return err
			}
			return c.put(w, out.Bytes())
		}
		if c.What == "map" {
			var all trip.Seasons
			if one != nil {
				all.Add(one)
			} else if err := l.EachOuting(ctx, func(o *trip.Outing) error { all.Add(o); return nil }); err != nil {
				return err
			}
			if err := render(&out, report.SeasonDrawing(all.Season(), c.system()), format, c.Scheme); err != nil {
				return err
			}
			return c.put(w, out.Bytes())
		}
		if one == nil {
			if outings, err = l.Outings(ctx, math.MinInt64, math.MaxInt64); err != nil {
				return err
			}
		}
		without := 0
		switch {
		case format == "gpx":
			without, err = exchange.GPX(&out, outings, c.system())
		case format == "geojson":
			without, err = exchange.GeoJSON(&out, outings)
		case c.What == "effort":
			err = exchange.EffortCSV(&out, outings, c.system())
		default:
			err = exchange.StrikesCSV(&out, outings, c.system())
		}
		if err != nil {
			return err
		}
		if without > 0 {
			say(w.stderr, "%s without a position left out", report.Count(without, "strike"))
		}
		return c.put(w, out.Bytes())
	})
}

func writeEvents(ctx context.Context, l *logbook.Log, one *trip.Outing, out *bytes.Buffer) error {
	put := func(e *event.Event) {
		out.WriteString(e.Text())
		out.WriteByte('\n')
	}
	if one == nil {
		return l.Each(ctx, logbook.Filter{}, func(a logbook.Arrived) bool {
			put(&a.Event)
			return true
		})
	}
	events, err := l.TripEvents(ctx, one.Trip)
	merged, _ := trip.Merge(events)
	for i := range merged {
		put(&merged[i])
	}
	return err
}

// maxImport is the largest file of events that is read.
const maxImport = 2 << 30

type logImportCmd struct {
	logFlags
	File   string `arg:"" help:"A log (.db), events (.jsonl), or rows (.csv, with --map)."`
	By     string `name:"map" placeholder:"FILE" help:"The mapping: what a row is and which column is what. See docs/log.md."`
	DryRun bool   `help:"Only say what would be taken in."`
}

func (c *logImportCmd) Run(ctx context.Context, w *world) error {
	read, err := c.read(ctx, w)
	if err != nil {
		return err
	}
	said := kindsOf(read.Events)
	if read.Refused > 0 {
		said = fmt.Sprintf("%d of %s taken, %d not\n%s", len(read.Events), report.Count(len(read.Events)+read.Refused, "event"), read.Refused, said)
	}
	if c.DryRun {
		if _, err := fmt.Fprintf(w.stdout, "%s can be read: %s; nothing was taken in\n", c.File, said); err != nil {
			return err
		}
		return refused(&read)
	}
	return c.use(ctx, logbook.Options{}, func(l *logbook.Log) error {
		added, err := l.Append(ctx, read.Events...)
		if err != nil {
			return err
		}
		if err := l.Refresh(ctx); err != nil {
			return err
		}
		if _, err = fmt.Fprintf(w.stdout, "%s: %s; %d of them new to the log\n", c.File, said, added); err != nil {
			return err
		}
		return refused(&read)
	})
}

// refused is the error of a file of which not everything was taken: it says why.
func refused(read *event.Batch) error {
	if read.Refused == 0 {
		return nil
	}
	words := fmt.Sprintf("%s not taken", report.Counted(read.Refused, "event was", "events were"))
	for _, f := range read.Faults {
		words += "\n" + f.Error()
	}
	return errors.New(words)
}

func kindsOf(events []event.Event) string {
	n := map[event.Kind]int{}
	for i := range events {
		n[events[i].Kind()]++
	}
	words := []string{report.Count(len(events), "event")}
	for _, k := range []struct {
		kind      event.Kind
		one, many string
	}{{event.KindTripBegins, "trip", "trips"}, {event.KindLineSet, "line set", "lines set"}, {event.KindStrike, "strike", "strikes"}, {event.KindLanded, "fish landed", "fish landed"}} {
		if n[k.kind] > 0 {
			words = append(words, report.Counted(n[k.kind], k.one, k.many))
		}
	}
	if len(words) == 1 {
		return words[0]
	}
	return words[0] + " (" + report.List(words[1:]) + ")"
}

func (c *logImportCmd) read(ctx context.Context, w *world) (read event.Batch, err error) {
	switch strings.ToLower(filepath.Ext(c.File)) {
	case ".csv", ".txt", ".tsv":
		if c.By == "" {
			return read, &usageError{"rows need a mapping that says what is in which column", "write one as docs/log.md shows, and name it with --map FILE"}
		}
		text, name, err := readInput(ctx, w, c.By, maxBytes)
		if err != nil {
			return read, err
		}
		m, err := exchange.DecodeMapping(name, text)
		if err != nil {
			return read, err
		}
		data, name, err := readInput(ctx, w, c.File, maxImport)
		if err != nil {
			return read, err
		}
		read.Events, err = exchange.ReadCSV(name, data, m)
		return read, err
	case ".db", ".sqlite":
		other, err := logbook.Open(ctx, c.File, logbook.Options{ReadOnly: true})
		if errors.Is(err, fs.ErrNotExist) {
			return read, &usageError{"there is no file " + c.File, "check the spelling and the folder"}
		}
		if err != nil {
			return read, err
		}
		read.Events, err = other.Events(ctx, logbook.Filter{})
		return read, errors.Join(err, other.Close())
	}
	data, name, err := readInput(ctx, w, c.File, maxImport)
	if err != nil {
		return read, err
	}
	read = event.DecodeAll(name, data)
	if len(read.Events) == 0 && read.Refused > 0 {
		return read, read.Faults
	}
	return read, nil
}

type logDayCmd struct {
	logFlags
	outFlags
	Day    string `arg:"" optional:"" name:"day" help:"As in 2026-07-04; by default the day of the latest trip."`
	Format string `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

func (c *logDayCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	return c.old(ctx, func(l *logbook.Log) error {
		if c.Day == "" {
			o, err := tripOf(ctx, l, "")
			if err != nil {
				return err
			}
			c.Day = o.Day()
		}
		day, err := event.ParseInstant(c.Day + "T12:00:00Z")
		if err != nil {
			return &usageError{fmt.Sprintf("%q is no day", c.Day), "write it as 2026-07-04"}
		}
		const around = 36 * 3600 * 1000
		outings, err := l.Outings(ctx, day.Milli-around, day.Milli+around)
		if err != nil {
			return err
		}
		sheet := trip.Sheet(c.Day, outings)
		if format == "json" {
			return c.json(w, sheet)
		}
		return c.put(w, daySheet(sheet, c.system()))
	})
}

func daySheet(d *trip.DaySheet, u unit.System) []byte {
	var out bytes.Buffer
	fmt.Fprintf(&out, "Day sheet for %s\n", d.Day)
	if len(d.Trips) == 0 {
		fmt.Fprintln(&out, "no trip began on this day")
		return out.Bytes()
	}
	fmt.Fprintln(&out)
	t := report.NewGrid("", report.Words("trip", "from", "to", "hours", "lines fished", "anglers", "angler-hours", "most lines", "kept", "released"))
	for _, r := range d.Trips {
		to, anglers, anglerHours := r.To.Time().Format("15:04"), "not given", "not given"
		if !r.Ended {
			to = "not ended"
		}
		if r.Anglers > 0 {
			anglers, anglerHours = fmt.Sprint(r.Anglers), fmt.Sprintf("%.1f h", r.AnglerHours)
		}
		name := or(r.Name, or(r.Boat, "no name"))
		t.Add(brief(name, 40), r.From.Time().Format("15:04"), to, fmt.Sprintf("%.1f h", r.Hours), fmt.Sprintf("%.1f h", r.LinesHours), anglers, anglerHours,
			strconv.Itoa(r.Lines), strconv.Itoa(r.Kept), strconv.Itoa(r.Released))
	}
	out.WriteString(t.String() + "\n")
	t = report.NewGrid("", report.Words("species", "kept", "released", "not said", "weight kept"))
	kept, released, unsaid := 0, 0, 0
	for _, s := range d.Species {
		weight := ""
		if s.Weighed > 0 {
			weight = fmt.Sprintf("%s (%d of %d weighed)", u.Mass(unit.Mass(s.Mass)), s.Weighed, s.Kept)
		}
		t.Add(or(s.Species, "not named"), strconv.Itoa(s.Kept), strconv.Itoa(s.Released), strconv.Itoa(s.Unsaid), weight)
		kept, released, unsaid = kept+s.Kept, released+s.Released, unsaid+s.Unsaid
	}
	t.Add("all", strconv.Itoa(kept), strconv.Itoa(released), strconv.Itoa(unsaid))
	out.WriteString(t.String())
	fmt.Fprintf(&out, "\n%s in %.1f rod-hours; %d got off; of %d no more is known.\n", report.Count(d.Strikes, "strike"), d.RodHours, d.Lost, d.Unknown)
	fmt.Fprintln(&out, "What must be reported, how and by when is for local rules to decide; check the sheet against them and against what was counted.")
	return out.Bytes()
}
