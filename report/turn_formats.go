package report

import (
	"fmt"
	"io"
	"math"

	"sternfan"
	"sternfan/unit"
)

// TurnCSV writes the series for a program, SI: a header, then a row for every sample of
// every tip, body and lure. x_m and y_m are over ground, x along the first heading from
// where the boat's origin was at the start, y to starboard of it.
func TurnCSV(w io.Writer, t *sternfan.Turn) error {
	s := newSheet(w, t)
	s.row("t_s", "rod", "point", "x_m", "y_m", "depth_m", "through_water_mps", "tip_pull_n")
	exact := func(v float64) string { return fmt.Sprintf("%.9g", v) }
	for n := range t.Boat {
		for i := range t.Tracks {
			tr := &t.Tracks[i]
			for k := range tr.Points {
				q := &tr.Points[k]
				if n >= len(q.At) {
					continue
				}
				s.row(exact(t.Boat[n].T), cell(tr.Rod), cell(q.ID), exact(q.At[n][0]), exact(q.At[n][1]), exact(q.At[n][2]),
					exact(q.Through[n]), exact(tr.TipPull[n]))
			}
		}
	}
	return s.done()
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// TightestTable says how tightly the boat may come about to each side with the lines
// keeping their margins.
func TightestTable(w io.Writer, rows []sternfan.Tightest, opt Options) error {
	t := &sternfan.Turn{}
	for i := range opt.Scenario.Rods {
		r := &opt.Scenario.Rods[i]
		t.Tracks = append(t.Tracks, sternfan.TurnTrack{Rod: r.ID, Position: opt.Scenario.Position(r.ID)})
	}
	p := &printer{w: w}
	for i := range rows {
		p.paragraphs(opt.width(), tightWords(&rows[i], t, opt))
	}
	p.line("")
	p.paragraphs(opt.width(), linesOnly+" Margins grown by the intervals of the depths. Not for navigation.")
	p.paragraphs(opt.width(), turnCautions(t)...)
	return p.err
}

func tightWords(r *sternfan.Tightest, t *sternfan.Turn, opt Options) string {
	side := sideName(r.To)
	what := fmt.Sprintf("%.0f degrees", math.Abs(r.Angle)*180/math.Pi)
	s := "To " + side + ", no radius tried keeps the margins through " + what
	if r.Radius > 0 {
		s = "To " + side + ", take at least " + spell(r.Time) + " for " + what +
			fmt.Sprintf(" (10 degrees each %s, radius %s)", pace(r.Time*10*math.Pi/180/math.Abs(r.Angle)), opt.Units.Depth(unit.Length(r.Radius)))
	}
	if r.Gives != nil {
		s += "; "
		if r.Radius > 0 {
			s += "tighter, what gives first: "
		}
		s += passWords(t, r.Gives, opt)
	}
	if tried(r.Risk) {
		s += fmt.Sprintf(". Sampled, any two are inside their margin in %d of %d worlds (%s)", r.Risk.Broken, r.Risk.Of, riskSpan(r.Risk))
	}
	return s + "."
}
