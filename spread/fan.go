package spread

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/tackle"
	"sternfan/tow"
)

// report turns the solved groups into the fan.
func (s *Solver) report(env *tow.Env) *sternfan.Fan {
	m := s.model
	sc := m.Scenario
	fan := &sternfan.Fan{Version: sternfan.FileVersion, Name: sc.Name, Speed: s.speeds(env), Registry: m.Registry}
	if sc.Water.Bottom.Given {
		b := sc.Water.Bottom.SI()
		fan.Water.Bottom = &b
	}
	for _, p := range sc.Water.Temperature {
		fan.Water.Temperature = append(fan.Water.Temperature, [2]float64{float64(p.Depth), float64(p.Temperature)})
	}
	fan.Warnings = append(speedWarnings(fan.Speed, s.opt.Units), m.Notes...)

	tracks := make([]*sternfan.Track, len(sc.Rods))
	for gi := range s.groups {
		g := &s.groups[gi]
		ref := &m.Groups[gi]
		if t := s.deviceTrack(g, ref, env); t != nil {
			fan.Devices = append(fan.Devices, *t)
		}
		for _, rod := range ref.Rods {
			tracks[rod] = s.rodTrack(g, ref, rod, env)
		}
	}
	for _, r := range m.Refused {
		t := s.emptyTrack(r.Rod)
		t.Status = sternfan.StatusRefused
		t.Warnings = append(t.Warnings, r.Warning)
		tracks[r.Rod] = t
	}
	for i, t := range tracks {
		if t == nil {
			t = s.emptyTrack(i)
			t.Status = sternfan.StatusRefused
		}
		fan.Rods = append(fan.Rods, *t)
	}
	return fan
}

func (s *Solver) emptyTrack(rod int) *sternfan.Track {
	r := &s.model.Scenario.Rods[rod]
	t := &sternfan.Track{Rod: r.ID, Status: sternfan.StatusOK, LineOut: r.Settings.LineOut.SI(),
		Settings: s.model.SettingsText(rod, s.opt.Units),
		Parts:    []sternfan.PartFan{}, Bodies: []sternfan.BodyFan{}, Lures: []sternfan.LureFan{}, Warnings: []sternfan.Warning{}}
	if h := s.model.Scenario.Boat.Holder(r.Holder); h != nil {
		t.Position, t.Side = cmp.Or(h.Position, h.ID), int(h.Side())
	}
	return t
}

func (s *Solver) rodTrack(g *System, ref *tackle.Group, rod int, env *tow.Env) *sternfan.Track {
	return s.solved(s.emptyTrack(rod), g, ref, rod, env)
}

func (s *Solver) deviceTrack(g *System, ref *tackle.Group, env *tow.Env) *sternfan.Track {
	sc := s.model.Scenario
	t := &sternfan.Track{Status: sternfan.StatusOK, Parts: []sternfan.PartFan{}, Bodies: []sternfan.BodyFan{},
		Lures: []sternfan.LureFan{}, Warnings: []sternfan.Warning{}}
	switch {
	case ref.Downrigger >= 0:
		d := &sc.Downriggers[ref.Downrigger]
		t.Rod, t.Position, t.LineOut = d.ID, "downrigger "+d.ID, d.CableOut.SI()
	case ref.MastBoard >= 0:
		b := &sc.MastBoards[ref.MastBoard]
		t.Rod, t.Position, t.LineOut = b.ID, "mast board "+b.ID, b.LineOut.SI()
	default:
		return nil
	}
	t.Side = int(sternfan.SideOf(g.Sys.Nodes[g.Sys.Root].At))
	return s.solved(t, g, ref, -1, env)
}

// solved puts the answer for a rod, or with -1 for its device, into its track.
func (s *Solver) solved(t *sternfan.Track, g *System, ref *tackle.Group, rod int, env *tow.Env) *sternfan.Track {
	t.Solve = sternfan.SolveCount{Iterations: g.Sol.Iterations, Steps: g.Sol.Steps, Residual: g.Sol.Residual}
	if g.Sol.Status == tow.Converged {
		s.fill(g, ref, rod, t, env)
		s.judge(g, ref, rod, t, env)
		return t
	}
	t.Status = sternfan.StatusNotConverged
	t.Warnings = append(t.Warnings, sternfan.Warning{Code: "not-converged",
		Text: "no resting place was found: " + g.Sol.Status.String() + " after " + count(g.Sol.Iterations, "pass", "passes") +
			" and " + count(g.Sol.Steps, "step", "steps"),
		Hint: "check weights, lengths and speed of this rig; a line that floats or a pull that cannot be held has no answer"})
	return t
}

