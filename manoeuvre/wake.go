package manoeuvre

import (
	"context"
	"math"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/tow/dynamics"
)

// Wake is how one party moves through a manoeuvre, in the boat's frame: where it is every
// couple of seconds.
type Wake struct {
	ID   string
	t    []float64
	at   []*clearance.Course // one alone: it does not move
	wide []box2              // of each, from above
	wet  []box2              // of what is under water
}

// Still returns the wake of a party that does not move: a part of the boat.
func Still(c *clearance.Course) *Wake {
	w := &Wake{ID: c.ID, at: []*clearance.Course{c}, wide: make([]box2, 1)}
	w.wide[0].reset()
	c.Points(w.wide[0].widen)
	w.wet = w.wide
	return w
}

// As makes the wake that of another party with the same lines.
func (w *Wake) As(c *clearance.Course) {
	w.ID = c.ID
	for _, at := range w.at {
		at.ID, at.Device, at.Band = c.ID, c.Device, c.Band
	}
}

// Nearest returns how near two parties come in the same manoeuvre; ok is false when they
// are not compared, nowhere nearer than the ratio below, or one has no wake.
func (w *Wake) Nearest(v *Wake, m clearance.Margins, below float64) (near sternfan.TurnPair, ok bool) {
	n := max(len(w.t), len(v.t))
	for _, x := range []*Wake{w, v} {
		if len(x.t) > 0 {
			n = min(n, len(x.t))
		} else if len(x.at) == 0 {
			return near, false
		}
	}
	for k := range n {
		i, j := min(k, len(w.at)-1), min(k, len(v.at)-1)
		a, b := w.at[i], v.at[j]
		reach := a.Reach + b.Reach
		if a.Fixed() || b.Fixed() {
			if w.wet[i].apart(&v.wet[j]) > below*(m.Hull+reach+a.Band+b.Band) {
				continue
			}
		} else if w.wide[i].apart(&v.wide[j]) > below*(m.Horizontal+reach) {
			continue
		}
		gap, found := a.Gap(b, m, below)
		if !found {
			continue
		}
		below = gap.Ratio
		near.Gap, ok = gap, true
		for _, x := range []*Wake{w, v} {
			if len(x.t) > 0 {
				near.T = x.t[k]
			}
		}
	}
	if ok {
		straight, _ := w.at[0].Gap(v.at[0], m, math.Inf(1))
		near.First = straight.Ratio
	}
	return near, ok
}

// Wakes takes the spread through a manoeuvre, nominal, without asking how near lines come,
// and returns where its rods and devices are every so many seconds, at least those between
// looks of [Helm.Turn]. A party whose way is not known to its end has no wake. The fan is
// one that [Helm.Fan] returned; the error is ctx's.
func (s *Helm) Wakes(ctx context.Context, fan *sternfan.Fan, m Manoeuvre, every float64) ([]*Wake, error) {
	f := s.fleet(fan, 0)
	f.near = nil
	wakes := make([]*Wake, len(f.parties))
	for i := range wakes {
		wakes[i] = &Wake{ID: f.parties[i].course.ID}
	}
	f.watch = func(t float64) {
		for i := range f.parties {
			p := &f.parties[i]
			if p.mover >= 0 && f.movers[p.mover].status == dynamics.OK {
				wakes[i].t = append(wakes[i].t, t)
				wakes[i].wide, wakes[i].wet = append(wakes[i].wide, p.wide), append(wakes[i].wet, p.wet)
				wakes[i].at = append(wakes[i].at, p.course.Moved(false, geom.Vec{}, p.course.Band))
			}
		}
	}
	if err := f.run(ctx, &m, s.Nominal(), math.Max(every, compareEvery), clearance.MarginsOf(&s.model.Scenario.Wants), nil); err != nil {
		return nil, err
	}
	out := wakes[:0]
	for i, w := range wakes {
		if p := &f.parties[i]; p.mover >= 0 && f.movers[p.mover].status == dynamics.OK {
			out = append(out, w)
		}
	}
	return out, nil
}
