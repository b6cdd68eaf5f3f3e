package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"runtime"

	"sternfan"
	"sternfan/engine"
	"sternfan/logbook"
	"sternfan/report"
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

// effort returns the tables, or what takes it from the log.
func (c *effortFlags) effort(ctx context.Context, w *world) (f engine.Effort, err error) {
	if !c.tables() {
		f.Kept = func(do func(*sternfan.Stint) error) error {
			return c.old(ctx, func(l *logbook.Log) error { return l.EachStint(ctx, do) })
		}
		return f, nil
	}
	if c.Stints == "" || c.Strikes == "" {
		return f, &usageError{"effort is stints and strikes", "give --stints CSV and --strikes CSV, both"}
	}
	if f.Stints, err = readTable(ctx, w, c.Stints); err != nil {
		return f, err
	}
	f.Strikes, err = readTable(ctx, w, c.Strikes)
	return f, err
}

// readTable returns the text of a table, which may be far larger than a scenario.
func readTable(ctx context.Context, w *world, path string) (*engine.Table, error) {
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
	return &engine.Table{Name: path, Text: string(data)}, ctx.Err()
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
		return flagged(err)
	}
	return c.write(w, format, report.Options{Units: c.system(), Width: c.columns(w)}, writers{
		"table": func(out io.Writer, opt report.Options) error { return report.RatesTable(out, all, opt) },
		"json":  func(out io.Writer, _ report.Options) error { return report.RatesJSON(out, all) },
		"csv":   func(out io.Writer, _ report.Options) error { return report.RatesCSV(out, all) },
		"": func(out io.Writer, _ report.Options) error {
			if len(all) > 1 {
				return &usageError{"a picture shows one attribute", "give a single one with --compare"}
			}
			return render(out, report.RatesDrawing(all[0]), format, c.Scheme)
		},
	})
}

func (c *ratesCmd) rates(ctx context.Context, w *world) ([]*sternfan.Rates, error) {
	switch {
	case len(c.Counts) > 0 && (c.tables() || len(c.Compare) > 0):
		return nil, &usageError{"counts are compared by themselves", "leave out --compare, --stints and --strikes"}
	case len(c.Counts)+len(c.Compare) == 0:
		return nil, &usageError{"there is nothing to compare", "give --compare diver.color, or counts: --counts 14/61h --counts 7/61h"}
	}
	ask := &engine.RatesAsk{Units: c.Units, Compare: c.Compare, Levels: c.Levels, Given: c.Given, Species: c.Species,
		Flurry: &c.Flurry, Band: c.Band, Looked: c.Looked, Counts: c.Counts}
	var err error
	if ask.Effort, err = c.effort(ctx, w); err != nil {
		return nil, err
	}
	e := engine.Engine{Workers: runtime.NumCPU()}
	got, err := e.Rates(&engine.Call{Ctx: ctx}, ask)
	if err != nil {
		return nil, err
	}
	return got.Rates, nil
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
	ask := &engine.PlanAsk{Compare: c.Compare, Levels: c.Levels, Rods: c.Rods, Hours: c.Hours, Turn: c.Turn, Change: c.Change,
		Rate: c.Rate, Ratios: c.Ratio, Power: c.Power, Seed: c.Seed, FromLog: c.tables() || c.Log != ""}
	if ask.Effort, err = c.effort(ctx, w); err != nil {
		return err
	}
	e := &client{call: engine.Call{Ctx: ctx}}
	if c.File != "" {
		if e, err = (&fileFlags{File: c.File}).client(ctx, w, ""); err != nil {
			return err
		}
		ask.Scenario = &e.given
	}
	trial, err := e.Plan(&e.call, ask)
	if err != nil {
		return flagged(err)
	}
	return c.write(w, format, report.Options{Units: c.system(), Width: c.columns(w)}, writers{
		"table": func(out io.Writer, opt report.Options) error { return report.TrialTable(out, trial, opt) },
		"json":  inJSON(trial),
	})
}
