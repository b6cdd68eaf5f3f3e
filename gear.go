package sternfan

import "sternfan/unit"

// Gear is the inventory: named things of which a rod uses some. A member named From
// takes every field not given from the built-in default of that name.
type Gear struct {
	Lines      []Line
	Reels      []Reel
	Divers     []Diver
	Boards     []Board
	Balls      []Ball
	Weights    []Weight
	Attractors []Attractor
	Lures      []Lure
	Leaders    []Leader
	Snubbers   []Snubber
}

// GearKinds are the kinds of gear in the order of the lists, which are called by their
// plurals: a "line" is one of the "lines".
var GearKinds = []string{"line", "reel", "diver", "board", "ball", "weight", "attractor", "lure", "leader", "snubber"}

// Items returns what there is of a kind, in the order of its list.
func (g *Gear) Items(kind string) []*Item {
	switch kind {
	case "line":
		return items(g.Lines)
	case "reel":
		return items(g.Reels)
	case "diver":
		return items(g.Divers)
	case "board":
		return items(g.Boards)
	case "ball":
		return items(g.Balls)
	case "weight":
		return items(g.Weights)
	case "attractor":
		return items(g.Attractors)
	case "lure":
		return items(g.Lures)
	case "leader":
		return items(g.Leaders)
	case "snubber":
		return items(g.Snubbers)
	}
	return nil
}

// Item returns the piece of a kind with the id, nil when there is none.
func (g *Gear) Item(kind, id string) *Item {
	for _, item := range g.Items(kind) {
		if item.ID == id {
			return item
		}
	}
	return nil
}

// Piece is a piece of gear of some kind.
type Piece[T any] interface {
	*T
	Base() *Item
}

// Base returns what the piece has in common with all others.
func (i *Item) Base() *Item { return i }

func items[T any, P Piece[T]](list []T) []*Item {
	out := make([]*Item, len(list))
	for i := range list {
		out[i] = P(&list[i]).Base()
	}
	return out
}

// FindGear returns the piece with the id in a list of one kind, nil when it has none.
func FindGear[T any, P Piece[T]](list []T, id string) P {
	for i := range list {
		if p := P(&list[i]); p.Base().ID == id {
			return p
		}
	}
	return nil
}

// Item is what every piece of gear has.
type Item struct {
	ID         string
	From       string            // built-in default that it starts from
	Kind       string            // the kind of thing, in words or one of the kinds listed with the type
	Attributes map[string]string // color, finish, "glow": for the log
}

// Line is a line per unstretched metre. Kinds: mono, fluorocarbon, braid, lead-core,
// copper, weighted-steel, wire, cable.
type Line struct {
	Item
	Diameter    Q[unit.Length]
	Mass        Q[unit.LinearDensity]
	Stiffness   Q[unit.Force] // EA
	Strength    Q[unit.Force] // label strength; lies when the line is kinked or knotted
	Normal      Q[float64]    // Cn, on diameter; not given: auto by Reynolds number
	NormalScale Q[float64]    // multiplies Cn, given or auto: strumming and roughness, 1 by default
	Friction    Q[float64]    // Cf, on the wetted area pi d
	Solid       Q[float64]    // 1: a solid wire that does not run through a slide-through diver
}

// Reel holds a spool. Volume follows from its diameters and width.
type Reel struct {
	Item
	Arbor         Q[unit.Length] // diameter of the bare spool
	Flange        Q[unit.Length] // diameter that is full
	Width         Q[unit.Length] // inside width
	Backing       string         // line id under the main line
	BackingLength Q[unit.Length]
	Capacity      Q[unit.Length] // of the main line on it; not given: no check beyond the spool
}

// Diver is a directional or slide-through diver.
type Diver struct {
	Item              // kinds: directional, slide-through
	Diameter          Q[unit.Length]
	RingDiameter      Q[unit.Length] // with ring on; not given: takes no ring
	Mass              Q[unit.Mass]
	Volume            Q[float64]    // m3
	NormalCoefficient Q[float64]    // C_N at 45 deg on the disc's area
	Incidence         Q[unit.Angle] // without a leader's pull
	Give              Q[float64]    // k, rad/N: incidence lost per newton of the leader's pull
	DialMarks         []float64     // marks, ascending from 0
	DialTilt          []unit.Angle  // tilt (roll) at each mark
	DialTiltScatter   Scatter       // relative, of the whole table
	Ratchet           Q[float64]    // 1: the dial holds to a tenth of a mark; 0: turns freely, half a mark
	TrippedArea       Q[unit.Area]  // drag area with the arm open
	TripLoad          Q[unit.Force]
}

// Board is an in-line or mast board. Kinds: in-line, mast.
type Board struct {
	Item
	Mass     Q[unit.Mass]
	Volume   Q[float64]     // m3, fully under
	Height   Q[unit.Length] // over which it immerses
	LiftArea Q[unit.Area]   // C_L A, to the side
	DragArea Q[unit.Area]   // C_D A
	TripLoad Q[unit.Force]
}

// Ball is a downrigger's weight. Kinds: round, finned, torpedo.
type Ball struct {
	Item
	Mass     Q[unit.Mass]
	Density  Q[unit.Density]
	DragArea Q[unit.Area] // C A; not given for a round ball: by Brown & Lawler (2003)
}

// Weight is an in-line sinker or clip-on weight.
type Weight struct {
	Item
	Mass     Q[unit.Mass]
	Density  Q[unit.Density]
	DragArea Q[unit.Area]
}

// Attractor is a flasher or dodger. Modes: rotating, swaying.
type Attractor struct {
	Item
	PlateArea   Q[unit.Area]
	Coefficient Q[float64] // drag coefficient on the plate's area in its mode
	Mass        Q[unit.Mass]
	Density     Q[unit.Density]
	Length      Q[unit.Length]
}

// Lure is what fish bite. Kinds: spoon, plug, lipped-plug, fly, bait.
type Lure struct {
	Item
	Mass             Q[unit.Mass]
	Volume           Q[float64] // m3
	DragArea         Q[unit.Area]
	DownArea         Q[unit.Area] // C_L A downward, of a lip; not given: from the rated depth
	Rated            Rating
	SpeedLo, SpeedHi Q[unit.Speed] // window in which it works
}

// Rating is a depth that a lipped plug reaches, from which its down force is found.
type Rating struct {
	Depth        Q[unit.Length]
	LineOut      Q[unit.Length]
	LineDiameter Q[unit.Length]
	Speed        Q[unit.Speed]
}

// Leader is a named length of line.
type Leader struct {
	Item
	Line   string
	Length Q[unit.Length]
}

// Snubber is a short elastic section.
type Snubber struct {
	Item
	Length    Q[unit.Length]
	Diameter  Q[unit.Length]
	Mass      Q[unit.LinearDensity]
	Stiffness Q[unit.Force]
}
