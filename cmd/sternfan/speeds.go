package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"sternfan/report"
	"sternfan/spread"
	"sternfan/unit"
)

type speedsCmd struct {
	fileFlags
	outFlags
	At     string `required:"" placeholder:"WHERE=SPEED" help:"Where and how fast through the water: ball=2.2mph, a downrigger's id as in r1=2.2mph, or a depth as in 60ft=2.2mph."`
	Format string `enum:",table,json,csv" default:"" placeholder:"FORMAT" help:"table, json or csv."`
}

func (c *speedsCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json", "csv")
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.File); err != nil {
		return err
	}
	at, want, err := parseAt(c.At)
	if err != nil {
		return err
	}
	sc, model, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	table, err := spread.Speeds(ctx, model, at, float64(want), spread.Options{Tolerance: sc.Solver.Tolerance, Units: c.system()})
	if err != nil {
		return blame(err, "--at "+c.At)
	}
	var out bytes.Buffer
	switch format {
	case "json":
		err = report.SpeedJSON(&out, table)
	case "csv":
		err = report.SpeedCSV(&out, table, c.system())
	default:
		err = report.SpeedTable(&out, table, c.system())
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// parseAt takes "ball=2.2mph" apart.
func parseAt(text string) (at string, want unit.Speed, err error) {
	at, speed, found := strings.Cut(text, "=")
	if !found || strings.TrimSpace(at) == "" {
		return "", 0, &usageError{fmt.Sprintf("--at %q does not say where and how fast", text),
			"write it as ball=2.2mph or 60ft=2.2mph"}
	}
	want, err = unit.ParseSpeed(speed)
	if err != nil {
		return "", 0, &usageError{"--at: " + err.Error(), ""}
	}
	return strings.TrimSpace(at), want, nil
}
