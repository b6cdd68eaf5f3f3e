package tackle

import (
	"math"

	"sternfan"
)

// packing is the part of a spool's volume that wound line fills with its round section:
// 0.79 for square stacking, 0.91 for the closest; assumed between, for line laid crosswise.
const packing = 0.82

// Wound is line on a spool.
type Wound struct {
	Diameter float64 // m
	Length   float64 // m
}

// Fill says how a spool stands.
type Fill struct {
	Room     float64 // volume between arbor and flange, m3
	Taken    float64 // volume of what is on it with nothing out, m3
	Left     float64 // volume of what is on it with the given line out, m3
	Diameter float64 // of the wound line with that line out, m
	Full     float64 // part of the room that is taken then
	Fits     bool    // everything fits with nothing out
	Beyond   float64 // line out beyond what is on the spool, m; 0 when there is enough
}

// ReelFill returns how a reel stands with the lines wound on it (backing first, leader
// last) when out metres are off it: the last wound leaves first. Lines are wound as
// cylinders of their diameter with a packing of 0.82 (assumed).
func ReelFill(reel *sternfan.Reel, lines []Wound, out float64) Fill {
	arbor, flange, width := reel.Arbor.SI(), reel.Flange.SI(), reel.Width.SI()
	f := Fill{Room: width * (circle(flange) - circle(arbor))}
	for _, l := range lines {
		f.Taken += woundVolume(l)
	}
	f.Left = f.Taken
	rest := math.Max(out, 0)
	for i := len(lines) - 1; i >= 0 && rest > 0; i-- {
		off := math.Min(rest, lines[i].Length)
		f.Left -= woundVolume(Wound{lines[i].Diameter, off})
		rest -= off
	}
	f.Beyond = rest
	f.Left = math.Max(f.Left, 0)
	f.Fits = f.Taken <= f.Room*(1+1e-12)
	if f.Room > 0 {
		f.Full = f.Left / f.Room
	}
	f.Diameter = math.Sqrt(arbor*arbor + 4/math.Pi*f.Left/math.Max(width, 1e-9))
	return f
}

// Capacity returns how many metres of a line of diameter d fit over what is on the spool.
func Capacity(reel *sternfan.Reel, under []Wound, d float64) float64 {
	f := ReelFill(reel, under, 0)
	return math.Max(f.Room-f.Taken, 0) * packing / circle(d)
}

func woundVolume(l Wound) float64 { return circle(l.Diameter) * l.Length / packing }
