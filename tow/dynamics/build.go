package dynamics

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
)

// Start places sys on its solution sol at rest in the boat's frame in env, lets the
// discrete system come to rest itself, and puts it on the course. sol is a converged
// solution of sys, or for a loose start a shape that is let go as it lies; the run keeps
// sys, env and course until its end. Rings slide, and what a downrigger line has
// out stays out.
func (d *Run) Start(sys *tow.System, sol *tow.Solution, env *tow.Env, course Course, opt Options) Status {
	opt.fill()
	d.sys, d.env, d.opt, d.course = sys, env, opt, course
	d.count, d.status = Count{}, OK
	d.sliders = d.sliders[:0]
	d.until = math.Inf(1)
	d.uniform = env.Water.Uniform()
	d.fouled = env.Fouling.To > env.Fouling.From && (env.Fouling.Diameter > 0 || env.Fouling.Mass > 0)
	env.Water.At(0, &d.top)
	d.bottom = math.Inf(1)
	if env.Bottom > 0 {
		d.bottom = env.Bottom
	}
	d.order()
	d.divide(sol)
	d.weigh()
	if opt.Loose {
		for i := range d.points {
			if p := &d.points[i]; i < d.fixed {
				p.r0 = p.at
			}
		}
	} else if d.settle(); d.status != OK {
		return d.status
	}
	d.findSliders()
	d.t = opt.At
	d.course.At(d.t, &d.pose)
	for i := range d.points {
		p := &d.points[i]
		p.r0 = d.pose.At.Add(p.r0.Yaw(d.pose.Heading))
		p.v0 = d.pose.Velocity
		if i < d.fixed {
			p.r0, p.v0 = d.pose.Point(p.at)
		}
	}
	d.frame = geom.Vec{}
	d.restart(firstStep)
	d.h = math.Min(1, d.opt.MaxStep)
	if opt.Loose {
		d.h = firstStep
	}
	d.rate = 0.1
	return OK
}

// order numbers the points: the ends on the boat first, then every point before the next
// one toward the boat, those of a line side by side.
func (d *Run) order() {
	sys := d.sys
	d.points, d.segs = d.points[:0], d.segs[:0]
	d.node = grow(d.node, len(sys.Nodes))
	d.lines = grow(d.lines, len(sys.Lines))
	d.mats = grow(d.mats, len(sys.Lines))
	for i := range sys.Nodes {
		if sys.Nodes[i].Kind == tow.Fixed {
			d.node[i] = d.add(point{at: sys.Nodes[i].At})
		}
	}
	d.fixed = len(d.points)
}

// add appends a point and its segment, whose memory it reuses.
func (d *Run) add(p point) int32 {
	n := len(d.points)
	if n < cap(d.points) {
		p.below = d.points[:n+1][n].below[:0]
	}
	d.points = append(d.points, p)
	d.segs = append(d.segs, segment{up: -1, limit: math.Inf(1)})
	return int32(n)
}

func grow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// divide cuts the lines into segments, finer where they bend, and lays the points on the
// solution.
func (d *Run) divide(sol *tow.Solution) {
	sys := d.sys
	longest, most := 0.0, 0.0
	for i := range sys.Nodes {
		length, weight := 0.0, 0.0
		at := i
		for hops := 0; at != sys.Root && hops <= len(sys.Lines); hops++ {
			for l := range sys.Lines {
				if sys.Lines[l].From == at {
					length += sol.Length[l]
					weight += bend(sol.Samples[l])
					at = sys.Lines[l].To
					break
				}
			}
		}
		if length > longest {
			longest, most = length, weight
		}
	}
	if longest == 0 {
		longest = 1
	}
	// A chain's share is its length and how much it turns on the way, in half radians.
	total := 1 + most
	d.ends = d.ends[:0]
	d.emit(sol, sys.Root, longest, total)
	d.join()
	d.scale = 0
	for l := range sys.Lines {
		for _, s := range sol.Samples[l] {
			d.scale = math.Max(d.scale, s.F.Norm())
		}
	}
	d.scale = math.Max(d.scale, 1e-3)
	for l := range sys.Lines {
		d.mats[l].least = pullShare * d.scale
		if !d.opt.Hands {
			continue
		}
		// What hangs from a tip pulls much less than what is out beside it.
		d.mats[l].least = pullShare * leastPull
		for _, s := range sol.Samples[l] {
			d.mats[l].least = math.Max(d.mats[l].least, pullShare*s.F.Norm())
		}
	}
	deepest := math.Max(0.02*longest, d.opt.Depth)
	for _, p := range sol.Nodes {
		deepest = math.Max(deepest, math.Min(p.Z, d.bottom))
	}
	d.atol = share * d.opt.Tolerance * deepest
	d.blocks = grow(d.blocks, len(d.points))
}

