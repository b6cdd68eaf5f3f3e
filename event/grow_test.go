package event_test

import (
	"encoding/json/jsontext"
	"encoding/json/v2"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/event"
	"sternfan/internal/logtest"

	"pgregory.net/rapid"
)

const july = 1783159200000

// Canonical forms as RFC 8785 prints them: the example of section 3.2.2 with the sorted
// form of 3.2.3, the sorting example of 3.2.3, and the numbers of appendix B that JSON can
// hold.
func TestCanonicalFormIsThatOfRFC8785(t *testing.T) {
	type example struct{ text, want string }
	examples := []example{
		{
			`{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}`,
			`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
		},
		{
			`{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One",
  "\ud83d\ude00": "Emoji: Grinning Face",
  "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}`,
			"{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\u0080\":\"Control\",\"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\",\"😀\":\"Emoji: Grinning Face\",\"\ufb33\":\"Hebrew Letter Dalet With Dagesh\"}",
		},
	}
	examples = append(examples, []example{
		{"0", "0"}, {"-0", "0"}, {"5e-324", "5e-324"}, {"-5e-324", "-5e-324"},
		{"1.7976931348623157e+308", "1.7976931348623157e+308"}, {"-1.7976931348623157e+308", "-1.7976931348623157e+308"},
		{"9007199254740992", "9007199254740992"}, {"-9007199254740992", "-9007199254740992"},
		{"295147905179352830000", "295147905179352830000"}, {"9.999999999999997e22", "9.999999999999997e+22"}, {"1e23", "1e+23"},
		{"1.0000000000000001e23", "1.0000000000000001e+23"}, {"999999999999999700000", "999999999999999700000"},
		{"999999999999999900000", "999999999999999900000"}, {"1e21", "1e+21"}, {"9.999999999999997e-7", "9.999999999999997e-7"},
		{"0.000001", "0.000001"}, {"333333333.3333332", "333333333.3333332"}, {"333333333.33333325", "333333333.33333325"},
		{"333333333.3333333", "333333333.3333333"}, {"333333333.3333334", "333333333.3333334"}, {"333333333.33333343", "333333333.33333343"},
		{"-0.0000033333333333333333", "-0.0000033333333333333333"}, {"1424953923781206.2", "1424953923781206.2"},
	}...)
	for _, ex := range examples {
		v := jsontext.Value(ex.text)
		if err := v.Canonicalize(); err != nil || string(v) != ex.want {
			t.Errorf("%s\n\tis canonical as %s (%v), want\n\t%s", ex.text, v, err, ex.want)
		}
	}
}

// The test cases of RFC 7386, appendix A.
func TestMergePatchIsThatOfRFC7386(t *testing.T) {
	for _, tt := range [][3]string{
		{`{"a":"b"}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"b"}`, `{"b":"c"}`, `{"a":"b","b":"c"}`},
		{`{"a":"b"}`, `{"a":null}`, `{}`},
		{`{"a":"b","b":"c"}`, `{"a":null}`, `{"b":"c"}`},
		{`{"a":["b"]}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"c"}`, `{"a":["b"]}`, `{"a":["b"]}`},
		{`{"a":{"b":"c"}}`, `{"a":{"b":"d","c":null}}`, `{"a":{"b":"d"}}`},
		{`{"a":[{"b":"c"}]}`, `{"a":[1]}`, `{"a":[1]}`},
		{`["a","b"]`, `["c","d"]`, `["c","d"]`},
		{`{"a":"b"}`, `["c"]`, `["c"]`},
		{`{"a":"foo"}`, `null`, `null`},
		{`{"a":"foo"}`, `"bar"`, `"bar"`},
		{`{"e":null}`, `{"a":1}`, `{"a":1,"e":null}`},
		{`[1,2]`, `{"a":"b","c":null}`, `{"a":"b"}`},
		{`{}`, `{"a":{"bb":{"ccc":null}}}`, `{"a":{"bb":{}}}`},
	} {
		got, err := event.MergePatch(jsontext.Value(tt[0]), jsontext.Value(tt[1]))
		if err != nil || string(got) != tt[2] {
			t.Errorf("%s with %s is %s (%v), want %s", tt[0], tt[1], got, err, tt[2])
		}
	}
}

// everyKind returns an event of each kind, with all that its body can hold.
func everyKind() []event.Event {
	m := logtest.NewMaker("helm", july, 3)
	line := m.Line(1)
	line.Line.Settings.Section = logtest.P(45.72)
	line.Line.Parts[3].Parts = []event.Part{{ID: "lure-2", Kind: sternfan.PartLure, Gear: "fly"}}
	at := event.Instant{Milli: july, Offset: -240}
	rod := "rod-2"
	id := event.MakeID(july, [10]byte{7})
	bodies := []event.Body{
		event.TripBegins{Name: "a day", Boat: "Second Cup", People: 4, Anglers: 3, Scenario: "version: 1\n", Note: "calm"},
		event.TripEnds{Note: "home"}, line, event.LineChanged(line), event.LineChecked{Note: "clean"}, event.LineFouled{With: "weed"}, event.LineIn{},
		event.Strike{Set: id, Lure: "lure-1", Species: "steelhead", Fan: line.Fan},
		event.Landed{Strike: id, Species: "steelhead", Length: logtest.P(.7), Mass: logtest.P(4), Fate: event.Kept},
		event.Lost{Strike: id, StillOut: true},
		event.Conditions{Surface: logtest.P(1.1), Temperature: [][2]float64{{0, 19}, {20, 9}}, Current: []event.Current{{Depth: 3, Speed: .1, Toward: 60}}},
		event.Reading{What: event.ReadSlant, Value: 21, SD: .5, Part: "ball"}, event.Note{Text: "birds\nto the north"},
		event.Fix{Of: id, At: &at, Rod: &rod, To: event.KindLost, Change: []byte(`{"still_out":true,"species":null}`)},
		event.Clock{Of: "phone", Shift: -1000, Until: &at}, event.Solved{Of: id, Fan: *line.Fan},
	}
	var out []event.Event
	for _, b := range bodies {
		e := m.Event(rod, b)
		e.Where = &sternfan.Place{Lat: 43.5, Lon: -77.25}
		out = append(out, e)
	}
	return out
}

// anyValue draws a JSON value that keeps to the limits.
func anyValue(t *rapid.T, deep int) any {
	most := 5
	if deep == 0 {
		most = 3
	}
	switch rapid.IntRange(0, most).Draw(t, "sort") {
	case 0:
		return rapid.SampledFrom([]any{nil, true, false}).Draw(t, "literal")
	case 1:
		return rapid.StringOfN(rapid.RuneFrom([]rune("aZ 09.,\"\\/<>&\u00e9\u2028\U0001f41f\n\t")), 0, 12, -1).Draw(t, "text")
	case 2:
		return rapid.Float64Range(-1e12, 1e12).Draw(t, "number")
	case 3:
		return rapid.Int64().Draw(t, "whole") // beyond what a float64 holds as well
	case 4:
		return []any{anyValue(t, deep-1), anyValue(t, deep-1)}
	}
	return map[string]any{memberName(t): anyValue(t, deep-1), "": anyValue(t, deep-1)}
}

func memberName(t *rapid.T) string {
	return rapid.StringMatching(`new_[a-z0-9é/~ ]{1,6}`).Draw(t, "name")
}

// grow adds members that no version knows to some objects of a JSON tree, and returns
// their paths. The attributes of a part are the crew's own and none of them is unknown.
func grow(t *rapid.T, tree any, path string) (paths []string) {
	switch v := tree.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			if name != "attributes" {
				paths = append(paths, grow(t, v[name], strings.TrimPrefix(path+"."+name, "."))...)
			}
		}
		if rapid.IntRange(0, 2).Draw(t, "grows") == 0 {
			name := memberName(t)
			v[name] = anyValue(t, 2)
			paths = append(paths, strings.TrimPrefix(path+"."+name, "."))
		}
	case []any:
		for i := range v {
			paths = append(paths, grow(t, v[i], fmt.Sprintf("%s[%d]", path, i))...)
		}
	}
	return paths
}

