package report

import (
	"fmt"
	"math"

	"sternfan"
)

const (
	levelTall  = 8.0 // of a level's row, mm
	levelRoom  = 62.0
	countRoom  = 46.0
	mostLevels = 30
)

// RatesDrawing returns the rates of an attribute's levels with their intervals: a row a
// level, in the order of the table or, where levels have an order of their own, in that,
// depth downward. A full disc is the rate as counted with its interval, an open sign the
// rate drawn together with the others. The sheet's unit is a millimeter.
func RatesDrawing(r *sternfan.Rates) *sternfan.Drawing {
	levels := r.Levels[:min(len(r.Levels), mostLevels)]
	top := 0.0
	for i := range levels {
		top = math.Max(top, math.Min(levels[i].MidP.Hi, 3*levels[i].Rate+1e-9))
		top = math.Max(top, math.Max(levels[i].Rate, levels[i].PooledIn.Hi)*1.05)
	}
	if top *= 1.02; top <= 0 { // an end cap off the frame
		top = 0.1
	}
	wide := sheetWide - 2*sheetMargin - levelRoom - countRoom
	tall := math.Max(3, float64(len(levels))) * levelTall
	scale := wide / (top * per10) // mm per strike per 10 rod-hours
	v := sternfan.View{
		ID: "rates", Title: "strikes per 10 rod-hours, a flurry once",
		Place: [2]float64{sheetMargin + levelRoom, sheetMargin + titleBand + viewTitle},
		U:     sternfan.Axis{Label: "strikes per 10 rod-hours", From: 0, To: wide},
		V:     sternfan.Axis{From: 0, To: tall},
	}
	step := roundStep(14 / scale)
	for x := 0.0; x*scale <= wide; x += step {
		v.U.Ticks = append(v.U.Ticks, sternfan.Tick{At: x * scale, Text: plain(x)})
	}
	v.Shapes = append(v.Shapes, rectangle("water", "the chart", 0, 0, wide, tall))
	for i := range levels {
		l := &levels[i]
		y := (float64(i) + 0.5) * levelTall
		v.V.Ticks = append(v.V.Ticks, sternfan.Tick{At: y, Text: shortened(clean(l.Level), 34)})
		class := "middle"
		if l.Level == "port" || l.Level == "starboard" {
			class = l.Level
		}
		at := func(perHour float64) float64 { return math.Min(wide, perHour*per10*scale) }
		alt := fmt.Sprintf("%s: %s per 10 rod-hours, 4 times in 5 %s; %s in %s", clean(l.Level), rate(l.Rate), rateSpan(&l.MidP), Count(l.Strikes, "strike"), rodHours(l.RodHours))
		v.Shapes = append(v.Shapes,
			sternfan.Shape{Kind: sternfan.ShapeBar, Class: "interval " + class, Points: [][2]float64{{at(l.MidP.Lo), y}, {at(l.MidP.Hi), y}}, Alt: alt},
			sternfan.Shape{Kind: sternfan.ShapeMarker, Class: "marker " + class, Sign: "lure", Points: [][2]float64{{at(l.Rate), y}}, Alt: alt},
			sternfan.Shape{Kind: sternfan.ShapeMarker, Class: "marker", Sign: "pooled", Points: [][2]float64{{at(l.Pooled), y + 2.2}},
				Alt: fmt.Sprintf("%s drawn together with the others: %s per 10 rod-hours", clean(l.Level), rate(l.Pooled))},
			sternfan.Shape{Kind: sternfan.ShapeText, Class: "count", Anchor: "start", Points: [][2]float64{{wide + 2, y}},
				Text: fmt.Sprintf("%d in %s h", l.Strikes, wholeHours(l.RodHours))},
		)
	}
	note := ""
	for i, s := range RatesWords(r) {
		if i > 0 {
			note += "\n"
		}
		note += s
	}
	if n := len(r.Levels) - len(levels); n > 0 {
		note += fmt.Sprintf("\n%s more not drawn.", Count(n, "level"))
	}
	note += "\nDiscs: as counted, with the interval that holds the true rate 4 times in 5. Open signs: drawn together with the others."
	alt := "Strikes per 10 rod-hours by " + clean(r.Compare) + ". "
	for _, s := range RatesWords(r) {
		alt += s + " "
	}
	return tidy(&sternfan.Drawing{
		Title: "Strikes by " + clean(r.Compare), Note: note, Alt: alt,
		Width: sheetWide, Height: math.Max(75, 2*sheetMargin+titleBand+viewTitle+axisBand+tall+2*noteBand),
		Views: []sternfan.View{v},
	})
}

// shortened cuts a name to so many letters.
func shortened(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most-1]) + "…"
}
