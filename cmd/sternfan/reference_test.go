package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"sternfan"
	"sternfan/internal/reference"
)

// The exact cases of towed lines, given from first principles in a scenario file and
// read back from run --format json. The body is a lure; the tip is at the water.

// near reports whether got is want within a relative and an absolute tolerance.
func near(got, want, rel, abs float64) bool { return math.Abs(got-want) <= rel*math.Abs(want)+abs }

// towed is one line with one body.
type towed struct {
	speed, density       float64 // m/s, kg/m3
	diameter, perMeter   float64 // m, kg/m
	normal, friction     float64
	length               float64 // m
	bodyWeight, bodyDrag float64 // N in water at that speed
	tolerance            float64 // of the solver
	bodyVolume           float64 // m3
}

// decimal writes every digit without an exponent.
func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func (c towed) scenario() string {
	mass := c.bodyWeight/reference.GravityMPS2 + c.density*c.bodyVolume
	area := c.bodyDrag / (0.5 * c.density * c.speed * c.speed)
	return strings.NewReplacer(
		"$speed", decimal(c.speed), "$density", decimal(c.density),
		"$diameter", decimal(c.diameter), "$perMeter", decimal(c.perMeter),
		"$normal", decimal(c.normal), "$friction", decimal(c.friction),
		"$length", decimal(c.length), "$mass", decimal(mass), "$volume", decimal(c.bodyVolume*1e6),
		"$area", decimal(area), "$tolerance", decimal(c.tolerance),
	).Replace(`
boat:
  holders:
    - {id: stern, tip: {up: 0 m}}
water:
  temperature: 10 C
  density: $density kg/m3
speed: {given: surface, value: $speed m/s}
gear:
  lines:
    - id: tested
      diameter: $diameter m
      mass: $perMeter kg/m
      normal: $normal
      friction: $friction
  lures:
    - id: body
      mass: $mass kg
      volume: $volume cm3
      drag_area: $area m2
rods:
  - id: one
    holder: stern
    rig:
      parts:
        - {line: tested, length: $length m}
        - {lure: body}
solver: {tolerance: $tolerance}
`)
}

func (c towed) run(t *testing.T) (*sternfan.Track, *sternfan.LureFan) {
	t.Helper()
	fan := fanOf(t, command(t, c.scenario(), "run", "-", "--format", "json"))
	if len(fan.Rods) != 1 || len(fan.Rods[0].Lures) != 1 {
		t.Fatalf("no fan of one rod with one lure: %+v", fan)
	}
	return &fan.Rods[0], &fan.Rods[0].Lures[0]
}

// displaced is the mass per meter of the water that a line of the diameter displaces.
func displaced(density, diameter float64) float64 { return density * math.Pi * diameter * diameter / 4 }

func hold(t *testing.T, what string, got, want, rel, abs float64) {
	t.Helper()
	if !near(got, want, rel, abs) {
		t.Errorf("%s %.9g, want %.9g (off by %.2g, tolerance %.2g)", what, got, want, math.Abs(got-want), rel*math.Abs(want)+abs)
	}
}

// A long line with next to nothing at its end lies straight at the critical angle.
func TestRunCriticalAngle(t *testing.T) {
	// What the body's pull still bends at the top is about its share of the top's pull,
	// in radians: below a tenth of the rows' tolerance here.
	tiny := towed{friction: 0, length: 500, bodyVolume: 1e-9, bodyWeight: 2e-5, bodyDrag: 2e-5, tolerance: 1e-8}
	for _, row := range reference.CriticalAngle {
		t.Run(fmt.Sprintf("w over R %g", row.WeightOverDrag), func(t *testing.T) {
			c := tiny
			c.speed, c.density, c.diameter, c.normal = 1, 1000, 0.0005, 1.2
			load := 0.5 * c.density * c.normal * c.diameter * c.speed * c.speed
			c.perMeter = row.WeightOverDrag*load/reference.GravityMPS2 + displaced(c.density, c.diameter)
			track, _ := c.run(t)
			hold(t, "line angle", track.LineAngle, row.AngleDeg, 0, row.ToleranceDeg)
		})
	}
	for _, row := range reference.CriticalAngleLine {
		t.Run(fmt.Sprintf("%s at %g meters a second", row.Name, row.SpeedMPS), func(t *testing.T) {
			c := tiny
			c.speed, c.density, c.diameter, c.normal = row.SpeedMPS, row.WaterDensityKgM3, row.DiameterM, row.DragCoefficient
			c.perMeter = displaced(row.LineDensityKgM3, row.DiameterM)
			track, _ := c.run(t)
			hold(t, "line angle", track.LineAngle, row.AngleDeg, 0, row.ToleranceDeg)
		})
	}
}

