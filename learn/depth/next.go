package depth

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"

	"sternfan"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
)

// What a further measurement is taken to be good for, one standard deviation. Assumed.
var goodFor = map[sternfan.MeasuredKind]float64{
	sternfan.MeasuredDepth: 0.6, sternfan.MeasuredBottom: 0.6, sternfan.MeasuredAngle: 2, sternfan.MeasuredSide: 1.5,
	sternfan.MeasuredAstern: 3, sternfan.MeasuredPull: 2, sternfan.MeasuredRange: 0.6,
}

// lines are the lengths, as parts of that set, at which a further measurement is weighed.
var lines = [...]float64{1, 0.65, 1.35}

const (
	mostAhead = 16   // rods looked at
	mostNext  = 5    // measurements told
	worthFeet = 0.15 // m: a difference in depth below which no other line out is worked out
)

// target is one rod's setting to come.
type target struct {
	rod     string
	line    float64 // m
	cable   bool
	at      [len(lines)]int // settings of it, -1: none
	depth   [len(lines)]int // readings of the first lure
	lures   []int           // readings at the scenario's own line
	names   []string
	before  []float64
	beforeV []float64
}

// outlook is what the fit says of readings to come.
type outlook struct {
	boat   *boat
	y      []float64   // what each will read
	jac    []float64   // its slopes by score
	spread [][]float64 // the covariance of all scores times those slopes
}

func (o *outlook) slopes(reading int) []float64 {
	n := len(o.boat.columns)
	return o.jac[reading*n : (reading+1)*n]
}

// work fills in readings and slopes at scores x, for the settings that are in the boat now.
func (o *outlook) work(ctx context.Context, x []float64) {
	o.boat.predict(ctx, x, o.y)
	o.boat.slopes(ctx, x, o.jac)
}

// weigh fills in spread: the fit's covariance for scores it learned, and a unit each for
// those that it does not know.
func (o *outlook) weigh(fitted *boat, f *fit) {
	known := len(fitted.columns)
	learned := func(i int) bool { return i < known && fitted.columns[i].active }
	for k := range o.boat.readings {
		row := make([]float64, len(o.boat.columns))
		for i, g := range o.slopes(k) {
			switch {
			case g == 0:
			case !learned(i):
				row[i] += g
			default:
				for j := range known {
					if learned(j) {
						row[j] += f.cov[i*known+j] * g
					}
				}
			}
		}
		o.spread = append(o.spread, row)
	}
}

// cov returns the covariance of two readings.
func (o *outlook) cov(k, l int) float64 {
	v := 0.0
	for i, s := range o.slopes(l) {
		v += s * o.spread[k][i]
	}
	return v
}

// ahead works out where the lures run now, how much line restores their depths, and
// which measurement would narrow them most.
func (w *workshop) ahead(ctx context.Context, out *sternfan.DepthFit, f *fit) error {
	b := &boat{columns: slices.Clone(w.boat.columns), index: maps.Clone(w.boat.index)}
	targets, first := w.targets(ctx, b)
	for i := range b.columns {
		b.columns[i].active = true
	}
	x := make([]float64, len(b.columns))
	o := &outlook{boat: b, y: make([]float64, len(b.readings)), jac: make([]float64, len(b.readings)*len(b.columns))}

	// Before: only the settings as they are.
	all := b.settings
	b.settings = all[:first]
	o.work(ctx, x)
	for i := range targets {
		t := &targets[i]
		for _, k := range t.lures {
			v := 0.0
			for _, s := range o.slopes(k) {
				v += s * s
			}
			t.before, t.beforeV = append(t.before, o.y[k]), append(t.beforeV, v)
		}
	}
	b.settings = all
	for i := range w.boat.columns {
		if w.boat.columns[i].occasion == "" {
			x[i] = f.x[i]
		}
	}
	o.work(ctx, x)
	if err := ctx.Err(); err != nil {
		return err
	}
	o.weigh(&w.boat, f)
	if aims := w.lures(out, targets, o); len(aims) > 0 {
		w.next(out, targets, o, aims, first)
	}
	return nil
}

