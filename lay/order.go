package lay

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/setting"
)

// unit of rods that go out together: one, or those on one cable, the lowest first.
type gang struct{ rods []int }

// order finds the order to set and to take in, and how long that takes.
func (pl *planner) order(e *whole, x pick, plan *sternfan.Plan) error {
	near, err := pl.watch(e, x, e.rods)
	if err != nil {
		return err
	}
	gangs := pl.gangs(x)
	seq := arrange(len(gangs), func(a, b int) float64 { return pl.setting(x, near, gangs[a], gangs[b]) })
	plan.People = pl.sc.People
	if plan.People == 0 {
		plan.People = 2
	}
	var before []int
	crew := newCrew(plan.People)
	for _, i := range seq {
		for _, r := range gangs[i].rods {
			step := sternfan.SetStep{Rod: pl.sc.Rods[r].ID, Minutes: crew.factor * pl.minutes(x[r], true)}
			step.Starts = crew.next(pl.sc.Boat.Holders[pl.ways[x[r]].holder].Side(), step.Minutes)
			for _, q := range before {
				g, ok := near[[2]int{r, q}]
				if !ok || g.Ratio >= roomy {
					continue
				}
				step.Passes = append(step.Passes, g)
				if g.Ratio < 1 {
					plan.Crossings = append(plan.Crossings, sternfan.Crossing{Rod: step.Rod, Over: pl.sc.Rods[q].ID, Gap: g})
				}
			}
			slices.SortStableFunc(step.Passes, func(a, b sternfan.Gap) int { return cmp.Compare(a.Ratio, b.Ratio) })
			plan.Set = append(plan.Set, step)
			before = append(before, r)
		}
	}
	plan.SetTime = crew.end
	// A line comes in the way it went out, so the last one set is the first in.
	crew = newCrew(plan.People)
	for k := len(before) - 1; k >= 0; k-- {
		r := before[k]
		plan.Clear = append(plan.Clear, pl.sc.Rods[r].ID)
		crew.next(pl.sc.Boat.Holders[pl.ways[x[r]].holder].Side(), crew.factor*pl.minutes(x[r], false))
	}
	plan.ClearTime = crew.end
	return nil
}

// gangs sorts the rods of a pick into those that go out together.
func (pl *planner) gangs(x pick) []gang {
	var out []gang
	at := map[string]int{}
	for r, o := range x {
		if o == none {
			continue
		}
		w := pl.ways[o]
		if pl.downrigger(w.device) < 0 {
			out = append(out, gang{[]int{r}})
			continue
		}
		i, ok := at[w.device]
		if !ok {
			i = len(out)
			at[w.device] = i
			out = append(out, gang{})
		}
		out[i].rods = append(out[i].rods, r)
	}
	for i := range out {
		slices.SortStableFunc(out[i].rods, func(a, b int) int { return cmp.Compare(pl.ways[x[a]].above, pl.ways[x[b]].above) })
	}
	return out
}

// setting returns what it costs that gang b goes out when a is out already: one for every
// line that comes inside the margin of another on its way, and a little for what crews do
// the other way around: shallow and outside first.
func (pl *planner) setting(x pick, near passes, a, b gang) float64 {
	sum := 0.0
	for _, r := range b.rods {
		for _, q := range a.rods {
			if g, ok := near[[2]int{r, q}]; ok && g.Ratio < 1 {
				sum++
			}
			sum += 1e-3 * pl.turn(x[r], x[q])
		}
	}
	return sum
}

// turn returns 1 when by practice b should have gone out before a: it runs farther
// outside, or as far and shallower; 0 otherwise.
func (pl *planner) turn(b, a int) float64 {
	lb, la := pl.ways[b].lures, pl.ways[a].lures
	if len(lb) == 0 || len(la) == 0 {
		return 0
	}
	yb, ya := math.Abs(lb[0].at.Y), math.Abs(la[0].at.Y)
	switch {
	case yb > ya+1:
		return 1
	case yb > ya-1 && lb[0].at.Z < la[0].at.Z-1:
		return 0.5
	}
	return 0
}

// partly returns a rod with a part of its line out: of the cable on a downrigger, of the
// way along a mast board's line. ok is false when there is nothing to let out.
func (pl *planner) partly(rod *sternfan.Rod, w *way, part float64) (t bench.Trial, ok bool) {
	t = bench.Trial{Rod: *rod, Source: rod.ID}
	var r *setting.Row
	switch {
	case pl.downrigger(w.device) >= 0:
		full := pl.cableOf(w)
		t.Cable = part * full
		// The release starts at the ball and the ball at the boom.
		return t, t.Cable > w.above+2*foot
	case pl.mastBoard(w.device) >= 0:
		r = countAlong
	case t.Rod.Settings.LineOut.Given:
		r = countLine
	default:
		r = countColors
	}
	on := setting.On{Settings: &t.Rod.Settings}
	v := r.Get(on)
	v.Number *= part
	r.Set(on, v)
	return t, v.Number > 0
}

