package hydro_test

import (
	"math"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/internal/reference"
)

func relative(got, want float64) float64 { return math.Abs(got-want) / math.Abs(want) }

// The measured cylinder at the tolerance of its rows.
func TestWieselsberger(t *testing.T) {
	for _, r := range reference.Wieselsberger {
		cd, _ := hydro.Cylinder(r.Reynolds)
		if relative(cd, r.DragCoefficient) > r.ToleranceRel {
			t.Errorf("Re %g: %.4f, want %.4f within %g (%s)", r.Reynolds, cd, r.DragCoefficient, r.ToleranceRel, r.Source)
		}
		t.Logf("Re %g: off %.2f %%", r.Reynolds, 100*(cd/r.DragCoefficient-1))
	}
}

// cheng is the formula of reference.ChengOrigin, typed again from its source's text.
func cheng(re float64) float64 {
	return 11*math.Pow(re, -0.75) + 0.9*(1-math.Exp(-1000/re)) + 1.2*(1-math.Exp(-math.Pow(re/4500, 0.7)))
}

// The table against the formula it holds, at many points of every octave, and the slope
// against a central difference of the formula.
func TestCylinderTable(t *testing.T) {
	worst, worstSlope := 0.0, 0.0
	for i := range 200_001 {
		re := 0.02 * math.Pow(2e5/0.02, float64(i)/200_000)
		cd, slope := hydro.Cylinder(re)
		want := cheng(re)
		worst = max(worst, relative(cd, want))
		h := 1e-5 * re
		// Rounding over the step is 1e-11, the third derivative's part 1e-10 of cd/re.
		diff := (cheng(re+h) - cheng(re-h)) / (2 * h)
		worstSlope = max(worstSlope, math.Abs(slope-diff)*re/want)
		if exact, s := hydro.Cheng(re); relative(exact, want) > 1e-14 || math.Abs(s-diff)*re > 1e-8*want {
			t.Fatalf("Re %g: formula %g, slope %g; want %g, %g", re, exact, s, want, diff)
		}
	}
	t.Logf("worst error %.2e, of the slope %.2e of cd/Re", worst, worstSlope)
	// A cubic Hermite piece of relative width w = 1/16 leaves w^4/384 f'''' in the value
	// and sqrt(3)/216 w^3 f'''' in the slope; for Re^-0.75, the steepest part, f'''' is
	// 13.5 f/Re^4, so 5.4e-7 and 2.6e-5.
	if worst > 1e-6 || worstSlope > 2.7e-5 {
		t.Errorf("table off by %.2e, slope by %.2e", worst, worstSlope)
	}
}

// Outside the table the curve goes on without a jump, and no flow means no load.
func TestCylinderOutside(t *testing.T) {
	for _, edge := range []float64{math.Ldexp(1, -6), math.Ldexp(1, 18)} {
		below, _ := hydro.Cylinder(math.Nextafter(edge, 0))
		at, _ := hydro.Cylinder(edge)
		if relative(below, at) > 1e-9 {
			t.Errorf("a jump at Re %g: %g to %g", edge, below, at)
		}
	}
	for _, re := range []float64{0, -1, math.NaN()} {
		if cd, slope := hydro.Cylinder(re); cd != 0 || slope != 0 {
			t.Errorf("Re %g: %g, %g, want no load", re, cd, slope)
		}
	}
	for _, re := range []float64{1e-30, 1e-3, 1e6, 1e300, math.Inf(1)} {
		if cd, slope := hydro.Cylinder(re); !(cd > 0) || math.IsInf(cd, 0) || math.IsNaN(slope) {
			t.Errorf("Re %g: %g, %g", re, cd, slope)
		}
	}
}

