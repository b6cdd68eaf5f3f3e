package hydro

import (
	"math"

	"sternfan/geom"
)

// Line is a line per unstretched metre, of constant diameter.
type Line struct {
	Diameter float64 // m, normal reference area is Diameter per metre
	Mass     float64 // kg/m
	EA       float64 // N; 0: does not stretch
	Cn       float64 // normal drag coefficient on Diameter, used when Auto is false
	Auto     bool    // Cn by Reynolds number (Cheng 2013)
	Scale    float64 // multiplies Cn: strumming, roughness; 0 counts as 1
	Cf       float64 // tangential coefficient on the wetted area pi Diameter
}

// NormalScale returns Scale with its default.
func (l *Line) NormalScale() float64 {
	if l.Scale == 0 {
		return 1
	}
	return l.Scale
}

// WeightInWater returns w = (mass - rho pi d2/4) g in N/m, positive down (E4).
func (l *Line) WeightInWater(rho float64) float64 {
	return (l.Mass - rho*math.Pi/4*l.Diameter*l.Diameter) * geom.Gravity
}

// AddedMass returns the added mass across the line, rho pi d2/4, kg/m; none along it.
// Source: Lamb, Hydrodynamics (1.0 of the displaced mass).
func (l *Line) AddedMass(rho float64) float64 {
	return rho * math.Pi / 4 * l.Diameter * l.Diameter
}

// LineJac holds the derivatives of a line's load per metre.
type LineJac struct {
	Flow    geom.Mat // dF/du, u the relative flow; dF/dv = -dF/du
	Tangent geom.Mat // dF/dt, t taken as a free vector
	Rho     geom.Vec // dF/drho
}

// Load returns the load per unstretched metre on an element in water: drag normal and
// tangential (E2, E3) and weight in water (E4), N/m. t is the unit tangent (either way
// along the line), u the water's velocity relative to the element. jac may be nil.
func (l *Line) Load(t, u geom.Vec, rho, nu float64, jac *LineJac) geom.Vec {
	wet := l.In(rho, nu)
	f := wet.Load(t, u)
	if jac == nil {
		return f
	}
	ut := u.Dot(t)
	un := u.AddScaled(-ut, t)
	q := un.Norm()
	cn, slope := l.Cn, 0.0
	if l.Auto {
		cn, slope = Cylinder(q * l.Diameter / nu)
	}
	kn, kt, w := wet.normal, wet.tangent, wet.weight
	g := cn * q

	*jac = LineJac{}
	// d(g un)/dun = g I + g' un unT / q, and dun/du = I - t tT leaves that part alone.
	var dg float64
	if q > 0 {
		dg = cn + slope*q*l.Diameter/nu
	}
	flow := &jac.Flow
	flow.AddDiag(kn * g)
	flow.AddOuter(-kn*g, t, t)
	if q > 0 {
		flow.AddOuter(kn*dg/q, un, un)
	}
	flow.AddOuter(2*kt*math.Abs(ut), t, t)

	// dun/dt = -(u.t) I - t uT; the normal factor meets it from the left.
	tan := &jac.Tangent
	tan.AddDiag(-kn * g * ut)
	tan.AddOuter(-kn*g, t, u)
	if q > 0 {
		// un.t = 0, so only the first part of dun/dt meets unT.
		tan.AddOuter(-kn*dg/q*ut, un, un)
	}
	tan.AddDiag(kt * math.Abs(ut) * ut)
	tan.AddOuter(2*kt*math.Abs(ut), t, u)

	jac.Rho = f.Scale(1 / rho)
	jac.Rho.Z = (f.Z-w)/rho - math.Pi/4*l.Diameter*l.Diameter*geom.Gravity
	return f
}

// Wet is a line in water of one density and viscosity: the factors of its load, worked
// out once for many evaluations.
type Wet struct {
	normal   float64 // rho d s / 2
	tangent  float64 // rho Cf pi d / 2
	weight   float64 // w
	cn       float64
	reynolds float64 // d / nu; 0: cn holds
}

// In returns the line's factors in water of density rho and kinematic viscosity nu.
func (l *Line) In(rho, nu float64) Wet {
	d := l.Dry()
	return d.In(rho, nu)
}

// Dry is a line with all of its factors worked out that do not depend on the water.
type Dry struct {
	normal, tangent  float64 // per unit of density
	weight, buoyancy float64 // N/m, and N/m per unit of density
	cn               float64
	diameter         float64 // 0: cn holds
}

// Dry returns the line's factors that do not depend on the water.
func (l *Line) Dry() Dry {
	d := Dry{
		normal:   0.5 * l.Diameter * l.NormalScale(),
		tangent:  0.5 * l.Cf * math.Pi * l.Diameter,
		weight:   l.Mass * geom.Gravity,
		buoyancy: math.Pi / 4 * l.Diameter * l.Diameter * geom.Gravity,
		cn:       l.Cn,
	}
	if l.Auto {
		d.diameter = l.Diameter
	}
	return d
}

