package setting_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/setting"
	"sternfan/unit"
)

const spreadFile = `
name: Settings
note: Invented for this project; not evidence.
speed: {given: ground, value: 2.4 mph}
boat:
  name: Second Cup
  holders:
    - {id: one, tip: {up: 8 ft}}
    - {id: two, tip: {starboard: 4 ft, up: 6 ft}}
    - {id: three, tip: {port: 4 ft, up: 6 ft}}
  booms:
    - {id: boom, end: {starboard: 7 ft, up: 4 ft}}
  masts:
    - {id: mast, top: {forward: 12 ft, up: 12 ft}}
downriggers:
  - {id: dr, boom: boom, ball: ball-round-12, cable_out: 60 ft}
mast_boards:
  - {id: mb, mast: mast, board: board-mast, line: braid-200, line_out: 90 ft, side: port}
rods:
  - {id: rod, holder: one, rig: {parts: [{line: mono-17}, {diver: diver-large}, {leader: fluoro-20, length: 6 ft}, {lure: spoon-light}]}}
  - {id: rigger, holder: two, rig: {parts: [{line: mono-17, free: true}, {release: dr}, {line: mono-17}, {lure: spoon-light}]}}
  - {id: mast, holder: three, rig: {parts: [{line: mono-17, free: true}, {release: mb}, {line: mono-17}, {lure: spoon-light}]}}
`

// rodWith returns the rod of the file that has settings of an owner.
func rodWith(sc *sternfan.Scenario, o setting.Owner) *sternfan.Rod { return &sc.Rods[o] }

func same(a, b setting.Value) bool {
	return a.Given == b.Given && a.Word == b.Word && math.Abs(a.Number-b.Number) <= 1e-12*math.Abs(b.Number)
}

// A file keeps every setting: what is set in the model is written and read back, and so is
// what a person writes, and nothing else of the rod is changed by it.
func TestFileKeepsEverySetting(t *testing.T) {
	read := func(text []byte) *sternfan.Scenario {
		t.Helper()
		sc, _, err := scenario.Decode("settings.yaml", text)
		if err != nil {
			t.Fatal(err)
		}
		return sc
	}
	i := 0
	for r := range setting.Rows {
		i++
		want := sample(r, i)
		written := map[setting.Kind]string{
			setting.Length: fmt.Sprintf("%g m", want.Number), setting.Force: fmt.Sprintf("%g N", want.Number),
			setting.Colors: fmt.Sprint(want.Number), setting.Mark: fmt.Sprint(want.Number),
			setting.Switch: "on", setting.Flag: "on", setting.Side: want.Word, setting.Word: want.Word,
		}[r.Kind]
		inModel, byHand := read([]byte(spreadFile)), read([]byte(spreadFile))
		before := read([]byte(spreadFile))
		if !r.Set(setting.Of(inModel, rodWith(inModel, r.Owner)), want) {
			t.Fatalf("%s is not on a rod of the %s", r.ID, r.Owner)
		}
		if err := scenario.ChangeRod(byHand, rodWith(byHand, r.Owner), r.ID+"="+written); err != nil {
			t.Error(err)
		}
		for how, sc := range map[string]*sternfan.Scenario{"in the model": inModel, "by hand": byHand} {
			text, err := scenario.Encode(sc)
			if err != nil {
				t.Errorf("%s set %s: %v", r.ID, how, err)
				continue
			}
			back := read(text)
			for other := range setting.Rows {
				expected := other.Get(setting.Of(before, rodWith(before, other.Owner)))
				if other.ID == r.ID {
					expected = want
				}
				if got := other.Get(setting.Of(back, rodWith(back, other.Owner))); !same(got, expected) {
					t.Errorf("%s set %s: %s is read as %+v, want %+v", r.ID, how, other.ID, got, expected)
				}
			}
		}
	}
}

// A card and a line of words say what a row has words for.
func TestRowsAreSaid(t *testing.T) {
	i := 0
	all := func(sternfan.PartKind) bool { return true }
	for r := range setting.Rows {
		i++
		on := full()
		r.Set(on, sample(r, i))
		value := r.Text(r.Get(on), setting.Counted(unit.SI))
		card := r.Card(on, setting.Counted(unit.SI))
		if value == "" || card != "" && !strings.Contains(card, value) || strings.Contains(card, "%") {
			t.Errorf("%s is %q and on a card %q", r.ID, value, card)
		}
		if words := strings.Join(setting.Words(on, all, setting.Counted(unit.SI)), ", "); words != "" && !strings.Contains(words, value) {
			t.Errorf("%s of %q is said as %q", r.ID, value, words)
		}
	}
}

// The reference of the file names every setting of its owner, and the app has a row of it.
func TestDocumentsNameEverySetting(t *testing.T) {
	text := func(path string) string {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	docs, app := text("../docs/scenario.md"), text("../web/app/src/api.ts")
	part := func(from, to string) string {
		_, rest, ok := strings.Cut(docs, from)
		if !ok {
			t.Fatalf("docs/scenario.md has no %q", from)
		}
		rest, _, _ = strings.Cut(rest, to)
		return rest
	}
	places := map[setting.Owner]string{
		setting.Rod:        part("\n## Settings, rig by rig\n", "\n### "),
		setting.Downrigger: part("\n### downriggers\n", "\n### "),
		setting.MastBoard:  part("\n### mast_boards\n", "\n### "),
	}
	for r := range setting.Rows {
		form := "`" + r.Key + "`"
		if r.Owner == setting.Rod {
			form = "\n| " + form + " |"
		}
		if !strings.Contains(places[r.Owner], form) {
			t.Errorf("docs/scenario.md does not say what %s of a %s is", r.Key, r.Owner)
		}
		if row := fmt.Sprintf("  {\"id\":%q,", r.ID); !strings.Contains(app, row) {
			t.Errorf("the app has no row of %s", r.ID)
		}
	}
	rigs := part("\n## rods\n", "\nA **part**")
	for _, rig := range []sternfan.RigKind{sternfan.RigDiver, sternfan.RigSlideThrough, sternfan.RigDownrigger, sternfan.RigFlat,
		sternfan.RigWeighted, sternfan.RigBoard, sternfan.RigMastBoard} {
		_, row, ok := strings.Cut(rigs, "\n| `"+string(rig)+"` |")
		row, _, _ = strings.Cut(row, "\n")
		if !ok {
			t.Errorf("docs/scenario.md has no rig %s", rig)
		}
		for r := range setting.Rows {
			if use := r.Use(rig); use.Ask != "" && !strings.Contains(row, "`"+r.Key+"`") {
				t.Errorf("docs/scenario.md does not say that a rig %s needs %s", rig, r.Key)
			}
		}
	}
}
