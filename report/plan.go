package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// LinesPlan returns the spread as a lines plan: seen from the side, from above and from
// astern, at one scale, in fixed places. The view from above stands over the view from
// the side and shares its astern axis; the view from astern stands beside it and shares
// its depth axis, with the water's temperature between the two. The bow is to the left,
// so starboard is up in the view from above. The scenario may be nil; then there is no
// boat.
//
// The sheet is laid out as 297 mm across (a renderer's millimeter is Width/297) and at
// most 210 mm high; true shape decides the rest.
func LinesPlan(fan *sternfan.Fan, sc *sternfan.Scenario, opt Options) *sternfan.Drawing {
	p := &planner{fan: fan, sc: sc, u: opt.Units, hull: hull(sc), left: sheetMargin, top: sheetMargin + titleBand, titles: viewTitle, band: depthBand}
	p.rods, p.devices = portToStarboard(fan.Rods), portToStarboard(fan.Devices)
	p.tags = tags(p.rods)
	p.layOut()
	d := &sternfan.Drawing{
		Title: title(fan, sc),
		Note:  p.note(),
		Alt:   p.alt(),
		Width: sheetWide * p.mm, Height: p.tall * p.mm,
	}
	d.Views = append(d.Views, p.above(), p.side())
	if len(p.fan.Water.Temperature) > 0 {
		d.Views = append(d.Views, p.temperature())
	}
	d.Views = append(d.Views, p.astern())
	if key := p.key(); len(key.Shapes) > 0 {
		d.Views = append(d.Views, key)
	}
	return tidy(d)
}

// BoatPlan returns a lines plan with nothing in its three views but the boat, and the
// whole plan's text alternative: for a program that draws the lines itself.
func BoatPlan(fan *sternfan.Fan, sc *sternfan.Scenario, opt Options) *sternfan.Drawing {
	p := &planner{fan: fan, sc: sc, u: opt.Units, hull: hull(sc)}
	p.rods = portToStarboard(fan.Rods)
	d := &sternfan.Drawing{Title: title(fan, sc), Alt: p.alt()}
	for _, v := range []struct {
		id, title string
		hull      [][2]float64
	}{{"above", "from above", p.hull.above}, {"side", "from the side", p.hull.side}, {"astern", "from astern", p.hull.astern}} {
		d.Views = append(d.Views, sternfan.View{ID: v.id, Title: v.title, Shapes: area("hull", "the boat", v.hull)})
	}
	return tidy(d)
}

type planner struct {
	fan           *sternfan.Fan
	sc            *sternfan.Scenario
	u             unit.System
	hull          hullShape
	rods, devices []*sternfan.Track
	tags          map[*sternfan.Track]string

	f       frame
	mm      float64 // meters of the lake per mm of the sheet
	tall    float64 // of the sheet, mm
	left    float64 // of the room for the views, mm from the sheet's corner
	top     float64
	titles  float64 // room above each view for its name, mm
	band    float64 // room for the depth axis' texts at the left, mm
	brief   bool    // labels are tags alone, and the views' names say the axes' unit
	keyWide float64 // of a column of its own for the key at the right, mm; 0: it is over the view from astern
	gap     float64 // between the views from the side and from astern, mm
	bottom  bool    // within the picture
}

// Room between the views, with and without the strip of temperature.
const (
	stripWide = 19.0
	gapWide   = stripWide + 8
	gapBare   = 8.0
	labelRoom = 45.0 // behind the last lure
	keyMost   = 84.0
	keyLeast  = 40.0 // width that is worth a column of its own for the key
)

// layOut finds the one scale at which the three views fill the sheet.
func (p *planner) layOut() {
	p.f = extent(append(slices.Clone(p.rods), p.devices...), p.hull)
	f := &p.f
	if b := p.fan.Water.Bottom; b != nil && *b > 0 && *b < 1.6*f.depthTo+3 {
		p.bottom = true
		f.depthTo = math.Max(f.depthTo, *b+0.06*f.depth())
	}
	p.gap = gapBare
	if len(p.fan.Water.Temperature) > 0 {
		p.gap = gapWide
	}
	wide := sheetWide - 2*sheetMargin - depthBand - p.gap
	fixed := 2*sheetMargin + titleBand + noteBand + 2*viewTitle + axisBand
	tall := sheetTall - fixed
	scale := math.Min(wide/(f.astern()+f.side()), tall/(f.side()+f.depth())) // mm per meter
	p.mm = 1 / scale

	// What the tighter direction leaves over goes to open water, astern, where the
	// labels are, and below; a wide rest goes to the key.
	if spare := wide*p.mm - f.astern() - f.side(); spare > 0 {
		grow := math.Min(spare, math.Max(0.3*f.astern(), labelRoom*p.mm))
		if rest := (spare - grow) / p.mm; rest > keyLeast {
			p.keyWide = math.Min(rest, keyMost)
			grow = spare - p.keyWide*p.mm
		} else {
			grow = spare
		}
		f.asternTo += grow
	}
	if spare := tall*p.mm - f.side() - f.depth(); spare > 0 && !p.bottom {
		f.depthTo += math.Min(spare, 0.35*f.depth())
	}
	p.tall = math.Max(sheetLeast, fixed+(f.side()+f.depth())/p.mm)
	p.tall = math.Min(p.tall, sheetTall)
}

