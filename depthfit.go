package sternfan

// MeasuredKind says what was measured.
type MeasuredKind string

// The kinds of measurement.
const (
	MeasuredDepth  MeasuredKind = "depth"  // of a lure or ball, by a depth logger at it
	MeasuredBottom MeasuredKind = "bottom" // the lure touches at one line out and not at another
	MeasuredAngle  MeasuredKind = "angle"  // of the line at the water, from the horizontal
	MeasuredSide   MeasuredKind = "side"   // from the boat's center line out to the lure
	MeasuredAstern MeasuredKind = "astern" // from the transom back to the lure
	MeasuredPull   MeasuredKind = "pull"   // at the rod tip, on a hand scale
	MeasuredRange  MeasuredKind = "range"  // slant range from the sounder's transducer
)

// Measurement is one thing that was measured on the water, SI.
type Measurement struct {
	Dated    string       `json:"dated"` // "2026-06-03"
	Rod      string       `json:"rod"`   // a rod's id, or a downrigger's for its ball
	Kind     MeasuredKind `json:"kind"`
	Part     string       `json:"part,omitempty"` // of the rig; "": the first lure, or the ball
	Value    float64      `json:"value"`          // m, degrees or N; for "bottom" the depth of water
	SD       float64      `json:"sd"`             // one standard deviation
	Settings []string     `json:"settings"`       // what was different from the scenario: "speed.value=2.6 mph"
	// Of "bottom" only: with Settings the lure touches, with these it does not. Nil: not tried.
	ClearAt    []string   `json:"clear_at,omitempty"`
	Touched    bool       `json:"touched,omitempty"`
	Transducer [3]float64 `json:"transducer_m"` // boat frame, for "range"
	Line       int        `json:"line"`         // in the file of measurements
}

// DepthFit is what measurements say of a boat's own numbers.
type DepthFit struct {
	Version    int               `json:"version"`
	Mark       string            `json:"mark"`  // of the measurements, so that they count once
	Dated      string            `json:"dated"` // the last of them
	Measured   []MeasuredFit     `json:"measured"`
	Numbers    []FittedNumber    `json:"numbers"`
	Alike      []AlikeNumbers    `json:"cannot_tell_apart"`
	Quiet      []string          `json:"say_little_about"` // numbers touched whose interval hardly shrank
	Lures      []FittedLure      `json:"lures"`
	Next       []NextMeasurement `json:"measure_next"` // that which narrows most first
	Save       []SavedNumber     `json:"calibrations"`
	Passes     int               `json:"passes"`
	Settled    bool              `json:"settled"`             // the passes came to rest
	Unreckoned int               `json:"unreckoned"`          // measurements with settings that could not be solved
	Files      []string          `json:"files,omitempty"`     // scenario and measurements
	SavedTo    string            `json:"saved_to,omitempty"`  // "" when nothing was saved
	Earlier    int               `json:"earlier,omitempty"`   // calibrations already in use
	Unmodeled  bool              `json:"unmodeled,omitempty"` // measurements scatter more than their stated errors
}

// MeasuredFit is a measurement against what was and is reckoned of it.
type MeasuredFit struct {
	Measurement
	Before float64 `json:"before"` // of a "bottom" the lure's depth where it touched, or else was clear
	After  float64 `json:"after"`
	Trust  float64 `json:"trust"` // chance that it is no gross error, 0 to 1
	Solved bool    `json:"solved"`
}

// Aside reports whether the measurement was as good as set aside.
func (m *MeasuredFit) Aside() bool { return m.Solved && m.Trust < 0.5 }

// Strange reports whether most of what was measured had to be set aside: then it is the
// description that is wrong, and nothing is learned.
func (f *DepthFit) Strange() bool {
	solved, aside := 0, 0
	for i := range f.Measured {
		if f.Measured[i].Solved {
			solved++
		}
		if f.Measured[i].Aside() {
			aside++
		}
	}
	return aside > 0 && 2*aside >= solved
}

// FittedNumber is an entry of the registry before and after, SI. Intervals hold 4 times in 5.
type FittedNumber struct {
	Name    string  `json:"name"`
	Param   string  `json:"param"`
	Target  string  `json:"target,omitempty"`
	Unit    string  `json:"unit"`
	Day     string  `json:"day,omitempty"` // of one day only
	Before  float64 `json:"before"`
	BeforeL float64 `json:"before_lo"`
	BeforeH float64 `json:"before_hi"`
	After   float64 `json:"after"`
	AfterL  float64 `json:"after_lo"`
	AfterH  float64 `json:"after_hi"`
	Score   float64 `json:"score"`    // the shift in standard deviations of what was assumed
	ScoreSD float64 `json:"score_sd"` // 1: nothing learned, 0: all
	Saved   bool    `json:"saved"`
}

// AlikeNumbers are two numbers that the measurements move together.
type AlikeNumbers struct {
	A   string  `json:"a"`
	B   string  `json:"b"`
	Rho float64 `json:"rho"`
}

// FittedLure is where a lure runs at the scenario's settings, before and after, m.
type FittedLure struct {
	Rod      string  `json:"rod"`
	Position string  `json:"position,omitempty"`
	Side     Side    `json:"-"` // of the rod's holder
	Lure     string  `json:"lure"`
	Before   float64 `json:"before_m"`
	BeforeLo float64 `json:"before_lo_m"`
	BeforeHi float64 `json:"before_hi_m"`
	After    float64 `json:"after_m"`
	AfterLo  float64 `json:"after_lo_m"`
	AfterHi  float64 `json:"after_hi_m"`
	LineOut  float64 `json:"line_out_m,omitempty"`     // as set; of a downrigger's rod the cable out
	LineFor  float64 `json:"line_for_was_m,omitempty"` // that puts the lure where it was reckoned before; 0: none nearby
	Cable    bool    `json:"cable,omitempty"`
}

// NextMeasurement is a measurement that could be made and how much it would narrow the
// predicted depths.
type NextMeasurement struct {
	Rod      string       `json:"rod"`
	Position string       `json:"position,omitempty"`
	Kind     MeasuredKind `json:"kind"`
	LineOut  float64      `json:"line_out_m"`
	Cable    bool         `json:"cable,omitempty"`
	SD       float64      `json:"sd"`
	Narrows  float64      `json:"narrows"` // part of the depths' variance that it takes away, 0 to 1
}

// SavedNumber is a calibration as saved with the gear.
type SavedNumber struct {
	Name   string  `json:"name"`
	Scale  float64 `json:"scale,omitempty"`
	Shift  float64 `json:"shift,omitempty"`
	Kind   string  `json:"distribution"`
	SD     float64 `json:"sd"`
	Dated  string  `json:"dated"`
	Source string  `json:"source"`
	Off    bool    `json:"off,omitempty"`
	// With the other numbers saved.
	Corr []Correlation `json:"correlation,omitempty"`
	// What it rests on, the same for all that are saved.
	Mark     string   `json:"-"`
	Readings []string `json:"-"`
}

// Calibration returns the entry of the scenario.
func (s *SavedNumber) Calibration() Calibration {
	c := Calibration{Name: s.Name, Scale: s.Scale, Shift: s.Shift, Dated: s.Dated, Source: s.Source, Off: s.Off, Corr: s.Corr, Scatter: Abs(s.SD), Mark: s.Mark, Readings: s.Readings}
	if s.Kind == LogNormal.String() {
		c.Scatter = Rel(s.SD)
	}
	return c
}
