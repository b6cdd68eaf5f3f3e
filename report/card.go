package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// CardOptions says what the card for the helm is made of beside the fan.
type CardOptions struct {
	Options // the scenario should be the resolved one, with every rig as its parts

	Page  Page
	Order []string // rod ids in the order to set; those left out follow in that of SettingOrder
	// The same spread a little slower and faster; nil leaves their columns out.
	Slower, Faster *sternfan.Fan
	Date, File     string // as they are to be printed
}

// Page is a sheet of paper, mm.
type Page struct{ Wide, Tall float64 }

// The pages of a card.
var (
	PageA5     = Page{148, 210}
	PageLetter = Page{215.9, 279.4}
)

// CardStep is how much slower and faster the card's other columns are, m/s: 0.3 mph.
const CardStep = 0.3 * 0.44704

// surgePull is what a surge of a fifth in speed does to a pull, which goes with the square
// of speed: 1.2 times 1.2, rounded. The drag is set above it. Common practice, no source.
const surgePull = 1.4

// dragShare is the part of the weakest line's label strength that a drag is set to at most,
// the knots' loss included. Common practice (a quarter to a third), no source.
const dragShare = 1.0 / 3

// weakest returns the least label strength among a rod's line, leaders and sections, N, and
// whose it is; 0 when none is known.
func weakest(sc *sternfan.Scenario, r *sternfan.Rod) (strength float64, of string) {
	gear := map[string]bool{}
	var walk func(parts []sternfan.Part, depth int)
	walk = func(parts []sternfan.Part, depth int) {
		const deepestRig = 8
		for i := range parts {
			switch parts[i].Kind {
			case sternfan.PartLine, sternfan.PartLeader:
				gear[parts[i].Gear] = true
			}
			if depth < deepestRig {
				walk(parts[i].Parts, depth+1)
			}
		}
	}
	walk(r.Rig.Parts, 0)
	for i := range sc.Gear.Leaders {
		if l := &sc.Gear.Leaders[i]; gear[l.ID] {
			gear[l.Line] = true
		}
	}
	for i := range sc.Gear.Lines {
		l := &sc.Gear.Lines[i]
		if v := l.Strength.SI(); gear[l.ID] && v > 0 && (of == "" || v < strength) {
			strength, of = v, l.ID
		}
	}
	return strength, of
}

// SettingOrder returns the rods in an order to set them, from the outside in: by how far
// to the side the lure runs, farthest first, in steps of 3 m (10 ft); of those alike in
// that, the shallower first; port before starboard. So shallow gear that runs wide is out
// before deep gear near the boat, and no line is led across another that is out already.
// Rods stacked on one downrigger follow one another, the lowest first: the cable goes down
// with them.
func SettingOrder(fan *sternfan.Fan, sc *sternfan.Scenario) []string {
	const alike = 3.0
	rods := portToStarboard(fan.Rods)
	slices.SortStableFunc(rods, func(a, b *sternfan.Track) int {
		la, lb := mainLure(a), mainLure(b)
		return cmp.Or(-cmp.Compare(math.Floor(math.Abs(la.Side)/alike), math.Floor(math.Abs(lb.Side)/alike)), cmp.Compare(la.Depth, lb.Depth))
	})
	var ids []string
	for _, t := range rods {
		ids = append(ids, t.Rod)
	}
	if sc == nil {
		return ids
	}
	for _, d := range sc.Downriggers {
		stack := stackOn(sc, d.ID)
		first := slices.IndexFunc(ids, func(id string) bool { return slices.Contains(stack, id) })
		if first < 0 {
			continue
		}
		stack = slices.DeleteFunc(stack, func(id string) bool { return !slices.Contains(ids, id) })
		ids = slices.DeleteFunc(ids, func(id string) bool { return slices.Contains(stack, id) })
		ids = slices.Insert(ids, first, stack...)
	}
	return ids
}

