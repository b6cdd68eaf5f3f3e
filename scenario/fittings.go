package scenario

import (
	"strconv"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"
)

// near is a length about the boat.
func near(most float64) quantity[unit.Length] {
	return quantity[unit.Length]{dim: lengths, in: "ft", hi: most, above: true}
}

var kicker = object[sternfan.Kicker]{
	name: "kicker",
	doc:  "A small motor beside the main one. Lines are held clear of its leg and propeller while it is lowered.",
	fields: []field[sternfan.Kicker]{
		need("at", "Where its leg goes into the water.", point{}, func(k *sternfan.Kicker) *geom.Vec { return &k.At }),
		key("leg", "From the waterline down to its propeller when it is lowered; 2 ft when not given.", near(5), func(k *sternfan.Kicker) *sternfan.Q[unit.Length] { return &k.Leg }),
		key("raised", "It is tilted up out of the water.", yesNo{}, func(k *sternfan.Kicker) *bool { return &k.Raised }),
	},
}

var speedBag = object[sternfan.SpeedBag]{
	name: "speed bag",
	doc:  "A speed bag (drift sock) towed beside the hull. Lines are held clear of it and its rope.",
	fields: []field[sternfan.SpeedBag]{
		need("at", "Where its rope is made fast on the boat.", point{}, func(s *sternfan.SpeedBag) *geom.Vec { return &s.At }),
		key("rope", "From there to the bag's mouth; 6 ft when not given.", near(100), func(s *sternfan.SpeedBag) *sternfan.Q[unit.Length] { return &s.Rope }),
		key("diameter", "Of its mouth when it is open; 24 in when not given.", near(5), func(s *sternfan.SpeedBag) *sternfan.Q[unit.Length] { return &s.Diameter }),
	},
	check: func(d *decoder, n *node, path string, s *sternfan.SpeedBag) {
		at := n.child("rope")
		if at == nil {
			at = n
		}
		b := sternfan.Boat{SpeedBags: []sternfan.SpeedBag{*s}}
		full := b.Filled().SpeedBags[0]
		if _, _, ok := full.Lies(); !ok {
			least := full.Diameter.SI()/2 - s.At.Z
			d.at(at, join(path, "rope"), sternfan.Fault{Code: "out-of-range", Text: "this rope does not reach from where it is made fast down to the bag",
				Found:   lengths.write(full.Rope.SI(), "ft"),
				Allowed: []string{"more than " + strconv.FormatFloat(least/float64(unit.Foot), 'f', 1, 64) + " ft"},
				Hint:    "give a longer rope, or make it fast lower"})
		}
	},
}
