package event

import (
	"encoding/json/jsontext"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// TripBegins is the first event of a trip. The scenario is kept with it, so that the trip
// can be solved again years later.
type TripBegins struct {
	Name     string `json:"name,omitzero"`
	Boat     string `json:"boat,omitzero"`
	From     string `json:"from,omitzero"` // where she sails from
	People   int    `json:"people,omitzero"`
	Anglers  int    `json:"anglers,omitzero"` // those of them who fish
	Scenario string `json:"scenario,omitzero"`
	Note     string `json:"note,omitzero"`
}

// TripEnds ends a trip and takes every line that is still out of the water.
type TripEnds struct {
	Note string `json:"note,omitzero"`
}

// LineSet is a line going into the water.
type LineSet struct {
	Line Line `json:"line"`
	Fan  *Fan `json:"fan,omitzero"`
}

// LineChanged is a line that fishes on with other settings. The whole line is given, as
// when it is set.
type LineChanged struct {
	Line Line `json:"line"`
	Fan  *Fan `json:"fan,omitzero"`
}

// LineChecked is a line seen to run free.
type LineChecked struct {
	Note string `json:"note,omitzero"`
}

// LineFouled is a line found fouled: nothing fished since it was last known to run free.
type LineFouled struct {
	With string `json:"with,omitzero"` // weed, fleas, another line
	Note string `json:"note,omitzero"`
}

// LineIn is a line reeled in.
type LineIn struct {
	Note string `json:"note,omitzero"`
}

// Strike is a fish taking hold. Of it nothing need be known but the rod.
type Strike struct {
	Set     ID     `json:"set,omitzero"`  // the line's event; zero: by rod and time
	Lure    string `json:"lure,omitzero"` // part id, for a rod with several
	Species string `json:"species,omitzero"`
	Fan     *Fan   `json:"fan,omitzero"`
	Note    string `json:"note,omitzero"`
}

// Fate is what became of a fish in the boat.
type Fate string

// The fates.
const (
	Kept     Fate = "kept"
	Released Fate = "released"
)

// Landed is a fish brought to the boat.
type Landed struct {
	Strike  ID       `json:"strike,omitzero"` // zero: the rod's last
	Species string   `json:"species,omitzero"`
	Length  *float64 `json:"length_m,omitzero"`
	Mass    *float64 `json:"mass_kg,omitzero"`
	Fate    Fate     `json:"fate,omitzero"`
	Note    string   `json:"note,omitzero"`
}

// Lost is a fish that got off.
type Lost struct {
	Strike   ID     `json:"strike,omitzero"` // zero: the rod's last
	Species  string `json:"species,omitzero"`
	StillOut bool   `json:"still_out,omitzero"` // the line fishes on
	Note     string `json:"note,omitzero"`
}

// Conditions are what was read or seen. Each stands until it is given again.
type Conditions struct {
	OverGround  *float64     `json:"over_ground_mps,omitzero"`
	Surface     *float64     `json:"surface_mps,omitzero"` // through the surface water
	Probe       *float64     `json:"probe_mps,omitzero"`   // through the water at ProbeDepth
	ProbeDepth  *float64     `json:"probe_depth_m,omitzero"`
	Heading     *float64     `json:"heading_deg,omitzero"` // of the bow, from true north
	Temperature [][2]float64 `json:"temperature_c,omitempty"`
	Current     []Current    `json:"current,omitempty"`
	Bottom      *float64     `json:"bottom_m,omitzero"`
	Sky         string       `json:"sky,omitzero"`
	Clarity     string       `json:"clarity,omitzero"` // of the water, in words
	Secchi      *float64     `json:"secchi_m,omitzero"`
	Note        string       `json:"note,omitzero"`
}

// Current is the current at one depth, over ground, flowing toward.
type Current struct {
	Depth  float64 `json:"depth_m"`
	Speed  float64 `json:"mps"`
	Toward float64 `json:"toward_deg"`
}

// CurrentOf returns a point of a scenario's current as the log writes it.
func CurrentOf(p sternfan.CurrentPoint) Current {
	return Current{Depth: float64(p.Depth), Speed: float64(p.Speed), Toward: float64(p.Set / unit.Degree)}
}

// Point returns the current as a scenario has it.
func (c Current) Point() sternfan.CurrentPoint {
	return sternfan.CurrentPoint{Depth: unit.Length(c.Depth), Speed: unit.Speed(c.Speed), Set: unit.Angle(c.Toward) * unit.Degree}
}

// ReadingKind names what was measured.
type ReadingKind string

// What may be measured.
const (
	ReadDepth   ReadingKind = "depth_m"
	ReadSide    ReadingKind = "side_m"
	ReadAstern  ReadingKind = "astern_m"
	ReadSlant   ReadingKind = "slant_m" // from the transducer, as a sounder shows a ball
	ReadPull    ReadingKind = "pull_n"
	ReadAngle   ReadingKind = "angle_deg" // of the line at the water, from the horizontal
	ReadTouched ReadingKind = "touched_m" // bottom touched in this depth of water
	ReadClear   ReadingKind = "clear_m"   // bottom not touched in this depth of water
)

// Reading is something measured at a rod. For learning the boat's own numbers.
type Reading struct {
	What  ReadingKind `json:"what"`
	Value float64     `json:"value"`         // in the unit that What ends in
	SD    float64     `json:"sd,omitzero"`   // one standard deviation, the same unit; 0: not known
	Part  string      `json:"part,omitzero"` // id of the part, "ball", "" for the lure
	Set   ID          `json:"set,omitzero"`  // the line's event; zero: by rod and time
	With  string      `json:"with,omitzero"` // the instrument, in words
	Note  string      `json:"note,omitzero"`
}

// Note is anything worth keeping.
type Note struct {
	Text string `json:"text"`
}

// Fix corrects an event: what is given replaces what was there. A fix may itself be
// fixed, and to void it is to undo it. Of two that say different things of one event
// the one with the later id stands. What begins a trip stays such an event, and no other
// becomes one.
type Fix struct {
	Of   ID             `json:"of"`
	Void bool           `json:"void,omitzero"` // it never happened
	At   *Instant       `json:"at,omitempty"`
	Trip *ID            `json:"trip,omitempty"` // the zero id: of no trip
	Rod  *string        `json:"rod,omitzero"`
	To   Kind           `json:"to,omitzero"`   // the kind that it becomes with Change or Body; may be what it was
	Body jsontext.Value `json:"body,omitzero"` // the whole body, as the first version corrected it

	// The members of the body that change: a JSON merge patch (RFC 7386), in which null
	// takes a member away. What it does not name stays, known or not.
	Change jsontext.Value `json:"change,omitzero"`
	Why    string         `json:"why,omitzero"`
}

// Clock says that a device's clock was wrong. Within the event's trip, or in every trip
// when it has none.
type Clock struct {
	Of    string   `json:"of"`              // the device
	Shift int64    `json:"shift_ms"`        // to add to what it showed
	Until *Instant `json:"until,omitempty"` // only to what it showed before this, when it was set right
}

// Solved is where the lures ran at an event that was written without solving.
type Solved struct {
	Of  ID  `json:"of"`
	Fan Fan `json:"fan"`
}

// Line is a rod's line as it fishes: the rig expanded to parts with the attributes of
// each, and the settings. SI.
type Line struct {
	Rig      sternfan.RigKind `json:"rig,omitzero"` // the named rig that it was expanded from
	Holder   string           `json:"holder,omitzero"`
	Position string           `json:"position,omitzero"` // what the crew calls it
	Side     string           `json:"side,omitzero"`     // of the boat: "port", "starboard" or ""
	Reel     string           `json:"reel,omitzero"`
	Parts    []Part           `json:"parts,omitempty"`
	Settings Settings         `json:"settings,omitzero"`
}

// Lures returns the lures by part id, the main one first and those of what hangs on the
// line after it.
func (l *Line) Lures() []*Part { return luresOf(l.Parts) }

func luresOf(parts []Part) []*Part {
	var main, more []*Part
	for i := range parts {
		if parts[i].Kind == sternfan.PartLure {
			main = append(main, &parts[i])
		}
		more = append(more, luresOf(parts[i].Parts)...)
	}
	return append(main, more...)
}

// Part is one part, from the tip down.
type Part struct {
	ID         string            `json:"id,omitzero"`
	Kind       sternfan.PartKind `json:"kind"`
	Gear       string            `json:"gear,omitzero"`
	Type       string            `json:"type,omitzero"` // the gear's kind: "spoon", "wire"
	Attributes map[string]string `json:"attributes,omitempty"`
	Length     *float64          `json:"length_m,omitzero"`
	Free       bool              `json:"free,omitzero"`
	On         string            `json:"on,omitzero"`
	Parts      []Part            `json:"parts,omitempty"`
}

// Settings are a rod's settings in plain numbers, with those of its device.
type Settings = setting.Logged

// Fan is where a rod's lures ran, as solved for the water and speed of the moment.
type Fan struct {
	Status    sternfan.Status `json:"status"`
	Surface   float64         `json:"surface_mps"` // speed that it was solved for
	TipPull   float64         `json:"tip_pull_n"`
	LineAngle float64         `json:"line_angle_deg"`
	Lures     []Lure          `json:"lures,omitempty"`
	Engine    string          `json:"engine,omitzero"` // version that solved it
}

// Lure is one lure's place, with the 80 % interval of its depth.
type Lure struct {
	ID           string   `json:"id"`
	Depth        float64  `json:"depth_m"`
	DepthLo      float64  `json:"depth_lo_m"`
	DepthHi      float64  `json:"depth_hi_m"`
	Side         float64  `json:"side_m"`
	Astern       float64  `json:"astern_m"`
	ThroughWater float64  `json:"through_water_mps"`
	Temperature  *float64 `json:"temperature_c,omitzero"`
}
