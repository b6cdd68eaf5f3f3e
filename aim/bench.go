package aim

import (
	"context"
	"slices"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// bench is one rod with whatever shares its cable or board, away from the other rods.
type bench struct {
	boat  *Boat
	sc    *sternfan.Scenario // that rod and its mates alone; a copy
	rod   int                // in sc
	whole int                // the same rod in the boat's scenario
	model *tackle.Model      // of sc
	facts facts
	lure  int // which of the rod's lures is aimed
	req   Request
	now   *sternfan.Fan
	stand *spread.Sweep   // the rod as it is, solved
	heads []*spread.Sweep // solved, one of each kind of system: what is solved next begins there
	spare *spread.Sweep   // done with: its memory is free; nil: none

	noChanges bool // a target out of reach is not worth other gear
}

// facts are what a rig has that settings act on.
type facts struct {
	downrigger int // in the bench's scenario, -1: none
	mast       int
	mates      int
	board      bool
	diver      *sternfan.Diver // nil: none, or tripped
	slides     bool            // it is a slide-through diver
	section    *sternfan.Line  // lead core, copper or steel
	behind     bool            // the section is behind a board: it goes out whole
	byColors   bool
	rest       float64 // what goes with the section in its length setting, m: leaders and the like
	long       float64 // length of the section, m
	weight     int     // index of the part with a clip-on or in-line weight, -1: none
	spool      float64 // line on the reel, m; 0: not known
}

// bench sets a rod apart.
func (b *Boat) bench(ctx context.Context, rod int, lure string) (*bench, error) {
	k := &bench{boat: b, whole: rod}
	sc := *b.sc
	gi := b.model.Rods[rod].Group
	if gi < 0 {
		for _, r := range b.model.Refused {
			if r.Rod == rod {
				return nil, sternfan.Faults{{Code: "refused", Path: r.Path, Text: r.Warning.Text, Hint: r.Warning.Hint}}
			}
		}
		return nil, sternfan.Faults{{Code: "refused", Text: "this rod cannot be fished as described", Found: b.sc.Rods[rod].ID}}
	}
	g := &b.model.Groups[gi]
	sc.Rods, sc.Downriggers, sc.MastBoards = nil, nil, nil
	for _, r := range g.Rods {
		if r == rod {
			k.rod = len(sc.Rods)
		}
		sc.Rods = append(sc.Rods, b.sc.Rods[r])
	}
	if g.Downrigger >= 0 {
		sc.Downriggers = append(sc.Downriggers, b.sc.Downriggers[g.Downrigger])
	}
	if g.MastBoard >= 0 {
		sc.MastBoards = append(sc.MastBoards, b.sc.MastBoards[g.MastBoard])
	}
	if sc.Speed.Given == sternfan.SpeedProbe && (g.Downrigger < 0 || sc.Downriggers[0].ID != sc.Speed.Ball) {
		z, err := b.probeDepth(ctx)
		if err != nil {
			return nil, err
		}
		sc.Speed.Ball, sc.Speed.Depth = "", sternfan.Of(unit.Length(z))
	}
	b.ratings(&sc)
	k.sc = &sc
	if err := k.resolve(); err != nil {
		return nil, err
	}
	k.look()
	if err := k.settle(); err != nil {
		return nil, err
	}
	if err := k.choose(lure); err != nil {
		return nil, err
	}
	return k, nil
}

// ratings puts the down force of a lipped plug, which takes a search of its own to find
// from its rated depth, in the place of the rating.
func (b *Boat) ratings(sc *sternfan.Scenario) {
	if len(sc.Calibrations)+len(sc.Uncertainty) > 0 {
		return
	}
	for _, e := range b.model.Registry {
		if e.Param != tackle.ParamDown {
			continue
		}
		for _, l := range b.model.Scenario.Gear.Lures {
			if l.ID != e.Target || l.DownArea.Given {
				continue
			}
			l.DownArea = sternfan.Q[unit.Area]{Value: unit.Area(e.Nominal), Given: true, Spread: e.Spread, Source: e.Source}
			sc.Gear.Lures = slices.Clone(sc.Gear.Lures)
			if i := slices.IndexFunc(sc.Gear.Lures, func(have sternfan.Lure) bool { return have.ID == l.ID }); i >= 0 {
				sc.Gear.Lures[i] = l
			} else {
				sc.Gear.Lures = append(sc.Gear.Lures, l)
			}
		}
	}
}

func (k *bench) resolve() error {
	m, faults := tackle.Again(k.boat.model, k.sc)
	if len(faults) > 0 {
		return faults
	}
	k.model = m
	return nil
}

func (k *bench) parts() []sternfan.Part { return k.model.Scenario.Rods[k.rod].Rig.Parts }

// line returns the line that a part is of, nil for none.
func (k *bench) line(p *sternfan.Part) *sternfan.Line {
	if p.Kind != sternfan.PartLine && p.Kind != sternfan.PartLeader {
		return nil
	}
	gear, id := &k.model.Scenario.Gear, p.Gear
	for i := range gear.Leaders {
		if gear.Leaders[i].ID == id {
			id = gear.Leaders[i].Line
		}
	}
	for i := range gear.Lines {
		if gear.Lines[i].ID == id {
			return &gear.Lines[i]
		}
	}
	return nil
}

func sinks(l *sternfan.Line) bool {
	return l != nil && (l.Kind == "lead-core" || l.Kind == "copper" || l.Kind == "weighted-steel")
}

// look finds the facts of the rig.
func (k *bench) look() {
	f := facts{downrigger: -1, mast: -1, weight: -1, mates: len(k.sc.Rods) - 1}
	g := &k.model.Groups[k.model.Rods[k.rod].Group]
	set := &k.sc.Rods[k.rod].Settings
	if g.Downrigger >= 0 {
		f.downrigger = 0
	}
	if g.MastBoard >= 0 {
		f.mast = 0
	}
	parts := k.parts()
	length := map[string]float64{}
	for _, i := range k.model.Rods[k.rod].Lines {
		length[g.Lines[i].ID] = g.Lines[i].Nominal
	}
	for i := range parts {
		p := &parts[i]
		switch p.Kind {
		case sternfan.PartBoard:
			f.board = true
			f.rest = 0
		case sternfan.PartDiver:
			for d := range k.model.Scenario.Gear.Divers {
				if dv := &k.model.Scenario.Gear.Divers[d]; dv.ID == p.Gear {
					f.slides = dv.Kind == "slide-through"
					if !set.Tripped {
						f.diver = dv
					}
				}
			}
		case sternfan.PartWeight:
			f.weight = i
		case sternfan.PartLine, sternfan.PartLeader, sternfan.PartSnubber:
			if l := k.line(p); sinks(l) && f.section == nil {
				f.section, f.behind, f.long = l, f.board, length[p.ID]
				f.byColors = l.Kind == "lead-core" && set.Colors.Given
				f.rest = 0
			} else if f.section != nil {
				f.rest += length[p.ID]
			}
		}
	}
	info := &k.model.Rods[k.rod]
	for _, w := range info.Spool {
		f.spool += w.Length
	}
	if info.Spool == nil && info.Reel != nil && info.Reel.Capacity.Given {
		f.spool = info.Reel.Capacity.SI()
	}
	k.facts = f
}

// fullCore is how many colors a full core has; common practice, no source.
const fullCore = 10

// settle writes a sinking section down as what it is on the water: its whole length goes
// out before any backing does.
func (k *bench) settle() error {
	f := &k.facts
	if f.section == nil || f.downrigger >= 0 || f.mast >= 0 {
		return nil
	}
	rod := &k.sc.Rods[k.rod]
	set := &rod.Settings
	switch {
	case f.behind && f.byColors:
		set.Lead = sternfan.Of(unit.Length(max(set.Lead.SI(), f.long+f.rest)))
	case f.behind && rod.Rig.Weighted != "" && rod.Rig.Kind == sternfan.RigBoard && k.ownLength() == 0:
		set.Section = sternfan.Of(unit.Length(f.long))
		set.Lead = sternfan.Of(unit.Length(max(set.Lead.SI(), f.long+f.rest)))
	case !f.behind && f.byColors && set.LineOut.Given && rod.Rig.Line != "":
		out := set.LineOut.SI() - k.overTip() - f.rest
		if out < set.Colors.SI()*float64(unit.Color)+.01 {
			// No backing is out: there may be more of the core on the reel.
			more := fullCore * float64(unit.Color)
			if r := k.model.Rods[k.rod].Reel; r != nil && r.Capacity.Given {
				more = r.Capacity.SI()
			}
			set.Colors.Value = max(set.Colors.Value, more/float64(unit.Color))
		}
	default:
		return nil
	}
	return k.resolve()
}

// overTip is what the counter does not count, m.
func (k *bench) overTip() float64 {
	if k.sc.Rods[k.rod].Settings.CountFrom == "water" {
		return k.model.Rods[k.rod].Tip.Z
	}
	return 0
}

// ownLength returns the length that the named section has by itself, m.
func (k *bench) ownLength() float64 {
	for _, l := range k.sc.Gear.Leaders {
		if l.ID == k.sc.Rods[k.rod].Rig.Weighted {
			return l.Length.SI()
		}
	}
	return 0
}

// choose finds which lure is aimed: the rod's own last unless one is named.
func (k *bench) choose(id string) error {
	info := &k.model.Rods[k.rod]
	g := &k.model.Groups[info.Group]
	var ids []string
	for _, n := range info.Lures {
		ids = append(ids, g.Nodes[n].ID)
	}
	own := map[string]bool{}
	for _, p := range k.parts() {
		own[p.ID] = p.Kind == sternfan.PartLure
	}
	if id == "" || id == string(sternfan.PartSlider) {
		k.lure = -1
		for i, name := range ids {
			if own[name] == (id == "") {
				k.lure = i
			}
		}
		if k.lure >= 0 {
			return nil
		}
	}
	if k.lure = slices.Index(ids, id); k.lure < 0 {
		return sternfan.Faults{{Code: "unknown-lure", Text: "this rod has no such lure", Found: id, Allowed: ids}}
	}
	return nil
}

// solved returns the fan of a variation of the bench's scenario, solved from nothing, and
// the sweep that stands there.
func (k *bench) solved(ctx context.Context, sc *sternfan.Scenario, intervals bool) (*sternfan.Fan, *spread.Sweep, error) {
	m, faults := tackle.Again(k.model, sc)
	if len(faults) > 0 {
		return nil, nil, faults
	}
	return k.solve(ctx, m, intervals)
}

func (k *bench) solve(ctx context.Context, m *tackle.Model, intervals bool) (*sternfan.Fan, *spread.Sweep, error) {
	s := spread.New(m, spread.Options{Intervals: intervals, Tolerance: m.Scenario.Solver.Tolerance, Units: k.boat.opt.Units})
	if k.spare != nil && m.Rods[k.rod].Group == k.model.Rods[k.rod].Group {
		s.Take(k.spare)
		k.spare = nil
	}
	fan, err := s.Fan(ctx)
	if err != nil {
		return nil, nil, err
	}
	if m.Rods[k.rod].Group < 0 {
		return fan, nil, nil
	}
	return fan, spread.NewStanding(s, k.rod), nil
}

// goOn makes a sweep begin where another of its kind stands, so that nothing is solved from
// nothing twice.
func (k *bench) goOn(s *spread.Sweep) {
	if k.stand != nil && s.GoOn(k.stand) {
		return
	}
	for _, h := range k.heads {
		if h == s || s.GoOn(h) {
			return
		}
	}
	k.heads = append(k.heads, s)
}

// withWay returns the bench's scenario with what a way changes.
func (k *bench) withWay(w *sternfan.Way) *sternfan.Scenario {
	var all []setting
	for _, s := range w.Settings {
		if s.Changed || s.Key == w.Vary {
			all = append(all, setting{s.Key, s.Value})
		}
	}
	return k.with(all...)
}

// take puts the rod of a variation, and the cable it is on, in the place of the boat's.
func (k *bench) take(sc, from *sternfan.Scenario) {
	sc.Rods[k.whole].Rig, sc.Rods[k.whole].Settings = from.Rods[k.rod].Rig, from.Rods[k.rod].Settings
	for i := range from.Downriggers {
		for j := range sc.Downriggers {
			if sc.Downriggers[j].ID == from.Downriggers[i].ID {
				sc.Downriggers[j].CableOut = from.Downriggers[i].CableOut
			}
		}
	}
	for _, l := range from.Gear.Leaders {
		i := slices.IndexFunc(sc.Gear.Leaders, func(have sternfan.Leader) bool { return have.ID == l.ID })
		if i < 0 {
			sc.Gear.Leaders = append(sc.Gear.Leaders, l)
		} else {
			sc.Gear.Leaders[i] = l
		}
	}
}
