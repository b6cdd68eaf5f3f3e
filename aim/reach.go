package aim

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/num"
	"sternfan/spread"
	"sternfan/unit"
)

// way is a set of settings on its way to a result.
type way struct {
	mode  *mode
	given []setting
	track *track
	exact place // at the target
	set   place // rounded to a step
	score float64
}

// reach finds the ways of the bench's request.
func (k *bench) reach(ctx context.Context) (*sternfan.Aim, error) {
	out, err := k.begin(ctx)
	if err != nil {
		return nil, err
	}
	modes := k.modes(k.req.Keep)
	if key := k.sideKey(); k.req.Side != nil && key != "" {
		side := axis{key, []float64{k.sideways(ctx, modes, key)}}
		for i := range modes {
			modes[i].axes = append(modes[i].axes[:len(modes[i].axes):len(modes[i].axes)], side)
		}
	}
	ways, seen, err := k.search(ctx, modes, k.req.Depth)
	if err != nil {
		return nil, err
	}
	if len(ways) == 0 {
		var p nearestPlace
		if p, err = k.limit(ctx, seen); err != nil {
			return nil, err
		}
		if p.ok && math.Abs(p.way.exact.at.Z-k.req.Depth) <= within(k.req.Depth) {
			ways = []way{p.way}
		} else {
			return out, k.beyond(ctx, out, p)
		}
	}
	out.Found = len(ways)
	for i := range ways {
		k.round(&ways[i])
	}
	k.rank(ways)
	for i := range ways {
		if len(out.Ways) == k.boat.opt.Top {
			break
		}
		w, err := k.finish(ctx, &ways[i])
		if err != nil {
			return nil, err
		}
		if w == nil {
			out.Found--
			continue
		}
		out.Ways = append(out.Ways, *w)
	}
	if len(out.Ways) == 0 {
		// What was found near other answers has none of its own.
		return out, k.beyond(ctx, out, nearestPlace{})
	}
	return out, ctx.Err()
}

// sideways returns the whole count of a setting at which the lure runs as far to the side
// as is wanted, or as near to that as it comes, while its depth is held.
func (k *bench) sideways(ctx context.Context, modes []mode, key string) float64 {
	step := k.step(key)
	lo, hi := leastOut, k.mostOut(0)
	if key == keyAlong {
		lo, hi = 2*step, k.sc.MastBoards[0].LineOut.SI()-step
	}
	best, least := k.nowAt(key), math.Inf(1)
	off := func(y float64) (float64, bool) {
		for i := range modes {
			given := []setting{{key, y}}
			for _, t := range k.tracks(&modes[i], given, nil) {
				p, scan := t.find(ctx, k.req.Depth)
				if !p.ok() {
					if p, _, ok := t.nearest(ctx, scan, k.req.Depth); ok {
						return math.Abs(p.at.Y) - *k.req.Side, true
					}
					continue
				}
				return math.Abs(p.at.Y) - *k.req.Side, true
			}
		}
		return 0, false
	}
	r := num.NewRoot(lo, hi, best)
	for range 10 {
		f, ok := off(r.X)
		if !ok {
			break
		}
		if math.Abs(f) < least {
			best, least = r.X, math.Abs(f)
		}
		if math.Abs(f) < .1 || r.Hi-r.Lo < step/4 {
			break
		}
		r.Take(f, .5)
	}
	return math.Min(math.Max(math.Round(best/step)*step, lo), hi)
}

