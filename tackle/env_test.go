package tackle

import (
	"math"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// drift is a boat heading north in a current that runs north at the surface and east at
// 20 m.
func drift(given sternfan.SpeedKind, speed float64) *sternfan.Scenario {
	sc := boat()
	sc.Heading = sternfan.Of(unit.Angle(0))
	sc.Water.Current = []sternfan.CurrentPoint{{Depth: 0, Speed: .3, Set: 0}, {Depth: 20, Speed: .2, Set: 90 * unit.Degree}}
	sc.Speed = sternfan.Speed{Given: given, Value: sternfan.Of(unit.Speed(speed)), Depth: sternfan.Of(unit.Length(20))}
	plain(sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(50)})(sc, sternfan.Port)
	return sc
}

// Vector sums by hand: surface as given; over ground less 0.3 m/s; at the probe
// (0.3 + V, -0.2) has the length given.
func TestSurfaceSpeed(t *testing.T) {
	for _, c := range []struct {
		given sternfan.SpeedKind
		want  float64
	}{
		{sternfan.SpeedSurface, 1},
		{sternfan.SpeedGround, .7},
		{sternfan.SpeedProbe, math.Sqrt(1-.04) - .3},
	} {
		m := resolve(t, drift(c.given, 1))
		if v := m.Env(nil).Speed; math.Abs(v-c.want) > 1e-12 {
			t.Errorf("%s: %g m/s, want %g", c.given, v, c.want)
		}
		if v := m.SurfaceSpeed(nil, 20); math.Abs(v-c.want) > 1e-12 {
			t.Errorf("%s: %g m/s, want %g", c.given, v, c.want)
		}
		if c.given != sternfan.SpeedProbe {
			continue
		}
		// The flow at the probe is what the probe shows.
		e := m.Env(nil)
		if u := e.Flow(20).Norm(); math.Abs(u-1) > 1e-12 {
			t.Errorf("flow at the probe %g m/s", u)
		}
	}
}

// A heading that runs with the current and one that runs against it.
func TestHeadingTurnsTheCurrent(t *testing.T) {
	sc := drift(sternfan.SpeedGround, 1)
	sc.Heading = sternfan.Of(180 * unit.Degree)
	if v := resolve(t, sc).Env(nil).Speed; math.Abs(v-1.3) > 1e-12 {
		t.Errorf("%g m/s against the current, want 1.3", v)
	}
}

// A current twice as strong in a sampled world is twice as strong at every depth.
func TestCurrentScales(t *testing.T) {
	m := resolve(t, drift(sternfan.SpeedSurface, 1))
	world := make([]float64, len(m.Registry))
	world[m.currentAt] = math.Log(2) / currentRel
	a, b := m.Env(nil), m.Env(world)
	shearA := a.Flow(20).Sub(a.Flow(0))
	shearB := b.Flow(20).Sub(b.Flow(0))
	if d := shearB.AddScaled(-2, shearA).Norm(); d > 1e-12 {
		t.Errorf("shear %v, then %v", shearA, shearB)
	}
}

// Fleas hang on the lines and lift what they carry; the bottom comes through.
func TestWaterSettings(t *testing.T) {
	depth := func(fleas string) float64 {
		sc := boat()
		rigs[0].make(sc, sternfan.Port)
		sc.Water.Fleas = fleas
		sc.Water.Bottom = ft(150)
		m := resolve(t, sc)
		if e := m.Env(nil); math.Abs(e.Bottom-150*foot) > 1e-9 {
			t.Errorf("bottom at %g m", e.Bottom)
		}
		return lurePlace(t, m).Z
	}
	if none, light, heavy := depth(""), depth("light"), depth("heavy"); !(none > light && light > heavy) {
		t.Errorf("%g m clean, %g m with few fleas, %g m with many", none, light, heavy)
	}
	sc := boat()
	sc.Water.Temperature = nil
	rigs[0].make(sc, sternfan.Port)
	if m := resolve(t, sc); len(m.Notes) != 1 {
		t.Errorf("an assumed temperature is not said: %+v", m.Notes)
	}
}
