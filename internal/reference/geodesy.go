package reference

// GeodesicRow is the shortest line between two points of an ellipsoid.
type GeodesicRow struct {
	Name                string
	SemiMajorM          float64 // of the ellipsoid
	InverseFlattening   float64
	LatADeg, LonADeg    float64
	LatBDeg, LonBDeg    float64
	DistanceM           float64
	AzimuthDeg          float64 // at A, clockwise from north
	ToleranceM          float64
	AzimuthToleranceDeg float64 // half the last printed digit
	Origin
}

// Geodesic holds a line of lake size (WGS84) and a long one (GRS80).
var Geodesic = []GeodesicRow{
	{"lake scale", 6378137, 298.257223563, 43.0, -86.5, 43.01, -86.49, 1378.0228, 36.27265, 1e-3, 0.5e-5,
		Origin{Exact, "computed with Vincenty's formula"}},
	{"long line", 6378137, 298.257222101, -dms(37, 57, 3.72030), dms(144, 25, 29.52440), -dms(37, 39, 10.15610), dms(143, 55, 35.38390),
		54972.271, dms(306, 52, 5.37), 1e-3, 0.005 / 3600, Origin{Seen, "Geoscience Australia test line, seen in files quoting it"}},
}

func dms(degrees, minutes, seconds float64) float64 {
	return degrees + minutes/60 + seconds/3600
}
