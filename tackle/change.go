package tackle

import (
	"reflect"
	"slices"

	"sternfan"
)

// Changed is Resolve for the scenario sc when m is the model of another scenario, was: the
// same to the last digit, and quick where the two differ only in settings of some rods,
// lengths of cables or tow lines, or the speed: then only the groups concerned are made
// anew, and m's are taken for the rest. Neither scenario nor m is changed; the models may
// share parts.
func Changed(m *Model, was, sc *sternfan.Scenario) (*Model, sternfan.Faults) {
	if m == nil || was == nil || !reflect.DeepEqual(&was.Water, &sc.Water) || was.Heading != sc.Heading {
		return Resolve(sc)
	}
	if c, ok := concerned(m, was, sc); ok {
		if out := c.resolve(m, sc); out != nil {
			return out, nil
		}
	}
	return Again(m, sc)
}

// Since returns the groups that may differ from those of was, from which Changed made m.
// It reports false when m was not made so, or when more than groups differ: the speed or
// what is believed of the uncertain inputs.
func (m *Model) Since(was *Model) ([]int, bool) {
	if was == nil || m.from == nil || m.from != was.self {
		return nil, false
	}
	return m.fresh, true
}

// identity tells models apart without keeping them in memory.
type identity struct{ _ byte }

// concern is what a change of the scenario concerns.
type concern struct {
	groups []int // ascending
	rods   []bool
	downs  []bool
	masts  []bool
	boat   bool // the speed, or what is believed of inputs, is another
}

// concerned finds what a change concerns; false when it is not of the kinds for which
// Changed is quick.
func concerned(m *Model, was, sc *sternfan.Scenario) (*concern, bool) {
	if !reflect.DeepEqual(&was.Boat, &sc.Boat) || !reflect.DeepEqual(&was.Gear, &sc.Gear) ||
		len(was.Rods) != len(sc.Rods) || len(was.Downriggers) != len(sc.Downriggers) || len(was.MastBoards) != len(sc.MastBoards) {
		return nil, false
	}
	c := &concern{rods: make([]bool, len(sc.Rods)), downs: make([]bool, len(sc.Downriggers)), masts: make([]bool, len(sc.MastBoards))}
	c.boat = !reflect.DeepEqual(&was.Speed, &sc.Speed) || was.Solver != sc.Solver || !reflect.DeepEqual(was.Uncertainty, sc.Uncertainty) ||
		!reflect.DeepEqual(was.Calibrations, sc.Calibrations)
	hit := make([]bool, len(m.Groups))
	for i := range sc.Rods {
		a, b := &was.Rods[i], &sc.Rods[i]
		if a.ID != b.ID || a.Holder != b.Holder || a.Reel != b.Reel || !reflect.DeepEqual(&a.Rig, &b.Rig) {
			return nil, false
		}
		if a.Settings == b.Settings {
			continue
		}
		g := m.Rods[i].Group
		if g < 0 {
			return nil, false
		}
		hit[g] = true
	}
	device := func(of func(g *Group) int, i int) bool {
		g := slices.IndexFunc(m.Groups, func(g Group) bool { return of(&g) == i })
		if g >= 0 {
			hit[g] = true
		}
		return g >= 0
	}
	for i := range sc.Downriggers {
		a, b := was.Downriggers[i], &sc.Downriggers[i]
		if a == *b {
			continue
		}
		a.CableOut = b.CableOut
		if a != *b || !device(func(g *Group) int { return g.Downrigger }, i) {
			return nil, false
		}
	}
	for i := range sc.MastBoards {
		a, b := was.MastBoards[i], &sc.MastBoards[i]
		if a == *b {
			continue
		}
		a.LineOut = b.LineOut
		if a != *b || !device(func(g *Group) int { return g.MastBoard }, i) {
			return nil, false
		}
	}
	for g := range m.Groups {
		if !hit[g] {
			continue
		}
		c.groups = append(c.groups, g)
		for _, rod := range m.Groups[g].Rods {
			c.rods[rod] = true
		}
		if i := m.Groups[g].Downrigger; i >= 0 {
			c.downs[i] = true
		}
		if i := m.Groups[g].MastBoard; i >= 0 {
			c.masts[i] = true
		}
	}
	return c, true
}

