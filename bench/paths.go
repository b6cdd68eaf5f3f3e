package bench

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/setting"
	"sternfan/spread"
	"sternfan/unit"
)

// Paths returns what one rod can reach: for each whole mark of its dial (or its one
// setting when it has no dial) the way the lure takes as line goes out, at whole counts.
// Where a count cannot be fished its tick says why. The error is sternfan.Faults when the
// rod is not there or cannot be fished at all, or ctx's.
func (b *Boat) Paths(ctx context.Context, id string, intervals bool) (*sternfan.Paths, error) {
	if _, err := Find(b.Scenario, id); err != nil {
		return nil, err
	}
	k, err := b.Of(ctx, id)
	if err != nil {
		return nil, err
	}
	out := &sternfan.Paths{Rod: id, Vary: "setting"}
	dial, marks := k.Settings().Dial, []float64{0}
	if dial.Given {
		out.Vary = "dial"
		marks = k.marks()
	}
	key, counts := k.counts()
	for _, mark := range marks {
		p := sternfan.Path{Mark: mark, Label: "as set"}
		if dial.Given {
			p.Label = fmt.Sprintf("dial %g", mark)
			dial.Value = mark
		}
		for _, n := range counts {
			sc := *k.Scenario
			sc.Rods, sc.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
			set := &sc.Rods[k.Rod].Settings
			set.Dial = dial
			number := n
			if key == "colors" {
				number /= float64(unit.Color)
				if set.LineOut.Given {
					set.LineOut.Value += unit.Length(n - set.Colors.SI()*float64(unit.Color))
				}
			}
			setting.Named(key).Set(setting.Of(&sc, &sc.Rods[k.Rod]), setting.Value{Given: true, Number: number})
			tick, err := k.tick(ctx, &sc, intervals)
			if err != nil {
				return nil, err
			}
			tick.Count = n
			p.Ticks = append(p.Ticks, tick)
			if tick.Status == sternfan.StatusBottom || tick.Status == sternfan.StatusOverStrength {
				break
			}
		}
		out.Paths = append(out.Paths, p)
	}
	return out, nil
}

// marks returns the whole marks of the rod's diver and the one that it has, ascending.
func (k *Bench) marks() []float64 {
	most := 4.0
	for _, p := range k.Parts() {
		for _, d := range k.Model.Scenario.Gear.Divers {
			if p.Kind == sternfan.PartDiver && d.ID == p.Gear && len(d.DialMarks) > 0 {
				most = d.DialMarks[len(d.DialMarks)-1]
			}
		}
	}
	out := []float64{k.Settings().Dial.SI()}
	for m := 0.0; m <= most; m++ {
		out = append(out, m)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// counts returns the setting by which line goes out of the rod, and the whole counts, in
// meters, at which its path is ticked. Behind a board, or from a mast board's line, it is
// the lead that goes out.
func (k *Bench) counts() (key string, counts []float64) {
	set, g := k.Settings(), &k.Model.Groups[k.Group]
	if set.Colors.Given {
		for n := 1.0; n <= math.Max(10, set.Colors.SI()); n++ {
			counts = append(counts, n*float64(unit.Color))
		}
		return "colors", counts
	}
	now := set.LineOut
	switch key = "line_out"; {
	case g.Downrigger >= 0:
		key, now = "cable_out", k.Scenario.Downriggers[g.Downrigger].CableOut
	case g.MastBoard >= 0 || slices.ContainsFunc(k.Parts(), func(p sternfan.Part) bool { return p.Kind == sternfan.PartBoard }):
		key, now = "lead", set.Lead
	}
	far := math.Max(1.5*now.SI()/float64(unit.Foot), 100)
	step := 20.0
	for far/step > 14 {
		step += 10
	}
	for n := step; n <= far+1e-9; n += step {
		counts = append(counts, n*float64(unit.Foot))
	}
	return key, counts
}

// tick solves a variation, and says why where it has no answer.
func (k *Bench) tick(ctx context.Context, sc *sternfan.Scenario, intervals bool) (sternfan.PathTick, error) {
	tick := sternfan.PathTick{Status: sternfan.StatusRefused}
	m, faults := k.Again(sc)
	if len(faults) > 0 {
		tick.Why = faults[0].Text
		return tick, ctx.Err()
	}
	if why := refusal(m, k.Rod); why != nil {
		tick.Why = why.Text
		return tick, ctx.Err()
	}
	opt := k.Options()
	opt.Intervals = intervals
	fan, err := spread.Solve(ctx, m, opt)
	if err != nil {
		return tick, err
	}
	t := &fan.Rods[k.Rod]
	if tick.Status = t.Status; t.Status == sternfan.StatusNotConverged || len(t.Lures) == 0 {
		tick.Why = "no resting place is found"
		return tick, nil
	}
	tick.LureFan, tick.TipPull = t.Lures[len(t.Lures)-1], t.TipPull
	return tick, nil
}
