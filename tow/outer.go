package tow

import (
	"context"
	"math"

	"sternfan/geom"
	"sternfan/num"
	"sternfan/portable"
)

// outer solves for the pulls at further fixed ends and the open lengths by Newton's
// method with a difference Jacobian, kept up by Broyden's update (Broyden 1965, Math.
// Comp. 19:577) and shortened steps.
//
// long: one iteration with its ways back, which share the matrix, the step and what was tried.
func (w *Solver) outer(ctx context.Context) Status {
	n := w.plan.unknowns
	if !w.warm {
		// The way to the neighborhood of rest need not be followed closely.
		w.widen(roughly)
		st := w.guess()
		if st == Converged {
			w.once = true
			norm, ok := w.eval(w.x, w.res)
			found := !ok || ctx.Err() != nil || w.draw(norm)
			w.once = false
			if !found {
				return NoBracket
			}
		}
		w.widen(1)
		if st != Converged {
			// Unless it has to be.
			if st = w.guess(); st != Converged {
				return st
			}
		}
	}
	if w.steer() {
		w.warm = true
		return Converged
	}
	norm, ok := w.eval(w.x, w.res)
	if ctx.Err() != nil {
		return Exhausted
	}
	if !ok && w.warm {
		w.warm = false
		if st := w.guess(); st != Converged {
			return st
		}
		norm, ok = w.eval(w.x, w.res)
	}
	if !ok {
		return Exhausted
	}
	fresh := false
	// Near the last answer the last Jacobian still points the right way.
	haveJac := w.warm && w.kept
	finer := false
	for iter := 0; iter < w.opt.MaxIter; iter++ {
		if w.small(1) {
			w.warm = true
			w.kept = w.kept || haveJac
			w.sol.Residual = math.Max(w.sol.Residual, norm*w.scale)
			return Converged
		}
		if ctx.Err() != nil {
			return Exhausted
		}
		if !haveJac {
			if !w.jacobian() {
				return Singular
			}
			haveJac, fresh, w.kept = true, true, true
		}
		copy(w.lu, w.jac)
		for i := range w.dx {
			w.dx[i] = -w.res[i]
		}
		if !num.Solve(w.lu, w.dx, n) {
			if fresh {
				return Singular
			}
			haveJac = false
			continue
		}
		w.limit()
		t, taken := 1.0, false
		var trial float64
		for try := 0; try < 12; try++ {
			for i := range w.xt {
				w.xt[i] = w.x[i] + t*w.dx[i]
			}
			var good bool
			trial, good = w.eval(w.xt, w.trial)
			if good && trial < norm*(1-0.1*t) {
				taken = true
				break
			}
			if !fresh && try == 0 {
				break
			}
			t /= 2
		}
		if !taken {
			if fresh {
				// No descent along a fresh direction: either the steps' own noise is all that
				// is left, or the ends do not meet at this pull.
				if norm, ok = w.eval(w.x, w.res); ok && w.small(withinTolerance) {
					w.warm = true
					w.sol.Residual = math.Max(w.sol.Residual, norm*w.scale)
					return Converged
				}
				// A ring that finds no place is the rule rather than the exception: its caller
				// holds it elsewhere, and the search is not worth finer steps.
				if finer || len(w.plan.rings) > 0 {
					return NoBracket
				}
				// Or the differences drowned in that noise: once more with finer steps.
				finer = true
				w.rtol *= 0.03
			}
			haveJac = false
			if norm, ok = w.eval(w.x, w.res); !ok {
				return Exhausted
			}
			continue
		}
		slow := trial > 0.4*norm
		// Broyden: J += (dr - J dx) dxT / |dx|2 with dx the step taken.
		var dd float64
		for i := range w.dx {
			w.dx[i] *= t
			dd += w.dx[i] * w.dx[i]
		}
		for i := range n {
			jd := 0.0
			for j := range n {
				jd += w.jac[i*n+j] * w.dx[j]
			}
			c := (w.trial[i] - w.res[i] - jd) / dd
			for j := range n {
				w.jac[i*n+j] += c * w.dx[j]
			}
		}
		copy(w.x, w.xt)
		copy(w.res, w.trial)
		norm, fresh = trial, false
		if slow {
			haveJac = false
		}
	}
	return Exhausted
}

