package reference

// WaterRow is fresh water at atmospheric pressure.
type WaterRow struct {
	TemperatureC          float64
	DensityKgM3           float64
	ViscosityPaS          float64
	DensityToleranceKgM3  float64
	ViscosityTolerancePaS float64
	Origin
}

var waterOrigin = Origin{Exact, "density Tanaka et al. 2001, Metrologia 38:301; viscosity IAPWS SR6-08 at 0.1 MPa; computed from the published formulas"}

// Water is density and dynamic viscosity from 0 to 30 C.
var Water = []WaterRow{
	{0, 999.8428, 1791.76e-6, 0.001, 0.05e-6, waterOrigin},
	{4, 999.9749, 1567.29e-6, 0.001, 0.05e-6, waterOrigin},
	{10, 999.7027, 1305.90e-6, 0.001, 0.05e-6, waterOrigin},
	{15, 999.1026, 1137.57e-6, 0.001, 0.05e-6, waterOrigin},
	{20, 998.2067, 1001.60e-6, 0.001, 0.05e-6, waterOrigin},
	{25, 997.0470, 890.02e-6, 0.001, 0.05e-6, waterOrigin},
	{30, 995.6488, 797.22e-6, 0.001, 0.05e-6, waterOrigin},
}

// ViscosityR12 is a point of the full formulation. Its density of 998 kg/m3 is
// that of a pressure near 2 MPa, so it is no row of [Water]: SR6-08 (0.1 MPa)
// agrees with R12-08 at its own pressure within ViscosityR12AgreementPaS from
// 0 to 30 C, and lies 0.03 % above this point.
var ViscosityR12 = struct {
	TemperatureC float64
	DensityKgM3  float64
	ViscosityPaS float64
	Origin
}{25, 998, 889.735100e-6, Origin{Seen, "IAPWS R12-08 table 4: 298.15 K, 998 kg/m3"}}

// ViscosityR12AgreementPaS belongs to [ViscosityR12].
const ViscosityR12AgreementPaS = 0.03e-6

// DensityTrap is what a mistyped denominator in Kell's (1975) formula gives,
// 16.897850e-3 for 16.879850e-3: wrong, yet near enough to pass unnoticed.
var DensityTrap = struct {
	TemperatureC float64
	WrongKgM3    float64
	Origin
}{20, 997.936, Origin{Exact, "Kell 1975 with two digits of its denominator exchanged, computed"}}
