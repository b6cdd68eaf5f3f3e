package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"sternfan"
	"sternfan/unit"
)

// spread draws a fan of any size: near or far, deep or shallow, many or none.
func spread(t *rapid.T) *sternfan.Fan {
	size := rapid.SampledFrom([]float64{0, 0.5, 10, 60, 1000}).Draw(t, "size")
	deep := rapid.SampledFrom([]float64{0, 3, 40, 300}).Draw(t, "deep")
	fan := &sternfan.Fan{Name: "a fan", Speed: sternfan.SpeedFan{Given: sternfan.SpeedSurface, Surface: 1.1, OverGround: 1.1}}
	n := rapid.IntRange(0, 14).Draw(t, "rods")
	if rapid.Bool().Draw(t, "bottom") {
		b := rapid.Float64Range(0, 400).Draw(t, "depth of water")
		fan.Water.Bottom = &b
	}
	if rapid.Bool().Draw(t, "temperature") {
		fan.Water.Temperature = [][2]float64{{0, rapid.Float64Range(0, 30).Draw(t, "warm")}, {20, 8}, {500, 4}}
	}
	for i := range n {
		p := [3]float64{-size * rapid.Float64Range(0, 1).Draw(t, "back"), size * rapid.Float64Range(-0.5, 0.5).Draw(t, "across"), deep * rapid.Float64Range(0, 1).Draw(t, "down")}
		side := rapid.IntRange(-1, 1).Draw(t, "side")
		tip := [3]float64{0.3, 2 * float64(side), -2}
		fan.Rods = append(fan.Rods, sternfan.Track{
			Rod: "r" + strconv.Itoa(i), Position: rapid.SampledFrom([]string{"chute", "port high diver", "starboard outside planer board", ""}).Draw(t, "position"),
			Side: side, Status: rapid.SampledFrom([]sternfan.Status{sternfan.StatusOK, sternfan.StatusBottom, sternfan.StatusNotConverged}).Draw(t, "status"),
			Parts:  []sternfan.PartFan{curve("line1", sternfan.PartLine, tip, p, 0.7)},
			Bodies: []sternfan.BodyFan{body3("diver1", "diver", p, 0.1)},
			Lures:  []sternfan.LureFan{{BodyFan: body3("lure1", "spoon", p, rapid.Float64Range(0, 0.5).Draw(t, "spread"))}},
		})
	}
	return fan
}

// checkDrawing asserts what every drawing must hold.
func checkDrawing(t interface {
	Helper()
	Fatalf(string, ...any)
}, d *sternfan.Drawing) {
	t.Helper()
	if !(d.Width > 0 && d.Height > 0) || math.IsInf(d.Width+d.Height, 0) {
		t.Fatalf("sheet %g by %g", d.Width, d.Height)
	}
	if d.Alt == "" || d.Title == "" {
		t.Fatalf("no words: title %q, alt %q", d.Title, d.Alt)
	}
	mm := d.Width / sheetWide
	var frames []box
	for i := range d.Views {
		v := &d.Views[i]
		wide, tall := math.Abs(v.U.To-v.U.From), math.Abs(v.V.To-v.V.From)
		f := box{v.Place[0], v.Place[1], v.Place[0] + wide, v.Place[1] + tall}
		slack := 0.01 * mm
		if !f.inside(box{-slack, -slack, d.Width + slack, d.Height + slack}) {
			t.Fatalf("view %s: frame %v is off the sheet %g by %g", v.ID, f, d.Width, d.Height)
		}
		for _, g := range frames {
			if f.hits(g) {
				t.Fatalf("view %s: frame %v lies over %v", v.ID, f, g)
			}
		}
		frames = append(frames, f)
		u0, u1 := math.Min(v.U.From, v.U.To)-slack, math.Max(v.U.From, v.U.To)+slack
		v0, v1 := math.Min(v.V.From, v.V.To)-slack, math.Max(v.V.From, v.V.To)+slack
		var labels []box
		for j := range v.Shapes {
			s := &v.Shapes[j]
			for _, p := range s.Points {
				if !(p[0] >= u0 && p[0] <= u1 && p[1] >= v0 && p[1] <= v1) {
					t.Fatalf("view %s: a %s %q at %v is outside %g to %g, %g to %g", v.ID, s.Kind, s.Class, p, u0, u1, v0, v1)
				}
			}
			if s.Kind == sternfan.ShapeText {
				b := textBox(s.Text, s.Anchor, s.Points[0], mm)
				// Places are rounded to a tenth of a millimeter of the world, each by half of it.
				const rounding = 1e-4
				b.u0, b.v0, b.u1, b.v1 = b.u0+rounding, b.v0+rounding, b.u1-rounding, b.v1-rounding
				for _, l := range labels {
					if b.hits(l) {
						t.Fatalf("view %s: label %q at %v lies over %v", v.ID, s.Text, b, l)
					}
				}
				labels = append(labels, b)
			}
			if s.Rod != "" && (s.Part == "" || s.Alt == "") {
				t.Fatalf("view %s: a %s %q of rod %s without part or words", v.ID, s.Kind, s.Class, s.Rod)
			}
		}
		for _, a := range []sternfan.Axis{v.U, v.V} {
			for _, k := range a.Ticks {
				if k.At < math.Min(a.From, a.To)-slack || k.At > math.Max(a.From, a.To)+slack {
					t.Fatalf("view %s: tick %g is off the axis", v.ID, k.At)
				}
			}
		}
	}
}