// lures tells where each lure runs, before and with what was learned, and returns the
// readings of those that are known.
func (w *workshop) lures(out *sternfan.DepthFit, targets []target, o *outlook) (aims []int) {
	for i := range targets {
		t := &targets[i]
		for j, k := range t.lures {
			if math.IsNaN(o.y[k]) || math.IsNaN(t.before[j]) {
				continue
			}
			aims = append(aims, k)
			sb, sa := spread.Eighty*math.Sqrt(t.beforeV[j]), spread.Eighty*math.Sqrt(o.cov(k, k))
			l := sternfan.FittedLure{Rod: t.rod, Position: w.position(t.rod), Side: w.side(t.rod), Lure: t.names[j],
				Before: t.before[j], BeforeLo: math.Max(t.before[j]-sb, 0), BeforeHi: t.before[j] + sb,
				After: o.y[k], AfterLo: math.Max(o.y[k]-sa, 0), AfterHi: o.y[k] + sa, LineOut: t.line, Cable: t.cable}
			if j == 0 && math.Abs(l.After-l.Before) > worthFeet {
				l.LineFor = t.restores(o.y, l.Before)
			}
			out.Lures = append(out.Lures, l)
		}
	}
	return aims
}

// next tells which measurements would take most of the variance of the lures' depths away,
// of each rod and kind the best.
func (w *workshop) next(out *sternfan.DepthFit, targets []target, o *outlook, aims []int, first int) {
	total := 0.0
	for _, a := range aims {
		total += o.cov(a, a)
	}
	if !(total > 0) {
		return
	}
	best := map[string]sternfan.NextMeasurement{}
	for i := range targets {
		t := &targets[i]
		for k := range o.boat.readings {
			r := &o.boat.readings[k]
			which := slices.Index(t.at[:], r.setting)
			// What is measured is a setting of its own, with its own errors of the hand.
			if which < 0 || math.IsNaN(o.y[k]) || t.at[which] < first {
				continue
			}
			gain, v := 0.0, o.cov(k, k)+r.sd*r.sd
			for _, a := range aims {
				c := o.cov(k, a)
				gain += c * c / v
			}
			key := t.rod + " " + string(r.what)
			if gain /= total; gain > best[key].Narrows {
				best[key] = sternfan.NextMeasurement{Rod: t.rod, Position: w.position(t.rod), Kind: r.what, LineOut: t.line * lines[which], Cable: t.cable, SD: r.sd, Narrows: gain}
			}
		}
	}
	out.Next = slices.AppendSeq(out.Next, maps.Values(best))
	slices.SortFunc(out.Next, func(p, q sternfan.NextMeasurement) int {
		return cmp.Or(cmp.Compare(q.Narrows, p.Narrows), cmp.Compare(p.Rod+string(p.Kind), q.Rod+string(q.Kind)))
	})
	out.Next = out.Next[:min(len(out.Next), mostNext)]
}

// restores returns the line out at which the lure runs at a depth: by the parabola through
// the three lines tried, 0 when it is not near them.
func (t *target) restores(y []float64, want float64) float64 {
	var z [len(lines)]float64
	for i, k := range t.depth {
		if k < 0 || math.IsNaN(y[k]) {
			return 0
		}
		z[i] = y[k]
	}
	at := func(s float64) float64 {
		v := 0.0
		for i := range lines {
			p := z[i]
			for j := range lines {
				if j != i {
					p *= (s - lines[j]) / (lines[i] - lines[j])
				}
			}
			v += p
		}
		return v
	}
	lo, hi := 0.5, 1.5
	flo, fhi := at(lo)-want, at(hi)-want
	if flo*fhi > 0 {
		return 0
	}
	for range 60 {
		mid := (lo + hi) / 2
		if fm := at(mid) - want; fm*flo > 0 {
			lo, flo = mid, fm
		} else {
			hi = mid
		}
	}
	return t.line * (lo + hi) / 2
}

