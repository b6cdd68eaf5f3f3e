package tackle

import (
	"context"
	"math/rand/v2"
	"testing"

	"sternfan"
	"sternfan/tow"
	"sternfan/unit"

	"pgregory.net/rapid"
)

// Every rig has an answer in sampled worlds; a slider without a place on its line has one
// against its release.
func TestWorlds(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, r := range rigs {
		sc := boat()
		r.make(sc, sternfan.Port)
		m := resolve(t, sc)
		world := make([]float64, len(m.Registry))
		var sys tow.System
		var solver tow.Solver
		for k := range 40 {
			for i := range world {
				world[i] = rng.NormFloat64()
			}
			env := m.Env(world)
			m.Build(0, world, &sys)
			s := solver.Solve(context.Background(), &sys, &env, tow.Options{})
			if s.Status != tow.Converged && m.Groups[0].Slides() {
				solver.Reset()
				m.BuildStopped(0, world, &sys)
				s = solver.Solve(context.Background(), &sys, &env, tow.Options{})
				solver.Reset()
			}
			if s.Status != tow.Converged {
				t.Errorf("%s, world %d: %v after %d iterations", r.name, k, s.Status, s.Iterations)
			}
		}
	}
}

// Over the range of trolling speeds and settings a diver has an answer, and its mirror
// image is the other side's.
func TestDiverAnywhere(t *testing.T) {
	divers, lines := Names("diver"), []string{"mono-17", "braid-30", "braid-50", "wire-30"}
	rapid.Check(t, func(rt *rapid.T) {
		d := rapid.SampledFrom(divers).Draw(rt, "diver")
		r := sternfan.Rig{Kind: sternfan.RigDiver, Line: rapid.SampledFrom(lines).Draw(rt, "line"), Diver: d, Behind: behind()}
		set := sternfan.Settings{
			LineOut: ft(rapid.Float64Range(15, 350).Draw(rt, "line out")),
			Dial:    sternfan.Of(float64(rapid.IntRange(0, 8).Draw(rt, "dial")) / 2),
			Lead:    ft(20),
		}
		if b := sternfan.FindGear(Builtins().Divers, d); b.Kind == "slide-through" {
			r.Kind = sternfan.RigSlideThrough
		}
		speed := unit.Speed(rapid.Float64Range(1, 3.5).Draw(rt, "mph")) * unit.MilePerHour
		var z [2]float64
		for i, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
			sc := boat()
			sc.Speed.Value = sternfan.Of(speed)
			plain(r, set)(sc, side)
			m, faults := Resolve(sc)
			if len(faults) > 0 {
				rt.Fatal(faults)
			}
			var sys tow.System
			var solver tow.Solver
			env := m.Env(nil)
			m.Build(0, nil, &sys)
			s := solver.Solve(context.Background(), &sys, &env, tow.Options{})
			if s.Status != tow.Converged {
				rt.Fatalf("%v after %d iterations", s.Status, s.Iterations)
			}
			z[i] = s.Nodes[m.Rods[0].Lures[0]].Z
		}
		// A plain chain is solved the same way on both sides, bit for bit but for rounding.
		if diff := z[0] - z[1]; diff > 1e-6 || diff < -1e-6 {
			rt.Fatalf("%g m deep to port, %g m to starboard", z[0], z[1])
		}
	})
}

// Facts of the trade, no source. The defaults were chosen from materials and geometry;
// these bands hold them up to what is seen on boats.
func TestCommonPractice(t *testing.T) {
	at := func(mph float64) *sternfan.Scenario {
		sc := boat()
		sc.Speed.Value = sternfan.Of(unit.Speed(mph) * unit.MilePerHour)
		return sc
	}
	check := func(name string, got, lo, hi float64) {
		t.Logf("%s: %.1f", name, got)
		if got < lo || got > hi {
			t.Errorf("%s: %.1f, seen are %g to %g", name, got, lo, hi)
		}
	}
	for _, mph := range []float64{2, 2.25, 2.5} {
		sc := at(mph)
		plain(sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)},
			sternfan.Settings{LineOut: ft(360), Colors: sternfan.Of(10.0)})(sc, sternfan.Port)
		check("feet a color, ten colors", lurePlace(t, resolve(t, sc)).Z/foot/10, 4, 6.5)
	}
	sc := at(2.5)
	downrigger(nil)(sc, sternfan.Port)
	sc.Downriggers[0].Ball, sc.Downriggers[0].CableOut = "ball-round-10", ft(100)
	check("10 lb ball on 100 ft of cable, feet", solve(t, resolve(t, sc), 0, nil).Nodes[1].Z/foot, 87, 98)

	for dial, ratio := range map[float64]float64{1: 2, 3: 3} {
		sc := at(2.4)
		plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-30", Diver: "diver-standard", Behind: spoon(8)},
			sternfan.Settings{LineOut: ft(120), Dial: sternfan.Of(dial)})(sc, sternfan.Port)
		check("line out to depth, dial "+number(dial), 120*foot/lurePlace(t, resolve(t, sc)).Z, .7*ratio, 1.3*ratio)
	}
	sc = at(2.4)
	plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "wire-30", Diver: "diver-large", Behind: spoon(8)},
		sternfan.Settings{LineOut: ft(300), Dial: sternfan.Of(1.0), Ring: sternfan.Of(1.0)})(sc, sternfan.Port)
	check("large diver with ring on 300 ft of wire, feet", lurePlace(t, resolve(t, sc)).Z/foot, 100, 300)
}
