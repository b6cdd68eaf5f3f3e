package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/num"
)

// pass works out what the equations miss everywhere, carried along the lines, and with
// fresh the matrices, too.
func (m *mesh) pass(w *Solver, fresh bool) bool {
	for bi := len(w.plan.branches) - 1; bi >= 0; bi-- {
		b := &w.plan.branches[bi]
		for i, l := range b.lines {
			prev := -1
			if i > 0 {
				prev = m.runs[b.lines[i-1]].last
			}
			m.enter(w, bi, l, prev, fresh)
			if !m.line(w, l, fresh) {
				return false
			}
		}
	}
	return m.balance(w, fresh)
}

// enter works out the first point of a line: the leaf, or what comes over from below.
func (m *mesh) enter(w *Solver, bi, l, prev int, fresh bool) {
	node := w.sys.Lines[l].From
	r := &m.runs[l]
	at := &m.points[r.first]
	n6 := 6 * m.n
	y := m.y[r.first*n6 : (r.first+1)*n6]
	if fresh {
		clear(y)
	}
	if b := &w.plan.branches[bi]; b.fixed && prev < 0 {
		at.ef, at.er = geom.Vec{}, w.sys.Nodes[node].At.Sub(at.r)
		if fresh {
			for k := range 3 {
				y[(m.col[bi]+k)*6+k] = 1
			}
		}
		return
	}
	var f, ef, below, ebelow geom.Vec
	if prev >= 0 {
		p := &m.points[prev]
		f, ef, below, ebelow = p.f, p.ef, p.f, p.ef
		at.er = p.r.Sub(at.r).Add(p.er)
		if fresh {
			from := m.y[prev*n6 : (prev+1)*n6]
			for _, c := range r.cols {
				copy(y[c*6:c*6+6], from[c*6:c*6+6])
			}
		}
		for _, j := range w.plan.joining[node] {
			c := &w.plan.branches[j]
			run := &m.runs[c.lines[len(c.lines)-1]]
			q := &m.points[run.last]
			f, ef = f.Add(q.f), ef.Add(q.ef)
			if !c.fixed {
				below, ebelow = below.Add(q.f), ebelow.Add(q.ef)
			}
		}
	} else {
		at.er = geom.Vec{}
		if fresh {
			y[m.col[bi]*6+5] = 1
		}
	}
	s := &m.sides[node]
	var jac *hydro.BodyJac
	var sum hydro.BodyJac
	if fresh {
		*s = side{dir: below.Unit()}
		jac = &sum
	}
	// Moved only by what is carried from below: the load follows its place.
	load := w.bodiesJac(node, below, at.r.Z, jac)
	if fresh {
		s.byBelow = sum.Below
		s.byDepth = sum.Depth
		if !w.uniform {
			s.byDepth = s.byDepth.Add(sum.Flow.MulVec(geom.Vec{X: w.state.DCx, Y: w.state.DCy}))
		}
	}
	at.ef = f.Sub(load).Sub(at.f).Add(ef).AddScaled(-s.dir.Dot(ebelow), s.byBelow).AddScaled(-at.er.Z, s.byDepth)
	if !fresh {
		return
	}
	for _, c := range r.cols {
		o := y[c*6 : c*6+6]
		b := geom.Vec{X: o[0], Y: o[1], Z: o[2]}
		t := b
		if prev >= 0 {
			for _, j := range w.plan.joining[node] {
				ch := &w.plan.branches[j]
				q := m.y[m.runs[ch.lines[len(ch.lines)-1]].last*n6+c*6:]
				v := geom.Vec{X: q[0], Y: q[1], Z: q[2]}
				t = t.Add(v)
				if !ch.fixed {
					b = b.Add(v)
				}
			}
		}
		t = t.AddScaled(-s.dir.Dot(b), s.byBelow).AddScaled(-o[5], s.byDepth)
		o[0], o[1], o[2] = t.X, t.Y, t.Z
	}
}

// bodiesJac is bodies with derivatives, which are summed into jac when it is not nil.
func (w *Solver) bodiesJac(node int, below geom.Vec, z float64, jac *hydro.BodyJac) geom.Vec {
	if jac == nil {
		return w.bodies(node, below, z)
	}
	var load geom.Vec
	w.water.At(z, &w.state)
	at := hydro.Surroundings{Depth: z, Rho: w.state.Rho, Nu: w.state.Nu, Bottom: w.env.bottom(),
		Flow: geom.Vec{X: w.state.Cx - w.boat.X, Y: w.state.Cy - w.boat.Y}, Motion: w.boat, Below: below.Norm()}
	var one hydro.BodyJac
	for i := range w.sys.Nodes[node].Bodies {
		load = load.Add(w.sys.Nodes[node].Bodies[i].Load(&at, &one))
		for r := range 3 {
			for c := range 3 {
				jac.Flow[r][c] += one.Flow[r][c]
			}
		}
		jac.Depth, jac.Below = jac.Depth.Add(one.Depth), jac.Below.Add(one.Below)
	}
	return load
}

