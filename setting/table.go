package setting

import "sternfan"

// Limits of what can be meant, SI. They catch slips of unit and of digits.
const (
	maxLine   = 10_000 // m
	maxForce  = 20_000 // N
	maxColors = 200
	maxMark   = 4
)

// How far the app's controls go; assumed. Spools end before.
var (
	ofLine  = Control{Most: 1000, Step: 1, StepSI: .5}
	ofCable = Control{Most: 400, Step: 1, StepSI: .5}
)

// anyRig is a use that every kind of rig has which has none of its own.
const anyRig sternfan.RigKind = ""

const (
	askLineOut = "line_out: the line counted out through the tip, as in 120 ft"
	toDiver    = "from the tip to the diver"
	toLure     = "from the tip to the lure"
	toBoard    = "from the tip to the board"
)

var (
	sides = []string{"port", "starboard"}
	onOff = []string{"off", "on"}
)

// rows are the settings in the order of the scenario file. Turns follow the hands: the
// lead, the device's marks, the clip, then the count.
var rows = [...]Row{
	{
		ID: "line_out", Key: "line_out", Kind: Length, Hi: maxLine, Name: "line out", Doc: "Line counted out through the tip.",
		Uses: map[sternfan.RigKind]Use{
			sternfan.RigDiver:        {Is: toDiver, Ask: askLineOut},
			sternfan.RigSlideThrough: {Is: toDiver, Ask: askLineOut},
			sternfan.RigFlat:         {Is: toLure, Ask: askLineOut},
			sternfan.RigWeighted:     {Is: toLure, Ask: "give line_out, or colors of lead core in the water", Or: "colors"},
			sternfan.RigBoard:        {Is: toBoard, Ask: "line_out: " + toBoard},
		},
		Control: ofLine, Without: sternfan.PartRelease, said: "%s out", do: "let out %s", card: "count %s", turn: 11,
		in:     func(on On) any { return &on.Settings.LineOut },
		logged: func(l *Logged) any { return &l.LineOut },
	},
	{
		ID: "count_from", Key: "count_from", Kind: Word, Words: []string{"tip", "water"}, Norm: "tip", Name: "counted from", Doc: "Where the counter's zero is; tip when not given.",
		in:     func(on On) any { return &on.Settings.CountFrom },
		logged: func(l *Logged) any { return &l.CountFrom },
	},
	{
		ID: "colors", Key: "colors", Kind: Colors, Hi: maxColors, Name: "lead core out", Doc: "Colors of lead core out (30 ft each).",
		Uses:    map[sternfan.RigKind]Use{anyRig: {Is: "of lead core, 30 ft each"}},
		Control: Control{Least: .5, Most: 20, Step: .5, StepSI: .5}, said: "%s", do: "let out %s", card: "%s out", turn: 7,
		in:     func(on On) any { return &on.Settings.Colors },
		logged: func(l *Logged) any { return &l.Colors },
	},
	{
		ID: "section", Key: "section", Kind: Length, Hi: maxLine, Name: "sinking line out",
		Doc:     "Length of the sinking line (copper, weighted steel) that goes out whole; what is more of the lead or line out is backing.",
		Uses:    map[sternfan.RigKind]Use{anyRig: {Is: "of copper or weighted steel, which goes out whole"}},
		Control: ofLine, said: "%s of sinking line", card: "%s of sinking line out", turn: 8,
		in:     func(on On) any { return &on.Settings.Section },
		logged: func(l *Logged) any { return &l.Section },
	},
	{
		ID: "cable_out", Key: "cable_out", Owner: Downrigger, Kind: Length, Hi: maxLine, Name: "cable out", Doc: "Cable out from the boom's end.",
		Uses:    map[sternfan.RigKind]Use{anyRig: {Is: "from the boom’s end to the ball; rods on the same cable move with it"}},
		Control: ofCable, said: "%s of cable", card: "cable to %s", turn: 12,
		in: func(on On) any {
			if on.Downrigger == nil {
				return nil
			}
			return &on.Downrigger.CableOut
		},
		logged: func(l *Logged) any { return &l.CableOut },
	},
	{
		ID: "lead", Key: "lead", Kind: Length, Hi: maxLine, Name: "lead", Doc: "From the device back to the lure.",
		Uses: map[sternfan.RigKind]Use{
			sternfan.RigSlideThrough: {Is: "from the diver back to the lure", Ask: "lead: from the diver back to the lure, as in 20 ft"},
			sternfan.RigDownrigger:   {Is: "from the release back to the lure", Ask: "lead: from the release back to the lure, as in 15 ft", Or: "above_ball"},
			sternfan.RigBoard:        {Is: "from the board back to the lure"},
			sternfan.RigMastBoard:    {Is: "from the release back to the lure"},
		},
		Control: ofLine, said: "%s lead", card: "lead %s", turn: 1,
		in:     func(on On) any { return &on.Settings.Lead },
		logged: func(l *Logged) any { return &l.Lead },
	},
	{
		ID: "dial", Key: "dial", Kind: Mark, Hi: maxMark, Name: "dial", Doc: "The diver's mark, 0 to 4 in halves.",
		Uses:    map[sternfan.RigKind]Use{sternfan.RigDiver: {Is: "from straight behind (0) to far to the side (4)", Ask: "dial: the diver's mark, 0 to 4 in halves"}},
		Control: Control{Most: maxMark, Step: .5, StepSI: .5}, With: sternfan.PartDiver, said: "dial %s", card: "dial %s", turn: 3,
		in:     func(on On) any { return &on.Settings.Dial },
		logged: func(l *Logged) any { return &l.Dial },
	},
	{
		ID: "side", Key: "side", Kind: Side, Words: sides, Name: "side", Doc: "Side that the diver is dialed to or the board runs to.",
		Uses: map[sternfan.RigKind]Use{sternfan.RigDiver: {Ask: "side: port or starboard"}},
		With: sternfan.PartBoard, said: "board to %s", turn: 6,
		in:     func(on On) any { return &on.Settings.Side },
		logged: func(l *Logged) any { return &l.Side },
	},
	{
		ID: "ring", Key: "ring", Kind: Switch, Words: onOff, Name: "ring", Doc: "The diver's ring is on.",
		With: sternfan.PartDiver, said: "ring %s", card: "ring %s", turn: 4,
		in:     func(on On) any { return &on.Settings.Ring },
		logged: func(l *Logged) any { return &l.Ring },
	},
	{
		ID: "tripped", Key: "tripped", Kind: Flag, Words: []string{"set", "tripped"}, Name: "diver", Doc: "The diver's arm is open.",
		said: "tripped", card: "diver tripped", turn: 5,
		in:     func(on On) any { return &on.Settings.Tripped },
		logged: func(l *Logged) any { return &l.Tripped },
	},
	{
		ID: "above_ball", Key: "above_ball", Kind: Length, Hi: maxLine, Name: "release above ball", Doc: "Release above the ball.",
		Uses:    map[sternfan.RigKind]Use{sternfan.RigDownrigger: {Is: "up the cable from the ball"}},
		Control: ofCable, With: sternfan.PartRelease, said: "release %s above the ball", do: "clip %s above the ball", card: "clip %s above ball", turn: 9,
		in:     func(on On) any { return &on.Settings.AboveBall },
		logged: func(l *Logged) any { return &l.AboveBall },
	},
	{
		ID: "along", Key: "along", Kind: Length, Hi: maxLine, Name: "along the tow line", Doc: "Release along a mast board's line, from the mast.",
		Uses:    map[sternfan.RigKind]Use{sternfan.RigMastBoard: {Is: "from the mast to the release", Ask: "along: from the mast to the release, along the board's line"}},
		Control: ofLine, With: sternfan.PartRelease, said: "release %s along the tow line", card: "slide %s along", turn: 10,
		in:     func(on On) any { return &on.Settings.Along },
		logged: func(l *Logged) any { return &l.Along },
	},
	{
		ID: "tow_line_out", Key: "line_out", Owner: MastBoard, Kind: Length, Hi: maxLine, Above: true, Name: "tow line out", Doc: "Tow line out from the mast's top.",
		Uses:    map[sternfan.RigKind]Use{anyRig: {Is: "from the mast’s top to the board; rods on the same line move with it"}},
		Control: ofLine, said: "%s of tow line", turn: 13,
		in: func(on On) any {
			if on.MastBoard == nil {
				return nil
			}
			return &on.MastBoard.LineOut
		},
		logged: func(l *Logged) any { return &l.TowLineOut },
	},
	{
		ID: "set_load", Key: "set_load", Kind: Force, Hi: maxForce, Name: "set load", Doc: "Pull at the tip of a rod clipped to a release.",
		in:     func(on On) any { return &on.Settings.SetLoad },
		logged: func(l *Logged) any { return &l.SetLoad },
	},
	{
		ID: "trip_load", Key: "trip_load", Kind: Force, Hi: maxForce, Name: "trip load", Doc: "Pull at which the device or release is adjusted to let go.",
		in:     func(on On) any { return &on.Settings.TripLoad },
		logged: func(l *Logged) any { return &l.TripLoad },
	},
	{
		ID: "bottom", Key: "bottom", Kind: Word, Words: []string{"intended"}, Name: "bottom", Doc: "The lure is meant to tick the bottom.",
		in:     func(on On) any { return &on.Settings.Bottom },
		logged: func(l *Logged) any { return &l.Bottom },
	},
}
