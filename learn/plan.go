package learn

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strings"

	"sternfan"
	"sternfan/learn/stats"

	"gonum.org/v1/gonum/mathext"
)

// TrialQuery asks for a fair test.
type TrialQuery struct {
	Compare   string
	Levels    []string // two or more
	Rods      []sternfan.TrialRod
	Hours     float64 // of fishing in an outing; 0: 6
	TurnMin   float64 // about so long between change-overs; 0: 60
	ChangeMin float64 // a rod is out of the water at a change-over; 0: 4
	RatePerH  float64 // events per rod-hour of a usual rod; 0: not known, assumed 0.15
	Power     float64 // 0: 0.8
	Ratios    []float64
	Seed      uint64 // tosses who begins where
}

const (
	assumedRate = 0.15 // events per rod-hour; common practice, no source: one strike in seven rod-hours
	mostRods    = 40
	mostLevels  = 12
)

// Trial returns the plan. Each rod carries every level for the same time and so does each
// side; turns run forward and back (with two levels in the order 0110 1001), so that a
// bite that slowly picks up or dies away meets all levels alike; which level begins where
// is tossed by the seed. Errors are faults.
func Trial(q TrialQuery) (*sternfan.Trial, error) {
	q.Hours, q.TurnMin, q.ChangeMin, q.Power = cmp.Or(q.Hours, 6), cmp.Or(q.TurnMin, 60), cmp.Or(q.ChangeMin, 4), cmp.Or(q.Power, 0.8)
	if len(q.Ratios) == 0 {
		q.Ratios = []float64{1.25, 1.5, 2, 3}
	}
	out := &sternfan.Trial{Compare: q.Compare, Levels: q.Levels, RatePerH: cmp.Or(max(q.RatePerH, 0), assumedRate), RateKnown: q.RatePerH > 0, Power: q.Power}
	if err := q.check(); err != nil {
		return nil, err
	}
	out.Rods = facing(q.Rods)
	q.turns(out)
	q.tally(out)
	k := len(q.Levels)
	for _, ratio := range q.Ratios {
		need := sternfan.TrialNeed{
			Ratio:       ratio,
			LikelyHours: hoursFor(out.RatePerH, ratio, k, claimLikely, q.Power),
			BetterHours: hoursFor(out.RatePerH, ratio, k, claimBetter, q.Power),
			LikelyOne:   Power(out.RatePerH, ratio, out.HoursEach, k, claimLikely),
			BetterOne:   Power(out.RatePerH, ratio, out.HoursEach, k, claimBetter),
		}
		out.Needs = append(out.Needs, need)
	}
	return out, nil
}

func (q *TrialQuery) check() error {
	var faults sternfan.Faults
	outOf := func(path string, v, lo, hi float64, unit string) {
		if !(v >= lo && v <= hi) {
			faults = append(faults, sternfan.Fault{
				Code: "out-of-range", Path: path, Text: "the plan needs another figure here",
				Found: fmt.Sprintf("%g%s", v, unit), Allowed: []string{fmt.Sprintf("%g to %g%s", lo, hi, unit)},
			})
		}
	}
	outOf("hours", q.Hours, 0.5, 48, " h")
	outOf("turn", q.TurnMin, 10, 600, " min")
	outOf("change", q.ChangeMin, 0, 60, " min")
	outOf("power", q.Power, 0.5, 0.99, "")
	if q.RatePerH != 0 {
		outOf("rate", q.RatePerH, 1e-4, 100, " strikes per rod-hour")
	}
	for _, r := range q.Ratios {
		outOf("ratio", r, 1.05, 20, "")
	}
	outOf("levels", float64(len(q.Levels)), 2, mostLevels, "")
	outOf("rods", float64(len(q.Rods)), 1, mostRods, "")
	once := func(path, what string, names []string) {
		for i, v := range names {
			if v == "" || slices.Contains(names[:i], v) {
				faults = append(faults, sternfan.Fault{Code: "duplicate-id", Path: path, Text: "each " + what + " is named once", Found: v})
			}
		}
	}
	once("levels", "level", q.Levels)
	var rods []string
	for _, r := range q.Rods {
		rods = append(rods, r.ID)
	}
	once("rods", "rod", rods)
	return faults.Err()
}

