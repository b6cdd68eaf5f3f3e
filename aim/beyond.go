package aim

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// nearestPlace is the reachable place nearest to a target that is out of reach.
type nearestPlace struct {
	way way
	why spread.Limit
	ok  bool
}

// limit finds the nearest reachable depth over everything that was looked over.
func (k *aiming) limit(ctx context.Context, seen []scanned) (nearestPlace, error) {
	var out nearestPlace
	for i := range seen {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		s := &seen[i]
		p, why, ok := s.track.nearest(ctx, s.track.whole(ctx, k.req.Depth), k.req.Depth)
		if !ok || out.ok && math.Abs(p.at.Z-k.req.Depth) >= math.Abs(out.way.exact.at.Z-k.req.Depth) {
			continue
		}
		out = nearestPlace{way{mode: s.mode, given: s.given, track: s.track, exact: p}, why, true}
	}
	return out, nil
}

// beyond says how near the rod comes and what would do it.
func (k *aiming) beyond(ctx context.Context, out *sternfan.Aim, p nearestPlace) (*sternfan.Aim, error) {
	var err error
	if p.ok {
		w := p.way
		k.round(&w)
		out.Limit = &sternfan.AimLimit{Depth: w.exact.at.Z, Exact: w.exact.x, Vary: w.mode.vary.Option(),
			Why: k.limitWords(w.mode, &w.exact, p.why, k.req.Depth)}
		req := k.req
		k.req.Depth = w.exact.at.Z // what is out of reach is not aimed at again
		out.Limit.Way, err = k.finish(context.WithoutCancel(ctx), &w)
		if k.req = req; err != nil {
			return nil, err
		}
	}
	if !k.noChanges {
		if out.Changes, err = k.changesFor(ctx, p); err != nil && ctx.Err() == nil {
			return nil, err
		}
	}
	out.Finished = ctx.Err() == nil
	if out.Limit == nil && out.Changes == nil && !out.Finished {
		return nil, ctx.Err()
	}
	return out, nil
}

// variant is the boat with one thing changed.
type variant struct {
	kind, text string
	buy        bool
	sc         *sternfan.Scenario
	keep       []string
}

// changesFor tries single changes, of each kind the least that does it.
func (k *aiming) changesFor(ctx context.Context, p nearestPlace) ([]sternfan.AimChange, error) {
	deeper := !p.ok || p.way.exact.at.Z < k.req.Depth
	var all []variant
	for i, key := range k.req.Keep {
		keep := slices.Delete(slices.Clone(k.req.Keep), i, i+1)
		all = append(all, variant{kind: "keep", text: "let the " + key + " change", sc: k.boat.sc, keep: keep})
	}
	if p.ok && k.facts.spool > 0 && p.way.mode.topWhy == k.spoolWhy() && p.way.exact.x > .99*p.way.mode.hi {
		sc := k.replace(func(_ *sternfan.Scenario, rod *sternfan.Rod) { rod.Reel = "" })
		all = append(all, variant{kind: "reel", text: "a larger reel, for " + k.boat.opt.Units.Depth(unit.Length(mostOut)) + " of line", sc: sc, keep: k.req.Keep,
			buy: true})
	}
	all = append(all, k.lines(deeper)...)
	all = append(all, k.divers(deeper)...)
	if deeper {
		all = append(all, k.balls()...)
		all = append(all, k.plugs()...)
		all = append(all, k.added()...)
	}
	var out []sternfan.AimChange
	if p.ok {
		c, err := k.otherSpeed(ctx, p, deeper)
		if err != nil {
			return out, err
		}
		if c != nil {
			out = append(out, *c)
		}
	}
	for i, v := range all {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		if k.boat.opt.Progress != nil {
			k.boat.opt.Progress(i, len(all))
		}
		if v.kind != "keep" && slices.ContainsFunc(out, func(c sternfan.AimChange) bool { return c.Kind == v.kind }) {
			continue
		}
		w, err := k.tryVariant(ctx, &v)
		if err != nil {
			return out, err
		}
		if w != nil {
			out = append(out, sternfan.AimChange{Kind: v.kind, Text: v.text, Buy: v.buy, Way: w})
		}
	}
	// What is in the boat comes before what has to be bought.
	slices.SortStableFunc(out, func(a, b sternfan.AimChange) int { return cmp.Compare(buys(a), buys(b)) })
	return out, nil
}

