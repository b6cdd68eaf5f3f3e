package aim

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sternfan"
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
	probe float64 // depth at which the speed was measured, m
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
	return &Boat{sc: sc, model: m, opt: opt, probe: -1}, nil
}

// Reach returns the ways in which a rod reaches a target, or its limit and what would
// do it. When ctx ends first it returns the best so far, not Finished. The error is a fault of
// the request, or ctx's when there is nothing yet.
func (b *Boat) Reach(ctx context.Context, req Request) (*sternfan.Aim, error) {
	rod, err := b.find(req.Rod)
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

func (b *Boat) find(id string) (int, error) {
	var ids []string
	for i := range b.sc.Rods {
		if b.sc.Rods[i].ID == id {
			return i, nil
		}
		ids = append(ids, b.sc.Rods[i].ID)
	}
	hint := "name one of the file's rods"
	if near := nearest(id, ids); near != "" {
		hint = "did you mean " + near + "?"
	}
	return 0, sternfan.Faults{{Code: "unknown-rod", Text: "no rod has that id", Found: id, Allowed: ids, Hint: hint}}
}

// check finds what is wrong with a request for this rod.
func (k *bench) check(req Request) error {
	var faults sternfan.Faults
	words := k.boat.opt.Units
	if !(req.Depth >= 0) || math.IsInf(req.Depth, 0) {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "a depth is at or under the surface", Found: words.Depth(unit.Length(req.Depth)), Allowed: []string{"0 or more"}})
	} else if bottom := k.sc.Water.Bottom; bottom.Given && req.Depth > bottom.SI() {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "the water is not that deep", Found: words.Depth(unit.Length(req.Depth)),
			Allowed: []string{"up to " + words.Depth(bottom.Value)}, Hint: "aim above the bottom, or change water.bottom"})
	}
	if req.Side != nil && (!(*req.Side >= 0) || math.IsInf(*req.Side, 0)) {
		faults = append(faults, sternfan.Fault{Code: "out-of-range", Text: "a side distance is counted outward from the center line", Found: words.Depth(unit.Length(*req.Side)), Allowed: []string{"0 or more"}})
	}
	allowed := k.keys()
	for _, key := range req.Keep {
		if slices.Contains(allowed, key) {
			continue
		}
		f := sternfan.Fault{Code: "unknown-setting", Text: fmt.Sprintf("rod %s has no such setting to keep", req.Rod), Found: key, Allowed: allowed}
		if near := nearest(key, allowed); near != "" {
			f.Hint = "did you mean " + near + "?"
		}
		faults = append(faults, f)
	}
	return faults.Err()
}

// probeDepth returns where the speed probe is as the spread is set, m.
func (b *Boat) probeDepth(ctx context.Context) (float64, error) {
	if b.probe >= 0 {
		return b.probe, nil
	}
	b.probe = 0
	sp := &b.sc.Speed
	if sp.Given != sternfan.SpeedProbe {
		return 0, nil
	}
	if sp.Ball == "" || sp.Depth.Given {
		b.probe = sp.Depth.SI()
		return b.probe, nil
	}
	// Only the downrigger that carries it matters, with the rods on it.
	sc := *b.sc
	sc.Rods, sc.MastBoards = nil, nil
	for gi := range b.model.Groups {
		g := &b.model.Groups[gi]
		if g.Downrigger >= 0 && b.sc.Downriggers[g.Downrigger].ID == sp.Ball {
			for _, r := range g.Rods {
				sc.Rods = append(sc.Rods, b.sc.Rods[r])
			}
			sc.Downriggers = b.sc.Downriggers[g.Downrigger : g.Downrigger+1]
		}
	}
	m, faults := tackle.Resolve(&sc)
	if len(faults) > 0 {
		return 0, faults
	}
	fan, err := spread.Solve(ctx, m, spread.Options{Tolerance: b.sc.Solver.Tolerance})
	if err != nil {
		return 0, err
	}
	if fan.Speed.ProbeDepth != nil {
		b.probe = *fan.Speed.ProbeDepth
	}
	return b.probe, nil
}
