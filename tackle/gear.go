package tackle

import (
	"strings"

	"sternfan"
	"sternfan/unit"
)

// ids returns the ids of a list of gear.
func ids[T any](list []T) []string {
	out := make([]string, len(list))
	for i := range list {
		out[i] = itemOf(&list[i]).ID
	}
	return out
}

func itemOf(p any) *sternfan.Item {
	switch p := p.(type) {
	case *sternfan.Line:
		return &p.Item
	case *sternfan.Reel:
		return &p.Item
	case *sternfan.Diver:
		return &p.Item
	case *sternfan.Board:
		return &p.Item
	case *sternfan.Ball:
		return &p.Item
	case *sternfan.Weight:
		return &p.Item
	case *sternfan.Attractor:
		return &p.Item
	case *sternfan.Lure:
		return &p.Item
	case *sternfan.Leader:
		return &p.Item
	case *sternfan.Snubber:
		return &p.Item
	}
	panic("tackle: not a piece of gear")
}

// over returns the given quantity, or the fallback. A number typed without an
// uncertainty keeps the default's when that is relative: a diameter read off a label is
// no better known than the table's.
func over[U ~float64](given, fallback sternfan.Q[U]) sternfan.Q[U] {
	if !given.Given {
		return fallback
	}
	if given.Spread == (sternfan.Spread{}) && fallback.Given && fallback.Spread.Kind == sternfan.LogNormal {
		given.Spread = fallback.Spread
	}
	return given
}

func overItem(given, fallback sternfan.Item) sternfan.Item {
	if given.Kind == "" {
		given.Kind = fallback.Kind
	}
	if given.Attributes == nil {
		given.Attributes = fallback.Attributes
	}
	return given
}

func text(given, fallback string) string {
	if given == "" {
		return fallback
	}
	return given
}

func overLine(g, f sternfan.Line) sternfan.Line {
	mass := over(g.Mass, f.Mass)
	d := over(g.Diameter, f.Diameter)
	if m, ok := materials[f.Kind]; ok && !g.Mass.Given && g.Diameter.Given && strings.HasPrefix(f.Mass.Source, massFollows) {
		// Another diameter of the same material: the mass goes with it.
		fill := m
		if f.Solid.Given && f.Solid.Value == 1 {
			fill.fill = 1
		}
		mass.Value = unit.LinearDensity(fill.massPerMetre(d.SI()))
	}
	return sternfan.Line{Item: overItem(g.Item, f.Item), Diameter: d, Mass: mass,
		Stiffness: over(g.Stiffness, f.Stiffness), Strength: over(g.Strength, f.Strength), Normal: over(g.Normal, f.Normal),
		NormalScale: over(g.NormalScale, f.NormalScale), Friction: over(g.Friction, f.Friction), Solid: over(g.Solid, f.Solid)}
}

func overReel(g, f sternfan.Reel) sternfan.Reel {
	return sternfan.Reel{Item: overItem(g.Item, f.Item), Arbor: over(g.Arbor, f.Arbor), Flange: over(g.Flange, f.Flange),
		Width: over(g.Width, f.Width), Backing: text(g.Backing, f.Backing), BackingLength: over(g.BackingLength, f.BackingLength),
		Capacity: over(g.Capacity, f.Capacity)}
}

func overDiver(g, f sternfan.Diver) sternfan.Diver {
	out := sternfan.Diver{Item: overItem(g.Item, f.Item), Diameter: over(g.Diameter, f.Diameter), RingDiameter: over(g.RingDiameter, f.RingDiameter),
		Mass: over(g.Mass, f.Mass), Volume: over(g.Volume, f.Volume), NormalCoefficient: over(g.NormalCoefficient, f.NormalCoefficient),
		Incidence: over(g.Incidence, f.Incidence), Give: over(g.Give, f.Give), DialMarks: g.DialMarks, DialTilt: g.DialTilt,
		DialTiltSpread: g.DialTiltSpread, Ratchet: over(g.Ratchet, f.Ratchet), TrippedArea: over(g.TrippedArea, f.TrippedArea), TripLoad: over(g.TripLoad, f.TripLoad)}
	if len(g.DialMarks) == 0 {
		out.DialMarks, out.DialTilt = f.DialMarks, f.DialTilt
	}
	if g.DialTiltSpread == (sternfan.Spread{}) {
		out.DialTiltSpread = f.DialTiltSpread
	}
	return out
}

func overBoard(g, f sternfan.Board) sternfan.Board {
	return sternfan.Board{Item: overItem(g.Item, f.Item), Mass: over(g.Mass, f.Mass), Volume: over(g.Volume, f.Volume), Height: over(g.Height, f.Height),
		LiftArea: over(g.LiftArea, f.LiftArea), DragArea: over(g.DragArea, f.DragArea), TripLoad: over(g.TripLoad, f.TripLoad)}
}

func overBall(g, f sternfan.Ball) sternfan.Ball {
	return sternfan.Ball{Item: overItem(g.Item, f.Item), Mass: over(g.Mass, f.Mass), Density: over(g.Density, f.Density), DragArea: over(g.DragArea, f.DragArea)}
}

