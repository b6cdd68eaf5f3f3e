package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// SpeedTable writes which speed over ground to hold on each heading so that the water
// passes at the wanted speed down there. Lures whose speed windows do not overlap are
// said first.
func SpeedTable(w io.Writer, t *sternfan.SpeedTable, u unit.System) error {
	p := &printer{w: w}
	p.wrapped("", "  ", speedHeadline(t, u), defaultWidth)
	for _, a := range t.Apart {
		text := sentence(a.Text)
		if a.Hint != "" {
			text += " " + sentence(a.Hint)
		}
		p.wrapped("  ", "    ", text, defaultWidth)
	}
	if len(t.Rows) > 0 {
		p.line("")
	}
	for i := range t.Rows {
		r := &t.Rows[i]
		if !r.OK {
			p.line("  on %s: no speed over ground does it; the current is too strong", heading(r.Heading))
			continue
		}
		p.line("  on %s: hold %s over ground (%s through the surface water)", heading(r.Heading), u.Speed(unit.Speed(r.OverGround)), u.Speed(unit.Speed(r.Surface)))
	}
	if len(t.Lures) > 0 {
		mph := u.Label(unit.SpeedStyle)
		p.line("")
		g := NewGrid("  ", Numbers("", "rod"), Numbers(u.Label(unit.DepthStyle), "depth"), Numbers(mph, "works at", "now"), Words("lure"))
		for i := range t.Lures {
			l := &t.Lures[i]
			depth, _ := u.Split(unit.DepthStyle, l.Depth)
			now, _ := u.Split(unit.SpeedStyle, l.Now)
			if l.Now < l.Window[0] {
				now += " slow"
			} else if l.Now > l.Window[1] {
				now += " fast"
			}
			who := clean(l.Position)
			if who == "" {
				who = clean(l.Rod)
			}
			g.Add(who, depth, window(l.Window, u), now, clean(l.Lure))
		}
		g.print(p, defaultWidth)
	}
	p.line("")
	p.line("Headings are true. Not for navigation.")
	return p.err
}

func window(w [2]float64, u unit.System) string {
	a, _ := u.Split(unit.SpeedStyle, w[0])
	b, _ := u.Split(unit.SpeedStyle, w[1])
	return a + "-" + b
}

// heading returns three figures, as headings are spoken: "090".
func heading(deg float64) string {
	if math.IsNaN(deg) || math.IsInf(deg, 0) {
		return "?"
	}
	d := math.Mod(math.Round(deg), 360)
	if d < 0 {
		d += 360
	}
	return fmt.Sprintf("%03.0f", d)
}

func speedHeadline(t *sternfan.SpeedTable, u unit.System) string {
	place := clean(t.At)
	if place == "ball" {
		place = "the ball"
	}
	goal := u.Speed(unit.Speed(t.Want)) + " at " + place
	if strings.ContainsAny(place, "0123456789") && t.Depth > 0 {
		// The place is a depth, as it was typed.
		goal = u.Speed(unit.Speed(t.Want)) + " " + u.Depth(unit.Length(t.Depth)) + " down"
	} else if t.Depth > 0 {
		goal += " (" + u.Depth(unit.Length(t.Depth)) + " down)"
	}
	switch {
	case len(t.Lures) > 1 && t.Overlap == nil:
		return "No one speed suits all lures: their windows do not overlap. For " + goal + ":"
	case len(t.Lures) > 0 && t.Overlap != nil:
		return "All lures work between " + u.Speed(unit.Speed(t.Overlap[0])) + " and " + u.Speed(unit.Speed(t.Overlap[1])) + " through the water. For " + goal + ":"
	}
	return "For " + goal + ":"
}

// SpeedCSV writes the headings for a spreadsheet: a header, a row of units, a row per
// heading.
func SpeedCSV(w io.Writer, t *sternfan.SpeedTable, u unit.System) error {
	mph := u.Label(unit.SpeedStyle)
	s := newSheet(w, t)
	s.row("heading", "over ground", "surface", "reachable")
	s.row("deg true", mph, mph, "")
	for i := range t.Rows {
		r := &t.Rows[i]
		if !r.OK {
			s.row(plain(r.Heading), "", "", "no")
			continue
		}
		s.row(plain(r.Heading), number(u, unit.SpeedStyle, r.OverGround), number(u, unit.SpeedStyle, r.Surface), "yes")
	}
	return s.done()
}
