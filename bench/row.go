package bench

import (
	"context"
	"slices"
	"strconv"

	"sternfan"
	"sternfan/tackle"
	"sternfan/unit"
)

// Trial is a rod to be solved by itself: without mates, on a device like its own that no
// other rod is on.
type Trial struct {
	Rod    sternfan.Rod
	Source string  // id of the boat's rod that it stands for: its calibrations hold
	Cable  float64 // of its downrigger, m; 0: as the boat has it
}

// Row makes one spread of many trials, as rods that do not know of each other: they share
// the work that does not depend on the rod. It returns its model and which of its rods each
// trial is, -1 for one that cannot be set as it is asked, as with more colors than the reel
// has. The speed probe on a ball is where that ball hangs in the boat. The error is
// sternfan.Faults or ctx's.
func (b *Boat) Row(ctx context.Context, ask []Trial) (m *tackle.Model, rods []int, err error) {
	base := *b.Scenario
	if base.Speed, err = b.pinned(ctx); err != nil {
		return nil, nil, err
	}
	rods = make([]int, len(ask))
	for {
		sc, owners := gather(&base, ask, rods)
		m, faults := tackle.Resolve(sc)
		if len(faults) == 0 {
			return m, rods, nil
		}
		found := false
		for _, f := range faults {
			if i, ok := owners[f.Of]; ok {
				rods[i], found = -1, true
			}
		}
		if !found {
			return nil, nil, faults
		}
	}
}

func trialName(k int) string  { return "r" + strconv.Itoa(k) }
func deviceName(k int) string { return "d" + strconv.Itoa(k) }

// gather makes one scenario of the trials that are not left out yet, numbers their rods, and
// returns which trial each of its rods and devices is of.
func gather(base *sternfan.Scenario, ask []Trial, rods []int) (out *sternfan.Scenario, owners map[string]int) {
	owners = map[string]int{}
	sc := *base
	sc.Rods, sc.Downriggers, sc.MastBoards = nil, nil, nil
	sc.Calibrations, sc.Uncertainty = nil, nil
	byRod, byDevice := map[string][]int{}, map[string][]int{}
	for i := range ask {
		if rods[i] < 0 {
			continue
		}
		t, k := &ask[i], len(sc.Rods)
		rods[i] = k
		rod, device := t.Rod, t.Rod.Device()
		rod.ID = trialName(k)
		owners[rod.ID], owners[deviceName(k)] = i, i
		byRod[t.Source] = append(byRod[t.Source], k)
		if found := base.Downrigger(device); found != nil {
			d := *found
			if d.ID = deviceName(k); t.Cable > 0 {
				d.CableOut.Value = unit.Length(t.Cable)
			}
			sc.Downriggers = append(sc.Downriggers, d)
		}
		for _, m := range base.MastBoards {
			if m.ID == device {
				m.ID = deviceName(k)
				sc.MastBoards = append(sc.MastBoards, m)
			}
		}
		if device != "" {
			clipTo(&rod, deviceName(k))
			byDevice[device] = append(byDevice[device], k)
		}
		sc.Rods = append(sc.Rods, rod)
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
	for _, c := range base.Calibrations {
		for _, name := range spreadOut(c.Name) {
			c.Name = name
			sc.Calibrations = append(sc.Calibrations, c)
		}
	}
	for _, o := range base.Uncertainty {
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
