package report

import (
	"cmp"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Table writes the fan for a captain: the first line says what matters most and what to
// do; then a row per lure from port to starboard with its rod's devices beneath, the
// warnings in words, the speeds, and the cautions that belong to what is rigged. It
// returns the writer's error.
func Table(w io.Writer, fan *sternfan.Fan, opt Options) error {
	p := &printer{w: w}
	p.wrapped("", "  ", Headline(fan, opt.Units), opt.width())
	if len(fan.Rods)+len(fan.Devices) > 0 {
		p.line("")
		tableRows(fan, opt.Units).print(p, opt.width())
	}
	printFindings(p, fan, opt.width())
	p.line("")
	p.wrapped("", "  ", speedWords(fan, opt.Units), opt.width())
	if len(fan.Rods) > 0 {
		p.line("Intervals: 4 times in 5 the depth is inside.")
	}
	cautions := Cautions(fan, opt.Scenario)
	if sc := opt.Scenario; sc != nil {
		if w := sternfan.ReleaseCaution(sc.Water.Temperature, sc.Wants.Species, opt.Units); w != nil {
			cautions = append([]string{sentence(w.Text) + " " + sentence(w.Hint)}, cautions...)
		}
	}
	p.paragraphs(opt.width(), cautions...)
	return p.err
}

// portToStarboard returns the tracks in the order of their rod tips across the boat. A
// track that has no curve counts as on its side, outermost.
func portToStarboard(tracks []sternfan.Track) []*sternfan.Track {
	out := make([]*sternfan.Track, len(tracks))
	for i := range tracks {
		out[i] = &tracks[i]
	}
	slices.SortStableFunc(out, func(a, b *sternfan.Track) int {
		return cmp.Or(cmp.Compare(a.Side, b.Side), cmp.Compare(tipSide(a), tipSide(b)))
	})
	return out
}

func tipSide(t *sternfan.Track) float64 {
	if p, ok := tipPoint(t); ok {
		return p[1]
	}
	return math.Inf(t.Side)
}

func tipPoint(t *sternfan.Track) ([3]float64, bool) {
	for i := range t.Parts {
		if len(t.Parts[i].Points) > 0 {
			return t.Parts[i].Points[0], true
		}
	}
	return [3]float64{}, false
}

// The columns of the table. The settings are words in the middle of numbers.
const (
	colRod = iota
	colLure
	colSettings
	colOut
	colDepth
	colSpan
	colSide
	colAstern
	colPull
	colAngle
	columns
)

type row [columns]string

func tableRows(fan *sternfan.Fan, u unit.System) *Grid {
	ft, lb := u.Label(unit.DepthStyle), u.Label(unit.ForceStyle)
	g := NewGrid("", Words("rod", "lure"), []Column{{"setting", "", Long}}, Numbers(ft, "line out", "depth", "4 in 5", "side", "astern"), Numbers(lb, "pull"), Numbers("°", "angle"))
	for i, tracks := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for _, t := range portToStarboard(tracks) {
			for _, r := range trackRows(t, u, i == 1) {
				g.Add(r[:]...)
			}
		}
	}
	return g
}

func trackRows(t *sternfan.Track, u unit.System, device bool) []row {
	first := row{colRod: name(t), colSettings: clean(withoutCount(t.Settings))}
	first[colOut], _ = u.Split(unit.DepthStyle, t.LineOut)
	if t.Status == sternfan.StatusNotConverged || t.Status == sternfan.StatusRefused {
		// Its numbers would be believed.
		wrong, _ := statusWords(t.Status)
		first[colSettings] = strings.TrimPrefix(first[colSettings]+"; "+wrong, "; ")
		return []row{first}
	}
	first[colPull], _ = u.Split(unit.ForceStyle, t.TipPull)
	first[colAngle], _ = u.Split(unit.AngleStyle, float64(unit.Angle(t.LineAngle)*unit.Degree))
	rows := []row{first}
	for i := range t.Lures {
		lure := &t.Lures[i]
		if i > 0 {
			rows = append(rows, row{})
		}
		r := &rows[len(rows)-1]
		r[colLure] = kindName(lure.Kind, lure.ID)
		place(r, u, &lure.BodyFan)
	}
	for i := range t.Bodies {
		b := &t.Bodies[i]
		if device && i == 0 && len(t.Lures) == 0 {
			rows[0][colLure] = kindName(b.Kind, b.ID)
			place(&rows[0], u, b)
			continue
		}
		r := row{colRod: "  " + kindName(b.Kind, b.ID)}
		place(&r, u, b)
		rows = append(rows, r)
	}
	return rows
}

