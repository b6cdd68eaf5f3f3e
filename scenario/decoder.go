package scenario

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sternfan"
)

// decoder collects the faults of one file.
type decoder struct {
	name   string
	opts   Options
	root   *node
	faults sternfan.Faults
	more   int // faults beyond maxFaults
	named  int // ids and references that were decoded
}

func (d *decoder) add(f sternfan.Fault) {
	if len(d.faults) >= maxFaults {
		d.more++
		return
	}
	if f.File == "" {
		f.File = d.name
	}
	d.faults = append(d.faults, f)
}

func (d *decoder) count() int { return len(d.faults) + d.more }

// at adds a fault at a node.
func (d *decoder) at(n *node, path string, f sternfan.Fault) {
	f.Path, f.File, f.Line, f.Column = path, n.flag, n.line, n.column
	if n.flag != "" {
		f.Line, f.Column = 0, 0
	}
	d.add(f)
}

// refuse adds a fault about the file as a whole.
func (d *decoder) refuse(code, text, found, hint string, allowed ...string) {
	d.add(sternfan.Fault{Code: code, Line: 1, Column: 1, Text: text, Found: found, Hint: hint, Allowed: allowed})
}

// want reports whether a node is of a kind, and adds the fault when it is not.
func (d *decoder) want(n *node, path string, k kind) bool {
	if n.kind == k {
		return true
	}
	if n.kind == kindBad {
		return false
	}
	f := sternfan.Fault{Code: "wrong-type", Text: "this must be " + k.String(), Found: n.kind.String()}
	if n.kind == kindNull {
		f.Hint = "give it, or remove the key"
	} else if n.kind == kindScalar {
		f.Found = show(n.text)
	}
	d.at(n, path, f)
	return false
}

func (d *decoder) unknownKey(n *node, e entry, path, of string, allowed []string) {
	where := &node{line: e.line, column: e.column, flag: e.value.flag}
	d.at(where, join(path, e.name), sternfan.Fault{Code: "unknown-key", Text: fmt.Sprintf("a %s has no such key", of),
		Found: show(e.name), Allowed: allowed, Hint: sternfan.DidYouMean(e.name, allowed, "")})
}

func (d *decoder) missing(n *node, path, name, doc string) {
	d.at(n, join(path, name), sternfan.Fault{Code: "missing", Text: "the key " + name + " is missing here", Hint: firstLower(doc)})
}

func firstLower(s string) string {
	s = strings.TrimSuffix(s, ".")
	if s == "" {
		return ""
	}
	return strings.ToLower(s[:1]) + s[1:]
}

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// done returns the faults in the order of the file, nil when there are none.
func (d *decoder) done() error {
	if len(d.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(d.faults, func(a, b sternfan.Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	if d.more > 0 {
		last := d.faults[len(d.faults)-1]
		d.faults = append(d.faults, sternfan.Fault{File: last.File, Line: last.Line, Column: last.Column, Code: "too-many", Text: "there are more faults than are listed",
			Found: fmt.Sprintf("%d more", d.more), Hint: "correct these first"})
	}
	return d.faults
}
