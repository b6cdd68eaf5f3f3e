package main

import (
	"strings"
	"testing"
)

// TestTurnFlagsThatMakeNoSense asks for each that it is refused with its limits or the way out,
// and that nothing is written.
func TestTurnFlagsThatMakeNoSense(t *testing.T) {
	for flags, want := range map[string]string{
		"--radius=0m":                     "from 0.5 m to 10 km",
		"--radius=-5m":                    "from 0.5 m to 10 km",
		"--radius=1e300m":                 "from 0.5 m to 10 km",
		"--radius=9km":                    "more than 6",
		"--rate=0deg/s":                   "degrees a second",
		"--rate=-3deg/s":                  "degrees a second",
		"--radius=60m --rate=3deg/s":      "not both",
		"--angle=-90":                     "0 to 3600 degrees",
		"--speed-to=-1mph":                "10 m/s",
		"--speed-to=900mph":               "10 m/s",
		"--every=-1s":                     "10 ms",
		"--every=0.01s --before=1h":       "samples",
		"--before=-1s":                    "6 h",
		"--yaw-ramp=1h":                   "10 min",
		"--worlds=1000000000":             "0 to 100000",
		"--nodes=100000":                  "2 to 10000",
		"--event=dance":                   "strike:ROD",
		"--event=strike":                  "one of",
		"--event=strike:nobody":           "no rod",
		"--event=stop:class":              "leave :class out",
		"--event=board-pops:class":        "no in-line board",
		"--event=set --pay-rate=0m/s":     "pay-rate",
		"--event=set --people=-3":         "people",
		"--tightest --event=stop":         "leave --event out",
		"--tightest --radius=60m":         "leave --radius",
		"--tightest --format=csv":         "table or json",
		"--track=no-such-track.gpx":       "no file",
		"--track=a.gpx --radius=60m":      "leave --to",
		"--event=stop --track=broken.gpx": "leave --event",
	} {
		args := append([]string{"turn", "../../examples/class.yaml"}, strings.Fields(flags)...)
		got := commandOn(t.Context(), &world{}, "", args...)
		if got.code != exitFaulty || got.stdout != "" || !strings.Contains(got.stderr, want) {
			t.Errorf("turn %s: exit code %d, wrote %q, said %q; want %q in it", flags, got.code, got.stdout, got.stderr, want)
		}
	}
}

// TestTurnAngleIsInDegrees gives the angle with and without its unit.
func TestTurnAngleIsInDegrees(t *testing.T) {
	var said []string
	for _, angle := range []string{"90", "90deg", "1.5707963267948966rad"} {
		got := commandOn(t.Context(), &world{}, "", "turn", "../../examples/class.yaml", "--worlds", "0", "--radius", "40m", "--angle", angle)
		if got.code != exitOK {
			t.Fatalf("%s: %s", angle, got.stderr)
		}
		said = append(said, got.stdout)
	}
	if said[0] != said[1] || said[0] != said[2] || !strings.HasPrefix(said[0], "Turning 90 degrees to port") {
		t.Errorf("%q", said)
	}
}

// TestTurnNoRampNeedsNoUnit gives a ramp of no time with and without its unit, and a ramp.
func TestTurnNoRampNeedsNoUnit(t *testing.T) {
	said := map[string]string{}
	for _, ramp := range []string{"0", "0s", "20s"} {
		got := commandOn(t.Context(), &world{}, "", "turn", "../../examples/class.yaml", "--worlds", "0", "--radius", "40m", "--format", "csv", "--yaw-ramp", ramp)
		if got.code != exitOK {
			t.Fatalf("%s: %s", ramp, got.stderr)
		}
		said[ramp] = got.stdout
	}
	if said["0"] != said["0s"] || said["0"] == said["20s"] {
		t.Error("a ramp of 0 is not that of 0 s, or one of 20 s is the same")
	}
}
