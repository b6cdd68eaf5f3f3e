package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sternfan/event"

	"sternfan/report"
	"sternfan/trip"
	"sternfan/unit"
)

// ctxArg is the context that kong hands to Run.
type ctxArg = context.Context

type logAddCmd struct {
	Begin      logBeginCmd      `cmd:"" help:"A trip begins. The scenario is kept with it."`
	End        logEndCmd        `cmd:"" help:"The trip ends; what is still out is taken in."`
	Set        logSetCmd        `cmd:"" help:"A line is set: by the trip's scenario, or as it was last out."`
	Change     logChangeCmd     `cmd:"" help:"A line that is out gets other settings."`
	Check      logCheckCmd      `cmd:"" help:"Lines seen to run free."`
	Foul       logFoulCmd       `cmd:"" help:"A line found fouled: it has not fished since it was last checked."`
	In         logInCmd         `cmd:"" help:"Lines reeled in."`
	Strike     logStrikeCmd     `cmd:"" help:"A fish takes hold. The rod is enough; the rest can come later."`
	Landed     logLandedCmd     `cmd:"" help:"The fish is in the boat."`
	Lost       logLostCmd       `cmd:"" help:"The fish got off."`
	Conditions logConditionsCmd `cmd:"" help:"Speeds, heading, temperatures, current, depth of water, sky."`
	Measured   logMeasuredCmd   `cmd:"" help:"Something measured at a rod, for learning the boat's own numbers."`
	Note       logNoteCmd       `cmd:"" help:"Anything worth keeping."`
}

type logBeginCmd struct {
	eventFlags
	Scenario string `arg:"" optional:"" name:"scenario" help:"The scenario file of the day's spread."`
	Name     string `help:"What to call the trip."`
	From     string `placeholder:"PLACE" help:"Where she sails from."`
	People   int    `help:"Aboard; by default the scenario's."`
	Anglers  int    `help:"Of them, how many fish."`
	Note     string `help:"Anything else."`
}

func (c *logBeginCmd) Run(ctx context.Context, w *world) error {
	b := event.TripBegins{Name: c.Name, From: c.From, People: c.People, Anglers: c.Anglers, Note: c.Note}
	if c.Scenario != "" {
		data, name, err := readInput(ctx, w, c.Scenario, maxBytes)
		if err != nil {
			return err
		}
		sc, _, err := modelOf(name, string(data))
		if err != nil {
			return err
		}
		b.Scenario, b.Boat = string(data), sc.Boat.Name
		if b.People == 0 {
			b.People = sc.People
		}
		if b.Name == "" {
			b.Name = sc.Name
		}
	}
	return c.write(ctx, w, false, func(e *entry) error {
		last, err := e.log.Latest(ctx)
		if err != nil {
			return err
		}
		if last != nil && !last.Ended {
			say(w.stderr, "the last trip (%s, %s) has not ended; end it with sternfan log add end --trip %s --at TIME", last.Day(), tripTitle(last), report.ShortID(last.Trip))
		}
		return e.add(e.make("", b))
	})
}

type logEndCmd struct {
	eventFlags
	Note string `help:"Anything to add."`
}

func (c *logEndCmd) Run(ctx context.Context, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error {
		return e.add(e.make("", event.TripEnds{Note: c.Note}))
	})
}

// rodFlags are the flags of an event of one or several rods.
type rodFlags struct {
	eventFlags
	Rods []string `arg:"" optional:"" name:"rod" help:"Rods by id."`
	All  bool     `help:"Every rod that is out."`
	Note string   `help:"Anything to add."`
}

func (c *rodFlags) each(ctx context.Context, w *world, body func() event.Body) error {
	return c.write(ctx, w, true, func(e *entry) error {
		state, err := e.now()
		if err != nil {
			return err
		}
		rods := c.Rods
		if c.All {
			rods = nil
			for _, o := range state.Lines {
				rods = append(rods, o.Rod)
			}
		}
		if len(rods) == 0 {
			return &usageError{"no rod is named", "name rods by their id, or --all for those that are out"}
		}
		var events []event.Event
		for _, rod := range rods {
			if err := e.isOut(rod); err != nil {
				return err
			}
			events = append(events, e.make(rod, body()))
		}
		return e.add(events...)
	})
}

