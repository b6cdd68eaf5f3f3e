package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/portable"
	"sternfan/water"
)

// zone is a range of depth in which the loads have one form.
type zone struct {
	lo, hi float64
	air    bool
	fouled bool
}

// makeZones lists the ranges from the air down. On the way to the neighborhood of rest only
// those count at whose edges the load itself jumps.
func (w *Solver) makeZones() {
	w.levels = append(w.levels[:0], 0)
	if w.rough == 1 {
		w.levels = append(w.levels, w.env.Water.Breaks()...)
	}
	if f := w.env.Fouling; f.To > f.From && (f.Diameter > 0 || f.Mass > 0) {
		w.levels = append(w.levels, f.From, f.To)
	}
	// Insertion sort: a handful of levels.
	for i := 1; i < len(w.levels); i++ {
		for j := i; j > 0 && w.levels[j] < w.levels[j-1]; j-- {
			w.levels[j], w.levels[j-1] = w.levels[j-1], w.levels[j]
		}
	}
	w.zones = append(w.zones[:0], zone{lo: math.Inf(-1), hi: 0, air: true})
	for i, z := range w.levels {
		if z < 0 {
			continue
		}
		hi := math.Inf(1)
		if i+1 < len(w.levels) {
			hi = w.levels[i+1]
		}
		if hi-z < 1e-9 {
			continue
		}
		f := w.env.Fouling
		mid := z + 0.5
		if !math.IsInf(hi, 1) {
			mid = (z + hi) / 2
		}
		w.zones = append(w.zones, zone{lo: z, hi: hi,
			fouled: f.To > f.From && mid > f.From && mid < f.To})
	}
}

func (w *Solver) zoneAt(z float64) int {
	k := 0
	for k+1 < len(w.zones) && z >= w.zones[k].hi {
		k++
	}
	return k
}

// element is the line under integration with what the inner loop needs worked out once.
type element struct {
	line  *hydro.Line
	fluid hydro.Line // line with fouling, in the present zone
	dry   hydro.Dry  // of that
	wet   hydro.Wet  // in uniform water
	layer int        // of the water in which it was last
	u     geom.Vec   // in uniform water
	air   bool
	ea    float64
	inAir float64 // weight per metre in air, N/m
}

// onto adds the fouling to a line.
func (f *Fouling) onto(l *hydro.Line) {
	d := l.Diameter
	l.Diameter += f.Diameter
	l.Mass += f.Mass + f.Density*math.Pi/4*(l.Diameter*l.Diameter-d*d)
}

func (w *Solver) enter(e *element, k int) {
	z := &w.zones[k]
	e.air = z.air
	e.fluid = *e.line
	if z.fouled {
		w.env.Fouling.onto(&e.fluid)
	}
	e.dry = e.fluid.Dry()
	e.ea = 0
	if e.line.EA > 0 {
		e.ea = 1 / e.line.EA
	}
	e.inAir = e.line.Mass * geom.Gravity
	if w.uniform && !z.air {
		w.water.At(z.lo, &w.state)
		e.wet = e.dry.In(w.state.Rho, w.state.Nu)
		e.u = geom.Vec{X: w.state.Cx - w.boat.X, Y: w.state.Cy - w.boat.Y}
	}
}

// slope returns dF/ds and dr/ds (E6).
func (w *Solver) slope(e *element, f geom.Vec, z float64) (df, dr geom.Vec) {
	tension := math.Sqrt(f.X*f.X + f.Y*f.Y + f.Z*f.Z)
	inv := 0.0
	if tension > 0 {
		inv = 1 / tension
	}
	t := geom.Vec{X: f.X * inv, Y: f.Y * inv, Z: f.Z * inv}
	stretch := 1 + tension*e.ea
	dr = geom.Vec{X: t.X * stretch, Y: t.Y * stretch, Z: t.Z * stretch}
	if e.air {
		return geom.Vec{Z: -e.inAir}, dr
	}
	if w.uniform {
		load := e.wet.Load(t, e.u)
		return geom.Vec{X: -load.X, Y: -load.Y, Z: -load.Z}, dr
	}
	rho, nu, cx, cy := w.water.Read(z, &e.layer)
	wet := e.dry.In(rho, nu)
	load := wet.Load(t, geom.Vec{X: cx - w.boat.X, Y: cy - w.boat.Y})
	return geom.Vec{X: -load.X, Y: -load.Y, Z: -load.Z}, dr
}

