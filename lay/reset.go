package lay

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/setting"
)

// Reset says how one rod's line goes out again while the others are out as the scenario
// has them: as it was, where nothing is in its way; else, for a board, inside the others,
// which slide outward; else with another setting that it can reach without coming inside
// the margin of a line; else it says which line is in the way. The error is
// sternfan.Faults or the context's.
func Reset(ctx context.Context, sc *sternfan.Scenario, rodID string, opt Options) (*sternfan.Reset, error) {
	at, err := bench.Find(sc, rodID)
	if err != nil {
		return nil, err
	}
	pl, err := newPlanner(ctx, sc, opt)
	if err != nil {
		return nil, err
	}
	r := &resetter{planner: pl, rod: at, id: rodID}
	if err := r.as(sc); err != nil {
		return nil, err
	}
	if r.x[at] == none || pl.ways[r.x[at]].course == nil {
		t := &r.e.fan.Rods[at]
		f := sternfan.Fault{Code: "refused", Text: "this rod cannot be fished as it is set", Found: rodID, Hint: "find a setting with sternfan aim"}
		if len(t.Warnings) > 0 {
			f.Text, f.Hint = t.Warnings[0].Text, cmp.Or(t.Warnings[0].Hint, f.Hint)
		}
		return nil, sternfan.Faults{f}
	}
	out, blocked, err := r.straight()
	if out != nil || err != nil {
		return out, err
	}
	for _, way := range []func() (*sternfan.Reset, error){r.slide, r.other} {
		if err := r.as(sc); err != nil {
			return nil, err
		}
		out, err := way()
		if err != nil {
			return nil, err
		}
		if out != nil {
			out.Blocked = &blocked
			return out, nil
		}
	}
	if err := r.as(sc); err != nil {
		return nil, err
	}
	return &sternfan.Reset{Rod: rodID, How: "none", Blocked: &blocked, Fan: r.e.fan, Scenario: r.e.sc, Passes: []sternfan.Gap{}}, nil
}

// resetter is a planner whose options are the rods of a scenario as they are.
type resetter struct {
	*planner
	rod int
	id  string
	e   *whole
	x   pick
}

// as solves a scenario whole and takes its rods as the options.
func (r *resetter) as(sc *sternfan.Scenario) error {
	e, err := r.spreadOf(sc, true)
	if err != nil {
		return err
	}
	r.e, e.gaps = e, clearance.Clearances(e.model.Scenario, e.fan, r.margins)
	r.ways = nil
	prob := *r.prob
	prob.options = nil
	r.prob = &prob
	r.x = make(pick, len(sc.Rods))
	for i := range sc.Rods {
		r.e.rods = append(r.e.rods, i)
		r.x[i] = none
		t := &e.fan.Rods[i]
		if len(t.Lures) == 0 {
			continue
		}
		rig := slices.IndexFunc(r.rigs, func(g rigging) bool { return g.rod == i && g.kit < 0 })
		a := e.answer(i)
		band := -1
		for b := range r.bands {
			lure := r.berth(&r.rigs[rig], t, 0, false, geom.Vec{}, 0)
			if r.fit(b, &lure) >= leastFit && (band < 0 || r.fit(b, &lure) > r.fit(band, &lure)) {
				band = b
			}
		}
		r.x[i] = r.addWay(&a, stand{rig, r.holderIndex(sc.Rods[i].Holder)}, r.rigs[rig].now(r.planner), band, false, geom.Vec{}, 0)
	}
	return nil
}

// onTheWay returns how near the rod comes to every other line while it goes out, the
// nearest first.
func (r *resetter) onTheWay() ([]sternfan.Gap, error) {
	near, err := r.watch(r.e, r.x, []int{r.rod})
	if err != nil {
		return nil, err
	}
	out := []sternfan.Gap{}
	for _, g := range near {
		out = append(out, g)
	}
	slices.SortFunc(out, func(a, b sternfan.Gap) int { return cmp.Or(cmp.Compare(a.Ratio, b.Ratio), cmp.Compare(a.B, b.B)) })
	return out, nil
}

// lies returns the nearest gap of the rod, its cable included, to the others where it ends
// up.
func (r *resetter) lies() (worst sternfan.Gap) {
	worst.Ratio = math.Inf(1)
	device := r.e.sc.Rods[r.rod].Device()
	for _, g := range r.e.gaps {
		if (g.A == r.id || g.B == r.id || device != "" && (g.A == device || g.B == device)) && g.Ratio < worst.Ratio {
			worst = g
		}
	}
	return worst
}

// done returns the reset as it stands, if the rod keeps its margins on the way and at
// its end; else what it comes too near.
func (r *resetter) done(how string) (*sternfan.Reset, sternfan.Gap, error) {
	near, err := r.onTheWay()
	if err != nil {
		return nil, sternfan.Gap{}, err
	}
	if len(near) > 0 && near[0].Ratio < 1 {
		return nil, near[0], nil
	}
	if g := r.lies(); g.Ratio < 1 {
		return nil, g, nil
	}
	return &sternfan.Reset{Rod: r.id, How: how, Settings: r.e.fan.Rods[r.rod].Settings, Passes: near, Fan: r.e.fan, Scenario: r.e.sc,
		Minutes: r.minutes(r.x[r.rod], true)}, sternfan.Gap{}, nil
}

