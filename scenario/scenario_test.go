package scenario

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"

	"pgregory.net/rapid"
)

const minimal = `speed: {given: surface, value: 2.4 mph}
boat:
  holders:
    - {id: h1, tip: {port: 8 ft, up: 3 ft}}
rods:
  - id: p1
    holder: h1
    rig: {kind: flat-line, line: mono-17, behind: [{lure: spoon-standard}]}
    settings: {line_out: 90 ft}
`

// builtinIDs stands in for the built-in gear, a few of each kind.
var builtinIDs = map[string][]string{
	"line":  {"mono-17", "braid-50", "lead-core-27"},
	"diver": {"diver-standard", "diver-large"},
	"lure":  {"spoon-standard", "spoon-light"},
}

var withBuiltins = Options{
	Known: func(kind, id string) bool { return slices.Contains(builtinIDs[kind], id) },
	List:  func(kind string) []string { return builtinIDs[kind] },
}

// replaced is the minimal file with one text put for another.
func replaced(t testing.TB, old, with string) string {
	t.Helper()
	if strings.Count(minimal, old) != 1 {
		t.Fatalf("%q is in the file %d times", old, strings.Count(minimal, old))
	}
	return strings.Replace(minimal, old, with, 1)
}

func faultsOf(t testing.TB, err error) sternfan.Faults {
	t.Helper()
	var fs sternfan.Faults
	if err != nil && !errors.As(err, &fs) {
		t.Fatalf("the error is a %T", err)
	}
	return fs
}

