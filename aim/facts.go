package aim

import (
	"context"

	"sternfan"
	"sternfan/bench"
	"sternfan/unit"
)

// aiming is a rod set apart to be aimed.
type aiming struct {
	*bench.Bench
	boat  *Boat
	facts facts
	lure  int // which of the rod's lures is aimed
	req   Request
	now   *sternfan.Fan

	noChanges bool // a target out of reach is not worth other gear
}

// bench sets a rod apart.
func (b *Boat) bench(ctx context.Context, rod int, lure string) (*aiming, error) {
	apart, err := b.rods.Of(ctx, b.sc.Rods[rod].ID)
	if err != nil {
		return nil, err
	}
	k := &aiming{Bench: apart, boat: b}
	k.look()
	if err := k.settle(); err != nil {
		return nil, err
	}
	if k.lure, err = k.Lure(lure); err != nil {
		return nil, err
	}
	return k, nil
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

// line returns the line that a part is of, nil for none.
func (k *aiming) line(p *sternfan.Part) *sternfan.Line {
	if p.Kind != sternfan.PartLine && p.Kind != sternfan.PartLeader {
		return nil
	}
	gear, id := &k.Model.Scenario.Gear, p.Gear
	if l := sternfan.FindGear(gear.Leaders, id); l != nil {
		id = l.Line
	}
	return sternfan.FindGear(gear.Lines, id)
}

func sinks(l *sternfan.Line) bool {
	return l != nil && (l.Kind == "lead-core" || l.Kind == "copper" || l.Kind == "weighted-steel")
}

// look finds the facts of the rig.
func (k *aiming) look() {
	f := facts{downrigger: -1, mast: -1, weight: -1, mates: k.Mates()}
	g := &k.Model.Groups[k.Info().Group]
	set := k.Settings()
	if g.Downrigger >= 0 {
		f.downrigger = 0
	}
	if g.MastBoard >= 0 {
		f.mast = 0
	}
	parts := k.Parts()
	length := map[string]float64{}
	for _, i := range k.Info().Lines {
		length[g.Lines[i].ID] = g.Lines[i].Nominal
	}
	for i := range parts {
		p := &parts[i]
		switch p.Kind {
		case sternfan.PartBoard:
			f.board = true
			f.rest = 0
		case sternfan.PartDiver:
			if d := sternfan.FindGear(k.Model.Scenario.Gear.Divers, p.Gear); d != nil {
				if f.slides = d.Kind == "slide-through"; !set.Tripped {
					f.diver = d
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
	info := k.Info()
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
func (k *aiming) settle() error {
	f := &k.facts
	if f.section == nil || f.downrigger >= 0 || f.mast >= 0 {
		return nil
	}
	rod := &k.Scenario.Rods[k.Rod]
	set := &rod.Settings
	switch {
	case f.behind && f.byColors:
		set.Lead = sternfan.Of(unit.Length(max(set.Lead.SI(), f.long+f.rest)))
	case f.behind && rod.Rig.Weighted != "" && rod.Rig.Kind == sternfan.RigBoard && sectionLength(k.Scenario, rod) == 0:
		set.Section = sternfan.Of(unit.Length(f.long))
		set.Lead = sternfan.Of(unit.Length(max(set.Lead.SI(), f.long+f.rest)))
	case !f.behind && f.byColors && set.LineOut.Given && rod.Rig.Line != "":
		out := set.LineOut.SI() - k.overTip() - f.rest
		if out < set.Colors.SI()*float64(unit.Color)+.01 {
			// No backing is out: there may be more of the core on the reel.
			more := fullCore * float64(unit.Color)
			if r := k.Info().Reel; r != nil && r.Capacity.Given {
				more = r.Capacity.SI()
			}
			set.Colors.Value = max(set.Colors.Value, more/float64(unit.Color))
		}
	default:
		return nil
	}
	return k.Resolve()
}

// overTip is what the counter does not count, m.
func (k *aiming) overTip() float64 {
	if k.Scenario.Rods[k.Rod].Settings.CountFrom == "water" {
		return k.Info().Tip.Z
	}
	return 0
}

// withWay returns the bench's scenario with what a way changes.
func (k *aiming) withWay(w *sternfan.Way) *sternfan.Scenario {
	var all []setTo
	for _, s := range w.Settings {
		if s.Changed || s.Key == w.Vary {
			all = append(all, setTo{named(s.Key), s.Value})
		}
	}
	return k.with(all...)
}
