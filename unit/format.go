package unit

import (
	"math"
	"strconv"
	"strings"
)

// System chooses the units a person sees.
type System uint8

// The systems of units.
const (
	US System = iota // feet, miles per hour, pounds, degrees Fahrenheit
	SI               // meters, meters per second, newtons, degrees Celsius
)

// Style is a way to show a quantity: one unit in each system and the digits
// that unit deserves.
type Style uint8

// The styles. DepthStyle serves every distance in the water: depth, side,
// astern and line out. SmallStyle is for diameters, lures and leaders.
const (
	DepthStyle Style = iota
	SmallStyle
	SpeedStyle
	ForceStyle
	MassStyle
	SmallMassStyle
	AngleStyle
	TemperatureStyle
	AreaStyle
	LinearDensityStyle
	DensityStyle
	ViscosityStyle
	SecondsStyle
	MinutesStyle
	RateStyle
	styleCount
)

// step is "this many decimals as long as the rounded number is below".
type step struct {
	below    float64
	decimals int
}

var always = math.Inf(1)

type look struct {
	q     *quantity
	unit  string
	label string
	glued bool // no space between number and label
	trim  bool // drop trailing zeros after the point
	steps []step
}

var looks = [styleCount][2]look{
	DepthStyle: {
		{q: lengths, unit: "ft", steps: []step{{always, 0}}},
		{q: lengths, unit: "m", steps: []step{{always, 1}}},
	},
	SmallStyle: {
		{q: lengths, unit: "in", steps: []step{{1, 3}, {always, 1}}, trim: true},
		{q: lengths, unit: "mm", steps: []step{{10, 2}, {always, 0}}},
	},
	SpeedStyle: {
		{q: speeds, unit: "mph", steps: []step{{always, 1}}},
		{q: speeds, unit: "m/s", steps: []step{{always, 2}}},
	},
	ForceStyle: {
		{q: forces, unit: "lb", steps: []step{{10, 1}, {always, 0}}},
		{q: forces, unit: "N", steps: []step{{10, 1}, {always, 0}}},
	},
	MassStyle: {
		{q: masses, unit: "lb", steps: []step{{10, 1}, {always, 0}}},
		{q: masses, unit: "kg", steps: []step{{10, 2}, {always, 1}}},
	},
	SmallMassStyle: {
		{q: masses, unit: "oz", steps: []step{{10, 2}, {always, 1}}},
		{q: masses, unit: "g", steps: []step{{10, 1}, {always, 0}}},
	},
	AngleStyle: {
		{q: angles, unit: "deg", label: "°", glued: true, steps: []step{{always, 0}}},
		{q: angles, unit: "deg", label: "°", glued: true, steps: []step{{always, 0}}},
	},
	TemperatureStyle: {
		{q: temperatures, unit: "F", label: "°F", glued: true, steps: []step{{always, 0}}},
		{q: temperatures, unit: "C", label: "°C", glued: true, steps: []step{{always, 1}}},
	},
	AreaStyle: {
		{q: areas, unit: "in2", steps: []step{{10, 2}, {always, 1}}},
		{q: areas, unit: "cm2", steps: []step{{10, 2}, {always, 0}}},
	},
	LinearDensityStyle: {
		{q: linearDensities, unit: "lb/100ft", steps: []step{{10, 3}, {always, 2}}},
		{q: linearDensities, unit: "g/m", steps: []step{{10, 3}, {always, 1}}},
	},
	DensityStyle: {
		{q: densities, unit: "g/cm3", steps: []step{{always, 3}}},
		{q: densities, unit: "kg/m3", steps: []step{{always, 1}}},
	},
	ViscosityStyle: {
		{q: viscosities, unit: "mPa s", steps: []step{{always, 3}}},
		{q: viscosities, unit: "mPa s", steps: []step{{always, 3}}},
	},
	SecondsStyle: {
		{q: durations, unit: "s", steps: []step{{10, 1}, {always, 0}}},
		{q: durations, unit: "s", steps: []step{{10, 1}, {always, 0}}},
	},
	MinutesStyle: {
		{q: durations, unit: "min", steps: []step{{10, 1}, {always, 0}}},
		{q: durations, unit: "min", steps: []step{{10, 1}, {always, 0}}},
	},
	RateStyle: {
		{q: angularRates, unit: "deg/s", label: "°/s", glued: true, steps: []step{{always, 1}}},
		{q: angularRates, unit: "deg/s", label: "°/s", glued: true, steps: []step{{always, 1}}},
	},
}

