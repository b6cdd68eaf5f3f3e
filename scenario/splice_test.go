package scenario_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sternfan/scenario"

	"pgregory.net/rapid"
)

const commented = `# the boat
speed: {given: surface, value: 2.4 mph} # paddle wheel
boat:
  # measured on the trailer
  holders:
    - {id: chute, tip: {up: 8 ft}} # over the stern
    - id: port # a block
      tip: {forward: 3 ft, port: 8 ft}
note: >
  Two lines
  of words.
gear: # my own
  lures:
    - id: mine
      from: spoon-standard
rods: # in the order of the rack
  # the one that is always out
  - id: chute
    holder: chute
    rig: {kind: flat-line, line: mono-17, behind: [{lure: spoon-standard}]} # as sold
    settings: {line_out: 90 ft} # counted
# the end
`

// One change changes the lines it is about, and every other one stays letter by letter.
func TestEditKeepsComments(t *testing.T) {
	for _, c := range []struct {
		name      string
		change    scenario.Change
		old, want string
	}{
		{"a value", scenario.Change{Do: "set", Path: "speed.value", Value: "2.6 mph"}, "value: 2.4 mph", "value: 2.6 mph"},
		{"a new key between braces", scenario.Change{Do: "set", Path: "speed.band", Value: "0.2 mph"}, "value: 2.4 mph}", "value: 2.4 mph, band: 0.2 mph}"},
		{"a new key of a block", scenario.Change{Do: "set", Path: "boat.length", Value: "20 ft"}, "port: 8 ft}\n", "port: 8 ft}\n  length: 20 ft\n"},
		{"a new key behind a comment", scenario.Change{Do: "set", Path: "rods.chute.fixed", Value: "true"}, "# counted\n", "# counted\n    fixed: true\n"},
		{"a new key of the file", scenario.Change{Do: "set", Path: "heading", Value: "20 deg"}, "# counted\n", "# counted\nheading: 20 deg\n"},
		{"new keys on the way", scenario.Change{Do: "set", Path: "water.bottom", Value: "90 ft"}, "# counted\n", "# counted\nwater: {bottom: 90 ft}\n"},
		{"a map for a value", scenario.Change{Do: "set", Path: "speed.value", Value: "{value: 2.4 mph, sd: 0.1 mph}"}, "value: 2.4 mph}", "value: {value: 2.4 mph, sd: 0.1 mph}}"},
		{"an uncertainty", scenario.Change{Do: "set", Path: "boat.holders.port.tip.port.sd", Value: "1 in"}, "port: 8 ft}", "port: {value: 8 ft, sd: 1 in}}"},
		{"words of several lines", scenario.Change{Do: "set", Path: "note", Value: "One."}, ">\n  Two lines\n  of words.\n", "One.\n"},
		{"an element of a block", scenario.Change{Do: "insert", Path: "boat.holders", Value: "{id: star, tip: {up: 3 ft}}", At: -1}, "port: 8 ft}\n", "port: 8 ft}\n    - id: star\n      tip: {up: 3 ft}\n"},
		{"an element before others", scenario.Change{Do: "insert", Path: "boat.holders", Value: "{id: star}"}, "    - {id: chute, tip", "    - {id: star}\n    - {id: chute, tip"},
		{"an element between brackets", scenario.Change{Do: "insert", Path: "rods.chute.rig.behind", Value: "{leader: fluoro-20, length: 6 ft}"}, "[{lure", "[{leader: fluoro-20, length: 6 ft}, {lure"},
		{"an element of a new list", scenario.Change{Do: "insert", Path: "gear.lines", Value: "{id: l, from: mono-20}", At: -1}, "from: spoon-standard\n", "from: spoon-standard\n  lines:\n    - {id: l, from: mono-20}\n"},
		{"an element out of a block", scenario.Change{Do: "remove", Path: "boat.holders.port"}, "    - id: port # a block\n      tip: {forward: 3 ft, port: 8 ft}\n", ""},
		{"the only element out", scenario.Change{Do: "remove", Path: "rods.chute.rig.behind[0]"}, "[{lure: spoon-standard}]", "[]"},
		{"a key out of braces", scenario.Change{Do: "remove", Path: "speed.value"}, ", value: 2.4 mph", ""},
		{"the first key out of braces", scenario.Change{Do: "remove", Path: "boat.holders.port.tip.forward"}, "forward: 3 ft, ", ""},
		{"a key out of a block", scenario.Change{Do: "remove", Path: "rods.chute.settings"}, "    settings: {line_out: 90 ft} # counted\n", ""},
		{"the first key out behind a dash", scenario.Change{Do: "remove", Path: "gear.lures.mine.id"}, "- id: mine\n      from", "- from"},
		{"a list for a value", scenario.Change{Do: "set", Path: "rods.chute.settings", Value: "{line_out: 90 ft, lead: 3 ft}"}, "{line_out: 90 ft}", "{line_out: 90 ft, lead: 3 ft}"},
	} {
		doc, err := scenario.Read("test", []byte(commented))
		if err != nil {
			t.Fatal(err)
		}
		got, err := doc.Edit(c.change)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if strings.Count(commented, c.old) != 1 {
			t.Fatalf("%s: %q stands %d times", c.name, c.old, strings.Count(commented, c.old))
		}
		if want := strings.Replace(commented, c.old, c.want, 1); string(got) != want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got, want)
		}
	}
}

