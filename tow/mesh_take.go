package tow

import (
	"math"

	"sternfan/num"
)

// take moves every point by its change and notes the largest, m. Steps that would turn a
// pull about or use up a section are shortened.
func (m *mesh) take(w *Solver, cautious bool) bool {
	for i := range m.dx {
		m.dx[i] = -m.res[i]
	}
	num.Back(m.jac, m.piv, m.dx, m.n)
	t := 1.0
	for l := range m.runs {
		r := &m.runs[l]
		for si := r.sec0; si < r.sec1; si++ {
			s := &m.secs[si]
			for _, c := range r.cols {
				s.change += m.secY[si*m.n+c] * m.dx[c]
			}
			if s.change < -0.7*s.length {
				t = math.Min(t, -0.7*s.length/s.change)
			}
		}
		for i := r.first; i <= r.last; i++ {
			p := &m.points[i]
			y := m.y[i*6*m.n:]
			for _, c := range r.cols {
				d, v := m.dx[c], y[c*6:c*6+6]
				p.ef.X += v[0] * d
				p.ef.Y += v[1] * d
				p.ef.Z += v[2] * d
				p.er.X += v[3] * d
				p.er.Y += v[4] * d
				p.er.Z += v[5] * d
			}
			if cautious {
				if d, f := p.ef.Norm(), p.f.Norm(); d > f {
					t = math.Min(t, f/d)
				}
			}
		}
	}
	m.leapt = false
	if !cautious {
		if t < 1 {
			return false
		}
		t = m.hasten()
	} else if t < 0.5 {
		if m.leapt = m.leap(w, t); m.leapt {
			return true
		}
	}
	far := 0.0
	for i := range m.points {
		p := &m.points[i]
		p.f, p.r = p.f.AddScaled(t, p.ef), p.r.AddScaled(t, p.er)
		far = math.Max(far, p.er.Dot(p.er))
	}
	for si := range m.secs {
		m.secs[si].length += t * m.secs[si].change
	}
	for k, l := range w.plan.open {
		w.sol.Length[l] += t * m.dx[m.open0+k]
	}
	m.moved = math.Sqrt(far)
	m.share = t
	return m.moved < 1e6 // false for NaN, too
}

// leap takes a change by the unknowns alone when they allow much more of it than t: the
// points' kinds of surroundings will change, and the shape must be made anew.
func (m *mesh) leap(w *Solver, t float64) bool {
	most := 1.0
	for k, l := range w.plan.open {
		if d := m.dx[m.open0+k]; d < -0.7*w.sol.Length[l] {
			most = math.Min(most, -0.7*w.sol.Length[l]/d)
		}
	}
	for bi := range w.plan.branches {
		if p := &m.points[m.runs[w.plan.branches[bi].lines[0]].first]; w.plan.branches[bi].fixed {
			if d, f := p.ef.Norm(), p.f.Norm(); d > f {
				most = math.Min(most, f/d)
			}
		}
	}
	if most < 2*t {
		return false
	}
	for bi := range w.plan.branches {
		p := &m.points[m.runs[w.plan.branches[bi].lines[0]].first]
		p.f, p.r = p.f.AddScaled(most, p.ef), p.r.AddScaled(most, p.er)
	}
	for k, l := range w.plan.open {
		w.sol.Length[l] += most * m.dx[m.open0+k]
	}
	return true
}

// hasten returns by what factor to take a change when kept matrices bring each change near
// a multiple of the last: the step to where such changes end. Source: Irons & Tuck 1969,
// Int. J. Numer. Methods Eng. 1:275.
func (m *mesh) hasten() float64 {
	var now, cross float64
	for i := range m.points {
		p := &m.points[i]
		now += p.er.Dot(p.er)
		cross += p.er.Dot(p.was)
		p.was = p.er
	}
	t := 1.0
	if k := cross / m.before; m.before > 0 && cross*cross > 0.8*now*m.before && k > -3 && k < 0.7 {
		t = 1 / (1 - k)
	}
	m.before = now
	if t != 1 {
		// The change taken is t times; what comes next compares with none.
		m.before = math.Inf(1)
	}
	return t
}

// settle iterates with fresh matrices until the points are likely to stay within tol, m. It reports false
// also when a step had to be shortened twice running: the shape is too far from rest, or
// there is none.
func (m *mesh) settle(w *Solver, tol float64, most int) bool {
	short, last := 0, 0.0
	for range most {
		if !m.pass(w, true) || !m.take(w, true) {
			return false
		}
		w.sol.Iterations++
		if m.leapt {
			return false
		}
		// What is left shrinks by the same factor again, or by more.
		if m.moved < tol || m.moved < 8*tol && m.share == 1 && m.moved*m.moved < tol*last {
			return true
		}
		last = m.moved
		if m.share < 1 {
			last = 0
		}
		short++
		if m.share > 0.5 {
			short = 0
		}
		if short == 2 {
			return false
		}
	}
	return false
}
