package main

import (
	"bytes"
	"context"
	"fmt"

	"sternfan"
	"sternfan/lay"
	"sternfan/report"
	"sternfan/scenario"
)

type layCmd struct {
	fileFlags
	outFlags
	Top    int    `default:"2" placeholder:"N" help:"How many plans, really unlike one another, best first."`
	Reset  string `placeholder:"ROD" help:"This rod's line is in and the rest are out as in the file: how does it go out again?"`
	Seed   uint64 `default:"1" placeholder:"N" help:"The same seed gives the same plans."`
	Format string `enum:",table,json,yaml" default:"" placeholder:"FORMAT" help:"table, json, or the best plan as a scenario (yaml)."`
}

func (c *layCmd) Run(ctx context.Context, w *world) error {
	format, err := c.format(c.Format, "table", "json", "yaml")
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.File); err != nil {
		return err
	}
	if c.Top < 1 {
		return &usageError{fmt.Sprintf("--top %d shows nothing", c.Top), "give 1 or more"}
	}
	sc, _, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	opt := report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc}
	if c.Reset != "" {
		return c.reset(ctx, w, sc, format, opt)
	}
	show := newProgress(w)
	plan, err := lay.Plan(ctx, sc, lay.Options{Top: c.Top, Seed: c.Seed, Units: c.system(), Progress: show.step})
	show.done()
	if err != nil {
		return err
	}
	var out bytes.Buffer
	switch {
	case format == "json":
		err = report.LayJSON(&out, plan)
	case format == "yaml" && len(plan.Plans) > 0:
		var data []byte
		data, err = scenario.Encode(ownScenario(plan.Plans[0].Scenario))
		out.WriteString(report.PlanComments(&plan.Plans[0], opt))
		out.Write(data)
	case format == "table":
		err = report.LayTable(&out, plan, opt)
	}
	if err != nil {
		return err
	}
	if format == "yaml" {
		// The words go to the screen, the plan to the file.
		if err := report.LayTable(w.stderr, plan, opt); err != nil {
			return err
		}
	}
	if len(plan.Plans) > 0 || format != "yaml" {
		if err := c.put(w, out.Bytes()); err != nil {
			return err
		}
	}
	if len(plan.Plans) == 0 {
		return errNoPlan
	}
	return nil
}

// reset says how one line goes out again.
func (c *layCmd) reset(ctx context.Context, w *world, sc *sternfan.Scenario, format string, opt report.Options) error {
	r, err := lay.Reset(ctx, sc, c.Reset, lay.Options{Seed: c.Seed, Units: c.system()})
	if err != nil {
		return blame(err, "--reset "+c.Reset)
	}
	var out bytes.Buffer
	switch format {
	case "json":
		err = report.ResetJSON(&out, r)
	case "yaml":
		var data []byte
		data, err = scenario.Encode(ownScenario(r.Scenario))
		out.Write(data)
		if err == nil {
			err = report.ResetTable(w.stderr, r, opt)
		}
	default:
		err = report.ResetTable(&out, r, opt)
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// ownScenario makes a scenario that stands by itself, beside no file with a profile.
func ownScenario(sc *sternfan.Scenario) *sternfan.Scenario {
	own := *sc
	own.Water.Profile = ""
	return &own
}
