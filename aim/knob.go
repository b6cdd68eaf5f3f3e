package aim

import (
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/setting"
	"sternfan/tackle"
	"sternfan/unit"
)

// The settings of the table that are aimed with.
var (
	keyLineOut = setting.Named("line_out")
	keyLead    = setting.Named("lead")
	keyDial    = setting.Named("dial")
	keyRing    = setting.Named("ring")
	keyCable   = setting.Named("cable_out")
	keyAbove   = setting.Named("above_ball")
	keyAlong   = setting.Named("along")
	keyColors  = setting.Named("colors")
	keySection = setting.Named("section") // as a reel or backing
)

// What else a hand can change: it is no setting of a rod in the file, and stands for a
// change of several, of the rig or of the whole boat.
var (
	keyWeight  = &setting.Row{ID: "weight", Kind: setting.Word}
	keyBacking = &setting.Row{ID: "backing", Kind: setting.Length, Control: keyLead.Control}
	keyReel    = &setting.Row{ID: "reel", Kind: setting.Length, Control: keyLead.Control}
	keySpeed   = &setting.Row{ID: "speed"}
)

// inHands is the order in which hands do them: what is tied on, then as the table has it.
var inHands = func() []*setting.Row {
	out := []*setting.Row{keyReel, keyWeight}
	for r := range setting.Hands {
		if out = append(out, r); r == keyLead {
			out = append(out, keyBacking)
		}
	}
	return append(out, keySpeed)
}()

// named returns what hands change by the name that --keep takes.
func named(key string) *setting.Row {
	i := slices.IndexFunc(inHands, func(r *setting.Row) bool { return r.Option() == key })
	return inHands[i]
}

// options are the names that --keep takes.
func options(keys []*setting.Row) (out []string) {
	for _, r := range keys {
		out = append(out, r.Option())
	}
	return out
}

// setTo is a value for a key: SI, a mark, 0 or 1, or the number of a weight.
type setTo struct {
	key   *setting.Row
	value float64
}

// mode is one way of aiming: which setting is found and which are taken from lists.
type mode struct {
	vary     *setting.Row
	lo, hi   float64
	axes     []axis
	cost     float64
	topWhy   string // what ends at hi
	leastWhy string
}

type axis struct {
	key    *setting.Row
	values []float64
}

// Bounds of what is let out when nothing in the file says; assumed.
const (
	leastOut   = 15 * float64(unit.Foot) // the diver or lure clear of the boat
	mostOut    = 600 * float64(unit.Foot)
	mostCable  = 300 * float64(unit.Foot)
	mostBack   = 300 * float64(unit.Foot) // of backing behind a board
	mostBehind = 400 * float64(unit.Foot) // behind a board: more fouls the neighbors
	leastLead  = 6 * float64(unit.Foot)   // a slide-through diver stops there
	mostLead   = 100 * float64(unit.Foot) // of a slide-through diver; common practice
	leastCable = 3 * float64(unit.Foot)
	nearBall   = 1 * float64(unit.Foot)
	slowest    = 1.0 * float64(unit.MilePerHour) // common practice, no source
	fastest    = 3.5 * float64(unit.MilePerHour)
)

// nowAt returns the present value of a setting.
func (k *aiming) nowAt(key *setting.Row) float64 {
	switch key {
	case keyBacking:
		return max(0, k.Settings().Lead.SI()-k.facts.long-k.facts.rest)
	case keyReel:
		return k.facts.long
	case keyWeight:
		return float64(slices.Index(k.weights(), k.Parts()[k.facts.weight].Gear))
	case keySpeed:
		return k.Model.GivenSpeed()
	}
	now := key.Get(setting.Of(k.Scenario, &k.Scenario.Rods[k.Rod]))
	if key == keyAbove && !now.Given {
		return .5 // where a release goes when nothing is said
	}
	return now.Number
}

// wholeMeters is the step of what is counted in meters but for a release's height, which
// is paced off in halves. Counters show whole ones.
const wholeMeters = 1

