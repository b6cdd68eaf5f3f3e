package depth

import (
	"bytes"
	"errors"
	"maps"
	"path"
	"slices"
	"strings"

	"sternfan"
	"sternfan/learn/rows"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// isYAML tells a list of measurements from a table: by the file's name, or else by how it
// begins.
func isYAML(name string, data []byte) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".yaml", ".yml", ".json":
		return true
	case ".csv":
		return false
	}
	head := bytes.TrimLeft(data, "\xef\xbb\xbf \t\r\n")
	return bytes.HasPrefix(head, []byte("measured:")) || bytes.HasPrefix(head, []byte("- ")) || bytes.HasPrefix(head, []byte("[")) || bytes.HasPrefix(head, []byte("{"))
}

// place is where something stands in a file.
type place struct{ line, column int }

func placeOf(n ast.Node) place {
	if t := n.GetToken(); t != nil && t.Position != nil {
		return place{t.Position.Line, t.Position.Column}
	}
	return place{1, 1}
}

// listed reads measurements from YAML or JSON: a list, by itself or under the key
// "measured", of mappings whose keys are the columns of a table.
func (r *reader) listed(data []byte, need []string, each func(*rows.Row)) {
	if i := rows.FirstInvalid(data); i >= 0 {
		r.Fault("not-text", "the file is not UTF-8 text", "", 1+bytes.Count(data[:i], []byte{'\n'}), 1, "save it in UTF-8")
		return
	}
	file, err := parser.ParseBytes(data, 0)
	if err != nil {
		at, text := place{1, 1}, err.Error()
		var y yaml.Error
		if errors.As(err, &y) {
			text = y.GetMessage()
			if t := y.GetToken(); t != nil && t.Position != nil {
				at = place{t.Position.Line, t.Position.Column}
			}
		}
		text, _, _ = strings.Cut(text, "\n")
		r.Fault("bad-yaml", "the file cannot be read as YAML: "+text, "", at.line, at.column, "")
		return
	}
	items := r.items(file)
	for _, item := range items {
		if len(r.Faults) >= rows.MostFaults {
			return
		}
		r.item(item, need, each)
	}
}

// items returns the nodes of the list.
func (r *reader) items(file *ast.File) []ast.Node {
	wrong := func(n ast.Node) []ast.Node {
		at := place{1, 1}
		if n != nil {
			at = placeOf(n)
		}
		r.Fault("missing", "measurements are a list", "", at.line, at.column, "begin each with a dash: - {date: 2026-07-11, rod: p-low, kind: depth, value: 58 ft}")
		return nil
	}
	if len(file.Docs) == 0 || file.Docs[0].Body == nil {
		return wrong(nil)
	}
	body := file.Docs[0].Body
	for _, v := range valuesOf(body) {
		if keyText(v.Key) != "measured" {
			at := placeOf(v.Key)
			r.Fault("unknown-key", "this is no key of a file of measurements", keyText(v.Key), at.line, at.column, "", "measured")
			return nil
		}
		body = v.Value
	}
	list, ok := body.(*ast.SequenceNode)
	if !ok {
		return wrong(body)
	}
	return list.Values
}

// valuesOf returns a mapping's entries, of which one by itself is a node of its own kind.
func valuesOf(n ast.Node) []*ast.MappingValueNode {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}
	}
	return nil
}

func keyText(k ast.MapKeyNode) string { return strings.ToLower(strings.TrimSpace(k.GetToken().Value)) }

// item hands over one mapping as a row.
func (r *reader) item(n ast.Node, need []string, each func(*rows.Row)) {
	here := placeOf(n)
	entries := valuesOf(n)
	if entries == nil {
		r.Fault("missing", "a measurement is a mapping", n.GetToken().Value, here.line, here.column, "write - {date: 2026-07-11, rod: p-low, kind: depth, value: 58 ft}")
		return
	}
	before := len(r.Faults)
	w := &rows.Row{Column: map[string]int{}}
	var at []place
	for _, e := range entries {
		name, p := keyText(e.Key), placeOf(e.Key)
		switch _, twice := w.Column[name]; {
		case twice:
			r.Fault("duplicate-id", "a key is there twice", name, p.line, p.column, "remove one of them")
			continue
		case !isMeasuredColumn(name):
			r.unknownColumn(name, p)
			continue
		}
		text := ""
		switch v := e.Value.(type) {
		case *ast.NullNode:
		case ast.ScalarNode:
			text, p = v.GetToken().Value, placeOf(v)
		default:
			p = placeOf(v)
			r.Fault("wrong-unit", "this is one value, not a list or a mapping", name, p.line, p.column, "")
		}
		w.Column[name] = len(w.Cells)
		w.Cells, at = append(w.Cells, text), append(at, p)
	}
	for _, name := range need {
		if _, ok := w.Column[name]; !ok {
			r.Fault("missing", "a key is missing", name, here.line, here.column, "each measurement needs these", need...)
		}
	}
	if len(r.Faults) > before {
		return
	}
	w.At = func(i int) (line, column int) { return at[i].line, at[i].column }
	each(w)
}

func isMeasuredColumn(name string) bool {
	return slices.Contains(ownColumns, name) || settingColumns[name] != "" || strings.Contains(name, ".")
}

func (r *reader) unknownColumn(name string, at place) {
	r.Fault("unknown-key", "this is no column of a table of measurements", name, at.line, at.column,
		"a setting that has no column of its own goes under its key, as in rods.port-low.settings.side", append(slices.Clone(ownColumns), slices.Sorted(maps.Keys(settingColumns))...)...)
}

// AssumedSD returns the standard error that a measurement is taken to have when it does
// not say its own: m, degrees or N.
func AssumedSD(kind sternfan.MeasuredKind) float64 {
	r := &reader{}
	return r.amount(kind, assumedSD[kind], 1, 1)
}
