package sternfan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sternfan/unit"
	"sternfan/water"
)

// Proposal is what a temperature profile says of the depths for some species.
type Proposal struct {
	Bands []ProposedBand `json:"bands"`
	Notes []Warning      `json:"notes,omitempty"` // species without a band and why, and what else to know
}

// ProposedBand is a depth band with where it comes from.
type ProposedBand struct {
	Band
	Species  string
	TempFrom unit.Temperature // coldest and warmest water looked for
	TempTo   unit.Temperature
	Basis    Basis
	Source   string
	Reason   string // in words, in the person's units
}

const (
	// leastBand is the thinnest band proposed, m: in a sharp thermocline the right water
	// is thinner than a lure's depth is known. It is grown upward, since fish look up.
	// Assumed.
	leastBand = 3.0
	// alike is the difference within which water is of one temperature for a fish, deg C.
	// Assumed.
	alike = 1.0
)

// ProposeBands returns the depths at which the profile, ascending in depth, has the water
// that each species is looked for in, with the reason in words. A bottom of 0 is not
// known. Below its last point the profile says nothing, so no band goes deeper. When no
// depth has the right water, the depths nearest to it are proposed and the reason says
// so; when all depths are alike, a note says that temperature does not choose.
//
// The weight of a species is shared among its bands by their height.
func ProposeBands(profile []TempPoint, bottom unit.Length, species []Species, u unit.System) Proposal {
	var out Proposal
	note := func(code, hint, format string, args ...any) {
		out.Notes = append(out.Notes, Warning{Code: code, Text: fmt.Sprintf(format, args...), Hint: hint})
	}
	c := measured(profile, float64(bottom))
	if len(species) > 0 && len(c.z) < 2 {
		note("no-profile", "give temperatures at several depths", "one temperature does not tell one depth from another")
		return out
	}
	for _, s := range species {
		full, ok := s.Filled()
		if !ok {
			note("unknown-species", "give it from and to under wants.species", "no temperatures are known for %s", full.Name)
			continue
		}
		lo, hi := float64(full.From.Value)-full.Allow, float64(full.To.Value)+full.Allow
		coldest, warmest := slices.Min(c.t), slices.Max(c.t)
		if warmest-coldest < alike {
			note("same-water", "look for bait and marks", "the water is %s at every depth measured: temperature does not choose a depth for %s",
				u.Temperature(unit.Temperature(warmest)), full.Name)
			continue
		}
		switch {
		case coldest > hi:
			out.add(&full, c, coldest, coldest+alike, "the coldest measured and warmer than", u)
		case warmest < lo:
			out.add(&full, c, warmest-alike, warmest, "the warmest measured and colder than", u)
		default:
			out.add(&full, c, lo, hi, "", u)
		}
	}
	return out
}

// add proposes the depths between two temperatures; why is empty when they are those
// looked for.
func (p *Proposal) add(s *Species, c column, lo, hi float64, why string, u unit.System) {
	spans := c.within(lo, hi)
	weight, total := s.Weight, 0.0
	if weight == 0 {
		weight = 1
	}
	for i := range spans {
		span := &spans[i]
		if span[1]-span[0] < leastBand {
			span[0] = math.Max(0, span[1]-leastBand)
			span[1] = math.Max(span[1], math.Min(leastBand, c.end()))
		}
		total += span[1] - span[0]
	}
	for _, span := range spans {
		b := ProposedBand{
			Band:    Band{From: unit.Length(span[0]), To: unit.Length(span[1]), Weight: weight * (span[1] - span[0]) / total},
			Species: s.Name, Basis: s.Basis, Source: s.Source,
			TempFrom: s.From.Value - unit.Temperature(s.Allow), TempTo: s.To.Value + unit.Temperature(s.Allow),
		}
		water, depths := pair(unit.TemperatureStyle, float64(b.TempFrom), float64(b.TempTo), u), pair(unit.DepthStyle, span[0], span[1], u)
		b.Reason = fmt.Sprintf("%s: water of %s lies at %s", s.Name, water, depths)
		if why != "" {
			b.Reason = fmt.Sprintf("%s: %s water at %s is %s the %s looked for", s.Name, pair(unit.TemperatureStyle, lo, hi, u), depths, why, water)
		}
		if c.end()-span[1] < 0.01 && c.open {
			b.Reason += ", where the profile ends"
		}
		b.Reason += " (" + s.ground(u) + ")"
		p.Bands = append(p.Bands, b)
	}
}

// ground says in words how good the ground for a species' temperatures is.
func (s *Species) ground(u unit.System) string {
	switch s.Basis {
	case BasisUnverified:
		return "unverified; " + s.Source
	case BasisOwn:
		words := []string{"your own entry", s.Source, s.Dated}
		return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), ", ")
	}
	text := s.Source
	if s.Allow > 0 {
		text += fmt.Sprintf("; %s, and %s to either side, assumed", pair(unit.TemperatureStyle, s.From.SI(), s.To.SI(), u), degrees(s.Allow, u))
	}
	return text
}

