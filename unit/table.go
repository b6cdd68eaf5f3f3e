package unit

import (
	"math"
	"strings"
)

// def is one unit: SI value = (number + off) * mul / div. Two factors rather
// than one keep "12 mm" equal to the float64 nearest to 0.012.
type def struct {
	name    string   // as shown to people, matched exactly
	symbols []string // further spellings, case-sensitive: mN is not MN
	words   []string // lower-case spellings, matched in any case
	mul     float64
	div     float64
	off     float64
	then    string // name of the smaller unit that may follow: 6 ft 6 in
	most    float64
}

func (d *def) si(number float64) float64 { return (number + d.off) * d.mul / d.div }

func (d *def) number(si float64) float64 {
	v := si*d.div/d.mul - d.off
	if math.IsInf(v, 0) && !math.IsInf(si, 0) {
		return math.Copysign(math.MaxFloat64, si)
	}
	return v
}

// quantity is a kind of thing and the units it may be written in.
type quantity struct {
	name    string // "length"
	article string // "a length"
	example string // unit named first when none was given
	units   []def
}

var (
	lengths = &quantity{"length", "a length", "ft", []def{
		{name: "ft", words: []string{"ft", "ft.", "foot", "feet", "'", "′", "’"}, mul: 0.3048, div: 1, then: "in", most: 12},
		{name: "in", words: []string{"in", "in.", "inch", "inches", `"`, "″", "”", "''"}, mul: 0.0254, div: 1},
		{name: "m", words: []string{"meter", "meters", "metre", "metres"}, mul: 1, div: 1},
		{name: "cm", words: []string{"centimeter", "centimeters"}, mul: 1, div: 100},
		{name: "mm", words: []string{"millimeter", "millimeters"}, mul: 1, div: 1000},
		{name: "km", words: []string{"kilometer", "kilometers"}, mul: 1000, div: 1},
		{name: "yd", words: []string{"yd", "yard", "yards"}, mul: 0.9144, div: 1},
		{name: "color", words: []string{"color", "colors", "colour", "colours"}, mul: 9.144, div: 1},
		{name: "fathom", words: []string{"fathom", "fathoms"}, mul: 1.8288, div: 1},
		{name: "mi", words: []string{"mi", "mile", "miles"}, mul: 1609.344, div: 1},
		{name: "nmi", words: []string{"nmi"}, mul: 1852, div: 1},
	}}
	speeds = &quantity{"speed", "a speed", "mph", []def{
		{name: "mph", words: []string{"mph", "mi/h"}, mul: 0.44704, div: 1},
		{name: "kn", words: []string{"kn", "kt", "kts", "knot", "knots"}, mul: 1852, div: 3600},
		{name: "m/s", mul: 1, div: 1},
		{name: "cm/s", mul: 1, div: 100},
		{name: "km/h", words: []string{"km/h", "kph", "kmh"}, mul: 1000, div: 3600},
		{name: "ft/s", words: []string{"ft/s"}, mul: 0.3048, div: 1},
	}}
	forces = &quantity{"force", "a force", "lb", []def{
		{name: "lb", words: []string{"lb", "lbs", "lbf", "pound", "pounds"}, mul: 4.4482216152605, div: 1, then: "oz", most: 16},
		{name: "oz", words: []string{"oz", "ozf", "ounce", "ounces"}, mul: 4.4482216152605, div: 16},
		{name: "N", words: []string{"newton", "newtons"}, mul: 1, div: 1},
		{name: "kN", mul: 1000, div: 1},
	}}
	masses = &quantity{"mass", "a mass", "lb", []def{
		{name: "lb", words: []string{"lb", "lbs", "pound", "pounds"}, mul: 0.45359237, div: 1, then: "oz", most: 16},
		{name: "oz", words: []string{"oz", "ounce", "ounces"}, mul: 0.45359237, div: 16},
		{name: "g", words: []string{"gram", "grams"}, mul: 1, div: 1000},
		{name: "kg", words: []string{"kilogram", "kilograms"}, mul: 1, div: 1},
	}}
	angles = &quantity{"angle", "an angle", "deg", []def{
		{name: "deg", symbols: []string{"°", "º"}, words: []string{"deg", "degree", "degrees"}, mul: math.Pi, div: 180},
		{name: "rad", words: []string{"radian", "radians"}, mul: 1, div: 1},
	}}
	temperatures = &quantity{"temperature", "a temperature", "F", []def{
		{name: "F", symbols: []string{"ºF"}, words: []string{"f", "°f", "° f", "deg f"}, mul: 5, div: 9, off: -32},
		{name: "C", symbols: []string{"ºC"}, words: []string{"c", "°c", "° c", "deg c"}, mul: 1, div: 1},
		{name: "K", words: []string{"kelvin"}, mul: 1, div: 1, off: -273.15},
	}}
	areas = &quantity{"area", "an area", "in2", []def{
		{name: "in2", words: []string{"in2", "in²", "in^2", "sq in"}, mul: 0.0254 * 0.0254, div: 1},
		{name: "ft2", words: []string{"ft2", "ft²", "ft^2", "sq ft"}, mul: 0.3048 * 0.3048, div: 1},
		{name: "cm2", symbols: []string{"cm²", "cm^2"}, mul: 1, div: 1e4},
		{name: "mm2", symbols: []string{"mm²", "mm^2"}, mul: 1, div: 1e6},
		{name: "m2", symbols: []string{"m²", "m^2"}, mul: 1, div: 1},
	}}
	linearDensities = &quantity{"mass per length", "a mass per length", "g/m", []def{
		{name: "g/m", mul: 1, div: 1000},
		{name: "kg/m", mul: 1, div: 1},
		{name: "g/color", words: []string{"g/color", "g/colour"}, mul: 1, div: 9144},
		{name: "oz/color", words: []string{"oz/color", "oz/colour"}, mul: 0.028349523125, div: 9.144},
		{name: "lb/100ft", words: []string{"lb/100ft", "lb/100 ft"}, mul: 0.45359237, div: 30.48},
	}}
	densities = &quantity{"density", "a density", "g/cm3", []def{
		{name: "g/cm3", symbols: []string{"g/cm³", "g/cm^3"}, mul: 1000, div: 1},
		{name: "kg/m3", symbols: []string{"kg/m³", "kg/m^3"}, mul: 1, div: 1},
		{name: "lb/ft3", words: []string{"lb/ft3", "lb/ft³", "lb/ft^3"}, mul: 0.45359237, div: 0.3048 * 0.3048 * 0.3048},
	}}
	viscosities = &quantity{"viscosity", "a viscosity", "mPa s", []def{
		{name: "mPa s", mul: 1, div: 1000},
		{name: "Pa s", mul: 1, div: 1},
		{name: "cP", mul: 1, div: 1000},
	}}
	durations = &quantity{"duration", "a duration", "s", []def{
		{name: "h", words: []string{"h", "hr", "hour", "hours"}, mul: 3600, div: 1, then: "min", most: 60},
		{name: "min", words: []string{"min", "minute", "minutes"}, mul: 60, div: 1, then: "s", most: 60},
		{name: "s", words: []string{"s", "sec", "second", "seconds"}, mul: 1, div: 1},
		{name: "ms", mul: 1, div: 1000},
	}}
	angularRates = &quantity{"rate of turn", "a rate of turn", "deg/s", []def{
		{name: "deg/s", symbols: []string{"°/s", "º/s"}, words: []string{"deg/s"}, mul: math.Pi, div: 180},
		{name: "deg/min", symbols: []string{"°/min", "º/min"}, words: []string{"deg/min"}, mul: math.Pi, div: 10800},
		{name: "rad/s", mul: 1, div: 1},
	}}
	quantities = []*quantity{lengths, speeds, forces, masses, angles, temperatures, areas,
		linearDensities, densities, viscosities, durations, angularRates}
)

