package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"runtime"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/engine"
	"sternfan/report"
	"sternfan/unit"
)

type turnCmd struct {
	scenarioFlags
	To      string `enum:",port,starboard" default:"" placeholder:"SIDE" help:"To which side: port or starboard. The file's when not given."`
	Angle   string `placeholder:"ANGLE" help:"How far the heading changes; 180deg when neither this nor the file says."`
	Radius  string `placeholder:"LENGTH" help:"Radius of the turn through the surface water, as in 60m."`
	Rate    string `placeholder:"RATE" help:"Or the rate of turn, as in 3deg/s."`
	SpeedTo string `placeholder:"SPEED" help:"Speed through the surface water at the end of it."`
	Before  string `default:"120s" placeholder:"TIME" help:"Straight on before it."`
	After   string `default:"120s" placeholder:"TIME" help:"Straight on after it."`
	YawRamp string `default:"3s" placeholder:"TIME" help:"In which the rate of turn comes and goes."`
	Track   string `placeholder:"FILE.gpx" help:"Follow the boat's track from a GPX file with its times, instead of a turn."`

	Tightest bool `help:"The smallest radius to each side that keeps the margins, and what gives first. Lines only, not sea state or traffic."`

	Event       string `placeholder:"EVENT" help:"Instead of a turn: strike:ROD, let-out:ROD, board-pops:ROD, stop, or set and clear: the lines go out or come in one after another, straight on unless a turn is given too."`
	FishPull    string `default:"8lbf" placeholder:"FORCE" help:"How hard the fish of a strike pulls."`
	FishHeading string `default:"150deg" placeholder:"ANGLE" help:"Which way it goes, from the boat's heading toward its rod's side."`
	Drag        string `default:"5lbf" placeholder:"FORCE" help:"The pull at which its reel gives line."`
	PayRate     string `default:"2ft/s" placeholder:"SPEED" help:"At which lines go out or come in, for let-out, set and clear."`
	PayLength   string `default:"50ft" placeholder:"LENGTH" help:"How much goes out, for let-out."`
	People      int    `default:"0" placeholder:"N" help:"Aboard, for set and clear; one of them steers. The file's when not given."`
	StopIn      string `default:"10s" placeholder:"TIME" help:"In which the boat loses her way, for stop."`

	Worlds int    `default:"-1" placeholder:"N" help:"Worlds to sample for how often lines come close; 40 for a table, else 0, when not given."`
	Seed   uint64 `default:"1" placeholder:"N" help:"Of the sampled worlds: the same seed gives the same ones."`
	Every  string `placeholder:"TIME" help:"Between the samples of csv and json; 1s when not given, 4s for set and clear."`
	Nodes  int    `default:"0" placeholder:"N" help:"Segments of the longest line, for refinement studies; 20 when not given."`
	Format string `enum:",table,json,csv,svg,html" default:"" placeholder:"FORMAT" help:"table, json, csv, the ways from above as svg, or html: one page with the lines plan in motion and a slider of time."`
}

// tableWorlds is how many worlds a table samples when not told.
const tableWorlds = 40

func (c *turnCmd) Run(ctx context.Context, w *world) error {
	if err := c.together(); err != nil {
		return err
	}
	format, e, err := c.begin(ctx, w, c.Format, "table", "json", "csv", "svg", "html")
	if err != nil {
		return err
	}
	ask, given, err := c.ask(format)
	if err != nil {
		return err
	}
	ask.Given = e.given
	if c.Track != "" {
		if ask.Track, err = c.track(ctx, w); err != nil {
			return err
		}
	}
	e.Workers = runtime.NumCPU()
	defer e.show.done()
	if c.Tightest {
		got, err := e.Engine.Tightest(e.long(""), ask)
		e.show.done()
		if err != nil {
			return c.blame(err, given)
		}
		return c.answer(w, e, format, writers{
			"table": func(out io.Writer, opt report.Options) error { return report.TightestTable(out, got.Sides, opt) },
			"json":  inJSON(got.Sides),
		})
	}
	got, err := e.Turn(e.long(""), ask)
	e.show.done()
	if err != nil {
		return c.blame(err, given)
	}
	err = c.answer(w, e, format, writers{
		"table": func(out io.Writer, opt report.Options) error { return report.TurnTable(out, got.Turn, opt) },
		"json":  inJSON(got.Turn),
		"csv":   func(out io.Writer, _ report.Options) error { return report.TurnCSV(out, got.Turn) },
		"svg": func(out io.Writer, opt report.Options) error {
			return render(out, report.TurnDrawing(got.Turn, opt), format, "day")
		},
		"html": func(out io.Writer, opt report.Options) error { return report.TurnPage(out, got.Turn, opt) },
	})
	if err != nil {
		return err
	}
	return covered(got.Turn.Missing, len(got.Turn.Start.Rods)+len(got.Turn.Start.Devices))
}

