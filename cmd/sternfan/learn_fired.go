package main

import (
	"bytes"
	"context"
	"fmt"

	"sternfan/engine"
	"sternfan/logbook"
	"sternfan/report"
)

type firedCmd struct {
	effortFlags
	outFlags
	Trip   string  `placeholder:"ID" help:"The trip, if not that of the last strike."`
	Last   int     `default:"8" help:"How many of the last strikes."`
	Flurry float64 `default:"5" placeholder:"MIN" help:"Strikes of a trip no more minutes apart count once. 0: each counts."`
	Format string  `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

// Run says what a trip's last strikes share against what was in the water.
func (c *firedCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	ask := &engine.FiredAsk{Units: c.Units, Trip: c.Trip, Last: c.Last, Flurry: &c.Flurry}
	if ask.Effort, err = c.effort(ctx, w); err != nil {
		return err
	}
	if c.Trip != "" && !c.tables() {
		err := c.old(ctx, func(l *logbook.Log) error {
			o, err := tripOf(ctx, l, c.Trip)
			if err == nil {
				ask.Trip = o.Trip.String()
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	fired, err := new(engine.Engine).Fired(&engine.Call{Ctx: ctx}, ask)
	if err != nil {
		return flagged(err)
	}
	if format == "json" {
		return c.json(w, fired)
	}
	var out bytes.Buffer
	words := report.FiredWords(fired)
	switch {
	case fired.Strikes == 0:
		out.WriteString("No strike with effort behind it yet.\n")
	case len(words) == 0:
		fmt.Fprintf(&out, "What the last %s had in common luck would give as well.\n", report.Count(fired.Strikes, "strike"))
	}
	for _, s := range words {
		fmt.Fprintln(&out, s)
	}
	if len(words) > 0 {
		out.WriteString("A hint for the next set, not a finding: sternfan learn rates compares.\n")
	}
	return c.put(w, out.Bytes())
}
