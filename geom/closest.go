package geom

import "math"

// Approach is where two polylines come nearest to each other. Segment I of the first runs
// from its point I to its point I+1, and the place on it is a fraction S of the way.
type Approach struct {
	Distance float64 // in the metric asked for
	A, B     Vec     // the places on the first and the second
	I, J     int
	S, T     float64
}

// Between returns the distance between the two places in plain metres.
func (p *Approach) Between() float64 { return p.A.Sub(p.B).Norm() }

// leafSize is the number of segments in a leaf of a curve's tree of boxes.
const leafSize = 2

// Curve is a polyline with a tree of bounding boxes over its segments, so that its nearest
// approach to another is found without looking at every pair of segments. The zero Curve
// has no points. It is safe for use by several goroutines between resets.
type Curve struct {
	points []Vec
	boxes  []box // heap order: the children of k are 2k+1 and 2k+2
	reach  float64
}

type box struct{ lo, hi Vec }

// NewCurve returns the polyline through the points, which it keeps. One point is a curve
// of one segment without length.
func NewCurve(points []Vec) *Curve {
	c := &Curve{}
	c.Reset(points)
	return c
}

// Reset makes it the polyline through other points, which it keeps, in the memory it has.
func (c *Curve) Reset(points []Vec) {
	c.points, c.boxes, c.reach = points, c.boxes[:0], 0
	for _, p := range points {
		c.reach = max(c.reach, math.Abs(p.X)+math.Abs(p.Y)+math.Abs(p.Z))
	}
	if len(points) > 0 {
		c.build(0, 0, c.Segments())
	}
}

// Segments returns how many segments the curve has.
func (c *Curve) Segments() int {
	if len(c.points) == 1 {
		return 1
	}
	return max(len(c.points)-1, 0)
}

// Points returns the points it was made from.
func (c *Curve) Points() []Vec { return c.points }

func (c *Curve) segment(i int) (p, q Vec) {
	return c.points[i], c.points[min(i+1, len(c.points)-1)]
}

func (c *Curve) build(k, lo, hi int) {
	for len(c.boxes) <= k {
		c.boxes = append(c.boxes, box{})
	}
	if hi-lo <= leafSize {
		p, q := c.segment(lo)
		b := box{lower(p, q), upper(p, q)}
		for i := lo + 1; i < hi; i++ {
			_, q = c.segment(i)
			b.lo, b.hi = lower(b.lo, q), upper(b.hi, q)
		}
		c.boxes[k] = b
		return
	}
	mid := (lo + hi) / 2
	c.build(2*k+1, lo, mid)
	c.build(2*k+2, mid, hi)
	l, r := c.boxes[2*k+1], c.boxes[2*k+2]
	c.boxes[k] = box{lower(l.lo, r.lo), upper(l.hi, r.hi)}
}

func lower(a, b Vec) Vec { return Vec{min(a.X, b.X), min(a.Y, b.Y), min(a.Z, b.Z)} }
func upper(a, b Vec) Vec { return Vec{max(a.X, b.X), max(a.Y, b.Y), max(a.Z, b.Z)} }

// Scale returns the horizontal and the vertical length that count as 1 between the
// segments of one curve before iEnd and those of another before jEnd, both above 0. It
// must not fall as either end grows.
type Scale func(iEnd, jEnd int) (horizontal, vertical float64)

// Plain is the scale in which distances are metres.
func Plain(int, int) (horizontal, vertical float64) { return 1, 1 }

// Closest returns the nearest approach of two polylines. Of approaches that are equally
// near it is the one with the lowest I, then the lowest J. ok is false when one has no
// points.
func Closest(a, b []Vec) (near Approach, ok bool) {
	return NewCurve(a).Closest(NewCurve(b), Plain, math.Inf(1))
}

// Closest returns the nearest approach to another curve in the metric of a scale: of
// segments i and j the length of the vector (dx/h, dy/h, dz/v) with h, v = scale(i+1, j+1).
// ok is false when none is nearer than below. It looks at every pair of segments that
// could be it, so that the answer is that of trying them all.
func (c *Curve) Closest(d *Curve, scale Scale, below float64) (near Approach, ok bool) {
	if len(c.points) == 0 || len(d.points) == 0 {
		return Approach{Distance: below}, false
	}
	s := search{c: c, d: d, scale: scale, best: Approach{Distance: below, I: -1}}
	// What rounding may take from a distance between places computed at this reach.
	s.slack = 1e-12 * (1 + c.reach + d.reach)
	n, m := c.Segments(), d.Segments()
	s.pair(s.node(0, 0, n, 0, 0, m))
	return s.best, s.best.I >= 0
}

