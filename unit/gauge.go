package unit

import "sternfan/portable"

// WireGauge returns the diameter of a solid wire of American wire gauge n: 0.005 in
// times 92 to the (36 - n)/39 (ASTM B258). The trade's n of 0, 00 and 000 is 0, -1
// and -2.
func WireGauge(n float64) Length {
	return 0.005 * Inch * Length(portable.Pow(92, (36-n)/39))
}