// bend returns how far a line turns, in half radians.
func bend(p []tow.Sample) float64 {
	sum := 0.0
	for i := 1; i < len(p); i++ {
		sum += turn(p[i-1].F, p[i].F)
	}
	return 2 * sum
}

// turn returns the angle between two pulls, rad.
func turn(a, b geom.Vec) float64 {
	n := a.Norm() * b.Norm()
	if n == 0 {
		return 0
	}
	return math.Acos(math.Max(-1, math.Min(1, a.Dot(b)/n)))
}

// emit numbers what hangs on a node of the system, the far ends first.
func (d *Run) emit(sol *tow.Solution, node int, longest, total float64) {
	sys := d.sys
	for l := range sys.Lines {
		line := &sys.Lines[l]
		if line.To != node {
			continue
		}
		d.emit(sol, line.From, longest, total)
		if sys.Nodes[line.From].Kind != tow.Fixed {
			d.node[line.From] = d.add(point{r0: sol.Nodes[line.From], bodies: sys.Nodes[line.From].Bodies})
		}
		p := sol.Samples[l]
		weight := (sol.Length[l]/longest + bend(p)) / total
		n := max(1, int(math.Round(weight*float64(d.opt.Nodes))))
		if sys.Nodes[line.From].Kind == tow.Ring || sys.Nodes[node].Kind == tow.Ring {
			n = max(n, 2) // what a ring slides over is not what the rod holds
		}
		d.lay(l, p, n, longest)
	}
}

// lay cuts line l into n segments.
func (d *Run) lay(l int, p []tow.Sample, n int, longest float64) {
	st := &d.lines[l]
	from := d.node[d.sys.Lines[l].From]
	st.ids = append(st.ids[:0], from)
	whole := 0.0
	for i := 1; i < len(p); i++ {
		whole += (p[i].S-p[i-1].S)/longest + 2*turn(p[i-1].F, p[i].F)
	}
	m := &d.mats[l]
	props := &d.sys.Lines[l].Props
	most := math.Max(0.1, d.opt.Pull)
	for i := range p {
		most = math.Max(most, p[i].F.Norm())
	}
	*m = material{props: *props, fouled: *props, air: props.Mass * geom.Gravity, stiffness: props.EA}
	f := &d.env.Fouling
	if f.To > f.From {
		w := m.fouled.Diameter
		m.fouled.Diameter += f.Diameter
		m.fouled.Mass += f.Mass + f.Density*math.Pi/4*(m.fouled.Diameter*m.fouled.Diameter-w*w)
	}
	m.added, m.thick = m.props.AddedMass(d.top.Rho), m.fouled.AddedMass(d.top.Rho)
	m.dry = [2]hydro.Dry{m.props.Dry(), m.fouled.Dry()}
	m.wet, m.dirty = m.dry[0].In(d.top.Rho, d.top.Nu), m.dry[1].In(d.top.Rho, d.top.Nu)
	if limit := most / leastStrain; m.stiffness <= 0 || m.stiffness > limit {
		m.stiffness = limit
	}
	last, at, below := 0.0, 0.0, from
	lastPull := p[0].F.Norm()
	next := 1
	cut := func(s float64, pull float64) {
		seg := &d.segs[below]
		seg.line, seg.length = int32(l), s-last
		seg.give = seg.length / m.stiffness
		// Taken softer than it is: shortened so that it has its own length at rest.
		strain := 1.0
		if props.EA > 0 {
			strain += (pull + lastPull) / 2 / props.EA
		}
		seg.rest = seg.length * strain / (1 + (pull+lastPull)/2/m.stiffness)
		seg.give *= seg.rest / seg.length
		seg.held = (pull + lastPull) / 2
		last, lastPull = s, pull
	}
	for i := 1; i < len(p) && next < n; i++ {
		a, b := &p[i-1], &p[i]
		w := (b.S-a.S)/longest + 2*turn(a.F, b.F)
		for next < n && at+w >= whole*float64(next)/float64(n) && w > 0 {
			x := (whole*float64(next)/float64(n) - at) / w
			s, r, pull := along(a, b, x, props.EA)
			id := d.add(point{r0: r})
			cut(s, pull)
			st.ids = append(st.ids, id)
			d.segs[below].up = id
			below = id
			next++
		}
		at += w
	}
	cut(p[len(p)-1].S, p[len(p)-1].F.Norm())
	d.ends = append(d.ends, tail{below, int32(d.sys.Lines[l].To)})
}