// isOut refuses a rod that has no line out, which is a slip of the pen more often than
// not. With --trip everything is taken: a past trip is being filled in.
func (e *entry) isOut(rod string) error {
	state, err := e.now()
	if err != nil {
		return err
	}
	if _, out := state.Line(rod); out {
		return nil
	}
	var names []string
	for _, o := range state.Lines {
		names = append(names, o.Rod)
	}
	hint := "nothing is out; set a line with sternfan log add set"
	if len(names) > 0 {
		hint = "out are " + report.List(names)
	}
	return &usageError{fmt.Sprintf("no line of %q is out at %s", rod, e.at.Time().Format("15:04")), hint}
}

// isKnown refuses a rod that the trip knows nothing of, when it knows of others.
func (e *entry) isKnown(rod string) error {
	state, err := e.now()
	if err != nil {
		return err
	}
	var names []string
	for _, o := range append(slices.Clone(state.Lines), state.Was...) {
		names = append(names, o.Rod)
	}
	if base, _, err := e.base(""); err == nil {
		for _, r := range base.Rods {
			names = append(names, r.ID)
		}
	}
	slices.Sort(names)
	if names = slices.Compact(names); len(names) == 0 || slices.Contains(names, rod) {
		return nil
	}
	return &usageError{fmt.Sprintf("the trip has no rod %q", rod), "its rods are " + report.List(names)}
}

type logCheckCmd struct{ rodFlags }

func (c *logCheckCmd) Run(ctx context.Context, w *world) error {
	return c.each(ctx, w, func() event.Body { return event.LineChecked{Note: c.Note} })
}

type logFoulCmd struct {
	rodFlags
	With string `help:"What with: weed, fleas, another line."`
}

func (c *logFoulCmd) Run(ctx context.Context, w *world) error {
	return c.each(ctx, w, func() event.Body { return event.LineFouled{With: c.With, Note: c.Note} })
}

type logInCmd struct{ rodFlags }

func (c *logInCmd) Run(ctx context.Context, w *world) error {
	return c.each(ctx, w, func() event.Body { return event.LineIn{Note: c.Note} })
}

type logStrikeCmd struct {
	eventFlags
	Rod     string `arg:"" help:"The rod by its id."`
	Species string `help:"What it is, if that was seen."`
	Lure    string `placeholder:"PART" help:"Which lure, on a rod with several, by its part id."`
	Note    string `help:"Anything to add."`
}

func (c *logStrikeCmd) Run(ctx context.Context, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error {
		if err := e.isKnown(c.Rod); err != nil {
			return err
		}
		b := event.Strike{Species: c.Species, Lure: c.Lure, Note: c.Note}
		state, err := e.now()
		if err != nil {
			return err
		}
		o, out := state.Line(c.Rod)
		if out {
			b.Set = o.Set
			b.Fan = o.Fan
		} else {
			say(w.stderr, "no line of %s is out: the strike is kept, but counts in no rate until it is said when the line was set", c.Rod)
		}
		// A strike is written down whatever the solver says.
		if fan, err := e.fanNow(c.Rod); err != nil {
			say(w.stderr, "where the lure ran was not worked out: %v", err)
		} else if fan != nil {
			b.Fan = fan
		}
		return e.add(e.make(c.Rod, b))
	})
}

// lastStrike returns the rod's last strike of which the end is not known.
func (e *entry) lastStrike(rod string) (event.ID, bool) {
	for _, c := range slices.Backward(e.trip.Strikes) {
		if c.Rod == rod && c.Outcome == "" && c.At.Milli <= e.at.Milli {
			return c.ID, true
		}
	}
	return event.ID{}, false
}

type logLandedCmd struct {
	eventFlags
	Rod      string `arg:"" help:"The rod by its id."`
	Species  string `help:"What it is."`
	Length   string `placeholder:"LENGTH" help:"As in 32in."`
	Weight   string `placeholder:"WEIGHT" help:"As in 18.5lb."`
	Kept     bool   `xor:"fate" help:"It was kept."`
	Released bool   `xor:"fate" help:"It was let go."`
	Note     string `help:"Anything to add."`
}

