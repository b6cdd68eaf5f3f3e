package tow_test

import (
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/internal/reference"
	"sternfan/tow"
)

// A line that is fouled all the way is a thicker, heavier line: the ring around it with
// the density given, by its own diameter. An unloaded one lies at the critical angle.
func TestFouledLine(t *testing.T) {
	const rho, d, added, density, v, cn = 1000.0, 5e-4, 1e-3, 1020.0, 1.0, 1.2
	clean := hydro.Line{Diameter: d, Mass: 7930 * area(d), Cn: cn}
	fouled := clean
	fouled.Diameter += added
	fouled.Mass += density * (area(d+added) - area(d))
	env := &tow.Env{Water: still(t, rho), Speed: v, Fouling: tow.Fouling{To: 1e4, Diameter: added, Density: density}}
	sol := settle(t, single(tow.Line{Length: 100, Props: clean}), env, 1e-8)
	want := hydro.CriticalAngle(fouled.WeightInWater(rho), 0.5*rho*cn*fouled.Diameter*v*v) * 180 / math.Pi
	c := check{t: t, name: "fouled"}
	straight(&c, sol, 100, want, reference.CriticalAngle[0].ToleranceDeg)
	// The same weight below, fouled in a layer alone: the tension says where.
	env.Fouling.From, env.Fouling.To = 5, 12
	line := clean
	line.Cn = 0
	sol = settle(t, single(tow.Line{Length: 30, Props: line}, hydro.Body{Mass: 10 / geom.Gravity}), env, 1e-9)
	top := sol.Samples[0][len(sol.Samples[0])-1].F
	c.abs("pull", -top.Z, 10+30*clean.WeightInWater(rho)+7*(fouled.WeightInWater(rho)-clean.WeightInWater(rho)), 1e-8)
}