// line carries the changes along a line.
func (m *mesh) line(w *Solver, l int, fresh bool) bool {
	r := &m.runs[l]
	left := w.sol.Length[l]
	for si := r.sec0; si < r.sec1; si++ {
		left -= m.secs[si].length
	}
	if fresh {
		for _, c := range r.cols {
			m.dl[c] = 0
		}
		for k, o := range w.plan.open {
			if o == l {
				m.dl[m.open0+k] = 1
			}
		}
	}
	e := element{line: &w.sys.Lines[l].Props}
	for si := r.sec0; si < r.sec1; si++ {
		s := &m.secs[si]
		if s.zone >= len(w.zones) {
			return false
		}
		w.enter(&e, s.zone)
		if fresh {
			if !m.remake(w, &e, s, r.cols) {
				return false
			}
		} else {
			m.follow(w, &e, s)
		}
		if !m.ends(w, r, si, &left, fresh) {
			return false
		}
	}
	return true
}

// remake works out a section's matrices and carries along it what its equations miss and how
// its points answer to the unknowns that move it.
func (m *mesh) remake(w *Solver, e *element, s *section, cols []int) bool {
	var ra, rm, rb rate
	a := &m.points[s.first]
	a.gf, a.gr = geom.Vec{}, geom.Vec{}
	w.meshJac(e, a.f, a.r.Z, &ra)
	for i := s.first; i < s.last; i++ {
		a, b := &m.points[i], &m.points[i+1]
		c := &m.cells[s.cell+i-s.first]
		h := c.w * s.length
		w.meshJac(e, b.f, b.r.Z, &rb)
		f, z := middle(a, b, &ra.f, &rb.f, h)
		w.meshJac(e, f, z, &rm)
		if !c.linearize(a, b, &ra, &rm, &rb, h) {
			return false
		}
		y := m.y[i*6*m.n:]
		for _, k := range cols {
			c.carry(y[k*6:k*6+6], y[(m.n+k)*6:(m.n+k)*6+6])
		}
		c.pass(a, b, &ra.f, &rm.f, &rb.f, h)
		ra = rb
	}
	s.gf, s.gr = m.points[s.last].gf, m.points[s.last].gr
	return true
}

// follow is remake with the matrices as they are.
func (m *mesh) follow(w *Solver, e *element, s *section) {
	var r0, r1, rm [6]float64
	ra, rb := &r0, &r1
	a := &m.points[s.first]
	w.meshRate(e, a.f, a.r.Z, ra)
	for i := s.first; i < s.last; i++ {
		b := &m.points[i+1]
		c := &m.cells[s.cell+i-s.first]
		h := c.w * s.length
		w.meshRate(e, b.f, b.r.Z, rb)
		f, z := middle(a, b, ra, rb, h)
		w.meshRate(e, f, z, &rm)
		c.pass(a, b, ra, &rm, rb, h)
		a, ra, rb = b, rb, ra
	}
}

// ends settles the change of a section's length and gives its points their share.
func (m *mesh) ends(w *Solver, r *run, si int, left *float64, fresh bool) bool {
	s := &m.secs[si]
	end := &m.points[s.last]
	switch s.end {
	case endLast:
		s.change = *left
	case endFixed:
		s.change = 0
	case endEdge:
		if s.deeper >= len(w.zones) || math.Abs(s.gr.Z) < flat/30 {
			return false
		}
		s.change = -(end.r.Z + end.er.Z - w.zones[s.deeper].lo) / s.gr.Z
	}
	*left -= s.change
	if s.change != 0 {
		for i := s.first + 1; i < s.last; i++ {
			p := &m.points[i]
			p.ef, p.er = p.ef.AddScaled(s.change, p.gf), p.er.AddScaled(s.change, p.gr)
		}
		end.ef, end.er = end.ef.AddScaled(s.change, s.gf), end.er.AddScaled(s.change, s.gr)
	}
	if !fresh {
		return true
	}
	for _, c := range r.cols {
		k := 0.0
		switch s.end {
		case endLast:
			k = m.dl[c]
		case endEdge:
			k = -m.y[(s.last*m.n+c)*6+5] / s.gr.Z
		}
		m.dl[c] -= k
		m.secY[si*m.n+c] = k
		if k == 0 {
			continue
		}
		for i := s.first + 1; i <= s.last; i++ {
			gf, gr := m.points[i].gf, m.points[i].gr
			if i == s.last {
				gf, gr = s.gf, s.gr
			}
			y := m.y[(i*m.n+c)*6 : (i*m.n+c)*6+6]
			y[0] += k * gf.X
			y[1] += k * gf.Y
			y[2] += k * gf.Z
			y[3] += k * gr.X
			y[4] += k * gr.Y
			y[5] += k * gr.Z
		}
	}
	return true
}

