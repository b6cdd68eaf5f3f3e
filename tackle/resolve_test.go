package tackle

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

// describe writes an expansion and the system made from it.
func describe(m *Model) string {
	var b strings.Builder
	var list func(parts []sternfan.Part, indent string)
	list = func(parts []sternfan.Part, indent string) {
		for _, p := range parts {
			fmt.Fprintf(&b, "%s%s: %s %s%s", indent, p.ID, p.Kind, p.Gear, p.On)
			if p.Length.Given {
				fmt.Fprintf(&b, " %.3f m", p.Length.SI())
			}
			if p.Free {
				b.WriteString(" free")
			}
			b.WriteByte('\n')
			list(p.Parts, indent+"  ")
		}
	}
	for i := range m.Scenario.Rods {
		fmt.Fprintf(&b, "rod %s (%s)\n", m.Scenario.Rods[i].ID, m.SettingsText(i, unit.US))
		list(m.Scenario.Rods[i].Rig.Parts, "  ")
	}
	for i := range m.Groups {
		g := &m.Groups[i]
		fmt.Fprintf(&b, "group %d, rods %v, main %d\n", i, g.Rods, g.main)
		for k, n := range g.Nodes {
			fmt.Fprintf(&b, "  node %d: %s %s, %d bodies\n", k, n.Kind, n.ID, g.nodes[k].bodies[1]-g.nodes[k].bodies[0])
		}
		for k, l := range g.Lines {
			fmt.Fprintf(&b, "  line %d: %d to %d %s %s", k, g.lines[k].from, g.lines[k].to, l.ID, l.Gear)
			if l.Open {
				b.WriteString(" open\n")
			} else {
				fmt.Fprintf(&b, " %.3f m\n", l.Nominal)
			}
		}
	}
	for _, e := range m.Registry {
		fmt.Fprintf(&b, "%s: %s %.4g %s, %s %.3g\n", e.Name, e.Scope, e.Nominal, e.Unit, e.Scatter.Kind, e.Scatter.SD)
	}
	return b.String()
}

func TestExpansion(t *testing.T) {
	for _, r := range rigs {
		t.Run(r.name, func(t *testing.T) {
			sc := boat()
			r.make(sc, sternfan.Starboard)
			got := describe(resolve(t, sc))
			file := filepath.Join("testdata", r.name+".golden")
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("the expansion changed; look at it and run with -update\ngot:\n%s\nwant:\n%s", got, want)
			}
		})
	}
}

// An expanded scenario resolves to the same systems and the same registry.
func TestExpandedAgain(t *testing.T) {
	for _, r := range rigs {
		sc := boat()
		r.make(sc, sternfan.Port)
		m := resolve(t, sc)
		again := resolve(t, m.Scenario)
		if a, b := describe(m), describe(again); a != b {
			t.Errorf("%s:\n%s\nthen\n%s", r.name, a, b)
		}
		if len(sc.Rods) > 0 && len(sc.Rods[0].Rig.Parts) > 0 {
			t.Errorf("%s: the scenario given was changed", r.name)
		}
	}
}

