package archtest

import (
	"fmt"
	"go/ast"
	"go/token"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"sort"
	"strings"
)

// Documents holds what the Markdown files (those at the root and below docs) and the
// comments of the Go files name against what there is: tests, benchmarks and fuzz targets,
// the patterns of -run and -bench, files of code, folders, targets of make, packages, and
// exported names of ours. allowed are words that look like one of these and are none.
func Documents(fsys fs.FS, allowed []string) ([]Fault, error) {
	fset := token.NewFileSet()
	pkgs, _, err := read(fsys, fset)
	if err != nil {
		return nil, err
	}
	has, err := whatThereIs(fsys, pkgs)
	if err != nil {
		return nil, err
	}
	for _, word := range allowed {
		has.allowed[word] = true
	}
	for _, name := range has.files {
		if path.Ext(name) == ".md" && (path.Dir(name) == "." || strings.HasPrefix(name, "docs/")) {
			text, err := fs.ReadFile(fsys, name)
			if err != nil {
				return nil, err
			}
			has.markdown(name, string(text))
		}
	}
	for dir, files := range pkgs {
		for _, s := range files {
			for _, group := range s.file.Comments {
				at := fset.Position(group.Pos()).Line
				for i, line := range strings.Split(group.Text(), "\n") {
					has.tests(s.name, at+i, line)
					has.code(s.name, at+i, dir, line)
				}
				if group == s.file.Doc && s.file.Name.Name != "main" {
					has.links(s.name, at, s.file.Name.Name, group.Text())
				}
			}
		}
	}
	sort.Slice(has.faults, func(i, j int) bool {
		a, b := has.faults[i], has.faults[j]
		return a.File < b.File || a.File == b.File && (a.Line < b.Line || a.Line == b.Line && a.Text < b.Text)
	})
	return slices.Compact(has.faults), nil
}

// inventory is what a document can name.
type inventory struct {
	files    []string            // in order
	paths    map[string]bool     // files and folders, and every end of their paths
	tested   map[string][]string // test, benchmark or fuzz target -> folders of its packages
	packages map[string]bool     // by path; "." is the root
	named    map[string]bool     // last words of the paths, as imported
	exported map[string]bool     // Name, Type.Member, package.Name and package.Type.Member
	targets  map[string]bool
	allowed  map[string]bool
	faults   []Fault
}

func whatThereIs(fsys fs.FS, pkgs map[string][]source) (*inventory, error) {
	has := &inventory{
		paths: map[string]bool{}, tested: map[string][]string{}, packages: map[string]bool{},
		named: map[string]bool{}, exported: map[string]bool{}, targets: map[string]bool{}, allowed: map[string]bool{},
	}
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "node_modules") {
			return fs.SkipDir
		}
		if !d.IsDir() {
			has.files = append(has.files, name)
		}
		for end := name; ; {
			has.paths[end] = true
			_, rest, more := strings.Cut(end, "/")
			if !more {
				return nil
			}
			end = rest
		}
	})
	if err != nil {
		return nil, err
	}
	if text, err := fs.ReadFile(fsys, "Makefile"); err == nil {
		for _, m := range target.FindAllStringSubmatch(string(text), -1) {
			has.targets[m[1]] = true
		}
	}
	for dir, files := range pkgs {
		has.packages[dir] = true
		for _, s := range files {
			pkg := strings.TrimSuffix(s.file.Name.Name, "_test")
			has.named[pkg] = true
			for _, d := range s.file.Decls {
				has.declare(dir, pkg, s.test, d)
			}
		}
	}
	return has, nil
}

var target = regexp.MustCompile(`(?m)^([a-z][a-z-]*):`)

// declare notes the names that a declaration brings.
func (has *inventory) declare(dir, pkg string, test bool, d ast.Decl) {
	export := func(names ...string) {
		name := strings.Join(names, ".")
		has.exported[name], has.exported[pkg+"."+name] = true, true
	}
	switch d := d.(type) {
	case *ast.FuncDecl:
		if test && d.Recv == nil && testName.MatchString(d.Name.Name) {
			has.tested[d.Name.Name] = append(has.tested[d.Name.Name], dir)
		}
		if kind := receiver(d); kind != "" {
			export(strings.TrimSuffix(kind, "."), d.Name.Name)
		} else {
			export(d.Name.Name)
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			switch spec := spec.(type) {
			case *ast.ValueSpec:
				for _, name := range spec.Names {
					export(name.Name)
				}
			case *ast.TypeSpec:
				export(spec.Name.Name)
				var members *ast.FieldList
				switch t := spec.Type.(type) {
				case *ast.StructType:
					members = t.Fields
				case *ast.InterfaceType:
					members = t.Methods
				default:
					continue
				}
				for _, member := range members.List {
					for _, name := range member.Names {
						export(spec.Name.Name, name.Name)
					}
				}
			}
		}
	}
}

