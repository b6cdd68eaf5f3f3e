package tackle

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sternfan"
)

// resolver is the state of one Resolve.
type resolver struct {
	sc     *sternfan.Scenario
	cat    catalog
	reg    registry
	faults sternfan.Faults
	model  *Model
	downs  map[string]lipFound // by lure
	of     string              // the rod or device that is being made
	same   *Model              // whose water is taken; nil: made anew
	only   *concern            // what is to be made; nil: everything
}

func newResolver(sc *sternfan.Scenario, same *Model) *resolver {
	copied := *sc
	copied.Rods = slices.Clone(sc.Rods)
	copied.Boat = sc.Boat.Filled()
	return resolverOf(&copied, &sc.Gear, same)
}

// resolverOf returns a resolver of a scenario that is its own to change.
func resolverOf(own *sternfan.Scenario, file *sternfan.Gear, same *Model) *resolver {
	r := &resolver{sc: own, model: &Model{Scenario: own}, downs: map[string]lipFound{}, same: same}
	if same != nil && same.downs != nil {
		r.downs = same.downs
	}
	r.cat = catalog{file: file, r: r}
	return r
}

func (r *resolver) fault(f sternfan.Fault) {
	f.Of = r.of
	r.faults = append(r.faults, f)
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// Resolve expands the scenario's rigs to parts, finds their gear and makes the systems to
// solve. It reports every fault it finds; the model is nil when there is one. A rod that
// cannot be fished as described is refused in the model, and the others go on. The
// scenario is not changed.
func Resolve(sc *sternfan.Scenario) (*Model, sternfan.Faults) { return resolveWith(sc, nil) }

// Again is Resolve for a scenario whose water and heading are those from which m was
// made: it takes m's column of water instead of making it anew, which is half the work.
func Again(m *Model, sc *sternfan.Scenario) (*Model, sternfan.Faults) { return resolveWith(sc, m) }

func resolveWith(sc *sternfan.Scenario, same *Model) (*Model, sternfan.Faults) {
	r := newResolver(sc, same)
	r.water()
	ready := r.rods()
	r.groups(ready)
	r.speedProbe()
	m := r.model
	m.given, m.index, m.plain = slices.Clone(r.reg.entries), r.reg.index, slices.Clone(m.Notes)
	if !r.finish() {
		return nil, r.faults
	}
	r.sc.Gear = r.cat.used
	m.self, m.downs = new(identity), r.downs
	return m, nil
}

// finish applies what the file says of uncertain inputs and makes the registry the
// model's. It reports whether there is no fault.
func (r *resolver) finish() bool {
	r.adjust()
	if len(r.faults) > 0 {
		return false
	}
	m := r.model
	m.Registry, m.dists = r.reg.entries, make([]dist, 0, len(r.reg.entries))
	for i := range m.Registry {
		m.dists = append(m.dists, dist{m.Registry[i].Nominal, m.Registry[i].Scatter})
	}
	return true
}

// rods expands and measures every rod. A rod with a fault or a refusal is left out.
func (r *resolver) rods() []prepared {
	m := r.model
	m.Rods = make([]RodInfo, len(r.sc.Rods))
	var out []prepared
	seen := map[string]bool{}
	defer func() { r.of = "" }()
	for i := range r.sc.Rods {
		if r.only != nil && !r.only.rods[i] {
			continue
		}
		rod := &r.sc.Rods[i]
		r.of = rod.ID
		info := &m.Rods[i]
		*info = RodInfo{Group: -1, Kind: rod.Rig.Kind, Bottom: rod.Settings.Bottom == "intended"}
		path := "rods[" + itoa(i) + "]"
		if seen[rod.ID] {
			r.fault(sternfan.Fault{Code: "duplicate-id", Path: path + ".id", Text: "two rods have the same id", Found: rod.ID})
			continue
		}
		seen[rod.ID] = true
		h := r.sc.Boat.Holder(rod.Holder)
		if h == nil {
			var names []string
			for _, h := range r.sc.Boat.Holders {
				names = append(names, h.ID)
			}
			r.fault(sternfan.Fault{Code: "unknown-id", Path: path + ".holder", Text: "the boat has no such rod holder", Found: rod.Holder, Allowed: names})
			continue
		}
		info.Tip, info.Position, info.Side = h.Tip, h.Position, h.Side()
		if rod.Settings.Side == sternfan.Amidships {
			rod.Settings.Side = info.Side
		}

		rig := rod.Rig
		parts, from := expand(&rig, r.cat.isLeader)
		clip := slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartRelease })
		measuredParts, ok := r.measure(parts, path+".rig", from, &rod.Settings, path+".settings", -h.Tip.Z, clip >= 0)
		if !ok {
			continue
		}
		p := prepared{rod: i, parts: measuredParts, clip: clip}
		if clip >= 0 {
			p.on = parts[clip].On
			for k := range clip {
				if parts[k].Kind == sternfan.PartSlider {
					slide := path + ".rig." + from[k]
					if strings.HasSuffix(from[k], "]") {
						slide += ".slider"
					}
					var each []string
					for n := range parts[k].Parts {
						each = append(each, "["+itoa(n)+"]")
					}
					if p.slide, ok = r.measure(parts[k].Parts, slide, each, nil, slide, 0, false); !ok {
						break
					}
				}
			}
			if !ok {
				continue
			}
		} else if !slices.ContainsFunc(parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartLure }) {
			r.fault(sternfan.Fault{Code: "missing", Path: path + ".rig.behind", Text: "a rod needs a lure", Hint: "add a lure as its last part"})
			continue
		}
		rod.Rig = sternfan.Rig{Parts: parts}
		r.spool(rod, info, &p, path)
		if r.refuse(i, measuredParts) {
			continue
		}
		out = append(out, p)
	}
	return out
}

