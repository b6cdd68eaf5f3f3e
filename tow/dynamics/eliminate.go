package dynamics

import (
	"math"

	"sternfan/geom"
)

// factor eliminates every point into the next one toward the boat. It reports false when
// a pivot vanished.
func (d *Run) factor() bool {
	for i := d.fixed; i < len(d.points); i++ {
		b := &d.blocks[i]
		if !decompose(&b.diag) {
			return false
		}
		up := int(d.segs[i].up)
		if up < d.fixed {
			continue
		}
		x := &b.up
		m := &b.diag
		for j := range 3 {
			y0 := x[0][j]
			y1 := x[1][j] - m[1][0]*y0
			y2 := (x[2][j] - m[2][0]*y0 - m[2][1]*y1) * m[2][2]
			y1 = (y1 - m[1][2]*y2) * m[1][1]
			x[2][j], x[1][j] = y2, y1
			x[0][j] = (y0 - m[0][1]*y1 - m[0][2]*y2) * m[0][0]
		}
		p := &d.blocks[up].diag
		w := &b.down
		for r := range 3 {
			w0, w1, w2 := w[r][0], w[r][1], w[r][2]
			p[r][0] -= w0*x[0][0] + w1*x[1][0] + w2*x[2][0]
			p[r][1] -= w0*x[0][1] + w1*x[1][1] + w2*x[2][1]
			p[r][2] -= w0*x[0][2] + w1*x[1][2] + w2*x[2][2]
		}
	}
	return true
}

// decompose replaces m by its factors L U, L of unit diagonal, the pivots inverted. The
// matrix is that of a mass, a drag and a pull, positive but for the turn of loads, so
// that no rows need to change places; a step for which that fails is taken shorter.
func decompose(m *geom.Mat) bool {
	if !(math.Abs(m[0][0]) > 1e-300) {
		return false
	}
	m[0][0] = 1 / m[0][0]
	m[1][0] *= m[0][0]
	m[2][0] *= m[0][0]
	m[1][1] -= m[1][0] * m[0][1]
	m[1][2] -= m[1][0] * m[0][2]
	if !(math.Abs(m[1][1]) > 1e-300) {
		return false
	}
	m[1][1] = 1 / m[1][1]
	m[2][1] = (m[2][1] - m[2][0]*m[0][1]) * m[1][1]
	m[2][2] -= m[2][0]*m[0][2] + m[2][1]*m[1][2]
	if !(math.Abs(m[2][2]) > 1e-300) {
		return false
	}
	m[2][2] = 1 / m[2][2]
	return true
}

// solve turns the right sides into corrections with the factors at hand.
func (d *Run) solve() {
	n := len(d.points)
	for i := d.fixed; i < n; i++ {
		b := &d.blocks[i]
		m := &b.diag
		y := &b.right
		y.Y -= m[1][0] * y.X
		y.Z = (y.Z - m[2][0]*y.X - m[2][1]*y.Y) * m[2][2]
		y.Y = (y.Y - m[1][2]*y.Z) * m[1][1]
		y.X = (y.X - m[0][1]*y.Y - m[0][2]*y.Z) * m[0][0]
		if up := int(d.segs[i].up); up >= d.fixed {
			w := &b.down
			p := &d.blocks[up].right
			p.X -= w[0][0]*y.X + w[0][1]*y.Y + w[0][2]*y.Z
			p.Y -= w[1][0]*y.X + w[1][1]*y.Y + w[1][2]*y.Z
			p.Z -= w[2][0]*y.X + w[2][1]*y.Y + w[2][2]*y.Z
		}
	}
	for i := n - 1; i >= d.fixed; i-- {
		up := int(d.segs[i].up)
		if up < d.fixed {
			continue
		}
		b := &d.blocks[i]
		x := &b.up
		p := &d.blocks[up].right
		b.right.X -= x[0][0]*p.X + x[0][1]*p.Y + x[0][2]*p.Z
		b.right.Y -= x[1][0]*p.X + x[1][1]*p.Y + x[1][2]*p.Z
		b.right.Z -= x[2][0]*p.X + x[2][1]*p.Y + x[2][2]*p.Z
	}
}