// together refuses flags that do not go together.
func (c *turnCmd) together() error {
	turn := c.To + c.Angle + c.Radius + c.Rate + c.SpeedTo
	switch {
	case c.Radius != "" && c.Rate != "":
		return &usageError{"a turn has a radius or a rate, not both", "give --radius or --rate"}
	case c.Tightest && c.Radius+c.Rate != "":
		return &usageError{"--tightest looks for the radius itself", "leave --radius and --rate out"}
	case c.Track != "" && (c.Event != "" || c.Tightest):
		return &usageError{"a track is its own manoeuvre", "leave --event and --tightest out"}
	case c.Tightest && c.Event != "":
		return &usageError{"--tightest looks at turns, not at events", "leave --event out"}
	case c.Track != "" && turn != "":
		return &usageError{"a track is its own manoeuvre", "leave --to, --angle, --radius, --rate and --speed-to out"}
	case c.Tightest && c.Format != "" && c.Format != "table" && c.Format != "json":
		return &usageError{"--tightest is a table or json", "leave --format out"}
	}
	return nil
}

// ask reads the flags. Given holds their texts by what the question calls them.
func (c *turnCmd) ask(format string) (ask *engine.TurnAsk, given map[string]string, err error) {
	ask = &engine.TurnAsk{Event: c.Event, People: c.People, Nodes: c.Nodes, Worlds: c.Worlds, Seed: c.Seed,
		Wider: format != "csv", Shapes: format == "json", Lines: format == "html" || format == "svg"}
	ask.To = map[string]sternfan.Side{"port": sternfan.Port, "starboard": sternfan.Starboard}[c.To]
	if c.Worlds == -1 {
		ask.Worlds = 0
		if format == "table" && c.Event != "set" && c.Event != "clear" {
			ask.Worlds = tableWorlds
		}
	}
	given = map[string]string{"worlds": strconv.Itoa(c.Worlds), "nodes": strconv.Itoa(c.Nodes), "people": strconv.Itoa(c.People)}
	for _, f := range []struct {
		member, text string
		into         **float64
		parse        func(string) (float64, error)
	}{
		{"angle_rad", c.Angle, &ask.Angle, degrees},
		{"radius_m", c.Radius, &ask.Radius, si(unit.ParseLength)},
		{"rate_radps", c.Rate, &ask.Rate, si(unit.ParseAngularRate)},
		{"speed_to_mps", c.SpeedTo, &ask.SpeedTo, si(unit.ParseSpeed)},
		{"before_s", c.Before, &ask.Before, span},
		{"after_s", c.After, &ask.After, span},
		{"yaw_ramp_s", c.YawRamp, &ask.YawRamp, span},
		{"every_s", c.Every, &ask.Every, span},
		{"fish_pull_n", c.FishPull, &ask.FishPull, si(unit.ParseForce)},
		{"fish_heading_rad", c.FishHeading, &ask.FishHeading, degrees},
		{"drag_n", c.Drag, &ask.Drag, si(unit.ParseForce)},
		{"pay_rate_mps", c.PayRate, &ask.PayRate, si(unit.ParseSpeed)},
		{"pay_length_m", c.PayLength, &ask.PayLength, si(unit.ParseLength)},
		{"stop_in_s", c.StopIn, &ask.StopIn, span},
	} {
		if f.text == "" {
			continue
		}
		v, err := f.parse(f.text)
		if err != nil {
			return nil, nil, &usageError{turnFlag(f.member) + ": " + err.Error(), ""}
		}
		*f.into, given[f.member] = &v, f.text
	}
	return ask, given, nil
}

// turnFlag returns the flag of what a question calls by a name with its unit.
func turnFlag(member string) string {
	if i := strings.LastIndexByte(member, '_'); i > 0 {
		member = member[:i]
	}
	return "--" + strings.ReplaceAll(member, "_", "-")
}

// blame words a fault of the question as one of the flag that it came from.
func (c *turnCmd) blame(err error, given map[string]string) error {
	f, ok := askFault(err)
	if !ok {
		return err
	}
	text := f.Text
	switch member := f.Path; member {
	case "":
	case "event":
		text = "--event " + c.Event + ": " + text
	case "track":
		text = "--track " + c.Track + ": " + text
	case "every_s":
		text = turnFlag(member) + " " + c.Every + ": " + text
	default:
		text = turnFlag(member) + ": " + strings.Replace(text, "it is", given[member]+" is", 1)
	}
	return &usageError{text, f.Hint}
}

// si makes a reader of a quantity one of its SI value.
func si[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(text string) (float64, error) { v, err := parse(text); return float64(v), err }
}

// degrees reads an angle; a bare number is degrees.
func degrees(text string) (float64, error) {
	if v, err := strconv.ParseFloat(text, 64); err == nil {
		return v * math.Pi / 180, nil
	}
	return si(unit.ParseAngle)(text)
}

// span reads a time; nothing is 0 in whatever unit.
func span(text string) (float64, error) {
	if text == "0" {
		return 0, nil
	}
	return si(unit.ParseDuration)(text)
}

// maxTrackBytes is the largest GPX file that is read.
const maxTrackBytes = 16 << 20

// track reads the boat's way from a GPX file.
func (c *turnCmd) track(ctx context.Context, w *world) ([]engine.TrackFix, error) {
	data, _, err := readInput(ctx, w, c.Track, maxTrackBytes)
	if err != nil {
		return nil, err
	}
	if len(data) > maxTrackBytes {
		return nil, &usageError{fmt.Sprintf("--track %s is over %d MB", c.Track, maxTrackBytes>>20), "cut out the part that matters"}
	}
	fixes, err := readTrack(data)
	if err != nil {
		return nil, &usageError{"--track " + c.Track + ": " + err.Error(), ""}
	}
	return fixes, nil
}
