package tackle

import (
	"testing"

	"sternfan"
	"sternfan/tow"
	"sternfan/unit"
)

// A dial turned in a built system is as if the scenario had that mark, calibrations of the
// dial included.
func TestDial(t *testing.T) {
	for _, cal := range []*sternfan.Calibration{nil, {Name: "rod r1 dial", Scale: 1.1, Shift: .2}, {Name: "rod r1 dial", Shift: -.3, Off: true}} {
		at := func(mark float64) *Model {
			sc := boat()
			rigs[0].make(sc, sternfan.Port)
			sc.Rods[0].Settings.Dial = sternfan.Of(mark)
			if cal != nil {
				sc.Calibrations = []sternfan.Calibration{*cal}
			}
			return resolve(t, sc)
		}
		base := at(2)
		for _, mark := range []float64{0, .5, 1, 2.5, 4} {
			var turned, made tow.System
			base.Build(0, nil, &turned)
			base.Dial(0, 0, mark, &turned)
			at(mark).Build(0, nil, &made)
			for i := range made.Nodes {
				for k := range made.Nodes[i].Bodies {
					if a, b := turned.Nodes[i].Bodies[k], made.Nodes[i].Bodies[k]; a != b {
						t.Errorf("mark %g, %+v: %+v and %+v", mark, cal, a, b)
					}
				}
			}
		}
	}
}

// A model made again is the one made anew.
func TestAgain(t *testing.T) {
	for _, r := range rigs {
		sc := boat()
		sc.Water = sternfan.Water{Temperature: []sternfan.TempPoint{{Temperature: 20}, {Depth: 20, Temperature: 8}}, Fleas: "light",
			Current: []sternfan.CurrentPoint{{Speed: .1, Set: 1}, {Depth: 20, Speed: .2, Set: 2}}, Bottom: ft(200)}
		sc.Heading = sternfan.Of(0 * unit.Degree)
		r.make(sc, sternfan.Port)
		one := resolve(t, sc)
		two, faults := Again(one, sc)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		a, b := one.Env(nil), two.Env(nil)
		if a != b {
			t.Errorf("%s: %+v and %+v", r.name, a, b)
		}
		var x, y tow.System
		one.Build(0, nil, &x)
		two.Build(0, nil, &y)
		for i := range x.Lines {
			if x.Lines[i] != y.Lines[i] {
				t.Errorf("%s: line %d", r.name, i)
			}
		}
		if len(one.Registry) != len(two.Registry) {
			t.Errorf("%s: %d and %d entries", r.name, len(one.Registry), len(two.Registry))
		}
	}
}
