package dynamics

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/water"
)

// assemble fills the right sides F - M a and, when full, the Newton matrix
// M k2 - dF/dr - k dF/dv at the places in work.
func (d *Run) assemble(full bool) {
	k := d.k
	for i := range d.points {
		p := &d.points[i]
		if i < d.fixed {
			continue
		}
		p.v = geom.Vec{X: (p.r.X - p.rs.X) * k, Y: (p.r.Y - p.rs.Y) * k, Z: (p.r.Z - p.rs.Z) * k}
		p.a = geom.Vec{X: (p.v.X - p.vs.X) * k, Y: (p.v.Y - p.vs.Y) * k, Z: (p.v.Z - p.vs.Z) * k}
		b := &d.blocks[i]
		b.right = geom.Vec{X: p.force.X - p.mass*p.a.X, Y: p.force.Y - p.mass*p.a.Y, Z: p.force.Z - p.mass*p.a.Z}
		if full {
			b.diag = geom.Mat{}
			b.diag.AddDiag(p.mass * k * k)
		}
		if d.opt.Hands && p.r.Z < 0 {
			c := p.mass * inHand
			b.right = b.right.AddScaled(-c, p.v.Sub(d.pose.Velocity))
			if full {
				b.diag.AddDiag(c * k)
			}
		}
	}
	for i := range d.segs {
		if d.segs[i].up >= 0 {
			d.pull(i, full)
		}
	}
	for i := d.fixed; i < len(d.points); i++ {
		p := &d.points[i]
		if p.r.Z > d.bottom && p.press > 0 {
			d.contact(i, full)
		}
		if len(p.bodies) > 0 {
			d.bodies(i, full)
		}
	}
}

// inHand damps what hangs from the tips in the air of lines that are being set, 1/s: they
// are in hands, and without it they would dance on and on.
const inHand = 5.0

// share is the part of a segment that is in one medium: how much, and how its load falls
// to the two ends.
type part struct {
	amount, a, b float64
}