// step is what a hand can set: a count, a mark.
func (k *aiming) step(key *setting.Row) float64 {
	u := k.boat.opt.Units
	_, _, step, of := key.Scale(u)
	switch {
	case key == keyDial:
		return k.dialStep()
	case key == keySpeed && u == unit.SI:
		return .05
	case key == keySpeed:
		return .1 * float64(unit.MilePerHour)
	case of == "m" && key != keyAbove:
		return wholeMeters
	case of == "ft":
		return step * float64(unit.Foot)
	}
	return step
}

// dialStep is the diver's real step: half a mark, or less where its table has less.
func (k *aiming) dialStep() float64 {
	step := .5
	d := k.facts.diver
	for i := 1; d != nil && i < len(d.DialMarks); i++ {
		step = min(step, d.DialMarks[i]-d.DialMarks[i-1])
	}
	return max(step, .1)
}

func (k *aiming) dialMarks() []float64 {
	d := k.facts.diver
	if len(d.DialMarks) == 0 {
		return []float64{k.nowAt(keyDial)}
	}
	step, last := k.dialStep(), d.DialMarks[len(d.DialMarks)-1]
	var out []float64
	for i := 0.0; i*step <= last+1e-9; i++ {
		out = append(out, i*step)
	}
	if now := k.nowAt(keyDial); !slices.ContainsFunc(out, func(m float64) bool { return math.Abs(m-now) < 1e-9 }) {
		out = append(out, now)
		slices.Sort(out)
	}
	return out
}

