package main

import "sternfan/scenario"

type schemaCmd struct {
	Out string `short:"o" name:"out" placeholder:"OUT" help:"Write to this file instead of the screen."`
}

func (c *schemaCmd) Run(w *world) error {
	text, err := scenario.Schema()
	if err != nil {
		return err
	}
	return (&outFlags{Out: c.Out}).put(w, text)
}
