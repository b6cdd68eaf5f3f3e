package main

import (
	"bytes"
	"context"
	"fmt"

	"sternfan"
	"sternfan/report"
)

type runCmd struct {
	fileFlags
	outFlags
	Format string `enum:",table,json,csv,svg,pdf,png" default:"" placeholder:"FORMAT" help:"table, json, csv, or the lines plan as svg, pdf or png."`
	Scheme string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the lines plan: day, dusk, night or print."`
}

func (c *runCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json", "csv", "svg", "pdf", "png")
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
	fan, err := solve(ctx, model, sc, c.system())
	if err != nil {
		return err
	}
	var out bytes.Buffer
	opt := report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc}
	switch format {
	case "table":
		err = report.Table(&out, fan, opt)
	case "json":
		err = report.JSON(&out, fan)
	case "csv":
		err = report.CSV(&out, fan, c.system())
	default:
		err = render(&out, report.LinesPlan(fan, sc, opt), format, c.Scheme)
	}
	if err != nil {
		return err
	}
	if err := c.put(w, out.Bytes()); err != nil {
		return err
	}
	return converged(fan)
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
	return fmt.Errorf("no solution was found for %s; the other lines stand; look for lengths, weights or speeds that are out of the ordinary", list(open))
}
