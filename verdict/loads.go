package verdict

import (
	"fmt"
	"slices"
	"strings"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// graded are the warnings of a solved rod and the grade of what they say; those without
// one are told by other rules.
var graded = map[string]sternfan.Grade{
	"over-strength": sternfan.GradeGives,
	"trips":         sternfan.GradeGives,
	"slack":         sternfan.GradeGives,
	"bottom":        sternfan.GradeGround,
	"surface":       sternfan.GradeSet,
	"board-under":   sternfan.GradeGives,
	"beyond-spool":  sternfan.GradeSet,
	"near-strength": sternfan.GradeKnow,
	"near-trip":     sternfan.GradeKnow,
	"trip-heavy":    sternfan.GradeKnow,
	"slider":        sternfan.GradeKnow,
}

// leastStack is how far apart lines stacked on one cable are at least, m: 10 ft (common
// practice, one report).
const leastStack = 10 * float64(unit.Foot)

// loads takes over what the solver found of loads, bottom and surface.
func (j *judge) loads() {
	for _, list := range [][]sternfan.Track{j.fan.Rods, j.fan.Devices} {
		for i := range list {
			t := &list[i]
			for _, w := range t.Warnings {
				grade, ok := graded[w.Code]
				if strings.Contains(w.Code, "trip") && !j.tripEntered(t.Rod) {
					grade, w.Text = sternfan.GradeKnow, w.Text+"; its trip load is assumed"
				}
				if ok {
					j.each(w.Code, grade, w.Text, w.Hint, t.Rod)
				}
			}
		}
	}
	j.stacked()
	j.spools()
	for _, w := range j.fan.Warnings {
		code, grade := "note", sternfan.GradeKnow
		if w.Code == "speed" {
			code, grade = w.Code, sternfan.GradeSpeed
		}
		j.find(code, grade, capital(w.Text), w.Hint)
	}
}

// closest is how much more than is taken of it a spool holds at the most: line wound as close
// as circles lie fills 0.91 of the room, and 0.82 is taken.
const closest = 0.91 / 0.82

// spools finds reels that cannot hold their backing and section. A full section goes out whole, so that
// no count goes beyond it: what cannot have been wound is looked for here.
func (j *judge) spools() {
	j.rods(func(r *rod) {
		reel := r.info.Reel
		if reel == nil || r.info.Spool == nil || reel.Capacity.Given {
			return
		}
		if f := tackle.ReelFill(reel, r.info.Spool, 0); f.Room > 0 && f.Taken > f.Room*closest {
			j.each("beyond-spool", sternfan.GradeSet, "its backing and section do not fit on the spool", "fish a larger reel, or a shorter section", r.Rod)
		}
	})
}

// tripEntered reports whether the trip load of what a rod tows was entered by a person.
func (j *judge) tripEntered(id string) bool {
	k, ok := j.at[id]
	if !ok {
		return false
	}
	for _, t := range j.m.Rods[k].Trips {
		if t.Adjusted {
			return true
		}
	}
	return j.sc.Rods[k].Settings.TripLoad.Given
}

// stacked finds lines clipped too near each other on one cable.
func (j *judge) stacked() {
	for g := range j.m.Groups {
		rods := j.m.Groups[g].Rods
		if j.m.Groups[g].Downrigger < 0 || len(rods) < 2 {
			continue
		}
		at := func(r int) float64 { return tackle.AboveBall(&j.sc.Rods[r].Settings) }
		sorted := slices.SortedFunc(slices.Values(rods), func(a, b int) int {
			if at(a) < at(b) {
				return -1
			}
			return 1
		})
		for i := 1; i < len(sorted); i++ {
			low, high := sorted[i-1], sorted[i]
			apart := at(high) - at(low)
			if apart >= leastStack*(1-1e-9) {
				continue
			}
			j.find("stacked-close", sternfan.GradeSet,
				fmt.Sprintf("%s and %s are clipped %s apart on one cable", capital(j.name(j.sc.Rods[low].ID)), j.name(j.sc.Rods[high].ID), j.feet(apart)),
				fmt.Sprintf("clip the upper one at least %s above the lower", j.depth(leastStack)), j.sc.Rods[low].ID, j.sc.Rods[high].ID)
		}
	}
}

// Speeds of lures and attractors, m/s.
const (
	softSpeed = 0.1 * float64(unit.MilePerHour) // less outside a window is no matter: windows are soft
	farSpeed  = 0.5 * float64(unit.MilePerHour) // reports of one lure differ by as much (common practice)
	rollsOver = 2.2 * float64(unit.MilePerHour) // a swaying blade rolls over faster (common practice, one report)
)

// outside is a lure outside its speed.
type outside struct {
	rod string
	by  float64 // m/s; below 0: too slow
}

// speeds finds lures and attractors outside the speeds at which they work.
func (j *judge) speeds() {
	sure := j.speedBand()
	var slow, fast []outside
	least, most := -far, far // what the speed may be changed by so that nobody's window is left
	note := func(id string, through, lo, hi float64) {
		least, most = max(least, lo-through), min(most, hi-through)
		switch over := through - hi; {
		case over > max(softSpeed, sure):
			fast = append(fast, outside{id, over})
		case lo-through > max(softSpeed, sure):
			slow = append(slow, outside{id, through - lo})
		}
	}
	j.rods(func(r *rod) {
		for i := range r.Lures {
			if w := r.Lures[i].Window; w != nil {
				note(r.Rod, r.Lures[i].ThroughWater, w[0], w[1])
			}
		}
		if k := r.part(sternfan.PartAttractor); k >= 0 && r.lure != nil {
			for _, a := range j.sc.Gear.Attractors {
				if a.ID == r.of.Rig.Parts[k].Gear && a.Kind == "swaying" {
					note(r.Rod, r.lure.ThroughWater, 0, rollsOver)
				}
			}
		}
	})
	j.offSpeed(fast, "too fast", "slow to", least, most)
	j.offSpeed(slow, "too slow", "speed up to", least, most)
}

// offSpeed makes one sentence of the lures that are too fast, or too slow.
func (j *judge) offSpeed(all []outside, what, how string, least, most float64) {
	if len(all) == 0 {
		return
	}
	grade := sternfan.GradeKnow
	by := 0.0
	var ids []string
	for _, o := range all {
		by = max(by, o.by, -o.by)
		if !slices.Contains(ids, o.rod) {
			ids = append(ids, o.rod)
		}
	}
	if by > farSpeed {
		grade = sternfan.GradeSpeed
	}
	now := j.m.GivenSpeed()
	to := now + most
	if all[0].by < 0 {
		to = now + least
	}
	do := fmt.Sprintf("%s %s", how, j.u.Speed(unit.Speed(to)))
	if least > most {
		do = "no one speed suits every lure out: change these"
	}
	text := fmt.Sprintf("%s %s, by up to %s", j.counted(ids), what, j.u.Speed(unit.Speed(by)))
	j.find("lure-speed", grade, text, do, ids...)
}

// speedBand is half the interval of the speed that was given, m/s.
func (j *judge) speedBand() float64 {
	for i := range j.m.Registry {
		if e := &j.m.Registry[i]; e.Param == tackle.ParamSpeed {
			return e.Scatter.At(e.Nominal, spread.Eighty) - e.Nominal
		}
	}
	return 0
}

// counted names up to three lures, or says how many.
func (j *judge) counted(rods []string) string {
	switch n := len(rods); {
	case n == 1:
		return capital(j.name(rods[0])) + "'s lure is"
	case n <= 3:
		return "The lures of " + list(rods, j.name) + " are"
	default:
		return capital(words[min(n, len(words)-1)]) + " lures are"
	}
}

var words = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "many"}