// The lengths that the settings mean, in feet, by the package's definitions.
func TestSettingsMean(t *testing.T) {
	total := func(m *Model, kinds ...string) float64 {
		sum := 0.0
		for _, l := range m.Groups[0].Lines {
			if len(kinds) == 0 || slices.Contains(kinds, l.LineKind) {
				sum += l.Nominal
			}
		}
		return sum / foot
	}
	cases := []struct {
		name  string
		rig   sternfan.Rig
		set   sternfan.Settings
		kinds []string
		want  float64
	}{
		{"flat line: leader and all", sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100)}, nil, 100},
		{"from the water: the tip's height more", sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100), CountFrom: "water"}, nil, 100 + 1.5/foot},
		{"diver: tip to diver", sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-large", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100)}, []string{"braid"}, 100},
		{"diver: what is behind comes on top", sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-large", Behind: behind()}, sternfan.Settings{LineOut: ft(100)}, nil, 100 + 1 + 6 + 8./12 + 2},
		{"slide-through: lead to the lure", sternfan.Rig{Kind: sternfan.RigSlideThrough, Line: "mono-20", Diver: "slide-through-large", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100), Lead: ft(40)}, nil, 140},
		{"lead core: colors", sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)}, sternfan.Settings{LineOut: ft(300), Colors: sternfan.Of(7.0)}, []string{"lead-core"}, 210},
		{"lead core: backing is the rest", sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)}, sternfan.Settings{LineOut: ft(300), Colors: sternfan.Of(7.0)}, []string{"braid"}, 70},
		{"lead core without line out: no backing", sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)}, sternfan.Settings{Colors: sternfan.Of(7.0)}, nil, 230},
		{"lead core: part of it out", sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)}, sternfan.Settings{LineOut: ft(100), Colors: sternfan.Of(7.0)}, []string{"lead-core"}, 80},
		{"copper takes line out", sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "copper-45", Behind: spoon(20)}, sternfan.Settings{LineOut: ft(220)}, []string{"copper"}, 200},
		{"board: line out and lead", sternfan.Rig{Kind: sternfan.RigBoard, Line: "mono-17", Board: "board-in-line", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100), Lead: ft(60)}, nil, 160},
	}
	for _, c := range cases {
		sc := boat()
		plain(c.rig, c.set)(sc, sternfan.Port)
		if got := total(resolve(t, sc), c.kinds...); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: %g ft, want %g ft", c.name, got, c.want)
		}
	}
}

