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
	var words []string
	add := func(format string, args ...any) {
		if text := strings.TrimSpace(fmt.Sprintf(format, args...)); text != "" {
			words = append(words, text)
		}
	}
	fish := func(species string) {
		if species != "" {
			add("%s", species)
		}
	}
	head := ""
	if e.Rod != "" {
		head = e.Rod + " "
	}
	switch b := e.Body.(type) {
	case event.TripBegins:
		head += "trip begins"
		add("%s", b.Name)
		if b.Anglers > 0 {
			add("%d anglers", b.Anglers)
		}
		add("%s", b.Note)
	case event.TripEnds:
		head += "trip ends"
		add("%s", b.Note)
	case event.LineSet:
		head += "set"
		add("%s", LineWords(&b.Line, u))
		add("%s", FanWords(b.Fan, "", u))
	case event.LineChanged:
		head += "changed"
		add("%s", LineWords(&b.Line, u))
		add("%s", FanWords(b.Fan, "", u))
	case event.LineChecked:
		head += "checked, runs free"
		add("%s", b.Note)
	case event.LineFouled:
		head += "fouled"
		add("%s", b.With)
		add("no effort since it was last checked")
		add("%s", b.Note)
	case event.LineIn:
		head += "in"
		add("%s", b.Note)
	case event.Strike:
		head += "strike"
		fish(b.Species)
		add("%s", FanWords(b.Fan, b.Lure, u))
		add("%s", b.Note)
	case event.Landed:
		head += "landed"
		fish(b.Species)
		if b.Length != nil {
			add("%s", FishLength(*b.Length, u))
		}
		if b.Mass != nil {
			add("%s", u.Mass(unit.Mass(*b.Mass)))
		}
		add("%s", b.Fate)
		add("%s", b.Note)
	case event.Lost:
		head += "lost"
		fish(b.Species)
		if b.StillOut {
			add("still out")
		}
		add("%s", b.Note)
	case event.Conditions:
		head += "conditions"
		add("%s", ConditionWords(&b, u))
		add("%s", b.Note)
	case event.Reading:
		head += "measured"
		add("%s", readingWords(&b, u))
		add("%s", b.Note)
	case event.Note:
		head += "note"
		add("%s", b.Text)
	case event.Fix:
		head += "correction of " + ShortID(b.Of)
		switch {
		case b.Void:
			add("it never happened")
		case b.To != "":
			changed := b.Body
			if len(changed) == 0 {
				changed = b.Change
			}
			if body, _ := event.DecodeBody(b.To, changed); body != nil { // what is missing in a change stays as it is
				add("%s", EventWords(&event.Event{Body: body}, u))
			}
		}
		if b.At != nil {
			add("at %s", b.At.Time().Format("2006-01-02 15:04"))
		}
		if b.Rod != nil {
			add("rod %s", *b.Rod)
		}
		switch {
		case b.Trip == nil:
		case b.Trip.IsZero():
			add("of no trip")
		default:
			add("part of trip %s", ShortID(*b.Trip))
		}
		add("%s", b.Why)
	case event.Clock:
		head += "clock of " + b.Of
		add("%s to be added", strings.TrimSuffix(strings.TrimSuffix((time.Duration(b.Shift)*time.Millisecond).String(), "0s"), "0m"))
	case event.Solved:
		head += "solved " + ShortID(b.Of)
		add("%s", FanWords(&b.Fan, "", u))
	case event.Unknown:
		head += "entry of kind " + string(b.Kind)
		add("this version cannot read it; it is kept and passed on")
	}
	if more := e.NotUnderstood(); len(more) > 0 {
		const most = 4
		rest := ""
		if n := len(more) - most; n > 0 {
			more, rest = more[:most], fmt.Sprintf(" and %d more", n)
		}
		add("holds what this version does not understand: %s%s", strings.Join(more, ", "), rest)
	} else if v := e.NewerVersion(); v > 0 {
		add("written for version %d of the log, read as far as this one understands", v)
	}
	if len(words) == 0 {
		return head
	}
	return head + ": " + strings.Join(words, "; ")
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