type search struct {
	c, d  *Curve
	scale Scale
	slack float64
	best  Approach
}

// node is a pair of nodes of the two trees: k with segments lo to hi and m with from to
// to, and a distance that no two places in their boxes are nearer than.
type node struct {
	k, lo, hi   int
	m, from, to int
	apart       float64
}

func (s *search) node(k, lo, hi, m, from, to int) node {
	h, v := s.scale(hi, to)
	h, v = 1/h, 1/v
	a, b := &s.c.boxes[k], &s.d.boxes[m]
	x := s.gap(a.lo.X, a.hi.X, b.lo.X, b.hi.X) * h
	y := s.gap(a.lo.Y, a.hi.Y, b.lo.Y, b.hi.Y) * h
	z := s.gap(a.lo.Z, a.hi.Z, b.lo.Z, b.hi.Z) * v
	return node{k, lo, hi, m, from, to, math.Sqrt(x*x+y*y+z*z) * (1 - 1e-12)}
}

func (s *search) gap(alo, ahi, blo, bhi float64) float64 {
	d := alo - bhi
	if e := blo - ahi; e > d {
		d = e
	}
	if d -= s.slack; d > 0 {
		return d
	}
	return 0
}

// pair searches a pair of nodes, the nearer half of the longer first.
func (s *search) pair(n node) {
	if n.apart > s.best.Distance {
		return
	}
	leafK, leafM := n.hi-n.lo <= leafSize, n.to-n.from <= leafSize
	if leafK && leafM {
		s.leaf(n.lo, n.hi, n.from, n.to)
		return
	}
	var one, two node
	if leafM || !leafK && n.hi-n.lo >= n.to-n.from {
		mid := (n.lo + n.hi) / 2
		one, two = s.node(2*n.k+1, n.lo, mid, n.m, n.from, n.to), s.node(2*n.k+2, mid, n.hi, n.m, n.from, n.to)
	} else {
		mid := (n.from + n.to) / 2
		one, two = s.node(n.k, n.lo, n.hi, 2*n.m+1, n.from, mid), s.node(n.k, n.lo, n.hi, 2*n.m+2, mid, n.to)
	}
	if two.apart < one.apart {
		one, two = two, one
	}
	s.pair(one)
	s.pair(two)
}

func (s *search) leaf(lo, hi, from, to int) {
	for i := lo; i < hi; i++ {
		p, q := s.c.segment(i)
		for j := from; j < to; j++ {
			r, t := s.d.segment(j)
			h, v := s.scale(i+1, j+1)
			got := segments(p, q, r, t, h, v)
			if got.Distance > s.best.Distance {
				continue
			}
			if got.Distance == s.best.Distance && (s.best.I < 0 || i > s.best.I || i == s.best.I && j >= s.best.J) {
				continue
			}
			got.I, got.J = i, j
			s.best = got
		}
	}
}

// segments returns the nearest approach of the segments pq and rt. The squared distance is
// a convex quadratic in the two fractions, least either inside the unit square or on one
// of its edges, where one end is given and the other fraction is clamped.
func segments(p, q, r, t Vec, h, v float64) Approach {
	h, v = 1/h, 1/v
	by := func(a Vec) Vec { return Vec{a.X * h, a.Y * h, a.Z * v} }
	d, e, w := by(q.Sub(p)), by(t.Sub(r)), by(p.Sub(r))
	dd, ee, de, dw, ew := d.Dot(d), e.Dot(e), d.Dot(e), d.Dot(w), e.Dot(w)
	least, s, u := math.Inf(1), 0.0, 0.0
	try := func(a, b float64) {
		x := w.AddScaled(a, d).AddScaled(-b, e)
		if got := x.Dot(x); got < least {
			least, s, u = got, a, b
		}
	}
	// Inside, unless the segments are parallel: then an edge is as near.
	inside := false
	if det := dd*ee - de*de; det > 1e-12*dd*ee {
		a, b := (de*ew-ee*dw)/det, (dd*ew-de*dw)/det
		if inside = a > 0 && a < 1 && b > 0 && b < 1; inside {
			try(a, b)
		}
	}
	if !inside {
		try(0, fraction(ew, ee))
		try(1, fraction(ew+de, ee))
		try(fraction(-dw, dd), 0)
		try(fraction(de-dw, dd), 1)
	}
	return Approach{Distance: math.Sqrt(least), S: s, T: u, A: p.AddScaled(s, q.Sub(p)), B: r.AddScaled(u, t.Sub(r))}
}

// fraction returns a/b clamped to a segment, 0 for a segment without length.
func fraction(a, b float64) float64 {
	if b <= 0 {
		return 0
	}
	return min(max(a/b, 0), 1)
}
