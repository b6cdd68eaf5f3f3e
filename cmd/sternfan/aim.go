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
	Lure   string `placeholder:"ID" help:"Which lure of the rod: slider, or its part id; its own last one when not given."`
	Keep   string `placeholder:"SETTINGS" help:"Settings not to change, as in dial or line-out,ring."`
	All    string `placeholder:"ORDER" help:"Move every rod instead, kept clear of one another: 'down 10ft', 'up 5ft' or 'to 65ft'."`
	Like   string `placeholder:"WORDS" help:"Where a setting heard from elsewhere runs its lure, and how each rod gets there: 'wire, large diver, dial 2, 180ft'."`
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
	opt := aim.Options{Units: c.system(), Top: c.Top, Intervals: true}
	if c.Like != "" {
		opt.Top = 1
	}
	show := newProgress(w)
	what := "looking at every rod"
	if c.Rod != "" {
		what = "looking at every way"
	}
	opt.Progress = func(done, total int) { show.step(what, float64(done)/float64(max(total, 1)), 0) }
	boat, err := aim.New(sc, opt)
	if err != nil {
		return err
	}
	switch {
	case c.All != "":
		order, err := aim.ParseOrder(c.All)
		if err != nil {
			return blame(err, "--all "+c.All)
		}
		found, err := boat.All(ctx, order)
		show.done()
		if err != nil {
			return err
		}
		return c.say(w, format, found, func(out *bytes.Buffer, opt report.Options) error { return report.AimAllTable(out, found, opt) }, sc)
	case c.Like != "":
		found, err := boat.Like(ctx, c.Like)
		show.done()
		if err != nil {
			return blame(err, "--like "+c.Like)
		}
		return c.say(w, format, found, func(out *bytes.Buffer, opt report.Options) error { return report.AimLikeTable(out, found, opt) }, sc)
	}
	found, err := boat.Reach(ctx, req)
	show.done()
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
	asked := 0
	for _, flag := range []string{c.Rod + c.Depth, c.All, c.Like} {
		if flag != "" {
			asked++
		}
	}
	switch {
	case asked > 1:
		return req, &usageError{"--rod, --all and --like are three questions", "ask one at a time"}
	case c.All != "" || c.Like != "":
		if c.Side+c.Keep+c.Lure != "" {
			return req, &usageError{"--side, --keep and --lure go with --rod", "leave them out"}
		}
		return req, nil
	case c.Rod == "" || c.Depth == "":
		return req, &usageError{"aim needs a rod and where its lure is wanted", "give --rod ID --depth 65ft, or --all 'down 10ft', or --like 'wire, large diver, dial 2, 180ft'"}
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
