package tackle

import (
	"math"

	"sternfan"
	"sternfan/unit"
)

func defaultDivers() []sternfan.Diver {
	return []sternfan.Diver{
		diver("diver-small", "directional", .082, 0, 22),
		diver("diver-standard", "directional", .105, .140, 35),
		diver("diver-large", "directional", .125, .165, 50),
		diver("slide-through-standard", "slide-through", .105, 0, 35),
		diver("slide-through-large", "slide-through", .125, 0, 50),
	}
}

// diver makes a diver from its disc: 4 mm of ABS plastic and a lead weight a quarter of
// the disc across, 10 mm thick.
func diver(id, kind string, d, ring, trip float64) sternfan.Diver {
	const text = "assumed: 4 mm of ABS plastic (1050 kg/m3) and a lead weight (11340 kg/m3) of a quarter of the disc across, 10 mm thick"
	plastic := circle(d) * .004
	lead := circle(d/4) * .010
	out := sternfan.Diver{
		Item:              sternfan.Item{ID: id, Kind: kind},
		Diameter:          exact(unit.Length(d), "the size by which it is named"),
		Mass:              q(unit.Mass(plastic*densityABS+lead*densityLead), rel(.25), text),
		Volume:            q(plastic+lead, rel(.15), text),
		NormalCoefficient: q(1.3, rel(.2), "assumed: readings of round plates at 45 deg run from 1.17 without to above 1.5 with edge vortices (Hoerner, from memory)"),
		Incidence:         q(45*unit.Degree, sternfan.Abs(4*math.Pi/180), "assumed: the latched arm holds the disc at about 45 deg"),
		// The plate's pull grows with its area, and the same leader turns a larger plate less.
		Give:            q(.01*(.105/d)*(.105/d), rel(.5), "assumed: half a degree a newton for a 105 mm disc, less for a larger one by its area"),
		DialMarks:       []float64{0, 1, 2, 3, 4},
		DialTilt:        []unit.Angle{0, 17 * unit.Degree, 34 * unit.Degree, 49 * unit.Degree, 60 * unit.Degree},
		DialTiltScatter: rel(.15),
		Ratchet:         exact(0.0, "assumed: the dial turns freely"),
		TrippedArea:     q(unit.Area(.1*circle(d)), rel(.4), "assumed: a disc nearly edge on, a tenth of its area"),
		TripLoad:        q(unit.Force(trip), rel(.3), "assumed"),
	}
	if ring > 0 {
		out.RingDiameter = q(unit.Length(ring), rel(.03), "assumed: a third wider than the disc")
	}
	return out
}

func defaultBoards() []sternfan.Board {
	return []sternfan.Board{{
		Item:     sternfan.Item{ID: "board-in-line", Kind: "in-line"},
		Mass:     q(unit.Mass(.28), rel(.2), "assumed: a foamed board 260 x 85 x 30 mm with a keel weight"),
		Volume:   q(.26*.085*.030, rel(.1), "assumed: 260 x 85 x 30 mm"),
		Height:   exact(unit.Length(.085), "assumed: 85 mm high"),
		LiftArea: q(unit.Area(.26*.06*.7), rel(.3), "assumed: 260 x 60 mm in the water at a lift coefficient of 0.7"),
		DragArea: q(unit.Area(.26*.06*.35), rel(.3), "assumed: 260 x 60 mm in the water at a drag coefficient of 0.35"),
		TripLoad: q(unit.Force(25), rel(.3), "assumed"),
	}, {
		Item:     sternfan.Item{ID: "board-mast", Kind: "mast"},
		Mass:     q(unit.Mass(5), rel(.2), "assumed: two planks of pine, 900 x 280 x 20 mm"),
		Volume:   q(2*.9*.28*.02, rel(.1), "assumed: two planks 900 x 280 x 20 mm"),
		Height:   exact(unit.Length(.28), "assumed: 280 mm high"),
		LiftArea: q(unit.Area(2*.9*.2*.6), rel(.3), "assumed: two planks 900 x 200 mm in the water at a lift coefficient of 0.6"),
		DragArea: q(unit.Area(2*.9*.2*.25), rel(.3), "assumed: two planks 900 x 200 mm in the water at a drag coefficient of 0.25"),
		TripLoad: q(unit.Force(200), rel(.3), "assumed"),
	}}
}

const leadText = "lead 11340 kg/m3, tables of materials"

