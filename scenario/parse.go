package scenario

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"sternfan"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Bounds on the input. A boat with every rod and a full tackle box is well under a
// tenth of each.
const (
	maxBytes  = 1 << 20
	maxMarks  = 40_000 // lines, brackets, colons, commas, dashes: bounds the parser's work
	maxDepth  = 32
	maxWidth  = 2000 // entries of one map or list; the parser takes their square
	maxFaults = 200
)

// parse reads YAML or JSON into nodes. Everything that could cost memory, time or stack
// is refused before the parser sees it.
func (d *decoder) parse(data []byte) *node {
	if len(data) > maxBytes {
		d.refuse("too-large", "the file is too large", "more than 1 MiB", // it was read no further
			"a scenario is a page or two of text; check that this is the right file", "up to 1 MiB")
		return nil
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if !d.isText(data) {
		return nil
	}
	if n := marks(data); n > maxMarks {
		d.refuse("too-large", "the file holds too much", fmt.Sprintf("%d marks of structure", n),
			"a scenario is a page or two of text; check that this is the right file", fmt.Sprintf("up to %d", maxMarks))
		return nil
	}
	text := strings.ReplaceAll(strings.ReplaceAll(string(data), "\r\n", "\n"), "\r", "\n")
	if s := strings.TrimLeft(text, " \t\n"); strings.HasPrefix(s, "{") || strings.HasPrefix(s, "[") {
		text = untab(text)
	}
	return d.syntax(text)
}

// isText refuses what is not the text of a file: nothing at all, other encodings, bytes.
func (d *decoder) isText(data []byte) bool {
	if len(bytes.TrimSpace(data)) == 0 {
		d.refuse("empty", "the file is empty", "nothing", "begin from one of the examples")
		return false
	}
	line, column := 1, 1
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		bad := r == utf8.RuneError && size == 1 || r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0x7f
		if bad {
			d.add(sternfan.Fault{Code: "binary", Line: line, Column: column, Text: "the file is not text",
				Found: fmt.Sprintf("the byte 0x%02x", data[i]), Allowed: []string{"UTF-8 text"},
				Hint: "save it as plain text in UTF-8, or check that this is the right file"})
			return false
		}
		column++
		if r == '\n' {
			line, column = line+1, 1
		}
		i += size
	}
	return true
}

func marks(data []byte) int {
	n := 0
	for _, c := range data {
		switch c {
		case '[', ']', '{', '}', ',', ':', '-', '?', '&', '*', '!', '"', '\'', '|', '>', '%', '#', '\n':
			n++
		}
	}
	return n
}

// untab turns JSON's tabs into spaces, one for one, so that columns stay: YAML forbids
// tabs in an indentation even inside brackets. JSON strings hold no raw tab.
func untab(s string) string {
	out := []byte(s)
	quoted, escaped := false, false
	for i, c := range out {
		switch {
		case escaped:
			escaped = false
		case quoted && c == '\\':
			escaped = true
		case c == '"':
			quoted = !quoted
		case c == '\t' && !quoted:
			out[i] = ' '
		}
	}
	return string(out)
}

// syntax runs the YAML library. A panic of the library is a fault of the file's, not the
// end of the program: it reads strangers' files.
func (d *decoder) syntax(text string) (root *node) {
	defer func() {
		if recover() != nil {
			root = nil
			d.refuse("syntax", "the file cannot be read as YAML or JSON", "", "check indentation, brackets and quotes near what was changed last")
		}
	}()
	tokens := lexer.Tokenize(text)
	if !d.bounded(tokens) {
		return nil
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		d.syntaxFault(err, text)
		return nil
	}
	var docs []ast.Node
	for _, doc := range file.Docs {
		if doc.Body != nil && doc.Body.Type() != ast.CommentType {
			docs = append(docs, doc.Body)
		}
	}
	switch {
	case len(docs) == 0:
		d.refuse("empty", "the file holds no keys", "comments only", "begin from one of the examples")
		return nil
	case len(docs) > 1:
		line, column := place(docs[1])
		d.add(sternfan.Fault{Code: "refused", Line: line, Column: column, Text: "a file holds one scenario",
			Found: fmt.Sprintf("%d documents", len(docs)), Hint: "put each into its own file"})
		return nil
	}
	return d.convert(docs[0], 0)
}