// resolve makes the groups concerned anew and puts them into a copy of m. It returns nil
// when there are faults or what is uncertain is not what it was: then all must be resolved.
func (c *concern) resolve(m *Model, sc *sternfan.Scenario) *Model {
	r := newResolver(sc, m)
	r.only = c
	r.water()
	r.groups(r.rods())
	r.speedProbe()
	part := r.model
	if len(r.faults) > 0 || len(part.Notes) > 0 || len(part.Refused) > 0 || len(part.Groups) != len(c.groups) {
		return nil
	}
	// The part's entries by their places in the whole registry.
	place := make([]int, len(r.reg.entries))
	entries := slices.Clone(m.given)
	for i := range r.reg.entries {
		at, ok := m.index[r.reg.entries[i].Name]
		if !ok {
			return nil
		}
		place[i], entries[at] = at, r.reg.entries[i]
	}
	if !samePlace(place, part.speedAt, m.speedAt) || !samePlace(place, part.currentAt, m.currentAt) ||
		!samePlace(place, part.bottomAt, m.bottomAt) || !samePlace(place, part.fleasAt, m.fleasAt) {
		return nil
	}
	out := *m
	out.Groups, out.Rods = slices.Clone(m.Groups), slices.Clone(m.Rods)
	for k := range part.Groups {
		g := &part.Groups[k]
		at := c.groups[k]
		old := &m.Groups[at]
		if g.Downrigger != old.Downrigger || g.MastBoard != old.MastBoard || !slices.Equal(g.Rods, old.Rods) {
			return nil
		}
		g.moveTo(place)
		// Entries come into the registry in the order in which groups touch them.
		if !slices.Equal(g.order, old.order) {
			return nil
		}
		out.Groups[at] = *g
		for _, rod := range g.Rods {
			out.Rods[rod] = part.Rods[rod]
			out.Rods[rod].Group = at
		}
	}
	copied := *sc
	copied.Boat, copied.Gear = m.Scenario.Boat, m.Scenario.Gear
	copied.Rods, copied.Downriggers = slices.Clone(m.Scenario.Rods), slices.Clone(m.Scenario.Downriggers)
	for i := range copied.Rods {
		if c.rods[i] {
			copied.Rods[i] = r.sc.Rods[i]
		}
		copied.Rods[i].Fixed = sc.Rods[i].Fixed
	}
	for i := range copied.Downriggers {
		if c.downs[i] {
			copied.Downriggers[i] = r.sc.Downriggers[i]
		}
	}
	out.Scenario, out.speed = &copied, part.speed
	r.sc, r.model, r.reg = &copied, &out, registry{entries: entries, index: m.index}
	out.Notes, out.given = slices.Clone(m.plain), slices.Clone(entries)
	if !r.finish() {
		return nil
	}
	out.self, out.from, out.fresh = new(identity), nil, nil
	if !c.boat {
		out.from, out.fresh = m.self, c.groups
	}
	return &out
}

func samePlace(place []int, i, was int) bool {
	if i < 0 {
		return was < 0
	}
	return place[i] == was
}

// moveTo gives the entries that the group's templates name their places in another registry.
func (g *Group) moveTo(place []int) {
	move := func(at *int) {
		if *at >= 0 {
			*at = place[*at]
		}
	}
	for i := range g.nodes {
		move(&g.nodes[i].pull)
	}
	for i := range g.lines {
		l := &g.lines[i]
		for _, at := range []*int{&l.diameter, &l.normal, &l.friction, &l.mass, &l.counterAt, &l.leadAt} {
			move(at)
		}
	}
	for i := range g.bodies {
		b := &g.bodies[i]
		for _, at := range []*int{&b.drag, &b.mass, &b.lift, &b.cn, &b.incidence, &b.give, &b.dial, &b.tilt} {
			move(at)
		}
	}
	for i := range g.order {
		move(&g.order[i])
	}
	g.touches = slices.Clone(g.order)
	slices.Sort(g.touches)
}