// mostExact is how many gangs are put in order exactly: a table of all subsets.
const mostExact = 14

// arrange returns the order of n things with the least sum of cost(a, b) over every a that
// comes before b: by the best order of every subset (Held & Karp 1962, J. SIAM 10:196), or
// for many by putting each where it costs least and exchanging.
func arrange(n int, cost func(a, b int) float64) []int {
	c := make([][]float64, n)
	for a := range c {
		c[a] = make([]float64, n)
		for b := range c[a] {
			if a != b {
				c[a][b] = cost(a, b)
			}
		}
	}
	if n > mostExact {
		return exchange(n, c)
	}
	best := make([]float64, 1<<n)
	last := make([]int, 1<<n)
	for set := 1; set < 1<<n; set++ {
		best[set] = math.Inf(1)
		for b := range n {
			if set&(1<<b) == 0 {
				continue
			}
			rest := set &^ (1 << b)
			sum := best[rest]
			for left := rest; left != 0; left &= left - 1 {
				sum += c[bits.TrailingZeros(uint(left))][b]
			}
			if sum < best[set] {
				best[set], last[set] = sum, b
			}
		}
	}
	out := make([]int, n)
	for set, k := 1<<n-1, n-1; k >= 0; k-- {
		out[k] = last[set]
		set &^= 1 << last[set]
	}
	return out
}

func exchange(n int, c [][]float64) []int {
	var out []int
	for b := range n {
		at, least := 0, math.Inf(1)
		for k := 0; k <= len(out); k++ {
			sum := 0.0
			for i, a := range out {
				if i < k {
					sum += c[a][b]
				} else {
					sum += c[b][a]
				}
			}
			if sum < least {
				at, least = k, sum
			}
		}
		out = slices.Insert(out, at, b)
	}
	for range n {
		moved := false
		for k := 1; k < n; k++ {
			if c[out[k]][out[k-1]] < c[out[k-1]][out[k]] {
				out[k-1], out[k] = out[k], out[k-1]
				moved = true
			}
		}
		if !moved {
			break
		}
	}
	return out
}

// How long hands are on a rod; assumed, for a practiced crew on a calm day.
const (
	payOut  = 30.0 // m of line a minute, a diver or weight pulling it
	walkOut = 20.0 // of a board's line, of a lead, of a sinking line
	lower   = 20.0 // of cable
	reelIn  = 25.0
	bring   = 20.0 // of a board's or a sinking line
)

// minutes returns how long it takes to set a rod, or to take it in.
func (pl *planner) minutes(o int, out bool) float64 {
	w := pl.ways[o]
	g := &pl.rigs[w.rig]
	set := &g.def.Settings
	line, lead := w.track.LineOut, set.Lead.SI()
	if g.knob.count == countLead {
		lead = w.set.count
	}
	tie, away, back := 0.5, payOut, reelIn
	switch {
	case pl.downrigger(w.device) >= 0:
		tie, away, back, line = 1, lower, 40, pl.cableOf(w)
	case pl.mastBoard(w.device) >= 0:
		tie, away, back, line = 1, walkOut, bring, set.Along.SI()
	case g.info.board:
		tie, away, back = 1.5, walkOut, bring
	case g.info.diver != "":
		tie = 1
	}
	if set.Colors.Given {
		lead += set.Colors.SI() * 30 * foot
	}
	if !out {
		return tie/2 + line/back + lead/reelIn
	}
	return tie + line/away + lead/walkOut
}

// crew shares the work among people: one steers, and one works on a side at a time.
type crew struct {
	hands  []float64 // when each is free
	side   [3]float64
	factor float64
	end    float64
}

func newCrew(people int) *crew {
	c := &crew{hands: make([]float64, min(max(people-1, 1), 3)), factor: 1}
	if people <= 1 {
		c.factor = 1.3 // who sets also steers
	}
	return c
}

// next gives a task on a side to whoever is free first and returns when it starts.
func (c *crew) next(side sternfan.Side, minutes float64) float64 {
	who := 0
	for i, t := range c.hands {
		if t < c.hands[who] {
			who = i
		}
	}
	start := math.Max(c.hands[who], c.side[side+1])
	c.hands[who], c.side[side+1] = start+minutes, start+minutes
	c.end = math.Max(c.end, start+minutes)
	return start
}
