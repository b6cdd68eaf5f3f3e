package hydro

import (
	"testing"

	"sternfan/geom"
)

// BenchmarkWetLoad is the floating-point work of one load on a line: the floor under the
// integration, six of them a step.
func BenchmarkWetLoad(b *testing.B) {
	l := Line{Diameter: 3e-4, Mass: 1e-4, Auto: true, Cf: 0.02}
	w := l.In(999, 1.2e-6)
	t, u := geom.Vec{X: 0.6, Z: -0.8}, geom.Vec{X: -1.1}
	for b.Loop() {
		f := w.Load(t, u)
		t.X += 1e-18 * f.X // each call waits for the one before
	}
}
