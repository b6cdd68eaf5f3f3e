package report

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

// All figures here are made up for these tests.

func madeLevel(name string, strikes, events int, hours, order float64) sternfan.RateLevel {
	rate := float64(events) / hours
	sd := math.Sqrt(float64(events)+0.5) / hours
	around := func(v float64) sternfan.Interval {
		return sternfan.Interval{Lo: math.Max(0, v-1.28*sd), Hi: v + 1.28*sd}
	}
	pooled := (rate*hours + 0.2*10) / (hours + 10)
	return sternfan.RateLevel{Level: name, RodHours: hours, Strikes: strikes, Events: events, Rate: rate, Exact: around(rate), MidP: around(rate),
		Each: float64(strikes) / hours, EachMidP: around(float64(strikes) / hours), Pooled: pooled, PooledIn: around(pooled), First: 0.25, Order: order, Expected: 0.2 * hours}
}

func madeContrast(a, b string, verdict sternfan.Certainty, luck float64, e sternfan.RatioEstimate) sternfan.Contrast {
	each := e
	each.A, each.Ratio = e.A+2, e.Ratio*1.1
	return sternfan.Contrast{A: a, B: b, Events: e, Each: each, Luck: luck, Verdict: verdict}
}

func madeRates() *sternfan.Rates {
	e := sternfan.RatioEstimate{A: 14, B: 7, HoursA: 61, HoursB: 61, Strata: 12, Ratio: 2, Exact: sternfan.Interval{Lo: 0.95, Hi: 4.3}, MidP: sternfan.Interval{Lo: 1.04, Hi: 3.9},
		P: 0.19, PMid: 0.12, Chance: 0.905, Decidable: true, Method: "exact", More: 372}
	return &sternfan.Rates{Compare: "diver.color", Given: []string{"trip-hour"}, Confidence: 0.8, FlurryS: 300, Trips: 5, Stints: 90, RodHours: 131, Strikes: 25, Events: 21,
		Unknown: sternfan.RatesUnknown{RodHours: 4, Strikes: 1, NoEffort: 2}, Levels: []sternfan.RateLevel{madeLevel("bright", 17, 14, 66, 0), madeLevel("black", 8, 7, 65, 0)},
		Contrasts: []sternfan.Contrast{madeContrast("bright", "black", sternfan.CertaintyLikely, 0.19, e)}, Looked: 1, Pooling: sternfan.Pooling{Method: "made", Spread: 0.4}, Demo: true}
}

func madeHours() *sternfan.Rates {
	r := &sternfan.Rates{Compare: "hour", Given: []string{"trip"}, Confidence: 0.8, FlurryS: 300, Trips: 5, Stints: 90, RodHours: 120, Strikes: 46, Events: 40, Ordered: true, Looked: 6, Demo: true}
	for i, n := range []int{14, 10, 6, 4, 2, 4} {
		name := []string{"05-06 h", "06-07 h", "07-08 h", "08-09 h", "09-10 h", "10-11 h"}[i]
		r.Levels = append(r.Levels, madeLevel(name, n+1, n, 20, float64(5+i)))
		e := sternfan.RatioEstimate{A: n, B: 40 - n, HoursA: 20, HoursB: 100, Strata: 5, Ratio: 5 * float64(n) / float64(40-n), MidP: sternfan.Interval{Lo: 3 * float64(n) / float64(40-n), Hi: 8 * float64(n) / float64(40-n)},
			P: 0.4, PMid: 0.3, Chance: 0.8, Decidable: true, Method: "exact", More: 900}
		c := madeContrast(name, "", sternfan.CertaintyOpen, 1, e)
		if i == 0 {
			c.Verdict, c.Luck, c.Events.P = sternfan.CertaintyBetter, 0.012, 0.002
		}
		r.Contrasts = append(r.Contrasts, c)
	}
	return r
}

// madeNone is a comparison of too little: two lures without a strike.
func madeNone() *sternfan.Rates {
	c := sternfan.Contrast{A: "spoon", B: "plug", Events: sternfan.RatioEstimate{HoursA: 2, HoursB: 2, Open: true, MidP: sternfan.Interval{Open: true}, P: 1}, Luck: 1, Verdict: sternfan.CertaintyTooLittle}
	c.Each = c.Events
	return &sternfan.Rates{Compare: "lure", Given: []string{"none"}, Confidence: 0.8, Levels: []sternfan.RateLevel{madeLevel("spoon", 0, 0, 2, 0), madeLevel("plug", 0, 0, 2, 0)},
		RodHours: 4, Trips: 1, Stints: 2, Contrasts: []sternfan.Contrast{c}, Looked: 1}
}

