package verdict

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// wrongSide returns the side to which a rod's dial or board should be set, when it is set
// to the other.
func (j *judge) wrongSide(id string) (string, bool) {
	k, ok := j.at[id]
	if !ok {
		return "", false
	}
	r := &j.sc.Rods[k]
	side, tip := r.Settings.Side, j.m.Rods[k].Side
	if side == sternfan.Amidships || tip == sternfan.Amidships || side == tip {
		return "", false
	}
	steers := slices.ContainsFunc(r.Rig.Parts, func(p sternfan.Part) bool {
		return p.Kind == sternfan.PartBoard || p.Kind == sternfan.PartDiver && r.Settings.Dial.Value > 0
	})
	return tip.String(), steers
}

// sides looks at rods against their holders.
func (j *judge) sides() {
	held := map[string]string{}
	for i := range j.sc.Rods {
		r := &j.sc.Rods[i]
		if side, wrong := j.wrongSide(r.ID); wrong {
			what := "dial"
			if slices.ContainsFunc(r.Rig.Parts, func(p sternfan.Part) bool { return p.Kind == sternfan.PartBoard }) {
				what = "board"
			}
			j.find("wrong-side", sternfan.GradeSet, fmt.Sprintf("%s stands to %s and has its %s set to %s", capital(j.name(r.ID)), side, what, r.Settings.Side),
				fmt.Sprintf("set it to %s", side), r.ID)
		}
		j.across(i)
		if first, taken := held[r.Holder]; taken {
			j.find("one-holder", sternfan.GradeSet, fmt.Sprintf("Rods %s and %s stand in one holder, %s", first, r.ID, r.Holder),
				"put one of them in another holder", first, r.ID)
		} else {
			held[r.Holder] = r.ID
		}
		said := strings.Fields(strings.ToLower(j.m.Rods[i].Position))
		if tip := j.m.Rods[i].Side; tip != sternfan.Amidships && slices.Contains(said, (-tip).String()) && !slices.Contains(said, tip.String()) {
			j.find("holder-side", sternfan.GradeSet, fmt.Sprintf("%s has its tip to %s", capital(j.m.Rods[i].Position), tip),
				"mend the holder's tip or its position in the file", r.ID)
		}
	}
}

// offCenter is how far from the center line a tip or boom is that belongs to a side, m. Assumed.
const offCenter = 2 * float64(unit.Foot)

// across finds a line that is clipped to a downrigger of the boat's other side.
func (j *judge) across(i int) {
	g, tip := j.m.Rods[i].Group, j.m.Rods[i].Tip.Y
	if g < 0 || j.m.Groups[g].Downrigger < 0 {
		return
	}
	d := &j.sc.Downriggers[j.m.Groups[g].Downrigger]
	boom := j.sc.Boat.Boom(d.Boom)
	if boom == nil || tip*float64(j.m.Rods[i].Side) < offCenter || boom.End.Y*float64(j.m.Rods[i].Side) > -offCenter {
		return
	}
	id := j.sc.Rods[i].ID
	j.find("wrong-side", sternfan.GradeSet, fmt.Sprintf("%s stands to %s and is clipped to a downrigger to %s", capital(j.name(id)), j.m.Rods[i].Side, -j.m.Rods[i].Side),
		"clip it to a downrigger of its own side", id, d.ID)
}

