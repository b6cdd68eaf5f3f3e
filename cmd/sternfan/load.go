package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"path/filepath"

	"sternfan/draw"
	"sternfan/engine"
	"sternfan/report"
	"sternfan/scenario"

	"sternfan"
)

// fileFlags are the flags of a command that reads a scenario.
type fileFlags struct {
	File  string   `arg:"" name:"file" help:"Scenario file; - is standard input."`
	Set   []string `sep:"none" placeholder:"KEY=VALUE" help:"Change a value of the file for this run, as in speed.value=2.6mph or rods.p1.settings.dial=2. May be repeated."`
	Fleas string   `enum:",light,heavy" default:"" placeholder:"HOW" help:"Water fleas on the lines for this run: light or heavy."`

	Profile string `placeholder:"FILE" help:"The water's temperature by depth from a file, CSV or NDBC .ocean text, instead of the scenario's."`
}

// client is the engine as one command asks it about one scenario.
type client struct {
	engine.Engine
	call  engine.Call
	given engine.Given
	show  *progress
}

// client reads the files that a command names and returns an engine to ask about them.
func (f *fileFlags) client(ctx context.Context, w *world, units string) (*client, error) {
	if f.Profile == stdinName && f.File == stdinName {
		return nil, &usageError{"standard input cannot be both the scenario and its profile", "give one of them as a file"}
	}
	data, name, err := readInput(ctx, w, f.File, maxBytes)
	if err != nil {
		return nil, err
	}
	c := &client{given: engine.Given{Text: string(data), Name: name, Set: f.Set, Units: units}, call: engine.Call{Ctx: ctx}, show: newProgress(w)}
	if f.Fleas != "" {
		c.given.Set = append(c.given.Set, "water.fleas="+f.Fleas)
	}
	if f.Profile != "" {
		data, name, err := readInput(ctx, w, f.Profile, scenario.MaxProfileBytes)
		if err != nil {
			return nil, err
		}
		c.given.Profile = &engine.ProfileAsk{Name: name, Text: string(data)}
	}
	c.Beside = func(path string) (file engine.ProfileAsk, there bool, err error) {
		path = filepath.FromSlash(path)
		if f.File != stdinName {
			path = filepath.Join(filepath.Dir(f.File), path)
		}
		data, name, err := readInput(ctx, w, path, scenario.MaxProfileBytes)
		if errors.Is(err, fs.ErrNotExist) {
			return engine.ProfileAsk{Name: path}, false, nil
		}
		return engine.ProfileAsk{Name: name, Text: string(data)}, true, err
	}
	return c, nil
}

// long shows on the screen how far the engine has come with what it is asked next.
func (c *client) long(what string) *engine.Call {
	call := c.call
	call.Tell = func(p engine.Progress) {
		if p.Text == "" {
			p.Text = what
		}
		c.show.step(p.Text, float64(p.Done)/float64(max(p.Of, 1)), p.Best)
	}
	return &call
}

// scenarioFlags are the flags of a command that asks about a scenario and writes the answer.
type scenarioFlags struct {
	fileFlags
	outFlags
}

// begin returns the format to write, one of those allowed, and an engine to ask.
func (f *scenarioFlags) begin(ctx context.Context, w *world, asked string, allowed ...string) (format string, c *client, err error) {
	if format, err = f.format(asked, allowed...); err != nil {
		return "", nil, err
	}
	if err := f.ready(w, format, f.File); err != nil {
		return "", nil, err
	}
	c, err = f.client(ctx, w, f.Units)
	return format, c, err
}

// writers write an answer, by format. What stands under "" writes a drawing.
type writers map[string]func(out io.Writer, opt report.Options) error

// words returns how what was answered is worded.
func (f *scenarioFlags) words(w *world, c *client) (report.Options, error) {
	sc, err := c.Scenario(&c.given)
	return report.Options{Units: f.system(), Width: f.columns(w), Scenario: sc}, err
}

// answer writes what was answered in the format.
func (f *scenarioFlags) answer(w *world, c *client, format string, by writers) error {
	opt, err := f.words(w, c)
	if err != nil {
		return err
	}
	return f.write(w, format, opt, by)
}

// write writes what was answered in the format.
func (o *outFlags) write(w *world, format string, opt report.Options, by writers) error {
	write := by[format]
	if write == nil {
		write = by[""]
	}
	var out bytes.Buffer
	if err := write(&out, opt); err != nil {
		return err
	}
	return o.put(w, out.Bytes())
}

// inJSON writes a result for a program.
func inJSON(result any) func(io.Writer, report.Options) error {
	return func(out io.Writer, _ report.Options) error { return report.JSON(out, result) }
}

// drawn writes a drawing.
func drawn(d *sternfan.Drawing, format, scheme string) func(io.Writer, report.Options) error {
	return func(out io.Writer, _ report.Options) error { return render(out, d, format, scheme) }
}

func render(out io.Writer, d *sternfan.Drawing, format, scheme string) error {
	return draw.Render(out, d, draw.Format(format), draw.Scheme(scheme), draw.Size{})
}
