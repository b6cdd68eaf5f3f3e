package main

import (
	"context"
	"io"
	"path/filepath"

	"sternfan/draw"
	"sternfan/engine"
	"sternfan/report"
)

type cardCmd struct {
	scenarioFlags
	Size   string   `enum:"a5,letter" default:"a5" placeholder:"a5|letter" help:"The paper: a5 or letter, upright."`
	Scheme string   `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors: day, dusk, night or print (black on white). All can be read in black and white."`
	Order  []string `placeholder:"ID,ID,..." help:"Rods in the order to set. Those left out follow from the outside in."`
	Date   string   `placeholder:"DATE" help:"The date to print; today's when not given."`
	Format string   `enum:",svg,pdf,png" default:"" placeholder:"FORMAT" help:"pdf, svg or png; the ending of OUT says it otherwise."`
}

// Help says what is on the card.
func (*cardCmd) Help() string {
	return "One page to stick at the helm: the rods in the order to set, what to dial and count in the order of hands, where each runs, the same 0.3 mph slower and faster, the drag, the lines plan."
}

// papers are the renderer's sizes of the pages.
var papers = map[string]draw.Size{"a5": draw.A5Upright, "letter": draw.LetterUpright}

func (c *cardCmd) Run(ctx context.Context, w *world) error {
	format, e, err := c.begin(ctx, w, c.Format, "pdf", "svg", "png")
	if err != nil {
		return err
	}
	ask := &engine.CardAsk{Given: e.given, Page: c.Size, Order: c.Order, Date: c.Date}
	if c.File != stdinName {
		ask.File = filepath.Base(c.File)
	}
	if ask.Date == "" {
		ask.Date = w.now().Format("2006-01-02")
	}
	got, err := e.Card(&e.call, ask)
	if err != nil {
		return blame(err, "--order")
	}
	err = c.answer(w, e, format, writers{"": func(out io.Writer, _ report.Options) error {
		return draw.Render(out, got.Drawing, draw.Format(format), draw.Scheme(c.Scheme), papers[c.Size])
	}})
	if err != nil {
		return err
	}
	set, err := e.Spread(&e.call, &engine.SpreadAsk{Given: e.given, Intervals: true, Fan: true}) // remembered
	if err != nil {
		return err
	}
	return covered(set.Fan.Missing, len(set.Fan.Rods)+len(set.Fan.Devices))
}
