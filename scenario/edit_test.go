package scenario_test

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"

	"pgregory.net/rapid"
)

var builtIn = scenario.Options{Known: tackle.Known, List: tackle.Names}

func with(edits ...sternfan.Edit) scenario.Options {
	opts := builtIn
	opts.Edits = edits
	return opts
}

func exampleTexts(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatal(files, err)
	}
	var texts []string
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(data))
	}
	return texts
}

func read(t rapid.TB, text string) *scenario.Document {
	t.Helper()
	doc, err := scenario.Read("test", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// untold are faults without the places at which they stand.
func untold(err error) sternfan.Faults {
	faults, _ := err.(sternfan.Faults)
	out := append(sternfan.Faults(nil), faults...)
	for i := range out {
		out[i].Line, out[i].Column, out[i].File = 0, 0, ""
		out[i].Hint = regexp.MustCompile(`it is also on line \d+; `).ReplaceAllString(out[i].Hint, "")
	}
	return out
}

// sameAsEdited checks that edits of the model give what the edited text gives, and that
// what they are of stays what it was.
func sameAsEdited(t rapid.TB, doc *scenario.Document, edits ...sternfan.Edit) {
	t.Helper()
	before, _, err := doc.Decode(builtIn)
	if err != nil {
		t.Fatal(err)
	}
	kept := *before
	got, src, gotErr := doc.Decode(with(edits...))
	edited, err := doc.Edit(edits...)
	if err != nil {
		if gotErr == nil {
			t.Fatalf("%v: the text refuses it: %v", edits, err)
		}
		return
	}
	want, _, wantErr := scenario.DecodeWith("test", []byte(edited.Text()), builtIn)
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("%v: another scenario than the edited text's (%v, %v):\n%+v\n%+v", edits, gotErr, wantErr, got, want)
	}
	a, b := untold(gotErr), untold(wantErr)
	if len(a) != len(b) {
		t.Fatalf("%v: faults\n%v\nof the edited text\n%v", edits, gotErr, wantErr)
	}
	for _, f := range a {
		found := false
		for _, g := range b {
			found = found || reflect.DeepEqual(f, g)
		}
		if !found {
			t.Fatalf("%v: %+v is none of the edited text's faults\n%+v", edits, f, b)
		}
	}
	if gotErr == nil && len(src.Edits()) != len(edits) {
		t.Fatalf("%v: told of as %v", edits, src.Edits())
	}
	if after, _, _ := doc.Decode(builtIn); !reflect.DeepEqual(after, before) || !reflect.DeepEqual(*before, kept) {
		t.Fatalf("%v: the scenario without it is another now", edits)
	}
}

// places are what edits of a document may name: what is in it, and keys that are not.
func places(doc *scenario.Document) []sternfan.Edit {
	var out []sternfan.Edit
	scenario.Places(doc, func(e sternfan.Edit, kind string) {
		switch kind {
		case "new key":
			for _, key := range []string{"band", "temperature", "bottom", "lead", "dial", "ring", "trip_load", "fixed", "reel", "bears", "beam", "sd", "source", "mass", "id", "added"} {
				more := e
				more.Key = strings.TrimSuffix(e.Key, "added") + key
				out = append(out, more)
			}
		default:
			out = append(out, e)
		}
	})
	return append(out,
		sternfan.Edit{Do: sternfan.EditAdd, Owner: "rods"}, sternfan.Edit{Do: sternfan.EditAdd, Owner: "gear.lures"},
		sternfan.Edit{Do: sternfan.EditRemove, Owner: "rods.nobody"}, sternfan.Edit{Owner: "wants", Key: "bands"})
}

var values = []string{"7 ft", "3 lb", "55 F", "2.5 mph", "2", "1.5", "on", "port", "intended", "nonsense", "braid-50", "spoon-standard",
	"{value: 40 ft, sd: 2 ft}", "{value: 40 ft, range: 5 %}", "[]", "[{depth: 0 ft, temp: 60 F}, {depth: 30 ft, temp: 50 F}]",
	"[{lure: spoon-standard}]", "{id: new, from: spoon-light}", "{}", "~", "\"7\"",
	"{id: more, holder: nowhere, rig: {kind: flat-line, line: mono-17, behind: [{lure: spoon-standard}]}, settings: {line_out: 90 ft}}"}

func randomEdit(t *rapid.T, places []sternfan.Edit) sternfan.Edit {
	e := rapid.SampledFrom(places).Draw(t, "place")
	switch {
	case e.Do == sternfan.EditSet && rapid.IntRange(0, 9).Draw(t, "remove") == 0:
		e.Do = sternfan.EditRemove
		if rapid.Bool().Draw(t, "its owner") {
			e.Key = ""
		}
	case e.Do != sternfan.EditRemove:
		e.Value = rapid.SampledFrom(values).Draw(t, "value")
	}
	return e
}

// Editing the model is editing the text: the same scenario to the last digit, or the same
// faults, whatever is edited and however often.
func TestEditOfTheModelIsOfTheText(t *testing.T) {
	texts := exampleTexts(t)
	var docs []*scenario.Document
	var all [][]sternfan.Edit
	for _, text := range texts {
		docs = append(docs, read(t, text))
		all = append(all, places(docs[len(docs)-1]))
	}
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(docs)-1).Draw(t, "example")
		var edits []sternfan.Edit
		for range rapid.IntRange(1, 3).Draw(t, "edits") {
			edits = append(edits, randomEdit(t, all[i]))
		}
		sameAsEdited(t, docs[i], edits...)
	})
}

