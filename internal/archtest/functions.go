package archtest

import (
	"fmt"
	"go/ast"
	"go/token"
	"io/fs"
	"sort"
	"strings"
)

// A function longer than MaxFuncLines, or with more ways through it than MaxWays, says
// why beside it: a line of its comment that begins with "long: ".
const (
	MaxFuncLines = 100
	MaxWays      = 30
)

// Func is a function that is longer or has more ways than most.
type Func struct {
	Name  string // folder, receiver and name: "tow.Solver.outer"
	File  string
	Line  int
	Lines int
	Ways  int    // 1 and one for each branch (McCabe 1976)
	Why   string // the reason given beside it, "" when there is none
}

func (f Func) String() string {
	return fmt.Sprintf("%s:%d: %s has %d lines and %d ways through it", f.File, f.Line, f.Name, f.Lines, f.Ways)
}

// LongFuncs returns the functions over MaxFuncLines or MaxWays, by name. Tests and
// generated files do not count.
func LongFuncs(fsys fs.FS) ([]Func, error) {
	fset := token.NewFileSet()
	pkgs, _, err := read(fsys, fset)
	if err != nil {
		return nil, err
	}
	var out []Func
	for dir, files := range pkgs {
		for _, s := range files {
			if s.test || ast.IsGenerated(s.file) {
				continue
			}
			for _, d := range s.file.Decls {
				fn, ok := d.(*ast.FuncDecl)
				if !ok || fn.Body == nil {
					continue
				}
				f := Func{Name: dir + "." + receiver(fn) + fn.Name.Name, File: s.name, Line: fset.Position(fn.Pos()).Line, Ways: ways(fn)}
				f.Lines = fset.Position(fn.End()).Line - f.Line + 1
				if f.Lines > MaxFuncLines || f.Ways > MaxWays {
					f.Why = reason(fn.Doc)
					out = append(out, f)
				}
			}
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out, nil
}

// reason is what the comment's line "long: ..." says.
func reason(doc *ast.CommentGroup) string {
	if doc == nil {
		return ""
	}
	for _, c := range doc.List {
		if why, ok := strings.CutPrefix(c.Text, "// long: "); ok {
			return strings.TrimSpace(why)
		}
	}
	return ""
}

// receiver is the name of the type that the function is a method of, with a dot, or "".
func receiver(fn *ast.FuncDecl) string {
	if fn.Recv == nil || len(fn.Recv.List) == 0 {
		return ""
	}
	t := fn.Recv.List[0].Type
	for {
		switch x := t.(type) {
		case *ast.StarExpr:
			t = x.X
		case *ast.IndexExpr:
			t = x.X
		case *ast.IndexListExpr:
			t = x.X
		case *ast.Ident:
			return x.Name + "."
		default:
			return ""
		}
	}
}

// ways counts the function's branches, those of functions written inside it among them.
func ways(fn *ast.FuncDecl) int {
	n := 1
	ast.Inspect(fn, func(node ast.Node) bool {
		switch x := node.(type) {
		case *ast.IfStmt, *ast.ForStmt, *ast.RangeStmt, *ast.CommClause:
			n++
		case *ast.CaseClause:
			if x.List != nil {
				n++
			}
		case *ast.BinaryExpr:
			if x.Op == token.LAND || x.Op == token.LOR {
				n++
			}
		}
		return true
	})
	return n
}
