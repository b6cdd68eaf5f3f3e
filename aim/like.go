package aim

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/tackle"
	"sternfan/unit"
)

// Like understands a setting heard from elsewhere, finds where its lure runs in this
// boat's water, and aims every rod there. When ctx ends first the rods so far are told, not
// Finished. The error is sternfan.Faults for words that are not known, or ctx's when there is
// nothing yet.
func (b *Boat) Like(ctx context.Context, said string) (*sternfan.AimLike, error) {
	h, err := listen(said)
	if err != nil {
		return nil, err
	}
	out := &sternfan.AimLike{Version: sternfan.FileVersion, Said: said, Taken: []string{}, Assumed: []string{}, Ways: []sternfan.Aim{}}
	if h.down.Given {
		out.Taken = append(out.Taken, "a lure "+b.opt.Units.Depth(h.down.Value)+" down")
		out.Lure.Depth, out.Lure.DepthLo, out.Lure.DepthHi = h.down.SI(), h.down.SI(), h.down.SI()
		out.Speed = b.model.GivenSpeed()
	} else {
		v := &virtual{boat: b, heard: h, out: out}
		if err := v.solve(ctx); err != nil {
			return nil, err
		}
	}
	one := *b
	one.opt.Progress = nil // which counts rods
	for i := range b.sc.Rods {
		if b.opt.Progress != nil {
			b.opt.Progress(i, len(b.sc.Rods))
		}
		k, err := one.bench(ctx, i, "")
		if ctx.Err() != nil {
			break
		}
		if err != nil {
			continue // it cannot be fished as described, and run says so
		}
		req := Request{Rod: b.sc.Rods[i].ID, Depth: out.Lure.Depth, Keep: []string{keySpeed.Option()}}
		if err := k.check(req); err != nil {
			return nil, err
		}
		k.req = req
		a, err := k.reachOnly(ctx)
		if err != nil && ctx.Err() == nil {
			return nil, err
		}
		if err == nil {
			out.Ways = append(out.Ways, *a)
		}
	}
	if out.Finished = ctx.Err() == nil; !out.Finished && len(out.Ways) == 0 {
		return nil, ctx.Err()
	}
	return out, nil
}

// virtual is the rod that was heard of, put on this boat.
type virtual struct {
	boat  *Boat
	heard heard
	out   *sternfan.AimLike
}

func (v *virtual) taken(s string)   { v.out.Taken = append(v.out.Taken, s) }
func (v *virtual) assumed(s string) { v.out.Assumed = append(v.out.Assumed, s) }

func lacks(text, hint string) error {
	return sternfan.Faults{{Code: "not-enough", Text: text, Hint: hint}}
}

func (v *virtual) solve(ctx context.Context) error {
	h := &v.heard
	if h.kind == "" {
		switch {
		case h.line == "lead-core" || h.line == "copper" || h.line == "weighted-steel":
			h.kind = sternfan.RigWeighted
		case h.dial.Given || h.size != "" || h.ring.Given || h.tripped:
			h.kind = sternfan.RigDiver
		case h.cable.Given || h.ball.Given:
			h.kind = sternfan.RigDownrigger
		case h.weight || h.lure != "" || h.line != "":
			h.kind = sternfan.RigFlat
		default:
			return lacks("this does not say what is fished", "name the device or the line, as in: wire, large diver, dial 2, 180ft")
		}
	}
	rod, err := v.rod()
	if err != nil {
		return err
	}
	sc := *v.boat.sc
	sc.Rods = []sternfan.Rod{*rod}
	if h.kind == sternfan.RigDownrigger {
		if err := v.downrigger(&sc); err != nil {
			return err
		}
	}
	if sp := &sc.Speed; sp.Given == sternfan.SpeedProbe && sp.Ball != "" && sp.Ball != sc.Rods[0].Device() {
		// The ball hangs as this boat has it, her own rods on it.
		z, err := v.boat.rods.Probe(ctx)
		if err != nil {
			return err
		}
		sp.Ball, sp.Depth = "", sternfan.Of(unit.Length(z))
	}
	if h.speed.Given {
		sc.Speed.Value.Value = h.speed.Value
		v.taken(v.boat.opt.Units.Speed(h.speed.Value))
	} else {
		v.assumed("this boat's speed, " + v.boat.opt.Units.Speed(unit.Speed(v.boat.model.GivenSpeed())))
	}
	v.assumed("this boat's water")
	other, err := New(&sc, v.boat.opt)
	if err != nil {
		return err
	}
	k, err := other.bench(ctx, 0, "")
	if err != nil {
		return err
	}
	fan, err := k.Begin(ctx, v.boat.opt.Intervals)
	if err != nil {
		return err
	}
	t := &fan.Rods[0]
	if len(t.Lures) <= k.lure || t.Status == sternfan.StatusNotConverged {
		return lacks("no resting place is found for that gear and setting", "check the numbers that were heard")
	}
	v.out.Lure, v.out.Speed = t.Lures[k.lure], other.model.GivenSpeed()
	return nil
}

