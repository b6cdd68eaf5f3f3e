package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/portable"
	"sternfan/water"
)

// mesh is a system's state on points along its lines, for Newton's method on all of it at
// once. Between points the equations (E6) hold in the form of Hermite and Simpson (the
// fourth-order Lobatto collocation): with y = (F, r), y' = f(y) and a step h,
//
//	y1 - y0 - h/6 (f0 + 4 fm + f1) = 0,  ym = (y0 + y1)/2 + h/8 (f0 - f1)
//
// The unknowns left after eliminating the points are the depth of each free leaf, the
// pull at each fixed one and the open lengths. Where a line passes through the surface or
// an edge of fouling a point stays on that edge and the lengths on both sides give.
//
// It serves two ends: from a rough shape it brings coupled ends together, and near a
// solution it answers small changes of the system with the matrices of that solution.
type mesh struct {
	n        int // unknowns
	points   []point
	start    []point // the solution about which it was made
	cells    []cell
	secs     []section
	runs     []run     // by line
	sides    []side    // by node: how its bodies' load answers
	y        []float64 // by point and unknown: 6 derivatives, of F and r
	secY     []float64 // by section and unknown: derivative of its length
	dl       []float64 // by unknown, while a line is worked out
	cols     []int     // unknowns, while they are shared out
	jac      []float64
	res, dx  []float64
	piv      []int
	col      []int // by branch: its first unknown
	open0    int
	marks    []mark
	length   []float64 // by line, of the start
	begun    []float64 // by section, length of the start
	found    found     // the answer about which it was made
	still    bool      // there is one
	moved    float64   // the last change, m
	share    float64   // of the last change that was taken
	bent     float64   // the slowest that changes have shrunk from pass to pass, by how far off, 1/m
	factored bool      // jac is good for a start
	shaped   bool      // it has the form of the solver's plan
	leapt    bool      // it was taken by the unknowns alone
	before   float64   // sum of squares of the one before; +Inf: none
	ok       bool
}

// point is a state on a line, what its equations miss, carried along, and how it answers
// to the length of the section in which it lies.
type point struct {
	f, r   geom.Vec
	ef, er geom.Vec
	gf, gr geom.Vec
	was    geom.Vec // the last change of r
}

// cell is the step between two points, linearized: the change at its end is a times that
// at its start less b times what its own equations miss.
type cell struct {
	w    float64 // share of its section
	a, b [6][4]float64
}

// section is a piece of line in one kind of surroundings.
type section struct {
	first, last int // points
	cell        int // its first
	zone        int
	end         ending
	deeper      int // the zone whose upper edge its end lies on
	length      float64
	change      float64
	gf, gr      geom.Vec // how its last point answers to its length
}

type ending uint8

const (
	endLast  ending = iota // the line's end: takes up what the others give
	endEdge                // stays on an edge
	endFixed               // keeps its length
)

// run is where a line's pieces lie, and which unknowns move it.
type run struct {
	sec0, sec1 int
	first      int
	last       int
	cols       []int
}

// side is the derivative of the load of a node's bodies.
type side struct {
	byBelow geom.Vec // by the pull from below
	dir     geom.Vec // of that pull
	byDepth geom.Vec
}

// flat is the slope below which a line is not held on an edge it crosses.
const flat = 0.03

// lay makes the mesh from the samples of the last sweep. Steps along which the line turns
// by less than turn, rad, join to one cell. It reports false for states that it has no
// form for.
func (m *mesh) lay(w *Solver, turn float64) bool {
	sys := w.sys
	m.ok, m.factored = false, false
	if w.sol.Laid > 0 {
		return false
	}
	samples := 0
	for _, s := range w.sol.Samples {
		samples += len(s)
	}
	m.points, m.cells, m.secs = room(m.points, samples), room(m.cells, samples), m.secs[:0]
	if !m.shaped {
		m.runs = longer(m.runs, len(sys.Lines))
		m.sides = anew(m.sides, len(sys.Nodes))
		m.col = anew(m.col, len(w.plan.branches))
		m.length = anew(m.length, len(sys.Lines))
		m.n = 0
		for bi := range w.plan.branches {
			m.col[bi] = m.n
			if w.plan.branches[bi].fixed {
				m.n += 3
			} else {
				m.n++
			}
		}
		m.open0 = m.n
		m.n += len(w.plan.open)
		m.columns(w)
		m.jac, m.piv = anew(m.jac, m.n*m.n), anew(m.piv, m.n)
		m.res, m.dx, m.dl = anew(m.res, m.n), anew(m.dx, m.n), anew(m.dl, m.n)
		m.shaped = true
	}
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		if !b.fixed && len(sys.Nodes[b.leaf].Bodies) == 0 {
			return false
		}
		if o := w.owner(b.join); b.fixed && b.join != sys.Root && o != 0 && !w.plan.branches[o].fixed {
			return false
		}
		for _, l := range b.lines {
			if !m.layLine(w, l, turn) {
				return false
			}
		}
	}
	m.y = grow(m.y, len(m.points)*m.n*6)
	m.secY = grow(m.secY, len(m.secs)*m.n)
	// Unknowns that do not move a line stay at zero there.
	clear(m.y)
	clear(m.secY)
	return true
}

// room empties a slice that will take up to n elements.
func room[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, 0, n+n/4)
	}
	return s[:0]
}

