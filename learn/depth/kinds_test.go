package depth

import (
	"errors"
	"math"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"sternfan"
	"sternfan/learn/rows"
	"sternfan/spread"
	"sternfan/tackle"
)

func fitRows(t *testing.T, boat, rows string) *sternfan.DepthFit {
	t.Helper()
	sc := decodeText(boat)
	ms, err := ReadMeasured("m.csv", []byte(rows), sc)
	if err != nil {
		t.Fatal(err)
	}
	out, err := Learn(t.Context(), Query{Scenario: sc, Measured: ms, With: withOf(t, boat), Mark: "abc"})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// reads returns what the engine says of one row, at nominal numbers.
func reads(t *testing.T, boat, row string) float64 {
	t.Helper()
	return fitRows(t, boat, row).Measured[0].Before
}

// A sounder's range to the ball is the straight line from the transducer: by Pythagoras
// from the ball's depth, side and distance astern.
func TestRangeIsSlant(t *testing.T) {
	t.Parallel()
	row := func(kind string) string {
		return "date,rod,kind,value,line_out,speed,transducer_aft,transducer_starboard,transducer_down\n2026-06-03,dr," + kind + ",60 ft,90 ft,3 mph,2 ft,3 ft,1 ft\n"
	}
	z, y, x := reads(t, depthBoat, row("depth")), reads(t, depthBoat, row("side")), reads(t, depthBoat, row("astern"))
	got := reads(t, depthBoat, row("range"))
	// The ball hangs to port, and side is taken from the center line on the boom's side.
	want := math.Sqrt((x-2*foot)*(x-2*foot) + (-math.Abs(y)-3*foot)*(-math.Abs(y)-3*foot) + (z-foot)*(z-foot))
	if math.Abs(got-want) > 0.02 || got < z+0.3 {
		t.Errorf("range %.3f m, want %.3f; the depth is %.3f", got, want, z)
	}
}

// A lure that touches at 150 ft of line and not at 140 is between the depths of the two;
// the water's depth pulls the fit there and no further.
func TestBottomIsAnInterval(t *testing.T) {
	t.Parallel()
	head := "date,rod,kind,value,sd,line_out,touched_at,clear_at\n"
	deep := reads(t, depthBoat, head+"2026-06-03,p1,depth,80 ft,2 ft,150 ft,,\n")
	up := reads(t, depthBoat, head+"2026-06-03,p1,depth,80 ft,2 ft,140 ft,,\n")
	between := (deep + up) / 2
	bottom := func(at float64) *sternfan.DepthFit {
		return fitRows(t, depthBoat, head+"2026-06-03,p1,bottom,"+number(at)+" m,0.1 m,,150 ft,140 ft\n")
	}
	inside, off := bottom(between), bottom(0.93*between)
	most := func(f *sternfan.DepthFit) float64 {
		v := 0.0
		for _, n := range f.Numbers {
			v = math.Max(v, math.Abs(n.Score))
		}
		return v
	}
	if most(inside) > 0.05 {
		t.Errorf("the bottom where it was reckoned moves a number by %.2f", most(inside))
	}
	if after := off.Measured[0].After; after > 0.93*deep+0.15*deep || after > deep-0.4 {
		t.Errorf("over a bottom at %.2f m the lure is reckoned at %.2f m with 150 ft out, before %.2f m", 0.93*between, after, deep)
	}
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }

// A number saved with the scenario puts the lures where the fit said.
func TestSavedIsUsed(t *testing.T) {
	t.Parallel()
	head := "date,rod,kind,value,sd,line_out,speed\n"
	rows := head + "2026-06-03,p1,depth,68 ft,2 ft,150 ft,\n2026-06-03,p1,depth,88 ft,2 ft,200 ft,\n2026-06-04,s1,depth,70 ft,2 ft,180 ft,\n2026-06-04,s1,pull,8 lb,0.5 lb,180 ft,\n"
	out := fitRows(t, depthBoat, rows)
	if len(out.Save) == 0 || out.Dated != "2026-06-04" {
		t.Fatalf("saved %d numbers, dated %s", len(out.Save), out.Dated)
	}
	sc := decodeText(depthBoat)
	for _, s := range out.Save {
		sc.Calibrations = append(sc.Calibrations, s.Calibration())
	}
	for _, l := range out.Lures {
		k, err := newStand(t.Context(), sc, l.Rod)
		if err != nil || !k.Place(t.Context(), nil) {
			t.Fatal("no rest found", err)
		}
		// What moved by less than a fifth of a deviation is not saved: some inches.
		if z := k.Nodes[k.first].Z; math.Abs(z-l.After) > 0.01*l.After {
			t.Errorf("%s runs at %.2f m with the numbers saved, the fit said %.2f", l.Rod, z, l.After)
		}
	}
	// Their ties keep depths as narrow as the fit has them, but for curvature.
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	fan, err := spread.Solve(t.Context(), m, spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range out.Lures {
		for _, r := range fan.Rods {
			if r.Rod != l.Rod {
				continue
			}
			got, want := r.Lures[0].DepthHi-r.Lures[0].DepthLo, l.AfterHi-l.AfterLo
			if math.Abs(got/want-1) > 0.15 {
				t.Errorf("%s has an interval of %.2f m with the numbers saved, the fit said %.2f", l.Rod, got, want)
			}
		}
	}
	// One switched off takes its ties with it; ties that contradict one another are refused.
	sc.Calibrations[0].Off = true
	if m, faults = tackle.Resolve(sc); len(faults) > 0 {
		t.Error(faults)
	} else {
		for _, e := range m.Registry {
			for _, c := range e.Corr {
				if c.With == sc.Calibrations[0].Name {
					t.Errorf("%s is tied to what is off", e.Name)
				}
			}
		}
	}
	sc.Calibrations[0].Off = false
	bent := *sc
	bent.Calibrations = slices.Clone(sc.Calibrations)
	for i := range bent.Calibrations {
		c := &bent.Calibrations[i]
		c.Corr = nil
		for k := range i {
			c.Corr = append(c.Corr, sternfan.Correlation{With: bent.Calibrations[k].Name, Rho: -0.9})
		}
	}
	if _, faults := tackle.Resolve(&bent); len(faults) == 0 && len(bent.Calibrations) > 2 {
		t.Error("three numbers cannot each go against the other two")
	}
	// Twice is once too often; undone, the scenario is as it was.
	if _, err := Learn(t.Context(), Query{Scenario: sc, Measured: []sternfan.Measurement{{Rod: "p1", Kind: sternfan.MeasuredDepth, Value: 20, SD: 1}}, With: withOf(t, depthBoat), Mark: "abc"}); err == nil {
		t.Error("measurements were counted twice")
	}
	left, mark, count := Undo(sc.Calibrations, "")
	if len(left) != 0 || mark != "abc" || count != len(out.Save) {
		t.Errorf("undo left %d of %d, mark %q", len(left), len(out.Save), mark)
	}
}

// The measurement named first does what it was said to: made, it narrows depths by as
// much as expected.
func TestNextNarrowsAsSaid(t *testing.T) {
	t.Parallel()
	head := "date,rod,kind,value,sd,line_out\n"
	rows := head + "2026-06-03,p1,depth,80 ft,2 ft,150 ft\n2026-06-03,s1,depth,84 ft,2 ft,180 ft\n"
	first := fitRows(t, depthBoat, rows)
	next := first.Next[0]
	if next.Kind != sternfan.MeasuredDepth && next.Kind != sternfan.MeasuredSide {
		t.Fatalf("next is %s", next.Kind)
	}
	value := reads(t, depthBoat, head+"2026-06-05,"+next.Rod+","+string(next.Kind)+",80 ft,2 ft,"+number(next.LineOut)+" m\n")
	second := fitRows(t, depthBoat, rows+"2026-06-05,"+next.Rod+","+string(next.Kind)+","+number(value)+" m,"+number(next.SD)+" m,"+number(next.LineOut)+" m\n")
	sum := func(f *sternfan.DepthFit) float64 {
		v := 0.0
		for _, l := range f.Lures {
			v += (l.AfterHi - l.AfterLo) * (l.AfterHi - l.AfterLo)
		}
		return v
	}
	got := 1 - sum(second)/sum(first)
	t.Logf("%s of %s at %.0f ft: said %.3f, did %.3f", next.Kind, next.Rod, next.LineOut/foot, next.Narrows, got)
	// Slopes differ a little at the two fits, and a gross error is allowed for.
	if math.Abs(got-next.Narrows) > 0.25*next.Narrows+0.01 {
		t.Errorf("said to narrow by %.3f, narrows by %.3f", next.Narrows, got)
	}
}

// Two numbers that only ever act as a sum cannot be told apart.
func TestAlikeIsSaid(t *testing.T) {
	t.Parallel()
	c := climb{n: 2, prior: []float64{1, 0, 0, 1}, grad: make([]float64, 2), h: make([]float64, 4)}
	f := &fit{x: make([]float64, 2), y: []float64{0}, jac: []float64{10, 10}, trust: make([]float64, 1)}
	c.data = []asked{{at: 0, clear: -1, sd: 1}}
	c.shape(f)
	// By hand: precision I + 100 [1 1; 1 1] has the correlation -100/101.
	if rho := f.cov[1] / math.Sqrt(f.cov[0]*f.cov[3]); math.Abs(rho+100.0/101) > 1e-12 {
		t.Errorf("correlation %v", rho)
	}
	w := &workshop{boat: boat{readings: []reading{{sd: 1}}}}
	for _, name := range []string{"one", "other"} {
		w.boat.columns = append(w.boat.columns, column{active: true, part: 1, entry: sternfan.Entry{Name: name, Nominal: 1, Scatter: sternfan.Rel(0.1)}})
	}
	var out sternfan.DepthFit
	w.numbers(&out, f)
	if len(out.Alike) != 1 || out.Alike[0].A != "one" || out.Alike[0].B != "other" {
		t.Errorf("told apart: %+v", out.Alike)
	}
}

func TestReadMeasuredFaults(t *testing.T) {
	t.Parallel()
	sc := decodeText(depthBoat)
	for _, c := range []struct{ text, code string }{
		{"date,rod,kind\n", "missing"},
		{"date,rod,kind,value,tide\n2026-06-03,p1,depth,60 ft,1\n", "unknown-key"},
		{"date,rod,kind,value\nyesterday,p1,depth,60 ft\n", "out-of-range"},
		{"date,rod,kind,value\n2026-06-03,p9,depth,60 ft\n", "unknown-id"},
		{"date,rod,kind,value\n2026-06-03,p1,depth,60 lb\n", "wrong-unit"},
		{"date,rod,kind,value,sd\n2026-06-03,p1,depth,60 ft,0 ft\n", "out-of-range"},
		{"date,rod,kind,value\n2026-06-03,p1,bottom,60 ft\n", "missing"},
		{"date,rod,kind,value\n2026-06-03,p1,side,-6 ft\n", "out-of-range"},
	} {
		_, err := ReadMeasured("m.csv", []byte(c.text), sc)
		var faults sternfan.Faults
		if !errors.As(err, &faults) || !slices.ContainsFunc(faults, func(f sternfan.Fault) bool { return f.Code == c.code && f.Line > 0 }) {
			t.Errorf("%q gives %v, want %s", c.text, err, c.code)
		}
	}
}

// A list in YAML says the same as a table.
func TestReadMeasuredList(t *testing.T) {
	t.Parallel()
	sc := decodeText(depthBoat)
	table, err := ReadMeasured("m.csv", []byte("date,rod,kind,value,sd,line_out,dial,touched_at,speed.value\n2026-06-03,p1,depth,60 ft,3 ft,150 ft,1.5,,2.4 mph\n2026-06-04,p1,bottom,85 ft,,,,200 ft,\n"), sc)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"measured:\n  - {date: 2026-06-03, rod: p1, kind: depth, value: 60 ft, sd: 3 ft, dial: 1.5, speed.value: 2.4 mph, line_out: 150 ft}\n  - date: 2026-06-04\n    rod: p1\n    kind: bottom\n    value: 85 ft\n    touched_at: 200 ft\n",
		`[{"date": "2026-06-03", "rod": "p1", "kind": "depth", "value": "60 ft", "sd": "3 ft", "dial": 1.5, "speed.value": "2.4 mph", "line_out": "150 ft"},
		  {"date": "2026-06-04", "rod": "p1", "kind": "bottom", "value": "85 ft", "sd": null, "touched_at": "200 ft"}]`,
	} {
		list, err := ReadMeasured("m.yaml", []byte(text), sc)
		if err != nil {
			t.Fatal(err)
		}
		for i := range list {
			list[i].Line = table[i].Line
			slices.Sort(list[i].Settings)
			slices.Sort(table[i].Settings)
		}
		if !reflect.DeepEqual(list, table) {
			t.Errorf("%+v, want %+v", list, table)
		}
	}
	for _, c := range []struct {
		text, code   string
		line, column int
	}{
		{"", "missing", 1, 1},
		{"3", "missing", 1, 1},
		{"measured: yes", "missing", 1, 11},
		{"readings: []", "unknown-key", 1, 1},
		{"- {date: 2026-06-03, rod: p1, kind: depth}", "missing", 1, 3},
		{"- {date: 2026-06-03, rod: p1, kind: depth, value: [60 ft]}", "wrong-unit", 1, 51},
		{"- {date: 2026-06-03, rod: p1, kind: depth, value: 60 ft, tide: 2}", "unknown-key", 1, 58},
		{"- {date: 2026-06-03, rod: p1, kind: depth, value: 60 lb}", "wrong-unit", 1, 51},
		{"- {date: 2026-06-03, rod: p1", "bad-yaml", 1, 3},
		{"- \xff", "not-text", 1, 1},
	} {
		_, err := ReadMeasured("m.yaml", []byte(c.text), sc)
		var faults sternfan.Faults
		if !errors.As(err, &faults) || faults[0].Code != c.code || faults[0].Line != c.line || faults[0].Column != c.column {
			t.Errorf("%q gives %#v, want %s at %d:%d", c.text, err, c.code, c.line, c.column)
		}
	}
}

// Any table or list is read or refused with a place, and what is read can be used.
func FuzzReadMeasured(f *testing.F) {
	f.Add("date,rod,kind,value,sd,line_out,dial\n2026-06-03,p1,depth,60 ft,2 ft,150 ft,1\n")
	f.Add("date,rod,kind,value,touched_at\n2026-06-03,p1,bottom,60 ft,150 ft\n")
	f.Add("date,rod,kind,value\n2026-06-03,dr,range,\"60\n")
	f.Add("- {date: 2026-06-03, rod: p1, kind: bottom, value: 60 ft, touched_at: 150 ft}\n")
	f.Add("measured:\n  - date: 2026-06-03\n    rod: dr\n    kind: range\n    value: \"60 ft\"\n    speed.value: 2 mph\n")
	f.Add("[{\"date\": null, \"rod\": [1], \"kind\": &a x, \"value\": *a}]")
	sc := decodeText(depthBoat)
	f.Fuzz(func(t *testing.T, text string) {
		ms, err := ReadMeasured("m.csv", []byte(text), sc)
		if err != nil {
			var faults sternfan.Faults
			if !errors.As(err, &faults) || len(faults) == 0 || len(faults) > rows.MostFaults {
				t.Fatalf("%v", err)
			}
			return
		}
		for _, m := range ms {
			if !(m.SD > 0) || !(m.Value >= 0) || math.IsInf(m.Value+m.SD, 0) || !hasRod(sc, m.Rod) {
				t.Fatalf("%+v", m)
			}
		}
	})
}

// The slopes of a measurement's part are those of its value, and trust is a chance.
func TestCostSlopes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := asked{at: 0, clear: 1, bottom: rapid.Bool().Draw(t, "bottom"), value: 20, sd: rapid.Float64Range(0.1, 3).Draw(t, "sd")}
		y := []float64{20 + rapid.Float64Range(-15, 15).Draw(t, "touched"), 0}
		y[1] = y[0] - rapid.Float64Range(0.5, 5).Draw(t, "less")
		p := a.cost(y, 1)
		if !(p.trust >= 0 && p.trust <= 1) || math.IsNaN(p.value) {
			t.Fatalf("%+v", p)
		}
		const h = 1e-5
		for k, pred := range a.preds() {
			if pred < 0 {
				continue
			}
			up, down := slices.Clone(y), slices.Clone(y)
			up[pred] += h
			down[pred] -= h
			want := (a.cost(up, 1).value - a.cost(down, 1).value) / (2 * h)
			if math.Abs(p.g[k]-want) > 1e-4*(1+math.Abs(want)) {
				t.Fatalf("slope %d is %v, differences give %v", k, p.g[k], want)
			}
		}
	})
}

