package depth

import (
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/spread"
	"sternfan/tackle"
)

// stand is one rod or device at one setting, ready to be solved in any world.
type stand struct {
	*bench.Bench
	*bench.World
	node  map[string]int
	first int // node of the first lure, or the ball
	side  float64
	world []float64
	spool float64 // relative effect of a wrong fill on the counter at this count
	entry map[string]int
}

// closeTolerance makes the differences between neighboring worlds mean something.
const closeTolerance = 1e-5

// newStand sets a rod or a device apart, in water without a bottom: a depth is that at which
// it would run.
func newStand(ctx context.Context, sc *sternfan.Scenario, id string) (*stand, error) {
	deep := *sc
	deep.Water.Bottom.Given = false
	k, err := bench.New(&deep, nil, spread.Options{Tolerance: closeTolerance}).Of(ctx, id)
	if err != nil {
		return nil, err
	}
	m := k.Model
	b := &stand{Bench: k, World: k.World(), spool: 1, first: -1,
		node: map[string]int{}, world: make([]float64, len(m.Registry)), entry: map[string]int{}}
	if k.Rod >= 0 {
		b.spool, b.side = fillEffect(k.Info()), float64(m.Scenario.Rods[k.Rod].Settings.Side)
	}
	for i, n := range m.Groups[k.Group].Nodes {
		if n.Rod != k.Rod || n.Kind == "" || n.Kind == "tip" {
			continue
		}
		b.node[n.ID] = i
		if k.Rod >= 0 && n.Lure && b.first < 0 || k.Rod < 0 && (n.Kind == "ball" || n.Kind == string(sternfan.PartBoard)) {
			b.first = i
		}
	}
	for _, e := range m.Touches(k.Group) {
		b.entry[m.Registry[e].Name] = e
	}
	return b, nil
}

// fillEffect returns how much more a wrong diameter of a full spool tells on the counter
// at the line that is out than at the first turn. A counter counts turns; line comes off
// at the spool's diameter, which shrinks alike with every turn, so that the error of the
// length is to that of the full diameter as this is to the mean of full and present.
func fillEffect(r *tackle.RodInfo) float64 {
	if r.Reel == nil || len(r.Spool) == 0 {
		return 1
	}
	full, now := tackle.ReelFill(r.Reel, r.Spool, 0), tackle.ReelFill(r.Reel, r.Spool, r.LineOut)
	if !(full.Diameter > 0) || !(now.Diameter > 0) {
		return 1
	}
	return full.Diameter / ((full.Diameter + now.Diameter) / 2)
}

// column is one unknown: the score of an entry of the registry, or the part of it that is
// new on an occasion.
type column struct {
	entry    sternfan.Entry
	occasion string // "": of the boat for good
	day      string
	active   bool
	part     float64 // of the entry's score, the squares of its parts adding up to 1
}

// setting is a stand on an occasion: which columns move which entries.
type setting struct {
	*stand
	uses []use
}

type use struct {
	column, entry int
	weight        float64
}

// reading is one number to be predicted at a setting.
type reading struct {
	setting int
	what    sternfan.MeasuredKind
	node    int
	from    [3]float64
	sd      float64
}

// boat answers by the engine.
type boat struct {
	columns  []column
	index    map[string]int
	settings []setting
	readings []reading
}

func (b *boat) size() (int, int) { return len(b.readings), len(b.columns) }

// occasionOf says for how long an entry's error lasts: "" for good, a day, or a setting.
func occasionOf(param, day, set string) string {
	switch param {
	case tackle.ParamCurrent, tackle.ParamFleas:
		return day
	case tackle.ParamDial, tackle.ParamLead, tackle.ParamSetLoad:
		return set // set by hand, anew each time
	}
	return ""
}

// addSetting puts a stand into the boat. set names the occasion on which it was set.
func (b *boat) addSetting(k *stand, day, set string) int {
	s := setting{stand: k}
	names := make([]string, 0, len(k.entry))
	for name := range k.entry {
		names = append(names, name)
	}
	slices.SortFunc(names, func(p, q string) int { return k.entry[p] - k.entry[q] })
	for _, name := range names {
		i := k.entry[name]
		e := k.Model.Registry[i]
		if e.Scatter.Kind == sternfan.Exact || !(e.Scatter.SD > 0) {
			continue
		}
		weight, part := 1.0, 1.0
		if e.Param == tackle.ParamCounter {
			weight = k.spool
		}
		if e.Param == tackle.ParamSpeed {
			// The band is how the speed wanders from hour to hour; the rest is the instrument's.
			if v := wander(k.Model.Scenario, &e); v > 0 {
				s.uses = append(s.uses, use{b.columnFor(e, day+" "+set, day, v), i, v})
				weight = math.Sqrt(1 - v*v)
				part = weight
			}
		}
		s.uses = append(s.uses, use{b.columnFor(e, occasionOf(e.Param, day, day+" "+set), day, part), i, weight})
	}
	b.settings = append(b.settings, s)
	return len(b.settings) - 1
}

// wander returns the part of the speed's score that the given band makes up.
func wander(sc *sternfan.Scenario, e *sternfan.Entry) float64 {
	band := float64(sc.Speed.Band) / spread.Eighty
	if e.Scatter.Kind == sternfan.LogNormal {
		band /= e.Nominal
	}
	if !(band > 0) || e.Scatter.Kind == sternfan.Uniform {
		return 0
	}
	return math.Min(band/e.Scatter.SD, 0.99)
}

