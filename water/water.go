// Package water describes the water a boat trolls in: the density and
// viscosity of fresh water, temperature and current over depth, and the
// [Column] that the solvers ask for the state at a depth.
//
// Depth z is in meters, positive down, zero at the surface. Temperatures are
// in degrees Celsius, currents are velocities over ground in m/s toward where
// the water goes.
package water

import (
	"sternfan/portable"
)

// The temperatures in degrees Celsius for which [Density] holds. Profiles do
// not accept others.
const (
	MinTemperatureC = 0
	MaxTemperatureC = 40
)

// Density returns the density in kg/m3 of air-free fresh water at tC degrees
// Celsius and 101 325 Pa, by Tanaka et al. 2001, Metrologia 38:301, valid
// from 0 to 40 C with a standard uncertainty below 0.001 kg/m3. A temperature
// outside is taken as the nearer end of that range.
//
// Compressibility adds 0.05 % per 100 m of depth at most and is left out.
func Density(tC float64) float64 {
	const (
		a1 = -3.983035
		a2 = 301.797
		a3 = 522528.9
		a4 = 69.34881
		a5 = 999.974950
	)
	t := clamp(tC, MinTemperatureC, MaxTemperatureC)
	return a5 * (1 - (t+a1)*(t+a1)*(t+a2)/(a3*(t+a4)))
}

// Viscosity returns the dynamic viscosity in Pa s of liquid water at tC
// degrees Celsius and 0.1 MPa, by IAPWS SR6-08, valid from -20 to 110 C with
// an uncertainty of 1 % (both quoted from memory). A temperature outside is taken as the nearer end of
// that range.
func Viscosity(tC float64) float64 {
	t := (clamp(tC, -20, 110) + 273.15) / 300
	return 1e-6 * (280.68*portable.Pow(t, -1.9) + 511.45*portable.Pow(t, -7.7) +
		61.131*portable.Pow(t, -19.6) + 0.45903*portable.Pow(t, -40))
}

// clamp returns x limited to [lo, hi], and lo for NaN.
func clamp(x, lo, hi float64) float64 {
	if !(x > lo) {
		return lo
	}
	return min(x, hi)
}