func (d *decoder) syntaxFault(err error, text string) {
	f := sternfan.Fault{Code: "syntax", Text: "the file cannot be read as YAML or JSON",
		Hint: "check indentation, brackets and quotes here and on the line above"}
	var se *yaml.SyntaxError
	if errors.As(err, &se) {
		f.Text += ": " + strings.ToLower(clip(se.GetMessage()))
		if tk := se.GetToken(); tk != nil && tk.Position != nil {
			f.Line, f.Column = max(tk.Position.Line, 1), max(tk.Position.Column, 1)
		}
	}
	if isTabbed(text) {
		f.Hint = "indent with spaces and not with tabs"
	}
	d.add(f)
}

// level is one open map or list while the tokens are counted.
type level struct {
	column  int // of its keys or dashes; 0: between brackets
	entries int
}

// bounded refuses nesting beyond maxDepth, maps and lists beyond maxWidth and a second
// document, from the tokens alone: the parser after it recurses, and compares every key
// of a map with every other. Brackets count one level each; outside them every deeper
// column that a key or a dash begins counts one.
func (d *decoder) bounded(tokens token.Tokens) bool {
	var open []level
	headers, line, lineColumn := 0, 0, 0
	chain := 0 // levels that one entry between brackets takes without a bracket
	for _, tk := range tokens {
		if tk == nil || tk.Position == nil {
			continue
		}
		refuse := func(code, text, found, hint string, allowed ...string) bool {
			d.add(sternfan.Fault{Code: code, Line: max(tk.Position.Line, 1), Column: max(tk.Position.Column, 1), Text: text, Found: found, Allowed: allowed, Hint: hint})
			return false
		}
		if tk.Position.Line != line && tk.Type != token.CommentType {
			line, lineColumn = tk.Position.Line, tk.Position.Column
		}
		inside := len(open) > 0 && open[len(open)-1].column == 0
		column := 0
		switch tk.Type {
		case token.MappingValueType, token.MappingKeyType, token.AnchorType, token.TagType:
			chain++
		case token.SequenceStartType, token.MappingStartType, token.SequenceEndType, token.MappingEndType, token.CollectEntryType:
			chain = 0
		}
		switch tk.Type {
		case token.DocumentHeaderType:
			if headers++; headers > 1 {
				return refuse("refused", "a file holds one scenario", "a second document", "put each into its own file")
			}
		case token.SequenceStartType, token.MappingStartType:
			open = append(open, level{})
		case token.SequenceEndType, token.MappingEndType:
			if inside {
				open = open[:len(open)-1]
			}
		case token.CollectEntryType:
			if inside {
				open[len(open)-1].entries++
			}
		case token.SequenceEntryType, token.MappingKeyType, token.AnchorType, token.TagType:
			// An anchor and a tag take a level of the parser's recursion too.
			column = tk.Position.Column
		case token.MappingValueType:
			column = lineColumn
			if tk.Prev != nil && tk.Prev.Position != nil && tk.Prev.Position.Line == line {
				column = tk.Prev.Position.Column
			}
		}
		if column > 0 && !inside {
			for len(open) > 0 && open[len(open)-1].column > column {
				open = open[:len(open)-1]
			}
			if len(open) == 0 || open[len(open)-1].column < column {
				open = append(open, level{column: column})
			}
			open[len(open)-1].entries++
		}
		if len(open) > maxDepth || inside && chain > maxDepth {
			return refuse("too-deep", "the file is nested too deeply", fmt.Sprintf("more than %d levels", maxDepth),
				"check for brackets that are never closed", fmt.Sprintf("up to %d levels", maxDepth))
		}
		if len(open) > 0 && open[len(open)-1].entries > maxWidth {
			return refuse("too-many", "this map or list is too long", fmt.Sprintf("more than %d entries", maxWidth), "",
				fmt.Sprintf("up to 64 rods, and %d entries of other lists", listMax))
		}
	}
	return true
}

