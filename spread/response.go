package spread

import (
	"math"

	"sternfan/portable"
)

// answers are the depths of a group's nodes with inputs moved away from nominal.
type answers struct {
	base     []float64   // by node
	up, down [][]float64 // by input and node, at Eighty and -Eighty
	main     []int       // the inputs that matter most to some node
	rungs    [][len(ladder)][2][]float64
	both     [][][]float64 // by place in main, i < j, and node: both inputs at Eighty
}

// ladder holds the further scores to which inputs that matter most are moved.
var ladder = [2]float64{0.6, 2.2}

// response is how one depth answers to the registry, in independent standard normal scores
// x and on a scale v on which the inputs come close to adding up:
//
//	depth = base + (exp(bend v) - 1) / bend
//	v = sum u_i(x_i) + sum c_ij x_i x_j
//
// Blow-back is a product of factors, and a depth is what it leaves: a scale bent by the
// curvature along the gradient takes in the products of any order that follow from it.
type response struct {
	base float64
	bend float64      // 1/m
	b, a []float64    // by input: slope and curvature of u
	own  [][4]float64 // by input: the cumulants of u
	bent [][7]float64 // by place in main: its own values at the scores of rungs
	at   []int        // by input: its place there, or -1 for a parabola
	main []int
	c    []float64 // by places in main, i < j: of their product
	m    []float64 // room for the matrix of the cumulants
}

// onto takes a depth to the scale v.
func (r *response) onto(depth float64) float64 {
	if r.bend == 0 {
		return depth - r.base
	}
	return math.Log1p(r.bend*(depth-r.base)) / r.bend
}

// back takes v to the depth.
func (r *response) back(v float64) float64 {
	if r.bend == 0 {
		return r.base + v
	}
	return r.base + math.Expm1(r.bend*v)/r.bend
}

// response fits the answers of one node, in the memory of what r was. A depth that the
// bottom holds has no scale of its own: it is taken as it is.
func (a *answers) response(r *response, node int, held bool) {
	r.base, r.bend, r.main = a.base[node], 0, a.main
	r.fit(a, node)
	if held {
		return
	}
	// The curvature along the gradient, b'Mb / (b'b)2 with M the second derivatives.
	var bb, bMb float64
	for j, b := range r.b {
		bb += b * b
		bMb += 2 * r.a[j] * b * b
	}
	for j := range r.main {
		for i := range j {
			bMb += 2 * r.c[i*len(r.main)+j] * r.b[r.main[i]] * r.b[r.main[j]]
		}
	}
	if !(bb > noise*noise) {
		return
	}
	bend := bMb / (bb * bb)
	if most := mostBend / math.Sqrt(bb); math.Abs(bend) > most {
		bend = math.Copysign(most, bend)
	}
	// Every answer must have its place on the scale, with room beyond.
	worst := 0.0
	a.each(node, func(y float64) { worst = math.Min(worst, bend*(y-r.base)) })
	if worst < -0.8 {
		bend *= 0.8 / -worst
	}
	r.bend = bend
	r.fit(a, node)
}

// each visits every answer of a node.
func (a *answers) each(node int, visit func(float64)) {
	for j := range a.up {
		visit(a.up[j][node])
		visit(a.down[j][node])
	}
	for j := range a.main {
		for _, rung := range a.rungs[j] {
			for _, row := range rung {
				if row != nil {
					visit(row[node])
				}
			}
		}
		for i := range j {
			if row := a.both[i][j]; row != nil {
				visit(row[node])
			}
		}
	}
}

// mostBend is the most that a scale may be bent over a deviation of its depth: a factor of
// seven for each.
const mostBend = 2

// parabola returns slope and curvature (of x2) through the values at -Eighty, 0, Eighty.
func parabola(down, up float64) (slope, curve float64) {
	return (up - down) / (2 * Eighty), (up + down) / (2 * Eighty * Eighty)
}

func (r *response) fit(a *answers, node int) {
	n, k := len(a.up), len(a.main)
	r.own, r.b, r.a = sized(r.own, n), sized(r.b, n), sized(r.a, n)
	r.bent, r.at, r.c = sized(r.bent, k), sized(r.at, n), sized(r.c, k*k)
	clear(r.c)
	for j := range n {
		r.at[j] = -1
		b, k := parabola(r.onto(a.down[j][node]), r.onto(a.up[j][node]))
		r.b[j], r.a[j] = b, k
		r.own[j] = [4]float64{k, b*b + 2*k*k, 6*b*b*k + 8*k*k*k, 48*b*b*k*k + 48*k*k*k*k}
	}
	for i, j := range a.main {
		if g := &a.rungs[i]; g[0][0] != nil {
			r.at[j], r.bent[i] = i, [7]float64{r.onto(g[1][1][node]), r.onto(a.down[j][node]), r.onto(g[0][1][node]), 0,
				r.onto(g[0][0][node]), r.onto(a.up[j][node]), r.onto(g[1][0][node])}
			r.own[j] = cumulantsOf(&r.bent[i])
		}
		for h := range i {
			if row := a.both[h][i]; row != nil {
				// What the two alone do not explain is the product's.
				v := r.onto(row[node]) - r.onto(a.up[j][node]) - r.onto(a.up[a.main[h]][node])
				r.c[h*k+i] = v / (Eighty * Eighty)
			}
		}
	}
}

// value returns the depth at scores x.
func (r *response) value(x []float64) float64 {
	v := 0.0
	for j, x := range x {
		if i := r.at[j]; i >= 0 {
			v += through(&r.bent[i], x)
		} else {
			v += x * (r.b[j] + x*r.a[j])
		}
	}
	for j := range r.main {
		for i := range j {
			v += r.c[i*len(r.main)+j] * x[r.main[i]] * x[r.main[j]]
		}
	}
	return r.back(v)
}

