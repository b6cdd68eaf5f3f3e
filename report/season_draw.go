package report

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// lengthOfDegree is that of a degree of latitude on a sphere of the earth's mean radius
// (IUGG: 6371008.8 m).
const lengthOfDegree = 6371008.8 * math.Pi / 180

// SeasonDrawing returns a season's map, north up, without any base map: a square for each
// part of the lake that was fished, as wide as its share of the effort, and a sign for
// each strike. Longitudes are drawn at the scale of the middle latitude.
func SeasonDrawing(s *sternfan.Season, u unit.System) *sternfan.Drawing {
	d := &sternfan.Drawing{Title: seasonTitle(s)}
	words := SeasonWords(s, u)
	d.Alt = strings.Join(words, " ")
	d.Note = d.Alt + "\nNot for navigation: no shore, no depths. It tells where you fish: look before you hand it on."
	const fixed = 2*sheetMargin + titleBand + noteBand + viewTitle + axisBand
	const left = 22.0 // latitudes are longer than depths
	wide, tall := sheetWide-2*sheetMargin-left, sheetTall-fixed
	if len(s.Cells) == 0 {
		d.Width, d.Height = sheetWide, 75
		d.Views = []sternfan.View{{ID: "season", Title: "nothing with a place", Place: [2]float64{sheetMargin + left, sheetMargin + titleBand + viewTitle},
			U: sternfan.Axis{To: wide}, V: sternfan.Axis{To: 20}, Shapes: []sternfan.Shape{rectangle("water", "the lake", 0, 0, wide, 20)}}}
		return tidy(d)
	}
	south, north, west, east := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	most := 0.0
	for i := range s.Cells {
		m := s.Cells[i].Middle
		south, north = math.Min(south, m.Lat), math.Max(north, m.Lat)
		west, east = math.Min(west, m.Lon), math.Max(east, m.Lon)
		most = math.Max(most, s.Cells[i].RodHours)
	}
	lat0 := (south + north) / 2
	perLon := lengthOfDegree * math.Cos(lat0*math.Pi/180)
	// Meters east and south of the upper left corner.
	x := func(lon float64) float64 { return (lon - west) * perLon }
	y := func(lat float64) float64 { return (north - lat) * lengthOfDegree }
	lo, hi := [2]float64{-s.Cell, -s.Cell}, [2]float64{x(east) + s.Cell, y(south) + s.Cell}
	mm := 1 / math.Min(wide/(hi[0]-lo[0]), tall/(hi[1]-lo[1]))
	// The sheet is filled: water around costs nothing.
	for i, room := range []float64{wide * mm, tall * mm} {
		spare := room - (hi[i] - lo[i])
		lo[i], hi[i] = lo[i]-spare/2, hi[i]+spare/2
	}
	v := sternfan.View{ID: "season", Title: "squares: rod-hours; discs: strikes, open ones not landed",
		Place:  [2]float64{(sheetMargin + left) * mm, (sheetMargin + titleBand + viewTitle) * mm},
		U:      sternfan.Axis{Label: "longitude", From: lo[0], To: hi[0], Ticks: degreeTicks(west+lo[0]/perLon, west+hi[0]/perLon, 34*mm/perLon, "E", "W", x)},
		V:      sternfan.Axis{From: lo[1], To: hi[1], Ticks: degreeTicks(north-hi[1]/lengthOfDegree, north-lo[1]/lengthOfDegree, 20*mm/lengthOfDegree, "N", "S", y)},
		Shapes: []sternfan.Shape{rectangle("water", "the lake", lo[0], lo[1], hi[0], hi[1])},
	}
	for i := range s.Cells {
		c := &s.Cells[i]
		if c.RodHours <= 0 {
			continue
		}
		half := 0.48 * s.Cell * math.Sqrt(c.RodHours/most)
		cx, cy := x(c.Middle.Lon), y(c.Middle.Lat)
		v.Shapes = append(v.Shapes, rectangle("hull", fmt.Sprintf("%s about %s: %s", rodHours(c.RodHours), placeWords(c.Middle), Count(c.Strikes, "strike")), cx-half, cy-half, cx+half, cy+half))
	}
	if len(s.Strikes) > mostSigns {
		v.Title = "squares: rod-hours; discs: strikes, by their area"
		v.Shapes = append(v.Shapes, strikeDiscs(s, x, y)...)
	}
	for i := range s.Strikes {
		if len(s.Strikes) > mostSigns {
			break
		}
		k := &s.Strikes[i]
		name, end, sign := "strike", "not landed", "ball"
		if k.Species != "" {
			name = clean(k.Species)
		}
		if k.Landed {
			end, sign = "landed", "lure"
		}
		v.Shapes = append(v.Shapes, sternfan.Shape{Kind: sternfan.ShapeMarker, Class: "marker middle", Sign: sign, Rod: k.Rod,
			Points: [][2]float64{{x(k.Lon), y(k.Lat)}}, Alt: fmt.Sprintf("%s, %s, %s on %s", name, end, k.Day, clean(k.Rod))})
	}
	v.Shapes = append(v.Shapes, northAndScale(lo, hi, mm, u)...)
	d.Width, d.Height, d.Views = sheetWide*mm, sheetTall*mm, []sternfan.View{v}
	return tidy(d)
}

// mostSigns strikes are drawn each by itself. More would hide the squares and one another.
const mostSigns = 1500