// find returns the unit spelled by name, or nil.
func (q *quantity) find(name string) *def {
	for i := range q.units {
		d := &q.units[i]
		if name == d.name {
			return d
		}
		for _, s := range d.symbols {
			if name == s {
				return d
			}
		}
	}
	lower := strings.ToLower(name)
	for i := range q.units {
		for _, w := range q.units[i].words {
			if lower == w {
				return &q.units[i]
			}
		}
	}
	return nil
}

func (q *quantity) allowed() []string {
	names := make([]string, len(q.units))
	for i := range q.units {
		names[i] = q.units[i].name
	}
	return names
}

// nearest returns the allowed unit whose spelling is closest to a mistyped
// one, or "" when none is close enough to be a likely slip.
func (q *quantity) nearest(name string) string {
	lower := strings.ToLower(name)
	limit := 1
	if len([]rune(lower)) > 4 {
		limit = 2
	}
	best, bestDistance := "", limit+1
	for i := range q.units {
		d := &q.units[i]
		spellings := append([]string{strings.ToLower(d.name)}, d.words...)
		for _, w := range spellings {
			// A one-letter unit is one slip away from any other letter.
			if distance := Slips(lower, w); distance < bestDistance && distance < len([]rune(w)) {
				best, bestDistance = d.name, distance
			}
		}
	}
	return best
}

// Slips counts the insertions, deletions, substitutions and swaps of neighboring letters that
// turn a into b (optimal string alignment): how far a mistyped word is from one that was
// likely meant, here and wherever words are read.
func Slips(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
