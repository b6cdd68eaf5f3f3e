package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// AimTable writes the ways in which a rod reaches its target: the first line tells the
// captain what to do; then a row per way, best first, what else moves, and the cautions.
// Out of reach, it says how near the rod comes and which single change would do it.
func AimTable(w io.Writer, a *sternfan.Aim, opt Options) error {
	u := opt.Units
	p := &printer{w: w}
	p.wrapped("", "  ", AimHeadline(a, opt), opt.width())
	switch {
	case len(a.Ways) > 0:
		p.line("")
		wayRows(p, a.Ways, u, "way")
		aimOthers(p, a.Ways, opt)
		if more := a.Found - len(a.Ways); more > 0 {
			p.line("")
			p.line("%d more; --top %d shows them all.", more, a.Found)
		}
	case len(a.Changes) > 0:
		p.line("")
		p.line("Any one of these would do it:")
		for i := range a.Changes {
			c := &a.Changes[i]
			p.wrapped("  ", "    ", changeWords(c, u), opt.width())
		}
	}
	if a.Now != nil {
		p.line("")
		p.wrapped("", "  ", "Now: "+clean(a.Now.Text)+"; runs "+depthWords(u, &a.Now.Lure.BodyFan)+".", opt.width())
	}
	p.line("")
	p.line("Intervals: 4 times in 5 the depth is inside.")
	p.paragraphs(opt.width(), aimCautions(opt.Scenario, a.Rod)...)
	return p.err
}

// AimHeadline is the first line: what to do, and what comes of it.
func AimHeadline(a *sternfan.Aim, opt Options) string {
	u := opt.Units
	who := rodName(a.Rod, opt.Scenario)
	target := u.Depth(unit.Length(a.Depth))
	if a.Side != nil {
		target += ", " + u.Depth(unit.Length(*a.Side)) + " out to the side"
	}
	if len(a.Ways) > 0 {
		w := &a.Ways[0]
		s := who + " to " + target + ": " + clean(w.Text) + " (" + moreOrLess(a, w, u) + "); the lure runs " + depthWords(u, &w.Lure.BodyFan) + ", " + sideWords(u, w.Lure.Side)
		if wrong, step := statusWords(w.Status); w.Status != sternfan.StatusOK {
			s += "; " + wrong + ": " + step
		} else if sc := opt.Scenario; sc != nil && sc.Water.Bottom.Given && w.Lure.DepthHi > sc.Water.Bottom.SI() {
			s += "; it may touch the bottom"
		}
		return strings.Replace(s, " ()", "", 1) + early(a.Finished) + "."
	}
	if a.Limit == nil || a.Limit.Way == nil {
		return who + " cannot reach " + target + ", and no setting of it runs clear: check its gear and the speed."
	}
	end := "the deepest"
	if a.Limit.Depth > a.Depth {
		end = "the shallowest"
	}
	s := fmt.Sprintf("%s cannot reach %s: %s is %s it can do (%s), %s", who, target,
		depthWords(u, &a.Limit.Way.Lure.BodyFan), end, clean(a.Limit.Way.Text), clean(a.Limit.Why))
	if len(a.Changes) > 0 {
		s += ". Try " + clean(a.Changes[0].Text)
		if a.Changes[0].Way != nil {
			s += " (" + clean(a.Changes[0].Way.Text) + ")"
		}
	} else if a.Finished {
		s += "; no single change would do it"
	}
	return s + early(a.Finished) + "."
}

// early says that an answer is not the whole one.
func early(finished bool) string {
	if finished {
		return ""
	}
	return ". Stopped early: the best so far"
}

// moreOrLess says what the hand does from where the line is now.
func moreOrLess(a *sternfan.Aim, w *sternfan.Way, u unit.System) string {
	if a.Now == nil {
		return ""
	}
	for i := range w.Settings {
		s := &w.Settings[i]
		switch s.Key {
		case "line-out", "cable-out":
		default:
			continue
		}
		for _, was := range a.Now.Settings {
			if was.Key != s.Key {
				continue
			}
			d := s.Value - was.Value
			switch n := u.Depth(unit.Length(math.Abs(d))); {
			case isZero(strings.Fields(n)[0]):
				return "as it is"
			case d > 0:
				return n + " more"
			default:
				return n + " less"
			}
		}
	}
	return ""
}