// pull adds a segment's tension, load and water inertia to its ends.
//
// long: the entries of the matrix written out, in the innermost loop.
func (d *Run) pull(i int, full bool) {
	s := &d.segs[i]
	up := int(s.up)
	p, q := &d.points[i], &d.points[up]
	x, y, z := q.r.X-p.r.X, q.r.Y-p.r.Y, q.r.Z-p.r.Z
	span := math.Sqrt(x*x + y*y + z*z)
	inv := 0.0
	if span > 1e-12 {
		inv = 1 / span
	}
	t := geom.Vec{X: x * inv, Y: y * inv, Z: z * inv}
	s.t, s.span = t, span
	s.reach, s.stiff = 0, 0
	switch s.mode {
	case taut:
		s.reach, s.stiff = (span-s.rest)/s.give, 1/s.give
	case slipping:
		s.reach = s.limit
	}

	// Under water, in air, or through the surface.
	wet, dry := part{1, 0.5, 0.5}, part{}
	dp, dq := 0.0, 0.0 // of the wet share, by the ends' depths
	if p.r.Z < wetEdge || q.r.Z < wetEdge {
		rise := p.r.Z - q.r.Z
		half := max(math.Abs(rise)/2, wetEdge/2)
		mid := (p.r.Z + q.r.Z) / 2
		lean := rise / (2 * half)
		switch w := 0.5 + mid/(2*half); {
		case w <= 0:
			wet, dry = part{}, part{1, 0.5, 0.5}
		case w < 1:
			wet = part{w, 0.5 + (1-w)/2*lean, 0.5 - (1-w)/2*lean}
			dry = part{1 - w, 0.5 - w/2*lean, 0.5 + w/2*lean}
			if half > wetEdge/2 {
				// w is the deeper end's depth over the rise, or one less that.
				dp, dq = (1-w)/math.Abs(rise), w/math.Abs(rise)
				if rise < 0 {
					dp, dq = dq, dp
				}
			} else {
				dp, dq = 1/(4*half), 1/(4*half)
			}
		}
	}
	m := &d.mats[s.line]
	var load geom.Vec // per metre under water
	jac := &d.jac
	var shear, added float64
	var cz geom.Vec // d(current)/dz
	if wet.amount > 0 {
		load, added, cz = d.flow(m, p, q, &wet, t, full, jac)
		shear = math.Abs(cz.X) + math.Abs(cz.Y)
	}
	f := load.Scale(s.length * wet.amount)
	air := m.air * s.length * dry.amount
	s.half = f.Scale(0.5)
	s.half.Z += air / 2

	// Inertia of the water across the line, half to each end.
	ma := added * s.length * wet.amount / 2
	k := d.k
	pull := t.Scale(s.reach)
	if i >= d.fixed {
		a := &p.a
		at := a.X*t.X + a.Y*t.Y + a.Z*t.Z
		r := &d.blocks[i].right
		r.X += pull.X + wet.a*f.X - ma*(a.X-at*t.X)
		r.Y += pull.Y + wet.a*f.Y - ma*(a.Y-at*t.Y)
		r.Z += pull.Z + wet.a*f.Z + dry.a*air - ma*(a.Z-at*t.Z)
	}
	if up >= d.fixed {
		a := &q.a
		at := a.X*t.X + a.Y*t.Y + a.Z*t.Z
		r := &d.blocks[up].right
		r.X += -pull.X + wet.b*f.X - ma*(a.X-at*t.X)
		r.Y += -pull.Y + wet.b*f.Y - ma*(a.Y-at*t.Y)
		r.Z += -pull.Z + wet.b*f.Z + dry.b*air - ma*(a.Z-at*t.Z)
	}
	if !full {
		return
	}
	// Elastic part e = T/span P + stiff t tT, water's mass w = ma k2 P. T is the tension
	// last solved for, not that of the places in work: on a stiff line a point a little off
	// to the side makes the latter many times too large or turns its sign.
	across := s.tension * inv
	along := s.stiff - across
	w := ma * k * k
	// Load's derivatives in the two places: flow by the ends' velocities, turn by their
	// difference, depth by shear and by the wet share.
	l := s.length * wet.amount
	if l == 0 {
		*jac = hydro.WetJac{}
	}
	bp, bq := &d.spill, &d.spill
	if i >= d.fixed {
		bp = &d.blocks[i]
	}
	if up >= d.fixed {
		bq = &d.blocks[up]
	}
	c := coefficients{
		pp: l * k * wet.a * wet.a, qq: l * k * wet.b * wet.b, pq: l * k * wet.a * wet.b,
		a: l * inv * wet.a, b: l * inv * wet.b,
		own: along - w, whole: across + w, pair: along, even: across,
	}
	c.row(0, t.X, t, jac, bp, bq)
	c.row(1, t.Y, t, jac, bp, bq)
	c.row(2, t.Z, t, jac, bp, bq)
	if shear > 0 {
		gz := jac.Flow.MulVec(cz)
		deep(bp, bq, &wet, wet.a*l, wet.b*l, gz)
	}
	if dp+dq > 0 {
		change := load.Scale(s.length)
		change.Z -= m.air * s.length
		deep(bp, bq, &wet, dp, dq, change)
	}
}

// coefficients are what a segment's parts of the Newton matrix are made of: with G the
// load's derivative by the flow, U by the direction, and t the direction,
//
//	own blocks:      own t tT + whole I + pp G + a U,  own t tT + whole I + qq G - b U
//	between the two: -pair t tT - even I + pq G - a U, -pair t tT - even I + pq G + b U
type coefficients struct{ pp, qq, pq, a, b, own, whole, pair, even float64 }

