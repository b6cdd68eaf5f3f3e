package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"sternfan/engine"
	"sternfan/report"
)

type depthCmd struct {
	fileFlags
	loggedFlags
	Measured string `placeholder:"FILE" help:"What was measured: a CSV table, a row each, or a YAML list (see docs/learning.md)."`
	Out      string `short:"o" name:"out" placeholder:"CALIBRATED.yaml" help:"Write the scenario with the new calibrations to this file."`
	Undo     bool   `help:"Take the latest calibrations out again, or with --mark those; give -o."`
	Mark     string `placeholder:"MARK" help:"The calibrations that --undo takes out."`
	Off      string `placeholder:"NAME|MARK" help:"Switch calibrations off, by name or mark; give -o."`
	On       string `placeholder:"NAME|MARK" help:"Switch calibrations on, by name or mark; give -o."`
	Units    string `enum:"us,si" default:"us" placeholder:"us|si" help:"Units a person sees: us (feet, mph, pounds) or si. JSON is always SI."`
	Format   string `enum:"table,json,svg,pdf,png" default:"table" placeholder:"FORMAT" help:"table or json, or a picture of measured against reckoned depths as svg, pdf or png."`
	Scheme   string `enum:"day,dusk,night,print" default:"day" placeholder:"NAME" help:"Colors of the picture: day, dusk, night or print."`
	Picture  string `placeholder:"FILE" help:"Write that picture to this file as well: .svg, .pdf or .png."`
}

func (c *depthCmd) Run(ctx context.Context, w *world) error {
	if !slices.Contains([]string{"", ".svg", ".pdf", ".png"}, strings.ToLower(filepath.Ext(c.Picture))) {
		return &usageError{c.Picture + " is no picture's name", "end it in .svg, .pdf or .png"}
	}
	if c.Out != "" && sameFile(c.Out, c.File) {
		return &usageError{c.Out + " is the scenario itself, and would be lost", "name another file with -o"}
	}
	changes := c.Undo || c.Off != "" || c.On != ""
	measured := c.Measured != "" || c.Logged
	e, err := c.client(ctx, w, c.Units)
	switch {
	case err != nil:
		return err
	case changes && measured:
		return &usageError{"one thing at a time", "give one of --measured, --logged, --undo, --off and --on"}
	case changes || !measured:
		return c.change(w, e)
	case c.Measured != "" && c.Logged:
		return &usageError{"measurements come from a file or from the log", "give --measured and -o first, then --logged with the file that was written"}
	}
	ask := &engine.DepthAsk{Given: e.given, Since: c.Since, Sounder: c.Transducer}
	if c.Logged {
		ask.Logged, err = c.readings(ctx)
	} else {
		ask.Measured, err = readTable(ctx, w, c.Measured)
	}
	if err != nil {
		return err
	}
	got, err := e.Depth(&e.call, ask)
	if err != nil {
		return flagged(err)
	}
	for _, s := range got.Said {
		say(w.stderr, "%s", s)
	}
	if c.Out != "" && got.Text != "" {
		if err := (&outFlags{Out: c.Out}).put(w, []byte(got.Text)); err != nil {
			return err
		}
		got.Fit.SavedTo = c.Out
	}
	out := outFlags{Units: c.Units}
	if c.Picture != "" {
		format := strings.TrimPrefix(strings.ToLower(filepath.Ext(c.Picture)), ".")
		var drawn bytes.Buffer
		if err := render(&drawn, report.DepthFitDrawing(got.Fit, out.system()), format, c.Scheme); err != nil {
			return err
		}
		if err := (&outFlags{Out: c.Picture}).put(w, drawn.Bytes()); err != nil {
			return err
		}
	}
	return out.write(w, c.Format, report.Options{Units: out.system(), Width: w.columns}, writers{
		"table": func(to io.Writer, opt report.Options) error { return report.DepthFitTable(to, got.Fit, opt) },
		"json":  func(to io.Writer, opt report.Options) error { return report.DepthFitJSON(to, got.Fit, opt.Units) },
		"": func(to io.Writer, opt report.Options) error {
			return render(to, report.DepthFitDrawing(got.Fit, opt.Units), c.Format, c.Scheme)
		},
	})
}

// change lists the calibrations, takes some out, or switches some.
func (c *depthCmd) change(w *world, e *client) error {
	got, err := e.Calibrations(&e.call, &engine.CalibrationsAsk{Given: e.given, Undo: c.Undo, Mark: c.Mark, Off: c.Off, On: c.On})
	if err != nil {
		return flagged(err)
	}
	if got.Did != "" {
		if c.Out == "" {
			return &usageError{"the changed scenario needs a file", "name it with -o"}
		}
		if err := (&outFlags{Out: c.Out}).put(w, []byte(got.Text)); err != nil {
			return err
		}
		_, err := fmt.Fprintf(w.stdout, "%s: %s\n", c.Out, got.Did)
		return err
	}
	var out bytes.Buffer
	if len(got.Lines) == 0 {
		fmt.Fprintf(&out, "%s has no calibrations; give what was measured with --measured FILE or --logged\n", e.given.Name)
	}
	for _, line := range got.Lines {
		fmt.Fprintln(&out, line)
	}
	return (&outFlags{}).put(w, out.Bytes())
}
