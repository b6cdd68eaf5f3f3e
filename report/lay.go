package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// LayTable writes the plans of a layout: the first line tells the captain what to do; then
// the best plan with its settings in the order to set, why each rod is where it is, what
// is covered, how near lines come, and what speed does; then what the other plans do
// otherwise. Without a plan it says which rules cannot be kept together.
func LayTable(w io.Writer, l *sternfan.Layout, opt Options) error {
	p := &printer{w: w}
	p.wrapped("", "  ", LayHeadline(l, opt), opt.width())
	if len(l.Plans) == 0 {
		if len(l.Conflict) > 0 {
			p.line("")
			p.line("These cannot all be kept; without any one of them there is a plan:")
			for _, r := range l.Conflict {
				p.wrapped("  - ", "    ", clean(r.Text), opt.width())
			}
		}
		return p.err
	}
	plan := &l.Plans[0]
	planTable(p, plan, opt)
	planWhy(p, plan, opt)
	planFacts(p, l, plan, opt)
	for i := range l.Plans[1:] {
		p.line("")
		otherPlan(p, i+2, plan, &l.Plans[i+1], opt)
	}
	for i := range l.Bands {
		if l.Bands[i].Reason != "" {
			p.line("")
			p.wrapped("", "  ", "Depths are proposed, not wanted in the file: "+clean(l.Bands[i].Reason)+". Advice, never a rule.", opt.width())
		}
	}
	for _, x := range l.Warnings {
		p.wrapped("", "  ", warningWords(&x), opt.width())
	}
	p.line("")
	p.wrapped("", "  ", "Intervals: 4 times in 5 the depth is inside. "+straightWords(plan.Fan)+" "+turnsWords(plan), opt.width())
	p.paragraphs(opt.width(), Cautions(plan.Fan, plan.Scenario)...)
	return p.err
}

// straightWords says what the verdict on a plan is, straight on.
func straightWords(fan *sternfan.Fan) string {
	grave, _ := findings(fan)
	switch {
	case fan.Verdict == nil:
		return ""
	case len(grave) == 0:
		return "Clear in straight water."
	}
	return "In straight water: " + sentenceOf(&grave[0])
}

// turnsWords says what holds of a plan's turns.
func turnsWords(plan *sternfan.Plan) string {
	if len(plan.Turns) == 0 {
		return "In a turn lines swing."
	}
	return "Turns as said above, nominal. " + linesOnly
}

// LayHeadline is the first line: the order in which to set the rods, or what stands in the
// way.
func LayHeadline(l *sternfan.Layout, opt Options) string {
	if len(l.Plans) == 0 {
		if len(l.Conflict) == 0 {
			return "No plan was found."
		}
		first := l.Conflict[0]
		if len(l.Conflict) == 1 {
			return "No plan: it cannot be that " + clean(first.Text) + ". Change that first."
		}
		return "No plan keeps every rule: ease one of the " + Count(len(l.Conflict), "rule") + " below, the easiest first."
	}
	plan := &l.Plans[0]
	if len(plan.Set) == 0 {
		return "No rod reaches the wanted depths: change the bands, the speed or the gear."
	}
	var names []string
	for _, s := range plan.Set {
		names = append(names, planName(plan, s.Rod, opt))
	}
	s := "Set " + list(names, ", ", ", then ")
	s += ": " + Count(len(plan.Set), "rod") + " in about " + minutes(plan.SetTime) + " with " + strconv.Itoa(plan.People) + " aboard"
	if n := len(plan.Left); n > 0 {
		s += "; " + strconv.Itoa(n) + " stay in the rack"
		if n == 1 {
			s = strings.TrimSuffix(s, " stay in the rack") + " stays in the rack"
		}
	}
	return s + early(l.Finished) + "."
}

func minutes(m float64) string {
	n := int(math.Max(1, math.Round(m)))
	return Count(n, "minute")
}

// planName names a rod by the position it stands in.
func planName(plan *sternfan.Plan, id string, opt Options) string {
	for i := range plan.Fan.Rods {
		if t := &plan.Fan.Rods[i]; t.Rod == id {
			return name(t)
		}
	}
	for i := range plan.Fan.Devices {
		if t := &plan.Fan.Devices[i]; t.Rod == id {
			return name(t)
		}
	}
	if sternfan.PartOfBoat(id) {
		return "the " + id
	}
	return rodName(id, opt.Scenario)
}

func planTrack(plan *sternfan.Plan, id string) *sternfan.Track {
	for i := range plan.Fan.Rods {
		if plan.Fan.Rods[i].Rod == id {
			return &plan.Fan.Rods[i]
		}
	}
	return nil
}

