// Package bench sets one rod of a boat apart, with the device that it is clipped to, the
// rods on the same device and the speed probe, and asks about it alone: at other settings,
// in other worlds, near the last answer. Rods that share no device do not know of each
// other, so that what is solved here is what the whole boat has.
//
// The speed probe on the rod's own ball goes with it. On another ball it is put at the depth
// at which that ball hangs in the whole boat. That is exact at the boat's own speed, heading
// and water, in every world, where the probe stays as well; at another speed it leaves out
// how much the other ball would rise.
package bench

import (
	"context"
	"slices"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// Boat is a spread that rods are set apart from. It is not for use by two goroutines at
// once.
type Boat struct {
	Scenario *sternfan.Scenario
	Model    *tackle.Model // of it; nil: not known

	opt   spread.Options
	probe *float64
}

// New returns a boat to set rods apart from. With the scenario's model, which may be nil,
// its water is not made anew. Of the options, Intervals is for each question to say.
func New(sc *sternfan.Scenario, m *tackle.Model, opt spread.Options) *Boat {
	if opt.Tolerance == 0 {
		opt.Tolerance = sc.Solver.Tolerance
	}
	return &Boat{Scenario: sc, Model: m, opt: opt}
}

// Find returns which rod has the id. Its fault says which word was likely meant.
func Find(sc *sternfan.Scenario, id string) (int, error) {
	var ids []string
	for i := range sc.Rods {
		if sc.Rods[i].ID == id {
			return i, nil
		}
		ids = append(ids, sc.Rods[i].ID)
	}
	return 0, sternfan.Faults{{Code: "unknown-rod", Text: "no rod has that id", Found: id, Allowed: ids,
		Hint: sternfan.DidYouMean(id, ids, "name one of the file's rods")}}
}

// Bench is one rod, or one device, away from the others. It is not for use by two
// goroutines at once.
type Bench struct {
	Scenario *sternfan.Scenario // the rod and what shares its device alone; a copy
	Model    *tackle.Model      // of it
	Group    int                // in the model
	Rod      int                // in the bench's scenario; -1: it is the device that is asked about
	Whole    int                // the same rod in the boat's scenario

	boat  *Boat
	stand *spread.Sweep   // as it is, solved
	heads []*spread.Sweep // solved, one of each kind of system: what is solved next begins there
	spare *spread.Sweep   // done with: its memory is free; nil: none
}

// Of sets a rod apart, or a device with the rods on it. The error is sternfan.Faults or
// ctx's.
func (b *Boat) Of(ctx context.Context, id string) (k *Bench, err error) {
	k = b.apart(id)
	device := id
	if k.Rod >= 0 {
		if f := refusal(b.Model, k.Whole); f != nil {
			return nil, sternfan.Faults{*f}
		}
		device = k.Scenario.Rods[k.Rod].Device()
	}
	if sp := &k.Scenario.Speed; sp.Ball != "" && sp.Ball == device {
		sp.Depth.Given = false // it goes where the ball goes
	} else if *sp, err = b.pinned(ctx); err != nil {
		return nil, err
	}
	if err := k.Resolve(); err != nil {
		return nil, err
	}
	if k.Rod < 0 {
		k.Group = slices.IndexFunc(k.Model.Groups, func(g tackle.Group) bool { return g.Downrigger >= 0 || g.MastBoard >= 0 })
	}
	if k.Group >= 0 {
		return k, nil
	}
	f := sternfan.Fault{Code: "unknown-id", Text: "the scenario has no such rod or device", Found: id}
	if k.Rod >= 0 {
		f = sternfan.Fault{Code: "refused", Text: "this rod cannot be fished as described", Found: id}
		if why := refusal(k.Model, k.Rod); why != nil {
			f, f.Path = *why, ""
		}
	}
	return nil, sternfan.Faults{f}
}

// refusal returns why a rod must not be fished, nil where nothing is against it.
func refusal(m *tackle.Model, rod int) *sternfan.Fault {
	if m != nil {
		for _, r := range m.Refused {
			if r.Rod == rod {
				return &sternfan.Fault{Code: "refused", Path: r.Path, Text: r.Warning.Text, Hint: r.Warning.Hint}
			}
		}
	}
	return nil
}

// apart copies what shares a system with a rod or device, not resolved yet.
func (b *Boat) apart(id string) *Bench {
	k := &Bench{boat: b, Group: -1, Rod: -1, Whole: -1}
	sc, device := *b.Scenario, id
	if r := b.Scenario.Rod(id); r != nil {
		device = r.Device()
	}
	sc.Rods, sc.Downriggers, sc.MastBoards = nil, nil, nil
	for i, r := range b.Scenario.Rods {
		if r.ID == id {
			k.Rod, k.Whole = len(sc.Rods), i
		}
		if r.ID == id || device != "" && r.Device() == device {
			sc.Rods = append(sc.Rods, r)
		}
	}
	if d := b.Scenario.Downrigger(device); d != nil {
		sc.Downriggers = []sternfan.Downrigger{*d}
	}
	for _, m := range b.Scenario.MastBoards {
		if m.ID == device {
			sc.MastBoards = append(sc.MastBoards, m)
		}
	}
	k.Scenario = &sc
	return k
}

// Probe returns the depth at which the boat's speed is measured, m: for a ball that carries
// the probe where it hangs, the rods on it with it.
func (b *Boat) Probe(ctx context.Context) (float64, error) {
	if b.probe != nil {
		return *b.probe, nil
	}
	z := b.Scenario.Speed.Depth.SI()
	if sp := &b.Scenario.Speed; sp.Given == sternfan.SpeedProbe && sp.Ball != "" {
		fan, err := b.measure(ctx)
		if err != nil {
			return 0, err
		}
		z = *fan.Speed.ProbeDepth
	}
	b.probe = &z
	return z, nil
}

// pinned returns the boat's speed with a probe on a ball put at the depth where that hangs.
func (b *Boat) pinned(ctx context.Context) (sternfan.Speed, error) {
	sp := b.Scenario.Speed
	if sp.Given != sternfan.SpeedProbe || sp.Ball == "" {
		return sp, nil
	}
	z, err := b.Probe(ctx)
	sp.Ball, sp.Depth = "", sternfan.Of(unit.Length(z))
	return sp, err
}

// measure solves what the depth of the speed probe depends on: the ball that carries it,
// with the rods on it, if it is on one.
func (b *Boat) measure(ctx context.Context) (*sternfan.Fan, error) {
	k := b.apart(b.Scenario.Speed.Ball)
	if err := k.Resolve(); err != nil {
		return nil, err
	}
	return spread.Solve(ctx, k.Model, b.opt)
}

// Resolve makes the model anew after the bench's scenario was changed.
func (k *Bench) Resolve() error {
	m, faults := k.resolved(k.boat.Model, k.Scenario)
	if len(faults) > 0 {
		return faults
	}
	k.Model = m
	if k.Rod >= 0 {
		k.Group = m.Rods[k.Rod].Group
	}
	return nil
}

func (k *Bench) resolved(same *tackle.Model, sc *sternfan.Scenario) (*tackle.Model, sternfan.Faults) {
	if same == nil {
		return tackle.Resolve(sc)
	}
	return tackle.Again(same, sc)
}

// Again resolves a variation of the bench's scenario in the same water.
func (k *Bench) Again(sc *sternfan.Scenario) (*tackle.Model, sternfan.Faults) {
	return k.resolved(k.Model, sc)
}

// Info returns what is known of the rod.
func (k *Bench) Info() *tackle.RodInfo { return &k.Model.Rods[k.Rod] }

// Settings returns the rod's settings in the bench's scenario.
func (k *Bench) Settings() *sternfan.Settings { return &k.Scenario.Rods[k.Rod].Settings }

// Parts returns the rod's rig as parts.
func (k *Bench) Parts() []sternfan.Part { return k.Model.Scenario.Rods[k.Rod].Rig.Parts }

// Mates returns how many rods share the rod's device.
func (k *Bench) Mates() int { return len(k.Model.Groups[k.Group].Rods) - 1 }

// Lure returns which of the rod's lures has the part id: its own last for "", and its last
// slider's for "slider".
func (k *Bench) Lure(id string) (int, error) {
	g := &k.Model.Groups[k.Group]
	own := map[string]bool{}
	for _, p := range k.Parts() {
		own[p.ID] = p.Kind == sternfan.PartLure
	}
	var ids []string
	at := -1
	for i, n := range k.Info().Lures {
		ids = append(ids, g.Nodes[n].ID)
		if (id == "" || id == string(sternfan.PartSlider)) && own[ids[i]] == (id == "") {
			at = i
		}
	}
	if at < 0 {
		at = slices.Index(ids, id)
	}
	if at < 0 {
		return 0, sternfan.Faults{{Code: "unknown-lure", Text: "this rod has no such lure", Found: id, Allowed: ids}}
	}
	return at, nil
}

// Options are those that the bench is solved with.
func (k *Bench) Options() spread.Options {
	return spread.Options{Tolerance: k.boat.opt.Tolerance, Units: k.boat.opt.Units}
}

// Begin solves the rod as it is: what is asked next begins there.
func (k *Bench) Begin(ctx context.Context, intervals bool) (fan *sternfan.Fan, err error) {
	fan, k.stand, err = k.solve(ctx, k.Model, intervals)
	k.heads = nil
	return fan, err
}

// Solve solves a variation of the bench's scenario from nothing, and returns the sweep that
// stands there, nil where the rod is refused.
func (k *Bench) Solve(ctx context.Context, sc *sternfan.Scenario, intervals bool) (*sternfan.Fan, *spread.Sweep, error) {
	m, faults := k.Again(sc)
	if len(faults) > 0 {
		return nil, nil, faults
	}
	return k.solve(ctx, m, intervals)
}

func (k *Bench) solve(ctx context.Context, m *tackle.Model, intervals bool) (*sternfan.Fan, *spread.Sweep, error) {
	opt := k.Options()
	opt.Intervals = intervals
	s := spread.New(m, opt)
	if k.spare != nil && m.Rods[k.Rod].Group == k.Group {
		s.Inherit(k.spare)
		k.spare = nil
	}
	fan, err := s.Fan(ctx)
	if err != nil {
		return nil, nil, err
	}
	if m.Rods[k.Rod].Group < 0 {
		return fan, nil, nil
	}
	return fan, spread.NewStanding(s, k.Rod), nil
}

// GoOn makes a sweep begin where another of its kind stands, so that nothing is solved from
// nothing twice.
func (k *Bench) GoOn(s *spread.Sweep) {
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

// Free says that a sweep is done with; nil: that of [Bench.Begin], if none is free yet.
func (k *Bench) Free(s *spread.Sweep) {
	if s == nil && k.spare != nil {
		return
	}
	if k.spare = s; s == nil {
		k.spare = k.stand
	}
}

// PutBack puts the rod of a variation of the bench's scenario, and the cable that it is on,
// in the place of the boat's in a copy of the boat's scenario.
func (k *Bench) PutBack(sc, from *sternfan.Scenario) {
	sc.Rods[k.Whole].Rig, sc.Rods[k.Whole].Settings = from.Rods[k.Rod].Rig, from.Rods[k.Rod].Settings
	for i := range from.Downriggers {
		if d := sc.Downrigger(from.Downriggers[i].ID); d != nil {
			d.CableOut = from.Downriggers[i].CableOut
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

// World places the bench in worlds, each near the one before.
type World struct {
	spread.Placed // where it is in the last one

	spread     *spread.Solver
	group, rod int
}

// World returns the bench to be placed in worlds.
func (k *Bench) World() *World {
	return &World{spread: spread.New(k.Model, k.Options()), group: k.Group, rod: k.Rod}
}

// Place solves a world, a score for each entry of the model's registry, and reports whether
// a rest was found.
func (w *World) Place(ctx context.Context, scores []float64) bool {
	return w.spread.Place(ctx, w.group, w.rod, scores, &w.Placed)
}