// limit keeps a step from turning a pull by more than half a radian or changing a length
// by more than half.
func (w *Solver) limit() {
	k := 1.0
	for i := range w.plan.branches {
		b := &w.plan.branches[i]
		if b.fixed && b.pull > 0 {
			d := portable.Hypot(w.dx[b.offset], w.dx[b.offset+1])
			if d*k > 0.5 {
				k = 0.5 / d
			}
		}
	}
	first := w.plan.unknowns - len(w.plan.open)
	for i := range w.plan.open {
		d, x := math.Abs(w.dx[first+i]), w.x[first+i]
		if d*k > 0.5*x {
			k = 0.5 * x / d
		}
	}
	if k < 1 {
		for i := range w.dx {
			w.dx[i] *= k
		}
	}
}

// widen sets by how much the tolerances are wider than asked.
func (w *Solver) widen(rough float64) {
	w.rough = rough
	if !w.uniform {
		w.makeZones()
	}
	w.tighten()
	w.forget()
	w.sol.Residual = 0
}

// roughly is by how much the tolerances of steps and roots are widened on the way.
const roughly = 16

// withinTolerance makes of what an iteration aims for what was asked: see Solver.begin.
const withinTolerance = 8

// small reports whether the ends meet and the rings balance within so many times what an
// iteration aims for.
func (w *Solver) small(times float64) bool {
	for i := range w.plan.branches {
		b := &w.plan.branches[i]
		if math.Abs(b.miss) > times*w.tol {
			return false
		}
		if b.fixed {
			d := math.Sqrt(w.res[b.resid]*w.res[b.resid] + w.res[b.resid+1]*w.res[b.resid+1] + w.res[b.resid+2]*w.res[b.resid+2])
			if d*w.scale > times*w.tol {
				return false
			}
		}
	}
	first := w.plan.unknowns - len(w.plan.rings)
	for i := range w.plan.rings {
		if math.Abs(w.res[first+i]) > times*0.05*w.opt.Tolerance {
			return false
		}
	}
	return true
}

// eval puts the residuals of the unknowns x into res and returns their norm.
func (w *Solver) eval(x, res []float64) (float64, bool) {
	sys := w.sys
	first := w.plan.unknowns - len(w.plan.open)
	for i, l := range w.plan.open {
		if !(x[first+i] > 1e-6) {
			return 0, false
		}
		w.sol.Length[l] = x[first+i] * w.scale
	}
	w.sol.Iterations++
	for bi := len(w.plan.branches) - 1; bi > 0; bi-- {
		b := &w.plan.branches[bi]
		if !b.fixed {
			continue
		}
		f := w.leafPull(bi, x)
		var ok bool
		if w.f[bi], w.r[bi], ok = w.chain(bi, f, sys.Nodes[b.leaf].At, 0); !ok {
			return 0, false
		}
	}
	if w.sweep() != Converged {
		return 0, false
	}
	sum := 0.0
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		if !b.fixed {
			sum += b.miss * b.miss / (w.scale * w.scale)
			continue
		}
		at := w.at[b.join]
		if b.join == sys.Root {
			at = sys.Nodes[sys.Root].At
		} else if o := w.owner(b.join); !w.plan.branches[o].fixed {
			at = at.Add(w.totalShift(o))
		}
		d := w.r[bi].Sub(at).Scale(1 / w.scale)
		res[b.resid], res[b.resid+1], res[b.resid+2] = d.X, d.Y, d.Z
		sum += d.Dot(d)
	}
	firstRing := w.plan.unknowns - len(w.plan.rings)
	for i := range w.plan.rings {
		// A ring's balance counts a tenth: relative pulls against relative lengths.
		res[firstRing+i] = w.ringD[i]
		sum += 0.01 * w.ringD[i] * w.ringD[i]
	}
	return math.Sqrt(sum), !math.IsNaN(sum)
}