func TestSphere(t *testing.T) {
	for _, r := range reference.Sphere {
		if got := hydro.Sphere(r.Reynolds); relative(got, r.DragCoefficient) > r.ToleranceRel {
			t.Errorf("Re %g: %.4f, want %.4f (%s)", r.Reynolds, got, r.DragCoefficient, r.Source)
		}
		// The same through a body: the coefficient on its frontal area.
		const d, nu, rho = 0.1, 1e-6, 1000
		v := r.Reynolds * nu / d
		b := hydro.Body{Sphere: d}
		f := b.Load(&hydro.Surroundings{Depth: 5, Flow: geom.Vec{X: -v}, Rho: rho, Nu: nu, Bottom: math.Inf(1)}, nil)
		if got := -f.X / (0.5 * rho * v * v * math.Pi / 4 * d * d); relative(got, r.DragCoefficient) > r.ToleranceRel {
			t.Errorf("Re %g through a body: %.4f, want %.4f", r.Reynolds, got, r.DragCoefficient)
		}
	}
}

func TestLeadBall(t *testing.T) {
	for _, r := range reference.LeadBall {
		volume := r.MassKg / r.DensityKgM3
		d := math.Cbrt(6 * volume / math.Pi)
		if relative(d, r.DiameterM) > r.ToleranceRel {
			t.Errorf("%g kg: diameter %.5f, want %.5f m", r.MassKg, d, r.DiameterM)
		}
		b := hydro.Body{Mass: r.MassKg, Volume: volume, DragArea: r.DragCoefficient * math.Pi / 4 * d * d, Height: d}
		f := b.Load(&hydro.Surroundings{Depth: 20, Flow: geom.Vec{X: -r.SpeedMPS}, Rho: r.WaterDensityKgM3,
			Nu: 1.3e-6, Bottom: math.Inf(1)}, nil)
		if relative(f.Z, r.WetWeightN) > r.ToleranceRel || relative(-f.X, r.DragN) > r.ToleranceRel || f.Y != 0 {
			t.Errorf("%g kg: %.4f N, want %.3f N down and %.3f N astern (%s)", r.MassKg, f, r.WetWeightN, r.DragN, r.Source)
		}
		if w := b.WeightInWater(r.WaterDensityKgM3); relative(w, r.WetWeightN) > r.ToleranceRel {
			t.Errorf("%g kg: weight in water %.4f, want %.3f N", r.MassKg, w, r.WetWeightN)
		}
	}
}

func TestAddedMass(t *testing.T) {
	for _, r := range reference.AddedMass {
		var got float64
		switch r.Body {
		case "sphere":
			got = hydro.SphereAddedMass(r.WaterDensityKgM3, 2*r.RadiusM)
		case "disc":
			got = hydro.DiscAddedMass(r.WaterDensityKgM3, 2*r.RadiusM)
		case "cylinder":
			l := hydro.Line{Diameter: 2 * r.RadiusM}
			got = l.AddedMass(r.WaterDensityKgM3) * r.LengthM
		default:
			t.Fatalf("unknown body %q", r.Body)
		}
		if relative(got, r.AddedMassKg) > r.ToleranceRel {
			t.Errorf("%s: %.6f, want %.6f kg (%s)", r.Body, got, r.AddedMassKg, r.Source)
		}
	}
}

func TestStrumming(t *testing.T) {
	for _, r := range reference.Strumming {
		var got float64
		switch r.Name {
		case "vandiver":
			got = hydro.StrumVandiver(r.AmplitudeOverDiameter / math.Sqrt2)
		case "blevins":
			got = hydro.StrumBlevins(r.AmplitudeOverDiameter)
		default:
			t.Fatalf("unknown fit %q", r.Name)
		}
		if relative(got, r.Factor) > r.ToleranceRel {
			t.Errorf("%s: %.5f, want %.5f (%s)", r.Name, got, r.Factor, r.Source)
		}
	}
	// The amplification multiplies the normal load and nothing else.
	plain := hydro.Line{Diameter: 1e-3, Cn: 1.2, Cf: 0.02, Mass: 1e-3}
	strums := plain
	strums.Scale = 2.05
	across, along := geom.Vec{X: -1.2}, geom.Vec{X: 1}
	up := geom.Vec{Z: -1}
	if a, b := plain.Load(up, across, 1000, 1e-6, nil), strums.Load(up, across, 1000, 1e-6, nil); relative(b.X, 2.05*a.X) > 1e-14 || a.Z != b.Z {
		t.Errorf("across: %v to %v", a, b)
	}
	if a, b := plain.Load(along, across, 1000, 1e-6, nil), strums.Load(along, across, 1000, 1e-6, nil); a != b {
		t.Errorf("along: %v to %v", a, b)
	}
}

