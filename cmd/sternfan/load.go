package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"sternfan"
	"sternfan/draw"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// fileFlags are the flags of a command that reads a scenario.
type fileFlags struct {
	File  string   `arg:"" name:"file" help:"Scenario file; - is standard input."`
	Set   []string `sep:"none" placeholder:"KEY=VALUE" help:"Change a value of the file for this run, as in speed.value=2.6mph or rods.p1.settings.dial=2. May be repeated."`
	Fleas string   `enum:",light,heavy" default:"" placeholder:"HOW" help:"Water fleas on the lines for this run: light or heavy."`

	Profile string `placeholder:"FILE" help:"The water's temperature by depth from a file, CSV or NDBC .ocean text, instead of the scenario's."`
}

// load reads the file and makes the model from it. Everything that is wrong with it
// comes back at once as sternfan.Faults.
func (f *fileFlags) load(ctx context.Context, w *world) (*sternfan.Scenario, *tackle.Model, error) {
	data, name, err := readInput(ctx, w, f.File, maxBytes)
	if err != nil {
		return nil, nil, err
	}
	set := f.Set
	if f.Fleas != "" {
		set = append(set, "water.fleas="+f.Fleas)
	}
	sc, src, err := scenario.DecodeWith(name, data, scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set})
	if err != nil {
		return nil, nil, err
	}
	if err := f.profile(ctx, w, sc, src); err != nil {
		return nil, nil, err
	}
	model, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		src.Fill(faults)
		return nil, nil, faults
	}
	return sc, model, nil
}

func solve(ctx context.Context, model *tackle.Model, sc *sternfan.Scenario, units unit.System) (*sternfan.Fan, error) {
	return spread.Solve(ctx, model, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance, Units: units})
}

func (o *outFlags) system() unit.System {
	if o.Units == "si" {
		return unit.SI
	}
	return unit.US
}

func render(out *bytes.Buffer, d *sternfan.Drawing, format, scheme string) error {
	return draw.Render(out, d, draw.Format(format), draw.Scheme(scheme), draw.Size{})
}

// list joins words as a sentence does: "a, b and c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// contents says in a few words what a scenario holds.
func contents(sc *sternfan.Scenario) string {
	count := func(n int, one, many string) string {
		if n == 1 {
			return "1 " + one
		}
		return fmt.Sprintf("%d %s", n, many)
	}
	words := []string{count(len(sc.Rods), "rod", "rods")}
	if n := len(sc.Downriggers); n > 0 {
		words = append(words, count(n, "downrigger", "downriggers"))
	}
	if n := len(sc.MastBoards); n > 0 {
		words = append(words, count(n, "mast board", "mast boards"))
	}
	return list(words)
}