// In returns the factors in water of density rho and kinematic viscosity nu.
func (d *Dry) In(rho, nu float64) Wet {
	return Wet{normal: d.normal * rho, tangent: d.tangent * rho, weight: d.weight - rho*d.buoyancy,
		cn: d.cn, reynolds: d.diameter / nu}
}

// ByRho returns the derivative of a load f by the density, of a line that meets it.
func (d *Dry) ByRho(f geom.Vec, rho float64) geom.Vec {
	// Drag grows with the density, weight falls by the buoyancy.
	return geom.Vec{X: f.X / rho, Y: f.Y / rho, Z: (f.Z - d.weight) / rho}
}

// Load returns the load per unstretched metre as [Line.Load] does.
func (w *Wet) Load(t, u geom.Vec) geom.Vec {
	ut := u.X*t.X + u.Y*t.Y + u.Z*t.Z
	nx, ny, nz := u.X-ut*t.X, u.Y-ut*t.Y, u.Z-ut*t.Z
	q := math.Sqrt(nx*nx + ny*ny + nz*nz)
	cn := w.cn
	if w.reynolds > 0 {
		cn = cylinderOnly(q * w.reynolds)
	}
	n := w.normal * cn * q
	s := w.tangent * math.Abs(ut) * ut
	return geom.Vec{X: n*nx + s*t.X, Y: n*ny + s*t.Y, Z: n*nz + s*t.Z + w.weight}
}

// WetJac holds the derivatives of a load as an implicit step needs them.
type WetJac struct {
	Flow geom.Mat // dF/du
	Turn geom.Mat // |d| dF/dd of the tangent's direction t = d/|d|
}

// LoadJac is [Wet.Load] with its derivatives.
func (w *Wet) LoadJac(t, u geom.Vec, jac *WetJac) geom.Vec {
	ut := u.X*t.X + u.Y*t.Y + u.Z*t.Z
	n := geom.Vec{X: u.X - ut*t.X, Y: u.Y - ut*t.Y, Z: u.Z - ut*t.Z}
	q := math.Sqrt(n.X*n.X + n.Y*n.Y + n.Z*n.Z)
	cn, slope := w.cn, 0.0
	if w.reynolds > 0 {
		cn, slope = Cylinder(q * w.reynolds)
		slope *= w.reynolds
	}
	a := w.normal * cn * q
	b := 0.0
	if q > 0 {
		b = w.normal * (cn + slope*q) / q
	}
	c := 2 * w.tangent * math.Abs(ut)
	// With P = I - t tT and un = P u: dF/du = a P + b un unT + c t tT, and the turn of
	// the tangent gives (c/2 - a) ut P + (c - a) t unT - b ut un unT.
	h := (c/2 - a) * ut
	tx, ty, tz := t.X, t.Y, t.Z
	nx, ny, nz := n.X, n.Y, n.Z
	f, g := &jac.Flow, &jac.Turn
	ca, bu := c-a, b*ut
	xx, xy, xz, yy, yz, zz := tx*tx, tx*ty, tx*tz, ty*ty, ty*tz, tz*tz
	mxx, mxy, mxz, myy, myz, mzz := nx*nx, nx*ny, nx*nz, ny*ny, ny*nz, nz*nz
	f[0][0] = a + ca*xx + b*mxx
	f[1][1] = a + ca*yy + b*myy
	f[2][2] = a + ca*zz + b*mzz
	f[0][1] = ca*xy + b*mxy
	f[0][2] = ca*xz + b*mxz
	f[1][2] = ca*yz + b*myz
	f[1][0], f[2][0], f[2][1] = f[0][1], f[0][2], f[1][2]
	g[0][0] = h*(1-xx) - bu*mxx + ca*tx*nx
	g[1][1] = h*(1-yy) - bu*myy + ca*ty*ny
	g[2][2] = h*(1-zz) - bu*mzz + ca*tz*nz
	sxy, sxz, syz := -h*xy-bu*mxy, -h*xz-bu*mxz, -h*yz-bu*myz
	g[0][1], g[1][0] = sxy+ca*tx*ny, sxy+ca*ty*nx
	g[0][2], g[2][0] = sxz+ca*tx*nz, sxz+ca*tz*nx
	g[1][2], g[2][1] = syz+ca*ty*nz, syz+ca*tz*ny
	s := w.tangent * math.Abs(ut) * ut
	return geom.Vec{X: a*nx + s*tx, Y: a*ny + s*ty, Z: a*nz + s*tz + w.weight}
}

// CriticalAngle returns the angle between the flow and a long unloaded line that lies
// straight, radians: cos phi = -k + sqrt(k2+1), k = w/2R, R = rho Cn d V2 / 2, without
// tangential drag. Definition after Pode 1951, DTMB Report 687.
func CriticalAngle(weight, r float64) float64 {
	k := weight / (2 * r)
	// 1/(k + sqrt(k2+1)) is the same without loss of digits at large k.
	return math.Acos(1 / (k + math.Sqrt(k*k+1)))
}
