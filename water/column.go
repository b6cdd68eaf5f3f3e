package water

import (
	"math"
	"slices"
	"strconv"

	"sternfan/unit"
)

// State is the water at one depth, in SI: what a load needs and how it
// changes with depth.
type State struct {
	Rho float64 // density, kg/m3
	Nu  float64 // kinematic viscosity, m2/s
	Cx  float64 // current over ground, forward part in the boat frame, m/s
	Cy  float64 // current over ground, starboard part, m/s

	DRho float64 // dRho/dz, kg/m4
	DNu  float64 // dNu/dz, m/s
	DCx  float64 // dCx/dz, 1/s
	DCy  float64 // dCy/dz, 1/s
}

// Spec is what a [Column] is made of.
type Spec struct {
	// Temperature may be nil when both Rho and Nu are given.
	Temperature *Profile
	// Current may be nil: still water.
	Current *Current
	// Heading is the boat's true heading, clockwise from north.
	Heading unit.Angle
	// Rho (kg/m3) and Nu (kinematic viscosity, m2/s) replace the values of the
	// temperature when they are not zero.
	Rho float64
	Nu  float64
}

// Column answers for the water at any depth as the solvers need it. It does
// not change once built, so many goroutines may share it.
//
// Density and viscosity are kept piecewise linear in depth on knots no more
// than 0.2 C apart, which holds them within 1e-6 (density) and 1e-5
// (viscosity) relative of the formulas; the formulas' own uncertainty is
// 1e-6 and 1e-2. At a profile's point the derivatives are those of the water
// below it.
type Column struct {
	starts []float64 // top depth of each layer; starts[0] = 0
	layers []layer
	cells  []cell
	breaks []float64
	last   float64 // deepest point of the profiles; below it nothing changes
}

// layer is the water between two neighboring points of the profiles, cut into
// cells of equal height.
type layer struct {
	top      float64
	perMeter float64 // cells per meter
	first    int32   // index of its first cell
	most     int32   // index of its last cell
	cx, dcx  float64
	cy, dcy  float64
}

// cell is a stretch of linear density and viscosity.
type cell struct {
	top       float64
	rho, dRho float64
	nu, dNu   float64
}

// maxStepC is the widest temperature step of a cell. The error of linear
// interpolation is step^2/8 times the second derivative in temperature, whose
// relative size is largest at 0 C: 1.7e-5 /C2 for density and 1.3e-3 /C2 for
// viscosity. With 0.2 C that is 9e-8 and 6.5e-6.
const maxStepC = 0.2

// NewColumn returns the column for s. The error, an *[Error], says when the
// temperature is missing or a fixed value is not positive.
func NewColumn(s Spec) (*Column, error) {
	for _, f := range []struct {
		code, label string
		v           float64
	}{{"density", "kg/m3", s.Rho}, {"viscosity", "m2/s", s.Nu}} {
		if f.v < 0 || math.IsNaN(f.v) || math.IsInf(f.v, 0) {
			return nil, &Error{Code: f.code + "-range", Profile: "water", Index: -1,
				Found:   f.code + " " + finiteText(f.v, strconv.FormatFloat(f.v, 'g', -1, 64)+" "+f.label),
				Allowed: "a positive number"}
		}
	}
	if s.Temperature == nil && (s.Rho == 0 || s.Nu == 0) {
		return nil, &Error{Code: "no-temperature", Profile: "water", Index: -1,
			Found: "no temperature", Allowed: "a temperature, or density and viscosity together",
			Hint: "give the surface temperature at least"}
	}
	if h := float64(s.Heading); math.IsNaN(h) || math.IsInf(h, 0) {
		return nil, &Error{Code: "heading-range", Profile: "water", Index: -1,
			Found: "a heading that is not finite", Allowed: "a true direction"}
	}

	depths := []float64{0}
	if s.Temperature != nil && (s.Rho == 0 || s.Nu == 0) {
		depths = append(depths, s.Temperature.z...)
	}
	if s.Current != nil {
		depths = append(depths, s.Current.z...)
	}
	slices.Sort(depths)
	// Points of the two profiles that differ by rounding alone would make a layer
	// too thin to divide; they count as one.
	depths = slices.CompactFunc(depths, func(a, b float64) bool { return math.Abs(b-a) < 1e-12 })

	col := &Column{starts: depths, last: depths[len(depths)-1]}
	for i, top := range depths {
		bottom := top
		if i+1 < len(depths) {
			bottom = depths[i+1]
		}
		col.addLayer(s, top, bottom)
	}
	col.findBreaks()
	return col, nil
}

