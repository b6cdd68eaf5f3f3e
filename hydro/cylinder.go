// Package hydro gives the loads of water and gravity on lines and bodies, with their
// derivatives, in the frame of package geom. Statics and dynamics share these loads.
//
// Equation numbers (E1) to (E8) are those of docs/theory.md.
package hydro

import (
	"math"

	"sternfan/portable"
)

// Cheng returns the drag coefficient of a smooth circular cylinder across the flow, on
// its diameter, and dCD/dRe, at Reynolds number re > 0 (below 2e5).
//
// Source: Cheng N.-S. 2013, J. Hydraul. Eng. 139:602,
// CD = 11 Re^-0.75 + 0.9 (1 - exp(-1000/Re)) + 1.2 (1 - exp(-(Re/4500)^0.7)).
func Cheng(re float64) (cd, slope float64) {
	a := 11 * portable.Pow(re, -0.75)
	e1 := portable.Exp(-1000 / re)
	p := portable.Pow(re/4500, 0.7)
	e2 := portable.Exp(-p)
	cd = a + 0.9*(1-e1) + 1.2*(1-e2)
	slope = -0.75*a/re - 0.9*e1*1000/(re*re) + 1.2*e2*0.7*p/re
	return cd, slope
}

// The table holds Cheng's curve as cubic Hermite pieces, sixteen to an octave from
// Re = 2^-6 to 2^18. Bins follow the floating-point format, so that no logarithm is
// needed to find one. Its error against the formula is below 1e-6 relative (tested).
const (
	tableLo    = -6
	tableHi    = 18
	binBits    = 4
	binsPerOct = 1 << binBits
)

var chengTable = func() (t [(tableHi - tableLo) * binsPerOct][4]float64) {
	for i := range t {
		octave := i >> binBits
		base := math.Ldexp(1, tableLo+octave)
		w := base / binsPerOct
		x0 := base + w*float64(i&(binsPerOct-1))
		y0, d0 := Cheng(x0)
		y1, d1 := Cheng(x0 + w)
		d0, d1 = d0*w, d1*w
		t[i] = [4]float64{y0, d0, 3*(y1-y0) - 2*d0 - d1, 2*(y0-y1) + d0 + d1}
	}
	return t
}()

var (
	tableMin = math.Ldexp(1, tableLo)
	tableMax = math.Ldexp(1, tableHi)
)

// Cylinder returns Cheng's coefficient and its slope from the table. Below the table it
// follows Re^-0.75, so that the force vanishes with the flow; above it the coefficient
// stays constant, which is outside the fit's range.
func Cylinder(re float64) (cd, slope float64) {
	if !(re >= tableMin) {
		if !(re > 0) {
			return 0, 0
		}
		c := chengTable[0][0] * portable.Pow(re/tableMin, -0.75)
		return c, -0.75 * c / re
	}
	if re >= tableMax {
		c := &chengTable[len(chengTable)-1]
		return c[0] + c[1] + c[2] + c[3], 0
	}
	bits := math.Float64bits(re)
	exponent := int(bits>>52) - 1023
	i := (exponent-tableLo)<<binBits | int(bits>>(52-binBits))&(binsPerOct-1)
	const mask = 1<<(52-binBits) - 1
	x := float64(int64(bits&mask)) * (1.0 / (1 << (52 - binBits)))
	c := &chengTable[i]
	cd = c[0] + x*(c[1]+x*(c[2]+x*c[3]))
	w := math.Float64frombits(uint64(exponent+1023-binBits) << 52)
	slope = (c[1] + x*(2*c[2]+3*x*c[3])) / w
	return cd, slope
}

// cylinderOnly is [Cylinder] without the slope.
func cylinderOnly(re float64) float64 {
	if !(re >= tableMin && re < tableMax) {
		cd, _ := Cylinder(re)
		return cd
	}
	bits := math.Float64bits(re)
	i := uint(int(bits>>52)-1023-tableLo)<<binBits | uint(bits>>(52-binBits))&(binsPerOct-1)
	const mask = 1<<(52-binBits) - 1
	x := float64(int64(bits&mask)) * (1.0 / (1 << (52 - binBits)))
	c := &chengTable[i%uint(len(chengTable))]
	return c[0] + x*(c[1]+x*(c[2]+x*c[3]))
}

// Sphere returns the drag coefficient of a smooth sphere on its frontal area at
// Reynolds number re > 0 (below 2e5).
//
// Source: Brown & Lawler 2003, J. Environ. Eng. 129:222,
// CD = 24/Re (1 + 0.150 Re^0.681) + 0.407/(1 + 8710/Re).
func Sphere(re float64) float64 {
	return 24/re*(1+0.150*portable.Pow(re, 0.681)) + 0.407/(1+8710/re)
}

// SphereCritical is the Reynolds number to which [Sphere] was fitted. Beyond it the
// boundary layer turns turbulent and the drag falls; the coefficient is held there.
const SphereCritical = 2e5

// StrumVandiver returns the drag amplification of a vibrating line with the rms
// amplitude a in diameters. Source: Vandiver 1983, as quoted in a riser theory manual.
func StrumVandiver(a float64) float64 { return 1 + 1.043*portable.Pow(2*a, 0.65) }

// StrumBlevins returns the drag amplification of a line vibrating with the amplitude a
// in diameters. Source: Blevins 1990, as quoted in a riser theory manual.
func StrumBlevins(a float64) float64 { return 1 + 2.1*a }