func title(fan *sternfan.Fan, sc *sternfan.Scenario) string {
	if s := clean(fan.Name); s != "" {
		return s
	}
	if sc != nil && clean(sc.Name) != "" {
		return clean(sc.Name)
	}
	return "The spread"
}

func (p *planner) note() string {
	lines := []string{headline(p.fan, p.u, "in the table")}
	second := speedWords(p.fan, p.u)
	if b := p.fan.Water.Bottom; b != nil && !p.bottom {
		second += " Bottom at " + p.u.Depth(unit.Length(*b)) + ", below the picture."
	}
	var missing []string
	for _, t := range slices.Concat(p.rods, p.devices) {
		if !believed(t) {
			missing = append(missing, name(t))
		}
	}
	if len(missing) > 0 {
		second += " Not drawn: " + List(missing) + "."
	}
	lines = append(lines, second)
	last := "Depths are worked out, not measured; bars hold them 4 times in 5. "
	if p.sc != nil && isDemo(p.sc.Note) {
		last += "Demo data, invented. "
	}
	if advice := adviceWords(p.sc, p.u); advice != "" {
		last += advice + " "
	}
	return strings.Join(append(lines, last+"Not for navigation."), "\n")
}

func isDemo(note string) bool {
	note = strings.ToLower(note)
	for _, word := range []string{"demo", "invented", "made up", "made-up"} {
		if strings.Contains(note, word) {
			return true
		}
	}
	return false
}

// alt returns the whole picture in words.
func (p *planner) alt() string {
	var b strings.Builder
	b.WriteString("Lines plan of the spread from the side, from above and from astern, at one scale. ")
	b.WriteString(headline(p.fan, p.u, "in the table"))
	for _, t := range p.rods {
		for i := range t.Lures {
			if believed(t) {
				fmt.Fprintf(&b, " %s: %s.", sentenceless(name(t)), where(p.u, &t.Lures[i].BodyFan))
			}
		}
	}
	return b.String()
}

func sentenceless(s string) string { return strings.TrimRight(s, ".:; ") }

// believed reports whether the track's numbers are a solution.
func believed(t *sternfan.Track) bool {
	return t.Status != sternfan.StatusNotConverged && t.Status != sternfan.StatusRefused
}

// tags numbers the rods of each side from port to starboard: P1, P2, M1, S1.
func tags(rods []*sternfan.Track) map[*sternfan.Track]string {
	out := map[*sternfan.Track]string{}
	counts := map[string]int{}
	for _, t := range rods {
		letter := sideLetter(t.Side)
		counts[letter]++
		out[t] = fmt.Sprintf("%s%d", letter, counts[letter])
	}
	return out
}

// projection takes a point of the boat frame to a view.
type projection func(p [3]float64) [2]float64

func fromSide(p [3]float64) [2]float64   { return [2]float64{-p[0], p[2]} }
func fromAbove(p [3]float64) [2]float64  { return [2]float64{-p[0], p[1]} }
func fromAstern(p [3]float64) [2]float64 { return [2]float64{p[1], p[2]} }

func at(b *sternfan.BodyFan) [3]float64 { return [3]float64{-b.Astern, b.Side, b.Depth} }

func (p *planner) above() sternfan.View {
	f := &p.f
	v := sternfan.View{
		ID: "above", Title: p.viewTitle("from above"),
		Place: p.place(p.band, p.titles),
		U:     axis("", f.asternFrom, f.asternTo, 1/p.mm, p.u, nil),
		V:     axis(p.axisLabel("to the side"), f.sideTo, f.sideFrom, 1/p.mm, p.u, tickSide),
	}
	v.Shapes = append(v.Shapes, rectangle("water", "the water", f.asternFrom, f.sideFrom, f.asternTo, f.sideTo))
	v.Shapes = append(v.Shapes, area("hull", "the boat", p.hull.above)...)
	v.Shapes = append(v.Shapes, fittings(p.sc, fromAbove)...)
	p.towed(&v, fromAbove, false)
	p.label(&v, fromAbove, false)
	return v
}

