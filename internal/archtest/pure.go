package archtest

import (
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"path"
	"slices"
	"strconv"
	"strings"
)

// barredImports are the standard packages no pure package imports, each with
// everything below it.
var barredImports = map[string]string{
	"os":          "the core does not touch the operating system: take an io.Reader or io.Writer",
	"syscall":     "the core does not touch the operating system",
	"net":         "the core does not touch the network",
	"log":         "the core does not log: return the finding to the caller",
	"flag":        "the core has no flags: take a parameter",
	"database":    "the core does not touch databases",
	"crypto/rand": "the core has no global random numbers: take a *rand.Rand",
	"io/ioutil":   "the core does not touch files: take an io.Reader or io.Writer",
	"plugin":      "the core does not touch the operating system",
}

const (
	clock  = "the core does not read the clock: take the time as a parameter and bound the work by counts"
	random = "the core has no global random numbers: take a *rand.Rand made by the caller from a seed"
	digits = "its last digits are the machine's own: take it from package portable"
	prints = "the core does not print: return the text or write to an io.Writer"
)

// machines are the functions of package math that some machines work out by themselves, and
// those that rest on them.
var machines = []string{"Exp", "Exp2", "Log", "Log2", "Log10", "Pow", "Hypot"}

// barred reports why a pure package may not use the name of the standard
// package, or "".
func barred(pkg, name string) string {
	switch pkg {
	case "time":
		switch name {
		case "Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker":
			return clock
		}
	case "context":
		switch name {
		case "WithTimeout", "WithTimeoutCause", "WithDeadline", "WithDeadlineCause":
			return clock
		}
	case "math/rand", "math/rand/v2":
		switch name {
		case "New", "NewSource", "NewPCG", "NewChaCha8", "NewZipf",
			"Rand", "Source", "Source64", "Zipf", "PCG", "ChaCha8":
		default:
			return random
		}
	case "fmt":
		if strings.HasPrefix(name, "Print") || strings.HasPrefix(name, "Scan") {
			return prints
		}
	}
	return ""
}

// checkPure finds what a pure package may not use. Names are resolved by the
// type checker against empty stand-ins for the imported packages, so a
// parameter called rand or a method called Now is not mistaken for the
// package's. Test files are left out: they may seed, time and print, and
// running them under js/wasm shows that they need no operating system. A package
// that may import portable gives the same digits everywhere, and must.
func checkPure(fset *token.FileSet, sources []source, portable bool) []Fault {
	var faults []Fault
	add := func(pos token.Pos, format string, args ...any) {
		p := fset.Position(pos)
		faults = append(faults, Fault{p.Filename, p.Line, fmt.Sprintf(format, args...)})
	}
	var files []*ast.File
	for _, s := range sources {
		if s.test {
			continue
		}
		files = append(files, s.file)
		for _, spec := range s.file.Imports {
			imp, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				continue
			}
			for b, why := range barredImports {
				if imp == b || strings.HasPrefix(imp, b+"/") {
					add(spec.Pos(), "a pure package may not import %s: %s", imp, why)
				}
			}
			if spec.Name != nil && spec.Name.Name == "." {
				add(spec.Pos(), "a pure package may not import %s with a dot: its names could not be checked", imp)
			}
		}
	}
	info := types.Info{Uses: map[*ast.Ident]types.Object{}}
	conf := types.Config{
		Importer: standIns{},
		Error:    func(error) {}, // the stand-ins are empty, so most names fail; only the package names matter
	}
	_, _ = conf.Check("p", fset, files, &info)
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.SelectorExpr:
				id, ok := n.X.(*ast.Ident)
				if !ok {
					return true
				}
				if p, ok := info.Uses[id].(*types.PkgName); ok {
					why := barred(p.Imported().Path(), n.Sel.Name)
					if portable && p.Imported().Path() == "math" && slices.Contains(machines, n.Sel.Name) {
						why = digits
					}
					if why != "" {
						add(n.Pos(), "a pure package may not use %s.%s: %s", id.Name, n.Sel.Name, why)
					}
				}
			case *ast.Ident:
				if b, ok := info.Uses[n].(*types.Builtin); ok && (b.Name() == "print" || b.Name() == "println") {
					add(n.Pos(), "a pure package may not use %s: %s", b.Name(), prints)
				}
			}
			return true
		})
	}
	return faults
}

// standIns imports every path as an empty package of the likely name.
type standIns struct{}

func (standIns) Import(imp string) (*types.Package, error) {
	if imp == "unsafe" {
		return types.Unsafe, nil
	}
	name := path.Base(imp)
	if len(name) > 1 && name[0] == 'v' && strings.Trim(name[1:], "0123456789") == "" {
		name = path.Base(path.Dir(imp))
	}
	p := types.NewPackage(imp, name)
	p.MarkComplete()
	return p, nil
}
