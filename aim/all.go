package aim

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/clearance"
	"sternfan/setting"
	"sternfan/spread"
	"sternfan/unit"
)

// mover is one rod of a change of every rod.
type mover struct {
	move sternfan.AimMove
	lure int  // which of its lures
	ok   bool // it is asked to move
}

// choices are how many ways of a rod to the depth asked for are looked at to keep lines
// apart, and steps how many depths on either side, each half a vertical margin from the next.
const (
	choices = 8
	steps   = 3
)

// All moves every rod as ordered: by its counts alone where that does, with other settings
// where it does not. Where lines would come inside the margins nearer than they are now it
// chooses among each rod's ways to that depth, then the nearest depths, then staying, so
// that all are clear of one another at the least cost to the hands. What could not be kept
// apart is named. Rods that the file fixes stay. When ctx ends first the best so far is
// returned, not Finished; the error is ctx's when there is nothing yet.
func (b *Boat) All(ctx context.Context, o Order) (*sternfan.AimAll, error) {
	out := &sternfan.AimAll{Version: sternfan.FileVersion, Order: o.Said, Set: []string{}}
	before, err := spread.Solve(ctx, b.model, b.options())
	if err != nil {
		return nil, err
	}
	p := &parting{boat: b, before: before, movers: make([]mover, len(b.sc.Rods))}
	p.remember()
	for i := range b.model.Groups {
		if b.opt.Progress != nil {
			b.opt.Progress(i, len(b.model.Groups))
		}
		u, err := p.unit(ctx, o, i)
		if err != nil {
			return nil, err
		}
		p.units = append(p.units, u)
	}
	told := context.WithoutCancel(ctx)
	fan, model, err := p.part(ctx, told)
	if err != nil {
		return nil, err
	}
	out.Fan = fan
	p.gaps(out, model)
	for i := range p.movers {
		out.Rods = append(out.Rods, p.told(i, fan))
	}
	for i := range out.Rods {
		if w := out.Rods[i].Way; w != nil {
			for _, s := range w.Set {
				if !slices.Contains(out.Set, s) {
					out.Set = append(out.Set, s)
				}
			}
		}
	}
	out.Finished = ctx.Err() == nil
	return out, nil
}

func (b *Boat) options() spread.Options {
	return spread.Options{Intervals: b.opt.Intervals, Tolerance: b.sc.Solver.Tolerance, Units: b.opt.Units}
}

// told is what comes of a rod.
func (p *parting) told(rod int, fan *sternfan.Fan) sternfan.AimMove {
	m := &p.movers[rod]
	if m.move.Rod == "" {
		m.move = sternfan.AimMove{Rod: p.boat.sc.Rods[rod].ID, Position: p.boat.model.Rods[rod].Position, Stays: "it cannot be fished as described"}
	}
	t := &fan.Rods[rod]
	if len(t.Lures) > m.lure {
		m.move.To = t.Lures[m.lure]
	}
	for _, u := range p.units {
		n := slices.Index(u.rods, rod)
		if n < 0 || !m.ok {
			continue
		}
		o := &u.options[u.use]
		if o.ways[n] == nil {
			m.move.Stays = cmp.Or(o.stays[n], p.why(u, rod))
			continue
		}
		w := *o.ways[n]
		w.Lure, w.TipPull, w.Status, w.Warnings = m.move.To, t.TipPull, t.Status, t.Warnings
		m.move.Way = &w
		if math.Abs(o.want[n]-m.move.Want) > .01 {
			m.move.Short = p.why(u, rod)
		}
	}
	return m.move
}

// unit finds the ways of the rods of one group: those that share a cable or a board move
// together.
func (p *parting) unit(ctx context.Context, o Order, group int) (*unitOfRods, error) {
	b := p.boat
	g := &b.model.Groups[group]
	u := &unitOfRods{rods: slices.Clone(g.Rods)}
	// The lowest on a cable, which says where its ball goes, comes before those above it.
	slices.SortStableFunc(u.rods, func(x, y int) int {
		return cmp.Compare(b.sc.Rods[x].Settings.AboveBall.SI(), b.sc.Rods[y].Settings.AboveBall.SI())
	})
	var want []float64
	for _, rod := range u.rods {
		want = append(want, p.wanted(rod, o))
	}
	stay := func(why string) option {
		s := option{ways: make([]*sternfan.Way, len(u.rods)), stays: make([]string, len(u.rods)), want: slices.Clone(want)}
		for n, rod := range u.rods {
			if !p.movers[rod].ok {
				continue
			}
			s.stays[n] = why
		}
		return s
	}
	why := ""
	switch {
	case !slices.ContainsFunc(u.rods, func(rod int) bool { return p.movers[rod].ok }):
	case ctx.Err() != nil:
		why = "stopped before it was looked at"
	default:
		var err error
		if why, err = p.ways(ctx, u, want); err != nil && ctx.Err() == nil {
			return nil, err
		}
	}
	u.options = append(u.options, stay(why))
	u.looked = len(u.options) == 1
	if err := p.placed(ctx, u, 0); err != nil {
		return nil, err
	}
	if len(u.options) == 0 {
		// It has no resting place now either, and stays what it is.
		u.options = []option{stay("no resting place was found for it")}
	}
	return u, nil
}