// begin fills what is known before the search: the request and where the lure is now.
func (k *bench) begin(ctx context.Context) (*sternfan.Aim, error) {
	info := &k.boat.model.Rods[k.whole]
	out := &sternfan.Aim{Version: sternfan.FileVersion, Rod: k.boat.sc.Rods[k.whole].ID, Position: info.Position,
		Depth: k.req.Depth, Kept: k.req.Keep, Ways: []sternfan.Way{}}
	if k.req.Side != nil {
		side := *k.req.Side
		out.Side = &side
	}
	g := &k.model.Groups[k.model.Rods[k.rod].Group]
	out.Lure = g.Nodes[k.model.Rods[k.rod].Lures[k.lure]].ID
	var err error
	if k.now, k.stand, err = k.solve(ctx, k.model, false); err != nil {
		return nil, err
	}
	k.heads = nil
	t := &k.now.Rods[k.rod]
	if len(t.Lures) > k.lure {
		out.Now = &sternfan.Way{Settings: k.settingsOf(nil), LineOut: t.LineOut, TipPull: t.TipPull, Status: t.Status,
			Lure: t.Lures[k.lure], Depth: t.Lures[k.lure].Depth, Set: []string{}, Text: k.textOf(k.settingsOf(nil), nil)}
	}
	return out, nil
}

// scanned is a track that was looked over, kept for finding its limit.
type scanned struct {
	mode  *mode
	given []setting
	track *track
	scan  []place
}

// row is every mark of the dial in one combination of the other settings: its tracks, and
// the roots found on them by mark.
type row struct {
	tracks []track
	roots  [][]place // by track and mark
}

// search looks over every combination of every mode. The marks of a dial share a system
// and are turned one after the other, each found from its neighbors.
func (k *bench) search(ctx context.Context, modes []mode, target float64) (ways []way, seen []scanned, err error) {
	total, done := 0, 0
	for i := range modes {
		total += len(combinations(modes[i].axes))
	}
	for i := range modes {
		m := &modes[i]
		var axes []axis
		marks := []float64{-1}
		for _, a := range m.axes {
			if a.key == keyDial {
				marks = a.values
			} else {
				axes = append(axes, a)
			}
		}
		lines := k.lined(m, axes)
		var before [2]row // the rows before, the last first
		for _, given := range combinations(axes) {
			r := row{tracks: lines.tracks(given, func(t *track) bool {
				k.goOn(t.sweep)
				t.sweep.Nigh(true)
				first := t.at(ctx, t.lo, 0)
				return t.tops(&first, target)
			})}
			r.roots = make([][]place, len(r.tracks))
			for j := range r.roots {
				r.roots[j] = make([]place, len(marks))
				for at := range marks {
					r.roots[j][at].limit = spread.LimitUnsolved
				}
				k.goOn(r.tracks[j].sweep)
			}
			for at, mark := range marks {
				if err := ctx.Err(); err != nil {
					return ways, seen, err
				}
				if k.boat.opt.Progress != nil {
					k.boat.opt.Progress(done, total)
				}
				done++
				with := given
				if mark >= 0 {
					with = append(given[:len(given):len(given)], setting{keyDial, mark})
				}
				for j := range r.tracks {
					t := r.tracks[j]
					t.dial = mark
					p := t.follow(ctx, target, k.expect(ctx, &t, target, &r, &before, j, at))
					var scan []place
					if !p.ok() {
						p, scan = t.find(ctx, target)
					}
					if r.roots[j][at] = p; p.ok() {
						ways = append(ways, way{mode: m, given: with, track: &t, exact: p})
						break // the pieces beyond have more line out
					}
					seen = append(seen, scanned{m, with, &t, scan})
				}
			}
			before[0], before[1] = r, before[0]
		}
	}
	return ways, seen, ctx.Err()
}

