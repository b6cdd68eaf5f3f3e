package report

import (
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// temperature returns the strip between the views from the side and from astern: the
// water's temperature against the same depth axis. Its U axis is meters of the sheet.
func (p *planner) temperature() sternfan.View {
	f := &p.f
	wide := stripWide * p.mm
	v := sternfan.View{
		ID: "temperature", Title: "water",
		Place: p.place(p.band+f.astern()/p.mm+(gapWide-stripWide)/2, 2*p.titles+f.side()/p.mm),
		U:     sternfan.Axis{Label: p.u.Label(unit.TemperatureStyle), From: 0, To: wide, Ticks: []sternfan.Tick{}},
		V:     axis("", f.depthFrom, f.depthTo, 1/p.mm, p.u, nil),
	}
	v.Shapes = p.lake(0, wide)
	profile := p.profile()
	if len(profile) == 0 {
		return v
	}
	lo, hi := profile[0][1], profile[0][1]
	for _, q := range profile {
		lo, hi = math.Min(lo, q[1]), math.Max(hi, q[1])
	}
	// At least 8 degrees across, so that a difference of little is seen as little.
	const least = 8.0
	if hi-lo < least {
		lo, hi = (lo+hi-least)/2, (lo+hi+least)/2
	}
	line := make([][2]float64, len(profile))
	for i, q := range profile {
		line[i] = [2]float64{(0.14 + 0.72*(q[1]-lo)/(hi-lo)) * wide, q[0]}
	}
	v.Shapes = append(v.Shapes, sternfan.Shape{
		Kind: sternfan.ShapeLine, Class: "temperature", Points: line, Alt: p.profileWords(profile),
	})
	bands := p.bandShapes(wide)
	v.Shapes = append(v.Shapes, bands...)
	place := newPlacer(&v, p.mm)
	place.labels = append(place.labels, p.nameBands(&v, bands)...)
	said := map[string]bool{} // water of one temperature says it once
	for _, i := range []int{0, len(profile) - 1, steepest(profile)} {
		text := p.u.Temperature(unit.Temperature(profile[i][1]))
		if !said[text] {
			place.label(line[i], sternfan.Shape{Class: "label temperature"}, text)
		}
		said[text] = true
	}
	return v
}

// bandShapes returns the depths that the water's temperature proposes for the species of
// the scenario, as frames across the strip; species that share one share a frame.
func (p *planner) bandShapes(wide float64) []sternfan.Shape {
	var out []sternfan.Shape
	if p.sc == nil {
		return nil
	}
	for _, b := range sternfan.ProposeBands(p.sc.Water.Temperature, p.sc.Water.Bottom.Value, p.sc.Wants.Species, p.u).Bands {
		from, to := float64(b.From), math.Min(float64(b.To), p.f.depthTo)
		if to-from < p.mm {
			continue
		}
		name, reason := clean(b.Species), clean(b.Reason)
		const alike = 0.3 // m
		if i := slices.IndexFunc(out, func(s sternfan.Shape) bool {
			return math.Abs(s.Points[0][1]-from) < alike && math.Abs(s.Points[2][1]-to) < alike
		}); i >= 0 {
			out[i].Part += ", " + name
			out[i].Alt += "; " + reason
			continue
		}
		edge := 0.03 * wide
		s := rectangle("band", "advice, no rule: "+reason, edge, from, wide-edge, to)
		s.Part = name
		out = append(out, s)
	}
	return out
}

// nameBands writes the species into their frames where there is room, and returns the room
// taken.
func (p *planner) nameBands(v *sternfan.View, bands []sternfan.Shape) []box {
	var taken []box
	for i := range bands {
		b := &bands[i]
		at := [2]float64{b.Points[0][0] + 0.8*p.mm, b.Points[2][1] - 0.6*lineTall*labelSize*p.mm}
		name := textBox(b.Part, "start", at, p.mm)
		clear := !slices.ContainsFunc(taken, func(o box) bool { return name.hits(o) })
		if !clear || name.u1 > b.Points[1][0] || name.v0 < b.Points[0][1] {
			continue
		}
		taken = append(taken, name)
		v.Shapes = append(v.Shapes, sternfan.Shape{Kind: sternfan.ShapeText, Class: "label temperature", Text: b.Part, Anchor: "start", Points: [][2]float64{at}})
	}
	return taken
}

// adviceWords says which depths the temperature proposes, "" for none.
func adviceWords(sc *sternfan.Scenario, u unit.System) string {
	if sc == nil {
		return ""
	}
	type group struct {
		names []string
		where string
	}
	var groups []group
	for _, b := range sternfan.ProposeBands(sc.Water.Temperature, sc.Water.Bottom.Value, sc.Wants.Species, u).Bands {
		name, where := clean(b.Species), span(u, float64(b.From), float64(b.To))+" "+u.Label(unit.DepthStyle)
		if b.Basis == sternfan.BasisUnverified {
			name += " (unverified)"
		}
		i := slices.IndexFunc(groups, func(g group) bool { return g.where == where })
		if i < 0 {
			groups, i = append(groups, group{where: where}), len(groups)
		}
		groups[i].names = append(groups[i].names, name)
	}
	var said []string
	for _, g := range groups {
		said = append(said, List(g.names)+" "+g.where)
	}
	if len(said) == 0 {
		return ""
	}
	return "Temperature advice, no rule: " + strings.Join(said, "; ") + "."
}

// profile returns depth and temperature from the surface to the picture's lower edge or
// the bottom; beyond its ends the profile goes on as it is there.
func (p *planner) profile() [][2]float64 {
	to := p.f.depthTo
	if p.bottom {
		to = *p.fan.Water.Bottom
	}
	var out [][2]float64
	for _, q := range p.fan.Water.Temperature {
		if math.IsNaN(q[0]+q[1]) || math.IsInf(q[0]+q[1], 0) {
			continue
		}
		if len(out) == 0 && q[0] > 0 {
			out = append(out, [2]float64{0, q[1]})
		}
		if q[0] > to {
			if n := len(out); n > 0 && q[0] > out[n-1][0] {
				last := out[n-1]
				t := (to - last[0]) / (q[0] - last[0])
				out = append(out, [2]float64{to, last[1] + t*(q[1]-last[1])})
			}
			break
		}
		out = append(out, [2]float64{math.Max(0, q[0]), q[1]})
	}
	if n := len(out); n > 0 && out[n-1][0] < to {
		out = append(out, [2]float64{to, out[n-1][1]})
	}
	return out
}

// steepest returns the lower end of the profile's steepest step.
func steepest(profile [][2]float64) int {
	best, at := 0.0, 0
	for i := 1; i < len(profile); i++ {
		dz := profile[i][0] - profile[i-1][0]
		if dz <= 0 {
			continue
		}
		if g := math.Abs(profile[i][1]-profile[i-1][1]) / dz; g > best {
			best, at = g, i
		}
	}
	return at
}

func (p *planner) profileWords(profile [][2]float64) string {
	var said []string
	for _, q := range profile {
		said = append(said, p.u.Temperature(unit.Temperature(q[1]))+" at "+p.u.Depth(unit.Length(q[0])))
	}
	return "water temperature: " + strings.Join(said, ", ")
}

// keyRow is one line of the key: a sample and what it means, or words alone.
type keyRow struct {
	kind  sternfan.ShapeKind
	class string
	sign  string
	text  string
}

// Sizes of the key, mm.
const (
	keyRowTall = 5.3
	keySample  = 9.0
	keyTextAt  = 11.5
	keyApart   = 4.0
)

// key returns the key to lines and signs that the picture uses and the rods by their
// tags. It stands over the view from astern, where the sheet is free, or at its right
// when there is room.
func (p *planner) key() sternfan.View {
	f := &p.f
	right, wide, tall := p.band+f.astern()/p.mm+gapBare, p.gap-gapBare+f.side()/p.mm, f.side()/p.mm
	if p.keyWide > 0 {
		right += wide + keyApart
		wide = p.keyWide - keyApart
		tall += p.titles + f.depth()/p.mm
	}
	v := sternfan.View{
		ID: "key", Title: "key",
		Place:  p.place(right, p.titles),
		U:      sternfan.Axis{From: 0, To: wide * p.mm, Ticks: []sternfan.Tick{}},
		V:      sternfan.Axis{From: 0, To: tall * p.mm, Ticks: []sternfan.Tick{}},
		Shapes: []sternfan.Shape{},
	}
	columns := keyColumns(p.keyRows(), tall)
	if rods := keyColumns(p.keyRods(), tall); keyWidth(columns)+keyApart+keyWidth(rods) <= wide {
		columns = append(columns, rods...)
	} else if all := keyColumns(append(p.keyRows(), p.keyRods()...), tall); keyWidth(all) <= wide {
		columns = all
	}
	u := 0.0
	for _, column := range columns {
		if u+keyWidth([][]keyRow{column}) > wide {
			break
		}
		for i := range column {
			v.Shapes = append(v.Shapes, p.keyShapes(&column[i], u, keyRowTall*(0.5+float64(i)))...)
		}
		u += keyWidth([][]keyRow{column}) + keyApart
	}
	return v
}

// keyColumns breaks rows into columns of at most the height.
func keyColumns(rows []keyRow, tall float64) [][]keyRow {
	each := int(tall / keyRowTall)
	if each < 1 {
		return nil
	}
	return slices.Collect(slices.Chunk(rows, each))
}

// keyWidth returns the width of columns side by side, mm.
func keyWidth(columns [][]keyRow) float64 {
	wide := 0.0
	for i, column := range columns {
		if i > 0 {
			wide += keyApart
		}
		longest := 0.0
		for _, r := range column {
			long := letters(r.text) * labelSize
			if r.kind != sternfan.ShapeText {
				long += keyTextAt
			}
			longest = math.Max(longest, long)
		}
		wide += longest
	}
	return wide
}

// keyShapes draws a row whose middle left is at the point, mm.
func (p *planner) keyShapes(r *keyRow, u, w float64) []sternfan.Shape {
	at := func(du, dw float64) [2]float64 { return [2]float64{(u + du) * p.mm, (w + dw) * p.mm} }
	text := sternfan.Shape{Kind: sternfan.ShapeText, Class: "label key", Text: r.text, Anchor: "start", Points: [][2]float64{at(keyTextAt, 0)}}
	s := sternfan.Shape{Kind: r.kind, Class: r.class, Sign: r.sign}
	switch r.kind {
	case sternfan.ShapeText:
		text.Class, text.Points = r.class, [][2]float64{at(0, 0)}
		return []sternfan.Shape{text}
	case sternfan.ShapeMarker:
		s.Points = [][2]float64{at(keySample/2, 0)}
	case sternfan.ShapeBar:
		s.Points = [][2]float64{at(keySample/2, -1.8), at(keySample/2, 1.8)}
	case sternfan.ShapeArea:
		s.Points = [][2]float64{at(0, -1.4), at(keySample, -1.4), at(keySample, 1.4), at(0, 1.4)}
	default:
		s.Points = [][2]float64{at(0, 0), at(keySample, 0)}
	}
	return []sternfan.Shape{s, text}
}

// keyRods names the rods by their tags, port to starboard.
func (p *planner) keyRods() []keyRow {
	var rows []keyRow
	for _, t := range p.rods {
		if believed(t) {
			rows = append(rows, keyRow{sternfan.ShapeText, "label key " + sideWord(t.Side), "", p.tags[t] + " " + name(t)})
		}
	}
	return rows
}

func (p *planner) keyRows() []keyRow {
	var rows []keyRow
	for _, side := range []int{-1, 0, 1} {
		if slices.ContainsFunc(p.rods, func(t *sternfan.Track) bool { return t.Side == side }) {
			w := sideWord(side)
			rows = append(rows, keyRow{sternfan.ShapeLine, "line " + w, "", w + ", " + sideLetter(side)})
		}
	}
	signs := map[string]bool{}
	var others []string // what the sign of a weight stands for
	lures := false
	for _, t := range append(slices.Clone(p.rods), p.devices...) {
		for i := range t.Bodies {
			s := sign(t.Bodies[i].Kind)
			signs[s] = true
			if kind := clean(t.Bodies[i].Kind); s == "weight" && kind != "" && !slices.Contains(others, kind) {
				others = append(others, kind)
			}
		}
		lures = lures || len(t.Lures) > 0
	}
	if lures {
		rows = append(rows,
			keyRow{sternfan.ShapeMarker, "marker middle", "lure", "lure"},
			keyRow{sternfan.ShapeBar, "interval middle", "", "depth, 4 in 5"})
	}
	if slices.ContainsFunc(p.rods, func(t *sternfan.Track) bool { return believed(t) && needsHand(p.fan, t) && len(t.Lures) > 0 }) {
		rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle trouble", "lure", "needs a hand"})
	}
	for _, s := range []string{"diver", "ball", "board", "weight"} {
		if signs[s] {
			text := s
			if s == "weight" && len(others) > 0 {
				const longest = 22 // leaves room for the rods' names beside it
				if text = list(others, ", ", " or "); len(text) > longest {
					text = "other gear"
				}
			}
			rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle", s, text})
		}
	}
	if len(p.devices) > 0 {
		rows = append(rows, keyRow{sternfan.ShapeLine, "cable middle", "", "cable"})
	}
	if len(p.rods) > 0 {
		rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle", "tip", "rod tip"})
	}
	if adviceWords(p.sc, p.u) != "" {
		rows = append(rows, keyRow{sternfan.ShapeArea, "band", "", "advised water"})
	}
	return rows
}
