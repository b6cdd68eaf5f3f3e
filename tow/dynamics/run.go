package dynamics

import (
	"context"
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/portable"
	"sternfan/tow"
	"sternfan/water"
)

// point is a node of the discrete system: an end on the boat, a body, or a place on a line.
type point struct {
	r, v   geom.Vec // at the end of the step in work
	rs, vs geom.Vec // what the formula takes from the past: v = (r - rs) k, dv/dt = (v - vs) k
	a      geom.Vec // dv/dt at the places in work, of a free point
	rp     geom.Vec // predicted
	r0, v0 geom.Vec // at the last time
	r1, v1 geom.Vec // one step before
	r2     geom.Vec // two steps before

	mass   float64 // kg, without the water across lines
	press  float64 // weight in water of the line at it, N: what it presses on the bottom
	bodies []hydro.Body
	below  []int32  // segments that end here, when a body's load depends on their pull
	force  geom.Vec // besides, N
	at     geom.Vec // of a fixed end, boat frame
}

// block is a point's part of the Newton matrix.
type block struct {
	diag  geom.Mat // then its factors
	up    geom.Mat // row of the point, column of the one toward the boat; then D-1 of it
	down  geom.Mat // the other way
	right geom.Vec // F - M a, then the correction
}

// segment is what joins a point to the next one toward the boat.
type segment struct {
	up     int32 // the next point; -1: none (a root)
	line   int32
	length float64 // unstretched, m
	rest   float64 // m: length at no pull, the rod's give taken off
	give   float64 // m/N
	had    float64 // length and
	stood  float64 // rest at the last time, where they change
	limit  float64 // N, where the reel gives line; +Inf elsewhere
	rate   float64 // m/s let out
	feed   End     // of its line: where its length changes
	winch  bool    // kept at its limit, whether line has to go out or come in
	reels  bool    // it is, in the step in work: there is line left to take in
	slides bool    // a ring is at that end
	joined bool    // and slides: this segment pulls with the one beyond it
	rod    float64 // part of give that is the rod's

	t       geom.Vec // unit, toward the boat
	span    float64  // m
	mode    mode
	tension float64  // as last solved for, N
	held    float64  // at the last time, N
	reach   float64  // tension by the places in work; below zero where they come too near, N
	stiff   float64  // dT/dspan, N/m
	half    geom.Vec // half its load, for the pull at a fixed end
}

// mode is how a segment pulls.
type mode uint8

const (
	slack    mode = iota // not at all
	taut                 // by its stretch
	slipping             // as much as the reel allows
)

// strand says which points a line of the system has become.
type strand struct {
	ids   []int32 // From end first
	piece float64 // length of a new segment as the line is paid out, m
	keep  int     // points at least: above a ring the rod's own segment stays
}

// material is a line's load in the water at hand.
type material struct {
	props, fouled hydro.Line
	dry           [2]hydro.Dry // of the clean and of the fouled line
	wet, dirty    hydro.Wet
	added, thick  float64 // added mass a meter, clean and fouled
	stiffness     float64 // EA as taken
	air           float64 // weight in air, N/m
	least         float64 // what a pull on it may be off by, N
}

// Run is one system on its way. Start it, then Advance it; it keeps its memory for the
// next Start. It is not for use by two goroutines at once.
type Run struct {
	sys    *tow.System
	env    *tow.Env
	opt    Options
	course Course
	status Status
	count  Count

	points []point
	blocks []block
	spill  block // takes what belongs to no free point
	jac    hydro.WetJac
	segs   []segment
	lines  []strand
	mats   []material
	node   []int32 // by node of the system: its point
	fixed  int     // points 0..fixed-1 are on the boat

	uniform bool
	fouled  bool // something hangs on the lines over a range of depth
	bottom  float64
	top     water.State
	frame   geom.Vec // velocity of the frame of r and v over ground

	t, look   float64
	until     float64
	h, h1, h2 float64 // the next step, and the last two
	k         float64 // 1/(beta h)
	atol      float64 // m a step
	scale     float64 // N: greatest pull at rest
	rate      float64 // contraction of Newton's method, last seen
	pose      Pose
	body      hydro.BodyJac
	ends      []tail
	paying    []int32 // segments whose length changes
	sliders   []slider
	border    []geom.Vec // what each slider moves, by slider and point
	inner     []float64  // the sliders' own equations
	slid      []float64
	scratch   scratch
}

// Time returns how far the run is, s.
func (d *Run) Time() float64 { return d.t }

// Status returns how the run stands.
func (d *Run) Status() Status { return d.status }

// Count returns the work done since the start.
func (d *Run) Count() Count { return d.count }

// Look sets the time, within the last step taken, of which the accessors tell.
func (d *Run) Look(t float64) { d.look = math.Min(math.Max(t, d.t-d.h1), d.t) }

// place returns place and velocity of a point at the time looked at: the cubic through
// the ends of the last step and their velocities.
func (d *Run) place(i int32) (r, v geom.Vec) {
	p := &d.points[i]
	if d.look >= d.t {
		return p.r0, p.v0
	}
	h := d.h1
	x := 1 - (d.t-d.look)/h
	x2, x3 := x*x, x*x*x
	r = p.r1.Scale(2*x3-3*x2+1).AddScaled((x3-2*x2+x)*h, p.v1).
		AddScaled(3*x2-2*x3, p.r0).AddScaled((x3-x2)*h, p.v0)
	v = p.r1.Sub(p.r0).Scale(6*(x2-x)/h).AddScaled(3*x2-4*x+1, p.v1).AddScaled(3*x2-2*x, p.v0)
	return r, v
}

