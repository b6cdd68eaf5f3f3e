package tow_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/unit"
	"sternfan/water"
)

func span(t *rapid.T, label string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, label)
}

// world is a random system in random water, kept as its parts so that a test can change
// one of them.
type world struct {
	sys     *tow.System
	spec    water.Spec
	current []water.CurrentPoint
	speed   float64
}

func (w *world) env(t *rapid.T) *tow.Env {
	t.Helper()
	spec := w.spec
	var err error
	if spec.Current, err = water.NewCurrent(w.current); err != nil {
		t.Fatal(err)
	}
	col, err := water.NewColumn(spec)
	if err != nil {
		t.Fatal(err)
	}
	return &tow.Env{Water: col, Speed: w.speed}
}

func (w *world) solve(t *rapid.T, tolerance float64) *tow.Solution {
	t.Helper()
	return w.solveIn(t, w.env(t), tolerance)
}

func (w *world) solveIn(t *rapid.T, env *tow.Env, tolerance float64) *tow.Solution {
	t.Helper()
	var s tow.Solver
	sol := s.Solve(context.Background(), w.sys, env, tow.Options{Tolerance: tolerance})
	if sol.Status != tow.Converged {
		t.Fatalf("%s after %d iterations and %d steps, %g m left", sol.Status, sol.Iterations, sol.Steps, sol.Residual)
	}
	return sol
}

// copySystem returns a system that shares nothing with the given one.
func copySystem(sys *tow.System) *tow.System {
	c := *sys
	c.Nodes = append([]tow.Node(nil), sys.Nodes...)
	c.Lines = append([]tow.Line(nil), sys.Lines...)
	for i := range c.Nodes {
		c.Nodes[i].Bodies = append([]hydro.Body(nil), c.Nodes[i].Bodies...)
	}
	return &c
}

func drawProps(t *rapid.T) hydro.Line {
	d := span(t, "diameter", 2e-4, 1.5e-3)
	l := hydro.Line{Diameter: d, Mass: 1000 * area(d) * span(t, "density ratio", 1, 9),
		Cn: span(t, "cn", 0.8, 1.6), Cf: span(t, "cf", 0, 0.03)}
	if rapid.Bool().Draw(t, "stretches") {
		l.EA = span(t, "ea", 200, 20000)
	}
	return l
}

func drawBody(t *rapid.T, heavy float64) hydro.Body {
	m := span(t, "mass", heavy, heavy+3)
	b := hydro.Body{Mass: m, Volume: m / 11340, DragArea: span(t, "drag area", 0, 0.01)}
	if rapid.Bool().Draw(t, "diver") {
		b.LiftArea, b.Roll = span(t, "lift area", 0, 0.01), span(t, "roll", -1, 1)
	}
	return b
}

// drawWorld draws a chain of one to four lines behind a weight that keeps it well under
// water, with bodies where lines meet and up to two droppers; tip is the tow point.
func drawWorld(t *rapid.T, tip geom.Vec) *world {
	n := rapid.IntRange(1, 4).Draw(t, "lines")
	sys := &tow.System{Nodes: []tow.Node{{Bodies: []hydro.Body{drawBody(t, 2)}}}}
	for i := range n {
		sys.Nodes = append(sys.Nodes, tow.Node{})
		if i+1 < n && rapid.Bool().Draw(t, "body on the way") {
			sys.Nodes[i+1].Bodies = []hydro.Body{drawBody(t, 0)}
		}
		sys.Lines = append(sys.Lines, tow.Line{From: i, To: i + 1, Length: span(t, "length", 3, 25), Props: drawProps(t)})
	}
	sys.Nodes[n] = tow.Node{Kind: tow.Fixed, At: tip}
	sys.Root = n
	if n > 1 {
		for range rapid.IntRange(0, 2).Draw(t, "droppers") {
			leaf := len(sys.Nodes)
			sys.Nodes = append(sys.Nodes, tow.Node{Bodies: []hydro.Body{drawBody(t, 0.01)}})
			sys.Lines = append(sys.Lines, tow.Line{From: leaf, To: rapid.IntRange(1, n-1).Draw(t, "joins"),
				Length: span(t, "dropper", 0.5, 4), Props: drawProps(t)})
		}
	}
	w := &world{sys: sys, spec: water.Spec{Rho: span(t, "rho", 995, 1000), Nu: 1.3e-6}, speed: span(t, "speed", 0.3, 1.8)}
	if rapid.Bool().Draw(t, "current") {
		w.current = []water.CurrentPoint{
			{Depth: 0, Speed: unit.Speed(span(t, "c0", 0, 0.5)), Set: unit.Angle(span(t, "set0", -3, 3))},
			{Depth: unit.Length(span(t, "layer", 2, 15)), Speed: unit.Speed(span(t, "c1", 0, 0.5)), Set: unit.Angle(span(t, "set1", -3, 3))},
			{Depth: 40, Speed: unit.Speed(span(t, "c2", 0, 0.5)), Set: unit.Angle(span(t, "set2", -3, 3))},
		}
	}
	return w
}

