package aim

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// Order is a change of depth for every rod.
type Order struct {
	Said string
	By   float64 // m, down is positive
	To   float64 // m, when Abs
	Abs  bool
}

var orderWords = []string{"down", "up", "deeper", "shallower", "to"}

// ParseOrder reads "down 10ft", "up 2 m", "deeper 5 ft", "shallower 5 ft" or "to 65ft".
// The error is sternfan.Faults with what is allowed.
func ParseOrder(text string) (Order, error) {
	o := Order{Said: text}
	word, rest, _ := strings.Cut(strings.TrimSpace(strings.ToLower(text)), " ")
	rest = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(rest), "by "))
	fault := func(f sternfan.Fault) (Order, error) {
		f.Code, f.Allowed = "bad-order", []string{"down 10ft", "up 10ft", "to 65ft"}
		return o, sternfan.Faults{f}
	}
	if !slices.Contains(orderWords, word) {
		f := sternfan.Fault{Text: "this does not say which way the lures go", Found: word}
		if near := nearest(word, orderWords); near != "" {
			f.Hint = "did you mean " + near + "?"
		}
		return fault(f)
	}
	d, err := unit.ParseLength(rest)
	if err != nil || d < 0 {
		return fault(sternfan.Fault{Text: "this does not say how far", Found: rest, Hint: "write a distance with its unit"})
	}
	switch word {
	case "down", "deeper":
		o.By = float64(d)
	case "up", "shallower":
		o.By = -float64(d)
	default:
		o.To, o.Abs = float64(d), true
	}
	return o, nil
}

// mover is one rod of a change of every rod.
type mover struct {
	bench *bench
	ways  []sternfan.Way
	use   int
	move  sternfan.AimMove
}

// choices are how many ways of a rod are looked at to keep lines apart.
const choices = 6

// All moves every rod as ordered: by its counts alone where that does, and with other
// settings where it does not or where lines would come inside the margins nearer than they
// are now. Rods that the file fixes stay. The error is ctx's.
func (b *Boat) All(ctx context.Context, o Order) (*sternfan.AimAll, error) {
	out := &sternfan.AimAll{Version: sternfan.FileVersion, Order: o.Said, Set: []string{}}
	before, err := spread.Solve(ctx, b.model, spread.Options{Tolerance: b.sc.Solver.Tolerance, Units: b.opt.Units})
	if err != nil {
		return nil, err
	}
	sc := *b.sc
	sc.Rods, sc.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	sc.Gear.Leaders = slices.Clone(sc.Gear.Leaders)
	movers := make([]mover, len(sc.Rods))
	moved := map[string]bool{} // cables
	for n, i := range b.byDepth() {
		if b.opt.Progress != nil {
			b.opt.Progress(n, len(movers))
		}
		if err := b.plan(ctx, &sc, i, o, &movers[i], &before.Rods[i], moved); err != nil {
			return nil, err
		}
	}
	fan, gaps, err := b.apart(ctx, &sc, movers, before)
	if err != nil {
		return nil, err
	}
	out.Fan, out.Close = fan, gaps
	if all := spread.Clearances(b.model.Scenario, fan, spread.MarginsOf(&b.sc.Wants)); len(all) > 0 {
		out.Least = &all[0]
	}
	for i := range movers {
		m := &movers[i]
		if m.bench != nil && len(m.ways) > 0 && m.use != stay {
			w := m.ways[m.use]
			m.move.Way = &w
			for _, s := range w.Set {
				if !slices.Contains(out.Set, s) {
					out.Set = append(out.Set, s)
				}
			}
		}
		if t := &fan.Rods[i]; m.bench != nil && len(t.Lures) > m.bench.lure {
			m.move.To = t.Lures[m.bench.lure]
			if m.move.Way != nil {
				m.move.Way.Lure, m.move.Way.TipPull, m.move.Way.Status, m.move.Way.Warnings = m.move.To, t.TipPull, t.Status, t.Warnings
			}
		}
		out.Rods = append(out.Rods, m.move)
	}
	return out, ctx.Err()
}

