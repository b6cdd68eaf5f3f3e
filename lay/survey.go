package lay

import (
	"fmt"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/setting"
	"sternfan/unit"
)

const foot = float64(unit.Foot)

// rigging is one way to rig one rod: as in the file, or by a kit.
type rigging struct {
	rod  int // of the file
	kit  int // of wants.lay, -1: as in the file
	def  sternfan.Rod
	key  string // what is the same for rods that are rigged alike
	knob knob
	info *survey
}

// survey is what is known of a way to rig before any setting is changed.
type survey struct {
	parts    []sternfan.Part // expanded
	lures    int
	rel      float64 // half the 80 % interval of its lure's depth over that depth, but for its dial
	marked   float64 // how far its dial may be off, in marks, 4 times in 5
	parted   bool    // the dial's part is out of rel
	look     uint64  // attractor and lure
	kinds    uint64  // of lure
	diver    string  // "", "directional", "slide-through": its first device
	marks    []float64
	snubber  bool
	stiff    bool // the main line does not stretch
	board    bool // an in-line one
	uses     []string
	device   string // that it clips to
	starting sternfan.Status
}

// knob says which settings of a rig are varied.
type knob struct {
	count  *setting.Row // the length that is varied; nil: none
	lo, hi float64      // of the count, m
	step   float64
	across bool // a board's line out as well
	dial   bool
}

// What is varied: one of the counts, and beside it the dial and, as a count too, how far
// out a board runs.
var (
	countLine   = setting.Named("line_out")
	countColors = setting.Named("colors")
	countLead   = setting.Named("lead")
	countCable  = setting.Named("cable_out")
	countAlong  = setting.Named("along") // let out in parts or slid along, not varied
	dialMark    = setting.Named("dial")
)

// setTo is one setting of a rig: a count, a dial mark and a board's line out, where the
// rig has them.
type setTo struct {
	count, dial, across float64
}

// stiffLines are kinds of line that hardly stretch.
var stiffLines = []string{"braid", "wire", "copper", "weighted-steel", "cable", "lead-core"}

// riggings lists every way to rig every rod.
func (pl *planner) riggings() []rigging {
	var out []rigging
	// A rod with a calibrated counter of its own is not like another.
	own := map[string]string{}
	mark := func(name string) {
		if of, id, _ := sternfan.SplitEntryName(name); of == "rod" {
			own[id] = id
		}
	}
	for _, c := range pl.sc.Calibrations {
		if !c.Off {
			mark(c.Name)
		}
	}
	for _, o := range pl.sc.Uncertainty {
		mark(o.Name)
	}
	add := func(rod, kit int, def sternfan.Rod) {
		plain := def
		plain.ID, plain.Holder, plain.Fixed = "", "", false
		if !def.Fixed {
			pl.alike(&plain, def.Holder)
		}
		key := fmt.Sprintf("%s %+v", own[pl.sc.Rods[rod].ID], plain)
		if def.Fixed {
			key += def.ID
		}
		out = append(out, rigging{rod: rod, kit: kit, def: def, key: key})
	}
	for i, r := range pl.sc.Rods {
		add(i, -1, r)
		if r.Fixed {
			continue
		}
		for k, kit := range pl.sc.Wants.Lay.Kits {
			if !slices.Contains(kit.Rods, r.ID) {
				continue
			}
			def := r
			def.Rig, def.Settings = kit.Rig, kit.Settings
			if kit.Reel != "" {
				def.Reel = kit.Reel
			}
			add(i, k, def)
		}
	}
	return out
}

// alike takes out of a rod what does not tell it from another that is rigged as it is: on
// which side it stands, and settings that are varied anyway.
func (pl *planner) alike(r *sternfan.Rod, holder string) {
	if h := pl.holderIndex(holder); h >= 0 && r.Settings.Side != sternfan.Amidships {
		r.Settings.Side *= pl.sc.Boat.Holders[h].Side()
	}
	switch r.Rig.Kind {
	case sternfan.RigDiver, sternfan.RigSlideThrough, sternfan.RigFlat:
		r.Settings.LineOut.Value, r.Settings.Dial.Value = 0, 0
	}
}

