package report

import (
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Sizes of the card's words at its natural scale, mm, and the least that small words
// shrink to: 16 minutes of arc for a capital letter at arm's length (0.7 m) are 3.3 mm
// (ISO 9241-303), and capitals are 0.72 of these heights.
const (
	cardHead   = 5.6 // title
	cardName   = 4.4 // rods and steps
	cardNumber = 5.2 // the depth as set
	cardOther  = 4.2 // the other numbers
	cardSmall  = 3.1 // intervals, lures, cautions
	cardLeast  = 2.3 // of small words
	cardLine   = 1.16
	cardGap    = 2.0 // between columns, mm

	mostScale  = 1.25
	easyScale  = 0.75 // down to which the plan's room counts more than larger words
	leastScale = 0.66
	scaleStep  = 0.03
	footShare  = 0.31 // of the page's width, for the cautions beside the plan

	planTitles = 4.8 // of the lines plan on a card: over each view, under it, at its left
	planAxis   = 4.6
	planBand   = 8.0
	planGap    = 6.0
	planAstern = 25.0 // least width of the view from astern
)

// Card returns one page for the helm: the rods in the order to set, with what to dial and
// count, where each runs with its interval, the same slower and faster, the drag, the
// lines plan with the rods by their numbers, and the cautions. It always is one page; the
// words are as large as the page allows.
//
// The drawing is bare: every word stands in its views.
func Card(fan *sternfan.Fan, opt CardOptions) *sternfan.Drawing {
	if opt.Page == (Page{}) {
		opt.Page = PageA5
	}
	c := &card{fan: fan, opt: &opt, rows: cardRows(fan, &opt), edge: 0.047 * opt.Page.Wide}
	c.foot = cardCautions(fan, &opt)
	c.fit()
	d := &sternfan.Drawing{
		Title: title(fan, opt.Scenario), Alt: c.alt(), Bare: true, Sheet: opt.Page.Wide,
		Width: opt.Page.Wide * c.mm, Height: opt.Page.Tall * c.mm,
	}
	d.Views = append(d.Views, c.page())
	if c.plan != nil {
		d.Views = append(d.Views, c.plan.above(), c.plan.side(), c.plan.astern())
	}
	return tidy(d)
}

type card struct {
	fan  *sternfan.Fan
	opt  *CardOptions
	rows []*cardRow
	foot []footNote
	edge float64 // margin of the page, mm

	scale    float64
	columns  []cardColumn
	flex     float64 // width for words, mm
	footWide float64 // of the cautions
	corner   bool    // they stand in the plan's free corner, what hurts no one under it
	plan     *planner
	mm       float64 // meters of the drawing per mm
	marks    []sternfan.Shape
}

// cardColumn is a column of numbers: a large one over a small one.
type cardColumn struct {
	head         [3]string
	class        string
	size         float64
	over, under  func(r *cardRow) string
	right, width float64
}

func (c *card) size(natural float64) float64 {
	if natural <= cardSmall {
		// Small words stop shrinking before the others, but not for a page of 60 rods.
		return math.Max(natural*c.scale, cardLeast*math.Min(1, c.scale/leastScale))
	}
	return natural * c.scale
}

// fit finds the largest scale at which everything has room. The lines plan stands under
// the rows with the cautions at its right; where the rods leave it no room, the cautions
// alone go across the foot.
func (c *card) fit() {
	inner := c.opt.Page.Tall - 2*c.edge
	c.mm = 1
	if len(c.rows) > 0 {
		c.footWide = footShare * (c.opt.Page.Wide - 2*c.edge)
		for _, try := range []struct{ plan, least float64 }{{0.35, easyScale}, {0.3, easyScale}, {0.25, leastScale}, {0.2, leastScale}} {
			for c.scale = mostScale; c.scale > try.least; c.scale -= scaleStep {
				c.measure()
				if rest := inner - c.headTall() - c.rowsTall(); math.Max(c.footTall(), try.plan*c.opt.Page.Tall) <= rest {
					c.layPlan(rest)
					return
				}
			}
		}
	}
	if len(c.rows) > 0 {
		c.foot = append(c.foot, footNote{text: "No room for the lines plan: take larger paper, or see it with sternfan run."})
	}
	c.footWide = c.opt.Page.Wide - 2*c.edge
	for c.scale = mostScale; c.scale > 0.05; c.scale *= 1 - scaleStep {
		if c.measure(); c.headTall()+c.rowsTall()+c.footTall() <= inner {
			break
		}
	}
}

// layPlan puts the lines plan into a height under the rows: across the page with the cautions
// in its free corner, over the view from astern, and the notes under it; or beside them all;
// whichever shows it larger.
func (c *card) layPlan(tall float64) {
	wide := c.opt.Page.Wide - 2*c.edge
	beside := c.planner()
	beside.layInto(wide-c.footWide-planGap, tall-2, 0)
	c.plan, c.mm = beside, beside.mm
	const step = 1.0
	was := c.footWide
	c.corner = true
	for need := 0.0; need < tall; {
		across := c.planner()
		across.layInto(wide, tall-2-c.notesTall(), need)
		if across.mm >= beside.mm {
			break
		}
		above := across.f.side() / across.mm
		room := wide - across.band - across.f.astern()/across.mm - across.gap
		if c.footWide = room; room > 0.2*wide && c.footTall() <= above+planTitles {
			c.plan, c.mm = across, across.mm
			return
		}
		need = above + step // the smaller the plan, the wider its corner
	}
	c.footWide, c.corner = was, false
}

// notes returns the lines of the notes that stand under the plan.
func (c *card) notes() []string {
	var rest []string
	for _, n := range c.foot {
		if !n.strong {
			rest = append(rest, n.text)
		}
	}
	return wrapped(strings.Join(rest, " "), "page", c.size(cardSmall), c.opt.Page.Wide-2*c.edge)
}

func (c *card) notesTall() float64 { return 1 + float64(len(c.notes()))*cardLine*c.size(cardSmall) }

// planner returns one for the card's plan, without a scale yet.
func (c *card) planner() *planner {
	p := &planner{fan: c.fan, sc: c.opt.Scenario, u: c.opt.Units, hull: hull(c.opt.Scenario), titles: planTitles, band: planBand, brief: true,
		left: c.edge, top: c.edge + c.headTall() + c.rowsTall() + 1}
	p.rods, p.devices = portToStarboard(c.fan.Rods), portToStarboard(c.fan.Devices)
	p.tags = map[*sternfan.Track]string{}
	for _, r := range c.rows {
		p.tags[r.track] = r.number
	}
	return p
}

// layInto finds the one scale at which the three views fill a room, mm, that from above being
// at least so tall.
func (p *planner) layInto(wide, tall, above float64) {
	p.f = extent(append(slices.Clone(p.rods), p.devices...), p.hull)
	f := &p.f
	if b := p.fan.Water.Bottom; b != nil && *b > 0 && *b < 1.6*f.depthTo+3 {
		p.bottom = true
		f.depthTo = math.Max(f.depthTo, *b+0.06*f.depth())
	}
	p.gap = planGap
	wide -= p.band + p.gap
	tall -= 2*p.titles + planAxis
	p.mm = 1 / math.Min(wide/(f.astern()+f.side()), tall/(f.side()+f.depth()))
	if above > 0 && f.side() < above*p.mm {
		// The side is as wide as it is tall, so that it takes of both.
		p.mm = math.Max(f.astern()/math.Max(wide-above, 1), f.depth()/math.Max(tall-above, 1))
		middle := (f.sideFrom + f.sideTo) / 2
		f.sideFrom, f.sideTo = middle-above*p.mm/2, middle+above*p.mm/2
	}
	if least := planAstern * p.mm; f.side() < least {
		// Its name and numbers need some width.
		p.mm = 1 / math.Min((wide-planAstern)/f.astern(), (tall-planAstern)/f.depth())
		middle := (f.sideFrom + f.sideTo) / 2
		f.sideFrom, f.sideTo = middle-planAstern*p.mm/2, middle+planAstern*p.mm/2
	}
	// What is left over goes to open water: to the side, astern and below.
	if spare := wide*p.mm - f.astern() - f.side(); spare > 0 {
		grow := math.Min(spare, 0.35*f.astern())
		f.asternTo += grow
		spare = math.Min(spare-grow, 0.5*f.side())
		// The view from above is as tall as the side is wide, so it grows in height too.
		room := math.Min(spare, tall*p.mm-f.side()-f.depth())
		f.sideFrom, f.sideTo = f.sideFrom-math.Max(room, 0)/2, f.sideTo+math.Max(room, 0)/2
	}
	if spare := tall*p.mm - f.side() - f.depth(); spare > 0 && !p.bottom {
		f.depthTo += math.Min(spare, 0.5*f.depth())
	}
}

// measure sets the columns' widths for the scale.
func (c *card) measure() {
	u := c.opt.Units
	ft, lb := u.Label(unit.DepthStyle), u.Label(unit.ForceStyle)
	speed := func(f *sternfan.Fan) string { return u.Speed(unit.Speed(givenValue(f))) }
	depth := func(i int, head string, f *sternfan.Fan, class string, size float64) {
		c.columns = append(c.columns, cardColumn{head: [3]string{head, speed(f), ft}, class: class, size: size,
			over: func(r *cardRow) string { return r.depth[i] }, under: func(r *cardRow) string { return r.span[i] }})
	}
	c.columns = nil
	if c.opt.Slower != nil {
		depth(0, "slower", c.opt.Slower, "page", cardOther)
	}
	depth(1, "depth", c.fan, "page strong", cardNumber)
	if c.opt.Faster != nil {
		depth(2, "faster", c.opt.Faster, "page", cardOther)
	}
	c.columns = append(c.columns,
		cardColumn{head: [3]string{"side", "astern", ft}, class: "page", size: cardOther,
			over: func(r *cardRow) string { return r.sideway }, under: func(r *cardRow) string { return r.astern }},
		cardColumn{head: [3]string{"drag", "pull", lb}, class: "page", size: cardOther,
			over: func(r *cardRow) string { return r.drag }, under: func(r *cardRow) string { return r.pull }})
	small := c.size(cardSmall)
	right := c.opt.Page.Wide - c.edge
	for i := len(c.columns) - 1; i >= 0; i-- {
		col := &c.columns[i]
		for _, h := range col.head {
			col.width = math.Max(col.width, widthOf(h, small, "strong"))
		}
		for _, r := range c.rows {
			col.width = math.Max(col.width, math.Max(widthOf(col.over(r), c.size(col.size), col.class), widthOf(col.under(r), small, "")))
		}
		col.right = right
		right -= col.width + cardGap
	}
	c.flex = right - c.wordsAt()
}

// numberWide is the room for the rods' numbers.
func (c *card) numberWide() float64 {
	w := 0.0
	for _, r := range c.rows {
		w = math.Max(w, widthOf(r.number, c.size(cardNumber), "strong"))
	}
	return w
}

// wordsAt is where the rods' words begin.
func (c *card) wordsAt() float64 { return c.edge + c.numberWide() + 1.6 }

func (c *card) headTall() float64 {
	small := c.size(cardSmall)
	return c.titleTall() + float64(len(c.subtitle()))*cardLine*small + 1.5 + 3*cardLine*small + 0.6
}

// titleTall is the height of the line with the title and the date.
func (c *card) titleTall() float64 { return cardLine * math.Max(c.size(cardHead), c.size(cardSmall)) }

func (c *card) rowsTall() float64 {
	sum := 0.0
	for _, r := range c.rows {
		sum += c.rowTall(r)
	}
	return sum
}

func (c *card) rowTall(r *cardRow) float64 {
	words := 0.0
	for _, line := range c.words(r) {
		words += lineOf(line)
	}
	numbers := cardLine * (c.size(cardNumber) + c.size(cardSmall))
	return math.Max(words, numbers) + 1.1*c.scale
}

// lineOf returns the height of a line of cells.
func lineOf(line []piece) float64 {
	tall := 0.0
	for _, w := range line {
		tall = math.Max(tall, cardLine*w.size)
	}
	return tall
}

// shorterStep says a step in fewer letters where that saves a line.
var shorterStep = strings.NewReplacer("cable to ", "cable ", "reel to ", "reel ", " above ball", " above")

// words returns a row's lines: who, with the lure and a caution; what to do; what is wrong.
func (c *card) words(r *cardRow) [][]piece {
	side := sideWord(r.track.Side)
	small, big := c.size(cardSmall), c.size(cardName)
	who := []piece{{text: r.name, class: "page strong " + side, size: big}}
	if r.lure != "" {
		who = append(who, piece{text: r.lure, class: "page quiet", size: small})
	}
	if r.flag != "" {
		who = append(who, piece{text: "[" + r.flag + "]", class: "page strong", size: small})
	}
	lines := flow(who, c.flex)
	steps := func(say func(string) string) [][]piece {
		var steps []piece
		for i, s := range r.steps {
			if s = say(s); s == "" {
				continue
			}
			if i < len(r.steps)-1 {
				s += " ›"
			}
			steps = append(steps, piece{text: s, class: "page", size: big})
		}
		return flow(steps, c.flex)
	}
	full := steps(func(s string) string { return s })
	if short := steps(shorterStep.Replace); len(short) < len(full) {
		full = short
	}
	lines = append(lines, full...)
	for _, more := range r.more {
		lines = append(lines, flow([]piece{{text: more, class: "page quiet", size: small}}, c.flex)...)
	}
	if r.trouble != "" {
		lines = append(lines, flow([]piece{{text: r.trouble, class: "page strong", size: small}}, c.flex)...)
	}
	return lines
}

// subtitle returns the lines under the title.
func (c *card) subtitle() []string {
	u := c.opt.Units
	wide := c.opt.Page.Wide - 2*c.edge
	text := speedWords(c.fan, u)
	if n := c.needing(); n != "" {
		text = n + " " + text
	}
	return wrapped(text, "", c.size(cardSmall), wide)
}

// needing says how many rods need a hand, "" for none.
func (c *card) needing() string {
	n := 0
	for _, r := range c.rows {
		if r.trouble != "" {
			n++
		}
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "1 rod needs a hand: see its row."
	}
	return Count(n, "rod") + " need a hand: see their rows."
}

// footLines returns the lines of the foot: beside the plan each sentence begins one,
// across the page they run on.
func (c *card) footLines() []piece {
	small := c.size(cardSmall)
	var out []piece
	var rest []string
	for _, n := range c.foot {
		class := "page"
		switch {
		case n.strong:
			class = "page strong"
		case c.corner:
			continue
		case c.across():
			rest = append(rest, n.text)
			continue
		}
		text := n.text
		if last := len(out) - 1; c.across() && last >= 0 {
			text, out = out[last].text+" "+text, out[:last]
		}
		for _, line := range wrapped(text, class, small, c.footWide) {
			out = append(out, piece{text: line, class: class, size: small})
		}
	}
	for _, line := range wrapped(strings.Join(rest, " "), "page", small, c.footWide) {
		out = append(out, piece{text: line, class: "page", size: small})
	}
	return out
}

// across reports whether the foot goes across the page.
func (c *card) across() bool { return c.footWide > 0.9*(c.opt.Page.Wide-2*c.edge) }

func (c *card) footTall() float64 {
	return 1.5 + float64(len(c.footLines()))*cardLine*c.size(cardSmall)
}

// givenValue returns the speed that was given, m/s.
func givenValue(fan *sternfan.Fan) float64 {
	s := &fan.Speed
	switch givenKind(s) {
	case sternfan.SpeedGround:
		return s.OverGround
	case sternfan.SpeedProbe:
		return *s.Probe
	}
	return s.Surface
}
