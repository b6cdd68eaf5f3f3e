//go:build !core

package engine

import (
	"maps"
	"math"
	"slices"
	"strings"

	"sternfan/event"
	"sternfan/setting"

	"sternfan"
	"sternfan/unit"
)

// near is by how much two lengths in meters, and marks, may differ and be the same: what a
// file's rounding may do, and no hand.
const near = 0.005

// differences says in words where a line is shown otherwise than it was logged.
func differences(logged, shown *event.Line, u unit.System) []string {
	var out []string
	say := func(what, is, was string) {
		if was == "" {
			was = "not given"
		}
		if is == "" {
			is = "not given"
		}
		out = append(out, what+" "+is+", logged "+was)
	}
	counted := setting.Counted(u)
	for r := range setting.Rows {
		if is, was := r.Logged(&shown.Settings), r.Logged(&logged.Settings); !r.Is(is, was, near) {
			say(r.Name, r.Text(is, counted), r.Text(was, counted))
		}
	}
	word := func(what, is, was string) {
		if is != was {
			say(what, is, was)
		}
	}
	length := func(m float64) string { return u.Depth(unit.Length(m)) }
	word("holder", shown.Holder, logged.Holder)
	word("reel", shown.Reel, logged.Reel)
	return append(out, partsDiffer(logged.Parts, shown.Parts, length)...)
}

func partsDiffer(logged, shown []event.Part, length func(float64) string) []string {
	kinds := func(parts []event.Part) (out []sternfan.PartKind) {
		for i := range parts {
			out = append(out, parts[i].Kind)
		}
		return out
	}
	if !slices.Equal(kinds(logged), kinds(shown)) {
		return []string{"rigged otherwise than logged"}
	}
	var out []string
	for i := range shown {
		is, was := &shown[i], &logged[i]
		kind := string(is.Kind)
		switch {
		case is.Gear != was.Gear || is.On != was.On:
			out = append(out, kind+" "+named(is)+", logged "+named(was))
		case !maps.Equal(is.Attributes, was.Attributes):
			out = append(out, kind+" "+attributes(is.Attributes)+", logged "+attributes(was.Attributes))
		case is.Length != nil && was.Length != nil && math.Abs(*is.Length-*was.Length) > near:
			out = append(out, kind+" "+length(*is.Length)+" long, logged "+length(*was.Length))
		}
		out = append(out, partsDiffer(was.Parts, is.Parts, length)...)
	}
	return out
}

func named(p *event.Part) string {
	if p.Gear == "" {
		return p.On
	}
	return p.Gear
}

func attributes(all map[string]string) string {
	var words []string
	for _, k := range slices.Sorted(maps.Keys(all)) {
		words = append(words, k+" "+all[k])
	}
	if words == nil {
		return "without attributes"
	}
	return strings.Join(words, ", ")
}

// conditionsOf returns what a scenario says of boat and water, as a log keeps it.
func conditionsOf(sc *sternfan.Scenario) event.Conditions {
	var c event.Conditions
	if sc.Speed.Value.Given {
		v := sc.Speed.Value.SI()
		switch sc.Speed.Given {
		case sternfan.SpeedGround:
			c.OverGround = &v
		case sternfan.SpeedSurface:
			c.Surface = &v
		case sternfan.SpeedProbe:
			c.Probe = &v
			if sc.Speed.Depth.Given {
				d := sc.Speed.Depth.SI()
				c.ProbeDepth = &d
			}
		}
	}
	if sc.Heading.Given {
		v := sc.Heading.SI() / float64(unit.Degree)
		c.Heading = &v
	}
	for _, t := range sc.Water.Temperature {
		c.Temperature = append(c.Temperature, [2]float64{float64(t.Depth), float64(t.Temperature)})
	}
	for _, p := range sc.Water.Current {
		c.Current = append(c.Current, event.CurrentOf(p))
	}
	if sc.Water.Bottom.Given {
		v := sc.Water.Bottom.SI()
		c.Bottom = &v
	}
	return c
}

// conditionsDiffer says in words where a scenario's conditions are not those last read, by
// more than a reading wavers.
func conditionsDiffer(logged, shown *event.Conditions, u unit.System) string {
	var out []string
	number := func(what string, is, was *float64, apart float64, show func(float64) string) {
		switch {
		case is == nil:
		case was == nil:
			out = append(out, what+show(*is)+", not logged")
		case math.Abs(*is-*was) > apart:
			out = append(out, what+show(*is)+", logged "+show(*was))
		}
	}
	speed := func(name string) func(float64) string {
		return func(v float64) string { return u.Speed(unit.Speed(v)) + name }
	}
	number("", shown.OverGround, logged.OverGround, 0.02, speed(" over ground"))
	number("", shown.Surface, logged.Surface, 0.02, speed(" through the surface water"))
	number("", shown.Probe, logged.Probe, 0.02, speed(" at the probe"))
	number("heading ", shown.Heading, logged.Heading, 5, func(v float64) string { return u.Angle(unit.Angle(v) * unit.Degree) })
	number("bottom at ", shown.Bottom, logged.Bottom, 1, func(v float64) string { return u.Depth(unit.Length(v)) })
	apart := func(a, b float64) bool { return math.Abs(a-b) > 0.1 }
	if len(shown.Temperature) > 0 && !slices.EqualFunc(shown.Temperature, logged.Temperature, func(a, b [2]float64) bool { return !apart(a[0], b[0]) && !apart(a[1], b[1]) }) {
		out = append(out, "temperatures otherwise than logged")
	}
	if len(shown.Current) > 0 && !slices.EqualFunc(shown.Current, logged.Current, func(a, b event.Current) bool {
		return !apart(a.Depth, b.Depth) && math.Abs(a.Speed-b.Speed) < 0.02 && math.Abs(a.Toward-b.Toward) < 5
	}) {
		out = append(out, "current otherwise than logged")
	}
	return strings.Join(out, "; ")
}
