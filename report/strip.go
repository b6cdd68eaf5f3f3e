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
		Place: p.place(depthBand+f.astern()/p.mm+(gapWide-stripWide)/2, 2*viewTitle+f.side()/p.mm),
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
	place := newPlacer(&v, p.mm)
	for _, i := range []int{0, len(profile) - 1, steepest(profile)} {
		at := line[i]
		place.put(at, sternfan.Shape{Class: "label temperature"}, p.u.Temperature(unit.Temperature(profile[i][1])))
	}
	return v
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

// keyRow is one line of the key: a sample and what it means.
type keyRow struct {
	kind  sternfan.ShapeKind
	class string
	sign  string
	text  string
}

// key returns the key to lines and signs that the picture uses, over the view from
// astern, where the sheet is free.
func (p *planner) key() sternfan.View {
	f := &p.f
	wide, tall := f.side(), f.side()
	v := sternfan.View{
		ID: "key", Title: "key",
		Place:  p.place(depthBand+f.astern()/p.mm+p.gap, viewTitle),
		U:      sternfan.Axis{From: 0, To: wide, Ticks: []sternfan.Tick{}},
		V:      sternfan.Axis{From: 0, To: tall, Ticks: []sternfan.Tick{}},
		Shapes: []sternfan.Shape{},
	}
	const rowTall, sample, textAt, inset = 5.4, 9.0, 12.0, 2.0
	rows := p.keyRows()
	longest := 0.0
	for _, r := range rows {
		longest = math.Max(longest, textAt+textBox(r.text, "start", [2]float64{}, 1).u1)
	}
	perColumn := int(tall / p.mm / rowTall)
	if perColumn < 1 {
		return v
	}
	column := longest + 4
	for i, r := range rows {
		u := inset + column*float64(i/perColumn)
		w := (rowTall * (0.5 + float64(i%perColumn))) * p.mm
		if (u+longest)*p.mm > wide {
			break
		}
		s := sternfan.Shape{Kind: r.kind, Class: r.class, Sign: r.sign}
		mid := (u + sample/2) * p.mm
		switch r.kind {
		case sternfan.ShapeMarker:
			s.Points = [][2]float64{{mid, w}}
		case sternfan.ShapeBar:
			s.Points = [][2]float64{{mid, w - 1.8*p.mm}, {mid, w + 1.8*p.mm}}
		default:
			s.Points = [][2]float64{{u * p.mm, w}, {(u + sample) * p.mm, w}}
		}
		v.Shapes = append(v.Shapes, s, sternfan.Shape{
			Kind: sternfan.ShapeText, Class: "label key", Text: r.text, Anchor: "start",
			Points: [][2]float64{{(u + textAt) * p.mm, w}},
		})
	}
	return v
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
	lures := false
	for _, t := range append(slices.Clone(p.rods), p.devices...) {
		for i := range t.Bodies {
			signs[sign(t.Bodies[i].Kind)] = true
		}
		lures = lures || len(t.Lures) > 0
	}
	if lures {
		rows = append(rows,
			keyRow{sternfan.ShapeMarker, "marker middle", "lure", "lure"},
			keyRow{sternfan.ShapeBar, "interval middle", "", "depth, 8 times in 10"})
	}
	if slices.ContainsFunc(p.rods, func(t *sternfan.Track) bool { return believed(t) && t.Status != sternfan.StatusOK && len(t.Lures) > 0 }) {
		rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle trouble", "lure", "needs a hand"})
	}
	for _, s := range []string{"diver", "ball", "board", "weight"} {
		if signs[s] {
			rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle", s, s})
		}
	}
	if len(p.devices) > 0 {
		rows = append(rows, keyRow{sternfan.ShapeLine, "cable middle", "", "cable"})
	}
	if len(p.rods) > 0 {
		rows = append(rows, keyRow{sternfan.ShapeMarker, "marker middle", "tip", "rod tip"})
	}
	return rows
}
