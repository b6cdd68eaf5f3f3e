package sternfan

// Stint is a rod fishing with one rig and one setting from a time to a time: the effort
// behind the strikes, and the strikes. Any change of rig or setting ends a stint and
// begins the next. Time in which the line did not fish (in the boat, or found fouled: back
// to its last check) is in no stint.
//
// A strike whose rod has no stint at that time is handed over in a stint of its own with
// From == To: it counts nowhere, and it is said that it does not.
type Stint struct {
	ID       string   `json:"id,omitempty"`
	Trip     string   `json:"trip"`
	Rod      string   `json:"rod"`
	Position string   `json:"position,omitempty"` // what the crew calls the holder
	Side     Side     `json:"side"`               // of the holder
	From     int64    `json:"from_ms"`            // Unix time, milliseconds
	To       int64    `json:"to_ms"`
	East     int32    `json:"east_s"` // local time less UTC, seconds: hours of the day are local
	Setup    *Setup   `json:"setup"`  // shared between stints; nil: nothing known
	Measures Measures `json:"measures"`
	Strikes  []Strike `json:"strikes,omitempty"` // in order of time
}

// RodHours returns the effort of the stint, hours; never negative.
func (s *Stint) RodHours() float64 { return max(0, float64(s.To-s.From)) / 3.6e6 }

// Setup is what a rod fishes, as names to compare by. Few setups serve many stints, so
// stints share them by pointer, and nobody writes to one that is shared.
//
// Keys are the kind of part ("rig", "line", "diver", "attractor", "lure", "leader", ...)
// with the gear's id as value, and kind.attribute with the gear's free attribute:
// "diver.color", "lure.finish". What hangs on a slider is "slider.lure" and so on.
type Setup struct {
	Attributes map[string]string `json:"attributes"`
}

// Measure is a number that a stint may have.
type Measure uint8

// The measures, SI.
const (
	MeasureDepth     Measure = iota // of the lure, predicted, m
	MeasureLineOut                  // m
	MeasureLead                     // m
	MeasureDial                     // mark
	MeasureSpeed                    // over ground, m/s
	MeasureProbe                    // speed through the water at depth, m/s
	MeasureToCurrent                // heading less the current's set, degrees, -180 to 180: 0 is down-current
	MeasureBottom                   // depth of water, m
	MeasureSurface                  // temperature at the surface, deg C
	Measured                        // how many there are
)

// String returns the name of the measure as an attribute to compare by.
func (m Measure) String() string {
	names := [Measured]string{"depth", "line-out", "lead", "dial", "speed", "probe-speed", "to-current", "bottom", "surface-temperature"}
	if m >= Measured {
		return "unknown"
	}
	return names[m]
}

// Measures holds the measures that are known. Single precision is finer than any of them.
type Measures struct {
	Known  uint16            `json:"known"` // bit m: Values[m] is known
	Values [Measured]float32 `json:"values"`
}

// Set makes a measure known.
func (ms *Measures) Set(m Measure, v float64) {
	ms.Known |= 1 << m
	ms.Values[m] = float32(v)
}

// Get returns a measure and whether it is known.
func (ms *Measures) Get(m Measure) (float64, bool) {
	return float64(ms.Values[m]), ms.Known&(1<<m) != 0
}

// Strike is a fish that struck, landed or not.
type Strike struct {
	ID      string `json:"id,omitempty"`
	At      int64  `json:"at_ms"`             // Unix time, milliseconds
	Species string `json:"species,omitempty"` // "": nobody saw or said
	Landed  bool   `json:"landed"`
}
