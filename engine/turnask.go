//go:build !core

package engine

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/lay"
	"sternfan/manoeuvre"
	"sternfan/tackle"
	"sternfan/unit"
)

// TurnAsk asks what a manoeuvre does. What is not given is the file's, or the default.
type TurnAsk struct {
	Given
	To      sternfan.Side `json:"to,omitempty"`           // -1 port, +1 starboard
	Angle   *float64      `json:"angle_rad,omitempty"`    // change of heading
	Radius  *float64      `json:"radius_m,omitempty"`     // through the surface water
	Rate    *float64      `json:"rate_radps,omitempty"`   // of turn, instead of a radius
	SpeedTo *float64      `json:"speed_to_mps,omitempty"` // through the surface water at its end
	Before  *float64      `json:"before_s,omitempty"`     // straight on before it
	After   *float64      `json:"after_s,omitempty"`      // and after it
	YawRamp *float64      `json:"yaw_ramp_s,omitempty"`   // in which the rate of turn comes and goes

	// Track is the boat's way point by point, instead of a turn.
	Track []TrackFix `json:"track,omitempty"`

	// Event is what happens instead of a turn: "strike:ROD", "let-out:ROD", "board-pops:ROD",
	// "stop"; or "set" and "clear": the lines go out or come in one after another, straight
	// on unless a turn is given too.
	Event       string   `json:"event,omitempty"`
	FishPull    *float64 `json:"fish_pull_n,omitempty"`
	FishHeading *float64 `json:"fish_heading_rad,omitempty"` // from the boat's heading toward its rod's side
	Drag        *float64 `json:"drag_n,omitempty"`           // at which its reel gives line
	PayRate     *float64 `json:"pay_rate_mps,omitempty"`     // at which lines go out and come in
	PayLength   *float64 `json:"pay_length_m,omitempty"`     // of what is let out
	StopIn      *float64 `json:"stop_in_s,omitempty"`        // in which the boat loses her way
	People      int      `json:"people,omitempty"`           // aboard when lines go out and come in; the file's when not given

	Every  *float64 `json:"every_s,omitempty"` // between samples; 1, of lines going out and coming in 4, when not given
	Nodes  int      `json:"nodes,omitempty"`   // of the longest line, for studies; 20 when not given
	Worlds int      `json:"worlds,omitempty"`  // sampled, for how often lines come close
	Seed   uint64   `json:"seed,omitempty"`
	First  bool     `json:"first,omitempty"`  // only what is quick: the side asked for, without intervals and with margins as wanted
	Wider  bool     `json:"wider,omitempty"`  // a turn that breaks margins is widened until it does not
	Shapes bool     `json:"shapes,omitempty"` // keep the lines' shapes about every two seconds
	Draw   bool     `json:"draw,omitempty"`   // shapes and series as points to draw instead of number by number
	Lines  bool     `json:"-"`                // keep the lines' shapes at every sample, for a drawing
}

// TrackFix is where the boat was at a time, from her first place.
type TrackFix struct {
	T     float64 `json:"t_s"`
	North float64 `json:"north_m"`
	East  float64 `json:"east_m"`
}

// Bounds of what is asked for.
const (
	longestRun   = 6 * 3600 // s
	fastest      = 10.0     // m/s, as in a file
	fastestTrack = 15.0     // m/s, beyond which a track is taken for an error
	mostSamples  = 100000
	mostNodes    = 10000
	mostWorlds   = 100000
	mostPeople   = 50
)

// What an event does when nothing is said.
const (
	fishPull    = 8 * unit.PoundForce
	fishHeading = 150 * unit.Degree
	reelDrag    = 5 * unit.PoundForce
	payRate     = 2 * unit.Foot // a second
	payLength   = 50 * unit.Foot
	stopIn      = 10.0 // s
)

