package aim

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// number writes a value as counters and dials show it.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}

// figure writes a number of a kind as a hand counts it.
func (k *aiming) figure(kind setting.Kind, v float64) string {
	switch {
	case kind != setting.Length:
		return number(v)
	case k.boat.opt.Units == unit.SI:
		return number(math.Round(v*100)/100) + " m"
	}
	return number(math.Round(v/float64(unit.Foot)*10)/10) + " ft"
}

// words says a setting as a hand does it.
func (k *aiming) words(s setTo) string {
	switch s.key {
	case keyBacking:
		if s.value < .01 {
			return "no backing behind the board"
		}
		return k.figure(setting.Length, s.value) + " of backing behind the board"
	case keyReel:
		if k.facts.byColors {
			return "the reel with " + keyColors.Text(setting.Value{Given: true, Number: s.value / float64(unit.Color)}, k.figure)
		}
		return "the reel with " + k.figure(setting.Length, s.value) + " of " + strings.ReplaceAll(k.facts.section.Kind, "-", " ")
	case keyWeight:
		return "weight " + k.weights()[int(s.value)]
	case keySpeed:
		return k.boat.opt.Units.Speed(unit.Speed(s.value))
	}
	on := setting.On{Settings: &k.Model.Scenario.Rods[k.Rod].Settings}
	return s.key.Do(setting.Value{Given: true, Number: s.value}, on, k.figure)
}

// changes writes a variation of the bench's scenario as changes of the boat's file. It is
// empty when they do not say it all, as when a length has to be tied in.
func (k *aiming) changes(sc *sternfan.Scenario) []string {
	is, was := &sc.Rods[k.Rod], &k.boat.sc.Rods[k.Whole]
	out := []string{}
	path := "rods." + is.ID + "."
	if i := slices.IndexFunc(is.Rig.Behind, isWeight); i >= 0 && is.Rig.Behind[i].Gear != was.Rig.Behind[i].Gear {
		out = append(out, fmt.Sprintf("%srig.behind[%d].weight=%s", path, i, is.Rig.Behind[i].Gear))
	}
	if i := slices.IndexFunc(is.Rig.Parts, isWeight); i >= 0 && is.Rig.Parts[i].Gear != was.Rig.Parts[i].Gear {
		out = append(out, fmt.Sprintf("%srig.parts[%d].weight=%s", path, i, is.Rig.Parts[i].Gear))
	}
	now, before := setting.Of(sc, is), setting.Of(k.boat.sc, was)
	for r := range setting.Hands {
		v, had := r.Get(now), r.Get(before)
		if v.Number == had.Number && (v.Given == had.Given || r.Kind != setting.Length) {
			continue
		}
		if r == keySection && !had.Given && is.Settings.Lead.Value == was.Settings.Lead.Value {
			continue // all of the lead is section, as it was
		}
		at := path + "settings."
		if r.Owner != setting.Rod {
			at = r.Owner.List() + "." + is.Device() + "."
		}
		out = append(out, at+r.Key+"="+k.written(r, v))
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

// written is a setting's value as a file has it, every digit that is meant.
func (k *aiming) written(r *setting.Row, v setting.Value) string {
	switch {
	case r.Kind == setting.Switch:
		return r.Text(v, k.figure)
	case r.Kind != setting.Length:
		return number(v.Number)
	case k.boat.opt.Units == unit.SI:
		return number(v.Number) + "m"
	}
	return number(v.Number/float64(unit.Foot)) + "ft"
}

func isWeight(p sternfan.Part) bool { return p.Kind == sternfan.PartWeight }
