package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sternfan/event"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// ShortID returns enough of an event's id to name it: its time and a little chance.
func ShortID(id event.ID) string { return id.String()[:16] }

// EventWords says what an event is, in a line.
func EventWords(e *event.Event, u unit.System) string {
	head, words := bodyWords(e.Body, u)
	if e.Rod != "" {
		head = e.Rod + " " + head
	}
	if more := e.NotUnderstood(); len(more) > 0 {
		const most = 4
		rest := ""
		if n := len(more) - most; n > 0 {
			more, rest = more[:most], fmt.Sprintf(" and %d more", n)
		}
		words = append(words, "holds what this version does not understand: "+strings.Join(more, ", ")+rest)
	} else if v := e.NewerVersion(); v > 0 {
		words = append(words, fmt.Sprintf("written for version %d of the log, read as far as this one understands", v))
	}
	var said []string
	for _, w := range words {
		if w = strings.TrimSpace(w); w != "" {
			said = append(said, w)
		}
	}
	if len(said) == 0 {
		return head
	}
	return head + ": " + strings.Join(said, "; ")
}

// bodyWords says what happened and the particulars of it, "" for those not given.
func bodyWords(b event.Body, u unit.System) (head string, words []string) {
	switch b := b.(type) {
	case event.TripBegins:
		return "trip begins", []string{b.Name, ifSo(b.Anglers > 0, fmt.Sprintf("%d anglers", b.Anglers)), b.Note}
	case event.TripEnds:
		return "trip ends", []string{b.Note}
	case event.LineSet:
		return "set", []string{LineWords(&b.Line, u), FanWords(b.Fan, "", u)}
	case event.LineChanged:
		return "changed", []string{LineWords(&b.Line, u), FanWords(b.Fan, "", u)}
	case event.LineChecked:
		return "checked, runs free", []string{b.Note}
	case event.LineFouled:
		return "fouled", []string{b.With, "no effort since it was last checked", b.Note}
	case event.LineIn:
		return "in", []string{b.Note}
	case event.Strike:
		return "strike", []string{b.Species, FanWords(b.Fan, b.Lure, u), b.Note}
	case event.Landed:
		words := []string{b.Species}
		if b.Length != nil {
			words = append(words, FishLength(*b.Length, u))
		}
		if b.Mass != nil {
			words = append(words, u.Mass(unit.Mass(*b.Mass)))
		}
		return "landed", append(words, string(b.Fate), b.Note)
	case event.Lost:
		return "lost", []string{b.Species, ifSo(b.StillOut, "still out"), b.Note}
	case event.Conditions:
		return "conditions", []string{ConditionWords(&b, u), b.Note}
	case event.Reading:
		return "measured", []string{readingWords(&b, u), b.Note}
	case event.Note:
		return "note", []string{b.Text}
	case event.Fix:
		return "correction of " + ShortID(b.Of), fixWords(&b, u)
	case event.Clock:
		shift := (time.Duration(b.Shift) * time.Millisecond).String()
		return "clock of " + b.Of, []string{strings.TrimSuffix(strings.TrimSuffix(shift, "0s"), "0m") + " to be added"}
	case event.Solved:
		return "solved " + ShortID(b.Of), []string{FanWords(&b.Fan, "", u)}
	case event.Unknown:
		return "entry of kind " + string(b.Kind), []string{"this version cannot read it; it is kept and passed on"}
	}
	return "", nil
}

func ifSo(so bool, words string) string {
	if so {
		return words
	}
	return ""
}

func fixWords(b *event.Fix, u unit.System) (words []string) {
	changed := b.Body
	if len(changed) == 0 {
		changed = b.Change
	}
	switch {
	case b.Void:
		words = append(words, "it never happened")
	case b.To != "":
		if body, _ := event.DecodeBody(b.To, changed); body != nil { // what is missing in a change stays as it is
			words = append(words, EventWords(&event.Event{Body: body}, u))
		}
	}
	if b.At != nil {
		words = append(words, "at "+b.At.Time().Format("2006-01-02 15:04"))
	}
	if b.Rod != nil {
		words = append(words, "rod "+*b.Rod)
	}
	switch {
	case b.Trip == nil:
	case b.Trip.IsZero():
		words = append(words, "of no trip")
	default:
		words = append(words, "part of trip "+ShortID(*b.Trip))
	}
	return append(words, b.Why)
}

