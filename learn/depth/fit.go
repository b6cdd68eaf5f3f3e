package depth

import (
	"context"
	"math"

	"sternfan/num"
)

// forward tells what measurements would read, given scores of the boat's numbers: one
// standard normal score for each column.
type forward interface {
	// predict fills out, NaN where a setting finds no rest.
	predict(ctx context.Context, x, out []float64)
	// slopes fills jac, predictions by columns, about x.
	slopes(ctx context.Context, x, jac []float64)
	size() (predictions, columns int)
}

// asked is a measurement as the fit sees it. A plain one has a reading of prediction at;
// a bottom has prediction at (touching; -1: not tried) below the bottom and prediction
// clear (-1: not tried) above it.
type asked struct {
	at, clear int
	bottom    bool
	value, sd float64
}

// A measurement is a gross error with a chance of one in twenty (assumed): a fouled line,
// a slip of the pen, another rod's lure. It then scatters ten times as widely.
const (
	grossChance = 0.05
	grossWidth  = 10
)

// part is what a measurement adds to the negative log posterior: value, slopes by its two
// predictions, curvatures (00, 01, 11) that are never negative, those of the shape at the
// maximum (see doubts), and the chance that it is no gross error at these predictions.
type part struct {
	value float64
	g     [2]float64
	h     [3]float64
	exact [3]float64
	trust float64
}

// cost returns the part of predictions y with the stated error wider by tau.
func (a *asked) cost(y []float64, tau float64) part {
	if a.bottom {
		return a.between(y, tau)
	}
	s := a.sd * tau
	r := (y[a.at] - a.value) / s
	good := math.Log(1-grossChance) - r*r/2
	bad := math.Log(float64(grossChance)/grossWidth) - r*r/(2*grossWidth*grossWidth)
	top := math.Max(good, bad)
	sum := top + math.Log(math.Exp(good-top)+math.Exp(bad-top))
	w := math.Exp(good - sum)
	const slim = 1.0 / (grossWidth * grossWidth)
	k := w + (1-w)*slim
	p := part{value: -sum, trust: w}
	p.g[0] = r * k / s
	p.h[0] = k / (s * s)
	p.exact[0] = slim / (s * s)
	if w > 0.5 {
		p.exact[0] = 1 / (s * s)
	}
	return p
}

// between is cost of a bottom: the depth of water, itself read with an error, lies between
// the depths at which the lure would run with the two lines out.
func (a *asked) between(y []float64, tau float64) part {
	s := a.sd * tau
	lo, hi := math.Inf(-1), math.Inf(1)
	if a.clear >= 0 {
		lo = (y[a.clear] - a.value) / s
	}
	if a.at >= 0 {
		hi = (y[a.at] - a.value) / s
	}
	q := 0.0
	switch {
	case lo >= hi:
	case lo > 0:
		q = (math.Erfc(lo/math.Sqrt2) - math.Erfc(hi/math.Sqrt2)) / 2
	default:
		q = (math.Erfc(-hi/math.Sqrt2) - math.Erfc(-lo/math.Sqrt2)) / 2
	}
	// A slip says nothing of the bottom: even chances.
	good, bad := (1-grossChance)*math.Max(q, 0), grossChance*0.5
	w := good / (good + bad)
	p := part{value: -math.Log(good + bad), trust: w}
	if !(q > 1e-300) {
		return p
	}
	density := func(u float64) float64 {
		if math.IsInf(u, 0) {
			return 0
		}
		return math.Exp(-u*u/2) / math.Sqrt(2*math.Pi) / q
	}
	a0, b0 := density(lo), density(hi)
	bent := func(u, d float64) float64 {
		if d == 0 {
			return 0
		}
		return u * d
	}
	p.g = [2]float64{-w * b0 / s, w * a0 / s}
	// Minus the second derivatives of log q, which is concave; w from 1 on adds the rest.
	h := [3]float64{b0*b0 + bent(hi, b0), -a0 * b0, a0*a0 - bent(lo, a0)}
	for i := range h {
		p.h[i] = w * h[i] / (s * s)
	}
	out := w * (1 - w)
	p.exact = [3]float64{p.h[0] - out*b0*b0/(s*s), p.h[1] + out*a0*b0/(s*s), p.h[2] - out*a0*a0/(s*s)}
	return p
}

// preds returns the predictions of a measurement, -1 for none.
func (a *asked) preds() [2]int {
	if a.bottom {
		return [2]int{a.at, a.clear}
	}
	return [2]int{a.at, -1}
}

// fit is a maximum of the posterior and its shape there.
type fit struct {
	x       []float64 // scores
	y       []float64 // predictions
	jac     []float64 // predictions by columns, about x
	cov     []float64 // of the scores, columns by columns
	trust   []float64 // by measurement
	passes  int
	settled bool
}

