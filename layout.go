package sternfan

import "sternfan/unit"

// Lay is how a person wants a spread laid out, beside bands, margins and caps.
type Lay struct {
	Pattern string         // PatternSearching (when not given) or PatternKnown
	LookUp  Q[float64]     // how many times worse a yard too deep is than a yard too shallow
	Reach   Q[unit.Length] // from device to hook that a hand and a net still reach
	Lines   int            // at least so many lines out; 0: not asked
	Have    []Stock        // how many there are of a piece of gear; not listed: enough
	Kits    []Kit          // other ways to rig the rods
	Places  []LayPlace     // where rods may stand; not listed: wherever their kind goes
	Steps   Steps
	Turns   []Manoeuvre // that the spread is to go through; none given: the scenario's Manoeuvre, if it says to which side
	Weights LayWeights
}

// Whether the fish have shown what they take.
const (
	PatternSearching = "searching"
	PatternKnown     = "known"
)

// Stock is how many there are of a piece of gear.
type Stock struct {
	Gear  string
	Count int
}

// Kit is another way to rig some rods.
type Kit struct {
	ID       string
	Rods     []string // that can take it: their reel holds its line
	Reel     string   // when it needs another reel
	Rig      Rig
	Settings Settings // to start from
}

// LayPlace says which holders a rod may stand in.
type LayPlace struct {
	Rod     string
	Holders []string
}

// Steps are the steps in which settings are changed.
type Steps struct {
	LineOut  Q[unit.Length]
	CableOut Q[unit.Length]
	Lead     Q[unit.Length]
	Dial     Q[float64]
}

// LayWeights are what the terms of a plan's score weigh. A weight that is not given has
// the default of package lay; docs/planning.md says what each term is.
type LayWeights struct {
	Cover, ShallowOutside, HighOutside, Apart, Room, LeadAcross, HookInReach, Snubber,
	Bears, Balance, Variety, LureSpeed, TripRoom, AsNow, Turns Q[float64]
}
