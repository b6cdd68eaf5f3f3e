package main

import (
	"context"
	"errors"
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
	return covered(got.Missing, len(got.Fan.Rods)+len(got.Fan.Devices))
}

// covered is an error when the answer lacks rods: in part when others stand. It was
// written all the same and names them.
func covered(missing []sternfan.Missing, of int) error {
	if len(missing) == 0 {
		return nil
	}
	var names []string
	for _, m := range missing {
		names = append(names, m.Rod)
	}
	text := fmt.Sprintf("the answer lacks %s; look for lengths, weights or speeds that are out of the ordinary", report.List(names))
	if len(missing) >= of {
		return errors.New(text)
	}
	return &partialError{text + "; the other lines stand"}
}