// expect returns where the root of a mark is likely to lie, from those of the marks and the
// rows before, with the rise of the depth there.
func (k *bench) expect(ctx context.Context, t *track, target float64, r *row, before *[2]row, j, at int) place {
	found := func(r *row, at int) (place, bool) {
		if j >= len(r.roots) || at < 0 || len(r.roots[j]) <= at || !r.roots[j][at].ok() || r.roots[j][at].rise == 0 {
			return place{}, false
		}
		return r.roots[j][at], true
	}
	p, ok := found(r, at-1)
	if !ok {
		// A first mark: from the row before, moved as that one was.
		if p, ok = found(&before[0], at); !ok {
			if at > 0 || before[0].tracks != nil {
				return place{limit: spread.LimitUnsolved}
			}
			return t.near(ctx, k.nowAt(t.vary), target)
		}
		if was, ok := found(&before[1], at); ok {
			p.x += p.x - was.x
		}
		return p
	}
	a, okA := found(&before[0], at-1)
	b, okB := found(&before[0], at)
	c, okC := found(r, at-2)
	switch {
	case okA && okB && a.x > 0:
		// As from mark to mark in the row before, in proportion.
		by := b.x / a.x
		if z, ok := found(&before[0], at-2); ok && okC && c.x > 0 && z.x > 0 {
			by *= p.x / c.x / (a.x / z.x)
		}
		p.x, p.rise = p.x*by, p.rise/by
	case okC:
		by := p.x - c.x
		if d, ok := found(r, at-3); ok {
			by += by - (c.x - d.x)
		}
		p.x, p.rise = p.x+by, p.rise+(p.rise-c.rise)
	}
	return p
}

// hair is a length that is as good as none, m: backing begins with it, not with nothing,
// so that the system stays the same.
const hair = 2e-3

// round reckons where a way runs at the nearest step that a hand can set, inward at the
// ends.
func (k *bench) round(w *way) {
	step := k.step(w.mode.vary)
	x := math.Round(w.exact.x/step) * step
	if x < w.track.lo-hair {
		x += step
	}
	if x > w.track.hi+1e-9 {
		x -= step
	}
	if x < w.track.lo-hair {
		x = w.exact.x
	}
	w.set = w.exact
	w.set.x = x
	w.set.at.Z += w.exact.rise * (x - w.exact.x)
}

// settled solves a rounded way from nothing; where something gives way it takes the step on
// the other side. The fan is nil when the way has no answer by itself.
func (k *bench) settled(ctx context.Context, w *way) (*sternfan.Fan, *spread.Sweep, error) {
	step := k.step(w.mode.vary)
	x := w.set.x
	var fan *sternfan.Fan
	var stand *spread.Sweep
	for _, other := range []float64{x, x - step, x + step} {
		if other < w.track.lo-hair || other > w.track.hi+1e-9 {
			continue
		}
		w.set.x = other
		f, s, err := k.solved(ctx, k.with(w.settings()...), false)
		if err != nil {
			return nil, nil, err
		}
		if !k.answered(f) {
			if other == x {
				w.set.x = x
				return nil, nil, nil
			}
			continue
		}
		here := s.Here()
		if other == x || here.Limit == spread.LimitNone {
			fan, stand = f, s
			w.set = place{x: other, at: here.Lures[k.lure], rise: w.exact.rise, limit: here.Limit}
		}
		if here.Limit == spread.LimitNone {
			return fan, stand, nil
		}
	}
	w.set.x = x
	if fan != nil && w.set.limit != spread.LimitNone {
		// None of them can be fished: say so of the nearest.
		w.set.at.Z = fan.Rods[k.rod].Lures[k.lure].Depth
	}
	return fan, stand, nil
}

// What a change costs a hand, in feet of depth that one would rather be off; assumed.
var hands = map[string]float64{keyDial: 2, keyRing: 3, keyLead: 2, keyWeight: 2, keyReel: 8, keyBacking: 2, keyAbove: 2, keyAlong: 2, keySpeed: 6}

