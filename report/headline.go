package report

import (
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Headline returns the one sentence that a captain reads first: what the answer does not
// cover, which lines need a hand and what to do, or that all run clear, at which speed, and
// how deep. It says what the fan's verdict says and nothing else.
func Headline(fan *sternfan.Fan, u unit.System) string {
	return headline(fan, u, "below")
}

// headline says where the rest is told.
func headline(fan *sternfan.Fan, u unit.System, told string) string {
	rods := portToStarboard(fan.Rods)
	if len(rods)+len(fan.Devices) == 0 {
		return "No line is out: set a rod first."
	}
	said := missingWords(fan, fan.Missing)
	grave, remarks := findings(fan)
	if len(grave) > 0 {
		s := said + sentenceOf(&grave[0])
		if more := len(grave) - 1; more > 0 {
			s += " " + Count(more, "more finding") + " " + told + "."
		}
		return s
	}
	s := Count(len(rods)-len(fan.Missing), "line")
	if len(rods) == 0 {
		s = Count(len(fan.Devices), "device")
	}
	if strings.HasPrefix(s, "1 ") {
		s += " runs"
	} else {
		s += " run"
	}
	if fan.Verdict != nil && said == "" {
		s += " clear"
	}
	s = said + s + " at " + givenSpeed(fan, u)
	if t, lure := deepest(rods); lure != nil {
		s += "; deepest " + kindName(lure.Kind, "lure") + " " + depthWords(u, &lure.BodyFan) + ", " + name(t)
	}
	if n := len(remarks); n > 0 {
		s += "; " + Count(n, "remark") + " " + told
	}
	return s + "."
}

// missingNamed is how many missing rods are named with their reasons.
const missingNamed = 3

// missingWords says what the answer does not cover and why; "" when it covers everything.
func missingWords(fan *sternfan.Fan, missing []sternfan.Missing) string {
	var b strings.Builder
	for i, m := range missing {
		if i == missingNamed {
			b.WriteString(sentence("and "+strconv.Itoa(len(missing)-i)+" more are missing") + " ")
			break
		}
		who := m.Rod
		for _, list := range [][]sternfan.Track{fan.Rods, fan.Devices} {
			for k := range list {
				if list[k].Rod == m.Rod {
					who = name(&list[k])
				}
			}
		}
		b.WriteString(sentence(who+" is missing: "+strings.TrimRight(clean(m.Why), ".")) + " ")
	}
	return b.String()
}

// findings returns what needs a hand and what is worth knowing, each worst first.
func findings(fan *sternfan.Fan) (grave, remarks []sternfan.Finding) {
	if fan.Verdict == nil {
		return nil, nil
	}
	for _, f := range fan.Verdict.Findings {
		if f.Grade.Clear() {
			remarks = append(remarks, f)
		} else {
			grave = append(grave, f)
		}
	}
	return grave, remarks
}

// sentenceOf is a finding with what to do about it.
func sentenceOf(f *sternfan.Finding) string {
	text := sentence(clean(f.Text))
	if f.Do != "" {
		text += " " + sentence(clean(f.Do))
	}
	return text
}

func deepest(tracks []*sternfan.Track) (*sternfan.Track, *sternfan.LureFan) {
	var track *sternfan.Track
	var lure *sternfan.LureFan
	for _, t := range tracks {
		for i := range t.Lures {
			if lure == nil || t.Lures[i].Depth > lure.Depth {
				track, lure = t, &t.Lures[i]
			}
		}
	}
	return track, lure
}
