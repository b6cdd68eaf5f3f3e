package scenario

import (
	"slices"
	"strings"

	"sternfan"
	"sternfan/wire"
)

// Document is a scenario file that is read once and then decoded with one edit after
// another, or edited. Its text is not changed by either. It is not for use by two
// goroutines at once.
type Document struct {
	name   string
	text   string
	root   *node
	faults sternfan.Faults    // of the reading, when there is a tree all the same
	sound  *sternfan.Scenario // what the text means, when that was decoded without a fault
	known  bool               // its gear was looked for among what is built in
}

// Read reads the text of a file as far as its syntax. The error is a sternfan.Faults
// when no tree could be made of it.
func Read(name string, data []byte) (*Document, error) {
	d := &decoder{name: name}
	root := d.parse(data)
	if root == nil {
		return nil, d.done()
	}
	return &Document{name: name, text: string(data), root: root, faults: d.faults}, nil
}

// Text returns the text that was read.
func (doc *Document) Text() string { return doc.text }

// Decode is [DecodeWith] without reading the text again. What the edits of the options do
// not touch is not decoded again either: the scenarios that it returns share such parts
// and what they point to is for reading only.
func (doc *Document) Decode(opts Options) (*sternfan.Scenario, *Source, error) {
	d := &decoder{name: doc.name, opts: opts, root: doc.root, faults: slices.Clone(doc.faults)}
	if len(opts.Set)+len(opts.Edits) == 0 {
		s, src, err := d.scenario()
		if err == nil {
			kept := *s
			doc.sound, doc.known = &kept, opts.Known != nil
		}
		return s, src, err
	}
	if doc.sound == nil || doc.known != (opts.Known != nil) {
		plain := opts
		plain.Set, plain.Edits = nil, nil
		if _, _, err := doc.Decode(plain); err != nil {
			return d.scenario()
		}
	}
	return d.revised(doc.sound)
}

// scenario decodes the tree that was read, after the edits of the options.
func (d *decoder) scenario() (*sternfan.Scenario, *Source, error) {
	src := &Source{name: d.name}
	d.edits(func(c *change) { src.edits = append(src.edits, c.decided()) })
	src.root = d.root
	s := &sternfan.Scenario{Version: sternfan.FileVersion}
	file.decode(d, d.root, "", s)
	if d.root.kind == kindMap {
		d.references(s)
	}
	if err := d.done(); err != nil {
		return nil, src, err
	}
	return s, src, nil
}

// edits makes the edits of the options, and calls each with those that could be made.
func (d *decoder) edits(each func(*change)) {
	for _, text := range d.opts.Set {
		if c, ok := d.flag(text); ok && d.apply(c) {
			each(c)
		}
	}
	for i := range d.opts.Edits {
		if c, ok := d.edit(&d.opts.Edits[i]); ok && d.apply(c) {
			each(c)
		}
	}
}

// revised is scenario for a tree of which it is known what it means without the edits: it
// decodes only what they touch. When anything is wrong all is decoded, so that the faults
// are those of the whole file.
func (d *decoder) revised(sound *sternfan.Scenario) (*sternfan.Scenario, *Source, error) {
	s := *sound
	src := &Source{name: d.name}
	fresh, before, refers := *d, d.count(), false
	fresh.faults = slices.Clone(d.faults)
	d.edits(func(c *change) {
		src.edits = append(src.edits, c.decided())
		if c.do != sternfan.EditSet {
			s, refers = sternfan.Scenario{Version: sternfan.FileVersion}, true
			file.decode(d, d.root, "", &s)
			return
		}
		named := d.named
		file.revise(d, d.root, "", c.way, &s)
		section := c.way[0].name
		refers = refers || d.named > named || section == "gear" || section == "wants"
	})
	src.root = d.root
	if refers && d.count() == before {
		d.references(&s)
	}
	if d.count() > before {
		return fresh.scenario()
	}
	return &s, src, nil
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

// same reports whether two trees hold the same, wherever it stands.
func (n *node) same(o *node) bool {
	return n.kind == o.kind && n.text == o.text && n.quoted == o.quoted &&
		slices.EqualFunc(n.keys, o.keys, func(a, b entry) bool { return a.name == b.name && a.value.same(b.value) }) &&
		slices.EqualFunc(n.items, o.items, (*node).same)
}

// Edit returns the file after the edits. Where it can, it changes only the characters
// concerned and leaves the rest of the file, comments too, as a person wrote it; a part
// that must be written anew is as small as will do. What the values must be is for the
// decoder to say. The error is a sternfan.Faults.
func (doc *Document) Edit(edits ...sternfan.Edit) (*Document, error) {
	d := &decoder{name: doc.name, root: doc.root}
	text := doc.text
	for i := range edits {
		was := d.root
		c, ok := d.edit(&edits[i])
		if !ok || !d.apply(c) {
			return nil, d.done()
		}
		if d.root.same(was) {
			d.root = was // with its places
			continue
		}
		if spliced, again := doc.splice(text, was, d.root); again != nil {
			text, d.root = spliced, again // with the places of the new text
			continue
		}
		var b strings.Builder
		d.root.settled().write(&b, 0)
		text = b.String()
		again, err := Read(doc.name, []byte(text))
		if err != nil {
			return nil, err
		}
		d.root = again.root
	}
	if text == doc.text {
		return doc, nil
	}
	return &Document{name: doc.name, text: text, root: d.root}, nil
}

// settled returns a tree fit to be written: what could not be read stays out.
func (n *node) settled() *node {
	c := n.shallow()
	c.keys = slices.DeleteFunc(c.keys, func(e entry) bool { return e.value.kind == kindBad })
	for i := range c.keys {
		c.keys[i].value = c.keys[i].value.settled()
	}
	for i := range c.items {
		c.items[i] = c.items[i].settled()
	}
	return c
}

// Differs returns edits, without their values, that say what may differ between two files.
func (doc *Document) Differs(was *Document) []sternfan.Edit {
	if was == doc {
		return nil
	}
	var out []sternfan.Edit
	for _, f := range file.fields {
		a, b := was.root.child(f.name), doc.root.child(f.name)
		if a == nil && b == nil || a != nil && b != nil && a.same(b) {
			continue
		}
		ids := func(x, y *node) bool { return x.id() != "" && x.id() == y.id() }
		if a == nil || b == nil || a.kind != kindList || !slices.EqualFunc(a.items, b.items, ids) {
			out = append(out, sternfan.Edit{Key: f.name})
			continue
		}
		for i := range b.items {
			for _, key := range differing(a.items[i], b.items[i]) {
				out = append(out, sternfan.Edit{Owner: f.name + "." + b.items[i].id(), Key: key})
			}
		}
	}
	return out
}

// differing returns the keys that differ between two maps.
func differing(a, b *node) []string {
	var out []string
	for _, e := range b.keys {
		if was := a.child(e.name); was == nil || !was.same(e.value) {
			out = append(out, e.name)
		}
	}
	for _, e := range a.keys {
		if b.child(e.name) == nil {
			out = append(out, e.name)
		}
	}
	return out
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
