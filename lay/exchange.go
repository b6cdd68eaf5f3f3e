package lay

import (
	"cmp"
	"slices"

	"sternfan"
	"sternfan/bench"
	"sternfan/geom"
)

// mendPairs is how many pairs of boards are tried in each other's places.
const mendPairs = 2

// exchanged lets two boards that a turn brings together change places: where one is inside
// of the other neither can go there alone. It returns the first plan that scores more for
// it, nil when none does, and how many it scored.
func (pl *planner) exchanged(l *laidOut) (*laidOut, int) {
	fine, looked := l.fine, 0
	base := l.score()
	for _, pair := range pl.boardsTogether(l) {
		var ask []bench.Trial
		var ways []*way
		for i, r := range pair {
			w := *fine.ways[l.x[r]]
			w.set.across = fine.ways[l.x[pair[1-i]]].set.across
			ask, ways = append(ask, pl.ask(&class{rig: w.rig, holder: w.holder}, w.set)), append(ways, &w)
		}
		got, err := pl.try(ask, pl.all)
		if err != nil {
			return nil, looked
		}
		x := slices.Clone(l.x)
		for i, w := range ways {
			band := fine.prob.options[l.x[pair[i]]].band()
			x[pair[i]] = fine.addWay(&got[i], stand{w.rig, w.holder}, w.set, band, false, geom.Vec{}, w.dialed)
		}
		fine.prob.ready()
		e, err := fine.solveWhole(x)
		if err != nil {
			return nil, looked
		}
		if fine.breaks(e, x) || fine.lacks(e, x) > 0 {
			continue
		}
		if e.turns, err = pl.through(e); err != nil {
			return nil, looked
		}
		looked++
		if next := (&laidOut{fine: fine, e: e, x: x}); next.score() > base+1e-9 {
			return next, looked
		}
	}
	return nil, looked
}

// boardsTogether lists the pairs of rods of the file on boards that the turns bring inside
// their margin, those that come nearest first.
func (pl *planner) boardsTogether(l *laidOut) (out [][2]int) {
	var broken []sternfan.TurnPair
	for i := range l.e.turns {
		broken = append(broken, l.e.turns[i].Broken...)
	}
	slices.SortStableFunc(broken, func(a, b sternfan.TurnPair) int { return cmp.Compare(a.Ratio, b.Ratio) })
	board := func(id string) int {
		k := slices.IndexFunc(l.e.rods, func(r int) bool { return pl.sc.Rods[r].ID == id })
		if k < 0 {
			return none
		}
		r := l.e.rods[k]
		if g := &pl.rigs[l.fine.ways[l.x[r]].rig]; !g.knob.across {
			return none
		}
		return r
	}
	for _, g := range broken {
		a, b := board(g.A), board(g.B)
		if pair := [2]int{a, b}; a != none && b != none && !slices.Contains(out, pair) && len(out) < mendPairs {
			out = append(out, pair)
		}
	}
	return out
}
