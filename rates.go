package sternfan

// Rates is what the log says about one attribute: strikes per rod-hour at each of its
// levels, and whether the levels differ. Rates are per rod-hour; intervals hold 4 times
// in 5 (80 %) unless Confidence says otherwise.
type Rates struct {
	Compare    string       `json:"compare"` // the attribute
	Given      []string     `json:"given"`   // what was held equal: "trip-hour", "side", ...
	Species    []string     `json:"species,omitempty"`
	Confidence float64      `json:"confidence"`
	FlurryS    float64      `json:"flurry_s"` // strikes of a trip no further apart count once; 0: each counts
	Trips      int          `json:"trips"`
	Stints     int          `json:"stints"`
	RodHours   float64      `json:"rod_hours"`
	Strikes    int          `json:"strikes"`
	Events     int          `json:"events"` // strikes after flurries count once
	Unknown    RatesUnknown `json:"unknown"`
	Levels     []RateLevel  `json:"levels"`    // ranked by the lower end of the pooled interval, or in their own order when Ordered
	Ordered    bool         `json:"ordered"`   // levels have an order of their own: depth, hour
	Contrasts  []Contrast   `json:"contrasts"` // of two levels one, else each level against the others
	Looked     int          `json:"looked"`    // comparisons that the luck of each is weighed against
	Pooling    Pooling      `json:"pooling"`
	Demo       bool         `json:"demo,omitempty"` // invented data
}

// RatesUnknown is what could not be counted.
type RatesUnknown struct {
	RodHours float64 `json:"rod_hours"` // the attribute is not known
	Strikes  int     `json:"strikes"`
	NoEffort int     `json:"no_effort"` // strikes on rods without a stint at that time
}

// RateLevel is one level of the attribute.
type RateLevel struct {
	Level    string   `json:"level"`
	RodHours float64  `json:"rod_hours"`
	Strikes  int      `json:"strikes"`
	Events   int      `json:"events"`
	Rate     float64  `json:"rate_per_h"`        // events per rod-hour
	Exact    Interval `json:"exact_per_h"`       // Garwood
	MidP     Interval `json:"mid_p_per_h"`       // narrower; right on average, not at every true rate
	Each     float64  `json:"rate_each_per_h"`   // every strike counted
	EachMidP Interval `json:"each_mid_p_per_h"`  // with every strike counted
	Pooled   float64  `json:"pooled_per_h"`      // drawn toward the others by how much the levels differ at all
	PooledIn Interval `json:"pooled_mid_per_h"`  // its interval
	First    float64  `json:"chance_first"`      // that this level's true rate is the highest
	Order    float64  `json:"order"`             // the level's place on an axis of its own, SI; 0 when it has none
	Expected float64  `json:"expected_if_equal"` // events it would have had at equal rates, strata held equal
}

// Interval is a range. Open means that there is no upper limit; Hi is then 0.
type Interval struct {
	Lo   float64 `json:"lo"`
	Hi   float64 `json:"hi"`
	Open bool    `json:"open,omitempty"`
}

// Certainty is how surely a difference between rates may be claimed.
type Certainty string

// The certainties. A difference is claimed at CertaintyBetter and CertaintyLikely; where there is
// none, these are given no more often than 1 time in 20 and 1 time in 5, all comparisons
// looked at taken together.
const (
	CertaintyTooLittle Certainty = "too-little" // no outcome of so few strikes could have told
	CertaintyOpen      Certainty = "open"       // cannot tell
	CertaintyLevel     Certainty = "level"      // the interval is within a quarter of level
	CertaintyLikely    Certainty = "likely"
	CertaintyBetter    Certainty = "better"
)

// Contrast is the rate of level A over that of B, or over all the others when B is "".
// It is counted twice: with a flurry as one event, which decides, and strike by strike.
type Contrast struct {
	A       string        `json:"a"`
	B       string        `json:"b,omitempty"`
	Events  RatioEstimate `json:"events"`
	Each    RatioEstimate `json:"each"`
	Luck    float64       `json:"luck"` // chance of so wide a gap somewhere among all comparisons looked at, if nothing differs
	Verdict Certainty     `json:"verdict"`
}

// RatioEstimate is what the shared strata say about the ratio of two rates.
type RatioEstimate struct {
	A         int      `json:"a"` // events in strata where both fished
	B         int      `json:"b"`
	HoursA    float64  `json:"rod_hours_a"` // rod-hours in those strata
	HoursB    float64  `json:"rod_hours_b"`
	Strata    int      `json:"strata"` // with events
	Ratio     float64  `json:"ratio"`  // conditional maximum likelihood; 0 when Open
	Open      bool     `json:"open,omitempty"`
	Exact     Interval `json:"exact"`
	MidP      Interval `json:"mid_p"`
	P         float64  `json:"p"`              // two-sided, exact: twice the smaller tail
	PMid      float64  `json:"p_mid"`          // the same with half of the probability of what was seen
	Chance    float64  `json:"chance"`         // confidence that the one ahead is better: 1 less the exact one-sided p
	Decidable bool     `json:"decidable"`      // some outcome of so many events could have been a claim
	Method    string   `json:"method"`         // "exact", or "saddlepoint" when there are many
	More      float64  `json:"more_rod_hours"` // more rod-hours of each, side by side, to pin the ratio within a quarter; 0: it is
}

// Pooling says how much the levels of an attribute differ at all.
type Pooling struct {
	Method   string   `json:"method"`
	Spread   float64  `json:"spread"` // relative, of the true rates about their mean: posterior mean
	SpreadIn Interval `json:"spread_interval"`
}
