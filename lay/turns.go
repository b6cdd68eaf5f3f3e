package lay

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/geom"
	"sternfan/manoeuvre"
)

// intended lists the turns that a spread is to go through: those of wants.lay, or the
// scenario's manoeuvre when it says to which side.
func intended(sc *sternfan.Scenario) []manoeuvre.Manoeuvre {
	list := sc.Wants.Lay.Turns
	if len(list) == 0 && sc.Manoeuvre.To != sternfan.Amidships {
		list = []sternfan.Manoeuvre{sc.Manoeuvre}
	}
	var out []manoeuvre.Manoeuvre
	for i := range list {
		m := manoeuvre.Intended(&list[i])
		m.Before = straightBefore
		out = append(out, m)
	}
	return out
}

// straightBefore is how long the boat goes straight on before a turn, s: the lines rest as
// they begin.
const straightBefore = 2.0

// laidOut is a pick that keeps every hard rule when it is solved whole.
type laidOut struct {
	fine *planner
	e    *whole
	x    pick
}

// score is that of the whole plan, the turns included.
func (l *laidOut) score() float64 {
	exact, picked := l.fine.exact(l.e, l.x)
	return exact.prob.exactly(picked).score()
}

// laid makes the plan of a pick that is unlike some others. When the turns that are intended bring lines of it inside
// their margin it is mended; when the context ends it is the best so far, its turns looked
// at or not.
func (pl *planner) laid(ctx context.Context, from pick, unlike []pick) (*sternfan.Plan, int, error) {
	l, looked, err := pl.realize(ctx, from, unlike)
	if err != nil || l == nil {
		return nil, looked, err
	}
	if len(pl.turns) > 0 && !pl.canceled() {
		if l.e.turns, err = pl.through(l.e); err == nil {
			var n int
			moves := mendMoves
			if len(unlike) > 0 {
				moves = mendLater
			}
			l, n = pl.mendTurns(l, moves)
			looked += n
		}
	}
	if pl.canceled() {
		l.fine.ctx = context.WithoutCancel(l.fine.ctx) // the best so far is worth finishing
	}
	plan, err := l.fine.assemble(l.e, l.x)
	return plan, looked, err
}

// through takes a whole plan through the turns intended.
func (pl *planner) through(e *whole) ([]sternfan.PlanTurn, error) {
	var out []sternfan.PlanTurn
	for _, m := range pl.turns {
		near, lost, err := e.solved.Passes(pl.ctx, e.fan, m)
		if err != nil {
			return nil, err
		}
		p := e.solved.PlanOf(&m)
		t := sternfan.PlanTurn{To: p.To, Angle: p.Angle, Radius: p.Radius, Rate: p.Rate, Time: p.End - p.Begin, Begin: p.Begin,
			Broken: []sternfan.TurnPair{}, Lost: lost}
		if len(near) > 0 {
			t.Near = &near[0]
		}
		for i := range near {
			if manoeuvre.Worsened(&near[i]) {
				t.Broken = append(t.Broken, near[i])
			}
		}
		out = append(out, t)
	}
	return out, nil
}

// spoiledBy returns by how much each rod of a whole is spoiled in the worst of the turns
// for it: a line that comes inside its margin counts by how far inside it comes, one whose
// way is not known wholly.
func spoiledBy(e *whole, turns []sternfan.PlanTurn) []float64 {
	out := make([]float64, len(e.fan.Rods))
	for i := range turns {
		t := &turns[i]
		spoil := func(party string, by float64) {
			for _, k := range e.of(party) {
				out[k] = math.Max(out[k], by)
			}
		}
		for _, g := range t.Broken {
			spoil(g.A, 1-g.Ratio)
			spoil(g.B, 1-g.Ratio)
		}
		for _, id := range t.Lost {
			spoil(id, 1)
		}
	}
	return out
}

// spoiled returns how many lines of a plan the turns spoil.
func spoiled(e *whole, turns []sternfan.PlanTurn) float64 {
	sum := 0.0
	for _, by := range spoiledBy(e, turns) {
		sum += by
	}
	return sum
}

