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
	n := c.Segments()
	if n == 0 {
		return
	}
	// The tree's last level is full to its first node at least.
	nodes := 1
	for size := n; size > leafSize; size = (size + 1) / 2 {
		nodes = 2*nodes + 1
	}
	if cap(c.boxes) < nodes {
		c.boxes = make([]box, nodes)
	}
	c.boxes = c.boxes[:nodes]
	c.build(0, 0, n)
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
	if hi-lo <= leafSize {
		b := &c.boxes[k]
		p := &c.points[lo]
		*b = box{*p, *p}
		for i := lo + 1; i <= hi && i < len(c.points); i++ {
			b.take(&c.points[i], &c.points[i])
		}
		return
	}
	mid := (lo + hi) / 2
	c.build(2*k+1, lo, mid)
	c.build(2*k+2, mid, hi)
	b, r := c.boxes[2*k+1], &c.boxes[2*k+2]
	b.take(&r.lo, &r.hi)
	c.boxes[k] = b
}

// take widens the box to hold another from lo to hi.
func (b *box) take(lo, hi *Vec) {
	if lo.X < b.lo.X {
		b.lo.X = lo.X
	}
	if lo.Y < b.lo.Y {
		b.lo.Y = lo.Y
	}
	if lo.Z < b.lo.Z {
		b.lo.Z = lo.Z
	}
	if hi.X > b.hi.X {
		b.hi.X = hi.X
	}
	if hi.Y > b.hi.Y {
		b.hi.Y = hi.Y
	}
	if hi.Z > b.hi.Z {
		b.hi.Z = hi.Z
	}
}

// Girth says how the lengths that count as 1 grow along a curve.
type Girth struct {
	Along []float64 // at each point, ascending; the last holds for all after it, none is 0
	Reach float64   // added to both lengths
	From  float64   // value of Along from which on the reach is
	Band  float64   // times Along: added as the root of the sum of the two curves' squares
}

// at returns what holds for the segment that ends at a point.
func (g *Girth) at(end int) (x, reach float64) {
	if n := len(g.Along); end < n {
		x = g.Along[end]
	} else if n > 0 {
		x = g.Along[n-1]
	}
	if x >= g.From {
		reach = g.Reach
	}
	return x, reach
}

// Metric measures distances between two curves: between segments that end where Along is a
// on the one and b on the other, it is the length of the vector (dx/h, dy/h, dz/v) with
//
//	h = Horizontal (a+b)/2 + Least + both reaches
//	v = Vertical (a+b)/2 + Least + both reaches + sqrt((a Band)^2 + (b Band)^2)
//
// and h grows by the bands as v does when they count all round.
type Metric struct {
	Horizontal, Vertical, Least float64
	Round                       bool // the bands count to the side as well
}

// Plain is the metric in which distances between curves without girth are metres.
var Plain = Metric{Least: 1}

// Lengths returns the horizontal and the vertical length that count as 1 between the
// segments of two curves before the points iEnd and jEnd.
func (m *Metric) Lengths(one, two *Girth, iEnd, jEnd int) (horizontal, vertical float64) {
	a, reachA := one.at(iEnd)
	b, reachB := two.at(jEnd)
	half, reach := (a+b)/2, m.Least+(reachA+reachB)
	horizontal, vertical = m.Horizontal*half+reach, m.Vertical*half+reach
	if one.Band != 0 || two.Band != 0 {
		p, q := a*one.Band, b*two.Band
		band := math.Sqrt(p*p + q*q)
		vertical += band
		if m.Round {
			horizontal += band
		}
	}
	return horizontal, vertical
}

// Closest returns the nearest approach of two polylines. Of approaches that are equally
// near it is the one with the lowest I, then the lowest J. ok is false when one has no
// points.
func Closest(a, b []Vec) (near Approach, ok bool) {
	return NewCurve(a).Closest(NewCurve(b), Plain, &Girth{}, &Girth{}, math.Inf(1))
}

// Closest returns the nearest approach to another curve in a metric with the girths of the
// two. ok is false when none is nearer than below. It looks at every pair of segments that
// could be it, so that the answer is that of trying them all.
func (c *Curve) Closest(d *Curve, metric Metric, mine, theirs *Girth, below float64) (near Approach, ok bool) {
	if len(c.points) == 0 || len(d.points) == 0 {
		return Approach{Distance: below}, false
	}
	s := search{c: c, d: d, metric: metric, mine: mine, theirs: theirs, best: Approach{Distance: below, I: -1}}
	s.within(below)
	// What rounding may take from a distance between places computed at this reach.
	s.slack = 1e-12 * (1 + c.reach + d.reach)
	n, m := c.Segments(), d.Segments()
	h, v := metric.Lengths(mine, theirs, n, m)
	s.wide2, s.high2 = 1/(h*h), 1/(v*v)
	if !(s.apart(&c.boxes[0], &d.boxes[0], n, m) > s.within2) {
		s.pair(0, 0, n, 0, 0, m)
	}
	return s.best, s.best.I >= 0
}

