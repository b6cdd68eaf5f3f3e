package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
)

// rate is the right-hand side at a point and its derivatives: j of (F', z') by (F, z), k of
// (x', y') by F.
type rate struct {
	f [6]float64 // F', z', x', y'
	j [4][4]float64
	k [2][4]float64
}

func (w *Solver) meshRate(e *element, f geom.Vec, z float64, out *[6]float64) {
	df, dr := w.slope(e, f, z)
	*out = [6]float64{df.X, df.Y, df.Z, dr.Z, dr.X, dr.Y}
}

func (w *Solver) meshJac(e *element, f geom.Vec, z float64, out *rate) {
	tension := math.Max(f.Norm(), 1e-12)
	inv := 1 / tension
	t := f.Scale(inv)
	// d(1 + T/EA) t / dF = (I - t tT)/T + I/EA
	k, stretch := inv+e.ea, 1+tension*e.ea
	tx, ty := -t.X*inv, -t.Y*inv
	out.k[0] = [4]float64{k + tx*t.X, tx * t.Y, tx * t.Z}
	out.k[1] = [4]float64{ty * t.X, k + ty*t.Y, ty * t.Z}
	out.j[3] = [4]float64{tx * t.Z, ty * t.Z, k - t.Z*inv*t.Z}
	if e.air {
		out.f = [6]float64{0, 0, -e.inAir, t.Z * stretch, t.X * stretch, t.Y * stretch}
		out.j[0], out.j[1], out.j[2] = [4]float64{}, [4]float64{}, [4]float64{}
		return
	}
	var jac hydro.WetJac
	if w.uniform {
		load := e.wet.LoadJac(t, e.u, &jac)
		out.f = [6]float64{-load.X, -load.Y, -load.Z, t.Z * stretch, t.X * stretch, t.Y * stretch}
		for i := range 3 {
			out.j[i] = [4]float64{-jac.Turn[i][0] * inv, -jac.Turn[i][1] * inv, -jac.Turn[i][2] * inv}
		}
		return
	}
	s := &w.state
	w.water.At(z, s)
	wet := e.dry.In(s.Rho, s.Nu)
	load := wet.LoadJac(t, geom.Vec{X: s.Cx - w.boat.X, Y: s.Cy - w.boat.Y}, &jac)
	out.f = [6]float64{-load.X, -load.Y, -load.Z, t.Z * stretch, t.X * stretch, t.Y * stretch}
	by := e.dry.ByRho(load, s.Rho).Scale(s.DRho)
	byZ := [3]float64{by.X, by.Y, by.Z}
	for i := range 3 {
		out.j[i] = [4]float64{-jac.Turn[i][0] * inv, -jac.Turn[i][1] * inv, -jac.Turn[i][2] * inv,
			-(byZ[i] + jac.Flow[i][0]*s.DCx + jac.Flow[i][1]*s.DCy)}
	}
}

// middle returns the state halfway along a step, from the rates at its ends.
func middle(a, b *point, ra, rb *[6]float64, h float64) (geom.Vec, float64) {
	k := h / 8
	return geom.Vec{
		X: (a.f.X+b.f.X)/2 + k*(ra[0]-rb[0]),
		Y: (a.f.Y+b.f.Y)/2 + k*(ra[1]-rb[1]),
		Z: (a.f.Z+b.f.Z)/2 + k*(ra[2]-rb[2]),
	}, (a.r.Z+b.r.Z)/2 + k*(ra[3]-rb[3])
}

