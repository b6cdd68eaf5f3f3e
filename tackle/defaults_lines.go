package tackle

import (
	"math"

	"sternfan"
	"sternfan/portable"
	"sternfan/unit"
)

// Densities in kg/m3, from general tables of materials.
const (
	densityNylon     = 1140.0
	densityPVDF      = 1770.0
	densityUHMWPE    = 970.0
	densityCopper    = 8960.0
	densityStainless = 7930.0
	densityLead      = 11340.0
	densityBrass     = 8500.0
	densityABS       = 1050.0
)

// Kinds of line.
const (
	lineMono          = "mono"
	lineFluorocarbon  = "fluorocarbon"
	lineBraid         = "braid"
	lineLeadCore      = "lead-core"
	lineCopper        = "copper"
	lineWeightedSteel = "weighted-steel"
	lineWire          = "wire"
	lineCable         = "cable"
)

// material is what a kind of line is made of, as far as a mass follows from a diameter:
// fill is the part of the outer circle that is material, the rest holds water.
type material struct {
	density, fill float64
	cf            float64
	source        string
}

// strand is the part of its outer circle that seven round strands fill: 7/9.
const strand = 7.0 / 9

var materials = map[string]material{
	lineMono:          {densityNylon, 1, 0.015, "nylon 1140 kg/m3, tables of materials"},
	lineFluorocarbon:  {densityPVDF, 1, 0.015, "PVDF 1770 kg/m3, tables of materials"},
	lineBraid:         {densityUHMWPE, 0.7, 0.025, "UHMWPE 970 kg/m3, tables of materials; 70 % of the circle fiber (assumed), the rest water"},
	lineCopper:        {densityCopper, strand, 0.02, "copper 8960 kg/m3, tables of materials; seven strands, the gaps hold water"},
	lineWeightedSteel: {densityStainless, strand, 0.02, "stainless steel 7930 kg/m3, tables of materials; seven strands, the gaps hold water"},
	lineWire:          {densityStainless, strand, 0.02, "stainless steel 7930 kg/m3, tables of materials; seven strands, the gaps hold water"},
	lineCable:         {densityStainless, strand, 0.02, "stainless steel 7930 kg/m3, tables of materials; seven strands, the gaps hold water"},
}

// massFollows begins the source of a mass that was reckoned from the diameter, so that an
// uncertain diameter moves it too.
const massFollows = "from the diameter: "

// massPerMetre returns the mass of a wet line with the water between its strands: a dry
// strand floats by that water, a wet one does not.
func (m material) massPerMetre(d float64) float64 {
	return circle(d) * (m.fill*m.density + (1-m.fill)*fresh)
}

const (
	monoTable  = "a retailer's general table of diameters by label strength, seen; 12 %"
	braidTable = "diameters of braid by label strength, from memory; 15 %"
	cfSource   = "assumed: 0.01 to 0.04 on the wetted area, rough and braided lines at the upper end"
	strumText  = "assumed: no vibration; a vibrating line drags more"
	labelText  = "label strength; less at a knot or kink"
)

// lineOf makes a line of one material with the mass that its diameter gives.
func lineOf(id, kind string, d, dRel float64, dSource string, strength, modulus float64) sternfan.Line {
	m := materials[kind]
	massRel := 0.02
	if m.fill < 1 {
		massRel = 0.06
	}
	return sternfan.Line{
		Item:        sternfan.Item{ID: id, Kind: kind},
		Diameter:    q(unit.Length(d), rel(dRel), dSource),
		Mass:        q(unit.LinearDensity(m.massPerMetre(d)), rel(massRel), massFollows+m.source),
		Stiffness:   exact(unit.Force(modulus*m.fill*circle(d)), "assumed: modulus of the material times its section"),
		Strength:    exact(unit.Force(strength*lbf), labelText),
		NormalScale: q(1.0, rel(0.12), strumText),
		Friction:    q(m.cf, rel(0.3), cfSource),
	}
}

// Young's moduli in Pa, from general tables of materials; braid lies at an angle and is softer.
const (
	modulusNylon  = 2.5e9
	modulusPVDF   = 2.0e9
	modulusBraid  = 30e9
	modulusCopper = 110e9
	modulusSteel  = 150e9
)

// metalDiameter returns the outer diameter of a seven-strand line from its strength in
// pounds and the strength of its metal in Pa.
func metalDiameter(pounds, tensile float64) float64 {
	return math.Sqrt(pounds * lbf / tensile / strand * 4 / math.Pi)
}

