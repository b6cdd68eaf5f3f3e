// Package tsgen writes TypeScript types for Go types as encoding/json writes them, so
// that the app never types them anew.
package tsgen

import (
	"encoding"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Writer gathers types.
type Writer struct {
	docs  map[string]string   // "package.Type", "package.Type.Field"
	enums map[string][]string // named string types with constants
	seen  map[reflect.Type]bool
	names map[string]reflect.Type
	out   []string
}

// New returns a writer that takes comments and constants from the Go files of the
// folders.
func New(dirs ...string) (*Writer, error) {
	w := &Writer{docs: map[string]string{}, enums: map[string][]string{}, seen: map[reflect.Type]bool{}, names: map[string]reflect.Type{}}
	for _, dir := range dirs {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			return nil, err
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			text, err := os.ReadFile(file)
			if err != nil {
				return nil, err
			}
			if err := w.read(file, text); err != nil {
				return nil, err
			}
		}
	}
	return w, nil
}

// read takes the comments and constants of one file.
func (w *Writer) read(name string, text []byte) error {
	file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ParseComments)
	if err != nil {
		return err
	}
	for _, decl := range file.Decls {
		gen, ok := decl.(*ast.GenDecl)
		if !ok {
			continue
		}
		pkg := file.Name.Name + "."
		for _, spec := range gen.Specs {
			switch spec := spec.(type) {
			case *ast.TypeSpec:
				w.typeDocs(pkg, gen, spec)
			case *ast.ValueSpec:
				id, named := spec.Type.(*ast.Ident)
				if gen.Tok != token.CONST || !named {
					continue
				}
				for _, v := range spec.Values {
					if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
						if s, err := strconv.Unquote(lit.Value); err == nil {
							w.enums[pkg+id.Name] = append(w.enums[pkg+id.Name], s)
						}
					}
				}
			}
		}
	}
	return nil
}

func (w *Writer) typeDocs(pkg string, gen *ast.GenDecl, spec *ast.TypeSpec) {
	doc := spec.Doc
	if doc == nil {
		doc = gen.Doc
	}
	w.docs[pkg+spec.Name.Name] = doc.Text()
	st, ok := spec.Type.(*ast.StructType)
	if !ok {
		return
	}
	for _, f := range st.Fields.List {
		text := f.Doc.Text()
		if text == "" {
			text = f.Comment.Text()
		}
		for _, id := range f.Names {
			w.docs[pkg+spec.Name.Name+"."+id.Name] = text
		}
	}
}

// Add writes a type and those it needs. Two types of one name are a mistake.
func (w *Writer) Add(t reflect.Type) {
	if special(t) != "" {
		return
	}
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Array || t.Kind() == reflect.Map {
		t = t.Elem()
	}
	if t.Name() == "" || t.PkgPath() == "" || w.seen[t] || special(t) != "" {
		return
	}
	if other, ok := w.names[called(t)]; ok && other != t {
		panic("tsgen: two types are called " + called(t))
	}
	switch t.Kind() {
	case reflect.Struct:
		w.seen[t], w.names[called(t)] = true, t
		w.structure(t)
	case reflect.String:
		if values := w.enums[key(t)]; len(values) > 0 {
			w.seen[t], w.names[called(t)] = true, t
			quoted := make([]string, len(values))
			for i, v := range values {
				quoted[i] = strconv.Quote(v)
			}
			w.out = append(w.out, comment("", w.docs[key(t)])+"export type "+called(t)+" = "+strings.Join(quoted, " | ")+"\n")
		}
	}
}

func (w *Writer) structure(t reflect.Type) {
	at := len(w.out)
	w.out = append(w.out, "")
	var b strings.Builder
	b.WriteString(comment("", w.docs[key(t)]))
	b.WriteString("export interface " + called(t))
	var bases []string
	for f := range fields(t) {
		if f.Anonymous {
			w.Add(f.Type)
			bases = append(bases, called(f.Type))
		}
	}
	if len(bases) > 0 {
		b.WriteString(" extends " + strings.Join(bases, ", "))
	}
	b.WriteString(" {\n")
	for f := range fields(t) {
		if f.Anonymous {
			continue
		}
		name, optional := jsonName(f)
		b.WriteString(comment("  ", w.docs[key(t)+"."+f.Name]))
		mark := ""
		typ := w.typeOf(f)
		if optional {
			mark = "?"
			typ = strings.TrimSuffix(typ, " | null")
		}
		fmt.Fprintf(&b, "  %s%s: %s\n", name, mark, typ)
	}
	b.WriteString("}\n")
	w.out[at] = b.String()
}

