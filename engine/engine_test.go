package engine_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/engine"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
	"sternfan/verdict"
)

func example(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// do asks an engine and returns the typed answer.
func do[R any](t testing.TB, e *engine.Engine, op string, ask any) *R {
	t.Helper()
	text, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	var reply struct {
		Answer *R
		Faults sternfan.Faults
		Failed string
	}
	if err := json.Unmarshal(e.Handle(t.Context(), op, text, nil), &reply); err != nil {
		t.Fatal(err)
	}
	if reply.Answer == nil {
		t.Fatalf("%s: %v %s", op, reply.Faults, reply.Failed)
	}
	return reply.Answer
}

func refused(t testing.TB, e *engine.Engine, op string, ask any) (sternfan.Faults, string) {
	t.Helper()
	text, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	var reply struct {
		Answer any
		Faults sternfan.Faults
		Failed string
	}
	if err := json.Unmarshal(e.Handle(t.Context(), op, text, nil), &reply); err != nil {
		t.Fatal(err)
	}
	if reply.Answer != nil || len(reply.Faults) == 0 && reply.Failed == "" {
		t.Fatalf("%s was answered", op)
	}
	return reply.Faults, reply.Failed
}

// The answer's fan is that of the engine without anything remembered, whatever was asked
// before.
func TestSpread(t *testing.T) {
	text := example(t, "class.yaml")
	sc, _, err := scenario.DecodeWith("x", []byte(text), scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		t.Fatal(err)
	}
	m, faults := tackle.Resolve(sc)
	if faults != nil {
		t.Fatal(faults)
	}
	want, err := spread.Solve(t.Context(), m, spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	verdict.Judge(m, want, unit.US)
	want.Verdict.Headline = report.Headline(want, unit.US)
	wantText, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var e engine.Engine
	rod := sc.Rods[0].ID
	for _, set := range [][]string{nil, {"rods." + rod + ".settings.line_out=70ft"}} {
		do[engine.Moved](t, &e, "move", engine.Given{Text: text, Set: set})
	}
	got := do[struct {
		engine.Spread
		Fan json.RawMessage `json:"fan"`
	}](t, &e, "spread", engine.SpreadAsk{Given: engine.Given{Text: text}, Intervals: true, Fan: true, Plan: true})
	if string(got.Fan) != string(wantText) {
		t.Error("the fan differs from a fresh one")
	}
	if !reflect.DeepEqual(got.Rows, report.Rows(want, unit.US)) || got.Headline != report.Headline(want, unit.US) {
		t.Error("the rows or the headline differ")
	}
	if got.Plan == nil || len(got.Plan.Views) < 3 {
		t.Error("no lines plan")
	}
}

func TestCheck(t *testing.T) {
	var e engine.Engine
	ok := do[engine.Checked](t, &e, "check", engine.CheckAsk{Given: engine.Given{Text: example(t, "summer.yaml")}, Registry: true})
	if len(ok.Faults) != 0 || len(ok.Rods) != 12 || len(ok.Devices) != 3 || len(ok.Registry) == 0 {
		t.Errorf("%d faults, %d rods, %d devices, %d entries", len(ok.Faults), len(ok.Rods), len(ok.Devices), len(ok.Registry))
	}
	bad := do[engine.Checked](t, &e, "check", engine.CheckAsk{Given: engine.Given{Text: "version: 1\nspede: 2 mph\n", Name: "mine.yaml"}})
	if !slices.ContainsFunc(bad.Faults, func(f sternfan.Fault) bool {
		return f.Code == "unknown-key" && f.File == "mine.yaml" && f.Line == 2 && f.Column == 1
	}) {
		t.Errorf("no unknown key at mine.yaml:2:1 in %+v", bad.Faults)
	}
}

// Every operation answers nonsense with words, never with silence.
func TestNonsense(t *testing.T) {
	var e engine.Engine
	for _, o := range engine.Ops() {
		for _, text := range []string{"{", "[]", "3", `{"no such member": 1}`, `{} {}`, `{"text": 5, "items": 5, "payload": 5, "no": 1}`} {
			var reply struct{ Failed string }
			if err := json.Unmarshal(e.Handle(t.Context(), o.Name, []byte(text), nil), &reply); err != nil || reply.Failed == "" {
				t.Errorf("%s %s: %+v, %v", o.Name, text, reply, err)
			}
		}
	}
	if _, failed := refused(t, &e, "nothing", nil); !strings.Contains(failed, "no operation") {
		t.Error(failed)
	}
}

func TestCanceled(t *testing.T) {
	var e engine.Engine
	ctx, cancel := context.WithCancel(t.Context())
	ask, err := json.Marshal(engine.SpreadAsk{Given: engine.Given{Text: example(t, "summer.yaml")}, Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	steps := 0
	reply := e.Handle(ctx, "spread", ask, func(engine.Progress) { steps++; cancel() })
	if string(reply) != `{"failed":"canceled"}` || steps != 1 {
		t.Errorf("%d steps, %.100s", steps, reply)
	}
	do[engine.Spread](t, &e, "spread", engine.SpreadAsk{Given: engine.Given{Text: example(t, "summer.yaml")}})
}

// Small operations answer what they say.
func TestSmall(t *testing.T) {
	var e engine.Engine
	text := example(t, "summer.yaml")
	if v := do[engine.Versions](t, &e, "version", nil); v.API != engine.Version || v.File != sternfan.FileVersion {
		t.Errorf("%+v", v)
	}
	gear := do[engine.GearAnswer](t, &e, "gear", engine.GearAsk{Text: text, Full: true})
	for _, k := range gear.Kinds {
		var ids []string
		for _, g := range k.BuiltIn {
			ids = append(ids, g.ID)
		}
		if !slices.Equal(ids, tackle.Names(k.Kind)) && len(ids)+len(tackle.Names(k.Kind)) > 0 {
			t.Errorf("%s: %v", k.Kind, ids)
		}
	}
	if len(gear.Kinds[7].Own) != 2 || gear.Kinds[7].Own[0] != (engine.GearName{ID: "plug-blue", From: "plug-shallow"}) {
		t.Errorf("the file's lures: %+v", gear.Kinds[7].Own)
	}
	var full map[string][]map[string]any
	if err := json.Unmarshal(gear.BuiltIn, &full); err != nil || full["lines"][0]["diameter"] == nil {
		t.Errorf("built-in gear in full: %v", err)
	}
	q := do[engine.QuantityAnswer](t, &e, "quantity", engine.QuantityAsk{Items: []engine.QuantityItem{{Kind: "length", Text: "100 ft"}, {Kind: "speed", Text: "2.4mph"}}})
	if q.Items[0].SI != 30.48 || q.Items[0].Text != "100 ft" || q.Items[1].Unit != "mph" { // 1 ft = 0.3048 m by definition
		t.Errorf("%+v", q)
	}
	if f, _ := refused(t, &e, "quantity", engine.QuantityAsk{Items: []engine.QuantityItem{{Kind: "length", Text: "100 mph"}}}); len(f) != 1 {
		t.Error("a length in mph was taken")
	}
	var file struct{ Rods []struct{ ID string } }
	if err := json.Unmarshal(do[struct{ File json.RawMessage }](t, &e, "form", engine.Given{Text: text}).File, &file); err != nil || len(file.Rods) != 12 {
		t.Errorf("form: %v, %d rods", err, len(file.Rods))
	}
	expanded := do[engine.FileText](t, &e, "expand", engine.Given{Text: text}).Text
	if strings.Contains(expanded, "kind: downrigger") || !strings.Contains(expanded, "parts:") {
		t.Error("not expanded")
	}
	paths := do[engine.PathsAnswer](t, &e, "paths", engine.PathsAsk{Given: engine.Given{Text: text}, Rod: "s-slide", Drawing: true})
	if len(paths.Paths.Paths) == 0 || paths.Drawing == nil {
		t.Error("no paths")
	}
	speeds := do[engine.SpeedsAnswer](t, &e, "speeds", engine.SpeedsAsk{Given: engine.Given{Text: text}, At: "60 ft", Want: "2.2 mph"})
	if len(speeds.Table.Rows) != 12 || speeds.Words == "" {
		t.Error("no speeds")
	}
	if f, _ := refused(t, &e, "speeds", engine.SpeedsAsk{Given: engine.Given{Text: text}, At: "60 ft", Want: "2.2 lb"}); len(f) != 1 || f[0].Path != "want" {
		t.Errorf("%+v", f)
	}
}

// Lists that are empty are written as empty lists: the app's types say so.
func TestNoNull(t *testing.T) {
	var e engine.Engine
	ask, err := json.Marshal(engine.CheckAsk{Given: engine.Given{Text: "version: 2"}})
	if err != nil {
		t.Fatal(err)
	}
	if reply := string(e.Handle(t.Context(), "check", ask, nil)); strings.Contains(reply, "null") {
		t.Error(reply)
	}
}

func TestCard(t *testing.T) {
	var e engine.Engine
	card := do[engine.CardAnswer](t, &e, "card", engine.CardAsk{Given: engine.Given{Text: example(t, "class.yaml")}, Page: "letter", Date: "2026-07-01"})
	if card.Wide != 215.9 || card.Tall != 279.4 || len(card.Drawing.Views) == 0 || len(card.Order) == 0 { // letter: 8.5 x 11 in
		t.Errorf("%g x %g mm, %d views, %v", card.Wide, card.Tall, len(card.Drawing.Views), card.Order)
	}
}

func TestEdit(t *testing.T) {
	var e engine.Engine
	text := example(t, "summer.yaml")
	one := do[engine.FileText](t, &e, "edit", engine.EditAsk{Text: text, Edits: []sternfan.Edit{{Owner: "rods.p-high", Key: "settings.line_out", Value: "170 ft"}}}).Text
	if want := strings.Replace(text, "{line_out: 160 ft, dial: 3,", "{line_out: 170 ft, dial: 3,", 1); one != want {
		t.Errorf("more than the one value changed:\n%s", one)
	}
	if f, _ := refused(t, &e, "edit", engine.EditAsk{Text: text, Edits: []sternfan.Edit{{Owner: "rods.p-high", Key: "settings.line_out", Value: "170 lb"}}}); f[0].Line == 0 {
		t.Errorf("%+v", f)
	}
	loose := do[engine.FileText](t, &e, "edit", engine.EditAsk{Text: text, Loose: true, Edits: []sternfan.Edit{{Owner: "rods.p-high", Key: "settings.line_out", Value: "170 lb"}}}).Text
	if !strings.Contains(loose, "170 lb") {
		t.Error("a loose edit was not kept")
	}
}
