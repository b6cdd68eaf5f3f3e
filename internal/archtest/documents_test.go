package archtest

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// notOurs are words of the documents that look like a name of ours and are none.
var notOurs = []string{
	"NaN",
	"_test.go",        // the ending of test files
	"sternfan/log.db", // in a person's data folder
}

// What documents and comments name exists.
func TestDocumentsNameWhatThereIs(t *testing.T) {
	faults, err := Documents(os.DirFS(filepath.Join("..", "..")), notOurs)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Error(f)
	}
}

// TestDocumentsBite names what does not exist, next to the nearest thing that does.
func TestDocumentsBite(t *testing.T) {
	tree := map[string]string{
		"Makefile":            "run: build ## runs\nbuild:\n",
		"a.go":                "package m\ntype Fault struct { Code string }\nfunc (Fault) Error() string { return \"\" }\n",
		"tow/a.go":            "package tow\nvar Deep int\n",
		"tow/a_test.go":       "package tow\nfunc TestSteps() {}\nfunc BenchmarkSteps() {}\n",
		"geom/a.go":           "package geom\n",
		"scripts/x.sh":        "",
		"web/app/e2e/a.ts":    "",
		"docs/other.md":       "",
		"tow/testdata/x.yaml": "",
	}
	for _, tt := range []struct{ file, text, want string }{
		{"README.md", "`TestSteps`, TestSteps and `BenchmarkSteps` in package `tow`", ""},
		{"README.md", "By TestLeaps.", "README.md:1: there is no TestLeaps"},
		{"README.md", "so\n`BenchmarkLeaps`", "README.md:2: there is no BenchmarkLeaps"},
		{"docs/a.md", "`TestSteps` in\npackage `geom`", ""},
		{"docs/a.md", "`TestSteps` in package `geom`", "is in package tow, not geom"},
		{"docs/a.md", "of package `turn`", "there is no package turn"},
		{"docs/a.md", "`go test ./tow -run 'Steps|^xxx$' -bench Steps`", ""},
		{"docs/a.md", "`go test ./tow -run 'Leaps|Steps'`", `matches "Leaps"`},
		{"docs/a.md", "file `a.go`, tow/a.go and `e2e/a.ts`, scripts/x.sh", ""},
		{"docs/a.md", "file `b.go`", "there is no file b.go"},
		{"docs/a.md", "see tow/b.go.", "there is no file tow/b.go"},
		{"docs/a.md", "see scripts/y.sh", "there is no file scripts/y.sh"},
		{"docs/a.md", "`testdata/x.yaml`, `tow/testdata/`, `out/x.svg`", ""},
		{"docs/a.md", "`testdata/y.yaml`", "there is no file or folder testdata/y.yaml"},
		{"docs/a.md", "`tow/wide`", "there is no file or folder tow/wide"},
		{"docs/a.md", "[other](other.md#top), [it](../tow/a.go), [them](https://example.org/b)", ""},
		{"docs/a.md", "[other](another.md)", "links to another.md"},
		{"docs/a.md", "`make run`\n\n    make build", ""},
		{"docs/a.md", "`make walk`", "no target walk"},
		{"docs/a.md", "so:\n\n    make walk", "no target walk"},
		{"docs/a.md", "the words make sense", ""},
		{"docs/a.md", "`m.Fault`, `Fault.Code`, `m.Fault.Error()`, `tow.Deep`", ""},
		{"docs/a.md", "`m.Error`", "there is no m.Error"},
		{"docs/a.md", "`Fault.Place`", "there is no Fault.Place"},
		{"docs/a.md", "`tow.Shallow`", "there is no tow.Shallow"},
		{"docs/a.md", "`SolveAll()`", "there is no SolveAll"},
		{"docs/a.md", "`AsAllowed`", ""},
		{"tow/b.go", "// Package tow has [Deep], see a.go and TestSteps.\npackage tow", ""},
		{"tow/b.go", "// Package tow has [Shallow].\npackage tow", "package tow has no Shallow"},
		{"geom/b.go", "// Package geom serves [tow.Shallow].\npackage geom", "there is no tow.Shallow"},
		{"tow/b.go", "// Package tow, see c.go.\npackage tow", "there is no file c.go"},
		{"tow/b.go", "package tow\n\n// Held by TestLeaps.\nvar X int", "tow/b.go:3: there is no TestLeaps"},
	} {
		t.Run(fmt.Sprintf("%s %.30q", tt.file, tt.text), func(t *testing.T) {
			fsys := fstest.MapFS{tt.file: {Data: []byte(tt.text)}}
			for name, text := range tree {
				fsys[name] = &fstest.MapFile{Data: []byte(text)}
			}
			faults, err := Documents(fsys, []string{"AsAllowed"})
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case tt.want == "" && len(faults) > 0:
				t.Errorf("it exists, but was reported: %v", faults)
			case tt.want != "" && (len(faults) != 1 || !strings.Contains(faults[0].String(), tt.want)):
				t.Errorf("want one fault with %q, got %v", tt.want, faults)
			}
		})
	}
}

