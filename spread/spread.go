// Package spread solves the whole boat: every rod and device in place, what is wrong
// with it in words, and how far each depth may be off.
package spread

import (
	"context"
	"math"
	"slices"
	"sync"

	"sternfan"
	"sternfan/portable"
	"sternfan/tackle"
	"sternfan/tow"
	"sternfan/unit"
	"sternfan/water"
)

// Options say how to solve; the zero value solves at the default tolerance without
// intervals.
type Options struct {
	Intervals bool        // find the 80 % interval of every depth
	Tolerance float64     // relative to depth; 0: the file's, or 1e-3
	Units     unit.System // of the numbers in warnings
}

// Solver is a model with the memory of its last solution: solving it again after a small
// change is quick. It is not for use by two goroutines at once.
type Solver struct {
	model  *tackle.Model
	opt    Options
	groups []System
	probe  float64 // depth of the speed probe, m

	nominal tow.Env
	envs    map[envKey]*tow.Env // moved by entries of the registry

	adjust func(sys *tow.System) // of a built system, before it is solved; nil: as built
}

// System is one coupled system of the model with its last answer.
type System struct {
	Index  int // of the model's group
	Sys    tow.System
	Sol    *tow.Solution // nil: not solved yet
	solver tow.Solver
	second tow.Solver // of the aside
	slack  float64    // factor by which set loads were raised so that lines could be held
	ring   ringState
	depth  []float64 // nominal depths, by node
	band   []interval
	about  about
}

// New returns a solver that has solved nothing yet.
func New(m *tackle.Model, opt Options) *Solver {
	s := &Solver{}
	s.begin(m, opt)
	return s
}

// Model returns what is solved.
func (s *Solver) Model() *tackle.Model { return s.model }

// Nominal returns the surroundings of the last [Solver.Fan].
func (s *Solver) Nominal() *tow.Env { return &s.nominal }

// Env returns the surroundings in a world, the speed probe where it is in the nominal one.
func (s *Solver) Env(world []float64) tow.Env { return s.model.EnvAt(world, s.probe) }

// System returns one coupled system by the number of its group.
func (s *Solver) System(gi int) *System { return &s.groups[gi] }

// Again returns another solver of the same model, solved from nothing in the nominal
// world, for a goroutine of its own.
func (s *Solver) Again(ctx context.Context) *Solver {
	other := New(s.model, s.opt)
	other.probe = s.probe
	other.nominal = other.Env(nil)
	for i := range other.groups {
		other.solveFirst(ctx, &other.groups[i], &other.nominal)
	}
	return other
}

// In solves a system in a world, near its last answer, and reports whether it came to rest.
func (s *Solver) In(ctx context.Context, g *System, world []float64, env *tow.Env) bool {
	s.solve(ctx, g, world, env)
	return g.Sol.Status == tow.Converged
}

// Band returns the interval of a node's depth, the depth itself twice when none was asked for.
func (g *System) Band(node int) (lo, hi float64) {
	if g.band == nil {
		return g.Sol.Nodes[node].Z, g.Sol.Nodes[node].Z
	}
	return g.band[node].lo, g.band[node].hi
}

// begin makes the solver ready to solve a model from nothing, in the memory that it has.
func (s *Solver) begin(m *tackle.Model, opt Options) {
	if opt.Tolerance == 0 {
		opt.Tolerance = m.Scenario.Solver.Tolerance
	}
	s.model, s.opt = m, opt
	if n := len(m.Groups); n <= cap(s.groups) {
		s.groups = s.groups[:n]
	} else {
		s.groups = append(s.groups[:cap(s.groups)], make([]System, n-cap(s.groups))...)
	}
	for i := range s.groups {
		g := &s.groups[i]
		g.solver.Reset()
		*g = System{Index: i, Sys: g.Sys, solver: g.solver, second: g.second, depth: g.depth}
	}
}