func TestPlanProperties(t *testing.T) {
	_, boat := summer()
	rapid.Check(t, func(t *rapid.T) {
		sc := boat
		if rapid.Bool().Draw(t, "no boat") {
			sc = nil
		}
		opt := Options{Units: rapid.SampledFrom([]unit.System{unit.US, unit.SI}).Draw(t, "units")}
		checkDrawing(t, LinesPlan(spread(t), sc, opt))
	})
}

// The three views must be one shape: what one view says of an axis, the other says too,
// and lengths are drawn alike.
func TestPlanSharesAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := LinesPlan(spread(t), nil, Options{})
		views := map[string]*sternfan.View{}
		for i := range d.Views {
			views[d.Views[i].ID] = &d.Views[i]
		}
		above, side, astern := views["above"], views["side"], views["astern"]
		if above.U.From != side.U.From || above.U.To != side.U.To || above.Place[0] != side.Place[0] {
			t.Fatal("the views from above and from the side do not share the astern axis")
		}
		if astern.V.From != side.V.From || astern.V.To != side.V.To || astern.Place[1] != side.Place[1] {
			t.Fatal("the views from astern and from the side do not share the depth axis")
		}
		if above.V.From != astern.U.To || above.V.To != astern.U.From {
			t.Fatal("the views from above and from astern do not have the same reach to the side")
		}
	})
}

func TestPlanPutsStarboardUpAndRight(t *testing.T) {
	fan, sc := summer()
	d := LinesPlan(fan, sc, Options{})
	for i := range d.Views {
		v := &d.Views[i]
		switch v.ID {
		case "above": // the bow is to the left, so that starboard is up
			if !(v.U.From < v.U.To && v.V.From > v.V.To) {
				t.Errorf("above: %v %v", v.U, v.V)
			}
		case "astern": // looking forward, starboard is to the right
			if !(v.U.From < v.U.To && v.V.From < v.V.To) {
				t.Errorf("astern: %v %v", v.U, v.V)
			}
		}
	}
}

func TestEveryLureIsMarkedOnceInEachView(t *testing.T) {
	fan, sc := summer()
	lures := 0
	for i := range fan.Rods {
		lures += len(fan.Rods[i].Lures)
	}
	d := LinesPlan(fan, sc, Options{})
	for i := range d.Views {
		v := &d.Views[i]
		if v.ID != "above" && v.ID != "side" && v.ID != "astern" {
			continue
		}
		marks, bars := 0, 0
		for j := range v.Shapes {
			if v.Shapes[j].Sign == "lure" {
				marks++
			}
			if v.Shapes[j].Kind == sternfan.ShapeBar {
				bars++
			}
		}
		wantBars := lures
		if v.ID == "above" {
			wantBars = 0 // depth does not show from above
		}
		if marks != lures || bars != wantBars {
			t.Errorf("%s: %d signs and %d bars for %d lures", v.ID, marks, bars, lures)
		}
	}
}

