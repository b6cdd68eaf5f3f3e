package aim

import (
	"context"
	"math"
	"testing"

	"sternfan"
)

// What is said of 0.2 mph less and more is what the rod does there, solved to a tight
// tolerance, within the 0.1 % of depth that a solution may be off and 3 % of the change;
// with intervals it is what the whole spread gives at that speed, and the interval holds the
// depth.
func TestOtherSpeeds(t *testing.T) {
	for i := range rigs {
		t.Run(rigs[i].name, func(t *testing.T) {
			t.Parallel()
			sc := rig(t, i, 2.3, "400 ft")
			for _, intervals := range []bool{false, true} {
				if intervals && i%4 != 0 {
					continue // a few kinds show it
				}
				b, err := New(sc, Options{Top: 1, Intervals: intervals})
				if err != nil {
					t.Fatal(err)
				}
				a, err := b.Reach(context.Background(), Request{Rod: "r", Depth: 20 * foot, Keep: nil})
				if err != nil {
					t.Fatal(err)
				}
				if len(a.Ways) == 0 {
					t.Fatalf("20 ft is out of reach: %+v", a.Limit)
				}
				w := &a.Ways[0]
				k, err := b.bench(context.Background(), 0, "")
				if err != nil {
					t.Fatal(err)
				}
				for _, at := range []*sternfan.WayAt{w.Slower, w.Faster} {
					if at == nil {
						t.Fatalf("%s: nothing at another speed", w.Text)
					}
					other := *k.withWay(w)
					put(&other.Speed.Value, at.Speed)
					want, _ := lureOf(exactly(t, &other), k.lure)
					if math.Abs(at.Depth-want) > .001*want+.03*math.Abs(want-w.Lure.Depth) {
						t.Errorf("%s at %.3f m/s: %.4f m, solved %.4f", w.Text, at.Speed, at.Depth, want)
					}
					if !(at.DepthLo <= at.Depth && at.Depth <= at.DepthHi) || intervals == (at.DepthHi-at.DepthLo < 1e-6) {
						t.Errorf("%s at %.3f m/s: %.4f m, %.4f to %.4f", w.Text, at.Speed, at.Depth, at.DepthLo, at.DepthHi)
					}
				}
			}
		})
	}
}
