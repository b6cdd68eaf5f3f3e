package aim

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// number writes a value as counters and dials show it.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}

// words says a setting as a hand does it.
func (k *aiming) words(s setting) string {
	u := k.boat.opt.Units
	count := func(v float64) string {
		if u == unit.SI {
			return number(math.Round(v*100)/100) + " m"
		}
		return number(math.Round(v/float64(unit.Foot)*10)/10) + " ft"
	}
	set := k.Settings()
	switch s.key {
	case keyDial:
		side := ""
		if p := k.Model.Scenario.Rods[k.Rod].Settings.Side; s.value > 0 && p != sternfan.Amidships {
			side = " " + p.String()
		}
		return "dial " + number(s.value) + side
	case keyRing:
		if s.value == 1 {
			return "ring on"
		}
		return "ring off"
	case keyLead:
		return count(s.value) + " lead"
	case keyLineOut:
		out := "let out " + count(s.value)
		if set.CountFrom == "water" {
			out += " from the water"
		}
		return out
	case keyCable:
		return count(s.value) + " of cable"
	case keyAbove:
		return "clip " + count(s.value) + " above the ball"
	case keyAlong:
		return "release " + count(s.value) + " along the tow line"
	case keyColors:
		if s.value == 1 {
			return "let out 1 color"
		}
		return "let out " + number(s.value) + " colors"
	case keyBacking:
		if s.value < .01 {
			return "no backing behind the board"
		}
		return count(s.value) + " of backing behind the board"
	case keyReel:
		if k.facts.byColors {
			n := s.value / float64(unit.Color)
			if n == 1 {
				return "the reel with 1 color"
			}
			return "the reel with " + number(n) + " colors"
		}
		return "the reel with " + count(s.value) + " of " + strings.ReplaceAll(k.facts.section.Kind, "-", " ")
	case keyWeight:
		return "weight " + k.weights()[int(s.value)]
	case keySpeed:
		return u.Speed(unit.Speed(s.value))
	}
	panic("aim: no such setting " + s.key)
}

// changes writes a variation of the bench's scenario as changes of the boat's file. It is
// empty when they do not say it all, as when a length has to be tied in.
func (k *aiming) changes(sc *sternfan.Scenario) []string {
	is, was := &sc.Rods[k.Rod], &k.boat.sc.Rods[k.Whole]
	out := []string{}
	length := func(key string, is, was sternfan.Q[unit.Length]) {
		switch {
		case is.Value == was.Value && is.Given == was.Given:
		case k.boat.opt.Units == unit.SI:
			out = append(out, key+"="+number(is.SI())+"m")
		default:
			out = append(out, key+"="+number(is.SI()/float64(unit.Foot))+"ft")
		}
	}
	rod := "rods." + is.ID + "."
	if i := slices.IndexFunc(is.Rig.Behind, isWeight); i >= 0 && is.Rig.Behind[i].Gear != was.Rig.Behind[i].Gear {
		out = append(out, fmt.Sprintf("%srig.behind[%d].weight=%s", rod, i, is.Rig.Behind[i].Gear))
	}
	if i := slices.IndexFunc(is.Rig.Parts, isWeight); i >= 0 && is.Rig.Parts[i].Gear != was.Rig.Parts[i].Gear {
		out = append(out, fmt.Sprintf("%srig.parts[%d].weight=%s", rod, i, is.Rig.Parts[i].Gear))
	}
	set, had := &is.Settings, &was.Settings
	if set.Ring.Value != had.Ring.Value {
		out = append(out, rod+"settings.ring="+onOff(set.Ring.Value))
	}
	if set.Dial.Value != had.Dial.Value {
		out = append(out, rod+"settings.dial="+number(set.Dial.SI()))
	}
	length(rod+"settings.lead", set.Lead, had.Lead)
	length(rod+"settings.above_ball", set.AboveBall, had.AboveBall)
	length(rod+"settings.along", set.Along, had.Along)
	if set.Colors.Value != had.Colors.Value {
		out = append(out, rod+"settings.colors="+number(set.Colors.SI()))
	}
	if set.Lead.Value != had.Lead.Value || had.Section.Given { // else all of the lead is section, as it was
		length(rod+"settings.section", set.Section, had.Section)
	}
	length(rod+"settings.line_out", set.LineOut, had.LineOut)
	if k.facts.downrigger >= 0 {
		d := &sc.Downriggers[0]
		length("downriggers."+d.ID+".cable_out", d.CableOut, k.boat.sc.Downrigger(d.ID).CableOut)
	}
	if v := sc.Speed.Value.Value; v != k.boat.sc.Speed.Value.Value {
		if k.boat.opt.Units == unit.SI {
			out = append(out, "speed.value="+number(float64(v))+"m/s")
		} else {
			out = append(out, "speed.value="+number(float64(v/unit.MilePerHour))+"mph")
		}
	}
	return out
}

func onOff(v float64) string {
	if v == 1 {
		return "on"
	}
	return "off"
}

func isWeight(p sternfan.Part) bool { return p.Kind == sternfan.PartWeight }
