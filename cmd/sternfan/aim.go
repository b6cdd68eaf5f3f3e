package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"sternfan"
	"sternfan/aim"
	"sternfan/report"
	"sternfan/unit"
)

type aimCmd struct {
	fileFlags
	outFlags
	Rod    string `placeholder:"ID" help:"The rod, by its id in the file."`
	Depth  string `placeholder:"DEPTH" help:"Where its lure is wanted, as in 65ft."`
	Side   string `placeholder:"DISTANCE" help:"How far out to the side, as in 40ft, from the boat's center line."`
	Lure   string `placeholder:"ID" help:"Which lure of the rod, by its part id (a free slider's, say); its own last one when not given."`
	Keep   string `placeholder:"SETTINGS" help:"Settings not to change, as in dial or line-out,ring."`
	Top    int    `default:"5" placeholder:"N" help:"How many ways to show, best first."`
	Format string `enum:",table,json" default:"" placeholder:"FORMAT" help:"table or json."`
}

func (c *aimCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json")
	if err != nil {
		return err
	}
	req, err := c.request()
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.File); err != nil {
		return err
	}
	sc, _, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	boat, err := aim.New(sc, aim.Options{Units: c.system(), Top: c.Top, Intervals: true})
	if err != nil {
		return err
	}
	found, err := boat.Reach(ctx, req)
	if err != nil {
		return blame(err, "aim --rod "+c.Rod)
	}
	return c.say(w, format, found, func(out *bytes.Buffer, opt report.Options) error { return report.AimTable(out, found, opt) }, sc)
}

// say writes a result as a table or JSON.
func (c *aimCmd) say(w *world, format string, v any, table func(out *bytes.Buffer, opt report.Options) error, sc *sternfan.Scenario) error {
	var out bytes.Buffer
	var err error
	if format == "json" {
		err = report.AimJSON(&out, v)
	} else {
		err = table(&out, report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc})
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// request reads the flags.
func (c *aimCmd) request() (aim.Request, error) {
	req := aim.Request{Rod: c.Rod, Lure: c.Lure}
	if c.Rod == "" || c.Depth == "" {
		return req, &usageError{"aim needs a rod and where its lure is wanted", "give --rod ID --depth 65ft"}
	}
	if c.Top < 1 {
		return req, &usageError{fmt.Sprintf("--top %d shows nothing", c.Top), "give 1 or more"}
	}
	depth, err := unit.ParseLength(c.Depth)
	if err != nil {
		return req, &usageError{"--depth: " + err.Error(), ""}
	}
	req.Depth = float64(depth)
	if c.Side != "" {
		side, err := unit.ParseLength(c.Side)
		if err != nil {
			return req, &usageError{"--side: " + err.Error(), ""}
		}
		s := float64(side)
		req.Side = &s
	}
	for _, key := range strings.FieldsFunc(c.Keep, func(r rune) bool { return r == ',' || r == ' ' }) {
		req.Keep = append(req.Keep, strings.ReplaceAll(key, "_", "-"))
	}
	return req, nil
}
