package report

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

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

// turnWords returns the same with what ran close before the manoeuvre by itself.
func turnWords(t *sternfan.Turn, opt Options) (out, before []string) {
	missing := ""
	if t.Start != nil {
		missing = missingWords(t.Start, t.Missing)
	}
	if len(t.Tracks) == 0 {
		if missing != "" {
			return []string{strings.TrimSpace(missing)}, nil
		}
		return []string{"No line is out: set a rod first."}, nil
	}
	brought, ran := closePairs(t)
	out = []string{missing + turnLead(t, opt) + nearestWords(t, brought, len(ran) > 0, opt) + "."}
	if tried(t.Risk) {
		out = append(out, fmt.Sprintf("It brings any two inside their margin in %d of %d sampled worlds (%s).",
			t.Risk.Broken, t.Risk.Of, riskSpan(t.Risk)))
	}
	if t.Other != nil && t.Other.Near != nil {
		out = append(out, otherSideWords(t, opt)+".")
	}
	if t.Manoeuvre.Event == "strike" {
		out = append(out, strikeWords(t)...)
	}
	if t.Verdict != nil && !t.Verdict.Grade.Clear() {
		before = []string{"Running straight already: " + sentenceOf(&t.Verdict.Findings[0])}
	}
	return out, before
}

// closePairs returns the pairs inside their margin: those that the manoeuvre brought
// there, and those that ran as close before it.
func closePairs(t *sternfan.Turn) (brought, ran []*sternfan.TurnPair) {
	for i := range t.Pairs {
		p := &t.Pairs[i]
		switch {
		case p.Ratio >= 1 || !finite(p.Ratio):
		case p.First < 1 && p.Ratio > worsened*p.First:
			ran = append(ran, p)
		default:
			brought = append(brought, p)
		}
	}
	return brought, ran
}

// nearestWords says which pair comes nearest and how many more are inside their margin.
func nearestWords(t *sternfan.Turn, brought []*sternfan.TurnPair, ranClose bool, opt Options) string {
	switch {
	case len(brought) > 1:
		comes := " come"
		if len(brought) == 2 {
			comes = " comes"
		}
		return passWords(t, brought[0], opt) + ", and " + Count(len(brought)-1, "other pair") + comes + " inside their margin too"
	case len(brought) > 0:
		return passWords(t, brought[0], opt)
	case ranClose && len(t.Tasks) > 0:
		return "on their way no lines come closer than they run"
	case ranClose:
		return "no lines come closer than they run"
	}
	all := "all lines keep their margins"
	if len(t.Missing) > 0 {
		all = "the other lines keep their margins"
	}
	if len(t.Pairs) > 0 {
		all += "; the nearest, " + passWords(t, &t.Pairs[0], opt)
	}
	return all
}

// otherSideWords compares the turn with the same to the other side.
func otherSideWords(t *sternfan.Turn, opt Options) string {
	o := t.Other
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
	return s
}

// strikeWords says which line to clear first for a fish and which way a slow wide circle
// opens the water.
func strikeWords(t *sternfan.Turn) []string {
	var out []string
	for i := range t.Pairs {
		p := &t.Pairs[i]
		if other := otherThan(p, t.Manoeuvre.Rod); other != "" && !sternfan.PartOfBoat(other) && p.Ratio < 1 {
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

// otherThan returns the party of a pair that is not the rod, "" when the rod is neither.
func otherThan(p *sternfan.TurnPair, rod string) string {
	switch rod {
	case p.A:
		return p.B
	case p.B:
		return p.A
	}
	return ""
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
	if tried(p.Risk) {
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

// apartWords says how far apart two pass: "4 ft apart (margin 6 ft)".
func apartWords(p *sternfan.TurnPair, u unit.System) string {
	apart, want := lengthsOf(p, u)
	if ofBoat(p) {
		return apart + " apart (" + want + " is to be kept from the boat)"
	}
	return apart + " apart (margin " + want + ")"
}

func ofBoat(p *sternfan.TurnPair) bool { return sternfan.PartOfBoat(p.A) || sternfan.PartOfBoat(p.B) }

// tried reports whether a risk was sampled at all.
func tried(r *sternfan.Risk) bool { return r != nil && r.Of > 0 }

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
