package aim

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// Options say how to aim; the zero value finds the five best ways in US units without
// intervals.
type Options struct {
	Units     unit.System // of words, and of the steps of counters
	Top       int         // ways to return; 0: 5
	Intervals bool        // find the 80 % interval of every depth returned
	Progress  func(done, total int)
}

// Request is a target for one rod.
type Request struct {
	Rod   string
	Depth float64  // m
	Side  *float64 // m from the center line, to the side on which the rod fishes; nil: anywhere
	Lure  string   // part id; "": the rod's own last lure
	Keep  []string // settings not to change
}

// defaultTop is how many ways are returned when nothing is said: they are read at a glance.
const defaultTop = 5

// Boat aims the rods of one scenario. It is not for use by two goroutines at once.
type Boat struct {
	sc    *sternfan.Scenario
	model *tackle.Model
	opt   Options
	rods  *bench.Boat
}

// New returns a boat ready to aim. The scenario is not changed. Its faults come back as
// sternfan.Faults.
func New(sc *sternfan.Scenario, opt Options) (*Boat, error) {
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		return nil, faults
	}
	if opt.Top <= 0 {
		opt.Top = defaultTop
	}
	return &Boat{sc: sc, model: m, opt: opt, rods: bench.New(sc, m, spread.Options{Units: opt.Units})}, nil
}

// Reach returns the ways in which a rod reaches a target, or its limit and what would
// do it. When ctx ends first it returns the best so far, not Finished. The error is a fault of
// the request, or ctx's when there is nothing yet.
func (b *Boat) Reach(ctx context.Context, req Request) (*sternfan.Aim, error) {
	rod, err := bench.Find(b.sc, req.Rod)
	if err != nil {
		return nil, err
	}
	k, err := b.bench(ctx, rod, req.Lure)
	if err != nil {
		return nil, err
	}
	if err := k.check(req); err != nil {
		return nil, err
	}
	k.req = req
	return k.reach(ctx)
}

// check finds what is wrong with a request for this rod.
func (k *aiming) check(req Request) error {
	var faults sternfan.Faults
	words := k.boat.opt.Units
	if !(req.Depth >= 0) || math.IsInf(req.Depth, 0) {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "a depth is at or under the surface", Found: words.Depth(unit.Length(req.Depth)), Allowed: []string{"0 or more"}})
	} else if bottom := k.Scenario.Water.Bottom; bottom.Given && req.Depth > bottom.SI() {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "the water is not that deep", Found: words.Depth(unit.Length(req.Depth)),
			Allowed: []string{"up to " + words.Depth(bottom.Value)}, Hint: "aim above the bottom, or change water.bottom"})
	}
	if req.Side != nil && (!(*req.Side >= 0) || math.IsInf(*req.Side, 0)) {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "a side distance is counted outward from the center line", Found: words.Depth(unit.Length(*req.Side)), Allowed: []string{"0 or more"}})
	}
	allowed := options(k.keys())
	for _, key := range req.Keep {
		if slices.Contains(allowed, key) {
			continue
		}
		faults = append(faults, sternfan.Fault{Code: "unknown-setting", Text: fmt.Sprintf("rod %s has no such setting to keep", req.Rod), Found: key, Allowed: allowed,
			Hint: sternfan.DidYouMean(key, allowed, "")})
	}
	return faults.Err()
}
