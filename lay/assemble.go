package lay

import (
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"
)

// speedStep is the change of speed that a plan is tried at, m/s: 0.2 mph.
const speedStep = 0.2 * float64(unit.MilePerHour)

// assemble makes the plan of a pick that was solved whole. It is scored anew on the whole
// solution: what each rod does beside the others, with its own interval.
func (pl *planner) assemble(e *whole, x pick) (*sternfan.Plan, error) {
	exact, picked := pl.exact(e, x)
	s := exact.prob.exactly(picked)
	plan := &sternfan.Plan{Score: s.score(), Fan: e.fan, Scenario: e.sc, Turns: e.turns}
	for t, v := range s.values() {
		plan.Terms = append(plan.Terms, sternfan.LayTerm{Name: termNames[t], Weight: exact.prob.weight[t], Value: v})
	}
	plan.Bands = exact.covers(picked, s)
	e.runs(plan.Bands)
	if len(e.gaps) > 0 {
		near := e.gaps[0]
		plan.Nearest = &near
	}
	for r, o := range picked {
		if o == none {
			plan.Left = append(plan.Left, sternfan.LeftOut{Rod: pl.sc.Rods[r].ID, Code: pl.whyLeft(r, x)})
			continue
		}
		plan.Rods = append(plan.Rods, exact.placed(e, picked, r, o))
	}
	var err error
	if plan.Speed, err = pl.atSpeeds(e); err != nil {
		return nil, err
	}
	return plan, exact.order(e, picked, plan)
}

// exact returns a planner whose only options are the rods of a whole as they came out.
func (pl *planner) exact(e *whole, x pick) (*planner, pick) {
	exact := *pl
	prob := *pl.prob
	prob.options, prob.waive = nil, everyBreach
	prob.spoiled = spoiled(e, e.turns)
	exact.prob, exact.ways, exact.tight = &prob, nil, nil
	picked := make(pick, len(x))
	for i := range picked {
		picked[i] = none
	}
	for k, r := range e.rods {
		w, o := pl.ways[x[r]], &pl.prob.options[x[r]]
		a := e.answer(k)
		picked[r] = exact.addWay(&a, stand{w.rig, w.holder}, w.set, o.band(), false, geom.Vec{}, 0)
		exact.ways[picked[r]].device = w.device
	}
	prob.pair = exact.together
	prob.ready()
	return &exact, picked
}

// runs notes what runs in the bands, and which of the rods that count toward them run
// above or below.
func (e *whole) runs(bands []sternfan.BandCover) {
	for i := range bands {
		c := &bands[i]
		for k := range e.fan.Rods {
			t := &e.fan.Rods[k]
			in, least := 0, math.Inf(1)
			for _, l := range t.Lures {
				least = math.Min(least, l.Depth)
				if l.Depth >= c.From && l.Depth <= c.To {
					in++
				}
			}
			c.In += in
			switch {
			case in > 0 || len(t.Lures) == 0 || !slices.Contains(c.Rods, t.Rod):
			case least < c.From:
				c.Above = append(c.Above, t.Rod)
			default:
				c.Below = append(c.Below, t.Rod)
			}
		}
	}
}

// netted is how far behind a diver a hook is still netted where the file does not say, m:
// 15 ft of leader after a snubber stretched to 3 ft. Common practice, several reports.
const netted = 18 * float64(unit.Foot)

// covers says how each band is covered.
func (pl *planner) covers(x pick, s *state) []sternfan.BandCover {
	var out []sternfan.BandCover
	for b := range pl.bands {
		c := sternfan.BandCover{From: float64(pl.bands[b].From), To: float64(pl.bands[b].To), Want: pl.prob.want[b], Rods: []string{}}
		c.Cover = 1
		if c.Want > 0 {
			c.Cover = best(s.fits[b], c.Want) / float64(c.Want)
		}
		for r, o := range x {
			if o == none {
				continue
			}
			if slices.ContainsFunc(pl.prob.options[o].lures, func(l landing) bool { return l.band == b && l.fit >= leastFit }) {
				c.Rods = append(c.Rods, pl.sc.Rods[r].ID)
			}
		}
		out = append(out, c)
	}
	return out
}

// placed says where a rod of the plan is and why.
func (pl *planner) placed(e *whole, x pick, r, o int) sternfan.Placed {
	w := pl.ways[o]
	g := &pl.rigs[w.rig]
	file := &pl.sc.Rods[r]
	holder := &pl.sc.Boat.Holders[w.holder]
	p := sternfan.Placed{Rod: file.ID, Holder: holder.ID, Position: w.track.Position, Band: -1, Settings: w.track.Settings,
		Fixed: file.Fixed, Moved: holder.ID != file.Holder}
	if g.kit >= 0 {
		p.Kit = pl.sc.Wants.Lay.Kits[g.kit].ID
	}
	if len(pl.bands) > 0 {
		p.Band = pl.prob.options[o].band()
	}
	p.Why = append(pl.why(x, r, o), pl.whyInTurns(e, r)...)
	caution := func(code string, text, hint string) {
		p.Cautions = append(p.Cautions, sternfan.Warning{Code: code, Text: text, Hint: hint})
	}
	u := pl.opt.Units
	reach := orLength(pl.sc.Wants.Lay.Reach, netted)
	if w.hook > reach {
		caution("hook-out-of-reach", "the hook is "+u.Depth(unit.Length(w.hook))+" behind the diver, snubber stretched: more than the "+u.Depth(unit.Length(reach))+" that a net reaches",
			"a shorter leader, or be ready to hand-line the last of it without wraps on the hand")
	}
	if g.info.diver == "directional" && g.info.stiff && !g.info.snubber {
		caution("no-snubber", "no snubber between a fixed diver and a line that does not stretch", "tie one in: a strike pulls hooks or parts the leader")
	}
	if holder.Bears.Given && w.track.TipPull > holder.Bears.SI() {
		caution("holder", "it pulls "+u.Force(unit.Force(w.track.TipPull))+"; this holder is meant for "+u.Force(holder.Bears.Value), "a stronger holder, or a lighter puller here")
	}
	return p
}

