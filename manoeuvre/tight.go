package manoeuvre

import (
	"context"
	"math"
	"slices"

	"sternfan/clearance"

	"sternfan"
)

// The radii between which [Helm.Tightest] looks, m, and how finely: the last bracket is
// no wider than tightFine, and narrower, to tightFinest, while two pairs break in it.
const (
	tightStart  = 100.0
	tightMost   = 400.0
	tightLeast  = 8.0
	tightFine   = 1.05
	tightFinest = 1.01
)

// tightBefore is how long the boat goes straight on before a turn that is only looked at
// for how near lines come, s: they rest as they begin.
const tightBefore = 2.0

// worse is how much nearer than straight on two lines that already run inside their margin
// have to come to count as brought there by the turn.
const worse = 0.85

// Worsened reports whether a turn brings a pair inside its margin: from outside of it, or
// clearly nearer when it ran inside before.
func Worsened(p *sternfan.TurnPair) bool {
	return p.Ratio < 1 && (p.First >= 1 || p.Ratio < worse*p.First)
}

// tightSearch looks for the smallest radius to one side.
type tightSearch struct {
	s       *Helm
	f       *fleet
	m       Manoeuvre
	margins clearance.Margins
	gives   []sternfan.TurnPair // that broke at the widest radius that did not keep
}

// keeps reports whether a radius keeps the margins. Unless all that break are asked for,
// the run ends with the first that does.
func (t *tightSearch) keeps(ctx context.Context, radius float64, all bool) (bool, error) {
	t.m.Radius = radius
	t.f.forget()
	t.f.stop = !all
	if err := t.f.run(ctx, &t.m, t.s.Nominal(), compareEvery, t.margins, nil); err != nil {
		return false, err
	}
	broken := slices.DeleteFunc(t.f.pairs(), func(p sternfan.TurnPair) bool { return !Worsened(&p) })
	if len(broken) > 0 {
		t.gives = broken
		return false, nil
	}
	return true, nil
}

// least returns the smallest radius that keeps the margins while all wider ones tried do, 0
// when none does. Radii are halved until one breaks, or doubled until one does not, since
// how near lines come is not always less in a wider turn; then the bracket is halved in
// proportion.
func (t *tightSearch) least(ctx context.Context) (float64, error) {
	good, bad := 0.0, 0.0
	ok, err := t.keeps(ctx, tightStart, false)
	switch {
	case err != nil:
		return 0, err
	case !ok:
		for bad = tightStart; good == 0; {
			if bad >= tightMost {
				return 0, nil
			}
			r := math.Min(2*bad, tightMost)
			if ok, err = t.keeps(ctx, r, true); err != nil {
				return 0, err
			}
			if ok {
				good = r
			} else {
				bad = r
			}
		}
	default:
		good = tightStart
		for good > tightLeast && bad == 0 {
			r := math.Max(good/2, tightLeast)
			if ok, err = t.keeps(ctx, r, false); err != nil {
				return 0, err
			}
			if ok {
				good = r
			} else {
				bad = r
			}
		}
		if bad == 0 {
			return good, nil
		}
	}
	for whole := false; good > bad*tightFine || good > bad*tightFinest && (!whole || len(t.gives) > 1); {
		r := math.Sqrt(good * bad)
		ok, err := t.keeps(ctx, r, true)
		if err != nil {
			return 0, err
		}
		if ok {
			good = r
		} else {
			bad, whole = r, true
		}
	}
	return good, nil
}

// How a turn is widened: by so much at a time, and then narrowed to within so much.
const (
	widening = 1.5
	widest   = 1.1
)

// wider returns about the smallest radius above that of a manoeuvre which brings no two inside
// their margin, nil when none up to the widest tried is one.
func (s *Helm) wider(ctx context.Context, m Manoeuvre, fan *sternfan.Fan, nodes int) (*sternfan.TurnLeast, error) {
	bad := m.plan(s.Nominal()).Radius
	m.Rate, m.Before = 0, math.Min(m.Before, tightBefore)
	t := &tightSearch{s: s, f: s.fleet(fan, nodes), m: m, margins: clearance.MarginsOf(&s.model.Scenario.Wants)}
	t.f.care = 1
	for good := 0.0; ; {
		r := math.Sqrt(good * bad)
		switch {
		case good > 0 && good <= widest*bad:
			t.m.Radius = good
			p := t.m.plan(s.Nominal())
			return &sternfan.TurnLeast{Radius: good, Time: p.End - p.Begin}, nil
		case good == 0 && bad >= tightMost:
			return nil, nil
		case good == 0:
			r = math.Min(widening*bad, tightMost)
		}
		ok, err := t.keeps(ctx, r, false)
		if err != nil {
			return nil, err
		}
		if ok {
			good = r
		} else {
			bad = r
		}
	}
}

// Tightest returns for each side the smallest radius at which a turn keeps the margins,
// grown by the intervals, and what comes inside first when it is tighter. With worlds
// asked for, the radius found is run in them once.
func (s *Helm) Tightest(ctx context.Context, m Manoeuvre, opt TurnOptions) ([]sternfan.Tightest, error) {
	fan, err := s.Fan(ctx)
	if err != nil {
		return nil, err
	}
	m.Course, m.Event, m.Rate = nil, nil, 0
	m.Before = math.Min(m.Before, tightBefore)
	f := s.fleet(fan, opt.Nodes)
	f.care = 1
	var out []sternfan.Tightest
	for _, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
		m.To = side
		t := &tightSearch{s: s, f: f, m: m, margins: clearance.MarginsOf(&s.model.Scenario.Wants)}
		row := sternfan.Tightest{To: side, Angle: m.Angle}
		if row.Radius, err = t.least(ctx); err != nil {
			return nil, err
		}
		if len(t.gives) > 0 {
			row.Gives = &t.gives[0]
		}
		if row.Radius > 0 {
			t.m.Radius = row.Radius
			p := t.m.plan(s.Nominal())
			row.Time = p.End - p.Begin
			if opt.Worlds > 0 {
				if _, err := t.keeps(ctx, row.Radius, true); err != nil {
					return nil, err
				}
				run := &sternfan.Turn{Pairs: f.pairs()}
				if err := s.turnWorlds(ctx, &t.m, fan, t.margins, opt, run); err != nil {
					return nil, err
				}
				row.Risk = run.Risk
			}
		}
		out = append(out, row)
	}
	return out, nil
}