// facing orders rods so that those that face each other across the boat stand together,
// and every second pair the other way about: levels dealt out in turn then share the
// sides evenly at every moment.
func facing(rods []sternfan.TrialRod) []sternfan.TrialRod {
	place := func(r sternfan.TrialRod) string {
		s := strings.ToLower(r.Position)
		for _, w := range []string{"port", "starboard"} {
			s = strings.ReplaceAll(s, w, "")
		}
		return strings.Join(strings.Fields(s), " ")
	}
	var out, alone []sternfan.TrialRod
	used := make([]bool, len(rods))
	pairs := 0
	for i, a := range rods {
		if used[i] {
			continue
		}
		used[i] = true
		mate := -1
		for j := i + 1; j < len(rods) && a.Side != sternfan.Amidships; j++ {
			if !used[j] && rods[j].Side == -a.Side && place(rods[j]) == place(a) {
				mate = j
				break
			}
		}
		if mate < 0 {
			alone = append(alone, a)
			continue
		}
		used[mate] = true
		b := rods[mate]
		if (a.Side == sternfan.Starboard) != (pairs%2 == 1) {
			a, b = b, a
		}
		out = append(out, a, b)
		pairs++
	}
	return append(out, alone...)
}

// turns deals the levels out.
func (q *TrialQuery) turns(out *sternfan.Trial) {
	k := len(q.Levels)
	minutes := q.Hours * 60
	cycle := 2 * k
	n := int(math.Round(minutes/q.TurnMin/float64(cycle))) * cycle
	if n == 0 {
		n = k
		if minutes/float64(cycle) >= 0.6*q.TurnMin {
			n = cycle
		}
	}
	toss := rand.New(rand.NewPCG(q.Seed, 1))
	first := toss.Perm(k)
	for i := range n {
		turn := sternfan.TrialTurn{FromMin: minutes * float64(i) / float64(n), ToMin: minutes * float64(i+1) / float64(n)}
		for r := range out.Rods {
			turn.Carries = append(turn.Carries, q.Levels[first[(r+shift(i, k))%k]])
		}
		out.Turns = append(out.Turns, turn)
	}
	if n%cycle != 0 {
		out.Troubles = append(out.Troubles, "Too few turns to run forward and back: if the bite picks up or dies away through the day, the later level gains. Fish a second day in the opposite order.")
	}
	switch {
	case len(out.Rods) < k:
		out.Troubles = append(out.Troubles, fmt.Sprintf("With fewer rods than levels the levels are not out at the same time, and the hour is not held equal: put out %d rods.", k))
	case len(out.Rods)%k != 0:
		out.Troubles = append(out.Troubles, fmt.Sprintf("%d rods do not share evenly among %d levels at any one time; over the whole day they do.", len(out.Rods), k))
	}
}

// shift returns by how many places the levels have moved on in a turn: of two, in the
// order of Thue and Morse, under which straight and curved drifts cancel; of more,
// forward and back.
func shift(turn, k int) int {
	if k == 2 {
		return bits.OnesCount(uint(turn)) % 2
	}
	at := turn % (2 * k)
	if at >= k {
		return 2*k - 1 - at
	}
	return at
}

// tally adds up what each level gets; at each change-over a rod whose level changes is out
// of the water for a while.
func (q *TrialQuery) tally(out *sternfan.Trial) {
	for _, level := range q.Levels {
		t := sternfan.TrialTally{Level: level, ByRod: map[string]float64{}}
		all := 0.0
		for i, turn := range out.Turns {
			for r, rod := range out.Rods {
				if turn.Carries[r] != level {
					continue
				}
				from := turn.FromMin
				if i > 0 && out.Turns[i-1].Carries[r] != level {
					from = min(turn.ToMin, from+q.ChangeMin)
					out.Lost += (from - turn.FromMin) / 60
				}
				h := (turn.ToMin - from) / 60
				all += h
				t.Midtime += h * (turn.ToMin + from) / 2
				t.ByRod[rod.ID] += h
				switch rod.Side {
				case sternfan.Port:
					t.Port += h
				case sternfan.Starboard:
					t.Starboard += h
				default:
					t.Middle += h
				}
			}
		}
		if all > 0 {
			t.Midtime /= all
		}
		out.HoursEach += all / float64(len(q.Levels))
		out.Balance = append(out.Balance, t)
	}
}

