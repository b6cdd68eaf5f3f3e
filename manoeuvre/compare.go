package manoeuvre

import (
	"math"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
)

// compare looks how near every two parties are now. It reports whether two were brought
// inside their margin.
func (f *fleet) compare(t float64, margins clearance.Margins) (broken bool) {
	least := math.Inf(1)
	for i := range f.near {
		if f.near[i].ok {
			least = math.Min(least, f.near[i].Ratio)
		}
	}
	for i := range f.near {
		n := &f.near[i]
		a, b := &f.parties[n.a], &f.parties[n.b]
		if a.mover >= 0 && !f.movers[a.mover].out() || b.mover >= 0 && !f.movers[b.mover].out() {
			continue
		}
		if f.hands && (a.in || b.in || !a.moves && !b.moves || a.course.ID == clearance.Hull || b.course.ID == clearance.Hull) {
			continue // hands lead a line past the boat's side
		}
		if f.only != "" && a.course.ID != f.only && b.course.ID != f.only {
			continue
		}
		below := f.below(n, least)
		if !(below > 0) {
			continue
		}
		// Nowhere nearer than their boxes, in margins at their full size.
		reach := a.course.Reach + b.course.Reach
		if a.mover >= 0 && b.mover >= 0 {
			if a.wide.apart(&b.wide) > below*(margins.Horizontal+reach) {
				continue
			}
		} else if a.wet.apart(&b.wet) > below*(margins.Hull+reach+a.course.Band+b.course.Band) {
			continue
		}
		if n.seen && a.moved-n.at[0]+b.moved-n.at[1] < still {
			continue
		}
		n.seen, n.at = true, [2]float64{a.moved, b.moved}
		if a.mover < 0 {
			b.course.Dive()
		} else if b.mover < 0 {
			a.course.Dive()
		}
		gap, ok := a.course.Gap(b.course, margins, below)
		if !ok {
			continue
		}
		first := n.First
		if !n.first {
			first, n.first = gap.Ratio, true
		}
		n.TurnPair = sternfan.TurnPair{Gap: gap, T: t, First: first}
		n.ok = true
		least = math.Min(least, gap.Ratio)
		broken = broken || Worsened(&n.TurnPair)
	}
	return broken
}

// below returns the ratio below which it matters how near a pair is now; 0: it does not.
// How near they run straight on is always asked, since what a turn does is measured
// against that; and of a spread whose lines all keep far apart the nearest two are.
func (f *fleet) below(n *near, least float64) float64 {
	switch {
	case f.nearest:
		return least
	case f.first && n.ok:
		return 0 // once is enough
	case f.first:
		return f.care
	case !n.first:
		return math.Inf(1)
	case n.ok:
		return math.Min(n.Ratio, math.Max(f.care, least))
	}
	return math.Max(f.care, least)
}

// forget makes the fleet ready for another run.
func (f *fleet) forget() {
	for i := range f.near {
		f.near[i].ok, f.near[i].first = false, false
	}
}

// box2 is a box seen from above.
type box2 struct{ x0, x1, y0, y1 float64 }

func (b *box2) reset() { *b = box2{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)} }

func (b *box2) widen(p geom.Vec) {
	if p.X < b.x0 {
		b.x0 = p.X
	}
	if p.X > b.x1 {
		b.x1 = p.X
	}
	if p.Y < b.y0 {
		b.y0 = p.Y
	}
	if p.Y > b.y1 {
		b.y1 = p.Y
	}
}

func (b *box2) apart(c *box2) float64 {
	dx := math.Max(math.Max(b.x0-c.x1, c.x0-b.x1), 0)
	dy := math.Max(math.Max(b.y0-c.y1, c.y0-b.y1), 0)
	return math.Sqrt(dx*dx + dy*dy)
}