func TestRowsBite(t *testing.T) {
	const table = "geom pure -\ntow pure geom\ninternal/ref/... tests -"
	const text = "| package | kind |\n| `geom` | pure |\n| `tow` | pure |\n| `internal/ref` | tests |\n"
	tree := []string{"geom/a.go", "tow/a.go", "internal/ref/deep/a.go"}
	for _, tt := range []struct {
		name, table, text, without, want string
	}{
		{name: "all there", table: table, text: text},
		{name: "row without a package", table: table + "\nhydro pure -", text: text + "| `hydro` | pure |\n", want: "hydro has a row and no Go file"},
		{name: "row whose package went", table: table, text: text, without: "tow/a.go", want: "tow has a row and no Go file"},
		{name: "tree without a package", table: table, text: text, without: "internal/ref/deep/a.go", want: "internal/ref has a row and no Go file"},
		{name: "row without a line", table: table, text: strings.ReplaceAll(text, "| `tow` | pure |\n", ""), want: "no line for tow"},
		{name: "line without a row", table: table, text: text + "| `hydro` | pure |\n", want: "ARCHITECTURE.md:5: there is no package hydro"},
		{name: "another kind", table: table, text: strings.ReplaceAll(text, "`tow` | pure", "`tow` | edge"), want: "tow is edge here and pure in"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			fsys := fstest.MapFS{}
			for _, name := range tree {
				if name != tt.without {
					fsys[name] = &fstest.MapFile{Data: []byte("package x")}
				}
			}
			parsed, err := ParseTable(tt.table)
			if err != nil {
				t.Fatal(err)
			}
			faults, err := Rows(fsys, parsed, tt.text)
			if err != nil {
				t.Fatal(err)
			}
			said := fmt.Sprint(faults)
			if tt.want == "" && len(faults) > 0 || !strings.Contains(said, tt.want) {
				t.Errorf("got %s, want %q", said, tt.want)
			}
		})
	}
}

func TestRandomInputsAreSeeded(t *testing.T) {
	root := filepath.Join("..", "..")
	faults, err := Seeded(os.DirFS(root), moduleName(t, root))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Error(f)
	}
	tree := fstest.MapFS{
		"a/a_test.go": {Data: []byte("package a\nimport _ \"pgregory.net/rapid\"\n")},
		"b/a_test.go": {Data: []byte("package b\nimport _ \"pgregory.net/rapid\"\n")},
		"b/b_test.go": {Data: []byte("package b_test\nimport _ \"m/internal/tier\"\n")},
	}
	if faults, err = Seeded(tree, "m"); err != nil || len(faults) != 1 || faults[0].File != "a" {
		t.Errorf("got %v, %v; want a fault of a alone", faults, err)
	}
}

// stillLong are the functions that may still be long without a reason. The list only
// shrinks: who splits one takes its name out.
var stillLong = []string{
	"scenario.decoder.bounded",
}

// A long function says why it is.
func TestLongFunctionsSayWhy(t *testing.T) {
	funcs, err := LongFuncs(os.DirFS(filepath.Join("..", "..")))
	if err != nil {
		t.Fatal(err)
	}
	var without []string
	for _, f := range funcs {
		if f.Why != "" {
			continue
		}
		without = append(without, f.Name)
		if !slices.Contains(stillLong, f.Name) {
			t.Errorf("%s, more than %d or %d: split it, or say why in a line \"// long: ...\" of its comment", f, MaxFuncLines, MaxWays)
		}
	}
	for _, name := range stillLong {
		if !slices.Contains(without, name) {
			t.Errorf("%s is short now, or says why it is long: take it from this list", name)
		}
	}
}

func TestLongFuncs(t *testing.T) {
	lines := func(n int) string { return strings.Repeat("\t_ = 0\n", n) }
	branches := strings.Repeat("\tif a && b || c {\n\t}\n", 8) // 3 each
	for _, tt := range []struct{ name, text, want string }{
		{"short", "func f() {\n" + lines(98) + "}", ""},
		{"long", "func f() {\n" + lines(99) + "}", "m.f 101 1 "},
		{"a method", "func (t *T[K]) f() {\n" + lines(99) + "}", "m.T.f 101 1 "},
		{"with a reason", "// f is.\n//\n// long: a table.\nfunc f() {\n" + lines(99) + "}", "m.f 101 1 a table."},
		{"a word inside", "// f is long: very.\nfunc f() {\n" + lines(99) + "}", "m.f 101 1 "},
		{"few ways", "func f() {\n" + branches + "\tfor {\n\t}\n\tfor range a {\n\t}\n\tswitch {\n\tcase a:\n\tcase b:\n\tdefault:\n\t}\n}", ""},
		{"many ways", "func f() {\n" + branches + "\tfor {\n\t}\n\tfor range a {\n\t}\n\tswitch {\n\tcase a:\n\tcase b:\n\tcase c, d:\n\tdefault:\n\t}\n\tselect {\n\tcase <-a:\n\tdefault:\n\t}\n}", "m.f 32 32 "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			funcs, err := LongFuncs(fstest.MapFS{"m/a.go": {Data: []byte("package m\n\n" + tt.text)}})
			if err != nil {
				t.Fatal(err)
			}
			got := ""
			for _, f := range funcs {
				got += fmt.Sprint(f.Name, " ", f.Lines, " ", f.Ways, " ", f.Why)
			}
			if got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}