// sameShape compares nodes and the pull at the tow point.
func sameShape(t *rapid.T, what string, got, want *tow.Solution, sys *tow.System, tol float64, turn func(geom.Vec) geom.Vec) {
	t.Helper()
	size := 1.0
	for i := range sys.Nodes {
		size = max(size, want.Nodes[i].Norm())
	}
	for i := range sys.Nodes {
		if d := got.Nodes[i].Sub(turn(want.Nodes[i])).Norm(); !(d <= tol*size) {
			t.Fatalf("%s: node %d at %v, want %v: off %.1e of %.3g m", what, i, got.Nodes[i], turn(want.Nodes[i]), d/size, size)
		}
	}
	for i := range sys.Lines {
		if sys.Lines[i].To != sys.Root {
			continue
		}
		g, w := got.Samples[i], want.Samples[i]
		a, b := g[len(g)-1].F, turn(w[len(w)-1].F)
		if d := a.Sub(b).Norm(); !(d <= 5*tol*(b.Norm()+1e-3)) {
			t.Fatalf("%s: pull %v, want %v", what, a, b)
		}
	}
}

func same(v geom.Vec) geom.Vec { return v }

// pullAtRoot sums what all lines pull at the tow point.
func pullAtRoot(sys *tow.System, sol *tow.Solution) geom.Vec {
	var f geom.Vec
	for i, l := range sys.Lines {
		if l.To == sys.Root {
			p := sol.Samples[i]
			f = f.Add(p[len(p)-1].F)
		}
	}
	return f
}

// The pull at the tow point is minus the sum of every load of water and gravity. The
// lines' loads are summed here anew from the shape alone: position and tangent between
// two samples by a cubic, the loads of package hydro by Gauss's rule of three points.
func TestForcesSumToThePull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{X: span(t, "tip x", -2, 2), Y: span(t, "tip y", -3, 3), Z: -span(t, "tip height", 0, 3)})
		env := w.env(t)
		sol := w.solve(t, 1e-9)
		var sum geom.Vec
		size := 0.0
		for i := range w.sys.Nodes {
			if i != w.sys.Root {
				load := loadsAt(w.sys.Nodes[i].Bodies, env, sol.Nodes[i].Z)
				sum = sum.Add(load)
				size += load.Norm()
			}
		}
		for i, l := range w.sys.Lines {
			p := sol.Samples[i]
			for k := 1; k < len(p); k++ {
				load := segmentLoad(&l.Props, env, p[k-1], p[k])
				sum = sum.Add(load)
				size += load.Norm()
			}
		}
		// The cubic's own error over steps of this size.
		if d := pullAtRoot(w.sys, sol).Add(sum).Norm(); !(d <= 1e-5*size) {
			t.Fatalf("pull %v, loads %v: off %.1e", pullAtRoot(w.sys, sol), sum, d/size)
		}
	})
}

func loadsAt(bodies []hydro.Body, env *tow.Env, z float64) geom.Vec {
	var st water.State
	env.Water.At(z, &st)
	at := hydro.Surroundings{Depth: z, Flow: env.Flow(z), Rho: st.Rho, Nu: st.Nu, Bottom: math.Inf(1)}
	var f geom.Vec
	for i := range bodies {
		f = f.Add(bodies[i].Load(&at, nil))
	}
	return f
}

func segmentLoad(l *hydro.Line, env *tow.Env, a, b tow.Sample) geom.Vec {
	h := b.S - a.S
	rate := func(s tow.Sample) geom.Vec {
		stretch := 1.0
		if l.EA > 0 {
			stretch += s.F.Norm() / l.EA
		}
		return s.F.Unit().Scale(h * stretch)
	}
	d0, d1, chord := rate(a), rate(b), b.R.Sub(a.R)
	c2 := chord.Scale(3).AddScaled(-2, d0).Sub(d1)
	c3 := chord.Scale(-2).Add(d0).Add(d1)
	var sum geom.Vec
	for _, g := range [][2]float64{{0.5 - math.Sqrt(0.15), 5. / 18}, {0.5, 8. / 18}, {0.5 + math.Sqrt(0.15), 5. / 18}} {
		x := g[0]
		r := a.R.AddScaled(x, d0.AddScaled(x, c2.AddScaled(x, c3)))
		tangent := d0.AddScaled(2*x, c2).AddScaled(3*x*x, c3).Unit()
		load := geom.Vec{Z: l.Mass * geom.Gravity}
		if r.Z > 0 {
			var st water.State
			env.Water.At(r.Z, &st)
			load = l.Load(tangent, env.Flow(r.Z), st.Rho, st.Nu, nil)
		}
		sum = sum.AddScaled(g[1]*h, load)
	}
	return sum
}

