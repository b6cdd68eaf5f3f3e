package sternfan

// Trial is a fair test of an attribute's levels: which rod carries which, and when they
// change places, so that side, position and hour cannot pass for the attribute.
type Trial struct {
	Compare   string       `json:"compare"`
	Levels    []string     `json:"levels"`
	Rods      []TrialRod   `json:"rods"`
	Turns     []TrialTurn  `json:"turns"`
	Balance   []TrialTally `json:"balance"` // by level
	RatePerH  float64      `json:"rate_per_h"`
	RateKnown bool         `json:"rate_known"` // from the log or given; else assumed
	Power     float64      `json:"power"`      // that Needs are worked out for
	Needs     []TrialNeed  `json:"needs"`
	Troubles  []string     `json:"troubles,omitempty"` // what the plan cannot hold equal
	HoursEach float64      `json:"rod_hours_each"`     // of each level in one outing
	Lost      float64      `json:"rod_hours_lost"`     // to changing over, all rods
}

// TrialRod is a rod that takes part.
type TrialRod struct {
	ID       string `json:"id"`
	Position string `json:"position,omitempty"`
	Side     Side   `json:"side"`
}

// TrialTurn is a stretch of the day between two change-overs.
type TrialTurn struct {
	FromMin float64  `json:"from_min"` // after the first line is set
	ToMin   float64  `json:"to_min"`
	Carries []string `json:"carries"` // level of each rod
}

// TrialTally is how much one level fishes on each side and rod, hours.
type TrialTally struct {
	Level     string             `json:"level"`
	Port      float64            `json:"port_h"`
	Starboard float64            `json:"starboard_h"`
	Middle    float64            `json:"middle_h"`
	ByRod     map[string]float64 `json:"by_rod_h"`
	Midtime   float64            `json:"mid_min"` // mean time of its fishing: equal for all levels when drift cancels
}

// TrialNeed is what it takes to tell one true ratio.
type TrialNeed struct {
	Ratio       float64 `json:"ratio"`         // of one level over the others
	LikelyHours float64 `json:"likely_h_each"` // rod-hours of each level until "likely better" comes out with the power
	BetterHours float64 `json:"better_h_each"`
	LikelyOne   float64 `json:"likely_one"` // chance that one outing says at least "likely better"
	BetterOne   float64 `json:"better_one"`
}

// Fired is what recent strikes share against what was in the water when they struck.
type Fired struct {
	Strikes int     `json:"strikes"` // recent ones, a flurry once
	Looked  int     `json:"looked"`  // levels looked at
	Hints   []Share `json:"hints"`   // strongest evidence first
}

// Share is one level's part in recent strikes.
type Share struct {
	Attribute string  `json:"attribute"`
	Level     string  `json:"level"`
	Hits      int     `json:"hits"`
	Of        int     `json:"of"`       // strikes on rods for which the attribute is known
	Expected  float64 `json:"expected"` // hits by the level's share of the lines out at each strike
	Evidence  float64 `json:"evidence"` // log10 of the Bayes factor for a rate of its own against none
	Luck      float64 `json:"luck"`     // chance of so many hits or more by luck
	LuckAny   float64 `json:"luck_any"` // of such a run somewhere among all levels looked at
}