func buys(c sternfan.AimChange) int {
	if c.Buy {
		return 1
	}
	return 0
}

func (k *aiming) tryVariant(ctx context.Context, v *variant) (*sternfan.Way, error) {
	opt := k.boat.opt
	opt.Progress = nil
	b, err := New(v.sc, opt)
	if err != nil {
		return nil, nil // gear that does not go together is no way out
	}
	n, err := b.bench(ctx, k.Whole, k.req.Lure)
	if err != nil {
		return nil, ctx.Err()
	}
	n.req = k.req
	n.req.Keep = slices.DeleteFunc(slices.Clone(v.keep), func(key string) bool { return !n.rigged(named(key)) })
	if n.now, err = n.Begin(ctx, false); err != nil {
		return nil, err
	}
	ways, _, err := n.search(ctx, n.modes(n.req.Keep), n.req.Depth)
	if err != nil || len(ways) == 0 {
		return nil, err
	}
	for i := range ways {
		n.round(&ways[i])
	}
	n.rank(ways)
	return n.finish(ctx, &ways[0])
}

// otherSpeed finds the least change of speed that reaches the target at the limit's
// settings.
func (k *aiming) otherSpeed(ctx context.Context, p nearestPlace, deeper bool) (*sternfan.AimChange, error) {
	t := p.way.track
	if t.vary == keySpeed || slices.Contains(k.req.Keep, keySpeed.Option()) {
		return nil, nil
	}
	v0, x := t.sweep.Speed(), p.way.exact.x
	step := .1 * float64(unit.MilePerHour)
	for _, sign := range []float64{-1, 1} {
		for n := 1.0; n <= 25; n++ {
			v := v0 + sign*n*step
			if v < slowest-1e-9 || v > fastest+1e-9 {
				break
			}
			there := t.at(ctx, x, v)
			if !there.ok() || (there.at.Z >= k.req.Depth) != deeper {
				continue
			}
			text := "slower"
			if sign > 0 {
				text = "faster"
			}
			// The settings may now be less extreme: aim at that speed.
			sc := *k.boat.sc
			v = math.Round(v/step) * step
			put(&sc.Speed.Value, v)
			var2 := variant{sc: &sc, keep: k.req.Keep}
			w, err := k.tryVariant(ctx, &var2)
			if err != nil {
				return nil, err
			}
			if w == nil {
				continue
			}
			u := k.boat.opt.Units
			return &sternfan.AimChange{Kind: "speed", Text: text + ": " + u.Speed(unit.Speed(v)) + " for " + u.Speed(unit.Speed(v0)), Way: w}, nil
		}
	}
	return nil, nil
}

// replace returns the boat with the rod changed.
func (k *aiming) replace(change func(sc *sternfan.Scenario, rod *sternfan.Rod)) *sternfan.Scenario {
	sc := *k.boat.sc
	sc.Rods = slices.Clone(sc.Rods)
	rod := &sc.Rods[k.Whole]
	rod.Rig.Behind, rod.Rig.Parts = slices.Clone(rod.Rig.Behind), slices.Clone(rod.Rig.Parts)
	change(&sc, rod)
	return &sc
}

// has reports whether the scenario names the gear: listed, or on some rod.
func (k *aiming) has(id string) bool {
	gear := &k.boat.sc.Gear
	listed := slices.ContainsFunc(gear.Lines, func(g sternfan.Line) bool { return g.ID == id }) ||
		slices.ContainsFunc(gear.Divers, func(g sternfan.Diver) bool { return g.ID == id }) ||
		slices.ContainsFunc(gear.Balls, func(g sternfan.Ball) bool { return g.ID == id }) ||
		slices.ContainsFunc(gear.Weights, func(g sternfan.Weight) bool { return g.ID == id }) ||
		slices.ContainsFunc(gear.Lures, func(g sternfan.Lure) bool { return g.ID == id })
	for i := range k.boat.model.Scenario.Rods {
		for _, p := range k.boat.model.Scenario.Rods[i].Rig.Parts {
			listed = listed || p.Gear == id
		}
	}
	for i := range k.boat.sc.Downriggers {
		listed = listed || k.boat.sc.Downriggers[i].Ball == id
	}
	return listed
}