// Solve returns the fan of the model: every rod's place, pull, warnings and, when asked,
// intervals. The error is ctx's; what could not be solved says so in its own status.
func Solve(ctx context.Context, m *tackle.Model, opt Options) (*sternfan.Fan, error) {
	s := &Solver{}
	if kept, ok := idle.Get().(*Solver); ok {
		s.groups = kept.groups
	}
	defer idle.Put(s)
	s.begin(m, opt)
	return s.Fan(ctx)
}

// idle holds spreads of Solve, for the memory of their solvers: a fan has none of it.
var idle sync.Pool

// Fan solves everything and reports it.
func (s *Solver) Fan(ctx context.Context) (*sternfan.Fan, error) {
	s.findProbe(ctx)
	s.nominal, s.envs = s.model.EnvAt(nil, s.probe), nil
	for i := range s.groups {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		g := &s.groups[i]
		s.solveFirst(ctx, g, &s.nominal)
		if s.opt.Intervals && g.Sol.Status == tow.Converged {
			s.intervals(ctx, g)
		}
	}
	return s.report(&s.nominal), ctx.Err()
}

// findProbe finds the depth at which the speed was measured when it was on a ball,
// whose depth itself depends on the speed.
func (s *Solver) findProbe(ctx context.Context) {
	sp := &s.model.Scenario.Speed
	if sp.Given != sternfan.SpeedProbe {
		return
	}
	if sp.Ball == "" {
		s.probe = sp.Depth.SI()
		return
	}
	for i, d := range s.model.Scenario.Downriggers {
		if d.ID != sp.Ball {
			continue
		}
		s.probe = 0.95 * d.CableOut.SI()
		for gi := range s.groups {
			if s.model.Groups[gi].Downrigger != i {
				continue
			}
			// Each pass shrinks the error by the small slope of depth over speed.
			for range 8 {
				env := s.model.EnvAt(nil, s.probe)
				g := &s.groups[gi]
				s.solveFirst(ctx, g, &env)
				if g.Sol.Status != tow.Converged {
					return
				}
				z := g.Sol.Nodes[g.Sys.Main].Z
				if math.Abs(z-s.probe) < 1e-6*(1+z) {
					return
				}
				s.probe = z
			}
		}
	}
}

// maxSlack bounds how far a rod's set load is raised in search of one that can hold the
// line in the flow.
const maxSlack = 6.0

// solveFirst solves a group from nothing. When a rod's set load cannot hold its line in
// the flow it is raised until it can, and when a slider finds no place on its line it
// is put to the end to which it slides.
func (s *Solver) solveFirst(ctx context.Context, g *System, env *tow.Env) {
	states := []ringState{ringSlides}
	g.ring = ringSlides
	s.build(g, nil)
	rings := ringsOf(&g.Sys)
	if len(rings) > 0 {
		// The rule first: it runs down to the release.
		states = []ringState{ringAtRelease, ringSlides, ringAtRelease, ringAtSurface}
	}
	for i, ring := range states {
		s.solveHeld(ctx, g, env, ring)
		if g.Sol.Status == tow.Converged && (i != 0 || ring == ringSlides || g.runsDown(rings)) {
			break
		}
	}
	g.keepDepths()
	g.band = nil
	g.about = about{env: *env, offset: g.about.offset[:0]}
}

// solveHeld solves a group from nothing with its slider held in a way, and set loads
// raised until lines can be held.
func (s *Solver) solveHeld(ctx context.Context, g *System, env *tow.Env, ring ringState) {
	g.ring = ring
	for slack := 1.0; slack < maxSlack; slack *= 1.25 {
		g.slack = slack
		g.solver.Reset()
		s.build(g, nil)
		g.Sol = g.solver.Solve(ctx, &g.Sys, env, tow.Options{Tolerance: s.opt.Tolerance})
		if g.Sol.Status == tow.Converged || !hasPull(&g.Sys) || ring == ringSlides && hasRing(&g.Sys) {
			return
		}
	}
}

// keepDepths makes the depths of the answer just found the nominal ones.
func (g *System) keepDepths() {
	g.depth = g.depth[:0]
	for _, p := range g.Sol.Nodes {
		g.depth = append(g.depth, p.Z)
	}
}

