package lay

import (
	"slices"
	"strconv"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// trial is a rod to be solved by itself, with the device that it is clipped to.
type trial struct {
	rod    sternfan.Rod
	source string  // id of the rod of the file: its calibrations hold
	cable  float64 // of the downrigger, m; 0: as in the file
}

// answer is a trial solved.
type answer struct {
	track  *sternfan.Track // nil: it cannot be fished at all
	device *sternfan.Track
	parts  []sternfan.Part // expanded
	course *clearance.Course
	ball   *clearance.Course
}

// try solves trials, each as if it were alone in the water. All go through the solver as
// one spread of many rods that do not know of each other.
func (pl *planner) try(ask []trial, intervals bool) ([]answer, error) {
	out := make([]answer, len(ask))
	live := make([]int, len(ask))
	for i := range live {
		live[i] = i
	}
	for len(live) > 0 {
		sc, owners := pl.gather(ask, live)
		m, faults := tackle.Resolve(sc)
		if len(faults) > 0 {
			// A setting may be more than a reel or a dial has: without that one, again.
			bad := map[int]bool{}
			for _, f := range faults {
				if i, ok := owners[f.Of]; ok {
					bad[i] = true
				}
			}
			if len(bad) == 0 {
				return nil, faults
			}
			live = slices.DeleteFunc(live, func(i int) bool { return bad[i] })
			continue
		}
		fan, err := spread.Solve(pl.ctx, m, spread.Options{Intervals: intervals, Tolerance: pl.sc.Solver.Tolerance, Units: pl.opt.Units})
		if err != nil {
			return nil, err
		}
		answers(out, live, m, fan)
		break
	}
	return out, nil
}

// answers reads the answers of the live trials from the fan that they were solved in.
func answers(out []answer, live []int, m *tackle.Model, fan *sternfan.Fan) {
	devices := map[string]int{}
	for i := range fan.Devices {
		devices[fan.Devices[i].Rod] = i
	}
	for k, i := range live {
		a := &out[i]
		a.parts = m.Scenario.Rods[k].Rig.Parts
		t := &fan.Rods[k]
		if len(t.Parts) == 0 && t.Status == sternfan.StatusRefused {
			continue
		}
		a.track = t
		a.course = clearance.CourseOf(m.Scenario, t, k)
		if at, ok := devices[deviceName(k)]; ok {
			a.device = &fan.Devices[at]
			a.ball = clearance.CourseOf(m.Scenario, a.device, -1)
		}
	}
}

func trialName(k int) string  { return "r" + strconv.Itoa(k) }
func deviceName(k int) string { return "d" + strconv.Itoa(k) }

// gather makes one scenario of the live trials, and returns which trial each of its rods
// and devices is of.
func (pl *planner) gather(ask []trial, live []int) (out *sternfan.Scenario, owners map[string]int) {
	owners = map[string]int{}
	sc := *pl.sc
	sc.Speed = pl.speed
	sc.Rods, sc.Downriggers, sc.MastBoards = nil, nil, nil
	sc.Calibrations, sc.Uncertainty = nil, nil
	byRod, byDevice := map[string][]int{}, map[string][]int{}
	for k, i := range live {
		t := &ask[i]
		r := t.rod
		r.ID = trialName(k)
		owners[r.ID], owners[deviceName(k)] = i, i
		byRod[t.source] = append(byRod[t.source], k)
		device := r.Device()
		if n := pl.downrigger(device); n >= 0 {
			d := pl.sc.Downriggers[n]
			d.ID = deviceName(k)
			if t.cable > 0 {
				d.CableOut.Value = unit.Length(t.cable)
			}
			sc.Downriggers = append(sc.Downriggers, d)
			clipTo(&r, d.ID)
			byDevice[device] = append(byDevice[device], k)
		} else if n := pl.mastBoard(device); n >= 0 {
			b := pl.sc.MastBoards[n]
			b.ID = deviceName(k)
			sc.MastBoards = append(sc.MastBoards, b)
			clipTo(&r, b.ID)
			byDevice[device] = append(byDevice[device], k)
		}
		sc.Rods = append(sc.Rods, r)
	}
	// What was measured of a rod holds for every trial of it.
	spreadOut := func(name string) []string {
		of, target, param := sternfan.SplitEntryName(name)
		trials, named := byRod[target], trialName
		switch of {
		case "rod":
		case "downrigger", "mastboard":
			trials, named = byDevice[target], deviceName
		default:
			return []string{name}
		}
		var out []string
		for _, k := range trials {
			out = append(out, sternfan.EntryName(of, named(k), param))
		}
		return out
	}
	for _, c := range pl.sc.Calibrations {
		for _, name := range spreadOut(c.Name) {
			c.Name = name
			sc.Calibrations = append(sc.Calibrations, c)
		}
	}
	for _, o := range pl.sc.Uncertainty {
		for _, name := range spreadOut(o.Name) {
			o.Name = name
			sc.Uncertainty = append(sc.Uncertainty, o)
		}
	}
	return &sc, owners
}

func clipTo(r *sternfan.Rod, id string) {
	if r.Rig.Downrigger != "" {
		r.Rig.Downrigger = id
	}
	if r.Rig.MastBoard != "" {
		r.Rig.MastBoard = id
	}
	r.Rig.Parts = slices.Clone(r.Rig.Parts)
	for i := range r.Rig.Parts {
		if r.Rig.Parts[i].Kind == sternfan.PartRelease {
			r.Rig.Parts[i].On = id
		}
	}
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

// steadySpeed returns the speed that trials are solved at. One that is measured on a ball
// depends on that ball's depth, so it is turned into the speed through the surface water.
func (pl *planner) steadySpeed() (sternfan.Speed, error) {
	sp := pl.sc.Speed
	if sp.Given != sternfan.SpeedProbe || sp.Ball == "" {
		return sp, nil
	}
	sc := *pl.sc
	sc.Rods = nil
	m, faults := tackle.Resolve(&sc)
	if len(faults) > 0 {
		return sp, faults
	}
	fan, err := spread.Solve(pl.ctx, m, spread.Options{Tolerance: pl.sc.Solver.Tolerance})
	if err != nil {
		return sp, err
	}
	out := sternfan.Speed{Given: sternfan.SpeedSurface, Band: sp.Band}
	out.Value = sp.Value
	out.Value.Value = unit.Speed(fan.Speed.Surface)
	return out, nil
}

func (pl *planner) canceled() bool { return pl.ctx.Err() != nil }
