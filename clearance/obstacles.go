package clearance

import (
	"slices"

	"sternfan"
	"sternfan/geom"
)

// hullDraft is how far down the hull's outline reaches, m. Assumed.
const hullDraft = 0.5

// Hull is the hull among the parties.
const Hull = "hull"

// Obstacles returns the parties that do not move with the water: hull, propellers, kickers
// that are lowered, and speed bags, which lie beside the hull on short ropes: in a turn of
// 60 m radius a bag on 6 ft of rope swings by a few inches.
func Obstacles(b *sternfan.Boat) []*Course {
	var out []*Course
	add := func(id string, reach float64, chains ...Chain) {
		c := NewCourse(id, "", 0, reach, chains)
		c.fixed = true
		out = append(out, c)
	}
	if n := len(b.Hull); n > 1 {
		chains := make([]Chain, 2)
		for i, down := range []float64{0, hullDraft} {
			p := make([]geom.Vec, 0, n+1)
			for _, v := range append(slices.Clone(b.Hull), b.Hull[0]) {
				p = append(p, geom.Vec{X: v.X, Y: v.Y, Z: down})
			}
			chains[i].Points = p
		}
		add(Hull, 0, chains...)
	}
	for _, p := range b.Propellers {
		add("propeller", 0, Chain{Points: []geom.Vec{p}})
	}
	full := b.Filled()
	for i := range full.Kickers {
		k := &full.Kickers[i]
		if k.Raised {
			continue
		}
		at := geom.Vec{X: k.At.X, Y: k.At.Y}
		foot := at
		foot.Z = k.Leg.SI()
		add("kicker", sternfan.KickerPropeller, Chain{Points: []geom.Vec{at, foot}})
	}
	for i := range full.SpeedBags {
		s := &full.SpeedBags[i]
		mouth, tail, _ := s.Lies()
		way := []geom.Vec{mouth, tail}
		if s.At.Z < mouth.Z {
			way = append([]geom.Vec{atSurface(s.At, mouth)}, way...)
		}
		add(s.Name(), s.Diameter.SI()/2, Chain{Points: way})
		if h := &out[len(out)-1].chains[0]; len(way) > 2 {
			out[len(out)-1].Wide = (h.along[1] + h.along[2]) / 2 // the bag is wide, its rope is not
		}
	}
	return out
}

// atSurface returns where a rope from the boat down to a place under water enters it; its
// own end when that is under water.
func atSurface(from, to geom.Vec) geom.Vec {
	if from.Z >= 0 {
		return from
	}
	return from.AddScaled(from.Z/(from.Z-to.Z), to.Sub(from))
}
