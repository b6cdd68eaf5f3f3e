package manoeuvre

import (
	"math"
	"slices"

	"sternfan/geom"
	"sternfan/tow/dynamics"
)

// Fix is a place of the boat at a time, north and east of the first one.
type Fix struct {
	T           float64 // s
	North, East float64 // m
}

// Smoothing and bounds of a track given point by point.
const (
	fixEvery  = 5.0  // s: fixes closer than this are averaged
	underWay  = 0.05 // m/s through the water below which the heading stays as it was
	mostFixes = 20000
)

// Way is a boat's way through given places: a cubic spline in time for each coordinate. Her heading is the direction in which she moves through the surface water.
type Way struct {
	t       []float64
	x, y    spline
	h       spline
	heading float64 // the first, true
	speed   float64 // through the surface water at its start, m/s
	length  float64
}

// NewWay returns the way through the fixes, in water whose surface sets north and east at
// so many m/s. ok is false when there are fewer than three places 5 s apart, or the times
// do not ascend.
func NewWay(fixes []Fix, setNorth, setEast float64) (w *Way, ok bool) {
	var even []Fix
	for i := 0; i < len(fixes) && len(even) < mostFixes; {
		sum, n := fixes[i], 1.0
		j := i + 1
		for ; j < len(fixes) && fixes[j].T < fixes[i].T+fixEvery-1e-9; j++ {
			if fixes[j].T < fixes[j-1].T {
				return nil, false
			}
			sum.T += fixes[j].T
			sum.North += fixes[j].North
			sum.East += fixes[j].East
			n++
		}
		even = append(even, Fix{sum.T / n, sum.North / n, sum.East / n})
		i = j
	}
	if len(even) < 3 {
		return nil, false
	}
	w = &Way{}
	var north, east []float64
	for i, f := range even {
		if i > 0 && f.T <= even[i-1].T {
			return nil, false
		}
		w.t = append(w.t, f.T-even[0].T)
		north, east = append(north, f.North-even[0].North), append(east, f.East-even[0].East)
	}
	n, e := newSpline(w.t, north), newSpline(w.t, east)
	// The heading turns without a jump, and stays where the boat makes no way.
	var heads []float64
	for i := range w.t {
		_, vn := n.at(w.t, w.t[i])
		_, ve := e.at(w.t, w.t[i])
		vn, ve = vn-setNorth, ve-setEast
		h := math.Atan2(ve, vn)
		if i == 0 {
			w.heading, w.speed = h, math.Sqrt(vn*vn+ve*ve)
		} else {
			last := heads[i-1]
			h = last + math.Remainder(h-last, 2*math.Pi)
			if math.Sqrt(vn*vn+ve*ve) < underWay {
				h = last
			}
		}
		heads = append(heads, h)
	}
	// Along the first heading and to starboard of it.
	sin, cos := math.Sincos(w.heading)
	x, y, h := slices.Clone(north), slices.Clone(north), slices.Clone(heads)
	for i := range x {
		x[i], y[i] = cos*north[i]+sin*east[i], cos*east[i]-sin*north[i]
		h[i] = heads[i] - w.heading
	}
	w.x, w.y, w.h = newSpline(w.t, x), newSpline(w.t, y), newSpline(w.t, h)
	w.length = w.t[len(w.t)-1]
	return w, true
}

// Heading returns the first heading, true, rad.
func (w *Way) Heading() float64 { return w.heading }

// Speed returns the speed through the surface water at the start, m/s.
func (w *Way) Speed() float64 { return w.speed }

// Duration returns how long it takes, s.
func (w *Way) Duration() float64 { return w.length }

// At gives the pose at time t.
func (w *Way) At(t float64, p *dynamics.Pose) {
	x, vx := w.x.at(w.t, t)
	y, vy := w.y.at(w.t, t)
	p.At, p.Velocity = geom.Vec{X: x, Y: y}, geom.Vec{X: vx, Y: vy}
	p.Heading, p.Yaw = w.h.at(w.t, t)
}

// Next returns that there are no kinks.
func (w *Way) Next(float64) float64 { return math.Inf(1) }

// spline is a cubic spline with parabolic ends: the values and the second derivatives at the knots.
type spline struct{ v, m []float64 }

func newSpline(t, v []float64) spline {
	n := len(t)
	s := spline{v: v, m: make([]float64, n)}
	c, d := make([]float64, n), make([]float64, n)
	for i := 1; i+1 < n; i++ {
		a, b := t[i]-t[i-1], t[i+1]-t[i]
		rhs := 6 * ((v[i+1]-v[i])/b - (v[i]-v[i-1])/a)
		// At the ends the curvature stays that of the next knot: a boat does not begin to turn
		// where her track happens to begin.
		diag := 2 * (a + b)
		if i == 1 {
			diag += a
		}
		if i+2 == n {
			diag += b
		}
		p := diag - a*c[i-1]
		c[i], d[i] = b/p, (rhs-a*d[i-1])/p
		if i+2 == n {
			c[i] = 0
		}
	}
	for i := n - 2; i > 0; i-- {
		s.m[i] = d[i] - c[i]*s.m[i+1]
	}
	if n > 2 {
		s.m[0], s.m[n-1] = s.m[1], s.m[n-2]
	}
	return s
}

// at returns value and slope; before the first and after the last knot it goes straight on.
func (s *spline) at(t []float64, x float64) (v, slope float64) {
	last := len(t) - 1
	i, _ := slices.BinarySearch(t, x)
	i = min(max(i, 1), last)
	h := t[i] - t[i-1]
	q := math.Min(math.Max(x, t[0]), t[last])
	a, b := (t[i]-q)/h, (q-t[i-1])/h
	v = a*s.v[i-1] + b*s.v[i] + ((a*a*a-a)*s.m[i-1]+(b*b*b-b)*s.m[i])*h*h/6
	slope = (s.v[i]-s.v[i-1])/h + ((3*b*b-1)*s.m[i]-(3*a*a-1)*s.m[i-1])*h/6
	return v + (x-q)*slope, slope
}