// placed solves the options of a unit from one on, each by itself, and drops those that do
// not hold.
func (p *parting) placed(ctx context.Context, u *unitOfRods, from int) error {
	told := context.WithoutCancel(ctx)
	kept := u.options[:from]
	for i := from; i < len(u.options); i++ {
		ok, err := p.place(told, u, &u.options[i])
		if err != nil {
			return err
		}
		if ok {
			kept = append(kept, u.options[i])
		}
	}
	u.options = kept
	return nil
}

// wanted notes where a rod is and is to go, and whether it can be asked to.
func (p *parting) wanted(rod int, o Order) float64 {
	b, m := p.boat, &p.movers[rod]
	m.move = sternfan.AimMove{Rod: b.sc.Rods[rod].ID, Position: b.model.Rods[rod].Position}
	now := &p.before.Rods[rod]
	k, err := b.bench(context.Background(), rod, "")
	if err != nil || len(now.Lures) <= k.lure {
		m.move.Stays = "no resting place was found for it"
		return 0
	}
	m.lure = k.lure
	l := &now.Lures[k.lure]
	m.move.From, m.move.FromLo, m.move.FromHi = l.Depth, l.DepthLo, l.DepthHi
	m.move.Want = l.Depth + o.By
	if o.Abs {
		m.move.Want = o.To
	}
	bottom := b.sc.Water.Bottom
	switch {
	case b.sc.Rods[rod].Fixed:
		m.move.Stays = "the file fixes it"
	case m.move.Want < highest:
		m.move.Stays = "it would come to the surface"
	case bottom.Given && m.move.Want > bottom.SI():
		m.move.Stays = "the water is not that deep"
	default:
		m.ok = true
	}
	return m.move.Want
}

// highest is the least depth that a rod is moved to, m.
const highest = .3

// ways fills the options of a unit that take it to the depths wanted. Where there are none it
// says why.
func (p *parting) ways(ctx context.Context, u *unitOfRods, want []float64) (why string, err error) {
	if len(u.rods) == 1 {
		ways, why, err := p.reach(ctx, p.boat.sc, u.rods[0], want[0], nil, choices)
		if err != nil || len(ways) == 0 {
			return why, err
		}
		for i := range ways {
			u.options = append(u.options, option{ways: []*sternfan.Way{&ways[i]}, stays: []string{""}, want: want})
		}
		return "", nil
	}
	return p.together(ctx, u, want)
}

// beside adds the options of a unit that take it a little above and below the depths wanted.
func (p *parting) beside(ctx context.Context, u *unitOfRods) error {
	from := len(u.options)
	u.looked = true
	var want []float64
	for _, rod := range u.rods {
		want = append(want, p.movers[rod].move.Want)
	}
	step := clearance.MarginsOf(&p.boat.sc.Wants).Vertical / 2
	bottom := p.boat.sc.Water.Bottom
	for n := 1; n <= steps; n++ {
		for _, sign := range []float64{-1, 1} {
			by := sign * float64(n) * step
			// All of a unit, and each of several.
			for one := -1; one < len(u.rods); one++ {
				if one >= 0 && len(u.rods) == 1 {
					break
				}
				other := slices.Clone(want)
				for i := range other {
					if one < 0 || i == one {
						other[i] += by
					}
				}
				if slices.ContainsFunc(other, func(z float64) bool { return z < highest || bottom.Given && z > bottom.SI() }) {
					continue
				}
				if _, err := p.together(ctx, u, other); err != nil {
					return err
				}
			}
		}
	}
	return p.placed(ctx, u, from)
}

