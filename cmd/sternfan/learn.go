package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"runtime"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/learn"
	"sternfan/logbook"
	"sternfan/report"
	"sternfan/unit"
)

type learnCmd struct {
	Rates ratesCmd `cmd:"" help:"Was it the color? Strikes per rod-hour for any attribute, compared with the hour held equal."`
	Plan  planCmd  `cmd:"" help:"Tomorrow's fair test: which rod carries which, and how long until it can tell."`
	Fired firedCmd `cmd:"" help:"What fired: what the trip's last strikes share against what was in the water. A hint for the next set."`
	Depth depthCmd `cmd:"" help:"The boat's own numbers from what was measured: depths, bottom, angles, pulls, ranges."`
}

// effortFlags say where effort comes from: the log, or two tables.
type effortFlags struct {
	logFlags
	Stints  string `placeholder:"CSV" help:"Effort from a table instead of the log, a row a stint (see docs/learning.md)."`
	Strikes string `placeholder:"CSV" help:"The strikes that go with it, a row each."`
}

const maxLogBytes = 256 << 20

func (c *effortFlags) tables() bool { return c.Stints != "" || c.Strikes != "" }

func (c *effortFlags) load(ctx context.Context, w *world) (*learn.Log, error) {
	if !c.tables() {
		return c.logged(ctx)
	}
	if c.Stints == "" || c.Strikes == "" {
		return nil, &usageError{"effort is stints and strikes", "give --stints CSV and --strikes CSV, both"}
	}
	stints, err := readTable(ctx, w, c.Stints)
	if err != nil {
		return nil, err
	}
	strikes, err := readTable(ctx, w, c.Strikes)
	if err != nil {
		return nil, err
	}
	return learn.ReadCSV(learn.CSV{Stints: stints, StintsName: c.Stints, Strikes: strikes, StrikesName: c.Strikes})
}

// logged returns the effort of the log. A stint that cannot be (a line never logged as
// reeled in) is left out with what it caught, rather than everything refused for it.
func (c *effortFlags) logged(ctx context.Context) (*learn.Log, error) {
	out := &learn.Log{}
	err := c.old(ctx, func(l *logbook.Log) error {
		return l.EachStint(ctx, func(s *sternfan.Stint) error {
			if out.Add(s) == nil {
				return nil
			}
			without := *s
			without.To = s.From
			return out.Add(&without)
		})
	})
	return out, err
}

