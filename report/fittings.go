package report

import (
	"sternfan"
	"sternfan/geom"
)

// fittings draws what hangs in the water beside the boat: kickers that are lowered, and
// speed bags with their ropes. A view in which one has no height or width shows its line.
func fittings(sc *sternfan.Scenario, project projection) []sternfan.Shape {
	if sc == nil || len(sc.Boat.Kickers)+len(sc.Boat.SpeedBags) == 0 {
		return nil
	}
	b := sc.Boat.Filled()
	var out []sternfan.Shape
	put := func(kind sternfan.ShapeKind, alt string, points ...geom.Vec) {
		s := sternfan.Shape{Kind: kind, Class: "hull", Alt: "the " + alt}
		for _, q := range points {
			s.Points = append(s.Points, project([3]float64{q.X, q.Y, q.Z}))
		}
		out = append(out, s)
	}
	for i := range b.Kickers {
		k := &b.Kickers[i]
		if k.Raised {
			continue
		}
		foot, r := geom.Vec{X: k.At.X, Y: k.At.Y, Z: k.Leg.SI()}, sternfan.KickerPropeller
		put(sternfan.ShapeLine, "kicker", geom.Vec{X: k.At.X, Y: k.At.Y, Z: -r}, foot)
		// Its propeller, as a box of its size.
		put(sternfan.ShapeArea, "kicker", facing(foot, geom.Vec{X: r / 2, Y: r, Z: r}, project)...)
	}
	for i := range b.SpeedBags {
		s := &b.SpeedBags[i]
		mouth, tail, _ := s.Lies()
		r := s.Diameter.SI() / 2
		put(sternfan.ShapeLine, s.Name()+"'s rope", s.At, mouth)
		edge := func(y, z float64) geom.Vec { return mouth.Add(geom.Vec{Y: y, Z: z}) }
		if a, b := project([3]float64{0, 0, 0}), project([3]float64{1, 0, 0}); a == b {
			put(sternfan.ShapeArea, s.Name(), edge(-r, 0), edge(0, -r), edge(r, 0), edge(0, r))
			continue
		}
		// A view from above does not see what is up and down, one from the side not what is across.
		put(sternfan.ShapeArea, s.Name(), edge(-r, -r), edge(r, r), tail)
	}
	return out
}

// facing returns the corners of a box of half the given size about a place, as a view shows it.
func facing(at, half geom.Vec, project projection) []geom.Vec {
	var along []geom.Vec
	origin := project([3]float64{})
	for _, v := range []geom.Vec{{X: half.X}, {Y: half.Y}, {Z: half.Z}} {
		if project([3]float64{v.X, v.Y, v.Z}) != origin {
			along = append(along, v)
		}
	}
	a, b := along[0], along[1]
	return []geom.Vec{at.Sub(a).Sub(b), at.Add(a).Sub(b), at.Add(a).Add(b), at.Sub(a).Add(b)}
}