// gearOf joins the file's gear and the built-in, each id once.
func gearOf[T any](file, built []T, id func(*T) string) []T {
	out := slices.Clone(file)
	for i := range built {
		if !slices.ContainsFunc(out, func(have T) bool { return id(&have) == id(&built[i]) }) {
			out = append(out, built[i])
		}
	}
	return out
}

// lines are other main lines: thinner ones when deeper is wanted, thicker ones otherwise,
// the nearest first; then wire.
func (k *aiming) lines(deeper bool) []variant {
	parts := k.Parts()
	at := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartLine })
	if at < 0 || k.facts.section != nil || k.facts.downrigger >= 0 {
		return nil
	}
	main := k.line(&parts[at])
	if main == nil {
		return nil
	}
	type candidate struct {
		id, kind string
		d        float64
	}
	var all []candidate
	used := k.Model.Scenario.Gear.Lines
	for _, l := range gearOf(used, tackle.Builtins().Lines, func(l *sternfan.Line) string { return l.ID }) {
		switch l.Kind {
		case "mono", "fluorocarbon", "braid", "wire":
		default:
			continue
		}
		thinner := l.Diameter.Value < main.Diameter.Value*.98
		thicker := l.Diameter.Value > main.Diameter.Value*1.02
		if l.Kind == "wire" && main.Kind != "wire" && (k.facts.board || k.facts.mast >= 0 || k.facts.slides) {
			continue // it would sink the board, and kinks in a slide-through diver
		}
		if l.Strength.Given && l.Strength.Value < main.Strength.Value/2 {
			continue // nobody fishes the same device on it
		}
		if l.ID == main.ID || l.Solid.Value == 1 || !(deeper && (thinner || l.Kind == "wire" && main.Kind != "wire") || !deeper && thicker) {
			continue
		}
		all = append(all, candidate{l.ID, l.Kind, math.Abs(float64(l.Diameter.Value - main.Diameter.Value))})
	}
	slices.SortStableFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(wire(a.kind), wire(b.kind)), cmp.Compare(a.d, b.d))
	})
	var out []variant
	for _, c := range all {
		text := "thinner line: "
		if !deeper {
			text = "thicker line: "
		}
		if c.kind == "wire" {
			text = "wire: "
		}
		sc := k.replace(func(_ *sternfan.Scenario, rod *sternfan.Rod) {
			if rod.Rig.Kind != sternfan.RigParts {
				rod.Rig.Line = c.id
				return
			}
			rod.Rig.Parts[at].Gear = c.id
		})
		out = append(out, variant{"line", text + c.id + " for " + main.ID, !k.has(c.id), sc, k.req.Keep})
	}
	return out
}

func wire(kind string) int {
	if kind == "wire" {
		return 1
	}
	return 0
}

// divers are other divers of the kind: larger ones when deeper is wanted.
func (k *aiming) divers(deeper bool) []variant {
	d := k.facts.diver
	if d == nil {
		return nil
	}
	var out []variant
	all := gearOf(k.boat.model.Scenario.Gear.Divers, tackle.Builtins().Divers, func(d *sternfan.Diver) string { return d.ID })
	slices.SortStableFunc(all, func(a, b sternfan.Diver) int {
		return cmp.Compare(math.Abs(float64(a.Diameter.Value-d.Diameter.Value)), math.Abs(float64(b.Diameter.Value-d.Diameter.Value)))
	})
	for _, o := range all {
		if o.ID == d.ID || (o.Kind == "slide-through") != (d.Kind == "slide-through") || (o.Diameter.Value > d.Diameter.Value) != deeper {
			continue
		}
		sc := k.replace(func(_ *sternfan.Scenario, rod *sternfan.Rod) {
			if rod.Rig.Diver != "" {
				rod.Rig.Diver = o.ID
			}
			for i := range rod.Rig.Parts {
				if rod.Rig.Parts[i].Kind == sternfan.PartDiver {
					rod.Rig.Parts[i].Gear = o.ID
				}
			}
			if !o.RingDiameter.Given {
				rod.Settings.Ring = sternfan.Q[float64]{}
			}
		})
		word := "a larger diver: "
		if !deeper {
			word = "a smaller diver: "
		}
		out = append(out, variant{"diver", word + o.ID + " for " + d.ID, !k.has(o.ID), sc, k.req.Keep})
	}
	return out
}

