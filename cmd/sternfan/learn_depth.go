package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"sternfan"
	"sternfan/learn/depth"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/unit"
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

	from string // what the measurements came from, for the calibrations
}

func (c *depthCmd) Run(ctx context.Context, w *world) error {
	if !slices.Contains([]string{"", ".svg", ".pdf", ".png"}, strings.ToLower(filepath.Ext(c.Picture))) {
		return &usageError{c.Picture + " is no picture's name", "end it in .svg, .pdf or .png"}
	}
	if c.Out != "" && sameFile(c.Out, c.File) {
		return &usageError{c.Out + " is the scenario itself, and would be lost", "name another file with -o"}
	}
	e, err := c.client(ctx, w, c.Units)
	if err != nil {
		return err
	}
	name, data := e.given.Name, []byte(e.given.Text)
	decode := func(set []string) (*sternfan.Scenario, error) {
		given := e.given
		given.Set = slices.Concat(set, e.given.Set[len(c.Set):]) // and what a flag of its own sets
		return e.Read(&given)
	}
	kept, err := decode(nil)
	if err != nil {
		return err
	}
	if c.Measured == "" && !c.Logged || c.Undo || c.Off != "" || c.On != "" {
		return c.change(w, kept, name, data)
	}
	if c.Measured != "" && c.Logged {
		return &usageError{"measurements come from a file or from the log", "give --measured and -o first, then --logged with the file that was written"}
	}
	sc, err := decode(c.Set)
	if err != nil {
		return err
	}
	if _, faults := tackle.Resolve(sc); len(faults) > 0 {
		return faults
	}
	with := func(set []string) (*sternfan.Scenario, error) { return decode(append(slices.Clone(c.Set), set...)) }
	q, err := c.query(ctx, w, sc, with)
	if err != nil {
		return err
	}
	fit, err := depth.Learn(ctx, *q)
	if err != nil {
		return err
	}
	fit.Files = []string{name, q.File}
	if c.Out != "" && len(fit.Save) > 0 {
		all := slices.Clone(kept.Calibrations)
		for i := range fit.Save {
			s := fit.Save[i]
			s.Source += ", from " + c.from
			all = append(all, s.Calibration())
		}
		if err := c.save(w, kept, all, name, data); err != nil {
			return err
		}
		fit.SavedTo = c.Out
	}
	if c.Picture != "" {
		var out bytes.Buffer
		format := strings.TrimPrefix(strings.ToLower(filepath.Ext(c.Picture)), ".")
		if err := render(&out, report.DepthFitDrawing(fit, c.system()), format, c.Scheme); err != nil {
			return err
		}
		if err := (&outFlags{Out: c.Picture}).put(w, out.Bytes()); err != nil {
			return err
		}
	}
	var out bytes.Buffer
	switch c.Format {
	case "json":
		err = report.DepthFitJSON(&out, fit, c.system())
	case "table":
		err = report.DepthFitTable(&out, fit, report.Options{Units: c.system(), Width: w.columns})
	default:
		err = render(&out, report.DepthFitDrawing(fit, c.system()), c.Format, c.Scheme)
	}
	if err != nil {
		return err
	}
	return (&outFlags{}).put(w, out.Bytes())
}

// query gathers what was measured, from a file or from the log.
func (c *depthCmd) query(ctx context.Context, w *world, sc *sternfan.Scenario, with func([]string) (*sternfan.Scenario, error)) (*depth.Query, error) {
	q := &depth.Query{Scenario: sc, With: with, File: c.Measured}
	if c.Logged {
		l, err := c.readLog(ctx, sc)
		if err != nil {
			return nil, err
		}
		for _, s := range l.said {
			say(w.stderr, "%s", s)
		}
		q.File, q.Measured = "the log", l.measured
		q.With = func(set []string) (*sternfan.Scenario, error) {
			if len(set) == 1 {
				if scene, ok := l.scenes[set[0]]; ok {
					return scene, nil
				}
			}
			return with(set)
		}
		sum := sha256.Sum256([]byte(strings.Join(l.ids, "")))
		q.Mark, q.Readings, c.from = hex.EncodeToString(sum[:4]), l.ids, "the log to "+slices.Max(l.ids)
		return q, nil
	}
	table, err := readTable(ctx, w, c.Measured)
	if err != nil {
		return nil, err
	}
	if q.Measured, err = depth.ReadMeasured(c.Measured, table, sc); err != nil {
		return nil, err
	}
	sum := sha256.Sum256(table)
	q.Mark, c.from = hex.EncodeToString(sum[:4]), filepath.Base(c.Measured)
	return q, nil
}

