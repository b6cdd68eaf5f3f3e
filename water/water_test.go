package water

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sternfan/internal/reference"
	"sternfan/unit"
)

func TestProperties(t *testing.T) {
	for _, r := range reference.Water {
		if got := Density(r.TemperatureC); math.Abs(got-r.DensityKgM3) > r.DensityToleranceKgM3 {
			t.Errorf("density at %g C: %.4f, want %.4f kg/m3 (%s)", r.TemperatureC, got, r.DensityKgM3, r.Source)
		}
		if got := Viscosity(r.TemperatureC); math.Abs(got-r.ViscosityPaS) > r.ViscosityTolerancePaS {
			t.Errorf("viscosity at %g C: %.9f, want %.9f Pa s (%s)", r.TemperatureC, got, r.ViscosityPaS, r.Source)
		}
	}
	// The full formulation at 998 kg/m3, some 2 MPa: water's viscosity at 25 C
	// falls by about 0.03 % up to there, so 0.05 % separates a right formula.
	if r := reference.ViscosityR12; math.Abs(Viscosity(r.TemperatureC)/r.ViscosityPaS-1) > 5e-4 {
		t.Errorf("viscosity at %g C: %g, want %g Pa s (%s)", r.TemperatureC, Viscosity(r.TemperatureC), r.ViscosityPaS, r.Source)
	}
	// The mistyped formula of the trap is 0.27 kg/m3 off; ours must not be near it.
	if r := reference.DensityTrap; math.Abs(Density(r.TemperatureC)-r.WrongKgM3) < 0.2 {
		t.Errorf("density at %g C is %.4f kg/m3, the value of a mistyped formula (%s)", r.TemperatureC, Density(r.TemperatureC), r.Source)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -300, 1e9} {
		if d, v := Density(bad), Viscosity(bad); !(d > 990 && d < 1000 && v > 1e-4 && v < 5e-3) {
			t.Errorf("at %g C: density %g, viscosity %g", bad, d, v)
		}
	}
}