// How far the mending of a plan goes: moves of one rod, rods that are looked at for each,
// other ways of each rod, and of the best of these how many are solved whole.
const (
	mendMoves = 6 // of the first plan
	mendLater = 2 // of each further one
	mendRods  = 5
	mendWays  = 16
	mendWhole = 3
)

// mendEvery is how often lines are compared while ways are weighed, s; what is taken is
// compared as often as anywhere.
const mendEvery = 4.0

// mendTurns changes the way of one rod after another, of those that the turns spoil, while
// the plan scores more for it. It returns the best plan and how many it scored.
func (pl *planner) mendTurns(l *laidOut, moves int) (*laidOut, int) {
	looked := 0
	best := l.score()
	var stay [][]*manoeuvre.Wake
	for range moves {
		if spoiled(l.e, l.e.turns) == 0 || pl.canceled() {
			break
		}
		var err error
		if stay == nil {
			if stay, err = pl.wakesOf(l.e); err != nil {
				break
			}
		}
		moves, err := pl.moves(l, stay)
		if err != nil {
			break
		}
		looked += len(moves)
		better := false
		for _, m := range moves[:min(len(moves), mendWhole)] {
			x := slices.Clone(l.x)
			x[l.fine.prob.options[m.option].rod] = m.option
			e, err := l.fine.solveWhole(x)
			if err != nil || l.fine.breaks(e, x) {
				continue
			}
			if e.turns, err = pl.through(e); err != nil {
				break
			}
			next := &laidOut{fine: l.fine, e: e, x: x}
			if score := next.score(); score > best+1e-9 {
				pl.moved(stay, l, m)
				l, best, better = next, score, true
				break
			}
		}
		if !better {
			next, n := pl.exchanged(l)
			looked += n
			if next == nil {
				break
			}
			l, stay = next, nil
			best = l.score()
		}
	}
	return l, looked
}

// breaks reports whether a whole breaks a hard rule.
func (pl *planner) breaks(e *whole, x pick) bool { return pl.offender(e, x) != none }

// move is another way for one rod of a plan.
type move struct {
	option int // of the fine planner
	score  float64
	wake   *wake
}

// moved puts the wake of a move in the place of what the rod had before.
func (pl *planner) moved(stay [][]*manoeuvre.Wake, l *laidOut, m move) {
	r := l.fine.prob.options[m.option].rod
	mine := pl.partiesOf(l, r)
	for i := range stay {
		stay[i] = slices.DeleteFunc(stay[i], func(w *manoeuvre.Wake) bool { return mine(w.ID) })
		stay[i] = append(stay[i], m.wake.line[i])
		if b := m.wake.ball[i]; b != nil {
			stay[i] = append(stay[i], b)
		}
	}
}

// partiesOf tells a rod of a plan and the device that it has to itself.
func (pl *planner) partiesOf(l *laidOut, r int) func(party string) bool {
	id, device := pl.sc.Rods[r].ID, l.fine.ways[l.x[r]].device
	return func(party string) bool { return party == id || device != "" && party == device }
}

