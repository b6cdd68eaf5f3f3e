package report

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/portable"
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
	w := letters(text) * labelSize * mm
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

// letters returns the width of a text by the height of its letters. It errs on the wide
// side for plain type of any make.
func letters(text string) float64 {
	w := 0.0
	for _, r := range text {
		switch {
		case strings.ContainsRune("MWmw@", r):
			w += 0.9
		case r > 0x2e7f: // ideographs and what follows them
			w++
		default:
			w += letterWide
		}
	}
	return w
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

	close, far float64 // how far from its point a label goes, at a glance and at most, mm
	leaders    bool    // a label farther off than at a glance is led to its point
}

func newPlacer(v *sternfan.View, mm float64) *placer {
	p := &placer{view: v, mm: mm, close: nearby, far: farthest}
	p.frame = box{math.Min(v.U.From, v.U.To), math.Min(v.V.From, v.V.To), math.Max(v.U.From, v.U.To), math.Max(v.V.From, v.V.To)}
	half := signSize / 2 * mm
	for i := range v.Shapes {
		s := &v.Shapes[i]
		switch s.Kind {
		case sternfan.ShapeMarker:
			c, r := s.Points[0], half
			switch {
			case s.Sign == "tick":
				r = 0.7 * mm
			case s.Sign == "board" || s.Sign == "diver":
				r = 1.8 * mm
			case s.Sign == "tip":
				r = 0.5 * mm
			case s.Sign == "lure" && strings.Contains(s.Class, "trouble"):
				r = troubleSize / 2 * mm
			}
			p.avoid = append(p.avoid, box{c[0] - r, c[1] - r, c[0] + r, c[1] + r})
		case sternfan.ShapeBar:
			a, b := s.Points[0], s.Points[1]
			p.avoid = append(p.avoid, box{math.Min(a[0], b[0]) - half/2, math.Min(a[1], b[1]), math.Max(a[0], b[0]) + half/2, math.Max(a[1], b[1])})
		case sternfan.ShapeArea:
			if s.Class == "bottom" {
				p.avoid = append(p.avoid, box{s.Points[0][0], s.Points[0][1], s.Points[2][0], s.Points[2][1]})
			}
		case sternfan.ShapeLine:
			p.points = append(p.points, sampled(s.Points, labelSize/2*mm)...)
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
		n := int(math.Min(most, math.Ceil(portable.Hypot(b[0]-a[0], b[1]-a[1])/apart)))
		for j := range max(n, 1) {
			t := float64(j) / float64(max(n, 1))
			out = append(out, [2]float64{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		}
	}
	return out
}

// labelBeside adds a short text close beside a point of a path, square to the path's direction,
// or not at all when there is no room: a count away from its tick would be read as
// another's.
func (p *placer) labelBeside(at, along [2]float64, base sternfan.Shape, text string) bool {
	const clear = 1.1
	long := portable.Hypot(along[0], along[1])
	if long == 0 {
		along, long = [2]float64{0, 1}, 1
	}
	square := [2]float64{-along[1] / long, along[0] / long}
	if square[1] < 0 {
		square = [2]float64{-square[0], -square[1]}
	}
	size := textBox(text, "middle", [2]float64{}, p.mm)
	for _, sense := range []float64{1, -1} {
		n := [2]float64{sense * square[0], sense * square[1]}
		away := clear*p.mm + math.Abs(n[0])*size.u1 + math.Abs(n[1])*size.v1
		pos := [2]float64{at[0] + n[0]*away, at[1] + n[1]*away}
		b := textBox(text, "middle", pos, p.mm)
		const apart = 0.9
		wider := box{b.u0 - apart*p.mm, b.v0, b.u1 + apart*p.mm, b.v1}
		if !b.inside(p.frame) || p.crowded(wider) || p.covers(b) {
			continue
		}
		p.write(base, seat{text: text, anchor: "middle", at: pos, box: b})
		return true
	}
	return false
}

// crowded reports whether a box meets a label.
func (p *placer) crowded(b box) bool {
	return slices.ContainsFunc(p.labels, b.hits)
}

// covers reports whether a box lies over a line or a sign.
func (p *placer) covers(b box) bool {
	return slices.ContainsFunc(p.avoid, b.hits) || slices.ContainsFunc(p.points, b.holds)
}

// How far from its point, in mm, a label still reads as belonging to it: at a glance, and
// when there is no other room.
const (
	nearby   = 8.5
	farthest = 19.0
)

// label adds a label near the point. Of the texts, fullest first, it takes the one that
// sits best close by, a shorter one only for a much better seat; when none finds room,
// the last of them goes farther off. It returns what the seat costs.
func (p *placer) label(at [2]float64, base sternfan.Shape, texts ...string) float64 {
	clear := signSize/2 + 1
	if strings.Contains(base.Class, "trouble") {
		clear = troubleSize/2 + 1
	}
	best := seat{cost: math.Inf(1)}
	for i, text := range texts {
		s := p.bestSeat(at, text, clear, p.close)
		if s.cost += shorter * float64(i); s.cost < best.cost {
			best = s
		}
	}
	if math.IsInf(best.cost, 1) {
		best = p.bestSeat(at, texts[len(texts)-1], clear, p.far)
		best.cost += shorter * float64(len(texts))
	}
	if math.IsInf(best.cost, 1) {
		return unseated
	}
	if p.leaders {
		p.lead(at, base, best.box)
	}
	p.write(base, best)
	return best.cost
}

// write puts a label on its seat.
func (p *placer) write(base sternfan.Shape, s seat) {
	base.Kind, base.Text, base.Anchor, base.Points = sternfan.ShapeText, s.text, s.anchor, [][2]float64{s.at}
	p.view.Shapes = append(p.view.Shapes, base)
	p.labels = append(p.labels, s.box)
}

// lead draws a thin line from a point's sign to its label where a glance might take the
// label for another's.
func (p *placer) lead(at [2]float64, base sternfan.Shape, label box) {
	to := [2]float64{math.Min(math.Max(at[0], label.u0), label.u1), math.Min(math.Max(at[1], label.v0), label.v1)}
	du, dv := to[0]-at[0], to[1]-at[1]
	long := portable.Hypot(du, dv)
	if long < p.close*p.mm/2 {
		return
	}
	start := signSize / 2 * p.mm / long
	base.Kind, base.Class, base.Alt = sternfan.ShapeLine, strings.Replace(base.Class, "label", "leader", 1), ""
	base.Points = [][2]float64{{at[0] + start*du, at[1] + start*dv}, to}
	p.view.Shapes = append(p.view.Shapes, base)
	p.points = append(p.points, sampled(base.Points, labelSize/2*p.mm)...)
}

// request is a label that wants a seat.
type request struct {
	at    [2]float64
	base  sternfan.Shape
	texts []string
}

// labelAll seats the labels in the order that costs least of a few: as given, and by how
// far down and across the view they are, both ways.
func (p *placer) labelAll(requests []request) {
	var best *placer
	bestShapes, least := p.view.Shapes, math.Inf(1)
	for _, less := range []func(a, b request) int{
		func(a, b request) int { return 0 },
		func(a, b request) int { return cmp.Compare(a.at[1], b.at[1]) },
		func(a, b request) int { return cmp.Compare(b.at[1], a.at[1]) },
		func(a, b request) int { return cmp.Compare(a.at[0], b.at[0]) },
		func(a, b request) int { return cmp.Compare(b.at[0], a.at[0]) },
	} {
		view := *p.view
		view.Shapes = slices.Clone(p.view.Shapes)
		trial := *p
		trial.view, trial.labels = &view, slices.Clone(p.labels)
		order := slices.Clone(requests)
		slices.SortStableFunc(order, less)
		cost := 0.0
		for _, r := range order {
			cost += trial.label(r.at, r.base, r.texts...)
		}
		if cost < least {
			best, bestShapes, least = &trial, view.Shapes, cost
		}
	}
	if best != nil {
		p.labels, p.view.Shapes = best.labels, bestShapes
	}
}

// seat is where a label can sit and what it costs in mm of distance; crossings count as
// distance.
type seat struct {
	text, anchor string
	at           [2]float64
	box          box
	cost         float64
}

// What it costs to lie over a sign, over a line (each half letter's height of it), and
// to say less.
const (
	overSign = 20.0
	overLine = 1.6
	shorter  = 9.0
	unseated = 100.0
)

// bestSeat returns the seat of least cost for a text, its cost infinite when there is no room
// within reach, in mm; clear is how far beside the point the text begins.
func (p *placer) bestSeat(at [2]float64, text string, clear, reach float64) seat {
	best := seat{text: text, cost: math.Inf(1)}
	try := func(du, dv float64, anchor string, cost float64) {
		if cost >= best.cost || portable.Hypot(du, dv) > reach {
			return
		}
		pos := [2]float64{at[0] + du*p.mm, at[1] + dv*p.mm}
		b := textBox(text, anchor, pos, p.mm)
		if !b.inside(p.frame) || p.crowded(b) {
			return
		}
		for _, a := range p.avoid {
			if b.hits(a) {
				cost += overSign
			}
		}
		for _, q := range p.points {
			if b.holds(q) {
				cost += overLine
			}
		}
		if cost < best.cost {
			best.anchor, best.at, best.box, best.cost = anchor, pos, b, cost
		}
	}
	const step = 1.01 * labelSize * lineTall / 2 // a little more, so that neighbors do not touch
	const halfLines = 2 * 10                     // as many as are within the farthest
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
	return best
}