// refuse finds what must not be fished.
func (r *resolver) refuse(rod int, parts []measured) bool {
	solid := func(p *measured) bool { return p.line != nil && p.line.Solid.Given && p.line.Solid.Value == 1 }
	for i := range parts {
		if d := parts[i].diver; d == nil || d.Kind != "slide-through" {
			continue
		}
		if i > 0 && solid(&parts[i-1]) || i+1 < len(parts) && solid(&parts[i+1]) {
			r.model.Refused = append(r.model.Refused, Refusal{Rod: rod, Path: parts[i].path, Warning: sternfan.Warning{Code: "refused",
				Text: "a solid wire does not run through a slide-through diver: it kinks and parts under load",
				Hint: "use braid, mono or stranded diver wire, or a directional diver"}})
			return true
		}
	}
	return false
}

// spool works out what is wound on the rod's reel.
func (r *resolver) spool(rod *sternfan.Rod, info *RodInfo, p *prepared, path string) {
	first := upper(p.parts)
	for _, m := range first {
		if m.length.drop {
			continue
		}
		info.MainLine = cmp.Or(info.MainLine, m.gear)
		if p.clip < 0 {
			info.LineOut += m.length.nominal()
		}
	}
	if rod.Reel == "" || len(first) == 0 {
		return
	}
	reel := r.cat.reel(rod.Reel, path+".reel")
	if reel == nil {
		return
	}
	info.Reel = reel
	sinking := slices.IndexFunc(first, (*measured).sinking)
	if sinking >= 0 && reel.Capacity.Given {
		s := first[sinking]
		if s.line.Kind == lineLeadCore && s.length.nominal() > reel.Capacity.SI()*(1+1e-9) {
			r.fault(sternfan.Fault{Code: "out-of-range", Path: path + ".settings.colors", Text: "there are not so many colors on the reel",
				Found: number(s.length.nominal() / (30 * foot)), Allowed: []string{"up to " + number(reel.Capacity.SI()/(30*foot))}})
			return
		}
	}
	var backing []Wound
	if reel.Backing != "" && reel.BackingLength.SI() > 0 {
		if l := r.cat.line(reel.Backing, path+".reel"); l != nil {
			backing = append(backing, Wound{l.Diameter.SI(), reel.BackingLength.SI()})
		}
	}
	info.Spool = wind(reel, backing, first, sinking)
}

// upper returns the lines of a rod down to the first device: those that its reel holds.
func upper(parts []measured) []*measured {
	var out []*measured
	for i := range parts {
		m := &parts[i]
		if m.diver != nil || m.board != nil || m.part.Kind == sternfan.PartRelease {
			break
		}
		if m.line != nil {
			out = append(out, m)
		}
	}
	return out
}

