package report

import (
	"bytes"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// layout is two plans of the summer spread, made up: one that goes through a turn to each
// side, and one that leaves a rod in.
func layout() (*sternfan.Layout, *sternfan.Scenario) {
	fan, sc := summer()
	const ft = 0.3048
	near := sternfan.Gap{A: "p3", B: "p2", PartA: "line1", PartB: "line1", Distance: 11.2 * ft, Horizontal: 9 * ft, Vertical: 6.7 * ft,
		AtA: [3]float64{-18, -8, 12}, AtB: [3]float64{-18, -5, 14}, Wide: 8 * ft, High: 7 * ft, Ratio: 1.3}
	plan := sternfan.Plan{Score: 0.9123, Fan: fan, Scenario: sc, People: 3, SetTime: 21.4, ClearTime: 14.6, Nearest: &near,
		Terms: []sternfan.LayTerm{{Name: "cover", Weight: 10, Value: 0.93}, {Name: "turns", Weight: 10, Value: 0.95}},
		Bands: []sternfan.BandCover{
			{From: 40 * ft, To: 60 * ft, Want: 4, Cover: 0.92, Rods: []string{"p3", "c1", "s3"}},
			{From: 65 * ft, To: 95 * ft, Want: 4, Cover: 0.75, Rods: []string{"p1", "p2", "s1", "s2"}},
			{From: 110 * ft, To: 120 * ft, Want: 1, Rods: []string{}},
		},
		Left:      []sternfan.LeftOut{{Rod: "s5", Code: "no-room"}},
		Crossings: []sternfan.Crossing{{Rod: "s2", Over: "s3", Gap: sternfan.Gap{A: "s2", B: "s3", Distance: 4.4 * ft, AtA: [3]float64{-12, 4, 6}, Ratio: 0.8}}},
		Turns: []sternfan.PlanTurn{
			{To: sternfan.Port, Angle: 3.14159265, Radius: 60, Rate: 0.0179, Time: 178, Begin: 2, Near: &sternfan.TurnPair{Gap: near, T: 40, First: 1.3}, Broken: []sternfan.TurnPair{}},
			{To: sternfan.Starboard, Angle: 3.14159265, Radius: 60, Rate: 0.0179, Time: 178, Begin: 2,
				Broken: []sternfan.TurnPair{
					{Gap: sternfan.Gap{A: "s2", B: "s1", Distance: 4.1 * ft, Ratio: 0.5, Wide: 8 * ft, High: 8 * ft}, T: 96, First: 1.7},
					{Gap: sternfan.Gap{A: "s3", B: "hull", Distance: 0.05 * ft, Ratio: 0.02, Wide: 2 * ft, High: 2 * ft}, T: 190, First: 2},
				}, Lost: []string{"c1"}},
		},
	}
	plan.Turns[1].Near = &plan.Turns[1].Broken[0]
	for i := range fan.Rods {
		r := &fan.Rods[i]
		placed := sternfan.Placed{Rod: r.Rod, Holder: r.Rod, Position: r.Position, Band: min(i/4, 1), Settings: r.Settings,
			Why: []sternfan.LayReason{{Code: "band", Value: 0.9}}}
		switch r.Rod {
		case "s2":
			placed.Why = []sternfan.LayReason{{Code: "band-best", Value: 0.9}, {Code: "inside-below", Rod: "s3", Value: 9}, {Code: "near-in-turn-to-starboard", Rod: "s1", Value: 4.1 * ft}}
			placed.Cautions = []sternfan.Warning{{Code: "holder", Text: "it pulls 17 lb; this holder is meant for 15 lb", Hint: "a stronger holder, or a lighter puller here"}}
		case "s3":
			placed.Why = append(placed.Why, sternfan.LayReason{Code: "near-in-turn-to-starboard", Rod: "hull", Value: 0.02})
		case "c1":
			placed.Fixed, placed.Why = true, []sternfan.LayReason{{Code: "fixed"}, {Code: "center"}}
		case "p4":
			placed.Moved, placed.Why = true, []sternfan.LayReason{{Code: "band-alone", Value: 0.4}, {Code: "alone-on-side"}}
		}
		plan.Rods = append(plan.Rods, placed)
		plan.Set = append(plan.Set, sternfan.SetStep{Rod: r.Rod, Minutes: 2.5, Starts: 2 * float64(i)})
		plan.Clear = append([]string{r.Rod}, plan.Clear...)
		plan.Speed = append(plan.Speed, sternfan.SpeedLure{Rod: r.Rod, Lure: "lure1", Slower: 0.2 * float64(i), Faster: -0.15 * float64(i), Change: 0.0894})
	}
	other := plan
	other.Score, other.Turns = 0.887, plan.Turns[:1]
	other.Rods = append([]sternfan.Placed(nil), plan.Rods[1:]...)
	other.Rods[0].Kit = "long leader"
	other.Left = []sternfan.LeftOut{{Rod: "p4", Code: "no-gain"}}
	return &sternfan.Layout{Version: 1, Plans: []sternfan.Plan{plan, other}, Bound: 0.96, Finished: true,
		Bands:    []sternfan.BandWant{{From: 40 * ft, To: 60 * ft, Weight: 1, Lures: 4, Reason: "52 to 61 F, where Chinook salmon are looked for, lies there"}},
		Warnings: []sternfan.Warning{{Code: "surface-warm", Text: "the surface is at 70 F", Hint: "land lake trout fast"}}}, sc
}

// TestLayGolden holds the table of plans to its golden files, and a plan's comments to be
// comments.
func TestLayGolden(t *testing.T) {
	l, sc := layout()
	for file, opt := range map[string]Options{"lay.txt": {Scenario: sc}, "lay-si.txt": {Scenario: sc, Units: unit.SI, Width: 80}} {
		var b bytes.Buffer
		if err := LayTable(&b, l, opt); err != nil {
			t.Fatal(err)
		}
		golden(t, file, b.Bytes())
	}
	none := &sternfan.Layout{Conflict: []sternfan.LayRule{{Code: "fixed", What: "p1", Text: "rod p1 is fixed"}, {Code: "least-lines", Text: "at least 2 lines out"}}}
	var b bytes.Buffer
	if err := LayTable(&b, none, Options{}); err != nil {
		t.Fatal(err)
	}
	golden(t, "lay-conflict.txt", b.Bytes())

	for _, line := range strings.Split(strings.TrimSuffix(PlanComments(&l.Plans[0], Options{Scenario: sc}), "\n"), "\n") {
		if !strings.HasPrefix(line, "# Turning 180 degrees to ") || strings.ContainsAny(line, "\r\x00") {
			t.Errorf("comment %q", line)
		}
	}
	l.Plans[0].Turns = nil
	if s := PlanComments(&l.Plans[0], Options{Scenario: sc}); s != "" {
		t.Errorf("comments without turns: %q", s)
	}
}
