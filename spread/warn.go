package spread

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/tackle"
	"sternfan/tow"
	"sternfan/unit"
)

// The bounds of trolling speed, m/s: 1.0 and 3.5 mph. Common practice, no source.
const (
	slowest = 1.0 * 0.44704
	fastest = 3.5 * 0.44704
)

// Shares of a limit that are worth a word. Common practice, no source.
const (
	nearStrength = 0.5  // of a line's label strength
	nearTrip     = 0.7  // of a trip load, steady
	surge        = 1.4  // a surging pull over the steady one: about the square of 1.2 times the speed
	smallFish    = 40.0 // N: what a small fish adds at most to the steady pull
)

// LeastStack is how far apart two releases on one cable are at least, m. Assumed.
const LeastStack = 5 * float64(unit.Foot)

// Shallow is the depth above which a lure counts as on the surface, m.
const Shallow = 0.1

// bottomOf returns the depth of the bottom, m, +Inf where none is given.
func bottomOf(env *tow.Env) float64 {
	if env.Bottom > 0 {
		return env.Bottom
	}
	return math.Inf(1)
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func speedWarnings(v sternfan.SpeedFan, words unit.System) []sternfan.Warning {
	lo, hi := words.Speed(slowest), words.Speed(fastest)
	now := words.Speed(unit.Speed(v.Surface))
	text := ""
	switch {
	case v.Surface <= 0:
		return []sternfan.Warning{{Code: "speed", Text: "the boat makes no way through the water: lines hang where their weight takes them",
			Hint: "give a speed between " + lo + " and " + hi + " for a trolled spread"}}
	case v.Surface < slowest*(1-1e-9):
		text = "below"
	case v.Surface > fastest*(1+1e-9):
		text = "above"
	default:
		return nil
	}
	return []sternfan.Warning{{Code: "speed", Text: now + " through the water is " + text + " the " + lo + " to " + hi + " of trolling",
		Hint: "check the speed, and whether it is over ground or through the water"}}
}

// judge finds what is wrong with a solved rod and sets its status, the worst first.
func (s *Solver) judge(g *System, ref *tackle.Group, rod int, t *sternfan.Track, env *tow.Env) {
	warn := func(code, hint, format string, args ...any) {
		t.Warnings = append(t.Warnings, sternfan.Warning{Code: code, Text: fmt.Sprintf(format, args...), Hint: hint})
	}
	words := s.opt.Units
	status := func(st sternfan.Status) {
		if t.Status == sternfan.StatusOK {
			t.Status = st
		}
	}
	s.judgeStrength(g, ref, rod, warn, status)
	if rod >= 0 {
		if lack := s.beyondSpool(rod, t.LineOut); lack > 0 {
			warn("beyond-spool", "let less out, or fish a larger reel", "%s out is %s more than this spool holds", words.Depth(unit.Length(t.LineOut)), words.Depth(unit.Length(lack)))
			status(sternfan.StatusBeyondSpool)
		}
	}
	bottom := bottomOf(env)
	intended := s.Intended(ref, rod)
	touch := func(id, kind string, lure bool, z float64) {
		if z >= bottom-OnBottom {
			if !intended {
				warn("bottom", "take in line, speed up, or say bottom: intended", "the %s is on the bottom at %s", Named(kind, id), words.Depth(unit.Length(z)))
				status(sternfan.StatusBottom)
			}
			return
		}
		if lure && z < Shallow {
			warn("surface", "more weight, more line or less speed takes it under", "the %s runs on the surface", Named(kind, id))
			status(sternfan.StatusSurface)
		}
	}
	for _, b := range t.Bodies {
		touch(b.ID, b.Kind, false, b.Depth)
		if b.Kind == "board" && b.Depth > BoardUnder {
			warn("board-under", "less pull behind it, a larger board, or slower", "the board is pulled under, to %s", words.Depth(unit.Length(b.Depth)))
		}
	}
	for _, l := range t.Lures {
		touch(l.ID, l.Kind, true, l.Depth)
		if l.Window != nil && (l.ThroughWater < l.Window[0] || l.ThroughWater > l.Window[1]) {
			warn("lure-speed", "change speed or heading, or the lure", "the %s goes %s through the water; it works at %s to %s",
				Named(l.Kind, l.ID), words.Speed(unit.Speed(l.ThroughWater)), words.Speed(unit.Speed(l.Window[0])), words.Speed(unit.Speed(l.Window[1])))
		}
	}
	if g.Sol.Laid > 0.05 && rod >= 0 && ref.Downrigger < 0 {
		warn("bottom", "take in line or speed up", "%s of line lie on the bottom", words.Depth(unit.Length(g.Sol.Laid)))
		status(sternfan.StatusBottom)
	}
	if rod >= 0 && ref.Downrigger >= 0 {
		if near := s.nextRelease(ref, rod); near < LeastStack*(1-1e-9) {
			warn("stacked-close", "clip it farther from the other, so that lines and fish pass", "another line is clipped less than %s from this one on the cable", words.Depth(unit.Length(LeastStack)))
		}
	}
	if g.slack > 1 && rod >= 0 && s.clipped(ref, rod) {
		warn("slack", "bend the rod harder, or use thinner line",
			"the rod's set load cannot hold this much line in the flow; shown at %s at the tip", words.Force(unit.Force(t.TipPull)))
	}
	if g.ring != ringSlides && rod >= 0 && s.hasSlider(rod) {
		where := "at the release"
		if g.ring == ringAtSurface {
			where = "just under the surface"
		}
		warn("slider", "a longer slider leader with more drag, or another speed, may let it settle midway", "the free slider finds no place on the line: it sits %s", where)
	}
}

// named says which one when a person gave the part an id of its own; the ids made here
// end in a number.
func Named(kind, id string) string {
	if id == "" || id == kind || strings.TrimRight(id, "0123456789") != id {
		return kind
	}
	return kind + " " + id
}

func (s *Solver) Intended(ref *tackle.Group, rod int) bool {
	sc := s.model.Scenario
	if rod >= 0 && sc.Rods[rod].Settings.Bottom == "intended" {
		return true
	}
	return ref.Downrigger >= 0 && sc.Downriggers[ref.Downrigger].Bottom == "intended"
}

// beyondSpool returns by how much line out is more than the rod's spool holds, m; 0 when
// it is enough or not known.
func (s *Solver) beyondSpool(rod int, out float64) float64 {
	r := &s.model.Rods[rod]
	if r.Reel == nil {
		return 0
	}
	if r.Spool == nil {
		if r.Reel.Capacity.Given {
			return math.Max(out-r.Reel.Capacity.SI(), 0)
		}
		return 0
	}
	return tackle.ReelFill(r.Reel, r.Spool, out).Beyond
}

// nextRelease returns how far along its cable a rod's release is from the next one, m; +Inf
// when the cable has no other.
func (s *Solver) nextRelease(ref *tackle.Group, rod int) float64 {
	near := math.Inf(1)
	rods := s.model.Scenario.Rods
	for _, other := range ref.Rods {
		if other != rod {
			near = math.Min(near, math.Abs(tackle.AboveBall(&rods[other].Settings)-tackle.AboveBall(&rods[rod].Settings)))
		}
	}
	return near
}

func (s *Solver) clipped(ref *tackle.Group, rod int) bool {
	return ref.Downrigger >= 0 || ref.MastBoard >= 0
}

func (s *Solver) hasSlider(rod int) bool {
	for _, p := range s.model.Scenario.Rods[rod].Rig.Parts {
		if p.Kind == sternfan.PartSlider {
			return true
		}
	}
	return false
}

// judgeStrength compares pulls with label strengths and trip loads.
func (s *Solver) judgeStrength(g *System, ref *tackle.Group, rod int, warn func(code, hint, format string, args ...any), status func(sternfan.Status)) {
	words := s.opt.Units
	for i := range ref.Lines {
		l := &ref.Lines[i]
		if l.Rod != rod || l.Strength <= 0 {
			continue
		}
		from, to := g.Sol.Pull(i)
		switch pull := math.Max(from, to); {
		case pull > l.Strength:
			warn("over-strength", "slower, smaller gear or stronger line; keep clear of a line under such a load",
				"%s pull on the %s is over its label strength of %s", words.Force(unit.Force(pull)), Named(string(l.Kind), l.ID), words.Force(unit.Force(l.Strength)))
			status(sternfan.StatusOverStrength)
		case pull > nearStrength*l.Strength:
			warn("near-strength", "a label's strength is lost at a kink or a poor knot: check both",
				"%s pull on the %s is over half its label strength of %s", words.Force(unit.Force(pull)), Named(string(l.Kind), l.ID), words.Force(unit.Force(l.Strength)))
		}
	}
	if rod < 0 {
		return
	}
	for _, tr := range s.model.Rods[rod].Trips {
		if tr.Load <= 0 {
			continue
		}
		from, to := g.Sol.Pull(tr.Line)
		pull := to
		if tr.AtFrom {
			pull = from
		}
		switch {
		case pull > tr.Load:
			warn("trips", "set its trip harder, or less pull behind it", "%s of steady pull trips the %s, set to %s", words.Force(unit.Force(pull)), tr.Kind, words.Force(unit.Force(tr.Load)))
		case pull*surge > tr.Load || pull > nearTrip*tr.Load:
			warn("near-trip", "set its trip a little harder, or expect false trips in waves",
				"%s of steady pull is close to the %s's trip load of %s", words.Force(unit.Force(pull)), tr.Kind, words.Force(unit.Force(tr.Load)))
		case tr.Load-pull > smallFish:
			warn("trip-heavy", "set its trip lighter if small fish ride along unnoticed",
				"the %s trips at %s, the steady pull is %s: a small fish may not trip it", tr.Kind, words.Force(unit.Force(tr.Load)), words.Force(unit.Force(pull)))
		}
	}
}
