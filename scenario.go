package sternfan

import (
	"cmp"

	"sternfan/geom"
	"sternfan/unit"
	"sternfan/water"
)

// Scenario is everything a person describes in one file.
type Scenario struct {
	Version      int
	Name         string
	Note         string // free text; demo files say here that they are invented
	Boat         Boat
	People       int
	Water        Water
	Speed        Speed
	Heading      Q[unit.Angle] // radians clockwise from true north; needed when a current is given
	Gear         Gear
	Downriggers  []Downrigger
	MastBoards   []MastBoard
	Rods         []Rod
	Wants        Wants
	Manoeuvre    Manoeuvre
	Solver       Solver
	Uncertainty  []Override
	Calibrations []Calibration
}

// Boat is the hull and the fixed points on it, boat frame, metres.
type Boat struct {
	Name       string
	Length     Q[unit.Length]
	Beam       Q[unit.Length]
	Holders    []Holder
	Booms      []Boom
	Masts      []Mast
	Hull       []geom.Vec // outline at the waterline, optional, seen from above
	Propellers []geom.Vec
	Kickers    []Kicker
	SpeedBags  []SpeedBag
}

// Holder is a rod holder, known by where the tip of the rod in it is.
type Holder struct {
	ID       string
	Position string // what the crew calls it: "port high diver", "chute"
	Tip      geom.Vec
	Bears    Q[unit.Force] // pull that it is meant to bear; not given: any
}

// Boom is a downrigger's arm, known by where its cable leaves it.
type Boom struct {
	ID  string
	End geom.Vec
}

// Mast carries the tow line of a mast board from its top.
type Mast struct {
	ID  string
	Top geom.Vec
}

// Water is what the lures run in.
type Water struct {
	Temperature []TempPoint    // by depth, ascending; one point is the same everywhere
	Profile     string         // a file beside this one with the temperatures; whoever reads files fills Temperature
	Measured    string         // when and where Temperature was measured, in words; of a profile's file
	Current     []CurrentPoint // by depth, ascending; none is still water
	Density     Q[unit.Density]
	Viscosity   Q[unit.Viscosity] // dynamic
	Bottom      Q[unit.Length]    // depth of water; not given: no bottom
	Fleas       string            // "", "light" or "heavy": what hangs on the lines
}

// The points of a profile are those that its water is reckoned from.
type (
	TempPoint    = water.TemperaturePoint
	CurrentPoint = water.CurrentPoint
)

// SpeedKind says what was measured.
type SpeedKind string

// The speeds a person may know.
const (
	SpeedSurface SpeedKind = "surface" // through the surface water (paddle wheel)
	SpeedGround  SpeedKind = "ground"  // over ground (satellite)
	SpeedProbe   SpeedKind = "probe"   // through the water at a depth or a downrigger's ball
)

// Speed is the speed that was given and where.
type Speed struct {
	Given SpeedKind
	Value Q[unit.Speed]
	Band  unit.Speed     // plus or minus, in waves; the 80 % range of the true mean over a lure's run
	Depth Q[unit.Length] // of the probe, for SpeedProbe
	Ball  string         // or the downrigger whose ball carries the probe
}

// Downrigger is one cable and ball; rods clip to it by a release.
type Downrigger struct {
	ID       string
	Boom     string
	Cable    string // gear id of the line used as cable
	Ball     string // gear id
	CableOut Q[unit.Length]
	Bottom   string // "intended": meant to tick the bottom
}

// MastBoard is one big board towed from a mast; rods hang from releases on its line.
type MastBoard struct {
	ID      string
	Mast    string
	Board   string // gear id
	Line    string // gear id
	LineOut Q[unit.Length]
	Side    Side
}

// Side is a side of the boat: +1 starboard, -1 port, 0 neither.
type Side int8

// The sides.
const (
	Port      Side = -1
	Amidships Side = 0
	Starboard Side = 1
)

// String returns "port", "starboard" or "".
func (s Side) String() string {
	switch s {
	case Port:
		return "port"
	case Starboard:
		return "starboard"
	}
	return ""
}

