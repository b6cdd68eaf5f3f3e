package hydro

import (
	"math"

	"sternfan/geom"
)

// Body is anything that hangs on a line: lure, sinker, ball, diver, board. Each load is
// there when its members are set.
type Body struct {
	Mass      float64 // kg, in air
	Volume    float64 // m3, wholly immersed
	AddedMass float64 // kg, of the entrained water

	DragArea float64 // C A, m2: drag 1/2 rho C A |u| u
	LiftArea float64 // C_L A, m2: lift (E7) in the direction of Roll
	Roll     float64 // rad: 0 pulls down, +90 deg to starboard, 180 deg up

	// A sphere's diameter, m; adds drag by Brown & Lawler (2003).
	Sphere float64

	// A thin plate held at an incidence, the diver (E7, E8). PlateArea 0: none.
	PlateArea float64 // m2, reference of PlateCN
	PlateCN   float64 // normal-force coefficient at 45 deg
	Incidence float64 // rad, at no pull
	Give      float64 // rad/N: incidence lost per newton of the pull from below

	Height   float64 // m over which the body immerses, centered on its point; 0 counts as 0.02
	Floats   bool    // drag and lift keep their full size while any of it is wet (a board)
	Friction float64 // on the bottom; 0 counts as none
}

// defaultHeight is the immersion height of a body that gives none, m: a lure's.
const defaultHeight = 0.02

// contactDepth is how far a body's weight presses it into the bottom, m.
const contactDepth = 0.02

// Surroundings is where a body is and what flows past it.
type Surroundings struct {
	Depth  float64  // of its point, m
	Flow   geom.Vec // water's velocity relative to the body, m/s (E1)
	Rho    float64
	Nu     float64
	Below  float64  // pull of the line below it, N
	Bottom float64  // depth of the bottom, m; +Inf: none
	Motion geom.Vec // body's velocity over ground, for friction on the bottom
}

// BodyJac holds the derivatives of a body's load.
type BodyJac struct {
	Flow   geom.Mat // dF/du
	Motion geom.Mat // dF/d(Motion) at constant flow: friction on the bottom; dF/dv = Motion - Flow
	Depth  geom.Vec // dF/dz at constant flow and density
	Below  geom.Vec // dF/d(pull from below)
}

// WeightInWater returns (m - rho V) g in N.
func (b *Body) WeightInWater(rho float64) float64 {
	return (b.Mass - rho*b.Volume) * geom.Gravity
}

func (b *Body) immersion(z float64) (frac, slope float64) {
	h := b.Height
	if h == 0 {
		h = defaultHeight
	}
	x := (z + h/2) / h
	switch {
	case x <= 0:
		return 0, 0
	case x >= 1:
		return 1, 0
	}
	return x, 1 / h
}

// Immersed returns which share of the body is under water when its point is at depth z m.
func (b *Body) Immersed(z float64) float64 {
	share, _ := b.immersion(z)
	return share
}

// The plate's ends: the lift slope at small incidence per radian, by the linear lifting
// surface (Hauptman & Miloh 1986, QJMAM 39:41, from memory), and a disc facing the flow
// (Hoerner, Fluid-Dynamic Drag, ch. 3, from memory).
const (
	plateSlope  = 32 / (8 + math.Pi*math.Pi)
	plateFacing = 1.17
)