func TestBadInput(t *testing.T) {
	rows := []struct {
		name, file     string
		code           string
		line, column   int
		path           string
		allowed, hints string // contained in the fault
	}{
		{"misspelt key", replaced(t, "holder: h1", "holdr: h1"), "unknown-key", 7, 5, "rods[0].holdr", "holder", "did you mean holder?"},
		{"wrong unit", replaced(t, "90 ft", "90 lb"), "wrong-unit", 9, 26, "rods[0].settings.line_out", "ft", ""},
		{"no unit", replaced(t, "90 ft", "90"), "missing-unit", 9, 26, "rods[0].settings.line_out", "ft", `write "90 ft"`},
		{"no rods", minimal[:strings.Index(minimal, "rods:")], "missing", 1, 1, "rods", "", "tied on"},
		{"empty list of rods", minimal[:strings.Index(minimal, "rods:")] + "rods: []\n", "missing", 5, 7, "rods", "1 to 64", ""},
		{"no holder", replaced(t, "    holder: h1\n", ""), "missing", 6, 5, "rods[0].holder", "", ""},
		{"negative length", replaced(t, "90 ft", "-90 ft"), "out-of-range", 9, 26, "rods[0].settings.line_out", "0 ft", ""},
		{"not a number", replaced(t, "90 ft", ".nan"), "not-finite", 9, 26, "rods[0].settings.line_out", "", ""},
		{"not a number with a unit", replaced(t, "90 ft", "NaN ft"), "not-finite", 9, 26, "rods[0].settings.line_out", "", ""},
		{"infinite", replaced(t, "2.4 mph", "-.inf"), "not-finite", 1, 32, "speed.value", "", ""},
		{"1e9 people", minimal + "people: 1e9\n", "out-of-range", 10, 9, "people", "0 to 100", ""},
		{"1e9th rod", minimal + "rods[1000000000]: x\n", "unknown-key", 10, 1, "rods[1000000000]", "rods", ""},
		{"65 rods", minimal + strings.Repeat("  - {id: a}\n", 64), "too-many", 6, 3, "rods", "1 to 64 entries", ""},
		{"1e5 rods", minimal + strings.Repeat("- {id: a}\n", 100_000), "too-large", 1, 1, "", "up to 40000", ""},
		{"very many rods", minimal + strings.Repeat("  - {id: a}\n", 5000), "too-many", 2009, 3, "", "64 rods", ""},
		{"1e12 ft", replaced(t, "90 ft", "1e12 ft"), "out-of-range", 9, 26, "rods[0].settings.line_out", "0 ft to 32808 ft", ""},
		{"1e400 ft", replaced(t, "90 ft", "1e400 ft"), "out-of-range", 9, 26, "rods[0].settings.line_out", "", ""},
		{"too fast", replaced(t, "2.4 mph", "40 mph"), "out-of-range", 1, 32, "speed.value", "-22.369 mph to 22.369 mph", ""},
		{"octal", minimal + "people: 010\n", "bad-number", 10, 9, "people", "", "write 10 for ten"},
		{"hexadecimal", minimal + "people: 0x10\n", "bad-number", 10, 9, "people", "", ""},
		{"duplicate id", replaced(t, "rods:\n", "    - {id: h1, tip: {}}\nrods:\n"), "duplicate-id", 5, 12, "boat.holders[1].id", "", "line 4"},
		{"duplicate key", minimal + "people: 3\npeople: 4\n", "duplicate-key", 11, 1, "", "", "keep one"},
		{"unknown holder", replaced(t, "holder: h1", "holder: h2"), "unknown-id", 7, 13, "rods[0].holder", "h1", "did you mean h1?"},
		{"unknown gear", replaced(t, "mono-17", "mono-71"), "unknown-gear", 8, 34, "rods[0].rig.line", "mono-17", "did you mean mono-17?"},
		{"unknown kind", replaced(t, "flat-line", "flat_line"), "unknown-value", 8, 17, "rods[0].rig.kind", "flat-line", "did you mean flat-line?"},
		{"wrong kind of node", replaced(t, "{given: surface, value: 2.4 mph}", "2.4 mph"), "wrong-type", 1, 8, "speed", "", ""},
		{"nothing given", minimal + "people:\n", "wrong-type", 10, 1, "people", "", "remove the key"},
		{"quarter dial", replaced(t, "line_out: 90 ft", "dial: 1.25, line_out: 90 ft"), "out-of-range", 9, 22, "rods[0].settings.dial", "1.5", ""},
		{"two sides of a point", replaced(t, "port: 8 ft", "port: 8 ft, starboard: 1 ft"), "conflict", 4, 28, "boat.holders[0].tip.port", "", "keep one"},
		{"part without a kind", replaced(t, "{lure: spoon-standard}", "{length: 3 ft}"), "missing", 8, 52, "rods[0].rig.behind[0]", "lure", ""},
		{"part of two kinds", replaced(t, "{lure: spoon-standard}", "{lure: spoon-standard, leader: mono-17}"), "conflict", 8, 83, "rods[0].rig.behind[0].leader", "", "dash"},
		{"diver without a dial", replaced(t, "flat-line, line: mono-17", "diver, diver: diver-large, line: mono-17"), "missing", 9, 15, "rods[0].settings.dial", "", "0 to 4"},
		{"gear from nothing", minimal + "gear:\n  lines:\n    - {id: mine, diameter: 0.4 mm}\n", "missing", 12, 7, "gear.lines[0].mass", "", "from: ID"},
		{"no such default", minimal + "gear:\n  lines:\n    - {id: mine, from: mono-18}\n", "unknown-gear", 12, 24, "gear.lines[0].from", "mono-17", "did you mean mono-17?"},
		{"depths out of order", minimal + "water:\n  temperature: [{depth: 9 ft, temp: 50 F}, {depth: 3 ft, temp: 50 F}]\n", "out-of-order", 11, 52, "water.temperature", "", "sort"},
		{"current without a heading", minimal + "water: {current: [{depth: 0 ft, speed: 1 mph, toward: 0 deg}]}\n", "missing", 1, 1, "heading", "", "20 deg"},
		{"percentage of nothing", minimal + "heading: {value: 3 deg, sd: -5 %}\n", "out-of-range", 10, 29, "heading.sd", "0 %", ""},
		{"kicker without a place", fittedWith(t, "kickers: [{leg: 2 ft}]"), "missing", 3, 13, "boat.kickers[0].at", "", "leg goes into the water"},
		{"leg of a kicker too long", fittedWith(t, "kickers: [{at: {aft: 1 ft}, leg: 30 ft}]"), "out-of-range", 3, 36, "boat.kickers[0].leg", "0 ft", ""},
		{"lowered kicker", fittedWith(t, "kickers: [{at: {aft: 1 ft}, lowered: no}]"), "unknown-key", 3, 31, "boat.kickers[0].lowered", "raised", ""},
		{"speed bag's rope too short", fittedWith(t, "speed_bags: [{at: {up: 4 ft}, rope: 3 ft}]"), "out-of-range", 3, 39, "boat.speed_bags[0].rope", "more than 5.0 ft", "longer rope"},
		{"speed bag made fast too high", fittedWith(t, "speed_bags: [{at: {up: 8 ft}}]"), "out-of-range", 3, 16, "boat.speed_bags[0].rope", "more than 9.0 ft", "lower"},
		{"empty", "", "empty", 1, 1, "", "", "examples"},
		{"only spaces", " \n\t\n", "empty", 1, 1, "", "", ""},
		{"only comments", "# nothing\n", "empty", 1, 1, "", "", ""},
		{"binary", "\x7fELF\x01\x00\x00\xff", "binary", 1, 1, "", "UTF-8", ""},
		{"another encoding", "n\x00a\x00", "binary", 1, 2, "", "", ""},
		{"100 MB", strings.Repeat("a: b\n", 20_000_000), "too-large", 1, 1, "", "1 MiB", ""},
		{"alias bomb", aliasBomb(), "alias", 1, 4, "", "", "write the value out"},
		{"merge key", replaced(t, "settings: {", "settings: {<<: {lead: 3 ft}, "), "alias", 9, 16, "", "", ""},
		{"tag", replaced(t, "90 ft", "!!str 90 ft"), "refused", 9, 26, "", "", ""},
		{"two documents", minimal + "---\n" + minimal, "refused", 0, 0, "", "", "own file"},
		{"deep lists", "a: " + strings.Repeat("[", 30_000), "too-deep", 1, 35, "", "32", ""},
		{"deep maps", strings.Repeat("{a: ", 20_000), "too-deep", 1, 129, "", "32", ""},
		{"deep dashes", strings.Repeat("- ", 30_000), "too-deep", 1, 65, "", "32", ""},
		{"deep steps", stairs(300), "too-deep", 33, 34, "", "32", ""},
		{"deep pairs", "[" + strings.Repeat("a: ", 20_000), "too-deep", 0, 0, "", "32", ""},
		{"many brackets", strings.Repeat("[", 1<<20), "too-large", 1, 1, "", "", ""},
		{"many keys", manyKeys(15_000), "too-many", 2001, 6, "", "", ""},
		{"many lines", strings.Repeat("%\n", 1<<19), "too-large", 1, 1, "", "", ""},
		{"no end of a quote", replaced(t, "90 ft", `"90 ft`), "syntax", 0, 0, "", "", ""},
		{"tabs", replaced(t, "    holder", "\tholder"), "syntax", 0, 0, "", "", "spaces"},
	}
	for _, r := range rows {
		t.Run(r.name, func(t *testing.T) {
			began := time.Now()
			s, src, err := DecodeWith("a.yaml", []byte(r.file), withBuiltins)
			// A walk that grows faster than the text would take hours on these; a busy machine
			// takes seconds.
			if took := time.Since(began); took > time.Minute {
				t.Errorf("took %v", took)
			}
			if err == nil || s != nil || src == nil {
				t.Fatalf("scenario %v, source %v, error %v", s, src, err)
			}
			var found *sternfan.Fault
			for _, f := range faultsOf(t, err) {
				if f.File != "a.yaml" || f.Text == "" || strings.Contains(f.Text, "\n") {
					t.Errorf("fault %+v", f)
				}
				if f.Code == r.code && (r.path == "" || f.Path == r.path) && found == nil {
					found = &f
				}
			}
			if found == nil {
				t.Fatalf("no fault %s at %s in\n%v", r.code, r.path, err)
			}
			if r.line > 0 && (found.Line != r.line || found.Column != r.column) || found.Line == 0 {
				t.Errorf("at %d:%d, want %d:%d: %v", found.Line, found.Column, r.line, r.column, found)
			}
			if all := strings.Join(found.Allowed, ", "); !strings.Contains(all, r.allowed) {
				t.Errorf("allowed %q, want %q", all, r.allowed)
			}
			if !strings.Contains(found.Hint, r.hints) {
				t.Errorf("hint %q, want %q", found.Hint, r.hints)
			}
		})
	}
}