// wind returns what is wound on a full reel, the innermost first: backing of its own, the
// line that its capacity speaks of, which is the sinking one, else the first, and the rest.
func wind(reel *sternfan.Reel, wound []Wound, first []*measured, sinking int) []Wound {
	main := max(sinking, 0)
	var rest []Wound
	for i, m := range first {
		if i != main && !(i == 0 && sinking > 0) {
			rest = append(rest, Wound{m.line.Diameter.SI(), m.length.nominal()})
		}
	}
	if sinking > 0 && len(wound) == 0 {
		wound = append(wound, Wound{first[0].line.Diameter.SI(), 0})
	}
	d := first[main].line.Diameter.SI()
	long := reel.Capacity.SI()
	switch {
	case reel.Capacity.Given:
	case sinking > 0:
		long = first[main].length.nominal()
		if wound[0].Length == 0 {
			wound[0].Length = Capacity(reel, append([]Wound{{d, long}}, rest...), wound[0].Diameter)
		}
	default:
		long = Capacity(reel, append(slices.Clone(wound), rest...), d)
	}
	return append(append(wound, Wound{d, long}), rest...)
}

// groups makes the coupled systems: plain rods, downriggers, mast boards.
func (r *resolver) groups(ready []prepared) {
	m := r.model
	defer func() { r.of = "" }()
	for i := range ready {
		p := &ready[i]
		if p.clip >= 0 {
			continue
		}
		r.of = r.sc.Rods[p.rod].ID
		g := Group{Rods: []int{p.rod}, Downrigger: -1, MastBoard: -1}
		w := r.grower(&g, p.rod)
		w.boat()
		w.node(fixedNode(w.info.Tip), NodeRef{Rod: p.rod, Kind: "tip"})
		end, ok := w.chain(p.parts, 0)
		if !ok {
			continue
		}
		g.main = end
		w.finish()
		w.info.Group = len(m.Groups)
		m.Groups = append(m.Groups, g)
	}
	taken := make([]bool, len(ready))
	on := func(id string) []*prepared {
		var out []*prepared
		for i := range ready {
			if ready[i].clip >= 0 && ready[i].on == id {
				taken[i] = true
				out = append(out, &ready[i])
			}
		}
		return out
	}
	seen := map[string]bool{}
	begin := func(id, path string) {
		r.of = id
		if seen[id] {
			r.fault(sternfan.Fault{Code: "duplicate-id", Path: path + ".id", Text: "two devices have the same id", Found: id})
		}
		seen[id] = true
	}
	for i, d := range r.sc.Downriggers {
		if r.only == nil || r.only.downs[i] {
			path := "downriggers[" + itoa(i) + "]"
			begin(d.ID, path)
			r.downrigger(i, path, on(d.ID))
		}
	}
	for i, b := range r.sc.MastBoards {
		if r.only == nil || r.only.masts[i] {
			path := "mast_boards[" + itoa(i) + "]"
			begin(b.ID, path)
			r.mastBoard(i, path, on(b.ID))
		}
	}
	for i := range ready {
		if ready[i].clip >= 0 && !taken[i] {
			var names []string
			for _, d := range r.sc.Downriggers {
				names = append(names, d.ID)
			}
			for _, b := range r.sc.MastBoards {
				names = append(names, b.ID)
			}
			r.of = r.sc.Rods[ready[i].rod].ID
			r.fault(sternfan.Fault{Code: "unknown-id", Path: "rods[" + itoa(ready[i].rod) + "].rig", Text: "there is no such downrigger or mast board to clip to",
				Found: ready[i].on, Allowed: names})
		}
	}
}

func (r *resolver) grower(g *Group, rod int) *grower {
	w := &grower{r: r, g: g, rod: rod}
	if rod >= 0 {
		w.set, w.info = &r.sc.Rods[rod].Settings, &r.model.Rods[rod]
		w.side = w.set.Side
	}
	return w
}

// boat notes the entries common to all.
func (w *grower) boat() {
	m := w.r.model
	for _, i := range []int{m.speedAt, m.currentAt, m.bottomAt, m.fleasAt} {
		if i >= 0 {
			w.touch(i)
		}
	}
}

