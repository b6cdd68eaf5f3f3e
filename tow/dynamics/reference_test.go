package dynamics_test

import (
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	motion "sternfan/internal/reference/scipy/dynamics"
	"sternfan/tow"
	"sternfan/tow/dynamics"
	"sternfan/unit"
	"sternfan/water"
)

// fromMotion builds a case of the dynamic reference.
func fromMotion(t testing.TB, c *motion.Case) (*tow.System, *tow.Env, *dynamics.Track) {
	t.Helper()
	body := hydro.Body{Mass: c.Body.MassKg, Volume: c.Body.VolumeM3, AddedMass: c.Body.AddedKg, DragArea: c.Body.DragAreaM2}
	props := hydro.Line{Diameter: c.Line.DiameterM, Mass: c.Line.MassKgM, EA: c.Line.StiffnessN, Cf: c.Line.Tangential, Auto: c.Line.Normal == nil}
	if c.Line.Normal != nil {
		props.Cn = *c.Line.Normal
	}
	sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{X: c.Tip[0], Y: c.Tip[1], Z: c.Tip[2]}}, {Bodies: []hydro.Body{body}}},
		Lines: []tow.Line{{From: 1, To: 0, Length: c.Line.LengthM, Props: props}}, Root: 0, Main: 1}
	spec := water.Spec{Rho: c.Density, Nu: c.Viscosity}
	var points []water.CurrentPoint
	for _, p := range c.Current {
		points = append(points, water.CurrentPoint{Depth: unit.Length(p.DepthM),
			Speed: unit.Speed(math.Hypot(p.XMPS, p.YMPS)), Set: unit.Angle(math.Atan2(p.YMPS, p.XMPS))})
	}
	var err error
	if spec.Current, err = water.NewCurrent(points); err != nil {
		t.Fatal(err)
	}
	col, err := water.NewColumn(spec)
	if err != nil {
		t.Fatal(err)
	}
	env := &tow.Env{Water: col, Speed: c.Legs[0].SpeedMPS[0]}
	var legs []dynamics.Leg
	for _, l := range c.Legs {
		legs = append(legs, dynamics.Leg{Duration: l.DurationS, Yaw: l.YawRadS, Speed: l.SpeedMPS})
	}
	return sys, env, ahead(env, legs...)
}

// TestAgainstSciPy holds the end's depth at all times to 0.5 % of the same equations
// integrated by SciPy's Radau method, at the default settings; the ends' places to 0.5 %
// of the line's length.
func TestAgainstSciPy(t *testing.T) {
	cases, err := motion.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i := range cases {
		c := &cases[i]
		sys, env, course := fromMotion(t, c)
		r := start(t, sys, env, course, dynamics.Options{Nodes: c.Segments})
		worst, place := 0.0, 0.0
		for _, row := range c.Expected.Rows {
			advance(t, r, row[0])
			p, _ := r.Node(1)
			want := geom.Vec{X: row[1], Y: row[2], Z: row[3]}
			if d := math.Abs(p.Z/want.Z - 1); d > worst {
				worst = d
			}
			place = math.Max(place, p.Sub(want).Norm()/c.Line.LengthM)
		}
		t.Logf("%s: depth off by %.1e, place by %.1e of the length, %+v", c.ID, worst, place, r.Count())
		if worst > 5e-3 || place > 5e-3 {
			t.Errorf("%s: depth off by %.2e, place by %.2e of the length", c.ID, worst, place)
		}
	}
}