// PlateCoefficients returns C_L = C_N cos alpha and C_D = C_N sin alpha of the plate on
// PlateArea at incidence alpha in rad, from 0 to 180 deg, and their derivatives. With s
// the sine and c the size of the cosine (a plate past square shows its other face),
//
//	C_N = k1 s c + k2 s2 + kappa s2 c
//
// k1 the lift slope at no incidence, k2 the disc facing the flow, and kappa such that
// C_N(45 deg) is PlateCN. The form between these three is assumed; PlateCN carries the
// uncertainty. Above about 0.9 it has a peak short of 90 deg, as it must to come down to
// k2; below 0.011 it would turn negative near 45 deg.
func (b *Body) PlateCoefficients(alpha float64) (cl, cd, dcl, dcd float64) {
	s, cos := math.Sincos(alpha)
	c, sign := cos, 1.0
	if cos < 0 {
		c, sign = -cos, -1
	}
	kappa := math.Sqrt2 * (2*b.PlateCN - plateSlope - plateFacing)
	cn := s * (plateSlope*c + s*(plateFacing+kappa*c))
	// dc/dalpha = -sign s, ds/dalpha = sign c.
	dcn := sign * (plateSlope*(c*c-s*s) + 2*plateFacing*s*c + kappa*s*(2*c*c-s*s))
	return cn * cos, cn * s, dcn*cos - cn*s, dcn*s + cn*cos
}

// minIncidence keeps a plate that its leader has pulled flat from lifting the wrong way, rad.
const minIncidence = 2 * math.Pi / 180

// Load returns the force of water, gravity and bottom on the body, N (not of lines).
// jac may be nil.
func (b *Body) Load(at *Surroundings, jac *BodyJac) geom.Vec {
	imm, dimm := b.immersion(at.Depth)
	buoyancy := at.Rho * b.Volume * geom.Gravity
	f := geom.Vec{Z: b.Mass*geom.Gravity - imm*buoyancy}
	if jac != nil {
		*jac = BodyJac{}
		jac.Depth.Z = -dimm * buoyancy
	}

	wet, dwet := imm, dimm
	if b.Floats {
		// Full from a tenth immersed, so that a board's pull does not feel small waves.
		wet, dwet = imm*10, dimm*10
		if wet >= 1 {
			wet, dwet = 1, 0
		}
	}
	if wet > 0 {
		b.flowLoad(at, wet, dwet, &f, jac)
	}
	if at.Depth > at.Bottom {
		b.contact(at, &f, jac)
	}
	return f
}

func (b *Body) flowLoad(at *Surroundings, wet, dwet float64, f *geom.Vec, jac *BodyJac) {
	u := at.Flow
	n := u.Norm()
	if n == 0 {
		return
	}
	ca, cla := b.DragArea, b.LiftArea
	var sphereSlope float64
	if b.Sphere > 0 {
		re := math.Min(n*b.Sphere/at.Nu, SphereCritical)
		area := math.Pi / 4 * b.Sphere * b.Sphere
		ca += Sphere(re) * area
		if jac != nil && re < SphereCritical {
			h := 1e-4 * re
			sphereSlope = (Sphere(re+h) - Sphere(re-h)) / (2 * h) * area * b.Sphere / at.Nu
		}
	}
	var dcl, dcd float64
	if b.PlateArea > 0 {
		alpha := b.Incidence - b.Give*at.Below
		held := alpha < minIncidence
		if held {
			alpha = minIncidence
		}
		cl, cd, dl, dd := b.PlateCoefficients(alpha)
		ca += cd * b.PlateArea
		cla += cl * b.PlateArea
		if !held {
			dcl, dcd = -b.Give*dl*b.PlateArea, -b.Give*dd*b.PlateArea
		}
	}
	half := 0.5 * at.Rho
	drag := u.Scale(half * ca * n)
	*f = f.AddScaled(wet, drag)
	lift, liftJac := geom.Vec{}, geom.Mat{}
	if cla != 0 || dcl != 0 {
		var m *geom.Mat
		if jac != nil {
			m = &liftJac
		}
		lift = liftDirection(u, n, b.Roll, m)
		*f = f.AddScaled(wet*half*cla, lift)
	}
	if jac == nil {
		return
	}
	k := wet * half
	jac.Flow.AddDiag(k * ca * n)
	jac.Flow.AddOuter(k*ca/n+k*sphereSlope, u, u)
	for i := range 3 {
		for j := range 3 {
			jac.Flow[i][j] += k * cla * liftJac[i][j]
		}
	}
	jac.Below = u.Scale(k*n*dcd).AddScaled(k*dcl, lift)
	jac.Depth = jac.Depth.AddScaled(dwet, drag).AddScaled(dwet*half*cla, lift)
}

