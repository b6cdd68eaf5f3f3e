package report

import (
	"fmt"
	"math"

	"sternfan"
	"sternfan/unit"
)

// summer is a made-up spread with the shapes that lines take; nothing in it was solved,
// and none of it is evidence of how deep anything runs.
func summer() (*sternfan.Fan, *sternfan.Scenario) {
	const mph, ft = 0.44704, 0.3048
	probe, probeDepth, bottom := 2.2*mph, 80*ft, 150*ft
	fan := &sternfan.Fan{
		Version: 1, Name: "Summer evening, thermocline at 60 ft", Verdict: &sternfan.Verdict{Grade: sternfan.GradeClear, Findings: []sternfan.Finding{}},
		Speed: sternfan.SpeedFan{Given: sternfan.SpeedSurface, Surface: 2.4 * mph, OverGround: 2.6 * mph, Probe: &probe, ProbeDepth: &probeDepth},
		Water: sternfan.WaterFan{Bottom: &bottom, Temperature: [][2]float64{{0, 21}, {14, 20}, {20, 11}, {30, 7}, {50, 5.5}}},
	}
	rods := []struct {
		id, position, settings, device, lure      string
		side                                      int
		tipX, tipY, out, down, across, back, pull float64
		spread                                    float64
	}{
		{"p4", "port board", "6 colors, 80 ft to the board", "board", "plug", -1, 0.5, -1.6, 300, 28, -92, 215, 9, 0.14},
		{"p3", "port high diver", "dial 3 port, ring on", "diver", "spoon", -1, 0.4, -2.9, 140, 46, -38, 118, 14, 0.13},
		{"p2", "port low diver", "dial 1 port", "diver", "fly", -1, 0.2, -2.4, 150, 71, -17, 108, 17, 0.12},
		{"p1", "port rigger", "cable 80 ft, lead 25 ft", "", "spoon", -1, -0.1, -1.5, 118, 78, -6, 42, 3, 0.05},
		{"c1", "chute", "10 colors", "", "spoon", 0, -0.6, 0, 450, 54, 0, 330, 11, 0.16},
		{"s1", "starboard rigger", "cable 92 ft, lead 20 ft", "", "spoon", 1, -0.1, 1.5, 125, 90, 6, 44, 3, 0.05},
		{"s2", "starboard low diver", "dial 1 starboard", "diver", "spoon", 1, 0.2, 2.4, 155, 73, 18, 112, 17, 0.12},
		{"s3", "starboard high diver", "dial 3 starboard, ring on", "diver", "fly", 1, 0.4, 2.9, 130, 43, 35, 110, 13, 0.13},
		{"s4", "starboard board", "5 colors, 80 ft to the board", "board", "plug", 1, 0.5, 1.6, 270, 24, 88, 190, 9, 0.14},
	}
	for _, r := range rods {
		t := sternfan.Track{
			Rod: r.id, Position: r.position, Side: r.side, Status: sternfan.StatusOK, LineOut: r.out * ft,
			TipPull: r.pull * float64(unit.PoundForce), LineAngle: 17, Settings: r.settings,
			Solve: sternfan.SolveCount{Iterations: 5, Steps: 60, Residual: 1e-9},
		}
		tip := [3]float64{r.tipX, r.tipY, -1.9}
		deep, across, back := r.down*ft, r.across*ft, r.back*ft
		body := [3]float64{-back * 0.86, across * 0.97, deep * 0.96}
		if r.device == "board" {
			body = [3]float64{-back * 0.3, across, 0}
		}
		lure := [3]float64{-back, across, deep}
		if r.device != "" {
			t.Bodies = append(t.Bodies, body3(r.device, r.device, body, 0.8*r.spread))
		}
		mid := body
		if r.device == "" {
			mid = [3]float64{-back * 0.7, across * 0.9, deep * 0.8}
		}
		t.Parts = append(t.Parts,
			curve("line1", sternfan.PartLine, tip, mid, 0.55),
			curve("leader1", sternfan.PartLeader, mid, lure, 0.9))
		t.Lures = append(t.Lures, sternfan.LureFan{
			BodyFan: body3("lure1", r.lure, lure, r.spread), ThroughWater: 2.3 * mph, Window: &[2]float64{1.8 * mph, 2.8 * mph},
		})
		if r.id == "s1" {
			t.Lures = append(t.Lures, sternfan.LureFan{BodyFan: body3("slider1", "spoon", [3]float64{-12, 5.6 * ft, 47 * ft}, 0.08), ThroughWater: 2.3 * mph})
		}
		fan.Rods = append(fan.Rods, t)
	}
	for _, r := range []struct {
		id    string
		side  int
		depth float64
	}{{"port downrigger", -1, 79 * ft}, {"starboard downrigger", 1, 91 * ft}} {
		end := [3]float64{0.1, 1.6 * float64(r.side), -0.6}
		ball := [3]float64{-0.22 * r.depth, 1.7 * float64(r.side), r.depth}
		fan.Devices = append(fan.Devices, sternfan.Track{
			Rod: r.id, Side: r.side, Status: sternfan.StatusOK, LineOut: 1.03 * r.depth, TipPull: 55, LineAngle: 79,
			Parts:  []sternfan.PartFan{curve("cable1", sternfan.PartLine, end, ball, 0.8)},
			Bodies: []sternfan.BodyFan{body3("ball1", "ball", ball, 0.03)},
		})
	}
	sc := &sternfan.Scenario{
		Name: "Summer evening", Note: "Demo data, invented for this project.",
		Boat: sternfan.Boat{Length: sternfan.Of(unit.Length(7.6)), Beam: sternfan.Of(unit.Length(2.6))},
		Gear: sternfan.Gear{Lines: []sternfan.Line{{Item: sternfan.Item{ID: "braid-50", Kind: "braid"}}, {Item: sternfan.Item{ID: "wire-30", Kind: "wire"}}}},
		Rods: []sternfan.Rod{{ID: "p2", Rig: sternfan.Rig{Line: "wire-30"}}, {ID: "p3", Rig: sternfan.Rig{Line: "braid-50"}}},
	}
	return fan, sc
}

