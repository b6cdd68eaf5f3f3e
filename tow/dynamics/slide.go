package dynamics

import (
	"math"

	"sternfan/geom"
	"sternfan/num"
	"sternfan/tow"
)

// slider is a ring without friction on its way along two lines that are one: what the one
// loses the other gains, so that both pull alike at it.
type slider struct {
	node         int32
	upper, lower int
	a, b         int32      // their segments at the ring
	least        [2]float64 // what is left of each line at a stop, m
	lean         float64    // N: by how much more than its middle the upper segment pulls at the ring, less the lower's
	bias         float64    // N: how far the discrete system misses the statics' balance where it began
	held         int8       // at which stop, upper and lower: 1 and 2; 0: it slides
	loose        bool       // both lines are slack there
	flips        int        // of held, in the step in work
}

// leastPart is how short a ring may make a segment within one step, m, and ringStop how
// near it comes to the end of a line.
const (
	leastPart = 0.05
	ringStop  = 0.3
	mostFlips = 3
	drawn     = 1e-3 // of the pull that counts elsewhere: a ring near its place is hardly drawn
	mostLean  = 0.05 // of the pulls, so that a blow cannot feed on itself
)

// findSliders notes the rings of the system. What the discrete system at rest misses of
// their balance is that of its segments, and stays.
func (d *Run) findSliders() {
	d.sliders = d.sliders[:0]
	for n := range d.sys.Nodes {
		if d.sys.Nodes[n].Kind != tow.Ring {
			continue
		}
		upper, lower := -1, -1
		for l := range d.sys.Lines {
			switch {
			case d.sys.Lines[l].To == n && d.sys.Lines[l].Open:
				upper = l
			case d.sys.Lines[l].From == n:
				lower = l
			}
		}
		if upper < 0 || lower < 0 {
			panic("dynamics: a ring without its two lines")
		}
		r := d.ring(n, upper, lower)
		r.least = [2]float64{math.Min(ringStop, d.Length(upper)), math.Min(ringStop, d.Length(lower))}
		d.weighRings()
		r.bias = d.unbalance(r)
	}
}

// Slide makes a node a ring that lies against a stop: line upper ends there, line lower
// begins there, and one of them is as short as it gets. It stays until it is drawn the
// other way.
func (d *Run) Slide(node, upper, lower int, atUpper bool) {
	r := d.ring(node, upper, lower)
	r.least = [2]float64{ringStop, ringStop}
	r.held = 2
	if atUpper {
		r.held = 1
	}
	r.least[r.held-1] = []float64{d.Length(upper), d.Length(lower)}[r.held-1]
}

// Push moves the rings toward the lower ends of their lines with a force, N, as does line
// that is reeled in through them.
func (d *Run) Push(force float64) {
	for k := range d.sliders {
		d.sliders[k].bias -= force
	}
}

func (d *Run) ring(node, upper, lower int) *slider {
	if d.sys.Lines[upper].To != node || d.sys.Lines[lower].From != node {
		panic("dynamics: a ring slides from the end of one line to the beginning of another")
	}
	d.sliders = append(d.sliders, slider{node: int32(node), upper: upper, lower: lower})
	piece := math.Max(d.lines[upper].piece, d.lines[lower].piece)
	d.lines[upper].piece, d.lines[lower].piece = piece, piece
	d.lines[upper].keep = 3
	d.changing()
	return &d.sliders[len(d.sliders)-1]
}

// atRings finds the segments at the rings.
func (d *Run) atRings() {
	for k := range d.sliders {
		r := &d.sliders[k]
		up, low := d.lines[r.upper].ids, d.lines[r.lower].ids
		r.a, r.b = d.between(up[len(up)-2], up[len(up)-1]), d.between(low[0], low[1])
		d.segs[r.a].slides, d.segs[r.a].feed = true, ToEnd
		d.segs[r.b].slides, d.segs[r.b].feed = true, FromEnd
	}
}

