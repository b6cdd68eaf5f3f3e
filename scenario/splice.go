package scenario

import (
	"strings"
)

// splice returns the text of a file with one change made in place: the smallest part of
// it that can be written anew, so that comments elsewhere and the way a person wrote the
// rest stay. A part is tried after the part around it; "" when only the whole file will
// do. was is the tree of the text, next the tree after the change.
func (doc *Document) splice(text string, was, next *node) (string, *node) {
	var way [][2]*node // from the root to the smallest part that holds every difference
	var edit func(string) string
	for a, b := was, next; ; {
		way = append(way, [2]*node{a, b})
		inner, change := parting(a, b)
		if inner == nil {
			edit = change
			break
		}
		a, b = inner[0], inner[1]
	}
	check := func(try string) *node {
		if try == "" {
			return nil
		}
		again, err := Read(doc.name, []byte(try))
		if err != nil || !again.root.same(next) {
			return nil
		}
		return again.root
	}
	if edit != nil {
		try := edit(text)
		if root := check(try); root != nil {
			return try, root
		}
	}
	for i := len(way) - 1; i > 0; i-- {
		try := replace(text, way[i][0], way[i][1], way[i-1][0])
		if root := check(try); root != nil {
			return try, root
		}
	}
	return "", nil
}

// parting returns the one pair of values inside two in which they differ, or else the edit
// that makes one of the other: a key or element more or less. Both nil: neither.
func parting(a, b *node) (inner *[2]*node, edit func(string) string) {
	switch {
	case a.kind != b.kind:
		return nil, nil
	case a.kind == kindMap:
		return partingMaps(a, b)
	case a.kind == kindList:
		return partingLists(a, b)
	}
	return nil, nil
}

func partingMaps(a, b *node) (*[2]*node, func(string) string) {
	i := 0
	for i < len(a.keys) && i < len(b.keys) && a.keys[i].name == b.keys[i].name && a.keys[i].value.same(b.keys[i].value) {
		i++
	}
	same := func(x, y []entry) bool {
		return (&node{kind: kindMap, keys: x}).same(&node{kind: kindMap, keys: y})
	}
	switch {
	case len(b.keys) == len(a.keys)+1 && i == len(a.keys):
		return nil, func(text string) string { return addKey(text, a, b.keys[i]) }
	case len(b.keys) == len(a.keys)-1 && same(a.keys[i+1:], b.keys[i:]):
		return nil, func(text string) string { return dropKey(text, a, i) }
	case len(b.keys) == len(a.keys) && i < len(a.keys) && a.keys[i].name == b.keys[i].name && same(a.keys[i+1:], b.keys[i+1:]):
		return &[2]*node{a.keys[i].value, b.keys[i].value}, nil
	}
	return nil, nil
}

func partingLists(a, b *node) (*[2]*node, func(string) string) {
	i := 0
	for i < len(a.items) && i < len(b.items) && a.items[i].same(b.items[i]) {
		i++
	}
	same := func(x, y []*node) bool {
		return (&node{kind: kindList, items: x}).same(&node{kind: kindList, items: y})
	}
	switch {
	case len(b.items) == len(a.items)+1 && same(a.items[i:], b.items[i+1:]):
		return nil, func(text string) string { return addItem(text, a, b.items[i], i) }
	case len(b.items) == len(a.items)-1 && same(a.items[i+1:], b.items[i:]):
		return nil, func(text string) string { return dropItem(text, a, i) }
	case len(b.items) == len(a.items) && i < len(a.items) && same(a.items[i+1:], b.items[i+1:]):
		return &[2]*node{a.items[i], b.items[i]}, nil
	}
	return nil, nil
}

// bracketed reports whether a map or list stands between brackets in the text.
func bracketed(text string, at int) bool { return at >= 0 && (text[at] == '{' || text[at] == '[') }

// extent returns where a value begins and ends in the text, -1 when that cannot be told.
func (n *node) extent(text string) (from, to int) {
	if n.line < 1 {
		return -1, -1
	}
	from = offset(text, n.line, n.column)
	if from < 0 || from >= len(text) {
		return -1, -1
	}
	switch n.kind {
	case kindScalar:
		if end := scalarEnd(text, from, n.text); end > 0 {
			return from, end
		}
	case kindMap, kindList:
		if bracketed(text, from) {
			if end := closing(text, from); end > 0 {
				return from, end
			}
			break
		}
		var last *node
		if n.kind == kindMap && len(n.keys) > 0 {
			e := n.keys[len(n.keys)-1]
			if last = e.value; last.kind == kindNull {
				return from, keyEnd(text, e)
			}
		}
		if n.kind == kindList && len(n.items) > 0 {
			last = n.items[len(n.items)-1]
		}
		if last != nil {
			_, to = last.extent(text)
			return from, to
		}
	}
	return -1, -1
}