// rank orders the ways: few things to change, near the target after rounding (too deep
// counts twice: fish look up), near the side asked for, little line out.
func (k *bench) rank(ways []way) {
	ft := float64(unit.Foot)
	for i := range ways {
		w := &ways[i]
		s := w.mode.cost
		for _, g := range append(w.given[:len(w.given):len(w.given)], setting{w.mode.vary, w.set.x}) {
			if math.Abs(g.value-k.nowAt(g.key)) > 1e-6 {
				s += hands[g.key]
			}
		}
		if w.mode.vary == keyCable {
			s += 2 * float64(k.facts.mates)
		}
		off := (w.set.at.Z - k.req.Depth) / ft
		if off > 0 {
			s += 2 * off
		} else {
			s -= off
		}
		if k.req.Side != nil {
			s += .5 * math.Abs(math.Abs(w.set.at.Y)-*k.req.Side) / ft
		}
		if w.mode.vary == keyLineOut {
			s += w.set.x / ft / 100
		}
		if !w.set.ok() {
			s += 100
		}
		w.score = s
	}
	slices.SortStableFunc(ways, func(a, b way) int { return cmp.Compare(a.score, b.score) })
}

// speedStep is the change of speed at which ways are shown: 0.2 mph.
const speedStep = .2 * float64(unit.MilePerHour)

// finish solves a way again from nothing and says it. It is nil when the way has no
// answer by itself.
func (k *bench) finish(ctx context.Context, w *way) (*sternfan.Way, error) {
	told := w.set
	fan, stand, err := k.settled(ctx, w)
	if err != nil || fan == nil {
		return nil, err
	}
	if z := w.set.at.Z; w.set.x == told.x && math.Abs(z-told.at.Z) > within(z)/2 {
		// Not as reckoned from the root: is the answer another one, or only the way there bent?
		if p := w.track.at(ctx, told.x, 0); !p.solved() || math.Abs(z-p.at.Z) > within(z)/2 {
			if err = k.mend(ctx, w, z); err != nil {
				return nil, err
			}
			if fan, stand, err = k.settled(ctx, w); err != nil || fan == nil {
				return nil, err
			}
		}
	}
	settings := w.settings()
	sc := k.with(settings...)
	if k.boat.opt.Intervals {
		if fan, _, err = k.solved(ctx, sc, true); err != nil {
			return nil, err
		}
	}
	t := &fan.Rods[k.rod]
	out := &sternfan.Way{Settings: k.settingsOf(settings), Set: k.changes(sc), Vary: w.mode.vary, Exact: w.exact.x, Depth: w.exact.at.Z,
		LineOut: t.LineOut, TipPull: t.TipPull, Status: t.Status, Warnings: t.Warnings}
	out.Text = k.textOf(out.Settings, &w.mode.vary)
	out.Lure = t.Lures[k.lure]
	v := stand.Speed()
	if out.Slower, err = k.atSpeed(ctx, sc, stand, v-speedStep); err != nil {
		return nil, err
	}
	if out.Faster, err = k.atSpeed(ctx, sc, stand, v+speedStep); err != nil {
		return nil, err
	}
	for i := range fan.Rods {
		if i == k.rod {
			continue
		}
		for j := range fan.Rods[i].Lures {
			is, was := &fan.Rods[i].Lures[j], &k.now.Rods[i].Lures[j]
			if math.Abs(is.Depth-was.Depth) > .15 {
				out.Others = append(out.Others, sternfan.WayOther{Rod: fan.Rods[i].Rod, Lure: is.ID, From: was.Depth, Depth: is.Depth})
			}
		}
	}
	return out, nil
}

// atSpeed returns where the lure of a solved way runs at another speed, nil when it has no
// place there.
func (k *bench) atSpeed(ctx context.Context, sc *sternfan.Scenario, stand *spread.Sweep, v float64) (*sternfan.WayAt, error) {
	if v <= 0 {
		return nil, nil
	}
	out := &sternfan.WayAt{Speed: v}
	if !k.boat.opt.Intervals {
		stand.Nigh(true)
		spot := stand.At(ctx, 0, v)
		if spot.Limit == spread.LimitUnsolved {
			return nil, nil
		}
		p := spot.Lures[k.lure]
		out.Depth, out.DepthLo, out.DepthHi, out.Side, out.Status = p.Z, p.Z, p.Z, p.Y, string(spot.Limit)
		return out, nil
	}
	other := *sc
	put(&other.Speed.Value, v)
	fan, at, err := k.solved(ctx, &other, true)
	if err != nil || !k.answered(fan) {
		return nil, err
	}
	l := &fan.Rods[k.rod].Lures[k.lure]
	out.Depth, out.DepthLo, out.DepthHi, out.Side, out.Status = l.Depth, l.DepthLo, l.DepthHi, l.Side, string(at.Here().Limit)
	return out, nil
}