// called returns a type's name in TypeScript, where there are no packages: what a log's
// event says is told from what a scenario says by a name that begins with Log.
func called(t reflect.Type) string {
	if path.Base(t.PkgPath()) == "event" {
		return "Log" + t.Name()
	}
	return t.Name()
}

// key is how a type's comments and constants are kept.
func key(t reflect.Type) string { return path.Base(t.PkgPath()) + "." + t.Name() }

// fields iterates over the members that encoding/json writes.
func fields(t reflect.Type) func(func(reflect.StructField) bool) {
	return func(yield func(reflect.StructField) bool) {
		for i := range t.NumField() {
			f := t.Field(i)
			if (f.IsExported() || f.Anonymous) && f.Tag.Get("json") != "-" && !yield(f) {
				return
			}
		}
	}
}

func jsonName(f reflect.StructField) (name string, optional bool) {
	all := strings.Split(f.Tag.Get("json"), ",")
	name = all[0]
	if name == "" {
		name = f.Name
	}
	return name, slices.Contains(all[1:], "omitempty") || slices.Contains(all[1:], "omitzero")
}

func (w *Writer) typeOf(f reflect.StructField) string {
	if ts := f.Tag.Get("ts"); ts != "" {
		return ts
	}
	w.Add(f.Type)
	return w.name(f.Type)
}

// special returns the TypeScript of types that say themselves how their JSON is: text, or
// any value; "" for others.
func special(t reflect.Type) string {
	switch {
	case t.Kind() != reflect.Pointer && t.Implements(reflect.TypeFor[encoding.TextMarshaler]()):
		return "string"
	case t.Kind() == reflect.Slice && t.Implements(reflect.TypeFor[json.Marshaler]()):
		return "unknown"
	}
	return ""
}

func (w *Writer) name(t reflect.Type) string {
	if ts := special(t); ts != "" {
		return ts
	}
	switch t.Kind() {
	case reflect.Pointer:
		return w.name(t.Elem()) + " | null"
	case reflect.Slice:
		elem := w.name(t.Elem())
		if strings.Contains(elem, " ") {
			elem = "(" + elem + ")"
		}
		w.Add(t.Elem())
		return elem + "[]"
	case reflect.Array:
		return "[" + strings.TrimSuffix(strings.Repeat(w.name(t.Elem())+", ", t.Len()), ", ") + "]"
	case reflect.Map:
		w.Add(t.Elem())
		return "Record<" + w.name(t.Key()) + ", " + w.name(t.Elem()) + ">"
	case reflect.Struct:
		if t.Name() == "" {
			panic("tsgen: a type without a name")
		}
		w.Add(t)
		return called(t)
	case reflect.String:
		if len(w.enums[key(t)]) > 0 && t.PkgPath() != "" {
			w.Add(t)
			return called(t)
		}
		return "string"
	case reflect.Bool:
		return "boolean"
	case reflect.Interface:
		return "unknown"
	}
	if t.Kind() >= reflect.Int && t.Kind() <= reflect.Float64 {
		return "number"
	}
	panic("tsgen: no TypeScript for " + t.String())
}

// String returns everything that was added.
func (w *Writer) String() string { return strings.Join(w.out, "\n") }

func comment(indent, text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	text = strings.ReplaceAll(text, "*/", "* /")
	lines := strings.Split(text, "\n")
	if len(lines) == 1 {
		return indent + "/** " + lines[0] + " */\n"
	}
	var b strings.Builder
	b.WriteString(indent + "/**\n")
	for _, l := range lines {
		b.WriteString(strings.TrimRight(indent+" * "+l, " ") + "\n")
	}
	b.WriteString(indent + " */\n")
	return b.String()
}
