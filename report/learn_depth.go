package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// depthMatters is the change of a depth, m, that is worth a captain's action: 2 ft.
const depthMatters = 0.6

// DepthFitWords returns what measurements say of a boat, in sentences: what to do first.
func DepthFitWords(f *sternfan.DepthFit, u unit.System) []string {
	out := []string{doWords(f, u)}
	if s := asideWords(f, u); s != "" {
		out = append(out, s)
	}
	if f.Unmodeled {
		out = append(out, "The measurements scatter more than their stated errors allow. Check line out, dial and speed of each row, or give larger errors.")
	}
	if !f.Settled {
		out = append(out, fmt.Sprintf("The fit had not come to rest after %s; take it with caution.", Count(f.Passes, "step")))
	}
	if s := alikeWords(f); s != "" {
		out = append(out, s)
	}
	if len(f.Quiet) > 0 {
		out = append(out, "They say little about "+numberNames(f.Quiet, 4)+": as uncertain as before.")
	}
	if s := nextWords(f, u); s != "" {
		out = append(out, s)
	}
	return append(out, savedWords(f))
}

// doWords is the first line: the rod that is furthest from what was reckoned.
func doWords(f *sternfan.DepthFit, u unit.System) string {
	var most *sternfan.FittedLure
	others := 0
	for i := range f.Lures {
		l := &f.Lures[i]
		d := math.Abs(l.After - l.Before)
		if d < depthMatters {
			continue
		}
		others++
		if most == nil || d > math.Abs(most.After-most.Before) {
			most = l
		}
	}
	if f.Strange() {
		return "Check the rows and the rig before anything else: most of what was measured is further from what is reckoned than this boat's gear can be. Nothing is taken over."
	}
	if most == nil {
		switch {
		case len(f.Measured) == f.Unreckoned:
			return "Check the rows: none of what was measured could be reckoned at its settings."
		case len(f.Lures) == 0:
			return "Change nothing: no rod of this scenario uses what was measured."
		}
		return fmt.Sprintf("Change nothing: every lure runs within %s of what was reckoned.", u.Depth(depthMatters))
	}
	way := "shallower"
	if most.After > most.Before {
		way = "deeper"
	}
	what := fmt.Sprintf("%s runs %s %s than reckoned: %s (%s), not %s.", capital(clean(most.Position)),
		u.Depth(unit.Length(math.Abs(most.After-most.Before))), way, u.Depth(unit.Length(most.After)), rangeText(u, most.AfterLo, most.AfterHi), u.Depth(unit.Length(most.Before)))
	if most.LineFor > 0 && u.Depth(unit.Length(most.LineFor)) != u.Depth(unit.Length(most.LineOut)) {
		line := "line"
		if most.Cable {
			line = "cable"
		}
		what = fmt.Sprintf("Set %s to %s of %s for %s: it ", clean(most.Position), u.Depth(unit.Length(most.LineFor)), line, u.Depth(unit.Length(most.Before))) +
			fmt.Sprintf("runs %s %s than reckoned, %s (%s) with %s out.", u.Depth(unit.Length(math.Abs(most.After-most.Before))), way,
				u.Depth(unit.Length(most.After)), rangeText(u, most.AfterLo, most.AfterHi), u.Depth(unit.Length(most.LineOut)))
	}
	if others > 1 {
		what += fmt.Sprintf(" %s below too.", Count(others-1, "more lure"))
	}
	return what
}

// rangeText returns the 80 % interval: "64 to 72 ft".
func rangeText(u unit.System, lo, hi float64) string {
	a, label := u.Split(unit.DepthStyle, lo)
	b, _ := u.Split(unit.DepthStyle, hi)
	return a + " to " + b + " " + label
}

func asideWords(f *sternfan.DepthFit, u unit.System) string {
	var rows []string
	for i := range f.Measured {
		m := &f.Measured[i]
		switch {
		case !m.Solved:
			rows = append(rows, fmt.Sprintf("line %d (%s, no rest found at these settings)", m.Line, clean(m.Rod)))
		case m.Aside():
			rows = append(rows, fmt.Sprintf("line %d (%s %s of %s where %s is reckoned)", m.Line, m.Kind, measured(u, m.Kind, m.Value), clean(m.Rod), measured(u, m.Kind, m.After)))
		}
	}
	switch len(rows) {
	case 0:
		return ""
	case 1:
		return "As good as set aside: " + rows[0] + ". Look whether it is a slip."
	}
	return "As good as set aside: " + List(rows) + ". Look whether they are slips."
}