// weights are the ids that can take the place of the rod's weight: the file's own, and
// the built-in ones of the same make.
func (k *aiming) weights() []string {
	now := k.Parts()[k.facts.weight].Gear
	out := []string{now}
	family, _, _ := strings.Cut(now, "-")
	for _, w := range k.boat.sc.Gear.Weights {
		if !slices.Contains(out, w.ID) {
			out = append(out, w.ID)
		}
	}
	for _, id := range tackle.Names("weight") {
		if f, _, _ := strings.Cut(id, "-"); f == family && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// keys are the settings that this rig has, in the order of hands.
func (k *aiming) keys() []*setting.Row {
	return slices.DeleteFunc(slices.Clone(inHands), func(key *setting.Row) bool { return !k.rigged(key) })
}

// rigged reports whether this rig has a setting.
func (k *aiming) rigged(key *setting.Row) bool {
	f, set := &k.facts, k.Settings()
	clipped := f.downrigger >= 0 || f.mast >= 0
	whole := f.behind && f.section != nil
	switch key {
	case keyReel, keyBacking:
		return whole
	case keyWeight:
		return f.weight >= 0
	case keyRing:
		return f.diver != nil && f.diver.RingDiameter.Given
	case keyDial:
		return f.diver != nil && len(f.diver.DialMarks) > 0
	case keyLead:
		return f.slides || clipped || f.board && !whole
	case keyAbove, keyCable:
		return f.downrigger >= 0
	case keyAlong:
		return f.mast >= 0
	case keyColors:
		return f.byColors && !f.behind && !set.LineOut.Given
	case keyLineOut:
		return !clipped && set.LineOut.Given
	}
	return key == keySpeed
}

// modes are the ways of aiming that leave alone what is kept. The speed, which moves
// every rod, comes only where nothing else does.
func (k *aiming) modes(keep []string) []mode {
	f := &k.facts
	free := func(key *setting.Row) bool { return k.rigged(key) && !slices.Contains(keep, key.Option()) }
	var axes []axis
	if free(keyWeight) {
		a := axis{key: keyWeight}
		for i := range k.weights() {
			a.values = append(a.values, float64(i))
		}
		axes = append(axes, a)
	}
	if free(keyRing) {
		axes = append(axes, axis{keyRing, []float64{0, 1}})
	}
	dial := axis{key: keyDial}
	if free(keyDial) {
		dial.values = k.dialMarks()
	}
	with := func(more ...axis) []axis {
		out := slices.Clone(axes)
		for _, a := range more {
			if len(a.values) > 0 {
				out = append(out, a)
			}
		}
		return out
	}
	var out []mode
	switch whole := f.behind && f.section != nil; {
	case f.downrigger >= 0:
		out = k.onCable(free, axes)
	case f.mast >= 0:
		if free(keyLead) {
			out = append(out, k.behind(with(dial), 0))
		}
	case whole:
		out = k.goneOut(free, with(dial))
	case f.board && free(keyLead):
		out = append(out, k.behind(with(dial), k.nowAt(keyLineOut)))
	case free(keyColors):
		out = append(out, mode{vary: keyColors, lo: keyColors.Control.Least, hi: max(fullCore, k.nowAt(keyColors)), axes: axes, topWhy: "all of the core is out"})
	case free(keyLineOut):
		lead := axis{key: keyLead}
		if free(keyLead) && f.slides {
			lead.values = k.leads()
		}
		least := min(leastOut, k.nowAt(keyLineOut))
		if f.section != nil {
			least = max(least, f.rest+k.overTip()+2*hair) // what is tied to it is out
		}
		out = append(out, mode{vary: keyLineOut, lo: least, hi: k.mostOut(0), axes: with(dial, lead), topWhy: k.spoolWhy(), leastWhy: "the lure comes to the boat"})
	case f.slides && free(keyLead):
		out = append(out, mode{vary: keyLead, lo: leastLead, hi: max(mostLead, k.nowAt(keyLead)), axes: with(dial)})
	case free(keyDial):
		marks := k.facts.diver.DialMarks
		out = append(out, mode{vary: keyDial, hi: marks[len(marks)-1], axes: axes, leastWhy: "the dial is at 0", topWhy: "the dial has no further mark"})
	}
	if len(out) == 0 && free(keySpeed) {
		out = append(out, bySpeed(with(dial)))
	}
	return out
}

func bySpeed(axes []axis) mode {
	return mode{vary: keySpeed, lo: slowest, hi: fastest, axes: axes, cost: 2, leastWhy: "slower than trolling", topWhy: "faster than trolling"}
}

// onCable are the modes of a rod on a downrigger.
func (k *aiming) onCable(free func(key *setting.Row) bool, axes []axis) (out []mode) {
	cable := k.nowAt(keyCable)
	if free(keyAbove) {
		out = append(out, mode{vary: keyAbove, lo: nearBall, hi: cable - nearBall, axes: axes, cost: 1,
			topWhy: "the release is at the top of the cable", leastWhy: "the release is at the ball"})
	}
	if free(keyCable) {
		least := leastCable
		for i := range k.Scenario.Rods {
			least = max(least, k.Scenario.Rods[i].Settings.AboveBall.SI()+nearBall)
		}
		out = append(out, mode{vary: keyCable, lo: least, hi: max(mostCable, cable), axes: axes, topWhy: "no more cable is reckoned with"})
	}
	if len(out) == 0 && free(keyLead) {
		out = append(out, mode{vary: keyLead, lo: leastLead, hi: max(mostLead, k.nowAt(keyLead)), axes: axes})
	}
	return out
}

// goneOut are the modes of a sinking section that goes out whole behind a board.
func (k *aiming) goneOut(free func(key *setting.Row) bool, axes []axis) (out []mode) {
	if free(keyBacking) {
		m := mode{vary: keyBacking, lo: hair, hi: mostBack, axes: axes, topWhy: "no more backing is reckoned with", cost: 1}
		if free(keyReel) {
			m.axes = append(m.axes, axis{keyReel, k.sections()})
		}
		out = append(out, m)
	}
	if free(keySpeed) {
		out = append(out, bySpeed(nil))
	}
	return out
}

// behind is the mode of a line that trails from a board.
func (k *aiming) behind(axes []axis, ahead float64) mode {
	m := mode{vary: keyLead, lo: leastOut, hi: max(mostBehind, k.nowAt(keyLead)), axes: axes, topWhy: "a longer lead would foul the neighbors"}
	if out := k.mostOut(ahead); out < m.hi {
		m.hi, m.topWhy = out, k.spoolWhy()
	}
	m.lo = min(m.lo, k.nowAt(keyLead))
	return m
}

// sideKey is the setting that moves the lure to the side alone: the line to a board or
// along a mast board's. nil when the rig has none or it is kept.
func (k *aiming) sideKey() *setting.Row {
	var key *setting.Row
	switch {
	case k.facts.mast >= 0:
		key = keyAlong
	case k.facts.board:
		key = keyLineOut
	}
	if key != nil && slices.Contains(k.req.Keep, key.Option()) {
		return nil
	}
	return key
}

// mostOut is how much can go out, m, with so much of it ahead of the device.
func (k *aiming) mostOut(ahead float64) float64 {
	if k.facts.spool > 0 {
		return max(k.facts.spool-ahead+min(k.overTip(), 0), 2*leastOut)
	}
	return max(mostOut, k.nowAt(keyLineOut), k.nowAt(keyLead))
}

func (k *aiming) spoolWhy() string {
	if k.facts.spool > 0 {
		return "the spool ends"
	}
	return "no more line is reckoned with: give the rod its reel"
}

// leads are the leads of a slide-through diver worth trying: the present one and a few
// over the usual range (20 to 100 ft, common practice).
func (k *aiming) leads() []float64 {
	out := []float64{k.nowAt(keyLead)}
	for _, ft := range []float64{20, 50, 80} {
		if v := ft * float64(unit.Foot); math.Abs(v-out[0]) > 3 {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// sections are the lengths of lead core, copper or steel that other reels may hold.
func (k *aiming) sections() []float64 {
	out := []float64{k.facts.long}
	add := func(v float64) {
		if math.Abs(v-k.facts.long) > 1 {
			out = append(out, v)
		}
	}
	if k.facts.byColors {
		for n := 1.0; n <= fullCore; n++ {
			add(n * float64(unit.Color))
		}
	} else if sectionLength(k.Scenario, &k.Scenario.Rods[k.Rod]) > 0 || k.Settings().Section.Given {
		for ft := 50.0; ft <= 400; ft += 50 {
			add(ft * float64(unit.Foot))
		}
	}
	slices.Sort(out)
	return out
}

// with returns a copy of the bench's scenario with the settings.
func (k *aiming) with(settings ...setTo) *sternfan.Scenario {
	sc := *k.Scenario
	sc.Rods, sc.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	for _, s := range settings {
		k.apply(&sc, s)
	}
	return &sc
}

func put[U ~float64](q *sternfan.Q[U], v float64) {
	q.Value, q.Given = U(v), true
}

func (k *aiming) apply(sc *sternfan.Scenario, s setTo) {
	rod := &sc.Rods[k.Rod]
	set := &rod.Settings
	switch s.key {
	case keyBacking:
		long := k.facts.long
		if k.facts.byColors {
			long = set.Colors.SI() * float64(unit.Color)
		} else if set.Section.Given {
			long = set.Section.SI()
		} else if l := sectionLength(sc, rod); l > 0 {
			long = l
		}
		put(&set.Lead, long+k.facts.rest+s.value)
	case keyReel:
		back := set.Lead.SI() - k.facts.long - k.facts.rest
		if k.facts.byColors {
			put(&set.Colors, s.value/float64(unit.Color))
		} else if set.Section.Given {
			put(&set.Section, s.value)
		} else {
			sc.Gear.Leaders = slices.Clone(sc.Gear.Leaders)
			if l := sternfan.FindGear(sc.Gear.Leaders, rod.Rig.Weighted); l != nil {
				put(&l.Length, s.value)
			}
		}
		put(&set.Lead, s.value+k.facts.rest+max(back, 0))
	case keyWeight:
		id := k.weights()[int(s.value)]
		for _, list := range []*[]sternfan.Part{&rod.Rig.Behind, &rod.Rig.Parts} {
			for i := range *list {
				if (*list)[i].Kind == sternfan.PartWeight {
					*list = slices.Clone(*list)
					(*list)[i].Gear = id
					break
				}
			}
		}
	case keySpeed:
		put(&sc.Speed.Value, s.value)
	default:
		s.key.Set(setting.Of(sc, rod), setting.Value{Given: true, Number: s.value})
	}
}

// sectionLength returns the length that a rod's named section has by itself, m.
func sectionLength(sc *sternfan.Scenario, rod *sternfan.Rod) float64 {
	if l := sternfan.FindGear(sc.Gear.Leaders, rod.Rig.Weighted); l != nil {
		return l.Length.SI()
	}
	return 0
}

// combinations are every choice from the axes.
func combinations(axes []axis) [][]setTo {
	out := [][]setTo{nil}
	for _, a := range axes {
		var next [][]setTo
		for _, c := range out {
			for _, v := range a.values {
				next = append(next, append(slices.Clone(c), setTo{a.key, v}))
			}
		}
		out = next
	}
	return out
}
