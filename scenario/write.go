package scenario

import (
	"strings"
	"unicode/utf8"

	"sternfan/wire"
)

// plainText reports whether words can stand in YAML without quotes and stay words.
func plainText(s string) bool {
	return isPlain(s) && !isReserved(s) && !strings.HasSuffix(s, " ")
}

// unescapeHTML leaves as they are the characters that only a page could take for markup.
// A backslash that is one is written twice, so that no pair is taken apart.
var unescapeHTML = strings.NewReplacer(`\\`, `\\`, `\u003c`, "<", `\u003e`, ">", `\u0026`, "&")

func (n *node) scalarText() string {
	switch {
	case n.kind == kindNull:
		return "null"
	case n.quoted:
		// A JSON string is a YAML double-quoted string. Angle brackets stay readable.
		return unescapeHTML.Replace(string(wire.Quote(nil, n.text)))
	}
	return n.text
}

// flow returns the value on one line, or "" when it needs more.
func (n *node) flow() string {
	const widest = 90
	var b strings.Builder
	switch n.kind {
	case kindMap:
		b.WriteString("{")
		for i, e := range n.keys {
			if i > 0 {
				b.WriteString(", ")
			}
			if e.value.kind == kindMap || e.value.kind == kindList {
				return ""
			}
			b.WriteString(keyText(e.name) + ": " + e.value.scalarText())
		}
		b.WriteString("}")
	case kindList:
		if len(n.items) > 0 {
			return ""
		}
		b.WriteString("[]")
	default:
		return n.scalarText()
	}
	if utf8.RuneCountInString(b.String()) > widest {
		return ""
	}
	return b.String()
}

func keyText(name string) string {
	if plainText(name) {
		return name
	}
	return (&node{kind: kindScalar, text: name, quoted: true}).scalarText()
}

// write writes the value as a block, indented; the first line's indentation is the
// caller's when it follows a dash.
func (n *node) write(b *strings.Builder, indent int) {
	pad := strings.Repeat(" ", indent)
	switch n.kind {
	case kindMap:
		for i, e := range n.keys {
			if i > 0 {
				b.WriteString(pad)
			}
			b.WriteString(keyText(e.name) + ":")
			e.value.writeAfterKey(b, indent)
		}
	case kindList:
		for i, item := range n.items {
			if i > 0 {
				b.WriteString(pad)
			}
			b.WriteString("- ")
			if text := item.flow(); text != "" {
				b.WriteString(text + "\n")
			} else {
				item.write(b, indent+2)
			}
		}
	default:
		b.WriteString(n.scalarText() + "\n")
	}
}

func (n *node) writeAfterKey(b *strings.Builder, indent int) {
	if text := n.flow(); text != "" {
		b.WriteString(" " + text + "\n")
		return
	}
	b.WriteString("\n" + strings.Repeat(" ", indent+2))
	n.write(b, indent+2)
}
