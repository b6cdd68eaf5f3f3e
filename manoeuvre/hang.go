package manoeuvre

import (
	"math"
	"slices"

	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// hang starts a system with its lines hanging from the tips as they do before they go out:
// what is put over by hand at its length, of the rest a stub, and nothing clipped on yet
// that comes to the tip later.
func (v *mover) hang(s *Helm) {
	g := v.g
	v.sys = g.Sys
	v.sys.Nodes, v.sys.Lines = slices.Clone(g.Sys.Nodes), slices.Clone(g.Sys.Lines)
	h := &hand{g: g}
	for _, rod := range s.model.Groups[g.Index].Rods {
		lines := s.trailing(g, rod)
		for k := 1; k < len(lines); k++ {
			if s.anyLong(h, lines[:k]) {
				v.sys.Nodes[g.Sys.Lines[lines[k]].From].Bodies = nil
			}
		}
	}
	sol := &tow.Solution{Status: tow.Converged, Nodes: make([]geom.Vec, len(g.Sys.Nodes)), Length: make([]float64, len(g.Sys.Lines)),
		Samples: make([][]tow.Sample, len(g.Sys.Lines))}
	placed := make([]bool, len(g.Sys.Nodes))
	for n := range v.sys.Nodes {
		if v.sys.Nodes[n].Kind == tow.Fixed {
			sol.Nodes[n], placed[n] = v.sys.Nodes[n].At, true
		} else {
			v.sys.Nodes[n].Kind = tow.Free
		}
	}
	deepest, whole, now, most := 0.0, 0.0, 0.0, 0.0
	for range g.Sys.Lines {
		for l := range g.Sys.Lines {
			line := &v.sys.Lines[l]
			line.Open = false
			from, to := line.From, line.To
			if !placed[to] || placed[from] {
				continue
			}
			if up := g.fromBoat(l); up >= 0 {
				// A slider goes down by the release.
				toward := v.sys.Nodes[g.Sys.Lines[up].From].At.Sub(sol.Nodes[to])
				sol.Length[l] = math.Min(stub, toward.Norm()/2)
				sol.Nodes[from] = sol.Nodes[to].AddScaled(sol.Length[l], toward.Unit())
			} else {
				sol.Length[l] = g.Sol.Length[l]
				if h.long(l) {
					sol.Length[l] = stub
				}
				sol.Nodes[from] = hung(sol.Nodes[to], sol.Length[l])
			}
			placed[from] = true
		}
	}
	for l := range g.Sys.Lines {
		line := &v.sys.Lines[l]
		a, b := sol.Nodes[line.From], sol.Nodes[line.To]
		for _, p := range g.Sol.Samples[l] {
			most = math.Max(most, p.F.Norm())
		}
		pull := g.weightBelow(&v.sys, line.From)
		if v.sys.Nodes[line.From].Kind == tow.Fixed {
			sol.Length[l] = b.Sub(a).Norm()
			pull = g.setLoad(l)
		}
		line.Length = sol.Length[l]
		f := b.Sub(a).Unit().Scale(pull)
		sol.Samples[l] = []tow.Sample{{R: a, F: f}, {S: sol.Length[l], R: b, F: f}}
		whole, now = whole+g.Sol.Length[l], now+sol.Length[l]
	}
	for _, p := range g.Sol.Nodes {
		deepest = math.Max(deepest, p.Z)
	}
	nodes := max(fewNodes, int(fullNodes*now/whole))
	v.status = v.run.Start(&v.sys, sol, v.env, v.course, dynamics.Options{Nodes: nodes, Hands: true, Loose: true, At: v.now, Depth: deepest, Pull: most})
	v.asleep = false
}

// hung returns where a line ends that hangs from a place: straight down to the water, then
// astern.
func hung(at geom.Vec, length float64) geom.Vec {
	air := math.Min(length, math.Max(0, -at.Z))
	wet := length - air
	return at.Add(geom.Vec{X: -wet * math.Sqrt(1-trailed*trailed), Z: air + wet*trailed})
}

// weightBelow returns what hangs below a node in the air, N.
func (g *group) weightBelow(sys *tow.System, node int) float64 {
	mass := 0.0
	for _, b := range sys.Nodes[node].Bodies {
		mass += b.Mass
	}
	sum := mass * geom.Gravity
	for _, l := range sys.Lines {
		if l.To == node && sys.Nodes[l.From].Kind != tow.Fixed {
			sum += g.weightBelow(sys, l.From)
		}
	}
	return sum
}

// fromBoat returns the line from a rod's tip that goes on in this one over a slider, -1: none.
func (g *group) fromBoat(line int) int {
	return slices.IndexFunc(g.Sys.Lines, func(l tow.Line) bool {
		return l.To == g.Sys.Lines[line].From && g.Sys.Nodes[l.From].Kind == tow.Fixed
	})
}

// phase says whether a party is out at a time, and on its way.
func (r *rota) phase(f *fleet, p *party, t float64) (out, moving bool) {
	if p.mover < 0 {
		return true, false
	}
	gi := f.movers[p.mover].g.Index
	for _, x := range r.groups[gi] {
		to := x.to
		if !r.clear {
			to += comesTo
			out = out || t >= x.from
		} else {
			out = out || t <= x.to
		}
		moving = moving || t >= x.from && t <= to
	}
	if p.rod >= 0 {
		out = t >= r.rods[p.rod].from
		if r.clear {
			out = t <= r.rods[p.rod].to
		}
	}
	return out, moving
}

// atRest notes how near every two parties run with everything out.
func (f *fleet) atRest(margins clearance.Margins) {
	sc := f.s.model.Scenario
	courses := make([]*clearance.Course, len(f.parties))
	for i := range f.parties {
		p := &f.parties[i]
		switch {
		case p.mover < 0:
			courses[i] = p.course
		case p.rod >= 0:
			courses[i] = clearance.CourseOf(sc, &f.fan.Rods[p.rod], p.rod)
		default:
			for k := range f.fan.Devices {
				if f.fan.Devices[k].Rod == p.course.ID {
					courses[i] = clearance.CourseOf(sc, &f.fan.Devices[k], -1)
				}
			}
		}
	}
	for i := range f.near {
		n := &f.near[i]
		n.first, n.First = true, f.care
		if gap, ok := courses[n.a].Gap(courses[n.b], margins, f.care); ok {
			n.First = gap.Ratio
		}
	}
}
