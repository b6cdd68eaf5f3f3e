package engine_test

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/engine"
)

// values gives each an edit for every single value of a form that begins with a number:
// another of its kind.
func values(path string, v any, each func(sternfan.Edit)) {
	join := func(key string) string { return strings.TrimPrefix(path+"."+key, ".") }
	switch x := v.(type) {
	case map[string]any:
		for k, inner := range x {
			values(join(k), inner, each)
		}
	case []any:
		for _, item := range x {
			if m, ok := item.(map[string]any); ok && m["id"] != nil {
				values(join(m["id"].(string)), item, each)
			}
		}
	case string:
		if number := regexp.MustCompile(`^\d+`).FindString(x); number != "" {
			each(sternfan.Edit{Key: path, Value: strings.Replace(x, number, number+"1", 1)})
		}
	}
}

// An engine that is asked for one edit after another answers each as one that reads the
// edited text and remembers nothing: to the last digit.
func TestEditsAnswerAsTheirText(t *testing.T) {
	for _, file := range []string{"class.yaml", "deep.yaml", "laketrout.yaml", "spring.yaml", "summer.yaml"} {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			text := example(t, file)
			var e engine.Engine
			var form any
			if err := json.Unmarshal(do[engine.Form](t, &e, "form", engine.Given{Text: text}).File, &form); err != nil {
				t.Fatal(err)
			}
			var edits []sternfan.Edit
			values("", form, func(e sternfan.Edit) { edits = append(edits, e) })
			slices.SortFunc(edits, func(a, b sternfan.Edit) int { return strings.Compare(a.Path(), b.Path()) })
			asked := 0
			for i, one := range edits {
				if i%3 != 0 {
					continue
				}
				set := []sternfan.Edit{one}
				if i%2 == 0 {
					set = append(set, edits[(i+7)%len(edits)])
				}
				given := engine.SpreadAsk{Given: engine.Given{Text: text, Edits: set}, Fan: true}
				ask, err := json.Marshal(given)
				if err != nil {
					t.Fatal(err)
				}
				got := string(e.Handle(t.Context(), "spread", ask, nil))
				if !strings.HasPrefix(got, `{"answer"`) {
					continue // what such an edit must be is for the scenario's tests to say
				}
				var fresh engine.Engine
				edited := do[engine.FileText](t, &fresh, "edit", engine.EditAsk{Text: text, Edits: set}).Text
				ask, err = json.Marshal(engine.SpreadAsk{Given: engine.Given{Text: edited}, Fan: true})
				if err != nil {
					t.Fatal(err)
				}
				if want := string(new(engine.Engine).Handle(t.Context(), "spread", ask, nil)); got != want {
					t.Errorf("%v: another answer than the edited text's:\n%.2000s\n%.2000s", set, got, want)
				}
				asked++
			}
			if asked < 3 {
				t.Errorf("only %d of %d edits were answered", asked, len(edits))
			}
		})
	}
}

// What one text says, another says that was edited from it: an engine that knew the first
// answers as one that reads the second, intervals and all.
func TestEditedTextAnswersAlike(t *testing.T) {
	var e engine.Engine
	text := example(t, "spring.yaml")
	spread := func(e *engine.Engine) string {
		fan := do[engine.Spread](t, e, "spread", engine.SpreadAsk{Given: engine.Given{Text: text}, Intervals: true}).Rows
		return fmt.Sprintf("%+v", fan)
	}
	before := spread(&e)
	rod := do[engine.Checked](t, &e, "check", engine.CheckAsk{Given: engine.Given{Text: text}}).Rods[0].ID
	for _, one := range []sternfan.Edit{
		{Owner: "rods." + rod, Key: "settings.line_out", Value: "121 ft"},
		{Owner: "speed", Key: "value", Value: "2.1 mph"},
		{Owner: "water", Key: "temperature", Value: "50 F"},
		{Do: sternfan.EditRemove, Owner: "rods." + rod},
	} {
		text = do[engine.FileText](t, &e, "edit", engine.EditAsk{Text: text, Edits: []sternfan.Edit{one}}).Text
		got := spread(&e)
		if want := spread(new(engine.Engine)); got != want {
			t.Errorf("%v: %s\nwant %s", one, got, want)
		}
		if got == before {
			t.Errorf("%v moved nothing", one)
		}
		before = got
	}
}

// A text is given once with a name and then meant by it, but never another text.
func TestTextByItsName(t *testing.T) {
	var e engine.Engine
	text := example(t, "class.yaml")
	moved := func(g engine.Given) string {
		ask, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		return string(e.Handle(t.Context(), "spread", ask, nil))
	}
	want := moved(engine.Given{Text: text})
	if got := moved(engine.Given{As: "a"}); !strings.Contains(got, `"failed"`) {
		t.Errorf("a name that was never given means %.200s", got)
	}
	if got := moved(engine.Given{Text: text, As: "a"}); got != want {
		t.Errorf("with its name: %.200s", got)
	}
	if got := moved(engine.Given{As: "a"}); got != want {
		t.Errorf("by its name: %.200s", got)
	}
	other := moved(engine.Given{Text: example(t, "spring.yaml")})
	if got := moved(engine.Given{As: "a"}); !strings.Contains(got, `"failed"`) {
		t.Errorf("after another text: %.200s", got)
	}
	if got := moved(engine.Given{Text: example(t, "spring.yaml"), As: "b"}); got != other {
		t.Errorf("another with its name: %.200s", got)
	}
	edited := do[engine.FileText](t, &e, "edit", engine.EditAsk{Text: example(t, "spring.yaml"), Edits: []sternfan.Edit{{Owner: "speed", Key: "value", Value: "2.2 mph"}}})
	if got := moved(engine.Given{As: "b"}); edited.Text == "" || !strings.Contains(got, `"failed"`) {
		t.Errorf("after an edit: %.200s", got)
	}
}
