package scenario

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
)

// references checks ids across the file: each given once, each reference to something
// that is there.
func (d *decoder) references(s *sternfan.Scenario) {
	r := &refs{decoder: d, ids: map[string][]string{}}
	collect(r, "boat.holders", s.Boat.Holders, func(h sternfan.Holder) string { return h.ID })
	collect(r, "boat.booms", s.Boat.Booms, func(b sternfan.Boom) string { return b.ID })
	collect(r, "boat.masts", s.Boat.Masts, func(m sternfan.Mast) string { return m.ID })
	collect(r, "downriggers", s.Downriggers, func(x sternfan.Downrigger) string { return x.ID })
	collect(r, "mast_boards", s.MastBoards, func(m sternfan.MastBoard) string { return m.ID })
	collect(r, "rods", s.Rods, func(x sternfan.Rod) string { return x.ID })
	r.gear(&s.Gear)

	r.check("speed.ball", s.Speed.Ball, "downriggers")
	for i, x := range s.Downriggers {
		p := fmt.Sprintf("downriggers[%d].", i)
		r.check(p+"boom", x.Boom, "boat.booms")
		r.check(p+"cable", x.Cable, "gear.lines")
		r.check(p+"ball", x.Ball, "gear.balls")
	}
	for i, m := range s.MastBoards {
		p := fmt.Sprintf("mast_boards[%d].", i)
		r.check(p+"mast", m.Mast, "boat.masts")
		r.check(p+"board", m.Board, "gear.boards")
		r.check(p+"line", m.Line, "gear.lines")
	}
	for i := range s.Rods {
		r.rod(fmt.Sprintf("rods[%d].", i), &s.Rods[i])
	}
	r.laying(&s.Wants.Lay)
}

type refs struct {
	*decoder
	ids map[string][]string // by list: "boat.holders", "gear.lines"
}

// collect notes the ids of a list and faults those given twice.
func collect[T any](r *refs, list string, items []T, id func(T) string) {
	first := map[string]int{}
	for i, item := range items {
		name := id(item)
		if name == "" {
			continue
		}
		if j, twice := first[name]; twice {
			at := r.root.find(fmt.Sprintf("%s[%d].id", list, i))
			before := r.root.find(fmt.Sprintf("%s[%d].id", list, j))
			f := sternfan.Fault{Code: "duplicate-id", Text: "this id is given twice", Found: show(name), Hint: "give each entry of the list an id of its own"}
			if before.line > 0 {
				f.Hint = fmt.Sprintf("it is also on line %d; give each entry of the list an id of its own", before.line)
			}
			r.at(at, fmt.Sprintf("%s[%d].id", list, i), f)
			continue
		}
		first[name] = i
		r.ids[list] = append(r.ids[list], name)
	}
}

func (r *refs) gear(g *sternfan.Gear) {
	collect(r, "gear.lines", g.Lines, func(x sternfan.Line) string { return x.ID })
	collect(r, "gear.reels", g.Reels, func(x sternfan.Reel) string { return x.ID })
	collect(r, "gear.divers", g.Divers, func(x sternfan.Diver) string { return x.ID })
	collect(r, "gear.boards", g.Boards, func(x sternfan.Board) string { return x.ID })
	collect(r, "gear.balls", g.Balls, func(x sternfan.Ball) string { return x.ID })
	collect(r, "gear.weights", g.Weights, func(x sternfan.Weight) string { return x.ID })
	collect(r, "gear.attractors", g.Attractors, func(x sternfan.Attractor) string { return x.ID })
	collect(r, "gear.lures", g.Lures, func(x sternfan.Lure) string { return x.ID })
	collect(r, "gear.leaders", g.Leaders, func(x sternfan.Leader) string { return x.ID })
	collect(r, "gear.snubbers", g.Snubbers, func(x sternfan.Snubber) string { return x.ID })

	for i, x := range g.Reels {
		r.check(fmt.Sprintf("gear.reels[%d].backing", i), x.Backing, "gear.lines")
	}
	for i, x := range g.Leaders {
		r.check(fmt.Sprintf("gear.leaders[%d].line", i), x.Line, "gear.lines")
	}
	lists := r.root.child("gear")
	if lists == nil || lists.kind != kindMap {
		return
	}
	for _, l := range lists.keys {
		if l.value.kind != kindList {
			continue
		}
		for i, item := range l.value.items {
			r.item(l.name, fmt.Sprintf("gear.%s[%d]", l.name, i), item)
		}
	}
}

