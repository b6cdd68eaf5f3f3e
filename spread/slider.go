package spread

import (
	"math"

	"sternfan/tow"
)

// ringState says how a free slider is held.
type ringState uint8

const (
	ringSlides ringState = iota
	ringAtRelease
	ringAtSurface
)

func hasRing(sys *tow.System) bool { return len(ringsOf(sys)) > 0 }

// ringsOf returns the nodes that slide.
func ringsOf(sys *tow.System) []int {
	var out []int
	for i := range sys.Nodes {
		if sys.Nodes[i].Kind == tow.Ring {
			out = append(out, i)
		}
	}
	return out
}

// ringStop is how far from the release a slider's stop holds it, m.
const ringStop = 0.3

// stopRings turns sliders into fixed points of their lines, at the release or a little
// under the surface.
func stopRings(sys *tow.System, where ringState) {
	for _, i := range ringsOf(sys) {
		sys.Nodes[i].Kind = tow.Free
		for k := range sys.Lines {
			l := &sys.Lines[k]
			switch {
			case where == ringAtRelease && l.From == i && l.Open:
				l.Open, l.Length = false, ringStop
			case where == ringAtSurface && l.To == i && l.Open:
				up := sys.Nodes[l.From].At.Z
				l.Open, l.Length = false, math.Max(ringStop-up, ringStop)*1.5
			}
		}
	}
}

// runsDown reports whether the sliders at these nodes, held at their release, would plainly
// be driven there from anywhere under the surface: all along the line its load points down the line,
// by more than the line's bow under that load could turn it.
//
// A load R bends a string of tension T by R/2T at most between the mean direction at the
// load and the chord.
func (g *System) runsDown(rings []int) bool {
	const least = 0.1 // what else the line may change with the slider elsewhere, cosine
	for _, ring := range rings {
		load := g.Sol.Loads[ring]
		up := -1
		for i := range g.Sys.Lines {
			if l := &g.Sys.Lines[i]; l.To == ring && l.Open {
				up = i
			} else if l.To == ring {
				p := g.Sol.Samples[i]
				load = load.Sub(p[len(p)-1].F)
			}
		}
		if up < 0 {
			return false
		}
		r := load.Norm()
		for _, p := range g.Sol.Samples[up] {
			tension := p.F.Norm()
			if p.R.Z > 0 && !(load.Dot(p.F) > (least*tension+r/2)*r) {
				return false
			}
		}
	}
	return true
}