// Without tangential drag T + T2/2EA + w z stays the same along a line, in water of any
// flow, whatever it is tied to; in the air with its weight there.
func TestTensionFollowsDepth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{Z: -span(t, "tip height", 0, 3)})
		for i := range w.sys.Lines {
			w.sys.Lines[i].Props.Cf = 0
		}
		sol := w.solve(t, 1e-9)
		for i, l := range w.sys.Lines {
			energy := func(s tow.Sample) float64 {
				f := s.F.Norm()
				weight := l.Props.WeightInWater(w.spec.Rho)
				if s.R.Z < 0 {
					weight = l.Props.Mass * geom.Gravity
				}
				e := f + weight*s.R.Z
				if l.Props.EA > 0 {
					e += f * f / (2 * l.Props.EA)
				}
				return e
			}
			p := sol.Samples[i]
			for _, s := range p {
				if d := math.Abs(energy(s) - energy(p[0])); !(d <= 1e-6*energy(p[0])) {
					t.Fatalf("line %d at %.3f m: %.9g, at its start %.9g", i, s.S, energy(s), energy(p[0]))
				}
			}
		}
	})
}

// All weights and stiffnesses with the square of the speed: the same shape, the pulls
// with the square. The tow point is at the waterline, for weight in air scales otherwise.
func TestSquareOfSpeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{})
		want := w.solve(t, 1e-9)
		k := span(t, "times", 0.5, 2)
		fast := *w
		fast.sys = copySystem(w.sys)
		fast.speed *= k
		fast.current = append([]water.CurrentPoint(nil), w.current...)
		for i := range fast.current {
			fast.current[i].Speed *= unit.Speed(k)
		}
		for i := range fast.sys.Nodes {
			for j := range fast.sys.Nodes[i].Bodies {
				b := &fast.sys.Nodes[i].Bodies[j]
				b.Mass, b.Volume = b.Mass*k*k, b.Volume*k*k
			}
		}
		for i := range fast.sys.Lines {
			p := &fast.sys.Lines[i].Props
			displaced := w.spec.Rho * area(p.Diameter)
			p.Mass, p.EA = displaced+k*k*(p.Mass-displaced), p.EA*k*k
		}
		got := fast.solve(t, 1e-9)
		for i := range w.sys.Nodes {
			if d := got.Nodes[i].Sub(want.Nodes[i]).Norm(); !(d <= 2e-7*(1+want.Nodes[i].Norm())) {
				t.Fatalf("node %d at %v, want %v", i, got.Nodes[i], want.Nodes[i])
			}
		}
		a, b := pullAtRoot(w.sys, got), pullAtRoot(w.sys, want).Scale(k*k)
		if a.Sub(b).Norm() > 1e-6*b.Norm() {
			t.Fatalf("pull %v, want %v", a, b)
		}
	})
}

// One velocity added to the boat and to all the water changes nothing.
func TestAddedVelocity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{Z: -1})
		want := w.solve(t, 1e-9)
		moved := *w
		add := geom.Vec{X: span(t, "add x", -2, 2), Y: span(t, "add y", -2, 2)}
		points := w.current
		if len(points) == 0 {
			points = []water.CurrentPoint{{}}
		}
		moved.current = nil
		for _, p := range points {
			s, c := math.Sincos(float64(p.Set))
			x, y := float64(p.Speed)*c+add.X, float64(p.Speed)*s+add.Y
			moved.current = append(moved.current, water.CurrentPoint{Depth: p.Depth,
				Speed: unit.Speed(math.Hypot(x, y)), Set: unit.Angle(math.Atan2(y, x))})
		}
		sameShape(t, "moved", moved.solve(t, 1e-9), want, w.sys, 2e-7, same)
	})
}

// Heading and current turned together leave the boat's frame as it was.
func TestTurnedHeading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{Z: -1})
		want := w.solve(t, 1e-9)
		turned := *w
		psi := unit.Angle(span(t, "psi", -7, 7))
		turned.spec.Heading = psi
		turned.current = append([]water.CurrentPoint(nil), w.current...)
		for i := range turned.current {
			turned.current[i].Set += psi
		}
		sameShape(t, "turned", turned.solve(t, 1e-9), want, w.sys, 2e-7, same)
	})
}