// scalarEnd returns where a single value ends that begins at a place.
func scalarEnd(text string, from int, value string) int {
	switch text[from] {
	case '"', '\'':
		return quotedEnd(text, from)
	case '|', '>':
		return foldedEnd(text, from)
	}
	if strings.HasPrefix(text[from:], value) {
		return from + len(value)
	}
	return -1
}

// foldedEnd returns where a text of several lines ends whose header is at a place.
func foldedEnd(text string, from int) int {
	end := lineEnd(text, from)
	deep := 0
	for at := end; ; {
		i := strings.IndexByte(text[at:], '\n')
		if i < 0 {
			return end
		}
		at += i + 1
		line := text[at:lineEnd(text, at)]
		words := strings.TrimLeft(line, " ")
		switch indent := len(line) - len(words); {
		case words == "":
			continue
		case deep == 0:
			deep = max(indent, 1)
			fallthrough
		default:
			if indent < deep {
				return end
			}
			end = at + len(line)
		}
	}
}

// quotedEnd returns where a quoted value ends.
func quotedEnd(text string, from int) int {
	quote := text[from]
	for i := from + 1; i < len(text); i++ {
		switch {
		case text[i] == '\\' && quote == '"':
			i++
		case text[i] == quote && quote == '\'' && i+1 < len(text) && text[i+1] == quote:
			i++
		case text[i] == quote:
			return i + 1
		}
	}
	return -1
}

// closing returns the end of what the bracket at a place opens.
func closing(text string, from int) int {
	depth := 0
	for i := from; i < len(text); i++ {
		switch text[i] {
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth == 0 {
				return i + 1
			}
		case '"', '\'':
			// A quote inside a word, as an apostrophe, opens nothing.
			if strings.IndexByte(" \t\n,:[{", text[i-1]) >= 0 {
				end := quotedEnd(text, i)
				if end < 0 {
					return -1
				}
				i = end - 1
			}
		case '#':
			if strings.IndexByte(" \t\n", text[i-1]) >= 0 {
				i = lineEnd(text, i)
			}
		}
	}
	return -1
}

// keyEnd returns the place behind a key's colon.
func keyEnd(text string, e entry) int {
	if e.line < 1 {
		return -1
	}
	at := offset(text, e.line, e.column)
	if at < 0 {
		return -1
	}
	i := strings.IndexByte(text[at:lineEnd(text, at)], ':')
	if i < 0 {
		return -1
	}
	return at + i + 1
}

// lineEnd returns where the line of a place ends, before its line break.
func lineEnd(text string, at int) int {
	end := len(text)
	if i := strings.IndexByte(text[at:], '\n'); i >= 0 {
		end = at + i
	}
	if end > at && text[end-1] == '\r' {
		end--
	}
	return end
}

// lineStart returns where the line of a place begins.
func lineStart(text string, at int) int { return strings.LastIndexByte(text[:at], '\n') + 1 }

