package tackle

import (
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// SettingsText returns a rod's settings in words and US units, in the order of hands:
// "15 ft lead, dial 2 port, ring on, 180 ft out".
func (m *Model) SettingsText(rod int) string {
	r := &m.Scenario.Rods[rod]
	s := &r.Settings
	var out []string
	has := func(kind sternfan.PartKind) bool {
		for i := range r.Rig.Parts {
			if r.Rig.Parts[i].Kind == kind {
				return true
			}
		}
		return false
	}
	clipped := has(sternfan.PartRelease)
	if s.Lead.Given {
		out = append(out, feet(s.Lead)+" lead")
	}
	if s.Dial.Given && has(sternfan.PartDiver) {
		words := "dial " + number(float64(s.Dial.Value))
		if s.Dial.Value > 0 && s.Side != sternfan.Amidships {
			words += " " + s.Side.String()
		}
		out = append(out, words)
	}
	if s.Ring.Given && has(sternfan.PartDiver) {
		if s.Ring.Value == 1 {
			out = append(out, "ring on")
		} else {
			out = append(out, "ring off")
		}
	}
	if s.Tripped {
		out = append(out, "tripped")
	}
	if has(sternfan.PartBoard) && s.Side != sternfan.Amidships {
		out = append(out, "board to "+s.Side.String())
	}
	if s.Colors.Given {
		words := number(math.Round(float64(s.Colors.Value)*10)/10) + " color"
		if s.Colors.Value != 1 {
			words += "s"
		}
		out = append(out, words)
	}
	if clipped {
		if s.AboveBall.Given {
			out = append(out, "release "+feet(s.AboveBall)+" above the ball")
		}
		if s.Along.Given {
			out = append(out, "release "+feet(s.Along)+" along the tow line")
		}
	} else if s.LineOut.Given {
		words := feet(s.LineOut) + " out"
		if s.CountFrom == "water" {
			words += " from the water"
		}
		out = append(out, words)
	}
	return strings.Join(out, ", ")
}

func feet(v sternfan.Q[unit.Length]) string {
	x := float64(v.Value / unit.Foot)
	if x < 10 {
		return number(math.Round(x*2)/2) + " ft"
	}
	return number(math.Round(x)) + " ft"
}