var (
	testName = regexp.MustCompile(`\b(?:Test|Benchmark|Fuzz)[A-Z]\w*`)
	inPkg    = regexp.MustCompile("`((?:Test|Benchmark|Fuzz)[A-Z]\\w*)` in package\\s+`([\\w/]+)`")
	ofPkg    = regexp.MustCompile("\\bpackages?\\s+`([\\w/]+)`")
	picked   = regexp.MustCompile(`-(?:run|bench|fuzz)[ =]'?([\w|^$]+)'?`)
	codeFile = regexp.MustCompile(`[\w./-]*\w\.(?:go|sh|ts|tsx|py|R|mod|mjs)\b`)
	webPlace = regexp.MustCompile(`https?://\S+`)
	span     = regexp.MustCompile("`([^`]+)`")
	made     = regexp.MustCompile(`^\.?/?(?:out|bin|dist|web/app/(?:dist|engine|out))(?:/|$)`)
	place    = regexp.MustCompile(`^(?:\./)?[\w.-]+(?:/[\w.-]+)*/?$`)
	making   = regexp.MustCompile(`\bmake ([a-z][a-z-]*)`)
	goName   = regexp.MustCompile(`^(\w+)\.[A-Z]\w*(?:\.[A-Z]\w*)?$`)
	twoHumps = regexp.MustCompile(`^[A-Z][a-z0-9]+[A-Z]\w*$`)
	docLink  = regexp.MustCompile(`\[\*?((?:\w+\.)?[A-Z]\w*(?:\.[A-Z]\w*)?)\]`)
	linked   = regexp.MustCompile(`\]\(([^)#\s]+)`)
)

func (has *inventory) fault(file string, line int, format string, args ...any) {
	has.faults = append(has.faults, Fault{file, line, fmt.Sprintf(format, args...)})
}

// markdown checks one document.
func (has *inventory) markdown(file, text string) {
	lineOf := func(at int) int { return 1 + strings.Count(text[:at], "\n") }
	for _, m := range inPkg.FindAllStringSubmatchIndex(text, -1) {
		test, pkg := text[m[2]:m[3]], text[m[4]:m[5]]
		if dirs := has.tested[test]; len(dirs) > 0 && !slices.Contains(dirs, pkg) {
			has.fault(file, lineOf(m[0]), "%s is in package %s, not %s", test, strings.Join(dirs, ", "), pkg)
		}
	}
	for _, m := range ofPkg.FindAllStringSubmatchIndex(text, -1) {
		if name := text[m[2]:m[3]]; !has.packages[name] && !has.named[name] && !has.allowed[name] {
			has.fault(file, lineOf(m[0]), "there is no package %s", name)
		}
	}
	for i, line := range strings.Split(text, "\n") {
		at := i + 1
		has.tests(file, at, line)
		has.code(file, at, path.Dir(file), line)
		for _, m := range linked.FindAllStringSubmatch(line, -1) {
			if to := m[1]; !strings.Contains(to, ":") && !has.paths[path.Join(path.Dir(file), to)] {
				has.fault(file, at, "links to %s, which does not exist", to)
			}
		}
		written := []string{}
		if strings.HasPrefix(line, "    ") || strings.HasPrefix(line, "\t") {
			written = append(written, line)
		}
		for _, m := range span.FindAllStringSubmatch(line, -1) {
			written = append(written, m[1])
			has.word(file, at, m[1])
		}
		for _, w := range written {
			for _, m := range making.FindAllStringSubmatch(w, -1) {
				if !has.targets[m[1]] {
					has.fault(file, at, "the Makefile has no target %s", m[1])
				}
			}
		}
	}
}

// tests checks the names of tests, and the patterns that choose some, in a line.
func (has *inventory) tests(file string, at int, line string) {
	for _, name := range testName.FindAllString(line, -1) {
		if len(has.tested[name]) == 0 && !has.exported[name] && !has.allowed[name] {
			has.fault(file, at, "there is no %s", name)
		}
	}
	for _, m := range picked.FindAllStringSubmatch(line, -1) {
		for part := range strings.SplitSeq(m[1], "|") {
			re, err := regexp.Compile(part)
			if err != nil || strings.Trim(part, "^$x") == "" {
				continue // a pattern that is to choose none
			}
			if !slices.ContainsFunc(has.testNames(), re.MatchString) {
				has.fault(file, at, "no test, benchmark or fuzz target matches %q", part)
			}
		}
	}
}

func (has *inventory) testNames() []string {
	var names []string
	for name := range has.tested {
		names = append(names, name)
	}
	return names
}

// code checks the names of files of code in a line.
func (has *inventory) code(file string, at int, dir, line string) {
	for _, name := range codeFile.FindAllString(webPlace.ReplaceAllString(line, ""), -1) {
		if !has.exists(dir, name) {
			has.fault(file, at, "there is no file %s", name)
		}
	}
}

// word checks what stands between backticks: a file or folder, or a name of Go.
func (has *inventory) word(file string, at int, word string) {
	if has.allowed[word] {
		return
	}
	if strings.Contains(word, "/") && place.MatchString(word) && !made.MatchString(word) && !has.exists(path.Dir(file), word) {
		has.fault(file, at, "there is no file or folder %s", word)
		return
	}
	name := strings.TrimSuffix(word, "()")
	switch m := goName.FindStringSubmatch(name); {
	case m != nil && !has.exported[name]:
		has.fault(file, at, "there is no %s", name)
	case m == nil && twoHumps.MatchString(name) && !testName.MatchString(name) && !has.exported[name]:
		has.fault(file, at, "there is no %s", name)
	}
}

// exists reports whether the path exists, as seen from the folder or from anywhere.
func (has *inventory) exists(dir, name string) bool {
	clean := path.Clean(name)
	return has.allowed[name] || has.paths[clean] || has.paths[path.Join(dir, clean)]
}

// links checks the names in brackets of a package's comment.
func (has *inventory) links(file string, at int, pkg, text string) {
	for _, m := range docLink.FindAllStringSubmatch(text, -1) {
		name := m[1]
		own, _, qualified := strings.Cut(name, ".")
		if qualified && own[0] >= 'a' && own[0] <= 'z' {
			if has.named[own] && !has.exported[name] {
				has.fault(file, at, "there is no %s", name)
			}
		} else if !has.exported[pkg+"."+name] {
			has.fault(file, at, "package %s has no %s", pkg, name)
		}
	}
}
