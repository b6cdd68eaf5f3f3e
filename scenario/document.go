package scenario

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/wire"
)

// Document is a scenario file that is read once and then decoded with one change after
// another, or edited. Its text is not changed by either. It is not for use by two
// goroutines at once.
type Document struct {
	name   string
	text   []byte
	root   *node
	faults sternfan.Faults // of the reading, when there is a tree all the same
	memo   memo
	sound  *sternfan.Scenario // decoded last without a fault
	soundK bool               // its gear was looked for among what is built in
}

// Read reads the text of a file as far as its syntax. The error is a sternfan.Faults
// when no tree could be made of it.
func Read(name string, data []byte) (*Document, error) {
	d := &decoder{name: name}
	root := d.parse(data)
	if root == nil {
		return nil, d.done()
	}
	return &Document{name: name, text: slices.Clone(data), root: root, faults: d.faults}, nil
}

// Decode is [DecodeWith] without reading the text again, and without decoding again what
// no change touches: the scenarios that it returns share such parts and are for reading
// only.
func (doc *Document) Decode(opts Options) (*sternfan.Scenario, *Source, error) {
	if doc.memo == nil {
		doc.memo = memo{}
	}
	d := &decoder{name: doc.name, opts: opts, root: doc.root, faults: slices.Clone(doc.faults), memo: doc.memo}
	if doc.soundK == (opts.Known != nil) {
		d.sound = doc.sound
	}
	s, src, err := d.scenario()
	if err == nil {
		doc.sound, doc.soundK = s, opts.Known != nil
	}
	return s, src, err
}

// memo holds what maps of a file, untouched by changes, were decoded to without a fault:
// pointers to values, by node. What a map means depends on nothing around it.
type memo map[*node]any

// scenario decodes the tree that was read, after the changes of the options.
func (d *decoder) scenario() (*sternfan.Scenario, *Source, error) {
	for _, flag := range d.opts.Set {
		d.set(flag)
	}
	src := &Source{name: d.name, root: d.root}
	s := &sternfan.Scenario{Version: sternfan.FileVersion}
	file.decode(d, d.root, "", s)
	if d.root.kind == kindMap && !sameReferences(d.sound, s) {
		d.references(s)
	}
	if err := d.done(); err != nil {
		return nil, src, err
	}
	return s, src, nil
}

// JSON returns the file as it is written, for forms: maps, lists, and every single value
// as the text that stands in the file.
func (doc *Document) JSON() []byte { return doc.root.json(nil) }

// GearJSON returns gear as [Document.JSON] would show a file that wrote all of it out.
func GearJSON(g *sternfan.Gear) []byte {
	n := gear.encode(g)
	if n == nil {
		return []byte("{}")
	}
	return n.json(nil)
}

func (n *node) json(b []byte) []byte {
	quote := func(s string) {
		b = wire.Quote(b, s)
	}
	switch n.kind {
	case kindMap:
		b = append(b, '{')
		for i, e := range n.keys {
			if i > 0 {
				b = append(b, ',')
			}
			quote(e.name)
			b = append(b, ':')
			b = e.value.json(b)
		}
		return append(b, '}')
	case kindList:
		b = append(b, '[')
		for i, item := range n.items {
			if i > 0 {
				b = append(b, ',')
			}
			b = item.json(b)
		}
		return append(b, ']')
	case kindScalar:
		quote(n.text)
		return b
	}
	return append(b, "null"...)
}

// clone returns a copy that shares nothing.
func (n *node) clone() *node {
	c := *n
	c.keys = slices.Clone(n.keys)
	for i := range c.keys {
		c.keys[i].value = c.keys[i].value.clone()
	}
	c.items = make([]*node, len(n.items))
	for i, item := range n.items {
		c.items[i] = item.clone()
	}
	return &c
}

// same reports whether two trees hold the same, wherever it stands.
func (n *node) same(o *node) bool {
	return n.kind == o.kind && n.text == o.text && n.quoted == o.quoted &&
		slices.EqualFunc(n.keys, o.keys, func(a, b entry) bool { return a.name == b.name && a.value.same(b.value) }) &&
		slices.EqualFunc(n.items, o.items, (*node).same)
}

// The kinds of [Change].
const (
	ChangeSet    = "set"    // gives a key a value; keys on the way that are missing are made
	ChangeRemove = "remove" // takes a key or a list's element out
	ChangeInsert = "insert" // puts an element into a list, at its end when At is negative
)

// Change is one edit of a file. The path is one of "speed.value", "rods[2].settings.dial"
// or "rods.p1.settings.dial"; the value is YAML or JSON.
type Change struct {
	Do    string
	Path  string
	Value string
	At    int
}

