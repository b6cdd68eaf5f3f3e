//go:build !js

package depth

import (
	"cmp"
	"context"
	"math"
	"slices"
)

const (
	bentColumns = 6   // the strongest, whose curvatures are looked at
	mostLean    = 0.5 // of a score's deviation
)

// lean returns by how much the means of the scores lie beside the maximum, where what is
// predicted is curved. A fit keeps to the maximum, which gives back the depths that were
// measured; a random walk knows means. Half the covariance times the third derivatives of the log
// posterior, traced with the covariance (Lindley, Trabajos de Estadistica 31, 1980). Third
// derivatives of predictions are left out, and curvatures between two weak columns.
func (m *climb) lean(ctx context.Context, o *fit) []float64 {
	n, p := m.n, len(o.y)
	strong := m.strongest(o)
	among := make([]bool, n)
	bent := make([][]float64, len(strong)) // by strong column: slopes' slopes, predictions by columns
	x, down := slices.Clone(o.x), make([]float64, p*n)
	for s, c := range strong {
		among[c] = true
		bent[s] = make([]float64, p*n)
		step := 0.5 * math.Sqrt(o.cov[c*n+c])
		x[c] = o.x[c] + step
		m.f.slopes(ctx, x, bent[s])
		x[c] = o.x[c] - step
		m.f.slopes(ctx, x, down)
		x[c] = o.x[c]
		for i, d := range down {
			bent[s][i] = (bent[s][i] - d) / (2 * step)
		}
	}
	third, along, u := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range m.data {
		a := &m.data[i]
		h, k := a.cost(o.y, 1).exact, a.preds()
		for v := range 2 {
			if k[v] < 0 {
				continue
			}
			// The covariance times the slopes of one prediction,
			slope := o.jac[k[v]*n : (k[v]+1)*n]
			for c := range n {
				u[c] = 0
				for d, g := range slope {
					u[c] += o.cov[c*n+d] * g
				}
			}
			for w := range 2 {
				weight := h[v+w]
				if k[w] < 0 || weight == 0 {
					continue
				}
				// with the curvature of the other.
				trace := 0.0
				clear(along)
				for s, c := range strong {
					for d, b := range bent[s][k[w]*n : (k[w]+1)*n] {
						along[c] += b * u[d]
						if among[d] {
							trace += b * o.cov[c*n+d]
							continue
						}
						along[d] += b * u[c]
						trace += 2 * b * o.cov[c*n+d]
					}
				}
				for c := range third {
					third[c] += weight * (trace*slope[c] + 2*along[c])
				}
			}
		}
	}
	out, most := make([]float64, n), 0.0
	for c := range out {
		for d, t := range third {
			out[c] -= o.cov[c*n+d] * t / 2
		}
		most = math.Max(most, math.Abs(out[c])/math.Sqrt(o.cov[c*n+c]))
	}
	if !(most <= mostLean) {
		// So far the expansion does not reach.
		part := mostLean / most
		if math.IsNaN(part) {
			part = 0
		}
		for c := range out {
			out[c] *= part
		}
	}
	return out
}

// strongest returns the columns that tell most on what was measured, for their deviations.
func (m *climb) strongest(o *fit) []int {
	n := m.n
	effect, order := make([]float64, n), make([]int, n)
	for c := range n {
		order[c] = c
		for i := range m.data {
			for _, k := range m.data[i].preds() {
				if k >= 0 {
					effect[c] += math.Abs(o.jac[k*n+c]) / m.data[i].sd
				}
			}
		}
		effect[c] *= math.Sqrt(o.cov[c*n+c])
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(effect[b], effect[a]), cmp.Compare(a, b)) })
	return order[:min(n, bentColumns)]
}