// stackOn returns the rods clipped to a downrigger, the lowest first.
func stackOn(sc *sternfan.Scenario, rigger string) []string {
	var stack []*sternfan.Rod
	for i := range sc.Rods {
		if sc.Rods[i].Device() == rigger {
			stack = append(stack, &sc.Rods[i])
		}
	}
	slices.SortStableFunc(stack, func(a, b *sternfan.Rod) int {
		return cmp.Compare(a.Settings.AboveBall.SI(), b.Settings.AboveBall.SI())
	})
	var ids []string
	for _, r := range stack {
		ids = append(ids, r.ID)
	}
	return ids
}

// mainLure returns the lure that a rod is set for; where there is none, its deepest body.
func mainLure(t *sternfan.Track) *sternfan.BodyFan {
	if len(t.Lures) > 0 {
		return &t.Lures[0].BodyFan
	}
	b := &sternfan.BodyFan{}
	for i := range t.Bodies {
		if t.Bodies[i].Depth > b.Depth {
			b = &t.Bodies[i]
		}
	}
	return b
}

func rodOf(sc *sternfan.Scenario, id string) *sternfan.Rod {
	if sc == nil {
		return nil
	}
	return sc.Rod(id)
}

// handSteps returns what to dial and count for a rod in the order of hands. Without the
// scenario they are the settings as they stand.
func handSteps(sc *sternfan.Scenario, t *sternfan.Track, u unit.System) []string {
	r := rodOf(sc, t.Rod)
	if r == nil {
		return strings.Split(clean(t.Settings), ", ")
	}
	var out []string
	step := func(words string) { out = append(out, words) }
	on := setting.Of(sc, r)
	set := func(id string) {
		if row := setting.Named(id); row.Get(on).Given {
			step(row.Card(on, setting.Counted(u)))
		}
	}
	s := on.Settings
	has := func(kinds ...sternfan.PartKind) bool {
		return slices.ContainsFunc(r.Rig.Parts, func(p sternfan.Part) bool { return slices.Contains(kinds, p.Kind) })
	}
	diver := r.Rig.Diver != "" || has(sternfan.PartDiver)
	board := r.Rig.Board != "" || has(sternfan.PartBoard)
	slide := r.Rig.Kind == sternfan.RigSlideThrough || slides(sc, r)
	if diver && !slide {
		set("dial")
		set("ring")
	}
	set("tripped")
	set("section")
	if s.Colors.Given {
		set("colors")
	} else {
		set("lead")
	}
	switch {
	case diver && slide:
		step("clamp diver")
	case board:
		side := ""
		if int(s.Side) != t.Side { // else the row says it
			side = ", to " + s.Side.String()
		}
		step("clip board" + side)
	}
	if r.Device() == "" {
		set("line_out")
		return out
	}
	if d := on.Downrigger; d != nil {
		if s.AboveBall.SI() > 0 {
			set("above_ball")
		} else {
			step("clip")
		}
		if stack := stackOn(sc, d.ID); stack[len(stack)-1] != r.ID {
			// Only to where the next release goes on.
			next := rodOf(sc, stack[slices.Index(stack, r.ID)+1])
			short := *d
			short.CableOut.Value = min(d.CableOut.Value, next.Settings.AboveBall.Value)
			on.Downrigger = &short
		}
		set("cable_out")
	}
	if on.MastBoard != nil {
		step("clip")
		set("along")
	}
	if believed(t) {
		step("reel to " + strings.Replace(u.Force(unit.Force(t.TipPull)), ".0 ", " ", 1))
	}
	if len(r.Rig.Slider) > 0 || has(sternfan.PartSlider) {
		step("add slider")
	}
	return out
}

// slides reports whether the rod's diver is one that is clamped on the line.
func slides(sc *sternfan.Scenario, r *sternfan.Rod) bool {
	for _, p := range r.Rig.Parts {
		for i := range sc.Gear.Divers {
			if d := &sc.Gear.Divers[i]; p.Kind == sternfan.PartDiver && d.ID == p.Gear && d.Kind == "slide-through" {
				return true
			}
		}
	}
	return false
}