// moves weighs other ways of the rods that turns spoil: each is taken through the turns by
// itself and held against the wakes of the others. It returns those that would score more
// than the plan does, the best first, as many as may be solved whole.
func (pl *planner) moves(l *laidOut, stay [][]*manoeuvre.Wake) ([]move, error) {
	ask, ways := pl.otherWays(l)
	if len(ask) == 0 {
		return nil, nil
	}
	if err := pl.tryThrough(ask, ways); err != nil {
		return nil, err
	}
	fine := l.fine
	first := len(fine.ways)
	for _, w := range ways {
		answer := pl.tried[w].answer
		fine.addWay(&answer, stand{w.rig, w.holder}, w.set, w.band, false, geom.Vec{}, w.dialed)
	}
	fine.prob.ready()
	fine.prob.spoiled = spoiled(l.e, l.e.turns)
	now := fine.prob.exactly(l.x)
	base := now.score()
	// What each would score if the turns did nothing to it: no more than that.
	var hopes []move
	for i := range ways {
		o := first + i
		m := move{option: o, wake: pl.tried[ways[i]].wake}
		if fine.ways[o].course == nil || m.wake == nil {
			continue
		}
		fine.prob.spoiled = spoiled(l.e, pl.turnsWithout(l, fine.prob.options[o].rod))
		if s := pl.with(l, o); s != nil && s.lacks() == 0 {
			if m.score = s.score(); m.score > base+1e-9 {
				hopes = append(hopes, m)
			}
		}
	}
	byScore := func(a, b move) int { return cmp.Or(cmp.Compare(b.score, a.score), a.option-b.option) }
	slices.SortFunc(hopes, byScore)
	var out []move
	for _, m := range hopes {
		if len(out) >= mendWhole && out[mendWhole-1].score >= m.score {
			break
		}
		r := fine.prob.options[m.option].rod
		fine.prob.spoiled = spoiled(l.e, pl.turnsWith(l, r, fine.ways[m.option], m.wake, stay))
		if m.score = pl.with(l, m.option).score(); m.score > base+1e-9 {
			out = append(out, m)
			slices.SortFunc(out, byScore)
		}
	}
	fine.prob.spoiled = 0
	return out, nil
}

// with returns the state of a plan with one rod fished another way, nil when that breaks a
// rule straight on.
func (pl *planner) with(l *laidOut, option int) *state {
	s := l.fine.prob.exactly(l.x)
	s.take(l.fine.prob.options[option].rod)
	if !s.admits(option) {
		return nil
	}
	s.put(option)
	return s
}

// other is a way that a rod might be fished instead.
type other struct {
	rig, holder int
	set         setTo
	band        int
	dialed      float64
}

// otherWays lists other ways of the rods that turns spoil most, those of the table that
// are worth the most.
func (pl *planner) otherWays(l *laidOut) (ask []bench.Trial, ways []other) {
	by := spoiledBy(l.e, l.e.turns)
	var rods []int // of the whole
	for k, r := range l.e.rods {
		w := l.fine.ways[l.x[r]]
		if by[k] > 0 && !pl.sc.Rods[r].Fixed && (w.device == "" || pl.onDevice(w.device) == 1) {
			rods = append(rods, k)
		}
	}
	slices.SortStableFunc(rods, func(a, b int) int { return cmp.Or(cmp.Compare(by[b], by[a]), a-b) })
	for _, k := range rods[:min(len(rods), mendRods)] {
		r := l.e.rods[k]
		now := l.fine.ways[l.x[r]]
		options := slices.Clone(pl.prob.byRod[r])
		options = slices.DeleteFunc(options, func(o int) bool {
			w := pl.ways[o]
			taken := slices.ContainsFunc(l.x, func(x int) bool { return x != none && x != l.x[r] && l.fine.ways[x].holder == w.holder })
			return pl.prob.options[o].breaks&^pl.prob.waive != 0 || taken || w.rig == now.rig && w.holder == now.holder && w.set == now.set
		})
		slices.SortStableFunc(options, func(a, b int) int { return cmp.Or(cmp.Compare(pl.prob.worth(b), pl.prob.worth(a)), a-b) })
		for _, o := range options[:min(len(options), mendWays)] {
			w := pl.ways[o]
			ask = append(ask, pl.ask(&class{rig: w.rig, holder: w.holder}, w.set))
			ways = append(ways, other{w.rig, w.holder, w.set, pl.prob.options[o].band(), w.dialed})
		}
	}
	return ask, ways
}

// wake is how a rod and its device move in each of the turns.
type wake struct{ line, ball []*manoeuvre.Wake }

// triedWay is a way solved by itself and taken through the turns. Its wake is nil when it
// does not go all the way.
type triedWay struct {
	answer answer
	wake   *wake
}