func (b *boat) columnFor(e sternfan.Entry, occasion, day string, part float64) int {
	key := e.Name + "\n" + occasion
	if i, ok := b.index[key]; ok {
		return i
	}
	if b.index == nil {
		b.index = map[string]int{}
	}
	b.index[key] = len(b.columns)
	c := column{entry: e, occasion: occasion, active: true, part: part}
	if occasion != "" {
		c.day = day
	}
	b.columns = append(b.columns, c)
	return len(b.columns) - 1
}

// put sets the stand's world to the scores.
func (s *setting) put(x []float64) {
	clear(s.world)
	for _, u := range s.uses {
		s.world[u.entry] += u.weight * x[u.column]
	}
}

// solve places the stand in its world.
func (s *setting) solve(ctx context.Context) bool {
	return s.Place(ctx, s.world)
}

// value reads what was solved.
func (r *reading) value(s *setting) float64 {
	p := s.Nodes[r.node]
	switch r.what {
	case sternfan.MeasuredAngle:
		return s.LineAngle
	case sternfan.MeasuredPull:
		return s.TipPull
	case sternfan.MeasuredSide:
		if s.side < 0 {
			return -p.Y
		}
		return p.Y
	case sternfan.MeasuredAstern:
		return -p.X
	case sternfan.MeasuredRange:
		dx, dy, dz := p.X-r.from[0], p.Y-r.from[1], p.Z-r.from[2]
		return math.Sqrt(dx*dx + dy*dy + dz*dz)
	}
	return p.Z
}

func (b *boat) predict(ctx context.Context, x, out []float64) {
	for i := range b.settings {
		s := &b.settings[i]
		s.put(x)
		b.read(s, i, s.solve(ctx), out)
	}
}

func (b *boat) read(s *setting, i int, ok bool, out []float64) {
	for k := range b.readings {
		if r := &b.readings[k]; r.setting == i {
			out[k] = math.NaN()
			if ok {
				out[k] = r.value(s)
			}
		}
	}
}

// apart is how far scores are moved for a slope.
const apart = 0.4

func (b *boat) slopes(ctx context.Context, x, jac []float64) {
	clear(jac)
	up, down := make([]float64, len(b.readings)), make([]float64, len(b.readings))
	for i := range b.settings {
		b.slopesOf(ctx, i, x, func(u []use, up, down []float64) {
			for k := range b.readings {
				if b.readings[k].setting != i {
					continue
				}
				d := (up[k] - down[k]) / (2 * apart)
				if math.IsNaN(d) {
					d = 0
				}
				for _, v := range u {
					jac[k*len(b.columns)+v.column] += d * v.weight
				}
			}
		}, up, down)
	}
}

// slopesOf visits the entries of a setting that active columns move, with the readings on
// both sides.
func (b *boat) slopesOf(ctx context.Context, i int, x []float64, visit func(u []use, up, down []float64), up, down []float64) {
	s := &b.settings[i]
	by := map[int][]use{}
	var order []int
	for _, u := range s.uses {
		if !b.columns[u.column].active {
			continue
		}
		if by[u.entry] == nil {
			order = append(order, u.entry)
		}
		by[u.entry] = append(by[u.entry], u)
	}
	for _, e := range order {
		s.put(x)
		s.world[e] += apart
		b.read(s, i, s.solve(ctx), up)
		s.world[e] -= 2 * apart
		b.read(s, i, s.solve(ctx), down)
		visit(by[e], up, down)
	}
}

// least is the effect on a reading, in its standard errors, below which a column is left at
// what was assumed.
const least = 0.005

// prune leaves out the columns that tell on no reading.
func (b *boat) prune(ctx context.Context) {
	x := make([]float64, len(b.columns))
	y := make([]float64, len(b.readings))
	b.predict(ctx, x, y)
	jac := make([]float64, len(b.readings)*len(b.columns))
	b.slopes(ctx, x, jac)
	for c := range b.columns {
		b.columns[c].active = false
		for k := range b.readings {
			if math.Abs(jac[k*len(b.columns)+c]) > least*b.readings[k].sd {
				b.columns[c].active = true
			}
		}
	}
}

// prior returns the inverse of the columns' prior covariance: of one, but for what the
// registry ties together.
func (b *boat) prior() []float64 {
	n := len(b.columns)
	cov := make([]float64, n*n)
	for i := range n {
		cov[i*n+i] = 1
		for _, with := range b.columns[i].entry.Corr {
			k, ok := b.index[with.With+"\n"+b.columns[i].occasion]
			if ok && b.columns[i].occasion == "" {
				cov[i*n+k], cov[k*n+i] = with.Rho, with.Rho
			}
		}
	}
	return inverse(cov, n)
}

// keyOf returns the key of the setting by which line or cable of a rod or device goes out.
func keyOf(sc *sternfan.Scenario, id string) string {
	if r := sc.Rod(id); r != nil && r.Device() != "" {
		id = r.Device()
	}
	if sc.Downrigger(id) != nil {
		return "downriggers." + id + ".cable_out"
	}
	for _, d := range sc.MastBoards {
		if d.ID == id {
			return "mast_boards." + id + ".line_out"
		}
	}
	return "rods." + id + ".settings.line_out"
}