// row adds row r of them, x the direction's component there.
func (c *coefficients) row(r int, x float64, t geom.Vec, jac *hydro.WetJac, bp, bq *block) {
	g, u := &jac.Flow[r], &jac.Turn[r]
	p, q, up, down := &bp.diag[r], &bq.diag[r], &bp.up[r], &bp.down[r]
	own, pair := c.own*x, c.pair*x

	tt, e := own*t.X, -pair*t.X
	p[0] += tt + c.pp*g[0] + c.a*u[0]
	q[0] += tt + c.qq*g[0] - c.b*u[0]
	e += c.pq * g[0]
	up[0], down[0] = e-c.a*u[0], e+c.b*u[0]

	tt, e = own*t.Y, -pair*t.Y
	p[1] += tt + c.pp*g[1] + c.a*u[1]
	q[1] += tt + c.qq*g[1] - c.b*u[1]
	e += c.pq * g[1]
	up[1], down[1] = e-c.a*u[1], e+c.b*u[1]

	tt, e = own*t.Z, -pair*t.Z
	p[2] += tt + c.pp*g[2] + c.a*u[2]
	q[2] += tt + c.qq*g[2] - c.b*u[2]
	e += c.pq * g[2]
	up[2], down[2] = e-c.a*u[2], e+c.b*u[2]

	p[r] += c.whole
	q[r] += c.whole
	up[r] -= c.even
	down[r] -= c.even
}

// deep takes off what a segment's load changes by with the depths of its two ends, v times a
// meter at the lower and b at the upper.
func deep(bp, bq *block, wet *part, a, b float64, v geom.Vec) {
	addColumn(&bp.diag, 2, -wet.a*a, v)
	addColumn(&bq.diag, 2, -wet.b*b, v)
	addColumn(&bp.up, 2, -wet.a*b, v)
	addColumn(&bp.down, 2, -wet.b*a, v)
}

func addColumn(m *geom.Mat, c int, k float64, v geom.Vec) {
	m[0][c] += k * v.X
	m[1][c] += k * v.Y
	m[2][c] += k * v.Z
}

// flow returns the load per metre of the wet part of a segment, its added mass per metre
// and the current's slope, with the load's derivatives when full.
func (d *Run) flow(m *material, p, q *point, wet *part, t geom.Vec, full bool, jac *hydro.WetJac) (load geom.Vec, added float64, cz geom.Vec) {
	z := wet.a*p.r.Z + wet.b*q.r.Z
	st := &d.top
	var local water.State
	if !d.uniform {
		d.env.Water.At(z, &local)
		st = &local
		cz = geom.Vec{X: st.DCx, Y: st.DCy}
	}
	u := geom.Vec{
		X: st.Cx - d.frame.X - wet.a*p.v.X - wet.b*q.v.X,
		Y: st.Cy - d.frame.Y - wet.a*p.v.Y - wet.b*q.v.Y,
		Z: -wet.a*p.v.Z - wet.b*q.v.Z}
	foul := 0.0
	if g := &d.env.Fouling; d.fouled {
		switch lo, hi := min(p.r.Z, q.r.Z), max(p.r.Z, q.r.Z); {
		case hi < g.From-wetEdge || lo > g.To+wetEdge:
		case lo > g.From+wetEdge && hi < g.To-wetEdge:
			foul = 1
		default:
			foul = overlap(p.r.Z, q.r.Z, g.From, g.To)
		}
	}
	if !d.uniform {
		if foul < 1 {
			m.wet = m.dry[0].In(st.Rho, st.Nu)
		}
		if foul > 0 {
			m.dirty = m.dry[1].In(st.Rho, st.Nu)
		}
	}
	switch {
	case foul == 0:
		added = m.added
		if full {
			return m.wet.LoadJac(t, u, jac), added, cz
		}
		return m.wet.Load(t, u), added, cz
	case foul == 1:
		added = m.thick
		if full {
			return m.dirty.LoadJac(t, u, jac), added, cz
		}
		return m.dirty.Load(t, u), added, cz
	}
	added = (1-foul)*m.added + foul*m.thick
	var other hydro.WetJac
	clean, dirty := m.wet.LoadJac(t, u, jac), m.dirty.LoadJac(t, u, &other)
	for r := range 3 {
		for c := range 3 {
			jac.Flow[r][c] += foul * (other.Flow[r][c] - jac.Flow[r][c])
			jac.Turn[r][c] += foul * (other.Turn[r][c] - jac.Turn[r][c])
		}
	}
	return clean.Scale(1-foul).AddScaled(foul, dirty), added, cz
}