func body3(id, kind string, p [3]float64, spread float64) sternfan.BodyFan {
	return sternfan.BodyFan{ID: id, Kind: kind, Depth: p[2], DepthLo: p[2] * (1 - spread), DepthHi: p[2] * (1 + spread), Side: p[1], Astern: -p[0]}
}

// curve returns a line between two points that drops early or late.
func curve(id string, kind sternfan.PartKind, a, b [3]float64, bend float64) sternfan.PartFan {
	p := sternfan.PartFan{ID: id, Kind: kind, Pull: [2]float64{60, 40}}
	const n = 16
	for i := range n + 1 {
		s := float64(i) / n
		d := math.Pow(s, bend)
		// Two decimals keep the golden files readable.
		round := func(x float64) float64 { return math.Round(x*100) / 100 }
		p.Points = append(p.Points, [3]float64{round(a[0] + s*(b[0]-a[0])), round(a[1] + s*(b[1]-a[1])), round(a[2] + d*(b[2]-a[2]))})
	}
	return p
}

// troubled is the same spread with every outcome that a line can have.
func troubled() (*sternfan.Fan, *sternfan.Scenario) {
	fan, sc := summer()
	id := func(i int) string { return fan.Rods[i].Rod }
	why := "a solid wire does not run through a slide-through diver"
	for i, s := range map[int]sternfan.Status{2: sternfan.StatusOverStrength, 4: sternfan.StatusBottom, 6: sternfan.StatusNotConverged,
		7: sternfan.StatusBeyondSpool, 8: sternfan.StatusRefused, 0: sternfan.StatusSurface} {
		fan.Rods[i].Status = s
	}
	fan.Rods[8].Warnings = []sternfan.Warning{{Code: "refused", Text: why}}
	fan.Missing = []sternfan.Missing{{Rod: id(6), Why: "no resting place was found"}, {Rod: id(8), Why: why}}
	fan.Verdict = &sternfan.Verdict{Grade: sternfan.GradeGround, Findings: []sternfan.Finding{
		{Code: "bottom", Grade: sternfan.GradeGround, Rods: []string{id(4)}, Text: "Chute: the lure drags on the bottom", Do: "take 2 colors in"},
		{Code: "over-strength", Grade: sternfan.GradeGives, Rods: []string{id(2)}, Text: "Port low diver: 19 lb of pull on a 17 lb line", Do: "slow to 2.0 mph or fish a 30 lb line"},
		{Code: "beyond-spool", Grade: sternfan.GradeSet, Rods: []string{id(7)}, Text: "Starboard high diver: more is out than the spool holds"},
		{Code: "surface", Grade: sternfan.GradeSet, Rods: []string{id(0)}, Text: "Port board: the lure runs on the surface"},
		{Code: "speed", Grade: sternfan.GradeSpeed, Rods: []string{}, Text: "3.8 mph is outside 1.0 to 3.5 mph, where the numbers were checked"},
		{Code: "near-trip", Grade: sternfan.GradeKnow, Rods: []string{id(1), id(3)}, Text: "Port high diver and port rigger: the pull is close to the trip load", Do: "set the release firmer"},
	}}
	return fan, sc
}

func dialPaths() *sternfan.Paths {
	const ft = 0.3048
	paths := &sternfan.Paths{Rod: "port high diver", Vary: "dial"}
	for mark := 0.0; mark <= 4; mark++ {
		path := sternfan.Path{Label: fmt.Sprintf("dial %g", mark), Mark: mark}
		for out := 20.0; out <= 220; out += 20 {
			across := -(2.5 + out*ft*0.11*mark)
			deep := out * ft * (0.52 - 0.055*mark) * (1 - out/900)
			path.Ticks = append(path.Ticks, sternfan.PathTick{
				Count: out * ft, Status: sternfan.StatusOK, TipPull: 60,
				LureFan: sternfan.LureFan{BodyFan: body3("lure1", "spoon", [3]float64{-out * ft * 0.8, across, deep}, 0.13)},
			})
		}
		paths.Paths = append(paths.Paths, path)
	}
	return paths
}

func speedTable() *sternfan.SpeedTable {
	const mph = 0.44704
	return &sternfan.SpeedTable{
		At: "the ball", Want: 2.2 * mph, Depth: 24.4,
		Rows: []sternfan.SpeedRow{
			{Heading: 0, OverGround: 2.3 * mph, Surface: 2.5 * mph, OK: true},
			{Heading: 90, OverGround: 2.6 * mph, Surface: 2.4 * mph, OK: true},
			{Heading: 180, OK: false},
			{Heading: 270, OverGround: 1.8 * mph, Surface: 2.1 * mph, OK: true},
		},
		Lures: []sternfan.WindowRow{
			{Rod: "port high diver", Lure: "spoon", Depth: 14, Window: [2]float64{2.4 * mph, 3.0 * mph}, Now: 2.4 * mph},
			{Rod: "chute", Lure: "plug", Depth: 16, Window: [2]float64{1.2 * mph, 1.8 * mph}, Now: 2.3 * mph},
		},
		Apart: []sternfan.Warning{{Code: "windows", Text: "the plug on the chute wants 1.2-1.8 mph and the spoon on the port high diver 2.4-3.0 mph", Hint: "change one of them"}},
	}
}