// together adds the option that takes each rod of a unit to a depth, one after the other,
// or says why none goes there.
func (p *parting) together(ctx context.Context, u *unitOfRods, want []float64) (why string, err error) {
	sc := p.boat.copied()
	o := option{ways: make([]*sternfan.Way, len(u.rods)), stays: make([]string, len(u.rods)), want: want}
	moved := map[string]bool{} // cables
	some := false
	for n, rod := range u.rods {
		if !p.movers[rod].ok {
			continue
		}
		ways, not, err := p.reach(ctx, sc, rod, want[n], moved, 1)
		if err != nil {
			return "", err
		}
		if len(ways) == 0 {
			o.stays[n], why = not, not
			continue
		}
		o.ways[n] = &ways[0]
		some = true
		k, err := p.bench(ctx, sc, rod, 1)
		if err != nil {
			return "", err
		}
		k.PutBack(sc, k.withWay(&ways[0]))
		if k.facts.downrigger >= 0 {
			moved[k.Scenario.Downriggers[0].ID] = true
		}
	}
	same := func(have option) bool {
		return slices.EqualFunc(have.ways, o.ways, func(x, y *sternfan.Way) bool {
			return (x == nil) == (y == nil) && (x == nil || slices.EqualFunc(x.Settings, y.Settings, func(a, b sternfan.WaySetting) bool { return a.Value == b.Value }))
		})
	}
	if some && !slices.ContainsFunc(u.options, same) {
		u.options = append(u.options, o)
	}
	return why, nil
}

func (b *Boat) copied() *sternfan.Scenario {
	sc := *b.sc
	sc.Rods, sc.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	sc.Gear.Leaders = slices.Clone(sc.Gear.Leaders)
	return &sc
}

func (p *parting) bench(ctx context.Context, sc *sternfan.Scenario, rod, top int) (*aiming, error) {
	nb, err := New(sc, Options{Units: p.boat.opt.Units, Top: top})
	if err != nil {
		return nil, err
	}
	return nb.bench(ctx, rod, "")
}

// reach finds the ways of a rod to a depth on the boat as moved so far, those by its counts
// alone first, or why there is none.
func (p *parting) reach(ctx context.Context, sc *sternfan.Scenario, rod int, want float64, moved map[string]bool, top int) (ways []sternfan.Way, why string, err error) {
	k, err := p.bench(ctx, sc, rod, top)
	if err != nil {
		return nil, "it cannot be fished as described", ctx.Err()
	}
	cable := ""
	if k.facts.downrigger >= 0 {
		cable = k.Scenario.Downriggers[0].ID
	}
	counts := slices.DeleteFunc(k.keys(), func(key *setting.Row) bool {
		switch key {
		case keyLineOut, keyColors:
			return true
		case keyCable:
			return !moved[cable]
		case keyAbove:
			return moved[cable]
		case keyLead, keyBacking:
			return k.facts.board || k.facts.mast >= 0
		}
		return false
	})
	tries := [][]*setting.Row{counts, {keySpeed, keyReel}}
	if cable != "" {
		tries = tries[:1] // the others on the cable stay where they were put
		if moved[cable] {
			tries = append(tries, []*setting.Row{keySpeed, keyCable})
		}
	}
	for _, keep := range tries {
		if len(ways) >= top {
			break
		}
		keep = slices.DeleteFunc(slices.Clone(keep), func(key *setting.Row) bool { return !k.rigged(key) })
		k.req = Request{Rod: p.boat.sc.Rods[rod].ID, Depth: want, Keep: options(keep)}
		a, err := k.reachOnly(ctx)
		if err != nil {
			return ways, why, err
		}
		for _, w := range a.Ways {
			if w.Status == sternfan.StatusOK && len(ways) < top && !slices.ContainsFunc(ways, func(have sternfan.Way) bool { return have.Text == w.Text }) {
				ways = append(ways, w)
			}
		}
		if a.Limit != nil {
			why = "out of its reach: " + a.Limit.Why
		}
	}
	if why == "" {
		why = "nothing on it that a hand can change does it"
	}
	return ways, why, nil
}

// reachOnly is reach without looking for changes of gear.
func (k *aiming) reachOnly(ctx context.Context) (*sternfan.Aim, error) {
	k.noChanges = true
	defer func() { k.noChanges = false }()
	return k.reach(ctx)
}

// crewName is what the crew calls a party of the spread.
func (b *Boat) crewName(id string) string {
	if at := b.sc.Position(id); at != "" {
		return "the " + at
	}
	if b.sc.Downrigger(id) != nil {
		return "the cable of " + id
	}
	return "the " + id
}

// lengthWords writes a length in the boat's units.
func (b *Boat) lengthWords(v float64) string { return b.opt.Units.Depth(unit.Length(v)) }
