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
// the rest of the package, and it is what edits change.
type node struct {
	kind   kind
	text   string // of a scalar, as written, without quotes
	quoted bool
	line   int
	column int
	flag   string // the flag this came from; "" for the file
	keys   []entry
	items  []*node
}

// shallow returns a copy whose own lists can be changed, not what is in them.
func (n *node) shallow() *node {
	c := *n
	c.keys, c.items = slices.Clone(n.keys), slices.Clone(n.items)
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

// at returns where in a list the element with an id stands, -1 when there is none.
func (n *node) at(id string) int {
	return slices.IndexFunc(n.items, func(item *node) bool { return item.id() == id })
}

// id returns the id of a map, "" when it has none.
func (n *node) id() string {
	if id := n.child("id"); id != nil && id.kind == kindScalar {
		return id.text
	}
	return ""
}

// step is one part of a path: a key (or a list element's id), or an index.
type step struct {
	name  string
	index int // -1: a name
}

func (s step) String() string {
	if s.index >= 0 {
		return "[" + strconv.Itoa(s.index) + "]"
	}
	return s.name
}

// steps takes a path apart as a person may write it: "rods[2].settings.dial",
// "rods.2.settings.dial" and "rods.p1.settings.dial" alike. Numbers of elements that have
// an id become their ids.
func (n *node) steps(path string) []step {
	var out []step
	add := func(s step) {
		if n != nil && n.kind == kindList {
			if i, err := strconv.Atoi(s.name); s.index < 0 && n.at(s.name) < 0 && err == nil && i >= 0 {
				s = step{index: i}
			}
			if s.index >= 0 && s.index < len(n.items) {
				if id := n.items[s.index].id(); id != "" && n.at(id) == s.index {
					s = step{name: id, index: -1}
				}
			}
		}
		out = append(out, s)
		n = n.take(s)
	}
	for _, piece := range strings.Split(path, ".") {
		name, rest, _ := strings.Cut(piece, "[")
		if name != "" {
			add(step{name: name, index: -1})
		}
		for rest != "" {
			inside, after, closed := strings.Cut(rest, "]")
			i, err := strconv.Atoi(inside)
			if !closed || err != nil || i < 0 {
				add(step{name: "[" + rest, index: -1})
				break
			}
			add(step{index: i})
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
	if n.kind == kindMap && s.index < 0 {
		return n.child(s.name)
	}
	if n.kind == kindList {
		if i := n.which(s); i >= 0 {
			return n.items[i]
		}
	}
	return nil
}

// which returns the place in a list that a step leads to, -1 when it has none such.
func (n *node) which(s step) int {
	if s.index >= len(n.items) {
		return -1
	}
	if s.index < 0 {
		return n.at(s.name)
	}
	return s.index
}

// find follows a path as far as it goes and returns the last node there is.
func (n *node) find(path string) *node {
	for _, s := range n.steps(path) {
		next := n.take(s)
		if next == nil {
			break
		}
		n = next
	}
	return n
}