func planned(plan *sternfan.Plan, id string) *sternfan.Placed {
	for i := range plan.Rods {
		if plan.Rods[i].Rod == id {
			return &plan.Rods[i]
		}
	}
	return nil
}

func planTable(p *printer, plan *sternfan.Plan, opt Options) {
	u := opt.Units
	ft := u.Label(unit.DepthStyle)
	g := NewGrid("  ", Numbers("", "", "rod"), Numbers(ft, "depth", "4 in 5", "side", "astern"), Words("setting"))
	for i, s := range plan.Set {
		t, r := planTrack(plan, s.Rod), planned(plan, s.Rod)
		if t == nil || r == nil {
			continue
		}
		row := []string{strconv.Itoa(i + 1), name(t), "", "", "", "", clean(settingWords(plan, r, opt))}
		for k := range t.Lures {
			if k > 0 {
				row = make([]string, len(row))
			}
			b := &t.Lures[k].BodyFan
			row[2], row[3], row[4] = depthNumber(u, b), spanNumber(u, b), sideNumber(u, b.Side)
			row[5], _ = u.Split(unit.DepthStyle, b.Astern)
			g.Add(row...)
		}
	}
	p.line("")
	g.print(p, opt.width())
}

// settingWords are what to do with a placed rod in the order of hands, and what is new
// about it.
func settingWords(plan *sternfan.Plan, r *sternfan.Placed, opt Options) string {
	s := r.Settings
	if t := planTrack(plan, r.Rod); t != nil {
		s = strings.Join(handSteps(plan.Scenario, t, opt.Units), ", ")
	}
	switch {
	case r.Kit != "":
		s += "; kit " + r.Kit
	case r.Moved:
		s += "; rod " + r.Rod
	}
	return s
}

// planWhy prints one sentence for every rod.
func planWhy(p *printer, plan *sternfan.Plan, opt Options) {
	p.line("")
	for _, s := range plan.Set {
		if r := planned(plan, s.Rod); r != nil {
			p.wrapped("", "  ", PlanReason(plan, r, opt), opt.width())
		}
	}
	for _, l := range plan.Left {
		p.wrapped("", "  ", sentence(capital(rodName(l.Rod, opt.Scenario))+" stays in the rack: "+leftWords[l.Code]), opt.width())
	}
}

var leftWords = map[string]string{
	"cap":      "the limit on lines, lures, holders or gear is reached",
	"no-room":  "nowhere does it keep the margin from the others",
	"no-depth": "no setting of it reaches a wanted depth within the rules",
	"no-gain":  "it would not make the spread better",
}

// PlanReason says in one sentence why a rod is where it is.
func PlanReason(plan *sternfan.Plan, r *sternfan.Placed, opt Options) string {
	u := opt.Units
	var said []string
	for _, why := range r.Why {
		other := ""
		if why.Rod != "" {
			other = "the " + strings.TrimPrefix(lowerFirst(planName(plan, why.Rod, opt)), "the ")
		}
		band := ""
		if r.Band >= 0 && r.Band < len(plan.Bands) {
			b := &plan.Bands[r.Band]
			band = span(u, b.From, b.To) + " " + u.Label(unit.DepthStyle)
		}
		switch why.Code {
		case "fixed":
			said = append(said, "is where you fixed it")
		case "band-alone", "band-best", "band":
			verb := "covers "
			switch b := &plan.Bands[r.Band]; {
			case slices.Contains(b.Above, r.Rod):
				verb = "runs above "
			case slices.Contains(b.Below, r.Rod):
				verb = "runs below "
			case why.Value < 0.6:
				verb = "comes nearest it can to "
			}
			switch s := verb + band; why.Code {
			case "band-alone":
				said = append(said, s+", the only one there")
			case "band-best":
				said = append(said, s+", the surest there")
			default:
				said = append(said, s)
			}
		case "any-depth":
			said = append(said, "adds a line")
		case "center":
			said = append(said, "runs down the middle, clear of both sides")
		case "outside-above":
			said = append(said, "runs outside and above "+other)
		case "outside-below":
			said = append(said, "runs outside of and below "+other)
		case "inside-below":
			said = append(said, "runs inside and below "+other)
		case "inside-of":
			said = append(said, "runs inside of "+other)
		case "astern-of":
			said = append(said, "runs beside "+other)
		case "near-in-turn-to-port", "near-in-turn-to-starboard":
			side := strings.TrimPrefix(why.Code, "near-in-turn-to-")
			if why.Value < touching {
				said = append(said, "crosses "+other+" in the turn to "+side)
			} else {
				said = append(said, "comes within "+u.Depth(unit.Length(why.Value))+" of "+other+" in the turn to "+side)
			}
		case "alone-on-side":
			said = append(said, "has its side to itself")
		}
	}
	if r.Moved {
		said = append(said, "moved there from "+rodHolder(r.Rod, opt.Scenario))
	}
	if len(said) == 0 {
		said = []string{"is fished as it is"}
	}
	return sentence(planName(plan, r.Rod, opt) + " " + List(said))
}

