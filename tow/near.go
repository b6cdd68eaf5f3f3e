package tow

import (
	"math"

	"sternfan/geom"
)

// nearer is by how much closer to rest than the tolerance a change is answered: the
// difference of two answers is what is asked for, and most of the error is in both.
const nearer = 0.2

// nearTurn is how far a line may turn over a cell of steps joined, rad.
const nearTurn = 0.2

// Linearize makes ready for calls of Near, at the answer of the last Solve. It reports
// false when that state has no such form: lines or bodies on the bottom, unloaded ends.
func (w *Solver) Linearize() bool {
	m := &w.near
	m.ok, m.still = false, false
	for i, p := range w.sol.Nodes {
		if len(w.sys.Nodes[i].Bodies) > 0 && p.Z > w.env.bottom()-depthClear {
			return false
		}
	}
	if w.sol.Status != Converged || !m.lay(w, nearTurn) {
		return false
	}
	m.found.take(w)
	if !m.settle(w, nearer*w.opt.Tolerance*w.span, 8) || !m.pass(w, true) {
		return false
	}
	m.start = append(m.start[:0], m.points...)
	m.begun = m.begun[:0]
	for i := range m.secs {
		m.begun = append(m.begun, m.secs[i].length)
	}
	copy(m.length, w.sol.Length)
	m.bent, m.ok, m.still = math.Inf(1), true, true
	return true
}

// Return puts the solver back to the answer about which Linearize was called. It reports
// false when there is none.
func (w *Solver) Return() bool {
	k := &w.near.found
	if !w.near.still {
		return false
	}
	w.sol.copy(&k.sol)
	copy(w.x, k.x)
	copy(w.base, k.base)
	copy(w.plan.branches, k.branches)
	return true
}

// found is what a solver needs to be at an answer once more.
type found struct {
	sol      Solution
	x        []float64
	base     []geom.Vec
	branches []branch
}

func (k *found) take(w *Solver) {
	k.sol.copy(&w.sol)
	k.x, k.base = append(k.x[:0], w.x...), append(k.base[:0], w.base...)
	k.branches = append(k.branches[:0], w.plan.branches...)
}

// copy makes the solution another's copy in its own memory.
func (s *Solution) copy(from *Solution) {
	own := *s
	*s = *from
	s.Nodes, s.Loads = append(own.Nodes[:0], from.Nodes...), append(own.Loads[:0], from.Loads...)
	s.Length = append(own.Length[:0], from.Length...)
	s.Samples = longer(own.Samples, len(from.Samples))
	for i, p := range from.Samples {
		s.Samples[i] = append(s.Samples[i][:0], p...)
	}
}

// Along says how far a change goes along an earlier one: Times of what [Solver.Mark] kept
// under Mark.
type Along struct {
	Mark  int
	Times float64
}

// Mark keeps under number i how far the last answer of Near lies from the solution, for
// later changes to begin there.
func (w *Solver) Mark(i int) {
	m := &w.near
	for len(m.marks) <= i {
		m.marks = append(m.marks, mark{})
	}
	k := &m.marks[i]
	k.points, k.secs, k.open = k.points[:0], k.secs[:0], k.open[:0]
	for j := range m.points {
		p, s := &m.points[j], &m.start[j]
		k.points = append(k.points, [2]geom.Vec{p.f.Sub(s.f), p.r.Sub(s.r)})
	}
	for j := range m.secs {
		k.secs = append(k.secs, m.secs[j].length-m.begun[j])
	}
	for _, l := range w.plan.open {
		k.open = append(k.open, w.sol.Length[l]-m.length[l])
	}
}

// mark is a change of the mesh.
type mark struct {
	points     [][2]geom.Vec // of F and r
	secs, open []float64     // of lengths
}

// place puts the mesh where a change is expected and returns how far that is from the
// solution, m.
func (m *mesh) place(w *Solver, along []Along) float64 {
	for i := range m.points {
		m.points[i].f, m.points[i].r = m.start[i].f, m.start[i].r
	}
	for i := range m.secs {
		m.secs[i].length = m.begun[i]
	}
	for _, l := range w.plan.open {
		w.sol.Length[l] = m.length[l]
	}
	for _, a := range along {
		k, t := &m.marks[a.Mark], a.Times
		for i := range k.points {
			p := &m.points[i]
			p.f, p.r = p.f.AddScaled(t, k.points[i][0]), p.r.AddScaled(t, k.points[i][1])
		}
		for i, d := range k.secs {
			m.secs[i].length += t * d
		}
		for i, l := range w.plan.open {
			w.sol.Length[l] += t * k.open[i]
		}
	}
	far := 0.0
	if len(along) > 0 {
		for i := range m.points {
			d := m.points[i].r.Sub(m.start[i].r)
			far = math.Max(far, d.Dot(d))
		}
	}
	return math.Sqrt(far)
}

// Near solves sys in env, both little changed from the last Solve, with the matrices of
// Linearize: fixed cost, no search. It begins at that solution, or as far from it as the
// changes it is said to go along. Only the places of the nodes are told.
// It reports false when the answer is too far off; then Solve is to be used, and
// Linearize after it, before Near serves again.
func (w *Solver) Near(sys *System, env *Env, opt Options, along ...Along) (*Solution, bool) {
	m := &w.near
	if !m.ok {
		return nil, false
	}
	w.begin(sys, env, opt)
	far := m.place(w, along)
	tol, last := nearer*w.opt.Tolerance*w.span, math.Inf(1)
	m.before = math.Inf(1)
	for pass := range nearPasses {
		w.sol.Iterations++
		if !m.pass(w, false) || !m.take(w, false) {
			return nil, false
		}
		if far == 0 {
			far = m.moved
		}
		// What is left shrinks by the same factor again: at first by a factor in proportion to
		// how far the answer is from the solution, as found before.
		k := m.moved / last
		if pass == 0 {
			if k = m.bent * far; len(along) > 0 {
				// Found for changes from the solution itself.
				k *= 2
			}
		} else if b := k / far; pass == 1 && (math.IsInf(m.bent, 1) || b > m.bent) {
			m.bent = b
		}
		left := m.moved * k / (1 - k)
		if pass > 0 {
			// Half of it and more is in what was taken: see hasten.
			left /= 2
		}
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
