package main

import (
	"context"

	"sternfan/engine"
)

type schemaCmd struct {
	Out string `short:"o" name:"out" placeholder:"OUT" help:"Write to this file instead of the screen."`
}

func (c *schemaCmd) Run(ctx context.Context, w *world) error {
	file, err := new(engine.Engine).Schema(&engine.Call{Ctx: ctx}, &engine.Nothing{})
	if err != nil {
		return err
	}
	return (&outFlags{Out: c.Out}).put(w, []byte(file.Text))
}
