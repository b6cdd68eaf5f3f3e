package aim

import (
	"context"
	"math"

	"sternfan/geom"
	"sternfan/num"
	"sternfan/setting"
	"sternfan/spread"
)

// track is one setting over a range with all others given: what a root is looked for on.
type track struct {
	sweep  *spread.Sweep
	vary   *setting.Row
	dial   float64 // the mark, when it is given; below 0: as set
	lo, hi float64
	lure   int
	sag    float64   // what a lead may hang down more at another height of its release, m
	other  []float64 // lengths at the end of a further setting, nil: none
	share  float64   // how far on the way there
	wholly bool      // roots are solved, not reckoned
}

// place is where the lure runs at one value of the setting.
type place struct {
	x     float64
	at    geom.Vec
	rise  float64 // of the depth by x, where it is known
	told  bool    // reckoned, not solved
	off   bool    // where a root would lie beyond the end of the range
	limit spread.Limit
}

func (p *place) ok() bool     { return p.limit == spread.LimitNone }
func (p *place) solved() bool { return p.limit != spread.LimitUnsolved }

// at solves the track at x, at the scenario's speed (0) or another.
func (t *track) at(ctx context.Context, x, v float64) place {
	from, _ := t.sweep.Ends()
	t.sweep.Dial(t.dial)
	t.sweep.Shift(t.other, t.share)
	var sp *spread.Spot
	switch t.vary {
	case keySpeed:
		if v <= 0 {
			v = x
		}
		sp = t.sweep.At(ctx, from, v)
	case keyDial:
		t.sweep.Dial(x)
		sp = t.sweep.At(ctx, from, v)
	default:
		sp = t.sweep.At(ctx, x, v)
	}
	p := place{x: x, limit: sp.Limit, told: t.sweep.Told()}
	if sp.Limit != spread.LimitUnsolved {
		p.at = sp.Lures[t.lure]
	}
	return p
}

// ladder is how many steps a range is looked over in: enough to show every turn that a
// depth takes, few enough to look at every combination.
const ladder = 7

// next is the place to look at after x on the way up the range. Line is looked over by
// doubling: depth answers most where little is out.
func (t *track) next(x float64) float64 {
	up := x + (t.hi-t.lo)/ladder
	if t.doubles() {
		up = 2 * x
	}
	if up > t.hi-.02*(t.hi-t.lo) {
		up = t.hi
	}
	return up
}

// roughly is by how much the tolerance is widened while a range is looked over, and nearly
// how far from the target a depth so found still tells on which side it is, relative.
const (
	roughly = 8
	nearly  = .02
)

// look solves the track at x closely enough to tell on which side of the target it is.
func (t *track) look(ctx context.Context, x, target float64) place {
	t.sweep.Nigh(false)
	t.sweep.Roughly(roughly)
	p := t.at(ctx, x, 0)
	t.sweep.Roughly(1)
	if p.solved() && math.Abs(p.at.Z-target) < nearly*target+.05 {
		p = t.at(ctx, x, 0)
	}
	return p
}

// rungs are the settings at which the range is looked at, ascending.
func (t *track) rungs() []float64 {
	out := []float64{t.lo}
	for x := t.lo; x < t.hi; {
		x = t.next(x)
		out = append(out, x)
	}
	return out
}

// far reports whether the target is farther from two places than they are from each other,
// on the same side: then it does not lie between them, which would take more of a turn there
// than between either and its neighbors.
func far(a, b *place, target float64) bool {
	p, q := a.at.Z-target, b.at.Z-target
	return a.solved() && b.solved() && p*q > 0 && math.Min(math.Abs(p), math.Abs(q)) > math.Abs(p-q)
}

// doubles reports whether the setting is a length that lets the lure down: depth answers
// most where little is out.
func (t *track) doubles() bool {
	switch t.vary {
	case keyLineOut, keyLead, keyCable, keyColors:
		return true
	}
	return false
}

