// Package scipy holds towed-line statics computed outside the project's own
// solvers: fixtures written by generate.py with general-purpose SciPy
// integrators and root finders. README.md in this folder states the equations
// and the schema that the types here mirror.
package scipy

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
)

//go:embed *.json
var files embed.FS

// Vector is x forward, y to starboard, z down, in metres or newtons.
type Vector [3]float64

// Case is one steady rig with its complete inputs and the reference answer.
// All quantities are SI.
type Case struct {
	Family          string   `json:"-"` // name of the fixture file without its ending
	ID              string   `json:"id"`
	Description     string   `json:"description"`
	SpeedSurfaceMPS float64  `json:"speed_surface_mps"` // boat through the surface water, along +x
	Water           Water    `json:"water"`
	Bottom          *Bottom  `json:"bottom"` // nil: no bottom within reach
	Nodes           []Node   `json:"nodes"`
	Lines           []Line   `json:"lines"`
	Expected        Expected `json:"expected"`
	Solution        Solution `json:"solution"`
}

// Water is density and viscosity as numbers, or by Temperature where that is
// not empty (the numbers then do not count), and the current over ground.
// Profiles are piecewise linear in depth and constant beyond their ends; an
// empty current is still water.
type Water struct {
	DensityKgM3              float64       `json:"density_kg_m3"`
	KinematicViscosityM2PerS float64       `json:"kinematic_viscosity_m2_s"`
	Current                  []Current     `json:"current"`
	Temperature              []Temperature `json:"temperature"`
}

// Current is the velocity of the water over ground at one depth, boat frame.
type Current struct {
	DepthM float64 `json:"depth_m"`
	XMPS   float64 `json:"x_mps"`
	YMPS   float64 `json:"y_mps"`
}

// Temperature is the temperature at one depth.
type Temperature struct {
	DepthM float64 `json:"depth_m"`
	C      float64 `json:"temperature_c"`
}

// Bottom is a flat bottom on which the lower part of a single line lies.
type Bottom struct {
	DepthM       float64 `json:"depth_m"`
	LineFriction float64 `json:"line_friction"` // on the line's weight in water
	BodyFriction float64 `json:"body_friction"` // on the body's submerged weight
}

// Node is a fixed point of the boat, a body, a junction or a ring.
type Node struct {
	ID        string     `json:"id"`
	Kind      string     `json:"kind"` // fixed, body, junction, ring
	Role      string     `json:"role"` // what it stands for: tip, boom, lure, diver, board, ball, sinker, release, slider
	PositionM *Vector    `json:"position_m"`
	SlidesOn  []string   `json:"slides_on"` // ring only: the line below and the line above
	Loads     []NodeLoad `json:"loads"`
}

// NodeLoad is one load of a node; Type says which of the other fields count.
type NodeLoad struct {
	Type                 string  `json:"type"`                     // weight, drag, lift, side, kite, buoyancy
	SubmergedN           float64 `json:"submerged_n"`              // weight
	DragAreaM2           float64 `json:"drag_area_m2"`             // drag: coefficient times area
	LiftAreaM2           float64 `json:"lift_area_m2"`             // lift: coefficient times area
	SideAreaM2           float64 `json:"side_area_m2"`             // side: coefficient times area, positive to starboard
	AreaM2               float64 `json:"area_m2"`                  // kite
	NormalCoefficient45  float64 `json:"normal_coefficient_45"`    // kite
	IncidenceDeg         float64 `json:"incidence_deg"`            // kite, at no pull
	IncidenceLossRadPerN float64 `json:"incidence_loss_rad_per_n"` // kite
	RollDeg              float64 `json:"roll_deg"`                 // lift and kite, positive to starboard
	LeaderLine           string  `json:"leader_line"`              // kite: the line whose upper pull takes incidence off
	WeightAirN           float64 `json:"weight_air_n"`             // buoyancy
	BuoyancyMaxN         float64 `json:"buoyancy_max_n"`           // buoyancy
	ImmersionHeightM     float64 `json:"immersion_height_m"`       // buoyancy
}

// Line runs from its lower node up to its upper node through Sections, lowest
// first. A free line has one section of unknown length and is closed by one
// condition more.
type Line struct {
	ID            string    `json:"id"`
	From          string    `json:"from"`
	To            string    `json:"to"`
	Sections      []Section `json:"sections"`
	Free          bool      `json:"free"`
	ClosedBy      string    `json:"closed_by"`       // none, upper_tension, ring
	UpperTensionN float64   `json:"upper_tension_n"` // given pull at the upper end, with closed_by upper_tension
}

// Section is a length of one line material.
type Section struct {
	LengthM               float64           `json:"length_m"` // unstretched; 0 in a free line
	DiameterM             float64           `json:"diameter_m"`
	MassPerLengthKgM      float64           `json:"mass_per_length_kg_m"`
	AxialStiffnessN       float64           `json:"axial_stiffness_n"` // EA; 0: does not stretch
	NormalCoefficient     NormalCoefficient `json:"normal_coefficient"`
	TangentialCoefficient float64           `json:"tangential_coefficient"`
}

