package report

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Headline returns the one sentence that a captain reads first: which lines need a hand
// and what to do, or that all run clear of trouble, at which speed, and how deep.
func Headline(fan *sternfan.Fan, u unit.System) string {
	return headline(fan, u, "below")
}

// headline says where the things to watch are told.
func headline(fan *sternfan.Fan, u unit.System, told string) string {
	rods := portToStarboard(fan.Rods)
	all := append(slices.Clone(rods), portToStarboard(fan.Devices)...)
	var trouble []*sternfan.Track
	for _, t := range all {
		if needsHand(t) {
			trouble = append(trouble, t)
		}
	}
	if len(all) == 0 {
		return "No line is out: set a rod first."
	}
	if len(trouble) > 0 {
		devices := 0
		for _, t := range all[len(rods):] {
			if needsHand(t) {
				devices++
			}
		}
		return troubleLine(trouble, len(rods), devices)
	}
	s := Count(len(rods), "line")
	if len(rods) == 0 {
		s = Count(len(all), "device")
	}
	verb := " run"
	if len(rods) == 1 {
		verb = " runs"
	}
	s += verb
	said := ""
	for _, w := range fan.Warnings {
		// No numbers were checked at such a speed: nobody is told that all is well.
		if strings.HasPrefix(w.Code, "speed") {
			said = "; " + strings.TrimRight(clean(w.Text), ". ")
			break
		}
	}
	if said == "" {
		s += " clear of trouble"
	}
	s += " at " + givenSpeed(fan, u) + said
	if t, lure := deepest(rods); lure != nil {
		s += "; deepest " + kindName(lure.Kind, "lure") + " " + depthWords(u, &lure.BodyFan) + ", " + name(t)
	}
	if n := len(watched(fan)); n > 0 {
		s += "; " + Count(n, "thing") + " to watch " + told
	}
	return s + "."
}

const troublesNamed = 3 // more than three names are not read at a glance

// troubleLine names who needs a hand, and each trouble and its step once.
func troubleLine(trouble []*sternfan.Track, rods, devices int) string {
	type group struct {
		first, wrong, step string
		others             []string
	}
	var groups []group
	for _, t := range trouble[:min(len(trouble), troublesNamed)] {
		wrong, step := troubleWords(t)
		i := slices.IndexFunc(groups, func(g group) bool { return g.wrong == wrong && g.step == step })
		if i < 0 {
			groups = append(groups, group{first: name(t), wrong: wrong, step: step})
			continue
		}
		groups[i].others = append(groups[i].others, name(t))
	}
	var said []string
	for _, g := range groups {
		s := fmt.Sprintf("%s %s (%s)", g.first, g.wrong, g.step)
		if len(g.others) > 0 {
			s += ", " + List(g.others) + " likewise"
		}
		said = append(said, s)
	}
	if more := len(trouble) - troublesNamed; more > 0 {
		said = append(said, fmt.Sprintf("and %d more", more))
	}
	verb := "need"
	if len(trouble) == 1 {
		verb = "needs"
	}
	what := fmt.Sprintf("%d of %s", len(trouble), Count(rods, "rod"))
	if devices > 0 {
		what = Count(len(trouble), "line")
	}
	return what + " " + verb + " a hand: " + list(said, "; ", "; ") + "."
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
