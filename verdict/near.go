package verdict

import (
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/clearance"
	"sternfan/unit"
)

// Distances between lines, m.
const (
	// touch is how near two lines are that cross or touch for a person: a foot, which is what
	// a line 100 ft down wanders anyhow. Assumed.
	touch = 1.0 * float64(unit.Foot)
	// wander is how far to the side a line may be from where it is worked out when its depth
	// is anywhere in its interval. Assumed.
	wander = 2.0 * float64(unit.Foot)
	// boatTouch and boatNear are distances of a line under water from hull and propellers. A
	// yard is what a swell takes a stern to the side. Assumed.
	boatTouch = 1.0 * float64(unit.Foot)
	boatNear  = 3.0 * float64(unit.Foot)
	// hullRub is how near the hull a line rubs. Many a rigger's rod leads its line down a foot
	// from the side, where nothing turns: that is worth knowing and no more. Assumed.
	hullRub = 4.0 * float64(unit.Inch)
	// samePlace is how near two lures are that fish one place. Assumed.
	samePlace = 3.0 * float64(unit.Foot)
)

// near compares every two parties.
func (j *judge) near() {
	want := &j.sc.Wants
	margins := clearance.MarginsOf(want)
	loose := clearance.Margins{Horizontal: wander, Vertical: wander / 2}
	for i, c := range j.courses {
		for _, d := range j.courses[i+1:] {
			if sternfan.PartOfBoat(c.ID) || sternfan.PartOfBoat(d.ID) {
				j.beside(c, d)
				continue
			}
			if g, ok := c.Nearest(d, touch); ok {
				j.pair("lines-cross", sternfan.GradeCross, &g, nil)
				continue
			}
			if g, ok := c.Gap(d, loose, 1); ok && below(&g) {
				j.pair("may-foul", sternfan.GradeFoul, &g, nil)
				continue
			}
			if !want.Horizontal.Given && !want.Vertical.Given {
				continue
			}
			if g, ok := c.Gap(d, margins, 1); ok && below(&g) {
				there := g.Distance / g.Ratio // the margin in the direction in which the other line lies
				j.pair("inside-margin", sternfan.GradeMargin, &g, &there)
			}
		}
	}
	j.lures()
}

// below reports whether a gap lies under water: at the tips, lines are kept apart by hand.
func below(g *sternfan.Gap) bool { return g.AtA[2] >= 0 && g.AtB[2] >= 0 }

// pair notes two lines that are too near each other, and what parts them.
func (j *judge) pair(code string, grade sternfan.Grade, g *sternfan.Gap, margin *float64) {
	a, b := capital(j.name(g.A)), j.name(g.B)
	where := fmt.Sprintf("%s down, %s astern", j.depth(max(0, (g.AtA[2]+g.AtB[2])/2)), j.depth(max(0, -(g.AtA[0]+g.AtB[0])/2)))
	text := ""
	switch code {
	case "lines-cross":
		text = fmt.Sprintf("%s and %s cross: %s apart, %s", a, b, j.feet(g.Distance), where)
	case "may-foul":
		text = fmt.Sprintf("%s and %s may foul, as sure as their depths are: %s apart, %s", a, b, j.feet(g.Distance), where)
	default:
		text = fmt.Sprintf("%s and %s pass %s apart, %s; your margin there is %s", a, b, j.feet(g.Distance), where, j.feet(*margin))
	}
	f := j.find(code, grade, text, j.parting(g), g.A, g.B)
	d := g.Distance
	f.Distance, f.Margin, f.Places = &d, margin, &[2][3]float64{g.AtA, g.AtB}
}

// parting says what parts two lines: first what is set to the wrong side, then the clip of
// two on one cable, then depth.
func (j *judge) parting(g *sternfan.Gap) string {
	var set []string
	for _, id := range []string{g.A, g.B} {
		if side, wrong := j.wrongSide(id); wrong {
			set = append(set, fmt.Sprintf("the %s to %s", j.name(id), side))
		}
	}
	if len(set) > 0 {
		return "set " + strings.Join(set, " and ")
	}
	if j.device(g.A) != "" && j.device(g.A) == j.device(g.B) {
		return "clip one of the two higher on the cable"
	}
	deep, high := g.A, g.B
	if j.lowest(high) > j.lowest(deep) {
		deep, high = high, deep
	}
	if j.device(deep) != "" && j.device(high) != "" {
		return fmt.Sprintf("lower the %s or raise the %s", j.name(deep), j.name(high))
	}
	return fmt.Sprintf("let out more on the %s, or take in the %s", j.name(deep), j.name(high))
}

