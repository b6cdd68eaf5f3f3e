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
	for _, s := range TurnWords(t, opt) {
		p.wrapped("", "  ", s, opt.width())
	}
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
		p.wrapped("", "  ", "Lines at "+opt.Units.Depth(unit.Length(60*t.Manoeuvre.Pay))+" a minute; a downrigger's cable, and the time to bait, clip on and take off, as a practiced crew does it (assumed).", opt.width())
	} else {
		p.wrapped("", "  ", "Intervals: 4 times in 5 the depth is inside; they are those of straight running.", opt.width())
	}
	p.wrapped("", "  ", linesOnly, opt.width())
	for _, c := range turnCautions(t) {
		p.wrapped("", "  ", c, opt.width())
	}
	for _, c := range Cautions(&sternfan.Fan{}, opt.Scenario) {
		p.wrapped("", "  ", c, opt.width())
	}
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

// worsened is how much nearer than straight on two lines that already run inside their
// margin have to come to be called brought there by the turn.
const worsened = 0.85

// roomToSpare is how many margins apart nobody asks any more which of two ways is better.
const roomToSpare = 2.5

// TurnWords returns the manoeuvre in sentences: what it is, which lines come close and
// how often, how the other side compares, and what ran close before it.
func TurnWords(t *sternfan.Turn, opt Options) []string {
	out, before := turnWords(t, opt)
	return append(out, before...)
}

// turnWords returns what ran close before the manoeuvre by itself.
func turnWords(t *sternfan.Turn, opt Options) (out, ran []string) {
	lead := turnLead(t, opt)
	var fresh, before []*sternfan.TurnPair
	for i := range t.Pairs {
		p := &t.Pairs[i]
		switch {
		case p.Ratio >= 1 || !finite(p.Ratio):
		case p.First < 1 && p.Ratio > worsened*p.First:
			before = append(before, p)
		default:
			fresh = append(fresh, p)
		}
	}
	switch {
	case len(t.Tracks) == 0:
		return []string{"No line is out: set a rod first."}, nil
	case len(fresh) > 0:
		s := lead + passWords(t, fresh[0], opt)
		if n := len(fresh) - 1; n > 0 {
			s += fmt.Sprintf(", and %s inside their margin too", Count(n, "other pair")+map[bool]string{true: " comes", false: " come"}[n == 1])
		}
		out = append(out, s+".")
	case len(before) > 0 && len(t.Tasks) > 0:
		out = append(out, lead+"on their way no lines come closer than they run.")
	case len(before) > 0:
		out = append(out, lead+"no lines come closer than they run.")
	default:
		s := lead + "all lines keep their margins"
		if len(t.Pairs) > 0 {
			s += "; the nearest, " + passWords(t, &t.Pairs[0], opt)
		}
		out = append(out, s+".")
	}
	if t.Risk != nil && t.Risk.Of > 0 {
		out = append(out, fmt.Sprintf("It brings any two inside their margin in %d of %d sampled worlds (%s).",
			t.Risk.Broken, t.Risk.Of, riskSpan(t.Risk)))
	}
	if s := otherWords(t, opt); s != "" {
		out = append(out, s)
	}
	if t.Manoeuvre.Event == "strike" {
		out = append(out, strikeWords(t)...)
	}
	if len(before) > 0 {
		s := "Close before any turn: "
		if len(t.Tasks) > 0 {
			s = "Close with all lines out: "
		}
		for i, p := range before {
			if i == 3 {
				s += fmt.Sprintf("; %d more", len(before)-3)
				break
			}
			if i > 0 {
				s += "; "
			}
			s += passNames(t, p) + closeWords(p, opt.Units)
		}
		ran = []string{s + "."}
	}
	return out, ran
}

// otherWords compares the turn to the other side; "" where that was not run.
func otherWords(t *sternfan.Turn, opt Options) string {
	o := t.Other
	if o == nil || o.Near == nil {
		return ""
	}
	s := "To " + sideName(o.To) + ": "
	if o.Near.Ratio >= 1 {
		s += "all keep their margins; the nearest, "
	}
	s += passWords(t, o.Near, opt)
	here := math.Inf(1)
	if len(t.Pairs) > 0 {
		here = t.Pairs[0].Ratio
	}
	switch {
	case math.Min(o.Near.Ratio, here) > roomToSpare:
		s += ". Both sides leave room to spare"
	case len(t.Pairs) > 0 && crosses(&t.Pairs[0]) && crosses(o.Near):
		s += ". Lines cross to either side"
	case o.Near.Ratio > 1.1*here:
		s += ". With traffic and sea clear, " + sideName(o.To) + " keeps lines farther apart"
	case here > 1.1*o.Near.Ratio:
		s += ". With traffic and sea clear, " + sideName(t.Manoeuvre.To) + " keeps lines farther apart"
	default:
		s += ". Neither side is much better"
	}
	if l := t.Least; l != nil {
		s += "; to " + sideName(t.Manoeuvre.To) + ", take at least " + spell(l.Time) + " (radius " + opt.Units.Depth(unit.Length(l.Radius)) + ")"
	}
	return s + "."
}

