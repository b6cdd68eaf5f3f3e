package spread

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/tackle"
	"sternfan/unit"
)

// Paths returns what one rod can reach: for each whole mark of its dial (or its one
// setting when it has no dial) the way the lure takes as line goes out, at whole counts.
// The error is a fault when the rod is not there, or ctx's.
func Paths(ctx context.Context, m *tackle.Model, rodID string, opt Options) (*sternfan.Paths, error) {
	at := slices.IndexFunc(m.Scenario.Rods, func(r sternfan.Rod) bool { return r.ID == rodID })
	if at < 0 {
		f := sternfan.Fault{Code: "unknown-rod", Text: "no rod has that id", Found: rodID, Hint: "name one of the file's rods with --rod"}
		for _, r := range m.Scenario.Rods {
			f.Allowed = append(f.Allowed, r.ID)
		}
		return nil, sternfan.Faults{f}
	}
	whole := *m.Scenario
	if sp := &whole.Speed; sp.Given == sternfan.SpeedProbe && sp.Ball != "" {
		// The ball with the probe hangs as it does in the whole boat.
		s := New(m, opt)
		s.findProbe(ctx)
		sp.Depth = sternfan.Of(unit.Length(s.probe))
	}
	base := alone(&whole, at)
	vary, marks := "setting", []float64{0}
	if base.Rods[0].Settings.Dial.Given {
		vary = "dial"
		marks = dialMarks(m, at)
		if now := base.Rods[0].Settings.Dial.SI(); !slices.Contains(marks, now) {
			marks = append(slices.Clone(marks), now)
			slices.Sort(marks)
		}
	}
	out := &sternfan.Paths{Rod: rodID, Vary: vary}
	for _, mark := range marks {
		p := sternfan.Path{Mark: mark, Label: "as set"}
		sc := alone(&whole, at)
		if vary == "dial" {
			sc.Rods[0].Settings.Dial = sternfan.Of(mark)
			p.Label = fmt.Sprintf("dial %g", mark)
		}
		for _, n := range counts(sc) {
			tick, err := one(ctx, sc, n, opt)
			if err != nil {
				return nil, err
			}
			p.Ticks = append(p.Ticks, tick)
			if tick.Status == sternfan.StatusBottom || tick.Status == sternfan.StatusOverStrength {
				break
			}
		}
		out.Paths = append(out.Paths, p)
	}
	return out, nil
}

// dialMarks returns the whole marks of the rod's diver, ascending.
func dialMarks(m *tackle.Model, rod int) []float64 {
	most := 4.0
	for _, p := range m.Scenario.Rods[rod].Rig.Parts {
		for _, d := range m.Scenario.Gear.Divers {
			if p.Kind == sternfan.PartDiver && d.ID == p.Gear && len(d.DialMarks) > 0 {
				most = d.DialMarks[len(d.DialMarks)-1]
			}
		}
	}
	var marks []float64
	for k := 0.0; k <= most; k++ {
		marks = append(marks, k)
	}
	return marks
}

// alone returns a copy of the scenario with one rod and the device it is clipped to. Its
// parts go back to the shorthand when there was one, so that settings rule again.
func alone(sc *sternfan.Scenario, rod int) *sternfan.Scenario {
	c := *sc
	r := sc.Rods[rod]
	if r.Rig.Kind != sternfan.RigParts {
		r.Rig.Parts = nil
	}
	c.Rods = []sternfan.Rod{r}
	on := []string{r.Rig.Downrigger, r.Rig.MastBoard}
	for _, p := range r.Rig.Parts {
		if p.Kind == sternfan.PartRelease {
			on = append(on, p.On) // an expanded rig has its device in its parts
		}
	}
	c.Downriggers, c.MastBoards = nil, nil
	for _, d := range sc.Downriggers {
		if slices.Contains(on, d.ID) {
			c.Downriggers = append(c.Downriggers, d)
		}
	}
	for _, b := range sc.MastBoards {
		if slices.Contains(on, b.ID) {
			c.MastBoards = append(c.MastBoards, b)
		}
	}
	if sp := &c.Speed; sp.Ball != "" {
		if slices.Contains(on, sp.Ball) {
			sp.Depth = sc.Speed.Depth
			sp.Depth.Given = false // the rod's own ball moves, and the probe on it
		} else {
			sp.Ball = ""
		}
	}
	return &c
}