func TestRatesGolden(t *testing.T) {
	var b bytes.Buffer
	all := []*sternfan.Rates{madeRates(), madeHours(), madeNone(), {Compare: "dial"}}
	if err := RatesTable(&b, all, Options{Width: 100}); err != nil {
		t.Fatal(err)
	}
	golden(t, "rates.txt", b.Bytes())
	b.Reset()
	if err := RatesCSV(&b, all); err != nil {
		t.Fatal(err)
	}
	golden(t, "rates.csv", b.Bytes())
	b.Reset()
	if err := RatesJSON(&b, all[:1]); err != nil {
		t.Fatal(err)
	}
	golden(t, "rates-answer.json", b.Bytes())
	golden(t, "rates.json", drawingText(t, RatesDrawing(madeRates())))
	golden(t, "rates-hour.json", drawingText(t, RatesDrawing(madeHours())))
	golden(t, "rates-none.json", drawingText(t, RatesDrawing(madeNone())))
}

// A picture never leaves its frame, whatever the rates: one lucky strike in a minute, a
// level beside it without any, and more levels than there is room for.
func TestRatesDrawingStaysInside(t *testing.T) {
	r := madeNone()
	r.Levels = []sternfan.RateLevel{madeLevel("lucky", 1, 1, 1.0/60, 0), madeLevel("none", 0, 0, 80, 0)}
	long := &sternfan.Rates{Compare: "lure"}
	for range 60 {
		long.Levels = append(long.Levels, madeLevel(strings.Repeat("a long name ", 9), 3, 3, 12, 0))
	}
	for _, r := range []*sternfan.Rates{r, long, {Compare: "lure"}} {
		d := RatesDrawing(r)
		for i := range d.Views {
			v := &d.Views[i]
			if v.Place[1]+math.Abs(v.V.To-v.V.From) > d.Height {
				t.Errorf("%d levels: the frame ends at %g of %g mm", len(r.Levels), v.Place[1]+v.V.To, d.Height)
			}
			for _, s := range v.Shapes {
				for _, p := range s.Points {
					if !(p[0] >= 0 && p[0] <= v.U.To || s.Kind == sternfan.ShapeText) || !(p[1] >= 0 && p[1] <= v.V.To) {
						t.Errorf("%s at %v is outside of %g by %g", s.Alt, p, v.U.To, v.V.To)
					}
				}
			}
		}
	}
}

// What each verdict promises is said in its words, and a level that is behind is worse.
func TestVerdictWords(t *testing.T) {
	for _, c := range []struct {
		verdict sternfan.Certainty
		ratio   float64
		luck    float64
		want    string
	}{
		{sternfan.CertaintyBetter, 2, 0.04, "Better (about 19 times in 20): level to 4 times."},
		{sternfan.CertaintyBetter, 0.5, 0.004, "Worse (more than 99 times in 100): level to 4 times."},
		{sternfan.CertaintyLikely, 2, 0.19, "Likely better (about 9 times in 10), by how much is open: level to 4 times."},
		{sternfan.CertaintyLevel, 1, 0.9, "About level: within a quarter either way, 4 times in 5."},
		{sternfan.CertaintyOpen, 1.5, 0.5, "Cannot tell: it may be anything from level to 4 times."},
		{sternfan.CertaintyTooLittle, 0, 1, "Cannot tell: too little. With so few strikes not even the most one-sided outcome could have told."},
	} {
		k := sternfan.Contrast{Verdict: c.verdict, Luck: c.luck, Events: sternfan.RatioEstimate{Ratio: c.ratio, MidP: sternfan.Interval{Lo: 1, Hi: 4}}}
		if got := verdictWords(&k); got != c.want {
			t.Errorf("%s: %q, want %q", c.verdict, got, c.want)
		}
	}
}

// Ratios as people say them.
func TestFactorWords(t *testing.T) {
	for _, c := range []struct {
		ratio float64
		want  string
	}{
		{0.02, "less than a tenth"}, {0.26, "a quarter"}, {0.34, "a third"}, {0.5, "half"}, {0.66, "two thirds"}, {0.89, "nine tenths"}, {0.95, "level"}, {1.1, "level"},
		{1.38, "1.4 times"}, {2, "twice"}, {2.4, "2½ times"}, {3.4, "3½ times"}, {4.1, "4 times"}, {31, "31 times"}, {800, "over 100 times"},
	} {
		if got := factor(c.ratio); got != c.want {
			t.Errorf("%g: %q, want %q", c.ratio, got, c.want)
		}
	}
}

