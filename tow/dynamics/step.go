package dynamics

import (
	"math"

	"sternfan/geom"
)

// step solves for the state h later. It reports false when Newton's method did not
// converge.
func (d *Run) step(h float64) bool {
	w := h / d.h1
	c1, c2 := (1+w)*(1+w)/(1+2*w), w*w/(1+2*w)
	d.k = (1 + 2*w) / (h * (1 + w))
	// Weights of the quadratic through the last three places, at the new time.
	a, b := d.h1, d.h1+d.h2
	q0 := (h + a) * (h + b) / (a * b)
	q1 := -h * (h + b) / (a * (b - a))
	q2 := h * (h + a) / (b * (b - a))
	d.course.At(d.t+h, &d.pose)
	for i := range d.points {
		p := &d.points[i]
		if i < d.fixed {
			p.r, p.v = d.pose.Point(p.at)
			continue
		}
		p.rs = p.r0.Scale(c1).AddScaled(-c2, p.r1)
		p.vs = p.v0.Scale(c1).AddScaled(-c2, p.v1)
		p.rp = p.r0.Scale(q0).AddScaled(q1, p.r1).AddScaled(q2, p.r2)
		p.r = p.rp
	}
	if len(d.paying) > 0 {
		d.stretch(h)
	}
	for i := range d.segs {
		s := &d.segs[i]
		s.tension = s.held
		s.mode = slack
		s.reels = s.winch && s.length > 1.01*leastLength
		switch {
		case s.reels:
			s.mode, s.tension = slipping, s.limit
		case s.held > 0:
			s.mode = taut
		}
	}
	d.ready()
	return d.newton()
}

// settled is a correction that is rounding's, in units of what is allowed.
const settled = 1e-4

// newton solves the step's equations from the predicted places. The tensions are
// unknowns beside the places (as T = stiff (span - rest) is linear in both, they drop out
// of the matrix): a stiff line then costs no more iterations than a soft one. A segment
// whose tension comes out negative goes slack, a slack one that is stretched takes load
// again, before the next iteration.
func (d *Run) newton() bool {
	full, last := true, 0.0
	for it := range maxNewton {
		d.count.Iterations++
		d.assemble(full)
		if full {
			d.count.Factored++
			if !d.factor() {
				return false
			}
		}
		d.solve()
		shift, stopped := 0.0, false
		if len(d.sliders) > 0 {
			shift, stopped = d.slide(full)
		}
		size, far, changed := d.correct()
		if len(d.sliders) > 0 {
			size = math.Max(size, shift)
			changed = d.release() || stopped || changed
		}
		if !(far < 1e4) {
			return false
		}
		if it > 0 {
			d.rate = math.Max(size/last, 1e-3)
		}
		// What is left after this correction, by the rate at which they shrink.
		if !changed && (size < settled || d.rate < 0.5 && size*d.rate/(1-d.rate) < 1 && (it > 0 || d.rate < 0.05)) {
			if it == 0 {
				// Taken on trust; the trust wears off.
				d.rate *= 2
			}
			d.velocities()
			return true
		}
		full = changed || it > 0 && d.rate > 0.1
		last = size
	}
	return false
}

// velocities brings the points' velocities to their places.
func (d *Run) velocities() {
	k := d.k
	for i := d.fixed; i < len(d.points); i++ {
		p := &d.points[i]
		p.v = p.r.Sub(p.rs).Scale(k)
	}
}

// The parts of the tolerances that Newton's method may leave.
const (
	placeShare = 0.1  // of what a step may be off
	pullShare  = 1e-3 // of the greatest pull at rest
)

// correct applies the correction. size is its largest part against what is allowed to be
// left, of places and of tensions; far is the largest move, m; changed says that a
// segment went slack or took load.
func (d *Run) correct() (size, far float64, changed bool) {
	for i := d.fixed; i < len(d.points); i++ {
		x := d.blocks[i].right
		p := &d.points[i]
		p.r.X += x.X
		p.r.Y += x.Y
		p.r.Z += x.Z
		n := x.X*x.X + x.Y*x.Y + x.Z*x.Z
		if !(n <= far) {
			far = n // and when it is not a number
		}
	}
	far = math.Sqrt(far)
	pull := 0.0
	for i := range d.segs {
		s := &d.segs[i]
		if s.up < 0 {
			continue
		}
		least := d.mats[s.line].least
		var x geom.Vec
		if int(s.up) >= d.fixed {
			x = d.blocks[s.up].right
		}
		if i >= d.fixed {
			y := &d.blocks[i].right
			x.X -= y.X
			x.Y -= y.Y
			x.Z -= y.Z
		}
		now := (s.span + s.t.Dot(x) - s.rest) / s.give
		was := s.mode
		switch {
		case s.reels:
			now = s.limit
		case s.joined:
			if was == slack {
				now = 0
			}
		case was == slack && now < least, was == slipping && now > s.limit-least:
			now = s.tension
		case now < 0:
			now, s.mode = math.Max(0, now), slack
			changed = changed || s.tension > least || now < -least
		case now > s.limit:
			now, s.mode = s.limit, slipping
			changed = true
		case was != taut:
			s.mode = taut
			changed = true
		}
		pull = max(pull, math.Abs(now-s.tension)/least)
		s.tension = now
	}
	return math.Max(far/(placeShare*d.atol), pull), far, changed
}

// miss returns the local error of the step against the tolerance: the formula's own,
// h3/6 (1+w)2/(w (1+2w)) r”', with r”' from the distance to the predicted place.
func (d *Run) miss(h float64) float64 {
	most := 0.0
	for i := d.fixed; i < len(d.points); i++ {
		p := &d.points[i]
		x := p.r.Sub(p.rp)
		most = max(most, x.Dot(x))
	}
	w := h / d.h1
	c := h * h * h * (1 + w) * (1 + w) / (w * (1 + 2*w)) / (h * (h + d.h1) * (h + d.h1 + d.h2))
	return c * math.Sqrt(most) / d.atol
}

// accept makes the step the present.
func (d *Run) accept(h float64) {
	d.count.Steps++
	for i := range d.points {
		p := &d.points[i]
		p.r2, p.r1, p.v1 = p.r1, p.r0, p.v0
		p.r0, p.v0 = p.r, p.v
	}
	d.t += h
	d.h2, d.h1 = d.h1, h
	d.look = d.t
	for i := range d.segs {
		d.segs[i].held = d.segs[i].tension
		if d.opt.Hands && d.segs[i].up >= 0 {
			m := &d.mats[d.segs[i].line]
			m.least = math.Max(m.least, pullShare*d.segs[i].tension)
		}
	}
	if len(d.paying) > 0 {
		d.settleLengths()
	}
	d.weighRings()
}