func defaultLines() []sternfan.Line {
	const (
		wireText   = "assumed: seven strands of stainless steel at 1500 MPa carry the label strength; 8 %"
		copperText = "assumed: seven strands of hard copper at 350 MPa carry the label strength; 7 %"
		softText   = "assumed: seven strands of soft stainless steel at 900 MPa carry the label strength; 12 %"
		cableText  = "assumed: seven strands of stainless steel at 1500 MPa carry the label strength; 10 %"
	)
	lines := []sternfan.Line{
		lineOf("mono-12", lineMono, .013*inch, .12, monoTable, 12, modulusNylon),
		lineOf("mono-17", lineMono, .015*inch, .12, monoTable, 17, modulusNylon),
		lineOf("mono-20", lineMono, .016*inch, .12, monoTable, 20, modulusNylon),
		lineOf("mono-30", lineMono, .020*inch, .12, monoTable, 30, modulusNylon),
		lineOf("fluoro-20", lineFluorocarbon, .016*inch, .12, "assumed as mono of that label: "+monoTable, 20, modulusPVDF),
		lineOf("fluoro-30", lineFluorocarbon, .020*inch, .12, "assumed as mono of that label: "+monoTable, 30, modulusPVDF),
		lineOf("braid-30", lineBraid, .011*inch, .15, braidTable, 30, modulusBraid),
		lineOf("braid-50", lineBraid, .014*inch, .15, braidTable, 50, modulusBraid),
		lineOf("wire-30", lineWire, metalDiameter(30, 1500e6), .08, wireText, 30, modulusSteel),
		solidWire(),
		// The sheath carries the label strength at 600 MPa and fills 70 % of its ring; lead
		// fills 80 % of the room inside.
		leadCore("lead-core-27", 27, .030*inch),
		leadCore("lead-core-18", 18, .026*inch),
		lineOf("copper-32", lineCopper, metalDiameter(32, 350e6), .07, copperText, 32, modulusCopper),
		lineOf("copper-45", lineCopper, metalDiameter(45, 350e6), .07, copperText, 45, modulusCopper),
		lineOf("weighted-steel-45", lineWeightedSteel, metalDiameter(45, 900e6), .12, softText, 45, modulusSteel),
		lineOf("rigger-cable-150", lineCable, metalDiameter(150, 1500e6), .10, cableText, 150, modulusSteel),
		lineOf("rigger-braid-200", lineBraid, .028*inch, .15, "assumed: the 65 lb braid's section in proportion to strength", 200, modulusBraid),
	}
	return lines
}

// solidWire is one stainless steel wire of the gauge that carries 30 lb.
func solidWire() sternfan.Line {
	// AWG 28 by ASTM B258, 0.005 in x 92^((36-n)/39).
	d := .005 * inch * portable.Pow(92, 8.0/39)
	l := lineOf("solid-wire-30", lineWire, d, .02, "AWG 28 by ASTM B258; 30 lb on it is 1650 MPa", 30, modulusSteel)
	l.Mass = q(unit.LinearDensity(densityStainless*circle(d)), rel(.01), massFollows+"stainless steel 7930 kg/m3, tables of materials")
	l.Stiffness = exact(unit.Force(190e9*circle(d)), "steel 190 GPa, tables of materials")
	l.Friction = q(0.015, rel(.3), cfSource)
	l.Solid = exact(1.0, "one solid wire")
	return l
}

func leadCore(id string, pounds, d float64) sternfan.Line {
	sheath := pounds * lbf / 600e6
	lead := 0.8 * (circle(d) - sheath/0.7)
	water := circle(d) - sheath - lead
	return sternfan.Line{
		Item:     sternfan.Item{ID: id, Kind: lineLeadCore},
		Diameter: q(unit.Length(d), rel(.06), "outer diameter from memory; 6 %"),
		Mass: q(unit.LinearDensity(lead*densityLead+sheath*densityNylon+water*fresh), rel(.12),
			massFollows+"assumed: a nylon sheath of 600 MPa, 70 % full, carries the label strength; lead 11340 kg/m3 (tables of materials) fills 80 % of the room inside. Weigh one color and enter it"),
		Stiffness:   exact(unit.Force(modulusNylon*sheath), "assumed: the nylon sheath alone"),
		Strength:    exact(unit.Force(pounds*lbf), labelText),
		NormalScale: q(1.0, rel(.12), strumText),
		Friction:    q(0.03, rel(.3), cfSource),
	}
}

func defaultReels() []sternfan.Reel {
	const text = "assumed: a reel of this class"
	reel := func(id, backing string, arbor, flange, width float64) sternfan.Reel {
		return sternfan.Reel{Item: sternfan.Item{ID: id},
			Arbor:   q(unit.Length(arbor), rel(.05), text),
			Flange:  q(unit.Length(flange), rel(.03), text),
			Width:   q(unit.Length(width), rel(.03), text),
			Backing: backing, BackingLength: exact(unit.Length(0), "assumed: no backing"),
		}
	}
	return []sternfan.Reel{
		reel("reel-line-counter-medium", "", .032, .058, .044),
		reel("reel-line-counter-large", "", .036, .070, .054),
		reel("reel-copper-extra-large", "", .045, .100, .066),
	}
}
