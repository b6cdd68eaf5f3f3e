package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// stretch is a level on its way down the scale of rates.
type stretch struct {
	gamma
	sure    float64 // a rate that the level is sure not to reach
	logged  float64 // of what the density of the log rate is to be multiplied by
	density float64 // of the log rate, at the place reached
	below   float64 // chance of a rate below it
	within  bool    // the density is smooth over a step
	entered bool
}

// chanceFirst fills in the chance of each distribution to be the highest, taking them as
// independent: the integral of its density times the others' distribution functions.
func chanceFirst(levels []gamma, first []float64) {
	const (
		steps = 200
		never = 1e-9 // too little to count
		sixth = 1.0 / 6
	)
	lo, hi := outermost(levels)
	lo = max(lo, hi*1e-6)
	step := math.Log(hi/lo) / steps
	out, z := make([]stretch, len(levels)), mathext.NormalQuantile(1-never)
	for i, g := range levels {
		logged, _ := math.Lgamma(g.shape)
		out[i] = stretch{gamma: g, below: 1, logged: g.shape*math.Log(g.rate) - logged, within: g.shape*step*step < 0.04}
		if out[i].sure = 1.03 * g.roughly(z); g.shape < 5 {
			out[i].sure = g.quantile(1 - never)
		}
	}
	now := make([]float64, len(levels))
	total := 0.0
	// From the top down, until the highest is sure to lie above.
	for s := steps - 1; s >= 0; s-- {
		u := math.Log(lo) + float64(s)*step
		x, half := math.Exp(u), math.Exp(u+step/2)
		all, allBelow := product{factor: 1}, product{factor: 1}
		for i := range out {
			g := &out[i]
			if now[i] = g.below; x >= g.sure {
				continue
			}
			density := math.Exp(g.logged + g.shape*u - g.rate*x)
			if g.within && g.entered {
				// Simpson's rule over the step, which is short beside the distribution.
				mid := math.Exp(g.logged + g.shape*(u+step/2) - g.rate*half)
				now[i] = max(0, g.below-step*sixth*(g.density+4*mid+density))
			} else {
				now[i] = g.gamma.below(x)
			}
			g.density, g.entered = density, true
			all.times((now[i]+g.below)/2, 1)
			allBelow.times(now[i], 1)
		}
		share := math.Exp(all.log())
		for i := range out {
			if d := out[i].below - now[i]; d > 0 {
				first[i] += d * share / ((now[i] + out[i].below) / 2)
			}
			out[i].below = now[i]
		}
		if allBelow.log() < math.Log(never) {
			break
		}
	}
	for _, f := range first {
		total += f
	}
	for i := range first {
		first[i] /= total
	}
}

// outermost returns the least and the greatest rate that any is likely to have.
func outermost(levels []gamma) (lo, hi float64) {
	const rare = 1e-6
	z := mathext.NormalQuantile(1 - rare)
	lo, hi = math.Inf(1), 0
	for _, g := range levels {
		// Only those that could be outermost are worth a root. From a shape of five up the rough
		// quantiles lie outside the true ones, by 42 to 0 % below and 2.4 to 0 % above.
		if g.shape < 5 || 0.999*g.roughly(-z) < lo {
			lo = min(lo, g.quantile(rare))
		}
		if g.shape < 5 || 1.001*g.roughly(z) > hi {
			hi = max(hi, g.quantile(1-rare))
		}
	}
	return lo, hi
}
