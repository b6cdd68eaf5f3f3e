package spread

import (
	"context"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/tackle"
	"sternfan/tow"
)

// Session keeps a boat solved while a person changes one thing after another: what a
// change leaves alone is not solved again. It is not for use by two goroutines at once.
type Session struct {
	// Step, when set, is called after each group that Settle has worked on, with how many
	// are behind it and how many there are. It may end the context.
	Step func(done, of int)

	opt   Options
	s     *Solver
	clean []tow.System // by group: nominal, as the model gives it
	exact []bool       // by group: solved from nothing, as [Solve] does
}

// NewSession returns a session that has solved nothing yet. Of the options, Intervals is
// for each call of Settle to say.
func NewSession(opt Options) *Session { return &Session{opt: opt} }

// Move takes the model as changed and solves only the groups that the change touches,
// each from its last answer: quick, within the solver's tolerance of what Settle gives,
// and without their intervals. It returns the groups solved. The error is ctx's; the
// session then begins anew.
func (x *Session) Move(ctx context.Context, m *tackle.Model) ([]int, error) {
	changed := x.adopt(ctx, m, true)
	for _, i := range changed {
		g := &x.s.groups[i]
		g.band = nil
		if g.Sol == nil {
			x.s.solveFirst(ctx, g, &x.s.nominal)
			x.exact[i] = true
			continue
		}
		x.exact[i] = false
		x.s.solve(ctx, g, nil, &x.s.nominal)
		if g.Sol.Status != tow.Converged {
			x.s.solveFirst(ctx, g, &x.s.nominal)
			x.exact[i] = true
			continue
		}
		g.keepDepths()
	}
	return changed, x.ended(ctx)
}

// Settle takes the model as changed and leaves the session as [Solve] would have it, to
// the last digit, with or without intervals. It returns the groups on which it worked.
// The error is ctx's; the session then begins anew.
func (x *Session) Settle(ctx context.Context, m *tackle.Model, intervals bool) ([]int, error) {
	changed := x.adopt(ctx, m, false)
	for i := range x.s.groups {
		g := &x.s.groups[i]
		if err := x.ended(ctx); err != nil {
			return nil, err
		}
		solve := !x.exact[i] || g.Sol == nil
		band := intervals && (solve || g.band == nil)
		if solve {
			x.s.solveFirst(ctx, g, &x.s.nominal)
			x.exact[i] = true
		}
		if band && g.Sol.Status == tow.Converged {
			if !solve {
				// The interval begins from the nominal answer just found.
				x.s.solveFirst(ctx, g, &x.s.nominal)
			}
			x.s.intervals(ctx, g)
		}
		if (solve || band) && !slices.Contains(changed, i) {
			changed = append(changed, i)
		}
		if x.Step != nil && (solve || band) {
			x.Step(i+1, len(x.s.groups))
		}
	}
	slices.Sort(changed)
	return changed, x.ended(ctx)
}

// Fan returns the whole spread as last solved.
func (x *Session) Fan() *sternfan.Fan { return x.s.report(&x.s.nominal) }

// Tracks returns the tracks of one group as last solved: its rods', and its downrigger's
// or mast board's, nil for a rod of its own.
func (x *Session) Tracks(group int) (rods []*sternfan.Track, device *sternfan.Track) {
	g, ref := &x.s.groups[group], &x.s.model.Groups[group]
	for _, rod := range ref.Rods {
		rods = append(rods, x.s.rodTrack(g, ref, rod, &x.s.nominal))
	}
	return rods, x.s.deviceTrack(g, ref, &x.s.nominal)
}

// Model returns the model as last taken, nil before the first.
func (x *Session) Model() *tackle.Model {
	if x.s == nil {
		return nil
	}
	return x.s.model
}

// ended drops everything when ctx has ended: what it interrupted is not an answer.
func (x *Session) ended(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		x.s = nil
		return err
	}
	return nil
}

