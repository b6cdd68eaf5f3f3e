package stats

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// Quantiles by SciPy 1.10.1, gamma.ppf(1e-6, shape) and gamma.isf(1e-6, shape). The rough
// ones, by which whole lists are searched for the outermost, lie outside of them.
func TestRoughQuantilesLieOutside(t *testing.T) {
	const rare = 1e-6
	z := mathext.NormalQuantile(1 - rare)
	for _, c := range []struct{ shape, lo, hi float64 }{
		{5, 0.16906300162147725, 23.431523423392193},
		{20, 5.363986586181651, 48.82647870753152},
		{100, 59.43632069812289, 154.91904599503897},
		{1000, 856.8146512793919, 1157.5779110089263},
		{1e5, 98504.02706509772, 101510.36958868102},
	} {
		g := gamma{shape: c.shape, rate: 1}
		if lo, hi := g.quantile(rare), g.quantile(1-rare); math.Abs(lo/c.lo-1) > 1e-4 || math.Abs(hi/c.hi-1) > 1e-4 {
			t.Errorf("shape %g: quantiles %g and %g, SciPy's are %g and %g", c.shape, lo, hi, c.lo, c.hi)
		}
		if lo, hi := 0.999*g.roughly(-z), 1.001*g.roughly(z); lo > c.lo || hi < c.hi {
			t.Errorf("shape %g: roughly %g to %g, truly %g to %g", c.shape, lo, hi, c.lo, c.hi)
		}
	}
}
