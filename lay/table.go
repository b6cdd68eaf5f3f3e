package lay

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/portable"
	"sternfan/setting"
)

// way is what is known of one option: which rod, how rigged, where and how set, and where
// its lures run.
type way struct {
	rig    int
	holder int
	set    setTo
	device string
	above  float64 // of the release over the ball, or along a mast board's line, m
	track  *sternfan.Track
	course *clearance.Course
	ball   *clearance.Course
	lures  []berth
	hook   float64 // from a directional diver to the hook, m; 0: no such diver
	lead   float64 // of a slide-through diver, m
	dialed float64 // how far its dial may shift its depth, m
	shape  int     // of its lines
}

// berth is where a lure runs.
type berth struct {
	at     geom.Vec
	lo, hi float64
}

// class is a set of stands whose lines have about the same shape: one way to rig, and in a
// current one side. A line starts from its own tip; what a tip's height and a current in
// shear change beyond that is left to the exact solution of a whole plan. A clipped rod's
// line runs between its tip and the device, so each of its holders is a class of its own.
type class struct {
	rig     int  // the first that is rigged so
	holder  int  // for which it is solved
	home    bool // the rod stands there in the file
	members []stand
	trials  map[setTo]answer
}

type stand struct{ rig, holder int }

// classes sorts the stands of every way to rig.
func (pl *planner) classes() []*class {
	var out []*class
	byKey := map[string]*class{}
	for i := range pl.rigs {
		g := &pl.rigs[i]
		if g.info.starting == sternfan.StatusRefused && !pl.sc.Rods[g.rod].Fixed {
			continue
		}
		// Its own holder first: what is fished now is solved where it is.
		holders := pl.stands(g)
		own := pl.holderIndex(pl.sc.Rods[g.rod].Holder)
		slices.SortStableFunc(holders, func(a, b int) int {
			switch {
			case a == own && b != own:
				return -1
			case b == own && a != own:
				return 1
			}
			return a - b
		})
		for _, h := range holders {
			side := int(pl.sc.Boat.Holders[h].Side())
			key := fmt.Sprintf("%s|%d", g.key, side*side)
			switch {
			case g.info.device != "" || pl.all:
				key = fmt.Sprintf("%s|in %d", g.key, h)
			case len(pl.sc.Water.Current) > 0:
				key = fmt.Sprintf("%s|%d", g.key, side)
			}
			c := byKey[key]
			if c == nil {
				c = &class{rig: i, holder: h, home: h == own, trials: map[setTo]answer{}}
				byKey[key] = c
				out = append(out, c)
			}
			c.members = append(c.members, stand{i, h})
		}
	}
	return out
}

func (pl *planner) holderIndex(id string) int {
	return slices.IndexFunc(pl.sc.Boat.Holders, func(h sternfan.Holder) bool { return h.ID == id })
}

// seat returns a rig as a rod in a holder. A rig that pulls to its holder's side goes on
// doing so on the other.
func (pl *planner) seat(g *rigging, holder int, s setTo) sternfan.Rod {
	rod := g.def
	to := &pl.sc.Boat.Holders[holder]
	from := pl.holderIndex(pl.sc.Rods[g.rod].Holder)
	was, now := sternfan.Amidships, to.Side()
	if from >= 0 {
		was = pl.sc.Boat.Holders[from].Side()
	}
	rod.Holder = to.ID
	if rod.Settings.Side != sternfan.Amidships && was*now < 0 {
		rod.Settings.Side = -rod.Settings.Side
	}
	if rod.Settings.Side != sternfan.Amidships && now != 0 && was == 0 {
		rod.Settings.Side = sternfan.Side(now)
	}
	g.set(s, setting.On{Settings: &rod.Settings})
	return rod
}

// ask makes the trial of a class at a setting.
func (pl *planner) ask(c *class, s setTo) bench.Trial {
	g := &pl.rigs[c.rig]
	t := bench.Trial{Rod: pl.seat(g, c.holder, s), Source: pl.sc.Rods[g.rod].ID}
	if g.knob.count == countCable {
		t.Cable = s.count
	}
	return t
}