// A neutrally buoyant line without friction pulls the same all along.
func TestRunWeightless(t *testing.T) {
	for _, row := range reference.Weightless {
		t.Run(fmt.Sprintf("%g meters", row.LengthM), func(t *testing.T) {
			c := towed{
				speed: row.SpeedMPS, density: row.WaterDensityKgM3, diameter: row.DiameterM,
				perMeter: displaced(row.WaterDensityKgM3, row.DiameterM), normal: row.DragCoefficient, length: row.LengthM,
				bodyWeight: row.BodyWeightN, bodyDrag: row.BodyDragN, bodyVolume: 1e-5, tolerance: 1e-8,
			}
			track, lure := c.run(t)
			hold(t, "tip pull", track.TipPull, row.TensionN, row.ToleranceRel, 0)
			hold(t, "line angle", track.LineAngle, row.TopAngleDeg, row.ToleranceRel, 0)
			hold(t, "depth", lure.Depth, row.DownM, row.ToleranceRel, 0)
			hold(t, "distance astern", lure.Astern, row.AftM, row.ToleranceRel, 0)
		})
	}
}

// A line without any drag behind a body that only drags hangs in a catenary.
func TestRunCatenary(t *testing.T) {
	for _, row := range reference.Catenary {
		c := towed{
			speed: 1, density: 1000, diameter: 0.001, normal: 0, friction: 0, length: row.LengthM,
			bodyDrag: row.PullN, bodyVolume: 1e-4, tolerance: 1e-11,
		}
		c.perMeter = row.WeightNPM/reference.GravityMPS2 + displaced(c.density, c.diameter)
		track, lure := c.run(t)
		hold(t, "tip pull", track.TipPull, row.TensionN, row.ToleranceRel, 0)
		hold(t, "line angle", track.LineAngle, row.SlopeDeg, row.ToleranceRel, 0)
		hold(t, "depth", lure.Depth, row.UpM, row.ToleranceRel, 0)
		hold(t, "distance astern", lure.Astern, row.AcrossM, row.ToleranceRel, 0)
	}
}

// A line with weight, drag across and drag along.
func TestRunHeavyWithFriction(t *testing.T) {
	for _, row := range reference.HeavyWithFriction {
		t.Run(fmt.Sprintf("%g newtons on %g meters", row.BodyWeightN, row.LengthM), func(t *testing.T) {
			c := towed{
				speed: row.SpeedMPS, density: row.WaterDensityKgM3, diameter: row.DiameterM,
				perMeter: displaced(row.LineDensityKgM3, row.DiameterM), normal: row.DragCoefficient, friction: row.FrictionCoefficient,
				length: row.LengthM, bodyWeight: row.BodyWeightN, bodyDrag: row.BodyDragN, bodyVolume: 1e-5, tolerance: 1e-9,
			}
			track, lure := c.run(t)
			hold(t, "tip pull", track.TipPull, row.TensionN, row.ToleranceRel, 0)
			hold(t, "line angle", track.LineAngle, row.TopAngleDeg, row.ToleranceRel, 0)
			hold(t, "depth", lure.Depth, row.DownM, row.ToleranceRel, 0)
			hold(t, "distance astern", lure.Astern, row.AftM, row.ToleranceRel, 0)
		})
	}
}
