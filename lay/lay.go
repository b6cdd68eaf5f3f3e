package lay

import (
	"context"
	"fmt"
	"math/rand/v2"

	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/manoeuvre"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// Options say how to plan; the zero value asks for one plan.
type Options struct {
	Top      int                                   // how many plans, really unlike one another; 0: 1
	Seed     uint64                                // the same seed, the same plans
	Rounds   int                                   // of the search; 0: enough for a dozen rods
	Units    unit.System                           // of the numbers in warnings
	Progress func(what string, part, best float64) // called now and then; part of the work and best score so far, 0 to 1
}

// planner is the state of one call of Plan.
type planner struct {
	ctx     context.Context
	opt     Options
	sc      *sternfan.Scenario // as in the file
	gear    *sternfan.Gear     // in full
	boat    *bench.Boat
	bands   []sternfan.ProposedBand
	notes   []sternfan.Warning
	margins clearance.Margins
	hard    []*clearance.Course
	rigs    []rigging
	ways    []*way
	prob    *problem
	shapes  *shapes
	tight   map[[2]int]float64    // room asked of two rods beyond the margin, times it; nil: none
	all     bool                  // every setting is solved, with its interval: there are few
	turns   []manoeuvre.Manoeuvre // that are intended
	tried   map[other]triedWay    // of those who were taken through them
	stock   struct{ holder, lines, lures, have int }
	part    float64
	best    float64

	from    *planner // of a refined planner: the one it refines, the pick, and its options here
	origin  pick
	adopted pick
}

func (pl *planner) step(what string, part float64) {
	pl.part = part
	if pl.opt.Progress != nil {
		pl.opt.Progress(what, part, pl.best)
	}
}

// Plan lays out the scenario's spread. It returns the best plans, or the rules that leave
// none. When the context ends it returns the best so far, its Finished false. The error is
// sternfan.Faults when the scenario cannot be resolved, or the context's when it ended
// before there was any plan.
func Plan(ctx context.Context, sc *sternfan.Scenario, opt Options) (*sternfan.Layout, error) {
	pl, err := newPlanner(ctx, sc, opt)
	if err != nil {
		return nil, err
	}
	out := &sternfan.Layout{Version: sternfan.FileVersion, Name: sc.Name, Seed: opt.Seed, Weights: weightList(sc),
		Warnings: pl.notes}
	for i := range pl.bands {
		b := &pl.bands[i]
		w := sternfan.BandWant{From: float64(b.From), To: float64(b.To), Weight: b.Weight, Lures: pl.prob.want[i]}
		if len(sc.Wants.Bands) == 0 {
			w.Reason = b.Reason
		}
		out.Bands = append(out.Bands, w)
	}
	if err := pl.table(); err != nil {
		return nil, err
	}
	// A survey cut short is no ground to say that there is no plan.
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	pl.prob.pair = pl.together
	pl.prob.ready()
	out.Bound = pl.prob.bound()
	if err := pl.plans(out); err != nil {
		return out, err
	}
	if len(out.Plans) == 0 {
		return out, ctx.Err()
	}
	return out, nil
}

// newPlanner resolves the scenario and finds out what rods, gear and holders there are.
func newPlanner(ctx context.Context, sc *sternfan.Scenario, opt Options) (*planner, error) {
	if opt.Top == 0 {
		opt.Top = 1
	}
	if opt.Rounds == 0 {
		opt.Rounds = standardRounds
	}
	pl := &planner{ctx: ctx, opt: opt, sc: sc, margins: clearance.MarginsOf(&sc.Wants), hard: clearance.Obstacles(&sc.Boat), shapes: newShapes(),
		boat: bench.New(sc, nil, spread.Options{Units: opt.Units})}
	pl.step("reading the gear", 0)
	m, faults := tackle.Resolve(pl.everything())
	if len(faults) > 0 {
		return nil, faults
	}
	pl.gear = &m.Scenario.Gear
	wanted := sc.WantedBands(opt.Units)
	pl.bands, pl.notes = wanted.Bands, append(pl.notes, wanted.Notes...)
	if w := sternfan.ReleaseCaution(sc.Water.Temperature, sc.Wants.Species, opt.Units); w != nil {
		pl.notes = append(pl.notes, *w)
	}
	if len(pl.bands) == 0 {
		pl.notes = append(pl.notes, sternfan.Warning{Code: "no-bands", Text: "no depth is wanted: every depth counts alike",
			Hint: "give wants.bands, or water.temperature and wants.species"})
	}
	pl.rigs = pl.riggings()
	if err := pl.study(); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	pl.all = pl.few()
	pl.problem()
	pl.turns = intended(sc)
	return pl, nil
}

// everything is the scenario with every kit as a rod of its own, so that all gear is
// resolved at once.
func (pl *planner) everything() *sternfan.Scenario {
	sc := *pl.sc
	sc.Rods = append([]sternfan.Rod(nil), sc.Rods...)
	for i, k := range sc.Wants.Lay.Kits {
		if own := pl.sc.Rod(k.Rods[0]); own != nil {
			r := *own
			r.ID, r.Rig, r.Settings = fmt.Sprintf("kit %d", i), k.Rig, k.Settings
			sc.Rods = append(sc.Rods, r)
		}
	}
	return &sc
}

// problem sets up what the search is asked, without its options.
func (pl *planner) problem() {
	sc := pl.sc
	lay, caps := &sc.Wants.Lay, &sc.Wants.Caps
	p := &problem{must: make([]bool, len(sc.Rods)), weight: weightsOf(sc), lines: lay.Lines}
	for i, r := range sc.Rods {
		p.must[i] = r.Fixed
	}
	p.likely = min(len(sc.Rods), len(sc.Boat.Holders))
	pl.stock.holder, pl.stock.lines, pl.stock.lures = 0, -1, -1
	for range sc.Boat.Holders {
		p.capacity = append(p.capacity, 1)
	}
	if caps.Lines > 0 {
		pl.stock.lines = len(p.capacity)
		p.capacity = append(p.capacity, caps.Lines)
		p.likely = min(p.likely, caps.Lines)
	}
	lures := 0
	most := make([]int, len(sc.Rods))
	for i := range pl.rigs {
		most[pl.rigs[i].rod] = max(most[pl.rigs[i].rod], pl.rigs[i].info.lures)
	}
	lures = sumOfLargest(most, p.likely)
	if caps.Lures > 0 {
		pl.stock.lures = len(p.capacity)
		p.capacity = append(p.capacity, caps.Lures)
		lures = min(lures, caps.Lures)
		p.likely = min(p.likely, caps.Lures)
	}
	pl.stock.have = len(p.capacity)
	for _, h := range lay.Have {
		p.capacity = append(p.capacity, h.Count)
	}
	p.want, p.least = pl.places(lures)
	pl.prob = p
}

// places shares so many lures among the bands by their weight: each gets its whole part,
// and the largest remainders one more.
func (pl *planner) places(lures int) (want, least []int) {
	n := len(pl.bands)
	if n == 0 {
		return []int{lures}, []int{0}
	}
	weight := make([]float64, n)
	total := 0.0
	for i := range pl.bands {
		weight[i] = pl.bands[i].Weight
		total += weight[i]
	}
	if total == 0 {
		for i := range weight {
			weight[i], total = 1, total+1
		}
	}
	want = share(lures, weight, total)
	for i := range pl.bands {
		least = append(least, pl.bands[i].Least)
		want[i] = max(want[i], least[i])
	}
	return want, least
}

// Defaults of the weights: docs/planning.md says what each term is. Chosen by judgment so
// that one lure out of its band outweighs one broken rule of practice and not several.
var defaultWeights = [terms]float64{cover: 10, balance: 1, hookInReach: 0.5, snubber: 0.5, bears: 1, lureSpeed: 1, tripRoom: 0.5, asNow: 2, inTurns: 10,
	shallowOutside: 2, highOutside: 2, apart: 1, room: 1, leadAcross: 1, variety: 1}

// termNames are the terms' names in the file.
var termNames = [terms]string{cover: "cover", balance: "balance", hookInReach: "hook_in_reach", snubber: "snubber", bears: "bears",
	lureSpeed: "lure_speed", tripRoom: "trip_room", asNow: "as_now", inTurns: "turns", shallowOutside: "shallow_outside", highOutside: "high_outside",
	apart: "apart", room: "room", leadAcross: "lead_across", variety: "variety"}

// weightsOf are a scenario's weights. What is not asked for weighs nothing.
func weightsOf(sc *sternfan.Scenario) [terms]float64 {
	out := weights(&sc.Wants.Lay.Weights)
	if len(intended(sc)) == 0 {
		out[inTurns] = 0
	}
	return out
}

func weights(w *sternfan.LayWeights) [terms]float64 {
	out := defaultWeights
	for t, q := range map[term]sternfan.Q[float64]{cover: w.Cover, balance: w.Balance, hookInReach: w.HookInReach, snubber: w.Snubber, bears: w.Bears,
		lureSpeed: w.LureSpeed, tripRoom: w.TripRoom, asNow: w.AsNow, shallowOutside: w.ShallowOutside, highOutside: w.HighOutside,
		apart: w.Apart, room: w.Room, leadAcross: w.LeadAcross, variety: w.Variety, inTurns: w.Turns} {
		if q.Given {
			out[t] = q.Value
		}
	}
	return out
}

func weightList(sc *sternfan.Scenario) []sternfan.LayTerm {
	var out []sternfan.LayTerm
	for t, x := range weightsOf(sc) {
		out = append(out, sternfan.LayTerm{Name: termNames[t], Weight: x})
	}
	return out
}

func (pl *planner) searcher(salt uint64) *searcher {
	return &searcher{p: pl.prob, rng: rand.New(rand.NewPCG(pl.opt.Seed, salt))}
}
