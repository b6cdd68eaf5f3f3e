package lay

import (
	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/spread"
)

// answer is a trial solved.
type answer struct {
	track  *sternfan.Track // nil: it cannot be fished at all
	device *sternfan.Track
	parts  []sternfan.Part // expanded
	course *clearance.Course
	ball   *clearance.Course
}

// try solves trials, each as if it were alone in the water.
func (pl *planner) try(ask []bench.Trial, intervals bool) ([]answer, error) {
	m, rods, err := pl.boat.Row(pl.ctx, ask)
	if err != nil {
		return nil, err
	}
	fan, err := spread.Solve(pl.ctx, m, spread.Options{Intervals: intervals, Tolerance: pl.sc.Solver.Tolerance, Units: pl.opt.Units})
	if err != nil {
		return nil, err
	}
	return (&whole{sc: m.Scenario, model: m, fan: fan}).answers(rods), nil
}

// answers reads the answers of trials from the whole that they were solved in, by its rods.
func (e *whole) answers(rods []int) []answer {
	out := make([]answer, len(rods))
	for i, k := range rods {
		if k < 0 {
			continue
		}
		if t := &e.fan.Rods[k]; len(t.Parts) > 0 || t.Status != sternfan.StatusRefused {
			out[i] = e.answer(k)
		}
		out[i].parts = e.model.Scenario.Rods[k].Rig.Parts
	}
	return out
}

// foot returns where a device is fixed to the boat.
func (pl *planner) foot(device string) (at geom.Vec, ok bool) {
	if n := pl.downrigger(device); n >= 0 {
		if b := pl.sc.Boat.Boom(pl.sc.Downriggers[n].Boom); b != nil {
			return b.End, true
		}
	}
	if n := pl.mastBoard(device); n >= 0 {
		if m := pl.sc.Boat.Mast(pl.sc.MastBoards[n].Mast); m != nil {
			return m.Top, true
		}
	}
	return at, false
}

func (pl *planner) canceled() bool { return pl.ctx.Err() != nil }