// pass carries over the cell the change at its start and what its own equations miss, which
// it works out from the rates at start, middle and end.
func (c *cell) pass(a, b *point, ra, rm, rb *[6]float64, h float64) {
	k := h / 6
	d := [6]float64{
		b.f.X - a.f.X - k*(ra[0]+4*rm[0]+rb[0]),
		b.f.Y - a.f.Y - k*(ra[1]+4*rm[1]+rb[1]),
		b.f.Z - a.f.Z - k*(ra[2]+4*rm[2]+rb[2]),
		b.r.Z - a.r.Z - k*(ra[3]+4*rm[3]+rb[3]),
		b.r.X - a.r.X - k*(ra[4]+4*rm[4]+rb[4]),
		b.r.Y - a.r.Y - k*(ra[5]+4*rm[5]+rb[5]),
	}
	o := c.step(&[6]float64{a.ef.X, a.ef.Y, a.ef.Z, a.er.Z, a.er.X, a.er.Y}, &d)
	b.ef, b.er = geom.Vec{X: o[0], Y: o[1], Z: o[2]}, geom.Vec{X: o[4], Y: o[5], Z: o[3]}
}

// linearize fills a cell's matrices and carries the answer to the section's length.
func (c *cell) linearize(a, b *point, ra, rm, rb *rate, h float64) bool {
	// How the middle answers to the states at both ends, and to the section's length.
	var g0, g1 [4][4]float64
	var bend [4]float64
	for i := range 4 {
		for j := range 4 {
			g0[i][j], g1[i][j] = h/8*ra.j[i][j], -h/8*rb.j[i][j]
		}
		g0[i][i] += 0.5
		g1[i][i] += 0.5
		bend[i] = c.w / 8 * (ra.f[i] - rb.f[i])
	}
	var p0, p1, inv [4][4]float64
	var byLength [6]float64
	for i := range 4 {
		byLength[i] = c.byLength(i, ra, rm, rb) + through(h, &rm.j[i], &ra.j[i], &rb.j[i], &g0, &g1, &p0[i], &p1[i], &bend)
		p0[i][i]--
		p1[i][i]++
	}
	var q0, q1 [2][4]float64
	for i := range 2 {
		byLength[4+i] = c.byLength(4+i, ra, rm, rb) + through(h, &rm.k[i], &ra.k[i], &rb.k[i], &g0, &g1, &q0[i], &q1[i], &bend)
	}
	if !invert(&p1, &inv) {
		return false
	}
	for i := range 4 {
		v := &inv[i]
		for j := range 4 {
			c.a[i][j] = -(v[0]*p0[0][j] + v[1]*p0[1][j] + v[2]*p0[2][j] + v[3]*p0[3][j])
		}
		c.b[i] = *v
	}
	for i := range 2 {
		q := &q1[i]
		for j := range 4 {
			c.a[4+i][j] = -(q0[i][j] + q[0]*c.a[0][j] + q[1]*c.a[1][j] + q[2]*c.a[2][j] + q[3]*c.a[3][j])
			c.b[4+i][j] = -(q[0]*inv[0][j] + q[1]*inv[1][j] + q[2]*inv[2][j] + q[3]*inv[3][j])
		}
	}
	g := c.step(&[6]float64{a.gf.X, a.gf.Y, a.gf.Z, a.gr.Z, a.gr.X, a.gr.Y}, &byLength)
	b.gf, b.gr = geom.Vec{X: g[0], Y: g[1], Z: g[2]}, geom.Vec{X: g[4], Y: g[5], Z: g[3]}
	return true
}

// byLength is how row i of what a step's equations miss answers to the section's length, the
// middle held.
func (c *cell) byLength(i int, ra, rm, rb *rate) float64 {
	return -c.w / 6 * (ra.f[i] + 4*rm.f[i] + rb.f[i])
}

// through fills a row of the derivatives of what a step's equations miss by the states at its
// start and its end, but for the states themselves, from the rows of the rates' derivatives
// at the middle, the start and the end, and returns what the middle's answer to the section's
// length adds.
func through(h float64, m, a, b *[4]float64, g0, g1 *[4][4]float64, p0, p1 *[4]float64, bend *[4]float64) float64 {
	k := -h / 6
	m0, m1, m2, m3 := 4*k*m[0], 4*k*m[1], 4*k*m[2], 4*k*m[3]
	for j := range 4 {
		p0[j] = k*a[j] + m0*g0[0][j] + m1*g0[1][j] + m2*g0[2][j] + m3*g0[3][j]
		p1[j] = k*b[j] + m0*g1[0][j] + m1*g1[1][j] + m2*g1[2][j] + m3*g1[3][j]
	}
	return m0*bend[0] + m1*bend[1] + m2*bend[2] + m3*bend[3]
}