// fadeSine is the sine of the angle between the flow and the vertical below which "down
// and across the flow" loses its meaning and the lift fades.
const fadeSine = 0.17

// liftDirection returns |u|2 (cos b d + sin b s) of (E7), d the vertical less its part
// along the flow, s the horizontal across it, to starboard of a boat moving against it;
// with the derivative in u when m is not nil.
func liftDirection(u geom.Vec, n, roll float64, m *geom.Mat) geom.Vec {
	h := u.Horizontal()
	fade, dfade := 1.0, 0.0 // of h/n
	if h < fadeSine*n {
		x := h / (fadeSine * n)
		fade, dfade = x*x*(3-2*x), 6*x*(1-x)/fadeSine
	}
	if h == 0 {
		return geom.Vec{}
	}
	sb, cb := math.Sincos(roll)
	// Both directions carry 1/h: p = n (n2 z - uz u) cos b + n2 (uy, -ux, 0) sin b.
	d := u.Scale(-u.Z)
	d.Z += n * n
	s := geom.Vec{X: u.Y, Y: -u.X}
	p := d.Scale(n*cb).AddScaled(n*n*sb, s)
	out := p.Scale(fade / h)
	if m == nil {
		return out
	}
	hv := geom.Vec{X: u.X, Y: u.Y}
	// dp/du
	var dp geom.Mat
	dp.AddOuter(cb/n, d, u)
	dp.AddOuter(2*n*cb, geom.Vec{Z: 1}, u)
	dp.AddOuter(-n*cb, u, geom.Vec{Z: 1})
	dp.AddDiag(-n * cb * u.Z)
	dp.AddOuter(2*sb, s, u)
	dp[0][1] += n * n * sb
	dp[1][0] -= n * n * sb
	for i := range 3 {
		for j := range 3 {
			m[i][j] += fade / h * dp[i][j]
		}
	}
	// d(fade/h)/du = dfade/h d(h/n) - fade/h2 dh, dh = hv/h, d(h/n) = hv/(h n) - h u/n3.
	m.AddOuter(dfade/h, p, hv.Scale(1/(h*n)).AddScaled(-h/(n*n*n), u))
	m.AddOuter(-fade/(h*h*h), p, hv)
	return out
}

// contact adds the bottom's push and its friction: a penalty that carries the body's
// weight and what presses it down at contactDepth, friction regularised at 1 cm/s.
func (b *Body) contact(at *Surroundings, f *geom.Vec, jac *BodyJac) {
	lift := math.Max(b.LiftArea*math.Cos(b.Roll), 0)
	if b.PlateArea > 0 {
		lift += b.PlateCN * b.PlateArea
	}
	weight := b.WeightInWater(at.Rho) + 0.5*at.Rho*lift*at.Flow.Dot(at.Flow)
	k := math.Max(weight, 0.01) / contactDepth
	push := k * (at.Depth - at.Bottom)
	f.Z -= push
	var dpush geom.Vec // in the flow, by the lift's part of k
	if jac != nil {
		jac.Depth.Z -= k
		if weight > 0.01 {
			dpush = at.Flow.Scale(at.Rho * lift / contactDepth * (at.Depth - at.Bottom))
			jac.Flow.AddOuter(-1, geom.Vec{Z: 1}, dpush)
		}
	}
	if b.Friction > 0 {
		v := geom.Vec{X: at.Motion.X, Y: at.Motion.Y}
		q := math.Sqrt(v.Dot(v) + 1e-4)
		*f = f.AddScaled(-b.Friction*push/q, v)
		if jac != nil {
			jac.Depth = jac.Depth.AddScaled(-b.Friction*k/q, v)
			jac.Flow.AddOuter(-b.Friction/q, v, dpush)
			jac.Motion.AddOuter(b.Friction*push/(q*q*q), v, v)
			jac.Motion[0][0] -= b.Friction * push / q
			jac.Motion[1][1] -= b.Friction * push / q
		}
	}
}