// solve solves the settings that the classes want and have not solved yet.
func (pl *planner) solve(want map[*class][]setTo, order []*class) error {
	type of struct {
		c *class
		s setTo
	}
	var from []of
	var ask []bench.Trial
	for _, c := range order {
		for _, s := range want[c] {
			if _, ok := c.trials[s]; ok {
				continue
			}
			c.trials[s] = answer{}
			from = append(from, of{c, s})
			ask = append(ask, pl.ask(c, s))
		}
	}
	const batch = 200
	for len(ask) > 0 {
		n := min(batch, len(ask))
		got, err := pl.try(ask[:n], pl.all)
		if err != nil {
			return err
		}
		for i, a := range got {
			from[i].c.trials[from[i].s] = a
		}
		ask, from = ask[n:], from[n:]
	}
	return nil
}

// aimed finds on every curve of the class the counts that take its lure to the targets.
func (pl *planner) aimed(c *class) []setTo {
	g := &pl.rigs[c.rig]
	if g.knob.count == nil || pl.all {
		return nil
	}
	type point struct{ count, depth float64 }
	var out []setTo
	for _, dial := range pl.dials(g, c.home) {
		for _, across := range pl.acrosses(g) {
			var curve []point
			for s, a := range c.trials {
				if s.dial == dial && s.across == across && a.track != nil && len(a.track.Lures) > 0 {
					curve = append(curve, point{s.count, a.track.Lures[0].Depth})
				}
			}
			slices.SortFunc(curve, func(a, b point) int { return cmp.Compare(a.count, b.count) })
			for _, z := range pl.targets() {
				for i := 1; i < len(curve); i++ {
					p, q := curve[i-1], curve[i]
					if (p.depth-z)*(q.depth-z) > 0 || p.depth == q.depth {
						continue
					}
					count := g.knob.round(p.count + (z-p.depth)/(q.depth-p.depth)*(q.count-p.count))
					if s := (setTo{count, dial, across}); !slices.Contains(out, s) {
						out = append(out, s)
					}
					break
				}
			}
		}
	}
	return out
}

// depthAt returns the depth of a class's lure at a dial mark and a count, from the
// settings solved so far; ok is false beyond them.
func (c *class) depthAt(dial, count, across float64) (z float64, ok bool) {
	below, above := math.Inf(-1), math.Inf(1)
	var zb, za float64
	for s, a := range c.trials {
		if s.dial != dial || s.across != across || a.track == nil || len(a.track.Lures) == 0 {
			continue
		}
		if s.count <= count && s.count > below {
			below, zb = s.count, a.track.Lures[0].Depth
		}
		if s.count >= count && s.count < above {
			above, za = s.count, a.track.Lures[0].Depth
		}
	}
	switch {
	case math.IsInf(below, -1) || math.IsInf(above, 1):
		return 0, false
	case above == below:
		return zb, true
	}
	return zb + (count-below)/(above-below)*(za-zb), true
}

// dialed returns how far the depth shifts when the dial is off by what it may be: a mark
// more is shallower, and the more so the higher the mark.
func (pl *planner) dialed(c *class, s setTo) float64 {
	g := &pl.rigs[c.rig]
	if !g.knob.dial {
		return 0
	}
	dials := pl.dials(g, c.home)
	slices.Sort(dials)
	at, _ := slices.BinarySearch(dials, s.dial)
	lo, hi := dials[max(at-1, 0)], dials[min(at+1, len(dials)-1)]
	a, okA := c.depthAt(lo, s.count, s.across)
	b, okB := c.depthAt(hi, s.count, s.across)
	if !okA || !okB || hi == lo {
		return 0
	}
	return g.info.marked * math.Abs(a-b) / (hi - lo)
}

// undial takes the dial's part out of the interval that a rig was surveyed with.
func (pl *planner) undial(c *class) {
	g := &pl.rigs[c.rig]
	if !g.knob.dial || g.info.parted {
		return
	}
	s := g.now(pl)
	z, ok := c.depthAt(s.dial, s.count, s.across)
	if !ok || z <= 0 {
		return
	}
	g.info.parted = true
	d := pl.dialed(c, s) / z
	least := 0.3 * g.info.rel
	g.info.rel = math.Sqrt(math.Max(g.info.rel*g.info.rel-d*d, least*least))
}

