package aim

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
)

// exactly solves a scenario to a thousandth of the default tolerance and returns the
// track of its first rod.
func exactly(t testing.TB, sc *sternfan.Scenario) *sternfan.Track { return solvedTo(t, sc, 1e-6) }

func solvedTo(t testing.TB, sc *sternfan.Scenario, tolerance float64) *sternfan.Track {
	t.Helper()
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	fan, err := spread.Solve(context.Background(), m, spread.Options{Tolerance: tolerance})
	if err != nil {
		t.Fatal(err)
	}
	return &fan.Rods[0]
}

func lureOf(t *sternfan.Track, i int) (float64, bool) {
	if t.Status == sternfan.StatusNotConverged || len(t.Lures) <= i {
		return 0, false
	}
	return t.Lures[i].Depth, true
}

// perRig is how many targets of each kind are drawn for a rig: 500 over all of them. In
// the browser's build, where a solve takes several times as long, a few show that it
// comes to the same.
func perRig() int {
	if runtime.GOARCH == "wasm" {
		return 2
	}
	return (500 + len(rigs) - 1) / len(rigs)
}

// TestReachable aims at depths that are reachable because a setting drawn at random
// reaches them. The exact setting lands within 0.1 ft or 0.5 % when solved again to a
// tight tolerance; the rounded one prints its own depth, and that is off by no more than
// what half a step does.
func TestReachable(t *testing.T) {
	per := perRig()
	for i := range rigs {
		t.Run(rigs[i].name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(3, uint64(i)))
			for n := 0; n < per; {
				sc := rig(t, i, 1.6+1.2*rng.Float64(), "400 ft")
				b, err := New(sc, Options{Top: 2})
				if err != nil {
					t.Fatal(err)
				}
				k, err := b.bench(context.Background(), 0, "")
				if err != nil {
					t.Fatal(err)
				}
				for range 4 {
					if target, ok := k.drawTarget(t, rng); ok {
						aimAt(t, sc, b, target)
						n++
					}
				}
			}
		})
	}
}

// drawTarget draws a setting and returns the depth that it reaches, if it can be fished.
func (k *aiming) drawTarget(t *testing.T, rng *rand.Rand) (float64, bool) {
	modes := k.modes(nil)
	m := &modes[rng.IntN(len(modes))]
	all := combinations(m.axes)
	given := all[rng.IntN(len(all))]
	tracks := k.tracks(m, given, nil)
	if len(tracks) == 0 {
		return 0, false
	}
	tr := tracks[rng.IntN(len(tracks))]
	x := tr.lo + (tr.hi-tr.lo)*rng.Float64()*rng.Float64()
	track := exactly(t, k.with(append(given, setTo{m.vary, x})...))
	z, ok := lureOf(track, k.lure)
	for _, w := range track.Warnings {
		switch w.Code {
		case "trips", "board-under", "slack":
			ok = false
		}
	}
	return z, ok && track.Status == sternfan.StatusOK
}

