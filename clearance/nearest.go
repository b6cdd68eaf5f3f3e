package clearance

import (
	"math"

	"sternfan"
	"sternfan/geom"
)

// tipZone is how much line below a rod tip or boom is left out when lines are compared in
// plain distance, m: 10 ft. Tips stand a yard apart in their holders, and what hands and
// holders keep apart there does not foul.
const tipZone = 10 * 0.3048

// Nearest returns where two parties come nearest to each other in plain metres, when that
// is nearer than below. Left out are the first 10 ft below each rod tip and boom, a line
// and the device it is clipped to, and, of two lines on one device, what is ahead of their
// releases. With a part of the boat only what is under water is compared. The ratio and
// the margins of the gap are not set.
func (c *Course) Nearest(d *Course, below float64) (gap sternfan.Gap, ok bool) {
	if c.fixed && d.fixed || c.Device != "" && c.Device == d.ID || d.Device != "" && d.Device == c.ID {
		return gap, false
	}
	together := c.Device != "" && c.Device == d.Device
	wet := c.fixed || d.fixed
	gap = sternfan.Gap{A: c.ID, B: d.ID}
	for i := range c.chains {
		for j := range d.chains {
			a, b := &c.chains[i], &d.chains[j]
			if together && !(a.Behind && b.Behind) {
				continue
			}
			one, fromA := c.bare(a, wet)
			two, fromB := d.bare(b, wet)
			if one == nil || two == nil {
				continue
			}
			near, found := one.Closest(two, geom.Plain, &geom.Girth{}, &geom.Girth{}, below)
			if !found {
				continue
			}
			ok, below = true, near.Distance
			v := near.A.Sub(near.B)
			gap.Distance, gap.Horizontal, gap.Vertical = v.Norm(), v.Horizontal(), math.Abs(v.Z)
			gap.AtA, gap.AtB = [3]float64{near.A.X, near.A.Y, near.A.Z}, [3]float64{near.B.X, near.B.Y, near.B.Z}
			gap.PartA, gap.PartB = a.part(near.I+fromA), b.part(near.J+fromB)
		}
	}
	return gap, ok
}

// bare returns a chain from 10 ft below the tip on, and of it what is under water when
// that is asked, with the number of segments left out; nil when nothing is left.
func (c *Course) bare(h *chain, wet bool) (*geom.Curve, int) {
	if c.fixed {
		return &h.curve, 0
	}
	if !h.bared {
		h.bared = true
		points, s := h.Points, h.From
		for len(points) > 1 && s < tipZone {
			step := points[1].Sub(points[0]).Norm()
			if s+step > tipZone {
				points = append([]geom.Vec{points[0].AddScaled((tipZone-s)/step, points[1].Sub(points[0]))}, points[1:]...)
				break
			}
			points, s = points[1:], s+step
		}
		h.cut0 = len(h.Points) - len(points)
		if len(points) > 1 {
			h.low.Reset(points)
		}
	}
	if len(h.low.Points()) == 0 {
		return nil, 0
	}
	if !wet {
		return &h.low, h.cut0
	}
	if under, from := h.wetCurve(); len(under.Points()) > 0 {
		return under, from
	}
	return nil, 0
}