func (c *logLandedCmd) Run(ctx context.Context, w *world) error {
	b := event.Landed{Species: c.Species, Note: c.Note}
	if err := quantityFlag("--length", c.Length, &b.Length, unit.ParseLength); err != nil {
		return err
	}
	if err := quantityFlag("--weight", c.Weight, &b.Mass, unit.ParseMass); err != nil {
		return err
	}
	switch {
	case c.Kept:
		b.Fate = event.Kept
	case c.Released:
		b.Fate = event.Released
	}
	return c.write(ctx, w, true, func(e *entry) error {
		if err := e.isKnown(c.Rod); err != nil {
			return err
		}
		var known bool
		if b.Strike, known = e.lastStrike(c.Rod); !known {
			say(w.stderr, "no strike of %s is open; the fish counts as one of this moment", c.Rod)
		}
		return e.add(e.make(c.Rod, b))
	})
}

// quantityFlag reads a flag with its unit.
func quantityFlag[U ~float64](flag, text string, into **float64, parse func(string) (U, error)) error {
	if text == "" {
		return nil
	}
	v, err := parse(text)
	if err != nil {
		return &usageError{flag + ": " + err.Error(), ""}
	}
	f := float64(v)
	*into = &f
	return nil
}

type logLostCmd struct {
	eventFlags
	Rod      string `arg:"" help:"The rod by its id."`
	Species  string `help:"What it was, if that was seen."`
	StillOut bool   `help:"The line was left out and fishes on."`
	Note     string `help:"Anything to add."`
}

func (c *logLostCmd) Run(ctx context.Context, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error {
		b := event.Lost{Species: c.Species, StillOut: c.StillOut, Note: c.Note}
		if err := e.isKnown(c.Rod); err != nil {
			return err
		}
		var known bool
		if b.Strike, known = e.lastStrike(c.Rod); !known {
			say(w.stderr, "no strike of %s is open; the fish counts as one of this moment", c.Rod)
		}
		return e.add(e.make(c.Rod, b))
	})
}

type logConditionsCmd struct {
	eventFlags
	Ground  string   `placeholder:"SPEED" help:"Speed over ground, as in 2.5mph."`
	Surface string   `placeholder:"SPEED" help:"Speed through the surface water."`
	Probe   string   `placeholder:"SPEED@DEPTH" help:"Speed through the water at a depth, as in 2.2mph@60ft."`
	Heading string   `placeholder:"ANGLE" help:"Of the bow, from true north, as in 20deg."`
	Temp    []string `placeholder:"DEPTH=TEMP" help:"Temperature at a depth, as in 60ft=48F. May be repeated."`
	Current []string `placeholder:"DEPTH=SPEED@TOWARD" help:"Current at a depth, as in 0ft=0.3mph@60deg. May be repeated."`
	Bottom  string   `placeholder:"DEPTH" help:"Depth of the water."`
	Sky     string   `help:"In words: clear, overcast, rain."`
	Clarity string   `help:"Of the water, in words: clear, stained."`
	Note    string   `help:"Anything to add."`
}

