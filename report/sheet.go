package report

import (
	"math"

	"sternfan"
	"sternfan/portable"
	"sternfan/unit"
)

// A drawing is laid out for a sheet that is sheetWide mm across, so that the sizes of
// letters and signs, which are a matter of the reader's eye, can be weighed against
// the lake's. A renderer takes Width/297 as its millimeter.
const (
	sheetWide   = 297.0 // A4 across
	sheetTall   = 210.0
	sheetLeast  = 120.0 // a very long spread takes a lower sheet
	sheetMargin = 9.0
	titleBand   = 7.5
	noteBand    = 14.5 // three lines and one that is broken
	viewTitle   = 6.5  // above each frame
	axisBand    = 11.0 // tick texts and label below a frame
	depthBand   = 15.0 // tick texts and label at its left
	labelSize   = 3.0  // height of the letters' body
	letterWide  = 0.56 // mean width of a letter by its height, on the wide side
	lineTall    = 1.2  // line height by letter height
	signSize    = 2.2
	troubleSize = 4.2 // the ring about a lure that needs a hand
	tickApart   = 13.0
	tickLeast   = 8.0
)

// frame is the range of the three axes in meters: X astern, Y to starboard, Z down.
type frame struct{ asternFrom, asternTo, sideFrom, sideTo, depthFrom, depthTo float64 }

func (f *frame) astern() float64 { return f.asternTo - f.asternFrom }
func (f *frame) side() float64   { return f.sideTo - f.sideFrom }
func (f *frame) depth() float64  { return f.depthTo - f.depthFrom }

// widen makes the frame hold a place; one that is not finite is passed over.
func (f *frame) widen(astern, side, depth float64) {
	for _, v := range []float64{astern, side, depth} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
	}
	f.asternFrom, f.asternTo = math.Min(f.asternFrom, astern), math.Max(f.asternTo, astern)
	f.sideFrom, f.sideTo = math.Min(f.sideFrom, side), math.Max(f.sideTo, side)
	f.depthFrom, f.depthTo = math.Min(f.depthFrom, depth), math.Max(f.depthTo, depth)
}

// extent returns the range that holds the boat and everything towed, with a margin.
func extent(tracks []*sternfan.Track, hull hullShape) frame {
	f := frame{asternFrom: -1, asternTo: 20, sideFrom: -5, sideTo: 5, depthFrom: -2, depthTo: 8}
	for _, p := range hull.above {
		f.widen(p[0], p[1], 0)
	}
	for _, t := range tracks {
		for i := range t.Parts {
			for _, p := range t.Parts[i].Points {
				f.widen(-p[0], p[1], p[2])
			}
		}
		for i := range t.Bodies {
			b := &t.Bodies[i]
			f.widen(b.Astern, b.Side, b.Depth)
		}
		for i := range t.Lures {
			b := &t.Lures[i]
			f.widen(b.Astern, b.Side, b.Depth)
			f.widen(b.Astern, b.Side, b.DepthLo)
			f.widen(b.Astern, b.Side, b.DepthHi)
		}
	}
	f.asternFrom -= 0.02 * f.astern()
	f.asternTo += 0.05 * f.astern()
	pad := 0.08 * f.side()
	f.sideFrom -= pad
	f.sideTo += pad
	f.depthFrom -= 0.03 * f.depth()
	f.depthTo += 0.08 * f.depth()
	return f
}

// axis returns an axis from one end to the other with round ticks in the person's unit.
// Texts come from the function; nil leaves the ticks bare.
func axis(label string, from, to, mmPerMeter float64, u unit.System, text func(number float64) string) sternfan.Axis {
	per := float64(unit.Meter)
	if u == unit.US {
		per = float64(unit.Foot)
	}
	a := sternfan.Axis{Label: label, From: from, To: to, Ticks: []sternfan.Tick{}}
	// A short axis still deserves three ticks, if their texts find room.
	apart := math.Min(tickApart, math.Max(tickLeast, math.Abs(to-from)*mmPerMeter/3))
	step := roundStep(apart / (mmPerMeter * per))
	lo, hi := math.Min(from, to)/per, math.Max(from, to)/per
	if hi-lo < 2*step {
		step = roundStep(tickLeast / (mmPerMeter * per))
	}
	const mostTicks = 200
	for i := math.Ceil(lo/step - 1e-9); i <= hi/step+1e-9 && len(a.Ticks) < mostTicks; i++ {
		v := i * step
		tick := sternfan.Tick{At: v * per}
		if text != nil {
			tick.Text = text(v)
		}
		a.Ticks = append(a.Ticks, tick)
	}
	return a
}