func TestAllLuresInOnePlace(t *testing.T) {
	fan, sc := summer()
	for i := range fan.Rods {
		for j := range fan.Rods[i].Lures {
			fan.Rods[i].Lures[j].BodyFan = fan.Rods[0].Lures[0].BodyFan
		}
	}
	checkDrawing(t, LinesPlan(fan, sc, Options{}))
}

func TestPlanSkipsWhatIsNotFinite(t *testing.T) {
	fan, sc := summer()
	fan.Rods[0].Lures[0].Depth = math.NaN()
	fan.Rods[1].Lures[0].Astern = math.Inf(1)
	fan.Rods[2].Parts[0].Points[3][1] = math.NaN()
	fan.Rods[3].Lures[0].DepthHi = math.Inf(1)
	fan.Water.Temperature[1][1] = math.NaN()
	checkDrawing(t, LinesPlan(fan, sc, Options{}))
}

func TestPathsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		paths := &sternfan.Paths{Rod: "p1", Vary: "dial"}
		reach := rapid.SampledFrom([]float64{0, 5, 60, 900}).Draw(t, "reach")
		for i := range rapid.IntRange(0, 9).Draw(t, "paths") {
			path := sternfan.Path{Label: "dial " + strconv.Itoa(i), Mark: float64(i)}
			slope := rapid.Float64Range(-1, 1).Draw(t, "slope")
			n := rapid.IntRange(0, 40).Draw(t, "ticks")
			for j := range n {
				s := reach * float64(j) / float64(n)
				path.Ticks = append(path.Ticks, sternfan.PathTick{Count: s, Status: sternfan.StatusOK, LureFan: sternfan.LureFan{BodyFan: body3("lure1", "spoon", [3]float64{-s, slope * s, (1 - math.Abs(slope)/2) * s}, 0.1)}})
			}
			paths.Paths = append(paths.Paths, path)
		}
		checkDrawing(t, PathsDrawing(paths, nil, Options{}))
	})
}

var decimals = regexp.MustCompile(`[.,%]`)

func TestOdds(t *testing.T) {
	for p, want := range map[float64]string{
		0.8: "4 times in 5", 0.5: "1 time in 2", 0.2: "1 time in 5", 0.1: "1 time in 10", 0.05: "1 time in 20",
		0.25: "1 time in 4", 2.0 / 3: "2 times in 3", 0.9: "9 times in 10", 0.95: "19 times in 20",
		0: "never", 1: "every time", 0.001: "less than 1 time in 20", 0.999: "more than 19 times in 20", -3: "never", 7: "every time",
	} {
		if got := Odds(p); got != want {
			t.Errorf("Odds(%g) = %q, want %q", p, got, want)
		}
	}
	if got := Odds(math.NaN()); got != "not known" {
		t.Errorf("Odds(NaN) = %q", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.03, 0.97).Draw(t, "p")
		said := Odds(p)
		if decimals.MatchString(said) {
			t.Fatalf("Odds(%g) = %q has decimals", p, said)
		}
		words := strings.Fields(said)
		a, errA := strconv.Atoi(words[0])
		b, errB := strconv.Atoi(words[len(words)-1])
		if errA != nil || errB != nil {
			t.Fatalf("Odds(%g) = %q", p, said)
		}
		// Twentieths are at most half a twentieth away.
		if math.Abs(float64(a)/float64(b)-p) > 0.0251 {
			t.Fatalf("Odds(%g) = %q", p, said)
		}
	})
}

func TestTableKeepsTheWidth(t *testing.T) {
	fan, sc := troubled()
	for _, width := range []int{96, 100, 140} {
		var b bytes.Buffer
		if err := Table(&b, fan, Options{Width: width, Scenario: sc}); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(b.String(), "\n") {
			if i > 0 && utf8.RuneCountInString(line) > width {
				t.Errorf("width %d: a line of %d: %s", width, utf8.RuneCountInString(line), line)
			}
		}
	}
}