// pair returns a range with its unit: "49-62 ft"; one number when both ends read alike.
func pair(style unit.Style, from, to float64, u unit.System) string {
	a, _ := u.Split(style, from)
	if b := u.Text(style, to); b != u.Text(style, from) {
		return a + "-" + b
	}
	return u.Text(style, from)
}

// degrees returns a difference of temperature.
func degrees(celsius float64, u unit.System) string {
	if u == unit.US {
		return fmt.Sprintf("%.0f°F", celsius*1.8)
	}
	return fmt.Sprintf("%.1f°C", celsius)
}

// column is a measured profile from the surface down, m and deg C.
type column struct {
	z, t []float64
	open bool // it ends above the bottom, or the bottom is not known
}

// measured returns the profile from the surface to its last point or the bottom. Water
// above its first point counts as that point's.
func measured(profile []TempPoint, bottom float64) column {
	c := column{open: true}
	for _, p := range profile {
		z, t := float64(p.Depth), float64(p.Temperature)
		n := len(c.z)
		if !(z >= 0) || math.IsInf(z, 0) || math.IsNaN(t) || math.IsInf(t, 0) || n > 0 && z <= c.z[n-1] {
			continue
		}
		if n == 0 && z > 0 {
			c.z, c.t, n = append(c.z, 0), append(c.t, t), 1
		}
		if bottom > 0 && z >= bottom {
			c.open = false
			if n > 0 {
				there := water.Interpolate([]float64{c.z[n-1], z}, []float64{c.t[n-1], t}, bottom)
				c.z, c.t = append(c.z, bottom), append(c.t, there)
			}
			break
		}
		c.z, c.t = append(c.z, z), append(c.t, t)
	}
	return c
}

func (c *column) end() float64 { return c.z[len(c.z)-1] }

// within returns the depths at which the temperature is from lo to hi, joined where they
// meet.
func (c *column) within(lo, hi float64) [][2]float64 {
	var out [][2]float64
	for i := 1; i < len(c.z); i++ {
		from, to := 0.0, 1.0 // of the piece
		t0, dt := c.t[i-1], c.t[i]-c.t[i-1]
		switch {
		case dt == 0 && (t0 < lo || t0 > hi):
			continue
		case dt != 0:
			a, b := (lo-t0)/dt, (hi-t0)/dt
			from, to = math.Max(0, math.Min(a, b)), math.Min(1, math.Max(a, b))
		}
		if from > to {
			continue
		}
		h := c.z[i] - c.z[i-1]
		span := [2]float64{c.z[i-1] + from*h, c.z[i-1] + to*h}
		if n := len(out); n > 0 && span[0]-out[n-1][1] < 1e-6 {
			out[n-1][1] = span[1]
		} else {
			out = append(out, span)
		}
	}
	return out
}

// WantedBands returns the bands to lay a spread for: those of the file, and where it
// gives none those that its temperatures and species propose.
func (sc *Scenario) WantedBands(u unit.System) Proposal {
	if len(sc.Wants.Bands) == 0 {
		return ProposeBands(sc.Water.Temperature, sc.Water.Bottom.Value, sc.Wants.Species, u)
	}
	var out Proposal
	for _, b := range sc.Wants.Bands {
		out.Bands = append(out.Bands, ProposedBand{Band: b, Basis: BasisOwn, Source: "the file",
			Reason: pair(unit.DepthStyle, float64(b.From), float64(b.To), u) + " is wanted in the file"})
	}
	return out
}

// warmRelease is the surface temperature from which released lake trout died more often,
// deg C.
const warmRelease = 10

// ReleaseCaution returns what is known of lake trout released into water of the
// profile's surface temperature, when they are fished for; nil when they are not or no
// temperature is known.
//
// Source: Sitar, Brenden, He & Johnson 2017, N. Am. J. Fish. Manage. 37:789-808, abstract:
// of fish released in Lake Superior 15.0 % died at surface temperatures below 10 C, 42.6 %
// at 10 to 16 C and 43.3 % above; in Lake Huron 52.5, 45.2 and 76.4 %.
func ReleaseCaution(profile []TempPoint, species []Species, u unit.System) *Warning {
	if len(profile) == 0 || !slices.ContainsFunc(species, func(s Species) bool { return s.Is("lake trout") }) {
		return nil
	}
	top := profile[0].Temperature
	const study = "(Lake Superior, Sitar et al. 2017)"
	if float64(top) < warmRelease {
		return &Warning{Code: "release", Text: fmt.Sprintf("in surface water below %s about 3 in 20 released lake trout died %s; here it is %s",
			u.Temperature(warmRelease), study, u.Temperature(top)), Hint: "keep the fight and the time out of the water short; local rules decide what must go back"}
	}
	return &Warning{Code: "release", Text: fmt.Sprintf("the surface is %s: above %s about 2 in 5 released lake trout died %s, below it 3 in 20",
		u.Temperature(top), u.Temperature(warmRelease), study), Hint: "stop once you have what you may keep, rather than sort through fish; local rules decide what must go back"}
}
