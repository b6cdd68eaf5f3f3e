package reference

// AWGRow is the diameter of a solid wire by American wire gauge.
type AWGRow struct {
	Gauge        int
	DiameterM    float64
	ToleranceRel float64
	Origin
}

var awgOrigin = Origin{Seen, "ASTM B258: d = 0.005 in x 92^((36-n)/39), seen in files quoting it"}

// AWG holds the gauges in use as trolling wire.
var AWG = []AWGRow{
	{18, 0.0010237, 0.002, awgOrigin},
	{20, 0.0008118, 0.002, awgOrigin},
	{24, 0.0005106, 0.002, awgOrigin},
	{30, 0.0002546, 0.002, awgOrigin},
}

// MaterialRow is the range of a solid material's density.
type MaterialRow struct {
	Material string
	LowKgM3  float64
	HighKgM3 float64
	Origin
}

var (
	materialSeen   = Origin{Seen, "general tables of materials"}
	materialMemory = Origin{Memory, "general tables of materials (memory)"}
)

// Materials holds the densities of what lines and weights are made of.
var Materials = []MaterialRow{
	{"nylon", 1140, 1140, materialSeen},
	{"polyester", 1380, 1380, materialSeen},
	{"uhmwpe", 970, 980, materialSeen},
	{"pvdf", 1760, 1780, materialMemory},
	{"copper", 8960, 8960, materialSeen},
	{"stainless", 7900, 8000, materialSeen},
	{"lead", 11340, 11340, materialMemory},
}

// LineDiameterRow is a typical diameter by labeled strength.
type LineDiameterRow struct {
	StrengthN    float64
	DiameterM    float64
	ToleranceRel float64
	Origin
}

var (
	monoOrigin  = Origin{Seen, "a retailer's general table, inches by pounds"}
	braidOrigin = Origin{Memory, "common figures, inches by pounds (memory)"}
)

// MonoDiameters is monofilament from 6 to 40 lb.
var MonoDiameters = []LineDiameterRow{
	{6 * poundForce, 0.009 * inchM, 0.12, monoOrigin},
	{8 * poundForce, 0.010 * inchM, 0.12, monoOrigin},
	{10 * poundForce, 0.011 * inchM, 0.12, monoOrigin},
	{12 * poundForce, 0.013 * inchM, 0.12, monoOrigin},
	{14 * poundForce, 0.014 * inchM, 0.12, monoOrigin},
	{17 * poundForce, 0.015 * inchM, 0.12, monoOrigin},
	{20 * poundForce, 0.016 * inchM, 0.12, monoOrigin},
	{30 * poundForce, 0.020 * inchM, 0.12, monoOrigin},
	{40 * poundForce, 0.023 * inchM, 0.12, monoOrigin},
}

// BraidDiameters is braid from 10 to 65 lb.
var BraidDiameters = []LineDiameterRow{
	{10 * poundForce, 0.006 * inchM, 0.15, braidOrigin},
	{20 * poundForce, 0.009 * inchM, 0.15, braidOrigin},
	{30 * poundForce, 0.011 * inchM, 0.15, braidOrigin},
	{50 * poundForce, 0.014 * inchM, 0.15, braidOrigin},
	{65 * poundForce, 0.016 * inchM, 0.15, braidOrigin},
}

// StrainRow is the stretch of a line under a pull.
type StrainRow struct {
	DiameterM    float64
	ModulusPa    float64
	PullN        float64
	Strain       float64
	ToleranceRel float64
	Origin
}

// Strain holds a nylon line. The usual printing of this case, 4.07 %, is
// rounded by more than its tolerance; the closed form gives 4.0744 %.
var Strain = []StrainRow{
	{0.0005, 2.5e9, 20, 0.040744, 0.001, Origin{Exact, "T/(E A)"}},
}