func (r *resolver) downrigger(i int, path string, rods []*prepared) {
	m, d := r.model, &r.sc.Downriggers[i]
	boom := r.sc.Boat.Boom(d.Boom)
	if boom == nil {
		r.fault(sternfan.Fault{Code: "unknown-id", Path: path + ".boom", Text: "the boat has no such boom", Found: d.Boom})
		return
	}
	if d.Cable == "" {
		d = r.ownDownrigger(i)
		d.Cable = "rigger-cable-150"
		r.note("cable", "downrigger "+d.ID+": steel cable assumed, 150 lb (667 N)")
	}
	cable := r.cat.line(d.Cable, path+".cable")
	ball := r.cat.ball(d.Ball, path+".ball")
	if cable == nil || ball == nil {
		return
	}
	out := d.CableOut.SI()
	if !(out > 2*leastUp) {
		r.fault(sternfan.Fault{Code: "out-of-range", Path: path + ".cable_out", Text: "the cable is too short", Found: both(d.CableOut.Value), Allowed: []string{"more than " + both(2*leastUp)}})
		return
	}
	g := Group{Downrigger: i, MastBoard: -1}
	w := r.grower(&g, -1)
	w.boat()
	s, src := relative(d.CableOut, cableRel, "assumed: a cable counter is 1 % off")
	counter := w.entry("downrigger", d.ID, ParamCounter, sternfan.ScopeDevice, 1, "times", s, src)
	rel, ok := r.places(rods, func(p *prepared) float64 {
		set := &r.sc.Rods[p.rod].Settings
		up := AboveBall(set)
		at := "rods[" + itoa(p.rod) + "].settings.above_ball"
		if up >= out {
			r.fault(sternfan.Fault{Code: "out-of-range", Path: at, Text: "the release is above the ball by more than the cable that is out", Found: both(set.AboveBall.Value),
				Allowed: []string{"less than " + both(d.CableOut.Value)}})
			return 0
		}
		return min(max(up, leastUp), out-leastUp)
	})
	if !ok {
		return
	}
	w.node(fixedNode(boom.End), NodeRef{Rod: -1, ID: d.ID, Kind: "tip"})
	g.main = w.tree(cable, d.ID, out, counter, rel)
	g.Nodes[g.main] = NodeRef{Rod: -1, ID: d.ID, Kind: "ball", Gear: d.Ball, Bottom: d.Bottom == "intended"}
	w.ballBody(ball, g.main)
	r.clipped(w, &g, rods, rel, false)
	m.Groups = append(m.Groups, g)
}

// AboveBall returns how far above the ball settings clip a line, m.
func AboveBall(s *sternfan.Settings) float64 {
	if s.AboveBall.Given {
		return s.AboveBall.SI()
	}
	return defaultAbove
}

// ownDownrigger returns the downrigger of the copied scenario, copying the list first.
func (r *resolver) ownDownrigger(i int) *sternfan.Downrigger {
	r.sc.Downriggers = slices.Clone(r.sc.Downriggers)
	return &r.sc.Downriggers[i]
}