var mark = regexp.MustCompile(`#c\d+`)

// marked puts a comment behind every line of a file but those inside a folded text.
func marked(t *testing.T, file string) string {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimRight(string(data), "\n"), "\n")
	folded := false
	for i, line := range lines {
		if folded && strings.HasPrefix(line, " ") {
			continue
		}
		if folded = strings.HasSuffix(line, ">"); !folded {
			lines[i] = fmt.Sprintf("%s #c%d", line, i)
		}
	}
	return strings.Join(lines, "\n") + "\n"
}

// Every comment of the examples outlives new keys, new elements and new values anywhere
// in them, and the file holds what it held and the change.
func TestEditKeepsEveryComment(t *testing.T) {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatal(files, err)
	}
	var texts []string
	for _, f := range files {
		texts = append(texts, marked(t, f))
	}
	rapid.Check(t, func(r *rapid.T) {
		text := rapid.SampledFrom(texts).Draw(r, "file")
		doc, err := scenario.Read("test", []byte(text))
		if err != nil {
			r.Fatal(err)
		}
		paths := map[string][]string{}
		scenario.Paths(doc, func(path, kind string) { paths[kind] = append(paths[kind], path) })
		value := rapid.SampledFrom([]string{"3 ft", "{a: 1}", "{a: {b: [1, 2]}, c: \"it's # no comment\"}", "[1, {b: 2}]", "x: 1\ny:\n  - {z: 2}\n  - w: {v: 3}"}).Draw(r, "value")
		var c scenario.Change
		switch rapid.IntRange(0, 2).Draw(r, "kind") {
		case 0:
			c = scenario.Change{Do: "set", Path: rapid.SampledFrom(paths["map"]).Draw(r, "map") + "added", Value: value}
		case 1:
			c = scenario.Change{Do: "insert", Path: rapid.SampledFrom(paths["list"]).Draw(r, "list"), Value: value, At: rapid.IntRange(-1, 2).Draw(r, "at")}
		case 2:
			c = scenario.Change{Do: "set", Path: rapid.SampledFrom(paths["value"]).Draw(r, "value of"), Value: value}
		}
		got, err := doc.Edit(c)
		if err != nil {
			r.Fatal(c, err)
		}
		was, now := mark.FindAllString(text, -1), mark.FindAllString(string(got), -1)
		if len(was) != len(now) {
			r.Fatalf("%+v: %d comments of %d are left:\n%s", c, len(now), len(was), got)
		}
		if c.Do == "set" && c.Path != "" {
			back, err := scenario.Read("test", got)
			if err != nil {
				r.Fatal(err)
			}
			again, err := back.Edit(c)
			if err != nil || string(again) != string(got) {
				r.Fatalf("%+v: again it is another file: %v\n%s", c, err, again)
			}
		}
	})
}