func (s System) look(style Style) *look {
	if s > SI || style >= styleCount {
		panic("unit: no such system or style")
	}
	return &looks[style][s]
}

// Label returns the unit of a style as it heads a column: "ft", "m/s", "°F".
func (s System) Label(style Style) string {
	l := s.look(style)
	if l.label != "" {
		return l.label
	}
	return l.unit
}

// Split returns the SI value si (degrees Celsius for a temperature) as its
// rounded number and its unit label apart, for columns under a row of units.
// Zero never carries a sign. A value that is not finite gives the number "?".
func (s System) Split(style Style, si float64) (number, label string) {
	l := s.look(style)
	label = s.Label(style)
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return "?", label
	}
	return l.digits(l.q.find(l.unit).number(si)), label
}

// Text returns the SI value si with its unit: "140 ft", "31°". The typed
// methods below are this with the style filled in.
func (s System) Text(style Style, si float64) string {
	number, label := s.Split(style, si)
	if s.look(style).glued {
		return number + label
	}
	return number + " " + label
}

func (l *look) digits(v float64) string {
	if math.Abs(v) >= 1e15 {
		return towardZero(v)
	}
	var text string
	for _, st := range l.steps {
		text = strconv.FormatFloat(v, 'f', st.decimals, 64)
		// Judged after rounding, so that 9.97 is "10" and not "10.0".
		if rounded, err := strconv.ParseFloat(text, 64); err == nil && math.Abs(rounded) < st.below {
			break
		}
	}
	if l.trim && math.Abs(v) >= 1 && strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

// Depth returns a distance in the water: "140 ft", "42.7 m".
func (s System) Depth(x Length) string { return s.Text(DepthStyle, float64(x)) }

// Small returns a short length: "6 in", "0.040 in", "1.02 mm", "125 mm".
func (s System) Small(x Length) string { return s.Text(SmallStyle, float64(x)) }

// Speed returns "2.4 mph" or "1.07 m/s".
func (s System) Speed(x Speed) string { return s.Text(SpeedStyle, float64(x)) }

// Force returns "12 lb" or "53 N", with one decimal below ten.
func (s System) Force(x Force) string { return s.Text(ForceStyle, float64(x)) }

// Mass returns "10 lb" or "4.54 kg".
func (s System) Mass(x Mass) string { return s.Text(MassStyle, float64(x)) }

// SmallMass returns the mass of a lure or sinker: "1.50 oz", "43 g".
func (s System) SmallMass(x Mass) string { return s.Text(SmallMassStyle, float64(x)) }

// Angle returns whole degrees: "31°".
func (s System) Angle(x Angle) string { return s.Text(AngleStyle, float64(x)) }

// Temperature returns "52°F" or "11.1°C".
func (s System) Temperature(x Temperature) string { return s.Text(TemperatureStyle, float64(x)) }

// Area returns "3.10 in2" or "20 cm2".
func (s System) Area(x Area) string { return s.Text(AreaStyle, float64(x)) }

// LinearDensity returns "0.740 lb/100ft" or "11.0 g/m".
func (s System) LinearDensity(x LinearDensity) string { return s.Text(LinearDensityStyle, float64(x)) }

// Density returns "0.998 g/cm3" or "998.2 kg/m3".
func (s System) Density(x Density) string { return s.Text(DensityStyle, float64(x)) }

// Viscosity returns "1.306 mPa s" in both systems.
func (s System) Viscosity(x Viscosity) string { return s.Text(ViscosityStyle, float64(x)) }

// Duration returns "7.0 s" or "90 s" below two minutes, else "2.5 min".
func (s System) Duration(x Duration) string {
	if math.Abs(float64(x)) < 120 {
		return s.Text(SecondsStyle, float64(x))
	}
	return s.Text(MinutesStyle, float64(x))
}

// AngularRate returns "3.0°/s".
func (s System) AngularRate(x AngularRate) string { return s.Text(RateStyle, float64(x)) }

// towardZero returns v with six digits, cut off rather than rounded, so that
// what is shown of the largest value that parses still parses.
func towardZero(v float64) string {
	text := strconv.FormatFloat(v, 'g', 6, 64)
	for keep := v; ; {
		shown, err := strconv.ParseFloat(text, 64)
		if err == nil && math.Abs(shown) <= math.Abs(v) {
			return text
		}
		// Half a unit of the sixth digit down gives the digits below.
		keep -= keep * 5e-7
		text = strconv.FormatFloat(keep, 'g', 6, 64)
	}
}
