package manoeuvre_test

import (
	"sternfan/internal/exampletest"

	"context"
	"math"
	"slices"
	"testing"

	"sternfan"
	"sternfan/clearance"
	"sternfan/manoeuvre"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// TestTightestIsTheLimit runs a turn at the radius found and one just tighter: the first
// keeps the margins, the second breaks them between the two that are said to give first.
func TestTightestIsTheLimit(t *testing.T) {
	m := twoRods(t, false)
	s := manoeuvre.New(m, spread.Options{Intervals: true})
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.Before, mv.After = 4, 60
	rows, err := s.Tightest(context.Background(), mv, manoeuvre.TurnOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 2 || rows[0].To != sternfan.Port || rows[1].To != sternfan.Starboard {
		t.Fatalf("rows %+v", rows)
	}
	fan, err := s.Fan(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	limits := 0
	for _, r := range rows {
		worsened := func(radius float64) []sternfan.TurnPair {
			mv.To, mv.Radius = r.To, radius
			near, lost, err := s.Passes(context.Background(), fan, mv)
			if err != nil || len(lost) > 0 {
				t.Fatal(lost, err)
			}
			return slices.DeleteFunc(near, func(p sternfan.TurnPair) bool { return !manoeuvre.Worsened(&p) })
		}
		if r.Radius == 0 || len(worsened(r.Radius)) > 0 {
			t.Errorf("to %v: %g m does not keep the margins", r.To, r.Radius)
			continue
		}
		if r.Gives == nil {
			continue // as tight as is tried
		}
		limits++
		tighter := worsened(r.Radius / 1.06)
		if !slices.ContainsFunc(tighter, func(p sternfan.TurnPair) bool { return p.A == r.Gives.A && p.B == r.Gives.B }) {
			t.Errorf("to %v: at %g m %s and %s do not give: %+v", r.To, r.Radius/1.06, r.Gives.A, r.Gives.B, tighter)
		}
	}
	if limits == 0 {
		t.Errorf("no side has a limit: %+v", rows)
	}
}

// TestWiderTurnKeepsTheMargins asks what a turn that breaks margins would have to be like: at the
// radius said it keeps them, much tighter it does not; and a turn that keeps them is not asked.
func TestWiderTurnKeepsTheMargins(t *testing.T) {
	m := exampletest.File(t, "../examples/class.yaml")
	s := manoeuvre.New(m, spread.Options{Intervals: true})
	mv := manoeuvre.ManoeuvreOf(m.Scenario)
	mv.To, mv.Before, mv.After = sternfan.Starboard, 2, 60
	turn := func(radius float64) *sternfan.Turn {
		mv.Radius = radius
		got, err := s.Turn(context.Background(), mv, manoeuvre.TurnOptions{OneSide: true, Wider: true})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	least := turn(12).Least
	if least == nil || least.Radius <= 12 || math.Abs(least.Time*turn(12).Manoeuvre.Speed/(math.Pi*least.Radius)-1) > 0.1 {
		t.Fatalf("from 12 m: %+v", least)
	}
	if got := turn(least.Radius); got.Least != nil || manoeuvre.Worsened(&got.Pairs[0]) {
		t.Errorf("at %g m: %+v, nearest %+v", least.Radius, got.Least, got.Pairs[0])
	}
	if got := turn(least.Radius / 1.2); got.Least == nil || !manoeuvre.Worsened(&got.Pairs[0]) {
		t.Errorf("at %g m: %+v, nearest %+v", least.Radius/1.2, got.Least, got.Pairs[0])
	}
}

// TestTheNearestPairIsAlwaysSaid asks for very small margins: no two lines come near, and
// the nearest two are said with their distance, to either side, as a run with wide margins
// has them.
func TestTheNearestPairIsAlwaysSaid(t *testing.T) {
	turn := func(feet float64) *sternfan.Turn {
		sc := *twoRods(t, false).Scenario
		sc.Wants.Horizontal, sc.Wants.Vertical = sternfan.Of(unit.Length(feet)*unit.Foot), sternfan.Of(unit.Length(feet)*unit.Foot)
		m, faults := tackle.Resolve(&sc)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		mv := manoeuvre.ManoeuvreOf(m.Scenario)
		mv.Radius, mv.Before, mv.After = 40, 4, 30
		got, err := manoeuvre.Turn(context.Background(), m, mv, spread.Options{}, manoeuvre.TurnOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	near, far := turn(60), turn(0.5)
	if len(near.Pairs) != 1 || near.Pairs[0].Ratio > 2.5 {
		t.Fatalf("with wide margins: %+v", near.Pairs)
	}
	if len(far.Pairs) != 1 || far.Pairs[0].Ratio < 2.5 || far.Other == nil || far.Other.Near == nil || far.Other.Near.Ratio < 2.5 {
		t.Fatalf("with narrow margins: %+v, other side %+v", far.Pairs, far.Other)
	}
	p, q := near.Pairs[0], far.Pairs[0]
	// The reach of bodies counts for more beside narrow margins, so the place is a little another.
	if p.A != q.A || p.B != q.B || math.Abs(q.Distance-p.Distance) > 0.05*p.Distance {
		t.Errorf("%s and %s, %g m at %g s; before %s and %s, %g m at %g s", q.A, q.B, q.Distance, q.T, p.A, p.B, p.Distance, p.T)
	}
}

// TestTurnsBeginAsTheSpreadLies holds how near lines are when a turn begins, with the
// segments that the dynamics have, to how near they lie in straight water.
func TestTurnsBeginAsTheSpreadLies(t *testing.T) {
	for name, m := range exampletest.All(t) {
		s := manoeuvre.New(m, spread.Options{Intervals: true})
		fan, err := s.Fan(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		mv := manoeuvre.ManoeuvreOf(m.Scenario)
		mv.Radius, mv.Before, mv.After, mv.Angle = 60, 2, 2, 0.2
		near, _, err := s.Passes(context.Background(), fan, mv)
		if err != nil {
			t.Fatal(err)
		}
		lie := map[[2]string]float64{}
		for _, g := range clearance.Clearances(m.Scenario, fan, clearance.MarginsOf(&m.Scenario.Wants)) {
			for _, key := range [][2]string{{g.A, g.B}, {g.B, g.A}} {
				if r, ok := lie[key]; !ok || g.Ratio < r {
					lie[key] = g.Ratio
				}
			}
		}
		for _, p := range near {
			want, ok := lie[[2]string{p.A, p.B}]
			// Both cut their lines into forty pieces; where these fall moves the margin by a few
			// hundredths.
			if !ok || math.Abs(p.First-want) > 0.05*want+0.02 {
				t.Errorf("%s: %s and %s lie at %.3f of the margin, at %.3f when the turn begins", name, p.A, p.B, want, p.First)
			}
		}
	}
}
