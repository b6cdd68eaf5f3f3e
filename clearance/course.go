package clearance

import (
	"math"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"
)

// # Clearance
//
// A line swings about its tip: what takes its lure a yard to the side takes the middle of
// the line half of that. So the margin between two lines belongs to each by half, and each
// half grows from nothing at the tip to its full size at the end of the line. At a place
// that is the fraction a of the way down one line and b down the other, the margins are
//
//	horizontal: H (a+b)/2 + reach
//	vertical:   V (a+b)/2 + reach + sqrt((a Ia)^2 + (b Ib)^2)
//
// with I half the 80 % interval of the depth at the line's end and reach the radius of the
// widest body on it (a board, a turning attractor), from the first wide one on down. Two places are clear of each
// other when they are outside the ellipsoid with these half axes; the ratio says how many
// times.
//
// The weight of a ball, or the pull of a mast board, holds its line and what is clipped to
// it: up to the release a third of the fraction counts, and from there it grows to all of
// it at the lure.
//
// Lines clipped to the same device are compared behind their releases only: before them
// they run together. Parts of the boat do not swing: their margin is a plain distance, to every
// side larger by the fraction of I that a line has beside them, as a line that runs deeper or
// shallower enters the water elsewhere; and only what is under water comes near them.

// Margins are the distances that lines are to keep, m.
type Margins struct {
	Horizontal, Vertical float64 // between lines at their ends
	Hull                 float64 // of lines from parts of the boat
}

// The margins of a person who gave none. Assumed.
const (
	defaultHorizontal = 10 * float64(unit.Foot)
	defaultVertical   = 5 * float64(unit.Foot)
	hullMargin        = 0.5 // m
	held              = 1.0 / 3
)

// MarginsOf returns the margins that a person wants, with 10 ft to the side and astern and
// 5 ft up and down for those not given.
func MarginsOf(w *sternfan.Wants) Margins {
	m := Margins{Horizontal: defaultHorizontal, Vertical: defaultVertical, Hull: hullMargin}
	if w.Horizontal.Given {
		m.Horizontal = w.Horizontal.SI()
	}
	if w.Vertical.Given {
		m.Vertical = w.Vertical.SI()
	}
	return m
}

// Chain is one unbranched run of a party's lines.
type Chain struct {
	Points []geom.Vec // from the tip down
	Parts  []string   // of each segment; nil: one part without a name
	From   float64    // length of line above its first point, m
	Behind bool       // it trails from a release
}

// Course is one party of the spread, ready to be compared with others.
type Course struct {
	ID     string
	Device string  // what its line is clipped to, "": nothing
	Band   float64 // half the 80 % interval of the depth at its end, m
	Reach  float64 // of its bodies, m
	Wide   float64 // fraction of the way down from which the reach counts
	fixed  bool    // a part of the boat
	device bool    // a downrigger's cable or a mast board's line
	chains []chain
}

type chain struct {
	Chain
	curve geom.Curve
	along []float64 // fraction of the party's length at each point, ascending
	wet   int       // first point under water
	under geom.Curve
	enter int  // the segment in which it enters the water
	dived bool // under and enter are there
	room  []geom.Vec

	low   geom.Curve // from 10 ft below the tip on
	cut0  int        // segments above it
	bared bool
}

// NewCourse returns a party with its lines. The chains keep their points.
func NewCourse(id, device string, band, reach float64, chains []Chain) *Course {
	return newCourse(&Course{ID: id, Device: device, Band: band, Reach: reach}, chains)
}

// NewDevice returns a downrigger's cable with its ball or a mast board's line with the
// board.
func NewDevice(id string, band, reach float64, chains []Chain) *Course {
	return newCourse(&Course{ID: id, Band: band, Reach: reach, device: true}, chains)
}

func newCourse(c *Course, chains []Chain) *Course {
	c.chains = make([]chain, len(chains))
	c.Reset(chains)
	return c
}

