package clearance

import (
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/geom"
)

// Clearances returns for every two parties of a fan how near they come, the nearest first
// in the margins' measure. The scenario is the expanded one that the fan was solved from.
func Clearances(sc *sternfan.Scenario, fan *sternfan.Fan, m Margins) []sternfan.Gap {
	all := Courses(sc, fan)
	var out []sternfan.Gap
	for i, c := range all {
		for _, d := range all[i+1:] {
			if g, ok := c.Gap(d, m, math.Inf(1)); ok {
				out = append(out, g)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b sternfan.Gap) int {
		switch {
		case a.Ratio < b.Ratio:
			return -1
		case a.Ratio > b.Ratio:
			return 1
		}
		return 0
	})
	return out
}

// Courses returns the parties of a fan: its rods in order, its devices, then parts of
// the boat. What was not solved is left out.
func Courses(sc *sternfan.Scenario, fan *sternfan.Fan) []*Course {
	var out []*Course
	for i := range fan.Rods {
		if c := CourseOf(sc, &fan.Rods[i], i); c != nil {
			out = append(out, c)
		}
	}
	for i := range fan.Devices {
		if c := CourseOf(sc, &fan.Devices[i], -1); c != nil {
			out = append(out, c)
		}
	}
	return append(out, Obstacles(&sc.Boat)...)
}

// CourseOf returns the party of a track, rod its index in the expanded scenario or -1 for a
// device; nil when it was not solved.
func CourseOf(sc *sternfan.Scenario, t *sternfan.Track, rod int) *Course {
	if len(t.Parts) == 0 {
		return nil
	}
	id, device := t.Rod, ""
	var parts []sternfan.Part
	if rod >= 0 {
		parts = sc.Rods[rod].Rig.Parts
	}
	clip := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartRelease })
	if clip >= 0 {
		device = parts[clip].On
	}
	behind := func(part string) bool {
		at := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.ID == part })
		return clip >= 0 && at > clip
	}
	var chains []Chain
	for i := range t.Parts {
		p := &t.Parts[i]
		if len(p.Points) == 0 {
			continue
		}
		start := vec(p.Points[0])
		from, onto := 0.0, -1
		for k := range chains {
			if s, at := chains[k].meets(start); at >= 0 {
				from, onto = s, k
				if at < len(chains[k].Points)-1 {
					onto = -1 // it branches off
				}
				break
			}
		}
		tail := behind(p.ID)
		if onto < 0 || chains[onto].Behind != tail {
			chains = append(chains, Chain{Points: []geom.Vec{start}, From: from, Behind: tail})
			onto = len(chains) - 1
		}
		h := &chains[onto]
		for _, q := range p.Points[1:] {
			h.Points, h.Parts = append(h.Points, vec(q)), append(h.Parts, p.ID)
		}
	}
	subdivide(chains)
	reach, first := reachOf(&sc.Gear, sc, t, parts)
	var c *Course
	if rod < 0 {
		c = NewDevice(id, bandOf(t), reach, chains)
	} else {
		c = NewCourse(id, device, bandOf(t), reach, chains)
	}
	if first != "" {
		c.Wide = c.whereIs(t, first)
	}
	return c
}

// Pieces is how many segments a party's whole length has at least: the margin within a
// segment is that at its lower end, and a straight line in the air is one long sample.
const Pieces = 40

// subdivide cuts segments so that none is longer than its share of the party.
func subdivide(chains []Chain) {
	longest := 0.0
	for i := range chains {
		s := chains[i].From
		for k := 1; k < len(chains[i].Points); k++ {
			s += chains[i].Points[k].Sub(chains[i].Points[k-1]).Norm()
		}
		longest = math.Max(longest, s)
	}
	most := longest / Pieces
	if most == 0 {
		return
	}
	for i := range chains {
		h := &chains[i]
		h.Points, h.Parts = h.Cut(most, nil, nil)
	}
}