// cardRow is what the card says of one rod.
type cardRow struct {
	track           *sternfan.Track
	number          string
	name, lure      string
	steps           []string
	flag            string // a short caution, in place
	trouble         string
	more            []string // further lures
	pull, drag      string
	sideway, astern string
	depth, span     [3]string // slower, as set, faster
}

// CardOrder returns the rods in the order in which a card has them.
func CardOrder(fan *sternfan.Fan, opt CardOptions) []string {
	ids := []string{}
	for _, id := range slices.Concat(opt.Order, SettingOrder(fan, opt.Scenario)) {
		if !slices.Contains(ids, id) && trackOf(fan, id) != nil {
			ids = append(ids, id)
		}
	}
	return ids
}

// cardRows returns the rows in the order to set.
func cardRows(fan *sternfan.Fan, opt *CardOptions) []*cardRow {
	hung := map[string]bool{} // riggers whose caution was said
	var rows []*cardRow
	for i, id := range CardOrder(fan, *opt) {
		t := trackOf(fan, id)
		r := &cardRow{track: t, number: strconv.Itoa(i + 1), name: name(t), steps: handSteps(opt.Scenario, t, opt.Units)}
		if len(t.Lures) > 0 {
			r.lure = kindName(t.Lures[0].Kind, t.Lures[0].ID)
		}
		r.flag = cardFlag(opt.Scenario, rodOf(opt.Scenario, id), hung)
		if needsHand(fan, t) {
			wrong, step := troubleWords(fan, t)
			r.trouble = sentence(wrong) + " " + sentence(step)
		}
		r.numbers(fan, opt)
		rows = append(rows, r)
	}
	return rows
}

func trackOf(fan *sternfan.Fan, id string) *sternfan.Track {
	if fan == nil {
		return nil
	}
	for i := range fan.Rods {
		if fan.Rods[i].Rod == id {
			return &fan.Rods[i]
		}
	}
	return nil
}

// numbers fills the cells with where the rod runs and what it pulls.
func (r *cardRow) numbers(fan *sternfan.Fan, opt *CardOptions) {
	u, t := opt.Units, r.track
	pull := t.TipPull
	for i, at := range []*sternfan.Fan{opt.Slower, fan, opt.Faster} {
		of := trackOf(at, t.Rod)
		switch {
		case of == nil:
		case !believed(of):
			r.depth[i], r.span[i] = "?", "unknown"
		default:
			b := mainLure(of)
			r.depth[i], r.span[i] = depthNumber(u, b), spanNumber(u, b)
			if word := cardTrouble(at, t.Rod); at != fan && word != "" && cardTrouble(fan, t.Rod) == "" {
				r.span[i] = word
			}
		}
		if i == 2 && of != nil && believed(of) {
			pull = of.TipPull
		}
	}
	if !believed(t) {
		return
	}
	b := mainLure(t)
	r.sideway = sideNumber(u, b.Side)
	r.astern, _ = u.Split(unit.DepthStyle, b.Astern)
	r.pull, _ = u.Split(unit.ForceStyle, t.TipPull)
	drag := math.Max(surgePull*t.TipPull, pull)
	r.drag = dragSetting(drag, u)
	if rod := rodOf(opt.Scenario, t.Rod); rod != nil {
		if most, of := weakest(opt.Scenario, rod); most > 0 && drag > dragShare*most {
			r.flag = strings.TrimPrefix(r.flag+"; drag over a third of "+clean(of), "; ")
		}
	}
	for i := range t.Lures {
		if i > 0 {
			l := &t.Lures[i]
			r.more = append(r.more, fmt.Sprintf("also %s: %s, %s astern", kindName(l.Kind, l.ID), depthWords(u, &l.BodyFan), u.Depth(unit.Length(l.Astern))))
		}
	}
}