// strikeWords says which line to clear first for a fish and which way a slow wide circle
// opens the water.
func strikeWords(t *sternfan.Turn) []string {
	var out []string
	rod := t.Manoeuvre.Rod
	for i := range t.Pairs {
		p := &t.Pairs[i]
		other := ""
		switch rod {
		case p.A:
			other = p.B
		case p.B:
			other = p.A
		}
		if other != "" && !sternfan.PartOfBoat(other) && p.Ratio < 1 {
			out = append(out, "Clear "+partyName(t, other)+" first: it is the nearest to the fish's line.")
			break
		}
	}
	if len(t.Circles) == 2 {
		room := func(o *sternfan.TurnOther) float64 {
			if o.Near == nil {
				return roomToSpare
			}
			return math.Min(o.Near.Ratio, roomToSpare)
		}
		a, b := &t.Circles[0], &t.Circles[1]
		if room(b) > room(a) {
			a, b = b, a
		}
		if room(a) > 1.1*room(b) {
			out = append(out, "With traffic and sea clear, a slow wide circle to "+sideName(a.To)+" keeps the other lines farther from it.")
		}
	}
	return out
}

// turnLead says what the boat does: "Coming about to port in 5 minutes (10 degrees each
// 15 s): ".
func turnLead(t *sternfan.Turn, opt Options) string {
	m := &t.Manoeuvre
	switch m.Event {
	case "":
	case "track":
		return "Along the track given, " + spell(m.Until) + ": "
	case "stop":
		return "Stopping in " + seconds(m.End-m.Begin) + ", then " + spell(m.Until-m.End) + " without way: "
	case "strike":
		return "A strike on " + partyName(t, m.Rod) + ": "
	case "let-out":
		return "Letting out " + partyName(t, m.Rod) + ": "
	case "board-pops":
		return "The board of " + partyName(t, m.Rod) + " lets go: "
	case "set", "clear":
		return taskLead(t, opt)
	}
	deg := math.Abs(m.Angle) * 180 / math.Pi
	s := fmt.Sprintf("Turning %.0f degrees", deg)
	if math.Abs(deg-180) < 0.5 {
		s = "Coming about"
	}
	s += " to " + sideName(m.To) + " in " + spell(m.End-m.Begin)
	if m.Rate > 0 {
		s += fmt.Sprintf(" (10 degrees each %s, radius %s)", pace(10*math.Pi/180/m.Rate), opt.Units.Depth(unit.Length(m.Radius)))
	}
	if math.Abs(m.SpeedTo-m.Speed) > 1e-9 {
		s += ", " + opt.Units.Speed(unit.Speed(m.Speed)) + " to " + opt.Units.Speed(unit.Speed(m.SpeedTo))
	}
	return s + ": "
}

func spell(s float64) string {
	if s < 90 {
		return seconds(s)
	}
	half := math.Round(s/30) / 2
	if half == math.Trunc(half) {
		return fmt.Sprintf("%.0f minutes", half)
	}
	return fmt.Sprintf("%.1f minutes", half)
}

func seconds(s float64) string { return fmt.Sprintf("%.0f seconds", s) }

// pace words the time of a few degrees.
func pace(s float64) string {
	if s < 3 {
		return fmt.Sprintf("%.1f s", s)
	}
	return fmt.Sprintf("%.0f s", s)
}

func sideName(s sternfan.Side) string {
	if s == sternfan.Starboard {
		return "starboard"
	}
	return "port"
}

// partyName names a party as a crew does.
func partyName(t *sternfan.Turn, id string) string {
	for i := range t.Tracks {
		if t.Tracks[i].Rod == id {
			if who := clean(t.Tracks[i].Position); who != "" {
				return who
			}
		}
	}
	if sternfan.PartOfBoat(id) {
		return "the " + id
	}
	return clean(id)
}

func passNames(t *sternfan.Turn, p *sternfan.TurnPair) string {
	return partyName(t, p.A) + " and " + partyName(t, p.B)
}

// touching is the distance at which two lines count as meeting, m.
const touching = 0.1

func crosses(p *sternfan.TurnPair) bool { return p.Distance < touching && p.Ratio < 1 }

// asked returns the distance that the margin asks for in the direction of the pass, m.
func asked(p *sternfan.TurnPair) float64 {
	if p.Ratio > 1e-6 {
		return p.Distance / p.Ratio
	}
	return p.Wide
}