func (c *logConditionsCmd) Run(ctx context.Context, w *world) error {
	b := event.Conditions{Sky: c.Sky, Clarity: c.Clarity, Note: c.Note}
	var heading *float64
	probe, probeDepth, atDepth := strings.Cut(c.Probe, "@")
	if c.Probe != "" && !atDepth {
		return &usageError{"--probe needs the depth of the probe", "write it as 2.2mph@60ft"}
	}
	for _, err := range []error{
		quantityFlag("--ground", c.Ground, &b.OverGround, unit.ParseSpeed),
		quantityFlag("--surface", c.Surface, &b.Surface, unit.ParseSpeed),
		quantityFlag("--probe", probe, &b.Probe, unit.ParseSpeed),
		quantityFlag("--probe", probeDepth, &b.ProbeDepth, unit.ParseLength),
		quantityFlag("--heading", c.Heading, &heading, unit.ParseAngle),
		quantityFlag("--bottom", c.Bottom, &b.Bottom, unit.ParseLength),
	} {
		if err != nil {
			return err
		}
	}
	if heading != nil {
		deg := *heading / float64(unit.Degree)
		b.Heading = &deg
	}
	for _, text := range c.Temp {
		depth, temp, _ := strings.Cut(text, "=")
		d, err := unit.ParseLength(depth)
		t, err2 := unit.ParseTemperature(temp)
		if err != nil || err2 != nil {
			return &usageError{fmt.Sprintf("--temp %q is no depth and temperature", text), "write it as 60ft=48F"}
		}
		b.Temperature = append(b.Temperature, [2]float64{float64(d), float64(t)})
	}
	for _, text := range c.Current {
		depth, rest, _ := strings.Cut(text, "=")
		speed, toward, _ := strings.Cut(rest, "@")
		d, err := unit.ParseLength(depth)
		v, err2 := unit.ParseSpeed(speed)
		a, err3 := unit.ParseAngle(toward)
		if err != nil || err2 != nil || err3 != nil {
			return &usageError{fmt.Sprintf("--current %q is no depth, speed and direction", text), "write it as 0ft=0.3mph@60deg, toward where it flows"}
		}
		b.Current = append(b.Current, event.Current{Depth: float64(d), Speed: float64(v), Toward: float64(a / unit.Degree)})
	}
	slices.SortStableFunc(b.Temperature, func(x, y [2]float64) int { return int(sign(x[0] - y[0])) })
	slices.SortStableFunc(b.Current, func(x, y event.Current) int { return int(sign(x.Depth - y.Depth)) })
	return c.write(ctx, w, true, func(e *entry) error { return e.add(e.make("", b)) })
}

func sign(x float64) float64 {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

type logMeasuredCmd struct {
	eventFlags
	Rod   string `arg:"" help:"The rod by its id."`
	What  string `arg:"" enum:"depth,side,astern,slant,pull,angle,touched,clear" help:"depth, side, astern; slant: from the transducer to a ball; pull; angle of the line at the water; touched, clear: the bottom, in so much water."`
	Value string `arg:"" help:"With its unit, as in 62ft, 14lb or 38deg."`
	SD    string `name:"sd" placeholder:"VALUE" help:"How far off it may be, one standard deviation, as in 2ft."`
	Part  string `placeholder:"ID" help:"Which part, if not the lure: a part id, or ball."`
	With  string `help:"The instrument: depth logger, hand scale."`
	Note  string `help:"Anything to add."`
}

func (c *logMeasuredCmd) Run(ctx context.Context, w *world) error {
	kind := event.ReadingKinds()[slices.Index([]string{"depth", "side", "astern", "slant", "pull", "angle", "touched", "clear"}, c.What)]
	read := func(flag, text string) (float64, error) {
		var v *float64
		var err error
		switch kind {
		case event.ReadPull:
			err = quantityFlag(flag, text, &v, unit.ParseForce)
		case event.ReadAngle:
			err = quantityFlag(flag, text, &v, func(s string) (unit.Angle, error) {
				a, err := unit.ParseAngle(s)
				return a / unit.Degree, err
			})
		default:
			err = quantityFlag(flag, text, &v, unit.ParseLength)
		}
		if err != nil || v == nil {
			return 0, err
		}
		return *v, nil
	}
	b := event.Reading{What: kind, Part: c.Part, With: c.With, Note: c.Note}
	var err error
	if b.Value, err = read(c.What, c.Value); err != nil {
		return err
	}
	if b.SD, err = read("--sd", c.SD); err != nil {
		return err
	}
	return c.write(ctx, w, true, func(e *entry) error {
		if err := e.isOut(c.Rod); err != nil {
			return err
		}
		var o *trip.Out
		if o, _ = e.state.Line(c.Rod); o != nil {
			b.Set = o.Set
		}
		return e.add(e.make(c.Rod, b))
	})
}

type logNoteCmd struct {
	eventFlags
	Text string `arg:"" help:"The words."`
	Rod  string `placeholder:"ID" help:"The rod it is about, if any."`
}

func (c *logNoteCmd) Run(ctx context.Context, w *world) error {
	return c.write(ctx, w, true, func(e *entry) error { return e.add(e.make(c.Rod, event.Note{Text: c.Text})) })
}