// The stages of a fit: errors taken wider at first, so that one gross error does not pass
// for the truth and the rest for gross errors when the boat is far from what was assumed.
var stages = [...]float64{6, 2.5, 1}

const (
	stagePasses = 12
	moreDamping = 6
	farScore    = 8   // scores are kept within
	staleMove   = 0.4 // of scores, after which slopes are found anew
	stillMove   = 0.01
)

// maximize finds the scores with the greatest posterior density and their covariance. prior
// is the inverse of the scores' prior covariance, by rows.
func maximize(ctx context.Context, f forward, data []asked, prior []float64) *fit {
	out, m := peak(ctx, f, data, prior)
	m.doubts(ctx, out, data)
	return out
}

// peak finds the maximum by damped Gauss-Newton and its Laplace covariance.
func peak(ctx context.Context, f forward, data []asked, prior []float64) (*fit, *climb) {
	np, nc := f.size()
	out := &fit{x: make([]float64, nc), y: make([]float64, np), jac: make([]float64, np*nc), trust: make([]float64, len(data))}
	m := &climb{f: f, data: data, prior: prior, n: nc, grad: make([]float64, nc), h: make([]float64, nc*nc)}
	f.predict(ctx, out.x, out.y)
	var kept []asked
	for _, a := range data {
		good := true
		for _, k := range a.preds() {
			good = good && (k < 0 || !math.IsNaN(out.y[k]))
		}
		if good {
			kept = append(kept, a)
		}
	}
	m.data = kept
	at := make([]float64, nc)
	fresh := false
	refresh := func() {
		if !fresh {
			f.slopes(ctx, out.x, out.jac)
			copy(at, out.x)
			fresh = true
		}
	}
	refresh()
	for stage, tau := range stages {
		last := stage == len(stages)-1
		for range stagePasses {
			if ctx.Err() != nil {
				break
			}
			if farther(at, out.x, staleMove) {
				fresh = false
				refresh()
			}
			out.passes++
			moved := m.step(ctx, out, tau)
			if moved > 1e-9 {
				fresh = false
			}
			if moved < stillMove {
				if !last || !farther(at, out.x, 5*stillMove) {
					out.settled = last
					break
				}
				refresh()
			}
		}
	}
	refresh()
	out.settled = out.settled && ctx.Err() == nil
	m.shape(out)
	return out, m
}

// doubts allows for what the maximum alone does not show: that a measurement which agrees
// with the fit is a gross error after all, or one set aside is none. Each in turn is taken
// out, which shifts linearized scores along one direction; put in both ways, the scores
// are a mixture of two, whose moments the fit gets.
func (m *climb) doubts(ctx context.Context, o *fit, data []asked) {
	n := m.n
	shift := make([]float64, n)
	cov := append([]float64(nil), o.cov...)
	u := make([]float64, n)
	for i := range data {
		a := &data[i]
		o.trust[i] = 0
		good := true
		for _, k := range a.preds() {
			good = good && (k < 0 || !math.IsNaN(o.y[k]))
		}
		if !good {
			continue
		}
		p := a.cost(o.y, 1)
		o.trust[i] = p.trust
		if a.bottom {
			continue
		}
		j := o.jac[a.at*n : (a.at+1)*n]
		known := 0.0
		for c := range n {
			u[c] = 0
			for d, s := range j {
				u[c] += o.cov[c*n+d] * s
			}
			known += u[c] * j[c]
		}
		left := 1 - p.exact[0]*known
		if !(left > 1e-9) {
			continue
		}
		// Without it: the prediction's mean and variance; scores move by u times so much.
		v := known / left
		mean := o.y[a.at] + v*p.g[0]
		e := a.value - mean
		sg, sb := v+a.sd*a.sd, v+grossWidth*grossWidth*a.sd*a.sd
		odds := math.Log((1-grossChance)/grossChance) - e*e/2*(1/sg-1/sb) + math.Log(sb/sg)/2
		w := 1 / (1 + math.Exp(-odds))
		o.trust[i] = w
		b := w/sg + (1-w)/sb
		move := (p.g[0] + e*b) / left
		apart := e * (1/sg - 1/sb) / left
		// Variances along u: both ways mixed, against the one in the covariance.
		grow := p.exact[0]/left - b/(left*left) + w*(1-w)*apart*apart
		for c := range n {
			shift[c] += move * u[c]
		}
		if grow > 0 {
			for c, s := range u {
				into := cov[c*n : (c+1)*n]
				for d, t := range u {
					into[d] += grow * s * t
				}
			}
		}
	}
	o.cov = cov
	x, y := make([]float64, n), make([]float64, len(o.y))
	for c := range x {
		x[c] = o.x[c] + shift[c]
	}
	m.f.predict(ctx, x, y)
	for i := range m.data {
		for _, k := range m.data[i].preds() {
			if k >= 0 && math.IsNaN(y[k]) {
				return
			}
		}
	}
	copy(o.x, x)
	copy(o.y, y)
}