func madeTrial() *sternfan.Trial {
	return &sternfan.Trial{Compare: "diver.color", Levels: []string{"bright", "black"}, RatePerH: 0.15, Power: 0.8, HoursEach: 5.8, Lost: 0.4,
		Rods: []sternfan.TrialRod{{ID: "port-high", Side: sternfan.Port}, {ID: "starboard-high", Side: sternfan.Starboard}},
		Turns: []sternfan.TrialTurn{{FromMin: 0, ToMin: 90, Carries: []string{"bright", "black"}}, {FromMin: 90, ToMin: 180, Carries: []string{"black", "bright"}},
			{FromMin: 180, ToMin: 270, Carries: []string{"black", "bright"}}, {FromMin: 270, ToMin: 360, Carries: []string{"bright", "black"}}},
		Balance:  []sternfan.TrialTally{{Level: "bright", Port: 2.9, Starboard: 2.9, Midtime: 180}, {Level: "black", Port: 2.9, Starboard: 2.9, Midtime: 181}},
		Needs:    []sternfan.TrialNeed{{Ratio: 1.25, LikelyHours: 2100, BetterHours: 3700, LikelyOne: 0.1, BetterOne: 0.02}, {Ratio: 3, LikelyHours: 61, BetterHours: 1e6, LikelyOne: 0.5, BetterOne: 0.2}},
		Troubles: []string{"Too few turns to run forward and back."}}
}

func TestTrialGolden(t *testing.T) {
	var b bytes.Buffer
	if err := TrialTable(&b, madeTrial(), Options{Width: 100}); err != nil {
		t.Fatal(err)
	}
	golden(t, "trial.txt", b.Bytes())
}