// Cut appends the chain's points and parts with its segments cut so that none is longer
// than most.
func (h *Chain) Cut(most float64, points []geom.Vec, parts []string) ([]geom.Vec, []string) {
	if len(h.Points) == 0 {
		return points, parts
	}
	points = append(points, h.Points[0])
	for k := 1; k < len(h.Points); k++ {
		p, q := h.Points[k-1], h.Points[k]
		n := 1
		if most > 0 {
			n = max(1, int(math.Ceil(q.Sub(p).Norm()/most)))
		}
		for j := 1; j < n; j++ {
			points, parts = append(points, p.AddScaled(float64(j)/float64(n), q.Sub(p))), append(parts, h.Parts[k-1])
		}
		points, parts = append(points, q), append(parts, h.Parts[k-1])
	}
	return points, parts
}

// whereIs returns the fraction of the way down at which a body of a track is.
func (c *Course) whereIs(t *sternfan.Track, id string) float64 {
	for _, b := range t.Bodies {
		if b.ID != id {
			continue
		}
		at := geom.Vec{X: -b.Astern, Y: b.Side, Z: b.Depth}
		near, where := math.Inf(1), 0.0
		for i := range c.chains {
			for k, p := range c.chains[i].Points {
				if d := p.Sub(at).Norm(); d < near {
					near, where = d, c.chains[i].along[k]
				}
			}
		}
		return where * (1 - 1e-9)
	}
	return 0
}

func vec(p [3]float64) geom.Vec { return geom.Vec{X: p[0], Y: p[1], Z: p[2]} }

// meets returns the length of line above the point of the chain at a place, and its index, -1 when the
// place is not on it.
func (h *Chain) meets(at geom.Vec) (s float64, index int) {
	const same = 0.05 // m: lines that end at one node end within this
	s = h.From
	best, bestS, bestAt := same, 0.0, -1
	for k, p := range h.Points {
		if k > 0 {
			s += p.Sub(h.Points[k-1]).Norm()
		}
		if d := p.Sub(at).Norm(); d <= best {
			best, bestS, bestAt = d, s, k
		}
	}
	return bestS, bestAt
}

// bandOf returns half the widest interval among a track's lures and bodies.
func bandOf(t *sternfan.Track) float64 {
	band := 0.0
	for _, b := range t.Bodies {
		band = math.Max(band, (b.DepthHi-b.DepthLo)/2)
	}
	for _, l := range t.Lures {
		band = math.Max(band, (l.DepthHi-l.DepthLo)/2)
	}
	return band
}

// reachOf returns the radius of the widest body on a track and the id of the first part
// that has one.
func reachOf(g *sternfan.Gear, sc *sternfan.Scenario, t *sternfan.Track, parts []sternfan.Part) (reach float64, first string) {
	wide := func(r float64, id string) {
		if r > 0 && first == "" {
			first = id
		}
		reach = math.Max(reach, r)
	}
	board := func(gear, id string) {
		for i := range g.Boards {
			if b := &g.Boards[i]; b.ID == gear {
				wide(1.5*b.Height.SI(), id) // assumed: three times as long as high
			}
		}
	}
	for i := range sc.MastBoards {
		if len(parts) == 0 && sc.MastBoards[i].ID == t.Rod {
			board(sc.MastBoards[i].Board, sc.MastBoards[i].ID)
		}
	}
	var visit func(parts []sternfan.Part)
	visit = func(parts []sternfan.Part) {
		for i := range parts {
			p := &parts[i]
			switch p.Kind {
			case sternfan.PartDiver:
				for k := range g.Divers {
					if d := &g.Divers[k]; d.ID == p.Gear {
						wide(math.Max(d.Diameter.SI(), d.RingDiameter.SI())/2, p.ID)
					}
				}
			case sternfan.PartAttractor:
				for k := range g.Attractors {
					if g.Attractors[k].ID == p.Gear {
						wide(g.Attractors[k].Length.SI()/2, p.ID)
					}
				}
			case sternfan.PartBoard:
				board(p.Gear, p.ID)
			}
			visit(p.Parts)
		}
	}
	visit(parts)
	return reach, first
}

// Party names a party as a crew does: "port high diver" for the rod there, "the hull".
func Party(fan *sternfan.Fan, id string) string {
	for _, list := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for i := range list {
			if list[i].Rod == id && strings.TrimSpace(list[i].Position) != "" {
				return list[i].Position
			}
		}
	}
	if sternfan.PartOfBoat(id) {
		return "the " + id
	}
	return id
}
