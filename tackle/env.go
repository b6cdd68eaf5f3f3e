package tackle

import (
	"errors"
	"math"

	"sternfan"
	"sternfan/tow"
	"sternfan/water"
)

// What is assumed of the water and of fleas.
const (
	assumedTemperature = 10 // deg C
	speedSD            = 0.05
	currentRel         = 0.25
	bottomRel          = 0.03
	fleasRel           = 0.5
	fleasTo            = 20.0 // m
	fleasLight         = 0.0004
	fleasHeavy         = 0.003
	// Fleas hardly sink: a little denser than water.
	fleasDensity = 1020.0
)

// water makes the column and the entries common to the boat.
func (r *resolver) water() {
	m, sc := r.model, r.sc
	m.speedAt, m.currentAt, m.bottomAt, m.fleasAt = -1, -1, -1, -1
	if s := r.same; s != nil {
		m.spec, m.current, m.column = s.spec, s.current, s.column
		r.boatEntries()
		return
	}
	m.spec = water.Spec{Heading: sc.Heading.Value}
	if sc.Water.Density.Given {
		m.spec.Rho = sc.Water.Density.SI()
	}
	points := sc.Water.Temperature
	if len(points) == 0 && sc.Water.Profile != "" {
		r.fault(sternfan.Fault{Code: "missing", Path: "water.profile", Text: "this profile's file was not read", Found: sc.Water.Profile, Hint: "give the temperatures themselves under water.temperature"})
		return
	}
	if len(points) == 0 && !(sc.Water.Density.Given && sc.Water.Viscosity.Given) {
		points = []water.TemperaturePoint{{Temperature: assumedTemperature}}
		r.note("temperature", "no water temperature given: 50 °F (10 °C) assumed at every depth")
	}
	if len(points) > 0 {
		p, err := water.NewProfile(points)
		if err != nil {
			r.waterFault(err, "water.temperature")
			return
		}
		m.spec.Temperature = p
	}
	if sc.Water.Viscosity.Given {
		rho := m.spec.Rho
		if rho == 0 {
			rho = water.Density(float64(points[0].Temperature))
		}
		m.spec.Nu = sc.Water.Viscosity.SI() / rho
	}
	m.current = sc.Water.Current
	if len(m.current) > 0 && !sc.Heading.Given {
		r.fault(sternfan.Fault{Code: "missing", Path: "heading", Text: "a current needs the boat's heading"})
	}
	var err error
	if m.spec.Current, err = water.NewCurrent(m.current); err != nil {
		r.waterFault(err, "water.current")
		return
	}
	if m.column, err = water.NewColumn(m.spec); err != nil {
		r.waterFault(err, "water")
		return
	}
	r.boatEntries()
}

func (r *resolver) waterFault(err error, path string) {
	f := sternfan.Fault{Code: "water", Path: path, Text: err.Error()}
	var e *water.Error
	if errors.As(err, &e) {
		if e.Index >= 0 {
			path += "[" + itoa(e.Index) + "]"
		}
		f = sternfan.Fault{Code: e.Code, Path: path, Text: "the " + e.Profile + " cannot be used", Found: e.Found, Allowed: []string{e.Allowed}, Hint: e.Hint}
	}
	r.fault(f)
}

// Temperature returns the temperature of the water at depth z, deg C; false when the
// scenario has none.
func (m *Model) Temperature(z float64) (float64, bool) {
	if len(m.Scenario.Water.Temperature) == 0 {
		return 0, false
	}
	return m.spec.Temperature.At(z), true
}

func (r *resolver) boatEntries() {
	m, sc := r.model, r.sc
	v := sc.Speed.Value
	if !v.Given || !(v.Value > 0) {
		r.fault(sternfan.Fault{Code: "missing", Path: "speed.value", Text: "a speed above zero is needed"})
		return
	}
	m.speed = sc.Speed.Given
	s, source := v.Scatter, v.Source
	if s.Kind == sternfan.Exact {
		s, source = sternfan.Abs(speedSD), "assumed: 0.05 m/s"
	}
	if band := float64(sc.Speed.Band); band > 0 {
		if s.Kind == sternfan.LogNormal {
			s = sternfan.Rel(combine(s.SD, band/score80/v.SI()))
		} else {
			s = sternfan.Abs(combine(s.SD, band/score80))
		}
		source += "; with the band given, its 80 % range"
	}
	m.speedAt = r.reg.add("", "", ParamSpeed, sternfan.ScopeBoat, v.SI(), "m/s", s, source)
	if len(m.current) > 0 {
		m.currentAt = r.reg.add("", "", ParamCurrent, sternfan.ScopeBoat, 1, "times", sternfan.Rel(currentRel), "assumed: 25 % of the whole profile")
	}
	if b := sc.Water.Bottom; b.Given {
		s, source := b.Scatter, b.Source
		if s.Kind == sternfan.Exact {
			s, source = sternfan.Rel(bottomRel), "assumed: 3 % over the run of a lure"
		}
		m.bottomAt = r.reg.add("", "", ParamBottom, sternfan.ScopeBoat, b.SI(), "m", s, source)
	}
	added := 0.0
	switch sc.Water.Fleas {
	case "light":
		added = fleasLight
	case "heavy":
		added = fleasHeavy
	}
	if added > 0 {
		m.fouling = tow.Fouling{To: fleasTo, Diameter: added, Density: fleasDensity}
		m.fleasAt = r.reg.add("", "", ParamFleas, sternfan.ScopeBoat, 1, "times", sternfan.Rel(fleasRel), "assumed: on the mean 0.4 mm (light, which doubles a thin line) or 3 mm (heavy, strung like beads) added to lines down to 20 m")
	}
}