// rod makes the rod: from one of this boat's that is most like it, changed as heard.
func (v *virtual) rod() (*sternfan.Rod, error) {
	h := &v.heard
	rod := sternfan.Rod{ID: "heard"}
	from := v.likest()
	if from != nil {
		rod.Holder = from.Holder
		rod.Settings = from.Settings
		rod.Settings.Section = sternfan.Q[unit.Length]{}
		rod.Settings.TripLoad, rod.Settings.SetLoad = sternfan.Q[unit.Force]{}, sternfan.Q[unit.Force]{}
		rod.Rig = from.Rig
		rod.Rig.Behind = slices.Clone(from.Rig.Behind)
		rod.Rig.Slider, rod.Rig.Parts = nil, nil
	} else {
		rod.Holder = v.boat.sc.Boat.Holders[0].ID
		rod.Rig = sternfan.Rig{Kind: h.kind}
	}
	if h.side != sternfan.Amidships {
		rod.Settings.Side = h.side
		v.taken("to " + h.side.String())
	} else if rod.Settings.Side == sternfan.Amidships {
		if rod.Settings.Side = v.sideOf(rod.Holder); rod.Settings.Side == sternfan.Amidships {
			rod.Settings.Side = sternfan.Starboard
		}
	}
	rod.Rig.Kind = h.kind
	if h.board {
		rod.Rig.Kind = sternfan.RigBoard
		if rod.Rig.Board == "" {
			rod.Rig.Board = "board-in-line"
		}
		v.taken("an in-line board")
	}
	rod.Settings.CountFrom, rod.Settings.Bottom, rod.Settings.Tripped = "", "", h.tripped
	v.device(&rod)
	v.mainLine(&rod)
	v.behind(&rod, from)
	if err := v.settings(&rod); err != nil {
		return nil, err
	}
	return &rod, nil
}

func (v *virtual) sideOf(holder string) sternfan.Side {
	if h := v.boat.sc.Boat.Holder(holder); h != nil {
		return h.Side()
	}
	return sternfan.Amidships
}

// likest is the rod of the boat whose rig is most like what was heard.
func (v *virtual) likest() *sternfan.Rod {
	h := &v.heard
	var best *sternfan.Rod
	most := 0
	for i := range v.boat.sc.Rods {
		r := &v.boat.sc.Rods[i]
		kind := h.kind
		if h.board {
			kind = sternfan.RigBoard
		}
		if r.Rig.Kind != kind {
			continue
		}
		score := 1
		if h.size != "" && strings.Contains(r.Rig.Diver, h.size) {
			score += 4
		}
		if h.line != "" && (strings.HasPrefix(r.Rig.Line, h.line) || strings.HasPrefix(r.Rig.Weighted, h.line)) {
			score += 2
		}
		if h.side != sternfan.Amidships && v.sideOf(r.Holder) == h.side {
			score++
		}
		if score > most {
			best, most = r, score
		}
	}
	return best
}

func (v *virtual) device(rod *sternfan.Rod) {
	h := &v.heard
	if h.kind != sternfan.RigDiver && h.kind != sternfan.RigSlideThrough {
		rod.Rig.Diver = ""
		rod.Settings.Dial, rod.Settings.Ring = sternfan.Q[float64]{}, sternfan.Q[float64]{}
		return
	}
	family := "diver-"
	if h.kind == sternfan.RigSlideThrough {
		family = "slide-through-"
	}
	if id := family + h.size; h.size != "" && tackle.Known("diver", id) && !strings.Contains(rod.Rig.Diver, h.size) {
		rod.Rig.Diver = id
	}
	if rod.Rig.Diver == "" {
		rod.Rig.Diver = family + "standard"
	}
	if h.size != "" {
		v.taken(rod.Rig.Diver)
	} else {
		v.assumed(rod.Rig.Diver)
	}
}