func sideWords(u unit.System, side float64) string {
	n := u.Depth(unit.Length(math.Abs(side)))
	switch {
	case isZero(strings.Fields(n)[0]):
		return "straight astern"
	case side < 0:
		return n + " to port"
	}
	return n + " to starboard"
}

// wayRows prints a row per way. The words stand last, so that numbers line up.
func wayRows(p *printer, ways []sternfan.Way, u unit.System, words string) {
	ft, lb := u.Label(unit.DepthStyle), u.Label(unit.ForceStyle)
	// Each way's other speeds are as far from its own.
	step := u.Speed(0.2 * unit.MilePerHour)
	g := NewGrid("  ", Numbers(ft, "depth", "4 in 5", "side", "astern"), Numbers(lb, "pull"), Numbers(ft, step+" less", step+" more"), Words(words))
	for i := range ways {
		w := &ways[i]
		astern, _ := u.Split(unit.DepthStyle, w.Lure.Astern)
		pull, _ := u.Split(unit.ForceStyle, w.TipPull)
		text := clean(w.Text)
		if wrong, _ := statusWords(w.Status); w.Status != sternfan.StatusOK {
			text += "; " + wrong
		}
		for _, x := range w.Warnings {
			if short := shortWarnings[x.Code]; short != "" {
				text += "; " + short
			}
		}
		g.Add(depthNumber(u, &w.Lure.BodyFan), spanNumber(u, &w.Lure.BodyFan), sideNumber(u, w.Lure.Side),
			astern, pull, atWords(w.Slower, u), atWords(w.Faster, u), text)
	}
	g.print(p, defaultWidth)
}

// shortWarnings are the warnings of a way that choose between ways.
var shortWarnings = map[string]string{"trips": "trips", "near-trip": "close to tripping", "board-under": "board under", "slack": "line hangs slack",
	"near-strength": "over half the line's strength", "lure-speed": "not the lure's speed"}

// limitWords are what gives way at another speed.
var limitWords = map[string]string{"strength": "too strong a pull", "trip": "trips", "bottom": "bottom", "surface": "surface", "board": "board under", "unsolved": "?"}

func atWords(at *sternfan.WayAt, u unit.System) string {
	if at == nil {
		return "?"
	}
	n, _ := u.Split(unit.DepthStyle, belowSurface(at.Depth))
	n += " (" + span(u, at.DepthLo, at.DepthHi) + ")"
	if wrong := limitWords[at.Status]; wrong != "" {
		n += " " + wrong
	}
	return n
}

func changeWords(c *sternfan.AimChange, u unit.System) string {
	s := clean(c.Text)
	if c.Buy {
		s += " (not in the file: to buy)"
	}
	if c.Way != nil {
		s += "; then " + clean(c.Way.Text) + ", and the lure runs " + depthWords(u, &c.Way.Lure.BodyFan)
	}
	return sentence(s)
}

// aimOthers says which other lures move with the best way.
func aimOthers(p *printer, ways []sternfan.Way, opt Options) {
	if len(ways[0].Others) == 0 {
		return
	}
	var moves []string
	for _, o := range ways[0].Others {
		moves = append(moves, fmt.Sprintf("%s from %s to %s (%s)", lower(rodName(o.Rod, opt.Scenario)),
			opt.Units.Depth(unit.Length(belowSurface(o.From))), opt.Units.Depth(unit.Length(belowSurface(o.Depth))), span(opt.Units, o.DepthLo, o.DepthHi)))
	}
	p.line("")
	p.wrapped("", "  ", "The first way moves with it: "+List(moves)+".", opt.width())
}

// aimCautions are the cautions for one rod's gear.
func aimCautions(sc *sternfan.Scenario, rod string) []string {
	if sc == nil {
		return Cautions(&sternfan.Fan{}, nil)
	}
	one := *sc
	one.Rods, one.Downriggers, one.MastBoards = nil, nil, nil
	for i := range sc.Rods {
		if sc.Rods[i].ID == rod {
			one.Rods = sc.Rods[i : i+1]
			for _, d := range sc.Downriggers {
				if d.ID == sc.Rods[i].Rig.Downrigger {
					one.Downriggers = append(one.Downriggers, d)
				}
			}
		}
	}
	fan := &sternfan.Fan{Rods: []sternfan.Track{{Lures: []sternfan.LureFan{{}}}}}
	return Cautions(fan, &one)
}
