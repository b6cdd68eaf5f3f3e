package sternfan

// Layout is what planning a spread comes to: the best plans, best first, or the rules
// that leave none.
type Layout struct {
	Version  int        `json:"version"`
	Name     string     `json:"name,omitempty"`
	Seed     uint64     `json:"seed"`
	Plans    []Plan     `json:"plans"`
	Bands    []BandWant `json:"bands"`
	Bound    float64    `json:"bound"`    // no plan scores more: every line at its best, pairs not looked at
	Proven   bool       `json:"proven"`   // every plan in these steps was tried or ruled out
	Finished bool       `json:"finished"` // false: stopped early, the best so far
	Looked   int        `json:"looked"`   // plans scored
	Conflict []LayRule  `json:"conflict,omitempty"`
	Weights  []LayTerm  `json:"weights"` // the weights in use, Value 0
	Warnings []Warning  `json:"warnings,omitempty"`
}

// BandWant is a band with how many lures are meant for it.
type BandWant struct {
	From   float64 `json:"from_m"`
	To     float64 `json:"to_m"`
	Weight float64 `json:"weight"`
	Lures  int     `json:"lures"`
	Reason string  `json:"reason,omitempty"` // of a band that was proposed from temperatures
}

// Plan is one way to lay the spread out.
type Plan struct {
	Score     float64     `json:"score"` // 0 to 1
	Terms     []LayTerm   `json:"terms"`
	Bands     []BandCover `json:"bands"`
	Rods      []Placed    `json:"rods"`           // in the order of the file
	Left      []LeftOut   `json:"left,omitempty"` // rods that stay in the rack
	Fan       *Fan        `json:"fan"`
	Nearest   *Gap        `json:"nearest,omitempty"` // the least clearance
	Speed     []SpeedLure `json:"speed"`
	Set       []SetStep   `json:"set"`   // in the order to set
	Clear     []string    `json:"clear"` // rods in the order to take in
	SetTime   float64     `json:"set_minutes"`
	ClearTime float64     `json:"clear_minutes"`
	People    int         `json:"people"`
	Crossings []Crossing  `json:"crossings,omitempty"`
	Turns     []PlanTurn  `json:"turns,omitempty"` // the turns intended, as far as they were looked at
	Scenario  *Scenario   `json:"-"`
}

// LayTerm is one term of a score.
type LayTerm struct {
	Name   string  `json:"name"`
	Weight float64 `json:"weight"`
	Value  float64 `json:"value"` // 0 to 1: how well it is met
}

// BandCover is how a band is covered.
type BandCover struct {
	From  float64  `json:"from_m"`
	To    float64  `json:"to_m"`
	Want  int      `json:"want"`            // lures meant for it
	Cover float64  `json:"cover"`           // 0 to 1
	Rods  []string `json:"rods"`            // that count toward it, the nearer the more
	In    int      `json:"in"`              // lures that run in it
	Above []string `json:"above,omitempty"` // of Rods, those whose lures all run above it
	Below []string `json:"below,omitempty"`
}

// Placed is one rod of a plan.
type Placed struct {
	Rod      string      `json:"rod"`
	Holder   string      `json:"holder"`
	Position string      `json:"position"`
	Kit      string      `json:"kit,omitempty"` // when it is rigged otherwise than in the file
	Band     int         `json:"band"`          // that its lure is meant for; -1: none
	Settings string      `json:"settings"`
	Fixed    bool        `json:"fixed,omitempty"`
	Moved    bool        `json:"moved,omitempty"` // to another holder
	Why      []LayReason `json:"why"`             // the strongest first
	Cautions []Warning   `json:"cautions,omitempty"`
}

// LayReason is why a rod is where it is: a code with what it speaks of.
type LayReason struct {
	Code  string  `json:"code"`
	Rod   string  `json:"rod,omitempty"` // another rod it is about
	Value float64 `json:"value,omitempty"`
}

// LeftOut is a rod that a plan does not use.
type LeftOut struct {
	Rod  string `json:"rod"`
	Code string `json:"code"` // "cap", "no-room", "no-depth", "no-gain"
}

// SpeedLure is what a lure does when the boat goes slower and faster.
type SpeedLure struct {
	Rod    string  `json:"rod"`
	Lure   string  `json:"lure"`
	Slower float64 `json:"slower_m"` // change of depth, + deeper
	Faster float64 `json:"faster_m"`
	Change float64 `json:"change_mps"` // of speed, either way
}

// SetStep is one line going out.
type SetStep struct {
	Rod     string  `json:"rod"`
	Minutes float64 `json:"minutes"`          // of hands on it
	Starts  float64 `json:"starts"`           // minutes after the first
	Passes  []Gap   `json:"passes,omitempty"` // lines already out that it comes nearest to on its way; A is the rod
}

// Crossing is a line that comes inside the margin of one that is already out when it is
// set, whatever the order.
type Crossing struct {
	Rod  string `json:"rod"`
	Over string `json:"over"`
	Gap  Gap    `json:"gap"`
}

// PlanTurn is what a turn that is intended does to a plan, nominal and with the margins
// grown by the intervals.
type PlanTurn struct {
	To     Side       `json:"to"`
	Angle  float64    `json:"angle_rad"`
	Radius float64    `json:"radius_m"` // through the surface water, at its beginning
	Rate   float64    `json:"rate_rad_s"`
	Time   float64    `json:"time_s"` // to come about
	Begin  float64    `json:"begin_s"`
	Near   *TurnPair  `json:"nearest,omitempty"`
	Broken []TurnPair `json:"broken"`         // that it brings inside their margin, the nearest first
	Lost   []string   `json:"lost,omitempty"` // rods and devices whose way is not known to its end
}

// LayRule is a rule that a plan must keep.
type LayRule struct {
	Code string `json:"code"`           // "fixed", "cap-lines", "cap-lures", "have", "clearance", "bottom", "spool", "strength", "trip", "least-lines", "least-band", "holder", "cable"
	What string `json:"what,omitempty"` // the rod, gear or band it is of
	Text string `json:"text"`
}

// Reset is how one line goes out again while the rest are out.
type Reset struct {
	Rod      string      `json:"rod"`
	How      string      `json:"how"` // "as-was", "slide", "other", "none"
	Settings string      `json:"settings,omitempty"`
	Moves    []ResetMove `json:"moves,omitempty"` // of other lines, first to last, before it goes out
	Passes   []Gap       `json:"passes"`
	Blocked  *Gap        `json:"blocked,omitempty"` // what is in the way of setting it as it was
	Fan      *Fan        `json:"fan"`
	Minutes  float64     `json:"minutes"`
	Scenario *Scenario   `json:"-"`
}

// ResetMove is another line that lets out more to make room.
type ResetMove struct {
	Rod  string  `json:"rod"`
	From float64 `json:"from_m"`
	To   float64 `json:"to_m"`
}