// roundStep returns the least of 1, 2, 5, 10, 20, ... that is not below the wanted step,
// or a decimal fraction of them.
func roundStep(least float64) float64 {
	if !(least > 0) || math.IsInf(least, 0) {
		return 1
	}
	power := portable.Pow(10, math.Floor(portable.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= least*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

func tickNumber(v float64) string {
	if v < 0 {
		return ""
	}
	return plain(v)
}

func tickSide(v float64) string {
	switch s := plain(math.Abs(v)); {
	case s == "0":
		return "0"
	case v < 0:
		return s + " P"
	default:
		return s + " S"
	}
}

// hullShape is the boat in the three views, in view coordinates (astern, side, depth).
type hullShape struct {
	above, side, astern [][2]float64
}

// hull returns the boat's outline: the one given, or a plain one of its length and beam.
// Without either there is none.
func hull(sc *sternfan.Scenario) hullShape {
	if sc == nil {
		return hullShape{}
	}
	long, beam := sc.Boat.Length.SI(), sc.Boat.Beam.SI()
	var h hullShape
	if len(sc.Boat.Hull) > 2 {
		var forward, half float64
		for _, p := range sc.Boat.Hull {
			h.above = append(h.above, [2]float64{-p.X, p.Y})
			forward, half = math.Max(forward, p.X), math.Max(half, math.Abs(p.Y))
		}
		long, beam = forward, 2*half
	}
	const beamByLength = 0.35 // of a small open boat, for a boat given by its length alone
	if beam <= 0 {
		beam = beamByLength * long
	}
	if !(long > 0) || !(beam > 0) || math.IsInf(long, 0) || math.IsInf(beam, 0) {
		return hullShape{}
	}
	if h.above == nil {
		// Station by length, half beam by beam.
		stations := [][2]float64{{0, 0.44}, {0.2, 0.49}, {0.4, 0.5}, {0.6, 0.46}, {0.75, 0.37}, {0.87, 0.24}, {0.95, 0.11}, {1, 0}}
		for _, s := range stations {
			h.above = append(h.above, [2]float64{-s[0] * long, s[1] * beam})
		}
		for i := len(stations) - 2; i >= 0; i-- {
			h.above = append(h.above, [2]float64{-stations[i][0] * long, -stations[i][1] * beam})
		}
	}
	board, draft := 0.11*long, 0.055*long
	for _, s := range [][2]float64{{0, -board}, {-0.5, -1.05 * board}, {-1, -1.35 * board}, {-0.93, 0}, {-0.86, 0.6 * draft}, {-0.7, draft}, {0, 0.9 * draft}} {
		h.side = append(h.side, [2]float64{s[0] * long, s[1]})
	}
	for _, s := range [][2]float64{{-0.46, -board}, {0.46, -board}, {0.43, 0}, {0.33, 0.6 * draft}, {0, draft}, {-0.33, 0.6 * draft}, {-0.43, 0}} {
		h.astern = append(h.astern, [2]float64{s[0] * beam, s[1]})
	}
	return h
}

// tidy rounds a drawing to tenths of a millimeter of the lake, which no scale shows, so
// that its text is short and the same on every machine.
func tidy(d *sternfan.Drawing) *sternfan.Drawing {
	round := func(x *float64) {
		*x = math.Round(*x*1e4) / 1e4
		if *x == 0 {
			*x = 0 // drops the sign of negative zero
		}
	}
	round(&d.Width)
	round(&d.Height)
	for i := range d.Views {
		v := &d.Views[i]
		round(&v.Place[0])
		round(&v.Place[1])
		for _, a := range []*sternfan.Axis{&v.U, &v.V} {
			round(&a.From)
			round(&a.To)
			for j := range a.Ticks {
				round(&a.Ticks[j].At)
			}
		}
		for j := range v.Shapes {
			points := v.Shapes[j].Points
			for k := range points {
				round(&points[k][0])
				round(&points[k][1])
			}
		}
	}
	return d
}
