package lay

import "math"

// bound returns a score that no pick of the problem exceeds: every rod at its best, each
// place in a band filled once, what two rods do to each other and what they share left
// out. The sum of fits under that is an assignment problem, solved exactly.
func (p *problem) bound() float64 {
	if p.total == 0 {
		return 1
	}
	// A row for every lure that a rod may carry, a column for every place in a band.
	var rows [][]float64
	for r := range p.must {
		carries := 0
		for _, o := range p.byRod[r] {
			if p.options[o].breaks&^p.waive == 0 {
				carries = max(carries, len(p.options[o].lures))
			}
		}
		for k := range carries {
			row := make([]float64, len(p.want))
			for b := range row {
				row[b] = math.Inf(-1)
			}
			for _, o := range p.byRod[r] {
				opt := &p.options[o]
				if opt.breaks&^p.waive != 0 {
					continue
				}
				for _, l := range opt.lures {
					if l.band >= 0 {
						v := p.weight[cover] * l.fit / float64(max(p.slots, 1))
						if k == 0 {
							v -= p.soloCost(opt)
						}
						row[l.band] = math.Max(row[l.band], v)
					}
				}
			}
			rows = append(rows, row)
		}
	}
	n := max(len(rows), p.slots)
	cost := make([][]float64, n)
	for i := range cost {
		cost[i] = make([]float64, n)
		if i >= len(rows) {
			continue
		}
		j := 0
		for b, want := range p.want {
			for range want {
				// A place may stay empty, so nothing is worth less than nothing.
				cost[i][j] = -math.Max(rows[i][b], 0)
				j++
			}
		}
	}
	gain := -assign(cost)
	rest := p.total - p.weight[cover]
	if p.slots == 0 {
		gain = p.weight[cover]
	}
	return clamp01((rest + gain) / p.total)
}

// soloCost returns what an option's broken rules of one rod cost. Their sums are never
// cut off at 1: no more rods are fished than they are divided by.
func (p *problem) soloCost(o *option) float64 {
	d := float64(max(p.likely, 1))
	sum := 0.0
	for i, v := range o.solo {
		sum += p.weight[int(firstSolo)+i] * v / d
	}
	return sum
}

// assign returns the least sum of a square cost matrix with one entry of each row and
// column, by shortest augmenting paths (Kuhn 1955, Nav. Res. Logist. Q. 2:83; Jonker &
// Volgenant 1987, Computing 38:325).
func assign(cost [][]float64) float64 {
	n := len(cost)
	u, v := make([]float64, n+1), make([]float64, n+1)
	match, way := make([]int, n+1), make([]int, n+1) // row of each column, 1-based
	for i := 1; i <= n; i++ {
		match[0] = i
		j0 := 0
		least := make([]float64, n+1)
		used := make([]bool, n+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		for {
			used[j0] = true
			i0, j1, delta := match[j0], 0, math.Inf(1)
			for j := 1; j <= n; j++ {
				if used[j] {
					continue
				}
				if c := cost[i0-1][j-1] - u[i0] - v[j]; c < least[j] {
					least[j], way[j] = c, j0
				}
				if least[j] < delta {
					delta, j1 = least[j], j
				}
			}
			for j := 0; j <= n; j++ {
				if used[j] {
					u[match[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			j0 = j1
			if match[j0] == 0 {
				break
			}
		}
		for j0 != 0 {
			j1 := way[j0]
			match[j0] = match[j1]
			j0 = j1
		}
	}
	sum := 0.0
	for j := 1; j <= n; j++ {
		sum += cost[match[j]-1][j-1]
	}
	return sum
}
