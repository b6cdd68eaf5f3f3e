package aim

import (
	"math"
	"slices"

	"sternfan/setting"
	"sternfan/spread"
	"sternfan/tackle"
)

// lined makes the tracks of a mode for every combination. Where the last setting changes
// lengths alone, its values share a system, as those of the setting that is found do.
type lined struct {
	k      *aiming
	m      *mode
	values []float64 // of that setting; nil: there is none
	given  []setTo   // what the shared tracks are made with
	shared []track
	other  []float64
}

func (k *aiming) lined(m *mode, axes []axis) *lined {
	l := &lined{k: k, m: m}
	if n := len(axes); n > 0 && (axes[n-1].key == keyReel || axes[n-1].key == keyLead) && len(axes[n-1].values) > 2 {
		l.values = axes[n-1].values
	}
	return l
}

func (l *lined) tracks(given []setTo, enough func(t *track) bool) []track {
	if l.values == nil {
		return l.k.tracks(l.m, given, enough)
	}
	n := len(given) - 1
	first, last := l.values[0], l.values[len(l.values)-1]
	if l.given == nil || !slices.Equal(l.given[:n], given[:n]) {
		l.share(given[:n], given[n].key, first, last)
	}
	if l.shared == nil {
		return l.k.tracks(l.m, given, enough)
	}
	t := l.shared[0]
	t.other, t.share = l.other, (given[n].value-first)/(last-first)
	return []track{t}
}

// share makes the tracks that all values share, none when they do not: when the ends of the
// range change with the setting, or the lengths do not go up with both in proportion.
func (l *lined) share(rest []setTo, key *setting.Row, first, last float64) {
	l.given = append(slices.Clone(rest), setTo{key, first})
	l.shared = l.k.tracks(l.m, l.given, nil)
	if len(l.shared) != 1 || l.shared[0].lo != l.m.lo || l.shared[0].hi != l.m.hi {
		l.shared = nil
		return
	}
	s := l.shared[0].sweep
	var at [2][]float64
	for i, x := range []float64{l.m.lo, l.m.hi} {
		model, faults := l.k.Again(l.k.with(append(slices.Clone(rest), setTo{key, last}, setTo{l.m.vary, x})...))
		ok := len(faults) == 0
		if ok {
			at[i], ok = s.Lengths(model)
		}
		if !ok {
			l.shared = nil
			return
		}
	}
	if !s.Square(at[0], at[1]) {
		l.shared = nil
	}
	l.other = at[0]
}

// tracks makes the tracks of a mode with the given settings: one, or several where
// something goes wholly onto a reel on the way. After each, enough may say that what is
// beyond is not wanted; nil wants all.
func (k *aiming) tracks(m *mode, given []setTo, enough func(t *track) bool) []track {
	opt := k.Options()
	if m.vary == keySpeed || m.vary == keyDial {
		model, faults := k.Again(k.with(given...))
		if len(faults) > 0 {
			return nil
		}
		s, ok := spread.NewSweep(model, model, k.Rod, 0, 0, opt)
		if !ok {
			return nil
		}
		return []track{{sweep: s, vary: m.vary, dial: -1, lo: m.lo, hi: m.hi, lure: k.lure}}
	}
	model := func(x float64) *tackle.Model {
		out, faults := k.Again(k.with(append(given[:len(given):len(given)], setTo{m.vary, x})...))
		if len(faults) > 0 || out.Rods[k.Rod].Group < 0 {
			return nil
		}
		return out
	}
	var out []track
	join := func(a, b *tackle.Model, from, to float64) bool {
		s, ok := spread.NewSweep(a, b, k.Rod, from, to, opt)
		if ok {
			out = append(out, track{sweep: s, vary: m.vary, dial: -1, lo: from, hi: to, lure: k.lure, sag: k.nowAt(keyLead) / 4})
		}
		return ok
	}
	a, b, lo, hi := k.ends(m, model)
	if a == nil || b == nil {
		return nil
	}
	for range 4 {
		if join(a, b, lo, hi) {
			return out
		}
		c := k.change(m, model, span{a, b, lo, hi}, opt)
		if c.last != nil && join(a, c.last, lo, c.good) && enough != nil && enough(&out[len(out)-1]) {
			return out
		}
		if c.bad >= hi {
			return out
		}
		a, lo = c.beyond, c.bad
	}
	return out
}