// Node returns place and velocity over ground of a node of the system, m and m/s.
func (d *Run) Node(i int) (r, v geom.Vec) { return d.place(d.node[i]) }

// Line appends the points of line i of the system, From end first, and returns them.
func (d *Run) Line(i int, out []geom.Vec) []geom.Vec {
	for _, k := range d.lines[i].ids {
		r, _ := d.place(k)
		out = append(out, r)
	}
	return out
}

// segment returns the one that joins two points.
func (d *Run) segment(a, b int32) *segment { return &d.segs[d.between(a, b)] }

// between returns its number.
func (d *Run) between(a, b int32) int32 {
	if d.segs[a].up == b {
		return a
	}
	return b
}

// Length returns the unstretched length of line i, m.
func (d *Run) Length(i int) float64 {
	sum := 0.0
	ids := d.lines[i].ids
	for k := 1; k < len(ids); k++ {
		sum += d.segment(ids[k-1], ids[k]).length
	}
	return sum
}

// Tension returns the pull at the From and the To end of line i at the end of the last
// step, N.
func (d *Run) Tension(i int) (from, to float64) {
	ids := d.lines[i].ids
	return d.end(ids[0], ids[1]), d.end(ids[len(ids)-1], ids[len(ids)-2])
}

// end returns the pull at point a of the segment from there to b, N.
func (d *Run) end(a, b int32) float64 {
	s := d.segment(a, b)
	pull := s.t.Scale(s.tension)
	if s != &d.segs[a] {
		pull = pull.Neg()
	}
	return pull.Add(s.half).Norm()
}

// Flow returns the water's velocity relative to a node of the system (E1), m/s.
func (d *Run) Flow(i int) geom.Vec {
	r, v := d.Node(i)
	var s water.State
	d.env.Water.At(r.Z, &s)
	return geom.Vec{X: s.Cx - v.X, Y: s.Cy - v.Y, Z: -v.Z}
}

// Until sets a time that [Run.Reach] does not pass, since something happens then; +Inf:
// none, as it is after a start.
func (d *Run) Until(t float64) { d.until = t }

// Advance goes on to time t and returns how the run stands then.
func (d *Run) Advance(ctx context.Context, t float64) Status {
	for d.status == OK && d.t < t-1e-9 {
		d.onward(ctx, t)
	}
	d.look = d.t
	return d.status
}

// Watch goes on to time t and calls visit at every multiple of the interval on the way,
// the present included, with the accessors looking at it.
func (d *Run) Watch(ctx context.Context, t, every float64, visit func(t float64)) Status {
	n := math.Ceil(d.t/every - 1e-9)
	for {
		for ; n*every <= math.Min(d.t, t)+1e-9; n++ {
			d.Look(n * every)
			visit(n * every)
		}
		if d.status != OK || d.t >= t-1e-9 {
			break
		}
		d.onward(ctx, t)
	}
	d.look = d.t
	return d.status
}

func (d *Run) onward(ctx context.Context, t float64) {
	switch {
	case d.count.Steps >= d.opt.MaxSteps:
		d.status = Exhausted
	case d.count.Steps%64 == 63 && ctx.Err() != nil:
		d.status = Cancelled
	default:
		d.advance(t)
	}
}

// advance takes one step that ends at t or at a kink of the course at the latest.
func (d *Run) advance(t float64) {
	end := math.Min(t, d.course.Next(d.t))
	h := d.h
	if d.opt.Step > 0 {
		h = d.opt.Step
	}
	h = math.Min(h, math.Min(d.opt.MaxStep, d.patience()))
	for {
		switch left := end - d.t; {
		case h >= left*(1-1e-9):
			h = left
		case h > left/2:
			h = left / 2
		}
		ok := d.step(h)
		if !ok {
			d.count.Failed++
			h *= 0.25
			if h < leastStep {
				d.status = Stuck
				d.restore()
				return
			}
			continue
		}
		e := d.miss(h)
		if d.opt.Step > 0 {
			e = 0
		}
		if e > 1 && h > 1e-4 {
			d.count.Rejected++
			h *= math.Max(0.2, 0.85*portable.Pow(e, -1.0/3))
			continue
		}
		grow := growth
		if e > 1e-3 {
			grow = math.Min(growth, 0.85*portable.Pow(e, -1.0/3))
		}
		d.accept(h)
		d.h = math.Max(h*grow, 1e-4)
		return
	}
}

// restart forgets the past but place and velocity: after a jump of a load or a length.
func (d *Run) restart(h float64) {
	d.h, d.h1, d.h2 = h, h, h
	d.look = d.t
	for i := range d.points {
		p := &d.points[i]
		p.r1, p.v1 = p.r0.AddScaled(-h, p.v0), p.v0
		p.r2 = p.r0.AddScaled(-2*h, p.v0)
	}
}

// restore puts the present state back after a step that failed.
func (d *Run) restore() {
	for i := range d.points {
		p := &d.points[i]
		p.r, p.v = p.r0, p.v0
	}
}

// Reach goes on until time t is behind or in the last step, and looks at it. Unlike
// Advance it does not cut a step short there, but at the time set by [Run.Until].
func (d *Run) Reach(ctx context.Context, t float64) Status {
	for d.status == OK && d.t < math.Min(t, d.until)-1e-9 {
		d.onward(ctx, d.until)
	}
	d.Look(t)
	return d.status
}