// mainLine picks a line of the kind heard, of the strength nearest to what was said.
func (v *virtual) mainLine(rod *sternfan.Rod) {
	h := &v.heard
	target := &rod.Rig.Line
	sinking := h.kind == sternfan.RigWeighted
	if sinking || h.board && (h.line == "lead-core" || h.line == "copper" || h.line == "weighted-steel") {
		target = &rod.Rig.Weighted
		if rod.Rig.Line == "" && h.board {
			rod.Rig.Line = "braid-50"
		}
	} else {
		rod.Rig.Weighted = ""
	}
	kind := h.line
	all := gearOf(v.boat.model.Scenario.Gear.Lines, tackle.Builtins().Lines, func(l *sternfan.Line) string { return l.ID })
	var now *sternfan.Line
	for i := range all {
		if all[i].ID == *target {
			now = &all[i]
		}
	}
	if kind == "" && now != nil && !h.strength.Given {
		v.assumed(now.ID)
		return
	}
	if kind == "" {
		kind = "braid"
		if now != nil {
			kind = now.Kind
		}
	}
	want := h.strength.SI()
	if want == 0 {
		if now != nil && now.Kind == kind {
			v.taken(now.ID)
			return
		}
		want = 30 * float64(unit.PoundForce)
	}
	all = slices.DeleteFunc(all, func(l sternfan.Line) bool { return l.Kind != kind || l.Solid.Value == 1 })
	if len(all) == 0 {
		return
	}
	best := slices.MinFunc(all, func(a, b sternfan.Line) int {
		return cmp.Compare(math.Abs(a.Strength.SI()-want), math.Abs(b.Strength.SI()-want))
	})
	*target = best.ID
	v.taken(best.ID)
}

// behind puts the lure and the attractor that were heard in the place of the present ones.
func (v *virtual) behind(rod *sternfan.Rod, from *sternfan.Rod) {
	h := &v.heard
	parts := rod.Rig.Behind
	if from == nil || len(parts) == 0 {
		parts = []sternfan.Part{{Kind: sternfan.PartLeader, Gear: "fluoro-20", Length: sternfan.Of(6 * unit.Foot)}, {Kind: sternfan.PartLure, Gear: "spoon-standard"}}
		if h.kind == sternfan.RigDiver {
			parts = slices.Insert(parts, 0, sternfan.Part{Kind: sternfan.PartSnubber, Gear: "snubber-12in"})
		}
	}
	kinds := map[string]string{"spoon": "spoon-standard", "spoon light": "spoon-light", "spoon large": "spoon-large", "fly": "fly-tinsel",
		"plug": "plug-cut", "plug deep": "plug-deep", "plug shallow": "plug-shallow", "bait": "bait-rig"}
	lure := kinds[strings.TrimSpace(h.lure+" "+h.lureSize)]
	if lure == "" {
		lure = kinds[h.lure]
	}
	attractor := map[string]string{"flasher": "flasher-8in", "dodger": "dodger-8in", "paddle": "paddle-10in"}[h.attr]
	for i := range parts {
		p := &parts[i]
		switch p.Kind {
		case sternfan.PartLure:
			if lure != "" {
				p.Gear = lure
			}
		case sternfan.PartAttractor:
			if attractor != "" {
				p.Gear, attractor = attractor, ""
			}
		case sternfan.PartLeader:
			if h.leader.Given {
				p.Length = h.leader
			}
		}
	}
	if attractor != "" {
		at := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartLeader })
		parts = slices.Insert(parts, max(at, 0), sternfan.Part{Kind: sternfan.PartAttractor, Gear: attractor})
	}
	if h.weight {
		id := "sinker-2oz"
		if h.ounces.Given {
			all := tackle.Builtins().Weights
			id = slices.MinFunc(all, func(a, b sternfan.Weight) int {
				return cmp.Compare(math.Abs(float64(a.Mass.Value-h.ounces.Value)), math.Abs(float64(b.Mass.Value-h.ounces.Value)))
			}).ID
		}
		parts = slices.DeleteFunc(parts, isWeight)
		parts = slices.Insert(parts, 0, sternfan.Part{Kind: sternfan.PartWeight, Gear: id})
		v.taken(id)
	}
	rod.Rig.Behind = parts
	var names []string
	for _, p := range parts {
		name := p.Gear
		if p.Length.Given {
			name += " " + v.boat.opt.Units.Depth(p.Length.Value)
		}
		names = append(names, name)
	}
	said := "behind it " + strings.Join(names, ", ")
	if h.lure != "" || h.attr != "" || h.leader.Given {
		v.taken(said)
	} else {
		v.assumed(said)
	}
}

