package scenario

import "fmt"

// Paths calls each with the path of everything in a document: of maps with a dot at the
// end, where there is something before it.
func Paths(doc *Document, each func(path, kind string)) { paths(doc.root, "", each) }

func paths(n *node, path string, each func(path, kind string)) {
	switch n.kind {
	case kindMap:
		dot := path
		if path != "" {
			dot += "."
		}
		each(dot, "map")
		for _, e := range n.keys {
			paths(e.value, dot+e.name, each)
		}
	case kindList:
		each(path, "list")
		for i, item := range n.items {
			paths(item, fmt.Sprintf("%s[%d]", path, i), each)
		}
	case kindScalar:
		each(path, "value")
	}
}
