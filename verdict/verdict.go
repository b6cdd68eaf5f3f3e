package verdict

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/clearance"
	"sternfan/tackle"
	"sternfan/unit"
)

// Judge puts the verdict on a solved fan of a model into it, and what the fan lacks.
func Judge(m *tackle.Model, fan *sternfan.Fan, u unit.System) {
	v := Of(m, fan, u)
	fan.Verdict, fan.Missing = &v, nil
	for _, list := range [][]sternfan.Track{fan.Rods, fan.Devices} {
		for i := range list {
			t := &list[i]
			if t.Status != sternfan.StatusRefused && t.Status != sternfan.StatusNotConverged {
				continue
			}
			why := string(t.Status)
			if len(t.Warnings) > 0 {
				why = t.Warnings[0].Text
			}
			fan.Missing = append(fan.Missing, sternfan.Missing{Rod: t.Rod, Why: why})
		}
	}
}

// Of judges a solved fan of a model. The findings come worst first, and within a grade the
// nearest lines first; the headline is left to whoever writes the words of the fan.
func Of(m *tackle.Model, fan *sternfan.Fan, u unit.System) sternfan.Verdict {
	j := &judge{m: m, sc: m.Scenario, fan: fan, u: u, at: map[string]int{}, courses: clearance.Courses(m.Scenario, fan)}
	for i := range m.Scenario.Rods {
		j.at[m.Scenario.Rods[i].ID] = i
	}
	j.near()
	j.loads()
	j.sides()
	j.divers()
	j.boards()
	j.leaders()
	j.speeds()
	slices.SortStableFunc(j.out, func(a, b sternfan.Finding) int {
		if c := cmp.Compare(a.Grade.Rank(), b.Grade.Rank()); c != 0 {
			return c
		}
		return cmp.Compare(between(&a), between(&b))
	})
	v := sternfan.Verdict{Grade: sternfan.GradeClear, Findings: append([]sternfan.Finding{}, j.out...)}
	if len(j.out) > 0 {
		v.Grade = j.out[0].Grade
	}
	return v
}

// between is the distance of a finding about one; those without come after.
func between(f *sternfan.Finding) float64 {
	if f.Distance == nil {
		return far
	}
	return *f.Distance
}

// far is beyond any distance in a spread, m.
const far = 1e9

// judge is one judgement on its way.
type judge struct {
	m       *tackle.Model
	sc      *sternfan.Scenario // expanded
	fan     *sternfan.Fan
	u       unit.System
	at      map[string]int // of rods in the scenario, by id
	courses []*clearance.Course
	out     []sternfan.Finding
}

// find notes a finding about rods.
func (j *judge) find(code string, grade sternfan.Grade, text, do string, rods ...string) *sternfan.Finding {
	if !known(code) {
		panic("verdict: no rule has the code " + code)
	}
	j.out = append(j.out, sternfan.Finding{Code: code, Grade: grade, Rods: append([]string{}, rods...), Text: text, Do: do})
	return &j.out[len(j.out)-1]
}

// each notes a finding about one rod. What holds of several is told once, of all of them.
func (j *judge) each(code string, grade sternfan.Grade, tail, do, rod string) {
	for i := range j.out {
		if f := &j.out[i]; f.Code == code && f.Grade == grade && f.Do == do && strings.HasSuffix(f.Text, ": "+tail) {
			f.Rods = append(f.Rods, rod)
			f.Text = capital(list(f.Rods, j.name)) + ": " + tail
			return
		}
	}
	j.find(code, grade, capital(j.name(rod))+": "+tail, do, rod)
}

// list names rods as a crew does: "port low diver and chute".
func list(rods []string, name func(string) string) string {
	var b strings.Builder
	for i, r := range rods {
		switch {
		case i == 0:
		case i == len(rods)-1:
			b.WriteString(" and ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(name(r))
	}
	return b.String()
}

// name is what the crew calls a rod, device or part of the boat.
func (j *judge) name(id string) string { return clearance.Party(j.fan, id) }

// feet says a distance as short as those between lines are: tenths below 10 ft or 3 m.
func (j *judge) feet(m float64) string {
	if j.u == unit.SI {
		return fmt.Sprintf("%.1f m", m)
	}
	if ft := m / float64(unit.Foot); ft < 10 {
		return strings.TrimSuffix(fmt.Sprintf("%.1f", ft), ".0") + " ft"
	}
	return j.depth(m)
}

func (j *judge) depth(m float64) string { return j.u.Depth(unit.Length(m)) }

// capital begins a sentence.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// rod is one solved rod with what it was solved from.
type rod struct {
	*sternfan.Track
	of   *sternfan.Rod
	info *tackle.RodInfo
	lure *sternfan.LureFan // the last one that is not a slider's; nil: none
}

// rods visits the rods that were solved.
func (j *judge) rods(visit func(r *rod)) {
	for i := range j.fan.Rods {
		t := &j.fan.Rods[i]
		k, ok := j.at[t.Rod]
		if !ok || t.Status == sternfan.StatusRefused || t.Status == sternfan.StatusNotConverged || len(t.Parts) == 0 {
			continue
		}
		r := rod{Track: t, of: &j.sc.Rods[k], info: &j.m.Rods[k]}
		for _, p := range r.of.Rig.Parts {
			for l := range t.Lures {
				if p.Kind == sternfan.PartLure && t.Lures[l].ID == p.ID {
					r.lure = &t.Lures[l]
				}
			}
		}
		visit(&r)
	}
}

// part returns the index of a rod's first part of a kind, -1 for none.
func (r *rod) part(kind sternfan.PartKind) int {
	return slices.IndexFunc(r.of.Rig.Parts, func(p sternfan.Part) bool { return p.Kind == kind })
}

// body returns where a part of the rod is, nil when it is not told.
func (r *rod) body(kind sternfan.PartKind) *sternfan.BodyFan {
	for i := range r.Bodies {
		if r.Bodies[i].Kind == string(kind) {
			return &r.Bodies[i]
		}
	}
	return nil
}

// outward is how far a place is from the center plane on the rod's side, m.
func (r *rod) outward(side float64) float64 { return side * float64(r.Side) }
