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
			for _, t := range k.tracks(&modes[i], given) {
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
	if k.now, err = spread.Solve(ctx, k.model, spread.Options{Tolerance: k.sc.Solver.Tolerance, Units: k.boat.opt.Units}); err != nil {
		return nil, err
	}
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

// search looks over every combination of every mode. The marks of a dial share a system
// and are turned one after the other, each found from its neighbor.
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
		var first []place
		for _, given := range combinations(axes) {
			tracks := k.tracks(m, given)
			// Begin from the combination before, or from how the rod is set.
			last := slices.Clone(first)
			if len(last) != len(tracks) {
				last = make([]place, len(tracks))
				for j := range tracks {
					tracks[j].dial = marks[0]
					last[j] = tracks[j].near(ctx, k.nowAt(m.vary))
				}
			}
			by := make([]float64, len(tracks)) // how the root moved from mark to mark
			for _, mark := range marks {
				if err := ctx.Err(); err != nil {
					return nil, nil, err
				}
				if k.boat.opt.Progress != nil {
					k.boat.opt.Progress(done, total)
				}
				done++
				with := given
				if mark >= 0 {
					with = append(given[:len(given):len(given)], setting{keyDial, mark})
				}
				for j := range tracks {
					t := tracks[j]
					t.dial = mark
					p := t.follow(ctx, target, last[j], by[j])
					var scan []place
					if !p.ok() {
						p, scan = t.find(ctx, target)
					}
					if by[j] = 0; p.ok() && last[j].ok() && mark != marks[0] {
						by[j] = p.x - last[j].x
					}
					if last[j] = p; mark == marks[0] {
						first = slices.Clone(last)
					}
					if p.ok() {
						ways = append(ways, way{mode: m, given: with, track: &t, exact: p})
						break // the pieces beyond have more line out
					}
					seen = append(seen, scanned{m, with, &t, scan})
				}
			}
		}
	}
	return ways, seen, ctx.Err()
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

// settled solves a rounded way; where something gives way it takes the step on the other
// side.
func (k *bench) settled(ctx context.Context, w *way) {
	step := k.step(w.mode.vary)
	x := w.set.x
	for _, other := range []float64{x, x - step, x + step} {
		if other < w.track.lo-hair || other > w.track.hi+1e-9 {
			continue
		}
		p := w.track.at(ctx, other, 0)
		if other == x || p.ok() {
			w.set = p
		}
		if p.ok() {
			return
		}
	}
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
	k.settled(ctx, w)
	fan, err := k.solved(ctx, k.with(w.settings()...), k.boat.opt.Intervals)
	if err != nil || !k.answered(fan) {
		return nil, err
	}
	if z := fan.Rods[k.rod].Lures[k.lure].Depth; math.Abs(z-w.set.at.Z) > within(z)/2 {
		if err = k.mend(ctx, w, z); err != nil {
			return nil, err
		}
		if fan, err = k.solved(ctx, k.with(w.settings()...), k.boat.opt.Intervals); err != nil || !k.answered(fan) {
			return nil, err
		}
	}
	settings := w.settings()
	sc := k.with(settings...)
	t := &fan.Rods[k.rod]
	out := &sternfan.Way{Settings: k.settingsOf(settings), Set: k.changes(sc), Vary: w.mode.vary, Exact: w.exact.x, Depth: w.exact.at.Z,
		LineOut: t.LineOut, TipPull: t.TipPull, Status: t.Status, Warnings: t.Warnings}
	out.Text = k.textOf(out.Settings, &w.mode.vary)
	out.Lure = t.Lures[k.lure]
	v := w.track.sweep.Speed()
	if w.track.vary == keySpeed {
		v = w.set.x
	}
	for _, at := range []struct {
		to *(*sternfan.WayAt)
		v  float64
	}{{&out.Slower, v - speedStep}, {&out.Faster, v + speedStep}} {
		if at.v <= 0 {
			continue
		}
		p := w.track.at(ctx, w.set.x, at.v)
		there := &sternfan.WayAt{Speed: at.v, Depth: p.at.Z, Side: p.at.Y}
		if !p.ok() {
			there.Status = string(p.limit)
		}
		if p.solved() {
			*at.to = there
		}
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

// alone returns where the lure runs with a setting when it is solved from nothing.
func (k *bench) alone(ctx context.Context, w *way, x float64) (float64, bool, error) {
	fan, err := k.solved(ctx, k.with(append(slices.Clone(w.given), setting{w.mode.vary, x})...), false)
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