type search struct {
	c, d         *Curve
	metric       Metric
	mine, theirs *Girth
	slack        float64
	within2      float64 // square of the best distance, and what rounding may make of it
	wide2, high2 float64 // inverse squares of the lengths at the two ends, the greatest
	best         Approach
}

func (s *search) within(distance float64) { s.within2 = distance * distance * (1 + 1e-11) }

// apart returns the square of a distance that no two places in the boxes a and b, of
// segments before hi and to, are nearer than.
func (s *search) apart(a, b *box, hi, to int) float64 {
	x, y, z := a.lo.X-b.hi.X, a.lo.Y-b.hi.Y, a.lo.Z-b.hi.Z
	if e := b.lo.X - a.hi.X; e > x {
		x = e
	}
	if e := b.lo.Y - a.hi.Y; e > y {
		y = e
	}
	if e := b.lo.Z - a.hi.Z; e > z {
		z = e
	}
	if x -= s.slack; x < 0 {
		x = 0
	}
	if y -= s.slack; y < 0 {
		y = 0
	}
	if z -= s.slack; z < 0 {
		z = 0
	}
	side, up := x*x+y*y, z*z
	if far := side*s.wide2 + up*s.high2; far == 0 || far > s.within2 {
		return far // as near as can be, or too far even in the largest measure
	}
	h, v := s.metric.Lengths(s.mine, s.theirs, hi, to)
	h, v = h*h, v*v
	return (side*v + up*h) / (h * v)
}

// pair searches a pair of nodes of the two trees, k with segments lo to hi and m with from
// to to: the longer is halved, and its nearer half goes first.
func (s *search) pair(k, lo, hi, m, from, to int) {
	leafK, leafM := hi-lo <= leafSize, to-from <= leafSize
	switch {
	case leafK && leafM:
		s.leaf(lo, hi, from, to)
	case leafM || !leafK && hi-lo >= to-from:
		mid := (lo + hi) / 2
		one, two := s.apart(&s.c.boxes[2*k+1], &s.d.boxes[m], mid, to), s.apart(&s.c.boxes[2*k+2], &s.d.boxes[m], hi, to)
		if two < one && !(two > s.within2) {
			s.pair(2*k+2, mid, hi, m, from, to)
		}
		if !(one > s.within2) {
			s.pair(2*k+1, lo, mid, m, from, to)
		}
		if !(two < one || two > s.within2) {
			s.pair(2*k+2, mid, hi, m, from, to)
		}
	default:
		mid := (from + to) / 2
		one, two := s.apart(&s.c.boxes[k], &s.d.boxes[2*m+1], hi, mid), s.apart(&s.c.boxes[k], &s.d.boxes[2*m+2], hi, to)
		if two < one && !(two > s.within2) {
			s.pair(k, lo, hi, 2*m+2, mid, to)
		}
		if !(one > s.within2) {
			s.pair(k, lo, hi, 2*m+1, from, mid)
		}
		if !(two < one || two > s.within2) {
			s.pair(k, lo, hi, 2*m+2, mid, to)
		}
	}
}

func (s *search) leaf(lo, hi, from, to int) {
	for i := lo; i < hi; i++ {
		p, q := s.c.segment(i)
		one := box{p, p}
		one.take(&q, &q)
		for j := from; j < to; j++ {
			r, t := s.d.segment(j)
			two := box{r, r}
			two.take(&t, &t)
			if s.apart(&one, &two, i+1, j+1) > s.within2 {
				continue
			}
			h, v := s.metric.Lengths(s.mine, s.theirs, i+1, j+1)
			got := segments(p, q, r, t, h, v)
			if got.Distance > s.best.Distance {
				continue
			}
			if got.Distance == s.best.Distance && (s.best.I < 0 || i > s.best.I || i == s.best.I && j >= s.best.J) {
				continue
			}
			got.I, got.J = i, j
			s.best = got
			s.within(got.Distance)
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
	det, whole := dd*ee-de*de, dd*ee
	a, b := de*ew-ee*dw, dd*ew-de*dw
	if det < 1e-4*whole {
		// The differences of products lose digits with the square of the angle, cross
		// products with the angle.
		n := d.Cross(e)
		det, a, b = n.Dot(n), e.Cross(w).Dot(n), d.Cross(w).Dot(n)
	}
	if det > 1e-24*whole {
		a, b = a/det, b/det
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
