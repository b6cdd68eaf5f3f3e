package tow

import (
	"math"

	"sternfan/geom"
)

// nearTolerance is how far a change's answer may be from rest, relative to depth: the
// difference of two answers is what is asked for, and most of the error is in both.
const nearTolerance = 2e-4

// nearTurn is how far a line may turn over a cell of steps joined, rad.
const nearTurn = 0.2

// Linearize makes ready for calls of Near, at the answer of the last Solve. It reports
// false when that state has no such form: lines or bodies on the bottom, unloaded ends.
func (w *Solver) Linearize() bool {
	m := &w.near
	m.ok = false
	for i, p := range w.sol.Nodes {
		if len(w.sys.Nodes[i].Bodies) > 0 && p.Z > w.env.bottom()-depthClear {
			return false
		}
	}
	if w.sol.Status != Converged || !m.lay(w, nearTurn) {
		return false
	}
	if !m.settle(w, nearTolerance*w.span, 8) || !m.pass(w, true) {
		return false
	}
	m.start = append(m.start[:0], m.points...)
	m.begun = m.begun[:0]
	for i := range m.secs {
		m.begun = append(m.begun, m.secs[i].length)
	}
	copy(m.length, w.sol.Length)
	m.bent, m.ok = math.Inf(1), true
	return true
}

// Near solves sys in env, both little changed from the last Solve, with the matrices of
// Linearize: fixed cost, no search. ahead is where to begin: 0 at that solution, -1 as far
// from it as the last answer, on the other side. Only the places of the nodes are told.
// It reports false when the answer is too far off; then Solve is to be used, and
// Linearize after it, before Near serves again.
func (w *Solver) Near(sys *System, env *Env, opt Options, ahead float64) (*Solution, bool) {
	m := &w.near
	if !m.ok {
		return nil, false
	}
	w.begin(sys, env, opt)
	for i := range m.points {
		p, s := &m.points[i], &m.start[i]
		p.f = s.f.Scale(1-ahead).AddScaled(ahead, p.f)
		p.r = s.r.Scale(1-ahead).AddScaled(ahead, p.r)
	}
	for i := range m.secs {
		m.secs[i].length = m.begun[i] + ahead*(m.secs[i].length-m.begun[i])
	}
	for _, l := range w.plan.open {
		w.sol.Length[l] = m.length[l] + ahead*(w.sol.Length[l]-m.length[l])
	}
	tol, last := nearTolerance*w.span, math.Inf(1)
	m.before = math.Inf(1)
	for pass := range nearPasses {
		w.sol.Iterations++
		if !m.pass(w, false) || !m.take(w, false) {
			return nil, false
		}
		// What is left shrinks by the same factor again: at first by a factor in proportion to
		// how far the answer is from the start, as found before.
		k := m.moved / last
		switch {
		case ahead != 0:
		case pass == 0:
			k = m.bent * m.moved
		case pass == 1:
			if b := k / last; math.IsInf(m.bent, 1) || b > m.bent {
				m.bent = b
			}
		}
		left := m.moved * k / (1 - k)
		if m.moved < tol || k > 0 && k < 0.8 && left < tol {
			return w.nodes(), m.within(w)
		}
		if pass > 0 && k > 2 {
			return nil, false
		}
		last = m.moved
	}
	return nil, false
}

// NearPull returns the tension at the From and the To end of line i as Near left it, N.
func (w *Solver) NearPull(i int) (from, to float64) {
	r := &w.near.runs[i]
	return w.near.points[r.first].f.Norm(), w.near.points[r.last].f.Norm()
}

// nearPasses bounds the passes of Near.
const nearPasses = 12

// nodes puts the mesh's places into the solution.
func (w *Solver) nodes() *Solution {
	m, sys := &w.near, w.sys
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		var by geom.Vec
		if !b.fixed {
			to := sys.Nodes[b.join].At
			if bi > 0 {
				to = w.sol.Nodes[b.join]
			}
			end := m.points[m.lastOf(w, bi)].r
			by = geom.Vec{X: to.X - end.X, Y: to.Y - end.Y}
		}
		for _, l := range b.lines {
			w.sol.Nodes[sys.Lines[l].From] = m.points[m.runs[l].first].r.Add(by)
		}
	}
	w.sol.Status = Converged
	return &w.sol
}

// within reports whether every section still lies in its own kind of surroundings.
func (m *mesh) within(w *Solver) bool {
	for i := range m.secs {
		s := &m.secs[i]
		k := w.kindOf(s.zone)
		for _, p := range [2]int{s.first, s.last} {
			z := m.points[p].r.Z
			slack := 0.1
			if k == 0 || z < slack {
				slack = 0.01
			}
			if w.kindOf(w.zoneAt(z-slack)) != k && w.kindOf(w.zoneAt(z+slack)) != k {
				return false
			}
		}
	}
	return true
}
