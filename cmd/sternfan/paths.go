package main

import (
	"bytes"
	"context"

	"sternfan/report"
	"sternfan/spread"
)

type pathsCmd struct {
	fileFlags
	outFlags
	Rod    string `required:"" placeholder:"ID" help:"The rod, by its id in the file."`
	Format string `enum:",table,json,csv,svg,pdf,png" default:"" placeholder:"FORMAT" help:"table, json, csv, or the view from astern as svg, pdf or png."`
	Scheme string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the drawing: day, dusk, night or print."`
}

func (c *pathsCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "csv", "json", "svg", "pdf", "png")
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.File); err != nil {
		return err
	}
	sc, model, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	paths, err := spread.Paths(ctx, model, c.Rod, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance, Units: c.system()})
	if err != nil {
		return blame(err, "--rod "+c.Rod)
	}
	var out bytes.Buffer
	opt := report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc}
	switch format {
	case "table":
		err = report.PathsTable(&out, paths, opt)
	case "json":
		err = report.PathsJSON(&out, paths)
	case "csv":
		err = report.PathsCSV(&out, paths, c.system())
	default:
		fan, failed := solve(ctx, model, sc, c.system())
		if failed != nil {
			return failed
		}
		err = render(&out, report.PathsDrawing(paths, fan, opt), format, c.Scheme)
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}