// limits refuses what is out of range, the first of it.
func (a *TurnAsk) limits() error {
	count := func(n int) *float64 {
		if n == 0 {
			return nil // not given
		}
		v := float64(n)
		return &v
	}
	const slip = 1e-9
	for _, l := range []struct {
		member      string
		value       *float64
		least, most float64
		words       string
	}{
		{"angle_rad", a.Angle, 0, 20*math.Pi + slip, "0 to 3600 degrees"},
		{"radius_m", a.Radius, 0.5, 10e3, "0.5 m to 10 km"},
		{"rate_radps", a.Rate, 1e-4, 2, "0.006 to 114 degrees a second"},
		{"speed_to_mps", a.SpeedTo, 0, fastest, "0 to 10 m/s"},
		{"before_s", a.Before, 0, longestRun, "0 s to 6 h"},
		{"after_s", a.After, 0, longestRun, "0 s to 6 h"},
		{"yaw_ramp_s", a.YawRamp, 0, 600, "0 s to 10 min"},
		{"every_s", a.Every, 0.01, 3600, "10 ms to 1 h"},
		{"fish_pull_n", a.FishPull, 0, 2000, "0 to 450 lbf"},
		{"fish_heading_rad", a.FishHeading, -2*math.Pi - slip, 2*math.Pi + slip, "-360 to 360 degrees"},
		{"drag_n", a.Drag, 0, 2000, "0 to 450 lbf"},
		{"pay_rate_mps", a.PayRate, 0.01, 10, "0.01 to 10 m/s"},
		{"pay_length_m", a.PayLength, 0, 10e3, "0 m to 10 km"},
		{"stop_in_s", a.StopIn, 0, 3600, "0 s to 1 h"},
		{"worlds", count(a.Worlds), 0, mostWorlds, fmt.Sprintf("0 to %d", mostWorlds)},
		{"nodes", count(a.Nodes), 2, mostNodes, fmt.Sprintf("2 to %d", mostNodes)},
		{"people", count(a.People), 1, mostPeople, fmt.Sprintf("1 to %d", mostPeople)},
	} {
		if l.value != nil && !(*l.value >= l.least && *l.value <= l.most) {
			return sternfan.Faults{{Code: AskFault, Path: l.member, Text: "it is not from " + l.words, Found: fmt.Sprint(*l.value), Allowed: []string{l.words}}}
		}
	}
	switch {
	case a.Radius != nil && a.Rate != nil:
		return askFault("rate_radps", "a turn has a radius or a rate, not both", "give one of them")
	case len(a.Track) > 0 && (a.Event != "" || a.turns()):
		return askFault("track", "a track is its own manoeuvre", "leave the event and the turn out")
	}
	return nil
}

// turns reports whether a turn was asked for.
func (a *TurnAsk) turns() bool {
	return a.To != sternfan.Amidships || a.Angle != nil || a.Radius != nil || a.Rate != nil
}

// or returns the value given, or another when none is.
func or(given *float64, other float64) float64 {
	if given == nil {
		return other
	}
	return *given
}

// run is a manoeuvre about to be run.
type run struct {
	helm *manoeuvre.Helm
	turn manoeuvre.Manoeuvre
	opt  manoeuvre.TurnOptions
}

// manoeuvre returns the spread and the manoeuvre that are asked about.
func (e *Engine) manoeuvre(c *Call, ask *TurnAsk) (*run, error) {
	sc, model, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	if err := ask.limits(); err != nil {
		return nil, err
	}
	m := manoeuvre.ManoeuvreOf(sc)
	if ask.To != sternfan.Amidships {
		m.To = ask.To
	}
	m.Angle, m.SpeedTo, m.YawRamp = or(ask.Angle, m.Angle), or(ask.SpeedTo, m.SpeedTo), or(ask.YawRamp, m.YawRamp)
	m.Before, m.After = or(ask.Before, m.Before), or(ask.After, m.After)
	switch {
	case ask.Radius != nil:
		m.Radius, m.Rate = *ask.Radius, 0
	case ask.Rate != nil:
		m.Radius, m.Rate = 0, *ask.Rate
	}
	if m.Event, err = ask.happens(sc); err != nil {
		return nil, err
	}
	if len(ask.Track) > 0 {
		if model, err = follow(sc, ask, &m); err != nil {
			return nil, err
		}
	}
	opt := options(&ask.Given, sc)
	opt.Intervals = !ask.First
	r := &run{manoeuvre.New(model, opt), m, manoeuvre.TurnOptions{OneSide: ask.First, Every: or(ask.Every, 1), Nodes: ask.Nodes, Worlds: ask.Worlds, Seed: ask.Seed,
		Workers: e.Workers, Wider: ask.Wider, Shapes: ask.Shapes || ask.Draw, Lines: ask.Lines,
		Progress: func(done, of int) { c.progress(Progress{Done: done, Of: of, Text: "worlds"}) }}}
	if m.Event != nil {
		if err := r.helm.EventFault(m.Event); err != nil {
			hint := "strike:ROD, let-out:ROD, board-pops:ROD, stop, set or clear"
			if ofRod(m.Event.Kind) && m.Event.Rod != "" {
				hint = "give the id of a rod of the file: " + rodIDs(sc)
			}
			return nil, askFault("event", err.Error(), hint)
		}
		if m.Event.Kind == "set" || m.Event.Kind == "clear" {
			return r, e.hands(c, ask, sc, r)
		}
	}
	switch until := r.helm.Lasts(&m); {
	case until > longestRun:
		return nil, askFault("", fmt.Sprintf("from beginning to end it takes %.3g hours, more than 6", until/3600), "turn tighter or by less, or go straight on for less before and after")
	case until/r.opt.Every > mostSamples:
		return nil, askFault("every_s", fmt.Sprintf("that is %.0f samples, more than %d", until/r.opt.Every, mostSamples), "take them farther apart")
	}
	return r, nil
}