// amidships is how far off the center line a point is still of neither side, m: rod tips are
// measured to about this, so one that is nearer may as well be on the other side.
const amidships = 0.05

// SideOf returns the side of the boat that a point is on.
func SideOf(at geom.Vec) Side {
	switch {
	case at.Y < -amidships:
		return Port
	case at.Y > amidships:
		return Starboard
	}
	return Amidships
}

// Side returns the side that a rod in the holder fishes from: that of its tip.
func (h *Holder) Side() Side { return SideOf(h.Tip) }

// Holder returns the holder with the id, nil when the boat has none.
func (b *Boat) Holder(id string) *Holder {
	return first(b.Holders, func(h *Holder) bool { return h.ID == id })
}

// Boom returns the boom with the id, nil when the boat has none.
func (b *Boat) Boom(id string) *Boom {
	return first(b.Booms, func(x *Boom) bool { return x.ID == id })
}

// Mast returns the mast with the id, nil when the boat has none.
func (b *Boat) Mast(id string) *Mast {
	return first(b.Masts, func(m *Mast) bool { return m.ID == id })
}

// first returns the first of a list that is meant, nil when none is.
func first[T any](list []T, meant func(*T) bool) *T {
	for i := range list {
		if meant(&list[i]) {
			return &list[i]
		}
	}
	return nil
}

// Rod returns the rod with the id, nil when there is none.
func (sc *Scenario) Rod(id string) *Rod {
	return first(sc.Rods, func(r *Rod) bool { return r.ID == id })
}

// Downrigger returns the downrigger with the id, nil when there is none.
func (sc *Scenario) Downrigger(id string) *Downrigger {
	return first(sc.Downriggers, func(d *Downrigger) bool { return d.ID == id })
}

// Position returns what the crew calls the place of the rod with the id: its holder's
// words, "" when those are not known.
func (sc *Scenario) Position(rod string) string {
	if h := sc.HolderOf(rod); h != nil {
		return h.Position
	}
	return ""
}

// HolderOf returns the holder that the rod with the id is in, nil when there is none.
func (sc *Scenario) HolderOf(rod string) *Holder {
	if r := sc.Rod(rod); r != nil {
		return sc.Boat.Holder(r.Holder)
	}
	return nil
}

// Device returns the id of the downrigger or mast board that the rod is clipped to, "" for
// none.
func (r *Rod) Device() string {
	for i := range r.Rig.Parts {
		if p := &r.Rig.Parts[i]; p.Kind == PartRelease && p.On != "" {
			return p.On
		}
	}
	return cmp.Or(r.Rig.Downrigger, r.Rig.MastBoard)
}

// EachPart hands over the parts of a rig, those of a slider after it.
func EachPart(parts []Part, do func(*Part)) {
	for i := range parts {
		do(&parts[i])
		EachPart(parts[i].Parts, do)
	}
}

// Rod is one rod in its holder with what is tied on.
type Rod struct {
	ID       string
	Holder   string
	Reel     string // gear id, optional
	Rig      Rig
	Settings Settings
	Fixed    bool // the planner leaves it alone
}

// RigKind is one of the trade's named rigs, a shorthand that expands to parts.
type RigKind string

// The named rigs.
const (
	RigParts        RigKind = ""              // the parts are listed
	RigDiver        RigKind = "diver"         // directional diver at the end of the line
	RigSlideThrough RigKind = "slide-through" // diver clamped on the line, a long lead behind it
	RigDownrigger   RigKind = "downrigger"    // clipped to a downrigger's cable
	RigFlat         RigKind = "flat-line"     // line and lure, with or without weights
	RigWeighted     RigKind = "weighted"      // lead core, copper or weighted steel on a backing
	RigBoard        RigKind = "board"         // an in-line board ahead of any of the others
	RigMastBoard    RigKind = "mast-board"    // hung from a release on a mast board's line
)