// find returns the place of the least setting at which the lure runs at the target and
// nothing gives way. Without one it returns the places looked at, ascending.
func (t *track) find(ctx context.Context, target float64) (found place, scan []place) {
	none := place{limit: spread.LimitUnsolved}
	xs := t.rungs()
	at := make([]place, len(xs))
	looked := make([]bool, len(xs))
	look := func(i int) *place {
		if !looked[i] {
			at[i], looked[i] = t.look(ctx, xs[i], target), true
		}
		return &at[i]
	}
	all := func() (scan []place) {
		for i := range at {
			if looked[i] {
				scan = append(scan, at[i])
			}
		}
		return scan
	}
	first := look(0)
	if t.tops(first, target) {
		return none, all()
	}
	// No more of the range is looked at than may hold the target.
	var hopeless func(i, j int) bool
	hopeless = func(i, j int) bool {
		a, b := look(i), look(j)
		if a.solved() && b.solved() && (a.at.Z-target)*(b.at.Z-target) <= 0 {
			return false
		}
		if j-i < 2 {
			return true
		}
		if j-i < len(xs)-1 && far(a, b, target) {
			return true
		}
		return hopeless(i, (i+j)/2) && hopeless((i+j)/2, j)
	}
	if !hopeless(0, len(xs)-1) {
		for i := 1; i < len(xs); i++ {
			if found := t.between(ctx, look(i-1), look(i), target); found.ok() {
				return found, nil
			}
		}
	}
	scan = t.peaks(ctx, all(), target)
	for i := 1; i < len(scan); i++ {
		if found := t.between(ctx, &scan[i-1], &scan[i], target); found.ok() {
			return found, nil
		}
	}
	return none, scan
}

// tops reports whether the target is deeper than the first place of a track by more than the
// rest of it may be: higher on the same cable is higher in the water, but for what the lead
// hangs down.
func (t *track) tops(first *place, target float64) bool {
	return t.vary == keyAbove && first.ok() && target > first.at.Z+t.sag
}

// whole looks over the whole range, every place solved as closely as asked.
func (t *track) whole(ctx context.Context, target float64) (scan []place) {
	t.sweep.Nigh(false)
	for _, x := range t.rungs() {
		scan = append(scan, t.at(ctx, x, 0))
	}
	return t.peaks(ctx, scan, target)
}

// reckoned is how near to the target a place has to be, in what is promised, for the root to
// be reckoned from it by the rise of the depth; what is shown is solved there.
const reckoned = 1.5

// follow finds the root from where it is expected: secants from there, a few at most and
// none of them far.
func (t *track) follow(ctx context.Context, target float64, from place) place {
	none := place{limit: spread.LimitUnsolved}
	if !(from.x > 0) || !from.ok() && !from.off || from.rise == 0 {
		return none
	}
	t.sweep.Nigh(true)
	defer t.sweep.Nigh(false)
	x, rise := math.Min(math.Max(from.x, t.lo), t.hi), from.rise
	begun := x
	var last place
	for n := range 7 {
		p := t.at(ctx, x, 0)
		if !p.ok() {
			return none
		}
		f := p.at.Z - target
		if n > 0 && p.x != last.x {
			if s := (p.at.Z - last.at.Z) / (p.x - last.x) / rise; s > .2 && s < 5 {
				rise *= s
			}
		}
		if p.rise = rise; math.Abs(f) <= near(target) {
			return p
		}
		x -= f / rise
		if !t.leaps(begun, x) && !t.wholly && math.Abs(f) <= reckoned*within(target) {
			p.x, p.at.Z, p.told = x, target, true
			return p
		}
		t.sweep.Nigh(p.told)
		if last = p; t.leaps(begun, x) {
			return none
		}
	}
	return none
}

// beyond reports whether the root, expected beyond an end of the range, is not reached at
// that end either, and returns the place there.
func (t *track) beyond(ctx context.Context, target float64, from place) (place, bool) {
	x := math.Min(math.Max(from.x, t.lo), t.hi)
	if from.limit != spread.LimitNone && !from.off || x == from.x || from.rise == 0 {
		return place{}, false
	}
	p := t.at(ctx, x, 0)
	return p, p.solved() && (target-p.at.Z)*from.rise*(from.x-x) > 0
}

