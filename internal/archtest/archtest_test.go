package archtest

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
)

func realTable(t *testing.T) Table {
	t.Helper()
	text, err := os.ReadFile("imports.txt")
	if err != nil {
		t.Fatal(err)
	}
	table, err := ParseTable(string(text))
	if err != nil {
		t.Fatalf("imports.txt: %v", err)
	}
	return table
}

func moduleName(t *testing.T, root string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(text), "\n") {
		if name, ok := strings.CutPrefix(line, "module "); ok {
			return strings.TrimSpace(name)
		}
	}
	t.Fatal("go.mod has no module line")
	return ""
}

// The module keeps the rules of imports.txt.
func TestModule(t *testing.T) {
	root := filepath.Join("..", "..")
	faults, err := Check(os.DirFS(root), moduleName(t, root), realTable(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Error(f)
	}
	long, err := Long(os.DirFS(root))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range long {
		t.Logf("long file: %s", s)
	}
}

// Every package of the table is there and has its line in ARCHITECTURE.md, and every line
// there its row of the table.
func TestRowsHavePackages(t *testing.T) {
	root := os.DirFS(filepath.Join("..", ".."))
	text, err := fs.ReadFile(root, "ARCHITECTURE.md")
	if err != nil {
		t.Fatal(err)
	}
	faults, err := Rows(root, realTable(t), string(text))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Error(f)
	}
}

// The table itself says what the house is built on, so that a slip in the file
// does not quietly open a door.
func TestTableKeepsTheHouse(t *testing.T) {
	table := realTable(t)
	pure := "geom unit num . water hydro tow tackle spread aim learn scenario report"
	for _, p := range strings.Fields(pure) {
		if r, ok := table.Find(p); !ok || r.Kind != Pure {
			t.Errorf("package %s must be pure, the table says %q", p, r.Kind)
		}
	}
	for _, door := range []struct{ from, to string }{
		{"scenario", "tackle"},
		{"scenario", "spread"},
		{"scenario", "tow"},
		{"report", "spread"},
		{"report", "tackle"},
		{"report", "tow"},
		{"tow", "tackle"},
		{"tow", "scenario"},
		{"spread", "scenario"},
		{"spread", "report"},
		{"num", "hydro"},
		{"geom", "unit"},
		{"draw", "spread"},
		{"event", "tackle"},
		{".", "tow"},
		{"hydro", "tow"},
		{"tow", "."},
	} {
		if r, _ := table.Find(door.from); r.permits(door.to) {
			t.Errorf("package %s may import %s: the direction is shut by design", door.from, door.to)
		}
	}
}

const smallTable = `
portable  pure  -
num   pure  portable
geom  pure  -
.     pure  geom
tow   pure  geom
draw  edge  .
web   edge  *
cmd/tool  edge  *
internal/ref/...  tests  -
only example.org/canvas  draw
`

