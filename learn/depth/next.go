package depth

import (
	"cmp"
	"context"
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

// ahead works out where the lures run now, how much line restores their depths, and
// which measurement would narrow them most.
func (w *workshop) ahead(ctx context.Context, out *sternfan.DepthFit, f *fit) error {
	b := &boat{columns: slices.Clone(w.boat.columns), index: map[string]int{}}
	for k, v := range w.boat.index {
		b.index[k] = v
	}
	targets, first := w.targets(b)
	known := len(f.x)
	for i := range b.columns {
		b.columns[i].active = true
	}
	n := len(b.columns)
	x := make([]float64, n)
	y, jac := make([]float64, len(b.readings)), make([]float64, len(b.readings)*n)

	// Before: only the settings as they are.
	all := b.settings
	b.settings = all[:first]
	b.predict(ctx, x, y)
	b.slopes(ctx, x, jac)
	for i := range targets {
		t := &targets[i]
		for _, k := range t.lures {
			v := 0.0
			for _, s := range jac[k*n : (k+1)*n] {
				v += s * s
			}
			t.before, t.beforeV = append(t.before, y[k]), append(t.beforeV, v)
		}
	}
	b.settings = all
	for i := range known {
		if w.boat.columns[i].occasion == "" {
			x[i] = f.x[i]
		}
	}
	b.predict(ctx, x, y)
	b.slopes(ctx, x, jac)
	if err := ctx.Err(); err != nil {
		return err
	}
	// Covariance of all scores: the fit's, and what it does not know as it was.
	cov := func(i, j int) float64 {
		switch {
		case i < known && j < known && w.boat.columns[i].active && w.boat.columns[j].active:
			return f.cov[i*known+j]
		case i == j:
			return 1
		}
		return 0
	}
	spreadOf := make([][]float64, len(b.readings)) // cov times slopes
	for k := range b.readings {
		row := make([]float64, n)
		g := jac[k*n : (k+1)*n]
		for i := range n {
			if g[i] == 0 {
				continue
			}
			if i >= known || !w.boat.columns[i].active {
				row[i] += g[i]
				continue
			}
			for j := range known {
				if w.boat.columns[j].active {
					row[j] += cov(i, j) * g[i]
				}
			}
		}
		spreadOf[k] = row
	}
	dot := func(k, l int) float64 {
		v := 0.0
		for i, s := range jac[l*n : (l+1)*n] {
			v += s * spreadOf[k][i]
		}
		return v
	}
	total := 0.0
	var aims []int
	for i := range targets {
		t := &targets[i]
		for j, k := range t.lures {
			if math.IsNaN(y[k]) || math.IsNaN(t.before[j]) {
				continue
			}
			v := dot(k, k)
			total += v
			aims = append(aims, k)
			sb, sa := spread.Eighty*math.Sqrt(t.beforeV[j]), spread.Eighty*math.Sqrt(v)
			l := sternfan.FittedLure{Rod: t.rod, Position: w.position(t.rod), Lure: t.names[j], Before: t.before[j], BeforeLo: math.Max(t.before[j]-sb, 0), BeforeHi: t.before[j] + sb,
				After: y[k], AfterLo: math.Max(y[k]-sa, 0), AfterHi: y[k] + sa, LineOut: t.line, Cable: t.cable}
			if j == 0 && math.Abs(l.After-l.Before) > worthFeet {
				l.LineFor = t.restores(y, l.Before)
			}
			out.Lures = append(out.Lures, l)
		}
	}
	if !(total > 0) {
		return nil
	}
	best := map[string]sternfan.NextMeasurement{}
	for i := range targets {
		t := &targets[i]
		for k := range b.readings {
			r := &b.readings[k]
			which := slices.Index(t.at[:], r.setting)
			// What is measured is a setting of its own, with its own errors of the hand.
			if which < 0 || math.IsNaN(y[k]) || t.at[which] < first {
				continue
			}
			gain, v := 0.0, dot(k, k)+r.sd*r.sd
			for _, a := range aims {
				c := dot(k, a)
				gain += c * c / v
			}
			key := t.rod + " " + string(r.what)
			if gain /= total; gain > best[key].Narrows {
				best[key] = sternfan.NextMeasurement{Rod: t.rod, Position: w.position(t.rod), Kind: r.what, LineOut: t.line * lines[which], Cable: t.cable, SD: r.sd, Narrows: gain}
			}
		}
	}
	for _, v := range best {
		out.Next = append(out.Next, v)
	}
	slices.SortFunc(out.Next, func(p, q sternfan.NextMeasurement) int {
		switch {
		case p.Narrows > q.Narrows:
			return -1
		case p.Narrows < q.Narrows:
			return 1
		case p.Rod+string(p.Kind) < q.Rod+string(q.Kind):
			return -1
		}
		return 1
	})
	out.Next = out.Next[:min(len(out.Next), mostNext)]
	return nil
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

// targets puts the rods that the fit tells about into b: the scenario's settings, of which
// there are first, then the same and other lengths of line as settings to measure at.
func (w *workshop) targets(b *boat) (targets []target, first int) {
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
		k, err := newBench(sc, id)
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
		for _, n := range k.model.Rods[k.rod].Lures {
			t.lures = append(t.lures, len(b.readings))
			t.names = append(t.names, k.model.Groups[k.group].Nodes[n].ID)
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
			k, err := newBench(changed, t.rod)
			if err != nil {
				continue
			}
			k.spool /= w.fill(t.rod)
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
	for _, d := range sc.Downriggers {
		if d.ID == r.Device() {
			return d.CableOut.SI(), true
		}
	}
	return r.Settings.LineOut.SI(), false
}

// withLine returns the scenario with another line or cable out, nil when a rod's line is
// not a setting of it.
func withLine(sc *sternfan.Scenario, id string, out unit.Length) *sternfan.Scenario {
	c := *sc
	c.Rods, c.Downriggers = slices.Clone(sc.Rods), slices.Clone(sc.Downriggers)
	for i := range c.Rods {
		r := &c.Rods[i]
		if r.ID != id {
			continue
		}
		on := r.Device()
		for k := range c.Downriggers {
			if c.Downriggers[k].ID == on {
				c.Downriggers[k].CableOut.Value = out
				return &c
			}
		}
		if on != "" || !r.Settings.LineOut.Given {
			return nil
		}
		r.Settings.LineOut.Value = out
		return &c
	}
	return nil
}
