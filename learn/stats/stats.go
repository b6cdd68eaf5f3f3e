// Package stats is what comparing counts needs: limits of rates and of ratios, and rates
// drawn together. It knows neither logs nor fish.
package stats

import "math"

// Cross returns where the monotone function f crosses zero between lo and hi, whose
// values flo and fhi have opposite signs, by Chandrupatla's method (Adv. Eng. Softw. 28,
// 1997), which never takes more than about twice the steps of halving. The count bounds
// it; 120 halvings exhaust a float64.
func Cross(f func(float64) float64, lo, hi, flo, fhi float64) float64 {
	if flo == 0 {
		return lo
	}
	if fhi == 0 {
		return hi
	}
	a, b, fa, fb := hi, lo, fhi, flo
	c, fc := a, fa
	at := 0.5
	for range 120 {
		x := a + at*(b-a)
		fx := f(x)
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, b, fc, fb = b, a, fb, fa
		}
		a, fa = x, fx
		best, fbest := a, fa
		if math.Abs(fb) < math.Abs(fa) {
			best, fbest = b, fb
		}
		tol := 2e-16*math.Abs(best) + 1e-15
		edge := tol / math.Abs(b-a)
		if edge > 0.5 || fbest == 0 {
			return best
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		at = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			at = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		at = min(1-edge, max(edge, at))
	}
	return a
}