func (r *resolver) mastBoard(i int, path string, rods []*prepared) {
	m, b := r.model, &r.sc.MastBoards[i]
	mast := r.sc.Boat.Mast(b.Mast)
	if mast == nil {
		r.fault(sternfan.Fault{Code: "unknown-id", Path: path + ".mast", Text: "the boat has no such mast", Found: b.Mast})
		return
	}
	line := r.cat.line(b.Line, path+".line")
	board := r.cat.board(b.Board, path+".board")
	if line == nil || board == nil {
		return
	}
	if b.Side == sternfan.Amidships {
		r.fault(sternfan.Fault{Code: "missing", Path: path + ".side", Text: "a mast board needs its side", Allowed: []string{"port", "starboard"}})
		return
	}
	out := b.LineOut.SI()
	if !(out > 2*leastUp) {
		r.fault(sternfan.Fault{Code: "out-of-range", Path: path + ".line_out", Text: "the tow line is too short", Found: both(b.LineOut.Value), Allowed: []string{"more than " + both(2*leastUp)}})
		return
	}
	g := Group{Downrigger: -1, MastBoard: i}
	w := r.grower(&g, -1)
	w.boat()
	s, src := relative(b.LineOut, leadRel, "assumed: a tow line is measured within 2 %")
	counter := w.entry("mastboard", b.ID, ParamCounter, sternfan.ScopeDevice, 1, "times", s, src)
	rel, ok := r.places(rods, func(p *prepared) float64 {
		set := &r.sc.Rods[p.rod].Settings
		at := "rods[" + itoa(p.rod) + "].settings.along"
		switch {
		case !set.Along.Given:
			r.fault(sternfan.Fault{Code: "missing", Path: at, Text: "a rod on a mast board needs along, the tow line from the mast to its release"})
		case set.Along.SI() >= out || set.Along.SI() <= 0:
			r.fault(sternfan.Fault{Code: "out-of-range", Path: at, Text: "the release is not on the tow line that is out", Found: both(set.Along.Value),
				Allowed: []string{"more than 0 and less than " + both(b.LineOut.Value)}})
		}
		return min(max(out-set.Along.SI(), leastUp), out-leastUp)
	})
	if !ok {
		return
	}
	w.node(fixedNode(mast.Top), NodeRef{Rod: -1, ID: b.ID, Kind: "tip"})
	g.main = w.tree(line, b.ID, out, counter, rel)
	g.Nodes[g.main] = NodeRef{Rod: -1, ID: b.ID, Kind: string(sternfan.PartBoard), Gear: b.Board}
	w.board(board, g.main, b.Side)
	r.clipped(w, &g, rods, rel, true)
	m.Groups = append(m.Groups, g)
}

// places gathers the releases of a device; rods at the same place share one.
func (r *resolver) places(rods []*prepared, where func(p *prepared) float64) ([]release, bool) {
	before := len(r.faults)
	defer func(device string) { r.of = device }(r.of)
	var out []release
	for k, p := range rods {
		r.of = r.sc.Rods[p.rod].ID
		up := where(p)
		i := slices.IndexFunc(out, func(x release) bool { return x.up-up < .01 && up-x.up < .01 })
		if i < 0 {
			out = append(out, release{up: up})
			i = len(out) - 1
		}
		out[i].rods = append(out[i].rods, k)
	}
	return out, len(r.faults) == before
}

func (r *resolver) clipped(w *grower, g *Group, rods []*prepared, rel []release, mast bool) {
	defer func(device string) { r.of = device }(r.of)
	for _, x := range rel {
		for _, k := range x.rods {
			p := rods[k]
			r.of = r.sc.Rods[p.rod].ID
			rw := r.grower(g, p.rod)
			if !rw.hang(p, x.node, mast) {
				continue
			}
			if len(x.rods) == 1 {
				g.Nodes[x.node].Rod, g.Nodes[x.node].ID = p.rod, p.parts[p.clip].part.ID
			}
			g.Rods = append(g.Rods, p.rod)
			rw.info.Group = len(r.model.Groups)
		}
	}
	slices.Sort(g.Rods)
	w.finish()
}

func (r *resolver) note(code, text string) {
	r.model.Notes = append(r.model.Notes, sternfan.Warning{Code: code, Text: text})
}

// down returns a lure's downward area with its spread: as given, or from the rated depth.
func (r *resolver) down(l *sternfan.Lure, path string) (float64, sternfan.Scatter, string) {
	if l.DownArea.Given {
		return l.DownArea.SI(), l.DownArea.Scatter, l.DownArea.Source
	}
	if !l.Rated.Depth.Given {
		return 0, sternfan.Scatter{}, ""
	}
	known, ok := r.downs[l.ID]
	area := known.area
	if !ok || known.lure != ratedOf(l) {
		if area, ok = downArea(l); !ok {
			r.fault(sternfan.Fault{Code: "out-of-range", Path: path, Text: "no lip takes this lure to its rated depth", Found: l.ID,
				Hint: "a rating needs depth, line_out, line_diameter and speed, the depth well above the line out"})
			return 0, sternfan.Scatter{}, ""
		}
		downs := make(map[string]lipFound, len(r.downs)+1) // a model's own does not change
		maps.Copy(downs, r.downs)
		downs[l.ID] = lipFound{ratedOf(l), area}
		r.downs = downs
	}
	s := l.Rated.Depth.Scatter
	if s.Kind != sternfan.LogNormal {
		s = sternfan.Rel(.2)
	}
	return area, s, strings.TrimSpace("from its rated depth; " + l.Rated.Depth.Source)
}
