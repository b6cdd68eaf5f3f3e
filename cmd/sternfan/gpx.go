package main

import (
	"encoding/xml"
	"fmt"
	"math"
	"time"

	"sternfan/engine"
)

// gpxFile is what the program reads of a GPX 1.1 file: the points of its tracks.
type gpxFile struct {
	XMLName xml.Name `xml:"gpx"`
	Points  []struct {
		Lat  float64 `xml:"lat,attr"`
		Lon  float64 `xml:"lon,attr"`
		Time string  `xml:"time"`
	} `xml:"trk>trkseg>trkpt"`
}

// The ellipsoid of GPX, WGS 84 (NIMA TR8350.2).
const (
	wgsMajor        = 6378137.0           // m
	wgsEccentricity = 6.69437999014132e-3 // squared
	farFix          = 200e3               // m from the first fix: not one boat's manoeuvre
)

// readTrack returns a GPX file's track, in meters north and east of its first point, by
// the radii of curvature there.
func readTrack(data []byte) ([]engine.TrackFix, error) {
	var f gpxFile
	if err := xml.Unmarshal(data, &f); err != nil {
		return nil, fmt.Errorf("this is not a GPX file: %w", err)
	}
	var out []engine.TrackFix
	var first time.Time
	for i, p := range f.Points {
		if !(math.Abs(p.Lat) <= 89) || !(math.Abs(p.Lon) <= 180) {
			return nil, fmt.Errorf("point %d is at %g, %g; allowed are latitudes up to 89 and longitudes up to 180", i+1, p.Lat, p.Lon)
		}
		at, err := time.Parse(time.RFC3339, p.Time)
		if err != nil {
			return nil, fmt.Errorf("point %d has no time such as 2026-07-01T12:00:00Z", i+1)
		}
		if i == 0 {
			first = at
		}
		sin, cos := math.Sincos(f.Points[0].Lat * math.Pi / 180)
		w := 1 - wgsEccentricity*sin*sin
		along, across := wgsMajor*(1-wgsEccentricity)/(w*math.Sqrt(w)), wgsMajor/math.Sqrt(w)*cos
		fix := engine.TrackFix{T: at.Sub(first).Seconds(),
			North: (p.Lat - f.Points[0].Lat) * math.Pi / 180 * along,
			East:  math.Remainder(p.Lon-f.Points[0].Lon, 360) * math.Pi / 180 * across}
		if math.Abs(fix.North)+math.Abs(fix.East) > farFix {
			return nil, fmt.Errorf("point %d is %.0f km from the first", i+1, (math.Abs(fix.North)+math.Abs(fix.East))/1000)
		}
		out = append(out, fix)
	}
	if len(out) < 3 {
		return nil, fmt.Errorf("it has %d track points with their times; at least three, five seconds apart, are needed", len(out))
	}
	return out, nil
}