func TestCriticalAngle(t *testing.T) {
	for _, r := range reference.CriticalAngle {
		if got := hydro.CriticalAngle(r.WeightOverDrag, 1) * 180 / math.Pi; math.Abs(got-r.AngleDeg) > r.ToleranceDeg {
			t.Errorf("w/R %g: %.6f, want %.6f deg (%s)", r.WeightOverDrag, got, r.AngleDeg, r.Source)
		}
	}
	for _, r := range reference.CriticalAngleLine {
		l := hydro.Line{Diameter: r.DiameterM, Mass: r.LineDensityKgM3 * math.Pi / 4 * r.DiameterM * r.DiameterM}
		drag := 0.5 * r.WaterDensityKgM3 * r.DragCoefficient * r.DiameterM * r.SpeedMPS * r.SpeedMPS
		if got := hydro.CriticalAngle(l.WeightInWater(r.WaterDensityKgM3), drag) * 180 / math.Pi; math.Abs(got-r.AngleDeg) > r.ToleranceDeg {
			t.Errorf("%s at %g m/s: %.5f, want %.5f deg (%s)", r.Name, r.SpeedMPS, got, r.AngleDeg, r.Source)
		}
	}
}

// The plate by hand: at 45 degrees lift and drag are both C_N/sqrt 2 and the assumed
// coefficient of the row comes back; at any incidence the force stands on the plate, so
// that lift over drag is the cotangent of the incidence.
func TestPlate(t *testing.T) {
	r := reference.DiscAtIncidence
	b := hydro.Body{PlateArea: 1, PlateCN: r.DefaultNormalAt45}
	cl, cd, _, _ := b.PlateCoefficients(math.Pi / 4)
	if relative(math.Hypot(cl, cd), 1.3) > 1e-14 || relative(cl, cd) > 1e-14 {
		t.Errorf("at 45 deg: lift %g, drag %g, want both 1.3/sqrt 2 (%s)", cl, cd, r.Source)
	}
	for _, deg := range []float64{5, 20, 29.3, 45, 60, 85} {
		alpha := deg * math.Pi / 180
		cl, cd, _, _ := b.PlateCoefficients(alpha)
		if relative(cl/cd, 1/math.Tan(alpha)) > 1e-13 {
			t.Errorf("at %g deg: lift/drag %g, want %g", deg, cl/cd, 1/math.Tan(alpha))
		}
	}
	// Incidence falls with the leader's pull (E8) and stops short of flat.
	b.Incidence, b.Give = math.Pi/4, 0.01
	at := hydro.Surroundings{Depth: 9, Flow: geom.Vec{X: -1}, Rho: 2, Nu: 1e-6, Bottom: math.Inf(1)}
	for _, pull := range []float64{0, 10, 40, 1e6} {
		at.Below = pull
		alpha := math.Max(math.Pi/4-0.01*pull, 2*math.Pi/180)
		cl, cd, _, _ := b.PlateCoefficients(alpha)
		if f := b.Load(&at, nil); math.Abs(f.X+cd) > 1e-14 || math.Abs(f.Z-cl) > 1e-14 {
			t.Errorf("pull %g N: %v, want %g astern and %g down", pull, f, cd, cl)
		}
	}
}