func overWeight(g, f sternfan.Weight) sternfan.Weight {
	return sternfan.Weight{Item: overItem(g.Item, f.Item), Mass: over(g.Mass, f.Mass), Density: over(g.Density, f.Density), DragArea: over(g.DragArea, f.DragArea)}
}

func overAttractor(g, f sternfan.Attractor) sternfan.Attractor {
	return sternfan.Attractor{Item: overItem(g.Item, f.Item), PlateArea: over(g.PlateArea, f.PlateArea), Coefficient: over(g.Coefficient, f.Coefficient),
		Mass: over(g.Mass, f.Mass), Density: over(g.Density, f.Density), Length: over(g.Length, f.Length)}
}

func overLure(g, f sternfan.Lure) sternfan.Lure {
	out := sternfan.Lure{Item: overItem(g.Item, f.Item), Mass: over(g.Mass, f.Mass), Volume: over(g.Volume, f.Volume), DragArea: over(g.DragArea, f.DragArea),
		DownArea: over(g.DownArea, f.DownArea), SpeedLo: over(g.SpeedLo, f.SpeedLo), SpeedHi: over(g.SpeedHi, f.SpeedHi)}
	out.Rated = sternfan.Rating{Depth: over(g.Rated.Depth, f.Rated.Depth), LineOut: over(g.Rated.LineOut, f.Rated.LineOut),
		LineDiameter: over(g.Rated.LineDiameter, f.Rated.LineDiameter), Speed: over(g.Rated.Speed, f.Rated.Speed)}
	return out
}

func overLeader(g, f sternfan.Leader) sternfan.Leader {
	return sternfan.Leader{Item: overItem(g.Item, f.Item), Line: text(g.Line, f.Line), Length: over(g.Length, f.Length)}
}

func overSnubber(g, f sternfan.Snubber) sternfan.Snubber {
	return sternfan.Snubber{Item: overItem(g.Item, f.Item), Length: over(g.Length, f.Length), Diameter: over(g.Diameter, f.Diameter),
		Mass: over(g.Mass, f.Mass), Stiffness: over(g.Stiffness, f.Stiffness)}
}

// catalog finds gear by id: the file's own first, then the built-in. What was found is
// kept as used, in the order of its first use.
type catalog struct {
	file *sternfan.Gear
	used sternfan.Gear
	r    *resolver
}

func find[T any](list []T, id string) (*T, int) {
	for i := range list {
		if itemOf(&list[i]).ID == id {
			return &list[i], i
		}
	}
	return nil, -1
}

// lookup returns the resolved item, adding it to used. A file's item named like a
// built-in one starts from it also without From.
func lookup[T any](c *catalog, kind, id, path string, file, defaults []T, used *[]T, merge func(g, f T) T, check func(v *T, path string)) *T {
	if v, _ := find(*used, id); v != nil {
		return v
	}
	own, at := find(file, id)
	base, _ := find(defaults, id)
	var v T
	switch {
	case own != nil:
		v = *own
		from := itemOf(own).From
		if from != "" {
			if base, _ = find(defaults, from); base == nil {
				if other, _ := find(file, from); other != nil && from != id {
					base = other
				}
			}
			if base == nil {
				c.r.fault(sternfan.Fault{Code: "unknown-gear", Path: gearPath(kind, at) + ".from", Text: "there is no " + kind + " of this name to start from",
					Found: from, Allowed: Names(kind)})
				return nil
			}
		}
		if base != nil {
			v = merge(*own, *base)
		}
		path = gearPath(kind, at)
	case base != nil:
		v = *base
	default:
		c.r.fault(sternfan.Fault{Code: "unknown-gear", Path: path, Text: "there is no " + kind + " of this name", Found: id,
			Allowed: append(ids(file), Names(kind)...), Hint: "name built-in gear or add it under gear"})
		return nil
	}
	if check != nil {
		before := len(c.r.faults)
		check(&v, path)
		if len(c.r.faults) > before {
			return nil
		}
	}
	*used = append(*used, v)
	return &(*used)[len(*used)-1]
}

func (c *catalog) line(id, path string) *sternfan.Line {
	return lookup(c, kindLine, id, path, c.file.Lines, builtins().Lines, &c.used.Lines, overLine, c.completeLine)
}

func (c *catalog) reel(id, path string) *sternfan.Reel {
	return lookup(c, kindReel, id, path, c.file.Reels, builtins().Reels, &c.used.Reels, overReel, func(v *sternfan.Reel, path string) {
		c.need(path, "arbor", v.Arbor.Given)
		c.need(path, "flange", v.Flange.Given)
		c.need(path, "width", v.Width.Given)
	})
}

func (c *catalog) diver(id, path string) *sternfan.Diver {
	return lookup(c, kindDiver, id, path, c.file.Divers, builtins().Divers, &c.used.Divers, overDiver, func(v *sternfan.Diver, path string) {
		c.need(path, "diameter", v.Diameter.Given)
		if !v.Diameter.Given {
			return
		}
		d := diver("", "", v.Diameter.SI(), 0, 35)
		ring := v.RingDiameter
		*v = overDiver(*v, d)
		v.RingDiameter = ring
		if len(v.DialTilt) != len(v.DialMarks) {
			c.r.fault(sternfan.Fault{Code: "out-of-range", Path: path + ".dial_tilt", Text: "a dial's table needs one tilt for each mark"})
		}
	})
}