func TestFaults(t *testing.T) {
	cases := []struct {
		name, code, path string
		rig              sternfan.Rig
		set              sternfan.Settings
		also             func(sc *sternfan.Scenario)
	}{
		{"ring on a diver that takes none", "refused", "rods[0].settings.ring",
			sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-small", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100), Ring: sternfan.Of(1.0)}, nil},
		{"dial beyond the table", "out-of-range", "rods[0].settings.dial",
			sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-small", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100), Dial: sternfan.Of(5.0)}, nil},
		{"no such diver", "unknown-gear", "rods[0].rig.diver",
			sternfan.Rig{Kind: sternfan.RigDiver, Line: "braid-50", Diver: "diver-huge", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(100)}, nil},
		{"no such lure", "unknown-gear", "rods[0].rig.behind[0].lure",
			sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: []sternfan.Part{part(sternfan.PartLure, "boot")}}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"no such line on a slider", "unknown-gear", "rods[0].rig.slider[0].leader", sternfan.Rig{}, sternfan.Settings{},
			func(sc *sternfan.Scenario) {
				sc.Rods = nil
				downrigger([]sternfan.Part{leaderOf("rope", 6), part(sternfan.PartLure, "spoon-light")}, 4)(sc, sternfan.Port)
			}},
		{"a free line without a release", "refused", "rods[0].rig.parts[0]",
			sternfan.Rig{Parts: []sternfan.Part{{Kind: sternfan.PartLine, Gear: "mono-12", Free: true}, part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"a slider without a release", "refused", "rods[0].rig.parts[1]",
			sternfan.Rig{Parts: []sternfan.Part{part(sternfan.PartLine, "mono-12"), {Kind: sternfan.PartSlider, Parts: spoon(6)}, part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"two lines for one setting", "missing", "rods[0].rig.parts[1].length",
			sternfan.Rig{Parts: []sternfan.Part{part(sternfan.PartLine, "mono-12"), part(sternfan.PartLine, "mono-17"), part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"a line behind a directional diver", "missing", "rods[0].rig.parts[2].length",
			sternfan.Rig{Parts: []sternfan.Part{part(sternfan.PartLine, "mono-12"), part(sternfan.PartDiver, "diver-small"), part(sternfan.PartLine, "mono-17"), part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"a slider's line without a length", "missing", "rods[0].rig.slider[0].length", sternfan.Rig{}, sternfan.Settings{},
			func(sc *sternfan.Scenario) {
				sc.Rods = nil
				downrigger([]sternfan.Part{part(sternfan.PartLeader, "mono-17"), part(sternfan.PartLure, "spoon-light")}, 4)(sc, sternfan.Port)
			}},
		{"leader longer than the line out", "out-of-range", "rods[0].settings.line_out",
			sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(20)}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"no lure", "missing", "rods[0].rig.behind",
			sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12"}, sternfan.Settings{LineOut: ft(10)}, nil},
		{"no line out", "missing", "rods[0].settings.line_out",
			sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: []sternfan.Part{part(sternfan.PartLure, "plug-cut")}}, sternfan.Settings{}, nil},
		{"more colors than there are", "out-of-range", "rods[0].settings.colors",
			sternfan.Rig{Kind: sternfan.RigWeighted, Line: "braid-30", Weighted: "lead-core-27", Behind: spoon(20)}, sternfan.Settings{Colors: sternfan.Of(11.0)},
			func(sc *sternfan.Scenario) {
				sc.Gear.Reels = []sternfan.Reel{{Item: sternfan.Item{ID: "reel", From: "reel-line-counter-large"}, Capacity: ft(300)}}
				sc.Rods[0].Reel = "reel"
			}},
		{"release above the cable", "out-of-range", "rods[0].settings.above_ball", sternfan.Rig{}, sternfan.Settings{},
			func(sc *sternfan.Scenario) { sc.Rods = nil; downrigger(nil, 90)(sc, sternfan.Port) }},
		{"no such downrigger", "unknown-id", "rods[0].rig",
			sternfan.Rig{Kind: sternfan.RigDownrigger, Line: "mono-20", Downrigger: "none", Behind: spoon(6)}, sternfan.Settings{Lead: ft(20)}, nil},
		{"no such holder", "unknown-id", "rods[0].holder", sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(50)},
			func(sc *sternfan.Scenario) { sc.Rods[0].Holder = "none" }},
		{"a current without a heading", "missing", "heading", sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(50)},
			func(sc *sternfan.Scenario) { sc.Water.Current = []sternfan.CurrentPoint{{Speed: .2}} }},
		{"a calibration of nothing", "unknown-name", "calibrations[0].name", sternfan.Rig{Kind: sternfan.RigFlat, Line: "mono-12", Behind: spoon(6)}, sternfan.Settings{LineOut: ft(50)},
			func(sc *sternfan.Scenario) { sc.Calibrations = []sternfan.Calibration{{Name: "line mono-12 color"}} }},
	}
	for _, c := range cases {
		sc := boat()
		plain(c.rig, c.set)(sc, sternfan.Port)
		if c.also != nil {
			c.also(sc)
		}
		m, faults := Resolve(sc)
		if m != nil || !slices.ContainsFunc(faults, func(f sternfan.Fault) bool { return f.Code == c.code && f.Path == c.path }) {
			t.Errorf("%s: want %s at %s, got %v", c.name, c.code, c.path, faults)
		}
		for _, f := range faults {
			if f.Text == "" || f.Text != strings.ToLower(f.Text[:1])+f.Text[1:] {
				t.Errorf("%s: %q is not a lower-case sentence", c.name, f.Text)
			}
		}
	}
}

// Solid wire through a slide-through diver is refused; the other rods go on.
func TestRefusal(t *testing.T) {
	sc := boat()
	plain(sternfan.Rig{Kind: sternfan.RigSlideThrough, Line: "solid-wire-30", Diver: "slide-through-standard", Behind: spoon(6)},
		sternfan.Settings{LineOut: ft(100), Lead: ft(30)})(sc, sternfan.Port)
	plain(sternfan.Rig{Kind: sternfan.RigDiver, Line: "solid-wire-30", Diver: "diver-large", Behind: spoon(6)},
		sternfan.Settings{LineOut: ft(100), Dial: sternfan.Of(1.0)})(sc, sternfan.Starboard)
	m := resolve(t, sc)
	if len(m.Refused) != 1 || m.Refused[0].Rod != 0 || m.Rods[0].Group != -1 {
		t.Errorf("refused: %+v", m.Refused)
	}
	if len(m.Groups) != 1 || m.Rods[1].Group != 0 {
		t.Fatalf("%d groups", len(m.Groups))
	}
	solve(t, m, 0, nil)
}

// Overrides and calibrations move the entry that they name.
func TestAdjust(t *testing.T) {
	sc := boat()
	rigs[0].make(sc, sternfan.Port)
	plainModel := resolve(t, sc)
	sc.Uncertainty = []sternfan.Override{{Name: "speed", Scatter: sternfan.Rel(.01), Source: "log"}}
	sc.Calibrations = []sternfan.Calibration{
		{Name: "diver diver-standard normal", Scale: 1.1, Scatter: sternfan.Rel(.05), Dated: "2026-05-01", Source: "three drops"},
		{Name: "rod r1 counter", Scale: 1.02, Off: true},
		{Name: "line lead-core-27 mass", Scale: 1.2}, // not in use today
	}
	m := resolve(t, sc)
	at := func(m *Model, name string) sternfan.Entry {
		i := slices.IndexFunc(m.Registry, func(e sternfan.Entry) bool { return e.Name == name })
		if i < 0 {
			t.Fatalf("no entry %q", name)
		}
		return m.Registry[i]
	}
	if s := at(m, "speed").Scatter; s != sternfan.Rel(.01) {
		t.Errorf("speed: %+v", s)
	}
	if e := at(m, "diver diver-standard normal"); math.Abs(e.Nominal-1.43) > 1e-12 || e.Scatter != sternfan.Rel(.05) {
		t.Errorf("calibrated: %+v", e)
	}
	if e := at(m, "rod r1 counter"); e.Nominal != 1 {
		t.Errorf("a calibration that is off moved its entry: %+v", e)
	}
	a, b := lurePlace(t, plainModel), lurePlace(t, m)
	if b.Z <= a.Z {
		t.Errorf("a stronger diver runs at %g m, before at %g m", b.Z, a.Z)
	}
	// The speed's band counts as the 80 % range of the true mean.
	sc.Uncertainty, sc.Speed.Band = nil, unit.Speed(.2)
	want := math.Hypot(.05, .2/1.2815515655446004)
	if s := at(resolve(t, sc), "speed").Scatter; s.Kind != sternfan.Normal || math.Abs(s.SD-want) > 1e-12 {
		t.Errorf("band: %+v, want %g", s, want)
	}
}

// Every entry that touches a group moves it, and no other does.
func TestTouches(t *testing.T) {
	sc := boat()
	rigs[0].make(sc, sternfan.Port)
	rigs[6].make(sc, sternfan.Starboard)
	m := resolve(t, sc)
	for g := range m.Groups {
		base := slices.Clone(solve(t, m, g, nil).Nodes)
		for i, e := range m.Registry {
			world := make([]float64, len(m.Registry))
			world[i] = 1
			moved := 0.0
			for k, p := range solve(t, m, g, world).Nodes {
				moved = max(moved, p.Sub(base[k]).Norm())
			}
			if touches := slices.Contains(m.Touches(g), i); !touches && moved != 0 || touches && e.Scatter.Kind != sternfan.Exact && moved == 0 {
				t.Errorf("group %d, %s: touches %v, moved by %g m", g, e.Name, touches, moved)
			}
		}
	}
}

func TestSettingsText(t *testing.T) {
	sc := boat()
	rigs[1].make(sc, sternfan.Port)
	m := resolve(t, sc)
	for u, want := range map[unit.System]string{unit.US: "dial 1 port, ring on, 200 ft out", unit.SI: "dial 1 port, ring on, 61 m out"} {
		if got := m.SettingsText(0, u); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A fault's numbers are in feet and in meters: nobody says which the reader uses.
func TestFaultsSayFeetAndMeters(t *testing.T) {
	for got, want := range map[string]string{
		both(0.2):               "0.7 ft (0.2 m)",
		both(60 * unit.Foot):    "60 ft (18.29 m)",
		both(12.34 * unit.Foot): "12.4 ft (3.77 m)", // rounded up: at least so much
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	sc := boat()
	rigs[1].make(sc, sternfan.Port)
	sc.Water.Profile = "lake.csv"
	sc.Water.Temperature = nil
	if _, faults := Resolve(sc); len(faults) != 1 || faults[0].Path != "water.profile" {
		t.Errorf("a profile that nobody read: %v", faults)
	}
}
