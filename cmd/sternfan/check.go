package main

import (
	"context"
	"fmt"
	"io"

	"sternfan/engine"
	"sternfan/report"

	"sternfan"
)

type checkCmd struct {
	fileFlags
	Expand bool   `help:"Print the scenario with every named rig written out as parts and every default filled in."`
	Format string `enum:"text,json" default:"text" help:"How faults are written: text or json."`
}

func (c *checkCmd) Run(ctx context.Context, w *world) error {
	e, err := c.client(ctx, w, "")
	if err != nil {
		return err
	}
	got, err := e.Check(&e.call, &engine.CheckAsk{Given: e.given})
	if err != nil {
		return err
	}
	faulty := len(got.Faults) > 0
	switch {
	case c.Format == "json" && (faulty || !c.Expand):
		err = writeFaultsJSON(w.stdout, got.Faults)
	case faulty:
	case c.Expand:
		var file *engine.FileText
		if file, err = e.Expand(&e.call, &e.given); err == nil {
			_, err = io.WriteString(w.stdout, file.Text)
		}
	default:
		_, err = fmt.Fprintf(w.stdout, "%s: no faults; %s\n", c.File, contents(got))
	}
	if err == nil && faulty {
		return sternfan.Faults(got.Faults)
	}
	return err
}

// contents says in a few words what a scenario holds.
func contents(c *engine.Checked) string {
	kinds := map[string]int{}
	for _, d := range c.Devices {
		kinds[d.Kind]++
	}
	words := []string{report.Count(len(c.Rods), "rod")}
	if n := kinds["downrigger"]; n > 0 {
		words = append(words, report.Count(n, "downrigger"))
	}
	if n := kinds["mast-board"]; n > 0 {
		words = append(words, report.Count(n, "mast board"))
	}
	return report.List(words)
}