// TestRulesBite breaks each rule on a small tree and sees it reported, next to
// the nearest lawful thing, which is not.
func TestRulesBite(t *testing.T) {
	table, err := ParseTable(smallTable)
	if err != nil {
		t.Fatal(err)
	}
	long := "package geom\n" + strings.Repeat("//\n", MaxLines)
	for _, tt := range []struct {
		name, file, text string
		want             string // part of the one fault, "" for none
	}{
		{"lawful own import", "a.go", "package m\nimport _ \"m/geom\"", ""},
		{"unlawful own import", "geom/a.go", "package geom\nimport _ \"m/tow\"", "geom/a.go:2: package geom may not import tow"},
		{"root imported against the table", "tow/a.go", "package tow\nimport _ \"m\"", "tow may not import"},
		{"edge outside its row", "draw/a.go", "package draw\nimport _ \"m/tow\"", "draw may not import"},
		{"star", "web/a.go", "package web\nimport _ \"m/tow\"", ""},
		{"permitted package not written yet", "a.go", "package m\nimport _ \"m/geom\"", ""},
		{"import of an unknown package", "web/a.go", "package web\nimport _ \"m/nowhere\"", "not in the table"},
		{"unknown package", "novel/a.go", "package novel", "add its row to internal/archtest/imports.txt"},
		{"module with a longer name", "geom/a.go", "package geom\nimport _ \"mm/tow\"", ""},
		{"cmd from web", "web/a.go", "package web\nimport _ \"m/cmd/tool\"", "nothing may import cmd/tool"},
		{"cmd from a test", "web/a_test.go", "package web\nimport _ \"m/cmd/tool\"", "nothing may import cmd/tool"},
		{"tests package from a test", "geom/a_test.go", "package geom\nimport _ \"m/internal/ref\"", ""},
		{"tests package from code", "geom/a.go", "package geom\nimport _ \"m/internal/ref\"", "from tests only"},
		{"tests package from cmd", "cmd/tool/a.go", "package main\nimport _ \"m/internal/ref/deep\"", "from tests only"},
		{"tests tree covers folders below", "internal/ref/deep/a.go", "package deep", ""},
		{"test files import freely", "geom/a_test.go", "package geom_test\nimport _ \"m/tow\"", ""},
		{"confined library at home", "draw/a.go", "package draw\nimport _ \"example.org/canvas/svg\"", ""},
		{"confined library abroad", "web/a.go", "package web\nimport _ \"example.org/canvas/svg\"", "imported by draw only"},
		{"library with a longer name", "web/a.go", "package web\nimport _ \"example.org/canvasser\"", ""},

		{"os", "geom/a.go", "package geom\nimport _ \"os\"", "may not import os"},
		{"os below", "geom/a.go", "package geom\nimport _ \"os/exec\"", "may not import os/exec"},
		{"net", "geom/a.go", "package geom\nimport _ \"net\"", "may not import net"},
		{"net/http", "geom/a.go", "package geom\nimport _ \"net/http\"", "may not import net/http"},
		{"log", "geom/a.go", "package geom\nimport _ \"log\"", "may not import log"},
		{"log/slog", "geom/a.go", "package geom\nimport _ \"log/slog\"", "may not import log/slog"},
		{"flag", "geom/a.go", "package geom\nimport _ \"flag\"", "may not import flag"},
		{"database/sql", "geom/a.go", "package geom\nimport _ \"database/sql\"", "may not import database/sql"},
		{"crypto/rand", "geom/a.go", "package geom\nimport _ \"crypto/rand\"", "may not import crypto/rand"},
		{"dot import", "geom/a.go", "package geom\nimport . \"time\"", "with a dot"},
		{"os in an edge", "draw/a.go", "package draw\nimport _ \"os\"", ""},
		{"os in a test", "geom/a_test.go", "package geom\nimport _ \"os\"", ""},

		{"os in a browser file by name", "geom/a_js.go", "package geom\nimport _ \"os\"", "may not import os"},
		{"os in a browser file by constraint", "geom/a.go", "//go:build js && wasm\n\npackage geom\nimport _ \"os\"", "may not import os"},
		{"os under a constraint no platform meets", "geom/a.go", "//go:build slow\n\npackage geom\nimport _ \"os\"", "may not import os"},
		{"stand-alone program", "geom/gen.go", "//go:build ignore\n\npackage main\nimport _ \"os\"", ""},

		{"time.Now", "geom/a.go", "package geom\nimport \"time\"\nvar t = time.Now()", "a.go:3: a pure package may not use time.Now"},
		{"time.Since under another name", "geom/a.go", "package geom\nimport clock \"time\"\nvar f = clock.Since", "may not use clock.Since"},
		{"time.Duration", "geom/a.go", "package geom\nimport \"time\"\nvar d = time.Second", ""},
		{"a method called Now", "geom/a.go", "package geom\ntype c struct{}\nfunc (c) Now() int { return 0 }\nvar time c\nvar t = time.Now()", ""},
		{"context with a deadline", "geom/a.go", "package geom\nimport \"context\"\nvar f = context.WithTimeout", "context.WithTimeout"},
		{"context with cancel", "geom/a.go", "package geom\nimport \"context\"\nvar f = context.WithCancel", ""},
		{"global random", "geom/a.go", "package geom\nimport \"math/rand\"\nvar x = rand.Float64()", "may not use rand.Float64"},
		{"global random v2", "geom/a.go", "package geom\nimport \"math/rand/v2\"\nvar x = rand.N(3)", "may not use rand.N"},
		{"seeded random", "geom/a.go", "package geom\nimport \"math/rand/v2\"\nfunc f() float64 { r := rand.New(rand.NewPCG(1, 2)); return r.Float64() }", ""},
		{"parameter called rand", "geom/a.go", "package geom\nimport \"math/rand/v2\"\nfunc f(rand *rand.Rand) float64 { return rand.Float64() }", ""},
		{"fmt.Println", "geom/a.go", "package geom\nimport \"fmt\"\nfunc f() { fmt.Println() }", "may not use fmt.Println"},
		{"fmt.Sprintf", "geom/a.go", "package geom\nimport \"fmt\"\nvar s = fmt.Sprintf(\"x\")", ""},
		{"fmt.Println in an edge", "draw/a.go", "package draw\nimport \"fmt\"\nfunc f() { fmt.Println() }", ""},
		{"a machine's digits", "num/a.go", "package num\nimport \"math\"\nvar x = math.Exp(1)", "take it from package portable"},
		{"a root, which all machines round alike", "num/a.go", "package num\nimport \"math\"\nvar x = math.Sqrt(2)", ""},
		{"a machine's digits where they are free", "geom/a.go", "package geom\nimport \"math\"\nvar x = math.Exp(1)", ""},
		{"println", "geom/a.go", "package geom\nfunc f() { println() }", "may not use println"},
		{"a function of our own called print", "geom/a.go", "package geom\nfunc print() {}\nfunc f() { print() }", ""},

		{"too long", "geom/a.go", long, "has 601 lines"},
		{"just short enough", "geom/a.go", strings.TrimSuffix(long, "//\n"), ""},
		{"long test", "geom/a_test.go", long, ""},
		{"long generated file", "geom/a.go", "// Code generated by hand. DO NOT EDIT.\n\n" + long, ""},
		{"broken file", "geom/a.go", "package", "does not parse"},

		{"testdata", "geom/testdata/a.go", "package x\nimport _ \"os\"", ""},
		{"node_modules", "web/app/node_modules/x/a.go", "package x", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			faults, err := Check(fstest.MapFS{tt.file: {Data: []byte(tt.text)}}, "m", table)
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case tt.want == "" && len(faults) > 0:
				t.Errorf("lawful, but reported: %v", faults)
			case tt.want != "" && len(faults) != 1:
				t.Errorf("want one fault with %q, got %v", tt.want, faults)
			case tt.want != "" && !strings.Contains(faults[0].String(), tt.want):
				t.Errorf("want %q in %q", tt.want, faults[0])
			}
		})
	}
}

