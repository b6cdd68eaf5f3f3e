// Package archtest checks how the packages of this module may depend on one
// another. The rules are the table in imports.txt; the check reads source
// files directly, every build constraint included, and needs neither the go
// command nor a network.
package archtest

import (
	"fmt"
	"go/token"
	"io/fs"
	"regexp"
	"sort"
	"strings"
)

// Kind says which rules a package lives under.
type Kind string

const (
	// Pure packages compute: no operating system, no clock, no global
	// randomness, no printing. They also run in the browser.
	Pure Kind = "pure"
	// Edge packages touch the world.
	Edge Kind = "edge"
	// Tests packages may be imported from _test.go files only.
	Tests Kind = "tests"
)

// Row is one package's line of the table.
type Row struct {
	Package string   // path below the module, "." for the root
	Tree    bool     // the row covers the folders below Package too
	Kind    Kind     // which rules apply
	Any     bool     // may import every package but cmd and Tests
	Imports []string // the packages of our own it may import
}

// Table is the parsed allow-list.
type Table struct {
	Rows []Row
	// Only maps the import path prefix of an outside library to the packages
	// that may import it.
	Only map[string][]string
}

// ParseTable reads the format described at the top of imports.txt. It returns
// an error naming the line for an unknown kind, a package listed twice, a
// permitted import without a row of its own, and permissions that form a
// cycle.
func ParseTable(text string) (Table, error) {
	t := Table{Only: map[string][]string{}}
	line := map[string]int{}
	for i, s := range strings.Split(text, "\n") {
		f := strings.Fields(s)
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		if len(f) < 3 {
			return Table{}, fmt.Errorf("line %d: want package, kind and imports, found %q", i+1, s)
		}
		if f[0] == "only" {
			t.Only[f[1]] = f[2:]
			continue
		}
		r := Row{Kind: Kind(f[1])}
		r.Package, r.Tree = strings.CutSuffix(f[0], "/...")
		switch r.Kind {
		case Pure, Edge, Tests:
		default:
			return Table{}, fmt.Errorf("line %d: kind %q is not one of pure, edge, tests", i+1, f[1])
		}
		if at := line[r.Package]; at != 0 {
			return Table{}, fmt.Errorf("line %d: package %s has a row already, on line %d", i+1, r.Package, at)
		}
		line[r.Package] = i + 1
		switch rest := f[2:]; {
		case len(rest) == 1 && rest[0] == "-":
		case len(rest) == 1 && rest[0] == "*":
			r.Any = true
		default:
			r.Imports = rest
		}
		t.Rows = append(t.Rows, r)
	}
	for _, r := range t.Rows {
		for _, imp := range r.Imports {
			if line[imp] == 0 {
				return Table{}, fmt.Errorf("line %d: %s may import %s, which has no row", line[r.Package], r.Package, imp)
			}
		}
	}
	for lib, users := range t.Only {
		for _, u := range users {
			if line[u] == 0 {
				return Table{}, fmt.Errorf("only %s: package %s has no row", lib, u)
			}
		}
	}
	if cycle := t.cycle(); cycle != nil {
		return Table{}, fmt.Errorf("line %d: permissions form a cycle: %s", line[cycle[0]], strings.Join(cycle, " -> "))
	}
	return t, nil
}

// Find returns the row that covers the package and whether there is one.
func (t Table) Find(pkg string) (Row, bool) {
	for _, r := range t.Rows {
		if r.Package == pkg || r.Tree && strings.HasPrefix(pkg, r.Package+"/") {
			return r, true
		}
	}
	return Row{}, false
}

func (r Row) permits(pkg string) bool {
	if r.Any {
		return true
	}
	for _, p := range r.Imports {
		if p == pkg {
			return true
		}
	}
	return false
}

// cycle returns one closed walk through the permissions, or nil.
func (t Table) cycle() []string {
	const (
		open = 1
		done = 2
	)
	state := map[string]int{}
	var walk func(pkg string, path []string) []string
	walk = func(pkg string, path []string) []string {
		path = append(path, pkg)
		if state[pkg] == done {
			return nil
		}
		if state[pkg] == open {
			for i, p := range path {
				if p == pkg {
					return path[i:]
				}
			}
		}
		state[pkg] = open
		r, _ := t.Find(pkg)
		for _, imp := range r.Imports {
			if c := walk(imp, path); c != nil {
				return c
			}
		}
		state[pkg] = done
		return nil
	}
	names := make([]string, 0, len(t.Rows))
	for _, r := range t.Rows {
		names = append(names, r.Package)
	}
	sort.Strings(names)
	for _, n := range names {
		if c := walk(n, nil); c != nil {
			return c
		}
	}
	return nil
}

// Rows holds the table and the table of packages in ARCHITECTURE.md, whose text is given,
// against the packages there are and against one another.
func Rows(fsys fs.FS, t Table, architecture string) ([]Fault, error) {
	const imports, described = "internal/archtest/imports.txt", "ARCHITECTURE.md"
	pkgs, faults, err := read(fsys, token.NewFileSet())
	if err != nil {
		return nil, err
	}
	kinds := map[string]Kind{}
	for i, line := range strings.Split(architecture, "\n") {
		m := packageLine.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		name := m[1]
		if name == "sternfan" {
			name = "."
		}
		kinds[name] = Kind(m[2])
		if r, ok := t.Find(name); !ok || len(pkgs[name]) == 0 && !r.Tree {
			faults = append(faults, Fault{described, i + 1, fmt.Sprintf("there is no package %s, or it has no row in %s", name, imports)})
		} else if r.Kind != kinds[name] {
			faults = append(faults, Fault{described, i + 1, fmt.Sprintf("package %s is %s here and %s in %s", name, kinds[name], r.Kind, imports)})
		}
	}
	for _, r := range t.Rows {
		there := len(pkgs[r.Package]) > 0
		for dir := range pkgs {
			there = there || r.Tree && strings.HasPrefix(dir, r.Package+"/")
		}
		if !there {
			faults = append(faults, Fault{imports, 0, fmt.Sprintf("package %s has a row and no Go file", r.Package)})
		}
		if kinds[r.Package] == "" {
			faults = append(faults, Fault{described, 0, fmt.Sprintf("the table of packages has no line for %s", r.Package)})
		}
	}
	return faults, nil
}

// packageLine is a line of ARCHITECTURE.md about a package.
var packageLine = regexp.MustCompile("^\\| `([\\w/-]+)`[^|]*\\| (pure|edge|tests) \\|")
