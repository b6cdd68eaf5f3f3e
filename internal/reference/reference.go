// Package reference holds the numbers the project is tested against: each with
// its inputs, its tolerance, where it comes from and how it was obtained. Only
// tests import it.
//
// Field names end in their unit: SI throughout, except that angles are in
// degrees (Deg) and temperatures in degrees Celsius (C), as their sources
// print them. ToleranceRel is relative to the expected value, every other
// tolerance is absolute in the unit of its name.
//
// Frame of the cable rows: two dimensions, the body at the bottom, x aft and y
// up as measured from the body, so that y is the depth the line gains; phi is
// the angle between line and flow. R = rho Cd d V^2 / 2 is the normal load per
// meter on a line across the flow, w the weight in water per meter, F the
// tangential load per meter.
package reference

// Basis says how a value was obtained.
type Basis string

// The bases.
const (
	Exact  Basis = "exact"  // closed form, or a converged solution of the stated equations
	Seen   Basis = "seen"   // read in the source, or in a file that quotes it
	Memory Basis = "memory" // quoted from memory
	Fact   Basis = "report" // differing reports; nothing to hold a result to
)

// Origin is where a value comes from.
type Origin struct {
	Basis  Basis
	Source string
}

// GravityMPS2 is the acceleration of free fall that every row uses.
const GravityMPS2 = 9.80665

const (
	inchM      = 0.0254          // exact, international yard 1959
	poundKg    = 0.45359237      // exact, international pound 1959
	poundForce = 4.4482216152605 // exact, poundKg x GravityMPS2
)
