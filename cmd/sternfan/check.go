package main

import (
	"context"
	"errors"
	"fmt"

	"sternfan"
	"sternfan/scenario"
)

type checkCmd struct {
	fileFlags
	Expand bool   `help:"Print the scenario with every named rig written out as parts and every default filled in."`
	Format string `enum:"text,json" default:"text" help:"How faults are written: text or json."`
}

func (c *checkCmd) Run(ctx context.Context, w *world) error {
	sc, model, err := c.load(ctx, w)
	var faults sternfan.Faults
	if err != nil && !errors.As(err, &faults) {
		return err
	}
	if c.Format == "json" && !(c.Expand && err == nil) {
		if err := writeFaultsJSON(w.stdout, faults); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	if c.Expand {
		text, err := scenario.Encode(model.Expanded())
		if err != nil {
			return err
		}
		_, err = w.stdout.Write(text)
		return err
	}
	if c.Format == "text" {
		_, err = fmt.Fprintf(w.stdout, "%s: no faults; %s\n", c.File, contents(sc))
	}
	return err
}