// strikeDiscs returns a disc in each square, its area the strikes there.
func strikeDiscs(s *sternfan.Season, x, y func(float64) float64) []sternfan.Shape {
	most := 0
	for i := range s.Cells {
		most = max(most, s.Cells[i].Strikes)
	}
	var out []sternfan.Shape
	for i := range s.Cells {
		c := &s.Cells[i]
		if c.Strikes == 0 {
			continue
		}
		const corners = 24
		points := make([][2]float64, corners)
		radius := 0.45 * s.Cell * math.Sqrt(float64(c.Strikes)/float64(most))
		for k := range points {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / corners)
			points[k] = [2]float64{x(c.Middle.Lon) + radius*cos, y(c.Middle.Lat) + radius*sin}
		}
		out = append(out, area("interval middle", fmt.Sprintf("%s about %s in %s", Count(c.Strikes, "strike"), placeWords(c.Middle), rodHours(c.RodHours)), points)...)
	}
	return out
}

func seasonTitle(s *sternfan.Season) string {
	switch {
	case s.Trips == 0:
		return "No trips"
	case s.From == s.To:
		return "Where it was fished, " + s.From
	}
	return "Where it was fished, " + s.From + " to " + s.To
}

// SeasonWords says what a season's map shows.
func SeasonWords(s *sternfan.Season, u unit.System) []string {
	landed := 0
	for i := range s.Strikes {
		if s.Strikes[i].Landed {
			landed++
		}
	}
	out := []string{fmt.Sprintf("%s: %s and %s (%d landed) with a place.", Count(s.Trips, "trip"), rodHours(s.RodHours), Count(len(s.Strikes), "strike"), landed)}
	most := -1
	for i := range s.Cells {
		if most < 0 || s.Cells[i].RodHours > s.Cells[most].RodHours {
			most = i
		}
	}
	if most >= 0 && s.Cells[most].RodHours > 0 {
		c := &s.Cells[most]
		side := fmt.Sprintf("%s m", plain(s.Cell))
		if u == unit.US {
			side = fmt.Sprintf("%s mi", strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", s.Cell/mile), "0"), "."))
		}
		out = append(out, fmt.Sprintf("A square's area is its rod-hours; the fullest, %s across about %s, had %s and %s.", side, placeWords(c.Middle), rodHours(c.RodHours), Count(c.Strikes, "strike")))
	}
	if s.Unplaced >= 0.5 || s.Without > 0 {
		out = append(out, fmt.Sprintf("Left out, as no place is known: %s and %s.", rodHours(s.Unplaced), Count(s.Without, "strike")))
	}
	return out
}

const mile = 1609.344 // statute, m

// placeWords returns a place in degrees and minutes.
func placeWords(p sternfan.Place) string {
	return degreesMinutes(p.Lat, "N", "S", 1) + " " + degreesMinutes(p.Lon, "E", "W", 1)
}

func degreesMinutes(v float64, above, below string, digits int) string {
	if v < 0 {
		above, v = below, -v
	}
	scale := math.Pow10(digits)
	minutes := math.Round(v*60*scale) / scale
	degrees := math.Floor(minutes / 60)
	return fmt.Sprintf("%.0f°%.*f′%s", degrees, digits, minutes-60*degrees, above)
}

// degreeTicks returns ticks at round minutes between two degrees, at least so many degrees
// apart.
func degreeTicks(from, to, least float64, above, below string, at func(float64) float64) []sternfan.Tick {
	step, digits := 60.0*60, 0
	for _, minutes := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600} {
		if minutes/60 >= least {
			step = minutes
			break
		}
	}
	if step < 1 {
		digits = 1
	}
	var out []sternfan.Tick
	for i := math.Ceil(from * 60 / step); i*step <= to*60 && len(out) < 40; i++ {
		out = append(out, sternfan.Tick{At: at(i * step / 60), Text: degreesMinutes(i*step/60, above, below, digits)})
	}
	return out
}

// northAndScale returns an arrow to the north at the upper right and a length at the lower
// left.
func northAndScale(lo, hi [2]float64, mm float64, u unit.System) []sternfan.Shape {
	x, top := hi[0]-7*mm, lo[1]+7*mm
	line := func(alt string, points ...[2]float64) sternfan.Shape {
		return sternfan.Shape{Kind: sternfan.ShapeLine, Class: "rule", Points: points, Alt: alt}
	}
	out := []sternfan.Shape{
		line("north is up", [2]float64{x, top + 12*mm}, [2]float64{x, top}),
		line("", [2]float64{x - 2*mm, top + 3.5*mm}, [2]float64{x, top}, [2]float64{x + 2*mm, top + 3.5*mm}),
		{Kind: sternfan.ShapeText, Class: "count", Anchor: "middle", Points: [][2]float64{{x, top - 2.5*mm}}, Text: "N"},
	}
	per, name := 1000.0, "km"
	if u == unit.US {
		per, name = mile, "mi"
	}
	long := roundStep(30 * mm / per)
	a, y := lo[0]+7*mm, hi[1]-7*mm
	b := a + long*per
	text := plain(long) + " " + name
	return append(out,
		line("scale: "+text, [2]float64{a, y - 1.2*mm}, [2]float64{a, y}, [2]float64{b, y}, [2]float64{b, y - 1.2*mm}),
		sternfan.Shape{Kind: sternfan.ShapeText, Class: "count", Anchor: "middle", Points: [][2]float64{{(a + b) / 2, y - 2.5*mm}}, Text: text})
}
