package lay

import (
	"math"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
)

// outline tells what a way's lines look like: ways that share it have the same, whichever
// rod they are of.
type outline struct {
	track    *sternfan.Track
	info     *survey
	mirrored bool
	by       geom.Vec
	dialed   float64
}

// shapes numbers outlines and keeps how near they come to one another. Rods that are rigged
// alike, and bands that one setting serves, share them; what is not clipped to anything
// has a mirror image, whose number differs in the last bit. Of ten pairs that a plan of
// twelve rods asks about (testdata/dozen.yaml) seven are known from others.
type shapes struct {
	number map[outline]int
	next   int
	near   map[[2]int]float64
}

func newShapes() *shapes {
	return &shapes{number: map[outline]int{}, near: map[[2]int]float64{}}
}

// of returns the number of an outline.
func (s *shapes) of(x outline) int {
	n, ok := s.number[x]
	if !ok {
		n, s.next = s.next, s.next+2
		s.number[x] = n
		image := x
		image.mirrored, image.by = !x.mirrored, x.by.Mirror()
		s.number[image] = n + 1
	}
	return n
}

// nearness returns how many times the margin two options keep from each other, their
// cables included; no more than roomy.
func (pl *planner) nearness(a, b *way) float64 {
	i, j := a.shape, b.shape
	if i > j {
		i, j = j, i
	}
	if i&1 == 1 && a.device == "" && b.device == "" {
		i, j = i^1, j^1
	}
	key := [2]int{i, j}
	near, ok := pl.shapes.near[key]
	if !ok {
		near = pl.nearest(a, b)
		pl.shapes.near[key] = near
	}
	return near
}

// nearest looks at the lines.
func (pl *planner) nearest(a, b *way) float64 {
	near := roomy
	look := func(x, y *clearance.Course) {
		if x == nil || y == nil {
			return
		}
		if gap, ok := x.Gap(y, pl.margins, near); ok {
			near = math.Min(near, gap.Ratio)
		}
	}
	look(a.course, b.course)
	if a.device != b.device {
		look(a.ball, b.course)
		look(b.ball, a.course)
		look(a.ball, b.ball)
	}
	return near
}