func profile(t testing.TB, pairs ...float64) *Profile {
	var points []TemperaturePoint
	for i := 0; i < len(pairs); i += 2 {
		points = append(points, TemperaturePoint{unit.Length(pairs[i]), unit.Temperature(pairs[i+1])})
	}
	p, err := NewProfile(points)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func column(t testing.TB, s Spec) *Column {
	c, err := NewColumn(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A summer column: warm top, thermocline, cold below, a current that turns.
func summer(t testing.TB) Spec {
	c, err := NewCurrent([]CurrentPoint{
		{0, 0.2, 90 * unit.Degree}, {12, 0.1, 60 * unit.Degree}, {25, 0.15, 200 * unit.Degree},
	})
	if err != nil {
		t.Fatal(err)
	}
	return Spec{Temperature: profile(t, 0, 22, 10, 21, 18, 9, 40, 5), Current: c, Heading: 45 * unit.Degree}
}

// Values by hand: halfway between the points is half the sum.
func TestProfileAt(t *testing.T) {
	p := profile(t, 2, 20, 10, 12)
	for _, r := range [][2]float64{{-5, 20}, {0, 20}, {2, 20}, {6, 16}, {10, 12}, {1e9, 12}, {math.Inf(1), 12}, {math.NaN(), 20}} {
		if got := p.At(r[0]); got != r[1] {
			t.Errorf("temperature at %g m: %g, want %g", r[0], got, r[1])
		}
	}
}

func TestCurrentAt(t *testing.T) {
	// East 0.4 at the top, west 0.2 at 6 m: at rest two thirds of the way down.
	c, err := NewCurrent([]CurrentPoint{{0, 0.4, 90 * unit.Degree}, {6, 0.2, 270 * unit.Degree}})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range [][2]float64{{0, 0.4}, {3, 0.1}, {4, 0}, {6, -0.2}, {100, -0.2}} {
		north, east := c.At(r[0])
		if math.Abs(north) > 1e-15 || math.Abs(east-r[1]) > 1e-15 {
			t.Errorf("at %g m: north %g, east %g, want 0, %g", r[0], north, east, r[1])
		}
	}
	var still *Current
	if north, east := still.At(3); north != 0 || east != 0 {
		t.Errorf("still water moves: %g, %g", north, east)
	}
}

// The frame: heading east, a current setting north comes from starboard and
// goes to port; one setting east pushes forward.
func TestCurrentInBoatFrame(t *testing.T) {
	rows := []struct{ headingDeg, setDeg, x, y float64 }{
		{0, 0, 1, 0}, {0, 90, 0, 1}, {90, 0, 0, -1}, {90, 90, 1, 0}, {180, 90, 0, -1}, {30, 60, math.Sqrt(3) / 2, 0.5},
	}
	for _, r := range rows {
		c, err := NewCurrent([]CurrentPoint{{0, 1, unit.Angle(r.setDeg) * unit.Degree}})
		if err != nil {
			t.Fatal(err)
		}
		var s State
		column(t, Spec{Temperature: profile(t, 0, 10), Current: c, Heading: unit.Angle(r.headingDeg) * unit.Degree}).At(5, &s)
		if math.Abs(s.Cx-r.x) > 1e-15 || math.Abs(s.Cy-r.y) > 1e-15 {
			t.Errorf("heading %g, set %g: %g, %g, want %g, %g", r.headingDeg, r.setDeg, s.Cx, s.Cy, r.x, r.y)
		}
	}
}

func TestErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	temperature := func(pairs ...float64) func() error {
		return func() error {
			var points []TemperaturePoint
			for i := 0; i < len(pairs); i += 2 {
				points = append(points, TemperaturePoint{unit.Length(pairs[i]), unit.Temperature(pairs[i+1])})
			}
			_, err := NewProfile(points)
			return err
		}
	}
	current := func(p ...CurrentPoint) func() error {
		return func() error { _, err := NewCurrent(p); return err }
	}
	spec := func(s Spec) func() error {
		return func() error { _, err := NewColumn(s); return err }
	}
	rows := []struct {
		code  string
		index int
		make  func() error
	}{
		{"no-points", -1, temperature()},
		{"temperature-range", 1, temperature(0, 10, 5, 52)},
		{"temperature-range", 0, temperature(0, nan)},
		{"depth-range", 0, temperature(-1, 10)},
		{"depth-range", 1, temperature(0, 10, inf, 10)},
		{"depth-order", 1, temperature(5, 10, 5, 11)},
		{"depth-order", 2, temperature(0, 10, 5, 11, 4, 12)},
		{"current-speed", 0, current(CurrentPoint{0, -1, 0})},
		{"current-speed", 0, current(CurrentPoint{0, unit.Speed(nan), 0})},
		{"current-speed", 1, current(CurrentPoint{0, 1, 0}, CurrentPoint{3, unit.Speed(inf), 0})},
		{"current-set", 0, current(CurrentPoint{0, 1, unit.Angle(nan)})},
		{"depth-order", 1, current(CurrentPoint{3, 1, 0}, CurrentPoint{0, 1, 0})},
		{"no-temperature", -1, spec(Spec{Rho: 1000})},
		{"density-range", -1, spec(Spec{Rho: -1, Nu: 1e-6})},
		{"viscosity-range", -1, spec(Spec{Rho: 1000, Nu: nan})},
		{"heading-range", -1, spec(Spec{Rho: 1000, Nu: 1e-6, Heading: unit.Angle(inf)})},
	}
	for i, r := range rows {
		var e *Error
		if err := r.make(); !errors.As(err, &e) {
			t.Errorf("row %d: %v, want %s", i, err, r.code)
		} else if e.Code != r.code || e.Index != r.index || e.Found == "" || e.Allowed == "" {
			t.Errorf("row %d: %+v, want %s at %d", i, *e, r.code, r.index)
		}
	}
	err := temperature(0, 10, 5, 52)()
	if want := "temperature point 2: 52 °C, allowed is 0 to 40 °C (32 to 104 °F); check whether the number is in Fahrenheit or Celsius"; err.Error() != want {
		t.Errorf("got %q, want %q", err, want)
	}
}

func TestUniformAndBreaks(t *testing.T) {
	flow := func(p ...CurrentPoint) *Current {
		c, err := NewCurrent(p)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	rows := []struct {
		name    string
		spec    Spec
		uniform bool
		breaks  []float64
	}{
		{"one temperature", Spec{Temperature: profile(t, 0, 10)}, true, nil},
		{"the same temperature twice", Spec{Temperature: profile(t, 3, 10, 8, 10)}, true, nil},
		{"fixed water under a profile", Spec{Temperature: profile(t, 0, 20, 8, 10), Rho: 1000, Nu: 1e-6}, true, nil},
		{"steady current", Spec{Rho: 1000, Nu: 1e-6, Current: flow(CurrentPoint{4, 0.3, 1})}, true, nil},
		{"thermocline", Spec{Temperature: profile(t, 5, 20, 8, 10)}, false, []float64{5, 8}},
		{"shear from the surface", Spec{Rho: 1000, Nu: 1e-6, Current: flow(CurrentPoint{0, 0.3, 0}, CurrentPoint{20, 0.1, 0})}, false, []float64{20}},
		{"both", Spec{Temperature: profile(t, 5, 20, 8, 10), Current: flow(CurrentPoint{0, 0.3, 0}, CurrentPoint{7, 0.1, 0})}, false, []float64{5, 7, 8}},
	}
	for _, r := range rows {
		c := column(t, r.spec)
		if c.Uniform() != r.uniform || !slices.Equal(c.Breaks(), r.breaks) {
			t.Errorf("%s: uniform %v, breaks %v; want %v, %v", r.name, c.Uniform(), c.Breaks(), r.uniform, r.breaks)
		}
	}
}

// draw makes a column with up to six points of each profile.
func draw(t *rapid.T) Spec {
	depths := func(label string) []float64 {
		z := rapid.SliceOfN(rapid.Float64Range(0, 80), 1, 6).Draw(t, label)
		slices.Sort(z)
		return slices.CompactFunc(z, func(a, b float64) bool { return math.Abs(b-a) < 2*minGap })
	}
	var points []TemperaturePoint
	for _, z := range depths("temperature depths") {
		points = append(points, TemperaturePoint{unit.Length(z), unit.Temperature(rapid.Float64Range(0, 40).Draw(t, "temperature"))})
	}
	p, err := NewProfile(points)
	if err != nil {
		t.Fatal(err)
	}
	var flow []CurrentPoint
	for _, z := range depths("current depths") {
		flow = append(flow, CurrentPoint{unit.Length(z), unit.Speed(rapid.Float64Range(0, 2).Draw(t, "speed")),
			unit.Angle(rapid.Float64Range(-7, 7).Draw(t, "set"))})
	}
	c, err := NewCurrent(flow)
	if err != nil {
		t.Fatal(err)
	}
	return Spec{Temperature: p, Current: c, Heading: unit.Angle(rapid.Float64Range(-7, 7).Draw(t, "heading"))}
}

func build(t *rapid.T, s Spec) *Column {
	c, err := NewColumn(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestColumnFollowsTheFormulas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := draw(t)
		col := build(t, spec)
		sin, cos := math.Sincos(float64(spec.Heading))
		var s State
		for range 20 {
			z := rapid.Float64Range(-5, 100).Draw(t, "z")
			col.At(z, &s)
			temperature := spec.Temperature.At(max(z, 0))
			rho := Density(temperature)
			nu := Viscosity(temperature) / rho
			north, east := spec.Current.At(max(z, 0))
			// The package's promise; points merged within 1e-12 m move a current
			// by that times its slope, at most 4 m/s in 2 mm.
			if math.Abs(s.Rho/rho-1) > 1e-6 || math.Abs(s.Nu/nu-1) > 1e-5 {
				t.Fatalf("z %g: rho %.9g want %.9g, nu %.9g want %.9g", z, s.Rho, rho, s.Nu, nu)
			}
			if math.Abs(s.Cx-(north*cos+east*sin)) > 1e-8 || math.Abs(s.Cy-(east*cos-north*sin)) > 1e-8 {
				t.Fatalf("z %g: current %g, %g", z, s.Cx, s.Cy)
			}
		}
	})
}

// The interpolation error at its worst: a linear pass through all
// temperatures, looked at 50 times in every cell.
func TestCellsAreFineEnough(t *testing.T) {
	for _, pair := range [][4]float64{{0, 0, 40, 40}, {0, 40, 7, 0}, {1, 0, 1.3, 0.19}, {0, 0, 9, 4}} {
		spec := Spec{Temperature: profile(t, pair[:]...)}
		col := column(t, spec)
		var s State
		const n = 10000
		for i := range n {
			z := pair[0] + (pair[2]-pair[0])*float64(i)/n
			col.At(z, &s)
			temperature := spec.Temperature.At(z)
			rho := Density(temperature)
			if nu := Viscosity(temperature) / rho; math.Abs(s.Rho/rho-1) > 1e-6 || math.Abs(s.Nu/nu-1) > 1e-5 {
				t.Fatalf("profile %v at %g m: relative errors %g, %g", pair, z, s.Rho/rho-1, s.Nu/nu-1)
			}
		}
	}
}

func TestColumnIsContinuousAndClamped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := draw(t)
		col := build(t, spec)
		var above, below, s State
		for i := range col.cells {
			z := col.cells[i].top
			const h = 1e-9
			col.At(z-h, &above)
			col.At(z+h, &below)
			// Layers may be thinner than h, so every cell that the step touches counts.
			slope := State{DCx: math.Abs(above.DCx) + math.Abs(below.DCx), DCy: math.Abs(above.DCy) + math.Abs(below.DCy)}
			for j, c := range col.cells {
				if c.top <= z+h && (j+1 == len(col.cells) || col.cells[j+1].top >= z-h) {
					slope.DRho += math.Abs(c.dRho)
					slope.DNu += math.Abs(c.dNu)
				}
			}
			jump := func(a, b, slope, size float64) bool { return math.Abs(a-b) > 2*h*slope+1e-12*size }
			if jump(above.Rho, below.Rho, slope.DRho, 1000) || jump(above.Nu, below.Nu, slope.DNu, 1e-6) ||
				jump(above.Cx, below.Cx, slope.DCx, 1) || jump(above.Cy, below.Cy, slope.DCy, 1) {
				t.Fatalf("a jump at %g m: %+v to %+v", z, above, below)
			}
		}
		col.At(0, &below)
		for _, z := range []float64{-1e-9, -5, math.Inf(-1), math.NaN()} {
			col.At(z, &s)
			want := State{Rho: below.Rho, Nu: below.Nu, Cx: below.Cx, Cy: below.Cy}
			if s != want {
				t.Fatalf("above the surface (%g): %+v, want %+v", z, s, want)
			}
		}
		col.At(col.last, &below)
		for _, z := range []float64{col.last + 1, 1e300, math.Inf(1)} {
			if col.At(z, &s); s != below || s.DRho != 0 || s.DNu != 0 || s.DCx != 0 || s.DCy != 0 {
				t.Fatalf("below the last point (%g): %+v, want %+v", z, s, below)
			}
		}
		// Between two neighboring points a profile stays between their values.
		z := rapid.Float64Range(0, 100).Draw(t, "z")
		lo, hi := slices.Min(spec.Temperature.t), slices.Max(spec.Temperature.t)
		if got := spec.Temperature.At(z); got < lo-1e-12 || got > hi+1e-12 {
			t.Fatalf("temperature %g outside %g to %g", got, lo, hi)
		}
	})
}