// speedProbe checks that a probe is somewhere.
func (r *resolver) speedProbe() {
	s := &r.sc.Speed
	switch s.Given {
	case sternfan.SpeedSurface, sternfan.SpeedGround:
	case sternfan.SpeedProbe:
		if s.Depth.Given {
			return
		}
		if r.sc.Downrigger(s.Ball) != nil {
			return
		}
		r.fault(sternfan.Fault{Code: "missing", Path: "speed.depth", Text: "a probe's speed needs its depth or the downrigger whose ball carries it", Found: s.Ball})
	default:
		r.fault(sternfan.Fault{Code: "missing", Path: "speed.given", Text: "say which speed this is", Allowed: []string{"surface", "ground", "probe"}})
	}
}

// ProbeDepth returns the depth of the speed probe as far as the scenario says: its depth,
// or the cable out of the downrigger that carries it, which its ball hangs a little
// above. Zero when the speed is not a probe's.
func (m *Model) ProbeDepth() float64 {
	s := &m.Scenario.Speed
	if s.Given != sternfan.SpeedProbe {
		return 0
	}
	if s.Depth.Given {
		return s.Depth.SI()
	}
	if d := m.Scenario.Downrigger(s.Ball); d != nil {
		return d.CableOut.SI()
	}
	return 0
}

// Env returns what the systems are towed through in a world, nil for the nominal one,
// with a probe at [Model.ProbeDepth].
func (m *Model) Env(world []float64) tow.Env { return m.EnvAt(world, m.ProbeDepth()) }

// EnvAt is Env with the speed probe at a depth, m.
func (m *Model) EnvAt(world []float64, probeDepth float64) tow.Env {
	e := tow.Env{Water: m.columnIn(world), Friction: bottomFriction}
	e.Speed = m.surfaceSpeed(e.Water, world, probeDepth)
	if m.bottomAt >= 0 {
		e.Bottom = m.value(m.bottomAt, world)
	}
	if m.fleasAt >= 0 {
		e.Fouling = m.fouling
		e.Fouling.Diameter *= m.value(m.fleasAt, world)
	}
	return e
}

// columnIn returns the water in a world: a profile of current stronger or weaker than
// described needs a column of its own.
func (m *Model) columnIn(world []float64) *water.Column {
	if m.currentAt < 0 {
		return m.column
	}
	k := m.value(m.currentAt, world)
	if k == 1 {
		return m.column
	}
	return m.column.Scaled(math.Abs(k))
}

// leastSpeed keeps a sampled boat moving, m/s.
const leastSpeed = 0.02

// SurfaceSpeed returns the speed through the surface water in a world, m/s, from the
// speed that was given: itself; over ground, |c(0) + V x| = given; or of a probe at
// probeDepth (m), |c(0) + V x - c(probeDepth)| = given. The boat goes where it heads (no
// leeway). A current that the given speed cannot hold against gives the speed that comes
// nearest.
func (m *Model) SurfaceSpeed(world []float64, probeDepth float64) float64 {
	return m.surfaceSpeed(m.columnIn(world), world, probeDepth)
}

func (m *Model) surfaceSpeed(column *water.Column, world []float64, probeDepth float64) float64 {
	return m.surfaceOf(column, m.value(m.speedAt, world), probeDepth)
}

// GivenSpeed returns the speed of the kind that the scenario gives, m/s, calibrated.
func (m *Model) GivenSpeed() float64 { return m.value(m.speedAt, nil) }

// EnvAtSpeed is EnvAt in the nominal world with v (m/s, > 0) for the speed that the
// scenario gives.
func (m *Model) EnvAtSpeed(v, probeDepth float64) tow.Env {
	e := m.EnvAt(nil, probeDepth)
	e.Speed = m.surfaceOf(e.Water, v, probeDepth)
	return e
}

// surfaceOf returns the surface speed that goes with the given speed v: see SurfaceSpeed.
func (m *Model) surfaceOf(column *water.Column, v, probeDepth float64) float64 {
	var top, at water.State
	column.At(0, &top)
	var dx, dy float64
	switch m.speed {
	case sternfan.SpeedGround:
		dx, dy = top.Cx, top.Cy
	case sternfan.SpeedProbe:
		column.At(probeDepth, &at)
		dx, dy = top.Cx-at.Cx, top.Cy-at.Cy
	}
	return math.Max(math.Sqrt(math.Max(v*v-dy*dy, 0))-dx, leastSpeed)
}