// NormalCoefficient is a number, or Cheng (2013) by Reynolds number when Auto.
type NormalCoefficient struct {
	Auto  bool
	Value float64
}

// UnmarshalJSON reads a number or "auto".
func (n *NormalCoefficient) UnmarshalJSON(b []byte) error {
	if string(b) == `"auto"` {
		*n = NormalCoefficient{Auto: true}
		return nil
	}
	n.Auto = false
	return json.Unmarshal(b, &n.Value)
}

// Expected is the reference answer.
type Expected struct {
	Nodes []NodeResult `json:"nodes"`
	Lines []LineResult `json:"lines"`
	Lures []LureResult `json:"lures"`
	Laid  *Laid        `json:"laid"` // only with a bottom
}

// NodeResult is a node's place and the sum of its own loads (zero where it has
// none; lines not counted).
type NodeResult struct {
	ID        string `json:"id"`
	PositionM Vector `json:"position_m"`
	ForceN    Vector `json:"force_n"`
}

// LineResult gives a line's lengths and the pull of the part above on the part
// below at both ends. With a laid part the lower end is the lure's.
type LineResult struct {
	ID                 string  `json:"id"`
	UnstretchedLengthM float64 `json:"unstretched_length_m"`
	StretchedLengthM   float64 `json:"stretched_length_m"`
	LowerForceN        Vector  `json:"lower_force_n"`
	UpperForceN        Vector  `json:"upper_force_n"`
	LowerTensionN      float64 `json:"lower_tension_n"`
	UpperTensionN      float64 `json:"upper_tension_n"`
}

// LureResult is the depth of one lure.
type LureResult struct {
	ID     string  `json:"id"`
	DepthM float64 `json:"depth_m"`
}

// Laid is the part of a line on the bottom and the point where it lifts off.
type Laid struct {
	UnstretchedLengthM float64 `json:"unstretched_length_m"`
	StretchedLengthM   float64 `json:"stretched_length_m"`
	TouchdownM         Vector  `json:"touchdown_m"`
	TensionN           float64 `json:"tension_n"` // at touchdown
}

// Solution records how the answer was found and how well it holds.
type Solution struct {
	Unknowns            []string    `json:"unknowns"`
	ResidualMax         float64     `json:"residual_max"` // metres or newtons
	Evaluations         int         `json:"evaluations"`
	NodeBalanceMaxN     float64     `json:"node_balance_max_n"`
	RingStiffnessNPerM  *float64    `json:"ring_stiffness_n_per_m"` // negative: stable
	TensionInvariantN   *float64    `json:"tension_invariant_n"`    // T + T²/2EA less the work of weight, where it must vanish
	BoundaryValueSolver *CrossCheck `json:"bvp"`
}

// CrossCheck is the largest difference from scipy.integrate.solve_bvp.
type CrossCheck struct {
	Success                bool    `json:"success"`
	Tolerance              float64 `json:"tolerance"`
	MeshPoints             int     `json:"mesh_points"`
	MaxPositionDifferenceM float64 `json:"max_position_difference_m"`
	MaxForceDifferenceN    float64 `json:"max_force_difference_n"`
	MaxLengthDifferenceM   float64 `json:"max_length_difference_m"`
}

type fixture struct {
	Family      string  `json:"family"`
	About       string  `json:"about"`
	Python      string  `json:"python"`
	Numpy       string  `json:"numpy"`
	Scipy       string  `json:"scipy"`
	GravityMPS2 float64 `json:"gravity_mps2"`
	Cases       []Case  `json:"cases"`
}

// Load returns all cases in the order of their families' names. An error means
// that a fixture does not follow the schema.
func Load() ([]Case, error) {
	names, err := fs.Glob(files, "*.json")
	if err != nil {
		return nil, err
	}
	var all []Case
	for _, name := range names {
		b, err := files.ReadFile(name)
		if err != nil {
			return nil, err
		}
		dec := json.NewDecoder(bytes.NewReader(b))
		dec.DisallowUnknownFields()
		var f fixture
		if err := dec.Decode(&f); err != nil {
			return nil, fmt.Errorf("fixture %s: %w", name, err)
		}
		for _, c := range f.Cases {
			c.Family = f.Family
			all = append(all, c)
		}
	}
	return all, nil
}

// Node returns the result for the node id, and whether there is one.
func (e Expected) Node(id string) (NodeResult, bool) {
	for _, n := range e.Nodes {
		if n.ID == id {
			return n, true
		}
	}
	return NodeResult{}, false
}

// Line returns the result for the line id, and whether there is one.
func (e Expected) Line(id string) (LineResult, bool) {
	for _, l := range e.Lines {
		if l.ID == id {
			return l, true
		}
	}
	return LineResult{}, false
}