func TestDerivatives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := draw(t)
		col := build(t, spec)
		z := rapid.Float64Range(0.01, 100).Draw(t, "z")
		// Within one cell everything is linear, so any step inside is exact.
		for i := range col.cells {
			if math.Abs(z-col.cells[i].top) < 1e-4 {
				return
			}
		}
		const h = 5e-5
		var a, b, s State
		col.At(z, &s)
		col.At(z-h, &a)
		col.At(z+h, &b)
		for _, r := range []struct{ slope, a, b, size float64 }{
			{s.DRho, a.Rho, b.Rho, 1000}, {s.DNu, a.Nu, b.Nu, 1e-6}, {s.DCx, a.Cx, b.Cx, 1}, {s.DCy, a.Cy, b.Cy, 1},
		} {
			// Rounding of the two values over the step.
			if got := (r.b - r.a) / (2 * h); math.Abs(got-r.slope) > 1e-10*r.size+1e-9*math.Abs(r.slope) {
				t.Fatalf("z %g: slope %g, difference %g", z, r.slope, got)
			}
		}
	})
}

// Turning the boat by an angle turns the current the other way round it, and
// turning boat and current together changes nothing.
func TestHeadingTurnsTheCurrent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := draw(t)
		turn := rapid.Float64Range(-4, 4).Draw(t, "turn")
		turned := spec
		turned.Heading += unit.Angle(turn)
		z := rapid.Float64Range(0, 90).Draw(t, "z")
		var a, b, c State
		build(t, spec).At(z, &a)
		build(t, turned).At(z, &b)
		sin, cos := math.Sincos(turn)
		if math.Abs(b.Cx-(a.Cx*cos+a.Cy*sin)) > 1e-12 || math.Abs(b.Cy-(a.Cy*cos-a.Cx*sin)) > 1e-12 {
			t.Fatalf("turned by %g: %g, %g from %g, %g", turn, b.Cx, b.Cy, a.Cx, a.Cy)
		}
		if b.Rho != a.Rho || b.Nu != a.Nu {
			t.Fatal("the heading changed the water")
		}
		both := *spec.Current
		both.north, both.east = slices.Clone(both.north), slices.Clone(both.east)
		for i := range both.z {
			n, e := both.north[i], both.east[i]
			both.north[i], both.east[i] = n*cos-e*sin, n*sin+e*cos
		}
		turned.Current = &both
		build(t, turned).At(z, &c)
		if math.Abs(c.Cx-a.Cx) > 1e-12 || math.Abs(c.Cy-a.Cy) > 1e-12 {
			t.Fatalf("boat and current turned by %g: %g, %g from %g, %g", turn, c.Cx, c.Cy, a.Cx, a.Cy)
		}
	})
}

