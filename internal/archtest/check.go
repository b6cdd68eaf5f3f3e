package archtest

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/build/constraint"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// A source file longer than MaxLines is a fault; one longer than LongLines is
// reported by Long, because it is about to become one. Tests and generated
// files do not count.
const (
	LongLines = 500
	MaxLines  = 600
)

// Fault is one broken rule.
type Fault struct {
	File string // path below the module's root
	Line int    // 0 when the fault is the whole file's or package's
	Text string // one sentence: what is wrong and what to do
}

func (f Fault) String() string {
	if f.Line == 0 {
		return f.File + ": " + f.Text
	}
	return fmt.Sprintf("%s:%d: %s", f.File, f.Line, f.Text)
}

// source is one parsed file.
type source struct {
	name  string // path below the root
	file  *ast.File
	test  bool
	lines int
}

// Check reads every Go file below the root of fsys, whatever its build
// constraints, and returns the faults against the table in order of file and
// line. Folders named testdata or node_modules, hidden ones, and nested
// modules are not part of the module and are left out, as are files marked
// "//go:build ignore". The error is of reading, not of a rule.
func Check(fsys fs.FS, module string, t Table) ([]Fault, error) {
	fset := token.NewFileSet()
	pkgs, faults, err := read(fsys, fset)
	if err != nil {
		return nil, err
	}
	for dir, files := range pkgs {
		row, ok := t.Find(dir)
		if !ok {
			faults = append(faults, Fault{dir, 0, fmt.Sprintf("package %q is not in the table: add its row to internal/archtest/imports.txt and its line to ARCHITECTURE.md", dir)})
			continue
		}
		for _, s := range files {
			faults = append(faults, checkImports(fset, s, dir, row, module, t)...)
			if s.lines > MaxLines && !s.test && !ast.IsGenerated(s.file) {
				faults = append(faults, Fault{s.name, 0, fmt.Sprintf("file has %d lines, more than %d: split it by subject", s.lines, MaxLines)})
			}
		}
		if row.Kind == Pure {
			faults = append(faults, checkPure(fset, files, slices.Contains(row.Imports, "portable"))...)
		}
	}
	sort.Slice(faults, func(i, j int) bool {
		a, b := faults[i], faults[j]
		if a.File != b.File {
			return a.File < b.File
		}
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Text < b.Text
	})
	return faults, nil
}

// Long returns the source files over LongLines lines, longest first.
func Long(fsys fs.FS) ([]string, error) {
	pkgs, _, err := read(fsys, token.NewFileSet())
	if err != nil {
		return nil, err
	}
	var long []source
	for _, files := range pkgs {
		for _, s := range files {
			if s.lines > LongLines && !s.test && !ast.IsGenerated(s.file) {
				long = append(long, s)
			}
		}
	}
	sort.Slice(long, func(i, j int) bool { return long[i].lines > long[j].lines })
	var out []string
	for _, s := range long {
		out = append(out, fmt.Sprintf("%s: %d lines", s.name, s.lines))
	}
	return out, nil
}

// Seeded reports the packages whose tests take random inputs from rapid and do not import
// internal/tier, which gives them the same every day.
func Seeded(fsys fs.FS, module string) ([]Fault, error) {
	pkgs, _, err := read(fsys, token.NewFileSet())
	if err != nil {
		return nil, err
	}
	var faults []Fault
	for dir, files := range pkgs {
		imports := func(path string) bool {
			return slices.ContainsFunc(files, func(s source) bool {
				return slices.ContainsFunc(s.file.Imports, func(spec *ast.ImportSpec) bool { return spec.Path.Value == strconv.Quote(path) })
			})
		}
		if imports("pgregory.net/rapid") && !imports(module+"/internal/tier") && dir != "internal/tier" {
			faults = append(faults, Fault{dir, 0, "its tests draw from rapid and do not import internal/tier, which makes that the same every day"})
		}
	}
	return faults, nil
}

// read parses the module's files by folder. A file that does not parse is a
// fault, so that the other files are still checked.
func read(fsys fs.FS, fset *token.FileSet) (map[string][]source, []Fault, error) {
	pkgs := map[string][]source{}
	var faults []Fault
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		base := path.Base(name)
		if d.IsDir() {
			if name == "." {
				return nil
			}
			if base == "testdata" || base == "node_modules" || base == "vendor" || base[0] == '.' || base[0] == '_' {
				return fs.SkipDir
			}
			if _, err := fs.Stat(fsys, name+"/go.mod"); err == nil {
				return fs.SkipDir
			}
			return nil
		}
		if path.Ext(base) != ".go" || base[0] == '.' || base[0] == '_' {
			return nil
		}
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(fset, name, text, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			faults = append(faults, Fault{name, 0, fmt.Sprintf("does not parse: %v", err)})
			return nil
		}
		if ignored(file) {
			return nil
		}
		dir := path.Dir(name)
		pkgs[dir] = append(pkgs[dir], source{
			name:  name,
			file:  file,
			test:  strings.HasSuffix(base, "_test.go"),
			lines: bytes.Count(text, []byte("\n")),
		})
		return nil
	})
	return pkgs, faults, err
}

// ignored reports whether the file is a stand-alone program: its build
// constraint is the word "ignore" and nothing else.
func ignored(file *ast.File) bool {
	for _, group := range file.Comments {
		if group.Pos() > file.Package {
			return false
		}
		for _, c := range group.List {
			if x, err := constraint.Parse(c.Text); err == nil && constraint.IsGoBuild(c.Text) && x.String() == "ignore" {
				return true
			}
		}
	}
	return false
}

// checkImports holds the file's imports of our own packages, and of the
// libraries confined by "only", against the table.
func checkImports(fset *token.FileSet, s source, dir string, row Row, module string, t Table) []Fault {
	var faults []Fault
	add := func(spec *ast.ImportSpec, format string, args ...any) {
		faults = append(faults, Fault{s.name, fset.Position(spec.Pos()).Line, fmt.Sprintf(format, args...)})
	}
	for _, spec := range s.file.Imports {
		imp, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			add(spec, "import path %s cannot be read", spec.Path.Value)
			continue
		}
		for lib, users := range t.Only {
			if (imp == lib || strings.HasPrefix(imp, lib+"/")) && !contains(users, dir) {
				add(spec, "%s may be imported by %s only", lib, strings.Join(users, ", "))
			}
		}
		own, ok := ownPath(imp, module)
		if !ok || own == dir {
			continue
		}
		target, known := t.Find(own)
		switch {
		case own == "cmd" || strings.HasPrefix(own, "cmd/"):
			add(spec, "nothing may import %s: move what is shared out of cmd", own)
		case !known:
			add(spec, "imports %s, which is not in the table: add its row to internal/archtest/imports.txt", own)
		case s.test:
		case target.Kind == Tests:
			if row.Kind != Tests {
				add(spec, "%s may be imported from tests only", own)
			}
		case !row.permits(own):
			add(spec, "package %s may not import %s (see internal/archtest/imports.txt)", dir, own)
		}
	}
	return faults
}

// ownPath returns the path below the module of an import of our own.
func ownPath(imp, module string) (string, bool) {
	if imp == module {
		return ".", true
	}
	return strings.CutPrefix(imp, module+"/")
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
