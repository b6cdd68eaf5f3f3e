package report

import (
	"fmt"
	"io"
	"math"

	"sternfan"
	"sternfan/unit"
)

// TurnTable writes what a manoeuvre does to the spread: in words first, as a captain
// talks, then the lures through it, the nearest passes, and the cautions.
func TurnTable(w io.Writer, t *sternfan.Turn, opt Options) error {
	u := opt.Units
	p := &printer{w: w}
	p.paragraphs(opt.width(), TurnWords(t, opt)...)
	p.line("")
	if len(t.Tasks) > 0 {
		turnTasks(p, t, u)
	} else {
		turnLures(p, t, u)
	}
	turnPairs(p, t, opt)
	turnWarnings(p, t, opt)
	p.line("")
	if len(t.Tasks) > 0 {
		p.paragraphs(opt.width(), "Lines at "+opt.Units.Depth(unit.Length(60*t.Manoeuvre.Pay))+" a minute; a downrigger's cable, and the time to bait, clip on and take off, as a practiced crew does it (assumed).")
	} else {
		p.paragraphs(opt.width(), "Intervals: 4 times in 5 the depth is inside; they are those of straight running.")
	}
	p.paragraphs(opt.width(), linesOnly)
	p.paragraphs(opt.width(), turnCautions(t)...)
	p.paragraphs(opt.width(), Cautions(&sternfan.Fan{}, opt.Scenario)...)
	return p.err
}

// linesOnly says what the words about a turn do not know.
const linesOnly = "Lines only, not sea state or traffic."

// turnCautions are the cautions of a boat that turns with lines out.
func turnCautions(t *sternfan.Turn) []string {
	if len(t.Tasks) > 0 {
		return []string{"A boat with lines out still gives way and keeps a look-out; someone stays at the wheel while the others work.",
			"Keep way on while lines go out and come in, and hands off lines that run."}
	}
	out := []string{"A boat with lines out still gives way and keeps a look-out; someone stays at the wheel."}
	if t.Manoeuvre.Event == "strike" || t.Manoeuvre.Event == "stop" {
		out = append(out, "With lines near the propellers, keep way on or take the engine out of gear before anyone reaches for a line.")
	}
	return out
}

// turnLures prints every lure's depth and speed through the manoeuvre.
func turnLures(p *printer, t *sternfan.Turn, u unit.System) {
	outside := false
	g := NewGrid("  ", Numbers("", "straight on (interval)", "shallowest", "deepest", "speed at it", "window"), Words("lure"))
	for i := range t.Tracks {
		tr := &t.Tracks[i]
		for _, q := range lurePoints(tr) {
			if len(q.At) == 0 {
				continue
			}
			lo, hi := math.Inf(1), math.Inf(-1)
			slow, fast := math.Inf(1), math.Inf(-1)
			for n := range q.At {
				lo, hi = math.Min(lo, q.At[n][2]), math.Max(hi, q.At[n][2])
				slow, fast = math.Min(slow, q.Through[n]), math.Max(fast, q.Through[n])
			}
			window := ""
			if q.Window != nil {
				window = u.Speed(unit.Speed(q.Window[0])) + " to " + u.Speed(unit.Speed(q.Window[1]))
				if slow < q.Window[0] || fast > q.Window[1] {
					window, outside = window+" *", true
				}
			}
			b := sternfan.BodyFan{Depth: q.At[0][2], DepthLo: q.DepthLo, DepthHi: q.DepthHi}
			g.Add(depthWords(u, &b), u.Depth(unit.Length(belowSurface(lo))), u.Depth(unit.Length(hi)),
				u.Speed(unit.Speed(slow))+" to "+u.Speed(unit.Speed(fast)), window, capital(partyName(t, tr.Rod))+", "+q.Kind)
		}
	}
	g.print(p, defaultWidth)
	if outside {
		p.line("  * outside its window for a part of the way")
	}
}

// lurePoints returns the lures of a track.
func lurePoints(tr *sternfan.TurnTrack) []*sternfan.TurnPoint {
	var out []*sternfan.TurnPoint
	for i := range tr.Points {
		if tr.Points[i].Lure {
			out = append(out, &tr.Points[i])
		}
	}
	return out
}

// pairsShown is how many pairs the table lists.
const pairsShown = 8

func turnPairs(p *printer, t *sternfan.Turn, opt Options) {
	if len(t.Pairs) == 0 {
		return
	}
	u := opt.Units
	p.line("")
	g := NewGrid("  ", Numbers("", "nearest", "margin", "when", "worlds inside the margin"), Words("between"))
	for i := range t.Pairs {
		q := &t.Pairs[i]
		if i == pairsShown || q.Ratio > 3 && i > 2 {
			break
		}
		often := ""
		if tried(q.Risk) {
			often = fmt.Sprintf("%d of %d (%.0f to %.0f %%)", q.Risk.Broken, q.Risk.Of, 100*q.Risk.Lo, 100*q.Risk.Hi)
		}
		who := passNames(t, q)
		if q.PartA != "" && q.PartB != "" {
			who += " (" + clean(q.PartA) + ", " + clean(q.PartB) + ")"
		}
		g.Add(u.Depth(unit.Length(q.Distance)), u.Depth(unit.Length(asked(q))), when(t, q.T), often, who)
	}
	g.print(p, defaultWidth)
}

// when words a time of the run by how far the turn has come.
func when(t *sternfan.Turn, at float64) string {
	m := &t.Manoeuvre
	switch {
	case at < m.Begin:
		return "straight on"
	case len(t.Tasks) > 0:
		return fmt.Sprintf("%.1f min in", (at-m.Begin)/60)
	case at > m.End && m.Event == "":
		return fmt.Sprintf("%.0f s after", at-m.End)
	case m.Event != "":
		return fmt.Sprintf("%.0f s in", at-m.Begin)
	}
	for i := range t.Boat {
		if t.Boat[i].T >= at-1e-9 {
			return fmt.Sprintf("%.0f deg in", math.Abs(t.Boat[i].Heading)*180/math.Pi)
		}
	}
	return ""
}

// turnWarnings prints what is wrong with the run, then with each of its lines.
func turnWarnings(p *printer, t *sternfan.Turn, opt Options) {
	var said []string
	for i := range t.Warnings {
		said = append(said, warningText(&t.Warnings[i]))
	}
	if said = append(said, trackWarnings(t)...); len(said) > 0 {
		p.line("")
		p.paragraphs(opt.width(), said...)
	}
}

// trackWarnings says what is wrong with each line: "Port rigger: the ...".
func trackWarnings(t *sternfan.Turn) []string {
	var out []string
	for i := range t.Tracks {
		who := capital(partyName(t, t.Tracks[i].Rod))
		for k := range t.Tracks[i].Warnings {
			out = append(out, who+": "+warningText(&t.Tracks[i].Warnings[k]))
		}
	}
	return out
}

func warningText(w *sternfan.Warning) string {
	if w.Hint == "" {
		return clean(w.Text) + "."
	}
	return clean(w.Text+"; "+w.Hint) + "."
}