// study finds out what is known of each way to rig, solving one rod for each that is
// unlike the others, with its interval.
func (pl *planner) study() error {
	known := map[string]*survey{}
	var ask []bench.Trial
	var of []*rigging
	for i := range pl.rigs {
		g := &pl.rigs[i]
		if _, ok := known[g.key]; !ok {
			known[g.key] = nil
			ask, of = append(ask, bench.Trial{Rod: g.def, Source: pl.sc.Rods[g.rod].ID}), append(of, g)
		}
	}
	got, err := pl.try(ask, true)
	if err != nil {
		return err
	}
	for k, g := range of {
		known[g.key] = pl.surveyOf(&got[k], &g.def)
	}
	for i := range pl.rigs {
		g := &pl.rigs[i]
		g.info = known[g.key]
		g.knob = pl.knobOf(g)
	}
	return nil
}

// typicalRel is the half interval of a depth over that depth where nothing was solved.
// Assumed.
const typicalRel = 0.12

func (pl *planner) surveyOf(a *answer, def *sternfan.Rod) *survey {
	s := &survey{rel: typicalRel, starting: sternfan.StatusRefused}
	if a.track != nil {
		s.starting = a.track.Status
		for _, l := range a.track.Lures {
			if l.Depth > 1 {
				s.rel = (l.DepthHi - l.DepthLo) / 2 / l.Depth
				break
			}
		}
	}
	s.parts, s.device = a.parts, def.Device()
	s.uses = pl.stocked(a.parts, def)
	first := true
	sternfan.EachPart(a.parts, func(p *sternfan.Part) {
		switch p.Kind {
		case sternfan.PartLure:
			s.lures++
			s.look = mix(s.look, p.Gear)
			s.kinds = mix(s.kinds, pl.lureKind(p.Gear))
		case sternfan.PartAttractor:
			s.look = mix(s.look, p.Gear)
			s.kinds = mix(s.kinds, "attractor")
		case sternfan.PartSnubber:
			s.snubber = true
		case sternfan.PartLine:
			if first {
				s.stiff = slices.Contains(stiffLines, pl.lineKind(p.Gear))
				first = false
			}
		case sternfan.PartBoard:
			s.board = true
		case sternfan.PartDiver:
			if s.diver == "" && s.device == "" {
				s.diver, s.marks, s.marked = pl.diverKind(p.Gear)
			}
		}
	})
	return s
}

// mix adds a word to a hash (FNV-1a, 64 bit).
func mix(h uint64, word string) uint64 {
	if h == 0 {
		h = 14695981039346656037
	}
	for i := range len(word) {
		h = (h ^ uint64(word[i])) * 1099511628211
	}
	return (h ^ '/') * 1099511628211
}

func (pl *planner) lineKind(id string) string {
	if l := sternfan.FindGear(pl.gear.Leaders, id); l != nil {
		id = l.Line
	}
	if l := sternfan.FindGear(pl.gear.Lines, id); l != nil {
		return l.Kind
	}
	return ""
}

func (pl *planner) lureKind(id string) string {
	if l := sternfan.FindGear(pl.gear.Lures, id); l != nil {
		return l.Kind
	}
	return ""
}

func (pl *planner) diverKind(id string) (kind string, marks []float64, marked float64) {
	d := sternfan.FindGear(pl.gear.Divers, id)
	switch {
	case d == nil:
		return "", nil, 0
	case d.Kind == "slide-through":
		return d.Kind, nil, 0
	}
	// As package tackle has it.
	if marked = 0.5; d.Ratchet.Given && d.Ratchet.Value == 1 {
		marked = 0.1
	}
	return "directional", d.DialMarks, marked
}