// Dormand & Prince 1980, J. Comput. Appl. Math. 6:19, the pair 5(4).
const (
	a21                     = 1.0 / 5
	a31, a32                = 3.0 / 40, 9.0 / 40
	a41, a42, a43           = 44.0 / 45, -56.0 / 15, 32.0 / 9
	a51, a52, a53, a54      = 19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729
	a61, a62, a63, a64, a65 = 9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656
	b1, b3, b4, b5, b6      = 35.0 / 384, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84
	e1, e3, e4, e5, e6, e7  = 71.0 / 57600, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40
)

// integrate carries (f, r) along length metres of the line and appends samples after
// the first to out. It reports false when the step count ran out or the numbers failed.
//
// long: the stages of one step of the method, component by component, in the innermost loop.
func (w *Solver) integrate(props *hydro.Line, length float64, f, r geom.Vec, hint *float64, out []Sample) (geom.Vec, geom.Vec, []Sample, bool) {
	out = append(out, Sample{R: r, F: f})
	if length <= 0 {
		return f, r, out, true
	}
	e := element{line: props}
	k := w.zoneAt(r.Z)
	w.enter(&e, k)
	if f.X == 0 && f.Y == 0 && f.Z == 0 {
		f = w.unloadedStart(&e, r.Z, length)
	}
	s := 0.0
	h := *hint
	if !(h > 0) || h > length {
		h = math.Min(length, 8)
	}
	first, landing := true, false
	k1f, k1r := w.slope(&e, f, r.Z)
	if w.leaves(&k, r.Z, k1r.Z) {
		w.enter(&e, k)
		k1f, k1r = w.slope(&e, f, r.Z)
	}
	for range w.opt.MaxSteps {
		if left := length - s; h > left*(1-1e-12) {
			h = left
		} else if h > left/2 && !landing {
			h = left / 2 // two even steps rather than one long and one crumb
		}
		w.sol.Steps++
		k2f, k2r := w.slope(&e, f.AddScaled(h*a21, k1f), r.Z+h*a21*k1r.Z)
		g := geom.Vec{
			X: f.X + h*(a31*k1f.X+a32*k2f.X),
			Y: f.Y + h*(a31*k1f.Y+a32*k2f.Y),
			Z: f.Z + h*(a31*k1f.Z+a32*k2f.Z)}
		k3f, k3r := w.slope(&e, g, r.Z+h*(a31*k1r.Z+a32*k2r.Z))
		g = geom.Vec{
			X: f.X + h*(a41*k1f.X+a42*k2f.X+a43*k3f.X),
			Y: f.Y + h*(a41*k1f.Y+a42*k2f.Y+a43*k3f.Y),
			Z: f.Z + h*(a41*k1f.Z+a42*k2f.Z+a43*k3f.Z)}
		k4f, k4r := w.slope(&e, g, r.Z+h*(a41*k1r.Z+a42*k2r.Z+a43*k3r.Z))
		g = geom.Vec{
			X: f.X + h*(a51*k1f.X+a52*k2f.X+a53*k3f.X+a54*k4f.X),
			Y: f.Y + h*(a51*k1f.Y+a52*k2f.Y+a53*k3f.Y+a54*k4f.Y),
			Z: f.Z + h*(a51*k1f.Z+a52*k2f.Z+a53*k3f.Z+a54*k4f.Z)}
		k5f, k5r := w.slope(&e, g, r.Z+h*(a51*k1r.Z+a52*k2r.Z+a53*k3r.Z+a54*k4r.Z))
		g = geom.Vec{
			X: f.X + h*(a61*k1f.X+a62*k2f.X+a63*k3f.X+a64*k4f.X+a65*k5f.X),
			Y: f.Y + h*(a61*k1f.Y+a62*k2f.Y+a63*k3f.Y+a64*k4f.Y+a65*k5f.Y),
			Z: f.Z + h*(a61*k1f.Z+a62*k2f.Z+a63*k3f.Z+a64*k4f.Z+a65*k5f.Z)}
		k6f, k6r := w.slope(&e, g, r.Z+h*(a61*k1r.Z+a62*k2r.Z+a63*k3r.Z+a64*k4r.Z+a65*k5r.Z))
		nf := geom.Vec{
			X: f.X + h*(b1*k1f.X+b3*k3f.X+b4*k4f.X+b5*k5f.X+b6*k6f.X),
			Y: f.Y + h*(b1*k1f.Y+b3*k3f.Y+b4*k4f.Y+b5*k5f.Y+b6*k6f.Y),
			Z: f.Z + h*(b1*k1f.Z+b3*k3f.Z+b4*k4f.Z+b5*k5f.Z+b6*k6f.Z)}
		nr := geom.Vec{
			X: r.X + h*(b1*k1r.X+b3*k3r.X+b4*k4r.X+b5*k5r.X+b6*k6r.X),
			Y: r.Y + h*(b1*k1r.Y+b3*k3r.Y+b4*k4r.Y+b5*k5r.Y+b6*k6r.Y),
			Z: r.Z + h*(b1*k1r.Z+b3*k3r.Z+b4*k4r.Z+b5*k5r.Z+b6*k6r.Z)}
		k7f, k7r := w.slope(&e, nf, nr.Z)

		ef := geom.Vec{
			X: e1*k1f.X + e3*k3f.X + e4*k4f.X + e5*k5f.X + e6*k6f.X + e7*k7f.X,
			Y: e1*k1f.Y + e3*k3f.Y + e4*k4f.Y + e5*k5f.Y + e6*k6f.Y + e7*k7f.Y,
			Z: e1*k1f.Z + e3*k3f.Z + e4*k4f.Z + e5*k5f.Z + e6*k6f.Z + e7*k7f.Z}
		er := geom.Vec{
			X: e1*k1r.X + e3*k3r.X + e4*k4r.X + e5*k5r.X + e6*k6r.X + e7*k7r.X,
			Y: e1*k1r.Y + e3*k3r.Y + e4*k4r.Y + e5*k5r.Y + e6*k6r.Y + e7*k7r.Y,
			Z: e1*k1r.Z + e3*k3r.Z + e4*k4r.Z + e5*k5r.Z + e6*k6r.Z + e7*k7r.Z}
		// The pull's error turns the line above by errF/T; a position's error counts
		// against the whole length.
		tension2 := math.Max(nf.Dot(nf), 1e-18)
		q := h * h * (ef.Dot(ef)/(tension2*w.rtol*w.rtol) + er.Dot(er)/(w.rtol*w.rtol*w.scale*w.scale))
		if !(q <= 1) {
			if math.IsNaN(q) {
				h *= 0.1
			} else {
				h *= math.Max(0.1, 0.9*portable.Pow(q, -0.1))
			}
			if h < 1e-9*length {
				return f, r, out, false
			}
			continue
		}
		// Over a sharper bend than this the embedded error does not tell the truth.
		if dot := f.Dot(nf); dot < 0 || dot*dot < sharpest*f.Dot(f)*tension2 {
			if h *= 0.6; h < 1e-9*length {
				return f, r, out, false
			}
			continue
		}
		// Land on the zone's edge when the step crosses it.
		z := &w.zones[k]
		if (nr.Z < z.lo || nr.Z > z.hi) && h > 1e-9*w.scale {
			edge := z.lo
			if nr.Z > z.hi {
				edge = z.hi
			}
			if d := nr.Z - edge; math.Abs(d) > w.edge {
				theta := crossing(r.Z, nr.Z, h*k1r.Z, h*k7r.Z, edge)
				if theta > 0 && theta < 1-1e-12 {
					h *= theta
					landing = true
					continue
				}
			}
		}
		if first {
			*hint = h
			first = false
		}
		s += h
		landing = false
		f, r = nf, nr
		out = append(out, Sample{S: s, R: r, F: f})
		if s >= length*(1-1e-12) {
			return f, r, out, true
		}
		k1f, k1r = k7f, k7r
		if w.leaves(&k, r.Z, k1r.Z) {
			w.enter(&e, k)
			k1f, k1r = w.slope(&e, f, r.Z)
		}
		grow := 5.0
		if q > 1e-8 {
			grow = math.Min(5, 0.9*portable.Pow(q, -0.1))
		}
		h *= math.Max(grow, 0.3)
	}
	return f, r, out, false
}