// over returns by how much a segment's pull at the ring is more than at its middle, by its
// own load, N.
func (d *Run) over(i, ring int32) float64 {
	s := &d.segs[i]
	sign := -1.0
	if i == ring {
		sign = 1
	}
	return s.t.Scale(s.tension).AddScaled(sign, s.half).Norm() - s.tension
}

// weighRings takes the segments' own loads at the rings as they are now: they count in
// the balance of the step to come.
func (d *Run) weighRings() {
	for k := range d.sliders {
		r := &d.sliders[k]
		ring := d.node[r.node]
		lean := d.over(r.a, ring) - d.over(r.b, ring)
		most := mostLean * math.Max(d.segs[r.a].tension+d.segs[r.b].tension, 0)
		r.lean = math.Max(-most, math.Min(lean, most))
	}
}

// unbalance returns by how much the upper line pulls more at the ring than the lower, N.
func (d *Run) unbalance(r *slider) float64 {
	return d.segs[r.a].reach - d.segs[r.b].reach + r.lean - r.bias
}

// ready prepares the rings for a step.
func (d *Run) ready() {
	for k := range d.sliders {
		r := &d.sliders[k]
		r.flips = 0
		if r.held == 1 && d.Length(r.upper) > 1.001*r.least[0] || r.held == 2 && d.Length(r.lower) > 1.001*r.least[1] {
			r.held = 0
		}
		d.joinAt(r, func(s *segment) float64 { return s.held })
	}
}

// joinAt makes the segments at a ring slack or taut together, or each by itself when it is
// at a stop.
func (d *Run) joinAt(r *slider, pull func(s *segment) float64) {
	a, b := &d.segs[r.a], &d.segs[r.b]
	a.joined, b.joined = r.held == 0, r.held == 0
	if r.loose = false; r.held != 0 {
		return
	}
	sum := pull(a) + pull(b)
	r.loose = sum <= 0
	a.mode, b.mode = taut, taut
	if r.loose {
		a.mode, b.mode, a.tension, b.tension = slack, slack, 0, 0
	}
}

// slide adds to the correction at hand what the rings' sliding changes, and shifts line
// from one side to the other. The tree's matrix has a border of one row and column a ring:
// with M x + sum c_k u_k = f and the ring's balance g + d x + e u = 0, x is y - sum z_k u_k
// where M y = f and M z_k = c_k. size is the largest shift against what is allowed to be
// left; changed says that a ring came to a stop or left it.
func (d *Run) slide(full bool) (size float64, changed bool) {
	n, m := len(d.points), len(d.sliders)
	d.border = grow(d.border, (m+1)*n)
	d.inner, d.slid = grow(d.inner, m*m), grow(d.slid, m)
	y := d.border[m*n:]
	for i := d.fixed; i < n; i++ {
		y[i] = d.blocks[i].right
	}
	if full {
		for k := range d.sliders {
			d.column(&d.sliders[k])
			z := d.border[k*n : (k+1)*n]
			for i := d.fixed; i < n; i++ {
				z[i] = d.blocks[i].right
			}
		}
	}
	for k := range d.sliders {
		r := &d.sliders[k]
		a, b := &d.segs[r.a], &d.segs[r.b]
		for j := range m {
			d.inner[k*m+j] = 0
		}
		if r.held != 0 || r.loose {
			d.inner[k*m+k], d.slid[k] = 1, 0
			continue
		}
		for j := range m {
			d.inner[k*m+j] = d.lengthen(r.a, d.border[j*n:])*a.stiff - d.lengthen(r.b, d.border[j*n:])*b.stiff
		}
		d.inner[k*m+k] += d.tighten(a) + d.tighten(b)
		d.slid[k] = -(d.unbalance(r) + d.lengthen(r.a, y)*a.stiff - d.lengthen(r.b, y)*b.stiff)
	}
	if !num.Solve(d.inner, d.slid, m) {
		for k := range d.slid {
			d.slid[k] = 0
		}
	}
	for k := range d.sliders {
		r := &d.sliders[k]
		a, b := &d.segs[r.a], &d.segs[r.b]
		u := d.slid[k]
		if r.held == 0 && !r.loose {
			most := math.Min(a.length-leastPart, d.Length(r.upper)-r.least[0])
			least := -math.Min(b.length-leastPart, d.Length(r.lower)-r.least[1])
			switch {
			case !(u <= most):
				u, r.held, changed = math.Max(most, 0), 1, true
			case u < least:
				u, r.held, changed = math.Min(least, 0), 2, true
			}
			a.joined, b.joined = r.held == 0, r.held == 0
			d.slid[k] = u
		}
		size = math.Max(size, math.Abs(u)/d.atol)
		if u != 0 {
			d.resize(a, a.length-u, a.rest-u)
			d.resize(b, b.length+u, b.rest+u)
		}
	}
	for i := d.fixed; i < n; i++ {
		x := y[i]
		for k, u := range d.slid {
			if u != 0 {
				x = x.AddScaled(u, d.border[k*n+i])
			}
		}
		d.blocks[i].right = x
	}
	return size, changed
}