// Members that this version does not know, anywhere, are named, and stay byte for byte;
// written in another order and with other blanks it is the same event, and so it is when
// it is written anew.
func TestUnknownMembersAreKept(t *testing.T) {
	all := everyKind()
	rapid.Check(t, func(t *rapid.T) {
		e := rapid.SampledFrom(all).Draw(t, "event")
		var tree any
		if err := json.Unmarshal([]byte(e.Text()), &tree); err != nil {
			t.Fatal(err)
		}
		want := grow(t, tree, "")
		text, err := json.Marshal(tree) // in whatever order
		if err != nil {
			t.Fatal(err)
		}
		got, err := event.Decode(text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if got.Text() != string(text) {
			t.Fatalf("kept as\n%s\nof\n%s", got.Text(), text)
		}
		named := got.NotUnderstood()
		slices.Sort(named)
		slices.Sort(want)
		if !slices.Equal(named, want) {
			t.Fatalf("not understood: %q, want %q\n%s", named, want, text)
		}
		if got.Grown() != (len(want) > 0 || e.Grown()) {
			t.Fatalf("grown: %v with %q", got.Grown(), want)
		}
		if len(want) == 0 && !event.Same(&got, &e) {
			t.Fatalf("another event without anything new:\n%s\n%s", text, e.Text())
		}
		other := jsontext.Value(slices.Clone(text))
		if err := other.Indent(); err != nil {
			t.Fatal(err)
		}
		if err := other.Canonicalize(); err != nil {
			t.Fatal(err)
		}
		again, err := event.Decode(other)
		if err != nil || !event.Same(&got, &again) {
			t.Fatalf("in its canonical form it is another: %v\n%s\n%s", err, text, other)
		}
		got.Changed()
		anew, err := event.Decode([]byte(got.Text()))
		if err != nil || !event.Same(&again, &anew) || !slices.Equal(sorted(anew.NotUnderstood()), want) {
			t.Fatalf("written anew it is another: %v\n%s\n%s", err, text, got.Text())
		}
	})
}

func sorted(s []string) []string {
	slices.Sort(s)
	return s
}

const head = `{"id":"01ARZ3NDEKTSV4RRFFQ69G5FAV","at":"2026-07-04T06:12:03.120-04:00","by":"helm",`

// A log has a line for each event: line breaks between members go, and nothing else.
func TestLineBreaksBetweenMembersGo(t *testing.T) {
	e, err := event.Decode([]byte("\n " + strings.ReplaceAll(head, ",", ",\r\n  ") + `"new": [1.50, 1e3],` + "\n" + `"kind":"note","body":{"text":"a\nb"}}` + "\n"))
	if err != nil {
		t.Fatal(err)
	}
	if want := head + `"new":[1.50,1e3],"kind":"note","body":{"text":"a\nb"}}`; e.Text() != want {
		t.Errorf("%s\nwant\n%s", e.Text(), want)
	}
}

func TestUnknownKindsAreKept(t *testing.T) {
	text := head + `"kind":"weighed","rod":"p1","body":{"by":"scale","of":[1, 2.50]}}`
	e, err := event.Decode([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	b, ok := e.Body.(event.Unknown)
	if !ok || b.Kind != "weighed" || e.Kind() != "weighed" || e.Rod != "p1" || e.Text() != text || !e.Grown() {
		t.Errorf("%+v", e)
	}
	if e.Kind().Known() || e.Kind().OfRod() || slices.Contains(event.Kinds(), e.Kind()) {
		t.Error("the kind is known")
	}
	e.Rod = "p2"
	e.Changed()
	if want := strings.Replace(text, "p1", "p2", 1); !sameJSON(t, e.Text(), want) {
		t.Errorf("%s, want %s", e.Text(), want)
	}
}

func sameJSON(t *testing.T, a, b string) bool {
	t.Helper()
	x, y := jsontext.Value(a), jsontext.Value(b)
	if err := errors.Join(x.Canonicalize(), y.Canonicalize()); err != nil {
		t.Fatal(err)
	}
	return string(x) == string(y)
}

// The limits hold for what is not known too.
func TestUnknownMembersKeepToTheLimits(t *testing.T) {
	in := func(member string) string { return head + `"kind":"note","body":{"text":"x",` + member + `}}` }
	nest := func(n int) string { return strings.Repeat("[", n) + strings.Repeat("]", n) }
	for name, tt := range map[string]struct{ text, code string }{
		"a bell":                {in(`"n":"\u0007"`), "bad-text"},
		"a bell deep in":        {in(`"n":[{"a":"\u0007"}]`), "bad-text"},
		"a bell in a name":      {in(`"n\u0007":1`), "bad-text"},
		"a bell in a name deep": {in(`"n":{"a\u0007":1}`), "bad-text"},
		"half a pair":           {in(`"n":"\ud800"`), "bad-json"},
		"no UTF-8":              {in("\"n\":\"\xff\""), "bad-json"},
		"a long name":           {in(`"` + strings.Repeat("n", 65) + `":1`), "too-long"},
		"a long text":           {in(`"n":"` + strings.Repeat("n", 16<<10+1) + `"`), "too-long"},
		"a key twice":           {in(`"n":1,"n":1`), "duplicate-key"},
		"a key twice within":    {in(`"n":{"a":[{"b":1,"b":1}]}`), "duplicate-key"},
		"too deep":              {in(`"n":` + nest(31)), "too-deep"},
		"too many":              {in(`"n":[` + strings.Repeat("1,", 4096) + `1]`), "too-many"},
		"a number past all":     {in(`"n":1e999`), "out-of-range"},
		"in an unknown kind":    {head + `"kind":"weighed","body":{"n":"\u0007"}}`, "bad-text"},
		"in a change":           {head + `"kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV","to":"note","change":{"n":"\u0007"}}}`, "bad-text"},
		"in a whole body":       {head + `"kind":"fix","body":{"of":"01ARZ3NDEKTSV4RRFFQ69G5FAV","to":"note","body":{"text":"x","n":1e999}}}`, "out-of-range"},
		"too large":             {in(`"n":[` + strings.Repeat(`"`+strings.Repeat("n", 16<<10)+`",`, 128) + `1]`), "too-long"},
		"a version of none":     {head + `"version":-1,"kind":"note","body":{"text":"x"}}`, "out-of-range"},
		"half a version":        {head + `"version":1.5,"kind":"note","body":{"text":"x"}}`, "wrong-type"},
	} {
		_, err := event.Decode([]byte(tt.text))
		var faults sternfan.Faults
		if !errors.As(err, &faults) || faults[0].Code != tt.code {
			t.Errorf("%s: %v, want %s", name, err, tt.code)
		}
	}
	for name, text := range map[string]string{
		"deep":     in(`"n":` + nest(30)),
		"long":     in(`"` + strings.Repeat("n", 64) + `":"` + strings.Repeat("n", 16<<10) + `"`),
		"many":     in(`"n":[` + strings.Repeat("1,", 4000) + `1]`),
		"newlines": in(`"n":"a\r\n\tb"`),
	} {
		if _, err := event.Decode([]byte(text)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The version stands only where a newer member than the first version's is used.
func TestVersionStandsWhereItIsNeeded(t *testing.T) {
	m := logtest.NewMaker("helm", july, 5)
	for _, e := range append(m.Day("invented", 3, 12), everyKind()...) {
		newer := strings.Contains(e.Text(), `"section_m"`) || strings.Contains(e.Text(), `"change"`)
		if got := strings.Contains(e.Text(), `"version":2`); got != newer {
			t.Errorf("%s", e.Text())
		}
		if e.NewerVersion() != 0 {
			t.Errorf("%s is said to be of a newer version", e.Text())
		}
	}
	text := head + `"kind":"note","version":7,"body":{"text":"x"}}`
	e, err := event.Decode([]byte(text))
	if err != nil || e.NewerVersion() != 7 || e.Text() != text || len(e.NotUnderstood()) > 0 {
		t.Fatalf("%v %d %s", err, e.NewerVersion(), e.Text())
	}
	e.By = "phone"
	e.Changed()
	if !strings.Contains(e.Text(), `"version":7`) || !strings.Contains(e.Text(), `"phone"`) {
		t.Errorf("written anew: %s", e.Text())
	}
}

// A correction by members keeps what it does not name, known or not, and gets from any
// body to any other.
func TestCorrectionsKeepUnknownMembers(t *testing.T) {
	draw := func(t *rapid.T) event.Body {
		maybe := func() *float64 {
			if rapid.Bool().Draw(t, "given") {
				return logtest.P(rapid.Float64Range(0, 2).Draw(t, "value"))
			}
			return nil
		}
		species := rapid.SampledFrom([]string{"", "steelhead", "coho salmon"}).Draw(t, "species")
		if rapid.Bool().Draw(t, "landed") {
			return event.Landed{Species: species, Length: maybe(), Mass: maybe(), Note: species}
		}
		return event.Lost{Species: species, StillOut: rapid.Bool().Draw(t, "out")}
	}
	rapid.Check(t, func(t *rapid.T) {
		e := event.Event{ID: event.MakeID(july, [10]byte{1}), At: event.Instant{Milli: july}, By: "helm", Rod: "p1", Body: draw(t)}
		var tree map[string]any
		if err := json.Unmarshal([]byte(e.Text()), &tree); err != nil {
			t.Fatal(err)
		}
		want := grow(t, tree, "")
		text, err := json.Marshal(tree)
		if err != nil {
			t.Fatal(err)
		}
		got, err := event.Decode(text)
		if err != nil {
			t.Fatal(err)
		}
		to := draw(t)
		change, err := event.ChangeTo(got.Body, to)
		if err != nil {
			t.Fatal(err)
		}
		if err := got.Correct(&event.Fix{To: event.KindOf(to), Change: change}); err != nil {
			t.Fatalf("%v: %s", err, change)
		}
		e.Body = to
		if a, b := known(t, got.Body), known(t, to); a != b {
			t.Fatalf("%s in\n%s\nmakes %s, want %s", change, text, a, b)
		}
		if named := sorted(got.NotUnderstood()); !slices.Equal(named, sorted(want)) {
			t.Fatalf("not understood %q, was %q", named, want)
		}
		var before, after struct {
			Body map[string]any `json:"body"`
		}
		if err := errors.Join(json.Unmarshal(text, &before), json.Unmarshal([]byte(got.Text()), &after)); err != nil {
			t.Fatal(err)
		}
		for name, v := range before.Body {
			if strings.HasPrefix(name, "new_") && !reflect.DeepEqual(after.Body[name], v) {
				t.Fatalf("%s was %v and is %v", name, v, after.Body[name])
			}
		}
	})
}

func known(t *rapid.T, b event.Body) string {
	text, err := json.Marshal(b, json.Deterministic(true))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