func (c *depthCmd) system() unit.System {
	if c.Units == "si" {
		return unit.SI
	}
	return unit.US
}

// change lists the calibrations, takes some out, or switches some.
func (c *depthCmd) change(w *world, sc *sternfan.Scenario, name string, data []byte) error {
	all := slices.Clone(sc.Calibrations)
	did := ""
	asked := 0
	for _, on := range []bool{c.Undo, c.Off != "", c.On != "", c.Measured != "" || c.Logged} {
		if on {
			asked++
		}
	}
	switch {
	case asked > 1:
		return &usageError{"one thing at a time", "give one of --measured, --logged, --undo, --off and --on"}
	case c.Undo:
		left, mark, count := depth.Undo(all, c.Mark)
		if count == 0 {
			return &usageError{"there are no calibrations to undo", "those made by sternfan learn depth say a mark; see sternfan learn depth FILE"}
		}
		all, did = left, fmt.Sprintf("%d calibrations of mark %s taken out", count, mark)
	case asked > 0:
		which, off := c.Off, true
		if c.On != "" {
			which, off = c.On, false
		}
		count := 0
		for i := range all {
			if depth.Named(&all[i], which) {
				all[i].Off = off
				count++
			}
		}
		if count == 0 {
			return &usageError{fmt.Sprintf("the scenario has no calibration %.60q", which), "sternfan learn depth FILE lists them with their marks"}
		}
		did = fmt.Sprintf("%d calibrations of %s switched %s", count, which, map[bool]string{true: "off", false: "on"}[off])
	}
	if did != "" {
		if c.Out == "" {
			return &usageError{"the changed scenario needs a file", "name it with -o"}
		}
		if err := c.save(w, sc, all, name, data); err != nil {
			return err
		}
		_, err := fmt.Fprintf(w.stdout, "%s: %s\n", c.Out, did)
		return err
	}
	var out bytes.Buffer
	if len(all) == 0 {
		fmt.Fprintf(&out, "%s has no calibrations; give what was measured with --measured FILE or --logged\n", name)
	}
	for _, line := range report.CalibrationLines(all) {
		fmt.Fprintln(&out, line)
	}
	return (&outFlags{}).put(w, out.Bytes())
}

// save writes the scenario with these calibrations and the rest of its file, comments
// and all, as it was.
func (c *depthCmd) save(w *world, sc *sternfan.Scenario, all []sternfan.Calibration, name string, data []byte) error {
	changed := *sc
	changed.Calibrations = all
	text, err := scenario.Encode(&changed)
	if err != nil {
		return err
	}
	if spliced := splice(data, text); spliced != nil {
		opt := scenario.Options{Known: tackle.Known, List: tackle.Names}
		a, _, errA := scenario.DecodeWith(name, spliced, opt)
		b, _, errB := scenario.DecodeWith(name, text, opt)
		if errA == nil && errB == nil && reflect.DeepEqual(a.Calibrations, b.Calibrations) {
			text = spliced
		}
	}
	return (&outFlags{Out: c.Out}).put(w, text)
}

// splice returns the file with the calibrations of another text of it in place of its
// own; nil when it is not YAML in blocks.
func splice(data, text []byte) []byte {
	if bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return nil
	}
	before, _, after := cutBlock(data)
	_, block, _ := cutBlock(text)
	if len(before) > 0 && before[len(before)-1] != '\n' {
		before = append(slices.Clone(before), '\n')
	}
	return slices.Concat(before, block, after)
}

// cutBlock cuts a YAML file around its top-level calibrations.
func cutBlock(data []byte) (before, block, after []byte) {
	const key = "calibrations:"
	start := 0
	if !bytes.HasPrefix(data, []byte(key)) {
		i := bytes.Index(data, []byte("\n"+key))
		if i < 0 {
			return data, nil, nil
		}
		start = i + 1
	}
	end := start
	for first := true; end < len(data); first = false {
		if !first && !bytes.ContainsAny(data[end:end+1], " \t-\r\n") {
			break
		}
		if n := bytes.IndexByte(data[end:], '\n'); n >= 0 {
			end += n + 1
		} else {
			end = len(data)
		}
	}
	return data[:start], data[start:end], data[end:]
}
