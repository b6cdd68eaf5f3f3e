package manoeuvre

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tackle"
	"sternfan/tow/dynamics"
)

// script carries out an event while the fleet runs.
type script struct {
	f     *fleet
	event *Event
	at    float64 // when it happens
	ends  float64 // when paying out ends
	mover int
	line  int
	done  bool

	rota *rota // of setting or clearing
	had  []int // by mover: how much of it was done
}

// What is assumed of events.
const (
	poppedDrag = 0.3  // of a board's drag that is left when it trails by its tail
	fishArea   = 0.02 // m2: C A of a fish that runs
)

func newScript(f *fleet, m *Manoeuvre, begin float64) *script {
	c := &script{f: f, event: m.Event, at: begin, ends: math.Inf(1), mover: -1}
	f.hands = false
	if m.Event != nil && m.Event.rota != nil {
		c.rota, c.had, f.hands = m.Event.rota, make([]int, len(f.movers)), true
	}
	return c
}

// next returns when the next thing happens to a mover, s.
func (c *script) next(v *mover) float64 {
	if c.rota != nil {
		for i := range c.f.movers {
			if steps := c.rota.steps[v.g.Index]; &c.f.movers[i] == v && c.had[i] < len(steps) {
				return steps[c.had[i]].t
			}
		}
		return math.Inf(1)
	}
	if c.event == nil || c.event.Kind == "stop" {
		return math.Inf(1)
	}
	if !c.done {
		return c.at
	}
	return c.ends
}

// watch notes which parties are out and on their way at time t.
func (c *script) watch(t float64) {
	if c.rota == nil {
		return
	}
	for i := range c.f.parties {
		p := &c.f.parties[i]
		out, moves := c.rota.phase(c.f, p, t)
		p.in, p.moves = !out, moves
	}
}

// handle does what hands do up to time t.
func (c *script) handle(ctx context.Context, t float64) error {
	for i := range c.f.movers {
		v := &c.f.movers[i]
		steps := c.rota.steps[v.g.Index]
		for ; c.had[i] < len(steps) && steps[c.had[i]].t <= t; c.had[i]++ {
			v.now = steps[c.had[i]].t
			if v.out() {
				if v.status = v.run.Advance(ctx, v.now); v.status != dynamics.OK {
					v.until = v.run.Time()
				}
			}
			if v.status != dynamics.OK {
				break
			}
			steps[c.had[i]].do(v)
			if v.status != dynamics.OK {
				v.until = v.now
			}
		}
	}
	return ctx.Err()
}

// before does what happens up to time t.
func (c *script) before(ctx context.Context, t float64) error {
	if c.rota != nil {
		return c.handle(ctx, t)
	}
	if c.event == nil || c.event.Kind == "stop" {
		return nil
	}
	if !c.done && t >= c.at {
		c.done = true
		if err := c.happen(ctx); err != nil {
			return err
		}
	}
	if t >= c.ends && c.mover >= 0 {
		v := &c.f.movers[c.mover]
		if v.status = v.run.Advance(ctx, c.ends); v.status == dynamics.OK {
			v.run.Pay(c.line, 0)
		}
		c.ends = math.Inf(1)
	}
	return ctx.Err()
}

// EventFault says why an event cannot happen to a rod, nil when it can.
func (s *Helm) EventFault(e *Event) error {
	switch e.Kind {
	case "stop", "set", "clear":
		return nil
	case "strike", "let-out", "board-pops":
	default:
		return fmt.Errorf("no event %q", e.Kind)
	}
	rods := s.model.Scenario.Rods
	rod := slices.IndexFunc(rods, func(r sternfan.Rod) bool { return r.ID == e.Rod })
	if rod < 0 {
		return fmt.Errorf("there is no rod %q", e.Rod)
	}
	info := &s.model.Rods[rod]
	if info.Group < 0 {
		return fmt.Errorf("rod %s cannot be fished as described", e.Rod)
	}
	if e.Kind == "board-pops" && !slices.ContainsFunc(info.Trips, func(t tackle.Trip) bool { return t.Kind == sternfan.PartBoard }) {
		return fmt.Errorf("rod %s has no in-line board", e.Rod)
	}
	return nil
}

// happen makes the event so.
func (c *script) happen(ctx context.Context) error {
	s := c.f.s
	rod := slices.IndexFunc(s.model.Scenario.Rods, func(r sternfan.Rod) bool { return r.ID == c.event.Rod })
	info := &s.model.Rods[rod]
	for i := range c.f.movers {
		if c.f.movers[i].g.Index == info.Group {
			c.mover = i
		}
	}
	if c.mover < 0 {
		return nil
	}
	v := &c.f.movers[c.mover]
	if v.status = v.run.Advance(ctx, c.at); v.status != dynamics.OK {
		return ctx.Err()
	}
	ref := &s.model.Groups[info.Group]
	sys := &v.g.Sys
	c.line = info.Lines[0]
	switch c.event.Kind {
	case "let-out":
		v.run.Pay(c.line, c.event.Pay)
		c.ends = c.at + c.event.PayLength/math.Max(math.Abs(c.event.Pay), 1e-3)
	case "board-pops":
		for _, t := range info.Trips {
			if t.Kind == sternfan.PartBoard {
				v.run.SetBodies(t.Node, popped(sys.Nodes[t.Node].Bodies))
			}
		}
	case "strike":
		for _, t := range info.Trips {
			switch t.Kind {
			case sternfan.PartDiver:
				v.run.SetBodies(t.Node, c.tripped(ref.Nodes[t.Node].Gear, sys.Nodes[t.Node].Bodies))
			case sternfan.PartBoard:
				v.run.SetBodies(t.Node, popped(sys.Nodes[t.Node].Bodies))
			case sternfan.PartRelease:
				var leave []int
				for l := range ref.Lines {
					if ref.Lines[l].Rod == rod && sys.Lines[l].To == t.Node {
						leave = append(leave, l)
					}
				}
				if slices.ContainsFunc(leave, func(l int) bool { return v.run.FromBoat(l) }) {
					v.run.LetGo(t.Node, leave...)
				}
			}
		}
		if len(info.Lures) > 0 {
			lure := info.Lures[0]
			v.run.SetBodies(lure, append(slices.Clone(sys.Nodes[lure].Bodies), hydro.Body{DragArea: fishArea}))
			pull := geom.Vec{X: c.event.Pull}.Yaw(c.f.pose.Heading + c.event.Heading)
			v.run.Pull(lure, pull)
		}
		v.run.Drag(c.line, c.event.Drag)
	}
	return nil
}

// popped returns a board's bodies when it has let go at its nose: it trails, and no
// longer pulls to the side.
func popped(bodies []hydro.Body) []hydro.Body {
	out := slices.Clone(bodies)
	for i := range out {
		out[i].LiftArea = 0
		out[i].DragArea *= poppedDrag
	}
	return out
}

// tripped returns a diver's bodies with its arm open.
func (c *script) tripped(gear string, bodies []hydro.Body) []hydro.Body {
	out := slices.Clone(bodies)
	for i := range out {
		if out[i].PlateArea == 0 {
			continue
		}
		out[i].PlateArea, out[i].Give = 0, 0
		for k := range c.f.s.model.Scenario.Gear.Divers {
			if d := &c.f.s.model.Scenario.Gear.Divers[k]; d.ID == gear {
				out[i].DragArea = d.TrippedArea.SI()
				out[i].AddedMass = 1000 * d.Volume.SI()
			}
		}
	}
	return out
}
