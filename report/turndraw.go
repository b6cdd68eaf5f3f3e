package report

import (
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// TurnDrawing returns the ways over ground from above: the boat's and every lure's, and
// the lines as they lie at the nearest pass. The first heading is up.
func TurnDrawing(t *sternfan.Turn, opt Options) *sternfan.Drawing {
	u := opt.Units
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	// onSheet turns a place over ground into one of the view, which grows to hold it.
	onSheet := func(x, y float64) [2]float64 {
		p := [2]float64{y, x} // starboard to the right, ahead up
		for i := range p {
			lo[i], hi[i] = math.Min(lo[i], p[i]), math.Max(hi[i], p[i])
		}
		return p
	}
	var shapes []sternfan.Shape
	draw := func(kind sternfan.ShapeKind, class, sign, rod, part, alt string, points [][2]float64) {
		if len(points) > 0 {
			shapes = append(shapes, sternfan.Shape{Kind: kind, Class: class, Sign: sign, Rod: rod, Part: part, Alt: alt, Points: points})
		}
	}
	var wake [][2]float64
	for _, b := range t.Boat {
		wake = append(wake, onSheet(b.X, b.Y))
	}
	draw(sternfan.ShapeLine, "hull", "", "", "", "the boat's way", wake)
	at := 0
	if len(t.Pairs) > 0 && t.Every > 0 {
		at = int(math.Round(t.Pairs[0].T / t.Every))
	}
	for i := range t.Tracks {
		tr := &t.Tracks[i]
		who, side := partyName(t, tr.Rod), sideWord(tr.Side)
		for _, q := range lurePoints(tr) {
			var way [][2]float64
			for _, r := range q.At {
				way = append(way, onSheet(r[0], r[1]))
			}
			draw(sternfan.ShapeLine, "line "+side, "", tr.Rod, q.ID, "the way of "+who+"'s "+q.Kind, way)
			if at < len(way) {
				draw(sternfan.ShapeMarker, "marker "+side, "lure", tr.Rod, q.ID, who+"'s "+q.Kind+" at the nearest pass", way[at:at+1])
			}
		}
		if at >= len(tr.Lines) || at >= len(t.Boat) {
			continue
		}
		b := &t.Boat[at]
		sin, cos := math.Sincos(b.Heading)
		for _, line := range tr.Lines[at] {
			var way [][2]float64
			for _, q := range line {
				way = append(way, onSheet(b.X+cos*q[0]-sin*q[1], b.Y+sin*q[0]+cos*q[1]))
			}
			draw(sternfan.ShapeLine, "line "+side, "", tr.Rod, "", who+"'s line at the nearest pass", way)
		}
	}
	if len(t.Boat) == 0 {
		lo, hi = [2]float64{-1, -1}, [2]float64{1, 1}
	}
	const fixed = 2*sheetMargin + titleBand + noteBand + viewTitle + axisBand
	wide, tall := sheetWide-2*sheetMargin-depthBand, sheetTall-fixed
	for i := range lo {
		pad := 0.04*(hi[i]-lo[i]) + 1
		lo[i], hi[i] = lo[i]-pad, hi[i]+pad
	}
	mm := 1 / math.Min(wide/(hi[0]-lo[0]), tall/(hi[1]-lo[1]))
	if spare := wide*mm - (hi[0] - lo[0]); spare > 0 {
		lo[0], hi[0] = lo[0]-spare/2, hi[0]+spare/2
	}
	ft := u.Label(unit.DepthStyle)
	v := sternfan.View{ID: "above", Title: "from above, over ground",
		Place:  [2]float64{(sheetMargin + depthBand) * mm, (sheetMargin + titleBand + viewTitle) * mm},
		U:      axis("to starboard of the first heading ("+ft+")", lo[0], hi[0], 1/mm, u, tickNumber),
		V:      axis("ahead ("+ft+")", hi[1], lo[1], 1/mm, u, tickNumber),
		Shapes: append([]sternfan.Shape{rectangle("water", "the lake", lo[0], lo[1], hi[0], hi[1])}, shapes...)}
	title := "Through the manoeuvre"
	if t.Name != "" {
		title = clean(t.Name)
	}
	said, before := turnWords(t, opt)
	if len(t.Tasks) > 0 {
		said = append(said, before...) // that is with all lines out: how this ends or begins
	}
	note := strings.Join(said, " ")
	return tidy(&sternfan.Drawing{Title: title, Note: note + "\n" + linesOnly + " Not for navigation.", Alt: note,
		Width: sheetWide * mm, Height: sheetTall * mm, Views: []sternfan.View{v}})
}