func (p *planner) side() sternfan.View {
	f := &p.f
	v := sternfan.View{
		ID: "side", Title: p.viewTitle("from the side"),
		Place: p.place(p.band, 2*p.titles+f.side()/p.mm),
		U:     axis(p.axisLabel("astern"), f.asternFrom, f.asternTo, 1/p.mm, p.u, tickNumber),
		V:     axis(p.axisLabel("depth"), f.depthFrom, f.depthTo, 1/p.mm, p.u, tickNumber),
	}
	v.Shapes = p.lake(f.asternFrom, f.asternTo)
	v.Shapes = append(v.Shapes, area("hull", "the boat", p.hull.side)...)
	v.Shapes = append(v.Shapes, fittings(p.sc, fromSide)...)
	p.towed(&v, fromSide, true)
	p.label(&v, fromSide, true)
	return v
}

func (p *planner) astern() sternfan.View {
	f := &p.f
	v := sternfan.View{
		ID: "astern", Title: p.viewTitle("from astern"),
		Place: p.place(p.band+f.astern()/p.mm+p.gap, 2*p.titles+f.side()/p.mm),
		U:     axis(p.axisLabel("to the side"), f.sideFrom, f.sideTo, 1/p.mm, p.u, tickSide),
		V:     axis("", f.depthFrom, f.depthTo, 1/p.mm, p.u, nil),
	}
	v.Shapes = p.lake(f.sideFrom, f.sideTo)
	v.Shapes = append(v.Shapes, area("hull", "the boat", p.hull.astern)...)
	v.Shapes = append(v.Shapes, fittings(p.sc, fromAstern)...)
	p.towed(&v, fromAstern, true)
	p.label(&v, fromAstern, false)
	return v
}

// viewTitle returns the name of a view.
func (p *planner) viewTitle(name string) string {
	if p.brief {
		return name + ", " + p.u.Label(unit.DepthStyle)
	}
	return name
}

// axisLabel returns the words along an axis.
func (p *planner) axisLabel(what string) string {
	if p.brief {
		return ""
	}
	return what + " (" + p.u.Label(unit.DepthStyle) + ")"
}

// place returns the sheet coordinates of a point given in mm from the corner of the
// space under the title.
func (p *planner) place(right, down float64) [2]float64 {
	return [2]float64{(p.left + right) * p.mm, (p.top + down) * p.mm}
}

// lake returns water, surface and bottom for a view with depth.
func (p *planner) lake(from, to float64) []sternfan.Shape {
	f := &p.f
	out := []sternfan.Shape{rectangle("water", "the water", from, 0, to, f.depthTo)}
	if p.bottom {
		b := *p.fan.Water.Bottom
		out = append(out, rectangle("bottom", "the bottom at "+p.u.Depth(unit.Length(b)), from, b, to, f.depthTo))
	}
	return append(out, sternfan.Shape{
		Kind: sternfan.ShapeLine, Class: "surface", Alt: "the surface",
		Points: [][2]float64{{from, 0}, {to, 0}},
	})
}

func rectangle(class, alt string, u0, v0, u1, v1 float64) sternfan.Shape {
	return sternfan.Shape{
		Kind: sternfan.ShapeArea, Class: class, Alt: alt,
		Points: [][2]float64{{u0, v0}, {u1, v0}, {u1, v1}, {u0, v1}},
	}
}

func area(class, alt string, points [][2]float64) []sternfan.Shape {
	if len(points) < 3 {
		return nil
	}
	return []sternfan.Shape{{Kind: sternfan.ShapeArea, Class: class, Alt: alt, Points: points}}
}

// towed adds cables, lines, signs and, where the view has depth, the intervals.
func (p *planner) towed(v *sternfan.View, project projection, depth bool) {
	for _, t := range p.devices {
		p.track(v, t, project, depth, true)
	}
	for _, t := range p.rods {
		p.track(v, t, project, depth, false)
	}
}