func farther(a, b []float64, by float64) bool {
	for i := range a {
		if math.Abs(a[i]-b[i]) > by {
			return true
		}
	}
	return false
}

// climb is the work space of maximize.
type climb struct {
	f       forward
	data    []asked
	prior   []float64
	n       int
	grad, h []float64
	a, b    []float64 // scratch
}

// level returns the negative log posterior.
func (m *climb) level(x, y []float64, tau float64) float64 {
	v := 0.0
	for i := range m.n {
		for j := range m.n {
			v += x[i] * m.prior[i*m.n+j] * x[j] / 2
		}
	}
	for i := range m.data {
		for _, k := range m.data[i].preds() {
			if k >= 0 && math.IsNaN(y[k]) {
				return math.Inf(1)
			}
		}
		v += m.data[i].cost(y, tau).value
	}
	return v
}

// gather fills the gradient and the curvature, the true one when exact.
func (m *climb) gather(o *fit, tau float64, exact bool) {
	copy(m.h, m.prior)
	for i := range m.n {
		m.grad[i] = 0
		for j := range m.n {
			m.grad[i] += m.prior[i*m.n+j] * o.x[j]
		}
	}
	for i := range m.data {
		a := &m.data[i]
		p := a.cost(o.y, tau)
		h := p.h
		if exact {
			h = p.exact
		}
		k := a.preds()
		for u := range 2 {
			if k[u] < 0 {
				continue
			}
			ju := o.jac[k[u]*m.n : (k[u]+1)*m.n]
			for c, s := range ju {
				m.grad[c] += p.g[u] * s
			}
			for v := range 2 {
				if k[v] < 0 || h[u+v] == 0 {
					continue
				}
				jv := o.jac[k[v]*m.n : (k[v]+1)*m.n]
				for c, s := range ju {
					if s == 0 {
						continue
					}
					s *= h[u+v]
					into := m.h[c*m.n : c*m.n+c+1] // symmetric: the lower half
					for d, t := range jv[:c+1] {
						into[d] += s * t
					}
				}
			}
		}
	}
	for c := range m.n {
		for d := range c {
			m.h[d*m.n+c] = m.h[c*m.n+d]
		}
	}
}

// step moves once toward the maximum and returns the largest move of a score.
func (m *climb) step(ctx context.Context, o *fit, tau float64) float64 {
	m.gather(o, tau, false)
	before := m.level(o.x, o.y, tau)
	x, y := make([]float64, m.n), make([]float64, len(o.y))
	lambda := 0.0
	for range moreDamping {
		a, b := append(m.a[:0], m.h...), append(m.b[:0], m.grad...)
		m.a, m.b = a, b
		for i := range m.n {
			a[i*m.n+i] += lambda
		}
		// The prior is positive definite and curvatures only add to it.
		if num.Cholesky(a, m.n) {
			solveFactor(a, b, m.n)
			moved := 0.0
			for i := range x {
				x[i] = math.Min(math.Max(o.x[i]-b[i], -farScore), farScore)
				moved = math.Max(moved, math.Abs(x[i]-o.x[i]))
			}
			m.f.predict(ctx, x, y)
			if after := m.level(x, y, tau); after <= before+1e-9 {
				copy(o.x, x)
				copy(o.y, y)
				return moved
			}
			if moved < stillMove {
				return 0
			}
		}
		lambda = math.Max(4*lambda, 1)
	}
	return 0
}

// shape fills the covariance at the maximum: the inverse of the curvature there.
func (m *climb) shape(o *fit) {
	m.gather(o, 1, true)
	l := append([]float64(nil), m.h...)
	if !num.Cholesky(l, m.n) {
		// Where a bottom may be a slip the true curvature may vanish.
		m.gather(o, 1, false)
	}
	o.cov = inverse(m.h, m.n)
}

// inverse returns the inverse of a symmetric positive definite matrix, n x n by rows.
func inverse(a []float64, n int) []float64 {
	l := append([]float64(nil), a...)
	out := make([]float64, n*n)
	if !num.Cholesky(l, n) {
		panic("depth: a covariance is not positive definite")
	}
	col := make([]float64, n)
	for j := range n {
		clear(col)
		col[j] = 1
		solveFactor(l, col, n)
		for i := range n {
			out[i*n+j] = col[i]
		}
	}
	return out
}

// solveFactor replaces b by the solution of l l' x = b, l lower triangular, n x n by rows.
func solveFactor(l, b []float64, n int) {
	for i := range n {
		v := b[i]
		for k, s := range l[i*n : i*n+i] {
			v -= s * b[k]
		}
		b[i] = v / l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		b[i] /= l[i*n+i]
		v := b[i]
		for k, s := range l[i*n : i*n+i] {
			b[k] -= s * v
		}
	}
}