// byDepth orders the rods so that the lowest on a cable, which says where its ball goes,
// comes before those clipped above it.
func (b *Boat) byDepth() []int {
	order := make([]int, len(b.sc.Rods))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		return cmp.Compare(b.sc.Rods[x].Settings.AboveBall.SI(), b.sc.Rods[y].Settings.AboveBall.SI())
	})
	return order
}

// plan finds the ways of one rod on the boat as moved so far, and moves it the best one.
func (b *Boat) plan(ctx context.Context, sc *sternfan.Scenario, rod int, o Order, m *mover, now *sternfan.Track, moved map[string]bool) error {
	m.move = sternfan.AimMove{Rod: b.sc.Rods[rod].ID, Position: b.model.Rods[rod].Position}
	nb, err := New(sc, Options{Units: b.opt.Units, Top: choices})
	if err != nil {
		return err
	}
	k, err := nb.bench(ctx, rod, "")
	if err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		m.move.Stays = "it cannot be fished as described"
		return nil
	}
	m.bench = k
	if len(now.Lures) <= k.lure {
		m.move.Stays = "no resting place was found for it"
		return nil
	}
	m.move.From = now.Lures[k.lure].Depth
	m.move.Want = m.move.From + o.By
	if o.Abs {
		m.move.Want = o.To
	}
	bottom := b.sc.Water.Bottom
	switch {
	case b.sc.Rods[rod].Fixed:
		m.move.Stays = "the file fixes it"
	case m.move.Want < .3:
		m.move.Stays = "it would come to the surface"
	case bottom.Given && m.move.Want > bottom.SI():
		m.move.Stays = "the water is not that deep"
	}
	if m.move.Stays != "" {
		return nil
	}
	cable := ""
	if k.facts.downrigger >= 0 {
		cable = k.sc.Downriggers[0].ID
	}
	keys := k.keys()
	counts := slices.DeleteFunc(slices.Clone(keys), func(key string) bool {
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
	tries := [][]string{counts, {keySpeed, keyReel}}
	if cable != "" {
		tries = tries[:1] // the others on the cable stay where they were put
		if moved[cable] {
			tries = append(tries, []string{keySpeed, keyCable})
		}
	}
	for _, keep := range tries {
		k.req = Request{Rod: m.move.Rod, Depth: m.move.Want, Keep: slices.DeleteFunc(slices.Clone(keep), func(key string) bool { return !slices.Contains(keys, key) })}
		var aim *sternfan.Aim
		if aim, err = k.reachOnly(ctx); err != nil {
			return err
		}
		for _, w := range aim.Ways {
			if w.Status == sternfan.StatusOK && len(m.ways) < choices {
				m.ways = append(m.ways, w)
			}
		}
		if aim.Limit != nil {
			m.move.Stays = "out of its reach: " + aim.Limit.Why
		}
	}
	if len(m.ways) == 0 {
		if m.move.Stays == "" {
			m.move.Stays = "nothing on it that a hand can change does it"
		}
		return nil
	}
	m.move.Stays = ""
	if cable != "" {
		moved[cable] = true
	}
	k.take(sc, k.withWay(&m.ways[0]))
	return nil
}

// reachOnly is reach without looking for changes of gear.
func (k *bench) reachOnly(ctx context.Context) (*sternfan.Aim, error) {
	k.noChanges = true
	defer func() { k.noChanges = false }()
	return k.reach(ctx)
}

// stay, in the place of a way's number, leaves a rod where it was.
const stay = -1

// staying is what it is worth not to leave a rod behind, in pairs that are too near.
const staying = .5

// nearer is the part of what a pair was apart below which it counts as nearer than before.
const nearer = .9

// set puts the rod's nth way, or how it was, on the boat.
func (m *mover) set(sc *sternfan.Scenario, n int) {
	if n == stay {
		m.bench.take(sc, m.bench.sc)
		return
	}
	m.bench.take(sc, m.bench.withWay(&m.ways[n]))
}

// crewName is what the crew calls a party of the spread.
func (b *Boat) crewName(id string) string {
	for i := range b.sc.Rods {
		if b.sc.Rods[i].ID == id && b.model.Rods[i].Position != "" {
			return "the " + b.model.Rods[i].Position
		}
	}
	for i := range b.sc.Downriggers {
		if b.sc.Downriggers[i].ID == id {
			return "the cable of " + id
		}
	}
	return "the " + id
}

// apart solves the moved spread and, where two lines come inside the margins and nearer
// than they were, tries the other ways of either rod.
func (b *Boat) apart(ctx context.Context, sc *sternfan.Scenario, movers []mover, before *sternfan.Fan) (*sternfan.Fan, []sternfan.Gap, error) {
	margins := spread.MarginsOf(&b.sc.Wants)
	was := map[[2]string]float64{}
	for _, g := range spread.Clearances(b.model.Scenario, before, margins) {
		was[[2]string{g.A, g.B}] = g.Ratio
	}
	look := func() (*sternfan.Fan, []sternfan.Gap, error) {
		m, faults := tackle.Resolve(sc)
		if len(faults) > 0 {
			return nil, nil, faults
		}
		fan, err := spread.Solve(ctx, m, spread.Options{Tolerance: sc.Solver.Tolerance, Units: b.opt.Units})
		if err != nil {
			return nil, nil, err
		}
		var bad []sternfan.Gap
		for _, g := range spread.Clearances(m.Scenario, fan, margins) {
			if old, ok := was[[2]string{g.A, g.B}]; g.Ratio < 1 && (!ok || g.Ratio < nearer*old) {
				bad = append(bad, g)
			}
		}
		return fan, bad, nil
	}
	worth := func(bad []sternfan.Gap) float64 {
		s := 0.0
		for _, g := range bad {
			s += 1 + (1 - g.Ratio)
		}
		return s
	}
	fan, bad, err := look()
	if err != nil {
		return nil, nil, err
	}
	// Each round mends one pair or gives it up, so that the rounds are bounded.
	given := map[[2]string]bool{}
	for range 2 * len(movers) {
		i := slices.IndexFunc(bad, func(g sternfan.Gap) bool { return !given[[2]string{g.A, g.B}] })
		if i < 0 {
			break
		}
		pair := [2]string{bad[i].A, bad[i].B}
		given[pair] = true
		bestRod, bestUse := -1, 0
		least := worth(bad)
		for r := range movers {
			m := &movers[r]
			if m.move.Rod != pair[0] && m.move.Rod != pair[1] || len(m.ways) == 0 || m.bench.facts.downrigger >= 0 && m.bench.facts.mates > 0 {
				continue
			}
			for u := stay; u < len(m.ways); u++ {
				if u == m.use {
					continue
				}
				m.set(sc, u)
				_, now, err := look()
				if err != nil {
					return nil, nil, err
				}
				v := worth(now)
				if u == stay {
					v += staying
				}
				if v < least-1e-9 {
					least, bestRod, bestUse = v, r, u
				}
			}
			m.set(sc, m.use)
		}
		if bestRod >= 0 {
			m := &movers[bestRod]
			m.use = bestUse
			m.set(sc, bestUse)
			if bestUse == stay {
				other := pair[0]
				if other == m.move.Rod {
					other = pair[1]
				}
				m.move.Stays = "it would come too near " + b.crewName(other)
			}
			given = map[[2]string]bool{}
		}
		if fan, bad, err = look(); err != nil {
			return nil, nil, err
		}
	}
	if b.opt.Intervals {
		m, faults := tackle.Resolve(sc)
		if len(faults) > 0 {
			return nil, nil, faults
		}
		fan, err = spread.Solve(ctx, m, spread.Options{Intervals: true, Tolerance: sc.Solver.Tolerance, Units: b.opt.Units})
	}
	return fan, bad, err
}
