package sternfan

// Aim is how one rod's own gear puts its lure where it is wanted: the ways it can, best
// first, or how near it comes and which single change would do it. SI, boat frame.
type Aim struct {
	Version  int      `json:"version"`
	Rod      string   `json:"rod"`
	Position string   `json:"position,omitempty"`
	Lure     string   `json:"lure"` // part id of the lure that is aimed
	Depth    float64  `json:"depth_m"`
	Side     *float64 `json:"side_m,omitempty"` // wanted, from the center line to the rod's side
	Kept     []string `json:"kept,omitempty"`   // settings that were not to change
	Now      *Way     `json:"now,omitempty"`
	Ways     []Way    `json:"ways"`
	Found    int      `json:"found"`    // ways found in all, of which Ways are the best
	Finished bool     `json:"finished"` // false: stopped early, this is the best so far

	Limit   *AimLimit   `json:"limit,omitempty"`   // when no way was found
	Changes []AimChange `json:"changes,omitempty"` // each enough by itself
}

// Way is one set of settings and where the lure runs with it.
type Way struct {
	Settings []WaySetting `json:"settings"` // in the order of hands
	Text     string       `json:"text"`     // "dial 2 port, let out 148 ft"
	Set      []string     `json:"set"`      // the same as changes of the file, KEY=VALUE; empty: more than settings change

	Vary  string  `json:"vary"`    // the setting that was found, not chosen from a list
	Exact float64 `json:"exact"`   // its value before rounding to a step, SI
	Depth float64 `json:"depth_m"` // with the exact value

	LineOut  float64    `json:"line_out_m"`
	TipPull  float64    `json:"tip_pull_n"`
	Status   Status     `json:"status"`
	Lure     LureFan    `json:"lure"` // with the rounded value
	Slower   *WayAt     `json:"slower,omitempty"`
	Faster   *WayAt     `json:"faster,omitempty"`
	Others   []WayOther `json:"others,omitempty"`
	Warnings []Warning  `json:"warnings,omitempty"`
}

// WaySetting is one setting of a way.
type WaySetting struct {
	Key     string  `json:"key"` // "dial", "line-out", ...
	Value   float64 `json:"value"`
	Text    string  `json:"text"`
	Changed bool    `json:"changed"`
}

// WayAt is where the lure of a way runs at another speed of the kind that was given.
type WayAt struct {
	Speed   float64 `json:"speed_mps"`
	Depth   float64 `json:"depth_m"`
	DepthLo float64 `json:"depth_lo_m"` // as those of a lure
	DepthHi float64 `json:"depth_hi_m"`
	Side    float64 `json:"side_m"`
	Status  string  `json:"limit,omitempty"` // what gives way at that speed
}

// WayOther is another lure that moves with the same cable or board.
type WayOther struct {
	Rod     string  `json:"rod"`
	Lure    string  `json:"lure"`
	From    float64 `json:"from_m"`
	Depth   float64 `json:"depth_m"`
	DepthLo float64 `json:"depth_lo_m"`
	DepthHi float64 `json:"depth_hi_m"`
}

// AimLimit is the reachable depth nearest to one that is out of reach, and what stops
// the rod there.
type AimLimit struct {
	Depth float64 `json:"depth_m"`
	Exact float64 `json:"exact"`
	Vary  string  `json:"vary"`
	Why   string  `json:"why"` // in words: "the spool ends"
	Way   *Way    `json:"way,omitempty"`
}

// AimChange is a single change of gear, speed or what was kept, that reaches the target.
type AimChange struct {
	Kind string `json:"kind"` // "speed", "line", "diver", "ring", "ball", "weight", "lure", "reel", "keep"
	Text string `json:"text"` // "thinner line: braid-30 for braid-50"
	Buy  bool   `json:"buy"`  // the scenario has no such thing
	Way  *Way   `json:"way,omitempty"`
}

// AimAll is a change of every rod at once.
type AimAll struct {
	Version  int       `json:"version"`
	Order    string    `json:"order"`    // as it was said
	Finished bool      `json:"finished"` // false: stopped early, this is the best so far
	Rods     []AimMove `json:"rods"`
	Set      []string  `json:"set"`             // all of it as changes of the file, KEY=VALUE
	Close    []AimGap  `json:"close,omitempty"` // pairs inside the margins and nearer than before
	Tight    []Gap     `json:"tight,omitempty"` // pairs inside the margins as they were before
	Least    *Gap      `json:"least,omitempty"` // the nearest pair
	Fan      *Fan      `json:"-"`               // the spread as moved
}

// AimMove is what one rod does in a change of every rod.
type AimMove struct {
	Rod      string  `json:"rod"`
	Position string  `json:"position,omitempty"`
	From     float64 `json:"from_m"`
	FromLo   float64 `json:"from_lo_m"`
	FromHi   float64 `json:"from_hi_m"`
	Want     float64 `json:"want_m"`
	To       LureFan `json:"to"`              // where it runs in the moved spread
	Way      *Way    `json:"way,omitempty"`   // nil: it stays
	Stays    string  `json:"stays,omitempty"` // why
	Short    string  `json:"short,omitempty"` // why it does not go all the way
}

// AimGap is a pair of lines that could not be kept apart.
type AimGap struct {
	Gap
	Why string `json:"why"`
}

// AimLike is a setting heard from elsewhere: how it was understood, where its lure runs
// on this boat's water, and how each rod gets there.
type AimLike struct {
	Version  int      `json:"version"`
	Said     string   `json:"said"`
	Finished bool     `json:"finished"` // false: stopped early, this is the best so far
	Taken    []string `json:"taken"`    // as understood
	Assumed  []string `json:"assumed"`  // what was not said
	Lure     LureFan  `json:"lure"`
	Speed    float64  `json:"speed_mps"`
	Ways     []Aim    `json:"rods"`
}