func place(r *row, u unit.System, b *sternfan.BodyFan) {
	r[colDepth] = depthNumber(u, b)
	r[colSpan] = spanNumber(u, b)
	r[colSide] = sideNumber(u, b.Side)
	r[colAstern], _ = u.Split(unit.DepthStyle, b.Astern)
}

// printFindings writes what needs a hand and then what is worth knowing; what the headline
// has said is not said again.
func printFindings(p *printer, fan *sternfan.Fan, width int) {
	grave, remarks := findings(fan)
	if len(grave) > 0 {
		grave = grave[1:]
	}
	for _, part := range []struct {
		head string
		list []sternfan.Finding
	}{{"Watch:", grave}, {"Worth knowing:", remarks}} {
		if len(part.list) == 0 {
			continue
		}
		p.line("")
		p.line("%s", part.head)
		for i := range part.list {
			p.wrapped("  ", "    ", sentenceOf(&part.list[i]), width)
		}
	}
}

// givenKind returns which speed was given; a probe without a reading leaves the surface.
func givenKind(s *sternfan.SpeedFan) sternfan.SpeedKind {
	switch {
	case s.Given == sternfan.SpeedGround:
		return sternfan.SpeedGround
	case s.Given == sternfan.SpeedProbe && s.Probe != nil:
		return sternfan.SpeedProbe
	}
	return sternfan.SpeedSurface
}

func givenSpeed(fan *sternfan.Fan, u unit.System) string {
	s := &fan.Speed
	kind, v := givenKind(s), s.Surface
	switch kind {
	case sternfan.SpeedGround:
		v = s.OverGround
	case sternfan.SpeedProbe:
		v = *s.Probe
	}
	return u.Speed(unit.Speed(v)) + " " + speedKindWords(kind)
}

// speedWords says which speed was given and what the other two are.
func speedWords(fan *sternfan.Fan, u unit.System) string {
	s := &fan.Speed
	kind := givenKind(s)
	var rest []string
	if kind != sternfan.SpeedGround {
		rest = append(rest, u.Speed(unit.Speed(s.OverGround))+" over ground")
	}
	if kind != sternfan.SpeedSurface {
		rest = append(rest, u.Speed(unit.Speed(s.Surface))+" through the surface water")
	}
	given := givenSpeed(fan, u)
	if s.Probe != nil {
		at := ""
		if s.ProbeDepth != nil {
			at = " (" + u.Depth(unit.Length(*s.ProbeDepth)) + " down)"
		}
		if kind == sternfan.SpeedProbe {
			given += at
		} else {
			rest = append(rest, u.Speed(unit.Speed(*s.Probe))+" at the probe"+at)
		}
	}
	return "Speed given: " + given + "; that is " + List(rest) + "."
}

// Cautions returns short warnings about what can hurt someone, for what is rigged.
// Without a scenario the kinds of line are not known and only what always holds is said.
func Cautions(fan *sternfan.Fan, sc *sternfan.Scenario) []string {
	var out []string
	if sc != nil {
		used := linesUsed(sc)
		has := func(kinds ...string) bool {
			return slices.ContainsFunc(kinds, func(k string) bool { return used[k] })
		}
		if has("wire", "copper", "weighted-steel", "cable") {
			out = append(out, "Wire and copper under load cut: wear gloves and never wrap them round a hand.")
		} else if has("lead-core") {
			out = append(out, "Lead core under load cuts: wear gloves and never wrap it round a hand.")
		}
		if has("wire", "copper", "weighted-steel", "cable", "lead-core") {
			out = append(out, "A kinked line breaks below its label; cut the kink out.")
		}
	}
	if sc != nil && slices.ContainsFunc(sc.Rods, func(r sternfan.Rod) bool { return r.Settings.Ring.Value == 1 }) {
		out = append(out, "A diver's ring can come off: look at it each time it is set. One left in the lake can trap a fish.")
	}
	for i := range fan.Rods {
		if len(fan.Rods[i].Lures) > 0 {
			out = append(out, "Hooks swing when a line trips or a fish comes off: keep hands and faces clear of them.")
			break
		}
	}
	return append(out, "Not for navigation: with lines out you still give way and keep a look-out; local rules decide.")
}

