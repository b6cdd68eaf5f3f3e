// Package towtest builds the systems of the reference fixtures for the tests of statics and
// of motion.
package towtest

import (
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/internal/reference/scipy"
	"sternfan/tow"
	"sternfan/unit"
	"sternfan/water"
)

// Rig is a fixture's system with the way back to its names.
type Rig struct {
	ID    string
	Sys   *tow.System
	Env   *tow.Env
	Node  map[string]int
	Lines map[string][]int // sections, lowest first
}

// Vec returns a fixture's vector.
func Vec(v scipy.Vector) geom.Vec { return geom.Vec{X: v[0], Y: v[1], Z: v[2]} }

// FromCase builds the general system of a fixture without regard to which family it is of.
// In motion what floats needs a mass: heavy gives it one, with the same weight under water.
//
// long: a case for each kind of load, line and end that a fixture can have.
func FromCase(t testing.TB, c *scipy.Case, heavy bool) Rig {
	t.Helper()
	b := Rig{ID: c.ID, Sys: &tow.System{}, Node: map[string]int{}, Lines: map[string][]int{}}
	sys := b.Sys
	rho := c.Water.DensityKgM3
	for i, n := range c.Nodes {
		b.Node[n.ID] = i
		node := tow.Node{}
		switch n.Kind {
		case "fixed":
			node.Kind, node.At = tow.Fixed, Vec(*n.PositionM)
		case "ring":
			node.Kind = tow.Ring
		}
		for _, l := range n.Loads {
			var body hydro.Body
			switch l.Type {
			case "weight":
				// A weight in water that does not depend on density or immersion.
				body.Mass = l.SubmergedN / geom.Gravity
				if heavy && body.Mass < 0 {
					body.Volume = -2 * body.Mass / rho
					body.Mass = -body.Mass
				}
			case "drag":
				body.DragArea, body.Floats = l.DragAreaM2, false
			case "lift":
				body.LiftArea, body.Roll = l.LiftAreaM2, l.RollDeg*math.Pi/180
			case "side":
				body.LiftArea, body.Roll, body.Floats, body.Height = l.SideAreaM2, math.Pi/2, true, 1
			case "kite":
				body.PlateArea, body.PlateCN = l.AreaM2, l.NormalCoefficient45
				body.Incidence, body.Give = l.IncidenceDeg*math.Pi/180, l.IncidenceLossRadPerN
				body.Roll = l.RollDeg * math.Pi / 180
			case "buoyancy":
				body.Mass, body.Height = l.WeightAirN/geom.Gravity, l.ImmersionHeightM
				body.Volume = l.BuoyancyMaxN / (rho * geom.Gravity)
			default:
				t.Fatalf("%s: load %q", c.ID, l.Type)
			}
			node.Bodies = append(node.Bodies, body)
		}
		if len(n.Loads) > 0 && n.Role == "board" {
			for k := range node.Bodies {
				node.Bodies[k].Floats = true
				if node.Bodies[k].Height == 0 {
					node.Bodies[k].Height = 1
				}
			}
		}
		if c.Bottom != nil {
			for k := range node.Bodies {
				node.Bodies[k].Friction = c.Bottom.BodyFriction
			}
		}
		sys.Nodes = append(sys.Nodes, node)
	}
	sys.Pull = make([]float64, len(sys.Nodes))
	sys.Root = -1
	for _, l := range c.Lines {
		from, to := b.Node[l.From], b.Node[l.To]
		up := l.Free // a free line goes from the rod tip down to its junction
		if up && l.ClosedBy == "upper_tension" {
			sys.Pull[to] = l.UpperTensionN
		}
		last := from
		for i, s := range l.Sections {
			next := to
			if i+1 < len(l.Sections) {
				next = len(sys.Nodes)
				sys.Nodes = append(sys.Nodes, tow.Node{})
			}
			line := tow.Line{From: last, To: next, Length: s.LengthM, Open: l.Free,
				Props: hydro.Line{Diameter: s.DiameterM, Mass: s.MassPerLengthKgM, EA: s.AxialStiffnessN,
					Cn: s.NormalCoefficient.Value, Auto: s.NormalCoefficient.Auto, Cf: s.TangentialCoefficient}}
			if up {
				line.From, line.To = line.To, line.From
			}
			b.Lines[l.ID] = append(b.Lines[l.ID], len(sys.Lines))
			sys.Lines = append(sys.Lines, line)
			last = next
		}
	}
	for len(sys.Pull) < len(sys.Nodes) {
		sys.Pull = append(sys.Pull, 0)
	}
	up, down := map[int]bool{}, map[int]bool{}
	for _, l := range sys.Lines {
		up[l.From], down[l.To] = true, true
	}
	for i, n := range sys.Nodes {
		if n.Kind == tow.Fixed && !up[i] {
			sys.Root = i
		}
	}
	// The main chain is that of the longest way: the ball's, or the only one.
	longest := -1.0
	for i, n := range sys.Nodes {
		if n.Kind == tow.Fixed || down[i] {
			continue
		}
		length, at, whole := 0.0, i, true
		for at != sys.Root {
			moved := false
			for _, l := range sys.Lines {
				if l.From == at {
					length, at, moved = length+l.Length, l.To, true
					whole = whole && !l.Open
					break
				}
			}
			if !moved {
				break
			}
		}
		weight := 0.0
		for _, body := range n.Bodies {
			weight += body.Mass
		}
		if whole && weight+length*1e-9 > longest {
			longest, sys.Main = weight+length*1e-9, i
		}
	}
	spec := water.Spec{Rho: c.Water.DensityKgM3, Nu: c.Water.KinematicViscosityM2PerS}
	if len(c.Water.Temperature) > 0 {
		spec.Rho, spec.Nu = 0, 0
		var ps []water.TemperaturePoint
		for _, p := range c.Water.Temperature {
			ps = append(ps, water.TemperaturePoint{Depth: unit.Length(p.DepthM), Temperature: unit.Temperature(p.C)})
		}
		prof, err := water.NewProfile(ps)
		if err != nil {
			t.Fatal(err)
		}
		spec.Temperature = prof
	}
	var cs []water.CurrentPoint
	for _, p := range c.Water.Current {
		cs = append(cs, water.CurrentPoint{Depth: unit.Length(p.DepthM),
			Speed: unit.Speed(math.Hypot(p.XMPS, p.YMPS)), Set: unit.Angle(math.Atan2(p.YMPS, p.XMPS))})
	}
	cur, err := water.NewCurrent(cs)
	if err != nil {
		t.Fatal(err)
	}
	spec.Current = cur
	col, err := water.NewColumn(spec)
	if err != nil {
		t.Fatal(err)
	}
	b.Env = &tow.Env{Water: col, Speed: c.SpeedSurfaceMPS}
	if c.Bottom != nil {
		b.Env.Bottom, b.Env.Friction = c.Bottom.DepthM, c.Bottom.LineFriction
	}
	return b
}