func rodHolder(id string, sc *sternfan.Scenario) string {
	if r := rodOf(sc, id); r != nil {
		return cmp.Or(sc.Position(id), r.Holder)
	}
	return "another holder"
}

func lowerFirst(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// planFacts prints coverage, clearance, sensitivity, order, and cautions of a plan.
func planFacts(p *printer, l *sternfan.Layout, plan *sternfan.Plan, opt Options) {
	p.line("")
	for i := range plan.Bands {
		p.wrapped("", "  ", bandWords(plan, &plan.Bands[i], opt), opt.width())
	}
	if g := plan.Nearest; g != nil {
		p.wrapped("", "  ", "Nearest: "+gapWords(plan, g, opt)+".", opt.width())
	}
	p.paragraphs(opt.width(), PlanTurnWords(plan, opt)...)
	if s := speedWordsOf(plan, opt); s != "" {
		p.wrapped("", "  ", s, opt.width())
	}
	var in []string
	for _, id := range plan.Clear {
		in = append(in, lowerFirst(planName(plan, id, opt)))
	}
	p.wrapped("", "  ", "To clear: "+list(in, ", ", ", then ")+"; about "+minutes(plan.ClearTime)+".", opt.width())
	for _, c := range plan.Crossings {
		p.wrapped("", "  ", "Cannot be helped: on its way out "+crossingWords(plan, &c, opt)+". Let it out slowly; where sea and traffic are clear, a course bent away from that side keeps it farther off.", opt.width())
	}
	for i := range plan.Rods {
		for _, x := range plan.Rods[i].Cautions {
			p.wrapped("", "  ", capital(planName(plan, plan.Rods[i].Rod, opt))+": "+warningWords(&x), opt.width())
		}
	}
	how := "searched, not proven the best"
	if l.Proven {
		how = "in these steps nothing scores more"
	}
	p.line("Score %.3f of 1, at most %.3f (%s).", plan.Score, l.Bound, how)
}

func warningWords(x *sternfan.Warning) string {
	s := clean(x.Text)
	if x.Hint != "" {
		s += "; " + clean(x.Hint)
	}
	return sentence(s)
}

// bandWords says how many lures run in a band, of how many meant, and which of the rods
// that count toward it run beside it.
func bandWords(plan *sternfan.Plan, b *sternfan.BandCover, opt Options) string {
	u := opt.Units
	s := span(u, b.From, b.To) + " " + u.Label(unit.DepthStyle) + ": " + Counted(b.In, "lure runs", "lures run") + " in it"
	if b.Want == 0 {
		return s + ", none was meant for it"
	}
	s += fmt.Sprintf(", %d meant", b.Want)
	for _, part := range []struct {
		rods  []string
		where string
	}{{b.Above, "above"}, {b.Below, "below"}} {
		var names []string
		for _, id := range part.rods {
			names = append(names, lowerFirst(planName(plan, id, opt)))
		}
		if len(names) > 0 {
			s += "; " + List(names) + " " + part.where + " it"
		}
	}
	return s
}

// gapWords says where two parties come nearest.
func gapWords(plan *sternfan.Plan, g *sternfan.Gap, opt Options) string {
	u := opt.Units
	astern := u.Depth(unit.Length(math.Max(0, -g.AtA[0])))
	at := astern + " astern"
	if g.AtA[2] > 0.3 {
		at += ", " + u.Depth(unit.Length(g.AtA[2])) + " down"
	}
	s := lowerFirst(planName(plan, g.A, opt)) + " and " + lowerFirst(planName(plan, g.B, opt)) + ", " + u.Depth(unit.Length(g.Distance)) + " apart at " + at
	return s + fmt.Sprintf(" (%.1f times the margin there)", g.Ratio)
}

func crossingWords(plan *sternfan.Plan, c *sternfan.Crossing, opt Options) string {
	u := opt.Units
	return lowerFirst(planName(plan, c.Rod, opt)) + " passes within " + u.Depth(unit.Length(c.Gap.Distance)) + " of " + lowerFirst(planName(plan, c.Over, opt)) +
		", " + u.Depth(unit.Length(math.Max(0, -c.Gap.AtA[0]))) + " astern"
}

// speedWordsOf names the lures that a change of speed moves most.
func speedWordsOf(plan *sternfan.Plan, opt Options) string {
	u := opt.Units
	if len(plan.Speed) == 0 {
		return ""
	}
	most := slices.MaxFunc(plan.Speed, func(a, b sternfan.SpeedLure) int {
		return int(math.Copysign(1, change(a)-change(b)))
	})
	step := u.Speed(unit.Speed(most.Change))
	return fmt.Sprintf("%s slower or faster moves the %s most: %s and %s.", step, lowerFirst(planName(plan, most.Rod, opt)),
		upDown(u, most.Slower), upDown(u, most.Faster))
}

func change(s sternfan.SpeedLure) float64 { return math.Max(math.Abs(s.Slower), math.Abs(s.Faster)) }

func upDown(u unit.System, d float64) string {
	n := u.Depth(unit.Length(math.Abs(d)))
	if d < 0 {
		return n + " up"
	}
	return n + " down"
}

// otherPlan says what another plan does otherwise.
func otherPlan(p *printer, n int, best, plan *sternfan.Plan, opt Options) {
	p.line("Plan %d, score %.3f:", n, plan.Score)
	u := opt.Units
	for _, r := range plan.Rods {
		was, t := planned(best, r.Rod), planTrack(plan, r.Rod)
		if t == nil || len(t.Lures) == 0 || was != nil && was.Holder == r.Holder && was.Kit == r.Kit && was.Band == r.Band {
			continue
		}
		p.wrapped("  ", "    ", sentence(planName(plan, r.Rod, opt)+" instead: "+clean(settingWords(plan, &r, opt))+", runs "+depthWords(u, &t.Lures[0].BodyFan)), opt.width())
	}
	for _, l := range plan.Left {
		if planned(best, l.Rod) != nil {
			p.wrapped("  ", "    ", sentence(capital(rodName(l.Rod, opt.Scenario))+" stays in the rack"), opt.width())
		}
	}
	for i := range plan.Bands {
		p.wrapped("  ", "    ", bandWords(plan, &plan.Bands[i], opt), opt.width())
	}
	if g := plan.Nearest; g != nil {
		p.wrapped("  ", "    ", "Nearest: "+gapWords(plan, g, opt)+".", opt.width())
	}
	for _, s := range PlanTurnWords(plan, opt) {
		p.wrapped("  ", "    ", s, opt.width())
	}
}

// PlanTurnWords says what each turn intended does to a plan: how near its lines come, and
// when.
func PlanTurnWords(plan *sternfan.Plan, opt Options) []string {
	var out []string
	for i := range plan.Turns {
		t := &plan.Turns[i]
		s := fmt.Sprintf("Turning %.0f degrees to %s in %s (radius %s): ", math.Abs(t.Angle)*180/math.Pi, sideName(t.To), spell(t.Time),
			opt.Units.Depth(unit.Length(t.Radius)))
		pass := func(p *sternfan.TurnPair) string {
			who := lowerFirst(planName(plan, p.A, opt)) + " and " + lowerFirst(planName(plan, p.B, opt))
			if crosses(p) {
				return who + " cross, " + turnTime(t, p.T)
			}
			return who + " pass " + apartWords(p, opt.Units) + ", " + turnTime(t, p.T)
		}
		switch {
		case len(t.Broken) > 0:
			s += pass(&t.Broken[0])
			if n := len(t.Broken) - 1; n > 0 {
				s += "; " + Count(n, "other pair") + map[bool]string{true: " comes", false: " come"}[n == 1] + " inside the margin too"
			}
			s += ". A wider turn, or one of them in before it, may help"
		case t.Near != nil && t.Near.Ratio < 1:
			s += "no lines come closer than they run"
		default:
			s += "all lines keep their margins"
			if t.Near != nil {
				s += "; the nearest, " + pass(t.Near)
			}
		}
		if len(t.Lost) > 0 {
			var who []string
			for _, id := range t.Lost {
				who = append(who, lowerFirst(planName(plan, id, opt)))
			}
			s += ". Not known to its end: " + List(who)
		}
		out = append(out, s+".")
	}
	return out
}

// turnTime words a time by how long the turn has lasted.
func turnTime(t *sternfan.PlanTurn, at float64) string {
	switch {
	case at <= t.Begin:
		return "straight on"
	case at > t.Begin+t.Time:
		return fmt.Sprintf("%.0f s after it", at-t.Begin-t.Time)
	}
	return fmt.Sprintf("%.0f s into it", at-t.Begin)
}

// PlanComments are the lines of comment that go before a plan written as a file: what the
// turns intended do to it.
func PlanComments(plan *sternfan.Plan, opt Options) string {
	var b strings.Builder
	for _, s := range PlanTurnWords(plan, opt) {
		b.WriteString("# " + s + "\n")
	}
	return b.String()
}
