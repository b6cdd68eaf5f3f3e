// Package geom holds 3-vectors, rotations and the one statement of frames and signs.
//
// # Boat frame
//
// Right-handed, metres, after the SNAME convention for ships: X forward, Y to
// starboard, Z down. The origin is on the transom's center line at the waterline.
// Depth is +Z, height above the water is -Z, "astern" is -X, port is -Y.
//
// # Earth frame
//
// North, east, down; a heading is measured clockwise from north, so that the boat
// frame turned by the heading psi about Z gives the earth frame:
//
//	north = x cos psi - y sin psi
//	east  = x sin psi + y cos psi
//
// # Turning
//
// A positive yaw rate turns the bow to starboard (clockwise seen from above).
package geom

import "math"

// Gravity is the standard acceleration of free fall, m/s2 (3rd CGPM, 1901; exact).
const Gravity = 9.80665

// Vec is a vector with its components along X, Y and Z of the frame in use.
type Vec struct{ X, Y, Z float64 }

// Add returns a + b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a - b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Scale returns k a.
func (a Vec) Scale(k float64) Vec { return Vec{k * a.X, k * a.Y, k * a.Z} }

// AddScaled returns a + k b.
func (a Vec) AddScaled(k float64, b Vec) Vec {
	return Vec{a.X + k*b.X, a.Y + k*b.Y, a.Z + k*b.Z}
}

// Neg returns -a.
func (a Vec) Neg() Vec { return Vec{-a.X, -a.Y, -a.Z} }

// Dot returns the inner product.
func (a Vec) Dot(b Vec) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

// Cross returns the vector product a x b (right-handed).
func (a Vec) Cross(b Vec) Vec {
	return Vec{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
}

// Norm returns the Euclidean length.
func (a Vec) Norm() float64 { return math.Sqrt(a.X*a.X + a.Y*a.Y + a.Z*a.Z) }

// Horizontal returns the length of the part in the water plane.
func (a Vec) Horizontal() float64 { return math.Sqrt(a.X*a.X + a.Y*a.Y) }

// Unit returns a/|a|, and the zero vector for a zero vector.
func (a Vec) Unit() Vec {
	n := a.Norm()
	if n == 0 {
		return Vec{}
	}
	return a.Scale(1 / n)
}

// Finite reports whether no component is infinite or not a number.
func (a Vec) Finite() bool {
	// A sum of zeros is a number only if each component was finite.
	s := a.X*0 + a.Y*0 + a.Z*0
	return s == 0
}

// Mirror returns the vector reflected in the boat's center plane: port for starboard.
func (a Vec) Mirror() Vec { return Vec{a.X, -a.Y, a.Z} }

// Yaw returns the vector turned by psi radians about Z; positive turns X toward Y,
// the bow toward starboard.
func (a Vec) Yaw(psi float64) Vec {
	s, c := math.Sincos(psi)
	return Vec{c*a.X - s*a.Y, s*a.X + c*a.Y, a.Z}
}

// Mat is a 3x3 matrix by rows.
type Mat [3][3]float64

// MulVec returns m a.
func (m *Mat) MulVec(a Vec) Vec {
	return Vec{
		m[0][0]*a.X + m[0][1]*a.Y + m[0][2]*a.Z,
		m[1][0]*a.X + m[1][1]*a.Y + m[1][2]*a.Z,
		m[2][0]*a.X + m[2][1]*a.Y + m[2][2]*a.Z,
	}
}

// AddOuter adds k a bT to the matrix.
func (m *Mat) AddOuter(k float64, a, b Vec) {
	m[0][0] += k * a.X * b.X
	m[0][1] += k * a.X * b.Y
	m[0][2] += k * a.X * b.Z
	m[1][0] += k * a.Y * b.X
	m[1][1] += k * a.Y * b.Y
	m[1][2] += k * a.Y * b.Z
	m[2][0] += k * a.Z * b.X
	m[2][1] += k * a.Z * b.Y
	m[2][2] += k * a.Z * b.Z
}

// AddDiag adds k times the identity.
func (m *Mat) AddDiag(k float64) {
	m[0][0] += k
	m[1][1] += k
	m[2][2] += k
}