// leafPull returns the pull at a fixed leaf for the unknowns x.
func (w *Solver) leafPull(bi int, x []float64) geom.Vec {
	b := &w.plan.branches[bi]
	if b.pull == 0 {
		return geom.Vec{X: x[b.offset], Y: x[b.offset+1], Z: x[b.offset+2]}.Scale(w.weigh(bi))
	}
	d := w.base[bi]
	p := d.Cross(geom.Vec{Y: 1})
	if p.Norm() < 0.3 {
		p = d.Cross(geom.Vec{X: 1})
	}
	p = p.Unit()
	q := d.Cross(p)
	// Turn the base by the angles about both axes, as one rotation vector.
	a, c := x[b.offset], x[b.offset+1]
	angle := portable.Hypot(a, c)
	if angle == 0 {
		return d.Scale(b.pull)
	}
	s, co := math.Sincos(angle)
	return d.Scale(co).AddScaled(s*a/angle, p).AddScaled(s*c/angle, q).Scale(b.pull)
}

// weigh is the scale of an unknown pull, N.
func (w *Solver) weigh(bi int) float64 { return math.Max(w.base[bi].Norm(), 1e-3) }

// jacobian fills jac by forward differences at x, where res is known.
func (w *Solver) jacobian() bool {
	n := w.plan.unknowns
	copy(w.xt, w.x)
	for j := range n {
		h := 1e-3
		if w.opt.Tolerance < 1e-5 {
			h = 1e-5
		}
		w.xt[j] = w.x[j] + h
		_, ok := w.eval(w.xt, w.work)
		if !ok {
			h = -h
			w.xt[j] = w.x[j] + h
			if _, ok = w.eval(w.xt, w.work); !ok {
				return false
			}
		}
		for i := range n {
			w.jac[i*n+j] = (w.work[i] - w.res[i]) / h
		}
		w.xt[j] = w.x[j]
	}
	return true
}

// guess places the unknowns: the main chain alone first, then each further line as a
// string from its fixed end to where it joins, its end drawn downstream by half its drag.
func (w *Solver) guess() Status {
	for i := range w.f {
		w.f[i] = geom.Vec{}
	}
	if st := w.sweep(); st != Converged {
		return st
	}
	sys := w.sys
	first := w.plan.unknowns - len(w.plan.open)
	for bi := range w.plan.branches {
		b := &w.plan.branches[bi]
		if !b.fixed {
			continue
		}
		from := sys.Nodes[b.leaf].At
		to := w.at[b.join].Add(w.shift[0])
		chord := to.Sub(from)
		dist := math.Max(chord.Norm(), 1e-3)
		dir := chord.Unit()
		props := &sys.Lines[b.lines[0]].Props
		u := w.env.Flow(math.Max(to.Z, 0) / 2)
		w.water.At(math.Max(to.Z, 0)/2, &w.state)
		drag := props.Load(dir, u, w.state.Rho, w.state.Nu, nil)
		wet := math.Max(to.Z, 0) / math.Max(to.Z-math.Min(from.Z, 0), 1e-3) * dist
		across := drag.AddScaled(-drag.Dot(dir), dir).Scale(0.5 * wet)
		if b.pull > 0 {
			s := across.Norm() / b.pull
			if s > 0.8 {
				across = across.Scale(0.8 / s)
			}
			w.base[bi] = dir.Scale(b.pull).Add(across).Unit()
			w.x[b.offset], w.x[b.offset+1] = 0, 0
		} else {
			given := 0.0
			for _, l := range b.lines {
				given += w.sol.Length[l]
			}
			// A parabola's tension from its slack: (8/3 sag2/dist = slack).
			sag := math.Sqrt(math.Max(given-dist, 1e-3*dist) * dist * 3 / 8)
			pull := math.Max(drag.Norm()*dist*dist/(8*sag), 0.05)
			w.base[bi] = dir.Scale(pull).Add(across)
			d := w.base[bi].Scale(1 / w.weigh(bi))
			w.x[b.offset], w.x[b.offset+1], w.x[b.offset+2] = d.X, d.Y, d.Z
		}
		open := 0
		for _, l := range b.lines {
			if sys.Lines[l].Open {
				open++
			}
		}
		slack := across.Norm() / math.Max(b.pull, 1e-3)
		for i, l := range w.plan.open {
			for _, k := range b.lines {
				if k == l {
					x := sys.Lines[l].Length
					if x <= 0 {
						x = dist * (1 + slack*slack/6) / float64(open)
					}
					w.x[first+i] = x / w.scale
				}
			}
		}
	}
	return Converged
}
