package aim_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"testing"

	"sternfan"
	"sternfan/aim"
	"sternfan/clearance"
	"sternfan/spread"
	"sternfan/tackle"
)

// Every rod goes as ordered or as near to that as it may, or says why not; no two lines are
// inside the margins and nearer than they were without being named with why; and the same
// order gives the same answer.
func TestAll(t *testing.T) {
	for _, c := range []struct {
		file, say string
		clear     bool // all of them can be kept apart
	}{{"summer", "down 10ft", true}, {"summer", "up 8 ft", true}, {"summer", "to 60 ft", true}, {"summer", "up 15 ft", false}, {"spring", "up 8ft", true}, {"spring", "down 6 ft", true},
		{"deep", "to 70 ft", true}, {"deep", "down 10 ft", true}, {"laketrout", "up 20 ft", true}, {"class", "down 20 ft", true}} {
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
			if c.say != "down 10ft" {
				// Once is enough.
			} else if again, err := boat(t, sc, aim.Options{}).All(context.Background(), o); err != nil || !reflect.DeepEqual(a.Rods, again.Rods) || !reflect.DeepEqual(a.Close, again.Close) {
				t.Errorf("another answer the second time: %v", err)
			}
			moved, far := 0, clearance.MarginsOf(&sc.Wants).Vertical*1.5
			for _, m := range a.Rods {
				t.Logf("%s: %.1f, wanted %.1f, runs %.1f ft; %s %s", m.Rod, m.From/foot, m.Want/foot, m.To.Depth/foot, m.Stays, m.Short)
				// A foot of count is less than a foot of depth, but for a ball.
				slack := 1.1*foot/2 + .005*m.Want + .02
				switch off := math.Abs(m.To.Depth - m.Want); {
				case (m.Way == nil) == (m.Stays == ""):
					t.Errorf("%s: way %v, stays %q", m.Rod, m.Way, m.Stays)
				case m.Way == nil:
				case m.Short == "" && off > slack || off > far+slack:
					t.Errorf("%s: wanted %.2f ft, runs %.2f: %q", m.Rod, m.Want/foot, m.To.Depth/foot, m.Short)
				default:
					moved++
				}
			}
			if moved == 0 || !a.Finished {
				t.Errorf("%d moved, finished %v", moved, a.Finished)
			}
			was := gaps(t, sc)
			named := map[string]bool{}
			for _, g := range a.Close {
				named[g.A+" "+g.B] = true
				t.Logf("close: %s and %s, %.2f, was %.2f: %s", g.A, g.B, g.Ratio, was[g.A+" "+g.B], g.Why)
				if g.Why == "" || c.clear {
					t.Errorf("%s and %s are near: %q", g.A, g.B, g.Why)
				}
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
	for _, g := range clearance.Clearances(m.Scenario, fan, clearance.MarginsOf(&sc.Wants)) {
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
