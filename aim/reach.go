package aim

import (
	"cmp"
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/num"
	"sternfan/setting"
	"sternfan/unit"
)

// way is a set of settings on its way to a result.
type way struct {
	mode  *mode
	given []setTo
	track *track
	exact place // at the target
	set   place // rounded to a step
	score float64
}

// reach finds the ways of the bench's request.
func (k *aiming) reach(ctx context.Context) (*sternfan.Aim, error) {
	out, err := k.begin(ctx)
	if err != nil {
		return nil, err
	}
	modes := k.modes(k.req.Keep)
	if key := k.sideKey(); k.req.Side != nil && key != nil {
		side := axis{key, []float64{k.sideways(ctx, modes, key)}}
		for i := range modes {
			modes[i].axes = append(modes[i].axes[:len(modes[i].axes):len(modes[i].axes)], side)
		}
	}
	ways, seen, err := k.search(ctx, modes, k.req.Depth)
	if err != nil && len(ways) == 0 {
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
			return k.beyond(ctx, out, p)
		}
	}
	out.Found = len(ways)
	for i := range ways {
		k.round(&ways[i])
	}
	k.rank(ways)
	// What was found is told to its end even when the rest is given up.
	told := context.WithoutCancel(ctx)
	for i := range ways {
		if len(out.Ways) == k.boat.opt.Top || len(out.Ways) > 0 && ctx.Err() != nil {
			break
		}
		w, err := k.finish(told, &ways[i])
		if err != nil {
			return nil, err
		}
		if w == nil {
			out.Found--
			continue
		}
		out.Ways = append(out.Ways, *w)
	}
	out.Finished = ctx.Err() == nil
	if len(out.Ways) == 0 {
		// What was found near other answers has none of its own.
		return k.beyond(ctx, out, nearestPlace{})
	}
	return out, nil
}

// sideways returns the whole count of a setting at which the lure runs as far to the side
// as is wanted, or as near to that as it comes, while its depth is held.
func (k *aiming) sideways(ctx context.Context, modes []mode, key *setting.Row) float64 {
	step := k.step(key)
	lo, hi := leastOut, k.mostOut(0)
	if key == keyAlong {
		lo, hi = 2*step, k.Scenario.MastBoards[0].LineOut.SI()-step
	}
	best, least := k.nowAt(key), math.Inf(1)
	off := func(y float64) (float64, bool) {
		for i := range modes {
			given := []setTo{{key, y}}
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
func (k *aiming) begin(ctx context.Context) (*sternfan.Aim, error) {
	info := &k.boat.model.Rods[k.Whole]
	out := &sternfan.Aim{Version: sternfan.FileVersion, Rod: k.boat.sc.Rods[k.Whole].ID, Position: info.Position,
		Depth: k.req.Depth, Kept: k.req.Keep, Ways: []sternfan.Way{}}
	if k.req.Side != nil {
		side := *k.req.Side
		out.Side = &side
	}
	g := &k.Model.Groups[k.Info().Group]
	out.Lure = g.Nodes[k.Info().Lures[k.lure]].ID
	var err error
	if k.now, err = k.Begin(ctx, k.boat.opt.Intervals); err != nil {
		return nil, err
	}
	t := &k.now.Rods[k.Rod]
	if len(t.Lures) > k.lure {
		out.Now = &sternfan.Way{Settings: k.settingsOf(nil), LineOut: t.LineOut, TipPull: t.TipPull, Status: t.Status,
			Lure: t.Lures[k.lure], Depth: t.Lures[k.lure].Depth, Set: []string{}, Text: k.textOf(k.settingsOf(nil), nil)}
	}
	return out, nil
}

// hair is a length that is as good as none, m: backing begins with it, not with nothing,
// so that the system stays the same.
const hair = 2e-3

// round reckons where a way runs at the nearest step that a hand can set, inward at the
// ends.
func (k *aiming) round(w *way) {
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

// What a change costs a hand, in feet of depth that one would rather be off; assumed.
var hands = map[*setting.Row]float64{keyDial: 2, keyRing: 3, keyLead: 2, keyWeight: 2, keyReel: 8, keyBacking: 2, keyAbove: 2, keyAlong: 2, keySpeed: 6}

// rank orders the ways: few things to change, near the target after rounding (too deep
// counts twice: fish look up), near the side asked for, little line out.
func (k *aiming) rank(ways []way) {
	ft := float64(unit.Foot)
	for i := range ways {
		w := &ways[i]
		s := w.mode.cost
		for _, g := range append(w.given[:len(w.given):len(w.given)], setTo{w.mode.vary, w.set.x}) {
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