// divers looks at the two divers of a side: the outer one runs the higher.
func (j *judge) divers() {
	var all []*rod
	j.rods(func(r *rod) {
		if r.Side != 0 && !r.of.Settings.Tripped && r.lure != nil && r.body(sternfan.PartDiver) != nil && r.part(sternfan.PartBoard) < 0 && !j.slides(r) {
			all = append(all, r)
		}
	})
	for i, a := range all {
		for _, b := range all[i+1:] {
			if a.Side != b.Side {
				continue
			}
			out, in := a, b
			if b.outward(b.lure.Side) > a.outward(a.lure.Side) {
				out, in = b, a
			}
			if deeper(out.lure, in.lure) {
				j.find("diver-order", sternfan.GradeSet,
					fmt.Sprintf("%s runs outside the %s and below it (%s to %s)", capital(j.name(out.Rod)), j.name(in.Rod), j.depth(out.lure.Depth), j.depth(in.lure.Depth)),
					"the outer diver wants the larger mark and the shallower run: exchange their marks and counts", out.Rod, in.Rod)
				continue
			}
			high, low := out, in
			if role(in) == "high" && role(out) == "low" {
				high, low = in, out
			}
			if high != out {
				j.find("diver-order", sternfan.GradeSet, fmt.Sprintf("%s runs inside the %s", capital(j.name(high.Rod)), j.name(out.Rod)),
					"give the high diver the larger mark", high.Rod, out.Rod)
				continue
			}
			if mark, other := high.of.Settings.Dial.Value, low.of.Settings.Dial.Value; role(high) == "high" && role(low) == "low" &&
				mark <= other && high.lure.Depth > low.lure.Depth {
				j.find("diver-order", sternfan.GradeSet, fmt.Sprintf("%s is dialed %g and the %s %g: the low one runs above it (%s to %s)",
					capital(j.name(high.Rod)), mark, j.name(low.Rod), other, j.depth(low.lure.Depth), j.depth(high.lure.Depth)),
					"give the high diver the larger mark", high.Rod, low.Rod)
				continue
			}
			if tip, low := out.outward(out.info.Tip.Y), in.outward(in.info.Tip.Y); tip < low-nearTip {
				j.find("tip-order", sternfan.GradeKnow,
					fmt.Sprintf("%s runs outside the %s and has its tip %s farther in: they may cross in a turn", capital(j.name(out.Rod)), j.name(in.Rod), j.feet(low-tip)),
					"put the higher diver's rod in the holder that reaches farther out", out.Rod, in.Rod)
			}
		}
	}
}

// nearTip is how much farther in a tip is that counts as farther in, m. Assumed.
const nearTip = 0.5 * float64(unit.Foot)

// roles are the words by which a crew says which of two rods of a side runs where.
var roles = map[string]string{"high": "high", "low": "low", "outer": "outer", "outside": "outer", "inner": "inner", "inside": "inner"}

// role is what a crew's word for a rod says of a diver or board, "" when it says nothing.
func role(r *rod) string {
	for _, w := range strings.Fields(strings.ToLower(r.Position)) {
		if roles[w] != "" {
			return roles[w]
		}
	}
	return ""
}

func (j *judge) slides(r *rod) bool {
	k := r.part(sternfan.PartDiver)
	return k >= 0 && slices.ContainsFunc(j.sc.Gear.Divers, func(d sternfan.Diver) bool {
		return d.ID == r.of.Rig.Parts[k].Gear && d.Kind == "slide-through"
	})
}

// deeper reports whether a lure is below another by more than the interval of how far apart
// they are, 4 times in 5 and taken as independent: a common cause only makes it narrower.
func deeper(a, b *sternfan.LureFan) bool {
	return a.Depth-b.Depth > math.Hypot(a.Depth-a.DepthLo, b.DepthHi-b.Depth)
}

// boards looks at the boards of a side: outside the divers, and the shallow ones outermost.
func (j *judge) boards() {
	var boards, others []*rod
	j.rods(func(r *rod) {
		switch {
		case r.Side == 0:
		case r.part(sternfan.PartBoard) >= 0:
			boards = append(boards, r)
		case r.body(sternfan.PartDiver) != nil:
			others = append(others, r)
		}
	})
	for i, a := range boards {
		board := a.body(sternfan.PartBoard)
		if board == nil {
			continue
		}
		for _, d := range others {
			if b := d.body(sternfan.PartDiver); d.Side == a.Side && a.outward(board.Side) > 0 && a.outward(board.Side) < d.outward(b.Side) {
				j.find("board-inside", sternfan.GradeSet,
					fmt.Sprintf("%s runs inside the %s (%s to %s from the center line)", capital(j.name(a.Rod)), j.name(d.Rod), j.depth(a.outward(board.Side)), j.depth(d.outward(b.Side))),
					"let the board farther out: boards run outside the divers", a.Rod, d.Rod)
			}
		}
		for _, c := range boards[i+1:] {
			other := c.body(sternfan.PartBoard)
			if c.Side != a.Side || other == nil || a.lure == nil || c.lure == nil {
				continue
			}
			out, in := a, c
			if c.outward(other.Side) > a.outward(board.Side) {
				out, in = c, a
			}
			if role(out) == "inner" && role(in) == "outer" {
				j.find("board-order", sternfan.GradeSet,
					fmt.Sprintf("%s runs inside the %s (%s to %s from the center line)", capital(j.name(in.Rod)), j.name(out.Rod),
						j.depth(in.outward(in.body(sternfan.PartBoard).Side)), j.depth(out.outward(out.body(sternfan.PartBoard).Side))),
					"let the outer board farther out, or put less behind it", in.Rod, out.Rod)
			} else if deeper(out.lure, in.lure) {
				j.find("board-order", sternfan.GradeSet,
					fmt.Sprintf("%s runs outside the %s and below it (%s to %s)", capital(j.name(out.Rod)), j.name(in.Rod), j.depth(out.lure.Depth), j.depth(in.lure.Depth)),
					"send the shallow line out first, to the outer board", out.Rod, in.Rod)
			}
		}
	}
}