// Edit returns the text of the file after the changes. Where it can, it changes only the
// characters concerned and leaves the rest of the file, comments too, as a person wrote
// it; a part that must be written anew is as small as will do. What the values must be is
// for the decoder to say. The error is a sternfan.Faults.
func (doc *Document) Edit(changes ...Change) ([]byte, error) {
	d := &decoder{name: doc.name}
	text, root := string(doc.text), doc.root.clone()
	for i := range changes {
		next := root.clone()
		if !d.change(next, &changes[i]) {
			return nil, d.done()
		}
		if next.same(root) {
			continue
		}
		if spliced, again := doc.splice(text, root, next); again != nil {
			text, root = spliced, again // with the places of the new text
			continue
		}
		root = next
		root.settle()
		var b strings.Builder
		root.write(&b, 0)
		text = b.String()
		again, err := Read(doc.name, []byte(text))
		if err != nil {
			return nil, err
		}
		root = again.root
	}
	return []byte(text), nil
}

// settle makes a tree fit to be written: what could not be read stays out.
func (n *node) settle() {
	n.keys = slices.DeleteFunc(n.keys, func(e entry) bool { return e.value.kind == kindBad })
	for _, e := range n.keys {
		e.value.settle()
	}
	for _, item := range n.items {
		item.settle()
	}
}

// change applies one change to the tree; false with a fault when it cannot be.
func (d *decoder) change(root *node, c *Change) bool {
	fault := func(code, text, found, hint string, allowed ...string) bool {
		d.add(sternfan.Fault{Code: code, Path: c.Path, Text: text, Found: found, Hint: hint, Allowed: allowed})
		return false
	}
	all := steps(c.Path)
	switch {
	case len(all) == 0 || strings.TrimSpace(c.Path) == "":
		return fault("bad-path", "the change names no key", show(c.Path), "name a key, as in speed.value")
	case len(all) > maxDepth:
		return fault("too-deep", "this key is nested too deeply", fmt.Sprintf("%d levels", len(all)), "")
	}
	var value *node
	if c.Do != ChangeRemove {
		fragment := &decoder{name: "the new value"}
		if value = fragment.parse([]byte(c.Value)); value == nil || len(fragment.faults) > 0 {
			d.faults = append(d.faults, fragment.faults...)
			return false
		}
	}
	n := root
	for i, s := range all {
		last := i == len(all)-1
		next := n.take(s)
		missing := next == nil || next.kind == kindNull
		switch {
		case last && c.Do == ChangeRemove:
			if next == nil {
				return fault("unknown-key", "there is nothing there to remove", show(c.Path), "")
			}
			n.drop(next)
			return true
		case last && c.Do == ChangeSet && next != nil && next.kind == kindMap && value.kind == kindScalar && next.child("value") != nil:
			next.put("value", value) // its uncertainty stays
			return true
		case last && c.Do == ChangeSet && next != nil:
			line, column := next.line, next.column
			*next = *value
			next.line, next.column = line, column
			return true
		case last && c.Do == ChangeSet && n.kind == kindMap && s.index < 0:
			n.put(s.name, value)
			return true
		case last && c.Do == ChangeInsert && !missing && next.kind == kindList:
			at := c.At
			if at < 0 || at > len(next.items) {
				at = len(next.items)
			}
			next.items = slices.Insert(next.items, at, value)
			return true
		case last && c.Do == ChangeInsert && missing && n.kind == kindMap && s.index < 0:
			n.put(s.name, &node{kind: kindList, items: []*node{value}})
			return true
		case last && c.Do == ChangeInsert:
			return fault("wrong-type", "only a list takes another element", show(c.Path), "")
		case last:
			return fault("unknown-key", "the list has no such entry", show(c.Path), "insert it")
		case missing && n.kind == kindMap && s.index < 0:
			made := &node{kind: kindMap}
			n.put(s.name, made)
			n = made
		case missing:
			return fault("unknown-key", "the list has no such entry", show(c.Path), "name an entry by its id or by its number from 0")
		case next.kind == kindScalar && i == len(all)-2 && all[i+1].name == "value" && c.Do == ChangeSet:
			line, column := next.line, next.column
			*next = *value
			next.line, next.column = line, column
			return true
		case next.kind == kindScalar:
			// A value alone becomes the value of a map {value, sd, source}.
			*next = node{kind: kindMap, line: next.line, column: next.column, keys: []entry{{name: "value", value: next.clone()}}}
			n = next
		default:
			n = next
		}
	}
	return fault("bad-change", "this change is not known", show(c.Do), "", ChangeSet, ChangeRemove, ChangeInsert)
}

// drop takes a value out of a map or list.
func (n *node) drop(value *node) {
	n.keys = slices.DeleteFunc(n.keys, func(e entry) bool { return e.value == value })
	n.items = slices.DeleteFunc(n.items, func(item *node) bool { return item == value })
}

// offset returns where a line and column (of characters) stand in the text, -1 when they
// are not in it.
func offset(text string, line, column int) int {
	at := 0
	for ; line > 1; line-- {
		i := strings.IndexByte(text[at:], '\n')
		if i < 0 {
			return -1
		}
		at += i + 1
	}
	for i := range text[at:] {
		if column--; column == 0 {
			return at + i
		}
	}
	return -1
}
