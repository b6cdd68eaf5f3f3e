package manoeuvre

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/tow"
	"sternfan/tow/dynamics"
	"sternfan/water"
)

// Manoeuvre is what the boat, or something on it, does.
type Manoeuvre struct {
	To      sternfan.Side
	Angle   float64 // rad, the change of heading
	Radius  float64 // m through the surface water; 0: by Rate
	Rate    float64 // rad/s
	SpeedTo float64 // m/s through the surface water at its end; below 0: as before
	Before  float64 // s straight on before it
	After   float64 // s after it
	YawRamp float64 // s in which the yaw rate comes and goes

	Course dynamics.Course // a way given point by point, instead; its first heading is x
	Length float64         // s of that

	Event *Event // instead of a turn
}

// Event is something that happens on a straight course, or a stop.
type Event struct {
	Kind        string  // "stop", "strike", "let-out", "board-pops", "set", "clear"
	Rod         string  // of all but stop, set and clear
	Pull        float64 // of the fish, N
	Heading     float64 // of the fish, from the boat's heading toward starboard, rad
	Drag        float64 // at which the reel gives line, N
	Pay         float64 // m/s at which line goes out or comes in
	PayLength   float64 // m, for let-out
	StopSeconds float64 // in which the boat loses her way

	// Of setting and clearing.
	Order  []string // rods in the order in which they go out; those not named after them, by practice
	People int      // aboard; 0: the file's
	Turn   bool     // the boat turns meanwhile; else she goes straight on
	rota   *rota

	circle sternfan.Side // the boat goes into a slow wide circle
}

// wideCircle is the radius of the circle that opens the water for a fish, m: twice the
// radius of a turn when nothing is said.
const wideCircle = 2 * defaultRadius

// TurnOptions say how a manoeuvre is run; the zero value is the default.
type TurnOptions struct {
	Every    float64 // s between samples, default 1
	Nodes    int     // of the longest line
	Worlds   int     // sampled
	Seed     uint64
	Workers  int                // worlds at once, default 1
	Progress func(done, of int) // after each world
	Step     func(done, of int) // after each sample of the manoeuvre itself
	Lines    bool               // keep the lines' shapes at every sample
	OneSide  bool               // the turn to the other side is not run for comparison
	Wider    bool               // a turn that breaks margins is widened until it does not
	Shapes   bool               // keep thinned shapes about every two seconds, for another program to draw
}

// The defaults of a manoeuvre that says nothing of them.
const (
	defaultRadius = 300 * 0.3048 // m
	straightLeg   = 120.0        // s
	yawRamp       = 3.0          // s
)

// ManoeuvreOf returns the manoeuvre a scenario intends, with what it does not say: half a
// turn to port of 300 ft radius, between two minutes straight on.
func ManoeuvreOf(sc *sternfan.Scenario) Manoeuvre {
	return Intended(&sc.Manoeuvre)
}

// Intended is ManoeuvreOf for one manoeuvre.
func Intended(of *sternfan.Manoeuvre) Manoeuvre {
	m := Manoeuvre{To: of.To, Angle: math.Pi, SpeedTo: -1, Before: straightLeg, After: straightLeg, YawRamp: yawRamp}
	if m.To == sternfan.Amidships {
		m.To = sternfan.Port
	}
	if a := of.Angle; a.Given {
		m.Angle = a.SI()
	}
	m.Radius = defaultRadius
	switch {
	case of.Radius.Given:
		m.Radius = of.Radius.SI()
	case of.Rate.Given:
		m.Radius, m.Rate = 0, of.Rate.SI()
	}
	if v := of.SpeedTo; v.Given {
		m.SpeedTo = v.SI()
	}
	return m
}