// solve builds the group in a sampled world (nil: nominal) and solves it near its last
// answer.
func (s *Solver) solve(ctx context.Context, g *System, world []float64, env *tow.Env) {
	s.build(g, world)
	if !g.about.ok {
		g.about = about{env: *env, offset: g.about.offset[:0]}
	}
	g.Sol = g.solver.Solve(ctx, &g.Sys, env, tow.Options{Tolerance: s.opt.Tolerance})
	if g.Sol.Status != tow.Converged {
		// Far from the last answer: once more from nothing.
		g.solver.Cool()
		g.Sol = g.solver.Solve(ctx, &g.Sys, env, tow.Options{Tolerance: s.opt.Tolerance})
	}
	if g.Sol.Status != tow.Converged && g.ring == ringSlides && hasRing(&g.Sys) {
		// The slider has left its place for the release, or come to it: as solveFirst does.
		stopRings(&g.Sys, ringAtRelease)
		g.solver.Reset()
		g.Sol = g.solver.Solve(ctx, &g.Sys, env, tow.Options{Tolerance: s.opt.Tolerance})
		g.solver.Reset()
		g.about.tried, g.about.ok = true, false // there is no solver left to ask
	}
}

// build fills the group's system in a world, with set loads and sliders as they were found
// to hold.
func (s *Solver) build(g *System, world []float64) {
	s.model.Build(g.Index, world, &g.Sys)
	if s.adjust != nil {
		s.adjust(&g.Sys)
	}
	for i := range g.Sys.Pull {
		g.Sys.Pull[i] *= g.slack
	}
	if g.ring != ringSlides {
		stopRings(&g.Sys, g.ring)
	}
}

func hasPull(sys *tow.System) bool {
	return slices.ContainsFunc(sys.Pull, func(p float64) bool { return p > 0 })
}

// curve returns points along a solved line, close enough to draw: the cubic through the
// samples and their directions, no piece turning by more than about three degrees.
func curve(p []tow.Sample, ea float64) [][3]float64 {
	if len(p) == 0 {
		return nil
	}
	out := make([][3]float64, 1, 4*len(p))
	out[0] = [3]float64{p[0].R.X, p[0].R.Y, p[0].R.Z}
	for i := 1; i < len(p); i++ {
		a, b := &p[i-1], &p[i]
		h := b.S - a.S
		ta, tb := a.F.Unit(), b.F.Unit()
		// The chord between unit vectors is the angle, near enough.
		n := int(math.Min(24, math.Max(1, math.Ceil(tb.Sub(ta).Norm()/0.05))))
		if ea > 0 {
			ta, tb = ta.Scale(1+a.F.Norm()/ea), tb.Scale(1+b.F.Norm()/ea)
		}
		for k := 1; k <= n; k++ {
			x := float64(k) / float64(n)
			x2, x3 := x*x, x*x*x
			v := a.R.Scale(2*x3-3*x2+1).AddScaled((x3-2*x2+x)*h, ta).
				AddScaled(3*x2-2*x3, b.R).AddScaled((x3-x2)*h, tb)
			out = append(out, [3]float64{v.X, v.Y, v.Z})
		}
	}
	return out
}

// throughWater returns the speed of the water past a point at depth z, m/s.
func throughWater(env *tow.Env, z float64) float64 { return env.Flow(math.Max(z, 0)).Norm() }

// speeds returns the three speeds that belong together.
func (s *Solver) speeds(env *tow.Env) sternfan.SpeedFan {
	var top water.State
	env.Water.At(0, &top)
	out := sternfan.SpeedFan{Given: s.model.Scenario.Speed.Given, Surface: env.Speed,
		OverGround: portable.Hypot(top.Cx+env.Speed, top.Cy)}
	if out.Given == sternfan.SpeedProbe {
		v, z := throughWater(env, s.probe), s.probe
		out.Probe, out.ProbeDepth = &v, &z
	}
	return out
}
