package unit

import (
	"math"
	"testing"

	"sternfan/internal/reference"
)

func TestWireGauge(t *testing.T) {
	for _, r := range reference.AWG {
		if got := float64(WireGauge(float64(r.Gauge))); math.Abs(got/r.DiameterM-1) > r.ToleranceRel {
			t.Errorf("gauge %d: %.7f m, want %.7f within %g (%s)", r.Gauge, got, r.DiameterM, r.ToleranceRel, r.Source)
		}
	}
}