// Everything mirrored, the answer mirrors to rounding: the very same sums are formed.
func TestMirrored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{X: 0.5, Y: span(t, "tip y", -3, 3), Z: -1})
		want := w.solve(t, 1e-6)
		m := *w
		m.sys = copySystem(w.sys)
		m.current = append([]water.CurrentPoint(nil), w.current...)
		for i := range m.current {
			m.current[i].Set = -m.current[i].Set
		}
		for i := range m.sys.Nodes {
			m.sys.Nodes[i].At = m.sys.Nodes[i].At.Mirror()
			for j := range m.sys.Nodes[i].Bodies {
				m.sys.Nodes[i].Bodies[j].Roll *= -1
			}
		}
		sameShape(t, "mirrored", m.solve(t, 1e-6), want, w.sys, 1e-12, geom.Vec.Mirror)
	})
}

// A node without mass and load inside a line changes nothing beyond the tolerance.
func TestSplitLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{Z: -1})
		const tolerance = 1e-8
		want := w.solve(t, tolerance)
		split := *w
		split.sys = copySystem(w.sys)
		k := rapid.IntRange(0, len(w.sys.Lines)-1).Draw(t, "split")
		part := span(t, "part", 0.01, 0.99)
		node := len(split.sys.Nodes)
		split.sys.Nodes = append(split.sys.Nodes, tow.Node{})
		upper := split.sys.Lines[k]
		upper.From, upper.Length = node, upper.Length*(1-part)
		split.sys.Lines[k].To, split.sys.Lines[k].Length = node, w.sys.Lines[k].Length*part
		split.sys.Lines = append(split.sys.Lines, upper)
		got := split.solve(t, tolerance)
		// A step may err by 0.4 of the tolerance, of the pull and of the whole length.
		steps := 0
		for _, sol := range []*tow.Solution{got, want} {
			for _, p := range sol.Samples {
				steps += len(p)
			}
		}
		allowed := 0.4 * tolerance * float64(steps)
		reach := 0.0
		for _, l := range w.sys.Lines {
			reach += l.Length
		}
		for i := range w.sys.Nodes {
			if d := got.Nodes[i].Sub(want.Nodes[i]).Norm(); !(d <= allowed*reach) {
				t.Fatalf("node %d at %v, unsplit %v", i, got.Nodes[i], want.Nodes[i])
			}
		}
		if a, b := pullAtRoot(split.sys, got), pullAtRoot(w.sys, want); a.Sub(b).Norm() > allowed*b.Norm() {
			t.Fatalf("pull %v, unsplit %v", a, b)
		}
	})
}

// Where lines meet they meet, at the node that is said, and each is as long as it should
// be: also on long chains behind light bodies, which run shallow for their length.
func TestLinesMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{X: 1, Y: span(t, "tip y", -3, 3), Z: -span(t, "tip height", 0, 3)})
		if rapid.Bool().Draw(t, "light") {
			w.sys.Nodes[0].Bodies[0] = hydro.Body{Mass: span(t, "light mass", 0.02, 0.2), DragArea: 1e-3}
		}
		const tolerance = 1e-5
		sol := w.solve(t, tolerance)
		for i, l := range w.sys.Lines {
			p := sol.Samples[i]
			for k, node := range [2]int{l.From, l.To} {
				at := p[k*(len(p)-1)].R
				if d := at.Sub(sol.Nodes[node]).Norm(); !(d <= tolerance*25*float64(len(w.sys.Lines))) {
					t.Fatalf("line %d ends at %v, node %d is at %v", i, at, node, sol.Nodes[node])
				}
			}
			if got := p[len(p)-1].S - p[0].S; math.Abs(got-l.Length) > 1e-9*l.Length {
				t.Fatalf("line %d is %g m long, want %g", i, got, l.Length)
			}
			for k := 1; k < len(p); k++ {
				// No two points lie further apart than the line between them, stretched.
				most := (p[k].S - p[k-1].S)
				if l.Props.EA > 0 {
					most *= 1 + math.Max(p[k].F.Norm(), p[k-1].F.Norm())/l.Props.EA
				}
				if d := p[k].R.Sub(p[k-1].R).Norm(); d > most+tolerance*25 {
					t.Fatalf("line %d: %g m apart on %g m of line", i, d, most)
				}
			}
		}
	})
}

// Whether the solver has solved another speed before does not matter.
func TestWarmStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t, geom.Vec{Z: -1})
		want := w.solve(t, 1e-9)
		env := w.env(t)
		slow := *env
		slow.Speed *= 0.8
		var s tow.Solver
		s.Solve(context.Background(), w.sys, &slow, tow.Options{})
		got := s.Solve(context.Background(), w.sys, env, tow.Options{Tolerance: 1e-9})
		if got.Status != tow.Converged {
			t.Fatalf("%s", got.Status)
		}
		sameShape(t, "warm", got, want, w.sys, 2e-7, same)
	})
}
