package tackle

import (
	"reflect"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// overGear returns a piece of gear with what it does not say taken from another of its
// kind: quantities by over, words, lists and spreads as they are.
func overGear[T any](given, fallback T) T {
	overEach(reflect.ValueOf(&given).Elem(), reflect.ValueOf(fallback))
	return given
}

func overEach(given, fallback reflect.Value) {
	for i := range given.NumField() {
		g, f := given.Field(i), fallback.Field(i)
		switch q, ok := g.Addr().Interface().(interface{ Fill(from any) }); {
		case ok:
			q.Fill(f.Interface())
		case g.Kind() == reflect.Struct && g.Type() != reflect.TypeFor[sternfan.Scatter]():
			overEach(g, f)
		case g.IsZero():
			g.Set(f)
		}
	}
}

func overLine(g, f sternfan.Line) sternfan.Line {
	out := overGear(g, f)
	if m, ok := materials[f.Kind]; ok && !g.Mass.Given && g.Diameter.Given && strings.HasPrefix(f.Mass.Source, massFollows) {
		// Another diameter of the same material: the mass goes with it.
		if f.Solid.Given && f.Solid.Value == 1 {
			m.fill = 1
		}
		out.Mass.Value = unit.LinearDensity(m.massPerMetre(out.Diameter.SI()))
	}
	return out
}

// overDiver takes a dial's marks and tilts together.
func overDiver(g, f sternfan.Diver) sternfan.Diver {
	out := overGear(g, f)
	if len(g.DialMarks) > 0 {
		out.DialTilt = g.DialTilt
	} else {
		out.DialTilt = f.DialTilt
	}
	return out
}

// catalog finds gear by id: the file's own first, then the built-in. What was found is
// kept as used, in the order of its first use.
type catalog struct {
	file *sternfan.Gear
	used sternfan.Gear
	r    *resolver
}

// lookup returns the resolved item, adding it to used. A file's item named like a
// built-in one starts from it also without From.
func lookup[T any, P sternfan.Piece[T]](c *catalog, kind, id, path string, file, defaults []T, used *[]T, merge func(g, f T) T, check func(v *T, path string)) *T {
	if v := sternfan.FindGear[T, P](*used, id); v != nil {
		return v
	}
	own, at := sternfan.FindGear[T, P](file, id), slices.IndexFunc(file, func(v T) bool { return P(&v).Base().ID == id })
	base := sternfan.FindGear[T, P](defaults, id)
	var v T
	switch {
	case own != nil:
		v = *own
		from := own.Base().From
		if from != "" {
			if base = sternfan.FindGear[T, P](defaults, from); base == nil && from != id {
				base = sternfan.FindGear[T, P](file, from)
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
			Allowed: append(names(c.file, kind), Names(kind)...), Hint: "name built-in gear or add it under gear"})
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
	return lookup(c, kindReel, id, path, c.file.Reels, builtins().Reels, &c.used.Reels, overGear, func(v *sternfan.Reel, path string) {
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
	return lookup(c, kindBoard, id, path, c.file.Boards, builtins().Boards, &c.used.Boards, overGear, func(v *sternfan.Board, path string) {
		c.need(path, "mass", v.Mass.Given)
		c.need(path, "volume", v.Volume.Given)
		c.need(path, "lift_area", v.LiftArea.Given)
		c.need(path, "drag_area", v.DragArea.Given)
	})
}

func (c *catalog) ball(id, path string) *sternfan.Ball {
	return lookup(c, kindBall, id, path, c.file.Balls, builtins().Balls, &c.used.Balls, overGear, func(v *sternfan.Ball, path string) {
		c.need(path, "mass", v.Mass.Given)
		v.Density = v.Density.Or(exact(unit.Density(densityLead), leadText))
		if v.Kind == "finned" || v.Kind == "torpedo" {
			v.DragArea = v.DragArea.Or(ball("", v.Kind, v.Mass.SI()/lb).DragArea)
		}
	})
}

func (c *catalog) weight(id, path string) *sternfan.Weight {
	return lookup(c, kindWeight, id, path, c.file.Weights, builtins().Weights, &c.used.Weights, overGear, func(v *sternfan.Weight, path string) {
		c.need(path, "mass", v.Mass.Given)
		v.Density = v.Density.Or(exact(unit.Density(densityLead), leadText))
		v.DragArea = v.DragArea.Or(weight("", v.Mass.SI()/oz, .5).DragArea)
	})
}

func (c *catalog) attractor(id, path string) *sternfan.Attractor {
	return lookup(c, kindAttractor, id, path, c.file.Attractors, builtins().Attractors, &c.used.Attractors, overGear, func(v *sternfan.Attractor, path string) {
		c.need(path, "plate_area", v.PlateArea.Given)
		v.Coefficient = v.Coefficient.Or(defaultAttractors()[0].Coefficient)
		v.Density = v.Density.Or(exact(unit.Density(densityABS), "assumed: ABS plastic"))
	})
}

func (c *catalog) lure(id, path string) *sternfan.Lure {
	return lookup(c, kindLure, id, path, c.file.Lures, builtins().Lures, &c.used.Lures, overGear, func(v *sternfan.Lure, path string) {
		c.need(path, "mass", v.Mass.Given)
		c.need(path, "drag_area", v.DragArea.Given)
		v.Volume = v.Volume.Or(q(v.Mass.SI()/1200, rel(.3), "assumed: 1200 kg/m3 with hooks"))
	})
}

func (c *catalog) leader(id, path string) *sternfan.Leader {
	return lookup(c, kindLeader, id, path, c.file.Leaders, builtins().Leaders, &c.used.Leaders, overGear, nil)
}

func (c *catalog) snubber(id, path string) *sternfan.Snubber {
	return lookup(c, kindSnubber, id, path, c.file.Snubbers, builtins().Snubbers, &c.used.Snubbers, overGear, func(v *sternfan.Snubber, path string) {
		c.need(path, "length", v.Length.Given)
		base := defaultSnubbers()[0]
		length := v.Length
		*v = overGear(*v, base)
		v.Length = length
	})
}

// isLeader reports whether id names a leader rather than a line.
func (c *catalog) isLeader(id string) bool {
	return c.file.Item(kindLeader, id) != nil || Known(kindLeader, id)
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
	v.Friction = v.Friction.Or(q(cf, rel(.3), cfSource))
	v.NormalScale = v.NormalScale.Or(q(1.0, rel(.12), strumText))
}

func (c *catalog) need(path, key string, given bool) {
	if !given {
		c.r.fault(sternfan.Fault{Code: "missing", Path: path + "." + key, Text: "this piece of gear needs its " + key,
			Hint: "give it, or start from built-in gear with from"})
	}
}

func gearPath(kind string, i int) string { return "gear." + kind + "s[" + itoa(i) + "]" }
