package unit

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxInput bounds the work on one text; the longest sensible value is far
// shorter.
const maxInput = 80

// Quantity is any of the package's types.
type Quantity interface {
	Length | Speed | Force | Mass | Angle | Temperature | Area |
		LinearDensity | Density | Viscosity | Duration | AngularRate
}

// Parse reads a number and its unit as the quantity T and returns it in SI.
//
// The number is decimal with a point ("1.5", "2e3"), a fraction ("1/2") or
// both ("1 1/2"), with an optional sign; the unit follows with or without a
// space. Feet may be followed by inches, pounds by ounces, hours by minutes
// and minutes by seconds. A unit is always required, zero included. The
// result is finite; whether it makes sense is for the caller to judge. Every
// error is an *[Error].
func Parse[T Quantity](text string) (T, error) {
	v, err := parse(quantityOf[T](), text)
	if err != nil {
		return 0, err
	}
	return T(v), nil
}

// ParseLength reads "140 ft", "12'", "6 ft 6 in", "3.5 m", "6 colors".
func ParseLength(text string) (Length, error) { return Parse[Length](text) }

// ParseSpeed reads "2.4 mph", "2.1 kn", "1.1 m/s", "3.9 km/h".
func ParseSpeed(text string) (Speed, error) { return Parse[Speed](text) }

// ParseForce reads "10 lb", "12 oz", "44 N", "1.2 kN".
func ParseForce(text string) (Force, error) { return Parse[Force](text) }

// ParseMass reads "10 lb", "1 1/2 oz", "300 g".
func ParseMass(text string) (Mass, error) { return Parse[Mass](text) }

// ParseAngle reads "17 deg", "17°", "0.3 rad".
func ParseAngle(text string) (Angle, error) { return Parse[Angle](text) }

// ParseTemperature reads "52 F", "52°F", "11 C", "284 K".
func ParseTemperature(text string) (Temperature, error) { return Parse[Temperature](text) }

// ParseArea reads "20 cm2", "20 cm²", "3 in2".
func ParseArea(text string) (Area, error) { return Parse[Area](text) }

// ParseLinearDensity reads "0.4 g/m", "1.1 lb/100ft", "25 g/color".
func ParseLinearDensity(text string) (LinearDensity, error) { return Parse[LinearDensity](text) }

// ParseDensity reads "1.14 g/cm3", "998 kg/m3".
func ParseDensity(text string) (Density, error) { return Parse[Density](text) }

// ParseViscosity reads "1.3 mPa s", "1.3 cP".
func ParseViscosity(text string) (Viscosity, error) { return Parse[Viscosity](text) }

// ParseDuration reads "7 s", "2 min", "1 h", "1 min 30 s".
func ParseDuration(text string) (Duration, error) { return Parse[Duration](text) }

// ParseAngularRate reads "3 deg/s", "3°/s", "0.05 rad/s".
func ParseAngularRate(text string) (AngularRate, error) { return Parse[AngularRate](text) }

func quantityOf[T Quantity]() *quantity {
	var zero T
	switch any(zero).(type) {
	case Length:
		return lengths
	case Speed:
		return speeds
	case Force:
		return forces
	case Mass:
		return masses
	case Angle:
		return angles
	case Temperature:
		return temperatures
	case Area:
		return areas
	case LinearDensity:
		return linearDensities
	case Density:
		return densities
	case Viscosity:
		return viscosities
	case Duration:
		return durations
	case AngularRate:
		return angularRates
	}
	panic("unit: a quantity without a table of units")
}

// quoted returns s in quotes, cut to a length that fits a message.
func quoted(s string) string {
	const most = 40
	runes := 0
	for i := range s {
		if runes++; runes > most {
			return strconv.Quote(s[:i] + "...")
		}
	}
	return strconv.Quote(s)
}

const pointHint = `write decimals with a point and no separators, as in "1.5" or "1000"`

func parse(q *quantity, text string) (float64, error) {
	fail := func(problem, hint string, allowed []string) (float64, error) {
		return 0, &Error{Quantity: q.name, Input: text, Problem: problem, Allowed: allowed, Hint: hint}
	}
	example := "write a number and its unit, as in \"3 " + q.example + "\""
	if !utf8.ValidString(text) {
		return fail("is not readable text", example, nil)
	}
	if len(text) > maxInput {
		return fail("is too long", example, nil)
	}
	s := strings.Join(strings.Fields(text), " ")
	if s == "" {
		return fail("is empty", example, q.allowed())
	}
	negative := false
	for _, sign := range []string{"+", "-", "\u2212"} {
		if rest, ok := strings.CutPrefix(s, sign); ok {
			s, negative = strings.TrimLeft(rest, " "), sign != "+"
			break
		}
	}
	number, rest, problem, hint := scanNumber(s)
	if problem != "" {
		if hint == "" {
			hint = example
		}
		return fail(problem, hint, nil)
	}
	rest = tidyUnit(rest)
	if rest == "" {
		shown := strings.TrimSpace(text)
		return fail("has no unit", "write \""+shown+" "+q.example+"\" if that is the unit meant", q.allowed())
	}
	var si float64
	if d := q.find(rest); d != nil {
		si = d.si(number)
		if negative {
			si = d.si(-number)
		}
	} else if first, second, tail := q.split(rest); first != nil {
		small, tail, problem, hint := scanNumber(tail)
		if problem != "" {
			return fail(problem, hint, nil)
		}
		if q.find(tidyUnit(tail)) != second {
			return fail("has "+first.name+" followed by something other than "+second.name,
				"write \"6 "+first.name+" 6 "+second.name+"\" or a single unit", nil)
		}
		if small >= first.most {
			most := strconv.Itoa(int(first.most)) + " " + second.name
			return fail("has "+most+" or more after "+first.name, "write less than "+most+" there", nil)
		}
		si = first.si(number) + second.si(small)
		if negative {
			si = -si
		}
	} else {
		return 0, q.unknown(text, rest)
	}
	if math.IsNaN(si) || math.Abs(si) > largest {
		return fail("is too large", "", nil)
	}
	return si, nil
}

