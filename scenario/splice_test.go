package scenario_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sternfan"
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
		edit      sternfan.Edit
		old, want string
	}{
		{"a value", sternfan.Edit{Owner: "speed", Key: "value", Value: "2.6 mph"}, "value: 2.4 mph", "value: 2.6 mph"},
		{"a new key between braces", sternfan.Edit{Owner: "speed", Key: "band", Value: "0.2 mph"}, "value: 2.4 mph}", "value: 2.4 mph, band: 0.2 mph}"},
		{"a new key of a block", sternfan.Edit{Owner: "boat", Key: "length", Value: "20 ft"}, "port: 8 ft}\n", "port: 8 ft}\n  length: 20 ft\n"},
		{"a new key behind a comment", sternfan.Edit{Owner: "rods.chute", Key: "fixed", Value: "true"}, "# counted\n", "# counted\n    fixed: true\n"},
		{"a new key of the file", sternfan.Edit{Key: "heading", Value: "20 deg"}, "# counted\n", "# counted\nheading: 20 deg\n"},
		{"new keys on the way", sternfan.Edit{Owner: "water", Key: "bottom", Value: "90 ft"}, "# counted\n", "# counted\nwater: {bottom: 90 ft}\n"},
		{"a map for a value", sternfan.Edit{Owner: "speed", Key: "value", Value: "{value: 2.4 mph, sd: 0.1 mph}"}, "value: 2.4 mph}", "value: {value: 2.4 mph, sd: 0.1 mph}}"},
		{"an uncertainty", sternfan.Edit{Owner: "boat.holders.port", Key: "tip.port.sd", Value: "1 in"}, "port: 8 ft}", "port: {value: 8 ft, sd: 1 in}}"},
		{"words of several lines", sternfan.Edit{Key: "note", Value: "One."}, ">\n  Two lines\n  of words.\n", "One.\n"},
		{"an element of a block", sternfan.Edit{Do: "add", Owner: "boat.holders", Value: "{id: star, tip: {up: 3 ft}}"}, "port: 8 ft}\n", "port: 8 ft}\n    - id: star\n      tip: {up: 3 ft}\n"},
		{"an element before others", sternfan.Edit{Owner: "boat", Key: "holders", Value: "[{id: star}, {id: chute, tip: {up: 8 ft}}, {id: port, tip: {forward: 3 ft, port: 8 ft}}]"}, "    - {id: chute, tip", "    - {id: star}\n    - {id: chute, tip"},
		{"an element between brackets", sternfan.Edit{Owner: "rods.chute", Key: "rig.behind", Value: "[{leader: fluoro-20, length: 6 ft}, {lure: spoon-standard}]"}, "[{lure", "[{leader: fluoro-20, length: 6 ft}, {lure"},
		{"an element of a new list", sternfan.Edit{Do: "add", Owner: "gear.lines", Value: "{id: l, from: mono-20}"}, "from: spoon-standard\n", "from: spoon-standard\n  lines:\n    - {id: l, from: mono-20}\n"},
		{"an element out of a block", sternfan.Edit{Do: "remove", Owner: "boat.holders.port"}, "    - id: port # a block\n      tip: {forward: 3 ft, port: 8 ft}\n", ""},
		{"the only element out", sternfan.Edit{Owner: "rods.chute", Key: "rig.behind", Value: "[]"}, "[{lure: spoon-standard}]", "[]"},
		{"a key out of braces", sternfan.Edit{Do: "remove", Owner: "speed", Key: "value"}, ", value: 2.4 mph", ""},
		{"the first key out of braces", sternfan.Edit{Do: "remove", Owner: "boat.holders.port", Key: "tip.forward"}, "forward: 3 ft, ", ""},
		{"a key out of a block", sternfan.Edit{Do: "remove", Owner: "rods.chute", Key: "settings"}, "    settings: {line_out: 90 ft} # counted\n", ""},
		{"the first key out behind a dash", sternfan.Edit{Do: "remove", Owner: "gear.lures.mine", Key: "id"}, "- id: mine\n      from", "- from"},
		{"a list for a value", sternfan.Edit{Owner: "rods.chute", Key: "settings", Value: "{line_out: 90 ft, lead: 3 ft}"}, "{line_out: 90 ft}", "{line_out: 90 ft, lead: 3 ft}"},
	} {
		doc, err := scenario.Read("test", []byte(commented))
		if err != nil {
			t.Fatal(err)
		}
		got, err := doc.Edit(c.edit)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if strings.Count(commented, c.old) != 1 {
			t.Fatalf("%s: %q stands %d times", c.name, c.old, strings.Count(commented, c.old))
		}
		if want := strings.Replace(commented, c.old, c.want, 1); got.Text() != want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got.Text(), want)
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
		paths := map[string][]sternfan.Edit{}
		scenario.Places(doc, func(e sternfan.Edit, kind string) { paths[kind] = append(paths[kind], e) })
		value := rapid.SampledFrom([]string{"3 ft", "{a: 1}", "{a: {b: [1, 2]}, c: \"it's # no comment\"}", "[1, {b: 2}]", "x: 1\ny:\n  - {z: 2}\n  - w: {v: 3}"}).Draw(r, "value")
		kind := rapid.SampledFrom([]string{"new key", "list", "value"}).Draw(r, "kind")
		e := rapid.SampledFrom(paths[kind]).Draw(r, kind)
		switch {
		case kind != "list":
			e.Value = value
		case rapid.Bool().Draw(r, "at its end"):
			e.Do, e.Value = sternfan.EditAdd, value
		default:
			// One element more, somewhere among those there are.
			items := scenario.Items(doc, e)
			at := rapid.IntRange(0, len(items)).Draw(r, "at")
			e.Value = "[" + strings.Join(slices.Insert(items, at, "{added: [1, {b: 2}]}"), ", ") + "]"
		}
		got, err := doc.Edit(e)
		if err != nil {
			r.Fatal(e, err)
		}
		was, now := mark.FindAllString(text, -1), mark.FindAllString(got.Text(), -1)
		if len(was) != len(now) {
			r.Fatalf("%+v: %d comments of %d are left:\n%s", e, len(now), len(was), got.Text())
		}
		if e.Do == sternfan.EditSet && e.Key != "id" {
			back, err := scenario.Read("test", []byte(got.Text()))
			if err != nil {
				r.Fatal(err)
			}
			again, err := back.Edit(e)
			if err != nil || again.Text() != got.Text() {
				r.Fatalf("%+v: again it is another file: %v\n%s", e, err, again.Text())
			}
		}
	})
}
