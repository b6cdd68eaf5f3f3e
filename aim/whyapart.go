package aim

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/clearance"
	"sternfan/tackle"
)

// gaps notes the pairs that are inside the margins, and why.
func (p *parting) gaps(out *sternfan.AimAll, m *tackle.Model) {
	all := clearance.Clearances(m.Scenario, out.Fan, clearance.MarginsOf(&p.boat.sc.Wants))
	if len(all) > 0 {
		out.Least = &all[0]
	}
	for _, g := range all {
		switch {
		case g.Ratio >= 1:
			return
		case p.newly(g):
			out.Close = append(out.Close, sternfan.AimGap{Gap: g, Why: p.whyNear(g)})
		default:
			out.Tight = append(out.Tight, g)
		}
	}
}

// unitOf returns the unit that a party belongs to, -1 for hull and propellers.
func (p *parting) unitOf(id string) int {
	return slices.IndexFunc(p.units, func(u *unitOfRods) bool {
		return slices.ContainsFunc(u.options[u.use].courses, func(c *clearance.Course) bool { return c.ID == id })
	})
}

// why says which other party keeps a rod from going all the way: the one that its unit comes
// nearest to when it does.
func (p *parting) why(u *unitOfRods, rod int) string {
	id := p.boat.sc.Rods[rod].ID
	most, near := 0.0, ""
	asked := u.options[0].courses
	take := func(c, d *clearance.Course, at float64) {
		if v := math.Max(p.near(c, d), at); v > most && d.ID != id {
			most, near = v, d.ID
		}
	}
	i := slices.Index(p.units, u)
	for j, other := range p.units {
		if j == i {
			continue
		}
		// What was found of the whole counts before what was of the parts.
		whole := p.pair(min(i, j), pick(i < j, 0, other.use), max(i, j), pick(i < j, other.use, 0))
		if whole < closing {
			whole = 0
		}
		for _, c := range asked {
			for _, d := range other.options[other.use].courses {
				take(c, d, whole)
			}
		}
	}
	for n, c := range asked {
		for _, d := range asked[n+1:] {
			take(c, d, 0)
			take(d, c, 0)
		}
		for _, d := range p.fixed {
			take(c, d, 0)
		}
	}
	if near == "" {
		return "so that all keep clear of one another"
	}
	return "it would come too near " + p.boat.crewName(near)
}

// whyNear says why a pair is left inside the margins.
func (p *parting) whyNear(g sternfan.Gap) string {
	i, j := p.unitOf(g.A), p.unitOf(g.B)
	within := "within " + p.boat.lengthWords(steps*clearance.MarginsOf(&p.boat.sc.Wants).Vertical/2) + " of the depths asked for"
	if i == j || i < 0 || j < 0 {
		return "nothing " + within + " takes them apart"
	}
	stuck := func(k int) bool { return len(p.units[k].options) == 1 }
	if stuck(i) && stuck(j) {
		return "neither can move"
	}
	least, x0, y0 := math.Inf(1), -1, -1
	for x := range p.units[i].options {
		for y := range p.units[j].options {
			if p.pair(min(i, j), pick(i < j, x, y), max(i, j), pick(i < j, y, x)) >= closing {
				continue
			}
			cost := p.units[i].options[x].cost + p.units[j].options[y].cost
			for k, u := range p.units {
				if k != i && k != j {
					cost += p.pair(min(i, k), pick(i < k, x, u.use), max(i, k), pick(i < k, u.use, x))
					cost += p.pair(min(j, k), pick(j < k, y, u.use), max(j, k), pick(j < k, u.use, y))
				}
			}
			if cost < least {
				least, x0, y0 = cost, x, y
			}
		}
	}
	if x0 < 0 {
		return "none of their ways " + within + " takes them apart"
	}
	// Apart, one of them would come near a third.
	for k, u := range p.units {
		if k == i || k == j {
			continue
		}
		for _, ab := range [][2]int{{i, x0}, {j, y0}} {
			for _, c := range p.units[ab[0]].options[ab[1]].courses {
				for _, d := range u.options[u.use].courses {
					if p.near(c, d) >= closing {
						return "apart, " + p.boat.crewName(c.ID) + " would come too near " + p.boat.crewName(d.ID)
					}
				}
			}
		}
	}
	return "taking them apart would bring others together"
}

func pick(first bool, a, b int) int {
	if first {
		return a
	}
	return b
}