func alikeWords(f *sternfan.DepthFit) string {
	if len(f.Alike) == 0 {
		return ""
	}
	var pairs []string
	for i, a := range f.Alike {
		if i == 3 {
			pairs = append(pairs, fmt.Sprintf("%d more", len(f.Alike)-i))
			break
		}
		pairs = append(pairs, NumberName(a.A)+" from "+NumberName(a.B))
	}
	return "What was measured cannot tell " + list(pairs, ", ", " or ") + ": the depths they give together are known, neither alone is."
}

func nextWords(f *sternfan.DepthFit, u unit.System) string {
	if len(f.Next) == 0 {
		return ""
	}
	n := &f.Next[0]
	line := "line"
	if n.Cable {
		line = "cable"
	}
	s := fmt.Sprintf("Measure next: %s of %s with %s of %s out, to %s.", kindWords(n.Kind), clean(n.Position), u.Depth(unit.Length(n.LineOut)), line, measured(u, n.Kind, n.SD))
	if n.Narrows < 0.05 {
		return s + " It narrows little: what is left is mostly how each set differs."
	}
	return s + fmt.Sprintf(" It takes away some %.0f %% of what is still open in the depths of the spread.", 100*n.Narrows)
}

func kindWords(k sternfan.MeasuredKind) string {
	switch k {
	case sternfan.MeasuredAngle:
		return "the line's angle at the water"
	case sternfan.MeasuredPull:
		return "the pull at the tip"
	case sternfan.MeasuredSide:
		return "the distance to the side"
	case sternfan.MeasuredAstern:
		return "the distance astern"
	case sternfan.MeasuredRange:
		return "the slant range"
	case sternfan.MeasuredBottom:
		return "where the lure touches the bottom"
	}
	return "the lure's depth"
}

func savedWords(f *sternfan.DepthFit) string {
	on, off := 0, 0
	for _, s := range f.Save {
		if s.Off {
			off++
		} else {
			on++
		}
	}
	if on+off == 0 {
		return "There is nothing to save: no number moved or narrowed enough."
	}
	what := Count(on, "number") + " of your boat"
	if off > 0 {
		what += fmt.Sprintf(" (and %s of one day, switched off)", strconv.Itoa(off))
	}
	if f.SavedTo == "" {
		return "Nothing is saved yet. To use " + what + " everywhere: -o CALIBRATED.yaml."
	}
	return fmt.Sprintf("Saved %s in %s under calibrations, mark %s: set off: true to switch one off, --undo takes them out again.", what, clean(f.SavedTo), clean(f.Mark))
}

// NumberName returns an entry of the registry in words: "pull of diver-large".
func NumberName(name string) string {
	switch name {
	case "speed":
		return "the speed's error"
	case "current":
		return "the current's strength"
	case "fleas":
		return "the fleas on the line"
	}
	of, target, param := sternfan.SplitEntryName(clean(name))
	words := map[string]string{
		"diameter": "diameter", "normal": "drag across", "friction": "drag along", "mass": "mass", "incidence": "tow angle", "give": "give under load", "tilt": "dial table",
		"drag": "drag", "down": "dive", "lift": "lift", "counter": "counter", "dial": "dial", "lead": "lead", "load": "set load",
	}
	what, ok := words[param]
	if !ok || of == "" {
		return clean(name)
	}
	if of == "diver" && param == "normal" {
		what = "pull"
	}
	return "the " + what + " of " + target
}

func numberNames(names []string, most int) string {
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, fmt.Sprintf("%d more", len(names)-most))
			break
		}
		out = append(out, NumberName(n))
	}
	return List(out)
}

// measured returns a measured value in the person's unit.
func measured(u unit.System, k sternfan.MeasuredKind, v float64) string {
	switch k {
	case sternfan.MeasuredAngle:
		return u.Text(unit.AngleStyle, v*float64(unit.Degree))
	case sternfan.MeasuredPull:
		return u.Text(unit.ForceStyle, v)
	}
	return u.Text(unit.DepthStyle, v)
}

// numberCells returns a number and its interval: as a factor on what was assumed when its
// distribution is relative, else as it is.
func numberCells(n *sternfan.FittedNumber) (before, after string) {
	one := func(v, lo, hi float64) string {
		switch {
		case n.Unit == "rad":
			d := 180 / math.Pi
			return fmt.Sprintf("%.0f° (%.0f to %.0f)", v*d, lo*d, hi*d)
		case n.Param == "speed":
			return fmt.Sprintf("%+.0f %% (%+.0f to %+.0f)", 100*(v/n.Before-1), 100*(lo/n.Before-1), 100*(hi/n.Before-1))
		case n.Before != 0:
			return fmt.Sprintf("× %.2f (%.2f to %.2f)", v/n.Before, lo/n.Before, hi/n.Before)
		}
		return fmt.Sprintf("%.3g (%.3g to %.3g)", v, lo, hi)
	}
	return one(n.Before, n.BeforeL, n.BeforeH), one(n.After, n.AfterL, n.AfterH)
}