// stocked lists the gear of a rig that the inventory counts, once for each piece.
func (pl *planner) stocked(parts []sternfan.Part, def *sternfan.Rod) []string {
	var out []string
	take := func(id string) {
		for _, h := range pl.sc.Wants.Lay.Have {
			if h.Gear == id && id != "" {
				out = append(out, id)
			}
		}
	}
	sternfan.EachPart(parts, func(p *sternfan.Part) { take(p.Gear) })
	take(def.Reel)
	return out
}

// The ranges over which counts are varied, m; assumed. What does not work there says so
// when it is solved.
const (
	shortestLine = 50 * foot
	longestLine  = 250 * foot
	deepestCable = 180 * foot
)

// knobOf says which settings of a rig the planner varies. Lead core and copper on a board
// go out whole, so there it is the board's distance; a rig in an unusual order of parts
// keeps what it has.
func (pl *planner) knobOf(g *rigging) knob {
	set, lineStep := &g.def.Settings, pl.stepOf(countLine)
	k := knob{step: lineStep}
	now := set.LineOut.SI()
	sinking := slices.ContainsFunc(g.info.parts, func(p sternfan.Part) bool {
		kind := pl.lineKind(p.Gear)
		return kind == "lead-core" || kind == "copper" || kind == "weighted-steel"
	})
	switch {
	case pl.sc.Rods[g.rod].Fixed || g.info.starting == sternfan.StatusRefused:
		return knob{step: lineStep}
	case g.info.device != "":
		if pl.downrigger(g.info.device) >= 0 {
			d := &pl.sc.Downriggers[pl.downrigger(g.info.device)]
			k.count, k.step = countCable, pl.stepOf(countCable)
			k.lo = math.Max(6*foot, 2*set.AboveBall.SI()+3*foot)
			k.hi = math.Max(deepestCable, 1.3*d.CableOut.SI())
			if b := pl.sc.Water.Bottom; b.Given {
				k.hi = math.Min(k.hi, 1.1*b.SI())
			}
			k.hi = math.Max(k.hi, k.lo)
			return k
		}
		if set.Lead.Given {
			k.count, k.step = countLead, pl.stepOf(countLead)
			k.lo, k.hi = 20*foot, math.Max(120*foot, 1.3*set.Lead.SI())
		}
		return k
	case g.info.board:
		k.across = set.LineOut.Given
		if set.Lead.Given && !sinking {
			k.count, k.step = countLead, pl.stepOf(countLead)
			k.lo, k.hi = 20*foot, math.Max(150*foot, 1.3*set.Lead.SI())
		}
		return k
	case set.Colors.Given:
		k.count, k.step = countColors, pl.stepOf(countColors)
		k.lo, k.hi = 30*foot, set.Colors.SI()*30*foot
		if set.LineOut.Given {
			k.count, k.step = countLine, lineStep
			k.lo, k.hi = 0.8*now, 1.2*now
		}
		return k
	case !set.LineOut.Given:
		return k
	}
	k.count = countLine
	k.lo, k.hi = shortestLine, math.Max(longestLine, 1.5*now)
	if g.info.diver == "" {
		k.lo = math.Min(shortestLine/2, now)
	}
	if sinking {
		k.lo, k.hi = 0.5*now, 1.3*now
	}
	if b := pl.sc.Water.Bottom; b.Given && g.info.diver == "" {
		k.hi = math.Max(now, math.Min(k.hi, 12*b.SI()))
	}
	k.dial = g.info.diver == "directional" && set.Dial.Given && len(g.info.marks) > 0
	return k
}

// stepOf is by how much a setting is changed: as the file has it, or what is assumed.
func (pl *planner) stepOf(r *setting.Row) float64 {
	steps := &pl.sc.Wants.Lay.Steps
	own, fallback := steps.LineOut, 5*foot
	switch r {
	case countColors:
		return 30 * foot
	case dialMark:
		if steps.Dial.Given && steps.Dial.Value > 0 {
			return steps.Dial.Value
		}
		return r.Control.Step
	case countLead:
		own = steps.Lead
	case countCable:
		own, fallback = steps.CableOut, r.Control.Step*foot
	}
	return orLength(own, fallback)
}