// legs returns the boat's way at a speed through the surface water, with when the
// manoeuvre begins and ends.
func (m *Manoeuvre) legs(speed float64) (legs []dynamics.Leg, begin, end float64) {
	hold := func(v float64) [2]float64 { return [2]float64{v, v} }
	legs = append(legs, dynamics.Leg{Duration: m.Before, Speed: hold(speed)})
	begin = m.Before
	if m.Event != nil {
		last := speed
		if r := m.Event.rota; r != nil {
			end = r.until
			if !m.Event.Turn {
				return append(legs, dynamics.Leg{Duration: end - begin + m.After, Speed: hold(speed)}), begin, end
			}
			turn := *m
			turn.Event = nil
			legs, _, done := turn.legs(speed)
			legs[len(legs)-1].Duration = math.Max(end-done, 0) + m.After
			return legs, begin, math.Max(end, done)
		}
		if m.Event.Kind == "stop" {
			legs = append(legs, dynamics.Leg{Duration: m.Event.StopSeconds, Speed: [2]float64{speed, 0}})
			last, begin = 0, m.Before
			end = begin + m.Event.StopSeconds
		} else {
			end = begin
		}
		leg := dynamics.Leg{Duration: m.After, Speed: hold(last)}
		if c := m.Event.circle; c != 0 {
			rate := float64(c) * speed / wideCircle
			ramp := math.Min(yawRamp, m.After)
			legs = append(legs, dynamics.Leg{Duration: ramp, Speed: hold(last), Yaw: [2]float64{0, rate}})
			leg.Duration -= ramp
			leg.Yaw = hold(rate)
		}
		return append(legs, leg), begin, end
	}
	last := speed
	if m.SpeedTo >= 0 {
		last = m.SpeedTo
	}
	sign := float64(m.To)
	rate := [2]float64{m.Rate, m.Rate}
	if m.Radius > 0 {
		rate = [2]float64{speed / m.Radius, last / m.Radius}
	}
	angle := math.Abs(m.Angle)
	ramp := m.YawRamp
	if top := (rate[0] + rate[1]) / 2 * ramp; top > angle {
		// Too small a turn for the full rate.
		k := math.Sqrt(angle / top)
		ramp *= k
		rate[0] *= k
		rate[1] *= k
	}
	middle := angle - (rate[0]+rate[1])/2*ramp
	mean := (rate[0] + rate[1]) / 2
	duration := 0.0
	if mean > 0 {
		duration = math.Max(middle/mean, 0)
	}
	legs = append(legs,
		dynamics.Leg{Duration: ramp, Yaw: [2]float64{0, sign * rate[0]}, Speed: hold(speed)},
		dynamics.Leg{Duration: duration, Yaw: [2]float64{sign * rate[0], sign * rate[1]}, Speed: [2]float64{speed, last}},
		dynamics.Leg{Duration: ramp, Yaw: [2]float64{sign * rate[1], 0}, Speed: hold(last)},
		dynamics.Leg{Duration: m.After, Speed: hold(last)})
	return legs, begin, begin + 2*ramp + duration
}

// course returns the boat's way in an environment.
func (m *Manoeuvre) course(env *tow.Env) (c dynamics.Course, begin, end, until float64) {
	if m.Course != nil {
		return m.Course, 0, m.Length, m.Length
	}
	var top water.State
	env.Water.At(0, &top)
	legs, begin, end := m.legs(env.Speed)
	tr := dynamics.NewTrack(geom.Vec{X: top.Cx, Y: top.Cy}, legs)
	return tr, begin, end, tr.Duration()
}

// plan says what was run.
func (m *Manoeuvre) plan(env *tow.Env) sternfan.TurnPlan {
	_, begin, end, until := m.course(env)
	p := sternfan.TurnPlan{To: m.To, Angle: m.Angle, Radius: m.Radius, Rate: m.Rate, Speed: env.Speed, SpeedTo: env.Speed,
		Ramp: m.YawRamp, Begin: begin, End: end, Until: until}
	if m.SpeedTo >= 0 {
		p.SpeedTo = m.SpeedTo
	}
	switch {
	case m.Course != nil:
		p.Event, p.To, p.Angle, p.Radius, p.Rate = "track", sternfan.Amidships, 0, 0, 0
	case m.Event != nil:
		p.Event, p.Rod, p.To, p.Angle, p.Radius, p.Rate = m.Event.Kind, m.Event.Rod, sternfan.Amidships, 0, 0, 0
		if m.Event.Kind == "stop" {
			p.SpeedTo = 0
		}
		if m.Event.rota != nil {
			p.People, p.Pay = m.Event.rota.people, m.Event.Pay
		}
		if m.Event.Turn {
			p.To, p.Angle, p.Radius, p.Rate = m.To, m.Angle, m.Radius, m.Rate
			if p.Radius > 0 {
				p.Rate = env.Speed / p.Radius
			}
		}
	case p.Radius > 0:
		p.Rate = env.Speed / p.Radius
	case p.Rate > 0:
		p.Radius = env.Speed / p.Rate
	}
	return p
}

// PlanOf says how a manoeuvre is run by a spread that [Helm.Fan] solved.
func (s *Helm) PlanOf(m *Manoeuvre) sternfan.TurnPlan { return m.plan(s.Nominal()) }

// Lasts returns how long a manoeuvre takes from beginning to end, s, before anything is solved;
// of setting and clearing nothing is known by then. Where the boat's speed is given at a depth
// that hangs on the solution, it is roughly so.
func (s *Helm) Lasts(m *Manoeuvre) float64 {
	env := s.Env(nil)
	_, _, _, until := m.course(&env)
	return until
}

