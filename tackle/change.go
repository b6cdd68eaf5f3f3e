package tackle

import (
	"slices"
	"strings"

	"sternfan"
)

// Changed is Resolve for a scenario that differs from the one of which m was made by no
// more than the edits, whose values do not matter: the same to the last digit, and quick
// where they concern only settings of some rods, lengths of cables or tow lines, or the
// speed: then only the groups concerned are made anew, and m's are taken for the rest.
// Neither the scenario nor m is changed; the models may share parts.
func Changed(m *Model, sc *sternfan.Scenario, edits []sternfan.Edit) (*Model, sternfan.Faults) {
	if m == nil {
		return Resolve(sc)
	}
	c, again := concerned(m, edits)
	switch again {
	case fromNothing:
		return Resolve(sc)
	case withWater:
		return Again(m, sc)
	}
	if out := c.resolve(m, sc); out != nil {
		return out, nil
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

// remake is how much of a model an edit makes another.
type remake int

const (
	someGroups  remake = iota
	withWater          // all, in the same water
	fromNothing        // all
)

// concerned finds the groups that edits concern. An edit names its own: a rod's settings
// are of the group that the rod is in, a cable's length of the downrigger's.
func concerned(m *Model, edits []sternfan.Edit) (*concern, remake) {
	sc := m.Scenario
	c := &concern{rods: make([]bool, len(sc.Rods)), downs: make([]bool, len(sc.Downriggers)), masts: make([]bool, len(sc.MastBoards))}
	hit := make([]bool, len(m.Groups))
	most := someGroups
	for i := range edits {
		section, rest, _ := strings.Cut(edits[i].Path(), ".")
		id, key, _ := strings.Cut(rest, ".")
		key, _, _ = strings.Cut(key, ".")
		g := -1
		switch {
		case section == "water" || section == "heading":
			return nil, fromNothing
		case slices.Contains([]string{"version", "name", "note", "people", "wants", "manoeuvre"}, section), section == "rods" && key == "fixed":
			continue
		case slices.Contains([]string{"speed", "solver", "uncertainty", "calibrations"}, section):
			c.boat = true
			continue
		case section == "rods" && key == "settings":
			if k := slices.IndexFunc(sc.Rods, func(r sternfan.Rod) bool { return r.ID == id }); k >= 0 {
				g = m.Rods[k].Group
			}
		case section == "downriggers" && key == "cable_out":
			k := slices.IndexFunc(sc.Downriggers, func(d sternfan.Downrigger) bool { return d.ID == id })
			g = slices.IndexFunc(m.Groups, func(g Group) bool { return k >= 0 && g.Downrigger == k })
		case section == "mast_boards" && key == "line_out":
			k := slices.IndexFunc(sc.MastBoards, func(b sternfan.MastBoard) bool { return b.ID == id })
			g = slices.IndexFunc(m.Groups, func(g Group) bool { return k >= 0 && g.MastBoard == k })
		}
		if g < 0 {
			most = withWater
			continue
		}
		hit[g] = true
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
	return c, most
}

// resolve makes the groups concerned anew and puts them into a copy of m. It returns nil
// when there are faults or what is uncertain is not what it was: then all must be resolved.
func (c *concern) resolve(m *Model, sc *sternfan.Scenario) *Model {
	// What is not concerned is taken as m has it: expanded, and in full.
	whole := *sc
	whole.Boat, whole.Gear = m.Scenario.Boat, m.Scenario.Gear
	whole.Rods, whole.Downriggers = slices.Clone(m.Scenario.Rods), slices.Clone(m.Scenario.Downriggers)
	for i := range whole.Rods {
		if c.rods[i] {
			whole.Rods[i] = sc.Rods[i]
		}
		whole.Rods[i].Fixed = sc.Rods[i].Fixed
	}
	for i := range whole.Downriggers {
		if c.downs[i] {
			whole.Downriggers[i] = sc.Downriggers[i]
		}
	}
	r := resolverOf(&whole, &sc.Gear, m)
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
	out.Scenario, out.speed = &whole, part.speed
	out.Notes, out.given = slices.Clone(m.plain), entries
	if len(sc.Uncertainty)+len(sc.Calibrations) > 0 { // what is given stays apart from what is believed
		entries = slices.Clone(entries)
	}
	r.model, r.reg = &out, registry{entries: entries, index: m.index}
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
