package scenario

import "sternfan"

// Places calls each with what an edit may name in a document, without its value: every
// "value", every "list", and in every map a "new key" that is not there yet.
func Places(doc *Document, each func(e sternfan.Edit, kind string)) {
	places(doc.root, nil, each)
}

func places(n *node, way []step, each func(e sternfan.Edit, kind string)) {
	at := func(way []step) sternfan.Edit {
		c := change{way: way}
		return c.decided()
	}
	inside := func(s step) []step { return append(way[:len(way):len(way)], s) }
	switch n.kind {
	case kindMap:
		each(at(inside(step{name: "added", index: -1})), "new key")
		for _, e := range n.keys {
			places(e.value, inside(step{name: e.name, index: -1}), each)
		}
	case kindList:
		each(at(way), "list")
		for _, item := range n.items {
			if id := item.id(); id != "" {
				places(item, inside(step{name: id, index: -1}), each)
			}
		}
	case kindScalar:
		each(at(way), "value")
	}
}

// Items returns the elements of a list as they may be written.
func Items(doc *Document, list sternfan.Edit) []string {
	var out []string
	for _, item := range doc.root.find(list.Path()).items {
		out = append(out, item.inline())
	}
	return out
}

// ValueAt returns the single value at a place, as it may be written.
func ValueAt(doc *Document, e sternfan.Edit) string { return doc.root.find(e.Path()).scalarText() }