// Power returns the chance that one of so many levels, whose true rate is ratio times that
// of the others, is claimed to be better at the given size when all fish side by side for
// so many rod-hours each. The mean rate of all is events per rod-hour; totals are Poisson,
// the level's part of them binomial, the claim an exact two-sided p, times the levels
// compared, of at most size.
func Power(rate, ratio, hoursEach float64, levels int, size float64) float64 {
	k := float64(levels)
	looked := k
	if levels == 2 {
		looked = 1
	}
	mean := k * rate * hoursEach
	if !(mean > 0) {
		return 0
	}
	null, actual := 1/k, ratio/(ratio+k-1)
	sd := math.Sqrt(mean)
	power := 0.0
	needed := 0
	for n := max(1, int(mean-9*sd)); float64(n) <= mean+9*sd+30; n++ {
		logged, _ := math.Lgamma(float64(n) + 1)
		weight := math.Exp(float64(n)*math.Log(mean) - mean - logged)
		// The fewest that make a claim only grow with n.
		needed = max(needed, 1)
		for needed <= n && 2*looked*upperBinomial(needed, n, null) > size {
			needed++
		}
		if needed <= n {
			power += weight * upperBinomial(needed, n, actual)
		}
	}
	return min(1, power)
}

// upperBinomial returns the chance of k or more of n.
func upperBinomial(k, n int, p float64) float64 {
	if k <= 0 {
		return 1
	}
	return mathext.RegIncBeta(float64(k), float64(n-k+1), p)
}

// hoursFor returns the rod-hours of each level at which the power is reached. With ratio
// near one that is long; it is at most a million.
func hoursFor(rate, ratio float64, levels int, size, power float64) float64 {
	f := func(logH float64) float64 { return Power(rate, ratio, math.Exp(logH), levels, size) - power }
	lo, hi := math.Log(0.5/rate), math.Log(0.5/rate)
	flo, fhi := f(lo), 0.0
	if flo > 0 {
		return math.Exp(lo)
	}
	const most = 1e6
	for fhi = flo; fhi < 0; fhi = f(hi) {
		lo, flo = hi, fhi
		if hi += 0.7; math.Exp(hi) > most {
			return most
		}
	}
	return math.Exp(stats.Cross(f, lo, hi, flo, fhi))
}

// levelsOf returns the levels of an attribute that fished, most first.
func levelsOf(r *sternfan.Rates) []string {
	levels := slices.Clone(r.Levels)
	slices.SortStableFunc(levels, func(a, b sternfan.RateLevel) int {
		return cmp.Or(cmp.Compare(b.RodHours, a.RodHours), strings.Compare(a.Level, b.Level))
	})
	out := make([]string, len(levels))
	for i, v := range levels {
		out[i] = v.Level
	}
	return out
}

// TrialFrom fills in from the log what the query does not say: the two levels that fished
// most, and the rate.
func (l *Log) TrialFrom(q TrialQuery) (TrialQuery, error) {
	all, err := l.Rates(Query{Compare: []string{q.Compare}})
	if err != nil {
		return q, err
	}
	r := all[0]
	if len(q.Levels) == 0 {
		q.Levels = levelsOf(r)
		q.Levels = q.Levels[:min(2, len(q.Levels))]
	}
	if q.RatePerH == 0 && r.Events > 0 {
		q.RatePerH = float64(r.Events) / r.RodHours
	}
	return q, nil
}

// TrialRods returns the rods for which the attribute is known on the latest trip that knows
// it of any, in the order in which they were first set; none where no trip does.
func (l *Log) TrialRods(compare string) ([]sternfan.TrialRod, error) {
	l.Sort()
	a, err := l.axis(compare, &Query{})
	if err != nil {
		return nil, err
	}
	known := func(i int) bool { return a.byPiece || a.column[i] >= 0 }
	latest := -1
	for i := range l.trip {
		if known(i) && (latest < 0 || l.from[i] > l.from[latest]) {
			latest = i
		}
	}
	if latest < 0 {
		return nil, nil
	}
	type first struct {
		row int
		rod sternfan.TrialRod
	}
	rods := map[int32]first{}
	from, to := l.rowsOf(l.trip[latest])
	for i := from; i < to; i++ {
		if f, ok := rods[l.rod[i]]; known(i) && (!ok || l.from[i] < l.from[f.row]) {
			rods[l.rod[i]] = first{i, sternfan.TrialRod{ID: l.rods.of[l.rod[i]], Position: l.positions.of[l.position[i]], Side: sternfan.Side(l.side[i])}}
		}
	}
	order := slices.SortedFunc(maps.Values(rods), func(a, b first) int {
		return cmp.Or(cmp.Compare(l.from[a.row], l.from[b.row]), strings.Compare(a.rod.ID, b.rod.ID))
	})
	out := make([]sternfan.TrialRod, len(order))
	for i, f := range order {
		out[i] = f.rod
	}
	return out, nil
}
