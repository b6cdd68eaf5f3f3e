package scenario

import (
	"fmt"
	"slices"

	"sternfan"
	"sternfan/unit"
)

var lay = object[sternfan.Lay]{
	name: "lay",
	doc:  "How a whole spread is laid out (docs/planning.md). Everything has a default.",
	fields: []field[sternfan.Lay]{
		key("pattern", "searching: varied presentations (when not given); known: alike.", choice[string]{sternfan.PatternSearching, sternfan.PatternKnown}, func(l *sternfan.Lay) *string { return &l.Pattern }),
		key("look_up", "How many times worse it is to run below a band than above it; 3 when not given.", ratio(0, 100), func(l *sternfan.Lay) *sternfan.Q[float64] { return &l.LookUp }),
		key("reach", "From a diver to its hook, how far a hand and a net still reach; 12 ft when not given.", lineLengthAbove(), func(l *sternfan.Lay) *sternfan.Q[unit.Length] { return &l.Reach }),
		key("lines", "At least so many lines out.", whole{1, 64}, func(l *sternfan.Lay) *int { return &l.Lines }),
		key("have", "How many there are of a piece of gear; of what is not listed there is enough.", list[sternfan.Stock]{elem: layStock}, func(l *sternfan.Lay) *[]sternfan.Stock { return &l.Have }),
		key("kits", "Other ways to rig the rods.", list[sternfan.Kit]{elem: layKit, max: 64}, func(l *sternfan.Lay) *[]sternfan.Kit { return &l.Kits }),
		key("places", "Which holders a rod may stand in; a rod that is not listed goes wherever its kind does.", list[sternfan.LayPlace]{elem: layPlace, max: 64}, func(l *sternfan.Lay) *[]sternfan.LayPlace { return &l.Places }),
		key("steps", "The steps in which settings change.", laySteps, func(l *sternfan.Lay) *sternfan.Steps { return &l.Steps }),
		key("turns", "The turns that the spread is to go through; the file's manoeuvre when none is given.", list[sternfan.Manoeuvre]{elem: turning, max: 8}, func(l *sternfan.Lay) *[]sternfan.Manoeuvre { return &l.Turns }),
		key("weights", "What the terms of a plan's score weigh against one another; 0 leaves one out.", layWeights, func(l *sternfan.Lay) *sternfan.LayWeights { return &l.Weights }),
	},
}

// turning is a manoeuvre that says to which side.
var turning = object[sternfan.Manoeuvre]{
	name: "intended turn", doc: "A turn that the spread is to go through.", check: manoeuvre.check,
	fields: append([]field[sternfan.Manoeuvre]{need("to", "The side you turn to.", side{}, func(m *sternfan.Manoeuvre) *sternfan.Side { return &m.To })}, manoeuvre.fields[1:]...),
}

var layStock = object[sternfan.Stock]{
	name: "stock",
	doc:  "How many there are of a piece of gear.",
	fields: []field[sternfan.Stock]{
		need("gear", "The gear, by its id.", ident{}, func(s *sternfan.Stock) *string { return &s.Gear }),
		need("count", "How many.", counted{whole{0, 500}}, func(s *sternfan.Stock) *int { return &s.Count }),
	},
}

var layKit = object[sternfan.Kit]{
	name: "kit",
	doc:  "Another way to rig some rods.",
	fields: []field[sternfan.Kit]{
		need("id", "Name of the kit.", ident{}, func(k *sternfan.Kit) *string { return &k.ID }),
		need("rods", "The rods that can take it.", list[string]{elem: ident{}, min: 1, max: 64}, func(k *sternfan.Kit) *[]string { return &k.Rods }),
		key("reel", "The reel that it needs, when not the rod's own (gear.reels).", ident{}, func(k *sternfan.Kit) *string { return &k.Reel }),
		need("rig", "What is tied on.", rig, func(k *sternfan.Kit) *sternfan.Rig { return &k.Rig }),
		key("settings", "To start from.", settings, func(k *sternfan.Kit) *sternfan.Settings { return &k.Settings }),
	},
	check: func(d *decoder, n *node, path string, k *sternfan.Kit) {
		checkRod(d, n, path, &sternfan.Rod{ID: k.ID, Rig: k.Rig, Settings: k.Settings})
	},
}

var layPlace = object[sternfan.LayPlace]{
	name: "place",
	doc:  "Where a rod may stand.",
	fields: []field[sternfan.LayPlace]{
		need("rod", "The rod.", ident{}, func(p *sternfan.LayPlace) *string { return &p.Rod }),
		need("holders", "The holders it may stand in.", list[string]{elem: ident{}, min: 1, max: 64}, func(p *sternfan.LayPlace) *[]string { return &p.Holders }),
	},
}

