package sternfan

import "sternfan/geom"

// Fan is the solved spread: where everything runs. SI, boat frame, unrounded.
type Fan struct {
	Version  int       `json:"version"`
	Name     string    `json:"name,omitempty"`
	Speed    SpeedFan  `json:"speed"`
	Rods     []Track   `json:"rods"`
	Devices  []Track   `json:"devices,omitempty"` // downriggers and mast boards, shared by rods
	Verdict  *Verdict  `json:"verdict,omitempty"` // nil: not judged
	Missing  []Missing `json:"missing,omitempty"` // rods that the answer does not cover
	Warnings []Warning `json:"warnings,omitempty"`
	Water    WaterFan  `json:"water"`
	Registry []Entry   `json:"-"`
}

// SpeedFan is the speed that was given and the two that follow from the current.
type SpeedFan struct {
	Given      SpeedKind `json:"given"`
	OverGround float64   `json:"over_ground_mps"`
	Surface    float64   `json:"surface_mps"`
	Probe      *float64  `json:"probe_mps,omitempty"` // at ProbeDepth
	ProbeDepth *float64  `json:"probe_depth_m,omitempty"`
}

// WaterFan is what the views need of the water.
type WaterFan struct {
	Bottom      *float64     `json:"bottom_m,omitempty"`
	Temperature [][2]float64 `json:"temperature_c,omitempty"` // depth m, deg C
}

// Status is the outcome of one rod.
type Status string

// The outcomes.
const (
	StatusOK           Status = "ok"
	StatusBottom       Status = "bottom"
	StatusSurface      Status = "surface"
	StatusOverStrength Status = "over-strength"
	StatusBeyondSpool  Status = "beyond-spool"
	StatusNotConverged Status = "not-converged"
	StatusRefused      Status = "refused"
)

// Track is one rod or device solved.
type Track struct {
	Rod       string     `json:"rod"`
	Position  string     `json:"position,omitempty"`
	Side      int        `json:"side"` // -1 port, +1 starboard, 0 neither: of the holder or boom
	Status    Status     `json:"status"`
	LineOut   float64    `json:"line_out_m"`
	TipPull   float64    `json:"tip_pull_n"`
	LineAngle float64    `json:"line_angle_deg"`     // from the horizontal, where the line enters the water
	Settings  string     `json:"settings,omitempty"` // in words, in the units asked for: "dial 2 port, ring on"
	Parts     []PartFan  `json:"parts"`
	Bodies    []BodyFan  `json:"bodies"`
	Lures     []LureFan  `json:"lures"`
	Warnings  []Warning  `json:"warnings"`
	Solve     SolveCount `json:"solve"`
}

// SolveCount says how much work a solution took and how well it closed.
type SolveCount struct {
	Iterations int     `json:"iterations"`
	Steps      int     `json:"steps"`
	Residual   float64 `json:"residual_m"`
}

// PartFan is the curve of one part, tip first.
type PartFan struct {
	ID     string       `json:"id"`
	Kind   PartKind     `json:"kind"`
	Points [][3]float64 `json:"points"`
	Pull   [2]float64   `json:"pull_n"` // at its upper and lower end
}

// BodyFan is a device or weight: position and the 80 % interval of its depth.
type BodyFan struct {
	ID      string  `json:"id"`
	Kind    string  `json:"kind"`
	Depth   float64 `json:"depth_m"`
	DepthLo float64 `json:"depth_lo_m"`
	DepthHi float64 `json:"depth_hi_m"`
	Side    float64 `json:"side_m"` // positive to starboard
	Astern  float64 `json:"astern_m"`
}

// LureFan is a lure: position, interval, and its speed through the water against its window.
type LureFan struct {
	BodyFan
	ThroughWater float64     `json:"through_water_mps"`
	Window       *[2]float64 `json:"window_mps,omitempty"`
	Temperature  *float64    `json:"temperature_c,omitempty"`
	Drivers      []Driver    `json:"drivers,omitempty"`
}

// Driver is one uncertain input's share of a depth's variance.
type Driver struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

// Warning is something that a person should know, in words, with the next step.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
	Hint string `json:"hint,omitempty"`
}

// Place sets the position members from a point in the boat frame.
func (b *BodyFan) Place(p geom.Vec) {
	b.Depth, b.Side, b.Astern = p.Z, p.Y, -p.X
}

// Paths is one rod's possibilities: for each dial mark (or the one setting the rig has)
// the way its lure takes as line goes out.
type Paths struct {
	Rod   string `json:"rod"`
	Vary  string `json:"vary"` // what a path is for: "dial", "ring", ...
	Paths []Path `json:"paths"`
}

// Path is one line of possibilities.
type Path struct {
	Label string     `json:"label"` // "dial 2"
	Mark  float64    `json:"mark"`
	Ticks []PathTick `json:"ticks"`
}

// PathTick is the lure's place at one count.
type PathTick struct {
	Count float64 `json:"line_out_m"`
	LureFan
	TipPull float64 `json:"tip_pull_n"`
	Status  Status  `json:"status"`
	Why     string  `json:"why,omitempty"` // it has no place there
}

// SpeedTable answers which speed over ground to hold on each heading.
type SpeedTable struct {
	At      string      `json:"at"`
	Want    float64     `json:"want_mps"`
	Depth   float64     `json:"depth_m"`
	Rows    []SpeedRow  `json:"rows"`
	Lures   []WindowRow `json:"lures"`
	Overlap *[2]float64 `json:"overlap_mps"` // through water; nil: the windows do not overlap
	Apart   []Warning   `json:"apart,omitempty"`
}

// SpeedRow is one heading.
type SpeedRow struct {
	Heading    float64 `json:"heading_deg"`
	OverGround float64 `json:"over_ground_mps"`
	Surface    float64 `json:"surface_mps"`
	OK         bool    `json:"ok"`
}

// WindowRow is one lure's speed window and the surface speed at which it is in it.
type WindowRow struct {
	Rod      string     `json:"rod"`
	Position string     `json:"position,omitempty"` // what the crew calls the rod
	Lure     string     `json:"lure"`
	Depth    float64    `json:"depth_m"`
	Window   [2]float64 `json:"window_mps"`
	Now      float64    `json:"now_mps"`
}