func (v *virtual) settings(rod *sternfan.Rod) error {
	h := &v.heard
	u := v.boat.opt.Units
	set := &rod.Settings
	if h.kind == sternfan.RigDiver || h.kind == sternfan.RigSlideThrough {
		switch {
		case h.dial.Given:
			set.Dial = h.dial
			v.taken("dial " + number(h.dial.SI()))
		case h.kind == sternfan.RigDiver && !h.tripped:
			return lacks("this does not say the diver's dial", "add it, as in: dial 2")
		default:
			set.Dial = sternfan.Q[float64]{}
		}
		if h.ring.Given {
			v.taken("ring " + keyRing.Words[int(h.ring.SI())])
			set.Ring = h.ring
		} else if h.kind == sternfan.RigDiver {
			v.assumed("ring off")
			set.Ring = sternfan.Of(0.0)
		}
		if h.ring.SI() == 0 {
			set.Ring = sternfan.Q[float64]{}
		}
	}
	switch h.kind {
	case sternfan.RigDownrigger:
		set.LineOut = sternfan.Q[unit.Length]{}
		lead := h.lead
		if !lead.Given {
			lead = h.out // what goes out of the rod before the clip is the lead
		}
		if lead.Given {
			set.Lead = lead
			v.taken(u.Depth(lead.Value) + " lead")
		} else if !set.Lead.Given {
			set.Lead = sternfan.Of(20 * unit.Foot)
			v.assumed("20 ft lead")
		}
		if h.above.Given {
			set.AboveBall = h.above
			v.taken("release " + u.Depth(h.above.Value) + " above the ball")
		}
		return nil
	case sternfan.RigWeighted:
		set.Lead = sternfan.Q[unit.Length]{}
		if h.colors.Given {
			set.Colors, set.LineOut = h.colors, sternfan.Q[unit.Length]{}
			if h.out.Given {
				set.LineOut = h.out
			}
			v.taken(number(h.colors.SI()) + " colors")
			return nil
		}
		set.Colors = sternfan.Q[float64]{}
	}
	if h.board {
		if h.out.Given && !h.lead.Given && h.line != "lead-core" {
			h.lead = h.out
		} else if h.out.Given {
			set.LineOut = h.out
		}
		if !set.LineOut.Given {
			set.LineOut = sternfan.Of(100 * unit.Foot)
		}
		if h.colors.Given {
			set.Colors = h.colors
		}
		if h.lead.Given {
			set.Lead = h.lead
			v.taken(u.Depth(h.lead.Value) + " behind the board")
		}
		return nil
	}
	if !h.out.Given {
		return lacks("this does not say how much line is out", "add it with its unit, as in: 180ft")
	}
	set.LineOut = h.out
	v.taken(u.Depth(h.out.Value) + " out")
	if h.kind == sternfan.RigSlideThrough {
		if h.lead.Given {
			set.Lead = h.lead
			v.taken(u.Depth(h.lead.Value) + " lead")
		} else {
			if !set.Lead.Given {
				set.Lead = sternfan.Of(30 * unit.Foot)
			}
			v.assumed(u.Depth(set.Lead.Value) + " lead")
		}
	}
	return nil
}

// downrigger puts the rod on a cable of this boat with the ball that was heard.
func (v *virtual) downrigger(sc *sternfan.Scenario) error {
	h := &v.heard
	if len(sc.Downriggers) == 0 {
		return lacks("this boat has no downrigger to compare with", "say how deep it ran instead, as in: 65ft down")
	}
	if !h.cable.Given {
		return lacks("this does not say how much cable is out", "add it, as in: 80ft of cable, or say 65ft down")
	}
	at := slices.IndexFunc(sc.Downriggers, func(d sternfan.Downrigger) bool { return d.ID == sc.Rods[0].Rig.Downrigger })
	sc.Downriggers = slices.Clone(sc.Downriggers)
	d := &sc.Downriggers[max(at, 0)]
	sc.Rods[0].Rig.Downrigger = d.ID
	d.CableOut, d.Bottom = h.cable, ""
	v.taken(v.boat.opt.Units.Depth(h.cable.Value) + " of cable")
	if h.ball.Given {
		all := tackle.Builtins().Balls
		d.Ball = slices.MinFunc(all, func(a, b sternfan.Ball) int {
			return cmp.Compare(math.Abs(float64(a.Mass.Value-h.ball.Value)), math.Abs(float64(b.Mass.Value-h.ball.Value)))
		}).ID
		v.taken(d.Ball)
	} else {
		v.assumed(d.Ball)
	}
	return nil
}
