package sternfan

// Turn is what a manoeuvre does to a spread. Places are over ground: x along the boat's
// first heading from where her origin was at the start, y to starboard of it, depth down.
type Turn struct {
	Version   int         `json:"version"`
	Name      string      `json:"name,omitempty"`
	Manoeuvre TurnPlan    `json:"manoeuvre"`
	Every     float64     `json:"every_s"` // between the samples of all series
	Boat      []TurnPose  `json:"boat"`
	Shapes    int         `json:"shapes_every,omitempty"` // samples from one of the tracks' shapes to the next; 0: there are none
	Tracks    []TurnTrack `json:"tracks"`
	Tasks     []TurnTask  `json:"tasks,omitempty"` // of setting or clearing, in the order in which they begin
	Pairs     []TurnPair  `json:"pairs"`           // every two parties, the nearest first in the margins' measure
	Other     *TurnOther  `json:"other_side,omitempty"`
	Least     *TurnLeast  `json:"least,omitempty"`   // a wider turn to the same side that brings no two inside their margin, when this one does and one was looked for
	Circles   []TurnOther `json:"circles,omitempty"` // after a strike: what comes nearest to its line in a slow wide circle
	Worlds    int         `json:"worlds"`            // sampled
	Unsolved  int         `json:"worlds_unsolved,omitempty"`
	Verdict   *Verdict    `json:"verdict,omitempty"` // of straight running, before it
	Missing   []Missing   `json:"missing,omitempty"` // rods that the answer does not cover, or not to the end
	Start     *Fan        `json:"-"`                 // the spread straight on
	Risk      *Risk       `json:"risk,omitempty"`    // that any two come inside their margin that did not run inside it before
	Warnings  []Warning   `json:"warnings"`
}

// TurnPlan is the manoeuvre as it was run.
type TurnPlan struct {
	Event   string  `json:"event,omitempty"` // "": a turn; "track", "stop", "strike", ...
	Rod     string  `json:"rod,omitempty"`   // of the event
	To      Side    `json:"to"`
	Angle   float64 `json:"angle_rad"`
	Radius  float64 `json:"radius_m"` // through the surface water
	Rate    float64 `json:"rate_rad_s"`
	Speed   float64 `json:"speed_mps"` // through the surface water
	SpeedTo float64 `json:"speed_to_mps"`
	Ramp    float64 `json:"yaw_ramp_s"`
	People  int     `json:"people,omitempty"`  // aboard, while lines are set or cleared
	Pay     float64 `json:"pay_mps,omitempty"` // at which lines go out or come in then
	Begin   float64 `json:"begin_s"`           // after the straight leg before it
	End     float64 `json:"end_s"`             // of the manoeuvre itself
	Until   float64 `json:"until_s"`           // of the straight leg after it
}

// TurnLeast is about the tightest turn to a side, from the one asked for on, that keeps the margins.
type TurnLeast struct {
	Radius float64 `json:"radius_m"`
	Time   float64 `json:"time_s"` // it takes, without the straight legs
}

// TurnTask is one line going out or coming in.
type TurnTask struct {
	Rod    string  `json:"rod"`
	Starts float64 `json:"starts_s"`
	Ends   float64 `json:"ends_s"`
}

// TurnPose is the boat at one time.
type TurnPose struct {
	T       float64 `json:"t_s"`
	X       float64 `json:"x_m"`
	Y       float64 `json:"y_m"`
	Heading float64 `json:"heading_rad"` // from the first, to starboard
}

// TurnTrack is one rod or device through the manoeuvre.
type TurnTrack struct {
	Rod      string           `json:"rod"`
	Position string           `json:"position,omitempty"`
	Side     int              `json:"side"`
	Device   bool             `json:"device,omitempty"`
	Status   Status           `json:"status"`
	Stopped  *float64         `json:"stopped_s,omitempty"` // where the solver gave up
	Points   []TurnPoint      `json:"points"`              // the tip first
	TipPull  []float64        `json:"tip_pull_n"`
	Lines    [][][][3]float64 `json:"-"` // by sample and chain, for drawings
	// Shapes are the lines as they lie, thinned to what a drawing needs: by chain (a clipped
	// rod has several), at every so many samples from the first on, the points one after
	// another as x, y, z in centimeters in the boat's frame (x forward, y to starboard, z
	// down), from the tip on. Empty while a line is not out.
	Shapes   [][][]int `json:"shapes_cm,omitempty"`
	Warnings []Warning `json:"warnings"`
}

// TurnPoint is a tip, a body or a lure through the manoeuvre, a value a sample.
type TurnPoint struct {
	ID      string       `json:"id"`
	Kind    string       `json:"kind"`
	Lure    bool         `json:"lure,omitempty"`
	Window  *[2]float64  `json:"window_mps,omitempty"`
	DepthLo float64      `json:"depth_lo_m"` // 80 % interval of its depth straight on
	DepthHi float64      `json:"depth_hi_m"`
	At      [][3]float64 `json:"at_m"`
	Through []float64    `json:"through_water_mps"`
}

// TurnPair is how near two parties come, when, and how often in sampled worlds.
type TurnPair struct {
	Gap
	T     float64 `json:"t_s"`
	First float64 `json:"first_ratio"` // as they run before it
	Risk  *Risk   `json:"risk,omitempty"`
}

// Risk is how many of the sampled worlds break a margin, with the figure's own 80 %
// interval (Wilson 1927).
type Risk struct {
	Broken int     `json:"broken"`
	Of     int     `json:"of"`
	Lo     float64 `json:"lo"`
	Hi     float64 `json:"hi"`
}

// TurnOther is the same manoeuvre to the other side, nominal.
type TurnOther struct {
	To   Side      `json:"to"`
	Near *TurnPair `json:"nearest,omitempty"`
}

// Tightest is how small a radius keeps the margins, to one side.
type Tightest struct {
	To     Side      `json:"to"`
	Radius float64   `json:"radius_m"`        // 0: none of those tried keeps them
	Time   float64   `json:"time_s"`          // to come about
	Angle  float64   `json:"angle_rad"`       //
	Gives  *TurnPair `json:"gives,omitempty"` // what comes inside its margin first when tighter
	Risk   *Risk     `json:"risk,omitempty"`  // at that radius
}