func (c *catalog) board(id, path string) *sternfan.Board {
	return lookup(c, kindBoard, id, path, c.file.Boards, builtins().Boards, &c.used.Boards, overBoard, func(v *sternfan.Board, path string) {
		c.need(path, "mass", v.Mass.Given)
		c.need(path, "volume", v.Volume.Given)
		c.need(path, "lift_area", v.LiftArea.Given)
		c.need(path, "drag_area", v.DragArea.Given)
	})
}

func (c *catalog) ball(id, path string) *sternfan.Ball {
	return lookup(c, kindBall, id, path, c.file.Balls, builtins().Balls, &c.used.Balls, overBall, func(v *sternfan.Ball, path string) {
		c.need(path, "mass", v.Mass.Given)
		v.Density = over(v.Density, exact(unit.Density(densityLead), leadText))
		if v.Kind == "finned" || v.Kind == "torpedo" {
			v.DragArea = over(v.DragArea, ball("", v.Kind, v.Mass.SI()/lb).DragArea)
		}
	})
}

func (c *catalog) weight(id, path string) *sternfan.Weight {
	return lookup(c, kindWeight, id, path, c.file.Weights, builtins().Weights, &c.used.Weights, overWeight, func(v *sternfan.Weight, path string) {
		c.need(path, "mass", v.Mass.Given)
		v.Density = over(v.Density, exact(unit.Density(densityLead), leadText))
		v.DragArea = over(v.DragArea, weight("", v.Mass.SI()/oz, .5).DragArea)
	})
}

func (c *catalog) attractor(id, path string) *sternfan.Attractor {
	return lookup(c, kindAttractor, id, path, c.file.Attractors, builtins().Attractors, &c.used.Attractors, overAttractor, func(v *sternfan.Attractor, path string) {
		c.need(path, "plate_area", v.PlateArea.Given)
		v.Coefficient = over(v.Coefficient, defaultAttractors()[0].Coefficient)
		v.Density = over(v.Density, exact(unit.Density(densityABS), "assumed: ABS plastic"))
	})
}

func (c *catalog) lure(id, path string) *sternfan.Lure {
	return lookup(c, kindLure, id, path, c.file.Lures, builtins().Lures, &c.used.Lures, overLure, func(v *sternfan.Lure, path string) {
		c.need(path, "mass", v.Mass.Given)
		c.need(path, "drag_area", v.DragArea.Given)
		v.Volume = over(v.Volume, q(v.Mass.SI()/1200, rel(.3), "assumed: 1200 kg/m3 with hooks"))
	})
}

func (c *catalog) leader(id, path string) *sternfan.Leader {
	return lookup(c, kindLeader, id, path, c.file.Leaders, builtins().Leaders, &c.used.Leaders, overLeader, nil)
}

func (c *catalog) snubber(id, path string) *sternfan.Snubber {
	return lookup(c, kindSnubber, id, path, c.file.Snubbers, builtins().Snubbers, &c.used.Snubbers, overSnubber, func(v *sternfan.Snubber, path string) {
		c.need(path, "length", v.Length.Given)
		base := defaultSnubbers()[0]
		length := v.Length
		*v = overSnubber(*v, base)
		v.Length = length
	})
}

// isLeader reports whether id names a leader rather than a line.
func (c *catalog) isLeader(id string) bool {
	if v, _ := find(c.file.Leaders, id); v != nil {
		return true
	}
	return Known(kindLeader, id)
}

func (c *catalog) completeLine(v *sternfan.Line, path string) {
	c.need(path, "diameter", v.Diameter.Given)
	m, ok := materials[v.Kind]
	if !v.Mass.Given {
		if !ok {
			c.need(path, "mass", false)
			return
		}
		if v.Solid.Given && v.Solid.Value == 1 {
			m.fill = 1
		}
		v.Mass = q(unit.LinearDensity(m.massPerMetre(v.Diameter.SI())), rel(.05), massFollows+m.source)
	}
	cf := m.cf
	if cf == 0 {
		cf = .02
	}
	v.Friction = over(v.Friction, q(cf, rel(.3), cfSource))
	v.NormalScale = over(v.NormalScale, q(1.0, rel(.12), strumText))
}

func (c *catalog) need(path, key string, given bool) {
	if !given {
		c.r.fault(sternfan.Fault{Code: "missing", Path: path + "." + key, Text: "this piece of gear needs its " + key,
			Hint: "give it, or start from built-in gear with from"})
	}
}

var gearKeys = map[string]string{kindLine: "lines", kindReel: "reels", kindDiver: "divers", kindBoard: "boards", kindBall: "balls",
	kindWeight: "weights", kindAttractor: "attractors", kindLure: "lures", kindLeader: "leaders", kindSnubber: "snubbers"}

func gearPath(kind string, i int) string { return "gear." + gearKeys[kind] + "[" + itoa(i) + "]" }
