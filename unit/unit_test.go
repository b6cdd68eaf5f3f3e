package unit

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// parsers covers every quantity through its named parser.
var parsers = []struct {
	q     *quantity
	parse func(string) (float64, error)
}{
	{lengths, plain(ParseLength)},
	{speeds, plain(ParseSpeed)},
	{forces, plain(ParseForce)},
	{masses, plain(ParseMass)},
	{angles, plain(ParseAngle)},
	{temperatures, plain(ParseTemperature)},
	{areas, plain(ParseArea)},
	{linearDensities, plain(ParseLinearDensity)},
	{densities, plain(ParseDensity)},
	{viscosities, plain(ParseViscosity)},
	{durations, plain(ParseDuration)},
	{angularRates, plain(ParseAngularRate)},
}

func plain[T Quantity](f func(string) (T, error)) func(string) (float64, error) {
	return func(s string) (float64, error) {
		v, err := f(s)
		return float64(v), err
	}
}

func parserOf(t testing.TB, q *quantity) func(string) (float64, error) {
	for _, p := range parsers {
		if p.q == q {
			return p.parse
		}
	}
	t.Fatalf("no parser for %s", q.name)
	return nil
}

// Conversion factors of the rows: NIST SP 811 (2008) appendix B, where the
// foot, mile, pound, knot and degree are exact; a color is 10 yards (common
// practice, no source).
func TestParse(t *testing.T) {
	rows := []struct {
		q    *quantity
		text string
		want float64
	}{
		{lengths, "140ft", 42.672},
		{lengths, "140 ft", 42.672},
		{lengths, " 140\tFT ", 42.672},
		{lengths, "12 in", 0.3048},
		{lengths, "3.5 m", 3.5},
		{lengths, "120 mm", 0.12},
		{lengths, "0.5mm", 0.0005},
		{lengths, ".5 mm", 0.0005},
		{lengths, "6 ft 6 in", 1.9812},
		{lengths, "6ft6in", 1.9812},
		{lengths, "6 ft. 6 in.", 1.9812},
		{lengths, `6'6"`, 1.9812},
		{lengths, `6′ 6″`, 1.9812},
		{lengths, "-6 ft 6 in", -1.9812},
		{lengths, "\u22126 ft 6 1/2 in", -1.9939},
		{lengths, "12'", 3.6576},
		{lengths, `12"`, 0.3048},
		{lengths, "6 colors", 54.864},
		{lengths, "1 color", 9.144},
		{lengths, "2 fathoms", 3.6576},
		{lengths, "100 yd", 91.44},
		{lengths, "1 mi", 1609.344},
		{lengths, "1 nmi", 1852},
		{lengths, "1/2 in", 0.0127},
		{lengths, "2e3 m", 2000},
		{lengths, "0 m", 0},
		{speeds, "2.4 mph", 1.072896},
		{speeds, "1 kn", 1852.0 / 3600},
		{speeds, "3.6 knots", 1.852},
		{speeds, "1.1 m/s", 1.1},
		{speeds, "1.1 m / s", 1.1},
		{speeds, "3.6 km/h", 1},
		{forces, "10 lb", 44.482216152605},
		{forces, "10 lbf", 44.482216152605},
		{forces, "44 N", 44},
		{forces, "16 oz", 4.4482216152605},
		{forces, "1.2 kN", 1200},
		{masses, "10 lb", 4.5359237},
		{masses, "8 oz", 0.226796185},
		{masses, "1 1/2 oz", 0.0425242846875},
		{masses, "1 lb 8 oz", 0.680388555},
		{masses, "300 g", 0.3},
		{masses, "4 kg", 4},
		{angles, "180 deg", math.Pi},
		{angles, "90°", math.Pi / 2},
		{angles, "0.3 rad", 0.3},
		{temperatures, "52 F", 100.0 / 9},
		{temperatures, "50°F", 10},
		{temperatures, "-40 f", -40},
		{temperatures, "11 C", 11},
		{temperatures, "11 °C", 11},
		{temperatures, "284 K", 10.85},
		{areas, "20 cm2", 0.002},
		{areas, "20 cm²", 0.002},
		{areas, "20 cm^2", 0.002},
		{areas, "3 in2", 0.00193548},
		{areas, "1 ft2", 0.09290304},
		{areas, "2 m2", 2},
		{linearDensities, "1.5 g/m", 0.0015},
		{linearDensities, "0.01 kg/m", 0.01},
		{linearDensities, "1 lb/100ft", 0.01488163943569553806},
		{linearDensities, "1 lb / 100 ft", 0.01488163943569553806},
		{linearDensities, "9.144 g/color", 0.001},
		{densities, "1.14 g/cm3", 1140},
		{densities, "998 kg/m³", 998},
		{densities, "1 lb/ft3", 16.018463373960139},
		{viscosities, "1.3 mPa s", 0.0013},
		{viscosities, "1.3 mPa·s", 0.0013},
		{viscosities, "1 cP", 0.001},
		{durations, "7 s", 7},
		{durations, "2 min", 120},
		{durations, "1 h", 3600},
		{durations, "1 h 30 min", 5400},
		{durations, "250 ms", 0.25},
		{angularRates, "180 deg/s", math.Pi},
		{angularRates, "180°/s", math.Pi},
		{angularRates, "0.1 rad/s", 0.1},
	}
	for _, r := range rows {
		got, err := parserOf(t, r.q)(r.text)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		// Four roundings of a conversion stay within 4 ulp; moving the zero of a
		// temperature costs one ulp of the number before the move, 284.
		limit := 1e-15 * math.Max(math.Abs(r.want), 1e-3)
		if r.q == temperatures {
			limit += 6e-14
		}
		if math.Abs(got-r.want) > limit {
			t.Errorf("%s %q = %.17g, want %.17g", r.q.name, r.text, got, r.want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	rows := []struct {
		q    *quantity
		text string
		want string // the whole sentence
	}{
		{lengths, "", `length "" is empty (units: ft, in, m, cm, mm, km, yd, color, fathom, mi, nmi); write a number and its unit, as in "3 ft"`},
		{lengths, "140", `length "140" has no unit (units: ft, in, m, cm, mm, km, yd, color, fathom, mi, nmi); write "140 ft" if that is the unit meant`},
		{speeds, "3 ft", `speed "3 ft" has "ft", a unit of length, where a speed is wanted (units: mph, kn, m/s, cm/s, km/h, ft/s)`},
		{lengths, "140 fot", `length "140 fot" has unknown unit "fot" (units: ft, in, m, cm, mm, km, yd, color, fathom, mi, nmi); did you mean "ft"?`},
		{speeds, "2 mhp", `speed "2 mhp" has unknown unit "mhp" (units: mph, kn, m/s, cm/s, km/h, ft/s); did you mean "mph"?`},
		{lengths, "6 collors", `length "6 collors" has unknown unit "collors" (units: ft, in, m, cm, mm, km, yd, color, fathom, mi, nmi); did you mean "color"?`},
		{lengths, "3 M", `length "3 M" has unknown unit "M" (units: ft, in, m, cm, mm, km, yd, color, fathom, mi, nmi); did you mean "m"?`},
		{viscosities, "1 MPa s", `viscosity "1 MPa s" has unknown unit "MPa s" (units: mPa s, Pa s, cP); did you mean "mPa s"?`},
		{durations, "3 qqq", `duration "3 qqq" has unknown unit "qqq" (units: h, min, s, ms)`},
		{lengths, "1,5 m", `length "1,5 m" has "," inside its number; write decimals with a point and no separators, as in "1.5" or "1000"`},
		{lengths, "1_000 m", `length "1_000 m" has "_" inside its number; write decimals with a point and no separators, as in "1.5" or "1000"`},
		{lengths, "1.2.3 m", `length "1.2.3 m" has two points in its number; write a number and its unit, as in "3 ft"`},
		{lengths, "NaN m", `length "NaN m" is not a finite number; write a number and its unit, as in "3 ft"`},
		{lengths, "-Inf m", `length "-Inf m" is not a finite number; write a number and its unit, as in "3 ft"`},
		{lengths, "0x1p3 m", `length "0x1p3 m" is not a decimal number; write a number and its unit, as in "3 ft"`},
		{lengths, "ft", `length "ft" does not begin with a number; write a number and its unit, as in "3 ft"`},
		{lengths, ". ft", `length ". ft" does not begin with a number; write a number and its unit, as in "3 ft"`},
		{lengths, "1e400 m", `length "1e400 m" is too large; write a number and its unit, as in "3 ft"`},
		{lengths, "1e308 km", `length "1e308 km" is too large`},
		{lengths, "1/0 in", `length "1/0 in" divides by zero; write a number and its unit, as in "3 ft"`},
		{lengths, "1/x in", `length "1/x in" has a fraction without a whole number below the line; write fractions as in "1 1/2"`},
		{lengths, "6 ft 14 in", `length "6 ft 14 in" has 12 in or more after ft; write less than 12 in there`},
		{lengths, "6 ft 3 m", `length "6 ft 3 m" has ft followed by something other than in; write "6 ft 6 in" or a single unit`},
		{lengths, "1\xff m", `length "1\xff m" is not readable text; write a number and its unit, as in "3 ft"`},
	}
	for _, r := range rows {
		_, err := parserOf(t, r.q)(r.text)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%s %q: error %v, want a *unit.Error", r.q.name, r.text, err)
			continue
		}
		if got := e.Error(); got != r.want {
			t.Errorf("got  %s\nwant %s", got, r.want)
		}
		if e.Quantity != r.q.name || e.Input != r.text {
			t.Errorf("%q: quantity %q, input %q", r.text, e.Quantity, e.Input)
		}
	}
	if _, err := ParseLength(strings.Repeat("9", 1000) + " m"); err == nil || len(err.Error()) > 200 {
		t.Errorf("a very long input gives %v, want a short error", err)
	}
}

// Every spelling in the tables belongs to one unit of its quantity, and every
// canonical name that errors list can be typed.
func TestTables(t *testing.T) {
	for _, q := range quantities {
		seen := map[string]string{}
		for i := range q.units {
			d := &q.units[i]
			if q.find(d.name) != d {
				t.Errorf("%s: %q does not find itself", q.name, d.name)
			}
			for _, s := range slices.Concat(d.symbols, d.words) {
				if other, twice := seen[s]; twice {
					t.Errorf("%s: %q spells %s and %s", q.name, s, other, d.name)
				}
				seen[s] = d.name
				if q.find(s) != d {
					t.Errorf("%s: %q does not find %s", q.name, s, d.name)
				}
			}
			if d.then != "" && q.find(d.then) == nil {
				t.Errorf("%s: %s is followed by an unknown %q", q.name, d.name, d.then)
			}
		}
		if q.find(q.example) == nil {
			t.Errorf("%s: example unit %q is unknown", q.name, q.example)
		}
	}
}

// The constants against the tables, which TestParse holds against NIST.
func TestConstants(t *testing.T) {
	rows := []struct {
		text string
		q    *quantity
		want float64
	}{
		{"1 ft", lengths, float64(Foot)}, {"1 in", lengths, float64(Inch)}, {"1 yd", lengths, float64(Yard)},
		{"1 fathom", lengths, float64(Fathom)}, {"1 color", lengths, float64(Color)}, {"1 mi", lengths, float64(Mile)},
		{"1 nmi", lengths, float64(NauticalMile)}, {"1 mph", speeds, float64(MilePerHour)}, {"1 kn", speeds, float64(Knot)},
		{"1 km/h", speeds, float64(KilometerPerHour)}, {"1 ft/s", speeds, float64(FootPerSecond)},
		{"1 lb", forces, float64(PoundForce)}, {"1 oz", forces, float64(OunceForce)}, {"1 lb", masses, float64(Pound)},
		{"1 oz", masses, float64(Ounce)}, {"1 deg", angles, float64(Degree)}, {"1 deg/s", angularRates, float64(DegreePerSecond)},
		{"1 min", durations, float64(Minute)}, {"1 h", durations, float64(Hour)},
	}
	for _, r := range rows {
		if got, err := parserOf(t, r.q)(r.text); err != nil || math.Abs(got-r.want) > 2e-16*r.want {
			t.Errorf("%s: parsed %.17g, constant %.17g, %v", r.text, got, r.want, err)
		}
	}
	// NIST SP 811: 1 lbf = 0.45359237 kg x 9.80665 m/s2.
	if got := float64(Pound) * 9.80665; math.Abs(got-float64(PoundForce)) > 1e-15*got {
		t.Errorf("pound-force %.17g, from the pound %.17g", float64(PoundForce), got)
	}
	// Fixed points of the scales: water freezes at 32 F = 273.15 K.
	if Fahrenheit(32) != 0 || Temperature(100).Fahrenheit() != 212 || Temperature(0).Kelvin() != 273.15 {
		t.Error("temperature scales disagree at their fixed points")
	}
}

func TestFormat(t *testing.T) {
	rows := []struct{ got, want string }{
		{US.Depth(140 * Foot), "140 ft"},
		{SI.Depth(140 * Foot), "42.7 m"},
		{US.Depth(-0.1), "0 ft"},
		{SI.Depth(-0.01), "0.0 m"},
		{US.Depth(-40 * Foot), "-40 ft"},
		{US.Small(6 * Inch), "6 in"},
		{US.Small(4.5 * Inch), "4.5 in"},
		{US.Small(20 * Inch), "20 in"},
		{US.Small(0.04 * Inch), "0.040 in"},
		{SI.Small(1.0237 * Millimeter), "1.02 mm"},
		{SI.Small(125 * Millimeter), "125 mm"},
		{SI.Small(9.997 * Millimeter), "10 mm"},
		{US.Speed(2.4 * MilePerHour), "2.4 mph"},
		{SI.Speed(2.4 * MilePerHour), "1.07 m/s"},
		{US.Force(12 * PoundForce), "12 lb"},
		{SI.Force(12 * PoundForce), "53 N"},
		{US.Force(2), "0.4 lb"},
		{US.Mass(10 * Pound), "10 lb"},
		{SI.Mass(10 * Pound), "4.54 kg"},
		{US.SmallMass(1.5 * Ounce), "1.50 oz"},
		{SI.SmallMass(1.5 * Ounce), "43 g"},
		{US.Angle(31 * Degree), "31°"},
		{US.Temperature(Fahrenheit(52)), "52°F"},
		{SI.Temperature(Fahrenheit(52)), "11.1°C"},
		{SI.Area(0.002), "20 cm2"},
		{US.LinearDensity(0.011), "0.739 lb/100ft"},
		{SI.LinearDensity(0.011), "11.0 g/m"},
		{US.Density(998.2), "0.998 g/cm3"},
		{SI.Density(998.2), "998.2 kg/m3"},
		{US.Viscosity(0.0013059), "1.306 mPa s"},
		{US.Duration(90), "90 s"},
		{US.Duration(150), "2.5 min"},
		{SI.AngularRate(3 * DegreePerSecond), "3.0°/s"},
		{US.Depth(Length(math.NaN())), "? ft"},
		{Length(42.672).String(), "42.672 m"},
		{Temperature(math.Copysign(0, -1)).String(), "0 °C"},
	}
	for _, r := range rows {
		if r.got != r.want {
			t.Errorf("got %q, want %q", r.got, r.want)
		}
	}
	if n, l := US.Split(SpeedStyle, 1.072896); n != "2.4" || l != "mph" || US.Label(SpeedStyle) != "mph" {
		t.Errorf("Split gives %q, %q", n, l)
	}
}

// halfSteps is half the last printed digit in the shown unit, as a function of
// the shown value, stated here apart from the tables of the formatter.
var halfSteps = map[Style][2]func(v float64) float64{
	DepthStyle:         {half(0), half(1)},
	SmallStyle:         {split(1, 3, 1), split(10, 2, 0)},
	SpeedStyle:         {half(1), half(2)},
	ForceStyle:         {split(10, 1, 0), split(10, 1, 0)},
	MassStyle:          {split(10, 1, 0), split(10, 2, 1)},
	SmallMassStyle:     {split(10, 2, 1), split(10, 1, 0)},
	AngleStyle:         {half(0), half(0)},
	TemperatureStyle:   {half(0), half(1)},
	AreaStyle:          {split(10, 2, 1), split(10, 2, 0)},
	LinearDensityStyle: {split(10, 3, 2), split(10, 3, 1)},
	DensityStyle:       {half(3), half(1)},
	ViscosityStyle:     {half(3), half(3)},
	SecondsStyle:       {split(10, 1, 0), split(10, 1, 0)},
	MinutesStyle:       {split(10, 1, 0), split(10, 1, 0)},
	RateStyle:          {half(1), half(1)},
}

func half(decimals int) func(float64) float64 {
	return func(float64) float64 { return 0.5 * math.Pow10(-decimals) }
}

func split(below float64, under, over int) func(float64) float64 {
	return func(v float64) float64 {
		if math.Abs(v) < below-0.5*math.Pow10(-under) {
			return 0.5 * math.Pow10(-under)
		}
		return 0.5 * math.Pow10(-over)
	}
}

func TestFormattedTextParsesBack(t *testing.T) {
	if len(halfSteps) != int(styleCount) {
		t.Fatalf("%d styles have a stated precision, want %d", len(halfSteps), styleCount)
	}
	rapid.Check(t, func(t *rapid.T) {
		style := Style(rapid.IntRange(0, int(styleCount)-1).Draw(t, "style"))
		system := rapid.SampledFrom([]System{US, SI}).Draw(t, "system")
		l := system.look(style)
		d := l.q.find(l.unit)
		shown := rapid.OneOf(rapid.Float64Range(-20, 20), rapid.Float64Range(-1e5, 1e5)).Draw(t, "shown")
		text := system.Text(style, d.si(shown))
		if number, label := system.Split(style, d.si(shown)); !strings.HasPrefix(text, number) || !strings.HasSuffix(text, label) {
			t.Fatalf("%q is not %q and %q", text, number, label)
		}
		back, err := parse(l.q, text)
		if err != nil {
			t.Fatalf("%v", err)
		}
		limit := halfSteps[style][system](shown)*(1+1e-9) + 1e-12*math.Abs(shown)
		if got := d.number(back); math.Abs(got-shown) > limit {
			t.Fatalf("%v shown as %q is %v again, off by more than %v", shown, text, got, limit)
		}
		if strings.HasPrefix(text, "-0") && strings.Trim(strings.TrimSuffix(text, system.Label(style)), "-0. ") == "" {
			t.Fatalf("%q shows a negative zero", text)
		}
	})
}

func TestStringIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-largest, largest).Draw(t, "v")
		exactly(t, Length(v), Length(v).String())
		exactly(t, Speed(v), Speed(v).String())
		exactly(t, Force(v), Force(v).String())
		exactly(t, Mass(v), Mass(v).String())
		exactly(t, Angle(v), Angle(v).String())
		exactly(t, Temperature(v), Temperature(v).String())
		exactly(t, Area(v), Area(v).String())
		exactly(t, LinearDensity(v), LinearDensity(v).String())
		exactly(t, Density(v), Density(v).String())
		exactly(t, Viscosity(v), Viscosity(v).String())
		exactly(t, Duration(v), Duration(v).String())
		exactly(t, AngularRate(v), AngularRate(v).String())
	})
}

