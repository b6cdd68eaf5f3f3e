package spread

import (
	"context"
	"math"

	"sternfan"
	"sternfan/geom"
	"sternfan/tackle"
	"sternfan/tow"
)

// Sweep is the system of one rod as a single setting of it changes, between two models
// that differ in that setting alone, and as its dial turns. Lengths are linear in a
// setting, so what lies between is made without resolving the scenario again, and each
// place is solved from the one before. It is not for use by two goroutines at once.
type Sweep struct {
	s    *Spread
	g    *group
	rod  int
	from float64
	to   float64
	x    float64
	dial float64      // mark; below 0: as in the models
	ends [2][]float64 // of the lines' lengths
	warm bool
	spot Spot
}

// Spot is where a rod's lures run at one place of a sweep. Its slice is reused.
type Spot struct {
	Lures   []geom.Vec // in the order of the rod's lures, the slider's last; nil: not solved
	TipPull float64    // N
	Limit   Limit
}

// Limit is what keeps a setting from being fished.
type Limit string

// The limits, the empty one first.
const (
	LimitNone     Limit = ""
	LimitUnsolved Limit = "unsolved" // the solver found no resting place
	LimitStrength Limit = "strength" // of a line
	LimitTrip     Limit = "trip"     // of a diver, board or release
	LimitBottom   Limit = "bottom"
	LimitSurface  Limit = "surface"
	LimitBoard    Limit = "board" // towed under
)

// boardUnder is the depth at which a board counts as towed under, m.
const boardUnder = 0.25

// onBottom is how near to the bottom counts as lying on it, m.
const onBottom = 0.02

// NewSweep returns the sweep of a rod between a model in which its setting is from and
// one in which it is to. It reports false when something is there in one and not in the
// other, as when a line has wholly gone onto its reel, or when the rod was refused.
func NewSweep(a, b *tackle.Model, rod int, from, to float64, opt Options) (*Sweep, bool) {
	gi := a.Rods[rod].Group
	if gi < 0 || b.Rods[rod].Group != gi || len(a.Groups[gi].Nodes) != len(b.Groups[gi].Nodes) ||
		len(a.Groups[gi].Lines) != len(b.Groups[gi].Lines) {
		return nil, false
	}
	for i := range a.Groups[gi].Nodes {
		if a.Groups[gi].Nodes[i] != b.Groups[gi].Nodes[i] {
			return nil, false
		}
	}
	w := &Sweep{s: New(a, opt), rod: rod, from: from, to: to, dial: -1}
	for k, m := range []*tackle.Model{a, b} {
		var sys tow.System
		m.Build(gi, nil, &sys)
		for i := range sys.Lines {
			if m.Groups[gi].Lines[i].ID != a.Groups[gi].Lines[i].ID {
				return nil, false
			}
			w.ends[k] = append(w.ends[k], sys.Lines[i].Length)
		}
	}
	w.g = &w.s.groups[gi]
	w.s.adjust = w.place
	return w, true
}

// Ends returns the settings between which the sweep runs.
func (w *Sweep) Ends() (from, to float64) { return w.from, w.to }

// place moves a built system to where the sweep stands.
func (w *Sweep) place(sys *tow.System) {
	t := 0.0
	if w.to != w.from {
		t = (w.x - w.from) / (w.to - w.from)
	}
	for i := range sys.Lines {
		if !sys.Lines[i].Open {
			sys.Lines[i].Length = w.ends[0][i] + t*(w.ends[1][i]-w.ends[0][i])
		}
	}
	if w.dial >= 0 {
		w.s.model.Dial(w.g.index, w.rod, w.dial, sys)
	}
}

// Dial turns the rod's dial to a mark from here on.
func (w *Sweep) Dial(mark float64) { w.dial = mark }

// Speed returns the scenario's speed, m/s, of the kind that was given.
func (w *Sweep) Speed() float64 { return w.s.model.GivenSpeed() }

