package reference

// SphereRow is the drag coefficient of a smooth sphere on its frontal area.
type SphereRow struct {
	Reynolds        float64
	DragCoefficient float64
	ToleranceRel    float64
	Origin
}

var brownLawler = Origin{Exact, "Brown & Lawler 2003: CD = 24/Re (1 + 0.150 Re^0.681) + 0.407/(1 + 8710/Re), Re < 2e5"}

// Sphere is Brown and Lawler's correlation at three Reynolds numbers.
var Sphere = []SphereRow{
	{1e3, 0.4634, 0.001, brownLawler},
	{1e4, 0.4106, 0.001, brownLawler},
	{1e5, 0.4661, 0.001, brownLawler},
}

// LeadBallRow is a solid round lead ball.
type LeadBallRow struct {
	MassKg           float64
	DensityKgM3      float64
	WaterDensityKgM3 float64
	SpeedMPS         float64
	DragCoefficient  float64
	DiameterM        float64
	WetWeightN       float64
	DragN            float64
	ToleranceRel     float64
	Origin
}

var leadBallOrigin = Origin{Exact, "computed from volume, buoyancy and rho CD A V^2/2"}

// LeadBall holds balls of 10, 12 and 15 lb.
var LeadBall = []LeadBallRow{
	{10 * poundKg, 11340, 999.7, 1.2, 0.47, 0.0914, 40.561, 2.220, 0.001, leadBallOrigin},
	{12 * poundKg, 11340, 999.7, 1.2, 0.47, 0.0971, 48.673, 2.507, 0.001, leadBallOrigin},
	{15 * poundKg, 11340, 999.7, 1.2, 0.47, 0.1046, 60.841, 2.910, 0.001, leadBallOrigin},
}

// DiscLiftSlope is the slope of the lift coefficient of a thin circular plate
// at small incidence, per radian, on the area pi D^2/4.
var DiscLiftSlope = struct {
	PerRad       float64
	ToleranceRel float64
	Origin
}{1.790750, 0.01, Origin{Memory, "32/(8 + pi^2), linear lifting surface, Hauptman & Miloh 1986, QJMAM 39:41 (memory); a vortex-lattice run gave 1.779-1.791"}}

// DiscAtIncidence holds the differing readings of a circular plate at large
// incidence. Nothing is held to them: they are why the coefficient at 45
// degrees is calibrated and carries an uncertainty.
var DiscAtIncidence = struct {
	NormalAt40Low, NormalAt40High         float64 // linear rise up to 40 deg
	LiftAt30Low, LiftAt30High             float64 // the lift at 30 deg in that reading
	VortexLiftAt30Low, VortexLiftAt30High float64 // with edge vortices
	DefaultNormalAt45                     float64 // assumed
	DefaultSpreadRel                      float64 // assumed
	Origin
}{1.17, 1.2, 0.76, 0.78, 0.89, 1.35, 1.3, 0.20,
	Origin{Fact, "Hoerner, Fluid-Dynamic Drag / Lift (memory); Polhamus, NASA TN D-3767, for the vortex term; the default is assumed"}}

// DiscNormal is the drag coefficient of a disc facing the flow.
var DiscNormal = struct {
	DragCoefficient float64
	ToleranceRel    float64
	Origin
}{1.17, 0.03, Origin{Memory, "Hoerner, Fluid-Dynamic Drag, ch. 3 (memory); 1.17 at L/d = 0 seen in a file quoting Kritzinger 2004"}}

// AddedMassRow is the mass of water that moves with an accelerating body.
type AddedMassRow struct {
	Body             string
	RadiusM          float64
	LengthM          float64 // of the cylinder
	WaterDensityKgM3 float64
	AddedMassKg      float64
	Ratio            float64 // to the displaced mass; 0 for the disc, which displaces nothing
	ToleranceRel     float64
	Origin
}

var lamb = Origin{Exact, "Lamb, Hydrodynamics: sphere 1/2 and cylinder across 1 of the displaced mass; disc broadside 8/3 rho a^3"}

// AddedMass holds a sphere, a disc broadside and a cylinder across.
var AddedMass = []AddedMassRow{
	{"sphere", 0.05, 0, 1000, 0.2617993878, 0.5, 0.001, lamb},
	{"disc", 0.0525, 0, 1000, 0.385875, 0, 0.001, lamb},
	{"cylinder", 0.01, 1, 1000, 0.3141592654, 1, 0.001, lamb},
}
