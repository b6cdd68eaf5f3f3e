package trip

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"sternfan/event"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// LineOf returns a rod of a scenario as a log keeps it. Resolved is the same scenario with
// every rig expanded to parts and every piece of gear in full, as package tackle returns
// it. False means that the scenario has no such rod, or it was not expanded.
func LineOf(sc, resolved *sternfan.Scenario, rodID string) (event.Line, bool) {
	given, rod := sc.Rod(rodID), resolved.Rod(rodID)
	if given == nil || rod == nil || len(rod.Rig.Parts) == 0 {
		return event.Line{}, false
	}
	l := event.Line{
		Rig: given.Rig.Kind, Holder: rod.Holder, Reel: rod.Reel,
		Parts:    logParts(rod.Rig.Parts, &resolved.Gear),
		Settings: setting.Log(setting.Of(sc, rod)),
	}
	if h := sc.Boat.Holder(rod.Holder); h != nil {
		l.Position, l.Side = h.Position, h.Side().String()
	}
	return l, true
}

func number[U ~float64](q sternfan.Q[U]) *float64 {
	if !q.Given {
		return nil
	}
	v := q.SI()
	return &v
}

func quantity[U ~float64](v *float64) sternfan.Q[U] {
	if v == nil {
		return sternfan.Q[U]{}
	}
	return sternfan.Of(U(*v))
}

func logParts(parts []sternfan.Part, gear *sternfan.Gear) []event.Part {
	out := make([]event.Part, len(parts))
	for i := range parts {
		p := &parts[i]
		out[i] = event.Part{ID: p.ID, Kind: p.Kind, Gear: p.Gear, Length: number(p.Length), Free: p.Free, On: p.On}
		if item := itemOf(gear, p.Kind, p.Gear); item != nil {
			out[i].Type = item.Kind
			out[i].Attributes = maps.Clone(item.Attributes)
		}
		if len(p.Parts) > 0 {
			out[i].Parts = logParts(p.Parts, gear)
		}
	}
	return out
}

// itemOf returns the piece of gear that a part is: a leader may be a plain line.
func itemOf(g *sternfan.Gear, kind sternfan.PartKind, id string) *sternfan.Item {
	item := g.Item(string(kind), id)
	if item == nil && kind == sternfan.PartLeader {
		return g.Item(string(sternfan.PartLine), id)
	}
	return item
}

// rodOf returns the rod that a logged line is.
func rodOf(id string, l *event.Line) sternfan.Rod {
	return sternfan.Rod{ID: id, Holder: l.Holder, Reel: l.Reel, Rig: sternfan.Rig{Parts: modelParts(l.Parts)}, Settings: *l.Settings.Model().Settings}
}

func modelParts(parts []event.Part) []sternfan.Part {
	var out []sternfan.Part
	for i := range parts {
		p := &parts[i]
		out = append(out, sternfan.Part{ID: p.ID, Kind: p.Kind, Gear: p.Gear, Length: quantity[unit.Length](p.Length),
			Free: p.Free, On: p.On, Parts: modelParts(p.Parts)})
	}
	return out
}

// FanOf returns what a log keeps of a solved rod.
func FanOf(fan *sternfan.Fan, rodID, engine string) (*event.Fan, bool) {
	i := slices.IndexFunc(fan.Rods, func(t sternfan.Track) bool { return t.Rod == rodID })
	if i < 0 {
		return nil, false
	}
	t := &fan.Rods[i]
	out := &event.Fan{Status: t.Status, Surface: fan.Speed.Surface, TipPull: t.TipPull, LineAngle: t.LineAngle, Engine: engine}
	for _, l := range t.Lures {
		out.Lures = append(out.Lures, event.Lure{ID: l.ID, Depth: l.Depth, DepthLo: l.DepthLo, DepthHi: l.DepthHi,
			Side: l.Side, Astern: l.Astern, ThroughWater: l.ThroughWater, Temperature: l.Temperature})
	}
	return out, true
}

// SetupOf returns the names by which what a line fishes is compared: the kind of rig, the
// kind of part with its gear, and the part's attributes ("lure", "lure.color"). The first
// part of a kind has the plain name, the next is "line-2" and so on; what hangs on a
// slider has "slider." before it.
func SetupOf(l *event.Line) map[string]string {
	out := map[string]string{}
	if l.Rig != "" {
		out["rig"] = string(l.Rig)
	}
	if l.Settings.Ring != nil {
		out["ring"] = "off"
		if *l.Settings.Ring {
			out["ring"] = "on"
		}
	}
	setupParts(out, "", l.Parts)
	return out
}

func setupParts(out map[string]string, in string, parts []event.Part) {
	count := map[sternfan.PartKind]int{}
	for i := range parts {
		p := &parts[i]
		count[p.Kind]++
		name := in + string(p.Kind)
		if n := count[p.Kind]; n > 1 {
			name = fmt.Sprintf("%s-%d", name, n)
		}
		switch {
		case p.Gear != "":
			out[name] = p.Gear
		case p.On != "":
			out[name] = p.On
		}
		if p.Type != "" {
			out[name+".kind"] = p.Type
		}
		for k, v := range p.Attributes {
			out[name+"."+strings.ToLower(k)] = v
		}
		if len(p.Parts) > 0 {
			setupParts(out, in+"slider.", p.Parts)
		}
	}
}
