package reference

// CylinderRow is a measured drag coefficient of a long smooth cylinder across
// the flow, on diameter x length.
type CylinderRow struct {
	Reynolds        float64
	DragCoefficient float64
	ToleranceRel    float64
	Origin
}

var wieselsbergerOrigin = Origin{Seen, "Wieselsberger 1922 (NACA TN 84), digitized, seen in a file quoting it"}

// Wieselsberger is the classic measurement.
var Wieselsberger = []CylinderRow{
	{63.6, 1.48, 0.05, wieselsbergerOrigin},
	{196, 1.27, 0.05, wieselsbergerOrigin},
	{356, 1.15, 0.05, wieselsbergerOrigin},
	{892, 0.964, 0.05, wieselsbergerOrigin},
	{2270, 0.886, 0.05, wieselsbergerOrigin},
	{5150, 0.944, 0.05, wieselsbergerOrigin},
}

// ChengOrigin is the source of the fit to use between these points, valid for
// Re < 2e5.
var ChengOrigin = Origin{Seen, "Cheng 2013, J. Hydraul. Eng. 139:602: CD = 11 Re^-0.75 + 0.9 (1-exp(-1000/Re)) + 1.2 (1-exp(-(Re/4500)^0.7)), seen in files quoting it"}

// StrummingRow is the factor by which a vibrating line's drag grows.
type StrummingRow struct {
	Name                  string
	AmplitudeOverDiameter float64 // A/D; the root-mean-square value is A/sqrt 2
	Factor                float64
	ToleranceRel          float64 // of the printed digits
	Origin
}

// Strumming holds the two published fits at A/D = 0.5.
var Strumming = []StrummingRow{
	{"vandiver", 0.5, 1.8326, 1e-4, Origin{Seen, "Vandiver 1983: CD/CD0 = 1 + 1.043 (2 Arms/D)^0.65, seen in a theory manual quoting it"}},
	{"blevins", 0.5, 2.05, 1e-4, Origin{Seen, "Blevins 1990: CD/CD0 = 1 + 2.1 A/D, seen in a theory manual quoting it"}},
}

// RopeShallowFactor is by how much rope at small angles drags above
// smooth-cylinder theory, which is why a line's friction coefficient has to be
// adjustable.
var RopeShallowFactor = struct {
	Factor float64
	Origin
}{1.4, Origin{Seen, "Fridman 1986, Calculations for Fishing Gear Designs, table 3.3"}}