// overlap returns which share of the way from depth a to b lies between lo and hi.
func overlap(a, b, lo, hi float64) float64 {
	if a > b {
		a, b = b, a
	}
	if pad := wetEdge - (b - a); pad > 0 {
		a, b = a-pad/2, b+pad/2
	}
	return math.Max(0, math.Min(b, hi)-math.Max(a, lo)) / (b - a)
}

// contact adds what the bottom does to the line at a point: it carries the line's weight
// at restDepth, with friction regularised at 1 cm/s, as package hydro does for bodies.
func (d *Run) contact(i int, full bool) {
	p := &d.points[i]
	b := &d.blocks[i]
	k := p.press / restDepth
	push := k * (p.r.Z - d.bottom)
	v := geom.Vec{X: p.v.X + d.frame.X, Y: p.v.Y + d.frame.Y}
	q := math.Sqrt(v.Dot(v) + 1e-4)
	mu := d.env.Friction
	b.right = b.right.AddScaled(-mu*push/q, v)
	b.right.Z -= push
	if !full {
		return
	}
	b.diag[2][2] += k
	addColumn(&b.diag, 2, mu*k/q, v)
	b.diag.AddOuter(-mu*push/(q*q*q)*d.k, v, v)
	b.diag[0][0] += mu * push / q * d.k
	b.diag[1][1] += mu * push / q * d.k
}

// bodies adds the loads of the bodies at a point.
func (d *Run) bodies(i int, full bool) {
	p := &d.points[i]
	b := &d.blocks[i]
	st := &d.top
	var local water.State
	if !d.uniform {
		d.env.Water.At(p.r.Z, &local)
		st = &local
	}
	v := p.v.Add(d.frame)
	at := hydro.Surroundings{Depth: p.r.Z, Rho: st.Rho, Nu: st.Nu, Bottom: d.bottom, Motion: v,
		Flow: geom.Vec{X: st.Cx - v.X, Y: st.Cy - v.Y, Z: -v.Z}}
	var below geom.Vec
	for _, j := range p.below {
		s := &d.segs[j]
		below = below.AddScaled(s.tension, s.t)
	}
	at.Below = below.Norm()
	// What the pull from below lacks of that by the places in work.
	lack := 0.0
	if at.Below > 0 {
		for _, j := range p.below {
			s := &d.segs[j]
			lack += below.Dot(s.t) / at.Below * (s.reach - s.tension)
		}
	}
	jac := &d.body
	for n := range p.bodies {
		if !full && len(p.below) == 0 {
			b.right = b.right.Add(p.bodies[n].Load(&at, nil))
			continue
		}
		b.right = b.right.Add(p.bodies[n].Load(&at, jac)).AddScaled(lack, jac.Below)
		if !full {
			continue
		}
		for r := range 3 {
			for c := range 3 {
				b.diag[r][c] -= d.k * (jac.Motion[r][c] - jac.Flow[r][c])
			}
		}
		addColumn(&b.diag, 2, -1, jac.Depth)
		if !d.uniform {
			addColumn(&b.diag, 2, -1, jac.Flow.MulVec(geom.Vec{X: st.DCx, Y: st.DCy}))
		}
		if at.Below > 0 && jac.Below != (geom.Vec{}) {
			// The pull from below is T t of each segment; its length changes by e dr.
			dir := below.Scale(1 / at.Below)
			for _, j := range p.below {
				s := &d.segs[j]
				across := 0.0
				if s.span > 0 {
					across = s.tension / s.span
				}
				e := dir.Scale(across).AddScaled((s.stiff-across)*s.t.Dot(dir), s.t)
				b.diag.AddOuter(-1, jac.Below, e)
				if int(j) >= d.fixed {
					d.blocks[j].down.AddOuter(1, jac.Below, e)
				}
			}
		}
	}
}