// why lists the reasons for a rod's place, the strongest first.
func (pl *planner) why(x pick, r, o int) []sternfan.LayReason {
	var out []sternfan.LayReason
	if pl.sc.Rods[r].Fixed {
		out = append(out, sternfan.LayReason{Code: "fixed"})
	}
	if len(pl.ways[o].lures) == 0 {
		return out
	}
	if band := pl.prob.options[o].band(); band >= 0 && len(pl.bands) > 0 {
		out = append(out, pl.whyBand(x, r, o, band))
	} else if !pl.sc.Rods[r].Fixed {
		out = append(out, sternfan.LayReason{Code: "any-depth"})
	}
	return append(out, pl.whyBeside(x, r, o))
}

// whyBand says whether a rod's main lure is the only one in its band, the best one, or one
// of several.
func (pl *planner) whyBand(x pick, r, o, band int) sternfan.LayReason {
	fit := pl.prob.options[o].lures[0].fit
	alone, best := true, true
	for q, other := range x {
		if other == none || q == r {
			continue
		}
		for _, l := range pl.prob.options[other].lures {
			if l.band == band {
				alone = false
				best = best && l.fit <= fit
			}
		}
	}
	switch {
	case alone:
		return sternfan.LayReason{Code: "band-alone", Value: fit}
	case best:
		return sternfan.LayReason{Code: "band-best", Value: fit}
	}
	return sternfan.LayReason{Code: "band", Value: fit}
}

// whyBeside says beside which line a rod's runs: the next one toward the boat on its side,
// else the next one outside.
func (pl *planner) whyBeside(x pick, r, o int) sternfan.LayReason {
	me := pl.ways[o].lures[0].at
	if math.Abs(me.Y) < 1 {
		return sternfan.LayReason{Code: "center"}
	}
	inside, outside := none, none
	at := func(q int) geom.Vec { return pl.ways[x[q]].lures[0].at }
	for q, other := range x {
		if other == none || q == r || len(pl.ways[other].lures) == 0 {
			continue
		}
		you := math.Abs(at(q).Y)
		switch {
		case me.Y*at(q).Y <= 0 || math.Abs(math.Abs(me.Y)-you) < 1:
		case you < math.Abs(me.Y):
			if inside == none || you > math.Abs(at(inside).Y) {
				inside = q
			}
		case outside == none || you < math.Abs(at(outside).Y):
			outside = q
		}
	}
	by := func(code string, q int) sternfan.LayReason {
		return sternfan.LayReason{Code: code, Rod: pl.sc.Rods[q].ID, Value: math.Abs(at(q).Z - me.Z)}
	}
	const level = 1.0 // m
	switch {
	case inside != none && at(inside).Z > me.Z+level:
		return by("outside-above", inside)
	case outside != none && at(outside).Z < me.Z-level:
		return by("inside-below", outside)
	case inside != none && at(inside).Z < me.Z-level:
		return by("outside-below", inside)
	case inside != none:
		return by("astern-of", inside)
	case outside != none:
		return by("inside-of", outside)
	}
	return sternfan.LayReason{Code: "alone-on-side"}
}

// whyLeft says why a rod stays in the rack: every way to fish it breaks a rule by itself,
// a limit is reached, there is no room beside the others, or it would not help.
func (pl *planner) whyLeft(r int, x pick) string {
	table := pl.from
	if table == nil {
		table = pl
	}
	p := table.prob
	s := newState(p)
	for q, o := range pl.origin {
		if o != none && q != r && x[q] != none {
			s.put(o)
		}
	}
	usable, enough, clear := false, false, false
	for _, o := range p.byRod[r] {
		if p.options[o].breaks != 0 {
			continue
		}
		usable = true
		if s.enough(o) {
			enough = true
			clear = clear || s.admits(o)
		}
	}
	switch {
	case !usable:
		return "no-depth"
	case !enough:
		return "cap"
	case !clear:
		return "no-room"
	}
	return "no-gain"
}

// atSpeeds says how far each lure rises or sinks when the boat goes a little slower or
// faster.
func (pl *planner) atSpeeds(e *whole) ([]sternfan.SpeedLure, error) {
	var fans [2]*sternfan.Fan
	step := math.Min(speedStep, 0.5*math.Abs(e.sc.Speed.Value.SI()))
	for i, d := range []float64{-step, step} {
		sc := *e.sc
		sc.Speed.Value.Value += unit.Speed(d)
		other, err := pl.spreadOf(&sc, false)
		if err != nil {
			return nil, err
		}
		fans[i] = other.fan
	}
	var out []sternfan.SpeedLure
	for k := range e.fan.Rods {
		for n, l := range e.fan.Rods[k].Lures {
			if n >= len(fans[0].Rods[k].Lures) || n >= len(fans[1].Rods[k].Lures) {
				continue
			}
			out = append(out, sternfan.SpeedLure{Rod: e.fan.Rods[k].Rod, Lure: l.ID, Change: step,
				Slower: fans[0].Rods[k].Lures[n].Depth - l.Depth, Faster: fans[1].Rods[k].Lures[n].Depth - l.Depth})
		}
	}
	return out, nil
}