// balance fills the conditions at the ends: each row what is missed once the points have
// taken their change.
func (m *mesh) balance(w *Solver, fresh bool) bool {
	if fresh {
		clear(m.jac)
	}
	row := 0
	// put adds k times component comp of a point's change to the row.
	put := func(pt, comp int, k float64) {
		r := m.jac[row*m.n : (row+1)*m.n]
		y := m.y[pt*m.n*6:]
		for c := range r {
			r[c] += k * y[c*6+comp]
		}
	}
	mainEnd := m.lastOf(w, 0)
	root := w.sys.Nodes[w.sys.Root].At
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		last := m.lastOf(w, bi)
		end := m.points[last].r.Add(m.points[last].er)
		switch {
		case bi == 0:
			m.res[row] = end.Z - root.Z
			if fresh {
				put(last, 5, 1)
			}
			row++
		case !b.fixed:
			j := m.firstAt(w, b.join)
			m.res[row] = end.Z - m.points[j].r.Z - m.points[j].er.Z
			if fresh {
				put(last, 5, 1)
				put(j, 5, -1)
			}
			row++
		default:
			to, j := root, -1
			main := false
			if b.join != w.sys.Root {
				j = m.firstAt(w, b.join)
				to = m.points[j].r.Add(m.points[j].er)
				if main = w.owner(b.join) == 0; main {
					q := &m.points[mainEnd]
					to.X += root.X - q.r.X - q.er.X
					to.Y += root.Y - q.r.Y - q.er.Y
				}
			}
			d := end.Sub(to)
			for k, v := range [3]float64{d.X, d.Y, d.Z} {
				m.res[row] = v
				if fresh {
					put(last, 3+k, 1)
					if j >= 0 {
						put(j, 3+k, -1)
					}
					if main && k < 2 {
						put(mainEnd, 3+k, 1)
					}
				}
				row++
			}
			if b.pull > 0 {
				f := m.points[m.runs[b.lines[0]].first].f
				m.res[row] = f.Norm() - b.pull
				if fresh {
					u := f.Unit()
					c := m.jac[row*m.n+m.col[bi]:]
					c[0], c[1], c[2] = u.X, u.Y, u.Z
				}
				row++
			}
		}
	}
	for _, node := range w.plan.rings {
		above, below := m.aroundRing(w, node)
		a, b := &m.points[above], &m.points[below]
		ua, ub := a.f.Unit(), b.f.Unit()
		m.res[row] = a.f.Norm() - b.f.Norm() + ua.Dot(a.ef) - ub.Dot(b.ef)
		if fresh {
			for k, v := range [3]float64{ua.X, ua.Y, ua.Z} {
				put(above, k, v)
			}
			for k, v := range [3]float64{ub.X, ub.Y, ub.Z} {
				put(below, k, -v)
			}
		}
		row++
	}
	if row != m.n {
		return false
	}
	if fresh {
		m.factored = num.Factor(m.jac, m.piv, m.n)
	}
	return m.factored
}

func (m *mesh) lastOf(w *Solver, bi int) int {
	b := &w.plan.branches[bi]
	return m.runs[b.lines[len(b.lines)-1]].last
}

// firstAt returns the first point of the line that begins at a node.
func (m *mesh) firstAt(w *Solver, node int) int {
	for l := range w.sys.Lines {
		if w.sys.Lines[l].From == node {
			return m.runs[l].first
		}
	}
	panic("tow: a node without a line")
}

// aroundRing returns the points above and below a ring on its own line.
func (m *mesh) aroundRing(w *Solver, node int) (above, below int) {
	b := &w.plan.branches[w.owner(node)]
	for i, l := range b.lines {
		if w.sys.Lines[l].From == node {
			return m.runs[l].first, m.runs[b.lines[i-1]].last
		}
	}
	panic("tow: a ring without a line")
}
