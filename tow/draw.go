package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/num"
)

// drawPasses bounds Newton's method on the mesh from a rough shape, drawRounds how often
// it begins again from a new one.
const (
	drawPasses = 12
	drawRounds = 5
)

// draw brings the ends of a rough shape, which eval has just made, together on the mesh and
// takes the unknowns from there, as far as that goes. It reports false when a ring finds no
// place on its line, which is the rule rather than the exception: it runs to an end, and
// its caller holds it there.
func (w *Solver) draw(norm float64) bool {
	m := &w.mesh
	for range drawRounds {
		if w.small(1) || !m.lay(w, 0) {
			break
		}
		done := m.settle(w, w.tol, drawPasses)
		if !done && !m.leapt && m.share < 0.3 && len(w.plan.rings) > 0 {
			return false
		}
		if done {
			m.adopt(w)
			break
		}
		var better bool
		if norm, better, _ = w.try(norm, 1); !better {
			break
		}
	}
	return true
}

// try evaluates the unknowns that the mesh has and keeps them if what is missed falls below
// so many times norm; else it goes back to where it was.
func (w *Solver) try(norm, times float64) (now float64, better, ok bool) {
	copy(w.xt, w.x)
	copy(w.baseWas, w.base)
	if w.mesh.adopt(w) {
		if now, ok = w.eval(w.x, w.res); ok && now < times*norm {
			return now, true, true
		}
	}
	copy(w.x, w.xt)
	copy(w.base, w.baseWas)
	now, ok = w.eval(w.x, w.res)
	return now, false, ok
}

// steerPasses bounds the steps with kept matrices, steered is how many times what an
// iteration aims for may be left, less than half of what was asked for.
const (
	steerPasses = 8
	steered     = 3
)

// steer closes what is still missed with the matrices of the last mesh, while that goes
// quickly: each part is integrated once a pass, and depths, pulls and lengths are corrected
// together. It reports whether everything has come to rest.
func (w *Solver) steer() bool {
	if !w.mesh.factored {
		return false
	}
	w.once = true
	norm, ok := w.eval(w.x, w.res)
	for range steerPasses {
		if !ok || w.small(steered) {
			break
		}
		w.mesh.aim(w)
		var better bool
		if norm, better, ok = w.try(norm, 0.5); !better {
			w.mesh.factored = false
			break
		}
	}
	w.once = false
	if !ok || !w.small(steered) {
		return false
	}
	w.sol.Residual = math.Max(w.sol.Residual, norm*w.scale)
	return true
}

// aim moves the mesh's unknowns from where the solver's are, so that what eval misses would
// vanish were everything linear.
func (m *mesh) aim(w *Solver) {
	row := 0
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		m.res[row] = b.miss
		if b.fixed {
			for k := range 3 {
				m.res[row+k] = w.res[b.resid+k] * w.scale
			}
			if row += 3; b.pull == 0 {
				continue
			}
			m.res[row] = 0
		}
		row++
	}
	for i := range w.plan.rings {
		m.res[row+i] = w.ringD[i] / 2 * w.ringPull[i]
	}
	for i := range m.dx {
		m.dx[i] = -m.res[i]
	}
	num.Back(m.jac, m.piv, m.dx, m.n)
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		p, d := &m.points[m.runs[b.lines[0]].first], m.dx[m.col[bi]:]
		if b.fixed {
			p.f = w.leafPull(bi, w.x).Add(geom.Vec{X: d[0], Y: d[1], Z: d[2]})
		} else {
			p.r.Z = b.hint + d[0]
		}
	}
	for k, l := range w.plan.open {
		w.sol.Length[l] += m.dx[m.open0+k]
	}
}

// adopt takes a solver's unknowns from the mesh; false when they make no sense.
func (m *mesh) adopt(w *Solver) bool {
	for _, l := range w.plan.open {
		if !(w.sol.Length[l] > 1e-6*w.scale) {
			return false
		}
	}
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		leaf := &m.points[m.runs[b.lines[0]].first]
		if !leaf.f.Finite() || !leaf.r.Finite() {
			return false
		}
		if !b.fixed {
			if math.Abs(b.hint-leaf.r.Z) > 0.1*w.tol {
				b.solved = false
			}
			b.hint, b.warm = leaf.r.Z, true
			continue
		}
		w.base[bi] = leaf.f
		if b.pull > 0 {
			w.base[bi] = leaf.f.Unit()
			w.x[b.offset], w.x[b.offset+1] = 0, 0
			continue
		}
		d := leaf.f.Scale(1 / w.weigh(bi))
		w.x[b.offset], w.x[b.offset+1], w.x[b.offset+2] = d.X, d.Y, d.Z
	}
	for i, l := range w.plan.open {
		w.x[w.plan.unknowns-len(w.plan.open)+i] = w.sol.Length[l] / w.scale
	}
	return true
}