// fittedWith is the least file with one more key of the boat.
func fittedWith(t *testing.T, line string) string {
	return replaced(t, "boat:\n", "boat:\n  "+line+"\n")
}

func TestFittingsReadBack(t *testing.T) {
	s, _, err := DecodeWith("a.yaml", []byte(fittedWith(t, `kickers: [{at: {aft: 1 ft, port: 2 ft}, raised: yes}]
  speed_bags: [{at: {forward: 9 ft, starboard: 4 ft, up: 2 ft}, diameter: {value: 30 in, sd: 5 %}}]`)), withBuiltins)
	if err != nil {
		t.Fatal(err)
	}
	full := s.Boat.Filled()
	if k := full.Kickers[0]; !k.Raised || k.Leg.Value != 2*unit.Foot || k.Leg.Source != "assumed" {
		t.Errorf("kicker %+v", k)
	}
	if b := full.SpeedBags[0]; b.Rope.Value != 6*unit.Foot || b.Diameter.Scatter.SD != 0.05 || b.Name() != "starboard speed bag" {
		t.Errorf("bag %+v", b)
	}
	if len(s.Boat.Kickers) != 1 || s.Boat.Kickers[0].Leg.Given {
		t.Errorf("the file's own boat was filled in: %+v", s.Boat.Kickers)
	}
	text, err := Encode(s)
	if err != nil {
		t.Fatal(err)
	}
	again, _, err := DecodeWith("b.yaml", text, withBuiltins)
	if err != nil || !reflect.DeepEqual(again.Boat, s.Boat) {
		t.Errorf("written and read again: %v\n%s", err, text)
	}
}

