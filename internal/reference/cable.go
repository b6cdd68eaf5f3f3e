package reference

// CriticalAngleRow is the angle at which a long unloaded line lies straight.
type CriticalAngleRow struct {
	WeightOverDrag float64 // w/R
	AngleDeg       float64
	ToleranceDeg   float64
	Origin
}

var criticalOrigin = Origin{Exact, "cos phi = -k + sqrt(k^2+1), k = w/2R; definition after Pode 1951, DTMB Report 687 (memory), value computed"}

// CriticalAngle is the critical angle by the ratio w/R.
var CriticalAngle = []CriticalAngleRow{
	{0.01, 5.724793, 1e-5, criticalOrigin},
	{0.05, 12.757752, 1e-5, criticalOrigin},
	{0.2, 25.178392, 1e-5, criticalOrigin},
	{1, 51.827292, 1e-5, criticalOrigin},
	{5, 78.896471, 1e-5, criticalOrigin},
}

// CriticalAngleLineRow is the critical angle of a solid wire.
type CriticalAngleLineRow struct {
	Name             string
	DiameterM        float64
	LineDensityKgM3  float64
	WaterDensityKgM3 float64
	DragCoefficient  float64 // on diameter x length
	SpeedMPS         float64
	AngleDeg         float64
	ToleranceDeg     float64
	Origin
}

// CriticalAngleLine is the critical angle of copper (AWG 18) and steel wire.
var CriticalAngleLine = []CriticalAngleLineRow{
	{"copper", 0.0010237, 8960, 999.7, 1.2, 0.5, 35.6702, 1e-4, criticalOrigin},
	{"copper", 0.0010237, 8960, 999.7, 1.2, 1.0, 18.3687, 1e-4, criticalOrigin},
	{"copper", 0.0010237, 8960, 999.7, 1.2, 1.5, 12.3076, 1e-4, criticalOrigin},
	{"steel", 0.0005, 7930, 999.7, 1.2, 0.5, 23.7997, 1e-4, criticalOrigin},
	{"steel", 0.0005, 7930, 999.7, 1.2, 1.0, 12.0406, 1e-4, criticalOrigin},
	{"steel", 0.0005, 7930, 999.7, 1.2, 1.5, 8.0439, 1e-4, criticalOrigin},
}

// WeightlessRow is a neutrally buoyant line without tangential drag behind
// which a heavy body hangs.
type WeightlessRow struct {
	BodyWeightN      float64 // in water
	BodyDragN        float64
	DiameterM        float64
	DragCoefficient  float64
	SpeedMPS         float64
	LengthM          float64
	WaterDensityKgM3 float64

	TensionN     float64 // the same all along
	BodyAngleDeg float64
	TopAngleDeg  float64
	AftM         float64
	DownM        float64
	ToleranceRel float64
	Origin
}

var weightlessOrigin = Origin{Exact, "Landweber & Protter 1947 / Glauert 1934 limit: cot phi = cot phi0 + R s/T0, x = T0/R (1/sin phi - 1/sin phi0), y = T0/R ln(tan(phi0/2)/tan(phi/2))"}

// Weightless holds two such lines.
var Weightless = []WeightlessRow{
	{40, 4, 0.0006, 1.2, 1.2, 60, 1000, 40.199502, 84.289407, 48.854958, 25.043413, 53.458731, 1e-6, weightlessOrigin},
	{2, 0.2, 0.0003, 1.3, 0.8, 40, 1000, 2.009975, 84.289407, 21.159173, 28.432796, 25.414754, 1e-6, weightlessOrigin},
}

// WeightlessUnitRow is the same curve from a body whose line stands upright,
// lengths in units of T0/R.
type WeightlessUnitRow struct {
	AngleDeg  float64
	Length    float64
	Aft       float64
	Down      float64
	Tolerance float64 // absolute, in T0/R
	Origin
}

// WeightlessUnit is the weightless line from phi0 = 90 degrees.
var WeightlessUnit = []WeightlessUnitRow{
	{60, 0.57735027, 0.15470054, 0.54930614, 1e-8, weightlessOrigin},
	{45, 1, 0.41421356, 0.88137359, 1e-8, weightlessOrigin},
	{30, 1.73205081, 1, 1.31695790, 1e-8, weightlessOrigin},
	{10, 5.67128182, 4.75877048, 2.43624605, 1e-8, weightlessOrigin},
}

// CatenaryRow is a line in still water, pulled across at its lower end.
// Through a model that needs a flow: any speed, a neutrally buoyant end body
// whose drag there is PullN, and line coefficients of zero.
type CatenaryRow struct {
	PullN        float64 // horizontal
	WeightNPM    float64 // in water, per meter
	LengthM      float64
	TensionN     float64 // at the top
	SlopeDeg     float64 // from the horizontal, at the top
	AcrossM      float64
	UpM          float64
	ToleranceRel float64
	Origin
}