// dragSetting rounds a pull up to what a scale can be read to: whole pounds, 5 N.
func dragSetting(newtons float64, u unit.System) string {
	step := 5.0
	if u == unit.US {
		step = float64(unit.PoundForce)
	}
	return strconv.FormatFloat(math.Ceil(newtons/step-1e-9)*step/map[unit.System]float64{unit.US: step, unit.SI: 1}[u], 'f', 0, 64)
}

// cardTroubles are what may go wrong with a line at another speed, in a word, by the code
// of the finding.
var cardTroubles = map[string]string{"bottom": "bottom!", "surface": "surface!", "over-strength": "overload!", "beyond-spool": "spool!",
	"trips": "trips!", "board-under": "sinks!", "slack": "slack!"}

// cardTrouble says in a word what is wrong with a line at another speed, "" for nothing.
func cardTrouble(fan *sternfan.Fan, id string) string {
	if fan.Verdict == nil {
		return ""
	}
	for _, f := range fan.Verdict.Findings {
		if word := cardTroubles[f.Code]; word != "" && !f.Grade.Clear() && slices.Contains(f.Rods, id) {
			return word
		}
	}
	return ""
}

// cardFlag returns the short caution that belongs to a rod.
func cardFlag(sc *sternfan.Scenario, r *sternfan.Rod, hung map[string]bool) string {
	if r == nil {
		return ""
	}
	used := rodLines(sc, r)
	var out []string
	for _, k := range []string{"wire", "copper", "weighted-steel", "cable", "lead-core"} {
		if used[k] {
			out = append(out, "gloves, no wraps")
			break
		}
	}
	if on := r.Device(); on != "" && !hung[on] && sc.Downrigger(on) != nil {
		hung[on] = true
		out = append(out, "ball hung: slow into it")
	}
	return strings.Join(out, "; ")
}

// footNote is a sentence at the foot.
type footNote struct {
	text   string
	strong bool // it is about someone getting hurt
}

// cardCautions returns what stands at the foot, what hurts first.
func cardCautions(fan *sternfan.Fan, opt *CardOptions) []footNote {
	var out []footNote
	add := func(strong bool, text string) {
		if text != "" {
			out = append(out, footNote{text, strong})
		}
	}
	sc := opt.Scenario
	if sc != nil {
		used := linesUsed(sc)
		if used["wire"] || used["copper"] || used["weighted-steel"] || used["cable"] || used["lead-core"] {
			add(true, "Wire, copper, lead core cut under load: gloves on. Cut kinks out.")
		}
	}
	add(true, "Hand-line without a wrap on the hand. Keep clear of hooks.")
	if sc != nil && len(sc.Downriggers) > 0 {
		add(true, "Ball hung: slow down into it, let cable run, cutter ready.")
	}
	add(true, "Not for navigation: give way, keep a look-out; local rules decide.")
	add(false, cardWater(opt))
	if sc != nil {
		if w := sternfan.ReleaseCaution(sc.Water.Temperature, sc.Wants.Species, opt.Units); w != nil {
			add(false, sentence(w.Text))
		}
	}
	add(false, "Depths are worked out; 4 times in 5 they lie in the small figures. Drag: above a surge of the pull; up to a third of the weakest line's label, knots included.")
	if sc != nil && isDemo(sc.Note) {
		add(false, "Demo data, invented.")
	}
	return out
}

// cardWater says in one line what the water is and where the species' temperatures lie.
func cardWater(opt *CardOptions) string {
	sc, u := opt.Scenario, opt.Units
	if sc == nil || len(sc.Water.Temperature) < 2 {
		return ""
	}
	p := sc.Water.Temperature
	last := p[len(p)-1]
	out := "Water " + u.Temperature(p[0].Temperature) + " at the surface, " + u.Temperature(last.Temperature) + " at " + u.Depth(last.Depth)
	if m := clean(sc.Water.Measured); m != "" {
		out += " (" + m + ")"
	}
	out += "."
	if advice := adviceWords(sc, u); advice != "" {
		out += " " + advice
	}
	return out
}
