package spread

import (
	"context"

	"sternfan/tow"
)

// aside is a second solution about which changes are answered, of another form than the
// nominal one: a diver that lies where the fleas end is below them in half of all worlds.
type aside struct {
	solver *tow.Solver
	missed int  // changes that the nominal form could not answer
	ok     bool // the solution is there
	offset []float64
}

// asideTries bounds how often another form is sought, at every second change that the
// nominal one cannot answer.
const asideTries = 3

// seek makes the other solution, as far again from the nominal one as the world at hand:
// what lies just beyond an edge is no better to answer changes about.
func (p *probes) seek(ctx context.Context) {
	o := &p.other
	for i := range p.world {
		p.world[i] *= 2
	}
	env := p.s.model.EnvAt(p.world, p.s.probe)
	p.s.build(p.g, p.world)
	sys, opt := &p.g.Sys, p.s.towing()
	o.solver.Reset()
	if sol := o.solver.Solve(ctx, sys, &env, opt); sol.Status == tow.Converged {
		o.offset = make([]float64, len(sol.Nodes))
		for i, at := range sol.Nodes {
			o.offset[i] = -at.Z
		}
		if o.solver.Linearize() {
			if sol, o.ok = o.solver.Near(sys, &env, opt); o.ok {
				for i, at := range sol.Nodes {
					o.offset[i] += at.Z
				}
			}
		}
	}
	for i := range p.world {
		p.world[i] /= 2
	}
	p.s.build(p.g, p.world)
}

// aside answers a change about the other solution, which it makes when there is none yet.
func (p *probes) aside(ctx context.Context, env *tow.Env) *tow.Solution {
	o := &p.other
	if o.missed++; p.near && !o.ok && o.missed%2 == 0 && o.missed <= 2*asideTries {
		p.seek(ctx)
	}
	if !o.ok {
		return nil
	}
	sol, ok := o.solver.Near(&p.g.Sys, env, p.s.asking())
	if !ok {
		return nil
	}
	return sol
}