var laySteps = object[sternfan.Steps]{
	name: "steps",
	doc:  "The steps in which settings change.",
	fields: []field[sternfan.Steps]{
		key("line_out", "Of line; 5 ft when not given.", lineLengthAbove(), func(s *sternfan.Steps) *sternfan.Q[unit.Length] { return &s.LineOut }),
		key("cable_out", "Of a downrigger's cable; 1 ft when not given.", lineLengthAbove(), func(s *sternfan.Steps) *sternfan.Q[unit.Length] { return &s.CableOut }),
		key("lead", "Of a lead; 5 ft when not given.", lineLengthAbove(), func(s *sternfan.Steps) *sternfan.Q[unit.Length] { return &s.Lead }),
		key("dial", "Of a diver's dial, in marks; 0.5 when not given.", quantity[float64]{dim: numbers, lo: 0.1, hi: 4}, func(s *sternfan.Steps) *sternfan.Q[float64] { return &s.Dial }),
	},
}

var layWeights = object[sternfan.LayWeights]{
	name: "weights",
	doc:  "What the terms of a plan's score weigh.",
	fields: []field[sternfan.LayWeights]{
		weight("cover", "The bands are covered by their weight; 10.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Cover }),
		weight("shallow_outside", "Shallow gear runs outside deep gear; 2.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.ShallowOutside }),
		weight("high_outside", "High divers run outside low ones; 2.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.HighOutside }),
		weight("apart", "Neighbors differ in depth or distance astern; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Apart }),
		weight("room", "Lines keep half as much again as the margin; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Room }),
		weight("lead_across", "No long slide-through lead runs across inside gear; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.LeadAcross }),
		weight("hook_in_reach", "From diver to hook is within reach; 0.5.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.HookInReach }),
		weight("snubber", "A fixed diver on a line that does not stretch has a snubber; 0.5.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Snubber }),
		weight("bears", "Heavy pullers stand in holders that can bear them; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Bears }),
		weight("balance", "Both sides pull and carry alike; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Balance }),
		weight("variety", "Presentations differ while searching, and are alike once a pattern is known; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Variety }),
		weight("lure_speed", "Lures run at a speed at which they work; 1.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.LureSpeed }),
		weight("trip_room", "No release or diver is near its trip load; 0.5.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.TripRoom }),
		weight("turns", "No two lines come inside their margin in the turns intended; 10.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.Turns }),
		weight("as_now", "Rods stay in their holders and kits; 2.", func(w *sternfan.LayWeights) *sternfan.Q[float64] { return &w.AsNow }),
	},
}

func weight(name, doc string, get func(*sternfan.LayWeights) *sternfan.Q[float64]) field[sternfan.LayWeights] {
	return key(name, doc, ratio(0, 1000), get)
}

// laying checks the ids of wants.lay.
func (r *refs) laying(l *sternfan.Lay) {
	for i, s := range l.Have {
		lists := make([]string, len(gearLists))
		for k, name := range gearLists {
			lists[k] = "gear." + name
		}
		r.check(fmt.Sprintf("wants.lay.have[%d].gear", i), s.Gear, lists...)
	}
	collect(r, "wants.lay.kits", l.Kits, func(k sternfan.Kit) string { return k.ID })
	for i := range l.Kits {
		k, p := &l.Kits[i], fmt.Sprintf("wants.lay.kits[%d].", i)
		for j, id := range k.Rods {
			r.check(fmt.Sprintf("%srods[%d]", p, j), id, "rods")
		}
		r.check(p+"reel", k.Reel, "gear.reels")
		r.rig(p+"rig.", &k.Rig)
	}
	for i, x := range l.Places {
		p := fmt.Sprintf("wants.lay.places[%d].", i)
		r.check(p+"rod", x.Rod, "rods")
		if slices.ContainsFunc(l.Places[:i], func(y sternfan.LayPlace) bool { return y.Rod == x.Rod }) {
			r.at(r.root.find(p+"rod"), p+"rod", sternfan.Fault{Code: "duplicate-id", Text: "this rod's places are given twice", Found: show(x.Rod), Hint: "put its holders in one list"})
		}
		for j, id := range x.Holders {
			r.check(fmt.Sprintf("%sholders[%d]", p, j), id, "boat.holders")
		}
	}
}

// gearLists are the lists of gear in the file.
var gearLists = []string{"lines", "reels", "divers", "boards", "balls", "weights", "attractors", "lures", "leaders", "snubbers"}