// inline writes a value between brackets, however long.
func (n *node) inline() string {
	var parts []string
	switch n.kind {
	case kindMap:
		for _, e := range n.keys {
			parts = append(parts, keyText(e.name)+": "+e.value.inline())
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case kindList:
		for _, item := range n.items {
			parts = append(parts, item.inline())
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	return n.scalarText()
}

// put in place of from..to.
func put(text string, from, to int, with string) string { return text[:from] + with + text[to:] }

// replace writes a value anew where it stands; around is the map or list that holds it.
func replace(text string, old, new, around *node) string {
	from, to := old.extent(text)
	start := offset(text, around.line, around.column)
	if from < 0 || to < 0 || start < 0 {
		return ""
	}
	if bracketed(text, start) || bracketed(text, from) || old.kind == kindScalar {
		if new.flow() != "" || bracketed(text, start) {
			return put(text, from, to, new.inline())
		}
	}
	var b strings.Builder
	indent := around.column - 1 + 2
	if old.kind != kindScalar && !bracketed(text, from) {
		indent = old.column - 1
	}
	if one := new.flow(); one != "" {
		return put(text, from, to, one)
	}
	new.write(&b, indent)
	block := strings.TrimRight(b.String(), "\n")
	if around.kind == kindMap && (old.kind == kindScalar || bracketed(text, from)) {
		block = "\n" + strings.Repeat(" ", indent) + block
		from = len(strings.TrimRight(text[:from], " "))
	}
	return put(text, from, to, block)
}

// addKey puts a key at the end of a map.
func addKey(text string, m *node, e entry) string {
	from, to := m.extent(text)
	if to < 0 {
		return ""
	}
	if bracketed(text, from) {
		word := keyText(e.name) + ": " + e.value.inline()
		if len(m.keys) == 0 {
			return put(text, from, to, "{"+word+"}")
		}
		last := m.keys[len(m.keys)-1]
		end := keyEnd(text, last)
		if last.value.kind != kindNull {
			_, end = last.value.extent(text)
		}
		if end < 0 {
			return ""
		}
		return put(text, end, end, ", "+word)
	}
	var b strings.Builder
	one := &node{kind: kindMap, keys: []entry{e}}
	one.write(&b, m.column-1)
	end := lineEnd(text, to)
	return put(text, end, end, "\n"+strings.Repeat(" ", m.column-1)+strings.TrimRight(b.String(), "\n"))
}

// dropKey takes a key out of a map.
func dropKey(text string, m *node, i int) string {
	from, to := m.extent(text)
	e := m.keys[i]
	start, end := offset(text, max(e.line, 1), e.column), keyEnd(text, e)
	if e.value.kind != kindNull {
		_, end = e.value.extent(text)
	}
	if to < 0 || e.line < 1 || start < 0 || end < 0 {
		return ""
	}
	if len(m.keys) == 1 {
		return put(text, from, to, "{}")
	}
	if bracketed(text, from) {
		return dropBetween(text, start, end, i == 0)
	}
	if i == 0 {
		// The first key may follow a dash: the next one takes its place.
		next := m.keys[1]
		begin := offset(text, max(next.line, 1), next.column)
		if begin < end {
			return ""
		}
		between := text[lineEnd(text, end):lineStart(text, begin)]
		if comment := strings.TrimSpace(between); comment == "" {
			return put(text, start, begin, "")
		}
		if strings.TrimSpace(text[lineStart(text, start):start]) == "" {
			return dropLines(text, start, end)
		}
		return ""
	}
	return dropLines(text, start, end)
}

// dropBetween takes an element and its comma out of brackets.
func dropBetween(text string, start, end int, first bool) string {
	if first {
		i := strings.IndexByte(text[end:], ',')
		if i < 0 {
			return ""
		}
		return put(text, start, end+i+1+len(text[end+i+1:])-len(strings.TrimLeft(text[end+i+1:], " ")), "")
	}
	comma := strings.LastIndexByte(text[:start], ',')
	if comma < 0 {
		return ""
	}
	return put(text, comma, end, "")
}

// dropLines takes out the lines of a part.
func dropLines(text string, start, end int) string {
	from, to := lineStart(text, start), lineEnd(text, end)
	if to < len(text) {
		to = strings.IndexByte(text[to:], '\n') + to + 1
	}
	return put(text, from, to, "")
}

// dash returns where the dash of a list's element stands.
func dash(text string, item *node) int {
	at := offset(text, max(item.line, 1), item.column)
	if item.line < 1 || at < 0 {
		return -1
	}
	i := len(strings.TrimRight(text[:at], " \n")) - 1
	if i < 0 || text[i] != '-' {
		return -1
	}
	return i
}

// addItem puts an element into a list.
func addItem(text string, l, item *node, i int) string {
	from, to := l.extent(text)
	if to < 0 {
		return ""
	}
	if bracketed(text, from) {
		switch {
		case len(l.items) == 0:
			return put(text, from, to, "["+item.inline()+"]")
		case i == len(l.items):
			_, end := l.items[i-1].extent(text)
			if end < 0 {
				return ""
			}
			return put(text, end, end, ", "+item.inline())
		}
		at, _ := l.items[i].extent(text)
		if at < 0 {
			return ""
		}
		return put(text, at, at, item.inline()+", ")
	}
	first := dash(text, l.items[0])
	if first < 0 {
		return ""
	}
	pad := strings.Repeat(" ", first-lineStart(text, first))
	var b strings.Builder
	one := &node{kind: kindList, items: []*node{item}}
	one.write(&b, len(pad))
	block := pad + strings.TrimRight(b.String(), "\n")
	if i == len(l.items) {
		end := lineEnd(text, to)
		return put(text, end, end, "\n"+block)
	}
	at := dash(text, l.items[i])
	if at < 0 {
		return ""
	}
	at = lineStart(text, at)
	return put(text, at, at, block+"\n")
}

// dropItem takes an element out of a list.
func dropItem(text string, l *node, i int) string {
	from, to := l.extent(text)
	start, end := l.items[i].extent(text)
	if to < 0 || end < 0 {
		return ""
	}
	if bracketed(text, from) {
		if len(l.items) == 1 {
			return put(text, from, to, "[]")
		}
		return dropBetween(text, start, end, i == 0)
	}
	at := dash(text, l.items[i])
	if at < 0 || len(l.items) == 1 {
		return put(text, from, to, "[]")
	}
	return dropLines(text, at, end)
}
