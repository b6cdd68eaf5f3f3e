package lay

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/manoeuvre"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// plans searches for the best picks and makes plans of them.
func (pl *planner) plans(out *sternfan.Layout) error {
	q := pl.searcher(1)
	q.tell = func(part, score float64) {
		pl.best = score
		pl.step("searching", 0.35+0.25*part)
	}
	first := q.run(pl.ctx, pl.effort(), nil)
	out.Looked, out.Proven, out.Finished = first.looked, first.proven, first.whole
	if first.lacks > 0 {
		out.Conflict = pl.conflict()
		return nil
	}
	picks := []pick{first.best}
	for len(picks) < pl.opt.Top && first.whole && !pl.canceled() {
		q := pl.searcher(uint64(1 + len(picks)))
		q.unlike, q.by = picks, unlikeBy(len(pl.prob.must))
		more := q.run(pl.ctx, effort{rounds: pl.opt.Rounds / 3}, picks[0])
		out.Looked += more.looked
		if more.lacks > 0 || lines(more.best) == 0 {
			break
		}
		picks = append(picks, more.best)
	}
	for i := range picks {
		pl.step("solving the plan exactly", 0.65+0.35*float64(i)/float64(len(picks)))
		ctx := pl.ctx
		if i == 0 && pl.canceled() {
			// The best so far is worth finishing.
			ctx = context.WithoutCancel(pl.ctx)
		}
		plan, looked, err := pl.laid(ctx, picks[i], picks[:i])
		out.Looked += looked
		if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			out.Finished = false
			break
		}
		if err != nil {
			return err
		}
		if plan != nil {
			out.Plans = append(out.Plans, *plan)
		}
	}
	if pl.canceled() {
		out.Finished = false
	}
	if len(out.Plans) == 0 {
		out.Conflict = pl.conflict()
		return nil
	}
	slices.SortStableFunc(out.Plans, func(a, b sternfan.Plan) int { return cmp.Compare(b.Score, a.Score) })
	out.Bound = math.Max(out.Bound, out.Plans[0].Score)
	for i := range out.Plans[0].Turns {
		// Whether another plan is less spoiled was not tried.
		t := &out.Plans[0].Turns[i]
		out.Proven = out.Proven && len(t.Broken)+len(t.Lost) == 0
	}
	pl.best = out.Plans[0].Score
	pl.step("done", 1)
	return nil
}

// The exact search follows the other where it has a chance to finish: with a few rods.
const (
	exactRods  = 6
	exactNodes = 12_000
)

// effort says how long to search. Few rods need less.
func (pl *planner) effort() effort {
	e := effort{rounds: pl.opt.Rounds}
	if n := len(pl.prob.must); n <= exactRods {
		e.rounds = min(e.rounds, 60*n)
		e.nodes = exactNodes
		if pl.all {
			e.nodes *= 10
		}
	}
	return e
}

// unlikeBy is by how many rods plans differ that are really unlike one another: a quarter
// of them, two at least.
func unlikeBy(rods int) int { return max(2, (rods+3)/4) }

// fineRounds is how long the search among refined settings goes on.
const fineRounds = 100

// refined returns a planner whose options are few and exact.
func (pl *planner) refined(ctx context.Context) *planner {
	fine := *pl
	fine.ctx = ctx
	prob := *pl.prob
	prob.options, prob.pair = nil, nil
	fine.prob, fine.ways = &prob, nil
	fine.tight = map[[2]int]float64{}
	return &fine
}

// adopt takes the options of a pick, each solved in its own holder, and those a step
// away, and returns the pick among them.
func (pl *planner) adopt(from pick, table *planner) (pick, error) {
	var ask []bench.Trial
	type of struct {
		rod  int
		way  *way
		set  setTo
		band int
		same bool
	}
	var what []of
	for r, o := range from {
		if o == none {
			continue
		}
		w := table.ways[o]
		band := table.prob.options[o].band()
		for i, s := range pl.around(w) {
			c := &class{rig: w.rig, holder: w.holder}
			ask = append(ask, pl.ask(c, s))
			what = append(what, of{r, w, s, band, i == 0})
		}
	}
	got, err := pl.try(ask, pl.all)
	if err != nil {
		return nil, err
	}
	start := make(pick, len(from))
	for i := range start {
		start[i] = none
	}
	for i := range got {
		x := &what[i]
		n := pl.addWay(&got[i], stand{x.way.rig, x.way.holder}, x.set, x.band, false, geom.Vec{}, x.way.dialed)
		if x.same {
			start[x.rod] = n
		}
	}
	pl.prob.pair = pl.together
	pl.prob.ready()
	return start, nil
}

