package learn

import (
	"math"
	"testing"

	"sternfan/internal/reference/r"
)

func near(t *testing.T, name string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.12g, want %.12g within %g", name, got, want, tolerance)
	}
}

// R 4.2.2, sums over dpois and dbinom; internal/reference/r.
func TestPowerFromR(t *testing.T) {
	for _, row := range r.Read("power") {
		// Rates there are those of the lesser level; here the mean of both.
		ratio := row.Number("ratio")
		got := Power(row.Number("rate")*(1+ratio)/2, ratio, row.Number("hours"), 2, row.Number("size"))
		near(t, "power", got, row.Number("power"), 1e-8)
	}
}
