package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/portable"
	"sternfan/unit"
)

// PathsTable writes one rod's possibilities: a block per path with a row per count, in
// the person's units, each depth with its interval.
func PathsTable(w io.Writer, paths *sternfan.Paths, opt Options) error {
	u := opt.Units
	p := &printer{w: w}
	who := rodName(paths.Rod, opt.Scenario)
	p.line("%s", pathsHeadline(paths, who, u))
	ft, lb := u.Label(unit.DepthStyle), u.Label(unit.ForceStyle)
	for i := range paths.Paths {
		path := &paths.Paths[i]
		p.line("")
		p.line("%s", clean(path.Label))
		g := NewGrid("  ", Numbers(ft, "line out", "depth", "4 in 5", "side", "astern"), Numbers(lb, "pull"), Words(""))
		for j := range path.Ticks {
			t := &path.Ticks[j]
			out, _ := u.Split(unit.DepthStyle, t.Count)
			wrong, _ := statusWords(t.Status)
			if t.Status == sternfan.StatusNotConverged || t.Status == sternfan.StatusRefused {
				if t.Why != "" {
					wrong += ": " + clean(t.Why)
				}
				g.Add(out, "", "", "", "", "", wrong)
				continue
			}
			depth := depthNumber(u, &t.BodyFan)
			astern, _ := u.Split(unit.DepthStyle, t.Astern)
			pull, _ := u.Split(unit.ForceStyle, t.TipPull)
			g.Add(out, depth, spanNumber(u, &t.BodyFan), sideNumber(u, t.Side), astern, pull, wrong)
		}
		g.print(p, opt.width())
	}
	p.line("")
	p.line("Intervals: 4 times in 5 the depth is inside. Not for navigation.")
	return p.err
}

// pathsHeadline says what the rod can reach.
func pathsHeadline(paths *sternfan.Paths, who string, u unit.System) string {
	lo, hi := math.Inf(1), math.Inf(-1)
	var deep *sternfan.PathTick
	label := ""
	for i := range paths.Paths {
		for j := range paths.Paths[i].Ticks {
			t := &paths.Paths[i].Ticks[j]
			if !pathBelieved(t) {
				continue
			}
			lo = math.Min(lo, t.Depth)
			if t.Depth > hi {
				hi, deep, label = t.Depth, t, clean(paths.Paths[i].Label)
			}
		}
	}
	if deep == nil {
		return who + " has no path to show: check its gear and settings."
	}
	s := fmt.Sprintf("%s runs from %s down to %s", who, u.Depth(unit.Length(lo)), depthWords(u, &deep.BodyFan))
	s += ", deepest with " + u.Depth(unit.Length(deep.Count)) + " out"
	if label != "" && len(paths.Paths) > 1 {
		s += " on " + label
	}
	return s + "."
}

// rodName returns what the crew calls the rod with this id, with a capital.
func rodName(id string, sc *sternfan.Scenario) string {
	if sc != nil {
		if at := clean(sc.Position(id)); at != "" {
			return capital(at)
		}
	}
	if who := capital(clean(id)); who != "" {
		return who
	}
	return "This rod"
}

func pathBelieved(t *sternfan.PathTick) bool {
	return t.Status != sternfan.StatusNotConverged && t.Status != sternfan.StatusRefused &&
		finitePoints([][3]float64{at(&t.BodyFan), {t.Count, t.DepthLo, t.DepthHi}})
}

// PathsCSV writes the paths for a spreadsheet: a header, a row of units, a row per tick.
func PathsCSV(w io.Writer, paths *sternfan.Paths, u unit.System) error {
	ft := u.Label(unit.DepthStyle)
	s := newSheet(w, paths)
	s.row("rod", "path", "mark", "line out", "depth", "depth low", "depth high", "side", "astern", "pull", "through water", "status")
	s.row("", "", "", ft, ft, ft, ft, ft+" to starboard", ft, u.Label(unit.ForceStyle), u.Label(unit.SpeedStyle), "")
	for i := range paths.Paths {
		path := &paths.Paths[i]
		for j := range path.Ticks {
			t := &path.Ticks[j]
			d := func(v float64) string { return number(u, unit.DepthStyle, v) }
			s.row(cell(paths.Rod), cell(path.Label), plain(path.Mark), d(t.Count), d(t.Depth), d(t.DepthLo), d(t.DepthHi),
				d(t.Side), d(t.Astern), number(u, unit.ForceStyle, t.TipPull), number(u, unit.SpeedStyle, t.ThroughWater), cell(string(t.Status)))
		}
	}
	return s.done()
}

