package sternfan

import (
	"slices"
	"strings"

	"sternfan/unit"
)

// Basis says how far a species' temperatures are to be trusted.
type Basis string

// The bases.
const (
	BasisPublished  Basis = "published"  // a study, named in the source
	BasisUnverified Basis = "unverified" // common practice; nobody checked it for this project
	BasisOwn        Basis = "own"        // entered by the person
)

// Species is a kind of fish and the water temperatures it is looked for in. It is advice
// and never a rule: fish are where their food is. A member not given in the file comes
// from [SpeciesAdvice].
type Species struct {
	Name     string
	Also     []string // other names of the same fish
	From, To Q[unit.Temperature]
	Allow    float64 // degrees Celsius taken to either side of From and To
	Weight   float64 // of its depths against those of other species; 0 counts as 1
	Basis    Basis
	Source   string
	Dated    string // of an own entry
}

// aside is how many degrees Celsius are taken to either side of a published mean or
// point, which is no range. Assumed: the studies' catches scatter by about as much.
const aside = 2

// SpeciesAdvice returns the built-in temperatures, a copy that the caller may change.
//
// The published ones were read in the papers' abstracts. They are means of where fish
// were caught or chose to be, not limits. The unverified ones are common practice, no
// source.
func SpeciesAdvice() []Species {
	celsius := func(v float64) Q[unit.Temperature] { return Of(unit.Temperature(v)) }
	ontario := "Stewart & Bowlby 2009, J. Great Lakes Res. 35:232-238: mean temperature at which they were caught in August and September, Lake Ontario"
	unverified := func(name string, from, to float64, also ...string) Species {
		return Species{Name: name, Also: also, From: celsius(from), To: celsius(to), Basis: BasisUnverified, Source: "common practice, no source"}
	}
	return []Species{
		{Name: "Chinook salmon", Also: []string{"chinook", "king salmon", "king"}, From: celsius(13), To: celsius(14), Allow: aside, Basis: BasisPublished, Source: ontario},
		{Name: "rainbow trout", Also: []string{"rainbow", "steelhead"}, From: celsius(13), To: celsius(14), Allow: aside, Basis: BasisPublished, Source: ontario},
		{Name: "lake trout", Also: []string{"laker"}, From: celsius(10.1), To: celsius(10.2), Allow: aside, Basis: BasisPublished,
			Source: "Edsall & Cleland 2000, N. Am. J. Fish. Manage. 20:804-809: final preferred temperature of young lake trout in a tank"},
		unverified("coho salmon", 11, 14, "coho"),
		unverified("Atlantic salmon", 12, 16),
		unverified("pink salmon", 10, 14),
		unverified("brown trout", 13, 18, "brown"),
		unverified("walleye", 17, 22),
	}
}

// Filled returns the species with what was not given taken from [SpeciesAdvice] by name,
// and whether its temperatures are known then. Both ends of a range are the person's or
// neither is.
func (s Species) Filled() (Species, bool) {
	if s.From.Given && s.To.Given {
		if s.Basis == "" {
			s.Basis = BasisOwn
		}
		return s, true
	}
	for _, known := range SpeciesAdvice() {
		if !s.Is(known.Name) {
			continue
		}
		s.From, s.To, s.Allow, s.Also, s.Basis = known.From, known.To, known.Allow, known.Also, known.Basis
		s.Source = known.Source
		return s, true
	}
	return s, false
}

// fishName takes case, hyphens and the plural out of a name.
func fishName(name string) string {
	name = strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(name, "-", " "))), " ")
	return strings.TrimSuffix(name, "s")
}

// Is reports whether the fish has a name in [SpeciesAdvice] or, failing that, is called so:
// a steelhead is a rainbow trout.
func (s Species) Is(name string) bool { return properName(s.Name) == properName(name) }

// properName returns the name under which a fish stands in the advice, or its own.
func properName(name string) string {
	name = fishName(name)
	for _, k := range SpeciesAdvice() {
		if fishName(k.Name) == name || slices.ContainsFunc(k.Also, func(a string) bool { return fishName(a) == name }) {
			return fishName(k.Name)
		}
	}
	return name
}