// around lists a way's setting and those a real step away from it.
func (pl *planner) around(w *way) []setTo {
	g := &pl.rigs[w.rig]
	out := []setTo{w.set}
	if g.knob.count == nil || pl.all {
		return out
	}
	add := func(s setTo) {
		if s.count >= g.knob.lo-1e-9 && s.count <= g.knob.hi+1e-9 && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	shared := g.knob.count == countCable && pl.onDevice(g.info.device) > 1
	for _, n := range []float64{-1, 1, -2, 2} {
		s := w.set
		s.count += n * g.knob.step
		if g.knob.count == countCable && g.knob.step < 2*foot {
			s.count += n * g.knob.step // a foot of cable is hardly a change
		}
		if !shared || math.Abs(n) < 2 {
			add(s)
		}
	}
	if g.knob.dial {
		step := pl.stepOf(dialMark)
		for _, d := range []float64{-step, step} {
			s := w.set
			if s.dial += d; s.dial >= 0 && s.dial <= g.info.marks[len(g.info.marks)-1] {
				add(s)
			}
		}
	}
	return out
}

// whole is a plan solved as one spread.
type whole struct {
	sc     *sternfan.Scenario
	model  *tackle.Model
	solved *manoeuvre.Helm
	fan    *sternfan.Fan
	gaps   []sternfan.Gap
	rods   []int // of the file, by rod of the fan
	turns  []sternfan.PlanTurn
}

// spreadOf solves a scenario as one spread.
func (pl *planner) spreadOf(sc *sternfan.Scenario, intervals bool) (*whole, error) {
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		return nil, faults
	}
	return pl.solved(sc, m, intervals)
}

func (pl *planner) solved(sc *sternfan.Scenario, m *tackle.Model, intervals bool) (*whole, error) {
	e := &whole{sc: sc, model: m, solved: manoeuvre.New(m, spread.Options{Intervals: intervals, Tolerance: pl.sc.Solver.Tolerance, Units: pl.opt.Units})}
	var err error
	e.fan, err = e.solved.Fan(pl.ctx)
	return e, err
}

// solveWhole solves a pick as one spread, with intervals.
func (pl *planner) solveWhole(x pick) (*whole, error) {
	sc, rods := pl.scenario(x)
	e, err := pl.spreadOf(sc, true)
	if err != nil {
		return nil, err
	}
	e.rods = rods
	e.gaps = clearance.Clearances(e.model.Scenario, e.fan, pl.margins)
	return e, nil
}

// scenario writes a pick as a scenario: the rods that are out, in the order of the file,
// and the devices that they are clipped to.
func (pl *planner) scenario(x pick) (*sternfan.Scenario, []int) {
	sc := *pl.sc
	sc.Rods, sc.Downriggers, sc.MastBoards = nil, nil, nil
	var rods []int
	cable := map[string]float64{}
	used := map[string]bool{}
	for r, o := range x {
		if o == none {
			continue
		}
		w := pl.ways[o]
		g := &pl.rigs[w.rig]
		rod := pl.seat(g, w.holder, w.set)
		rod.ID = pl.sc.Rods[r].ID
		sc.Rods, rods = append(sc.Rods, rod), append(rods, r)
		if w.device != "" {
			used[w.device] = true
			if g.knob.count == countCable {
				cable[w.device] = w.set.count
			}
		}
	}
	for _, d := range pl.sc.Downriggers {
		if c, ok := cable[d.ID]; ok && math.Abs(c-d.CableOut.SI()) > 1e-9 {
			d.CableOut.Value = unit.Length(c)
		}
		if used[d.ID] || d.ID == pl.sc.Speed.Ball {
			sc.Downriggers = append(sc.Downriggers, d)
		}
	}
	for _, b := range pl.sc.MastBoards {
		if used[b.ID] {
			sc.MastBoards = append(sc.MastBoards, b)
		}
	}
	// What is left in the rack is named nowhere else.
	out := func(id string) bool { return sc.Rod(id) != nil }
	lay := sc.Wants.Lay
	lay.Places = slices.DeleteFunc(slices.Clone(lay.Places), func(p sternfan.LayPlace) bool { return !out(p.Rod) })
	lay.Kits = slices.Clone(lay.Kits)
	for i := range lay.Kits {
		lay.Kits[i].Rods = slices.DeleteFunc(slices.Clone(lay.Kits[i].Rods), func(id string) bool { return !out(id) })
	}
	lay.Kits = slices.DeleteFunc(lay.Kits, func(k sternfan.Kit) bool { return len(k.Rods) == 0 })
	sc.Wants.Lay = lay
	return &sc, rods
}

