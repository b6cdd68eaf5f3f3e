package setting_test

import (
	"context"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sternfan"
	"sternfan/aim"
	"sternfan/internal/exampletest"
	"sternfan/setting"
)

// ofAim are what a hand changes that is no setting of a rod: where each stands in the
// order of hands is aim's own.
var ofAim = []string{"weight", "backing", "reel", "speed"}

// The names of settings stand in the table alone: who reads it asks it for a row once,
// and has no list of its own. What is heard on the radio are words of speech, and the water
// has a bottom too.
func TestOnePlaceListsTheSettings(t *testing.T) {
	names := map[string]string{}
	for r := range setting.Rows {
		names[r.ID], names[r.Option()] = r.ID, r.ID
	}
	delete(names, "bottom")
	for _, folder := range []string{"aim", "lay"} {
		files, err := filepath.Glob(filepath.Join("..", folder, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		rows := map[string]bool{}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") || filepath.Base(file) == "heard.go" {
				continue
			}
			set := token.NewFileSet()
			tree, err := parser.ParseFile(set, file, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			asked := map[*ast.BasicLit]bool{}
			ast.Inspect(tree, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.CallExpr:
					if f, ok := n.Fun.(*ast.SelectorExpr); ok && f.Sel.Name == "Named" && len(n.Args) == 1 {
						lit, ok := n.Args[0].(*ast.BasicLit)
						if !ok {
							t.Fatalf("%s: a row is asked for by what is no name", set.Position(n.Pos()))
						}
						asked[lit] = true
					}
				case *ast.BasicLit:
					word, err := strconv.Unquote(n.Value)
					if err != nil || n.Kind != token.STRING {
						return true
					}
					id, named := names[word]
					switch {
					case asked[n] && (!named || word != id):
						t.Errorf("%s: no setting is called %q", set.Position(n.Pos()), word)
					case asked[n] && rows[id]:
						t.Errorf("%s: the row of %s is asked for twice", set.Position(n.Pos()), id)
					case named && !asked[n]:
						t.Errorf("%s: %q is the name of a setting, and not the table's", set.Position(n.Pos()), word)
					case asked[n]:
						rows[id] = true
					}
				}
				return true
			})
		}
		if len(rows) < 5 {
			t.Errorf("%s asks the table for %d rows", folder, len(rows))
		}
	}
}

// What aim can be told to keep are rows of the table, in its order of hands, and four of
// its own; between them the rods of the examples have what is counted.
func TestKeysOfAimAreRows(t *testing.T) {
	var hands []string
	for r := range setting.Hands {
		hands = append(hands, r.Option())
	}
	seen := map[string]bool{}
	for name, model := range exampletest.All(t) {
		boat, err := aim.New(model.Scenario, aim.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i := range model.Scenario.Rods {
			id := model.Scenario.Rods[i].ID
			_, err := boat.Reach(context.Background(), aim.Request{Rod: id, Depth: 1, Keep: []string{"no such setting"}})
			var faults sternfan.Faults
			if !errors.As(err, &faults) {
				t.Fatalf("%s, %s: %v", name, id, err)
			}
			at := -1
			for _, key := range faults[0].Allowed {
				seen[key] = true
				if slices.Contains(ofAim, key) {
					continue
				}
				n := slices.Index(hands, key)
				if n <= at {
					t.Errorf("%s, %s: %q stands out of the order of hands among %q", name, id, key, faults[0].Allowed)
				}
				at = n
			}
		}
	}
	for r := range setting.Rows {
		counted := r.Control != (setting.Control{})
		// A section goes out whole, by its backing; a mast board's line moves every rod on it;
		// the examples count the line where they count colors.
		others := []string{"section", "tow_line_out", "colors"}
		if want := (counted || r.Kind == setting.Switch) && !slices.Contains(others, r.ID); want && !seen[r.Option()] {
			t.Errorf("no rod of the examples is aimed by %s", r.ID)
		}
	}
}

// Aim reads a rod's settings where the table has them.
func TestAimReadsTheTable(t *testing.T) {
	read := 0
	for _, name := range []string{"class", "laketrout", "summer"} {
		sc := exampletest.Load(t, name).Scenario
		boat, err := aim.New(sc, aim.Options{Top: 1})
		if err != nil {
			t.Fatal(err)
		}
		for i := range sc.Rods {
			if i > 1 {
				break
			}
			found, err := boat.Reach(context.Background(), aim.Request{Rod: sc.Rods[i].ID, Depth: 15})
			if err != nil {
				t.Fatal(err)
			}
			on := setting.Of(sc, &sc.Rods[i])
			for _, s := range found.Now.Settings {
				r, ok := setting.Find(strings.ReplaceAll(s.Key, "-", "_"))
				if ok == slices.Contains(ofAim, s.Key) {
					t.Errorf("%s, %s: %s is both a setting and aim's own, or neither", name, sc.Rods[i].ID, s.Key)
				}
				if !ok || !r.Get(on).Given {
					continue
				}
				if read++; math.Abs(r.Get(on).Number-s.Value) > 1e-9 {
					t.Errorf("%s, %s: %s is %g, and aim has it at %g", name, sc.Rods[i].ID, r.ID, r.Get(on).Number, s.Value)
				}
			}
		}
	}
	if read < 8 {
		t.Errorf("%d settings were read", read)
	}
}

// The steps that a file gives for laying a spread are steps of settings, by their names
// and of their kind.
func TestStepsOfLayAreSettings(t *testing.T) {
	on := full()
	places := map[any]bool{}
	for r := range setting.Rows {
		places[r.In(on)] = true
	}
	steps := reflect.TypeFor[sternfan.Steps]()
	for i := range steps.NumField() {
		step, found := steps.Field(i), false
		for _, owner := range []any{on.Settings, on.Downrigger, on.MastBoard} {
			f := reflect.ValueOf(owner).Elem().FieldByName(step.Name)
			found = found || f.IsValid() && f.Type() == step.Type && places[f.Addr().Interface()]
		}
		if !found {
			t.Errorf("the step %s is of no setting", step.Name)
		}
	}
}

// A hand is told to change every setting that is said of a rod, by its value.
func TestHandsAreTold(t *testing.T) {
	on := full()
	figures := func(k setting.Kind, v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	told := map[string]string{
		"lead": "40 lead", "dial": "dial 2.5 port", "ring": "ring on", "tripped": "tripped", "side": "board to port", "colors": "let out 5 colors",
		"section": "40 of sinking line", "above_ball": "clip 40 above the ball", "along": "release 40 along the tow line",
		"line_out": "let out 40 from the water", "cable_out": "40 of cable", "tow_line_out": "40 of tow line",
	}
	on.Settings.Side, on.Settings.CountFrom = sternfan.Port, "water"
	var order []string
	for r := range setting.Hands {
		v := setting.Value{Given: true, Number: 40, Word: "port"}
		switch r.Kind {
		case setting.Mark:
			v.Number = 2.5
		case setting.Colors:
			v.Number = 5
		case setting.Switch, setting.Flag:
			v.Number = 1
		}
		if got := r.Do(v, on, figures); got != told[r.ID] {
			t.Errorf("%s is told as %q, want %q", r.ID, got, told[r.ID])
		}
		order = append(order, r.Option())
	}
	want := "lead dial ring tripped side colors section above-ball along line-out cable-out tow-line-out"
	if got := strings.Join(order, " "); got != want {
		t.Errorf("hands go by %s, want %s", got, want)
	}
	if got := setting.Named("colors").Do(setting.Value{Given: true, Number: 1}, on, figures); got != "let out 1 color" {
		t.Errorf("one color is %q", got)
	}
}
