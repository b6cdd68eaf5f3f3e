package aim_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"sternfan"
	"sternfan/aim"
	"sternfan/spread"
	"sternfan/tackle"
)

// Every rod goes as ordered, or says why not; no two lines are inside the margins and
// nearer than they were without being named.
func TestAll(t *testing.T) {
	for _, c := range []struct{ file, say string }{{"summer", "down 10ft"}, {"summer", "up 8 ft"}, {"spring", "up 8ft"}, {"deep", "to 70 ft"}} {
		t.Run(c.file+" "+c.say, func(t *testing.T) {
			t.Parallel()
			sc := load(t, "../examples/"+c.file+".yaml")
			b := boat(t, sc, aim.Options{})
			o, err := aim.ParseOrder(c.say)
			if err != nil {
				t.Fatal(err)
			}
			a, err := b.All(context.Background(), o)
			if err != nil {
				t.Fatal(err)
			}
			moved := 0
			for _, m := range a.Rods {
				t.Logf("%s: %.1f, wanted %.1f, runs %.1f ft; %s", m.Rod, m.From/foot, m.Want/foot, m.To.Depth/foot, m.Stays)
				switch {
				case (m.Way == nil) == (m.Stays == ""):
					t.Errorf("%s: way %v, stays %q", m.Rod, m.Way, m.Stays)
				case m.Way == nil:
				// A foot of count is less than a foot of depth, but for a ball.
				case math.Abs(m.To.Depth-m.Want) > 1.1*foot/2+.005*m.Want+.02:
					t.Errorf("%s: wanted %.2f ft, runs %.2f", m.Rod, m.Want/foot, m.To.Depth/foot)
				default:
					moved++
				}
			}
			if moved == 0 {
				t.Error("nothing moved")
			}
			was := gaps(t, sc)
			named := map[string]bool{}
			for _, g := range a.Close {
				named[g.A+" "+g.B] = true
				t.Logf("close: %s and %s, %.2f, was %.2f", g.A, g.B, g.Ratio, was[g.A+" "+g.B])
			}
			if len(a.Set) == 0 {
				t.Fatal("no changes of the file")
			}
			complete := true
			for _, m := range a.Rods {
				complete = complete && (m.Way == nil || len(m.Way.Set) > 0)
			}
			if !complete {
				return
			}
			for pair, ratio := range gaps(t, load(t, "../examples/"+c.file+".yaml", a.Set...)) {
				if old, ok := was[pair]; ratio < .995 && (!ok || ratio < .895*old) && !named[pair] {
					t.Errorf("%s: %.3f, was %.3f, not named", pair, ratio, old)
				}
			}
		})
	}
}

func gaps(t *testing.T, sc *sternfan.Scenario) map[string]float64 {
	t.Helper()
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	fan, err := spread.Solve(context.Background(), m, spread.Options{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, g := range spread.Clearances(m.Scenario, fan, spread.MarginsOf(&sc.Wants)) {
		out[g.A+" "+g.B] = g.Ratio
	}
	return out
}

func TestOrder(t *testing.T) {
	for text, want := range map[string]aim.Order{
		"down 10ft": {By: 3.048}, "Up 2 m": {By: -2}, "deeper by 5 ft": {By: 1.524}, "shallower 5 ft": {By: -1.524}, "to 65ft": {To: 19.812, Abs: true},
	} {
		got, err := aim.ParseOrder(text)
		if want.Said = text; err != nil || got.Abs != want.Abs || math.Abs(got.By-want.By) > 1e-12 || math.Abs(got.To-want.To) > 1e-12 {
			t.Errorf("%s: %+v, %v", text, got, err)
		}
	}
	for text, hint := range map[string]string{"donw 10ft": "did you mean down?", "down 10": "write a distance with its unit", "": "", "down": "write a distance with its unit"} {
		var faults sternfan.Faults
		if _, err := aim.ParseOrder(text); !errors.As(err, &faults) || faults[0].Hint != hint {
			t.Errorf("%q: %v", text, err)
		}
	}
}
