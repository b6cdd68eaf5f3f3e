package report

import (
	"math"
	"strings"
)

// widthOf returns the width of words, mm.
func widthOf(text string, size float64, class string) float64 {
	return advance(text, strings.Contains(class, "strong")) * size
}

// piece is some words with their look.
type piece struct {
	text, class string
	size        float64
}

// pieceGap is the space between pieces by their size.
const pieceGap = 0.35

// wide returns the width, mm.
func (p *piece) wide() float64 { return widthOf(p.text, p.size, p.class) }

// flow breaks pieces into lines of at most the width, between pieces where it can, within
// them where one is too long.
func flow(pieces []piece, width float64) [][]piece {
	var lines [][]piece
	used := math.Inf(1)
	put := func(c piece) {
		w := c.wide()
		if used+pieceGap*c.size+w > width {
			lines, used = append(lines, nil), -pieceGap*c.size
		}
		last := len(lines) - 1
		lines[last] = append(lines[last], c)
		used += pieceGap*c.size + w
	}
	for _, c := range pieces {
		if c.wide() <= width {
			put(c)
			continue
		}
		line := c
		line.text = ""
		for _, word := range strings.Fields(c.text) {
			next := line
			if next.text = strings.TrimLeft(line.text+" "+word, " "); next.wide() <= width {
				line = next
				continue
			}
			if line.text != "" {
				put(line)
			}
			line.text = word
			for line.wide() > width && len([]rune(line.text)) > 2 {
				r := []rune(line.text)
				line.text = string(r[:len(r)-2]) + "…"
			}
		}
		if line.text != "" {
			put(line)
		}
	}
	return lines
}

// wrapped breaks words into lines.
func wrapped(text, class string, size, wide float64) []string {
	var out []string
	for _, line := range flow([]piece{{text: text, class: class, size: size}}, wide) {
		out = append(out, joined(line, false))
	}
	return out
}

// joined returns a line's words, with a sign that more was said.
func joined(line []piece, more bool) string {
	var words []string
	for _, w := range line {
		words = append(words, w.text)
	}
	text := strings.Join(words, " ")
	if more {
		text += " …"
	}
	return text
}