func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n+n/4)[:n]
	}
	return s[:n]
}

// columns notes which unknowns move each line: its branch's own, and those of what joins
// on the way.
func (m *mesh) columns(w *Solver) {
	for bi := len(w.plan.branches) - 1; bi >= 0; bi-- {
		b := &w.plan.branches[bi]
		m.cols = m.cols[:0]
		for k := range b.width() {
			m.cols = append(m.cols, m.col[bi]+k)
		}
		for i, l := range b.lines {
			if i > 0 {
				for _, j := range w.plan.joining[w.sys.Lines[l].From] {
					c := &w.plan.branches[j]
					m.cols = append(m.cols, m.runs[c.lines[len(c.lines)-1]].cols...)
				}
			}
			for k, o := range w.plan.open {
				if o == l {
					m.cols = append(m.cols, m.open0+k)
				}
			}
			m.runs[l].cols = append(m.runs[l].cols[:0], m.cols...)
		}
	}
}

// width returns how many unknowns a branch's leaf has on the mesh.
func (b *branch) width() int {
	if b.fixed {
		return 3
	}
	return 1
}

// kindOf tells zones apart in which a line's load jumps.
func (w *Solver) kindOf(k int) int {
	z := &w.zones[k]
	switch {
	case z.air:
		return 0
	case z.fouled:
		return 2
	}
	return 1
}

func (m *mesh) layLine(w *Solver, l int, turn float64) bool {
	s := w.sol.Samples[l]
	if len(s) < 2 {
		return false
	}
	r := &m.runs[l]
	r.sec0, r.first = len(m.secs), len(m.points)
	m.points = append(m.points, point{f: s[0].F, r: s[0].R})
	kind, begin, from, zone := -1, 0, 0, -1 // from: the sample at which the present cell begins
	kinks := 0.0                            // that it spans, 1/m
	for i := 1; i < len(s); i++ {
		z := w.zoneAt((s[i-1].R.Z + s[i].R.Z) / 2)
		if k := w.kindOf(z); k != kind {
			if kind >= 0 {
				m.cell(s, from, i-1, turn)
				prev := &m.secs[len(m.secs)-1]
				m.close(prev, s[i-1].S-s[begin].S)
				prev.deeper = max(prev.zone, z)
				f := s[i-1].F
				prev.end = endEdge
				if slope := math.Abs(f.Z) / f.Norm(); slope < flat/10 && (kind == 0 || k == 0) {
					return false
				} else if slope < flat && kind != 0 && k != 0 {
					prev.end = endFixed
				}
				begin, from, kinks = i-1, i-1, 0
			}
			kind = k
			m.secs = append(m.secs, section{first: len(m.points) - 1, cell: len(m.cells)})
		}
		m.secs[len(m.secs)-1].zone = z
		if i-from > 1 && z != zone {
			kinks += w.kink(max(z, zone))
		}
		zone = z
		if i-from > 1 && (turned(&s[from].F, &s[i].F, turn) || kinks*math.Abs(s[i].R.Z-s[from].R.Z) > mostKink) {
			m.cell(s, from, i-1, turn)
			from, kinks = i-1, 0
		}
	}
	m.cell(s, from, len(s)-1, turn)
	m.close(&m.secs[len(m.secs)-1], s[len(s)-1].S-s[begin].S)
	r.sec1, r.last = len(m.secs), len(m.points)-1
	return true
}

// mostKink is by how much, relative, a kink may change the speed over a cell.
const mostKink = 0.2

// kink returns by how much the water's speed bends at the upper edge of zone k, relative
// to the boat's, 1/m.
func (w *Solver) kink(k int) float64 {
	edge := w.zones[k].lo
	if !(edge > 0) || w.uniform {
		return 0
	}
	var above, below water.State
	w.water.At(edge-1e-6, &above)
	w.water.At(edge+1e-6, &below)
	return portable.Hypot(above.DCx-below.DCx, above.DCy-below.DCy) / w.env.Speed
}

// turned reports whether a pull b points elsewhere than a by more than turn, rad, or differs
// from it by as much.
func turned(a, b *geom.Vec, turn float64) bool {
	d := b.Sub(*a)
	return d.Dot(d) > turn*turn*a.Dot(*a)
}

// close ends a section of the given length at the last point.
func (m *mesh) close(s *section, length float64) {
	s.last, s.length, s.end = len(m.points)-1, length, endLast
	for c := s.cell; c < len(m.cells); c++ {
		m.cells[c].w /= length
	}
}

// cell adds the cell between two samples; a step along which the line turns by far more
// than turn makes two.
func (m *mesh) cell(s []Sample, from, to int, turn float64) {
	a, b := &s[from], &s[to]
	h := b.S - a.S
	if turn > 0 && to == from+1 && turned(&a.F, &b.F, 1.5*turn) {
		// Its middle: the cubic through places and directions, and the mean pull; the
		// iterations do the rest.
		h /= 2
		r := a.R.Add(b.R).Scale(0.5).AddScaled(h/4, a.F.Unit().Sub(b.F.Unit()))
		m.points = append(m.points, point{f: a.F.Add(b.F).Scale(0.5), r: r})
		m.cells = append(m.cells, cell{w: h})
	}
	m.points = append(m.points, point{f: b.F, r: b.R})
	m.cells = append(m.cells, cell{w: h})
}
