package report

import (
	"fmt"
	"math"
	"strconv"

	"sternfan"
	"sternfan/unit"
)

// taskLead says what is done: "Setting 12 lines one after another takes 15 minutes with 5
// aboard, straight on: ".
func taskLead(t *sternfan.Turn, opt Options) string {
	m := &t.Manoeuvre
	what := "Setting "
	if m.Event == "clear" {
		what = "Clearing "
	}
	s := what + Count(len(t.Tasks), "line")
	if len(t.Tasks) > 1 {
		s += " one after another"
	}
	last := m.Begin
	for _, x := range t.Tasks {
		last = max(last, x.Ends)
	}
	s += " takes " + spell(last-m.Begin)
	switch {
	case m.People == 1:
		s += " alone"
	case m.People > 1:
		s += " with " + strconv.Itoa(m.People) + " aboard"
	}
	if m.Radius > 0 && m.Angle != 0 {
		return s + fmt.Sprintf(", coming round to %s by %.0f degrees: ", sideName(m.To), m.Angle*180/math.Pi)
	}
	return s + ", straight on at " + opt.Units.Speed(unit.Speed(m.Speed)) + ": "
}

// underWay returns the task of one of a pair's parties at the time of their pass, "" when
// neither is on its way.
func underWay(t *sternfan.Turn, p *sternfan.TurnPair) (rod string) {
	last := -1.0
	for _, x := range t.Tasks {
		if (x.Rod == p.A || x.Rod == p.B) && x.Starts <= p.T && x.Starts > last {
			rod, last = x.Rod, x.Starts
		}
		if t.Manoeuvre.Event == "clear" && (x.Rod == p.A || x.Rod == p.B) && x.Starts <= p.T && p.T <= x.Ends {
			return x.Rod
		}
	}
	return rod
}

// onItsWay names a pair with the line that goes out or comes in first: "port low diver, on
// its way out, and port rigger"; "" when there is nothing of that to say.
func onItsWay(t *sternfan.Turn, p *sternfan.TurnPair) string {
	rod := underWay(t, p)
	if rod == "" {
		return ""
	}
	way := "out"
	if t.Manoeuvre.Event == "clear" {
		way = "in"
	}
	return partyName(t, rod) + " on its way " + way + " and " + partyName(t, otherThan(p, rod))
}

// turnTasks prints the order, when each begins, how long it takes and what it passes
// nearest.
func turnTasks(p *printer, t *sternfan.Turn, u unit.System) {
	g := NewGrid("  ", Numbers("", "begins", "takes", "nearest on its way (margin)"), Words("line"))
	inside := false
	for _, x := range t.Tasks {
		near := ""
		for i := range t.Pairs {
			q := &t.Pairs[i]
			if underWay(t, q) != x.Rod {
				continue
			}
			near = u.Depth(unit.Length(q.Distance)) + " (" + u.Depth(unit.Length(asked(q))) + ") to " + partyName(t, otherThan(q, x.Rod))
			if q.Ratio < 1 {
				near, inside = near+" *", true
			}
			break
		}
		g.Add(inMinutes(x.Starts-t.Manoeuvre.Begin), inMinutes(x.Ends-x.Starts), near, capital(partyName(t, x.Rod)))
	}
	g.print(p, defaultWidth)
	if inside {
		p.line("  * inside the margin")
	}
}

func inMinutes(s float64) string { return fmt.Sprintf("%.1f min", s/60) }