// straight sets the rod as it was.
func (r *resetter) straight() (*sternfan.Reset, sternfan.Gap, error) { return r.done("as-was") }

// reachOut is the setting that says how far out a board runs, nil for a rod without one.
func (r *resetter) reachOut(rod *sternfan.Rod) *setting.Row {
	switch {
	case r.mastBoard(rod.Device()) >= 0:
		return countAlong
	case rod.Rig.Board != "" || slices.ContainsFunc(rod.Rig.Parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartBoard }):
		return countLine
	}
	return nil
}

// slide sets a board inside the others of its side: each board inside of where it was
// slides out into the place of the next, and it takes the innermost.
func (r *resetter) slide() (*sternfan.Reset, error) {
	sc := r.e.sc
	reach := r.reachOut(&sc.Rods[r.rod])
	if reach == nil {
		return nil, nil
	}
	mine := r.ways[r.x[r.rod]].lures[0].at.Y
	device := sc.Rods[r.rod].Device()
	line := []int{r.rod}
	for i := range sc.Rods {
		if i == r.rod || r.x[i] == none || r.reachOut(&sc.Rods[i]) != reach || sc.Rods[i].Device() != device || sc.Rods[i].Fixed {
			continue
		}
		if y := r.ways[r.x[i]].lures[0].at.Y; y*mine > 0 && math.Abs(y) < math.Abs(mine) {
			line = append(line, i)
		}
	}
	if len(line) == 1 {
		return nil, nil
	}
	slices.SortStableFunc(line, func(a, b int) int {
		return cmp.Compare(math.Abs(r.ways[r.x[b]].lures[0].at.Y), math.Abs(r.ways[r.x[a]].lures[0].at.Y))
	})
	next := *sc
	next.Rods = slices.Clone(sc.Rods)
	out := func(rod int) setting.Value { return reach.Get(setting.Of(sc, &sc.Rods[rod])) }
	var moves []sternfan.ResetMove
	for k := 1; k < len(line); k++ {
		from, to := out(line[k]), out(line[k-1])
		if to.Number <= from.Number {
			return nil, nil // it would have to come in
		}
		moves = append(moves, sternfan.ResetMove{Rod: sc.Rods[line[k]].ID, From: from.Number, To: to.Number})
		reach.Set(setting.Of(&next, &next.Rods[line[k]]), to)
	}
	reach.Set(setting.Of(&next, &next.Rods[r.rod]), out(line[len(line)-1]))
	if err := r.as(&next); err != nil {
		return nil, err
	}
	reset, _, err := r.done("slide")
	if reset != nil {
		reset.Moves = moves
	}
	return reset, err
}

// other looks for another setting of the rod that it reaches without coming inside the
// margin of a line: the one that suits its band best, or is nearest to its depth.
func (r *resetter) other() (*sternfan.Reset, error) {
	sc := r.e.sc
	w := r.ways[r.x[r.rod]]
	g := &r.rigs[w.rig]
	if g.knob.count == nil {
		return nil, nil
	}
	band := -1
	if len(r.bands) > 0 {
		band = r.prob.options[r.x[r.rod]].band()
	}
	c := &class{rig: w.rig, holder: w.holder, home: true, members: []stand{{w.rig, w.holder}}, trials: map[setTo]answer{}}
	want := map[*class][]setTo{c: r.grid(c)}
	if err := r.solve(want, []*class{c}); err != nil {
		return nil, err
	}
	want[c] = append(want[c], r.aimed(c)...)
	if err := r.solve(want, []*class{c}); err != nil {
		return nil, err
	}
	type choice struct {
		s     setTo
		worth float64
	}
	var list []choice
	mark := w.lures[0].at.Z
	for _, s := range want[c] {
		a := c.trials[s]
		if s == w.set || a.track == nil || len(a.track.Lures) == 0 || breachOf(a.track) != 0 || slices.ContainsFunc(list, func(x choice) bool { return x.s == s }) {
			continue
		}
		n := r.addWay(&a, stand{w.rig, w.holder}, s, -1, false, geom.Vec{}, r.dialed(c, s))
		near := roomy
		for i, o := range r.x {
			if i != r.rod && o != none && r.ways[o].course != nil {
				near = math.Min(near, r.nearness(r.ways[n], r.ways[o]))
			}
		}
		if near < 1 {
			continue
		}
		lure := r.berth(g, a.track, 0, false, geom.Vec{}, r.dialed(c, s))
		worth := -math.Abs(lure.at.Z-mark) / 100
		if band >= 0 {
			worth += r.fit(band, &lure)
		}
		list = append(list, choice{s, worth})
	}
	slices.SortStableFunc(list, func(a, b choice) int { return cmp.Compare(b.worth, a.worth) })
	const looks = 8
	for _, x := range list[:min(len(list), looks)] {
		next := *sc
		next.Rods, next.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
		g.set(x.s, setting.Of(&next, &next.Rods[r.rod]))
		if err := r.as(&next); err != nil {
			return nil, err
		}
		r.ways[r.x[r.rod]].set = x.s
		out, _, err := r.done("other")
		if out != nil || err != nil {
			return out, err
		}
	}
	return nil, nil
}
