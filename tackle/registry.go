package tackle

import (
	"slices"
	"strings"

	"sternfan"
	"sternfan/num"
	"sternfan/portable"
)

// The parameters that a registry entry moves, as [sternfan.Entry.Param] names them.
const (
	ParamSpeed     = "speed"
	ParamCurrent   = "current"
	ParamBottom    = "bottom"
	ParamFleas     = "fleas"
	ParamDiameter  = "diameter"
	ParamNormal    = "normal"
	ParamFriction  = "friction"
	ParamMass      = "mass"
	ParamIncidence = "incidence"
	ParamGive      = "give"
	ParamTilt      = "tilt"
	ParamDrag      = "drag"
	ParamDown      = "down"
	ParamLift      = "lift"
	ParamCounter   = "counter"
	ParamDial      = "dial"
	ParamLead      = "lead"
	ParamSetLoad   = "load"
)

// score80 is the standard normal score of the 90th percentile: an 80 % range is twice
// that many standard deviations wide.
const score80 = 1.2815515655446004

// registry collects the uncertain inputs, each once.
type registry struct {
	entries []sternfan.Entry
	index   map[string]int
}

// add returns the index of the entry, making it when it is new. first is put before the
// parameter: "line", a rod's "rod"; target may be "".
func (g *registry) add(first, target, param string, scope sternfan.Scope, nominal float64, unitName string, s sternfan.Scatter, source string) int {
	name := sternfan.EntryName(first, target, param)
	if i, ok := g.index[name]; ok {
		return i
	}
	if g.index == nil {
		g.index = map[string]int{}
	}
	i := len(g.entries)
	g.index[name] = i
	if source == "" {
		source = "given"
	}
	g.entries = append(g.entries, sternfan.Entry{Name: name, Param: param, Target: target, Scope: scope, Nominal: nominal, Unit: unitName, Scatter: s, Source: source})
	return i
}

// adjust applies the file's overrides and calibrations. One that names gear which is not
// in use today is kept for another day; a name that could never match is a fault.
func (r *resolver) adjust() {
	for i, o := range r.sc.Uncertainty {
		k, ok := r.reg.index[o.Name]
		if !ok {
			r.strange(o.Name, "uncertainty["+itoa(i)+"].name")
			continue
		}
		e := &r.reg.entries[k]
		e.Scatter = o.Scatter
		if o.Source != "" {
			e.Source = o.Source
		}
	}
	used, latest := 0, ""
	calibrated := make([]bool, len(r.reg.entries))
	for i, c := range r.sc.Calibrations {
		if c.Off {
			continue
		}
		k, ok := r.reg.index[c.Name]
		if !ok {
			r.strange(c.Name, "calibrations["+itoa(i)+"].name")
			continue
		}
		e := &r.reg.entries[k]
		if c.Scale != 0 {
			e.Nominal *= c.Scale
		}
		e.Nominal += c.Shift
		// A measurement that does not say how good it was is not therefore exact.
		if c.Scatter.Kind != sternfan.Exact {
			e.Scatter = c.Scatter
		}
		e.Source = strings.TrimSpace("calibrated " + c.Dated + " " + c.Source)
		e.Corr, calibrated[k] = c.Corr, true
		used++
		latest = max(latest, c.Dated)
	}
	r.ties(calibrated)
	if used > 0 {
		text := itoa(used) + " calibrations of the boat's own numbers are in use"
		if used == 1 {
			text = "1 calibration of the boat's own numbers is in use"
		}
		if latest != "" {
			text += ", the latest of " + latest
		}
		r.note("calibrated", text)
	}
}

// ties leaves only the correlations between calibrations that are both in use, and finds
// those that cannot be.
func (r *resolver) ties(calibrated []bool) {
	entries := r.reg.entries
	n := len(entries)
	tied := false
	for i := range entries {
		var keep []sternfan.Correlation
		for _, c := range entries[i].Corr {
			k, ok := r.reg.index[c.With]
			if ok && k != i && calibrated[k] {
				keep = append(keep, c)
			}
		}
		entries[i].Corr = keep
		tied = tied || len(keep) > 0
	}
	if !tied {
		return
	}
	m := make([]float64, n*n)
	for i := range entries {
		m[i*n+i] = 1
		for _, c := range entries[i].Corr {
			k := r.reg.index[c.With]
			m[i*n+k], m[k*n+i] = c.Rho, c.Rho
		}
	}
	if !num.Cholesky(m, n) {
		r.fault(sternfan.Fault{Code: "out-of-range", Path: "calibrations", Text: "the correlations of the calibrations contradict one another",
			Hint: "switch off all calibrations of one mark, or take their correlations out"})
	}
}

// registryWords are the parameters by what they are of.
var registryWords = map[string][]string{
	"":     {ParamSpeed, ParamCurrent, ParamBottom, ParamFleas},
	"line": {ParamDiameter, ParamNormal, ParamFriction, ParamMass}, "diver": {ParamNormal, ParamIncidence, ParamGive, ParamTilt},
	"lure": {ParamDrag, ParamMass, ParamDown}, "attractor": {ParamDrag}, "weight": {ParamDrag}, "ball": {ParamDrag}, "board": {ParamLift, ParamDrag},
	"rod": {ParamCounter, ParamDial, ParamLead, ParamSetLoad}, "downrigger": {ParamCounter}, "mastboard": {ParamCounter},
}

func (r *resolver) strange(name, path string) {
	of, _, param := sternfan.SplitEntryName(name)
	if slices.Contains(registryWords[of], param) {
		return
	}
	w := strings.Fields(name)
	var allowed []string
	for _, e := range r.reg.entries {
		if len(w) == 0 || strings.HasPrefix(e.Name, w[0]) || len(allowed) < 8 {
			allowed = append(allowed, e.Name)
		}
	}
	r.fault(sternfan.Fault{Code: "unknown-name", Path: path, Text: "there is no uncertain input of this name", Found: name, Allowed: allowed})
}

// dist is an entry as the builder reads it.
type dist struct {
	nominal float64
	spread  sternfan.Scatter
}

// value returns entry i in a world; i < 0 never happens there.
func (m *Model) value(i int, world []float64) float64 {
	d := &m.dists[i]
	if world == nil || world[i] == 0 {
		return d.nominal
	}
	return d.spread.At(d.nominal, world[i])
}

func square(x float64) float64 { return x * x }

// combine returns the standard deviation of two independent ones.
func combine(a, b float64) float64 { return portable.Hypot(a, b) }
