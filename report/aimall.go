package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// AimAllTable writes what every rod does when all are moved: the first line sums it up,
// then a row per rod in the file's order, and which lines come near one another.
func AimAllTable(w io.Writer, a *sternfan.AimAll, opt Options) error {
	u := opt.Units
	p := &printer{w: w}
	p.wrapped("", "  ", aimAllHeadline(a, opt), opt.width())
	p.line("")
	ft := u.Label(unit.DepthStyle)
	g := NewGrid("  ", Words("rod"), Numbers(ft, "from", "4 in 5", "to", "4 in 5", "side"), Words("what to do"))
	for i := range a.Rods {
		m := &a.Rods[i]
		from, _ := u.Split(unit.DepthStyle, belowSurface(m.From))
		what := "stays: " + clean(m.Stays)
		if m.Way != nil {
			what = clean(m.Way.Text)
			if wrong, step := statusWords(m.Way.Status); m.Way.Status != sternfan.StatusOK {
				what += "; " + wrong + ": " + step
			}
			if m.Short != "" {
				what += "; not to " + u.Depth(unit.Length(m.Want)) + ": " + clean(m.Short)
			}
		}
		g.Add(lower(rodName(m.Rod, opt.Scenario)), from, span(u, m.FromLo, m.FromHi), depthNumber(u, &m.To.BodyFan), spanNumber(u, &m.To.BodyFan), sideNumber(u, m.To.Side), what)
	}
	g.print(p, opt.width())
	if len(a.Close) > 0 {
		p.line("")
		p.line("Watch:")
		for i := range a.Close {
			g := &a.Close[i]
			p.wrapped("  ", "    ", fmt.Sprintf("%s and %s come within %s across and %s up and down of each other, %s astern: inside the margins, and nearer than before: %s. Move one of them by hand.",
				party(g.A, opt.Scenario), lower(party(g.B, opt.Scenario)), u.Depth(unit.Length(g.Horizontal)), u.Depth(unit.Length(g.Vertical)), u.Depth(unit.Length(-g.AtA[0])), clean(g.Why)), opt.width())
		}
	}
	if len(a.Tight) > 0 {
		var pairs []string
		for i := range a.Tight {
			pairs = append(pairs, lower(party(a.Tight[i].A, opt.Scenario))+" and "+lower(party(a.Tight[i].B, opt.Scenario)))
		}
		p.line("")
		p.wrapped("", "  ", "Inside the margins as they were before: "+list(pairs, "; ", "; ")+".", opt.width())
	}
	p.line("")
	p.line("Intervals: 4 times in 5 the depth is inside. Clearances hold in straight water.")
	fan := a.Fan
	if fan == nil {
		fan = &sternfan.Fan{}
	}
	p.paragraphs(opt.width(), Cautions(fan, opt.Scenario)...)
	return p.err
}

func aimAllHeadline(a *sternfan.AimAll, opt Options) string {
	moved := 0
	for i := range a.Rods {
		if a.Rods[i].Way != nil {
			moved++
		}
	}
	if moved == 0 {
		return "No rod can go " + clean(a.Order) + ": each says below why."
	}
	verb := "go"
	if moved == 1 {
		verb = "goes"
	}
	s := fmt.Sprintf("%d of %s %s %s", moved, Count(len(a.Rods), "rod"), verb, clean(a.Order))
	if moved == len(a.Rods) {
		s = "All " + Count(moved, "rod") + " go " + clean(a.Order)
	}
	if stay := len(a.Rods) - moved; stay > 0 {
		if verb = "stay"; stay == 1 {
			verb = "stays"
		}
		s += fmt.Sprintf(", %d %s", stay, verb)
	}
	switch {
	case len(a.Close) == 0:
		s += "; no two lines come nearer than their margins that were not so before"
	case len(a.Close) == 1:
		s += "; one pair comes too near, below"
	default:
		s += fmt.Sprintf("; %d pairs come too near, below", len(a.Close))
	}
	return s + early(a.Finished) + "."
}

// party is what the crew calls a rod or device.
func party(id string, sc *sternfan.Scenario) string {
	if sc != nil && sc.Downrigger(id) != nil {
		return "Downrigger " + clean(id)
	}
	return rodName(id, sc)
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// AimLikeTable writes how a setting heard from elsewhere was understood, where its lure
// runs, and how each rod gets there.
func AimLikeTable(w io.Writer, a *sternfan.AimLike, opt Options) error {
	u := opt.Units
	p := &printer{w: w}
	where := depthWords(u, &a.Lure.BodyFan)
	if a.Lure.ID != "" {
		where += ", " + sideWords(u, math.Abs(a.Lure.Side))
		where = strings.Replace(where, "to starboard", "out to the side", 1)
	}
	p.wrapped("", "  ", "That lure runs "+where+early(a.Finished)+". On your rods:", opt.width())
	p.line("")
	ft := u.Label(unit.DepthStyle)
	g := NewGrid("  ", Words("rod"), Numbers(ft, "depth", "4 in 5", "side"), Words("what to do"))
	for i := range a.Ways {
		r := &a.Ways[i]
		who := lower(rodName(r.Rod, opt.Scenario))
		switch {
		case len(r.Ways) > 0:
			w := &r.Ways[0]
			g.Add(who, depthNumber(u, &w.Lure.BodyFan), spanNumber(u, &w.Lure.BodyFan), sideNumber(u, w.Lure.Side), clean(w.Text))
		case r.Limit != nil && r.Limit.Way != nil:
			end := "at most "
			if r.Limit.Depth > r.Depth {
				end = "at least "
			}
			w := &r.Limit.Way.Lure
			g.Add(who, depthNumber(u, &w.BodyFan), spanNumber(u, &w.BodyFan), sideNumber(u, w.Side),
				"cannot: "+end+u.Depth(unit.Length(belowSurface(r.Limit.Depth)))+", "+clean(r.Limit.Why))
		default:
			g.Add(who, "", "", "", "cannot")
		}
	}
	g.print(p, opt.width())
	p.line("")
	p.wrapped("Heard: ", "  ", clean(List(a.Taken))+".", opt.width())
	if len(a.Assumed) > 0 {
		p.wrapped("Not said, so taken from your boat: ", "  ", clean(list(a.Assumed, "; ", "; "))+".", opt.width())
	}
	p.line("Intervals: 4 times in 5 the depth is inside.")
	fan := &sternfan.Fan{Rods: []sternfan.Track{{Lures: []sternfan.LureFan{{}}}}}
	p.paragraphs(opt.width(), Cautions(fan, opt.Scenario)...)
	return p.err
}