func (w *workshop) position(rod string) string { return cmp.Or(w.q.Scenario.Position(rod), rod) }

func (w *workshop) side(rod string) sternfan.Side {
	if h := w.q.Scenario.HolderOf(rod); h != nil {
		return h.Side()
	}
	return sternfan.Amidships
}

// targets puts the rods that the fit tells about into b: the scenario's settings, of which
// there are first, then the same and other lengths of line as settings to measure at.
func (w *workshop) targets(ctx context.Context, b *boat) (targets []target, first int) {
	learned := map[string]bool{}
	for i := range w.boat.columns {
		c := &w.boat.columns[i]
		if c.active && c.occasion == "" && c.entry.Param != tackle.ParamSpeed {
			learned[c.entry.Name] = true
		}
	}
	sc := w.q.Scenario
	for i := range sc.Rods {
		id := sc.Rods[i].ID
		k, err := newStand(ctx, sc, id)
		if err != nil || len(targets) == mostAhead {
			continue
		}
		touched := false
		for name := range k.entry {
			touched = touched || learned[name]
		}
		if !touched {
			continue
		}
		k.spool = 1
		t := target{rod: id}
		t.line, t.cable = lineOf(sc, id)
		s := b.addSetting(k, "ahead", "ahead "+id)
		for _, n := range k.Info().Lures {
			t.lures = append(t.lures, len(b.readings))
			t.names = append(t.names, k.Model.Groups[k.Group].Nodes[n].ID)
			b.readings = append(b.readings, reading{setting: s, what: sternfan.MeasuredDepth, node: n, sd: goodFor[sternfan.MeasuredDepth]})
		}
		targets = append(targets, t)
	}
	first = len(b.settings)
	for i := range targets {
		t := &targets[i]
		for j, part := range lines {
			t.at[j], t.depth[j] = -1, -1
			changed := withLine(sc, t.rod, unit.Length(t.line*part))
			if changed == nil {
				continue
			}
			k, err := newStand(ctx, changed, t.rod)
			if err != nil {
				continue
			}
			k.spool /= w.fill(ctx, t.rod)
			t.at[j] = b.addSetting(k, "next", "next "+t.rod)
			t.depth[j] = len(b.readings)
			kinds := []sternfan.MeasuredKind{sternfan.MeasuredDepth, sternfan.MeasuredAngle, sternfan.MeasuredPull}
			if t.cable {
				kinds = kinds[:1] // the line of a clipped rod tells of the clip
			} else if math.Abs(k.side) > 0 {
				kinds = append(kinds, sternfan.MeasuredSide)
			}
			for _, what := range kinds {
				b.readings = append(b.readings, reading{setting: t.at[j], what: what, node: k.first, sd: goodFor[what]})
			}
		}
	}
	return targets, first
}

// lineOf returns the line that is out, of a downrigger's rod the cable.
func lineOf(sc *sternfan.Scenario, id string) (m float64, cable bool) {
	r := sc.Rod(id)
	if r == nil {
		return 0, false
	}
	if d := sc.Downrigger(r.Device()); d != nil {
		return d.CableOut.SI(), true
	}
	return r.Settings.LineOut.SI(), false
}

// withLine returns the scenario with another line or cable out, nil when a rod's line is
// not a setting of it.
func withLine(sc *sternfan.Scenario, id string, out unit.Length) *sternfan.Scenario {
	c := *sc
	c.Rods, c.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	r := c.Rod(id)
	if r == nil {
		return nil
	}
	on := r.Device()
	switch d := c.Downrigger(on); {
	case d != nil:
		d.CableOut.Value = out
	case on != "" || !r.Settings.LineOut.Given:
		return nil
	default:
		r.Settings.LineOut.Value = out
	}
	return &c
}
