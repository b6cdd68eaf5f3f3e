package spread_test

import (
	"context"
	"testing"
	"time"

	"sternfan/spread"
)

func TestTurnTry(t *testing.T) {
	m := load(t, "../examples/summer.yaml")
	s := spread.New(m, spread.Options{Intervals: true})
	mv := spread.ManoeuvreOf(m.Scenario)
	mv.Before, mv.After = 30, 90
	t0 := time.Now()
	out, err := s.Turn(context.Background(), mv, spread.TurnOptions{Worlds: 10, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%v %+v", time.Since(t0), out.Manoeuvre)
	for i := range out.Tracks {
		tr := &out.Tracks[i]
		t.Log(tr.Rod, tr.Status, tr.Warnings)
		for _, p := range tr.Points {
			lo, hi := p.At[0][2], p.At[0][2]
			for _, a := range p.At {
				lo, hi = min(lo, a[2]), max(hi, a[2])
			}
			t.Logf("   %s %s %.2f: %.2f..%.2f", p.ID, p.Kind, p.At[0][2], lo, hi)
		}
	}
	for i, p := range out.Pairs {
		if i < 12 {
			t.Logf("%s %s %.2f at %.0f first %.2f d %.2f risk %+v", p.A, p.B, p.Ratio, p.T, p.First, p.Distance, *p.Risk)
		}
	}
	t.Logf("%+v %+v", out.Other.Near, out.Risk)
}