func TestWordsNeverPromise(t *testing.T) {
	fan, sc := summer()
	bad, _ := troubled()
	for _, f := range []*sternfan.Fan{fan, bad, {}} {
		var b bytes.Buffer
		if err := Table(&b, f, Options{Scenario: sc}); err != nil {
			t.Fatal(err)
		}
		d := LinesPlan(f, sc, Options{})
		b.WriteString(d.Note + d.Alt)
		text := strings.ToLower(b.String())
		if strings.Contains(text, "safe") || strings.Contains(text, "nan") {
			t.Errorf("the report promises what it must not:\n%s", text)
		}
		if !strings.Contains(text, "not for navigation") {
			t.Error("the report does not say what it is not for")
		}
	}
}

func TestTableNamesCannotMoveTheCursor(t *testing.T) {
	fan, _ := summer()
	fan.Rods[0].Position = "port\x1b[2J\nhigh\u202ediver"
	fan.Rods[0].Warnings = []sternfan.Warning{{Text: "a\x1b]0;x\x07b"}}
	var b bytes.Buffer
	if err := Table(&b, fan, Options{}); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(b.String(), "\x1b\x07\u202e") {
		t.Errorf("control characters pass: %q", b.String())
	}
}

func TestJSON(t *testing.T) {
	fan, _ := summer()
	fan.Rods[0].Bodies = nil
	var a, b bytes.Buffer
	if err := JSON(&a, fan); err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(a.String(), "}\n") || strings.Count(a.String(), "\n") != 1 {
		t.Error("want one line and a newline at the end")
	}
	if !strings.Contains(a.String(), `"bodies":[]`) {
		t.Error("an empty list is not []")
	}
	var back sternfan.Fan
	if err := json.Unmarshal(a.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if fanLure(&back, 1) != fanLure(fan, 1) {
		t.Error("a lure does not come back with every digit")
	}
	if err := JSON(&b, &back); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Errorf("a second writing differs: %v", err)
	}
}

// fanLure returns a lure without what does not compare.
func fanLure(fan *sternfan.Fan, i int) (l struct{ Depth, Lo, Hi float64 }) {
	f := &fan.Rods[i].Lures[0]
	l.Depth, l.Lo, l.Hi = f.Depth, f.DepthLo, f.DepthHi
	return l
}

func TestJSONRefusesWhatIsNotFinite(t *testing.T) {
	for want, spoil := range map[string]func(*sternfan.Fan){
		"rods[2].lures[0].depth_hi_m":   func(f *sternfan.Fan) { f.Rods[2].Lures[0].DepthHi = math.NaN() },
		"rods[1].parts[0].points[4][2]": func(f *sternfan.Fan) { f.Rods[1].Parts[0].Points[4][2] = math.Inf(-1) },
		"speed.probe_mps":               func(f *sternfan.Fan) { v := math.Inf(1); f.Speed.Probe = &v },
		"rods[0].solve.residual_m":      func(f *sternfan.Fan) { f.Rods[0].Solve.Residual = math.NaN() },
		"devices[1].bodies[0].astern_m": func(f *sternfan.Fan) { f.Devices[1].Bodies[0].Astern = math.NaN() },
		"water.temperature_c[3][1]":     func(f *sternfan.Fan) { f.Water.Temperature[3][1] = math.NaN() },
	} {
		fan, _ := summer()
		spoil(fan)
		for _, write := range []func(*bytes.Buffer) error{
			func(b *bytes.Buffer) error { return JSON(b, fan) },
			func(b *bytes.Buffer) error { return CSV(b, fan, unit.US) },
		} {
			var b bytes.Buffer
			err := write(&b)
			if !errors.Is(err, ErrNotFinite) || !strings.HasPrefix(err.Error(), want+":") {
				t.Errorf("want %s, got %v", want, err)
			}
			if b.Len() > 0 {
				t.Errorf("%s: wrote %d bytes before the error", want, b.Len())
			}
		}
	}
}

func TestCSVReadsBack(t *testing.T) {
	fan, _ := troubled()
	fan.Rods[1].Position = "=cmd|'/c calc'!A1"
	fan.Rods[2].Position = "low \"wire\", port\nside"
	var b bytes.Buffer
	if err := CSV(&b, fan, unit.US); err != nil {
		t.Fatal(err)
	}
	if strings.Count(b.String(), "\n") != strings.Count(b.String(), "\r\n") {
		t.Error("a line does not end in CR LF")
	}
	rows, err := csv.NewReader(&b).ReadAll() // fails on rows of unequal length
	if err != nil {
		t.Fatal(err)
	}
	bodies := 0
	for _, tracks := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for i := range tracks {
			bodies += len(tracks[i].Bodies) + len(tracks[i].Lures)
		}
	}
	if len(rows) != bodies+2 {
		t.Errorf("%d rows for %d bodies", len(rows), bodies)
	}
	for _, r := range rows {
		for _, c := range r {
			if strings.HasPrefix(c, "=") {
				t.Errorf("a spreadsheet would run %q", c)
			}
		}
	}
	if rows[1][6] != "ft" || rows[0][6] != "line out" {
		t.Errorf("units: %v", rows[1])
	}
}

