package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"sternfan/engine"
	"sternfan/report"
	"sternfan/unit"
)

type speedsCmd struct {
	scenarioFlags
	At     string `required:"" placeholder:"WHERE=SPEED" help:"Where and how fast through the water: ball=2.2mph, a downrigger's id as in r1=2.2mph, or a depth as in 60ft=2.2mph."`
	Format string `enum:",table,json,csv" default:"" placeholder:"FORMAT" help:"table, json or csv."`
}

func (c *speedsCmd) Run(ctx context.Context, w *world) error {
	format, e, err := c.begin(ctx, w, c.Format, "table", "json", "csv")
	if err != nil {
		return err
	}
	at, want, err := parseAt(c.At)
	if err != nil {
		return err
	}
	got, err := e.Speeds(&e.call, &engine.SpeedsAsk{Given: e.given, At: at, Want: want})
	if err != nil {
		return blame(err, "--at "+c.At)
	}
	return c.answer(w, e, format, writers{
		"table": func(out io.Writer, _ report.Options) error { _, err := io.WriteString(out, got.Words); return err },
		"json":  inJSON(got.Table),
		"csv":   func(out io.Writer, opt report.Options) error { return report.SpeedCSV(out, got.Table, opt.Units) },
	})
}

// parseAt takes "ball=2.2mph" apart.
func parseAt(text string) (at, want string, err error) {
	at, want, found := strings.Cut(text, "=")
	if !found || strings.TrimSpace(at) == "" {
		return "", "", &usageError{fmt.Sprintf("--at %q does not say where and how fast", text), "write it as ball=2.2mph or 60ft=2.2mph"}
	}
	if _, err := unit.ParseSpeed(want); err != nil {
		return "", "", &usageError{"--at: " + err.Error(), ""}
	}
	return strings.TrimSpace(at), want, nil
}