// sharpest is the least squared cosine of the angle by which a line turns in one step:
// about 35 degrees.
const sharpest = 0.67

// leaves moves k to the neighboring zone when a point at an edge goes out of its own.
func (w *Solver) leaves(k *int, z, slope float64) bool {
	at := &w.zones[*k]
	switch {
	case slope < 0 && z <= at.lo+w.edge && *k > 0:
		*k--
	case slope > 0 && z >= at.hi-w.edge && *k+1 < len(w.zones):
		*k++
	default:
		return false
	}
	return true
}

// crossing returns the fraction of a step at which the cubic through the depths z0, z1
// with the scaled slopes d0, d1 meets the edge.
func crossing(z0, z1, d0, d1, edge float64) float64 {
	lo, hi := 0.0, 1.0
	below := z0 < edge || (z0 == edge && d0 < 0)
	c2, c3 := 3*(z1-z0)-2*d0-d1, 2*(z0-z1)+d0+d1
	x := 0.5
	if z1 != z0 {
		x = math.Min(math.Max((edge-z0)/(z1-z0), 0), 1)
	}
	// Newton's method inside a bracket that every point narrows.
	for range 60 {
		miss := z0 - edge + x*(d0+x*(c2+x*c3))
		if (miss < 0) == below {
			lo = x
		} else {
			hi = x
		}
		next := x - miss/(d0+x*(2*c2+3*x*c3))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-13 {
			return next
		}
		x = next
	}
	return x
}

