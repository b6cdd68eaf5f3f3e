// Package dynamics holds lines in motion computed outside the project's own solvers:
// fixtures written by dynamics.py of the folder above, with scipy.integrate.solve_ivp.
package dynamics

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
)

//go:embed dynamics.json
var file []byte

// Case is one line towed through a manoeuvre. SI, x along the first heading.
type Case struct {
	ID          string     `json:"id"`
	Description string     `json:"description"`
	Segments    int        `json:"segments"` // equal
	Density     float64    `json:"density_kg_m3"`
	Viscosity   float64    `json:"kinematic_viscosity_m2_s"`
	Current     []Current  `json:"current"`
	Tip         [3]float64 `json:"tip_m"` // boat frame
	Line        Line       `json:"line"`
	Body        Body       `json:"body"`
	Legs        []Leg      `json:"legs"`
	Until       float64    `json:"until_s"`
	Every       float64    `json:"every_s"`
	Expected    struct {
		Columns []string    `json:"columns"` // t, then the end's and the middle's x, y, z
		Rows    [][]float64 `json:"rows"`
	} `json:"expected"`
}

// Current is the velocity of the water over ground at one depth.
type Current struct {
	DepthM float64 `json:"depth_m"`
	XMPS   float64 `json:"x_mps"`
	YMPS   float64 `json:"y_mps"`
}

// Line is the line of a case. Normal is nil where the coefficient goes by Reynolds number.
type Line struct {
	LengthM    float64  `json:"length_m"`
	DiameterM  float64  `json:"diameter_m"`
	MassKgM    float64  `json:"mass_per_length_kg_m"`
	StiffnessN float64  `json:"axial_stiffness_n"`
	Normal     *float64 `json:"-"`
	Tangential float64  `json:"tangential_coefficient"`
	RawNormal  any      `json:"normal_coefficient"`
}

// Body is what hangs at the line's end.
type Body struct {
	MassKg     float64 `json:"mass_kg"`
	VolumeM3   float64 `json:"volume_m3"`
	AddedKg    float64 `json:"added_mass_kg"`
	DragAreaM2 float64 `json:"drag_area_m2"`
}

// Leg is a stretch of the boat's way; yaw rate and speed change evenly over it.
type Leg struct {
	DurationS float64    `json:"duration_s"`
	YawRadS   [2]float64 `json:"yaw_rad_s"`
	SpeedMPS  [2]float64 `json:"speed_mps"`
}

// Load returns all cases. The error names what is wrong with the fixture.
func Load() ([]Case, error) {
	var f struct {
		SciPy string `json:"scipy"`
		Cases []Case `json:"cases"`
	}
	if err := json.Unmarshal(file, &f); err != nil {
		return nil, fmt.Errorf("dynamics fixture: %w", err)
	}
	if f.SciPy == "" || len(f.Cases) == 0 {
		return nil, fmt.Errorf("dynamics fixture: no version or no cases")
	}
	for i := range f.Cases {
		c := &f.Cases[i]
		switch v := c.Line.RawNormal.(type) {
		case float64:
			c.Line.Normal = &v
		case string:
			if v != "auto" {
				return nil, fmt.Errorf("dynamics fixture %s: normal coefficient %q", c.ID, v)
			}
		}
		for _, row := range c.Expected.Rows {
			if len(row) != len(c.Expected.Columns) || len(row) != 7 {
				return nil, fmt.Errorf("dynamics fixture %s: a row of %d figures", c.ID, len(row))
			}
			for _, v := range row {
				if math.IsNaN(v) {
					return nil, fmt.Errorf("dynamics fixture %s: not a number", c.ID)
				}
			}
		}
	}
	return f.Cases, nil
}