func orLength(q sternfan.Q[unit.Length], fallback float64) float64 {
	if q.Given {
		return q.SI()
	}
	return fallback
}

func (pl *planner) downrigger(id string) int {
	return slices.IndexFunc(pl.sc.Downriggers, func(d sternfan.Downrigger) bool { return d.ID == id })
}

func (pl *planner) mastBoard(id string) int {
	return slices.IndexFunc(pl.sc.MastBoards, func(b sternfan.MastBoard) bool { return b.ID == id })
}

// now returns the setting that the rig has.
func (g *rigging) now(pl *planner) setTo {
	on := setting.Of(pl.sc, &g.def)
	s := setTo{dial: dialMark.Get(on).Number}
	if r := g.knob.count; r != nil {
		if s.count = r.Get(on).Number; r == countColors {
			s.count = s.count * 30 * foot
		}
	}
	if g.knob.across {
		s.across = countLine.Get(on).Number
	}
	return s
}

// set changes a rod, and the cable of its downrigger where there is one, to a setting.
func (g *rigging) set(s setTo, on setting.On) {
	put := func(r *setting.Row, v float64) {
		was := r.Get(on)
		if r.Kind != setting.Length || !was.Given || math.Abs(was.Number-v) > 1e-9 {
			r.Set(on, setting.Value{Given: true, Number: v})
		}
	}
	switch r := g.knob.count; r {
	case nil:
	case countColors:
		put(r, s.count/(30*foot))
	default:
		put(r, s.count)
	}
	if g.knob.across {
		put(countLine, s.across)
	}
	if g.knob.dial {
		put(dialMark, s.dial)
	}
}

// round brings a count to a whole step, in range.
func (k *knob) round(x float64) float64 {
	x = math.Round(x/k.step) * k.step
	for x > k.hi+1e-9 {
		x -= k.step
	}
	for x < k.lo-1e-9 {
		x += k.step
	}
	return x
}

// stands lists the holders that a way to rig may stand in.
func (pl *planner) stands(g *rigging) []int {
	file := &pl.sc.Rods[g.rod]
	var out []int
	for h := range pl.sc.Boat.Holders {
		holder := &pl.sc.Boat.Holders[h]
		if holder.ID == file.Holder || !file.Fixed && pl.suits(g, holder) {
			out = append(out, h)
		}
	}
	for _, p := range pl.sc.Wants.Lay.Places {
		if p.Rod == file.ID && !file.Fixed {
			out = out[:0]
			for h := range pl.sc.Boat.Holders {
				if slices.Contains(p.Holders, pl.sc.Boat.Holders[h].ID) {
					out = append(out, h)
				}
			}
		}
	}
	return out
}

// nearBoom is how far from its downrigger's boom or mast a rod may stand, m. Assumed.
const nearBoom = 3.5

// nearCenter is how far from the center line a rod must stand at the least for a rig that
// pulls to one side, m. Assumed.
const nearCenter = 0.6

// suits reports whether a rig can be fished from a holder: a rod on a downrigger near its
// boom and on its side, what pulls to one side not from amidships.
func (pl *planner) suits(g *rigging, h *sternfan.Holder) bool {
	side := h.Side()
	if g.info.device != "" {
		at, ok := pl.foot(g.info.device)
		mast := pl.mastBoard(g.info.device)
		if mast >= 0 {
			return side == pl.sc.MastBoards[mast].Side
		}
		return ok && h.Tip.Sub(at).Norm() <= nearBoom && side*sternfan.SideOf(at) >= 0
	}
	sideways := g.info.diver == "directional" || g.info.board
	return !sideways || math.Abs(h.Tip.Y) >= nearCenter
}
