package report

import (
	"bytes"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// Stands says where in its column a cell stands.
type Stands int

// Numbers stand to the right and words to the left. Long words are broken where the width
// is too little, over two lines; if that is not enough they take rows of their own.
const (
	Right Stands = iota
	Left
	Long
)

// Column is a column of a [Grid]: its head, what stands under that (mostly a unit), and
// where its cells stand.
type Column struct {
	Head, Unit string
	Stands     Stands
}

// Grid is the one renderer of tables in text: cells in columns that are aligned.
type Grid struct {
	indent  string
	columns []Column
	rows    [][]string
}

// NewGrid returns an empty table. Every line begins with the indent.
func NewGrid(indent string, columns ...[]Column) *Grid {
	return &Grid{indent: indent, columns: slices.Concat(columns...)}
}

// Numbers returns columns of numbers of one unit.
func Numbers(unit string, heads ...string) []Column {
	var out []Column
	for _, h := range heads {
		out = append(out, Column{h, unit, Right})
	}
	return out
}

// Words returns columns of words.
func Words(heads ...string) []Column {
	var out []Column
	for _, h := range heads {
		out = append(out, Column{h, "", Left})
	}
	return out
}

// Add adds a row. Cells left out at its end are empty.
func (g *Grid) Add(cells ...string) {
	g.rows = append(g.rows, append(cells, make([]string, len(g.columns)-len(cells))...))
}

// Write writes the table: the heads and units if there are any, then the rows.
func (g *Grid) Write(w io.Writer, width int) error {
	p := &printer{w: w}
	g.print(p, width)
	return p.err
}

// String returns the table as [Grid.Write] has it, of whatever width it is.
func (g *Grid) String() string {
	var b bytes.Buffer
	_ = g.Write(&b, 1<<20) // a buffer takes everything
	return b.String()
}

// heads returns the rows above the first: the heads, and the units under them.
func (g *Grid) heads() [][]string {
	heads, units := make([]string, len(g.columns)), make([]string, len(g.columns))
	for i, c := range g.columns {
		heads[i], units[i] = c.Head, c.Unit
	}
	empty := func(cells []string) bool { return !slices.ContainsFunc(cells, func(s string) bool { return s != "" }) }
	return slices.DeleteFunc([][]string{heads, units}, empty)
}

// leastLong and mostLines bound how far the long column gives way to the width: below it, or
// over more lines than that, its cells take rows of their own.
const leastLong, mostLines = 16, 2

func (g *Grid) print(p *printer, width int) {
	rows := slices.Concat(g.heads(), g.rows)
	wide := make([]int, len(g.columns))
	total := utf8.RuneCountInString(g.indent) + 2*(len(wide)-1)
	for c := range wide {
		for _, r := range rows {
			wide[c] = max(wide[c], utf8.RuneCountInString(r[c]))
		}
		total += wide[c]
	}
	long := slices.IndexFunc(g.columns, func(c Column) bool { return c.Stands == Long })
	below := false // the long cells take rows of their own
	if over := total - width; long >= 0 && over > 0 {
		wide[long] = max(wide[long]-over, min(leastLong, wide[long]))
		below = slices.ContainsFunc(rows, func(r []string) bool { return len(fold(r[long], wide[long])) > mostLines })
	}
	for i, r := range rows {
		lines := []string{""}
		if long >= 0 && !below {
			lines = fold(r[long], wide[long])
		}
		for n, words := range lines {
			p.line("%s", g.line(r, wide, long, n == 0, words, below))
		}
		if below && i > 0 && r[long] != "" { // the first row names the columns
			p.wrapped(g.indent+"  ", g.indent+"    ", r[long], width)
		}
	}
}

// line returns one line of a row: all of its cells, or what is left of the long one.
func (g *Grid) line(r []string, wide []int, long int, first bool, words string, below bool) string {
	var b strings.Builder
	b.WriteString(g.indent)
	for c, cell := range r {
		switch {
		case c == long && below:
			continue
		case c == long:
			cell = words
		case !first:
			cell = ""
		}
		if c > 0 {
			b.WriteString("  ")
		}
		pad := strings.Repeat(" ", max(0, wide[c]-utf8.RuneCountInString(cell)))
		if g.columns[c].Stands == Right {
			cell, pad = pad, cell
		}
		b.WriteString(cell + pad)
	}
	return b.String()
}

// fold breaks text at spaces into lines of at most the width; one word that is longer
// stays whole.
func fold(text string, width int) []string {
	lines := []string{""}
	for _, word := range strings.Fields(text) {
		last := &lines[len(lines)-1]
		switch {
		case *last == "":
			*last = word
		case utf8.RuneCountInString(*last)+1+utf8.RuneCountInString(word) > width:
			lines = append(lines, word)
		default:
			*last += " " + word
		}
	}
	return lines
}
