package report

import (
	"math"
	"unicode/utf8"

	"sternfan"
)

// box is a rectangle in a view's coordinates, but always with lo below hi.
type box struct{ u0, v0, u1, v1 float64 }

func (a box) hits(b box) bool { return a.u0 < b.u1 && b.u0 < a.u1 && a.v0 < b.v1 && b.v0 < a.v1 }

func (a box) inside(b box) bool {
	return a.u0 >= b.u0 && a.u1 <= b.u1 && a.v0 >= b.v0 && a.v1 <= b.v1
}

func (a box) holds(p [2]float64) bool {
	return p[0] >= a.u0 && p[0] <= a.u1 && p[1] >= a.v0 && p[1] <= a.v1
}

// textBox returns the room that a text of a label's size takes, from its anchor and its
// middle height. It errs on the wide side.
func textBox(text, anchor string, at [2]float64, mm float64) box {
	w := letterWide * labelSize * float64(utf8.RuneCountInString(text)) * mm
	h := lineTall * labelSize * mm
	left := at[0]
	switch anchor {
	case "middle":
		left -= w / 2
	case "end":
		left -= w
	}
	return box{left, at[1] - h/2, left + w, at[1] + h/2}
}

// placer puts labels beside their points, none over another and as few lines crossed as
// can be had. It is greedy: the order of the calls is the order of preference.
type placer struct {
	view   *sternfan.View
	mm     float64 // meters of the lake per mm of the sheet
	frame  box
	labels []box
	avoid  []box        // signs and bars
	points [][2]float64 // of the lines, close together
}

func newPlacer(v *sternfan.View, mm float64) *placer {
	p := &placer{view: v, mm: mm}
	p.frame = box{math.Min(v.U.From, v.U.To), math.Min(v.V.From, v.V.To), math.Max(v.U.From, v.U.To), math.Max(v.V.From, v.V.To)}
	half := signSize / 2 * mm
	for i := range v.Shapes {
		s := &v.Shapes[i]
		switch s.Kind {
		case sternfan.ShapeMarker:
			c := s.Points[0]
			p.avoid = append(p.avoid, box{c[0] - half, c[1] - half, c[0] + half, c[1] + half})
		case sternfan.ShapeBar:
			a, b := s.Points[0], s.Points[1]
			p.avoid = append(p.avoid, box{math.Min(a[0], b[0]) - half/2, math.Min(a[1], b[1]), math.Max(a[0], b[0]) + half/2, math.Max(a[1], b[1])})
		case sternfan.ShapeLine:
			p.points = append(p.points, sampled(s.Points, labelSize*mm)...)
		}
	}
	return p
}

// sampled returns points along the polyline at most the given distance apart.
func sampled(line [][2]float64, apart float64) [][2]float64 {
	var out [][2]float64
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		const most = 400
		n := int(math.Min(most, math.Ceil(math.Hypot(b[0]-a[0], b[1]-a[1])/apart)))
		for j := range max(n, 1) {
			t := float64(j) / float64(max(n, 1))
			out = append(out, [2]float64{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		}
	}
	return out
}

// near adds a short text close beside its point, or not at all when there is no room:
// a count away from its tick would be read as another's.
func (p *placer) near(at [2]float64, base sternfan.Shape, text string) bool {
	const clear = 1.6
	for _, side := range []struct {
		du     float64
		anchor string
	}{{-clear, "end"}, {clear, "start"}} {
		pos := [2]float64{at[0] + side.du*p.mm, at[1]}
		b := textBox(text, side.anchor, pos, p.mm)
		if !b.inside(p.frame) || p.taken(b, at) {
			continue
		}
		base.Kind, base.Text, base.Anchor, base.Points = sternfan.ShapeText, text, side.anchor, [][2]float64{pos}
		p.view.Shapes = append(p.view.Shapes, base)
		p.labels = append(p.labels, b)
		return true
	}
	return false
}

// taken reports whether a box lies over a label, a line, or another point's sign.
func (p *placer) taken(b box, at [2]float64) bool {
	for _, l := range p.labels {
		if b.hits(l) {
			return true
		}
	}
	for _, a := range p.avoid {
		if b.hits(a) && !a.holds(at) {
			return true
		}
	}
	for _, q := range p.points {
		if b.holds(q) {
			return true
		}
	}
	return false
}

// farthest is how far from its point, in mm, a label still reads as belonging to it.
const farthest = 19.0

// put adds the first of the texts that finds room near the point as a label, and reports
// whether any did.
func (p *placer) put(at [2]float64, base sternfan.Shape, texts ...string) bool {
	for _, text := range texts {
		if shape, b, ok := p.find(at, text); ok {
			base.Kind, base.Text, base.Anchor, base.Points = sternfan.ShapeText, text, shape.Anchor, shape.Points
			p.view.Shapes = append(p.view.Shapes, base)
			p.labels = append(p.labels, b)
			return true
		}
	}
	return false
}

func (p *placer) find(at [2]float64, text string) (sternfan.Shape, box, bool) {
	var best sternfan.Shape
	var bestBox box
	bestCost := math.Inf(1)
	const clear = signSize*0.5 + 1.0
	try := func(du, dv float64, anchor string, cost float64) {
		if cost >= bestCost || math.Hypot(du, dv) > farthest {
			return
		}
		pos := [2]float64{at[0] + du*p.mm, at[1] + dv*p.mm}
		b := textBox(text, anchor, pos, p.mm)
		if !b.inside(p.frame) {
			return
		}
		for _, l := range p.labels {
			if b.hits(l) {
				return
			}
		}
		for _, a := range p.avoid {
			if b.hits(a) {
				cost += 7
			}
		}
		for _, q := range p.points {
			if b.holds(q) {
				cost += 1.2
			}
		}
		if cost < bestCost {
			best = sternfan.Shape{Anchor: anchor, Points: [][2]float64{pos}}
			bestBox, bestCost = b, cost
		}
	}
	const step = labelSize * lineTall / 2
	const halfLines = 2 * 10 // as many as are within the farthest
	for i := range halfLines {
		// 0, 1, -1, 2, -2, ... half lines down and up
		dv := step * float64((i+1)/2)
		if i%2 == 0 {
			dv = -dv
		}
		away := math.Abs(dv)
		try(clear, dv, "start", away)
		try(-clear, dv, "end", away+1.5)
		try(3*clear, dv, "start", away+5)
		try(-3*clear, dv, "end", away+6.5)
		if away >= labelSize {
			try(0, dv, "middle", away+1)
		}
	}
	return best, bestBox, !math.IsInf(bestCost, 1)
}
