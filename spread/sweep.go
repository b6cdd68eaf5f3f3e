package spread

import (
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tackle"
	"sternfan/tow"
)

// Sweep is the system of one rod as a single setting of it changes, between two models
// that differ in that setting alone, and as its dial turns. Lengths are linear in a
// setting, so what lies between is made without resolving the scenario again, and each
// place is solved from the one before. It is not for use by two goroutines at once.
type Sweep struct {
	s      *Solver
	g      *System // its own, or that of the sweep it goes on from
	rod    int
	from   float64
	to     float64
	x      float64
	dial   float64      // mark; below 0: as in the models
	ends   [2][]float64 // of the lines' lengths
	also   []float64    // what a further setting adds to the lengths, each
	at     []geom.Vec   // by node: the last answer
	told   bool         // it was told by the linearized solution, not solved
	nigh   bool
	stands bool    // it has no range
	fine   float64 // tolerance, 0: the default
	spot   Spot
}

// about is the answer that a group's solver was last brought to, and its linear form, which
// is kept while it serves.
type about struct {
	env    tow.Env
	tried  bool
	ok     bool
	offset []geom.Vec // of the form's own places from those solved, by node
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

// BoardUnder is the depth at which a board counts as towed under, m.
const BoardUnder = 0.25

// OnBottom is how near to the bottom counts as lying on it, m.
const OnBottom = 0.02

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
	w.g = &w.s.groups[gi]
	for k, m := range []*tackle.Model{a, b} {
		if k > 0 && b == a {
			w.ends[1] = w.ends[0]
			break
		}
		var ok bool
		if w.ends[k], ok = w.lengths(m); !ok {
			return nil, false
		}
	}
	w.begin()
	return w, true
}

// NewStanding returns a sweep without a range: a rod of a solved spread as it is, to be
// asked about other speeds. It goes on from that spread's answer, and the spread is not to
// be used any more.
func NewStanding(s *Solver, rod int) *Sweep {
	w := &Sweep{s: s, rod: rod, dial: -1, stands: true, g: &s.groups[s.model.Rods[rod].Group]}
	w.ends[0], _ = w.lengths(s.model)
	w.ends[1] = w.ends[0]
	w.begin()
	return w
}

// Inherit gives the solver the memory behind a sweep, which begins from nothing after
// that.
func (s *Solver) Inherit(from *Sweep) {
	g := &s.groups[from.g.Index]
	g.solver = from.g.solver
	g.solver.Reset()
	*from.g = System{Index: from.g.Index}
}

// begin lets the solver build systems where the sweep stands, and puts the speed probe
// where the model has it when there is no answer yet to go on from.
func (w *Sweep) begin() {
	w.fine = w.s.opt.Tolerance
	w.s.adjust = w.place
	if w.g.Sol == nil {
		w.s.probe = w.s.model.ProbeDepth()
	}
}

// lengths returns those of the lines of the sweep's group in a model; false when it has
// other lines.
func (w *Sweep) lengths(m *tackle.Model) ([]float64, bool) {
	gi := w.g.Index
	var sys tow.System
	m.Build(gi, nil, &sys)
	ref := &w.s.model.Groups[gi]
	if len(sys.Lines) != len(ref.Lines) {
		return nil, false
	}
	out := make([]float64, len(sys.Lines))
	for i := range sys.Lines {
		if m.Groups[gi].Lines[i].ID != ref.Lines[i].ID {
			return nil, false
		}
		out[i] = sys.Lines[i].Length
	}
	return out, true
}

// GoOn makes the sweep begin from the last answer of another one, which goes on in turn
// from this one's: for sweeps that are used in turns. It reports false, and leaves the
// sweep to begin from nothing, when the two systems differ in more than numbers.
func (w *Sweep) GoOn(from *Sweep) bool {
	var sys tow.System
	if from.g.Sol == nil || from.g.Sol.Status != tow.Converged {
		return false
	}
	w.s.model.Build(w.g.Index, nil, &sys)
	if from.g.ring != ringSlides {
		stopRings(&sys, from.g.ring)
	}
	if from.g.Index != w.g.Index || !sameShape(&sys, &from.g.Sys) {
		return false
	}
	w.g, w.s.probe = from.g, from.s.probe
	return true
}

// Shift adds to the lines' lengths what they have more in another model, in one further
// setting, than where the sweep's begins, times share; nil undoes it. It reports false when
// that model has other lines.
func (w *Sweep) Shift(other []float64, share float64) {
	w.also = w.also[:0]
	for i := range other {
		w.also = append(w.also, share*(other[i]-w.ends[0][i]))
	}
}

// Square reports whether the lines' lengths differ from the sweep's own by as much at both of
// its ends.
func (w *Sweep) Square(from, to []float64) bool {
	for i := range from {
		if math.Abs(from[i]-w.ends[0][i]-(to[i]-w.ends[1][i])) > 1e-9*(1+to[i]) {
			return false
		}
	}
	return true
}

// Lengths returns the lines' lengths in a model that may differ from the sweep's in
// numbers, for Shift; false when it differs in more.
func (w *Sweep) Lengths(m *tackle.Model) ([]float64, bool) {
	gi := w.g.Index
	if m.Rods[w.rod].Group != gi || !slices.Equal(m.Groups[gi].Nodes, w.s.model.Groups[gi].Nodes) {
		return nil, false
	}
	return w.lengths(m)
}

// Nigh says whether the places to come are near the last one solved: then systems of
// several ends, which are slow to solve, are told by the linearized solution while it
// serves, and so are boards at other speeds where the sweep has no range.
func (w *Sweep) Nigh(nigh bool) { w.nigh = nigh }