func TestNestedModuleIsLeftOut(t *testing.T) {
	table, err := ParseTable(smallTable)
	if err != nil {
		t.Fatal(err)
	}
	tree := fstest.MapFS{
		"go.mod":       {Data: []byte("module m")},
		"tools/go.mod": {Data: []byte("module m/tools")},
		"tools/a.go":   {Data: []byte("package tools")},
	}
	faults, err := Check(tree, "m", table)
	if err != nil || len(faults) > 0 {
		t.Errorf("got %v, %v; want nothing", faults, err)
	}
}

func TestLong(t *testing.T) {
	tree := fstest.MapFS{
		"a.go": {Data: []byte("package m\n" + strings.Repeat("//\n", LongLines))},
		"b.go": {Data: []byte("package m\n")},
	}
	got, err := Long(tree)
	if err != nil || len(got) != 1 || got[0] != "a.go: 501 lines" {
		t.Errorf("got %v, %v; want a.go alone", got, err)
	}
}

func TestParseTable(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"short row", "geom pure", "line 1: want package, kind and imports"},
		{"unknown kind", "geom clean -", `kind "clean" is not one of`},
		{"listed twice", "geom pure -\ngeom pure -", "line 2: package geom has a row already, on line 1"},
		{"import without a row", "tow pure geom", "tow may import geom, which has no row"},
		{"library for a package without a row", "geom pure -\nonly example.org/x draw", "package draw has no row"},
		{"cycle", "a pure b\nb pure c\nc pure a", "cycle: a -> b -> c -> a"},
		{"itself", "a pure a", "cycle: a -> a"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseTable(tt.text)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}
