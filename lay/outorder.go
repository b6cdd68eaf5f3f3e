package lay

import (
	"context"

	"sternfan"
)

// Order returns the rods of a scenario in the order in which to set them as they are, by
// the rules of [Plan]: as few lines as can be come inside the margin of one that is already
// out, and then outside and shallow first. Rods that cannot be fished are left out. The
// error is sternfan.Faults or the context's.
func Order(ctx context.Context, sc *sternfan.Scenario, opt Options) ([]string, error) {
	pl, err := newPlanner(ctx, sc, opt)
	if err != nil {
		return nil, err
	}
	r := &resetter{planner: pl}
	if err := r.as(sc); err != nil {
		return nil, err
	}
	for i, o := range r.x {
		if o != none && pl.ways[o].course == nil {
			r.x[i] = none
		}
	}
	var plan sternfan.Plan
	if err := pl.order(r.e, r.x, &plan); err != nil {
		return nil, err
	}
	var out []string
	for _, s := range plan.Set {
		out = append(out, s.Rod)
	}
	return out, nil
}