func TestHeadlineSaysWhatTheVerdictSays(t *testing.T) {
	fan, _ := summer()
	if got := Headline(fan, unit.US); !strings.HasPrefix(got, "9 lines run clear at 2.4 mph") || !strings.Contains(got, "90 ft (86-94)") {
		t.Error(got)
	}
	rod := fan.Rods[2].Rod
	remark := sternfan.Finding{Code: "near-trip", Grade: sternfan.GradeKnow, Rods: []string{rod}, Text: "Port low diver: close to its trip load"}
	wrong := sternfan.Finding{Code: "wrong-side", Grade: sternfan.GradeSet, Rods: []string{rod}, Text: "Port low diver has its dial set to starboard", Do: "set it to port"}
	fan.Verdict = &sternfan.Verdict{Grade: remark.Grade, Findings: []sternfan.Finding{remark}}
	if got := Headline(fan, unit.US); !strings.HasPrefix(got, "9 lines run clear") || !strings.HasSuffix(got, "1 remark below.") {
		t.Error(got)
	}
	fan.Verdict = &sternfan.Verdict{Grade: wrong.Grade, Findings: []sternfan.Finding{wrong, remark}}
	if got, want := Headline(fan, unit.US), "Port low diver has its dial set to starboard. Set it to port."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	// What the answer does not cover is said first, and then nothing is called clear.
	fan.Verdict, fan.Missing = &sternfan.Verdict{Grade: sternfan.GradeClear}, []sternfan.Missing{{Rod: rod, Why: "no resting place was found"}}
	if got := Headline(fan, unit.US); !strings.HasPrefix(got, "Port low diver is missing: no resting place was found. 8 lines run at") {
		t.Error(got)
	}
	fan.Missing = nil
	one := &sternfan.Fan{Rods: fan.Rods[:1], Speed: fan.Speed, Verdict: fan.Verdict}
	if got := Headline(one, unit.US); !strings.HasPrefix(got, "1 line runs clear") {
		t.Error(got)
	}
	// A spread that nobody judged is not called clear.
	one.Verdict = nil
	if got := Headline(one, unit.US); strings.Contains(got, "clear") {
		t.Error(got)
	}
}

func TestSpeedLineNamesAllThree(t *testing.T) {
	probe, depth := 0.98, 24.0
	for want, s := range map[string]sternfan.SpeedFan{
		"Speed given: 2.5 mph over ground; that is 2.2 mph through the surface water.":                                       {Given: sternfan.SpeedGround, OverGround: 1.1, Surface: 1.0},
		"Speed given: 2.2 mph through the surface water; that is 2.5 mph over ground and 2.2 mph at the probe (79 ft down).": {Given: sternfan.SpeedSurface, OverGround: 1.1, Surface: 1.0, Probe: &probe, ProbeDepth: &depth},
		"Speed given: 2.2 mph at the probe (79 ft down); that is 2.5 mph over ground and 2.2 mph through the surface water.": {Given: sternfan.SpeedProbe, OverGround: 1.1, Surface: 1.0, Probe: &probe, ProbeDepth: &depth},
		"Speed given: 2.2 mph through the surface water; that is 2.5 mph over ground.":                                       {Given: sternfan.SpeedProbe, OverGround: 1.1, Surface: 1.0},
	} {
		if got := speedWords(&sternfan.Fan{Speed: s}, unit.US); got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
}

func TestPlanSaysWhatItDoesNotDraw(t *testing.T) {
	bad, sc := troubled()
	if note := LinesPlan(bad, sc, Options{}).Note; !strings.Contains(note, "Not drawn: starboard board and starboard low diver.") {
		t.Error(note)
	}
}
