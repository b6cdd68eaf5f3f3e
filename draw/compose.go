package draw

import (
	"image/color"
	"math"
	"strings"
	"unicode/utf8"

	"sternfan"
	"sternfan/portable"
)

// Sizes of the ink, mm of the sheet.
const (
	titleSize  = 5.4
	viewSize   = 3.4
	labelSize  = 3.0
	tickSize   = 2.8
	noteSize   = 3.0
	noteLine   = 4.0
	margin     = 9.0
	hairline   = 0.12
	frameLine  = 0.2
	barLine    = 0.55
	barCap     = 1.5
	letterWide = 0.53 // mean width of a letter by its height
	mostNotes  = 6

	// The lines of the note are as long as the sheet.
	noteLetters = 175
)

// sheet is a composed page: marks in mm from the upper left corner, in drawing order.
type sheet struct {
	title, alt string
	wide, tall float64
	paper      color.RGBA
	marks      []mark
}

// mark is one stroke, fill or text, and where it comes from.
type mark struct {
	group          string // view it belongs to
	class          string
	rod, part, alt string
	points         [][2]float64
	closed, circle bool
	radius         float64
	stroke, fill   color.RGBA // alpha 0: none
	width          float64
	dash           []float64
	text, anchor   string
	size           float64
	bold, upward   bool // upward: turned to read from below
	halo           color.RGBA
	at             [2]float64
}

// composer turns views into marks.
type composer struct {
	k  *inks
	mm float64 // meters of the lake per mm
	s  *sheet
}

func compose(d *sternfan.Drawing, k inks) *sheet {
	wide := d.Sheet
	if wide == 0 {
		wide = sheetWide
	}
	c := &composer{k: &k, mm: d.Width / wide, s: &sheet{title: plainText(d.Title), alt: plainText(d.Alt), wide: wide, tall: d.Height / d.Width * wide, paper: k.paper}}
	if !d.Bare {
		c.text(mark{group: "title", class: "title", text: plainText(d.Title), at: [2]float64{margin, margin + 0.35*titleSize}, size: titleSize, bold: true, fill: k.text})
	}
	lowest := margin
	for i := range d.Views {
		v := &d.Views[i]
		c.view(v)
		lowest = math.Max(lowest, v.Place[1]/c.mm+math.Abs(v.V.To-v.V.From)/c.mm)
	}
	if !d.Bare {
		c.note(d.Note, lowest+12.5)
	}
	return c.s
}

// plainText drops what cannot stand in a file of text.
func plainText(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' || r == 0x7f || r == utf8.RuneError || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, s)
}

func (c *composer) note(note string, down float64) {
	if note == "" {
		return
	}
	lines := 0
	for i, paragraph := range strings.Split(plainText(note), "\n") {
		for _, line := range wrap(paragraph, noteLetters) {
			if lines == mostNotes {
				return
			}
			c.text(mark{
				group: "note", class: "note", text: line, size: noteSize, bold: i == 0, fill: c.k.text,
				at: [2]float64{margin, down + noteLine*float64(lines)},
			})
			lines++
		}
	}
}

