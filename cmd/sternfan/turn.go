package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"runtime"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/lay"
	"sternfan/report"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

type turnCmd struct {
	fileFlags
	outFlags
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
	format, err := c.format(c.Format, "table", "json", "csv", "svg", "html")
	if err != nil {
		return err
	}
	if err := c.ready(w, format, c.File); err != nil {
		return err
	}
	sc, model, err := c.load(ctx, w)
	if err != nil {
		return err
	}
	m, opt, err := c.manoeuvre(sc)
	if err != nil {
		return err
	}
	if c.Track != "" {
		if model, err = c.follow(ctx, w, sc, &m); err != nil {
			return err
		}
	}
	if opt.Worlds < 0 {
		opt.Worlds = 0
		if format == "table" && !c.hands(&m) {
			opt.Worlds = tableWorlds
		}
	}
	opt.Workers = runtime.NumCPU()
	opt.Lines = format == "html" || format == "svg"
	opt.Wider = format != "csv"
	opt.Shapes = format == "json"
	s := spread.New(model, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance, Units: c.system()})
	if m.Event != nil {
		if err := s.EventFault(m.Event); err != nil {
			hint := "strike:ROD, let-out:ROD, board-pops:ROD, stop, set or clear"
			if c.needsRod(m.Event.Kind) && m.Event.Rod != "" {
				hint = "give the id of a rod of the file: " + rodIDs(sc)
			}
			return &usageError{"--event " + c.Event + ": " + err.Error(), hint}
		}
	}
	if !c.hands(&m) {
		every := opt.Every
		if every == 0 {
			every = 1
		}
		switch until := s.Lasts(&m); {
		case until > longestTrack:
			return &usageError{fmt.Sprintf("from beginning to end it takes %.3g hours, more than 6", until/3600), "turn tighter or by less, or go straight on for less before and after"}
		case until/every > mostSamples:
			return &usageError{fmt.Sprintf("--every %s: that is %.0f samples, more than %d", c.Every, until/every, mostSamples), "take them farther apart"}
		}
	}
	show := newProgress(w)
	if c.hands(&m) {
		if opt.Every == 0 {
			opt.Every = 4
		}
		show.step("the order", 0, 0)
		if m.Event.Order, err = lay.Order(ctx, sc, lay.Options{Units: c.system()}); err != nil {
			show.done()
			return err
		}
		opt.Step = func(done, of int) { show.step("the lines", float64(done)/float64(max(of, 1)), 0) }
	}
	opt.Progress = func(done, of int) { show.step("worlds", float64(done)/float64(of), 0) }
	if c.Tightest {
		defer show.done()
		return c.tightest(ctx, w, format, s, m, opt, sc)
	}
	turn, err := s.Turn(ctx, m, opt)
	show.done()
	if err != nil {
		return err
	}
	var out bytes.Buffer
	words := report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc}
	switch format {
	case "table":
		err = report.TurnTable(&out, turn, words)
	case "json":
		err = report.TurnJSON(&out, turn)
	case "csv":
		err = report.TurnCSV(&out, turn)
	case "svg":
		err = render(&out, report.TurnDrawing(turn, words), format, "day")
	case "html":
		err = report.TurnPage(&out, turn, words)
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// manoeuvre reads the flags over what the file intends.
func (c *turnCmd) manoeuvre(sc *sternfan.Scenario) (spread.Manoeuvre, spread.TurnOptions, error) {
	m := spread.ManoeuvreOf(sc)
	opt := spread.TurnOptions{Worlds: c.Worlds, Seed: c.Seed, Nodes: c.Nodes}
	var fault error
	read := func(flag, text string, least, most float64, limits string, to *float64, parse func(string) (float64, error)) {
		if text == "" || fault != nil {
			return
		}
		v, err := parse(text)
		if err == nil && !(v >= least && v <= most) {
			err = fmt.Errorf("%s is not from %s", text, limits)
		}
		if err != nil {
			fault = &usageError{"--" + flag + ": " + err.Error(), ""}
			return
		}
		*to = v
	}
	angle := func(s string) (float64, error) {
		if v, err := strconv.ParseFloat(s, 64); err == nil {
			return v * math.Pi / 180, nil // a bare number is degrees
		}
		v, err := unit.ParseAngle(s)
		return float64(v), err
	}
	length := func(s string) (float64, error) { v, err := unit.ParseLength(s); return float64(v), err }
	speed := func(s string) (float64, error) { v, err := unit.ParseSpeed(s); return float64(v), err }
	span := func(s string) (float64, error) {
		if s == "0" {
			return 0, nil // in whatever unit
		}
		v, err := unit.ParseDuration(s)
		return float64(v), err
	}
	rate := func(s string) (float64, error) { v, err := unit.ParseAngularRate(s); return float64(v), err }
	force := func(s string) (float64, error) { v, err := unit.ParseForce(s); return float64(v), err }
	if c.Radius != "" && c.Rate != "" {
		return m, opt, &usageError{"a turn has a radius or a rate, not both", "give --radius or --rate"}
	}
	switch c.To {
	case "port":
		m.To = sternfan.Port
	case "starboard":
		m.To = sternfan.Starboard
	}
	read("angle", c.Angle, 0, 20*math.Pi+1e-9, "0 to 3600 degrees", &m.Angle, angle)
	read("radius", c.Radius, 0.5, 10e3, "0.5 m to 10 km", &m.Radius, length)
	if c.Rate != "" {
		m.Radius = 0
		read("rate", c.Rate, 1e-4, 2, "0.006 to 114 degrees a second", &m.Rate, rate)
	}
	read("speed-to", c.SpeedTo, 0, fastest, "0 to 10 m/s", &m.SpeedTo, speed)
	read("before", c.Before, 0, longestTrack, "0 s to 6 h", &m.Before, span)
	read("after", c.After, 0, longestTrack, "0 s to 6 h", &m.After, span)
	read("yaw-ramp", c.YawRamp, 0, 600, "0 s to 10 min", &m.YawRamp, span)
	read("every", c.Every, 0.01, 3600, "10 ms to 1 h", &opt.Every, span)
	if fault == nil {
		fault = c.counts()
	}
	if c.Event != "" {
		kind, rod, named := strings.Cut(c.Event, ":")
		e := &spread.Event{Kind: kind, Rod: rod}
		switch {
		case fault != nil:
		case c.Tightest:
			fault = &usageError{"--tightest looks at turns, not at events", "leave --event out"}
		case c.needsRod(kind) && rod == "":
			fault = &usageError{"--event " + c.Event + ": it happens to a rod", "write " + kind + ":ROD, one of " + rodIDs(sc)}
		case !c.needsRod(kind) && named:
			fault = &usageError{"--event " + c.Event + ": it happens to all rods", "leave :" + rod + " out"}
		}
		read("fish-pull", c.FishPull, 0, 2000, "0 to 450 lbf", &e.Pull, force)
		read("fish-heading", c.FishHeading, -2*math.Pi-1e-9, 2*math.Pi+1e-9, "-360 to 360 degrees", &e.Heading, angle)
		read("drag", c.Drag, 0, 2000, "0 to 450 lbf", &e.Drag, force)
		read("pay-rate", c.PayRate, 0.01, 10, "0.01 to 10 m/s", &e.Pay, speed)
		read("pay-length", c.PayLength, 0, 10e3, "0 m to 10 km", &e.PayLength, length)
		read("stop-in", c.StopIn, 0, 3600, "0 s to 1 h", &e.StopSeconds, span)
		e.People = c.People
		e.Turn = c.To != "" || c.Angle != "" || c.Radius != "" || c.Rate != ""
		m.Event = e
	}
	return m, opt, fault
}

// The bounds of what is asked for.
const (
	fastest     = 10.0 // m/s, as in a file
	mostSamples = 100000
	mostNodes   = 10000
	mostWorlds  = 100000
)

// counts checks the flags that are numbers.
func (c *turnCmd) counts() error {
	switch {
	case c.Worlds < -1 || c.Worlds > mostWorlds:
		return &usageError{fmt.Sprintf("--worlds: %d is not from 0 to %d", c.Worlds, mostWorlds), ""}
	case c.Nodes != 0 && (c.Nodes < 2 || c.Nodes > mostNodes):
		return &usageError{fmt.Sprintf("--nodes: %d is not from 2 to %d", c.Nodes, mostNodes), ""}
	case c.People < 0 || c.People > 50:
		return &usageError{fmt.Sprintf("--people: %d is not from 1 to 50", c.People), ""}
	case c.Tightest && (c.Radius != "" || c.Rate != ""):
		return &usageError{"--tightest looks for the radius itself", "leave --radius and --rate out"}
	}
	return nil
}

// needsRod reports whether an event happens to one rod.
func (c *turnCmd) needsRod(kind string) bool {
	return kind == "strike" || kind == "let-out" || kind == "board-pops"
}

// rodIDs lists the ids of a file's rods.
func rodIDs(sc *sternfan.Scenario) string {
	var ids []string
	for i := range sc.Rods {
		ids = append(ids, sc.Rods[i].ID)
	}
	return strings.Join(ids, ", ")
}

// hands reports whether lines go out or come in.
func (c *turnCmd) hands(m *spread.Manoeuvre) bool {
	return m.Event != nil && (m.Event.Kind == "set" || m.Event.Kind == "clear")
}

// tightest writes the smallest radius to each side.
func (c *turnCmd) tightest(ctx context.Context, w *world, format string, s *spread.Spread, m spread.Manoeuvre, opt spread.TurnOptions, sc *sternfan.Scenario) error {
	if format != "table" && format != "json" {
		return &usageError{"--tightest is a table or json", "leave --format out"}
	}
	rows, err := s.Tightest(ctx, m, opt)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if format == "json" {
		err = report.TightestJSON(&out, rows)
	} else {
		names := &sternfan.Turn{}
		for i := range sc.Rods {
			id := sc.Rods[i].ID
			names.Tracks = append(names.Tracks, sternfan.TurnTrack{Rod: id, Position: sc.Position(id)})
		}
		err = report.TightestTable(&out, rows, names, report.Options{Units: c.system(), Width: c.columns(w), Scenario: sc})
	}
	if err != nil {
		return err
	}
	return c.put(w, out.Bytes())
}

// maxTrackBytes is the largest GPX file that is read.
const maxTrackBytes = 16 << 20

// fastestTrack is the speed beyond which a track is taken for an error, m/s.
const fastestTrack = 15.0

// longestTrack is the longest time that a track may take, s.
const longestTrack = 6 * 3600

// follow makes the manoeuvre the track of a GPX file. The scenario gets its first heading
// and speed.
func (c *turnCmd) follow(ctx context.Context, w *world, sc *sternfan.Scenario, m *spread.Manoeuvre) (*tackle.Model, error) {
	if c.Event != "" || c.Tightest {
		return nil, &usageError{"a track is its own manoeuvre", "leave --event and --tightest out"}
	}
	if c.To != "" || c.Angle != "" || c.Radius != "" || c.Rate != "" || c.SpeedTo != "" {
		return nil, &usageError{"a track is its own manoeuvre", "leave --to, --angle, --radius, --rate and --speed-to out"}
	}
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
	for i := 1; i < len(fixes); i++ {
		a, b := fixes[i-1], fixes[i]
		if far, took := math.Hypot(b.North-a.North, b.East-a.East), b.T-a.T; far > 50 && far > fastestTrack*took {
			return nil, &usageError{fmt.Sprintf("--track %s: from point %d to point %d it jumps %.0f m in %.0f s", c.Track, i, i+1, far, took), "leave points out that are not the boat's way"}
		}
	}
	var north, east float64
	if len(sc.Water.Current) > 0 {
		p := sc.Water.Current[0]
		sin, cos := math.Sincos(float64(p.Set))
		north, east = float64(p.Speed)*cos, float64(p.Speed)*sin
	}
	way, ok := spread.NewWay(fixes, north, east)
	switch {
	case !ok:
		return nil, &usageError{"--track " + c.Track + ": its times do not ascend, or there are fewer than three points five seconds apart", ""}
	case way.Duration() > longestTrack:
		return nil, &usageError{fmt.Sprintf("--track %s: it takes %.1f hours, more than 6", c.Track, way.Duration()/3600), "cut out the part that matters"}
	case way.Speed() < 0.1:
		return nil, &usageError{"--track " + c.Track + ": the boat makes no way through the water at its start", "start the track where she trolls"}
	}
	sc.Heading.Value, sc.Heading.Given = unit.Angle(way.Heading()), true
	sc.Speed.Given = sternfan.SpeedSurface
	sc.Speed.Value.Value = unit.Speed(way.Speed())
	model, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		return nil, faults
	}
	m.Course, m.Length = way, way.Duration()
	return model, nil
}