// steepest returns the scores at a distance t from nominal along which the depth changes
// fastest; nil when nothing much moves it.
func (r *response) steepest(t float64) []float64 {
	n := 0.0
	for _, b := range r.b {
		n += b * b
	}
	if !(n > noise*noise) {
		return nil
	}
	x := make([]float64, len(r.b))
	for j, b := range r.b {
		x[j] = t * b / math.Sqrt(n)
	}
	return x
}

var rungs = [7]float64{-ladder[1], -Eighty, -ladder[0], 0, ladder[0], Eighty, ladder[1]}

// bell holds the weights of the trapezoidal rule over the standard normal density, at
// scores bellStep apart out to 4.5.
var bell = func() (w [37]float64) {
	for i := range w {
		x := bellStep * float64(i-len(w)/2)
		w[i] = bellStep * portable.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
	}
	return w
}()

const bellStep = 0.25

// through returns, at score x, the function that takes the values v at the scores of
// rungs: cubics through them, going on straight beyond.
func through(v *[7]float64, x float64) float64 {
	slope := func(i int) float64 {
		// Of the parabola through three neighbors.
		k := min(max(i, 1), len(v)-2)
		h0, h1 := rungs[k]-rungs[k-1], rungs[k+1]-rungs[k]
		d0, d1 := (v[k]-v[k-1])/h0, (v[k+1]-v[k])/h1
		return (h1*d0+h0*d1)/(h0+h1) + 2*(d1-d0)/(h0+h1)*(rungs[i]-rungs[k])
	}
	switch last := len(v) - 1; {
	case x <= rungs[0]:
		return v[0] + slope(0)*(x-rungs[0])
	case x >= rungs[last]:
		return v[last] + slope(last)*(x-rungs[last])
	}
	i := 1
	for x > rungs[i] {
		i++
	}
	h := rungs[i] - rungs[i-1]
	t := (x - rungs[i-1]) / h
	t2, t3 := t*t, t*t*t
	return (2*t3-3*t2+1)*v[i-1] + (t3-2*t2+t)*h*slope(i-1) + (3*t2-2*t3)*v[i] + (t3-t2)*h*slope(i)
}

// cumulantsOf returns the first four cumulants of through(v, x) for a standard normal x, by
// the trapezoidal rule.
func cumulantsOf(v *[7]float64) [4]float64 {
	var m [5]float64
	for i, w := range &bell {
		y := through(v, bellStep*float64(i-len(bell)/2))
		for n := range m {
			m[n] += w
			w *= y
		}
	}
	mean := m[1]
	v2 := m[2] - mean*mean
	v3 := m[3] - 3*mean*m[2] + 2*mean*mean*mean
	v4 := m[4] - 4*mean*m[3] + 6*mean*mean*m[2] - 3*mean*mean*mean*mean
	return [4]float64{mean, v2, v3, v4 - 3*v2*v2}
}

// cumulants returns the first four cumulants of v. Those of the inputs' own parts add; the
// products add what the quadratic form with them has over the one without: with M the
// symmetric matrix of a and c/2,
//
//	k2 = b'b + 2 tr M2, k3 = 6 b'Mb + 8 tr M3, k4 = 48 b'M2b + 48 tr M4
//
// Source: Mathai & Provost 1992, Quadratic Forms in Random Variables, sec. 3.2b.
func (r *response) cumulants() (k1, k2, k3, k4 float64) {
	for _, o := range r.own {
		k1, k2, k3, k4 = k1+o[0], k2+o[1], k3+o[2], k4+o[3]
	}
	n := len(r.main)
	r.m = sized(r.m, n*n)
	m := r.m
	for j := range n {
		m[j*n+j] = r.a[r.main[j]]
		for i := range j {
			m[j*n+i], m[i*n+j] = r.c[i*n+j]/2, r.c[i*n+j]/2
		}
	}
	for i := range n {
		a, b := r.a[r.main[i]], r.b[r.main[i]]
		k2 -= 2 * a * a
		k3 -= 6*b*b*a + 8*a*a*a
		k4 -= 48*b*b*a*a + 48*a*a*a*a
		for j := range n {
			m2 := 0.0
			for k := range n {
				m2 += m[i*n+k] * m[k*n+j]
			}
			if i == j {
				k2 += 2 * m2
			}
			bj := r.b[r.main[j]]
			k3 += 6*b*m[i*n+j]*bj + 8*m2*m[j*n+i]
			k4 += 48*b*m2*bj + 48*m2*m2
		}
	}
	return k1, k2, k3, k4
}

// quantiles returns the depths that are not reached 1 time in 10 and passed 1 time in 10,
// by the expansion of Cornish & Fisher 1938 to the fourth cumulant.
func (r *response) quantiles() (lo, hi float64) {
	mean, k2, k3, k4 := r.cumulants()
	if !(k2 > 0) {
		return r.base, r.base
	}
	sd := math.Sqrt(k2)
	// Beyond these the expansion is no longer monotone at the scores used.
	skew := clamp(k3/(k2*sd), -1, 1)
	kurt := clamp(k4/(k2*k2), -1, 2)
	at := func(z float64) float64 {
		return mean + sd*(z+(z*z-1)*skew/6+(z*z*z-3*z)*kurt/24-(2*z*z*z-5*z)*skew*skew/36)
	}
	return r.back(at(-Eighty)), r.back(at(Eighty))
}

// sized returns a slice of n elements, what they hold undefined, in the memory of s if that
// is large enough.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

func clamp(x, lo, hi float64) float64 { return math.Min(math.Max(x, lo), hi) }