// along returns what lies at the fraction x of a step of the statics' integration.
func along(a, b *tow.Sample, x, ea float64) (s float64, r geom.Vec, pull float64) {
	h := b.S - a.S
	ta, tb := a.F.Unit(), b.F.Unit()
	if ea > 0 {
		ta, tb = ta.Scale(1+a.F.Norm()/ea), tb.Scale(1+b.F.Norm()/ea)
	}
	x2, x3 := x*x, x*x*x
	r = a.R.Scale(2*x3-3*x2+1).AddScaled((x3-2*x2+x)*h, ta).
		AddScaled(3*x2-2*x3, b.R).AddScaled((x3-x2)*h, tb)
	return a.S + x*h, r, a.F.Norm()*(1-x) + b.F.Norm()*x
}

// tail is a line's last segment, to be joined to its To end once that is numbered.
type tail struct{ seg, node int32 }

// join ties the lines' upper ends together and notes which bodies feel a pull from below.
func (d *Run) join() {
	for _, e := range d.ends {
		d.segs[e.seg].up = d.node[e.node]
	}
	for l := range d.lines {
		st := &d.lines[l]
		st.ids = append(st.ids, d.node[d.sys.Lines[l].To])
		st.piece, st.keep = d.Length(l)/float64(len(st.ids)-1), 2
	}
	d.feel()
	// A rod holds its line at a set load: more pull bends it further.
	for n := range d.sys.Nodes {
		i := d.node[n]
		if n >= len(d.sys.Pull) || d.sys.Pull[n] <= 0 || int(i) >= d.fixed || d.segs[i].up < 0 {
			continue
		}
		s := &d.segs[i]
		s.rod, s.limit, s.feed = 1/d.opt.Rod, d.opt.Drag, FromEnd
		s.rest -= d.sys.Pull[n] * s.rod
		s.give += s.rod
	}
	d.changing()
}

// feel notes which bodies' loads hang on the pull from below, and whose.
func (d *Run) feel() {
	for i := range d.points {
		d.points[i].below = d.points[i].below[:0]
	}
	for i := range d.segs {
		up := d.segs[i].up
		if up < 0 {
			continue
		}
		p := &d.points[up]
		for k := range p.bodies {
			if p.bodies[k].PlateArea > 0 && p.bodies[k].Give != 0 {
				p.below = append(p.below, int32(i))
				break
			}
		}
	}
}

// leastPull is the least pull by which a pull's tolerance goes, N.
const leastPull = 0.05

// lightest is the least mass of a point, as a share of all, so that a slack line without
// mass still moves in one way only.
const lightest = 1e-7

// weigh sums the masses at the points.
func (d *Run) weigh() {
	all := 0.0
	for i := range d.points {
		p := &d.points[i]
		p.mass, p.press = 0, 0
		for k := range p.bodies {
			p.mass += p.bodies[k].Mass + p.bodies[k].AddedMass
		}
		all += p.mass
	}
	for i := range d.segs {
		s := &d.segs[i]
		if s.up < 0 {
			continue
		}
		m := &d.mats[s.line]
		half, press := s.length*m.props.Mass/2, math.Max(m.props.WeightInWater(d.top.Rho), 0)*s.length/2
		p, q := &d.points[i], &d.points[s.up]
		p.mass += half
		q.mass += half
		p.press += press
		q.press += press
		all += 2 * half
	}
	for i := range d.points {
		d.points[i].mass = math.Max(d.points[i].mass, lightest*all)
	}
}

// The pseudo time by which the discrete system comes to rest: steps of the backward Euler
// formula that start anew at rest each time, longer and longer.
const (
	settleFirst = 0.1 // s
	settleLast  = 1e4
	settleTries = 120
)

// settle brings the discrete system to rest in the boat's frame.
func (d *Run) settle() {
	d.frame = geom.Vec{X: d.top.Cx + d.env.Speed, Y: d.top.Cy}
	for i := range d.points {
		p := &d.points[i]
		if i < d.fixed {
			p.r0 = p.at
		}
		p.r, p.v, p.v0, p.vs = p.r0, geom.Vec{}, geom.Vec{}, geom.Vec{}
	}
	h := settleFirst
	for range settleTries {
		d.k, d.rate = 1/h, 1
		for i := range d.points {
			p := &d.points[i]
			p.rs, p.r = p.r0, p.r0
		}
		for i := range d.segs {
			s := &d.segs[i]
			s.tension, s.mode = s.held, taut
		}
		if !d.newton() {
			if h *= 0.2; h < leastStep {
				break
			}
			continue
		}
		moved := 0.0
		for i := range d.points {
			p := &d.points[i]
			x := p.r.Sub(p.r0)
			moved = math.Max(moved, x.Dot(x))
			p.r0 = p.r
		}
		for i := range d.segs {
			d.segs[i].held = d.segs[i].tension
		}
		if math.Sqrt(moved) < 0.05*d.atol && h > 0.01*settleLast {
			return
		}
		h = math.Min(4*h, settleLast)
	}
	d.status = Unsettled
}
