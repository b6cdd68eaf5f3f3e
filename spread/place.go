package spread

import (
	"context"

	"sternfan/geom"
	"sternfan/tow"
)

// Placed is where one group runs in a world. Its slice is reused.
type Placed struct {
	Nodes     []geom.Vec // by node of the group
	TipPull   float64    // of the line that ends on the boat, N
	LineAngle float64    // of that line at the water, degrees from the horizontal
}

// Place solves group gi in a world (a standard normal score for each entry of the
// registry, nil for the nominal one), near its last answer, and reads the line of a rod of
// it, -1 for its device. The speed probe stays where it is in the nominal world. It
// reports false when no rest was found.
func (s *Solver) Place(ctx context.Context, gi, rod int, world []float64, out *Placed) bool {
	g, ref := &s.groups[gi], &s.model.Groups[gi]
	if g.Sol == nil || g.Sol.Status != tow.Converged {
		s.findProbe(ctx)
		s.nominal, s.envs = s.model.EnvAt(nil, s.probe), nil
		s.solveFirst(ctx, g, &s.nominal)
		if g.Sol.Status != tow.Converged {
			return false
		}
	}
	env := s.model.EnvAt(world, s.probe)
	s.solve(ctx, g, world, &env)
	if g.Sol.Status != tow.Converged {
		return false
	}
	out.Nodes = append(out.Nodes[:0], g.Sol.Nodes...)
	out.TipPull, out.LineAngle = 0, 0
	if tip := g.TipLine(ref, rod); tip >= 0 {
		out.TipPull = g.AtTip(tip, g.Sol.Pull)
		out.LineAngle = s.entryAngle(g, ref, rod, tip)
	}
	return true
}
