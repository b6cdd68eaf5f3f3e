package report

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// DepthFitDrawing returns measured against reckoned depths: before and after what was
// learned, side by side at one scale, a sign a measurement with the interval of the
// measurement, and the line on which both agree. Angles, pulls and distances have no
// place in it.
func DepthFitDrawing(f *sternfan.DepthFit, u unit.System) *sternfan.Drawing {
	var rows []*sternfan.MeasuredFit
	most, left := 5.0, 0
	for i := range f.Measured {
		m := &f.Measured[i]
		if !m.Solved || m.Kind != sternfan.MeasuredDepth && m.Kind != sternfan.MeasuredBottom && m.Kind != sternfan.MeasuredRange {
			left++
			continue
		}
		rows = append(rows, m)
		most = math.Max(most, math.Max(m.Value+m.SD, math.Max(m.Before, m.After)))
	}
	most *= 1.05
	const gap = 12.0
	const fixed = 2*sheetMargin + titleBand + noteBand + viewTitle + axisBand
	side := math.Min((sheetWide-2*sheetMargin-2*depthBand-gap)/2, sheetTall-fixed)
	mm := most / side
	ft := u.Label(unit.DepthStyle)
	sides := map[string]sternfan.Side{}
	for i := range f.Lures {
		sides[f.Lures[i].Rod] = f.Lures[i].Side
	}
	view := func(id, title string, at float64, reckoned func(*sternfan.MeasuredFit) float64) sternfan.View {
		v := sternfan.View{ID: id, Title: title, Place: [2]float64{at * mm, (sheetMargin + titleBand + viewTitle) * mm},
			U: axis("measured ("+ft+")", 0, most, 1/mm, u, tickNumber), V: axis("reckoned ("+ft+")", 0, most, 1/mm, u, tickNumber),
			Shapes: []sternfan.Shape{
				rectangle("water", "the chart", 0, 0, most, most),
				{Kind: sternfan.ShapeLine, Class: "rule", Points: [][2]float64{{0, 0}, {most, most}}, Alt: "as measured"},
			}}
		for _, m := range rows {
			class := sideWord(int(sides[m.Rod]))
			y, off := reckoned(m), eighty*m.SD
			alt := fmt.Sprintf("line %d, %s: %s ± %s measured, %s reckoned", m.Line, clean(m.Rod), measured(u, m.Kind, m.Value), measured(u, m.Kind, m.SD), measured(u, m.Kind, y))
			word := ""
			if m.Aside() {
				word, alt = " trouble", alt+"; set aside"
			}
			v.Shapes = append(v.Shapes,
				sternfan.Shape{Kind: sternfan.ShapeBar, Class: "interval " + class, Rod: m.Rod, Points: [][2]float64{{math.Max(0, m.Value-off), y}, {m.Value + off, y}}, Alt: alt},
				sternfan.Shape{Kind: sternfan.ShapeMarker, Class: "marker " + class + word, Sign: "lure", Rod: m.Rod, Points: [][2]float64{{m.Value, y}}, Alt: alt})
			if m.Aside() {
				v.Shapes = append(v.Shapes, sternfan.Shape{Kind: sternfan.ShapeText, Class: "count", Anchor: "start",
					Points: [][2]float64{{m.Value + off + 2*mm, y}}, Text: fmt.Sprintf("line %d", m.Line)})
			}
		}
		return v
	}
	first := sheetMargin + depthBand
	out := &sternfan.Drawing{Title: "Measured against reckoned", Width: sheetWide * mm, Height: (side + fixed) * mm, Views: []sternfan.View{
		view("before", "before", first, func(m *sternfan.MeasuredFit) float64 { return m.Before }),
		view("after", "with what was learned", first+side+gap+depthBand, func(m *sternfan.MeasuredFit) float64 { return m.After }),
	}}
	words := []string{missWords(rows, u)}
	words = append(words, DepthFitWords(f, u)[0])
	out.Alt = strings.Join(words, " ")
	out.Note = out.Alt + "\nWhat was measured lies within its bar 4 times in 5; on the slanted line both agree; a ringed sign was set aside."
	if left > 0 {
		out.Note += fmt.Sprintf(" Not drawn: %s that %s no depth.", Count(left, "measurement"), map[bool]string{true: "is", false: "are"}[left == 1])
	}
	return tidy(out)
}

// eighty is the standard normal quantile within which both ways four of five fall.
const eighty = 1.2815515655446004

// missWords says how far measured and reckoned depths lay apart.
func missWords(rows []*sternfan.MeasuredFit, u unit.System) string {
	before, after, n := 0.0, 0.0, 0.0
	for _, m := range rows {
		if m.Aside() {
			continue
		}
		before += (m.Before - m.Value) * (m.Before - m.Value)
		after += (m.After - m.Value) * (m.After - m.Value)
		n++
	}
	if n == 0 {
		return "No depth was measured."
	}
	return fmt.Sprintf("Measured and reckoned lay %s apart (root mean square of %s) and lie %s apart now.",
		u.Text(unit.DepthStyle, math.Sqrt(before/n)), Count(int(n), "depth"), u.Text(unit.DepthStyle, math.Sqrt(after/n)))
}