// PathsDrawing returns one rod's possibilities on the view from astern: for each mark the
// way its lure takes down and out as line goes out, ticked with the counts. The interval
// stands at each path's end only. The fan may be nil; with it the other rods' lures are
// there, faint, for what is near.
func PathsDrawing(paths *sternfan.Paths, fan *sternfan.Fan, opt Options) *sternfan.Drawing {
	u := opt.Units
	f := frame{asternTo: 1, sideFrom: -3, sideTo: 3, depthFrom: -1, depthTo: 6}
	for i := range paths.Paths {
		for j := range paths.Paths[i].Ticks {
			if t := &paths.Paths[i].Ticks[j]; pathBelieved(t) {
				f.widen(0, t.Side, t.Depth)
				f.widen(0, t.Side, t.DepthHi)
			}
		}
	}
	h := hull(opt.Scenario)
	for _, q := range h.astern {
		f.widen(0, q[0], q[1])
	}
	f.sideFrom -= 0.12 * f.side()
	f.sideTo += 0.12 * f.side()
	f.depthTo += 0.1 * f.depth()
	const fixed = 2*sheetMargin + titleBand + noteBand + viewTitle + axisBand
	wide, tall := sheetWide-2*sheetMargin-depthBand, sheetTall-fixed
	mm := 1 / math.Min(wide/f.side(), tall/f.depth())
	if spare := wide*mm - f.side(); spare > 0 {
		f.sideFrom -= spare / 2
		f.sideTo += spare / 2
	}
	if spare := tall*mm - f.depth(); spare > 0 {
		f.depthTo += math.Min(spare, 0.35*f.depth())
	}
	ft := u.Label(unit.DepthStyle)
	v := sternfan.View{
		ID: "astern", Title: "from astern, counts in " + ft + " of line out",
		Place: [2]float64{(sheetMargin + depthBand) * mm, (sheetMargin + titleBand + viewTitle) * mm},
		U:     axis("to the side ("+ft+")", f.sideFrom, f.sideTo, 1/mm, u, tickSide),
		V:     axis("depth ("+ft+")", f.depthFrom, f.depthTo, 1/mm, u, tickNumber),
	}
	p := &planner{fan: &sternfan.Fan{}, u: u, f: f, mm: mm}
	if fan != nil {
		p.fan = fan
		if b := fan.Water.Bottom; b != nil && *b > 0 && *b < f.depthTo {
			p.bottom = true
		}
	}
	v.Shapes = p.lake(f.sideFrom, f.sideTo)
	v.Shapes = append(v.Shapes, area("hull", "the boat", h.astern)...)
	others := fan != nil && p.others(&v, paths.Rod)
	p.paths(&v, paths)
	tallSheet := math.Max(sheetLeast, fixed+f.depth()/mm)
	what := rodName(paths.Rod, opt.Scenario)
	note := pathsHeadline(paths, what, u) + "\nThe bar at a path's end holds the depth 4 times in 5. "
	if others {
		note += "Faint discs are the other rods' lures as they run now. "
	}
	return tidy(&sternfan.Drawing{
		Title: strings.TrimSpace(what + ": where it can run"),
		Note:  note + "Not for navigation.",
		Alt:   pathsAlt(paths, what, u),
		Width: sheetWide * mm, Height: math.Min(tallSheet, sheetTall) * mm,
		Views: []sternfan.View{v},
	})
}

// others adds the lures of the other rods as context and reports whether there are any.
func (p *planner) others(v *sternfan.View, rod string) bool {
	f := &p.f
	edge := signSize * p.mm // a sign is whole or not there
	found := false
	for i := range p.fan.Rods {
		t := &p.fan.Rods[i]
		if t.Rod == rod || !believed(t) {
			continue
		}
		for j := range t.Lures {
			b := &t.Lures[j].BodyFan
			if !(b.Side > f.sideFrom+edge && b.Side < f.sideTo-edge && b.Depth > f.depthFrom+edge && b.Depth < f.depthTo-edge) {
				continue
			}
			found = true
			v.Shapes = append(v.Shapes, sternfan.Shape{
				Kind: sternfan.ShapeMarker, Class: "marker context", Sign: "lure", Points: [][2]float64{fromAstern(at(b))},
				Rod: t.Rod, Part: b.ID, Alt: name(t) + ": " + where(p.u, b),
			})
		}
	}
	return found
}