func (p *planner) track(v *sternfan.View, t *sternfan.Track, project projection, depth, device bool) {
	if !believed(t) {
		return
	}
	side := sideWord(t.Side)
	who := name(t)
	for i := range t.Parts {
		part := &t.Parts[i]
		if len(part.Points) < 2 || !finitePoints(part.Points) {
			continue
		}
		class := "line"
		switch part.Kind {
		case sternfan.PartLeader, sternfan.PartSnubber, sternfan.PartAttractor, sternfan.PartSlider:
			class = "leader"
		}
		if device {
			class = "cable"
		}
		points := make([][2]float64, len(part.Points))
		for j, q := range part.Points {
			points[j] = project(q)
		}
		v.Shapes = append(v.Shapes, sternfan.Shape{
			Kind: sternfan.ShapeLine, Class: class + " " + side, Points: points,
			Rod: t.Rod, Part: part.ID, Alt: who + ", " + class,
		})
	}
	if tip, ok := tipPoint(t); ok && finitePoints([][3]float64{tip}) {
		v.Shapes = append(v.Shapes, sternfan.Shape{
			Kind: sternfan.ShapeMarker, Class: "marker " + side, Sign: "tip", Points: [][2]float64{project(tip)},
			Rod: t.Rod, Part: "tip", Alt: who + ", tip",
		})
	}
	for i := range t.Lures {
		l := &t.Lures[i]
		if !depth || !finitePoints([][3]float64{at(&l.BodyFan), {l.DepthLo, l.DepthHi, 0}}) {
			continue
		}
		lo, hi := at(&l.BodyFan), at(&l.BodyFan)
		lo[2], hi[2] = belowSurface(l.DepthLo), belowSurface(l.DepthHi)
		v.Shapes = append(v.Shapes, sternfan.Shape{
			Kind: sternfan.ShapeBar, Class: "interval " + side, Points: [][2]float64{project(lo), project(hi)},
			Rod: t.Rod, Part: l.ID, Alt: who + ", between " + span(p.u, l.DepthLo, l.DepthHi) + " " + p.u.Label(unit.DepthStyle),
		})
	}
	for i := range t.Bodies {
		p.sign(v, t, &t.Bodies[i], project, sign(t.Bodies[i].Kind))
	}
	for i := range t.Lures {
		p.sign(v, t, &t.Lures[i].BodyFan, project, "lure")
	}
}

func (p *planner) sign(v *sternfan.View, t *sternfan.Track, b *sternfan.BodyFan, project projection, s string) {
	if !finitePoints([][3]float64{at(b)}) {
		return
	}
	class := "marker " + sideWord(t.Side)
	if s == "lure" && needsHand(p.fan, t) {
		class += " trouble"
	}
	v.Shapes = append(v.Shapes, sternfan.Shape{
		Kind: sternfan.ShapeMarker, Class: class, Sign: s, Points: [][2]float64{project(at(b))},
		Rod: t.Rod, Part: b.ID, Alt: name(t) + ", " + kindName(b.Kind, b.ID) + ": " + where(p.u, b),
	})
}

// sign returns the sign for a kind of body.
func sign(kind string) string {
	kind = strings.ToLower(kind)
	for _, s := range []string{"diver", "board", "ball"} {
		if strings.Contains(kind, s) {
			return s
		}
	}
	switch kind {
	case "directional", "slide-through":
		return "diver"
	case "round", "finned", "torpedo":
		return "ball"
	case "in-line", "mast":
		return "board"
	}
	return "weight"
}

func finitePoints(points [][3]float64) bool {
	for _, p := range points {
		// A sum of zeros is a number only if each component was finite.
		if p[0]*0+p[1]*0+p[2]*0 != 0 {
			return false
		}
	}
	return true
}

// label writes each lure's label: its tag alone, or with position and depth.
func (p *planner) label(v *sternfan.View, project projection, full bool) {
	place := newPlacer(v, p.mm)
	if p.brief { // a number far from its lure would be read as another's, but for a line to it
		place.close, place.far, place.leaders = 5.2, 17, true
	}
	for i := range v.Shapes {
		if v.Shapes[i].Class == "hull" {
			place.points = append(place.points, sampled(v.Shapes[i].Points, labelSize*p.mm)...)
		}
	}
	var requests []request
	for _, t := range p.rods {
		if !believed(t) {
			continue
		}
		for i := range t.Lures {
			l := &t.Lures[i].BodyFan
			if !finitePoints([][3]float64{at(l)}) {
				continue
			}
			tag := p.tags[t]
			class := "label " + sideWord(t.Side)
			if needsHand(p.fan, t) {
				class += " trouble"
			}
			base := sternfan.Shape{Class: class, Rod: t.Rod, Part: l.ID, Alt: name(t) + ": " + where(p.u, l)}
			if !full || p.brief {
				if i == 0 {
					requests = append(requests, request{project(at(l)), base, []string{tag}})
				}
				continue
			}
			deep := p.u.Depth(unit.Length(l.Depth))
			texts := []string{tag + " " + deep}
			if i == 0 {
				texts = []string{tag + " " + name(t) + " " + deep, tag + " " + deep, tag}
			}
			requests = append(requests, request{project(at(l)), base, texts})
		}
	}
	place.labelAll(requests)
}