// Rig is what one rod fishes. Either Kind and the named members, or Parts.
type Rig struct {
	Kind       RigKind
	Line       string // main line (for a weighted rig: the backing)
	Weighted   string // lead core, copper or weighted steel
	Diver      string
	Board      string
	Downrigger string
	MastBoard  string
	Behind     []Part // from the device down to the lure: snubber, leader, attractor, lure
	Slider     []Part // parts of a free slider's own leader, its lure last
	Parts      []Part // from the tip down, when listed or after expansion
}

// PartKind is the kind of a part.
type PartKind string

// The kinds of part, from the tip down.
const (
	PartLine      PartKind = "line"
	PartLeader    PartKind = "leader"
	PartDiver     PartKind = "diver"
	PartSnubber   PartKind = "snubber"
	PartAttractor PartKind = "attractor"
	PartLure      PartKind = "lure"
	PartBoard     PartKind = "board"
	PartRelease   PartKind = "release"
	PartSlider    PartKind = "slider"
	PartWeight    PartKind = "weight"
)

// Part is one thing on the way from the tip to the lure.
type Part struct {
	ID     string // unique in the rod; made from kind and number when not given
	Kind   PartKind
	Gear   string         // gear id
	Length Q[unit.Length] // of a line or leader; a line without one takes the rod's setting
	Free   bool           // length is an output (downrigger, mast board): the rod's set load holds it
	On     string         // release: the downrigger or mast board it is on
	Parts  []Part         // slider: what hangs on it
}

// Settings are what a hand can change without retying. Each means one thing per rig:
// see docs/scenario.md.
type Settings struct {
	LineOut   Q[unit.Length] // counted out through the tip
	CountFrom string         // where the counter's zero is: "tip" (default) or "water"
	Colors    Q[float64]     // of lead core in the water
	Section   Q[unit.Length] // of a sinking line that goes out whole, when the line has no length of its own
	Lead      Q[unit.Length] // slide-through diver or board: from device to lure end; downrigger: behind the release
	Dial      Q[float64]     // directional diver's mark, 0 to 4 in halves
	Side      Side           // of the diver's dial or of the board
	Ring      Q[float64]     // 1 on, 0 off
	Tripped   bool           // the diver's arm is open
	AboveBall Q[unit.Length] // release above the ball
	Along     Q[unit.Length] // release along a mast board's line, from the mast
	SetLoad   Q[unit.Force]  // pull at the tip of a rod clipped to a release
	TripLoad  Q[unit.Force]  // the device's or release's adjusted trip load
	Bottom    string         // "intended": meant to tick the bottom
}

// Wants is what the spread is laid out for.
type Wants struct {
	Bands      []Band
	Horizontal Q[unit.Length] // margin between lines
	Vertical   Q[unit.Length]
	Caps       Caps
	Species    []Species
	Lay        Lay
}

// Band is a depth band with its weight.
type Band struct {
	From, To unit.Length
	Weight   float64
	Least    int // at least so many lures; 0: not asked
}

// Caps are the user's own limits with the day they were entered.
type Caps struct {
	Lines, Lures int // 0: not given
	Dated        string
	Source       string
}

// Manoeuvre is a turn that a person intends: by its radius or by its rate.
type Manoeuvre struct {
	To      Side
	Angle   Q[unit.Angle]
	Radius  Q[unit.Length]
	Rate    Q[unit.AngularRate]
	SpeedTo Q[unit.Speed]
}

// Solver holds the tolerances.
type Solver struct {
	Tolerance float64 // relative to depth; 0 is the default, 1e-3
}

// Override changes the uncertainty of one registry entry by name.
type Override struct {
	Name    string
	Scatter Scatter
	Source  string
}

// Calibration moves one registry entry to what was measured. Off ones are kept and ignored.
type Calibration struct {
	Name    string
	Scale   float64 // multiplies the nominal value; 0 means 1
	Shift   float64 // then added, SI
	Scatter Scatter // replaces the entry's own
	Dated   string
	Source  string
	Off     bool
	Corr    []Correlation // of its score with those of other calibrations in use
	// Of what was measured, for a calibration that was learnt from it: its mark, and the
	// entries of the log that were among it.
	Mark     string
	Readings []string
}
