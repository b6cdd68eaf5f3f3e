// Package num holds the small numerical tools of the solvers: dense elimination and a
// bracketed root finder. It knows nothing of physics.
package num

import "math"

// Solve solves a x = b in place by Gaussian elimination with partial pivoting: a is
// n x n by rows and is destroyed, b becomes x. It reports whether a was regular to
// working precision.
func Solve(a []float64, b []float64, n int) bool {
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		if !(math.Abs(a[p*n+k]) > 1e-300) {
			return false
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			b[k], b[p] = b[p], b[k]
		}
		for i := k + 1; i < n; i++ {
			m := a[i*n+k] / a[k*n+k]
			if m == 0 {
				continue
			}
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= m * a[k*n+j]
			}
			b[i] -= m * b[k]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			b[i] -= a[i*n+j] * b[j]
		}
		b[i] /= a[i*n+i]
	}
	return true
}

// Root finds a zero of a function that passes from negative to positive inside a
// bracket: secant steps, kept inside the bracket, halved when one end stands still or,
// after the first few, when a step did not halve the value (a jump or a corner). It is
// driven by its caller, so that it needs no closure: evaluate at X, give the value to
// Take, until satisfied.
type Root struct {
	X            float64 // the point to evaluate next
	Lo, Hi       float64 // bracket so far: f(Lo) <= 0 < f(Hi) once both were taken
	Count        int     // values taken
	lastX, lastF float64
	side, stale  int
}

// NewRoot returns a finder on [lo, hi] with the first point x moved inside it.
func NewRoot(lo, hi, x float64) Root {
	return Root{X: math.Min(math.Max(x, lo), hi), Lo: lo, Hi: hi}
}

// Take takes the value f at X and chooses the next X. slope is the derivative expected
// at the first point; it is not used afterwards.
func (r *Root) Take(f, slope float64) {
	x, side := r.X, 1
	if f <= 0 {
		side = -1
		r.Lo = x
	} else {
		r.Hi = x
	}
	if side == r.side {
		r.stale++
	} else {
		r.stale = 0
	}
	next := math.NaN()
	switch {
	case r.Count == 0 && slope > 0:
		next = x - f/slope
	case r.Count > 0 && r.stale < 4 && f != r.lastF &&
		(r.Count < 4 || math.Abs(f) <= 0.5*math.Abs(r.lastF)):
		next = x - f*(x-r.lastX)/(f-r.lastF)
	default:
		r.stale = 0
	}
	r.lastX, r.lastF, r.side = x, f, side
	r.Count++
	if !(next > r.Lo && next < r.Hi) {
		next = r.Lo + (r.Hi-r.Lo)/2
	}
	r.X = next
}

// Slope returns the secant through the last value taken and (x, f); 0 when there is none.
func (r *Root) Slope(x, f float64) float64 {
	if r.Count == 0 || x == r.lastX {
		return 0
	}
	return (f - r.lastF) / (x - r.lastX)
}

// Cholesky replaces the symmetric matrix a, n x n by rows, by its lower triangular factor
// L with L LT = a, zeros above. It reports whether a was positive definite.
func Cholesky(a []float64, n int) bool {
	for j := range n {
		d := a[j*n+j]
		for k := range j {
			d -= a[j*n+k] * a[j*n+k]
		}
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		a[j*n+j] = d
		for i := j + 1; i < n; i++ {
			v := a[i*n+j]
			for k := range j {
				v -= a[i*n+k] * a[j*n+k]
			}
			a[i*n+j] = v / d
		}
		for k := j + 1; k < n; k++ {
			a[j*n+k] = 0
		}
	}
	return true
}