// step carries a change e over the cell whose own equations miss d.
func (c *cell) step(e, d *[6]float64) (o [6]float64) {
	for i := range 6 {
		a, b := &c.a[i], &c.b[i]
		o[i] = a[0]*e[0] + a[1]*e[1] + a[2]*e[2] + a[3]*e[3] - (b[0]*d[0] + b[1]*d[1] + b[2]*d[2] + b[3]*d[3])
	}
	o[4] += e[4] - d[4]
	o[5] += e[5] - d[5]
	return o
}

// carry is step for a change of a state whose equations hold.
func (c *cell) carry(e, o []float64) {
	e0, e1, e2, e3 := e[0], e[1], e[2], e[5]
	for i, k := range [6]int{0, 1, 2, 5, 3, 4} {
		a := &c.a[i]
		o[k] = a[0]*e0 + a[1]*e1 + a[2]*e2 + a[3]*e3
	}
	o[3] += e[3]
	o[4] += e[4]
}

// invert puts the inverse of p into inv: its adjugate, by the two by two minors of the upper
// and the lower rows, over its determinant.
func invert(p, inv *[4][4]float64) bool {
	a, b, c, d := &p[0], &p[1], &p[2], &p[3]
	s0, s1, s2 := a[0]*b[1]-b[0]*a[1], a[0]*b[2]-b[0]*a[2], a[0]*b[3]-b[0]*a[3]
	s3, s4, s5 := a[1]*b[2]-b[1]*a[2], a[1]*b[3]-b[1]*a[3], a[2]*b[3]-b[2]*a[3]
	c0, c1, c2 := c[0]*d[1]-d[0]*c[1], c[0]*d[2]-d[0]*c[2], c[0]*d[3]-d[0]*c[3]
	c3, c4, c5 := c[1]*d[2]-d[1]*c[2], c[1]*d[3]-d[1]*c[3], c[2]*d[3]-d[2]*c[3]
	det := s0*c5 - s1*c4 + s2*c3 + s3*c2 - s4*c1 + s5*c0
	if !(math.Abs(det) > 1e-300) {
		return false
	}
	k := 1 / det
	*inv = [4][4]float64{
		{k * (b[1]*c5 - b[2]*c4 + b[3]*c3), -k * (a[1]*c5 - a[2]*c4 + a[3]*c3), k * (d[1]*s5 - d[2]*s4 + d[3]*s3), -k * (c[1]*s5 - c[2]*s4 + c[3]*s3)},
		{-k * (b[0]*c5 - b[2]*c2 + b[3]*c1), k * (a[0]*c5 - a[2]*c2 + a[3]*c1), -k * (d[0]*s5 - d[2]*s2 + d[3]*s1), k * (c[0]*s5 - c[2]*s2 + c[3]*s1)},
		{k * (b[0]*c4 - b[1]*c2 + b[3]*c0), -k * (a[0]*c4 - a[1]*c2 + a[3]*c0), k * (d[0]*s4 - d[1]*s2 + d[3]*s0), -k * (c[0]*s4 - c[1]*s2 + c[3]*s0)},
		{-k * (b[0]*c3 - b[1]*c1 + b[2]*c0), k * (a[0]*c3 - a[1]*c1 + a[2]*c0), -k * (d[0]*s3 - d[1]*s1 + d[2]*s0), k * (c[0]*s3 - c[1]*s1 + c[2]*s0)},
	}
	return true
}
