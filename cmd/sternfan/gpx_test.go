package main

import (
	"math"
	"testing"

	"sternfan/manoeuvre"
)

// FuzzTrack reads any bytes as a track: a fault in words or places that are numbers, and
// from those a way or none.
func FuzzTrack(f *testing.F) {
	f.Add([]byte(`<gpx><trk><trkseg><trkpt lat="43" lon="-80"><time>2026-07-01T12:00:00Z</time></trkpt><trkpt lat="43.001" lon="-80"><time>2026-07-01T12:00:30Z</time></trkpt><trkpt lat="43.002" lon="-80.001"><time>2026-07-01T12:01:00Z</time></trkpt></trkseg></trk></gpx>`))
	f.Add([]byte(`<gpx><trk><trkseg><trkpt lat="NaN" lon="1e999"></trkpt></trkseg></trk></gpx>`))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		fixes, err := readTrack(data)
		if err != nil {
			return
		}
		var way []manoeuvre.Fix
		for _, x := range fixes {
			way = append(way, manoeuvre.Fix(x))
			if s := x.T + x.North + x.East; math.IsNaN(s) || math.IsInf(s, 0) {
				t.Fatalf("a fix at %+v", x)
			}
		}
		if w, ok := manoeuvre.NewWay(way, 0.1, 0); ok && !(w.Duration() > 0) {
			t.Errorf("a way of %v s", w.Duration())
		}
	})
}

// TestTrackIsInMeters holds a degree of latitude and of longitude at 45 degrees to the
// lengths of the WGS 84 ellipsoid: 111,131.8 m and 78,846.8 m (computed from its radii of
// curvature; NIMA TR8350.2).
func TestTrackIsInMeters(t *testing.T) {
	fixes, err := readTrack([]byte(`<gpx><trk><trkseg>
<trkpt lat="45" lon="-80"><time>2026-07-01T12:00:00Z</time></trkpt>
<trkpt lat="46" lon="-80"><time>2026-07-01T12:00:10.5Z</time></trkpt>
<trkpt lat="45" lon="-79"><time>2026-07-01T12:01:00Z</time></trkpt></trkseg></trk></gpx>`))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(fixes[1].North-111131.8) > 1 || math.Abs(fixes[2].East-78846.8) > 1 || fixes[1].T != 10.5 {
		t.Errorf("%+v", fixes)
	}
}