// Every value of the examples takes another of its own kind, which the model and the text
// understand alike.
func TestEditOfEveryValue(t *testing.T) {
	number := regexp.MustCompile(`^\d+`)
	taken := 0
	for _, text := range exampleTexts(t) {
		doc := read(t, text)
		scenario.Places(doc, func(e sternfan.Edit, kind string) {
			if kind != "value" {
				return
			}
			now := scenario.ValueAt(doc, e)
			e.Value = number.ReplaceAllStringFunc(now, func(s string) string { return s + "1" })
			sameAsEdited(t, doc, e)
			if _, _, err := doc.Decode(with(e)); err == nil && e.Value != now {
				taken++
			}
		})
	}
	if taken < 150 {
		t.Errorf("only %d edits were of another value that holds", taken)
	}
}

// A setting's uncertainty can be given on the command line and by an edit alike.
func TestEditGivesAnUncertainty(t *testing.T) {
	doc := read(t, commented)
	opts := builtIn
	opts.Set = []string{"rods.chute.settings.line_out.sd=3 ft"}
	byFlag, src, err := doc.Decode(opts)
	if err != nil {
		t.Fatal(err)
	}
	byEdit, _, err := doc.Decode(with(sternfan.Edit{Owner: "rods.chute", Key: "settings.line_out.sd", Value: "3 ft"}))
	if err != nil {
		t.Fatal(err)
	}
	for what, s := range map[string]*sternfan.Scenario{"the flag": byFlag, "the edit": byEdit} {
		got := s.Rods[0].Settings.LineOut
		if got.Scatter.Kind != sternfan.Normal || math.Abs(got.Scatter.SD-0.9144) > 1e-12 || math.Abs(got.SI()-90*0.3048) > 1e-12 { // 0.3048 m a foot
			t.Errorf("by %s %+v", what, got)
		}
	}
	if e := src.Edits(); len(e) != 1 || e[0].Owner != "rods.chute" || e[0].Key != "settings.line_out.sd" {
		t.Errorf("the edit is told of as %v", e)
	}
}

// On the command line a thing may be named by its number; the edit has its id.
func TestFlagNamesTheThing(t *testing.T) {
	doc := read(t, exampleTexts(t)[0])
	first := scenario.ValueAt(doc, sternfan.Edit{Key: "rods[0].id"})
	for flag, want := range map[string]sternfan.Edit{
		"rods[0].settings.line_out=90 ft": {Owner: "rods." + first, Key: "settings.line_out"},
		"rods.0.fixed=on":                 {Owner: "rods." + first, Key: "fixed"},
		"speed.value=2 mph":               {Owner: "speed", Key: "value"},
		"people=2":                        {Key: "people"},
	} {
		opts := builtIn
		opts.Set = []string{flag}
		_, src, err := doc.Decode(opts)
		if err != nil {
			t.Fatal(err)
		}
		if got := src.Edits(); len(got) != 1 || got[0] != want {
			t.Errorf("%s is %+v, want %+v", flag, got, want)
		}
	}
}

