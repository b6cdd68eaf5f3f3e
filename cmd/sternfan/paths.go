package main

import (
	"context"
	"io"

	"sternfan/engine"
	"sternfan/report"
)

type pathsCmd struct {
	scenarioFlags
	Rod    string `required:"" placeholder:"ID" help:"The rod, by its id in the file."`
	Format string `enum:",table,json,csv,svg,pdf,png" default:"" placeholder:"FORMAT" help:"table, json, csv, or the view from astern as svg, pdf or png."`
	Scheme string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the drawing: day, dusk, night or print."`
}

func (c *pathsCmd) Run(ctx context.Context, w *world) error {
	format, e, err := c.begin(ctx, w, c.Format, "table", "csv", "json", "svg", "pdf", "png")
	if err != nil {
		return err
	}
	got, err := e.Paths(&e.call, &engine.PathsAsk{Given: e.given, Rod: c.Rod, Intervals: true, Drawing: pictures[format]})
	if err != nil {
		return blame(err, "--rod "+c.Rod)
	}
	return c.answer(w, e, format, writers{
		"table": func(out io.Writer, opt report.Options) error { return report.PathsTable(out, got.Paths, opt) },
		"json":  inJSON(got.Paths),
		"csv":   func(out io.Writer, opt report.Options) error { return report.PathsCSV(out, got.Paths, opt.Units) },
		"":      drawn(got.Drawing, format, c.Scheme),
	})
}