// ends are the models between which a mode's setting goes, and its values there. What is
// out cannot be less than what is tied on, nor more than the cable.
func (k *aiming) ends(m *mode, model func(x float64) *tackle.Model) (a, b *tackle.Model, lo, hi float64) {
	lo, hi = m.lo, m.hi
	a, b = model(lo), model(hi)
	inside := math.Min(math.Max(k.nowAt(m.vary), lo), hi)
	if (a == nil || b == nil) && model(inside) == nil {
		return nil, nil, lo, hi
	}
	if a == nil {
		a, lo = k.verge(model, inside, lo)
	}
	if b == nil {
		b, hi = k.verge(model, inside, hi)
	}
	return a, b, lo, hi
}

// span is a range of a setting with the models at its ends.
type span struct {
	a, b   *tackle.Model
	lo, hi float64
}

// change is where a system becomes another on the way up a span: up to good it is the one
// of the span's beginning, whose last model there is nil where only the beginning is, and
// at bad it is another.
type change struct {
	last, beyond *tackle.Model
	good, bad    float64
}

// change finds where the system of a span changes, as likely as not where it is known to.
func (k *aiming) change(m *mode, model func(x float64) *tackle.Model, s span, opt spread.Options) change {
	c := change{beyond: s.b, good: s.lo, bad: s.hi}
	look := func(x float64) (changed, ok bool) {
		mid := model(x)
		if mid == nil {
			return false, false
		}
		if _, same := spread.NewSweep(s.a, mid, k.Rod, s.lo, x, opt); same {
			c.good, c.last = x, mid
			return false, true
		}
		c.bad, c.beyond = x, mid
		return true, true
	}
	for _, x := range k.breaks(m) {
		if x-hair <= c.good || x+hair >= c.bad {
			continue
		}
		for _, x := range []float64{x - hair/2, x + hair/2} {
			if changed, ok := look(x); changed || !ok {
				break
			}
		}
		if c.bad < s.hi {
			break
		}
	}
	for n := 0; n < 40 && c.bad-c.good > 1.01*hair; n++ {
		if _, ok := look((c.good + c.bad) / 2); !ok {
			break
		}
	}
	return c
}

// oneRelease is how near to each other two releases on a cable are taken as one, m; as in
// package tackle.
const oneRelease = 0.01

// breaks are the values of a mode's setting at which its system is likely to change,
// ascending: a release passes another on the same cable.
func (k *aiming) breaks(m *mode) []float64 {
	var out []float64
	for i := range k.Scenario.Rods {
		if m.vary == keyAbove && i != k.Rod {
			x := k.Scenario.Rods[i].Settings.AboveBall.SI()
			out = append(out, x-oneRelease, x+oneRelease)
		}
	}
	slices.Sort(out)
	return out
}

// verge returns the model nearest to the value beyond that can be made, starting from
// one inside that can.
func (k *aiming) verge(model func(x float64) *tackle.Model, inside, beyond float64) (*tackle.Model, float64) {
	good := model(inside)
	for n := 0; n < 30 && math.Abs(beyond-inside) > 1e-3; n++ {
		x := (inside + beyond) / 2
		if m := model(x); m != nil {
			good, inside = m, x
		} else {
			beyond = x
		}
	}
	return good, inside
}

// limitWords says what stops a rod.
func (k *aiming) limitWords(m *mode, p *place, why spread.Limit, target float64) string {
	switch why {
	case spread.LimitStrength:
		return "the line's label strength is reached"
	case spread.LimitTrip:
		return "the steady pull trips it"
	case spread.LimitBottom:
		return "it comes to the bottom"
	case spread.LimitSurface:
		return "it comes to the surface"
	case spread.LimitBoard:
		return "the board is towed under"
	case spread.LimitUnsolved:
		return "no resting place is found beyond"
	}
	span := m.hi - m.lo
	switch {
	case p.x > m.hi-1e-3*span && m.topWhy != "":
		return m.topWhy
	case p.x < m.lo+1e-3*span && m.leastWhy != "":
		return m.leastWhy
	case p.x > m.lo+1e-3*span && p.x < m.hi-1e-3*span && target > p.at.Z:
		return "more line only trails behind"
	case target > p.at.Z:
		return "its settings go no further"
	}
	return "its settings go no shorter"
}