// Reset gives the party other points on as many chains, in the memory it has.
func (c *Course) Reset(chains []Chain) {
	if len(chains) != len(c.chains) {
		panic("clearance: a course keeps its number of chains")
	}
	longest, clip := 0.0, 0.0 // length of line to its end and to its release
	for i := range chains {
		h := &c.chains[i]
		h.Chain = chains[i]
		h.curve.Reset(h.Points)
		h.along, h.wet, h.dived = h.along[:0], len(h.Points), false
		s := h.From
		for k, p := range h.Points {
			if k > 0 {
				s += p.Sub(h.Points[k-1]).Norm()
			}
			if p.Z >= 0 && h.wet == len(h.Points) {
				h.wet = k
			}
			h.along = append(h.along, s)
		}
		longest = math.Max(longest, s)
		if h.Behind {
			clip = math.Max(clip, h.From)
		}
	}
	for i := range c.chains {
		for k, s := range c.chains[i].along {
			c.chains[i].along[k] = c.fraction(s, clip, longest)
		}
	}
}

// fraction returns the share of its half margin that a line of some length, clipped at
// another or not, has at a distance s from its tip.
func (c *Course) fraction(s, clip, length float64) float64 {
	switch {
	case length <= 0:
		return 0
	case c.device:
		return held * s / length
	case c.Device == "" || clip <= 0 || clip >= length:
		return s / length
	case s <= clip:
		return held * s / clip
	}
	return held + (1-held)*(s-clip)/(length-clip)
}

// Moved returns the party mirrored in the boat's center plane, or not, and then shifted by
// a vector, with another half interval of its depth.
func (c *Course) Moved(mirrored bool, by geom.Vec, band float64) *Course {
	chains := make([]Chain, len(c.chains))
	for i := range c.chains {
		chains[i] = c.chains[i].Chain
		points := make([]geom.Vec, len(chains[i].Points))
		for k, p := range chains[i].Points {
			if mirrored {
				p = p.Mirror()
			}
			points[k] = p.Add(by)
		}
		chains[i].Points = points
	}
	return newCourse(&Course{ID: c.ID, Device: c.Device, Band: band, Reach: c.Reach, Wide: c.Wide, fixed: c.fixed, device: c.device}, chains)
}

// Gap returns how near the party comes to another in the margins' measure; ok is false
// when they are not compared or nowhere nearer than the ratio below.
func (c *Course) Gap(d *Course, m Margins, below float64) (gap sternfan.Gap, ok bool) {
	if c.fixed && d.fixed || c.Device != "" && c.Device == d.ID || d.Device != "" && d.Device == c.ID {
		return gap, false
	}
	together := c.Device != "" && c.Device == d.Device
	gap = sternfan.Gap{A: c.ID, B: d.ID, Ratio: below}
	for i := range c.chains {
		for j := range d.chains {
			a, b := &c.chains[i], &d.chains[j]
			if together && !(a.Behind && b.Behind) {
				continue
			}
			if c.pair(a, d, b, m, &gap) {
				ok = true
			}
		}
	}
	return gap, ok
}

// pair lowers the gap to that of two chains when they come nearer.
func (c *Course) pair(a *chain, d *Course, b *chain, m Margins, gap *sternfan.Gap) bool {
	metric := geom.Metric{Horizontal: m.Horizontal, Vertical: m.Vertical}
	one, two := &a.curve, &b.curve
	mine, theirs := c.girth(a), d.girth(b)
	fromA, fromB := 0, 0
	if c.fixed || d.fixed {
		metric = geom.Metric{Least: m.Hull, Round: true}
		reach := m.Hull + c.Reach + d.Reach + c.Band + d.Band
		if !c.fixed {
			if !a.dived && !a.wetNear(b.Points, reach*gap.Ratio) {
				return false
			}
			one, fromA = a.wetCurve()
			mine.Along, mine.From = a.along[fromA:], 0
		}
		if !d.fixed {
			if !b.dived && !b.wetNear(a.Points, reach*gap.Ratio) {
				return false
			}
			two, fromB = b.wetCurve()
			theirs.Along, theirs.From = b.along[fromB:], 0
		}
	}
	near, ok := one.Closest(two, metric, &mine, &theirs, gap.Ratio)
	if !ok {
		return false
	}
	gap.Ratio = near.Distance
	gap.Wide, gap.High = metric.Lengths(&mine, &theirs, near.I+1, near.J+1)
	v := near.A.Sub(near.B)
	gap.Distance, gap.Horizontal, gap.Vertical = v.Norm(), v.Horizontal(), math.Abs(v.Z)
	gap.AtA, gap.AtB = [3]float64{near.A.X, near.A.Y, near.A.Z}, [3]float64{near.B.X, near.B.Y, near.B.Z}
	gap.PartA, gap.PartB = a.part(near.I+fromA), b.part(near.J+fromB)
	return true
}