// Turn takes the whole spread through a manoeuvre. The error is ctx's; what could not be
// solved or carried on says so in its own status.
func (s *Helm) Turn(ctx context.Context, m Manoeuvre, opt TurnOptions) (*sternfan.Turn, error) {
	if opt.Every <= 0 {
		opt.Every = 1
	}
	fan, err := s.Fan(ctx)
	if err != nil {
		return nil, err
	}
	var tasks []sternfan.TurnTask
	if m.Event != nil && (m.Event.Kind == "set" || m.Event.Kind == "clear") {
		event := *m.Event
		event.rota = s.rotaOf(&event, fan, m.Before)
		m.Event, tasks = &event, event.rota.tasks
	}
	out := &sternfan.Turn{Version: sternfan.FileVersion, Name: s.model.Scenario.Name, Every: opt.Every,
		Manoeuvre: m.plan(s.Nominal()), Warnings: []sternfan.Warning{}, Tracks: []sternfan.TurnTrack{}, Tasks: tasks, Start: fan}
	margins := clearance.MarginsOf(&s.model.Scenario.Wants)
	f := s.fleet(fan, opt.Nodes)
	f.step = opt.Step
	log := newTurnLog(f, fan, opt.Lines)
	if opt.Shapes {
		log.shapes = max(1, int(math.Ceil(shapesEvery/opt.Every-1e-9)))
		out.Shapes = log.shapes
	}
	if err := f.run(ctx, &m, s.Nominal(), opt.Every, margins, log); err != nil {
		return nil, err
	}
	log.report(out)
	out.Pairs = f.pairs()

	if m.Course == nil && m.Event == nil && !opt.OneSide {
		other := m
		other.To = -m.To
		g := s.fleet(fan, opt.Nodes)
		g.nearest = true
		if err := g.run(ctx, &other, s.Nominal(), compareEvery, margins, nil); err != nil {
			return nil, err
		}
		out.Other = &sternfan.TurnOther{To: other.To}
		if pairs := g.pairs(); len(pairs) > 0 {
			out.Other.Near = &pairs[0]
		}
	}
	if opt.Wider && m.Course == nil && m.Event == nil && slices.ContainsFunc(out.Pairs, func(p sternfan.TurnPair) bool { return Worsened(&p) }) {
		if out.Least, err = s.wider(ctx, m, fan, opt.Nodes); err != nil {
			return nil, err
		}
	}
	if m.Event != nil && m.Event.Kind == "strike" {
		// Which way does a slow wide circle open the water?
		for _, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
			circling, event := m, *m.Event
			event.circle = side
			circling.Event = &event
			g := s.fleet(fan, opt.Nodes)
			g.nearest, g.only = true, event.Rod
			if err := g.run(ctx, &circling, s.Nominal(), compareEvery, margins, nil); err != nil {
				return nil, err
			}
			near := &sternfan.TurnOther{To: side}
			if pairs := g.pairs(); len(pairs) > 0 {
				near.Near = &pairs[0]
			}
			out.Circles = append(out.Circles, *near)
		}
	}
	if opt.Worlds > 0 {
		if err := s.turnWorlds(ctx, &m, fan, margins, opt, out); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Turn runs a manoeuvre of a model; see [Helm.Turn].
func Turn(ctx context.Context, model *tackle.Model, m Manoeuvre, solve spread.Options, opt TurnOptions) (*sternfan.Turn, error) {
	return New(model, solve).Turn(ctx, m, opt)
}

// pairs returns the parties that come near each other, the nearest first; where none do,
// the nearest two all the same.
func (f *fleet) pairs() []sternfan.TurnPair {
	out := []sternfan.TurnPair{}
	for i := range f.near {
		if f.near[i].ok {
			out = append(out, f.near[i].TurnPair)
		}
	}
	slices.SortStableFunc(out, func(a, b sternfan.TurnPair) int { return cmp.Compare(a.Ratio, b.Ratio) })
	far := slices.IndexFunc(out, func(p sternfan.TurnPair) bool { return p.Ratio > farApart })
	if far >= 0 {
		out = out[:max(far, min(1, len(out)))]
	}
	return out
}

// Passes takes the spread through a manoeuvre, nominal and to one side, and returns the
// nearest approach of every two parties that come near, the nearest first, with the
// margins grown by the intervals of a fan that [Helm.Fan] returned; and the rods whose
// way is not known to its end. The error is ctx's.
func (s *Helm) Passes(ctx context.Context, fan *sternfan.Fan, m Manoeuvre) (near []sternfan.TurnPair, lost []string, err error) {
	f := s.fleet(fan, 0)
	if err := f.run(ctx, &m, s.Nominal(), compareEvery, clearance.MarginsOf(&s.model.Scenario.Wants), nil); err != nil {
		return nil, nil, err
	}
	return f.pairs(), f.lost(), nil
}

// lost returns the rods and devices of movers that did not go all the way.
func (f *fleet) lost() []string {
	var out []string
	for i := range f.parties {
		if p := &f.parties[i]; p.mover >= 0 && f.movers[p.mover].status != dynamics.OK {
			out = append(out, p.course.ID)
		}
	}
	return out
}