func aimAt(t *testing.T, sc *sternfan.Scenario, b *Boat, target float64) {
	t.Helper()
	got, err := b.Reach(context.Background(), Request{Rod: "r", Depth: target})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Ways) == 0 {
		t.Errorf("%.2f ft at %.2f m/s: out of reach, limit %+v", target/foot, sc.Speed.Value.SI(), got.Limit)
		return
	}
	k, err := b.bench(context.Background(), 0, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range got.Ways {
		for _, s := range w.Settings {
			if step := k.step(named(s.Key)); s.Key == w.Vary && math.Abs(s.Value/step-math.Round(s.Value/step)) > 1e-6 {
				t.Errorf("%.2f ft by %s: %g is not a step of %g", target/foot, w.Text, s.Value, step)
			}
		}
		if w.Status != sternfan.StatusOK {
			t.Errorf("%.2f ft by %s: %s", target/foot, w.Text, w.Status)
		}
		for _, x := range w.Warnings {
			if x.Code == "trips" || x.Code == "board-under" || x.Code == "bottom" || x.Code == "beyond-spool" || x.Code == "over-strength" {
				t.Errorf("%.2f ft by %s: %s", target/foot, w.Text, x.Text)
			}
		}
		at := func(x float64) float64 {
			var all []setTo
			for _, s := range w.Settings {
				if s.Key == w.Vary {
					all = append(all, setTo{named(s.Key), x})
				} else if s.Changed {
					all = append(all, setTo{named(s.Key), s.Value})
				}
			}
			z, ok := lureOf(exactly(t, k.with(all...)), k.lure)
			if !ok {
				t.Errorf("%.2f ft by %s: no answer at %g", target/foot, w.Text, x)
			}
			return z
		}
		if z := at(w.Exact); math.Abs(z-target) > math.Max(.1*foot, .005*target) {
			t.Errorf("%.2f ft by %s: the exact setting %g lands at %.2f ft (said %.2f)", target/foot, w.Text, w.Exact, z/foot, w.Depth/foot)
		}
		var x float64
		for _, s := range w.Settings {
			if s.Key == w.Vary {
				x = s.Value
			}
		}
		if said, _ := lureOf(solvedTo(t, k.withWay(&w), 0), k.lure); said != w.Lure.Depth {
			t.Errorf("%.2f ft by %s: says %.4f ft, is solved as %.4f", target/foot, w.Text, w.Lure.Depth/foot, said/foot)
		}
		half := k.step(named(w.Vary)) / 2
		if near := math.Round(w.Exact/k.step(named(w.Vary))) * k.step(named(w.Vary)); math.Abs(x-near) > 1e-6 && !k.canBe(t, &w, near) {
			half *= 2 // rounded inward: the nearest step is past a limit
		}
		lo, hi := at(math.Max(x-half, 0)), at(x+half)
		if lo > hi {
			lo, hi = hi, lo
		}
		slack := math.Max(.1*foot, .005*target)
		if target < lo-slack || target > hi+slack {
			t.Errorf("%.2f ft by %s: half a step about it runs %.2f to %.2f ft", target/foot, w.Text, lo/foot, hi/foot)
		}
	}
}

// canBe reports whether a way can be fished with another value of what it varies. Two
// releases at one place cannot.
func (k *aiming) canBe(t *testing.T, w *sternfan.Way, x float64) bool {
	for i := range k.Scenario.Rods {
		if w.Vary == keyAbove.Option() && i != k.Rod && math.Abs(k.Scenario.Rods[i].Settings.AboveBall.SI()-x) <= oneRelease {
			return false
		}
	}
	var all []setTo
	for _, s := range w.Settings {
		if s.Key == w.Vary {
			all = append(all, setTo{named(s.Key), x})
		} else if s.Changed {
			all = append(all, setTo{named(s.Key), s.Value})
		}
	}
	m, faults := tackle.Resolve(k.with(all...))
	if len(faults) > 0 {
		return false
	}
	fan, err := spread.Solve(context.Background(), m, spread.Options{})
	if err != nil {
		t.Fatal(err)
	}
	ok := true
	for _, tr := range append(fan.Devices, fan.Rods[k.Rod]) {
		ok = ok && tr.Status == sternfan.StatusOK
		for _, w := range tr.Warnings {
			ok = ok && w.Code != "trips" && w.Code != "board-under"
		}
	}
	return ok
}

// reachOf finds by brute force the least and the greatest depth at which a rig can be
// fished: every combination, many values, each solved from nothing and judged by the
// warnings of the whole spread.
func reachOf(t *testing.T, k *aiming) (lo, hi float64) {
	const fine = 48
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, m := range k.modes(nil) {
		for _, given := range combinations(m.axes) {
			// Where a limit stops the depth is found by halving between the values.
			depth := func(x float64) (float64, bool) {
				m, faults := tackle.Resolve(k.with(append(given[:len(given):len(given)], setTo{m.vary, x})...))
				if len(faults) > 0 {
					return 0, false
				}
				fan, err := spread.Solve(context.Background(), m, spread.Options{})
				if err != nil {
					t.Fatal(err)
				}
				z, ok := lureOf(&fan.Rods[k.Rod], k.lure)
				ok = ok && fan.Rods[k.Rod].Status == sternfan.StatusOK
				for _, tr := range append(fan.Devices, fan.Rods[k.Rod]) {
					ok = ok && (tr.Status == sternfan.StatusOK)
					for _, w := range tr.Warnings {
						ok = ok && w.Code != "trips" && w.Code != "board-under"
					}
				}
				return z, ok
			}
			take := func(z float64) { lo, hi = math.Min(lo, z), math.Max(hi, z) }
			lastX, lastOK := 0.0, false
			for i := 0; i <= fine; i++ {
				f := float64(i) / fine
				x := m.lo + (m.hi-m.lo)*f*f
				z, ok := depth(x)
				if ok {
					take(z)
				}
				if i > 0 && ok != lastOK {
					good, bad := x, lastX
					if lastOK {
						good, bad = lastX, x
					}
					for range 12 {
						mid := (good + bad) / 2
						if z, ok := depth(mid); ok {
							good = mid
							take(z)
						} else {
							bad = mid
						}
					}
				}
				lastX, lastOK = x, ok
			}
		}
	}
	return lo, hi
}