// A boat that is not the one described is told so, and teaches nothing.
func TestAnotherBoatTeachesNothing(t *testing.T) {
	t.Parallel()
	rows := "date,rod,kind,value,sd,line_out,dial\n"
	for i, z := range []float64{80, 83, 86, 89} {
		rows += "2026-06-03,p1,depth," + number(z) + " ft,0.2 ft," + number(100+5*float64(i)) + " ft,0\n"
	}
	if out := fitRows(t, depthBoat, rows); !out.Strange() || len(out.Save) != 0 {
		t.Errorf("depths of four fifths of the line out are taken for this boat's: %d numbers to save", len(out.Save))
	}
}

// Exact depths at dial 0 tell the tow angle, and next to nothing of what hardly moves a
// wire line: its friction, its weight in water, the diver's give.
func TestQuietIsSaid(t *testing.T) {
	t.Parallel()
	head := "date,rod,kind,value,sd,line_out,dial,speed\n"
	rows := head
	for _, set := range []string{"90 ft,0,2.2 mph", "110 ft,0,2.4 mph", "130 ft,0,2.4 mph", "170 ft,0,2.6 mph"} {
		z := reads(t, depthBoat, head+"2026-06-03,p1,depth,60 ft,2 ft,"+set+"\n")
		rows += "2026-06-03,p1,depth," + number(z) + " m,0.01 m," + set + "\n"
	}
	out := fitRows(t, depthBoat, rows)
	for _, name := range []string{"line wire-30 friction", "line wire-30 mass", "diver diver-large give"} {
		if !slices.Contains(out.Quiet, name) {
			t.Errorf("%s is not among %v", name, out.Quiet)
		}
	}
	for _, n := range out.Numbers {
		if n.Name == "diver diver-large incidence" && (n.ScoreSD > 0.5 || math.Abs(n.Score) > 0.02 || slices.Contains(out.Quiet, n.Name)) {
			t.Errorf("measured as reckoned, the tow angle moves by %.3f and narrows to %.2f", n.Score, n.ScoreSD)
		}
	}
}
