package engine_test

import (
	"math"
	"testing"

	"sternfan/engine"
)

// What is left on a spool is a ring between arbor and wound line: its part of the room is
// that of the rings' areas, and what a line takes off it is the line's own volume.
func TestSpools(t *testing.T) {
	var e engine.Engine
	given := engine.Given{Text: example(t, "summer.yaml")}
	got := do[engine.SpoolsAnswer](t, &e, "spools", given).Spools
	if len(got) != 12 {
		t.Fatalf("%d spools of 12 rods with a reel", len(got))
	}
	out := map[string]float64{}
	for _, r := range do[engine.Spread](t, &e, "spread", engine.SpreadAsk{Given: given}).Tracks {
		out[r.Rod] = r.LineOut
	}
	for _, s := range got {
		if s.Out != out[s.Rod] || s.Out <= 0 {
			t.Errorf("%s: %g m out, the spread has %g", s.Rod, s.Out, out[s.Rod])
		}
		ring := (s.Diameter*s.Diameter - s.Arbor*s.Arbor) / (s.Flange*s.Flange - s.Arbor*s.Arbor)
		if math.Abs(ring-s.Full) > 1e-9 || s.Full <= 0 || s.Full > 1 {
			t.Errorf("%s: %g full, the ring is %g of the room", s.Rod, s.Full, ring)
		}
		if s.Diameter >= s.Start || s.Beyond != 0 || len(s.Lines) == 0 {
			t.Errorf("%s: %+v", s.Rod, s)
		}
	}
	// One line alone on the reel: the volume gone is the line's, over the packing that
	// the reel's words state.
	last := got[len(got)-1]
	more := do[engine.SpoolsAnswer](t, &e, "spools", engine.Given{Text: given.Text, Set: []string{"rods.s-board.settings.line_out=210 ft"}}).Spools[len(got)-1]
	const packing = 0.82
	d := last.Lines[len(last.Lines)-1].Diameter
	gone := math.Pi / 4 * (last.Diameter*last.Diameter - more.Diameter*more.Diameter) * last.Width
	if want := math.Pi / 4 * d * d * (more.Out - last.Out) / packing; math.Abs(gone-want) > 1e-9*want || math.Abs(more.Out-last.Out-100*0.3048) > 1e-9 {
		t.Errorf("%g m more take %g m3 off, want %g", more.Out-last.Out, gone, want)
	}
}

func TestProfile(t *testing.T) {
	var e engine.Engine
	got := do[engine.ProfileAnswer](t, &e, "profile", engine.ProfileAsk{Text: "depth ft,temp F\n0,68\n100,41\n"})
	if want := [][2]float64{{0, 20}, {30.48, 5}}; len(got.Points) != 2 || got.Readings != 2 ||
		math.Abs(got.Points[0][1]-want[0][1])+math.Abs(got.Points[1][0]-want[1][0])+math.Abs(got.Points[1][1]-want[1][1]) > 1e-9 {
		t.Errorf("%v of %d readings, want %v", got.Points, got.Readings, want)
	}
	if f, failed := refused(t, &e, "profile", engine.ProfileAsk{Name: "holiday.png", Text: "no numbers at all"}); len(f) == 0 || f[0].File != "holiday.png" {
		t.Errorf("a text without a profile: %v %s", f, failed)
	}
	if got := do[engine.ProfileAnswer](t, &e, "profile", engine.ProfileAsk{Text: example(t, "buoy.ocean")}); len(got.Points) < 3 || got.Measured == "" {
		t.Errorf("the example's profile has %d points, measured %q", len(got.Points), got.Measured)
	}
}