// wetNear reports whether what is under water of the chain may come within a distance of
// the points, by their box.
func (h *chain) wetNear(points []geom.Vec, within float64) bool {
	lo, hi := points[0], points[0]
	for _, p := range points {
		lo = geom.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y), Z: math.Min(lo.Z, p.Z)}
		hi = geom.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y), Z: math.Max(hi.Z, p.Z)}
	}
	// Segments, not points, come near: the box of all from the last point in the air.
	wet := h.Points[max(h.wet-1, 0):]
	if len(wet) == 0 {
		return false
	}
	a, b := wet[0], wet[0]
	for _, p := range wet {
		a = geom.Vec{X: math.Min(a.X, p.X), Y: math.Min(a.Y, p.Y), Z: math.Min(a.Z, p.Z)}
		b = geom.Vec{X: math.Max(b.X, p.X), Y: math.Max(b.Y, p.Y), Z: math.Max(b.Z, p.Z)}
	}
	return a.X <= hi.X+within && b.X >= lo.X-within && a.Y <= hi.Y+within && b.Y >= lo.Y-within && a.Z <= hi.Z+within && b.Z >= lo.Z-within
}

// girth returns how the margins grow along a chain of the party.
func (c *Course) girth(h *chain) geom.Girth {
	return geom.Girth{Along: h.along, Reach: c.Reach, From: c.Wide, Band: c.Band}
}

// Dive works out the parts of the party under water once for all that it will be compared
// with.
func (c *Course) Dive() {
	for i := range c.chains {
		h := &c.chains[i]
		if !h.dived {
			h.room, h.enter = h.underWater(h.room[:0])
			h.under.Reset(h.room)
			h.dived = true
		}
	}
}

// wetCurve returns the chain from where it first enters the water, and the segment in
// which it does. It changes nothing: courses may be shared.
func (h *chain) wetCurve() (*geom.Curve, int) {
	if h.dived {
		return &h.under, h.enter
	}
	points, enter := h.underWater(nil)
	return geom.NewCurve(points), enter
}

func (h *chain) underWater(points []geom.Vec) ([]geom.Vec, int) {
	if h.wet == 0 || h.wet == len(h.Points) {
		return append(points, h.Points[h.wet:]...), h.wet
	}
	p, q := h.Points[h.wet-1], h.Points[h.wet]
	enter := p.AddScaled(p.Z/(p.Z-q.Z), q.Sub(p))
	return append(append(points, enter), h.Points[h.wet:]...), h.wet - 1
}

func (h *chain) part(segment int) string {
	if segment < len(h.Parts) {
		return h.Parts[segment]
	}
	return ""
}

// Fixed reports whether the party is a part of the boat.
func (c *Course) Fixed() bool { return c.fixed }

// With returns a party like this one with other lines, which it keeps.
func (c *Course) With(chains []Chain) *Course {
	other := *c
	return newCourse(&other, chains)
}

// Points visits every point of the party's lines.
func (c *Course) Points(visit func(geom.Vec)) {
	for i := range c.chains {
		for _, p := range c.chains[i].Points {
			visit(p)
		}
	}
}

// Shrink asks of a line that is partly out the margins of as much of it as is out, until
// the party is reset.
func (c *Course) Shrink(share float64) {
	for i := range c.chains {
		for k := range c.chains[i].along {
			c.chains[i].along[k] *= share
		}
	}
}
