package report

import (
	"math"
	"slices"
	"strings"

	"sternfan"
)

// page draws the words.
func (c *card) page() sternfan.View {
	w, h := c.opt.Page.Wide, c.opt.Page.Tall
	left, right := c.edge, w-c.edge
	y := c.edge
	small := c.size(cardSmall)
	head := c.size(cardHead)
	stamp := strings.Join(slices.DeleteFunc([]string{clean(c.opt.Date), clean(c.opt.File)}, func(s string) bool { return s == "" }), "  ")
	stampWide := widthOf(stamp, small, "")
	room := math.Max(right-left-stampWide-3, 20)
	called := piece{text: title(c.fan, c.opt.Scenario), class: "page strong", size: head}
	called.size = math.Max(0.6*head, math.Min(head, head*room/called.wide()))
	name := flow([]piece{called}, room)
	c.text(left, y+c.titleTall()/2, joined(name[0], len(name) > 1), called.class, "start", called.size)
	c.text(right, y+c.titleTall()/2, stamp, "page quiet", "end", small)
	y += c.titleTall()
	for _, line := range c.subtitle() {
		c.text(left, y+cardLine*small/2, line, "page", "start", small)
		y += cardLine * small
	}
	y += 1.5
	for i := range 3 {
		if i == 0 {
			c.text(left, y+cardLine*small/2, "set in this order", "page strong", "start", small)
		}
		for _, col := range c.columns {
			class := "page quiet"
			if i == 0 {
				class = "page strong"
			}
			c.text(col.right, y+cardLine*small/2, col.head[i], class, "end", small)
		}
		y += cardLine * small
	}
	y += 0.6
	for i, r := range c.rows {
		tall := c.rowTall(r)
		if i%2 == 0 {
			c.area("panel", left-1.2, y, right+1.2, y+tall)
		}
		c.row(r, y+0.55*c.scale)
		y += tall
	}
	if len(c.rows) == 0 {
		c.text(left, y+cardLine*head, "No line is out: set a rod first.", "page strong", "start", c.size(cardName))
	}
	lines := c.footLines()
	from := right - c.footWide
	if y += 1.5; c.plan == nil {
		y = h - c.edge - float64(len(lines))*cardLine*small
	}
	for _, line := range lines {
		c.text(from, y+cardLine*small/2, line.text, line.class, "start", small)
		y += cardLine * small
	}
	if c.corner {
		y = h - c.edge - c.notesTall() + 1
		for _, line := range c.notes() {
			c.text(left, y+cardLine*small/2, line, "page", "start", small)
			y += cardLine * small
		}
	}
	return sternfan.View{
		ID: "card", U: sternfan.Axis{From: 0, To: w * c.mm, Ticks: []sternfan.Tick{}}, V: sternfan.Axis{From: 0, To: h * c.mm, Ticks: []sternfan.Tick{}},
		Shapes: c.marks,
	}
}

// row draws one rod from the height y on.
func (c *card) row(r *cardRow, y float64) {
	small, big, side := c.size(cardSmall), c.size(cardNumber), sideWord(r.track.Side)
	c.text(c.wordsAt()-1.6, y+cardLine*big/2, r.number, "page strong "+side, "end", big)
	c.last(r, "number")
	c.text(c.wordsAt()-1.6, y+cardLine*(big+small/2), sideLetter(r.track.Side), "page quiet", "end", small)
	at := y
	for _, line := range c.words(r) {
		x := c.wordsAt()
		for _, w := range line {
			c.text(x, at+lineOf(line)/2, w.text, w.class, "start", w.size)
			c.last(r, "")
			x += w.wide() + pieceGap*w.size
		}
		at += lineOf(line)
	}
	for _, col := range c.columns {
		c.text(col.right, y+cardLine*big/2, col.over(r), col.class, "end", c.size(col.size))
		c.last(r, "")
		c.text(col.right, y+cardLine*(big+small/2), col.under(r), "page quiet", "end", small)
		c.last(r, "")
	}
}

// last says of which rod the last mark is.
func (c *card) last(r *cardRow, part string) {
	if n := len(c.marks); n > 0 {
		c.marks[n-1].Rod, c.marks[n-1].Part = r.track.Rod, part
	}
}

func (c *card) at(x, y float64) [2]float64 { return [2]float64{x * c.mm, y * c.mm} }

func (c *card) text(x, y float64, text, class, anchor string, size float64) {
	if text == "" {
		return
	}
	c.marks = append(c.marks, sternfan.Shape{Kind: sternfan.ShapeText, Class: class, Text: text, Anchor: anchor, Size: size * c.mm, Points: [][2]float64{c.at(x, y)}})
}

func (c *card) area(class string, x0, y0, x1, y1 float64) {
	c.marks = append(c.marks, sternfan.Shape{Kind: sternfan.ShapeArea, Class: class, Points: [][2]float64{c.at(x0, y0), c.at(x1, y0), c.at(x1, y1), c.at(x0, y1)}})
}

// alt returns the card in words.
func (c *card) alt() string {
	var b strings.Builder
	b.WriteString("Card for the helm. " + headline(c.fan, c.opt.Units, "in the table"))
	for _, r := range c.rows {
		b.WriteString(" " + r.number + ", " + sentenceless(r.name) + ": " + strings.Join(r.steps, ", "))
		if len(r.track.Lures) > 0 && believed(r.track) {
			b.WriteString("; runs " + where(c.opt.Units, &r.track.Lures[0].BodyFan))
		}
		b.WriteString(".")
		if r.trouble != "" {
			b.WriteString(" " + r.trouble)
		}
	}
	return b.String()
}
