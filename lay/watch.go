package lay

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/geom"
)

// firstOut and firstSteps are how much of a line is out when it is watched first on its
// way, and in how many steps from there on: until then it is beside its own tip, and tips
// stand closer together than any margin.
const (
	firstOut   = 0.2
	firstSteps = 4
)

// Between two moments the line is looked at again in the middle as long as it might have
// come inside a margin meanwhile: it moves by so many margins, and goes about straight, so
// that it comes nearer than at either end by half of that; by three quarters to be sure.
const (
	meanwhile  = 0.75
	watchFar   = 3.0  // margins apart from which on nobody asks how far
	finestStep = 0.01 // of the line
)

// moment is a line on its way out with so much of it out.
type moment struct {
	out    float64
	moving []*clearance.Course // the line, and its cable; nil: it cannot be there
	near   map[int]float64     // how many margins from each other rod
}

// passes holds how near the lines of one rod come to another, already out, while they go
// out: by rod of the file.
type passes map[[2]int]sternfan.Gap

// watch notes how near the rods come to each of the others, as they lie, on their way out.
func (pl *planner) watch(e *whole, x pick, rods []int) (passes, error) {
	seen := passes{}
	way := make([][]moment, len(rods))
	type ask struct {
		rod, at int // before which moment
		out     float64
	}
	var next []ask
	asked := map[[2]float64]bool{} // one that cannot be is not asked again
	for i := range rods {
		w := pl.ways[x[rods[i]]]
		end := moment{out: 1, moving: []*clearance.Course{w.course}}
		if w.ball != nil {
			end.moving = append(end.moving, w.ball)
		}
		if w.course == nil {
			continue
		}
		pl.pass(passes{}, x, rods[i], &end) // that it lies clear there is known
		way[i] = []moment{end}
		for k := range firstSteps {
			next = append(next, ask{i, 0, firstOut + (1-firstOut)*float64(k)/firstSteps})
		}
	}
	for len(next) > 0 {
		var trials []bench.Trial
		var of []ask
		for _, a := range next {
			r := rods[a.rod]
			if t, ok := pl.partly(&e.sc.Rods[slices.Index(e.rods, r)], pl.ways[x[r]], a.out); ok {
				trials, of = append(trials, t), append(of, a)
			}
		}
		got, err := pl.try(trials, false)
		if err != nil {
			return nil, err
		}
		added := make([]int, len(rods))
		for k, a := range of {
			m := moment{out: a.out, moving: pl.moving(x, rods[a.rod], &got[k])}
			if m.moving != nil {
				pl.pass(seen, x, rods[a.rod], &m)
			}
			way[a.rod] = slices.Insert(way[a.rod], a.at+added[a.rod], m)
			added[a.rod]++
		}
		next = next[:0]
		for i := range way {
			for k := 1; k < len(way[i]); k++ {
				p, q := &way[i][k-1], &way[i][k]
				key := [2]float64{float64(i), (p.out + q.out) / 2}
				if q.out-p.out > finestStep && !asked[key] && slices.Contains(pl.unsure(p, q), true) {
					asked[key] = true
					next = append(next, ask{i, k, key[1]})
				}
			}
		}
	}
	return seen, nil
}

// unsure reports for each rod that a line passes whether it might have come inside its
// margin between two moments. One that it comes inside of anyway is known. Where it cannot
// be at one of them nothing is known of it there, but that it had room to spare at the other.
func (pl *planner) unsure(p, q *moment) []bool {
	if p.moving == nil || q.moving == nil {
		var out []bool
		for _, m := range []*moment{p, q} {
			for _, near := range m.near {
				out = append(out, near < roomy)
			}
		}
		return out
	}
	moved := 0.0
	for i := range min(len(p.moving), len(q.moving)) {
		moved = math.Max(moved, p.moving[i].Moves(q.moving[i], pl.margins))
	}
	var out []bool
	for r, a := range p.near {
		b := q.near[r]
		out = append(out, a >= 1 && b >= 1 && math.Min(a, b)-meanwhile*moved < 1)
	}
	return out
}

// moving returns a rod's line, and cable, as a trial of it came out.
func (pl *planner) moving(x pick, r int, a *answer) []*clearance.Course {
	if a.course == nil {
		return nil
	}
	w := pl.ways[x[r]]
	g := &pl.rigs[w.rig]
	half := 0.0
	for i := range a.track.Lures {
		half = math.Max(half, g.info.rel*a.track.Lures[i].Depth)
	}
	line := a.course.Moved(false, geom.Vec{}, half)
	line.ID, line.Device = pl.sc.Rods[r].ID, w.device
	out := []*clearance.Course{line}
	if a.ball != nil {
		ball := a.ball.Moved(false, geom.Vec{}, g.info.rel*deepest(a.device))
		ball.ID = w.device
		out = append(out, ball)
	}
	return out
}

// pass notes how near a rod that is on its way comes to the others.
func (pl *planner) pass(out passes, x pick, r int, m *moment) {
	w := pl.ways[x[r]]
	m.near = map[int]float64{}
	for q, o := range x {
		if o == none || q == r {
			continue
		}
		other := pl.ways[o]
		if other.course == nil || w.device != "" && w.device == other.device {
			continue
		}
		still := []*clearance.Course{other.course}
		if other.ball != nil {
			still = append(still, other.ball)
		}
		near := watchFar
		for _, line := range m.moving {
			for _, s := range still {
				gap, ok := line.Gap(s, pl.margins, near)
				if !ok {
					continue
				}
				near = gap.Ratio
				key := [2]int{r, q}
				if best, known := out[key]; near < roomy && (!known || near < best.Ratio) {
					gap.A, gap.B = pl.sc.Rods[r].ID, pl.sc.Rods[q].ID
					out[key] = gap
				}
			}
		}
		m.near[q] = near
	}
}
