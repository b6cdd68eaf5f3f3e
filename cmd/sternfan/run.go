package main

import (
	"context"
	"fmt"
	"io"

	"sternfan"
	"sternfan/engine"
	"sternfan/report"
)

type runCmd struct {
	scenarioFlags
	Format string `enum:",table,json,csv,svg,pdf,png" default:"" placeholder:"FORMAT" help:"table, json, csv, or the lines plan as svg, pdf or png."`
	Scheme string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the lines plan: day, dusk, night or print."`
}

func (c *runCmd) Run(ctx context.Context, w *world) error {
	format, e, err := c.begin(ctx, w, c.Format, "table", "json", "csv", "svg", "pdf", "png")
	if err != nil {
		return err
	}
	got, err := e.Spread(&e.call, &engine.SpreadAsk{Given: e.given, Intervals: true, Fan: true, Plan: pictures[format]})
	if err != nil {
		return err
	}
	err = c.answer(w, e, format, writers{
		"table": func(out io.Writer, opt report.Options) error { return report.Table(out, got.Fan, opt) },
		"json":  inJSON(got.Fan),
		"csv":   func(out io.Writer, opt report.Options) error { return report.CSV(out, got.Fan, opt.Units) },
		"":      drawn(got.Plan, format, c.Scheme),
	})
	if err != nil {
		return err
	}
	return converged(got.Fan)
}

// converged is an error when the solver did not finish a line. The result is written all
// the same: it says which, and the other lines stand.
func converged(fan *sternfan.Fan) error {
	var open []string
	for _, tracks := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for _, t := range tracks {
			if t.Status == sternfan.StatusNotConverged {
				open = append(open, fmt.Sprintf("%s (%d iterations)", t.Rod, t.Solve.Iterations))
			}
		}
	}
	if len(open) == 0 {
		return nil
	}
	return fmt.Errorf("no solution was found for %s; the other lines stand; look for lengths, weights or speeds that are out of the ordinary", report.List(open))
}