// balls are heavier balls.
func (k *aiming) balls() []variant {
	if k.facts.downrigger < 0 {
		return nil
	}
	now := k.Scenario.Downriggers[0]
	var mass unit.Mass
	all := gearOf(k.boat.model.Scenario.Gear.Balls, tackle.Builtins().Balls, func(b *sternfan.Ball) string { return b.ID })
	for _, b := range all {
		if b.ID == now.Ball {
			mass = b.Mass.Value
		}
	}
	slices.SortStableFunc(all, func(a, b sternfan.Ball) int { return cmp.Compare(a.Mass.Value, b.Mass.Value) })
	var out []variant
	for _, b := range all {
		if b.Mass.Value < mass || b.ID == now.Ball {
			continue
		}
		sc := k.replace(func(sc *sternfan.Scenario, _ *sternfan.Rod) {
			sc.Downriggers = slices.Clone(sc.Downriggers)
			sc.Downrigger(now.ID).Ball = b.ID
		})
		out = append(out, variant{"ball", "another ball: " + b.ID + " for " + now.Ball, !k.has(b.ID), sc, k.req.Keep})
	}
	return out
}

// plugs are lipped plugs that dive deeper than the rod's own.
func (k *aiming) plugs() []variant {
	rig := &k.boat.sc.Rods[k.Whole].Rig
	list, at := rig.Behind, -1
	if rig.Kind == sternfan.RigParts {
		list = rig.Parts
	}
	for i := range list {
		if list[i].Kind == sternfan.PartLure {
			at = i
		}
	}
	if at < 0 {
		return nil
	}
	all := gearOf(k.boat.sc.Gear.Lures, tackle.Builtins().Lures, func(l *sternfan.Lure) string { return l.ID })
	now := slices.IndexFunc(k.boat.model.Scenario.Gear.Lures, func(l sternfan.Lure) bool { return l.ID == list[at].Gear })
	if now < 0 || k.boat.model.Scenario.Gear.Lures[now].Kind != "lipped-plug" {
		return nil
	}
	own := &k.boat.model.Scenario.Gear.Lures[now]
	var out []variant
	for _, l := range all {
		if l.Kind != "lipped-plug" || l.Rated.Depth.Value <= own.Rated.Depth.Value {
			continue
		}
		sc := k.replace(func(_ *sternfan.Scenario, rod *sternfan.Rod) {
			if rod.Rig.Kind == sternfan.RigParts {
				rod.Rig.Parts[at].Gear = l.ID
			} else {
				rod.Rig.Behind[at].Gear = l.ID
			}
		})
		out = append(out, variant{"lure", "a deeper plug: " + l.ID + " for " + own.ID, !k.has(l.ID), sc, k.req.Keep})
	}
	return out
}

// ahead is how far ahead of a lure a weight goes where there is no leader; assumed.
const ahead = 20 * unit.Foot

// added are weights on a line that has none, ahead of its leader or of the lure alone.
func (k *aiming) added() []variant {
	f := &k.facts
	rig := &k.boat.sc.Rods[k.Whole].Rig
	if f.weight >= 0 || f.diver != nil || f.section != nil || f.downrigger >= 0 || rig.Kind == sternfan.RigParts || len(rig.Behind) == 0 {
		return nil
	}
	all := slices.Clone(tackle.Builtins().Weights)
	slices.SortStableFunc(all, func(a, b sternfan.Weight) int { return cmp.Compare(a.Mass.Value, b.Mass.Value) })
	var out []variant
	for _, w := range all {
		text := "a weight ahead of the leader: "
		put := []sternfan.Part{{Kind: sternfan.PartWeight, Gear: w.ID}}
		if len(rig.Behind) == 1 {
			text = "a weight " + k.boat.opt.Units.Depth(ahead) + " ahead of the lure: "
			put = append(put, sternfan.Part{Kind: sternfan.PartLeader, Gear: rig.Line, Length: sternfan.Of(ahead)})
		}
		sc := k.replace(func(_ *sternfan.Scenario, rod *sternfan.Rod) {
			rod.Rig.Behind = slices.Insert(rod.Rig.Behind, 0, put...)
		})
		out = append(out, variant{"weight", text + w.ID, !k.has(w.ID), sc, k.req.Keep})
	}
	return out
}