// Told reports whether the last place was told by the linearized solution, not solved.
func (w *Sweep) Told() bool { return w.told }

// Roughly solves to so many times the tolerance from here on; 1 is as asked.
func (w *Sweep) Roughly(times float64) {
	t := w.fine
	if t == 0 {
		t = 1e-3
	}
	w.s.opt.Tolerance = t * times
	if times == 1 {
		w.s.opt.Tolerance = w.fine
	}
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
			if i < len(w.also) {
				sys.Lines[i].Length += w.also[i]
			}
		}
	}
	if w.dial >= 0 {
		w.s.model.Dial(w.g.Index, w.rod, w.dial, sys)
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
	env := w.envAt(v, probe)
	w.solve(ctx, &env)
	if w.carriesProbe() {
		// The speed is measured on a ball that the sweep moves: see findProbe.
		for range 8 {
			if w.g.Sol.Status != tow.Converged {
				break
			}
			z := w.at[w.g.Sys.Main].Z
			if math.Abs(z-probe) < 1e-6*(1+z) {
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

// Here judges the last answer as it stands, without solving.
func (w *Sweep) Here() *Spot {
	w.told = false
	w.at = append(w.at[:0], w.g.Sol.Nodes...)
	w.judge(&w.g.about.env)
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
	ref := &w.s.model.Groups[w.g.Index]
	return sp.Given == sternfan.SpeedProbe && !sp.Depth.Given && ref.Downrigger >= 0 &&
		w.s.model.Scenario.Downriggers[ref.Downrigger].ID == sp.Ball
}

func (w *Sweep) solve(ctx context.Context, env *tow.Env) {
	warm := w.g.Sol != nil && w.g.Sol.Status == tow.Converged
	if w.told = warm && w.nigh && (hasPull(&w.g.Sys) || w.stands && slices.ContainsFunc(w.g.Sys.Nodes, func(n tow.Node) bool { return floats(&n) })) && w.tell(env); w.told {
		return
	}
	if warm {
		w.s.solve(ctx, w.g, nil, env)
	}
	if !warm || w.g.Sol.Status != tow.Converged {
		w.s.solveFirst(ctx, w.g, env)
	}
	w.at = append(w.at[:0], w.g.Sol.Nodes...)
}

// floats reports whether a node carries a body that floats.
func floats(n *tow.Node) bool {
	return slices.ContainsFunc(n.Bodies, func(b hydro.Body) bool { return b.Floats })
}

// tell answers by the linearized solution, made at the last answer when it was not yet.
func (w *Sweep) tell(env *tow.Env) bool {
	g, opt := w.g, w.s.towing()
	a := &g.about
	if !a.tried {
		a.tried = true
		a.offset = append(a.offset[:0], g.Sol.Nodes...)
		if a.ok = g.solver.Linearize(); a.ok {
			if sol, ok := g.solver.Near(&g.Sys, &a.env, opt); ok {
				for i, p := range sol.Nodes {
					a.offset[i] = p.Sub(a.offset[i])
				}
			} else {
				a.ok = false
			}
		}
	}
	if !a.ok {
		return false
	}
	w.s.build(g, nil)
	sol, ok := g.solver.Near(&g.Sys, env, opt)
	if !ok {
		// What it is about is too far off by now.
		a.ok = false
		return false
	}
	w.at = w.at[:0]
	for i, p := range sol.Nodes {
		w.at = append(w.at, p.Sub(a.offset[i]))
	}
	return true
}

// pull returns the tension at the ends of a line in the last answer, N.
func (w *Sweep) pull(line int) (from, to float64) {
	if w.told {
		return w.g.solver.NearPull(line)
	}
	return w.g.Sol.Pull(line)
}

// judge fills the spot with where the lures are and which limit is broken, as judge of
// the whole spread does in words.
func (w *Sweep) judge(env *tow.Env) {
	sp, sol := &w.spot, w.g.Sol
	sp.Lures, sp.Limit, sp.TipPull = sp.Lures[:0], LimitUnsolved, 0
	if sol.Status != tow.Converged {
		return
	}
	m := w.s.model
	ref, info := &m.Groups[w.g.Index], &m.Rods[w.rod]
	sp.Limit = LimitNone
	limit := func(l Limit) {
		if sp.Limit == LimitNone {
			sp.Limit = l
		}
	}
	for i := range ref.Lines {
		l := &ref.Lines[i]
		from, to := w.pull(i)
		if (l.Rod == w.rod || l.Rod < 0) && l.Strength > 0 && math.Max(from, to) > l.Strength {
			limit(LimitStrength)
		}
	}
	for _, tr := range info.Trips {
		pull, to := w.pull(tr.Line)
		if !tr.AtFrom {
			pull = to
		}
		if tr.Load > 0 && pull > tr.Load {
			limit(LimitTrip)
		}
	}
	if tip := w.g.TipLine(ref, w.rod); tip >= 0 {
		sp.TipPull = w.g.AtTip(tip, w.pull)
	}
	bottom := bottomOf(env)
	intended := w.s.Intended(ref, w.rod)
	for i := range ref.Nodes {
		n, z := &ref.Nodes[i], w.at[i].Z
		if n.Kind == "" || n.Kind == "tip" || n.Rod != w.rod && n.Rod >= 0 {
			continue
		}
		switch {
		case z >= bottom-OnBottom && !intended:
			limit(LimitBottom)
		case n.Lure && z < Shallow:
			limit(LimitSurface)
		case n.Kind == "board" && z > BoardUnder:
			limit(LimitBoard)
		}
	}
	if sol.Laid > 0.05 && !intended {
		limit(LimitBottom)
	}
	for _, n := range info.Lures {
		sp.Lures = append(sp.Lures, w.at[n])
	}
}