// lowest is how deep a rod or device goes, m.
func (j *judge) lowest(id string) float64 {
	z := 0.0
	for _, list := range [][]sternfan.Track{j.fan.Rods, j.fan.Devices} {
		for i := range list {
			if list[i].Rod != id {
				continue
			}
			for _, b := range list[i].Bodies {
				z = math.Max(z, b.Depth)
			}
			for _, l := range list[i].Lures {
				z = math.Max(z, l.Depth)
			}
		}
	}
	return z
}

// device is the downrigger that a party is or hangs on, "" for none.
func (j *judge) device(id string) string {
	if k, ok := j.at[id]; ok {
		if g := j.m.Rods[k].Group; g >= 0 && j.m.Groups[g].Downrigger >= 0 {
			return j.sc.Downriggers[j.m.Groups[g].Downrigger].ID
		}
		return ""
	}
	if j.sc.Downrigger(id) != nil {
		return id
	}
	return ""
}

// beside looks at a line beside a part of the boat.
func (j *judge) beside(c, d *clearance.Course) {
	line, boat := c.ID, d.ID
	if sternfan.PartOfBoat(line) {
		line, boat = boat, line
	}
	if sternfan.PartOfBoat(line) {
		return
	}
	g, ok := c.Nearest(d, boatNear)
	if !ok {
		return
	}
	grade, what := sternfan.GradeFoul, "runs"
	switch {
	case boat == "hull" && g.Distance >= boatTouch:
		return // a cable hangs a yard off many a hull, and nothing turns there
	case boat == "hull" && g.Distance >= hullRub:
		grade = sternfan.GradeKnow
	case g.Distance < boatTouch:
		grade, what = sternfan.GradeCross, "rubs or nearly rubs,"
	}
	text := fmt.Sprintf("%s %s %s from the %s", capital(j.name(line)), what, j.feet(g.Distance), boat)
	dist := g.Distance
	// A cable and the rods on it are one thing to move: the nearest of them is told.
	for i := range j.out {
		f := &j.out[i]
		if f.Code == "near-boat" && f.Rods[1] == boat && j.device(line) != "" && j.device(f.Rods[0]) == j.device(line) {
			if dist < *f.Distance {
				f.Grade, f.Text, f.Rods[0], f.Distance, f.Places = grade, text, line, &dist, &[2][3]float64{g.AtA, g.AtB}
			}
			return
		}
	}
	f := j.find("near-boat", grade, text, "lead it out farther from there, raise what can be raised, or use another holder", line, boat)
	f.Distance, f.Places = &dist, &[2][3]float64{g.AtA, g.AtB}
}

// lures finds lures of different rods that fish one place.
func (j *judge) lures() {
	type spot struct {
		rod string
		l   *sternfan.LureFan
	}
	var all []spot
	j.rods(func(r *rod) {
		for i := range r.Lures {
			all = append(all, spot{r.Rod, &r.Lures[i]})
		}
	})
	for i, a := range all {
		for _, b := range all[i+1:] {
			if a.rod == b.rod {
				continue
			}
			x, y, z := a.l.Astern-b.l.Astern, a.l.Side-b.l.Side, a.l.Depth-b.l.Depth
			d := math.Sqrt(x*x + y*y + z*z)
			if d >= samePlace {
				continue
			}
			f := j.find("one-place", sternfan.GradeSet,
				fmt.Sprintf("The lures of %s and %s run in one place, %s apart at %s", j.name(a.rod), j.name(b.rod), j.feet(d), j.depth(a.l.Depth)),
				fmt.Sprintf("give the %s another depth or lead", j.name(b.rod)), a.rod, b.rod)
			f.Distance = &d
			f.Places = &[2][3]float64{{-a.l.Astern, a.l.Side, a.l.Depth}, {-b.l.Astern, b.l.Side, b.l.Depth}}
		}
	}
}