// At solves the rod at the setting x and the speed v, m/s, of the kind that the scenario
// gives; 0 is the scenario's own. The spot is overwritten by the next call.
func (w *Sweep) At(ctx context.Context, x, v float64) *Spot {
	w.x = x
	probe := w.s.probe
	if !w.warm {
		probe = w.s.model.ProbeDepth()
	}
	env := w.envAt(v, probe)
	w.solve(ctx, &env)
	if w.carriesProbe() {
		// The speed is measured on a ball that the sweep moves: see findProbe.
		for range 8 {
			z := w.g.sol.Nodes[w.g.sys.Main].Z
			if w.g.sol.Status != tow.Converged || math.Abs(z-probe) < 1e-6*(1+z) {
				break
			}
			probe = z
			next := w.envAt(v, probe)
			if next.Speed == env.Speed {
				break
			}
			env = next
			w.solve(ctx, &env)
		}
	}
	w.s.probe = probe
	w.judge(&env)
	return &w.spot
}

func (w *Sweep) envAt(v, probe float64) tow.Env {
	if v <= 0 {
		return w.s.model.EnvAt(nil, probe)
	}
	return w.s.model.EnvAtSpeed(v, probe)
}

func (w *Sweep) carriesProbe() bool {
	sp := &w.s.model.Scenario.Speed
	ref := &w.s.model.Groups[w.g.index]
	return sp.Given == sternfan.SpeedProbe && !sp.Depth.Given && ref.Downrigger >= 0 &&
		w.s.model.Scenario.Downriggers[ref.Downrigger].ID == sp.Ball
}

func (w *Sweep) solve(ctx context.Context, env *tow.Env) {
	if w.warm {
		w.s.solve(ctx, w.g, nil, env)
	}
	if !w.warm || w.g.sol.Status != tow.Converged {
		w.s.solveFirst(ctx, w.g, env)
	}
	w.warm = w.g.sol.Status == tow.Converged
}

// judge fills the spot with where the lures are and which limit is broken, as judge of
// the whole spread does in words.
func (w *Sweep) judge(env *tow.Env) {
	sp, sol := &w.spot, w.g.sol
	sp.Lures, sp.Limit, sp.TipPull = sp.Lures[:0], LimitUnsolved, 0
	if sol.Status != tow.Converged {
		return
	}
	m := w.s.model
	ref, info := &m.Groups[w.g.index], &m.Rods[w.rod]
	sp.Limit = LimitNone
	limit := func(l Limit) {
		if sp.Limit == LimitNone {
			sp.Limit = l
		}
	}
	for i := range ref.Lines {
		l := &ref.Lines[i]
		from, to := sol.Pull(i)
		if (l.Rod == w.rod || l.Rod < 0) && l.Strength > 0 && math.Max(from, to) > l.Strength {
			limit(LimitStrength)
		}
	}
	for _, tr := range info.Trips {
		pull, to := sol.Pull(tr.Line)
		if !tr.AtFrom {
			pull = to
		}
		if tr.Load > 0 && pull > tr.Load {
			limit(LimitTrip)
		}
	}
	if tip := w.s.tipLine(w.g, ref, w.rod); tip >= 0 {
		from, to := sol.Pull(tip)
		sp.TipPull = to
		if w.s.fromTip(w.g, tip) {
			sp.TipPull = from
		}
	}
	bottom := math.Inf(1)
	if env.Bottom > 0 {
		bottom = env.Bottom
	}
	intended := w.s.intended(ref, w.rod)
	for i := range ref.Nodes {
		n, z := &ref.Nodes[i], sol.Nodes[i].Z
		if n.Kind == "" || n.Kind == "tip" || n.Rod != w.rod && n.Rod >= 0 {
			continue
		}
		switch {
		case z >= bottom-onBottom && !intended:
			limit(LimitBottom)
		case n.Lure && z < shallow:
			limit(LimitSurface)
		case n.Kind == "board" && z > boardUnder:
			limit(LimitBoard)
		}
	}
	if sol.Laid > 0.05 && !intended {
		limit(LimitBottom)
	}
	for _, n := range info.Lures {
		sp.Lures = append(sp.Lures, sol.Nodes[n])
	}
}