// TestUnreachable aims above and below what a brute-force search can reach. Every such
// target is said to be out of reach, and the limit is right within 1 % or 0.1 ft.
func TestUnreachable(t *testing.T) {
	per := perRig()
	for i := range rigs {
		t.Run(rigs[i].name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(4, uint64(i)))
			sc := rig(t, i, 1.6+1.2*rng.Float64(), "900 ft")
			b, err := New(sc, Options{Top: 1})
			if err != nil {
				t.Fatal(err)
			}
			k, err := b.bench(context.Background(), 0, "")
			if err != nil {
				t.Fatal(err)
			}
			lo, hi := reachOf(t, k)
			if !(lo < hi) {
				t.Fatalf("reaches %g to %g m", lo, hi)
			}
			modes := k.modes(nil)
			for n := range per {
				// A target within a hair of the limit counts as reached.
				deep := n%4 != 0 || !(lo > .2*foot)
				target, limit := hi*1.012+(890*foot-hi*1.012)*rng.Float64(), hi
				if !deep {
					target, limit = rng.Float64()*(lo-.15*foot), lo
				}
				k.req = Request{Rod: "r", Depth: target}
				ways, seen, err := k.search(context.Background(), modes, target)
				if err != nil {
					t.Fatal(err)
				}
				p, err := k.limit(context.Background(), seen)
				if err != nil {
					t.Fatal(err)
				}
				if len(ways) > 0 || !p.ok {
					t.Errorf("%.2f ft with a reach of %.2f to %.2f: %d ways, limit %v", target/foot, lo/foot, hi/foot, len(ways), p.ok)
					continue
				}
				if z := p.way.exact.at.Z; math.Abs(z-limit) > math.Max(.1*foot, .01*limit) {
					t.Errorf("%.2f ft: the limit is %.2f ft, said %.2f", target/foot, limit/foot, z/foot)
				}
				if n > 1 {
					continue // one too deep and one too shallow show that it is said so
				}
				a, err := b.Reach(context.Background(), Request{Rod: "r", Depth: target})
				if err != nil {
					t.Fatal(err)
				}
				if len(a.Ways) > 0 || a.Limit == nil || math.Abs(a.Limit.Depth-limit) > math.Max(.1*foot, .01*limit) {
					t.Errorf("%.2f ft: %d ways, the limit is %.2f ft, said %+v", target/foot, len(a.Ways), limit/foot, a.Limit)
				}
			}
		})
	}
}

// The mirrored boat is told the mirrored settings.
func TestMirror(t *testing.T) {
	swap := strings.NewReplacer("port", "starboard", "starboard", "port")
	for i := range rigs {
		if strings.Contains(rigs[i].rods, "slider") {
			continue // which end it comes to rest at is a matter of rounding
		}
		var got [2]*sternfan.Aim
		for side := range 2 {
			text := fmt.Sprintf(head, "400 ft", 2.2) + rigs[i].rods
			if side == 1 {
				text = swap.Replace(text)
			}
			sc, _, err := scenario.DecodeWith(rigs[i].name, []byte(text), scenario.Options{Known: tackle.Known, List: tackle.Names})
			if err != nil {
				t.Fatal(err)
			}
			b, err := New(sc, Options{Top: 3})
			if err != nil {
				t.Fatal(err)
			}
			if got[side], err = b.Reach(context.Background(), Request{Rod: "r", Depth: 18 * foot}); err != nil {
				t.Fatal(err)
			}
		}
		if len(got[0].Ways) != len(got[1].Ways) || got[0].Found != got[1].Found {
			t.Errorf("%s: %d and %d ways", rigs[i].name, got[0].Found, got[1].Found)
			continue
		}
		for n := range got[0].Ways {
			p, s := &got[0].Ways[n], &got[1].Ways[n]
			if swap.Replace(p.Text) != s.Text || math.Abs(p.Lure.Depth-s.Lure.Depth) > 2e-3*p.Lure.Depth || math.Abs(p.Lure.Side+s.Lure.Side) > .05 {
				t.Errorf("%s: %s at %.3f, %.3f m and %s at %.3f, %.3f m", rigs[i].name, p.Text, p.Lure.Depth, p.Lure.Side, s.Text, s.Lure.Depth, s.Lure.Side)
			}
		}
	}
}