// trails reports whether what goes out of a rod that stands alone is its lead: behind an
// in-line board, or from a mast board's line.
func trails(sc *sternfan.Scenario) bool {
	rig := &sc.Rods[0].Rig
	return len(sc.MastBoards) > 0 || rig.Kind == sternfan.RigBoard ||
		slices.ContainsFunc(rig.Parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartBoard })
}

// counts returns the whole counts, in metres, at which a path is ticked.
func counts(sc *sternfan.Scenario) []float64 {
	r := &sc.Rods[0]
	if r.Settings.Colors.Given {
		var out []float64
		for n := 1.0; n <= math.Max(10, r.Settings.Colors.SI()); n++ {
			out = append(out, n*float64(unit.Color))
		}
		return out
	}
	now := r.Settings.LineOut.SI()
	switch {
	case len(sc.Downriggers) > 0:
		now = sc.Downriggers[0].CableOut.SI()
	case trails(sc):
		now = r.Settings.Lead.SI()
	}
	far := math.Max(1.5*now/float64(unit.Foot), 100)
	step := 20.0
	for far/step > 14 {
		step += 10
	}
	var out []float64
	for n := step; n <= far+1e-9; n += step {
		out = append(out, n*float64(unit.Foot))
	}
	return out
}

// one solves the rod alone with the count n, and says why where it has no answer there.
func one(ctx context.Context, sc *sternfan.Scenario, n float64, opt Options) (sternfan.PathTick, error) {
	c := *sc
	c.Rods = slices.Clone(sc.Rods)
	c.Downriggers = slices.Clone(sc.Downriggers)
	set := &c.Rods[0].Settings
	q := sternfan.Of(unit.Length(n))
	switch {
	case set.Colors.Given:
		set.Colors = sternfan.Of(n / float64(unit.Color))
		if set.LineOut.Given {
			set.LineOut.Value += unit.Length(n) - unit.Length(sc.Rods[0].Settings.Colors.SI()*float64(unit.Color))
		}
	case len(c.Downriggers) > 0:
		c.Downriggers[0].CableOut = q
	case trails(&c):
		set.Lead = q
	default:
		set.LineOut = q
	}
	tick := sternfan.PathTick{Count: n, Status: sternfan.StatusRefused}
	m, faults := tackle.Resolve(&c)
	switch {
	case len(faults) > 0:
		tick.Why = faults[0].Text
		return tick, ctx.Err()
	case len(m.Refused) > 0:
		tick.Why = m.Refused[0].Warning.Text
		return tick, ctx.Err()
	}
	fan, err := Solve(ctx, m, opt)
	if err != nil {
		return tick, err
	}
	t := &fan.Rods[0]
	if tick.Status = t.Status; t.Status == sternfan.StatusNotConverged || len(t.Lures) == 0 {
		tick.Why = "no resting place is found"
		return tick, nil
	}
	tick.LureFan, tick.TipPull = t.Lures[len(t.Lures)-1], t.TipPull
	return tick, nil
}

// headingStep is the spacing of the rows of a speed table, degrees.
const headingStep = 30

