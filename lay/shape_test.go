//go:build !js

package lay

import (
	"math"
	"testing"
)

// How near two options come is the same whether it is looked at or known from others: of
// rods rigged alike, of another band, or mirrored. Most are known so.
func TestNearnessKnownFromOthers(t *testing.T) {
	pl := tableOf(t, read(t, "testdata/dozen.yaml"), 1)
	asked := 0
	for i, a := range pl.ways {
		for _, b := range pl.ways[:i] {
			if pl.rigs[a.rig].rod == pl.rigs[b.rig].rod || a.holder == b.holder || a.course == nil || b.course == nil {
				continue
			}
			got := pl.nearness(a, b)
			if asked++; asked%17 != 0 {
				continue
			}
			if want := pl.nearest(a, b); math.Abs(got-want) > 1e-9 {
				t.Fatalf("%.12f is kept of %s at %v in %d and %s at %v in %d, it is %.12f", got,
					a.course.ID, a.set, a.holder, b.course.ID, b.set, b.holder, want)
			}
		}
	}
	if known := len(pl.shapes.near); known > asked/2 {
		t.Errorf("%d of %d pairs were looked at", known, asked)
	}
}