// FishLength shows a fish's length in inches, as people give it.
func FishLength(m float64, u unit.System) string {
	if u == unit.SI {
		return fmt.Sprintf("%.0f cm", m*100)
	}
	return fmt.Sprintf("%.3g in", m/float64(unit.Inch))
}

// LineWords says how a line is set, in the order of hands, and its lures. Of a line without
// parts, as a stranger's table has it, all is said that it is set to.
func LineWords(l *event.Line, u unit.System) string {
	has := func(kind sternfan.PartKind) bool {
		return len(l.Parts) == 0 && kind == sternfan.PartDiver || slices.ContainsFunc(l.Parts, func(p event.Part) bool { return p.Kind == kind })
	}
	words := setting.Words(l.Settings.Model(), has, setting.Counted(u))
	for _, p := range l.Lures() {
		name := p.Gear
		if color := p.Attributes["color"]; color != "" {
			name += " (" + color + ")"
		}
		words = append(words, name)
	}
	return strings.Join(words, ", ")
}

// ConditionWords says what was read of boat and water; "" when nothing was.
func ConditionWords(b *event.Conditions, u unit.System) string {
	var words []string
	speed := func(name string, v *float64) {
		if v != nil {
			words = append(words, u.Speed(unit.Speed(*v))+" "+name)
		}
	}
	speed("over ground", b.OverGround)
	speed("through the surface water", b.Surface)
	if b.Probe != nil && b.ProbeDepth != nil {
		words = append(words, u.Speed(unit.Speed(*b.Probe))+" at "+u.Depth(unit.Length(*b.ProbeDepth)))
	}
	if b.Heading != nil {
		words = append(words, fmt.Sprintf("heading %.0f deg", *b.Heading))
	}
	for _, t := range b.Temperature {
		words = append(words, u.Temperature(unit.Temperature(t[1]))+" at "+u.Depth(unit.Length(t[0])))
	}
	for _, c := range b.Current {
		words = append(words, fmt.Sprintf("current %s toward %.0f deg at %s", u.Speed(unit.Speed(c.Speed)), c.Toward, u.Depth(unit.Length(c.Depth))))
	}
	if b.Bottom != nil {
		words = append(words, u.Depth(unit.Length(*b.Bottom))+" of water")
	}
	for _, s := range []string{b.Sky, b.Clarity} {
		if s != "" {
			words = append(words, s)
		}
	}
	return strings.Join(words, ", ")
}

func readingWords(b *event.Reading, u unit.System) string {
	name, _, _ := strings.Cut(string(b.What), "_")
	show := func(v float64) string {
		switch b.What {
		case event.ReadPull:
			return u.Force(unit.Force(v))
		case event.ReadAngle:
			return u.Angle(unit.Angle(v) * unit.Degree)
		}
		return u.Depth(unit.Length(v))
	}
	text := name + " " + show(b.Value)
	if b.SD > 0 {
		text += " (give or take " + show(b.SD) + ")"
	}
	if b.Part != "" {
		text += " of " + b.Part
	}
	if b.With != "" {
		text += " by " + b.With
	}
	return text
}

// FanWords says where a lure runs, with its interval.
func FanWords(fan *event.Fan, lure string, u unit.System) string {
	if fan == nil {
		return ""
	}
	for i := range fan.Lures {
		l := &fan.Lures[i]
		if lure == "" || l.ID == lure {
			return fmt.Sprintf("lure at %s (%s to %s, 4 times in 5)", u.Depth(unit.Length(l.Depth)), u.Depth(unit.Length(l.DepthLo)), u.Depth(unit.Length(l.DepthHi)))
		}
	}
	return string(fan.Status)
}