func TestFiredWords(t *testing.T) {
	f := &sternfan.Fired{Strikes: 8, Looked: 14, Hints: []sternfan.Share{
		{Attribute: "lure.color", Level: "gold", Hits: 5, Of: 6, Expected: 1.5, Luck: 0.0046, LuckAny: 0.064, Evidence: 1.1},
		{Attribute: "dial", Level: "mark 2", Hits: 2, Of: 6, Expected: 1.5, Luck: 0.4, LuckAny: 1, Evidence: 0.1},
	}}
	got := FiredWords(f)
	want := "5 of the last 6 strikes on lure color gold, where its share of the lines out would give 1.5. Luck does that about 1 time in 220, about 1 time in 16 somewhere among the 14 things looked at."
	if len(got) != 1 || got[0] != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func madeFit() *sternfan.DepthFit {
	row := func(line int, rod string, kind sternfan.MeasuredKind, value, before, after, trust float64) sternfan.MeasuredFit {
		m := sternfan.MeasuredFit{Measurement: sternfan.Measurement{Dated: "2026-07-11", Rod: rod, Kind: kind, Value: value, SD: 0.6, Settings: []string{}, Line: line}, Before: before, After: after, Trust: trust, Solved: true}
		if kind == sternfan.MeasuredAngle {
			m.SD = 2
		}
		return m
	}
	return &sternfan.DepthFit{
		Version: 1, Mark: "c5713a19", Dated: "2026-07-12", Settled: true, Passes: 9,
		Measured: []sternfan.MeasuredFit{
			row(2, "p-low", sternfan.MeasuredDepth, 17.7, 20.1, 17.9, 0.98), row(3, "p-low", sternfan.MeasuredDepth, 24.1, 26.9, 24.0, 0.98), row(4, "p-low", sternfan.MeasuredDepth, 11.3, 12.5, 11.1, 0.98),
			row(5, "s-low", sternfan.MeasuredDepth, 18.3, 20.7, 18.6, 0.98), row(6, "s-low", sternfan.MeasuredDepth, 24.4, 27.0, 24.2, 0.98), row(7, "s-low", sternfan.MeasuredDepth, 22.3, 15.2, 13.5, 0.01),
			row(8, "p-low", sternfan.MeasuredBottom, 25.9, 29.5, 26.3, 0.97), row(9, "s-low", sternfan.MeasuredAngle, 21, 24, 21.4, 0.97), row(10, "dr-center", sternfan.MeasuredRange, 31.7, 32.9, 32.0, 0.98),
		},
		Numbers: []sternfan.FittedNumber{
			{Name: "diver diver-large incidence", Param: "incidence", Unit: "rad", Before: 0.785, BeforeL: 0.7, BeforeH: 0.87, After: 0.84, AfterL: 0.79, AfterH: 0.89, ScoreSD: 0.5, Saved: true},
			{Name: "diver diver-large normal", Param: "normal", Unit: "", Before: 1, BeforeL: 0.77, BeforeH: 1.29, After: 0.86, AfterL: 0.74, AfterH: 0.99, ScoreSD: 0.6, Saved: true},
			{Name: "speed", Param: "speed", Unit: "m/s", Before: 1.1, BeforeL: 1.05, BeforeH: 1.15, After: 1.12, AfterL: 1.08, AfterH: 1.16, ScoreSD: 0.8, Saved: true},
		},
		Alike: []sternfan.AlikeNumbers{{A: "diver diver-large incidence", B: "diver diver-large normal", Rho: -0.93}}, Quiet: []string{"current"},
		Lures: []sternfan.FittedLure{
			{Rod: "p-low", Position: "port low diver", Side: sternfan.Port, Lure: "lure-1", Before: 20.1, BeforeLo: 17.4, BeforeHi: 22.9, After: 17.9, AfterLo: 16.9, AfterHi: 19.0, LineOut: 39.6, LineFor: 44.5},
			{Rod: "s-low", Position: "starboard low diver", Side: sternfan.Starboard, Lure: "lure-1", Before: 20.7, BeforeLo: 17.9, BeforeHi: 23.8, After: 18.6, AfterLo: 17.6, AfterHi: 19.8, LineOut: 45.7, LineFor: 51},
			{Rod: "chute", Position: "chute", Lure: "lure-1", Before: 12, BeforeLo: 10, BeforeHi: 14, After: 12.1, AfterLo: 10.1, AfterHi: 14.1, LineOut: 90},
		},
		Next: []sternfan.NextMeasurement{{Rod: "chute", Position: "chute", Kind: sternfan.MeasuredDepth, LineOut: 123, SD: 0.6, Narrows: 0.13}},
		Save: []sternfan.SavedNumber{{Name: "diver diver-large incidence", Shift: 0.055, Kind: "normal", SD: 0.04, Dated: "2026-07-12", Source: "9 measured, mark c5713a19"},
			{Name: "current", Scale: 1.1, Kind: "lognormal", SD: 0.2, Dated: "2026-07-11", Source: "that day's only", Off: true}},
	}
}

func TestDepthFitGolden(t *testing.T) {
	var b bytes.Buffer
	f := madeFit()
	if err := DepthFitTable(&b, f, Options{Width: 100}); err != nil {
		t.Fatal(err)
	}
	f.SavedTo = "calibrated.yaml"
	f.Measured[1].Solved = false
	f.Unreckoned, f.Unmodeled, f.Settled = 1, true, false
	b.WriteString("\n")
	if err := DepthFitTable(&b, f, Options{Width: 100, Units: unit.SI}); err != nil {
		t.Fatal(err)
	}
	golden(t, "depth-fit.txt", b.Bytes())
	b.Reset()
	var all []sternfan.Calibration
	for i := range f.Save {
		all = append(all, f.Save[i].Calibration())
	}
	if got, want := strings.Join(CalibrationLines(all), "\n"), "on   2026-07-12  diver diver-large incidence: +0.055 ± 0.04  9 measured, mark c5713a19\noff  2026-07-11  current: × 1.100 ± 20 %  that day's only"; got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	if err := DepthFitJSON(&b, madeFit(), unit.US); err != nil {
		t.Fatal(err)
	}
	golden(t, "depth-fit-answer.json", b.Bytes())
	golden(t, "depth-fit.json", drawingText(t, DepthFitDrawing(madeFit(), unit.US)))
}

// Most of what was measured set aside: nothing is told but to look again.
func TestStrangeFit(t *testing.T) {
	f := madeFit()
	for i := range f.Measured {
		f.Measured[i].Trust = 0.1
	}
	if got := DepthFitWords(f, unit.US)[0]; !strings.HasPrefix(got, "Check the rows and the rig") {
		t.Errorf("%q", got)
	}
	f.Measured = nil
	if d := DepthFitDrawing(f, unit.US); !strings.HasPrefix(d.Alt, "No depth was measured.") {
		t.Errorf("%q", d.Alt)
	}
}

func madeSeason() *sternfan.Season {
	s := &sternfan.Season{From: "2026-06-03", To: "2026-08-21", Trips: 6, Cell: 1000, Cells: []sternfan.SeasonCell{}, Strikes: []sternfan.SeasonStrike{}, Unplaced: 7.5, Without: 2}
	// A made-up corner of a lake of nowhere: the Gulf of Guinea's open water.
	for i := range 9 {
		for k := range 5 {
			h := 12 * math.Exp(-float64((i-4)*(i-4))/6-float64((k-2)*(k-2))/2)
			if h < 0.3 {
				continue
			}
			c := sternfan.SeasonCell{Middle: sternfan.Place{Lat: 0.5 + float64(k)/111.195, Lon: -1.25 + float64(i)/111.195}, RodHours: h, Strikes: int(h / 3)}
			s.RodHours += h
			for n := range c.Strikes {
				s.Strikes = append(s.Strikes, sternfan.SeasonStrike{Place: sternfan.Place{Lat: c.Middle.Lat + 0.002*float64(n-1), Lon: c.Middle.Lon - 0.0025*float64(n)}, Day: "2026-07-11", Rod: "p-low", Species: "coho salmon", Landed: n%3 != 1})
			}
			s.Cells = append(s.Cells, c)
		}
	}
	return s
}

func TestSeasonGolden(t *testing.T) {
	golden(t, "season.json", drawingText(t, SeasonDrawing(madeSeason(), unit.US)))
	golden(t, "season-empty.json", drawingText(t, SeasonDrawing(&sternfan.Season{Trips: 1, From: "2026-06-03", To: "2026-06-03", Without: 3}, unit.US)))
}

// Everything drawn lies where its place is: at one scale both ways, north up, and inside
// the frame, at any latitude.
func TestSeasonScale(t *testing.T) {
	for _, lat := range []float64{-41, 0, 44, 66} {
		s := madeSeason()
		cos := math.Cos((lat + 0.5) * math.Pi / 180)
		for i := range s.Cells {
			s.Cells[i].Middle.Lat += lat
			s.Cells[i].Middle.Lon = -76 + (s.Cells[i].Middle.Lon+1.25)/cos
		}
		s.Strikes = s.Strikes[:0]
		// Two strikes a mile apart to the north and two to the east.
		m := s.Cells[0].Middle
		for _, d := range [][2]float64{{0, 0}, {mile / lengthOfDegree, 0}, {0, mile / lengthOfDegree / cos}} {
			s.Strikes = append(s.Strikes, sternfan.SeasonStrike{Place: sternfan.Place{Lat: m.Lat + d[0], Lon: m.Lon + d[1]}, Day: "2026-06-03", Rod: "p"})
		}
		v := SeasonDrawing(s, unit.US).Views[0]
		var signs [][2]float64
		for _, shape := range v.Shapes {
			for _, p := range shape.Points {
				if p[0] < v.U.From || p[0] > v.U.To || p[1] < v.V.From || p[1] > v.V.To {
					t.Errorf("%s at %v is outside", shape.Alt, p)
				}
			}
			if shape.Kind == sternfan.ShapeMarker {
				signs = append(signs, shape.Points[0])
			}
		}
		// A sphere's mile differs across the map by the cosine's change, under a part in a hundred here.
		if north := signs[0][1] - signs[1][1]; math.Abs(north-mile) > 1 {
			t.Errorf("at %g: a mile to the north is drawn %.0f m up", lat, north)
		}
		if east := signs[2][0] - signs[0][0]; math.Abs(east/mile-1) > 0.01 {
			t.Errorf("at %g: a mile to the east is drawn %.0f m to the right", lat, east)
		}
	}
}

// A long season's strikes are discs, in area as their number, none drawn by itself.
func TestSeasonOfManyStrikes(t *testing.T) {
	s := madeSeason()
	many := s.Strikes[0]
	for len(s.Strikes) <= mostSigns {
		s.Strikes = append(s.Strikes, many)
	}
	want := 0
	for i := range s.Cells {
		if s.Cells[i].Strikes > 0 {
			want++
		}
	}
	discs, widest := 0, 0.0
	for _, shape := range SeasonDrawing(s, unit.US).Views[0].Shapes {
		if shape.Kind == sternfan.ShapeMarker {
			t.Fatalf("a strike is drawn by itself: %s", shape.Alt)
		}
		if strings.Contains(shape.Alt, " about ") && strings.Contains(shape.Alt, "strike") && len(shape.Points) > 4 {
			discs++
			widest = math.Max(widest, shape.Points[0][0]-shape.Points[len(shape.Points)/2][0])
		}
	}
	if discs != want || widest > 0.9*s.Cell+1e-6 || widest < 0.89*s.Cell {
		t.Errorf("%d discs, the widest %g m, in %d squares of %g m", discs, widest, want, s.Cell)
	}
}
