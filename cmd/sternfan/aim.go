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

type aimCmd struct {
	scenarioFlags
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
	if err := c.asked(); err != nil {
		return err
	}
	ask, err := c.ask()
	if err != nil {
		return err
	}
	format, e, err := c.begin(ctx, w, c.Format, "table", "json")
	if err != nil {
		return err
	}
	defer e.show.done()
	call := e.long("looking at every rod")
	var got any
	var table func(out io.Writer, opt report.Options) error
	switch {
	case c.All != "":
		all, failed := e.Order(call, &engine.OrderAsk{Given: e.given, Order: c.All, Intervals: true})
		got, err = all, blame(failed, "--all "+c.All)
		table = func(out io.Writer, opt report.Options) error { return report.AimAllTable(out, all, opt) }
	case c.Like != "":
		like, failed := e.Like(call, &engine.LikeAsk{Given: e.given, Said: c.Like, Top: 1, Intervals: true})
		got, err = like, blame(failed, "--like "+c.Like)
		table = func(out io.Writer, opt report.Options) error { return report.AimLikeTable(out, like, opt) }
	default:
		ask.Given = e.given
		one, failed := e.Aim(e.long("looking at every way"), ask)
		got, err = one, blame(failed, "aim --rod "+c.Rod)
		table = func(out io.Writer, opt report.Options) error { return report.AimTable(out, one, opt) }
	}
	e.show.done()
	if err != nil {
		return err
	}
	return c.answer(w, e, format, writers{
		"table": table,
		"json":  inJSON(got),
	})
}

// asked refuses flags that do not go together.
func (c *aimCmd) asked() error {
	questions := 0
	for _, flag := range []string{c.Rod + c.Depth, c.All, c.Like} {
		if flag != "" {
			questions++
		}
	}
	switch one := c.All == "" && c.Like == ""; {
	case questions > 1:
		return &usageError{"--rod, --all and --like are three questions", "ask one at a time"}
	case !one && c.Side+c.Keep+c.Lure != "":
		return &usageError{"--side, --keep and --lure go with --rod", "leave them out"}
	case one && (c.Rod == "" || c.Depth == ""):
		return &usageError{"aim needs a rod and where its lure is wanted", "give --rod ID --depth 65ft, or --all 'down 10ft', or --like 'wire, large diver, dial 2, 180ft'"}
	case one && c.Top < 1:
		return &usageError{fmt.Sprintf("--top %d shows nothing", c.Top), "give 1 or more"}
	}
	return nil
}

// ask reads the flags of one rod's question.
func (c *aimCmd) ask() (*engine.AimAsk, error) {
	ask := &engine.AimAsk{Rod: c.Rod, Lure: c.Lure, Top: c.Top, Intervals: true}
	if c.Depth != "" {
		depth, err := unit.ParseLength(c.Depth)
		if err != nil {
			return nil, &usageError{"--depth: " + err.Error(), ""}
		}
		ask.Depth = float64(depth)
	}
	if c.Side != "" {
		side, err := unit.ParseLength(c.Side)
		if err != nil {
			return nil, &usageError{"--side: " + err.Error(), ""}
		}
		s := float64(side)
		ask.Side = &s
	}
	for _, key := range strings.FieldsFunc(c.Keep, func(r rune) bool { return r == ',' || r == ' ' }) {
		ask.Keep = append(ask.Keep, strings.ReplaceAll(key, "_", "-"))
	}
	return ask, nil
}
