package spread

import (
	"context"
	"os"
	"strings"
	"testing"

	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/tow"
)

// What is put to its release without a search is what a search would leave without a
// place on its line, over speeds, line lengths, leads and clip tensions of
// the demo's center rigger.
func TestRunsDownIsWhereNoPlaceIs(t *testing.T) {
	text, err := os.ReadFile("../examples/summer.yaml")
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	short, search := 0, 0
	for _, speed := range []string{"1.2 mph", "1.8 mph", "2.5 mph", "3.4 mph"} {
		for _, cable := range []string{"40 ft", "110 ft"} {
			for _, load := range []string{"0.6 lb", "1.2 lb", "4 lb", "8 lb"} {
				for _, lure := range []string{"spoon-light", "plug-cut", "fly-tinsel"} {
					s, g := centerOf(t, strings.NewReplacer("value: 2.5 mph", "value: "+speed, "cable_out: 110 ft", "cable_out: "+cable,
						"set_load: 4 lb", "set_load: "+load, "6 ft}\n        - {lure: spoon-light", "6 ft}\n        - {lure: "+lure).Replace(string(text)))
					g.ring = ringSlides
					s.build(g, nil)
					rings := ringsOf(&g.Sys)
					if s.solveHeld(ctx, g, &s.nominal, ringAtRelease); g.Sol.Status != tow.Converged {
						continue
					}
					if !g.runsDown(rings) {
						search++
						continue
					}
					short++
					if s.solveHeld(ctx, g, &s.nominal, ringSlides); g.Sol.Status == tow.Converged {
						t.Errorf("%s, cable %s, load %s, %s: put to its release, but it rests at %.2f m of %.2f", speed, cable, load, lure,
							g.Sol.Nodes[rings[0]].Z, g.Sol.Nodes[g.Sys.Main].Z)
					}
				}
			}
		}
	}
	t.Logf("%d put to the release, %d searched", short, search)
	if short == 0 || search == 0 {
		t.Errorf("%d put to the release, %d searched: both should come about", short, search)
	}
}

// centerOf returns the spread of a text and the group of its rod with the slider.
func centerOf(t *testing.T, text string) (*Solver, *System) {
	t.Helper()
	known := func(list, id string) bool { return tackle.Known(strings.TrimSuffix(list, "s"), id) }
	sc, _, err := scenario.DecodeWith("test", []byte(text), scenario.Options{Known: known})
	if err != nil {
		t.Fatal(err)
	}
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	s := New(m, Options{})
	s.nominal = m.EnvAt(nil, 0)
	for i, r := range sc.Rods {
		if r.ID == "center" {
			return s, &s.groups[m.Rods[i].Group]
		}
	}
	t.Fatal("no such rod")
	return nil, nil
}
