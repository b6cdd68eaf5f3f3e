package bench

import (
	"context"
	"fmt"
	"math"
	"strings"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// headingStep is the spacing of the rows of a speed table, degrees.
const headingStep = 30

// Speeds returns the speed over ground to hold on each heading so that the water passes
// the place at (a downrigger's id, "ball" for the first, or a depth such as "60 ft") at
// want m/s, and where the lures' speed windows do not overlap.
func (b *Boat) Speeds(ctx context.Context, at string, want float64) (*sternfan.SpeedTable, error) {
	sc := *b.Scenario
	sc.Speed = sternfan.Speed{Given: sternfan.SpeedProbe, Value: sternfan.Of(unit.Speed(want)), Band: sc.Speed.Band}
	var allowed []string
	for _, d := range sc.Downriggers {
		allowed = append(allowed, d.ID)
		if at == d.ID || at == "ball" && sc.Speed.Ball == "" {
			sc.Speed.Ball = d.ID
		}
	}
	if sc.Speed.Ball == "" {
		z, err := unit.ParseLength(at)
		if err != nil || z < 0 {
			return nil, sternfan.Faults{{Code: "unknown-place", Text: "no such place to hold a speed at", Found: at,
				Allowed: append(allowed, "a depth such as 60ft"), Hint: "write --at BALL=2.2mph or --at 60ft=2.2mph"}}
		}
		sc.Speed.Depth = sternfan.Of(z)
	}
	table := &sternfan.SpeedTable{At: at, Want: want}
	file, here := sc.Heading.SI()*180/math.Pi, 0.0
	heading := func(h float64) { sc.Heading = sternfan.Of(unit.Angle(h * math.Pi / 180)) }
	for h := 0.0; h < 360; h += headingStep {
		heading(h)
		fan, err := New(&sc, nil, b.opt).measure(ctx)
		if err != nil {
			return nil, err
		}
		v := &fan.Speed
		table.Rows = append(table.Rows, sternfan.SpeedRow{Heading: h, OverGround: v.OverGround, Surface: v.Surface,
			OK: v.Surface > 0 && math.Abs(*v.Probe-want) < 1e-3})
		if math.Abs(math.Remainder(h-file, 360)) <= headingStep/2 {
			here = h
		}
	}
	heading(here)
	m, faults := tackle.Resolve(&sc)
	if len(faults) > 0 {
		return nil, faults
	}
	fan, err := spread.Solve(ctx, m, b.opt)
	if err != nil {
		return nil, err
	}
	table.Depth = *fan.Speed.ProbeDepth
	windows(table, fan, b.opt.Units)
	return table, nil
}

// windows lists the lures' windows and finds the surface speeds at which all of them are
// in theirs, taking each lure's difference to the surface as it is now.
func windows(table *sternfan.SpeedTable, fan *sternfan.Fan, words unit.System) {
	type span struct {
		lo, hi float64
		name   string
	}
	var spans []span
	lo, hi := 0.0, math.Inf(1)
	for _, t := range fan.Rods {
		for _, l := range t.Lures {
			if l.Window == nil {
				continue
			}
			table.Lures = append(table.Lures, sternfan.WindowRow{Rod: t.Rod, Position: t.Position, Lure: spread.Named(l.Kind, l.ID), Depth: l.Depth, Window: *l.Window, Now: l.ThroughWater})
			d := l.ThroughWater - fan.Speed.Surface
			who := "rod " + t.Rod
			if t.Position != "" {
				who = t.Position
			}
			s := span{l.Window[0] - d, l.Window[1] - d, "the " + spread.Named(l.Kind, l.ID) + " on the " + strings.TrimPrefix(who, "the ")}
			spans = append(spans, s)
			lo, hi = math.Max(lo, s.lo), math.Min(hi, s.hi)
		}
	}
	if len(spans) == 0 {
		return
	}
	if lo <= hi {
		table.Overlap = &[2]float64{lo, hi}
		return
	}
	for i, a := range spans {
		for _, b := range spans[i+1:] {
			if a.lo > b.hi || b.lo > a.hi {
				if a.lo > b.hi {
					a, b = b, a
				}
				table.Apart = append(table.Apart, sternfan.Warning{Code: "windows-apart",
					Text: fmt.Sprintf("%s wants at most %s at the surface, %s at least %s", a.name, words.Speed(unit.Speed(a.hi)), b.name, words.Speed(unit.Speed(b.lo))),
					Hint: "change one of the two lures"})
			}
		}
	}
}