// alone returns where the lure runs with a setting when it is solved from nothing.
func (k *bench) alone(ctx context.Context, w *way, x float64) (float64, bool, error) {
	fan, _, err := k.solved(ctx, k.with(append(slices.Clone(w.given), setting{w.mode.vary, x})...), false)
	if err != nil {
		return 0, false, err
	}
	t := &fan.Rods[k.rod]
	if t.Status == sternfan.StatusNotConverged || len(t.Lures) <= k.lure {
		return 0, false, nil
	}
	return t.Lures[k.lure].Depth, true, nil
}

// mend aims a way again by solutions from nothing where these differ from those found
// near others: a slider may have come to rest elsewhere, a rod's set load may hold its
// line in the one and not in the other. z is where it runs as rounded.
func (k *bench) mend(ctx context.Context, w *way, z float64) error {
	x, rise := w.set.x, w.exact.rise
	for range 8 {
		if !(math.Abs(rise) > 1e-6) || math.Abs(z-k.req.Depth) <= near(k.req.Depth) {
			break
		}
		next := math.Min(math.Max(x-(z-k.req.Depth)/rise, w.track.lo), w.track.hi)
		there, ok, err := k.alone(ctx, w, next)
		if err != nil {
			return err
		}
		if !ok || next == x {
			break
		}
		if s := (there - z) / (next - x); s*rise > 0 {
			rise = s
		}
		x, z = next, there
	}
	w.exact.x, w.exact.at.Z, w.exact.rise = x, z, rise
	k.round(w)
	return nil
}

// settings are what a way gives, the rounded one last.
func (w *way) settings() []setting {
	return append(slices.Clone(w.given), setting{w.mode.vary, w.set.x})
}

// answered reports whether the aimed lure has a place in a fan.
func (k *bench) answered(fan *sternfan.Fan) bool {
	t := &fan.Rods[k.rod]
	return t.Status != sternfan.StatusNotConverged && t.Status != sternfan.StatusRefused && len(t.Lures) > k.lure
}

// settingsOf lists every setting of the rig in the order of hands, as changed.
func (k *bench) settingsOf(changed []setting) []sternfan.WaySetting {
	var out []sternfan.WaySetting
	keys := k.keys()
	for _, key := range inHands {
		if !slices.Contains(keys, key) {
			continue
		}
		s := setting{key, k.nowAt(key)}
		for _, c := range changed {
			if c.key == key {
				s.value = c.value
			}
		}
		out = append(out, sternfan.WaySetting{Key: key, Value: s.value, Text: k.words(s), Changed: math.Abs(s.value-k.nowAt(key)) > 1e-6})
	}
	return out
}

// textOf says the settings that a hand has to look at: what the rig is about and what
// changes.
func (k *bench) textOf(all []sternfan.WaySetting, vary *string) string {
	var out []string
	for _, s := range all {
		always := false
		switch s.Key {
		case keyDial, keyLineOut, keyCable, keyColors:
			always = true
		case keyLead:
			always = k.facts.slides || k.facts.mast >= 0 || k.facts.board
		case keyRing:
			always = s.Value == 1
		case keyAbove:
			always = k.facts.mates > 0
		}
		if always || s.Changed || vary != nil && *vary == s.Key {
			out = append(out, s.Text)
		}
	}
	return strings.Join(out, ", ")
}