// unknown explains a unit that q does not have.
func (q *quantity) unknown(text, name string) *Error {
	e := &Error{Quantity: q.name, Input: text, Allowed: q.allowed()}
	for _, other := range quantities {
		if other == q {
			continue
		}
		if d := other.find(name); d != nil {
			e.Problem = "has " + quoted(name) + ", a unit of " + other.name + ", where " + q.article + " is wanted"
			return e
		}
	}
	e.Problem = "has unknown unit " + quoted(name)
	if near := q.nearest(name); near != "" {
		e.Hint = "did you mean " + strconv.Quote(near) + "?"
	}
	return e
}

var timesSigns = strings.NewReplacer("·", " ", "⋅", " ", "*", " ")

// tidyUnit brings the spellings of a compound unit to one: single spaces,
// none around a slash, a space for a multiplication sign.
func tidyUnit(s string) string {
	s = timesSigns.Replace(s)
	s = strings.Join(strings.Fields(s), " ")
	s = strings.ReplaceAll(s, " /", "/")
	return strings.ReplaceAll(s, "/ ", "/")
}

// split finds a larger unit at the start of s that is followed by a number:
// "ft 6 in" gives feet, inches and "6 in".
func (q *quantity) split(s string) (first, second *def, tail string) {
	i := strings.IndexFunc(s, func(r rune) bool { return r >= '0' && r <= '9' || r == '.' })
	if i <= 0 {
		return nil, nil, ""
	}
	// "ft." ends in a point that belongs to the unit.
	if s[i] == '.' && (i+1 == len(s) || s[i+1] < '0' || s[i+1] > '9') {
		j := strings.IndexAny(s[i:], "0123456789")
		if j < 0 {
			return nil, nil, ""
		}
		i += j
	}
	first = q.find(strings.TrimRight(s[:i], " "))
	if first == nil || first.then == "" {
		return nil, nil, ""
	}
	return first, q.find(first.then), s[i:]
}

// scanNumber reads the unsigned number at the start of s and returns what
// follows it, or says what is wrong.
func scanNumber(s string) (value float64, rest, problem, hint string) {
	n, whole := decimalLength(s)
	if n == 0 {
		word := strings.ToLower(strings.TrimLeft(s, "+-"))
		if strings.HasPrefix(word, "nan") || strings.HasPrefix(word, "inf") {
			return 0, s, "is not a finite number", ""
		}
		return 0, s, "does not begin with a number", ""
	}
	rest = s[n:]
	if rest != "" {
		switch c := rest[0]; {
		case c == ',' || c == '_':
			return 0, s, "has " + quoted(string(c)) + " inside its number", pointHint
		case (c == 'x' || c == 'X') && s[:n] == "0":
			return 0, s, "is not a decimal number", ""
		case c == '.':
			return 0, s, "has two points in its number", ""
		}
	}
	value, err := strconv.ParseFloat(s[:n], 64)
	if err != nil {
		return 0, s, "is too large", ""
	}
	if !whole {
		return value, rest, "", ""
	}
	// A fraction: the number read is its numerator, or the whole before it.
	numerator, base := value, 0.0
	if m, ok := decimalLength(strings.TrimPrefix(rest, " ")); ok && strings.HasPrefix(rest, " ") && strings.HasPrefix(rest[1+m:], "/") {
		base = value
		if numerator, err = strconv.ParseFloat(rest[1:1+m], 64); err != nil {
			return 0, s, "is too large", ""
		}
		rest = rest[1+m:]
	}
	if !strings.HasPrefix(rest, "/") {
		return value, rest, "", ""
	}
	m, ok := decimalLength(rest[1:])
	if !ok {
		return 0, s, "has a fraction without a whole number below the line", `write fractions as in "1 1/2"`
	}
	denominator, err := strconv.ParseFloat(rest[1:1+m], 64)
	if err != nil {
		return 0, s, "is too large", ""
	}
	if denominator == 0 {
		return 0, s, "divides by zero", ""
	}
	return base + numerator/denominator, rest[1+m:], "", ""
}

// decimalLength returns how many bytes at the start of s are a plain decimal
// number (0: none) and whether they are digits alone.
func decimalLength(s string) (n int, whole bool) {
	digits := func(i int) int {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i
	}
	i := digits(0)
	count, whole := i, i > 0
	if i < len(s) && s[i] == '.' {
		j := digits(i + 1)
		if count += j - i - 1; j > i+1 || count > 0 {
			i, whole = j, false
		}
	}
	if count == 0 {
		return 0, false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		k := i + 1
		if k < len(s) && (s[k] == '+' || s[k] == '-') {
			k++
		}
		if j := digits(k); j > k {
			return j, false
		}
	}
	return i, whole
}

// largest is the greatest magnitude read, in SI. It leaves the conversions room
// below the largest float64, and is no round number in any unit, so that what
// is shown of it, cut to six digits, lies within.
const largest = 1.0000001e300