// outside returns where the root would lie beyond the last place of a scan, or before the
// first.
func (t *track) outside(scan []place, target float64) place {
	none := place{limit: spread.LimitUnsolved}
	if len(scan) < 2 {
		return none
	}
	for _, ab := range [2][2]*place{{&scan[len(scan)-2], &scan[len(scan)-1]}, {&scan[1], &scan[0]}} {
		a, b := ab[0], ab[1]
		if !a.solved() || !b.solved() {
			continue
		}
		rise := (b.at.Z - a.at.Z) / (b.x - a.x)
		if x := b.x + (target-b.at.Z)/rise; (x-b.x)*(b.x-a.x) > 0 && !math.IsInf(x, 0) {
			return place{x: x, rise: rise, limit: spread.LimitUnsolved, off: true}
		}
	}
	return none
}

// near returns where the root is likely to lie by the track's place at x and the rise of
// its depth there.
func (t *track) near(ctx context.Context, x, target float64) place {
	none := place{limit: spread.LimitUnsolved}
	if x <= t.lo || x >= t.hi {
		return none
	}
	t.sweep.Nigh(true)
	defer t.sweep.Nigh(false)
	step := math.Min(.03*x, t.hi-x)
	q, p := t.at(ctx, x+step, 0), t.at(ctx, x, 0)
	if !p.ok() || !q.solved() || p.at.Z == q.at.Z {
		return none
	}
	p.rise = (q.at.Z - p.at.Z) / step
	to := x - (p.at.Z-target)/p.rise
	if t.leaps(x, to) {
		return p
	}
	if p.told && q.told && math.Abs(to-x) > step {
		// What is told costs little: half way there tells how the rise changes.
		h := t.at(ctx, (x+to)/2, 0)
		if s := (h.at.Z - p.at.Z) / (h.x - x) / p.rise; h.told && h.ok() && s > .5 && s < 2 {
			bend := p.rise * (s - 1) / ((to-x)/2 - step)
			p.rise *= s
			p.rise += bend * (h.x - x) // the chord's rise there is that of its middle
			p.x = h.x - (h.at.Z-target)/(p.rise+bend*(to-h.x)/2)
			if !t.leaps(x, p.x) {
				return p
			}
		}
	}
	p.x = to
	return p
}

// leaps reports whether a secant has gone too far from where it began to be followed.
func (t *track) leaps(from, to float64) bool {
	if !(to >= t.lo && to <= t.hi) {
		return true
	}
	if t.doubles() {
		return to < from/2 || to > 2*from
	}
	return math.Abs(to-from) > (t.hi-t.lo)/2
}

// between returns the root between two places when they lie on either side of it.
func (t *track) between(ctx context.Context, a, b *place, target float64) place {
	none := place{limit: spread.LimitUnsolved}
	if !a.solved() || !b.solved() || (a.at.Z-target)*(b.at.Z-target) > 0 {
		return none
	}
	if p := t.root(ctx, a, b, target); math.Abs(p.at.Z-target) <= within(target) {
		return p
	}
	return none
}

// near is the depth within which a root is found, m: a quarter of what is promised leaves
// the rest to the solver's tolerance.
func near(target float64) float64 { return within(target) / 4 }

// within is the promise: 0.1 ft or 0.5 % of the target, m.
func within(target float64) float64 { return math.Max(.1*.3048, .005*target) }

// maxRoot bounds the evaluations of one root.
const maxRoot = 24

