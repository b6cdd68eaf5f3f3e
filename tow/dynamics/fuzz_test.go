package dynamics_test

import (
	"context"
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// FuzzManoeuvre turns any rig any way: it ends, with numbers, within its steps.
func FuzzManoeuvre(f *testing.F) {
	f.Add(uint8(0), 1.0, 1.0, 1.0, 0.1, 60.0, 0.5, uint8(20), false)
	f.Add(uint8(1), 1.2, 0.0, 3.0, 0.0, 30.0, 0.1, uint8(5), true)   // stop
	f.Add(uint8(2), 1.2, -1.0, 0.1, 3.0, 80.0, 2.0, uint8(12), true) // reverse, on the spot
	f.Add(uint8(3), 1.0, 1.0, 5.0, 1e3, 10000.0, 5.0, uint8(20), false)
	f.Add(uint8(4), 2.0, 2.0, 0.0, 0.2, 1.0, 0.01, uint8(1), true)
	f.Add(uint8(5), 1.0, 0.3, 10.0, -0.5, 40.0, 0.2, uint8(9), false)
	f.Add(uint8(6), 1.1, 0.5, 5.0, 0.2, 20.0, 0.5, uint8(20), false) // a slider, reeled and raised
	f.Add(uint8(14), 1.1, 0.0, 0.0, -0.3, 28.0, 0.7, uint8(1), true)
	f.Add(uint8(7), 1.0, 1.0, 5.0, 0.1, 60.0, 0.5, uint8(4), false) // set from the tip
	f.Add(uint8(15), 1.2, -1.0, 1.0, 3.0, 8.0, 0.01, uint8(9), true)
	f.Fuzz(func(t *testing.T, kind uint8, speed, speedTo, ramp, yaw, length, kg float64, nodes uint8, fixed bool) {
		bound := func(v, lo, hi float64) float64 {
			if !(v >= lo) {
				return lo
			}
			return math.Min(v, hi)
		}
		speed, speedTo = bound(speed, 0.05, 4), bound(speedTo, -3, 5)
		ramp, yaw = bound(ramp, 0, 60), bound(yaw, -10, 10)
		length, kg = bound(length, 0.5, 1e4), bound(kg, 1e-3, 20)
		body := hydro.Body{Mass: kg, Volume: kg / 11300, AddedMass: kg / 20, DragArea: 0.003, Friction: 0.4}
		sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{X: -2, Y: 3, Z: -1.5}}, {Bodies: []hydro.Body{body}}},
			Lines: []tow.Line{{From: 1, To: 0, Length: length, Props: hydro.Line{Diameter: 0.0005, Mass: 0.0004, EA: 2000, Auto: true, Cf: 0.02}}}, Root: 0, Main: 1}
		env := &tow.Env{Water: fresh(), Speed: speed, Friction: 0.4}
		switch kind % 8 {
		case 1: // a diver with a lure behind it
			sys.Nodes[1].Bodies = []hydro.Body{{Mass: 0.1, Volume: 5e-5, AddedMass: 0.3, PlateArea: 0.012, PlateCN: 1.3, Incidence: 0.7, Give: 0.02, Roll: 0.5}}
			sys.Nodes = append(sys.Nodes, tow.Node{Bodies: []hydro.Body{{Mass: 0.02, Volume: 3e-6, DragArea: 0.002}}})
			sys.Lines = append(sys.Lines, tow.Line{From: 2, To: 1, Length: 2, Props: hydro.Line{Diameter: 0.0004, Mass: 0.00015, EA: 300, Auto: true}})
			sys.Main = 2
		case 2: // a board
			sys.Nodes[1].Bodies = []hydro.Body{{Mass: 0.4, Volume: 1.2e-3, AddedMass: 0.6, DragArea: 0.004, LiftArea: 0.02, Roll: math.Pi / 2, Height: 0.1, Floats: true}}
		case 3: // bottom
			env.Bottom = 8
		case 4: // hardly any mass
			sys.Nodes[1].Bodies = []hydro.Body{{Mass: 1e-4, DragArea: 1e-4}}
			sys.Lines[0].Props.Mass = 0
		case 5: // paid out and in on the way
		case 6: // a downrigger's line with a slider
			s := sliding{cable: bound(length, 3, 200), pull: bound(10*kg, 2, 40), speed: speed, lure: 0.001}
			sys, env = s.system()
		case 7: // a weight on the way and a lure behind it, which go out on the way
			sys.Nodes[1].Bodies = []hydro.Body{{Mass: kg, Volume: kg / 11300, DragArea: 0.001}}
			sys.Nodes = append(sys.Nodes, tow.Node{Bodies: []hydro.Body{{Mass: 0.02, Volume: 2.2e-5, DragArea: 0.002}}})
			sys.Lines = append(sys.Lines, tow.Line{From: 2, To: 1, Length: length / 2, Props: hydro.Line{Diameter: 0.0004, Mass: 0.00015, EA: 300, Auto: true}})
			sys.Main = 2
		}
		var solver tow.Solver
		sol := solver.Solve(context.Background(), sys, env, tow.Options{})
		if sol.Status != tow.Converged {
			return
		}
		opt := dynamics.Options{Nodes: 1 + int(nodes%40), MaxSteps: 400}
		if fixed {
			opt.Step = 0.1
		}
		course := dynamics.NewTrack(geom.Vec{}, []dynamics.Leg{
			{Duration: 5, Speed: [2]float64{speed, speed}},
			{Duration: ramp, Yaw: [2]float64{0, yaw}, Speed: [2]float64{speed, speedTo}},
			{Duration: 20, Yaw: [2]float64{yaw, yaw}, Speed: [2]float64{speedTo, speedTo}},
			{Duration: 1, Yaw: [2]float64{yaw, 0}, Speed: [2]float64{speedTo, speedTo}}})
		var r dynamics.Run
		if kind%8 == 7 {
			// From the tip: a stub of each line, let go as it hangs.
			hung := &tow.Solution{Status: tow.Converged, Length: []float64{0.3, 0.3}, Samples: make([][]tow.Sample, 2)}
			for k := range 3 {
				hung.Nodes = append(hung.Nodes, geom.Vec{X: -2, Y: 3, Z: -1.5 + 0.3*float64(k)})
			}
			for l := range 2 {
				f := geom.Vec{Z: -0.2 * (2 - float64(l))}
				hung.Samples[l] = []tow.Sample{{R: hung.Nodes[l+1], F: f}, {S: 0.3, R: hung.Nodes[l], F: f}}
			}
			sol, opt.Hands, opt.Loose, opt.Pull, opt.Depth, opt.MaxSteps = hung, true, true, 50, 10, 2000
		}
		st := r.Start(sys, sol, env, course, opt)
		if st == dynamics.OK {
			r.Advance(context.Background(), 10)
			if kind%8 == 5 {
				r.Pay(0, 1.5-float64(nodes%4))
			}
			rate := 1.5 - float64(nodes%4)
			switch kind % 8 {
			case 6:
				r.Winch(slideUpper, sys.Pull[slideTip], float64(nodes%5))
				r.Feed(0, dynamics.ToEnd, rate, 2)
				r.Advance(context.Background(), 30)
				if kind >= 128 {
					r.LetGo(slideClip, slideUpper+1, 4)
				}
			case 7:
				r.Feed(1, dynamics.ToEnd, math.Abs(rate), 3)
				r.Advance(context.Background(), 20)
				r.Feed(1, dynamics.ToEnd, 0, 0)
				r.Feed(0, dynamics.ToEnd, rate, 3)
			}
			st = r.Advance(context.Background(), 60)
		}
		if kind%8 == 5 && math.IsNaN(r.Length(0)) {
			t.Error("a length that is not a number")
		}
		for i := range sys.Nodes {
			p, v := r.Node(i)
			if !p.Finite() || !v.Finite() {
				t.Errorf("node %d at %v, %v: %s", i, p, v, st)
			}
		}
		for i := range sys.Lines {
			a, b := r.Tension(i)
			if math.IsNaN(a+b) || math.IsInf(a+b, 0) {
				t.Errorf("line %d pulls %v, %v: %s", i, a, b, st)
			}
		}
		if c := r.Count(); c.Steps > opt.MaxSteps || c.Iterations > 12*10*(opt.MaxSteps+200) {
			t.Errorf("%s after %+v", st, c)
		}
	})
}
