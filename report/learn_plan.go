package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"sternfan"
)

// TrialTable writes a fair test: the turns with what each rod carries, what is held equal,
// and how long it takes to tell.
func TrialTable(w io.Writer, t *sternfan.Trial, opt Options) error {
	p := &printer{w: w}
	var levels []string
	for _, l := range t.Levels {
		levels = append(levels, clean(l))
	}
	p.wrapped("", "", fmt.Sprintf("A fair test of %s: %s. %d turns, %s of each level in one outing, %s lost to changing over.",
		clean(t.Compare), List(levels), len(t.Turns), rodHours(t.HoursEach), rodHours(t.Lost)), opt.width())
	for _, s := range t.Troubles {
		p.wrapped("", "", s, opt.width())
	}
	p.line("")
	var rods []string
	for _, r := range t.Rods {
		rods = append(rods, clean(r.ID))
	}
	g := NewGrid("  ", Words("after the first set"), Numbers("", rods...))
	for _, turn := range t.Turns {
		row := []string{clock(turn.FromMin) + "-" + clock(turn.ToMin)}
		for _, v := range turn.Carries {
			row = append(row, clean(v))
		}
		g.Add(row...)
	}
	g.print(p, opt.width())
	p.line("")
	g = NewGrid("  ", Words("each level fishes"), Numbers("", "port", "starboard", "middle", "mean time"))
	for _, b := range t.Balance {
		g.Add(clean(b.Level), oneHour(b.Port), oneHour(b.Starboard), oneHour(b.Middle), clock(b.Midtime))
	}
	g.print(p, opt.width())
	p.line("")
	from := "the log's"
	if !t.RateKnown {
		from = "assumed"
	}
	p.wrapped("", "", fmt.Sprintf("At %s strikes per 10 rod-hours (%s), to tell %s:", rate(t.RatePerH), from, Odds(t.Power)), opt.width())
	g = NewGrid("  ", Words("one level catches"), Numbers("", "likely better", "better", "one outing says likely", "one outing says better"))
	for _, n := range t.Needs {
		g.Add(strconv.FormatFloat(n.Ratio, 'g', 3, 64)+" times as much", neededHours(n.LikelyHours, t.HoursEach), neededHours(n.BetterHours, t.HoursEach),
			Odds(n.LikelyOne), Odds(n.BetterOne))
	}
	g.print(p, opt.width())
	p.line("")
	p.wrapped("", "", "Hours are rod-hours of each level, side by side; after them, outings like this one. Where nothing differs, \"likely better\" still comes out 1 time in 5 and \"better\" 1 time in 20, at the most. "+
		"Decide how long to fish before you begin, and look once: stopping when it looks good makes luck look like a difference. "+
		"Handle every rod alike, and change over with the boat on a straight course: hooks and lines under load hurt.", opt.width())
	return p.err
}

func clock(minutes float64) string {
	m := int(math.Round(minutes))
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

func oneHour(h float64) string {
	if h == 0 {
		return "-"
	}
	return strconv.FormatFloat(h, 'f', 1, 64) + " h"
}

// neededHours returns "61 h, 3 outings".
func neededHours(h, each float64) string {
	if h >= 1e6 {
		return "out of reach"
	}
	s := twoDigits(math.Max(h, 1)) + " h"
	if each > 0 {
		s += ", " + Count(int(math.Ceil(h/each-1e-9)), "outing")
	}
	return s
}

// FiredWords returns what the last strikes share, a hint a sentence; none when nothing
// stands out.
func FiredWords(f *sternfan.Fired) []string {
	var out []string
	for i := range f.Hints {
		h := &f.Hints[i]
		if h.Evidence < leastEvidence {
			continue
		}
		out = append(out, fmt.Sprintf("%d of the last %d strikes on %s %s, where its share of the lines out would give %s. Luck does that %s, %s somewhere among the %d things looked at.",
			h.Hits, h.Of, clean(strings.ReplaceAll(h.Attribute, ".", " ")), clean(h.Level), strconv.FormatFloat(h.Expected, 'f', 1, 64), luckOdds(h.Luck), luckOdds(h.LuckAny), f.Looked))
	}
	return out
}

// leastEvidence is the log10 of the Bayes factor below which a hint is not worth a look:
// twice as likely with a rate of its own as without.
const leastEvidence = 0.301