// Catenary holds the one catenary.
var Catenary = []CatenaryRow{
	{10, 0.4, 50, 22.36067977, 63.43494882, 36.09088688, 30.90169944, 1e-8, Origin{Exact, "catenary"}},
}

// PodeKindRow is a line with a constant tangential load F, from an upright
// start; tensions in T0, lengths in T0/R.
type PodeKindRow struct {
	TangentialOverDrag float64 // F/R
	WeightOverDrag     float64 // w/R
	StartDeg           float64
	AngleDeg           float64
	Tau                float64 // T/T0
	Sigma              float64 // R s/T0
	Xi                 float64 // R x/T0
	Eta                float64 // R y/T0
	Tolerance          float64 // absolute
	Origin
}

var podeOrigin = Origin{Exact, "heavy cable with constant tangential load after Pode 1951, DTMB Report 687, solved to convergence; for w = 0 tau = exp(f cot phi)"}

// PodeKind holds rows of the kind that Pode tabulated.
var PodeKind = []PodeKindRow{
	{0.02, 0, 90, 45, 1.020201, 1.010067, 0.419581, 0.889711, 1e-5, podeOrigin},
	{0.02, 0.1, 90, 60, 1.071001, 0.617499, 0.169007, 0.586513, 1e-5, podeOrigin},
	{0.02, 0.1, 90, 30, 1.210568, 2.258705, 1.392297, 1.653936, 1e-5, podeOrigin},
	{0.03, 0.2, 90, 45, 1.264852, 1.303053, 0.582011, 1.128801, 1e-5, podeOrigin},
}

// HeavyWithFrictionRow is a line with weight, normal drag and tangential drag
// on its wetted area pi d, behind which a body hangs.
type HeavyWithFrictionRow struct {
	BodyWeightN         float64
	BodyDragN           float64
	DiameterM           float64
	LineDensityKgM3     float64
	SpeedMPS            float64
	LengthM             float64
	WaterDensityKgM3    float64
	DragCoefficient     float64
	FrictionCoefficient float64

	TensionN     float64 // at the top
	TopAngleDeg  float64
	AftM         float64
	DownM        float64
	ToleranceRel float64
	Origin
}

var heavyOrigin = Origin{Exact, "converged solution of the cross-flow loads with constant coefficients: normal rho Cd d V^2 sin^2(phi)/2, tangential rho Cf pi d V^2 cos^2(phi)/2, weight in water"}

// HeavyWithFriction holds a steel and a nylon line.
var HeavyWithFriction = []HeavyWithFrictionRow{
	{40, 3, 0.0005, 7930, 1.2, 40, 999.7, 1.2, 0.02, 40.6997578, 63.4983249, 10.8583991, 38.2359883, 1e-6, heavyOrigin},
	{0.5, 0.3, 0.0005, 1140, 1.0, 50, 999.7, 1.2, 0.02, 1.3369928, 3.5872639, 48.8383471, 7.5685500, 1e-6, heavyOrigin},
}

// KiteRow is a weightless lifting body on a weightless, dragless line. With a
// roll b its lift's share down is cos b and its share to the side sin b.
type KiteRow struct {
	LiftOverDrag float64
	LineAngleDeg float64
	ToleranceRel float64
	Origin
}

// Kite holds the one kite.
var Kite = []KiteRow{
	{1.780, 60.673, 1e-4, Origin{Exact, "force balance: tan(angle) = lift/drag"}},
}

// TurnTautRow is a steady turn with a taut, massless, dragless line and a
// neutrally buoyant body.
type TurnTautRow struct {
	BoatRadiusM    float64
	BoatSpeedMPS   float64
	Circles        float64 // at least so many before the body is judged
	LengthM        float64
	BodyMassKg     float64
	AddedMassRatio float64 // of the displaced mass
	DragAreaM2     float64 // C x A
	BodyRadiusM    float64
	SpeedRatio     float64 // body over boat
	ToleranceRel   float64 // of the dynamic solver
	Origin
}

// TurnTaut holds the one turn.
var TurnTaut = []TurnTautRow{
	{30, 1, 3, 20, 0.05, 0.5, 0.02, 22.360680, 0.745356, 0.01, Origin{Exact, "r = sqrt(Rb^2 - L^2): the line is tangent to the body's circle"}},
}

// TurnSpeed returns the speed of a tow point abreast of the turning boat's
// reference point, with offsetM outward from the center of the turn; the
// tolerance to hold it to is TurnSpeedToleranceRel. Exact, kinematics.
func TurnSpeed(speedMPS, radiusM, offsetM float64) float64 {
	return speedMPS * (1 + offsetM/radiusM)
}

// TurnSpeedToleranceRel belongs to [TurnSpeed].
const TurnSpeedToleranceRel = 1e-9

// TurnMeasuredToleranceRel is how close a good model of a turn comes to
// measured depth changes: 2 %, seen in the abstract of Ablow & Schechter 1983,
// Ocean Engineering 10(6):443-457.
const TurnMeasuredToleranceRel = 0.02