func place(n ast.Node) (line, column int) {
	tk := n.GetToken()
	switch n := n.(type) {
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 {
			tk = n.Values[0].Key.GetToken()
		}
	case *ast.MappingValueNode:
		tk = n.Key.GetToken()
	}
	if tk == nil || tk.Position == nil {
		return 0, 0
	}
	return tk.Position.Line, tk.Position.Column
}

// convert turns the library's tree into nodes and refuses what a scenario does not use.
func (d *decoder) convert(n ast.Node, depth int) *node {
	if n == nil {
		return &node{}
	}
	line, column := place(n)
	out := &node{line: line, column: column}
	refuse := func(code, text, hint string) *node {
		d.add(sternfan.Fault{Code: code, Line: line, Column: column, Text: text, Found: clip(strings.TrimSpace(n.String())), Hint: hint})
		out.kind = kindBad
		return out
	}
	if depth > maxDepth {
		return refuse("too-deep", "the file is nested too deeply", "check for brackets that are never closed")
	}
	switch n := n.(type) {
	case *ast.NullNode:
	case *ast.StringNode:
		out.kind, out.text = kindScalar, n.Value
		out.quoted = n.Token.Type == token.SingleQuoteType || n.Token.Type == token.DoubleQuoteType
	case *ast.LiteralNode:
		out.kind, out.text, out.quoted = kindScalar, strings.TrimRight(n.Value.Value, "\n"), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		out.kind, out.text = kindScalar, n.GetToken().Value
	case *ast.MappingNode:
		out.kind = kindMap
		for _, v := range n.Values {
			d.entry(out, v, depth)
		}
	case *ast.MappingValueNode:
		out.kind = kindMap
		d.entry(out, n, depth)
	case *ast.SequenceNode:
		out.kind = kindList
		for _, v := range n.Values {
			out.items = append(out.items, d.convert(v, depth+1))
		}
	case *ast.AnchorNode:
		refuse("alias", "anchors and aliases are not allowed", "write the value out where it is used")
		return d.convert(n.Value, depth+1) // so that what refers into it is not at fault too
	case *ast.AliasNode:
		return refuse("alias", "anchors and aliases are not allowed", "write the value out where it is used")
	case *ast.TagNode:
		return refuse("refused", "tags are not allowed", "write the plain value")
	case *ast.CommentGroupNode:
	default:
		return refuse("syntax", "this cannot stand here", "")
	}
	return out
}

func (d *decoder) entry(into *node, v *ast.MappingValueNode, depth int) {
	tk := v.Key.GetToken()
	line, column := 0, 0
	if tk != nil && tk.Position != nil {
		line, column = tk.Position.Line, tk.Position.Column
	}
	fault := func(code, text, found, hint string) {
		d.add(sternfan.Fault{Code: code, Line: line, Column: column, Text: text, Found: found, Hint: hint})
	}
	var name string
	switch key := v.Key.(type) {
	case *ast.StringNode:
		name = key.Value
	case *ast.MergeKeyNode:
		fault("alias", "merge keys are not allowed", "<<", "write the keys out where they are used")
		return
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NullNode, *ast.InfinityNode, *ast.NanNode:
		name = tk.Value
	default:
		fault("syntax", "a key must be a plain word", clip(v.Key.String()), "")
		return
	}
	value := d.convert(v.Value, depth+1)
	if value.line == 0 || value.kind == kindNull {
		value.line, value.column = line, column
	}
	if slices.ContainsFunc(into.keys, func(e entry) bool { return e.name == name }) {
		fault("duplicate-key", "this key is given twice", show(name), "keep one of the two")
		return
	}
	into.keys = append(into.keys, entry{name: name, line: line, column: column, value: value})
}
