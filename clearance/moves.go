package clearance

import (
	"math"
	"slices"

	"sternfan/geom"
	"sternfan/portable"
)

// Moves returns how far the party's lines are from where the same lines of another shape
// are, place by place along them, at most: in margins as they hold between two lines so
// far down. It is infinite when they are not the same lines.
func (c *Course) Moves(d *Course, m Margins) float64 {
	if len(c.chains) != len(d.chains) {
		return math.Inf(1)
	}
	const least = 0.05 // of the way down: where margins are next to nothing, so are moves
	most := 0.0
	for i := range c.chains {
		a, b := &c.chains[i], &d.chains[i]
		for k, p := range a.Points {
			x := a.along[k]
			v := p.Sub(b.placeAt(x))
			share := math.Max(x, least)
			most = math.Max(most, portable.Hypot(v.Horizontal()/(m.Horizontal*share), v.Z/(m.Vertical*share)))
		}
	}
	return most
}

// placeAt returns the place of a chain at a fraction of the party's way down, its ends
// beyond them.
func (h *chain) placeAt(x float64) geom.Vec {
	k, _ := slices.BinarySearch(h.along, x)
	switch {
	case k == 0:
		return h.Points[0]
	case k == len(h.Points):
		return h.Points[k-1]
	}
	u := 0.0
	if d := h.along[k] - h.along[k-1]; d > 0 {
		u = (x - h.along[k-1]) / d
	}
	return h.Points[k-1].AddScaled(u, h.Points[k].Sub(h.Points[k-1]))
}