// wrap breaks text at spaces into lines of at most so many letters.
func wrap(text string, letters int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > letters:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

func along(a *sternfan.Axis, x float64) float64 {
	if a.From < a.To {
		return x - a.From
	}
	return a.From - x
}

// to returns the sheet coordinates, mm, of a point of a view.
func (c *composer) to(v *sternfan.View, p [2]float64) [2]float64 {
	return [2]float64{(v.Place[0] + along(&v.U, p[0])) / c.mm, (v.Place[1] + along(&v.V, p[1])) / c.mm}
}

func (c *composer) view(v *sternfan.View) {
	left, top := v.Place[0]/c.mm, v.Place[1]/c.mm
	right, low := left+math.Abs(v.U.To-v.U.From)/c.mm, top+math.Abs(v.V.To-v.V.From)/c.mm
	// Water and bottom lie under the grid, everything else over it.
	for i := range v.Shapes {
		if s := &v.Shapes[i]; s.Kind == sternfan.ShapeArea && ground(s.Class) {
			c.shape(v, s)
		}
	}
	if v.Title != "" {
		c.text(mark{group: v.ID, class: "view-title", text: plainText(v.Title), at: [2]float64{left, top - 2.6}, size: viewSize, fill: c.k.text})
	}
	bare := len(v.U.Ticks)+len(v.V.Ticks) == 0
	c.ticks(v, left, top, right, low)
	if !bare {
		c.add(mark{group: v.ID, class: "frame", points: [][2]float64{{left, top}, {right, top}, {right, low}, {left, low}}, closed: true, stroke: c.k.frame, width: frameLine})
	}
	for _, text := range []bool{false, true} {
		for i := range v.Shapes {
			s := &v.Shapes[i]
			if (s.Kind == sternfan.ShapeText) == text && !(s.Kind == sternfan.ShapeArea && ground(s.Class)) {
				c.shape(v, s)
			}
		}
	}
}

func ground(class string) bool {
	words := classes(strings.Fields(class))
	return words.has("water") || words.has("bottom")
}

func (c *composer) ticks(v *sternfan.View, left, top, right, low float64) {
	for _, t := range v.U.Ticks {
		x := left + along(&v.U, t.At)/c.mm
		c.add(mark{group: v.ID, class: "grid", points: [][2]float64{{x, top}, {x, low}}, stroke: c.k.grid, width: hairline})
		if t.Text != "" {
			c.text(mark{group: v.ID, class: "tick", text: plainText(t.Text), anchor: "middle", at: [2]float64{x, low + 2.6}, size: tickSize, fill: c.k.quiet})
		}
	}
	for _, t := range v.V.Ticks {
		y := top + along(&v.V, t.At)/c.mm
		c.add(mark{group: v.ID, class: "grid", points: [][2]float64{{left, y}, {right, y}}, stroke: c.k.grid, width: hairline})
		if t.Text != "" {
			c.text(mark{group: v.ID, class: "tick", text: plainText(t.Text), anchor: "end", at: [2]float64{left - 1.6, y}, size: tickSize, fill: c.k.quiet})
		}
	}
	if v.U.Label != "" {
		c.text(mark{group: v.ID, class: "axis", text: plainText(v.U.Label), anchor: "middle", at: [2]float64{(left + right) / 2, low + 6.8}, size: tickSize, fill: c.k.quiet})
	}
	if v.V.Label != "" {
		c.text(mark{group: v.ID, class: "axis", text: plainText(v.V.Label), anchor: "middle", at: [2]float64{left - 12, (top + low) / 2}, size: tickSize, fill: c.k.quiet, upward: true})
	}
}

func (c *composer) add(m mark) { c.s.marks = append(c.s.marks, m) }
func (c *composer) text(m mark) {
	if m.text != "" {
		c.add(m)
	}
}

func (c *composer) shape(v *sternfan.View, s *sternfan.Shape) {
	words := classes(strings.Fields(s.Class))
	col := words.color(c.k)
	m := mark{group: v.ID, class: s.Class, rod: plainText(s.Rod), part: plainText(s.Part), alt: plainText(s.Alt)}
	points := make([][2]float64, len(s.Points))
	for i, p := range s.Points {
		points[i] = c.to(v, p)
	}
	switch s.Kind {
	case sternfan.ShapeLine:
		m.points, m.stroke, m.width, m.dash = points, col, words.width(), words.dash()
		c.add(m)
	case sternfan.ShapeArea:
		m.points, m.closed = points, true
		switch {
		case words.has("water"):
			m.fill = c.k.water
		case words.has("bottom"):
			m.fill = c.k.bottom
		case words.has("panel"):
			m.fill = c.k.panel
		case words.has("band"):
			m.stroke, m.width = c.k.temperature, 0.3
		default:
			m.fill, m.stroke, m.width = c.k.hull, c.k.frame, 0.25
		}
		c.add(m)
	case sternfan.ShapeBar:
		c.bar(m, points[0], points[1], col)
	case sternfan.ShapeMarker:
		c.sign(m, s.Sign, words, points[0], col)
	case sternfan.ShapeText:
		m.text, m.anchor, m.at = plainText(s.Text), s.Anchor, points[0]
		m.size, m.fill, m.halo, m.bold = labelSize, col, c.k.water, words.has("strong")
		if s.Size > 0 { // a word of the page, not in the water
			m.size, m.halo = s.Size/c.mm, color.RGBA{}
		}
		if words.has("quiet") {
			m.fill = c.k.quiet
		}
		if words.has("key") {
			m.halo = color.RGBA{}
		}
		if words.has("key") && len(words) == 2 {
			m.fill = c.k.text
		}
		if words.has("count") {
			m.size, m.fill = tickSize, c.k.quiet
		}
		c.text(m)
	}
}

// bar draws an interval as a stroke with caps across its ends.
func (c *composer) bar(m mark, a, b [2]float64, col color.RGBA) {
	m.stroke = col
	long := portable.Hypot(b[0]-a[0], b[1]-a[1])
	across := [2]float64{barCap / 2, 0}
	if long > 0 {
		across = [2]float64{-(b[1] - a[1]) / long * barCap / 2, (b[0] - a[0]) / long * barCap / 2}
	}
	m.width, m.points = barLine, [][2]float64{a, b}
	c.add(m)
	for _, p := range [][2]float64{a, b} {
		m.width = barLine / 2
		m.points = [][2]float64{{p[0] - across[0], p[1] - across[1]}, {p[0] + across[0], p[1] + across[1]}}
		m.alt = ""
		c.add(m)
	}
}

// sign draws a marker. Lures are full signs, port a square, starboard a triangle, middle
// a disc; devices are open.
func (c *composer) sign(m mark, sign string, words classes, p [2]float64, col color.RGBA) {
	polygon := func(points ...[2]float64) {
		m.closed = true
		for _, q := range points {
			m.points = append(m.points, [2]float64{p[0] + q[0], p[1] + q[1]})
		}
	}
	circle := func(r float64) { m.circle, m.at, m.radius = true, p, r }
	m.width = 0.25
	switch sign {
	case "lure":
		m.fill, m.stroke = col, c.k.water
		switch {
		case words.has("port"):
			polygon([2]float64{-0.95, -0.95}, [2]float64{0.95, -0.95}, [2]float64{0.95, 0.95}, [2]float64{-0.95, 0.95})
		case words.has("starboard"):
			polygon([2]float64{0, -1.25}, [2]float64{1.25, 0.95}, [2]float64{-1.25, 0.95})
		default:
			circle(1.1)
		}
	case "ball":
		m.fill, m.stroke, m.width = c.k.water, col, 0.35
		circle(1.1)
	case "diver":
		m.fill, m.stroke = c.k.water, col
		polygon([2]float64{-1.3, -0.7}, [2]float64{1.3, -0.1}, [2]float64{1.1, 0.7}, [2]float64{-1.3, 0.1})
	case "board":
		m.fill, m.stroke = c.k.water, col
		polygon([2]float64{-1.7, -0.6}, [2]float64{1.7, -0.6}, [2]float64{1.7, 0.6}, [2]float64{-1.7, 0.6})
	case "tip":
		m.fill = col
		circle(0.5)
	case "tick":
		m.fill = col
		circle(0.65)
	default:
		m.fill, m.stroke = c.k.water, col
		polygon([2]float64{0, -1.1}, [2]float64{1.1, 0}, [2]float64{0, 1.1}, [2]float64{-1.1, 0})
	}
	c.add(m)
	if words.has("trouble") && sign != "tick" {
		ring := m
		ring.points, ring.closed, ring.fill, ring.stroke, ring.width, ring.alt = nil, false, color.RGBA{}, col, 0.3, ""
		ring.circle, ring.at, ring.radius = true, p, 2.0
		c.add(ring)
	}
}