// linesUsed returns the kinds of line that rods, leaders and cables use.
func linesUsed(sc *sternfan.Scenario) map[string]bool {
	used := map[string]bool{}
	for i := range sc.Rods {
		maps.Copy(used, rodLines(sc, &sc.Rods[i]))
	}
	for i := range sc.Downriggers {
		useLine(used, sc, sc.Downriggers[i].Cable)
	}
	for i := range sc.MastBoards {
		useLine(used, sc, sc.MastBoards[i].Line)
	}
	return used
}

func useLine(used map[string]bool, sc *sternfan.Scenario, id string) {
	for _, k := range lineKinds(sc, id) {
		used[k] = true
	}
}

// rodLines returns the kinds of line of one rod, its leaders too.
func rodLines(sc *sternfan.Scenario, r *sternfan.Rod) map[string]bool {
	used := map[string]bool{}
	leader := map[string]string{}
	for i := range sc.Gear.Leaders {
		leader[sc.Gear.Leaders[i].ID] = sc.Gear.Leaders[i].Line
	}
	var walk func(parts []sternfan.Part, depth int)
	walk = func(parts []sternfan.Part, depth int) {
		const deepestRig = 8
		if depth > deepestRig {
			return
		}
		for i := range parts {
			switch parts[i].Kind {
			case sternfan.PartLine, sternfan.PartLeader:
				useLine(used, sc, parts[i].Gear)
				useLine(used, sc, leader[parts[i].Gear])
			}
			walk(parts[i].Parts, depth+1)
		}
	}
	useLine(used, sc, r.Rig.Line)
	useLine(used, sc, r.Rig.Weighted)
	walk(r.Rig.Behind, 0)
	walk(r.Rig.Slider, 0)
	walk(r.Rig.Parts, 0)
	return used
}

// heavier is the density above which a line has metal in it, kg/m3: what floats or sinks
// slowly is below 1800 (fluorocarbon), lead core and wire are above 3000.
const heavier = 2500

// lineKinds returns what kinds a line may be of. A line of the person's own may not say;
// then what it is made from, its name and its weight tell. A caution too many hurts nobody.
func lineKinds(sc *sternfan.Scenario, id string) []string {
	names := []string{id}
	metal := false
	for i := range sc.Gear.Lines {
		l := &sc.Gear.Lines[i]
		if l.ID != id {
			continue
		}
		if l.Kind != "" {
			return []string{l.Kind}
		}
		names = append(names, l.From)
		circle := math.Pi / 4 * l.Diameter.SI() * l.Diameter.SI()
		metal = l.Solid.Value == 1 || l.Diameter.Given && l.Mass.Given && l.Mass.SI() > heavier*circle
	}
	var out []string
	// Built-in gear is named by its kind: "wire-30", "rigger-cable-150".
	for _, k := range []string{"wire", "copper", "weighted-steel", "cable", "lead-core"} {
		if slices.ContainsFunc(names, func(n string) bool { return strings.Contains(n, k) }) {
			out = append(out, k)
		}
	}
	if len(out) == 0 && metal {
		out = append(out, "wire")
	}
	return out
}

// withoutCount drops the line out from a setting's words: the table has a column for it.
func withoutCount(s string) string {
	i := strings.LastIndex(s, ", ")
	if last := s[i+1:]; strings.HasSuffix(strings.TrimSuffix(last, " from the water"), " ft out") || strings.HasSuffix(strings.TrimSuffix(last, " from the water"), " m out") {
		if i < 0 {
			return ""
		}
		return s[:i]
	}
	return s
}