// What an edit cannot name is refused with where it was and what may stand there.
func TestEditRefused(t *testing.T) {
	doc := read(t, commented)
	for _, c := range []struct {
		edit       sternfan.Edit
		code, path string
		allowed    string
	}{
		{sternfan.Edit{Owner: "rods[0]", Key: "fixed", Value: "on"}, "bad-path", "rods[0].fixed", ""},
		{sternfan.Edit{Owner: "rods.0", Key: "fixed", Value: "on"}, "unknown-key", "rods.0.fixed", "chute"},
		{sternfan.Edit{Owner: "rods.chut", Key: "fixed", Value: "on"}, "unknown-key", "rods.chut.fixed", "chute"},
		{sternfan.Edit{Owner: "rods.chute", Key: "fixd", Value: "on"}, "unknown-key", "rods[0].fixd", "fixed"},
		{sternfan.Edit{Owner: "rods.chute", Key: "holder.deeper", Value: "on"}, "unknown-key", "rods.chute.holder.deeper", ""},
		{sternfan.Edit{Owner: "rods.chute", Key: "settings.line_out", Value: "3 lb"}, "wrong-unit", "rods[0].settings.line_out", "ft"},
		{sternfan.Edit{Owner: "rods.chute", Value: "{id: chute}"}, "wrong-type", "rods.chute", ""},
		{sternfan.Edit{}, "bad-path", "", ""},
		{sternfan.Edit{Do: "insert", Owner: "rods", Value: "{}"}, "bad-change", "rods", "add"},
		{sternfan.Edit{Do: sternfan.EditAdd, Owner: "speed", Value: "{}"}, "wrong-type", "speed", ""},
		{sternfan.Edit{Do: sternfan.EditRemove, Owner: "gear.lures.other"}, "unknown-key", "gear.lures.other", "mine"},
		{sternfan.Edit{Owner: "speed", Key: "value", Value: "[unclosed"}, "syntax", "", ""},
	} {
		_, _, err := doc.Decode(with(c.edit))
		faults, _ := err.(sternfan.Faults)
		if len(faults) == 0 || faults[0].Code != c.code || faults[0].Path != c.path || !strings.Contains(strings.Join(faults[0].Allowed, " "), c.allowed) {
			t.Errorf("%+v: %+v", c.edit, faults)
		}
	}
}

// No edit panics, of the model or of the text; a fault says what is wrong.
func FuzzEdit(f *testing.F) {
	for _, e := range []sternfan.Edit{
		{Owner: "rods.chute", Key: "settings.line_out", Value: "90 ft"}, {Owner: "rods.chute", Key: "rig.behind", Value: "[{lure: mine}]"},
		{Do: "add", Owner: "rods", Value: "{id: a}"}, {Do: "remove", Owner: "boat.holders.port"}, {Owner: "water", Key: "temperature", Value: "50 F"},
		{Key: "note", Value: "? [a]\n: |\n  b"}, {Owner: "gear.lures.mine", Key: "attributes.x", Value: "\"1\""}, {Owner: "speed.value.value", Key: "sd"},
	} {
		f.Add(string(e.Do), e.Owner, e.Key, e.Value)
	}
	f.Fuzz(func(t *testing.T, do, owner, key, value string) {
		doc := read(t, commented)
		e := sternfan.Edit{Do: sternfan.EditKind(do), Owner: owner, Key: key, Value: value}
		_, _, err := doc.Decode(with(e))
		for _, fault := range untold(err) {
			if fault.Code == "" || fault.Text == "" {
				t.Fatalf("%+v", fault)
			}
		}
		sameAsEdited(t, doc, e)
		opts := builtIn
		opts.Set = []string{e.Path() + "=" + value}
		if s, src, err := doc.Decode(opts); src == nil || (s == nil) == (err == nil) {
			t.Fatalf("scenario %v, source %v, error %v", s, src, err)
		}
	})
}