// What the plate must meet whatever its coefficient at 45 degrees: the lift slope of the
// linear lifting surface, the drag of a disc facing the flow, that coefficient itself,
// and a normal force that rises with the incidence over the range it is meant for.
func TestPlateEnds(t *testing.T) {
	slope, facing := reference.DiscLiftSlope, reference.DiscNormal
	const rad = math.Pi / 180
	for _, at45 := range []float64{1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6} {
		b := hydro.Body{PlateArea: 1, PlateCN: at45}
		at := hydro.Surroundings{Depth: 9, Flow: geom.Vec{X: -1}, Rho: 2, Nu: 1e-6, Bottom: math.Inf(1)}
		load := func(alpha float64) (lift, drag float64) {
			b.Incidence = alpha
			f := b.Load(&at, nil)
			return f.Z, -f.X
		}
		// The slope at no incidence, from the two smallest that are no stop (E8): the part
		// of the lift that goes with the square cancels.
		near, _ := load(2.5 * rad)
		far, _ := load(5 * rad)
		if got := (2*near - far/2) / (2.5 * rad); relative(got, slope.PerRad) > slope.ToleranceRel {
			t.Errorf("C_N(45) %g: lift slope %.5f, want %.5f within %g (%s)", at45, got, slope.PerRad, slope.ToleranceRel, slope.Source)
		}
		if lift, drag := load(math.Pi / 2); relative(drag, facing.DragCoefficient) > facing.ToleranceRel || math.Abs(lift) > 1e-14 {
			t.Errorf("C_N(45) %g: facing the flow drag %.4f, lift %g, want %.4f within %g and none (%s)",
				at45, drag, lift, facing.DragCoefficient, facing.ToleranceRel, facing.Source)
		}
		if got := math.Hypot(load(math.Pi / 4)); relative(got, at45) > 1e-14 {
			t.Errorf("C_N(45) %g: %.16g", at45, got)
		}
		last, peak, peakDeg := 0.0, 0.0, 0.0
		for tenth := 20; tenth <= 900; tenth++ {
			deg := float64(tenth) / 10
			cn := math.Hypot(load(deg * rad))
			if deg <= 60 && cn <= last {
				t.Errorf("C_N(45) %g: C_N falls from %.6f to %.6f at %g deg", at45, last, cn, deg)
			}
			if last = cn; cn > peak {
				peak, peakDeg = cn, deg
			}
		}
		t.Logf("C_N(45) %g: peak %.3f at %.1f deg", at45, peak, peakDeg)
		// The other face: a plate turned past square pulls up as it pulled down.
		l1, d1 := load(70 * rad)
		l2, d2 := load(110 * rad)
		if math.Abs(l1+l2) > 1e-13 || math.Abs(d1-d2) > 1e-13 {
			t.Errorf("C_N(45) %g: lift, drag %g, %g at 70 deg, %g, %g at 110 deg", at45, l1, d1, l2, d2)
		}
	}
}

// The plate's derivatives against central differences of its values, on both faces.
func TestPlateSlopes(t *testing.T) {
	const h = 1e-5 // leaves 1e-10 of the third derivative and rounding of 1e-11
	for _, at45 := range []float64{0.5, 1.3, 2} {
		b := hydro.Body{PlateCN: at45}
		for deg := 1.0; deg < 180; deg += 4 {
			alpha := deg * math.Pi / 180
			_, _, dcl, dcd := b.PlateCoefficients(alpha)
			l1, d1, _, _ := b.PlateCoefficients(alpha - h)
			l2, d2, _, _ := b.PlateCoefficients(alpha + h)
			if math.Abs(dcl-(l2-l1)/(2*h)) > 1e-8 || math.Abs(dcd-(d2-d1)/(2*h)) > 1e-8 {
				t.Errorf("C_N(45) %g at %g deg: slopes %g, %g, want %g, %g", at45, deg, dcl, dcd, (l2-l1)/(2*h), (d2-d1)/(2*h))
			}
		}
	}
}