// unloadedStart returns a small pull along the direction in which an unloaded end lies:
// where the line's load has no part across the line (the critical angle), between along
// the flow and upright, below the flow for a line that floats.
func (w *Solver) unloadedStart(e *element, z, length float64) geom.Vec {
	var st water.State
	w.water.At(z, &st)
	u := geom.Vec{X: st.Cx - w.boat.X, Y: st.Cy - w.boat.Y}
	if e.air || u.Norm() == 0 {
		return geom.Vec{Z: -math.Max(e.inAir, 1e-9) * 1e-6 * length}
	}
	ahead := u.Neg().Unit()
	lo, hi := 0.0, math.Pi/2
	if e.fluid.WeightInWater(st.Rho) < 0 {
		lo, hi = -math.Pi/2, 0
	}
	var t, load geom.Vec
	for range 60 {
		phi := (lo + hi) / 2
		sin, cos := math.Sincos(phi)
		t = ahead.Scale(cos)
		t.Z = -sin
		load = e.fluid.Load(t, u, st.Rho, st.Nu, nil)
		across := ahead.Scale(-sin)
		across.Z = -cos
		if load.Dot(across) < 0 {
			lo = phi
		} else {
			hi = phi
		}
	}
	return t.Scale(math.Max(load.Norm(), 1e-12) * 1e-6 * length)
}
