package scenario

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"sternfan"
)

// change is an edit on its way through a tree.
type change struct {
	do    sternfan.EditKind
	path  string // as written
	way   []step
	value *node
	file  string // what faults call the place that it comes from
}

// flag reads an edit of a command line, OWNER.KEY=VALUE. There, and nowhere else, an
// element of a list may be named by its number.
func (d *decoder) flag(text string) (*change, bool) {
	c := &change{file: "--set " + clip(text)}
	path, value, ok := strings.Cut(text, "=")
	c.path, value = strings.TrimSpace(path), strings.TrimSpace(value)
	if c.way = d.root.steps(c.path); !ok || len(c.way) == 0 || value == "" {
		c.path = ""
		return c, d.refuseEdit(c, "bad-flag", "this changes nothing", show(text), "write KEY=VALUE, as in speed.value=2.6mph")
	}
	if strings.ContainsAny(value, "\n\r") || strings.ContainsAny(value[:1], "[{&*!|>") {
		return c, d.refuseEdit(c, "bad-flag", "a flag gives a single value", show(value), "change lists and maps in the file")
	}
	c.value = &node{kind: kindScalar, text: value, flag: c.file}
	if len(value) >= 2 && (value[0] == '"' || value[0] == '\'') && value[len(value)-1] == value[0] {
		c.value.text, c.value.quoted = value[1:len(value)-1], true
	}
	return c, true
}

// edit reads an edit.
func (d *decoder) edit(e *sternfan.Edit) (*change, bool) {
	c := &change{do: e.Do, path: e.Path(), file: d.name}
	if e.Do != sternfan.EditSet && e.Do != sternfan.EditAdd && e.Do != sternfan.EditRemove {
		return c, d.refuseEdit(c, "bad-change", "this change is not known", show(string(e.Do)), "without one a key is set", string(sternfan.EditAdd), string(sternfan.EditRemove))
	}
	for _, name := range strings.Split(c.path, ".") {
		if strings.TrimSpace(name) == "" || strings.ContainsAny(name, "[]") || strings.ContainsFunc(name, unprintable) {
			return c, d.refuseEdit(c, "bad-path", "an edit names the thing that it changes and a key of it", show(c.path),
				"name things by their ids, as in rods.p1 and settings.dial; a list without ids is given as a whole")
		}
		c.way = append(c.way, step{name: name, index: -1})
	}
	switch {
	case e.Do == sternfan.EditRemove:
	case plainText(e.Value): // as most are, and all while a finger drags
		c.value = &node{kind: kindScalar, text: e.Value}
	default:
		fragment := &decoder{name: "the new value"}
		if c.value = fragment.parse([]byte(e.Value)); c.value == nil || len(fragment.faults) > 0 {
			d.faults = append(d.faults, fragment.faults...)
			return c, false
		}
		c.value.guard()
	}
	return c, true
}

func unprintable(r rune) bool { return r < ' ' || r == 0x7f || r == utf8.RuneError }

// guard puts quotes around what may stand without them alone, but not between brackets.
func (n *node) guard() {
	if n.kind == kindScalar && strings.ContainsAny(n.text, ",[]{}") {
		n.quoted = true
	}
	for _, e := range n.keys {
		e.value.guard()
	}
	for _, item := range n.items {
		item.guard()
	}
}

func (d *decoder) refuseEdit(c *change, code, text, found, hint string, allowed ...string) bool {
	d.add(sternfan.Fault{File: c.file, Path: c.path, Code: code, Text: text, Found: found, Hint: hint, Allowed: allowed})
	return false
}

// apply makes a change in the decoder's tree. What is on the way is copied first, the rest
// shared, so that the tree before it stays what it was. What the values must be is for the
// decoder to say. It reports false, with a fault, when the change cannot be made.
func (d *decoder) apply(c *change) bool {
	if len(c.way) > maxDepth {
		return d.refuseEdit(c, "too-deep", "this key is nested too deeply", fmt.Sprintf("%d levels", len(c.way)), "")
	}
	root := d.root.shallow()
	n := root
	last := len(c.way) - 1
	for i, s := range c.way[:last] {
		next := n.take(s)
		switch {
		case next == nil || next.kind == kindNull:
			if n.kind != kindMap || s.index >= 0 {
				return d.noSuchEntry(c, n, s)
			}
			n = n.put(s.name, &node{kind: kindMap, flag: flagOf(c)})
		case next.kind == kindScalar && i == last-1 && c.way[last].name == "value" && c.do == sternfan.EditSet:
			// The value of a value alone.
			n.swap(next, c.value)
			d.root = root
			return true
		case next.kind == kindScalar && slices.Contains(quantityKeys, c.way[i+1].name):
			// A value alone becomes the value of a map {value, sd, source}.
			n = n.swap(next, &node{kind: kindMap, keys: []entry{{name: "value", value: next}}})
		case next.kind == kindScalar:
			return d.refuseEdit(c, "unknown-key", "there is nothing inside a single value", show(c.way[i+1].String()), "")
		default:
			n = n.swap(next, next.shallow())
		}
	}
	if !d.applyLast(c, n, c.way[last]) {
		return false
	}
	d.root = root
	return true
}

