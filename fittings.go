package sternfan

import (
	"math"
	"slices"

	"sternfan/geom"
	"sternfan/unit"
)

// Kicker is the small motor beside the main one.
type Kicker struct {
	At     geom.Vec       // where its leg goes into the water; its height does not matter
	Leg    Q[unit.Length] // from the waterline down to its propeller when it is lowered
	Raised bool           // tilted up out of the water
}

// SpeedBag is a drift sock towed beside the hull to slow the boat.
type SpeedBag struct {
	At       geom.Vec       // where its rope is made fast
	Rope     Q[unit.Length] // from there to the bag's mouth
	Diameter Q[unit.Length] // of its mouth, open
}

// What holds of a kicker or a speed bag when nothing is said; assumed.
const (
	kickerLeg   = 2 * unit.Foot
	bagRope     = 6 * unit.Foot
	bagDiameter = 24 * unit.Inch
	bagLong     = 1.5 // lengths of a bag to the diameter of its mouth
)

// KickerPropeller is the radius of a kicker's propeller, m: of one 9 in across. Assumed.
const KickerPropeller = 4.5 * 0.0254

// Filled returns the boat with the defaults of its kickers and speed bags written out.
func (b *Boat) Filled() Boat {
	out := *b
	out.Kickers, out.SpeedBags = slices.Clone(b.Kickers), slices.Clone(b.SpeedBags)
	assumed := func(q *Q[unit.Length], v unit.Length) {
		if !q.Given {
			*q = Q[unit.Length]{Value: v, Given: true, Source: "assumed"}
		}
	}
	for i := range out.Kickers {
		assumed(&out.Kickers[i].Leg, kickerLeg)
	}
	for i := range out.SpeedBags {
		assumed(&out.SpeedBags[i].Rope, bagRope)
		assumed(&out.SpeedBags[i].Diameter, bagDiameter)
	}
	return out
}

// Lies returns where the bag of a [Boat.Filled] boat is while she makes way: the middle of
// its mouth, just under the surface at the rope's length astern of where that is made
// fast, and its tail. Ok is false when the rope does not reach that far down.
func (s *SpeedBag) Lies() (mouth, tail geom.Vec, ok bool) {
	deep, rope := s.Diameter.SI()/2, s.Rope.SI()
	down := deep - s.At.Z
	back := rope*rope - down*down
	mouth = geom.Vec{X: s.At.X - math.Sqrt(math.Max(back, 0)), Y: s.At.Y, Z: deep}
	tail = mouth
	tail.X -= bagLong * s.Diameter.SI()
	return mouth, tail, back > 0
}

// Name is what the bag is called among the parts of the boat.
func (s *SpeedBag) Name() string {
	switch {
	case s.At.Y < 0:
		return "port speed bag"
	case s.At.Y > 0:
		return "starboard speed bag"
	}
	return "speed bag"
}

// partsOfBoat are the parties that neither are towed on a line nor set by a hand.
var partsOfBoat = []string{"hull", "propeller", "kicker", "speed bag", "port speed bag", "starboard speed bag"}

// PartOfBoat reports whether a party is a part of the boat, not a rod or a device: "hull",
// "propeller", "kicker", "port speed bag" and so on. With "the" before it, it is what a
// crew calls it.
func PartOfBoat(party string) bool { return slices.Contains(partsOfBoat, party) }
