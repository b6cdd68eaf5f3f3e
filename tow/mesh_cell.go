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

func (w *Solver) meshRate(e *element, f geom.Vec, z float64, out *rate) {
	df, dr := w.slope(e, f, z)
	out.f = [6]float64{df.X, df.Y, df.Z, dr.Z, dr.X, dr.Y}
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

// middle returns the state halfway along a step.
func middle(a, b *point, ra, rb *rate, h float64) (geom.Vec, float64) {
	return geom.Vec{
		X: (a.f.X+b.f.X)/2 + h/8*(ra.f[0]-rb.f[0]),
		Y: (a.f.Y+b.f.Y)/2 + h/8*(ra.f[1]-rb.f[1]),
		Z: (a.f.Z+b.f.Z)/2 + h/8*(ra.f[2]-rb.f[2]),
	}, (a.r.Z+b.r.Z)/2 + h/8*(ra.f[3]-rb.f[3])
}

// miss returns what a step's equations miss: F, z, x, y.
func miss(a, b *point, ra, rm, rb *rate, h float64) [6]float64 {
	d := [6]float64{b.f.X - a.f.X, b.f.Y - a.f.Y, b.f.Z - a.f.Z, b.r.Z - a.r.Z, b.r.X - a.r.X, b.r.Y - a.r.Y}
	for i := range d {
		d[i] -= h / 6 * (ra.f[i] + 4*rm.f[i] + rb.f[i])
	}
	return d
}

// linearize fills a cell's matrices and carries the answer to the section's length.
func (c *cell) linearize(a, b *point, ra, rm, rb *rate, h float64) bool {
	var p0, p1, inv [4][4]float64
	var q0, q1 [2][4]float64
	var byLength [6]float64
	var bend [4]float64 // of the middle by the section's length
	for i := range 4 {
		bend[i] = c.w / 8 * (ra.f[i] - rb.f[i])
	}
	for i := range 4 {
		byLength[i] = -c.w / 6 * (ra.f[i] + 4*rm.f[i] + rb.f[i])
		for j := range 4 {
			m0, m1 := 0.5*rm.j[i][j], 0.5*rm.j[i][j]
			for k := range 4 {
				m0 += rm.j[i][k] * h / 8 * ra.j[k][j]
				m1 -= rm.j[i][k] * h / 8 * rb.j[k][j]
			}
			p0[i][j] = -h / 6 * (ra.j[i][j] + 4*m0)
			p1[i][j] = -h / 6 * (rb.j[i][j] + 4*m1)
			byLength[i] -= h / 6 * 4 * rm.j[i][j] * bend[j]
		}
		p0[i][i]--
		p1[i][i]++
	}
	for i := range 2 {
		byLength[4+i] = -c.w / 6 * (ra.f[4+i] + 4*rm.f[4+i] + rb.f[4+i])
		for j := range 4 {
			m0, m1 := 0.5*rm.k[i][j], 0.5*rm.k[i][j]
			for k := range 4 {
				m0 += rm.k[i][k] * h / 8 * ra.j[k][j]
				m1 -= rm.k[i][k] * h / 8 * rb.j[k][j]
			}
			q0[i][j] = -h / 6 * (ra.k[i][j] + 4*m0)
			q1[i][j] = -h / 6 * (rb.k[i][j] + 4*m1)
			byLength[4+i] -= h / 6 * 4 * rm.k[i][j] * bend[j]
		}
	}
	if !invert(&p1, &inv) {
		return false
	}
	for i := range 4 {
		for j := range 4 {
			s := 0.0
			for k := range 4 {
				s -= inv[i][k] * p0[k][j]
			}
			c.a[i][j], c.b[i][j] = s, inv[i][j]
		}
	}
	for i := range 2 {
		for j := range 4 {
			s, t := -q0[i][j], 0.0
			for k := range 4 {
				s -= q1[i][k] * c.a[k][j]
				t -= q1[i][k] * inv[k][j]
			}
			c.a[4+i][j], c.b[4+i][j] = s, t
		}
	}
	g := c.step(&[6]float64{a.gf.X, a.gf.Y, a.gf.Z, a.gr.Z, a.gr.X, a.gr.Y}, &byLength)
	b.gf, b.gr = geom.Vec{X: g[0], Y: g[1], Z: g[2]}, geom.Vec{X: g[4], Y: g[5], Z: g[3]}
	return true
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

// invert puts the inverse of p into inv, by elimination with partial pivoting; p is lost.
func invert(p, inv *[4][4]float64) bool {
	*inv = [4][4]float64{}
	for i := range 4 {
		inv[i][i] = 1
	}
	for k := range 4 {
		best := k
		for i := k + 1; i < 4; i++ {
			if math.Abs(p[i][k]) > math.Abs(p[best][k]) {
				best = i
			}
		}
		if !(math.Abs(p[best][k]) > 1e-300) {
			return false
		}
		p[k], p[best] = p[best], p[k]
		inv[k], inv[best] = inv[best], inv[k]
		d := 1 / p[k][k]
		for j := range 4 {
			p[k][j] *= d
			inv[k][j] *= d
		}
		for i := range 4 {
			if x := p[i][k]; i != k && x != 0 {
				for j := range 4 {
					p[i][j] -= x * p[k][j]
					inv[i][j] -= x * inv[k][j]
				}
			}
		}
	}
	return true
}