func exactly[T Quantity](t *rapid.T, v T, text string) {
	if got, err := Parse[T](text); err != nil || got != v {
		t.Fatalf("%q parses to %v, %v", text, float64(got), err)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"140 ft", "6 ft 6 in", `6'6"`, "1 1/2 oz", "52°F", "284 K", "lb/100 ft", "1 lb/100ft",
		"1,5 m", "1e308 km", "-0 m", "0x1p3 m", "NaN", "\xff\xfe", "1 h 59 min", "½ oz", "1e-320 cm2", "9999999999999999 rad",
		"1e308C", "1e300 m", "1.0000001e300 C", "1.3 mPa·s", "3 °/s", "1/3 ft 1/3 in", "− 5 C", "1 ft.5 in"} {
		f.Add(s)
	}
	styles := map[*quantity][]Style{}
	for i := range looks {
		styles[looks[i][0].q] = append(styles[looks[i][0].q], Style(i))
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, p := range parsers {
			v, err := p.parse(text)
			if err != nil {
				var e *Error
				if !errors.As(err, &e) || e.Problem == "" || e.Quantity != p.q.name || v != 0 {
					t.Fatalf("%q as %s: value %v, error %#v", text, p.q.name, v, err)
				}
				if len(e.Error()) > 1000 {
					t.Fatalf("%q: a message of %d bytes", text, len(e.Error()))
				}
				continue
			}
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%q as %s = %v", text, p.q.name, v)
			}
			for _, style := range styles[p.q] {
				for _, system := range []System{US, SI} {
					shown := system.Text(style, v)
					if _, err := p.parse(shown); err != nil {
						t.Fatalf("%q as %s is shown as %q, which does not parse: %v", text, p.q.name, shown, err)
					}
				}
			}
			if again, err := p.parse(strconv.FormatFloat(v, 'g', -1, 64) + siName[p.q]); err != nil || again != v {
				t.Fatalf("%q as %s is %v, again %v, %v", text, p.q.name, v, again, err)
			}
		}
	})
}

var siName = map[*quantity]string{lengths: "m", speeds: "m/s", forces: "N", masses: "kg", angles: "rad",
	temperatures: "C", areas: "m2", linearDensities: "kg/m", densities: "kg/m3", viscosities: "Pa s",
	durations: "s", angularRates: "rad/s"}

// Distances by the definition: each case is one slip of a kind, or none, or none in common.
func TestSlips(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"dial", "dial", 0}, {"dail", "dial", 1}, {"dia", "dial", 1}, {"diall", "dial", 1}, {"deal", "dial", 1},
		{"abc", "xyz", 3}, {"", "ring", 4}, {"½ ft", "¼ ft", 1}, {"ca", "abc", 3}} {
		if got, back := Slips(c.a, c.b), Slips(c.b, c.a); got != c.want || back != c.want {
			t.Errorf("%q and %q: %d and %d, want %d", c.a, c.b, got, back, c.want)
		}
	}
}
