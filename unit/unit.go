// Package unit holds the quantities of the project as types over float64,
// with SI inside, and turns what people write ("140 ft", "2.4 mph", "1 1/2 oz")
// into them and back into text.
//
// Feet, miles per hour, pounds and degrees Fahrenheit exist only in this
// package's parsers and formatters. A constant such as [Foot] is one of that
// unit, so 140*unit.Foot is a Length and float64(x/unit.Foot) is a number of
// feet.
//
// Sources of the constants: the yard (0.9144 m) and the pound (0.45359237 kg)
// are exact by the international yard and pound agreement of 1959; the
// pound-force is that pound times the standard acceleration 9.80665 m/s2
// (3rd CGPM, 1901); the knot is 1852 m in 3600 s (International Hydrographic
// Conference, 1929). All are listed in NIST SP 811 (2008), appendix B.
package unit

import (
	"math"
	"strconv"
)

// Length is a length in meters.
type Length float64

// Speed is a speed in meters per second.
type Speed float64

// Force is a force in newtons. The stiffness EA of a line is a Force too.
type Force float64

// Mass is a mass in kilograms.
type Mass float64

// Angle is an angle in radians.
type Angle float64

// Temperature is a temperature in degrees Celsius, not a difference of two.
// Celsius rather than kelvin because the water formulas and the thermometers
// of a boat both speak it.
type Temperature float64

// Area is an area in square meters.
type Area float64

// LinearDensity is a mass per length in kilograms per meter.
type LinearDensity float64

// Density is a mass per volume in kilograms per cubic meter.
type Density float64

// Viscosity is a dynamic viscosity in pascal seconds.
type Viscosity float64

// Duration is a time span in seconds.
type Duration float64

// AngularRate is a rate of turn in radians per second.
type AngularRate float64

// Lengths. Color is the trade's length of lead core line, 10 yards, each in a
// color of its own.
const (
	Meter        Length = 1
	Millimeter   Length = 0.001
	Centimeter   Length = 0.01
	Kilometer    Length = 1000
	Inch         Length = 0.0254
	Foot         Length = 0.3048
	Yard         Length = 0.9144
	Fathom       Length = 6 * Foot
	Color        Length = 30 * Foot
	Mile         Length = 1609.344
	NauticalMile Length = 1852
)

// Speeds.
const (
	MeterPerSecond   Speed = 1
	KilometerPerHour Speed = 1000.0 / 3600
	MilePerHour      Speed = 0.44704
	Knot             Speed = 1852.0 / 3600
	FootPerSecond    Speed = 0.3048
)

// Forces.
const (
	Newton     Force = 1
	Kilonewton Force = 1000
	PoundForce Force = 4.4482216152605
	OunceForce Force = PoundForce / 16
)

// Masses.
const (
	Kilogram Mass = 1
	Gram     Mass = 0.001
	Pound    Mass = 0.45359237
	Ounce    Mass = 0.028349523125
)

// Angles and rates of turn.
const (
	Radian          Angle       = 1
	Degree          Angle       = math.Pi / 180
	RadianPerSecond AngularRate = 1
	DegreePerSecond AngularRate = math.Pi / 180
)

// Durations.
const (
	Second Duration = 1
	Minute Duration = 60
	Hour   Duration = 3600
)

// Fahrenheit returns the temperature of f degrees Fahrenheit.
func Fahrenheit(f float64) Temperature { return Temperature((f - 32) * 5 / 9) }

// Fahrenheit returns t in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return float64(t)*9/5 + 32 }

// Kelvin returns t in kelvin.
func (t Temperature) Kelvin() float64 { return float64(t) + 273.15 }

func exact(x float64, label string) string {
	if x == 0 {
		x = 0 // drops the sign of negative zero
	}
	return strconv.FormatFloat(x, 'g', -1, 64) + " " + label
}

// String returns the length in meters with every digit; it parses back to the
// same value. The other types' String methods do the same in their SI unit.
func (x Length) String() string { return exact(float64(x), "m") }

// String returns the speed in m/s.
func (x Speed) String() string { return exact(float64(x), "m/s") }

// String returns the force in N.
func (x Force) String() string { return exact(float64(x), "N") }

// String returns the mass in kg.
func (x Mass) String() string { return exact(float64(x), "kg") }

// String returns the angle in rad.
func (x Angle) String() string { return exact(float64(x), "rad") }

// String returns the temperature in degrees Celsius.
func (x Temperature) String() string { return exact(float64(x), "°C") }

// String returns the area in m2.
func (x Area) String() string { return exact(float64(x), "m2") }

// String returns the linear density in kg/m.
func (x LinearDensity) String() string { return exact(float64(x), "kg/m") }

// String returns the density in kg/m3.
func (x Density) String() string { return exact(float64(x), "kg/m3") }

// String returns the viscosity in Pa s.
func (x Viscosity) String() string { return exact(float64(x), "Pa s") }

// String returns the duration in s.
func (x Duration) String() string { return exact(float64(x), "s") }

// String returns the rate in rad/s.
func (x AngularRate) String() string { return exact(float64(x), "rad/s") }