// Lengths behind a device, m, after common practice.
const (
	mostLeader  = 15 * float64(unit.Foot) // after the snubber of a fixed diver: more stays beyond the net
	leastLeader = 8 * float64(unit.Foot)  // less is thought to put fish off
	mostFly     = 30 * float64(unit.Inch) // from a rotating attractor to its fly
	farFly      = 4 * float64(unit.Foot)
	slack       = 1.01 // what a length is over that was rounded
)

// leaders looks at what is tied behind fixed divers.
func (j *judge) leaders() {
	j.rods(func(r *rod) {
		parts := r.of.Rig.Parts
		length := map[string]float64{}
		line := map[string]string{}
		g := &j.m.Groups[r.info.Group]
		for _, i := range r.info.Lines {
			length[g.Lines[i].ID], line[g.Lines[i].ID] = g.Lines[i].Nominal, g.Lines[i].LineKind
		}
		j.fly(r, length)
		k := r.part(sternfan.PartDiver)
		if k < 0 || r.part(sternfan.PartBoard) >= 0 || j.slides(r) {
			return
		}
		ahead := ""
		for _, p := range parts[:k] {
			if p.Kind == sternfan.PartLine || p.Kind == sternfan.PartLeader {
				ahead = line[p.ID]
			}
		}
		snubber, behind := false, 0.0
		for i, p := range parts[k+1:] {
			switch p.Kind {
			case sternfan.PartSnubber:
				snubber, behind = true, 0
				if next := k + 2 + i; next < len(parts) && parts[next].Kind == sternfan.PartAttractor {
					j.each("no-leader", sternfan.GradeKnow, "the attractor is tied straight to the snubber",
						"put a leader between the two", r.Rod)
				}
			case sternfan.PartLine, sternfan.PartLeader:
				behind += length[p.ID]
			}
		}
		if !snubber && (ahead == "wire" || ahead == "braid") {
			j.each("no-snubber", sternfan.GradeSet, fmt.Sprintf("%s to the diver and no snubber behind it", ahead),
				fmt.Sprintf("tie in a snubber of %s to %s behind the diver: %s does not give, and hooks tear out", j.u.Small(12*unit.Inch), j.u.Small(18*unit.Inch), ahead), r.Rod)
		}
		switch {
		case behind > mostLeader*slack:
			j.each("long-leader", sternfan.GradeSet, fmt.Sprintf("with %s of leader behind the diver the fish stays beyond the net", j.depth(behind)),
				fmt.Sprintf("shorten it to %s to %s after the snubber", j.depth(12*float64(unit.Foot)), j.depth(mostLeader)), r.Rod)
		case behind > 0 && behind < leastLeader/slack:
			j.each("short-leader", sternfan.GradeKnow, fmt.Sprintf("the diver is %s ahead of the lure and may put fish off", j.depth(behind)),
				fmt.Sprintf("%s to %s after the snubber is common", j.depth(12*float64(unit.Foot)), j.depth(mostLeader)), r.Rod)
		}
	})
}

// fly looks at a fly behind a rotating attractor.
func (j *judge) fly(r *rod, length map[string]float64) {
	k := r.part(sternfan.PartAttractor)
	if k < 0 || r.lure == nil || r.lure.Kind != "fly" {
		return
	}
	rotates := slices.ContainsFunc(j.sc.Gear.Attractors, func(a sternfan.Attractor) bool {
		return a.ID == r.of.Rig.Parts[k].Gear && a.Kind == "rotating"
	})
	behind := 0.0
	for _, p := range r.of.Rig.Parts[k+1:] {
		behind += length[p.ID]
	}
	if !rotates || behind <= mostFly*slack {
		return
	}
	grade := sternfan.GradeKnow
	if behind >= farFly/slack {
		grade = sternfan.GradeSet
	}
	j.each("far-fly", grade, fmt.Sprintf("the fly is %s behind the attractor, which no longer moves it", j.feet(behind)),
		fmt.Sprintf("%s to %s is common", j.u.Small(16*unit.Inch), j.u.Small(unit.Length(mostFly))), r.Rod)
}
