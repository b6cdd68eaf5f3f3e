package tackle

import (
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// SettingsText returns a rod's settings in words and the person's units, in the order of
// hands: "15 ft lead, dial 2 port, ring on, 180 ft out".
func (m *Model) SettingsText(rod int, u unit.System) string {
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
		out = append(out, counted(s.Lead.Value, u)+" lead")
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
	if s.Section.Given {
		out = append(out, counted(s.Section.Value, u)+" of sinking line")
	}
	if clipped {
		if s.AboveBall.Given {
			out = append(out, "release "+counted(s.AboveBall.Value, u)+" above the ball")
		}
		if s.Along.Given {
			out = append(out, "release "+counted(s.Along.Value, u)+" along the tow line")
		}
	} else if s.LineOut.Given {
		words := counted(s.LineOut.Value, u) + " out"
		if s.CountFrom == "water" {
			words += " from the water"
		}
		out = append(out, words)
	}
	return strings.Join(out, ", ")
}

// counted returns a length as it is counted or paced off: whole feet, halves of short
// ones; tenths of a meter.
func counted(v unit.Length, u unit.System) string {
	if u == unit.SI {
		return number(math.Round(float64(v)*10)/10) + " m"
	}
	x := float64(v / unit.Foot)
	if x < 10 {
		return number(math.Round(x*2)/2) + " ft"
	}
	return number(math.Round(x)) + " ft"
}

// both returns a length in feet and meters, for faults: they are read beside a file that
// may use either. It is rounded up, so that "at least" holds as printed.
func both(v unit.Length) string {
	up := func(x, digits float64) string { return number(math.Ceil(x*digits-1e-6) / digits) }
	return up(float64(v/unit.Foot), 10) + " ft (" + up(float64(v), 100) + " m)"
}
