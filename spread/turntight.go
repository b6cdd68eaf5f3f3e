package spread

import (
	"context"
	"math"

	"sternfan"
)

// The radii between which [Spread.Tightest] looks, m, and how finely.
const (
	tightMost  = 200.0
	tightLeast = 8.0
	tightFine  = 1.05
)

// worse is how much nearer than straight on two lines that already run inside their margin
// have to come to count as brought there by the turn.
const worse = 0.85

// Worsened reports whether a turn brings a pair inside its margin: from outside of it, or
// clearly nearer when it ran inside before.
func Worsened(p *sternfan.TurnPair) bool {
	return p.Ratio < 1 && (p.First >= 1 || p.Ratio < worse*p.First)
}

// Tightest returns for each side the smallest radius at which a turn keeps the margins,
// grown by the intervals, and what comes inside first when it is tighter. With worlds
// asked for, the radius found is run in them once.
func (s *Spread) Tightest(ctx context.Context, m Manoeuvre, opt TurnOptions) ([]sternfan.Tightest, error) {
	fan, err := s.Fan(ctx)
	if err != nil {
		return nil, err
	}
	margins := MarginsOf(&s.model.Scenario.Wants)
	f := s.fleet(fan, opt.Nodes)
	f.care = 1
	m.Course, m.Event, m.Rate = nil, nil, 0
	var out []sternfan.Tightest
	for _, side := range []sternfan.Side{sternfan.Port, sternfan.Starboard} {
		m.To = side
		var gives *sternfan.TurnPair
		keeps := func(radius float64) (bool, error) {
			m.Radius = radius
			for i := range f.near {
				f.near[i].ok, f.near[i].first = false, false
			}
			if err := f.run(ctx, &m, &s.nominal, compareEvery, margins, nil); err != nil {
				return false, err
			}
			for _, p := range f.pairs() {
				if Worsened(&p) {
					gives = &p
					return false, nil
				}
			}
			return true, nil
		}
		row := sternfan.Tightest{To: side, Angle: m.Angle}
		good, bad := tightMost, tightLeast
		ok, err := keeps(good)
		for ; ok && err == nil && good > bad*tightFine; ok = true {
			r := math.Sqrt(good * bad)
			if ok, err = keeps(r); ok {
				good = r
			} else {
				bad = r
			}
		}
		if err != nil {
			return nil, err
		}
		row.Gives = gives
		if ok {
			m.Radius = good
			row.Radius = good
			p := m.plan(&s.nominal)
			row.Time = p.End - p.Begin
			if opt.Worlds > 0 {
				run := &sternfan.Turn{}
				if err := s.turnWorlds(ctx, &m, fan, margins, opt, run); err != nil {
					return nil, err
				}
				row.Risk = run.Risk
			}
		}
		out = append(out, row)
	}
	return out, nil
}
