package scenario

import (
	"slices"
	"strconv"
	"strings"
)

type kind uint8

const (
	kindNull kind = iota
	kindScalar
	kindList
	kindMap
	kindBad // refused already; says nothing more
)

func (k kind) String() string {
	switch k {
	case kindScalar:
		return "a single value"
	case kindList:
		return "a list"
	case kindMap:
		return "a map of keys"
	}
	return "nothing"
}

// node is one value of the file with its place. It stands between the YAML library and
// the rest of the package, and it is what flags of the form KEY=VALUE change.
type node struct {
	kind   kind
	text   string // of a scalar, as written, without quotes
	quoted bool
	line   int
	column int
	flag   string // the flag this came from; "" for the file
	keys   []entry
	items  []*node
	own    bool // made by mine: of one decoding alone
}

// mine puts a copy of its own in the place of a map's or list's value, so that it can be
// changed and what else is of the file stays as it is. It returns the copy.
func (n *node) mine(value *node) *node {
	c := value.shallow()
	for i := range n.keys {
		if n.keys[i].value == value {
			n.keys[i].value = c
		}
	}
	for i := range n.items {
		if n.items[i] == value {
			n.items[i] = c
		}
	}
	return c
}

// shallow returns a copy whose own lists can be changed, not what is in them.
func (n *node) shallow() *node {
	c := *n
	c.keys, c.items, c.own = slices.Clone(n.keys), slices.Clone(n.items), true
	return &c
}

type entry struct {
	name         string
	line, column int
	value        *node
}

// child returns the value of a map's key, or nil.
func (n *node) child(name string) *node {
	if n == nil || n.kind != kindMap {
		return nil
	}
	for i := range n.keys {
		if n.keys[i].name == name {
			return n.keys[i].value
		}
	}
	return nil
}

// byID returns the list's element whose id is name, or nil.
func (n *node) byID(name string) *node {
	for _, item := range n.items {
		if id := item.child("id"); id != nil && id.kind == kindScalar && id.text == name {
			return item
		}
	}
	return nil
}

// step is one part of a path: a key (or a list element's id), or an index.
type step struct {
	name  string
	index int // -1: a name
}

// steps takes "rods[2].settings.dial" or "rods.p1.settings.dial" apart.
func steps(path string) []step {
	var out []step
	for _, piece := range strings.Split(path, ".") {
		name, rest, _ := strings.Cut(piece, "[")
		if name != "" {
			out = append(out, step{name: name, index: -1})
		}
		for rest != "" {
			inside, after, closed := strings.Cut(rest, "]")
			i, err := strconv.Atoi(inside)
			if !closed || err != nil || i < 0 {
				out = append(out, step{name: "[" + rest, index: -1})
				break
			}
			out = append(out, step{index: i})
			rest = strings.TrimPrefix(after, "[")
		}
	}
	return out
}

// take follows one step, or returns nil.
func (n *node) take(s step) *node {
	if n == nil {
		return nil
	}
	switch {
	case n.kind == kindMap && s.index < 0:
		return n.child(s.name)
	case n.kind == kindList && s.index < 0:
		if item := n.byID(s.name); item != nil {
			return item
		}
		if i, err := strconv.Atoi(s.name); err == nil && i >= 0 && i < len(n.items) {
			return n.items[i]
		}
	case n.kind == kindList && s.index < len(n.items):
		return n.items[s.index]
	}
	return nil
}

// find follows a path as far as it goes and returns the last node there is.
func (n *node) find(path string) *node {
	for _, s := range steps(path) {
		next := n.take(s)
		if next == nil {
			break
		}
		n = next
	}
	return n
}
