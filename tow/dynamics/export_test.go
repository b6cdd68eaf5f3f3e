package dynamics

import "sternfan/geom"

// Disturb moves every point that is free and gives it a velocity, before the first step.
func (d *Run) Disturb(f func(i int) (move, velocity geom.Vec)) {
	for i := d.fixed; i < len(d.points); i++ {
		p := &d.points[i]
		move, v := f(i)
		p.r0, p.v0 = p.r0.Add(move), p.v0.Add(v)
	}
	d.restart(1e-3)
}

// Points returns how many points there are.
func (d *Run) Points() int { return len(d.points) }

// Energy returns the energy of motion, the water's across the lines included, of stretch
// and of weight in water, for a system wholly under water, J.
func (d *Run) Energy() float64 {
	sum := 0.0
	for i := d.fixed; i < len(d.points); i++ {
		p := &d.points[i]
		sum += p.mass * p.v0.Dot(p.v0) / 2
		for k := range p.bodies {
			sum -= p.bodies[k].WeightInWater(d.top.Rho) * p.r0.Z
		}
	}
	for i := range d.segs {
		s := &d.segs[i]
		if s.up < 0 {
			continue
		}
		p, q := &d.points[i], &d.points[s.up]
		x := q.r0.Sub(p.r0)
		t := x.Unit()
		m := &d.mats[s.line]
		if over := x.Norm() - s.rest; over > 0 {
			sum += over * over / (2 * s.give)
		}
		sum -= m.props.WeightInWater(d.top.Rho) * s.length * (p.r0.Z + q.r0.Z) / 2
		for _, v := range []geom.Vec{p.v0, q.v0} {
			across := v.AddScaled(-v.Dot(t), t)
			sum += m.added * s.length / 4 * across.Dot(across)
		}
	}
	return sum
}

// Bias returns by how much the discrete system missed the balance of the first ring where
// it began, of the pull there.
func (d *Run) Bias() float64 { return d.sliders[0].bias / d.segs[d.sliders[0].a].held }
