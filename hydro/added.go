package hydro

import "math"

// SphereAddedMass returns the added mass of a sphere of diameter d in water of density
// rho, kg: half the displaced mass. Source: Lamb, Hydrodynamics.
func SphereAddedMass(rho, d float64) float64 { return rho * math.Pi / 12 * d * d * d }

// DiscAddedMass returns the added mass of a thin disc of diameter d moving broadside in
// water of density rho, kg: 8/3 rho a3 with the radius a. Source: Lamb, Hydrodynamics.
func DiscAddedMass(rho, d float64) float64 { return rho * d * d * d / 3 }
