package main

import (
	"bytes"
	"context"
	"fmt"

	"sternfan/learn"
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
	if c.Last < 1 || c.Last > 1000 {
		return &usageError{fmt.Sprintf("--last is 1 to 1000 strikes, not %d", c.Last), ""}
	}
	if !(c.Flurry >= 0 && c.Flurry <= 24*60) {
		return &usageError{fmt.Sprintf("--flurry is 0 to 1440 minutes, not %g", c.Flurry), ""}
	}
	q := learn.FiredQuery{Trip: c.Trip, Last: c.Last, FlurryMS: int64(c.Flurry * 60_000), Bands: learn.Query{Units: c.units()}}
	if q.FlurryMS == 0 {
		q.FlurryMS = -1
	}
	if c.Trip != "" && !c.tables() {
		err := c.old(ctx, func(l *logbook.Log) error {
			o, err := tripOf(ctx, l, c.Trip)
			if err == nil {
				q.Trip = o.Trip.String()
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	log, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	fired := log.Fired(q)
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
