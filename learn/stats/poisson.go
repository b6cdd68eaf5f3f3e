package stats

import (
	"math"

	"sternfan"

	"gonum.org/v1/gonum/mathext"
)

// RateExact returns the exact interval of a rate from a count of events in so many hours:
// Garwood (Biometrika 28, 1936), the count's tails at (1-confidence)/2 each. It holds the
// true rate at least that often. It panics on a negative count, hours that are not
// positive or a confidence outside 0 to 1.
func RateExact(events int, hours, confidence float64) sternfan.Interval {
	mustRate(events, hours, confidence)
	tail := (1 - confidence) / 2
	lo := 0.0
	if events > 0 {
		lo = mathext.GammaIncRegInv(float64(events), tail)
	}
	hi := mathext.GammaIncRegCompInv(float64(events)+1, tail)
	return sternfan.Interval{Lo: lo / hours, Hi: hi / hours}
}

// RateMidP returns the mid-p interval of a rate: as [RateExact], but of the probability of
// the very count seen only half counts to each tail. It is narrower and holds the true
// rate about as often as it says (Cohen and Yang, Stat. Med. 13, 1994).
func RateMidP(events int, hours, confidence float64) sternfan.Interval {
	mustRate(events, hours, confidence)
	tail := (1 - confidence) / 2
	x := float64(events)
	if events == 0 {
		// Half of exp(-m) is all there is of the lower tail.
		return sternfan.Interval{Hi: -math.Log(2*tail) / hours}
	}
	// Chance of fewer than x and half of x itself, at the mean m.
	below := func(m float64) float64 {
		return (mathext.GammaIncRegComp(x, m) + mathext.GammaIncRegComp(x+1, m)) / 2
	}
	exact := RateExact(events, 1, confidence)
	find := func(want, from, to float64) float64 {
		f := func(m float64) float64 { return below(m) - want }
		return Cross(f, from, to, f(from), f(to))
	}
	lo := find(1-tail, exact.Lo, exact.Hi) // the limits lie within the exact ones
	hi := find(tail, lo, exact.Hi)
	return sternfan.Interval{Lo: lo / hours, Hi: hi / hours}
}

func mustRate(events int, hours, confidence float64) {
	if events < 0 || !(hours > 0) || math.IsInf(hours, 0) || !(confidence > 0 && confidence < 1) {
		panic("stats: a rate needs a count, positive hours and a confidence between 0 and 1")
	}
}
