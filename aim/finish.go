package aim

import (
	"context"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/setting"
	"sternfan/spread"
	"sternfan/unit"
)

// settled solves a rounded way from nothing; where something gives way it takes the step on
// the other side. The fan is nil when the way has no answer by itself.
func (k *aiming) settled(ctx context.Context, w *way) (*sternfan.Fan, *spread.Sweep, error) {
	step := k.step(w.mode.vary)
	x := w.set.x
	var fan *sternfan.Fan
	var stand *spread.Sweep
	for _, other := range []float64{x, x - step, x + step} {
		if other < w.track.lo-hair || other > w.track.hi+1e-9 {
			continue
		}
		w.set.x = other
		f, s, err := k.Solve(ctx, k.with(w.settings()...), false)
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
		if fan != nil {
			k.Free(stand)
		}
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
		w.set.at.Z = fan.Rods[k.Rod].Lures[k.lure].Depth
	}
	return fan, stand, nil
}

// speedStep is the change of speed at which ways are shown: 0.2 mph.
const speedStep = .2 * float64(unit.MilePerHour)

// finish solves a way again from nothing and says it. It is nil when the way has no
// answer by itself.
func (k *aiming) finish(ctx context.Context, w *way) (*sternfan.Way, error) {
	told := w.set
	k.Free(nil) // the search is over
	fan, stand, err := k.settled(ctx, w)
	if err != nil || fan == nil {
		return nil, err
	}
	if math.Abs(w.set.at.Z-told.at.Z-w.exact.rise*(w.set.x-told.x)) > near(k.req.Depth) {
		if fan, stand, err = k.again(ctx, w); err != nil || fan == nil {
			return nil, err
		}
	}
	settings := w.settings()
	sc := k.with(settings...)
	if k.boat.opt.Intervals {
		if fan, _, err = k.Solve(ctx, sc, true); err != nil {
			return nil, err
		}
	}
	t := &fan.Rods[k.Rod]
	out := &sternfan.Way{Settings: k.settingsOf(settings), Set: k.changes(sc), Vary: w.mode.vary.Option(), Exact: w.exact.x, Depth: w.exact.at.Z,
		LineOut: t.LineOut, TipPull: t.TipPull, Status: t.Status, Warnings: t.Warnings}
	out.Text = k.textOf(out.Settings, w.mode.vary)
	out.Lure = t.Lures[k.lure]
	v := stand.Speed()
	if out.Slower, err = k.atSpeed(ctx, sc, stand, v-speedStep); err != nil {
		return nil, err
	}
	if out.Faster, err = k.atSpeed(ctx, sc, stand, v+speedStep); err != nil {
		return nil, err
	}
	k.Free(stand)
	for i := range fan.Rods {
		if i == k.Rod {
			continue
		}
		for j := range fan.Rods[i].Lures {
			is, was := &fan.Rods[i].Lures[j], &k.now.Rods[i].Lures[j]
			if math.Abs(is.Depth-was.Depth) > .15 {
				out.Others = append(out.Others, sternfan.WayOther{Rod: fan.Rods[i].Rod, Lure: is.ID, From: was.Depth, Depth: is.Depth, DepthLo: is.DepthLo, DepthHi: is.DepthHi})
			}
		}
	}
	return out, nil
}

// again aims a way once more that does not run where it was reckoned to.
func (k *aiming) again(ctx context.Context, w *way) (*sternfan.Fan, *spread.Sweep, error) {
	t := w.track
	same := func() bool {
		p := t.at(ctx, w.set.x, 0)
		return p.solved() && math.Abs(w.set.at.Z-p.at.Z) <= within(p.at.Z)/2
	}
	p := t.at(ctx, w.exact.x, 0)
	if p.rise = w.exact.rise; p.ok() && math.Abs(p.at.Z-k.req.Depth) > near(k.req.Depth) {
		solve := *t
		solve.wholly = true
		p = solve.follow(ctx, k.req.Depth, p)
	}
	if p.ok() {
		w.exact = p
		was := w.set
		k.round(w)
		if w.set.x == was.x && same() {
			w.set = was
			return k.settled(ctx, w)
		}
		fan, stand, err := k.settled(ctx, w)
		if err != nil || fan == nil || same() {
			return fan, stand, err
		}
	}
	// The answer from nothing is another one than that found near others.
	if err := k.mend(ctx, w, w.set.at.Z); err != nil {
		return nil, nil, err
	}
	return k.settled(ctx, w)
}

// atSpeed returns where the lure of a solved way runs at another speed, nil when it has no
// place there.
func (k *aiming) atSpeed(ctx context.Context, sc *sternfan.Scenario, stand *spread.Sweep, v float64) (*sternfan.WayAt, error) {
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
	fan, at, err := k.Solve(ctx, &other, true)
	if err != nil || !k.answered(fan) {
		return nil, err
	}
	l := &fan.Rods[k.Rod].Lures[k.lure]
	out.Depth, out.DepthLo, out.DepthHi, out.Side, out.Status = l.Depth, l.DepthLo, l.DepthHi, l.Side, string(at.Here().Limit)
	return out, nil
}

// alone returns where the lure runs with a setting when it is solved from nothing.
func (k *aiming) alone(ctx context.Context, w *way, x float64) (float64, bool, error) {
	fan, _, err := k.Solve(ctx, k.with(append(slices.Clone(w.given), setTo{w.mode.vary, x})...), false)
	if err != nil {
		return 0, false, err
	}
	t := &fan.Rods[k.Rod]
	if t.Status == sternfan.StatusNotConverged || len(t.Lures) <= k.lure {
		return 0, false, nil
	}
	return t.Lures[k.lure].Depth, true, nil
}

// mend aims a way again by solutions from nothing where these differ from those found
// near others: a slider may have come to rest elsewhere, a rod's set load may hold its
// line in the one and not in the other. z is where it runs as rounded.
func (k *aiming) mend(ctx context.Context, w *way, z float64) error {
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
func (w *way) settings() []setTo {
	return append(slices.Clone(w.given), setTo{w.mode.vary, w.set.x})
}

// answered reports whether the aimed lure has a place in a fan.
func (k *aiming) answered(fan *sternfan.Fan) bool {
	t := &fan.Rods[k.Rod]
	return t.Status != sternfan.StatusNotConverged && t.Status != sternfan.StatusRefused && len(t.Lures) > k.lure
}

// settingsOf lists every setting of the rig in the order of hands, as changed.
func (k *aiming) settingsOf(changed []setTo) []sternfan.WaySetting {
	var out []sternfan.WaySetting
	for _, key := range k.keys() {
		s := setTo{key, k.nowAt(key)}
		for _, c := range changed {
			if c.key == key {
				s.value = c.value
			}
		}
		out = append(out, sternfan.WaySetting{Key: key.Option(), Value: s.value, Text: k.words(s), Changed: math.Abs(s.value-k.nowAt(key)) > 1e-6})
	}
	return out
}

// textOf says the settings that a hand has to look at: what the rig is about and what
// changes.
func (k *aiming) textOf(all []sternfan.WaySetting, vary *setting.Row) string {
	var out []string
	for _, s := range all {
		always := false
		key := named(s.Key)
		switch key {
		case keyDial, keyLineOut, keyCable, keyColors:
			always = true
		case keyLead:
			always = k.facts.slides || k.facts.mast >= 0 || k.facts.board
		case keyRing:
			always = s.Value == 1
		case keyAbove:
			always = k.facts.mates > 0
		}
		if always || s.Changed || vary == key {
			out = append(out, s.Text)
		}
	}
	return strings.Join(out, ", ")
}