func aliasBomb() string {
	var b strings.Builder
	b.WriteString("a: &a [x]\n")
	for c := 'b'; c <= 'z'; c++ {
		p := string(c - 1)
		b.WriteString(string(c) + ": &" + string(c) + " [" + strings.Repeat("*"+p+", ", 9) + "*" + p + "]\n")
	}
	return b.String()
}

func stairs(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%04d: 1\n", i)
	}
	return b.String()
}

func TestEveryFaultInOnePass(t *testing.T) {
	file := replaced(t, "holder: h1", "holdr: h1")
	file = strings.Replace(file, "90 ft", "90 lb", 1)
	_, _, err := Decode("two.yaml", []byte(file))
	var got []string
	for _, f := range faultsOf(t, err) {
		got = append(got, fmt.Sprintf("%d:%d %s", f.Line, f.Column, f.Code))
	}
	want := []string{"6:5 missing", "7:5 unknown-key", "9:26 wrong-unit"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestFaultsAreBounded(t *testing.T) {
	_, _, err := Decode("a.yaml", []byte(manyKeys(1500)))
	fs := faultsOf(t, err)
	if len(fs) != maxFaults+1 || fs[len(fs)-1].Code != "too-many" {
		t.Errorf("%d faults, the last %v", len(fs), fs[len(fs)-1])
	}
}

// TestQuantities reads each way to write a value. The numbers are by hand: 1 ft is 0.3048 m
// (exact), a color 30 ft.
func TestQuantities(t *testing.T) {
	file := minimal + `heading: {value: 90 deg, range: 10 %}
people: 4
water:
  temperature: 50 F
  bottom: {value: 100 ft, sd: 5 %, source: chart}
gear:
  lines:
    - {id: a, diameter: {value: 0.4 mm, sd: 0.02 mm}, mass: 0.2 g/m, solid: on, normal: {value: 1.2, sd: 0.1}}
  divers:
    - id: d
      diameter: 100 mm
      volume: 25 cm3
      give: 2 deg/N
      dial: [{mark: 0, tilt: 0 deg}, {mark: 1, tilt: 17 deg}]
      dial_spread: 15 %
uncertainty:
  - {name: rod p1 counter, sd: 3 ft}
  - {name: tow, sd: 4}
calibrations:
  - {name: rod p1 counter, scale: 1.02, shift: 1 ft, range: 2 ft}
`
	s, _, err := Decode("q.yaml", []byte(file))
	if err != nil {
		t.Fatal(err)
	}
	near := func(name string, got, want float64) {
		if math.Abs(got-want) > 1e-12*max(1, math.Abs(want)) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	spread := func(name string, got, want sternfan.Scatter) {
		if got.Kind != want.Kind {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
		near(name, got.SD, want.SD)
	}
	near("line out", s.Rods[0].Settings.LineOut.SI(), 27.432)
	near("heading", s.Heading.SI(), math.Pi/2)
	spread("heading", s.Heading.Scatter, sternfan.Half(math.Pi/20))
	near("temperature", float64(s.Water.Temperature[0].Temperature), 10)
	spread("bottom", s.Water.Bottom.Scatter, sternfan.Rel(0.05))
	line, diver := s.Gear.Lines[0], s.Gear.Divers[0]
	near("diameter", line.Diameter.SI(), 0.0004)
	spread("diameter", line.Diameter.Scatter, sternfan.Abs(0.00002))
	spread("normal", line.Normal.Scatter, sternfan.Abs(0.1))
	near("solid", line.Solid.Value, 1)
	near("volume", diver.Volume.Value, 25e-6)
	near("give", diver.Give.Value, 2*math.Pi/180)
	spread("dial", diver.DialTiltScatter, sternfan.Rel(0.15))
	if !slices.Equal(diver.DialMarks, []float64{0, 1}) {
		t.Errorf("marks %v", diver.DialMarks)
	}
	spread("override", s.Uncertainty[0].Scatter, sternfan.Abs(0.9144))
	spread("bare override", s.Uncertainty[1].Scatter, sternfan.Abs(4))
	spread("calibration", s.Calibrations[0].Scatter, sternfan.Half(0.6096))
	near("shift", s.Calibrations[0].Shift, 0.3048)
	if got, want := s.Boat.Holders[0].Tip, (geom.Vec{Y: -8 * 0.3048, Z: -3 * 0.3048}); got.Sub(want).Norm() > 1e-12 {
		t.Errorf("tip %v, want %v", got, want)
	}
	if s.Version != 1 || s.Water.Bottom.Source != "chart" {
		t.Errorf("version %d, source %q", s.Version, s.Water.Bottom.Source)
	}
}

func TestJSONIsTheSame(t *testing.T) {
	json := "{\n\t\"speed\": {\"given\": \"surface\", \"value\": \"2.4 mph\"},\n\t\"boat\": {\"holders\": [\n\t\t{\"id\":\"h1\",\"tip\":{\"port\":\"8 ft\",\"up\":\"3 ft\"}}\n\t]},\n" +
		"\t\"rods\": [{\"id\": \"p1\", \"holder\": \"h1\",\n\t\t\"rig\": {\"kind\": \"flat-line\", \"line\": \"mono-17\", \"behind\": [{\"lure\": \"spoon-standard\"}]},\n\t\t\"settings\": {\"line_out\": \"90 ft\"}}]\n}\n"
	got, src, err := Decode("a.json", []byte(json))
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := Decode("a.yaml", []byte(minimal))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	if line, column := src.Locate("rods[0].settings.line_out"); line != 8 || column != 28 {
		t.Errorf("line_out is at %d:%d, want 8:28", line, column)
	}
}

func TestLocate(t *testing.T) {
	_, src, err := DecodeWith("a.yaml", []byte(minimal), Options{Set: []string{"people=3"}})
	if err != nil {
		t.Fatal(err)
	}
	rows := []struct {
		path         string
		line, column int
	}{
		{"rods[0].settings.line_out", 9, 26},
		{"rods.p1.holder", 7, 13},
		{"rods[0].settings.dial", 9, 15}, // not given: its parent
		{"rods[7].settings", 6, 3},
		{"water.bottom", 1, 1},
		{"", 1, 1},
		{"people", 0, 0}, // from a flag
	}
	for _, r := range rows {
		if line, column := src.Locate(r.path); line != r.line || column != r.column {
			t.Errorf("%s is at %d:%d, want %d:%d", r.path, line, column, r.line, r.column)
		}
	}
	fs := sternfan.Faults{{Code: "over-strength", Path: "rods[0].rig.line"}, {File: "other"}, {Path: "people"}}
	src.Fill(fs)
	if fs[0].File != "a.yaml" || fs[0].Line != 8 || fs[0].Column != 34 || fs[1].Line != 0 || fs[2].File != "--set people=3" {
		t.Errorf("filled: %+v", fs)
	}
}

func TestSet(t *testing.T) {
	s, _, err := DecodeWith("a.yaml", []byte(strings.Replace(minimal, "value: 2.4 mph", "value: {value: 2.4 mph, sd: 5 %}", 1)), Options{
		Set: []string{"speed.value=3 mph", "rods.p1.settings.line_out=120ft", "rods[0].settings.lead = 5 ft", "rods.0.fixed=on", "water.bottom=80 ft"}})
	if err != nil {
		t.Fatal(err)
	}
	set := s.Rods[0].Settings
	if s.Speed.Value.Value != 3*unit.MilePerHour || s.Speed.Value.Scatter != sternfan.Rel(0.05) {
		t.Errorf("speed %+v", s.Speed.Value)
	}
	if set.LineOut.Value != 120*unit.Foot || set.Lead.Value != 5*unit.Foot || !s.Rods[0].Fixed || !s.Water.Bottom.Given {
		t.Errorf("set: %+v, fixed %v, bottom %+v", set, s.Rods[0].Fixed, s.Water.Bottom)
	}
	rows := []struct{ flag, code, hint string }{
		{"speed.valu=3 mph", "unknown-key", "did you mean value?"},
		{"speed.value=3 lb", "wrong-unit", ""},
		{"rods.p2.settings.dial=2", "unknown-key", "did you mean p1?"},
		{"rods[4].fixed=on", "unknown-key", ""},
		{"rods.p1.settings=2", "wrong-type", ""},
		{"rods.p1=2", "wrong-type", "name the key inside it"},
		{"rods.p1.id.x.y=2", "unknown-key", ""},
		{"speed", "bad-flag", "KEY=VALUE"},
		{"speed=[1]", "bad-flag", ""},
		{strings.Repeat("a.", 40) + "b=1", "too-deep", ""},
	}
	for _, r := range rows {
		_, _, err := DecodeWith("a.yaml", []byte(minimal), Options{Set: []string{r.flag}})
		fs := faultsOf(t, err)
		if len(fs) == 0 || fs[0].Code != r.code || !strings.HasPrefix(fs[0].File, "--set ") || fs[0].Line != 0 || !strings.Contains(fs[0].Hint, r.hint) {
			t.Errorf("%s gives %+v", r.flag, fs)
		}
	}
}

// What is written reads back to the same value, in any unit that the package writes.
func TestWrittenValuesReadBack(t *testing.T) {
	units := map[*dim][]string{lengths: {"ft", "mm", "in"}, speeds: {"mph"}, forces: {"lb", "N"}, massesDim: {"lb", "oz"}, angles: {"deg"},
		temperatures: {"F"}, areas: {"in2"}, lineDensities: {"g/m"}, densities: {"g/cm3"}, viscosities: {"mPa s"}, volumes: {"cm3"}, gives: {"deg/lb"}, numbers: {""}}
	rapid.Check(t, func(t *rapid.T) {
		for d, names := range units {
			for _, in := range names {
				v := rapid.OneOf(rapid.Float64Range(-1e4, 1e4), rapid.Float64Range(-1e-6, 1e-6)).Draw(t, d.name)
				text := d.write(v, in)
				// 1e-9 relative is the promise; values under nothing count as 0.
				if got, err := d.parse(text); err != nil || math.Abs(got-v) > 1e-9*math.Abs(v)+nothing {
					t.Fatalf("%v written as %q reads %v, %v", v, text, got, err)
				}
			}
		}
	})
}

// examples returns the files of the folder examples.
func examples(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(names) < 5 {
		t.Fatalf("%d examples, %v", len(names), err)
	}
	out := map[string][]byte{}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(name)] = data
	}
	return out
}

func TestExamplesRoundTrip(t *testing.T) {
	for name, data := range examples(t) {
		s, _, err := Decode(name, data)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		if !strings.Contains(s.Note, "Invented for this project; not evidence") {
			t.Errorf("%s does not say that it is invented", name)
		}
		roundTrip(t, s)
	}
}

// roundTrip asserts that a scenario is the same again after it was written and read,
// within 1e-9 of each number.
func roundTrip(t testing.TB, s *sternfan.Scenario) {
	t.Helper()
	data, err := Encode(s)
	if err != nil {
		t.Fatalf("encode: %v", err)
	}
	again, _, err := Decode("again.yaml", data)
	if err != nil {
		t.Fatalf("decode again: %v\n%s", err, data)
	}
	if where := differ("scenario", reflect.ValueOf(*s), reflect.ValueOf(*again)); where != "" {
		t.Fatalf("%s\n%s", where, data)
	}
}

// differ returns where two values differ by more than 1e-9, or "".
func differ(path string, a, b reflect.Value) string {
	switch a.Kind() {
	case reflect.Float64:
		if x, y := a.Float(), b.Float(); math.Abs(x-y) > 1e-9*math.Abs(x) {
			return fmt.Sprintf("%s: %v, again %v", path, x, y)
		}
	case reflect.Struct:
		for i := range a.NumField() {
			if d := differ(path+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i)); d != "" {
				return d
			}
		}
	case reflect.Slice:
		if a.Len() != b.Len() {
			return fmt.Sprintf("%s: %d entries, again %d", path, a.Len(), b.Len())
		}
		for i := range a.Len() {
			if d := differ(fmt.Sprintf("%s[%d]", path, i), a.Index(i), b.Index(i)); d != "" {
				return d
			}
		}
	case reflect.Map:
		if a.Len() != b.Len() || a.Len() > 0 && !reflect.DeepEqual(a.Interface(), b.Interface()) {
			return fmt.Sprintf("%s: %v, again %v", path, a, b)
		}
	default:
		if !a.Equal(b) {
			return fmt.Sprintf("%s: %v, again %v", path, a, b)
		}
	}
	return ""
}

// finite reports the first number that is not, or "".
func finite(path string, v reflect.Value) string {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return path
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if p := finite(path+"."+v.Type().Field(i).Name, v.Field(i)); p != "" {
				return p
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			if p := finite(fmt.Sprintf("%s[%d]", path, i), v.Index(i)); p != "" {
				return p
			}
		}
	}
	return ""
}

func FuzzDecode(f *testing.F) {
	for _, data := range examples(f) {
		f.Add(data)
	}
	f.Add([]byte(minimal))
	f.Add([]byte(aliasBomb()))
	f.Add([]byte("{\"speed\": {\"given\": \"probe\"}, \"rods\": [[[[{\"id\": 1e400}]]]]}"))
	f.Add([]byte("? [a]\n: |\n  b\n- !!x &y *z\n--- %\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, src, err := DecodeWith("f.yaml", data, withBuiltins)
		if src == nil || (s == nil) == (err == nil) {
			t.Fatalf("scenario %v, source %v, error %v", s, src, err)
		}
		for _, fault := range faultsOf(t, err) {
			if fault.Code == "" || fault.Text == "" || fault.Line < 1 {
				t.Fatalf("fault %+v", fault)
			}
		}
		if s == nil {
			return
		}
		if p := finite("scenario", reflect.ValueOf(*s)); p != "" {
			t.Fatalf("%s is not finite", p)
		}
		roundTrip(t, s)
	})
}