// applyLast makes a change at the last step of its way, which begins at n.
func (d *decoder) applyLast(c *change, n *node, s step) bool {
	next := n.take(s)
	missing := next == nil || next.kind == kindNull
	named := n.kind == kindMap && s.index < 0
	switch {
	case c.do == sternfan.EditRemove && next == nil:
		return d.refuseEdit(c, "unknown-key", "there is nothing there to remove", show(c.path), "", n.names()...)
	case c.do == sternfan.EditRemove:
		n.keys = slices.DeleteFunc(n.keys, func(e entry) bool { return e.value == next })
		n.items = slices.DeleteFunc(n.items, func(item *node) bool { return item == next })
	case c.do == sternfan.EditAdd && missing && named:
		n.put(s.name, &node{kind: kindList, items: []*node{c.value}})
	case c.do == sternfan.EditAdd && !missing && next.kind == kindList:
		l := n.swap(next, next.shallow())
		l.items = append(l.items, c.value)
	case c.do == sternfan.EditAdd:
		return d.refuseEdit(c, "wrong-type", "only a list takes another element", show(c.path), "")
	case next != nil && next.kind == kindMap && c.value.kind == kindScalar && next.child("value") != nil:
		n.swap(next, next.shallow()).put("value", c.value) // its uncertainty stays
	case next != nil && (named || next.kind == kindScalar):
		n.swap(next, c.value.quotedAs(next))
	case named:
		n.put(s.name, c.value)
	case next != nil:
		return d.refuseEdit(c, "wrong-type", "this is "+next.kind.String()+" and is not set as a whole", show(c.path), "name the key inside it")
	default:
		return d.noSuchEntry(c, n, s)
	}
	return true
}

func (d *decoder) noSuchEntry(c *change, n *node, s step) bool {
	names := n.names()
	return d.refuseEdit(c, "unknown-key", "the list has no such entry", show(s.String()), sternfan.DidYouMean(s.String(), names, "name an entry by its id"), names...)
}

// names returns what may be named in a map or list: keys, or ids.
func (n *node) names() []string {
	var out []string
	for _, e := range n.keys {
		out = append(out, e.name)
	}
	for _, item := range n.items {
		if id := item.id(); id != "" {
			out = append(out, id)
		}
	}
	return out
}

// flagOf returns what marks a node as made by a flag; an edit's are of the file.
func flagOf(c *change) string {
	if c.value == nil {
		return ""
	}
	return c.value.flag
}

// put gives a map's key a value, and returns the value.
func (n *node) put(name string, value *node) *node {
	for i := range n.keys {
		if n.keys[i].name == name {
			n.keys[i].value = value
			return value
		}
	}
	n.keys = append(n.keys, entry{name: name, value: value})
	return value
}

// swap puts a value where another of a map or list was, and returns it.
func (n *node) swap(was, value *node) *node {
	if value.flag == "" && (value.line != was.line || value.column != was.column) {
		c := *value
		c.line, c.column = was.line, was.column
		value = &c
	}
	for i := range n.keys {
		if n.keys[i].value == was {
			n.keys[i].value = value
		}
	}
	for i := range n.items {
		if n.items[i] == was {
			n.items[i] = value
		}
	}
	return value
}

// quotedAs returns a map or list in which what stands as it did in another is that, with
// its quotes: who gives a whole list for one of its elements changes that one alone.
func (n *node) quotedAs(was *node) *node {
	inner := func(n, was *node) *node {
		if n.kind == kindScalar && was.kind == kindScalar && n.text == was.text && !isBareNumber(n.text) {
			return was
		}
		return n.quotedAs(was)
	}
	if n.kind != was.kind || n.kind != kindMap && n.kind != kindList {
		return n
	}
	c := n.shallow()
	for i, e := range c.keys {
		if old := was.child(e.name); old != nil {
			c.keys[i].value = inner(e.value, old)
		}
	}
	back := len(was.items) - len(c.items)
	for i := range c.items {
		for _, k := range [2]int{i, i + back} {
			if k >= 0 && k < len(was.items) {
				c.items[i] = inner(c.items[i], was.items[k])
			}
		}
	}
	return c
}

// decided returns a change as an edit without its value, its things by their ids.
func (c *change) decided() sternfan.Edit {
	names := make([]string, len(c.way))
	for i, s := range c.way {
		names[i] = s.String()
	}
	owner := min(ownerSteps(names), len(names)-1)
	if c.do != sternfan.EditSet && len(names) <= ownerSteps(names) {
		owner = len(names)
	}
	return sternfan.Edit{Do: c.do, Owner: strings.Join(names[:owner], "."), Key: strings.Join(names[owner:], ".")}
}

// ownerSteps is how many steps of a path name the thing that owns the rest.
func ownerSteps(names []string) int {
	switch names[0] {
	case "rods", "downriggers", "mast_boards":
		return 2
	case "gear":
		return 3
	case "boat":
		if len(names) > 1 && slices.Contains([]string{"holders", "booms", "masts"}, names[1]) {
			return 3
		}
	}
	return 1
}
