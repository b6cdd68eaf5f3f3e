package tackle

import (
	"context"
	"math"

	"sternfan"
	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/num"
	"sternfan/portable"
	"sternfan/tow"
	"sternfan/water"
)

// lipFound is a lip's lift area with the lure's numbers that it was worked out from.
type lipFound struct {
	lure ratedLure
	area float64
}

type ratedLure struct{ depth, out, diameter, speed, mass, volume, drag float64 }

func ratedOf(l *sternfan.Lure) ratedLure {
	r := &l.Rated
	return ratedLure{r.Depth.SI(), r.LineOut.SI(), r.LineDiameter.SI(), r.Speed.SI(), l.Mass.SI(), l.Volume.SI(), l.DragArea.SI()}
}

// downArea returns the lift area, straight down, with which the lure reaches its rated
// depth on a lone line of nylon towed from the surface through water of 10 C. It reports
// false when no area does.
func downArea(l *sternfan.Lure) (float64, bool) {
	depth, out, d := l.Rated.Depth.SI(), l.Rated.LineOut.SI(), l.Rated.LineDiameter.SI()
	speed := l.Rated.Speed.SI()
	if !(depth > 0 && out > depth && d > 0 && speed > 0) {
		return 0, false
	}
	column, err := water.NewColumn(water.Spec{Rho: water.Density(10), Nu: water.Viscosity(10) / water.Density(10)})
	if err != nil {
		panic("tackle: " + err.Error())
	}
	env := tow.Env{Water: column, Speed: speed}
	m := materials[lineMono]
	sys := tow.System{
		Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{}}, {Bodies: make([]hydro.Body, 1)}},
		Lines: []tow.Line{{From: 1, To: 0, Length: out, Props: hydro.Line{Diameter: d, Mass: m.massPerMetre(d), EA: modulusNylon * circle(d), Auto: true, Cf: m.cf}}},
		Main:  1,
	}
	var solver tow.Solver
	reach := func(area float64) (float64, bool) {
		sys.Nodes[1].Bodies[0] = lureBody(l, area)
		s := solver.Solve(context.Background(), &sys, &env, tow.Options{Tolerance: 1e-5})
		return s.Nodes[1].Z, s.Status == tow.Converged
	}
	const least, most = 1e-6, 0.05
	if z, ok := reach(least); ok && z >= depth {
		return 0, true
	}
	root := num.NewRoot(portable.Log(least), portable.Log(most), portable.Log(3*l.DragArea.SI()+least))
	for range 60 {
		area := portable.Exp(root.X)
		z, ok := reach(area)
		if !ok {
			solver.Reset()
			if z, ok = reach(area); !ok {
				return 0, false
			}
		}
		if math.Abs(z-depth) < 1e-4*depth {
			return area, true
		}
		root.Take(z-depth, 0)
	}
	return 0, false
}

// lureBody is a lure as a body with the given lift area of a lip.
func lureBody(l *sternfan.Lure, down float64) hydro.Body {
	return hydro.Body{Mass: l.Mass.SI(), Volume: l.Volume.SI(), AddedMass: fresh * l.Volume.SI(),
		DragArea: l.DragArea.SI(), LiftArea: down, Friction: bottomFriction}
}