// table solves every way to fish every rod and notes it as an option.
func (pl *planner) table() error {
	all := pl.classes()
	want := map[*class][]setTo{}
	for _, c := range all {
		want[c] = pl.grid(c)
	}
	pl.step("solving each rod by itself", 0.1)
	if err := pl.solve(want, all); err != nil {
		return err
	}
	shared := map[string][]float64{}
	for _, c := range all {
		pl.undial(c)
		want[c] = pl.aimed(c)
		if g := &pl.rigs[c.rig]; g.knob.count == countCable {
			for _, s := range append(slices.Clone(want[c]), g.now(pl)) {
				if !slices.Contains(shared[g.info.device], s.count) {
					shared[g.info.device] = append(shared[g.info.device], s.count)
				}
			}
		}
	}
	for _, c := range all {
		// Rods on one cable are all tried at the counts that suit any of them.
		if g := &pl.rigs[c.rig]; g.knob.count == countCable && pl.onDevice(g.info.device) > 1 {
			for _, count := range shared[g.info.device] {
				s := g.now(pl)
				if s.count = g.knob.round(count); !slices.Contains(want[c], s) {
					want[c] = append(want[c], s)
				}
			}
		}
	}
	pl.step("solving each rod by itself", 0.25)
	if err := pl.solve(want, all); err != nil {
		return err
	}
	for _, c := range all {
		pl.note(c, append(pl.grid(c), want[c]...))
	}
	return nil
}

// onDevice returns how many rods may clip to a device.
func (pl *planner) onDevice(id string) int {
	seen := map[int]bool{}
	for i := range pl.rigs {
		if pl.rigs[i].info.device == id {
			seen[pl.rigs[i].rod] = true
		}
	}
	return len(seen)
}

// The most settings that are kept of one stand for one band: those of the holder in which
// the rod stands, and of another.
const (
	keepHere  = 5
	keepThere = 2
)

// note makes the options of a class's stands: for each band the settings that suit it
// best, no two with the same dial and distance before all are in.
func (pl *planner) note(c *class, settings []setTo) {
	bands := max(len(pl.bands), 1)
	kept := make([]int, bands)
	type rated struct {
		s    setTo
		band int
		fit  float64
	}
	var list []rated
	for _, s := range settings {
		a := c.trials[s]
		if a.track == nil || len(a.track.Lures) == 0 {
			if pl.sc.Rods[pl.rigs[c.rig].rod].Fixed {
				list = append(list, rated{s, -1, 0})
			}
			continue
		}
		got := false
		for b := range bands {
			lure := pl.berth(&pl.rigs[c.rig], a.track, 0, false, geom.Vec{}, pl.dialed(c, s))
			if fit := pl.fit(b, &lure); fit >= leastFit {
				list = append(list, rated{s, b, fit})
				got = true
			}
		}
		if !got && pl.sc.Rods[pl.rigs[c.rig].rod].Fixed {
			list = append(list, rated{s, -1, 0})
		}
	}
	slices.SortStableFunc(list, func(a, b rated) int { return cmp.Compare(b.fit, a.fit) })
	nows := pl.nows(c)
	seen := map[rated]bool{}
	for _, unlike := range []bool{true, false} {
		for _, r := range list {
			mark := rated{setTo{0, r.s.dial, r.s.across}, r.band, 0}
			if seen[r] || unlike && seen[mark] && !slices.Contains(nows, r.s) {
				continue
			}
			if r.band >= 0 {
				if kept[r.band] >= keepHere && !pl.all && !slices.Contains(nows, r.s) {
					continue
				}
				kept[r.band]++
			}
			seen[r], seen[mark] = true, true
			for _, m := range c.members {
				own := pl.sc.Boat.Holders[m.holder].ID == pl.sc.Rods[pl.rigs[m.rig].rod].Holder
				if r.band >= 0 && !own && !pl.all && kept[r.band] > keepThere {
					continue
				}
				pl.add(c, m, r.s, r.band)
			}
		}
	}
}

// leastFit is the fit under which a lure is not meant for a band.
const leastFit = 0.25

// berth returns where a lure of a track runs, shifted to another tip, with the interval
// that its rig is known to have.
func (pl *planner) berth(g *rigging, t *sternfan.Track, lure int, mirrored bool, by geom.Vec, dialed float64) berth {
	l := &t.Lures[lure]
	at := geom.Vec{X: -l.Astern, Y: l.Side, Z: l.Depth}
	if mirrored {
		at = at.Mirror()
	}
	at = at.Add(by)
	if l.DepthHi > l.DepthLo {
		return berth{at, l.DepthLo + by.Z, l.DepthHi + by.Z}
	}
	half := portable.Hypot(g.info.rel*math.Max(at.Z, 0), dialed)
	return berth{at, math.Max(at.Z-half, 0), at.Z + half}
}