func ball(id, kind string, pounds float64) sternfan.Ball {
	b := sternfan.Ball{Item: sternfan.Item{ID: id, Kind: kind},
		Mass:    q(unit.Mass(pounds*lb), rel(.02), "the weight by which it is named"),
		Density: q(unit.Density(densityLead), rel(.02), leadText),
	}
	d := math.Cbrt(pounds * lb / densityLead * 6 / math.Pi)
	switch kind {
	case "finned":
		b.DragArea = q(unit.Area(.5*circle(d)), rel(.25), "assumed: a ball's 0.47 and a fin's friction, 0.5 of the ball's section")
	case "torpedo":
		b.DragArea = q(unit.Area(.2*circle(.75*d)), rel(.3), "assumed: a slender body of three quarters of the ball's diameter, 0.2 of its section with fins")
	}
	return b
}

func defaultBalls() []sternfan.Ball {
	return []sternfan.Ball{
		ball("ball-round-10", "round", 10),
		ball("ball-round-12", "round", 12),
		ball("ball-finned-12", "finned", 12),
		ball("ball-torpedo-12", "torpedo", 12),
		ball("ball-finned-15", "finned", 15),
	}
}

func weight(id string, ounces, coefficient float64) sternfan.Weight {
	m := ounces * oz
	d := math.Cbrt(m / densityLead * 6 / math.Pi)
	return sternfan.Weight{Item: sternfan.Item{ID: id},
		Mass:     q(unit.Mass(m), rel(.03), "the weight by which it is named"),
		Density:  q(unit.Density(densityLead), rel(.02), leadText),
		DragArea: q(unit.Area(coefficient*circle(d)), rel(.3), "assumed: on the section of a lead ball of that mass"),
	}
}

func defaultWeights() []sternfan.Weight {
	return []sternfan.Weight{
		weight("sinker-2oz", 2, .4), weight("sinker-4oz", 4, .4), weight("sinker-8oz", 8, .4),
		weight("clip-1oz", 1, 1), weight("clip-3oz", 3, 1),
	}
}

func defaultAttractors() []sternfan.Attractor {
	const (
		rotating = "assumed: a blade going around shows about a third of its area to the flow at 1.17 (a plate across, Hoerner, from memory)"
		swaying  = "assumed: a blade swaying 20 deg to both sides shows about a fifth of its area to the flow at 1.17 (a plate across, Hoerner, from memory)"
	)
	make := func(id, mode string, inches, width float64) sternfan.Attractor {
		c, text := .40, rotating
		if mode == "swaying" {
			c, text = .25, swaying
		}
		area := .9 * inches * inch * width
		return sternfan.Attractor{Item: sternfan.Item{ID: id, Kind: mode},
			PlateArea:   q(unit.Area(area), rel(.05), "assumed: 90 % of length by width"),
			Coefficient: q(c, rel(.3), text),
			Mass:        q(unit.Mass(area*.002*densityABS*1.1), rel(.2), "assumed: 2 mm of plastic with its hardware"),
			Density:     q(unit.Density(densityABS*1.1), rel(.1), "assumed: ABS plastic, 1050 kg/m3, with its hardware"),
			Length:      exact(unit.Length(inches*inch), "the size by which it is named"),
		}
	}
	dodger := make("dodger-8in", "swaying", 8, .065)
	dodger.Mass = q(unit.Mass(float64(dodger.PlateArea.Value)*.0008*densityBrass), rel(.2), "assumed: 0.8 mm of brass")
	dodger.Density = q(unit.Density(densityBrass), rel(.02), "brass 8500 kg/m3, tables of materials")
	return []sternfan.Attractor{
		make("flasher-8in", "rotating", 8, .060),
		make("flasher-11in", "rotating", 11, .080),
		dodger,
		make("paddle-10in", "rotating", 10, .070),
	}
}

func defaultSnubbers() []sternfan.Snubber {
	// Surgical tubing of latex, 930 kg/m3, modulus about 1.5 MPa; 8 mm outside, 3 mm inside.
	snubber := func(id string, inches float64) sternfan.Snubber {
		area := circle(.008) - circle(.003)
		return sternfan.Snubber{Item: sternfan.Item{ID: id},
			Length:    exact(unit.Length(inches*inch), "the size by which it is named"),
			Diameter:  q(unit.Length(.008), rel(.1), "assumed: 8 mm rubber tubing with a stop cord inside"),
			Mass:      q(unit.LinearDensity(area*930+circle(.003)*fresh), rel(.1), "assumed: latex 930 kg/m3, the bore full of water"),
			Stiffness: q(unit.Force(1.5e6*area), rel(.3), "assumed: latex of 1.5 MPa"),
		}
	}
	return []sternfan.Snubber{snubber("snubber-12in", 12), snubber("snubber-18in", 18)}
}
