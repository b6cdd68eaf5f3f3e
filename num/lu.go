package num

import "math"

// Factor replaces the n x n matrix a (by rows) by its factors P A = L U with partial
// pivoting, for any number of Back calls. piv, of length n, notes the exchanges. It
// reports whether a was regular to working precision.
func Factor(a []float64, piv []int, n int) bool {
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		piv[k] = p
		if !(math.Abs(a[p*n+k]) > 1e-300) {
			return false
		}
		if p != k {
			for j := range n {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
		}
		for i := k + 1; i < n; i++ {
			m := a[i*n+k] / a[k*n+k]
			a[i*n+k] = m
			if m == 0 {
				continue
			}
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= m * a[k*n+j]
			}
		}
	}
	return true
}

// Back solves a x = b for the factors that Factor left in lu and piv; b becomes x.
func Back(lu []float64, piv []int, b []float64, n int) {
	for k := range n {
		if p := piv[k]; p != k {
			b[k], b[p] = b[p], b[k]
		}
	}
	for i := range n {
		s := b[i]
		for j := range i {
			s -= lu[i*n+j] * b[j]
		}
		b[i] = s
	}
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for j := i + 1; j < n; j++ {
			s -= lu[i*n+j] * b[j]
		}
		b[i] = s / lu[i*n+i]
	}
}