// add notes one option.
func (pl *planner) add(c *class, m stand, s setTo, band int) {
	a := c.trials[s]
	from, to := pl.sc.Boat.Holders[c.holder].Tip, pl.sc.Boat.Holders[m.holder].Tip
	mirrored := sternfan.SideOf(from) != sternfan.SideOf(to)
	if mirrored {
		from = from.Mirror()
	}
	by := to.Sub(from)
	if pl.rigs[m.rig].info.board {
		by.Z = 0 // a board floats, however high the tip
	}
	pl.addWay(&a, m, s, band, mirrored, by, pl.dialed(c, s))
}

// addWay notes the option of a solved setting, its lines mirrored or not and then shifted, and returns
// its number.
func (pl *planner) addWay(a *answer, m stand, s setTo, band int, mirrored bool, by geom.Vec, dialed float64) int {
	g := &pl.rigs[m.rig]
	w := &way{rig: m.rig, holder: m.holder, set: s, device: g.info.device, track: a.track, dialed: dialed}
	o := option{rod: g.rod}
	if a.track == nil {
		o.breaks = breachUnsolved
	} else {
		for i := range a.track.Lures {
			w.lures = append(w.lures, pl.berth(g, a.track, i, mirrored, by, dialed))
		}
		half := 0.0
		for i := range w.lures {
			half = math.Max(half, (w.lures[i].hi-w.lures[i].lo)/2)
		}
		if a.course != nil {
			w.course = a.course.Moved(mirrored, by, half)
			w.course.ID, w.course.Device = pl.sc.Rods[g.rod].ID, g.info.device
		}
		if a.ball != nil {
			w.ball = a.ball.Moved(false, geom.Vec{}, g.info.rel*math.Max(deepest(a.device), 0))
			w.ball.ID = g.info.device
		}
		if g.info.device != "" {
			w.above = g.def.Settings.AboveBall.SI()
			if pl.mastBoard(g.info.device) >= 0 {
				w.above = g.def.Settings.Along.SI()
			}
		}
		pl.judge(w, g, a, &o)
	}
	pl.count(&o, g, m.holder)
	o.side = pl.sc.Boat.Holders[m.holder].Side()
	for i := range w.lures {
		l := landing{band: -1}
		if i == 0 {
			l.band = band
			if band >= 0 {
				l.fit = pl.fit(band, &w.lures[i])
			}
		} else {
			for b := range max(len(pl.bands), 1) {
				if f := pl.fit(b, &w.lures[i]); f > l.fit && f >= leastFit {
					l = landing{b, f}
				}
			}
		}
		o.lures = append(o.lures, l)
	}
	o.look = mix(mix(0, g.key), fmt.Sprint(band, int(math.Abs(pl.sc.Boat.Holders[m.holder].Tip.Y)/0.6)))
	w.shape = pl.shapes.of(outline{a.track, g.info, mirrored, by, dialed})
	pl.prob.options = append(pl.prob.options, o)
	pl.ways = append(pl.ways, w)
	return len(pl.ways) - 1
}

func deepest(t *sternfan.Track) float64 {
	z := 0.0
	if t != nil {
		for _, b := range t.Bodies {
			z = math.Max(z, b.Depth)
		}
	}
	return z
}

// count lists what an option takes of what there is only so much of.
func (pl *planner) count(o *option, g *rigging, holder int) {
	o.uses = append(o.uses, use{pl.stock.holder + holder, 1})
	if pl.stock.lines >= 0 {
		o.uses = append(o.uses, use{pl.stock.lines, 1})
	}
	if pl.stock.lures >= 0 {
		o.uses = append(o.uses, use{pl.stock.lures, max(g.info.lures, 1)})
	}
	for i, h := range pl.sc.Wants.Lay.Have {
		n := 0
		for _, id := range g.info.uses {
			if id == h.Gear {
				n++
			}
		}
		if n > 0 {
			o.uses = append(o.uses, use{pl.stock.have + i, n})
		}
	}
}
