package lay

import (
	"context"
	"math/rand/v2"
	"slices"

	"sternfan"
	"sternfan/unit"
)

// rule is a hard rule that can be waived to see whether a plan exists without it.
type rule struct {
	code   string
	what   string
	text   string
	waive  func(p *problem)
	breach breach
}

// conflict returns a set of hard rules that cannot be kept together and of which each is
// needed for that: without any one of them there is a plan. Several such sets may exist;
// it is the smallest that a few orders of trying find.
func (pl *planner) conflict() []sternfan.LayRule {
	rules := pl.rules()
	if !pl.hopeless(rules) {
		// The search found no plan and cannot say why: all rules are in it together.
		return list(rules)
	}
	rng := rand.New(rand.NewPCG(pl.opt.Seed, 7))
	var least []rule
	for k := range 6 {
		order := slices.Clone(rules)
		if k > 0 {
			rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		}
		core := pl.core(order)
		if least == nil || len(core) < len(least) {
			least = core
		}
	}
	return list(least)
}

// core drops every rule without which there is still no plan.
func (pl *planner) core(rules []rule) []rule {
	kept := slices.Clone(rules)
	for i := 0; i < len(kept); {
		without := slices.Delete(slices.Clone(kept), i, i+1)
		if pl.hopeless(without) {
			kept = without
		} else {
			i++
		}
	}
	return kept
}

func list(rules []rule) []sternfan.LayRule {
	var out []sternfan.LayRule
	for _, r := range rules {
		out = append(out, sternfan.LayRule{Code: r.code, What: r.what, Text: r.text})
	}
	return out
}

// hopeless reports whether no pick keeps the rules, the others waived.
func (pl *planner) hopeless(rules []rule) bool {
	p := *pl.prob
	p.must = make([]bool, len(p.must))
	p.capacity = slices.Clone(p.capacity)
	for i := range p.capacity {
		p.capacity[i] = 1 << 20
	}
	p.least = make([]int, len(p.want))
	p.lines, p.waive = 0, everyBreach
	for _, r := range rules {
		if r.waive != nil {
			r.waive(&p)
		}
		p.waive &^= r.breach
	}
	p.weight, p.total = [terms]float64{}, 0 // any plan will do
	q := &searcher{p: &p, rng: rand.New(rand.NewPCG(pl.opt.Seed, 8))}
	got := q.shuffle(context.Background(), 10, nil)
	if got.lacks > 0 {
		q.exact(context.Background(), 20_000, 0, &got)
	}
	pl.prob.cache = p.cache
	return got.lacks > 0
}

// rules lists the hard rules of the scenario.
func (pl *planner) rules() []rule {
	sc, full := pl.sc, pl.prob
	capacity := func(i int) func(*problem) {
		n := full.capacity[i]
		return func(p *problem) { p.capacity[i] = n }
	}
	// What a person can least change comes first: it is the first to be found needless.
	u := pl.opt.Units
	out := []rule{
		{code: "clearance", text: "lines keep " + u.Depth(unit.Length(pl.margins.Horizontal)) + " to the side and " + u.Depth(unit.Length(pl.margins.Vertical)) + " up and down", breach: breachClearance},
		{code: "cable", text: "rods on one downrigger share its cable", breach: breachCable},
		{code: "bottom", text: "nothing lies on the bottom that is not meant to", breach: breachBottom},
		{code: "spool", text: "no more line out than is on the spool", breach: breachSpool},
		{code: "strength", text: "no line is pulled beyond its label strength", breach: breachStrength},
		{code: "trip", text: "no diver or release trips by its steady pull", breach: breachTrip},
		{code: "solved", text: "every rod can be fished as described", breach: breachUnsolved},
		{code: "hull", text: "lines keep clear of hull, propellers, kicker and speed bags", breach: breachHull},
	}
	for r := range sc.Rods {
		if full.must[r] {
			out = append(out, rule{code: "fixed", what: sc.Rods[r].ID, text: "rod " + sc.Rods[r].ID + " is fixed",
				waive: func(p *problem) { p.must[r] = true }})
		}
	}
	if full.lines > 0 {
		out = append(out, rule{code: "least-lines", text: "at least " + count(full.lines, "line", "lines") + " out",
			waive: func(p *problem) { p.lines = full.lines }})
	}
	for b, n := range full.least {
		if n > 0 {
			text := "at least " + count(n, "lure", "lures") + " between " + pl.span(b)
			out = append(out, rule{code: "least-band", what: pl.span(b), text: text, waive: func(p *problem) { p.least[b] = n }})
		}
	}
	if pl.stock.lines >= 0 {
		out = append(out, rule{code: "cap-lines", text: "at most " + count(sc.Wants.Caps.Lines, "line", "lines"), waive: capacity(pl.stock.lines)})
	}
	if pl.stock.lures >= 0 {
		out = append(out, rule{code: "cap-lures", text: "at most " + count(sc.Wants.Caps.Lures, "lure", "lures"), waive: capacity(pl.stock.lures)})
	}
	for i, h := range sc.Wants.Lay.Have {
		out = append(out, rule{code: "have", what: h.Gear, text: "there are " + number(h.Count) + " of " + h.Gear, waive: capacity(pl.stock.have + i)})
	}
	for i, h := range sc.Boat.Holders {
		out = append(out, rule{code: "holder", what: h.ID, text: "one rod in holder " + h.ID, waive: capacity(pl.stock.holder + i)})
	}
	return out
}

func (pl *planner) span(band int) string {
	u := pl.opt.Units
	if band >= len(pl.bands) {
		return "any depth"
	}
	return u.Depth(pl.bands[band].From) + " and " + u.Depth(pl.bands[band].To)
}