func (p *planner) paths(v *sternfan.View, paths *sternfan.Paths) {
	type end struct {
		at   [2]float64
		way  [2]float64 // direction of the path
		base sternfan.Shape
		text string
	}
	var ends, counts []end
	for i := range paths.Paths {
		path := &paths.Paths[i]
		var line [][2]float64
		var own []end
		var last *sternfan.PathTick
		side := "middle"
		var ticks []sternfan.Shape
		for j := range path.Ticks {
			t := &path.Ticks[j]
			if !pathBelieved(t) {
				continue
			}
			place := fromAstern(at(&t.BodyFan))
			line = append(line, place)
			last = t
			out, label := p.u.Split(unit.DepthStyle, t.Count)
			class := "marker"
			if t.Status != sternfan.StatusOK {
				class += " trouble"
			}
			alt := clean(path.Label) + ", " + out + " " + label + " out: " + where(p.u, &t.BodyFan)
			if wrong, _ := statusWords(t.Status); wrong != "" {
				alt += ", " + wrong
			}
			ticks = append(ticks, sternfan.Shape{
				Kind: sternfan.ShapeMarker, Class: class, Sign: "tick", Points: [][2]float64{place},
				Rod: paths.Rod, Part: path.Label, Alt: alt,
			})
			own = append(own, end{place, [2]float64{}, sternfan.Shape{Class: "label count", Rod: paths.Rod, Part: path.Label, Alt: alt}, out})
		}
		if last == nil {
			continue
		}
		stride := p.stride(line)
		for j := range own {
			if (len(own)-1-j)%stride == 0 && j < len(own)-1 {
				a, b := line[max(j-1, 0)], line[min(j+1, len(line)-1)]
				own[j].way = [2]float64{b[0] - a[0], b[1] - a[1]}
				counts = append(counts, own[j])
			}
		}
		switch {
		case last.Side < -0.3:
			side = "port"
		case last.Side > 0.3:
			side = "starboard"
		}
		if len(line) > 1 {
			v.Shapes = append(v.Shapes, sternfan.Shape{
				Kind: sternfan.ShapeLine, Class: "path " + side, Points: line,
				Rod: paths.Rod, Part: path.Label, Alt: clean(path.Label),
			})
		}
		for j := range ticks {
			ticks[j].Class += " " + side
		}
		v.Shapes = append(v.Shapes, ticks...)
		u := last.Side
		v.Shapes = append(v.Shapes, sternfan.Shape{
			Kind: sternfan.ShapeBar, Class: "interval " + side, Points: [][2]float64{{u, belowSurface(last.DepthLo)}, {u, belowSurface(last.DepthHi)}},
			Rod: paths.Rod, Part: path.Label, Alt: "between " + span(p.u, last.DepthLo, last.DepthHi) + " " + p.u.Label(unit.DepthStyle),
		})
		ends = append(ends, end{line[len(line)-1], [2]float64{}, sternfan.Shape{Class: "label " + side, Rod: paths.Rod, Part: path.Label, Alt: clean(path.Label) + ": " + where(p.u, &last.BodyFan)}, endText(path, last, p.u)})
	}
	place := newPlacer(v, p.mm)
	for _, e := range ends {
		place.label(e.at, e.base, e.text)
	}
	for _, c := range counts {
		place.labelBeside(c.at, c.way, c.base, c.text)
	}
}

// endText names a path and how much line is out at its end.
func endText(path *sternfan.Path, last *sternfan.PathTick, u unit.System) string {
	out := u.Depth(unit.Length(last.Count)) + " out"
	if label := clean(path.Label); label != "" {
		return label + ", " + out
	}
	return out
}

// stride returns at every how many ticks a count finds room along a path: 1, 2, 5 or 10.
func (p *planner) stride(line [][2]float64) int {
	const apart = 8.0
	long := 0.0
	for i := 1; i < len(line); i++ {
		long += portable.Hypot(line[i][0]-line[i-1][0], line[i][1]-line[i-1][1])
	}
	each := long / p.mm / math.Max(1, float64(len(line)-1))
	for _, n := range []int{1, 2, 5} {
		if each*float64(n) >= apart {
			return n
		}
	}
	return 10
}

func pathsAlt(paths *sternfan.Paths, who string, u unit.System) string {
	var b strings.Builder
	b.WriteString("View from astern of one rod's possibilities. " + pathsHeadline(paths, who, u))
	for i := range paths.Paths {
		path := &paths.Paths[i]
		for j := len(path.Ticks) - 1; j >= 0; j-- {
			if t := &path.Ticks[j]; pathBelieved(t) {
				label := clean(path.Label)
				if label == "" {
					label = "path " + strconv.Itoa(i+1)
				}
				fmt.Fprintf(&b, " %s with %s out: %s.", label, u.Depth(unit.Length(t.Count)), where(u, &t.BodyFan))
				break
			}
		}
	}
	return b.String()
}
