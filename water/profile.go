package water

import (
	"fmt"
	"math"
	"slices"

	"sternfan/unit"
)

// Error is a fault in what a person gave for the water.
type Error struct {
	Code    string // "temperature-range", "depth-order", ...
	Profile string // "temperature", "current" or "water"
	Index   int    // point of the profile, from 0; -1 when no point is at fault
	Found   string // the value found, with its unit
	Allowed string // what is allowed
	Hint    string // what to do; may be empty
}

// Error returns one sentence.
func (e *Error) Error() string {
	where := e.Profile
	if e.Index >= 0 {
		where = fmt.Sprintf("%s point %d", e.Profile, e.Index+1)
	}
	text := fmt.Sprintf("%s: %s, allowed is %s", where, e.Found, e.Allowed)
	if e.Hint != "" {
		text += "; " + e.Hint
	}
	return text
}

// TemperaturePoint is a temperature at a depth.
type TemperaturePoint struct {
	Depth       unit.Length
	Temperature unit.Temperature
}

// Profile is a temperature that is piecewise linear in depth and constant
// above its first and below its last point. Build it with [NewProfile].
type Profile struct {
	z []float64 // strictly increasing
	t []float64
}

// NewProfile returns the profile through the points, which must be at least
// one, in order of strictly increasing depth from the surface down, with
// temperatures from 0 to 40 C. An error is an *[Error].
func NewProfile(points []TemperaturePoint) (*Profile, error) {
	p := &Profile{}
	for i, pt := range points {
		t := float64(pt.Temperature)
		if !(t >= MinTemperatureC && t <= MaxTemperatureC) {
			return nil, &Error{Code: "temperature-range", Profile: "temperature", Index: i,
				Found: pt.Temperature.String(), Allowed: "0 to 40 °C (32 to 104 °F)",
				Hint: "check whether the number is in Fahrenheit or Celsius"}
		}
		p.z, p.t = append(p.z, float64(pt.Depth)), append(p.t, t)
	}
	if err := checkDepths("temperature", p.z); err != nil {
		return nil, err
	}
	return p, nil
}

// At returns the temperature in degrees Celsius at depth z.
func (p *Profile) At(z float64) float64 { return Interpolate(p.z, p.t, z) }

// CurrentPoint is a current at a depth: its speed over ground and its set, the
// true direction toward which it flows, clockwise from north.
type CurrentPoint struct {
	Depth unit.Length
	Speed unit.Speed
	Set   unit.Angle
}

// Current is a horizontal current over depth, constant above its first and
// below its last point. A nil *Current is still water.
//
// Between two points the velocity vector is linear in depth, north and east
// part each, rather than speed and direction apart. Then the same velocity
// added to boat and water changes nothing in between, an opposed pair of
// currents passes through rest as mixing layers do, and no turn has to be
// chosen at half a circle, where the shorter way round is undefined, nor a
// direction for water at rest. At the points themselves both readings agree.
type Current struct {
	z           []float64 // strictly increasing
	north, east []float64
}

// NewCurrent returns the current through the points, which must be in order
// of strictly increasing depth, with finite speeds of zero or more. No points
// at all give still water. An error is an *[Error].
func NewCurrent(points []CurrentPoint) (*Current, error) {
	if len(points) == 0 {
		return nil, nil
	}
	c := &Current{}
	for i, pt := range points {
		speed := float64(pt.Speed)
		if !(speed >= 0) || math.IsInf(speed, 0) {
			return nil, &Error{Code: "current-speed", Profile: "current", Index: i,
				Found: finiteText(speed, pt.Speed.String()), Allowed: "a speed of zero or more",
				Hint: "to reverse a current turn its set by 180 degrees"}
		}
		set := float64(pt.Set)
		if math.IsNaN(set) || math.IsInf(set, 0) {
			return nil, &Error{Code: "current-set", Profile: "current", Index: i,
				Found: "a set that is not a number", Allowed: "the true direction toward which the current flows"}
		}
		sin, cos := math.Sincos(set)
		c.z = append(c.z, float64(pt.Depth))
		c.north, c.east = append(c.north, speed*cos), append(c.east, speed*sin)
	}
	if err := checkDepths("current", c.z); err != nil {
		return nil, err
	}
	return c, nil
}

// At returns the velocity over ground in m/s, north and east, at depth z.
func (c *Current) At(z float64) (north, east float64) {
	if c == nil {
		return 0, 0
	}
	return Interpolate(c.z, c.north, z), Interpolate(c.z, c.east, z)
}

// minGap in meters is the least height between two points of a profile.
const minGap = 0.001

func checkDepths(profile string, z []float64) error {
	if len(z) == 0 {
		return &Error{Code: "no-points", Profile: profile, Index: -1, Found: "no points", Allowed: "one or more"}
	}
	for i, d := range z {
		if !(d >= 0) || math.IsInf(d, 0) {
			return &Error{Code: "depth-range", Profile: profile, Index: i,
				Found: finiteText(d, unit.Length(d).String()), Allowed: "a depth of zero or more, positive down"}
		}
		if i > 0 && d-z[i-1] < minGap {
			return &Error{Code: "depth-order", Profile: profile, Index: i,
				Found:   fmt.Sprintf("%v after %v", unit.Length(d), unit.Length(z[i-1])),
				Allowed: "a depth at least 1 mm below the point before",
				Hint:    "list the points from the surface down; for a sharp step put two points a little apart"}
		}
	}
	return nil
}

func finiteText(v float64, text string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "a value that is not finite"
	}
	return text
}

// Interpolate returns y at x, linear between the knots, which increase, and constant
// beyond them. NaN counts as above the first.
func Interpolate(knots, y []float64, x float64) float64 {
	if !(x > knots[0]) {
		return y[0]
	}
	last := len(knots) - 1
	if x >= knots[last] {
		return y[last]
	}
	i, exact := slices.BinarySearch(knots, x)
	if exact {
		return y[i]
	}
	f := (x - knots[i-1]) / (knots[i] - knots[i-1])
	return y[i-1] + f*(y[i]-y[i-1])
}
