package lay

import (
	"context"
	"math"
	"slices"
)

// tries bounds how often a plan is mended that looked right rod by rod and breaks a rule
// when it is solved whole.
const tries = 8

// again is how often the table is searched anew when a plan of its best pick does not stand.
const again = 3

// realize makes a plan of a pick that is unlike some others. When lines of the pick have to
// stay in for it to stand, the table is told what came too near when it was solved whole,
// and is searched again; it is the best plan that comes of that, nil when nothing stands.
func (pl *planner) realize(ctx context.Context, from pick, unlike []pick) (*laidOut, int, error) {
	best, fine, looked, err := pl.stand(ctx, from)
	if err != nil {
		return nil, looked, err
	}
	for range again {
		if best != nil && lines(best.x) >= lines(from) || !pl.learn(fine, from) || pl.canceled() {
			break
		}
		q := pl.searcher(98)
		q.unlike, q.by = unlike, unlikeBy(len(pl.prob.must))
		got := q.run(ctx, effort{rounds: pl.effort().rounds / 3}, from)
		looked += got.looked
		if got.lacks > 0 || !got.whole {
			break
		}
		from = got.best
		next, other, n, err := pl.stand(ctx, from)
		looked += n
		if err != nil {
			if best != nil {
				err = nil
			}
			return best, looked, err
		}
		if fine = other; next != nil && (best == nil || next.score() > best.score()) {
			best = next
		}
	}
	return best, looked, nil
}

// lines returns how many rods of a pick are out.
func lines(x pick) int {
	n := 0
	for _, o := range x {
		if o != none {
			n++
		}
	}
	return n
}

// learn tells the table what a plan of a pick of it came to when it was solved whole. It
// reports whether that was news.
func (pl *planner) learn(fine *planner, from pick) bool {
	news := false
	for pair, room := range fine.tight {
		if room > math.Max(pl.tight[pair], 1) {
			if pl.tight == nil {
				pl.tight = map[[2]int]float64{}
			}
			pl.tight[pair], news = room, true
		}
	}
	for r, o := range from {
		if o == none {
			continue
		}
		if b := fine.prob.options[fine.adopted[r]].breaks; b&^pl.prob.options[o].breaks != 0 {
			pl.prob.options[o].breaks |= b
			news = true
		}
	}
	if news {
		pl.prob.cache = newPairCache(len(pl.prob.options))
	}
	return news
}

// stand makes a plan of a pick: refined in real steps, each rod where it stands, then
// solved whole. A plan that breaks a hard rule there is mended: the pair that came too
// near is asked for more room, what cannot stand is barred; in the end a rod stays in. It
// is nil when nothing stands. What was learned is in the refined planner.
func (pl *planner) stand(ctx context.Context, from pick) (*laidOut, *planner, int, error) {
	looked := 0
	fine := pl.refined(ctx)
	fine.from, fine.origin = pl, from
	start, err := fine.adopt(from, pl)
	if err != nil {
		return nil, nil, 0, err
	}
	fine.adopted = slices.Clone(start)
	for range tries {
		q := &searcher{p: fine.prob, rng: pl.searcher(99).rng}
		got := q.run(ctx, effort{rounds: fineRounds}, start)
		looked += got.looked
		if got.lacks > 0 {
			return nil, fine, looked, nil
		}
		start = got.best
		e, err := fine.solveWhole(got.best)
		if err != nil {
			return nil, nil, looked, err
		}
		if !fine.mend(e, got.best) {
			return &laidOut{fine: fine, e: e, x: got.best}, fine, looked, nil
		}
	}
	// Rods come in one by one until what is left stands.
	for range len(start) {
		e, err := fine.solveWhole(start)
		if err != nil {
			return nil, nil, looked, err
		}
		worst := fine.offender(e, start)
		if worst == none {
			if fine.lacks(e, start) > 0 {
				break
			}
			return &laidOut{fine: fine, e: e, x: start}, fine, looked, nil
		}
		start[worst] = none
		if fine.prob.must[worst] {
			break
		}
	}
	return nil, fine, looked, nil
}

// lacks returns how many of the things that a plan must have are missing in a whole.
func (pl *planner) lacks(e *whole, x pick) int {
	exact, picked := pl.exact(e, x)
	return exact.prob.exactly(picked).lacks()
}