// readTable returns the text of a table, which may be far larger than a scenario.
func readTable(ctx context.Context, w *world, path string) ([]byte, error) {
	f, err := w.open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &usageError{fmt.Sprintf("there is no file %s", path), "check the spelling and the folder"}
	case err != nil:
		return nil, fmt.Errorf("%s cannot be opened: %w", path, cause(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxLogBytes+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s cannot be read: %w", path, cause(err))
	case len(data) > maxLogBytes:
		return nil, &usageError{fmt.Sprintf("%s is larger than %d MiB", path, maxLogBytes>>20), "split it by year"}
	}
	return data, ctx.Err()
}

type ratesCmd struct {
	effortFlags
	outFlags
	Compare []string `placeholder:"ATTRIBUTE" help:"What to compare by: diver.color, lure, depth, hour, side, dial, ... Several with commas, or all."`
	Levels  []string `placeholder:"LEVEL" help:"Compare only these levels of it."`
	Given   []string `placeholder:"WHAT" help:"What is held equal: trip-hour (default), trip, hour, none, and any attribute."`
	Species []string `placeholder:"NAME" help:"Count only strikes of these."`
	Flurry  float64  `default:"5" placeholder:"MIN" help:"Strikes of a trip no more minutes apart count once. 0: each counts."`
	Band    string   `placeholder:"WIDTH" help:"Width of the bands of a measure: 10ft."`
	Looked  int      `placeholder:"N" help:"Comparisons that you have looked at besides these."`
	Counts  []string `sep:"none" placeholder:"STRIKES/HOURS" help:"Straight from counts: --counts 14/61h --counts 7/61h, or bright=14/61h."`
	Format  string   `enum:",table,json,csv,svg,pdf,png" default:"" placeholder:"FORMAT" help:"table, json, csv, or a picture as svg, pdf or png."`
	Scheme  string   `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the picture: day, dusk, night or print."`
}

func (c *ratesCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json", "csv", "svg", "pdf", "png")
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.Stints); err != nil {
		return err
	}
	all, err := c.rates(ctx, w)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	switch format {
	case "table":
		err = report.RatesTable(&out, all, report.Options{Units: c.system(), Width: c.columns(w)})
	case "json":
		err = report.RatesJSON(&out, all)
	case "csv":
		err = report.RatesCSV(&out, all)
	default:
		if len(all) > 1 {
			return &usageError{"a picture shows one attribute", "give a single one with --compare"}
		}
		err = render(&out, report.RatesDrawing(all[0]), format, c.Scheme)
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

func (c *outFlags) units() unit.System {
	if c.Units == "si" {
		return unit.SI
	}
	return unit.US
}

func (c *ratesCmd) rates(ctx context.Context, w *world) ([]*sternfan.Rates, error) {
	if c.Looked < 0 || c.Looked > 1_000_000 {
		return nil, &usageError{fmt.Sprintf("--looked is 0 to 1 million, not %d", c.Looked), ""}
	}
	if len(c.Counts) > 0 {
		if c.tables() || len(c.Compare) > 0 {
			return nil, &usageError{"counts are compared by themselves", "leave out --compare, --stints and --strikes"}
		}
		counts, err := parseCounts(c.Counts)
		if err != nil {
			return nil, err
		}
		r, err := learn.RatesOf(counts, 0, c.Looked)
		return []*sternfan.Rates{r}, err
	}
	if len(c.Compare) == 0 {
		return nil, &usageError{"there is nothing to compare", "give --compare diver.color, or counts: --counts 14/61h --counts 7/61h"}
	}
	log, err := c.load(ctx, w)
	if err != nil {
		return nil, err
	}
	q := learn.Query{Compare: c.Compare, Levels: c.Levels, Given: c.Given, Species: c.Species, Units: c.units(), Looked: c.Looked, Workers: runtime.NumCPU()}
	if len(c.Compare) == 1 && c.Compare[0] == "all" {
		q.Compare = log.Attributes()
	}
	if !(c.Flurry >= 0 && c.Flurry <= 24*60) {
		return nil, &usageError{fmt.Sprintf("--flurry is 0 to 1440 minutes, not %g", c.Flurry), ""}
	}
	if q.FlurryMS = int64(c.Flurry * 60_000); q.FlurryMS == 0 {
		q.FlurryMS = -1
	}
	if c.Band != "" {
		if q.Band, err = parseBand(c.Compare, c.Band); err != nil {
			return nil, err
		}
	}
	return log.Rates(q)
}

// parseBand reads a width in the unit of what is compared; a bare number is a dial's.
func parseBand(compare []string, text string) (float64, error) {
	v, err := unit.ParseLength(text)
	if err == nil && v > 0 {
		return float64(v), nil
	}
	if s, err := unit.ParseSpeed(text); err == nil && s > 0 {
		return float64(s), nil
	}
	if n, err := strconv.ParseFloat(text, 64); err == nil && n > 0 && n <= 4 {
		return n, nil
	}
	return 0, &usageError{fmt.Sprintf("--band %.40q is no width for bands of %s", text, strings.Join(compare, ", ")), "write 10ft, 0.1mph, or marks of a dial as 1"}
}

// parseCounts reads "14/61h" or "bright=14/61h".
func parseCounts(texts []string) ([]learn.Count, error) {
	ordinal := []string{"the first", "the second", "the third", "the fourth", "the fifth", "the sixth", "the seventh", "the eighth", "the ninth", "the tenth"}
	var out []learn.Count
	for i, text := range texts {
		wrong := func(why string) error {
			return &usageError{fmt.Sprintf("--counts %.40q: %s", text, why), "write strikes/rod-hours: 14/61h, or with a name: bright=14/61h"}
		}
		c := learn.Count{Level: fmt.Sprintf("number %d", i+1)}
		if i < len(ordinal) {
			c.Level = ordinal[i]
		}
		rest := text
		if name, after, ok := strings.Cut(text, "="); ok {
			if c.Level = strings.TrimSpace(name); c.Level == "" {
				return nil, wrong("the name is empty")
			}
			rest = after
		}
		strikes, hours, ok := strings.Cut(rest, "/")
		if !ok {
			return nil, wrong("the effort is missing")
		}
		n, err := strconv.Atoi(strings.TrimSpace(strikes))
		if err != nil || n < 0 {
			return nil, wrong("strikes are a whole number")
		}
		c.Strikes = n
		d, err := unit.ParseDuration(strings.TrimSpace(hours))
		if err != nil {
			return nil, wrong("the effort is a time: " + err.Error())
		}
		c.Hours = float64(d) / 3600
		out = append(out, c)
	}
	return out, nil
}

type planCmd struct {
	effortFlags
	outFlags
	Compare string    `required:"" placeholder:"ATTRIBUTE" help:"What is put to the test: diver.color."`
	Levels  []string  `placeholder:"LEVEL" help:"The levels, two or more. Default: the two that fished most in the log."`
	Rods    []string  `placeholder:"ROD" help:"Rods that take part: port-high,starboard-high. Default: those of the scenario."`
	File    string    `name:"scenario" placeholder:"FILE" help:"A scenario whose rods take part."`
	Hours   float64   `default:"6" help:"Hours of fishing in an outing."`
	Turn    float64   `default:"60" placeholder:"MIN" help:"About so many minutes between change-overs."`
	Change  float64   `default:"4" placeholder:"MIN" help:"Minutes that a rod is out of the water at a change-over."`
	Rate    float64   `placeholder:"R" help:"Strikes per rod-hour to reckon with. Default: the log's."`
	Ratio   []float64 `placeholder:"R" help:"Ratios to plan for. Default: 1.25, 1.5, 2 and 3."`
	Power   float64   `default:"0.8" help:"Chance of telling a ratio that the hours are worked out for."`
	Seed    uint64    `default:"1" help:"Tosses which level begins where."`
	Format  string    `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

func (c *planCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	q := learn.TrialQuery{
		Compare: c.Compare, Levels: c.Levels, Hours: c.Hours, TurnMin: c.Turn, ChangeMin: c.Change,
		RatePerH: c.Rate, Ratios: c.Ratio, Power: c.Power, Seed: c.Seed,
	}
	if q.Rods, err = c.rods(ctx, w); err != nil {
		return err
	}
	if c.tables() || c.Log != "" || len(q.Levels) < 2 || len(q.Rods) == 0 {
		log, err := c.load(ctx, w)
		if err != nil {
			return err
		}
		if len(q.Rods) == 0 {
			if q.Rods, err = log.TrialRods(q.Compare); err != nil {
				return err
			}
			if len(q.Rods) == 0 {
				return &usageError{"a test needs rods", "name them: --rods port-high,starboard-high, or give --scenario FILE"}
			}
		}
		if q, err = log.TrialFrom(q); err != nil {
			return err
		}
	}
	if len(q.Levels) < 2 {
		return &usageError{"a test needs two levels", "name them: --levels bright,black"}
	}
	trial, err := learn.Trial(q)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if format == "json" {
		err = report.TrialJSON(&out, trial)
	} else {
		err = report.TrialTable(&out, trial, report.Options{Units: c.system(), Width: c.columns(w)})
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// rods returns those named, or those of the scenario, or none. A name says its side.
func (c *planCmd) rods(ctx context.Context, w *world) ([]sternfan.TrialRod, error) {
	var all []sternfan.TrialRod
	if c.File != "" {
		e, err := (&fileFlags{File: c.File}).client(ctx, w, "")
		if err != nil {
			return nil, err
		}
		sc, err := e.Scenario(&e.given)
		if err != nil {
			return nil, err
		}
		all = scenarioRods(sc)
	}
	if len(c.Rods) == 0 {
		return all, nil // none: those of the log
	}
	var out []sternfan.TrialRod
	for _, id := range c.Rods {
		rod := sternfan.TrialRod{ID: id, Position: strings.ReplaceAll(id, "-", " "), Side: sideOf(id)}
		found := c.File == ""
		for _, r := range all {
			if r.ID == id {
				rod, found = r, true
			}
		}
		if !found {
			return nil, &usageError{fmt.Sprintf("the scenario has no rod %.40q", id), "sternfan check --expand FILE lists them"}
		}
		out = append(out, rod)
	}
	return out, nil
}

func sideOf(name string) sternfan.Side {
	name = strings.ToLower(name)
	switch {
	case strings.Contains(name, "port"):
		return sternfan.Port
	case strings.Contains(name, "starboard"):
		return sternfan.Starboard
	}
	return sternfan.Amidships
}

func scenarioRods(sc *sternfan.Scenario) []sternfan.TrialRod {
	var out []sternfan.TrialRod
	for i := range sc.Rods {
		r := &sc.Rods[i]
		rod := sternfan.TrialRod{ID: r.ID, Side: r.Settings.Side}
		if h := sc.Boat.Holder(r.Holder); h != nil {
			rod.Position, rod.Side = h.Position, h.Side()
		}
		out = append(out, rod)
	}
	return out
}