// hands sets the order in which lines go out or come in.
func (e *Engine) hands(c *Call, ask *TurnAsk, sc *sternfan.Scenario, r *run) (err error) {
	r.opt.Every = or(ask.Every, 4)
	c.progress(Progress{Text: "the order"})
	r.turn.Event.Order, err = lay.Order(c.Ctx, sc, lay.Options{Units: ask.system()})
	r.opt.Step = func(done, of int) { c.progress(Progress{Done: done, Of: of, Text: "the lines"}) }
	return err
}

func ofRod(kind string) bool { return kind == "strike" || kind == "let-out" || kind == "board-pops" }

func rodIDs(sc *sternfan.Scenario) string {
	var ids []string
	for i := range sc.Rods {
		ids = append(ids, sc.Rods[i].ID)
	}
	return strings.Join(ids, ", ")
}

// happens returns the event, nil for none.
func (a *TurnAsk) happens(sc *sternfan.Scenario) (*manoeuvre.Event, error) {
	if a.Event == "" {
		return nil, nil
	}
	kind, rod, named := strings.Cut(a.Event, ":")
	switch {
	case ofRod(kind) && rod == "":
		return nil, askFault("event", "it happens to a rod", "write "+kind+":ROD, one of "+rodIDs(sc))
	case !ofRod(kind) && named:
		return nil, askFault("event", "it happens to all rods", "leave :"+rod+" out")
	}
	return &manoeuvre.Event{Kind: kind, Rod: rod, People: a.People,
		Pull: or(a.FishPull, float64(fishPull)), Heading: or(a.FishHeading, float64(fishHeading)), Drag: or(a.Drag, float64(reelDrag)),
		Pay: or(a.PayRate, float64(payRate)), PayLength: or(a.PayLength, float64(payLength)), StopSeconds: or(a.StopIn, stopIn),
		Turn: a.turns()}, nil
}

// follow makes the manoeuvre the track that was given, and the model that of a boat with
// its first heading and speed.
func follow(sc *sternfan.Scenario, ask *TurnAsk, m *manoeuvre.Manoeuvre) (*tackle.Model, error) {
	var fixes []manoeuvre.Fix
	for i, b := range ask.Track {
		fixes = append(fixes, manoeuvre.Fix(b))
		if i == 0 {
			continue
		}
		a := ask.Track[i-1]
		if far, took := math.Hypot(b.North-a.North, b.East-a.East), b.T-a.T; far > 50 && far > fastestTrack*took {
			return nil, askFault("track", fmt.Sprintf("from point %d to point %d it jumps %.0f m in %.0f s", i, i+1, far, took), "leave points out that are not the boat's way")
		}
	}
	var north, east float64
	if len(sc.Water.Current) > 0 {
		p := sc.Water.Current[0]
		sin, cos := math.Sincos(float64(p.Set))
		north, east = float64(p.Speed)*cos, float64(p.Speed)*sin
	}
	way, ok := manoeuvre.NewWay(fixes, north, east)
	switch {
	case !ok:
		return nil, askFault("track", "its times do not ascend, or there are fewer than three points five seconds apart", "")
	case way.Duration() > longestRun:
		return nil, askFault("track", fmt.Sprintf("it takes %.1f hours, more than 6", way.Duration()/3600), "cut out the part that matters")
	case way.Speed() < 0.1:
		return nil, askFault("track", "the boat makes no way through the water at its start", "start the track where she trolls")
	}
	along := *sc
	along.Heading.Value, along.Heading.Given = unit.Angle(way.Heading()), true
	along.Speed.Given = sternfan.SpeedSurface
	along.Speed.Value.Value = unit.Speed(way.Speed())
	model, faults := tackle.Resolve(&along)
	if len(faults) > 0 {
		return nil, faults
	}
	m.Course, m.Length = way, way.Duration()
	return model, nil
}