// item checks what one piece of gear starts from.
func (r *refs) item(list, path string, n *node) {
	id, from := n.child("id"), n.child("from")
	if from != nil && from.kind == kindScalar {
		if r.opts.Known != nil && !r.known(list, from.text) {
			builtin := r.builtin(list)
			r.at(from, path+".from", sternfan.Fault{Code: "unknown-gear", Text: "there is no built-in default of that name in " + list,
				Found: show(from.text), Allowed: builtin, Hint: sternfan.DidYouMean(from.text, builtin, "")})
		}
		return
	}
	if r.opts.Known == nil || id == nil || id.kind != kindScalar || r.known(list, id.text) {
		return
	}
	for _, name := range without(n, essentials[list]) {
		r.at(n, path+"."+name, sternfan.Fault{Code: "missing", Text: "gear that starts from nothing needs " + name,
			Hint: "give it, or name a built-in default to start from, as in from: ID"})
	}
}

func (r *refs) builtin(list string) []string {
	if r.opts.List == nil {
		return nil
	}
	return r.opts.List(strings.TrimSuffix(list, "s"))
}

// known reports whether gear is built in; the kinds are the lists' names in the singular.
func (r *refs) known(list, id string) bool {
	return r.opts.Known(strings.TrimSuffix(list, "s"), id)
}

// check faults a reference that is in none of the lists. Gear may also be built in.
func (r *refs) check(path, id string, lists ...string) {
	if id == "" {
		return
	}
	var allowed []string
	code, text := "unknown-id", "nothing of that name is in "+lists[0]
	for _, list := range lists {
		if slices.Contains(r.ids[list], id) {
			return
		}
		allowed = append(allowed, r.ids[list]...)
		if name, isGear := cutGear(list); isGear {
			code, text = "unknown-gear", "there is no such gear in "+name
			if r.opts.Known == nil || r.known(name, id) {
				return
			}
			allowed = append(allowed, r.builtin(name)...)
		}
	}
	slices.Sort(allowed)
	allowed = slices.Compact(allowed)
	hint := sternfan.DidYouMean(id, allowed, "")
	if hint == "" && len(allowed) == 0 {
		hint = "add it to " + lists[0]
	}
	r.at(r.root.find(path), path, sternfan.Fault{Code: code, Text: text, Found: show(id), Allowed: allowed, Hint: hint})
}

func cutGear(list string) (string, bool) {
	const prefix = "gear."
	if len(list) > len(prefix) && list[:len(prefix)] == prefix {
		return list[len(prefix):], true
	}
	return "", false
}

func (r *refs) rod(p string, rod *sternfan.Rod) {
	r.check(p+"holder", rod.Holder, "boat.holders")
	r.check(p+"reel", rod.Reel, "gear.reels")
	r.rig(p+"rig.", &rod.Rig)
}

func (r *refs) rig(p string, rig *sternfan.Rig) {
	r.check(p+"line", rig.Line, "gear.lines")
	r.check(p+"weighted", rig.Weighted, "gear.lines")
	r.check(p+"diver", rig.Diver, "gear.divers")
	r.check(p+"board", rig.Board, "gear.boards")
	r.check(p+"downrigger", rig.Downrigger, "downriggers")
	r.check(p+"mast_board", rig.MastBoard, "mast_boards")
	seen := map[string]bool{}
	r.parts(p+"behind", rig.Behind, seen)
	r.parts(p+"slider", rig.Slider, seen)
	r.parts(p+"parts", rig.Parts, seen)
}

// partLists says where the gear of each kind of part is.
var partLists = map[sternfan.PartKind][]string{
	sternfan.PartLine:      {"gear.lines"},
	sternfan.PartLeader:    {"gear.leaders", "gear.lines"},
	sternfan.PartDiver:     {"gear.divers"},
	sternfan.PartSnubber:   {"gear.snubbers"},
	sternfan.PartAttractor: {"gear.attractors"},
	sternfan.PartLure:      {"gear.lures"},
	sternfan.PartBoard:     {"gear.boards"},
	sternfan.PartWeight:    {"gear.weights"},
}

func (r *refs) parts(path string, parts []sternfan.Part, seen map[string]bool) {
	for i, part := range parts {
		p := fmt.Sprintf("%s[%d].", path, i)
		if part.ID != "" {
			if seen[part.ID] {
				r.at(r.root.find(p+"id"), p+"id", sternfan.Fault{Code: "duplicate-id", Text: "this id is given twice in one rod", Found: show(part.ID)})
			}
			seen[part.ID] = true
		}
		if lists := partLists[part.Kind]; lists != nil {
			r.check(p+string(part.Kind), part.Gear, lists...)
		}
		if part.On != "" {
			r.check(p+string(part.Kind), part.On, "downriggers", "mast_boards")
		}
		r.parts(p+"slider", part.Parts, seen)
	}
}