// mend finds hard rules that the whole breaks and forbids what broke them. It reports
// whether there was any.
func (pl *planner) mend(e *whole, x pick) bool {
	broken := false
	for k, r := range e.rods {
		o := x[r]
		b := breachOf(&e.fan.Rods[k])
		if d := pl.ways[o].device; d != "" {
			for i := range e.fan.Devices {
				if e.fan.Devices[i].Rod == d {
					b |= breachOf(&e.fan.Devices[i])
				}
			}
		}
		if b &^= pl.prob.waive; b != 0 {
			pl.prob.options[o].breaks |= b
			broken = true
		}
	}
	for i := range e.gaps {
		gap := &e.gaps[i]
		if gap.Ratio >= 1 {
			continue
		}
		a, b := pl.rodsOf(e, gap.A), pl.rodsOf(e, gap.B)
		for _, r := range append(slices.Clone(a), b...) {
			if len(a) == 0 || len(b) == 0 {
				// The hull or a propeller.
				pl.prob.options[x[r]].breaks |= breachHull
				broken = true
			}
		}
		for _, r := range a {
			for _, s := range b {
				if r == s {
					continue
				}
				pair := [2]int{min(r, s), max(r, s)}
				pl.tight[pair] = math.Max(pl.tight[pair], 1) * math.Min(1.03/math.Max(gap.Ratio, 0.2), 2)
				broken = true
			}
		}
	}
	if broken {
		pl.prob.cache = newPairCache(len(pl.prob.options))
	}
	if !broken && slices.Max(append(pl.prob.least, 0)) > 0 {
		// How well a lure suits its band is known exactly now.
		exact, picked := pl.exact(e, x)
		if broken = exact.prob.exactly(picked).lacks() > 0; broken {
			for r, o := range picked {
				if o != none {
					pl.prob.options[x[r]].lures = exact.prob.options[o].lures
				}
			}
			pl.prob.rank()
		}
	}
	return broken
}

// of returns the rods of the whole that a party is of: itself, or those on a device.
func (e *whole) of(party string) (out []int) {
	for k := range e.fan.Rods {
		if e.fan.Rods[k].Rod == party || e.sc.Rods[k].Device() == party {
			out = append(out, k)
		}
	}
	return out
}

// answer returns a rod of the whole as if it had been solved by itself.
func (e *whole) answer(k int) answer {
	sc := e.model.Scenario
	a := answer{track: &e.fan.Rods[k], parts: sc.Rods[k].Rig.Parts, course: clearance.CourseOf(sc, &e.fan.Rods[k], k)}
	for i := range e.fan.Devices {
		if d := &e.fan.Devices[i]; d.Rod == e.sc.Rods[k].Device() {
			a.device, a.ball = d, clearance.CourseOf(sc, d, -1)
		}
	}
	return a
}

// rodsOf returns the rods of the file that a party is of: itself, or those on a device.
func (pl *planner) rodsOf(e *whole, party string) []int {
	out := e.of(party)
	for i, k := range out {
		out[i] = e.rods[k]
	}
	return out
}

// offender returns the rod that has the most part in what a whole breaks, one that may be
// left out if there is any; none when it breaks nothing.
func (pl *planner) offender(e *whole, x pick) int {
	part := make([]int, len(x))
	for k, r := range e.rods {
		if breachOf(&e.fan.Rods[k])&^pl.prob.waive != 0 {
			part[r] += 10
		}
	}
	for i := range e.gaps {
		if e.gaps[i].Ratio < 1 {
			for _, party := range []string{e.gaps[i].A, e.gaps[i].B} {
				for _, r := range pl.rodsOf(e, party) {
					part[r]++
				}
			}
		}
	}
	worst := none
	for r, n := range part {
		if n == 0 || worst != none && (pl.prob.must[r] && !pl.prob.must[worst] || pl.prob.must[r] == pl.prob.must[worst] && n <= part[worst]) {
			continue
		}
		worst = r
	}
	return worst
}
