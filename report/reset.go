package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// ResetTable writes how a line goes out again while the others are out: the first line
// tells the captain what to do.
func ResetTable(w io.Writer, r *sternfan.Reset, opt Options) error {
	p := &printer{w: w}
	plan := &sternfan.Plan{Fan: r.Fan, Scenario: r.Scenario}
	u := opt.Units
	p.wrapped("", "  ", ResetHeadline(r, opt), opt.width())
	p.line("")
	if r.How != "none" {
		if t := planTrack(plan, r.Rod); t != nil {
			for i := range t.Lures {
				b := &t.Lures[i].BodyFan
				p.wrapped("", "  ", sentence(capital(kindName(t.Lures[i].Kind, t.Lures[i].ID))+" runs "+depthWords(u, b)+", "+sideWords(u, b.Side)+", "+
					u.Depth(unit.Length(b.Astern))+" astern"), opt.width())
			}
		}
		for i := range r.Passes {
			if i == 3 {
				break
			}
			p.wrapped("", "  ", "On its way: "+gapWords(plan, &r.Passes[i], opt)+".", opt.width())
		}
	}
	if r.Blocked != nil && r.How != "none" {
		p.wrapped("", "  ", "Not as it was: "+gapWords(plan, r.Blocked, opt)+".", opt.width())
	}
	p.line("Intervals: 4 times in 5 the depth is inside.")
	p.paragraphs(opt.width(), Cautions(r.Fan, r.Scenario)...)
	return p.err
}

// ResetHeadline is the first line: what to do, in order.
func ResetHeadline(r *sternfan.Reset, opt Options) string {
	u := opt.Units
	plan := &sternfan.Plan{Fan: r.Fan, Scenario: r.Scenario}
	who := lowerFirst(planName(plan, r.Rod, opt))
	how := r.Settings
	if t := planTrack(plan, r.Rod); t != nil {
		how = strings.Join(handSteps(r.Scenario, t, u), ", ")
	}
	took := fmt.Sprintf("; about %s", minutes(math.Max(r.Minutes, 1)))
	switch r.How {
	case "as-was":
		return "Set the " + who + " as it was: " + clean(how) + "; nothing is in its way" + took + "."
	case "slide":
		var first []string
		for _, m := range r.Moves {
			first = append(first, "let the "+lowerFirst(planName(plan, m.Rod, opt))+" out from "+u.Depth(unit.Length(m.From))+" to "+u.Depth(unit.Length(m.To)))
		}
		return capital(list(first, ", ", ", then ")) + "; then set the " + who + " inside: " + clean(how) + took + "."
	case "other":
		return "Set the " + who + " otherwise for now: " + clean(how) + took + "."
	}
	if r.Blocked == nil {
		return "The " + who + " cannot go out."
	}
	other := r.Blocked.B
	if other == r.Rod {
		other = r.Blocked.A
	}
	return "Take in the " + lowerFirst(planName(plan, other, opt)) + " first: the " + who + " cannot go out past it and keep the margin (" + gapWords(plan, r.Blocked, opt) + ")."
}
