package aim

import (
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/clearance"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// What keeps lines apart when all rods are moved costs, in feet of depth that one would
// rather be off, as what asks the hands does; assumed. A pair that comes inside the margins
// outweighs all that its rods could do about it; one that was inside before and comes no
// nearer is bettered where that asks little.
const (
	closing = 50.0 // a pair comes inside the margins, and as much again in proportion inside
	tight   = 5.0  // a pair stays inside, in proportion
	staying = 5.0  // a rod stays behind
)

// nearer is the part of what a pair was apart below which it counts as nearer than before.
const nearer = .9

// parting chooses among the options of units of rods.
type parting struct {
	boat   *Boat
	before *sternfan.Fan
	was    map[[2]string]float64 // ratio of each pair before
	movers []mover
	units  []*unitOfRods
	fixed  []*clearance.Course // hull and propellers
	known  map[[4]int]float64
}

// unitOfRods is the rods of one coupled system, and what they can do.
type unitOfRods struct {
	rods    []int
	options []option // the first is what is asked for
	use     int
	looked  bool // the depths beside it are among them
}

// option is one thing that a unit can do.
type option struct {
	ways    []*sternfan.Way // by rod of the unit; nil: it stays
	stays   []string        // why
	want    []float64       // depth aimed at, m
	cost    float64
	courses []*clearance.Course
}

// remember notes how near the parties were before.
func (p *parting) remember() {
	b := p.boat
	p.was, p.known = map[[2]string]float64{}, map[[4]int]float64{}
	p.fixed = clearance.Obstacles(&b.model.Scenario.Boat)
	for _, g := range clearance.Clearances(b.model.Scenario, p.before, clearance.MarginsOf(&b.sc.Wants)) {
		p.was[[2]string{g.A, g.B}], p.was[[2]string{g.B, g.A}] = g.Ratio, g.Ratio
	}
}

// miss is what a depth beside the one wanted costs: too deep counts twice, for fish look up.
func (p *parting) miss(z, want float64) float64 {
	off := (z - want) / float64(unit.Foot)
	if off > 0 {
		return 2 * off
	}
	return -off
}

// place solves an option's unit by itself, for where its lines run. It reports false when
// something gives way there that did not when its rods were aimed one by one.
func (p *parting) place(ctx context.Context, u *unitOfRods, o *option) (bool, error) {
	b := p.boat
	sc := b.copied()
	if err := p.put(ctx, sc, u, o); err != nil {
		return false, err
	}
	nb, err := New(sc, Options{Units: b.opt.Units})
	if err != nil {
		return false, nil
	}
	k, err := nb.bench(ctx, u.rods[0], "")
	if err != nil {
		return false, nil
	}
	fan, err := k.Begin(ctx, false)
	if err != nil {
		return false, err
	}
	moves := slices.ContainsFunc(o.ways, func(w *sternfan.Way) bool { return w != nil })
	for n, rod := range u.rods {
		m, w := &p.movers[rod], o.ways[n]
		if !m.ok {
			continue
		}
		at := slices.IndexFunc(fan.Rods, func(t sternfan.Track) bool { return t.Rod == b.sc.Rods[rod].ID })
		t := &fan.Rods[at]
		if len(t.Lures) <= m.lure || moves && t.Status != sternfan.StatusOK {
			return false, nil
		}
		o.cost += p.miss(t.Lures[m.lure].Depth, m.move.Want)
		if w == nil {
			o.cost += staying
			continue
		}
		for _, s := range w.Settings {
			if s.Changed && s.Key != w.Vary {
				o.cost += hands[named(s.Key)]
			}
		}
	}
	o.courses = nil
	for _, c := range clearance.Courses(k.Model.Scenario, fan) {
		if !slices.ContainsFunc(p.fixed, func(f *clearance.Course) bool { return f.ID == c.ID }) {
			c.Band = p.band(c.ID)
			o.courses = append(o.courses, c)
		}
	}
	// Among themselves, and from hull and propellers.
	for i, c := range o.courses {
		for _, d := range append(o.courses[i+1:len(o.courses):len(o.courses)], p.fixed...) {
			o.cost += p.near(c, d)
		}
	}
	return len(o.courses) > 0, nil
}

// band returns half the interval that a party's depth had before.
func (p *parting) band(id string) float64 {
	band := 0.0
	take := func(t *sternfan.Track) {
		if t.Rod != id {
			return
		}
		for _, b := range t.Bodies {
			band = math.Max(band, (b.DepthHi-b.DepthLo)/2)
		}
		for _, l := range t.Lures {
			band = math.Max(band, (l.DepthHi-l.DepthLo)/2)
		}
	}
	for i := range p.before.Rods {
		take(&p.before.Rods[i])
	}
	for i := range p.before.Devices {
		take(&p.before.Devices[i])
	}
	return band
}

// near is what two parties cost by how near they are.
func (p *parting) near(c, d *clearance.Course) float64 {
	g, ok := c.Gap(d, clearance.MarginsOf(&p.boat.sc.Wants), 1)
	if !ok {
		return 0
	}
	if p.newly(g) {
		return closing * (2 - g.Ratio)
	}
	return tight * (1 - g.Ratio)
}

// newly reports whether a pair is inside the margins and nearer than it was.
func (p *parting) newly(g sternfan.Gap) bool {
	old, ok := p.was[[2]string{g.A, g.B}]
	return g.Ratio < 1 && (!ok || g.Ratio < nearer*old)
}

// pair is what two options of two units cost together.
func (p *parting) pair(i, x, j, y int) float64 {
	key := [4]int{i, x, j, y}
	if v, ok := p.known[key]; ok {
		return v
	}
	s := 0.0
	for _, c := range p.units[i].options[x].courses {
		for _, d := range p.units[j].options[y].courses {
			s += p.near(c, d)
		}
	}
	p.known[key] = s
	return s
}

// put makes a scenario what an option of a unit is.
func (p *parting) put(ctx context.Context, sc *sternfan.Scenario, u *unitOfRods, o *option) error {
	for n, rod := range u.rods {
		if o.ways[n] == nil {
			continue
		}
		k, err := p.bench(ctx, sc, rod, 1)
		if err != nil {
			return err
		}
		k.PutBack(sc, k.withWay(o.ways[n]))
	}
	return nil
}

// rounds bounds how often the choice is made again because the whole, solved together and
// with its intervals, is not as the parts were.
const rounds = 5

// part chooses and solves the whole. ctx ends the choosing; told does not end.
func (p *parting) part(ctx, told context.Context) (*sternfan.Fan, *tackle.Model, error) {
	var best struct {
		fan   *sternfan.Fan
		model *tackle.Model
		use   []int
		cost  float64
	}
	for round := range rounds {
		if err := p.search(ctx); err != nil {
			return nil, nil, err
		}
		sc := p.boat.copied()
		for _, u := range p.units {
			if err := p.put(told, sc, u, &u.options[u.use]); err != nil {
				return nil, nil, err
			}
		}
		m, faults := tackle.Resolve(sc)
		if len(faults) > 0 {
			return nil, nil, faults
		}
		fan, err := spread.Solve(told, m, p.boat.options())
		if err != nil {
			return nil, nil, err
		}
		cost, again := p.correct(m, fan)
		if best.fan == nil || cost < best.cost-1e-9 {
			best.fan, best.model, best.cost, best.use = fan, m, cost, best.use[:0]
			for _, u := range p.units {
				best.use = append(best.use, u.use)
			}
		}
		if !again || ctx.Err() != nil || round == rounds-1 {
			break
		}
	}
	for i, u := range p.units {
		u.use = best.use[i]
	}
	return best.fan, best.model, nil
}

// search chooses, and again with the depths beside those asked for, of units that are not
// clear there, until that changes nothing.
func (p *parting) search(ctx context.Context) error {
	for {
		p.choose(ctx)
		more := false
		for i, u := range p.units {
			if u.looked || ctx.Err() != nil || u.use == 0 && !p.pressed(i) {
				continue
			}
			if err := p.beside(ctx, u); err != nil {
				if ctx.Err() != nil {
					break
				}
				return err
			}
			more = true
		}
		if !more {
			return nil
		}
	}
}

// pressed reports whether a unit as chosen is inside the margins of another or its own.
func (p *parting) pressed(i int) bool {
	u := p.units[i]
	if u.options[u.use].cost >= closing {
		return true
	}
	for j, other := range p.units {
		if j != i && p.pair(min(i, j), pick(i < j, u.use, other.use), max(i, j), pick(i < j, other.use, u.use)) >= closing {
			return true
		}
	}
	return false
}

// correct reckons what the choice costs as it was solved together, and notes what the pairs
// of its options cost there. It reports whether any costs clearly more than was thought.
func (p *parting) correct(m *tackle.Model, fan *sternfan.Fan) (cost float64, again bool) {
	of := map[string]int{}
	for i, u := range p.units {
		for _, c := range u.options[u.use].courses {
			of[c.ID] = i
		}
		cost += u.options[u.use].cost
	}
	is := map[[4]int]float64{}
	all := clearance.Courses(m.Scenario, fan)
	for n, c := range all {
		for _, d := range all[n+1:] {
			i, okI := of[c.ID]
			j, okJ := of[d.ID]
			if !okI || !okJ || i == j {
				continue
			}
			i, j = min(i, j), max(i, j)
			v := p.near(c, d)
			is[[4]int{i, p.units[i].use, j, p.units[j].use}] += v
			cost += v
		}
	}
	for i := range p.units {
		for j := i + 1; j < len(p.units); j++ {
			key := [4]int{i, p.units[i].use, j, p.units[j].use}
			if v := is[key]; v > p.pair(key[0], key[1], key[2], key[3])+closing/2 {
				p.known[key], again = v, true
			}
		}
	}
	return cost, again
}

// looks bounds the choices that are looked at.
const looks = 200_000

// choose picks an option for every unit so that the sum of what they cost is least, by
// branch and bound from the best that single and double exchanges find.
func (p *parting) choose(ctx context.Context) {
	own := make([][]float64, len(p.units))
	for i, u := range p.units {
		for x := range u.options {
			own[i] = append(own[i], u.options[x].cost)
		}
	}
	use := cheapest(ctx, own, p.pair, looks)
	for i, u := range p.units {
		u.use = use[i]
	}
}

// cheapest returns a choice for each of several with the least sum of own and pair costs,
// none below zero; pair is asked with i < j. It is the very least unless looks choices were
// not enough or ctx ended.
func cheapest(ctx context.Context, own [][]float64, pair func(i, x, j, y int) float64, looks int) []int {
	n := len(own)
	between := func(i, x, j, y int) float64 {
		if i > j {
			i, x, j, y = j, y, i, x
		}
		return pair(i, x, j, y)
	}
	sum := func(use []int) float64 {
		s := 0.0
		for i := range use {
			s += own[i][use[i]]
			for j := range i {
				s += pair(j, use[j], i, use[i])
			}
		}
		return s
	}
	use := make([]int, n)
	least := sum(use)
	// One at a time, then two, until neither betters it.
	try := slices.Clone(use)
	better := func() bool {
		if s := sum(try); s < least-1e-9 {
			least = s
			copy(use, try)
			return true
		}
		return false
	}
	for found := true; found && ctx.Err() == nil; {
		found = false
		for i := range n {
			copy(try, use)
			for x := range own[i] {
				try[i] = x
				found = better() || found
			}
		}
		for i := 0; i < n && !found && least > closing; i++ {
			for j := range i {
				if between(i, use[i], j, use[j]) == 0 {
					continue
				}
				for x := range own[i] {
					for y := range own[j] {
						copy(try, use)
						try[i], try[j] = x, y
						found = better() || found
					}
				}
			}
		}
	}
	rest := make([]float64, n+1)
	for i := n - 1; i >= 0; i-- {
		rest[i] = rest[i+1] + slices.Min(own[i])
	}
	at := make([]int, n)
	var visit func(i int, cost float64)
	visit = func(i int, cost float64) {
		if looks--; looks < 0 || looks%256 == 0 && ctx.Err() != nil || cost+rest[i] >= least-1e-9 {
			return
		}
		if i == n {
			least = cost
			copy(use, at)
			return
		}
		costs := make([]float64, len(own[i]))
		order := make([]int, len(own[i]))
		for x := range costs {
			order[x], costs[x] = x, cost+own[i][x]
			for j := 0; j < i && costs[x]+rest[i+1] < least; j++ {
				costs[x] += pair(j, at[j], i, x)
			}
		}
		slices.SortStableFunc(order, func(x, y int) int {
			switch {
			case costs[x] < costs[y]:
				return -1
			case costs[x] > costs[y]:
				return 1
			}
			return 0
		})
		for _, x := range order {
			at[i] = x
			visit(i+1, costs[x])
		}
	}
	visit(0, 0)
	return use
}