func (col *Column) addLayer(s Spec, top, bottom float64) {
	height := bottom - top
	x0, y0 := toBoat(s, top)
	l := layer{top: top, cx: x0, cy: y0, first: int32(len(col.cells))}
	l.most = l.first
	rho, nu := properties(s, top)
	if height == 0 {
		col.layers = append(col.layers, l)
		col.cells = append(col.cells, cell{top: top, rho: rho, nu: nu})
		return
	}
	x1, y1 := toBoat(s, bottom)
	l.dcx, l.dcy = (x1-x0)/height, (y1-y0)/height
	n := 1
	if s.Temperature != nil && (s.Rho == 0 || s.Nu == 0) {
		n = max(1, int(math.Ceil(math.Abs(s.Temperature.At(bottom)-s.Temperature.At(top))/maxStepC)))
	}
	l.perMeter = float64(n) / height
	l.most += int32(n - 1)
	col.layers = append(col.layers, l)
	z := top
	for k := 1; k <= n; k++ {
		below := top + height*float64(k)/float64(n)
		nextRho, nextNu := properties(s, below)
		col.cells = append(col.cells, cell{top: z, rho: rho, nu: nu,
			dRho: (nextRho - rho) / (below - z), dNu: (nextNu - nu) / (below - z)})
		z, rho, nu = below, nextRho, nextNu
	}
}

// properties returns density and kinematic viscosity at depth z.
func properties(s Spec, z float64) (rho, nu float64) {
	rho, nu = s.Rho, s.Nu
	if rho == 0 {
		rho = Density(s.Temperature.At(z))
	}
	if nu == 0 {
		nu = Viscosity(s.Temperature.At(z)) / rho
	}
	return rho, nu
}

// toBoat returns the current at depth z, forward and starboard.
func toBoat(s Spec, z float64) (x, y float64) {
	north, east := s.Current.At(z)
	sin, cos := math.Sincos(float64(s.Heading))
	return north*cos + east*sin, east*cos - north*sin
}

// findBreaks keeps the depths of the profiles' points at which something
// starts or stops changing or changes at another rate.
func (col *Column) findBreaks() {
	for i := 1; i < len(col.layers); i++ {
		above, below := &col.layers[i-1], &col.layers[i]
		a, b := &col.cells[above.most], &col.cells[below.first]
		if above.dcx != below.dcx || above.dcy != below.dcy || a.dRho != b.dRho || a.dNu != b.dNu {
			col.breaks = append(col.breaks, below.top)
		}
	}
}

// At fills s with the water at depth z. Above the surface it gives the water
// of the surface with derivatives of zero: whether there is water at all is
// for the caller to know. It does not allocate.
func (col *Column) At(z float64, s *State) {
	if !(z >= 0) { // NaN too
		l, c := &col.layers[0], &col.cells[0]
		*s = State{Rho: c.rho, Nu: c.nu, Cx: l.cx, Cy: l.cy}
		return
	}
	if z > col.last {
		z = col.last
	}
	lo, hi := 0, len(col.starts)
	for hi-lo > 1 {
		mid := int(uint(lo+hi) >> 1)
		if col.starts[mid] <= z {
			lo = mid
		} else {
			hi = mid
		}
	}
	l := &col.layers[lo]
	d := z - l.top
	k := min(l.first+int32(d*l.perMeter), l.most)
	c := &col.cells[k]
	e := z - c.top
	s.Rho, s.DRho = c.rho+e*c.dRho, c.dRho
	s.Nu, s.DNu = c.nu+e*c.dNu, c.dNu
	s.Cx, s.DCx = l.cx+d*l.dcx, l.dcx
	s.Cy, s.DCy = l.cy+d*l.dcy, l.dcy
}

// Read is [Column.At] without the derivatives, for a depth that was last found in the
// given layer, which it updates.
func (col *Column) Read(z float64, in *int) (rho, nu, cx, cy float64) {
	if !(z > 0) { // NaN too
		l, c := &col.layers[0], &col.cells[0]
		return c.rho, c.nu, l.cx, l.cy
	}
	if z > col.last {
		z = col.last
	}
	k := *in
	if uint(k) >= uint(len(col.starts)) {
		k = 0
	}
	for k > 0 && z < col.starts[k] {
		k--
	}
	for k+1 < len(col.starts) && z >= col.starts[k+1] {
		k++
	}
	*in = k
	l := &col.layers[k]
	d := z - l.top
	c := &col.cells[min(l.first+int32(d*l.perMeter), l.most)]
	e := z - c.top
	return c.rho + e*c.dRho, c.nu + e*c.dNu, l.cx + d*l.dcx, l.cy + d*l.dcy
}

// Scaled returns the column with its current k times as strong everywhere; density and
// viscosity are shared.
func (col *Column) Scaled(k float64) *Column {
	out := *col
	out.layers = make([]layer, len(col.layers))
	for i, l := range col.layers {
		l.cx, l.dcx, l.cy, l.dcy = k*l.cx, k*l.dcx, k*l.cy, k*l.dcy
		out.layers[i] = l
	}
	if k == 0 {
		// Kinks of a current that is not there.
		out.breaks = nil
		out.findBreaks()
	}
	return &out
}

// Uniform reports whether the water is the same at every depth.
func (col *Column) Uniform() bool {
	for _, l := range col.layers {
		if l.dcx != 0 || l.dcy != 0 {
			return false
		}
	}
	for _, c := range col.cells {
		if c.dRho != 0 || c.dNu != 0 {
			return false
		}
	}
	return true
}

// Breaks returns, in increasing order, the depths of the profiles' points
// where a slope changes and an integration should put a step's end. The far
// smaller changes of slope between the cells of one layer are not listed.
// The caller must not change the slice.
func (col *Column) Breaks() []float64 { return col.breaks }