// root finds the target between two places on either side of it.
func (t *track) root(ctx context.Context, a, b *place, target float64) place {
	sign := 1.0
	if b.at.Z < a.at.Z {
		sign = -1
	}
	rise := (b.at.Z - a.at.Z) / (b.x - a.x)
	x := a.x
	if rise != 0 {
		x += (target - a.at.Z) / rise
	}
	r := num.NewRoot(a.x, b.x, x)
	best := *a
	if math.Abs(b.at.Z-target) < math.Abs(a.at.Z-target) {
		best = *b
	}
	for range maxRoot {
		p := t.at(ctx, r.X, 0)
		if !p.solved() {
			break
		}
		f := p.at.Z - target
		if math.Abs(f) < math.Abs(best.at.Z-target) || !best.ok() && p.ok() && math.Abs(f) < near(target) {
			best = p
		}
		if s := sign * r.Slope(p.x, sign*f); s != 0 {
			best.rise = s
		} else {
			best.rise = rise
		}
		if math.Abs(f) <= near(target) || r.Hi-r.Lo < 1e-7*(1+math.Abs(r.X)) {
			break
		}
		r.Take(sign*f, sign*rise)
	}
	return best
}

// peaks adds the turning points of the depth that may reach past the target between
// scanned places that do not.
func (t *track) peaks(ctx context.Context, scan []place, target float64) []place {
	for i := 1; i+1 < len(scan); i++ {
		a, b, c := scan[i-1], scan[i], scan[i+1]
		if !a.solved() || !b.solved() || !c.solved() {
			continue
		}
		up := b.at.Z >= a.at.Z && b.at.Z >= c.at.Z && b.at.Z < target
		down := b.at.Z <= a.at.Z && b.at.Z <= c.at.Z && b.at.Z > target
		room := math.Max(math.Abs(b.at.Z-a.at.Z), math.Abs(b.at.Z-c.at.Z))
		if !up && !down || math.Abs(target-b.at.Z) > room {
			continue
		}
		sign := 1.0
		if down {
			sign = -1
		}
		if p := t.extreme(ctx, a, b, c, sign, func(p *place) bool { return sign*(p.at.Z-target) >= 0 }); p.x != b.x {
			scan[i] = p
		}
	}
	return scan
}

// extreme narrows a turning point between three places by golden sections, until done
// says it is enough.
func (t *track) extreme(ctx context.Context, a, b, c place, sign float64, done func(p *place) bool) place {
	const golden = 0.381966
	for range 14 {
		if done(&b) {
			break
		}
		x := b.x + golden*(c.x-b.x)
		if b.x-a.x > c.x-b.x {
			x = b.x - golden*(b.x-a.x)
		}
		p := t.at(ctx, x, 0)
		switch better := p.solved() && sign*p.at.Z > sign*b.at.Z; {
		case better && p.x > b.x:
			a, b = b, p
		case better:
			c, b = b, p
		case p.x > b.x:
			c = p
		default:
			a = p
		}
	}
	return b
}

// nearest returns the place at which nothing gives way and whose depth is nearest to the
// target, with what stops it there; ok is false when there is none on the track.
func (t *track) nearest(ctx context.Context, scan []place, target float64) (best place, why spread.Limit, ok bool) {
	miss := func(p *place) float64 { return math.Abs(p.at.Z - target) }
	take := func(p place, w spread.Limit) {
		if p.ok() && (!ok || miss(&p) < miss(&best)) {
			best, why, ok = p, w, true
		}
	}
	for i := range scan {
		take(scan[i], spread.LimitNone)
		if i == 0 || scan[i-1].ok() == scan[i].ok() {
			continue
		}
		// Something gives way between: halve to where it does.
		good, bad := scan[i-1], scan[i]
		if bad.ok() {
			good, bad = bad, good
		}
		for range 12 {
			p := t.at(ctx, (good.x+bad.x)/2, 0)
			if p.ok() {
				good = p
			} else {
				bad = p
			}
		}
		take(good, bad.limit)
	}
	for i := 1; ok && i+1 < len(scan); i++ {
		if scan[i].x != best.x || !scan[i-1].ok() || !scan[i+1].ok() {
			continue
		}
		sign := 1.0
		if best.at.Z > target {
			sign = -1
		}
		take(t.extreme(ctx, scan[i-1], scan[i], scan[i+1], sign, func(*place) bool { return false }), spread.LimitNone)
		break
	}
	return best, why, ok
}