// adopt makes m the session's model and brings over from the last one the groups that
// are the same; those that are not are returned, with their last answer where warm asks
// for it and the topology allows.
func (x *Session) adopt(ctx context.Context, m *tackle.Model, warm bool) []int {
	was, clean, exact := x.s, x.clean, x.exact
	s := New(m, x.opt)
	x.s, x.clean, x.exact = s, make([]tow.System, len(m.Groups)), make([]bool, len(m.Groups))
	former := func(int) int { return -1 } // the same group in the last model
	alike, few := false, false
	var fresh []int
	if was != nil {
		fresh, few = m.Since(was.model)
	}
	for i := range x.clean {
		if few && !slices.Contains(fresh, i) {
			x.clean[i] = clean[i]
			continue
		}
		m.Build(i, nil, &x.clean[i])
	}
	switch {
	case few:
		former, alike = func(i int) int { return i }, true
	case was != nil:
		byKey := map[string]int{}
		for i := range was.groups {
			byKey[groupKey(was.model, i)] = i
		}
		former = func(i int) int {
			if k, ok := byKey[groupKey(m, i)]; ok {
				return k
			}
			return -1
		}
		alike = sameWater(was.model, m)
	}
	if alike && x.sameProbe(was, clean, former) {
		s.probe = was.probe
	} else {
		s.findProbe(ctx)
		alike = alike && s.probe == was.probe
	}
	s.nominal = m.EnvAt(nil, s.probe)
	var changed []int
	for i := range s.groups {
		k := former(i)
		if few && alike && !slices.Contains(fresh, i) && was.groups[i].Sol != nil {
			s.groups[i], x.exact[i] = was.groups[i], exact[i]
			continue
		}
		if k < 0 || was.groups[k].Sol == nil || !sameShape(&clean[k], &x.clean[i]) {
			s.groups[i] = System{Index: i}
			changed = append(changed, i)
			continue
		}
		if alike && sameSystem(&clean[k], &x.clean[i]) {
			s.groups[i] = was.groups[k]
			s.groups[i].Index = i
			x.exact[i] = exact[k]
			if !sameInputs(was.model, k, m, i) {
				s.groups[i].band = nil
			}
			continue
		}
		s.groups[i] = System{Index: i}
		if warm {
			s.groups[i] = was.groups[k]
			s.groups[i].Index = i
		}
		changed = append(changed, i)
	}
	return changed
}

// groupKey names a group by who is in it.
func groupKey(m *tackle.Model, i int) string {
	g := &m.Groups[i]
	var b strings.Builder
	switch {
	case g.Downrigger >= 0:
		b.WriteString("d " + m.Scenario.Downriggers[g.Downrigger].ID)
	case g.MastBoard >= 0:
		b.WriteString("m " + m.Scenario.MastBoards[g.MastBoard].ID)
	}
	for _, r := range g.Rods {
		b.WriteString("\n" + strconv.Itoa(len(m.Scenario.Rods[r].ID)) + m.Scenario.Rods[r].ID)
	}
	return b.String()
}

// sameWater reports whether everything is towed through the same in both models.
func sameWater(a, b *tackle.Model) bool {
	p, q := a.Scenario, b.Scenario
	return reflect.DeepEqual(&p.Water, &q.Water) && reflect.DeepEqual(&p.Speed, &q.Speed) &&
		p.Heading == q.Heading && p.Solver == q.Solver &&
		slices.EqualFunc(envEntries(a), envEntries(b), sameEntry)
}

func envEntries(m *tackle.Model) []sternfan.Entry {
	var out []sternfan.Entry
	for _, e := range m.Registry {
		if movesEnv(e.Param) {
			out = append(out, e)
		}
	}
	return out
}

func sameEntry(a, b sternfan.Entry) bool { return reflect.DeepEqual(&a, &b) }

// sameProbe reports whether the ball that carries the speed probe hangs as it did.
func (x *Session) sameProbe(was *Solver, clean []tow.System, former func(int) int) bool {
	sc := x.s.model.Scenario
	if sc.Speed.Ball == "" {
		return true
	}
	for i, g := range x.s.model.Groups {
		if g.Downrigger < 0 || sc.Downriggers[g.Downrigger].ID != sc.Speed.Ball {
			continue
		}
		k := former(i)
		return k >= 0 && sameSystem(&clean[k], &x.clean[i])
	}
	return false
}

// sameInputs reports whether the uncertain inputs of a group are what they were, so that
// its intervals stand. Which worlds correct them depends on the whole registry's size.
func sameInputs(a *tackle.Model, i int, b *tackle.Model, k int) bool {
	p, q := a.Touches(i), b.Touches(k)
	if len(a.Registry) != len(b.Registry) || !slices.Equal(p, q) {
		return false
	}
	for n := range p {
		if !sameEntry(a.Registry[p[n]], b.Registry[q[n]]) {
			return false
		}
	}
	return true
}

// sameShape reports whether two systems differ in numbers at most.
func sameShape(a, b *tow.System) bool {
	return a.Root == b.Root && a.Main == b.Main &&
		slices.EqualFunc(a.Nodes, b.Nodes, func(p, q tow.Node) bool { return p.Kind == q.Kind }) &&
		slices.EqualFunc(a.Lines, b.Lines, func(p, q tow.Line) bool { return p.From == q.From && p.To == q.To && p.Open == q.Open }) &&
		slices.EqualFunc(a.Pull, b.Pull, func(p, q float64) bool { return (p > 0) == (q > 0) })
}

func sameSystem(a, b *tow.System) bool {
	return a.Root == b.Root && a.Main == b.Main && slices.Equal(a.Lines, b.Lines) && slices.Equal(a.Pull, b.Pull) &&
		slices.EqualFunc(a.Nodes, b.Nodes, func(p, q tow.Node) bool {
			return p.Kind == q.Kind && p.At == q.At && slices.Equal(p.Bodies, q.Bodies)
		})
}

// Speed returns the speeds that belong together, as last solved.
func (x *Session) Speed() sternfan.SpeedFan { return x.s.speeds(&x.s.nominal) }
