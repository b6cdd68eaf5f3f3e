package main

import (
	"context"
	"fmt"
	"io"

	"sternfan/engine"
	"sternfan/report"
)

type layCmd struct {
	scenarioFlags
	Top    int    `default:"2" placeholder:"N" help:"How many plans, really unlike one another, best first."`
	Reset  string `placeholder:"ROD" help:"This rod's line is in and the rest are out as in the file: how does it go out again?"`
	Seed   uint64 `default:"1" placeholder:"N" help:"The same seed gives the same plans."`
	Format string `enum:",table,json,yaml" default:"" placeholder:"FORMAT" help:"table, json, or the best plan as a scenario (yaml)."`
}

func (c *layCmd) Run(ctx context.Context, w *world) error {
	if c.Top < 1 {
		return &usageError{fmt.Sprintf("--top %d shows nothing", c.Top), "give 1 or more"}
	}
	format, e, err := c.begin(ctx, w, c.Format, "table", "json", "yaml")
	if err != nil {
		return err
	}
	defer e.show.done()
	if c.Reset != "" {
		return c.reset(w, e, format)
	}
	got, err := e.Lay(e.long(""), &engine.LayAsk{Given: e.given, Top: c.Top, Seed: c.Seed})
	e.show.done()
	if err != nil {
		return err
	}
	table := func(out io.Writer, opt report.Options) error { return report.LayTable(out, got.Layout, opt) }
	text := ""
	if len(got.Plans) > 0 {
		text = got.Plans[0].Text
	}
	err = c.plan(w, e, format, text, table, inJSON(got.Layout))
	if err == nil && len(got.Plans) == 0 {
		return errNoPlan
	}
	return err
}

// reset says how one line goes out again.
func (c *layCmd) reset(w *world, e *client, format string) error {
	got, err := e.Reset(&e.call, &engine.ResetAsk{Given: e.given, Rod: c.Reset, Seed: c.Seed})
	if err != nil {
		return blame(err, "--reset "+c.Reset)
	}
	table := func(out io.Writer, opt report.Options) error { return report.ResetTable(out, got.Reset, opt) }
	return c.plan(w, e, format, got.Text, table, inJSON(got.Reset))
}

// plan writes a plan. Of one written as a scenario the words go to the screen, the plan,
// where there is one, to the file.
func (c *layCmd) plan(w *world, e *client, format, text string, table, json func(io.Writer, report.Options) error) error {
	if format != "yaml" {
		return c.answer(w, e, format, writers{"table": table, "json": json})
	}
	opt, err := c.words(w, e)
	if err != nil {
		return err
	}
	if err := table(w.stderr, opt); err != nil || text == "" {
		return err
	}
	return c.put(w, []byte(text))
}
