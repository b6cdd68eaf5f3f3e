package aim

import (
	"context"

	"sternfan/spread"
)

// scanned is a track that was looked over, kept for finding its limit.
type scanned struct {
	mode  *mode
	given []setTo
	track *track
	scan  []place // as far as it was looked at
}

// row is every mark of the dial in one combination of the other settings: its tracks, and
// the roots found on them by mark.
type row struct {
	tracks []track
	roots  [][]place // by track and mark
}

// search looks over every combination of every mode. The marks of a dial share a system
// and are turned one after the other, each found from its neighbors.
func (k *aiming) search(ctx context.Context, modes []mode, target float64) (ways []way, seen []scanned, err error) {
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
			var top *place // of a track none of which can be deep enough
			r := row{tracks: lines.tracks(given, func(t *track) bool {
				k.GoOn(t.sweep)
				t.sweep.Nigh(true)
				first := t.at(ctx, t.lo, 0)
				if !t.tops(&first, target) {
					return false
				}
				top = &first
				return true
			})}
			r.roots = make([][]place, len(r.tracks))
			for j := range r.roots {
				r.roots[j] = make([]place, len(marks))
				for at := range marks {
					r.roots[j][at].limit = spread.LimitUnsolved
				}
				k.GoOn(r.tracks[j].sweep)
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
					with = append(given[:len(given):len(given)], setTo{keyDial, mark})
				}
				for j := range r.tracks {
					t := r.tracks[j]
					t.dial = mark
					if top != nil && j == len(r.tracks)-1 {
						seen = append(seen, scanned{m, with, &t, []place{*top}})
						break
					}
					expected := k.expect(ctx, &t, target, &r, &before, j, at)
					if end, ok := t.beyond(ctx, target, expected); ok {
						expected.off, expected.limit = true, spread.LimitUnsolved
						r.roots[j][at] = expected
						seen = append(seen, scanned{m, with, &t, []place{end}})
						continue
					}
					p := t.follow(ctx, target, expected)
					var scan []place
					if !p.ok() {
						if p, scan = t.find(ctx, target); !p.ok() {
							p = t.outside(scan, target)
						}
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
func (k *aiming) expect(ctx context.Context, t *track, target float64, r *row, before *[2]row, j, at int) place {
	found := func(r *row, at int) (place, bool) {
		if j >= len(r.roots) || at < 0 || len(r.roots[j]) <= at {
			return place{}, false
		}
		p := r.roots[j][at]
		return p, (p.ok() || p.off) && p.rise != 0
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