// DepthFitTable writes what to do, the numbers and depths before and after, and each
// measurement against what is reckoned.
func DepthFitTable(w io.Writer, f *sternfan.DepthFit, opt Options) error {
	p := &printer{w: w}
	for _, s := range DepthFitWords(f, opt.Units) {
		p.wrapped("", "", s, opt.width())
	}
	u := opt.Units
	if len(f.Lures) > 0 {
		p.line("")
		g := NewGrid("  ", Words("lure"), Numbers("", "line out", "reckoned before", "now", "line out for the depth before"))
		same := 0
		for i := range f.Lures {
			l := &f.Lures[i]
			if math.Abs(l.After-l.Before) < depthMatters/2 && l.AfterHi-l.AfterLo > 0.85*(l.BeforeHi-l.BeforeLo) {
				same++
				continue
			}
			line := "-"
			if l.LineFor > 0 {
				line = u.Depth(unit.Length(l.LineFor))
			}
			name := clean(l.Position)
			if l.Lure != "lure-1" {
				name += " " + clean(l.Lure)
			}
			out := "-"
			if l.LineOut > 0 {
				out = u.Depth(unit.Length(l.LineOut))
			}
			if l.Cable {
				out += " cable"
			}
			g.Add(name, out, depthCell(u, l.Before, l.BeforeLo, l.BeforeHi), depthCell(u, l.After, l.AfterLo, l.AfterHi), line)
		}
		if len(g.rows) > 0 {
			g.print(p, opt.width())
		}
		if same > 0 {
			p.line("  %s much as before.", Count(same, "more lure"))
		}
	}
	g := NewGrid("  ", Words("your boat's own number"), Numbers("", "assumed", "now", ""))
	for i := range f.Numbers {
		n := &f.Numbers[i]
		if !n.Saved {
			continue
		}
		before, after := numberCells(n)
		g.Add(strings.TrimPrefix(NumberName(n.Name), "the "), before, after, n.Day)
	}
	if len(g.rows) > 0 {
		p.line("")
		g.print(p, opt.width())
	}
	p.line("")
	g = NewGrid("  ", Words("line"), Numbers("", "measured", "rod", "value", "before", "now", ""))
	for i := range f.Measured {
		m := &f.Measured[i]
		word, before, after := "", measured(u, m.Kind, m.Before), measured(u, m.Kind, m.After)
		switch {
		case !m.Solved:
			word, before, after = "not reckoned", "-", "-"
		case m.Aside():
			word = "set aside"
		}
		g.Add(strconv.Itoa(m.Line), string(m.Kind), clean(m.Rod), measured(u, m.Kind, m.Value)+" ± "+measured(u, m.Kind, m.SD), before, after, word)
	}
	g.print(p, opt.width())
	p.line("")
	p.wrapped("", "", "Intervals hold 4 times in 5. A measurement is one day's; check a depth again before you rely on it. Not for navigation.", opt.width())
	return p.err
}

func depthCell(u unit.System, v, lo, hi float64) string {
	return u.Depth(unit.Length(v)) + " (" + rangeText(u, lo, hi) + ")"
}

// DepthFitJSON writes the fit as one line of JSON, SI and unrounded, with its words.
func DepthFitJSON(w io.Writer, f *sternfan.DepthFit, u unit.System) error {
	return JSON(w, &struct {
		*sternfan.DepthFit
		Words []string `json:"words"`
	}{f, DepthFitWords(f, u)})
}

// CalibrationLines lists a scenario's calibrations, a line each: what, by how much, since
// when, from what, and whether it is in use.
func CalibrationLines(all []sternfan.Calibration) []string {
	var out []string
	for i := range all {
		c := &all[i]
		var by []string
		if c.Scale != 0 && c.Scale != 1 {
			by = append(by, fmt.Sprintf("× %.3f", c.Scale))
		}
		if c.Shift != 0 {
			by = append(by, fmt.Sprintf("%+.3g", c.Shift))
		}
		if c.Scatter.Kind == sternfan.LogNormal {
			by = append(by, fmt.Sprintf("± %.0f %%", 100*c.Scatter.SD))
		} else if c.Scatter.Kind != sternfan.Exact {
			by = append(by, fmt.Sprintf("± %.3g", c.Scatter.SD))
		}
		state := "on "
		if c.Off {
			state = "off"
		}
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s  %s  %s: %s  %s", state, clean(c.Dated), clean(c.Name), strings.Join(by, " "), clean(c.Source))))
	}
	return out
}