// column solves for what a ring that slides by a meter toward its upper line moves.
func (d *Run) column(r *slider) {
	for i := d.fixed; i < len(d.points); i++ {
		d.blocks[i].right = geom.Vec{}
	}
	if r.held != 0 || r.loose {
		return
	}
	for _, e := range [2]struct {
		i    int32
		more float64
	}{{r.a, -1}, {r.b, 1}} {
		s := &d.segs[e.i]
		pull, load := s.t.Scale(-e.more*d.tighten(s)), s.half.Scale(e.more/s.length)
		if int(e.i) >= d.fixed {
			b := &d.blocks[e.i]
			b.right = b.right.Add(pull).Add(load)
		}
		if int(s.up) >= d.fixed {
			b := &d.blocks[s.up]
			b.right = b.right.Sub(pull).Add(load)
		}
	}
	d.solve()
}

// tighten returns what a segment pulls more for each meter of line that it loses, N/m.
func (d *Run) tighten(s *segment) float64 {
	return s.stiff * (1 + s.reach/d.mats[s.line].stiffness)
}

// lengthen returns by how much moves of the points draw a segment out, m.
func (d *Run) lengthen(i int32, x []geom.Vec) float64 {
	s := &d.segs[i]
	e := geom.Vec{}
	if int(s.up) >= d.fixed {
		e = x[s.up]
	}
	if int(i) >= d.fixed {
		e = e.Sub(x[i])
	}
	return s.t.Dot(e)
}

// release lets rings go that are drawn off their stops, and takes the line on both sides
// of a ring for slack or taut together. It reports whether anything changed.
func (d *Run) release() (changed bool) {
	for k := range d.sliders {
		r := &d.sliders[k]
		least := d.mats[d.segs[r.a].line].least
		a, b := &d.segs[r.a], &d.segs[r.b]
		if r.held != 0 {
			g := d.unbalance(r)
			if r.flips < mostFlips && (r.held == 1 && g > drawn*least || r.held == 2 && g < -drawn*least) {
				r.held, changed = 0, true
				r.flips++
				d.joinAt(r, func(s *segment) float64 { return s.tension })
			}
			continue
		}
		sum := a.tension + b.tension
		if r.loose {
			sum = (a.span + b.span - a.rest - b.rest) / (a.give + b.give)
		}
		if r.loose && sum > least || !r.loose && sum < -least {
			r.loose = !r.loose
			a.mode, b.mode, a.tension, b.tension = taut, taut, math.Max(sum, 0), math.Max(sum, 0)
			if r.loose {
				a.mode, b.mode = slack, slack
			}
			changed = true
		}
	}
	return changed
}