// Speeds returns the speed over ground to hold on each heading so that the water passes
// the place at (a downrigger's id, "ball" for the first, or a depth such as "60 ft") at
// want m/s, and where the lures' speed windows do not overlap.
func Speeds(ctx context.Context, m *tackle.Model, at string, want float64, opt Options) (*sternfan.SpeedTable, error) {
	sc := *m.Scenario
	sp := sternfan.Speed{Given: sternfan.SpeedProbe, Value: sternfan.Of(unit.Speed(want)), Band: sc.Speed.Band}
	var allowed []string
	for _, d := range sc.Downriggers {
		allowed = append(allowed, d.ID)
		if at == d.ID || at == "ball" && sp.Ball == "" {
			sp.Ball = d.ID
		}
	}
	if sp.Ball == "" {
		z, err := unit.ParseLength(at)
		if err != nil || z < 0 {
			return nil, sternfan.Faults{{Code: "unknown-place", Text: "no such place to hold a speed at", Found: at,
				Allowed: append(allowed, "a depth such as 60ft"), Hint: "write --at BALL=2.2mph or --at 60ft=2.2mph"}}
		}
		sp.Depth = sternfan.Of(z)
	}
	sc.Speed = sp
	if sp.Ball == "" {
		sc.Speed.Depth = sp.Depth
	}
	table := &sternfan.SpeedTable{At: at, Want: want}
	file := sc.Heading.SI() * 180 / math.Pi
	var here *sternfan.Fan
	for h := 0.0; h < 360; h += headingStep {
		sc.Heading = sternfan.Of(unit.Angle(h * math.Pi / 180))
		row, fan, depth, err := onHeading(ctx, &sc, opt)
		if err != nil {
			return nil, err
		}
		row.Heading = h
		table.Rows = append(table.Rows, row)
		if here == nil || math.Abs(math.Remainder(h-file, 360)) <= headingStep/2 {
			here, table.Depth = fan, depth
		}
	}
	if here != nil {
		windows(table, here, opt.Units)
	}
	return table, nil
}

func onHeading(ctx context.Context, sc *sternfan.Scenario, opt Options) (row sternfan.SpeedRow, fan *sternfan.Fan, depth float64, err error) {
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		return row, nil, 0, faults
	}
	s := New(m, opt)
	if fan, err = s.Fan(ctx); err != nil {
		return row, nil, 0, err
	}
	env := m.EnvAt(nil, s.probe)
	got := throughWater(&env, s.probe)
	row.OverGround, row.Surface = fan.Speed.OverGround, fan.Speed.Surface
	row.OK = env.Speed > 0 && math.Abs(got-sc.Speed.Value.SI()) < 1e-3
	return row, fan, s.probe, nil
}

// windows lists the lures' windows and finds the surface speeds at which all of them are
// in theirs, taking each lure's difference to the surface as it is now.
func windows(table *sternfan.SpeedTable, fan *sternfan.Fan, words unit.System) {
	type span struct {
		lo, hi float64
		name   string
	}
	var spans []span
	lo, hi := 0.0, math.Inf(1)
	for _, t := range fan.Rods {
		for _, l := range t.Lures {
			if l.Window == nil {
				continue
			}
			table.Lures = append(table.Lures, sternfan.WindowRow{Rod: t.Rod, Position: t.Position, Lure: Named(l.Kind, l.ID), Depth: l.Depth, Window: *l.Window, Now: l.ThroughWater})
			d := l.ThroughWater - fan.Speed.Surface
			who := "rod " + t.Rod
			if t.Position != "" {
				who = t.Position
			}
			s := span{l.Window[0] - d, l.Window[1] - d, "the " + Named(l.Kind, l.ID) + " on the " + strings.TrimPrefix(who, "the ")}
			spans = append(spans, s)
			lo, hi = math.Max(lo, s.lo), math.Min(hi, s.hi)
		}
	}
	if len(spans) == 0 {
		return
	}
	if lo <= hi {
		table.Overlap = &[2]float64{lo, hi}
		return
	}
	for i, a := range spans {
		for _, b := range spans[i+1:] {
			if a.lo > b.hi || b.lo > a.hi {
				if a.lo > b.hi {
					a, b = b, a
				}
				table.Apart = append(table.Apart, sternfan.Warning{Code: "windows-apart",
					Text: fmt.Sprintf("%s wants at most %s at the surface, %s at least %s", a.name, words.Speed(unit.Speed(a.hi)), b.name, words.Speed(unit.Speed(b.lo))),
					Hint: "change one of the two lures"})
			}
		}
	}
}
