package main

import (
	"bytes"
	"context"
	"path/filepath"

	"sternfan"
	"sternfan/draw"
	"sternfan/report"
	"sternfan/tackle"
	"sternfan/unit"
)

type cardCmd struct {
	fileFlags
	outFlags
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

// cardPage is a size of paper for the layout and for the file.
type cardPage struct {
	page report.Page
	size draw.Size
}

var cardPages = map[string]cardPage{
	"a5":     {report.PageA5, draw.A5Upright},
	"letter": {report.PageLetter, draw.LetterUpright},
}

func (c *cardCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "pdf", "svg", "png")
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
	opt := report.CardOptions{
		Options: report.Options{Units: c.system(), Scenario: model.Scenario},
		Page:    cardPages[c.Size].page, Order: c.Order, Date: c.Date, File: filepath.Base(c.File),
	}
	if c.File == stdinName {
		opt.File = ""
	}
	if opt.Date == "" {
		opt.Date = w.now().Format("2006-01-02")
	}
	if err := c.known(sc); err != nil {
		return err
	}
	fan, err := solve(ctx, model, sc, c.system())
	if err != nil {
		return err
	}
	for _, other := range []struct {
		by   unit.Speed
		into **sternfan.Fan
	}{{-report.CardStep, &opt.Slower}, {report.CardStep, &opt.Faster}} {
		if *other.into, err = solveAt(ctx, sc, other.by, c.system()); err != nil {
			return err
		}
	}
	var out bytes.Buffer
	if err := draw.Render(&out, report.Card(fan, opt), draw.Format(format), draw.Scheme(c.Scheme), cardPages[c.Size].size); err != nil {
		return err
	}
	if err := c.put(w, out.Bytes()); err != nil {
		return err
	}
	return converged(fan)
}

// known refuses an order that names a rod that is not there.
func (c *cardCmd) known(sc *sternfan.Scenario) error {
	var ids []string
	for i := range sc.Rods {
		ids = append(ids, sc.Rods[i].ID)
	}
	for _, id := range c.Order {
		found := false
		for _, have := range ids {
			found = found || have == id
		}
		if !found {
			return sternfan.Faults{{Code: "unknown-id", File: "--order", Text: "no rod has that id", Found: id, Allowed: ids}}
		}
	}
	return nil
}

// solveAt solves the scenario at another speed, nil when the boat would stand or go
// astern.
func solveAt(ctx context.Context, sc *sternfan.Scenario, by unit.Speed, units unit.System) (*sternfan.Fan, error) {
	other := *sc
	other.Speed.Value.Value += by
	if !(other.Speed.Value.Value > 0) {
		return nil, nil
	}
	model, faults := tackle.Resolve(&other)
	if len(faults) > 0 {
		return nil, nil // as when the current alone is faster than that
	}
	return solve(ctx, model, &other, units)
}