// tryThrough solves those of the trials that were not solved before, as [planner.try]
// does, and takes them through the turns.
func (pl *planner) tryThrough(all []bench.Trial, ways []other) error {
	var ask []bench.Trial
	var of []other
	for i, w := range ways {
		if _, ok := pl.tried[w]; !ok && !slices.Contains(of, w) {
			ask, of = append(ask, all[i]), append(of, w)
		}
	}
	if len(ask) == 0 {
		return nil
	}
	m, rods, err := pl.boat.Row(pl.ctx, ask)
	if err != nil {
		return err
	}
	e, err := pl.solved(m.Scenario, m, false)
	if err != nil {
		return err
	}
	got := e.answers(rods)
	wakes := make([]*wake, len(ask))
	for i := range wakes {
		wakes[i] = &wake{}
	}
	for _, turn := range pl.turns {
		moving, err := e.solved.Wakes(pl.ctx, e.fan, turn, mendEvery)
		if err != nil {
			return err
		}
		byID := map[string]*manoeuvre.Wake{}
		for _, w := range moving {
			byID[w.ID] = w
		}
		for i, w := range wakes {
			if w == nil || got[i].track == nil {
				wakes[i] = nil
				continue
			}
			line := byID[got[i].track.Rod]
			var ball *manoeuvre.Wake
			if got[i].device != nil {
				ball = byID[got[i].device.Rod]
			}
			if line == nil || got[i].ball != nil && ball == nil {
				wakes[i] = nil
				continue
			}
			w.line, w.ball = append(w.line, line), append(w.ball, ball)
		}
	}
	if pl.tried == nil {
		pl.tried = map[other]triedWay{}
	}
	for i, w := range of {
		pl.tried[w] = triedWay{got[i], wakes[i]}
	}
	return nil
}

// wakesOf returns how everything of a whole moves in each of the turns, the boat's own
// parts included.
func (pl *planner) wakesOf(e *whole) ([][]*manoeuvre.Wake, error) {
	var out [][]*manoeuvre.Wake
	for _, turn := range pl.turns {
		all, err := e.solved.Wakes(pl.ctx, e.fan, turn, mendEvery)
		if err != nil {
			return nil, err
		}
		for _, hard := range pl.hard {
			all = append(all, manoeuvre.Still(hard))
		}
		out = append(out, all)
	}
	return out, nil
}

// turnsWithout returns what the turns do to the other lines of a plan among themselves.
func (pl *planner) turnsWithout(l *laidOut, r int) []sternfan.PlanTurn {
	mine := pl.partiesOf(l, r)
	out := make([]sternfan.PlanTurn, len(l.e.turns))
	for i := range l.e.turns {
		out[i].Lost = slices.DeleteFunc(slices.Clone(l.e.turns[i].Lost), mine)
		for _, g := range l.e.turns[i].Broken {
			if !mine(g.A) && !mine(g.B) {
				out[i].Broken = append(out[i].Broken, g)
			}
		}
	}
	return out
}

// turnsWith returns what the turns do to a plan with one rod fished another way.
func (pl *planner) turnsWith(l *laidOut, r int, w *way, moving *wake, stay [][]*manoeuvre.Wake) []sternfan.PlanTurn {
	mine := pl.partiesOf(l, r)
	out := pl.turnsWithout(l, r)
	for i := range out {
		line, ball := moving.line[i], moving.ball[i]
		line.As(w.course)
		parties := []*manoeuvre.Wake{line}
		if ball != nil && w.ball != nil {
			ball.As(w.ball)
			parties = append(parties, ball)
		}
		for _, p := range parties {
			for _, other := range stay[i] {
				if mine(other.ID) {
					continue
				}
				if g, ok := p.Nearest(other, pl.margins, 1); ok && manoeuvre.Worsened(&g) {
					out[i].Broken = append(out[i].Broken, g)
				}
			}
		}
	}
	return out
}

// whyInTurns says of a rod that a turn brings it near another.
func (pl *planner) whyInTurns(e *whole, r int) []sternfan.LayReason {
	id := pl.sc.Rods[r].ID
	for i := range e.turns {
		for _, g := range e.turns[i].Broken {
			if !slices.Contains([]string{g.A, g.B}, id) {
				continue
			}
			other := g.A
			if other == id {
				other = g.B
			}
			return []sternfan.LayReason{{Code: "near-in-turn-to-" + e.turns[i].To.String(), Rod: other, Value: g.Distance}}
		}
	}
	return nil
}