// A column scaled is the column of the scaled current. (Which kinks count as such may
// differ by rounding.)
func TestScaled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := draw(t)
		k := rapid.Float64Range(0, 3).Draw(t, "k")
		z := rapid.Float64Range(-1, 90).Draw(t, "z")
		scaled := spec
		current := *spec.Current
		current.north, current.east = slices.Clone(current.north), slices.Clone(current.east)
		for i := range current.z {
			current.north[i] *= k
			current.east[i] *= k
		}
		scaled.Current = &current
		var a, b State
		got, want := build(t, spec).Scaled(k), build(t, scaled)
		got.At(z, &a)
		want.At(z, &b)
		if math.Abs(a.Cx-b.Cx) > 1e-9 || math.Abs(a.Cy-b.Cy) > 1e-9 || a.Rho != b.Rho || a.Nu != b.Nu {
			t.Fatalf("%+v, want %+v", a, b)
		}
	})
}

func TestAtDoesNotAllocate(t *testing.T) {
	col := column(t, summer(t))
	var s State
	if n := testing.AllocsPerRun(100, func() { col.At(14, &s) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkAt(b *testing.B) {
	for _, bench := range []struct {
		name string
		spec Spec
	}{{"uniform", Spec{Temperature: profile(b, 0, 12)}}, {"summer", summer(b)}} {
		b.Run(bench.name, func(b *testing.B) {
			col := column(b, bench.spec)
			var s State
			z, sum := 0.0, 0.0
			for b.Loop() {
				if z += 0.37; z > 45 {
					z -= 45
				}
				col.At(z, &s)
				sum += s.Rho
			}
			if math.IsNaN(sum) {
				b.Fatal("no density")
			}
		})
	}
}

func ExampleColumn() {
	p, _ := NewProfile([]TemperaturePoint{{0, 20}, {30, 5}})
	col, _ := NewColumn(Spec{Temperature: p})
	var s State
	col.At(30, &s)
	fmt.Printf("%.1f kg/m3, %.3f mm2/s\n", s.Rho, 1e6*s.Nu)
	// Output: 1000.0 kg/m3, 1.518 mm2/s
}