// passWords says how two parties pass: "port low diver and port rigger pass 4 ft apart
// (you asked for 6 ft), about 1 turn in 5".
func passWords(t *sternfan.Turn, p *sternfan.TurnPair, opt Options) string {
	u := opt.Units
	s := passNames(t, p)
	if who := onItsWay(t, p); who != "" {
		s = who
	}
	if crosses(p) {
		s += " cross"
	} else {
		s += " pass " + apartWords(p, u)
	}
	if p.Risk != nil && p.Risk.Of > 0 {
		s += ", " + oftenWords(p.Risk, t.Manoeuvre.Event == "")
	}
	return s
}

// lengthsOf words how far apart two parties pass and how far is asked for, to a tenth where
// whole units would not tell the two from each other.
func lengthsOf(p *sternfan.TurnPair, u unit.System) (apart, want string) {
	apart, want = u.Depth(unit.Length(p.Distance)), u.Depth(unit.Length(asked(p)))
	if apart == want && p.Ratio < 1 {
		per := 1.0
		if u == unit.US {
			per = float64(unit.Foot)
		}
		tenths := func(m float64) string { return fmt.Sprintf("%.1f %s", m/per, u.Label(unit.DepthStyle)) }
		apart, want = tenths(p.Distance), tenths(asked(p))
	}
	return apart, want
}

// apartWords says how far apart two pass: "4 ft apart (you asked for 6 ft)". What is kept from the
// boat itself nobody asked for.
func apartWords(p *sternfan.TurnPair, u unit.System) string {
	apart, want := lengthsOf(p, u)
	if ofBoat(p) {
		return apart + " apart (" + want + " is to be kept from the boat)"
	}
	return apart + " apart (you asked for " + want + ")"
}

// closeWords says the same of two that run close before a turn.
func closeWords(p *sternfan.TurnPair, u unit.System) string {
	apart, want := lengthsOf(p, u)
	if ofBoat(p) {
		return " at " + apart + " of the " + want + " to be kept"
	}
	return " at " + apart + " of the " + want + " asked for"
}

func ofBoat(p *sternfan.TurnPair) bool { return sternfan.PartOfBoat(p.A) || sternfan.PartOfBoat(p.B) }

// oftenWords says how often: "about 1 turn in 5", or "about 1 time in 5" of what is no turn.
func oftenWords(r *sternfan.Risk, turn bool) string {
	share := float64(r.Broken) / float64(r.Of)
	word := "time"
	if turn {
		word = "turn"
	}
	switch {
	case r.Broken == 0:
		return fmt.Sprintf("inside the margin in none of %d tries", r.Of)
	case share < 0.02:
		return fmt.Sprintf("hardly ever (%d of %d tries)", r.Broken, r.Of)
	case share <= 0.4:
		return fmt.Sprintf("about 1 %s in %.0f", word, 1/share)
	case share < 0.9:
		return fmt.Sprintf("about %.0f %ss in 5", math.Min(4, math.Max(2, math.Round(5*share))), word)
	}
	return "nearly every " + word
}

func riskSpan(r *sternfan.Risk) string {
	return fmt.Sprintf("the true share is %.0f to %.0f %%, 4 times in 5", 100*r.Lo, 100*r.Hi)
}

// turnLures prints every lure's depth and speed through the manoeuvre.
func turnLures(p *printer, t *sternfan.Turn, u unit.System) {
	outside := false
	g := NewGrid("  ", Numbers("", "straight on (interval)", "shallowest", "deepest", "speed at it", "window"), Words("lure"))
	for i := range t.Tracks {
		tr := &t.Tracks[i]
		for k := range tr.Points {
			q := &tr.Points[k]
			if !q.Lure || len(q.At) == 0 {
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

// pairsShown is how many pairs the table lists.
const pairsShown = 8

func turnPairs(p *printer, t *sternfan.Turn, opt Options) {
	if len(t.Pairs) == 0 {
		return
	}
	u := opt.Units
	p.line("")
	g := NewGrid("  ", Numbers("", "nearest", "asked for", "when", "worlds inside the margin"), Words("between"))
	for i := range t.Pairs {
		q := &t.Pairs[i]
		if i == pairsShown || q.Ratio > 3 && i > 2 {
			break
		}
		often := ""
		if q.Risk != nil && q.Risk.Of > 0 {
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

func turnWarnings(p *printer, t *sternfan.Turn, opt Options) {
	said := false
	say := func(who string, w *sternfan.Warning) {
		if !said {
			p.line("")
			said = true
		}
		s := w.Text
		if who != "" {
			s = who + ": " + s
		}
		if w.Hint != "" {
			s += "; " + w.Hint
		}
		p.wrapped("", "  ", clean(s)+".", opt.width())
	}
	for i := range t.Warnings {
		say("", &t.Warnings[i])
	}
	for i := range t.Tracks {
		for k := range t.Tracks[i].Warnings {
			say(capital(partyName(t, t.Tracks[i].Rod)), &t.Tracks[i].Warnings[k])
		}
	}
}