// fill puts a rod's (or with -1 its device's) lines and bodies into its track.
func (s *Solver) fill(g *System, ref *tackle.Group, rod int, t *sternfan.Track, env *tow.Env) {
	type placed struct {
		order int
		part  sternfan.PartFan
	}
	var parts []placed
	for i := range ref.Lines {
		l := &ref.Lines[i]
		if l.Rod != rod {
			continue
		}
		p := g.Sol.Samples[i]
		from, to := g.Sol.Pull(i)
		pts := curve(p, g.Sys.Lines[i].Props.EA)
		part := sternfan.PartFan{ID: l.ID, Kind: l.Kind, Pull: [2]float64{from, to}}
		if !g.FromTip(i) {
			slices.Reverse(pts)
			part.Pull = [2]float64{to, from}
		}
		part.Points = pts
		parts = append(parts, placed{s.PartOrder(rod, l.ID), part})
	}
	slices.SortStableFunc(parts, func(a, b placed) int { return a.order - b.order })
	for _, p := range parts {
		t.Parts = append(t.Parts, p.part)
	}
	tip := g.TipLine(ref, rod)
	if tip >= 0 {
		t.TipPull = g.AtTip(tip, g.Sol.Pull)
		t.LineAngle = s.entryAngle(g, ref, rod, tip)
	}
	if t.LineOut == 0 || rod >= 0 && ref.Downrigger >= 0 {
		t.LineOut = 0
		for i := range ref.Lines {
			if ref.Lines[i].Rod == rod && g.FromTip(i) {
				t.LineOut += g.Sol.Length[i]
			}
		}
	}
	for i := range ref.Nodes {
		n := &ref.Nodes[i]
		if n.Rod != rod || n.Kind == "" || n.Kind == "tip" {
			continue
		}
		b := sternfan.BodyFan{ID: n.ID, Kind: n.Kind}
		b.Place(g.Sol.Nodes[i])
		b.DepthLo, b.DepthHi = b.Depth, b.Depth
		var dr []sternfan.Driver
		if g.band != nil {
			b.DepthLo, b.DepthHi, dr = g.band[i].lo, g.band[i].hi, g.band[i].drivers
		}
		if !n.Lure {
			t.Bodies = append(t.Bodies, b)
			continue
		}
		b.Kind = s.LureKind(n.Gear)
		lure := sternfan.LureFan{BodyFan: b, ThroughWater: throughWater(env, b.Depth), Drivers: dr}
		if n.WindowHi > 0 {
			lure.Window = &[2]float64{n.WindowLo, n.WindowHi}
		}
		if temp, ok := s.model.Temperature(b.Depth); ok {
			lure.Temperature = &temp
		}
		t.Lures = append(t.Lures, lure)
	}
}

// LureKind returns what kind of lure a gear id is, in the trade's word.
func (s *Solver) LureKind(gear string) string {
	for i := range s.model.Scenario.Gear.Lures {
		if l := &s.model.Scenario.Gear.Lures[i]; l.ID == gear && l.Kind != "" {
			return strings.ReplaceAll(l.Kind, "-", " ")
		}
	}
	return "lure"
}

// FromTip reports whether line i runs from the boat out, as a line to a further fixed
// end does.
func (g *System) FromTip(i int) bool {
	for hops := 0; hops < len(g.Sys.Lines); hops++ {
		from := g.Sys.Lines[i].From
		if g.Sys.Nodes[from].Kind == tow.Fixed {
			return true
		}
		// A ring's upper line also comes from the tip.
		next := -1
		for k := range g.Sys.Lines {
			if g.Sys.Lines[k].To == from && g.Sys.Nodes[from].Kind == tow.Ring && g.Sys.Lines[k].Open {
				next = k
			}
		}
		if next < 0 {
			return g.ring != ringSlides && g.reachesTip(from)
		}
		i = next
	}
	return false
}

// reachesTip reports whether a line from the boat ends at the node.
func (g *System) reachesTip(node int) bool {
	for k := range g.Sys.Lines {
		if g.Sys.Lines[k].To == node && g.Sys.Nodes[g.Sys.Lines[k].From].Kind == tow.Fixed {
			return true
		}
	}
	return false
}

// AtTip returns the pull of a line at its end on the boat, N, given the pulls at the ends
// of every line.
func (g *System) AtTip(line int, pulls func(line int) (from, to float64)) float64 {
	from, to := pulls(line)
	if g.FromTip(line) {
		return from
	}
	return to
}

// TipLine returns the line of the rod that ends on the boat, -1 for none.
func (g *System) TipLine(ref *tackle.Group, rod int) int {
	for i := range ref.Lines {
		l := &g.Sys.Lines[i]
		if ref.Lines[i].Rod == rod && (g.Sys.Nodes[l.From].Kind == tow.Fixed || l.To == g.Sys.Root) {
			return i
		}
	}
	return -1
}

// entryAngle returns the line's angle from the horizontal where it enters the water, in
// degrees; at the tip when that is under water or the line never enters.
func (s *Solver) entryAngle(g *System, ref *tackle.Group, rod, tip int) float64 {
	at := g.Sol.Samples[tip]
	f := at[len(at)-1].F
	if g.FromTip(tip) {
		f = at[0].F
	}
	best := math.Inf(1)
	for i := range ref.Lines {
		if ref.Lines[i].Rod != rod {
			continue
		}
		p := g.Sol.Samples[i]
		for k := 1; k < len(p); k++ {
			// The crossing nearest the tip: the one farthest forward.
			if (p[k-1].R.Z > 0) != (p[k].R.Z > 0) && -p[k].R.X < best && (i == tip || g.FromTip(i)) {
				best = -p[k].R.X
				x := p[k-1].R.Z / (p[k-1].R.Z - p[k].R.Z)
				f = p[k-1].F.Scale(1-x).AddScaled(x, p[k].F)
			}
		}
	}
	return math.Atan2(math.Abs(f.Z), f.Horizontal()) * 180 / math.Pi
}

// PartOrder returns a part's place from the tip down.
func (s *Solver) PartOrder(rod int, id string) int {
	if rod < 0 {
		return 0
	}
	n := 0
	for _, p := range s.model.Scenario.Rods[rod].Rig.Parts {
		if p.ID == id {
			return n
		}
		n++
	}
	return n + 1
}
