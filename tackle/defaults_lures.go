package tackle

import (
	"sternfan"
	"sternfan/unit"
)

// window is the speed at which a kind of lure is fished.
const window = "common practice, no source"

// lure makes a lure: area is its drag area with how it was come by, window in mph.
func lure(id, kind string, grams, density, area float64, text string, lo, hi float64) sternfan.Lure {
	return sternfan.Lure{Item: sternfan.Item{ID: id, Kind: kind},
		Mass:     q(unit.Mass(grams/1000), rel(.15), "assumed: a lure of this class"),
		Volume:   q(grams/1000/density, rel(.15), "assumed: its mass over its mean density with hooks"),
		DragArea: q(unit.Area(area), rel(.3), text),
		SpeedLo:  exact(unit.Speed(lo*mph), window), SpeedHi: exact(unit.Speed(hi*mph), window),
	}
}

// rated gives a lipped plug the depth that is printed on its box.
func rated(l sternfan.Lure, depth, out float64) sternfan.Lure {
	const text = "assumed: as a maker would rate a plug of this class"
	l.Rated = sternfan.Rating{
		Depth:        q(unit.Length(depth*foot), rel(.15), text),
		LineOut:      exact(unit.Length(out*foot), text),
		LineDiameter: exact(.013*unit.Inch, text),
		Speed:        exact(2*unit.MilePerHour, text),
	}
	return l
}

func defaultLures() []sternfan.Lure {
	const (
		spoon = "assumed: 80 % of length by width as a plate swaying about 20 deg to both sides, a fifth of it across the flow at 1.17"
		plug  = "assumed: the body's section at 0.5 with its hooks"
		lip   = "assumed: body's section and lip across the flow at 0.8"
	)
	plate := func(length, width float64) float64 { return .8 * length * width * .2 * 1.17 }
	return []sternfan.Lure{
		lure("spoon-standard", "spoon", 14, densityBrass, plate(.095, .028), spoon, 2.0, 2.8),
		lure("spoon-large", "spoon", 22, densityBrass, plate(.115, .034), spoon, 2.0, 3.0),
		lure("spoon-light", "spoon", 5, densityBrass, plate(.080, .023), spoon, 1.6, 2.4),
		lure("fly-tinsel", "fly", 6, 1300, .6*circle(.020), "assumed: a tinsel skirt 20 mm across at 0.6", 1.8, 2.6),
		rated(lure("plug-shallow", "lipped-plug", 14, 950, .8*circle(.024), lip, 1.2, 2.4), 8, 100),
		rated(lure("plug-deep", "lipped-plug", 22, 950, 1.2*circle(.026), lip, 1.2, 2.4), 20, 100),
		lure("plug-cut", "plug", 20, 980, .5*circle(.030), plug, 1.6, 2.6),
		lure("bait-rig", "bait", 60, 1040, .4*circle(.040), "assumed: a slowly turning bait 40 mm across at 0.4", 1.4, 2.4),
	}
}
