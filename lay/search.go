package lay

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"sternfan/portable"
)

// effort bounds a search.
type effort struct {
	rounds int // of taking out and putting back
	nodes  int // of the exact search, which ends early where it has no prospect of getting through; 0: none
}

// found is what a search came to.
type found struct {
	best   pick
	score  float64
	lacks  int
	proven bool // nothing better is there
	looked int  // picks that were scored
	whole  bool // not stopped early
}

// better reports whether a pick with so many lacks and that score beats another.
func better(lacks int, score float64, thanLacks int, thanScore float64) bool {
	return lacks < thanLacks || lacks == thanLacks && score > thanScore
}

// searcher looks for the best pick that is unlike some others.
type searcher struct {
	p      *problem
	rng    *rand.Rand
	unlike []pick // picks to differ from
	by     int    // by at least so many rods
	looked int
	again  refitting
	tell   func(part, score float64) // progress; nil: nobody listens
}

// rate returns what a state lacks, closeness to the picks it should be unlike among it,
// and its score.
func (q *searcher) rate(s *state) (lacks int, score float64) {
	q.looked++
	return q.lacks(s), s.score()
}

func (q *searcher) lacks(s *state) int {
	lacks := s.lacks()
	for _, other := range q.unlike {
		lacks += max(q.by-q.p.differ(s.pick, other), 0)
	}
	return lacks
}

// run searches: first by taking out and putting back, then, where that can finish,
// exactly.
func (q *searcher) run(ctx context.Context, e effort, from pick) found {
	out := q.shuffle(ctx, e.rounds, from)
	if e.nodes > 0 && out.whole {
		q.exact(ctx, e.nodes, e.nodes/earlyLook, &out)
	}
	out.looked = q.looked
	return out
}

const (
	// hot and cold are how much worse of the score, about, a plan is that is taken on the
	// way, first and last.
	hot, cold = 0.02, 0.004
	// forced is the part of the rounds that begin with an option chosen at random.
	forced = 0.5
	// mostOut is how many rods are taken out at most in the others.
	mostOut = 5
	// climbRounds is how many rounds of trying every option of every rod a better plan gets.
	climbRounds = 4
)

// shuffle is a large neighborhood search. In every other round an option is forced in, and
// what it was in the way of is put back in the best way together. In the others a few rods
// are taken out, those that belong together more often than not, and put back one by one
// where they serve best, with some noise. In a pick that is the best so far every rod then
// tries its other options. A worse pick is kept with a chance that shrinks as the search
// goes on (Shaw 1998; Ropke & Pisinger 2006, Transp. Sci. 40:455). Last every few rods of
// the best are put back in the best way together.
func (q *searcher) shuffle(ctx context.Context, rounds int, from pick) found {
	p := q.p
	now := newState(p)
	for _, o := range from {
		if o != none && now.admits(o) {
			now.put(o)
		}
	}
	q.fill(now, 0)
	q.climb(now, climbRounds)
	nowLacks, nowScore := q.rate(now)
	out := found{best: slices.Clone(now.pick), score: nowScore, lacks: nowLacks, whole: true}
	rods := len(p.must)
	if rods == 0 {
		return out
	}
	before := newState(p)
	for k := range rounds {
		if k%16 == 0 {
			if ctx.Err() != nil {
				out.whole = false
				return out
			}
			if q.tell != nil {
				q.tell(float64(k)/float64(rounds), out.score)
			}
		}
		heat := hot * portable.Pow(cold/hot, float64(k)/float64(rounds))
		floor := nowScore - heat*q.rng.ExpFloat64()
		before.become(now)
		if q.rng.Float64() < forced {
			if idle := q.force(now); !q.refit(now, idle, nowLacks, floor) {
				now.become(before)
				continue
			}
		} else {
			q.remove(now, 1+q.rng.IntN(min(mostOut, rods)))
			q.fill(now, heat*q.rng.Float64())
		}
		lacks, score := q.rate(now)
		if better(lacks, score, out.lacks, out.score) {
			q.climb(now, climbRounds)
			lacks, score = q.rate(now)
			out.best, out.score, out.lacks = slices.Clone(now.pick), score, lacks
		}
		switch {
		case lacks < nowLacks, lacks == nowLacks && score >= floor:
			nowLacks, nowScore = lacks, score
			if k%64 == 0 {
				now.set(now.pick) // sums gather rounding as they go
			}
		default:
			now.become(before)
		}
	}
	now.set(out.best)
	q.polish(now, out.lacks)
	copy(out.best, now.pick)
	q.settle(&out)
	return out
}

// settle sums the best pick anew.
func (q *searcher) settle(out *found) {
	s := q.p.exactly(out.best)
	out.lacks, out.score = q.rate(s)
}

// remove takes out n rods: at random, or one and those that cost the most beside it.
func (q *searcher) remove(s *state, n int) {
	p := q.p
	var in []int
	for r, o := range s.pick {
		if o != none {
			in = append(in, r)
		}
	}
	if len(in) == 0 {
		return
	}
	n = min(n, len(in))
	if q.rng.IntN(2) == 0 {
		q.rng.Shuffle(len(in), func(i, j int) { in[i], in[j] = in[j], in[i] })
	} else {
		seed := in[q.rng.IntN(len(in))]
		o := s.pick[seed]
		near := func(r int) float64 {
			if r == seed {
				return math.Inf(1)
			}
			sum := 0.0
			for i, c := range p.between(o, s.pick[r]).cost {
				sum += p.weight[int(firstPair)+i] * c
			}
			if p.options[o].side == p.options[s.pick[r]].side {
				sum += 0.5
			}
			return sum + q.rng.Float64()
		}
		rank := make(map[int]float64, len(in))
		for _, r := range in {
			rank[r] = near(r)
		}
		slices.SortStableFunc(in, func(a, b int) int { return cmp.Or(cmp.Compare(rank[b], rank[a]), a-b) })
	}
	for _, r := range in[:n] {
		s.take(r)
	}
}

// fill puts rods that are not fished where they serve best, in a random order, those that
// must be fished first. Noise is added to what each place is worth.
func (q *searcher) fill(s *state, noise float64) {
	var idle []int
	for r, o := range s.pick {
		if o == none && len(q.p.byRod[r]) > 0 {
			idle = append(idle, r)
		}
	}
	q.rng.Shuffle(len(idle), func(i, j int) { idle[i], idle[j] = idle[j], idle[i] })
	slices.SortStableFunc(idle, func(a, b int) int {
		switch {
		case q.p.must[a] && !q.p.must[b]:
			return -1
		case q.p.must[b] && !q.p.must[a]:
			return 1
		}
		return 0
	})
	for _, r := range idle {
		q.place(s, r, noise)
	}
}

// place puts a rod that is not fished at its best option, if that is better than none, and
// reports whether it did. What an option does to the other lines only ever costs, so one
// that would not be the best without them is not asked about them.
func (q *searcher) place(s *state, r int, noise float64) bool {
	p := q.p
	bestLacks, bestScore := q.rate(s)
	at := none
	// What all options of the rod lack together, unless it is asked of each.
	lacks, each := bestLacks, p.asks || len(q.unlike) > 0
	if p.must[r] {
		lacks--
	}
	if s.out < p.lines {
		lacks--
	}
	if !each && lacks < bestLacks {
		bestLacks, bestScore = lacks, math.Inf(-1)
	}
	ceiling, whole := s.score()+s.lineEarns()+noise, !each || bestLacks == 0
	e := s.earning()
	now := e.beside(&s.pair)
	for _, o := range p.byRod[r] {
		if whole && ceiling+p.worths[o] <= bestScore {
			break // and all after it are worth less
		}
		opt := &p.options[o]
		if !s.enough(o) || opt.breaks&^p.waive != 0 {
			continue
		}
		more := 0.0
		if noise > 0 {
			more = noise * (2*q.rng.Float64() - 1)
		}
		q.looked++
		if each {
			lacks = q.lacksWith(s, o)
		}
		alone := e.with(s, o)
		if !better(lacks, alone+now+more, bestLacks, bestScore) {
			continue
		}
		pair, ok := s.beside(o)
		if !ok {
			continue
		}
		if score := alone + e.beside(&pair) + more; better(lacks, score, bestLacks, bestScore) {
			bestLacks, bestScore, at = lacks, score, o
		}
	}
	if at == none {
		return false
	}
	s.put(at)
	return true
}

// lacksWith returns what a state lacks with one more option.
func (q *searcher) lacksWith(s *state, o int) int {
	opt := &q.p.options[o]
	s.landAll(opt)
	s.pick[opt.rod] = o
	s.out++
	lacks := q.lacks(s)
	s.out--
	s.pick[opt.rod] = none
	s.liftAll(opt)
	return lacks
}

// climb lets every rod try its other options until none helps, at most so many rounds.
func (q *searcher) climb(s *state, rounds int) {
	order := q.rng.Perm(len(s.pick))
	for range rounds {
		moved := false
		for _, r := range order {
			was := s.pick[r]
			lacks, score := q.rate(s)
			if was != none {
				s.take(r)
			}
			q.place(s, r, 0)
			nowLacks, nowScore := q.rate(s)
			if better(nowLacks, nowScore, lacks, score+1e-12) {
				moved = true
				continue
			}
			if s.pick[r] != none {
				s.take(r)
			}
			if was != none {
				s.put(was)
			}
		}
		if !moved {
			return
		}
	}
}

// earlyLook is the part of its nodes after which an exact search that need not get
// through asks how far it is: it goes on when it has come through as much of the tree.
const earlyLook = 6

// exact tries every pick, leaving out those that cannot beat the best found, and says
// whether it got through within the nodes. After early ones, if any, it asks for its prospect.
func (q *searcher) exact(ctx context.Context, nodes, early int, out *found) {
	p := q.p
	order := make([]int, 0, len(p.must))
	for r := range p.must {
		order = append(order, r)
	}
	// Rods with few options first: the tree is narrow where it is high.
	slices.SortStableFunc(order, func(a, b int) int { return len(p.byRod[a]) - len(p.byRod[b]) })
	// What the rods from each on can add at most, in fits and in lines.
	most := make([]float64, len(order)+1)
	lines := make([]int, len(order)+1)
	ranked := make([][]int, len(order))
	for k := len(order) - 1; k >= 0; k-- {
		top := 0.0
		for _, o := range p.byRod[order[k]] {
			if p.options[o].breaks&^p.waive == 0 {
				top = math.Max(top, p.worth(o))
				ranked[k] = append(ranked[k], o)
			}
		}
		slices.SortStableFunc(ranked[k], func(a, b int) int {
			switch x, y := p.worth(a), p.worth(b); {
			case x > y:
				return -1
			case x < y:
				return 1
			}
			return a - b
		})
		most[k] = most[k+1] + top
		lines[k] = lines[k+1]
		if len(ranked[k]) > 0 {
			lines[k]++
		}
	}
	s := newState(p)
	left := nodes
	var visit func(k int, from, to float64) bool // the part of the tree that the node has
	visit = func(k int, from, to float64) bool {
		if left--; left < 0 || left%1024 == 0 && ctx.Err() != nil || early > 0 && left == nodes-early && from < 1.0/earlyLook {
			return false
		}
		if k == len(order) {
			if lacks, score := q.rate(s); better(lacks, score, out.lacks, out.score+1e-12) {
				out.best, out.lacks, out.score = slices.Clone(s.pick), lacks, score
			}
			return true
		}
		if lacks := q.missing(s, lines[k], order[:k]); lacks > out.lacks ||
			lacks == out.lacks && !(q.hope(s, most[k], lines[k]) > out.score+1e-12) {
			return true
		}
		share := (to - from) / float64(len(ranked[k])+1)
		for i, o := range ranked[k] {
			if !s.admits(o) {
				continue
			}
			s.put(o)
			ok := visit(k+1, from+float64(i)*share, from+float64(i+1)*share)
			s.take(order[k])
			if !ok {
				return false
			}
		}
		return visit(k+1, to-share, to)
	}
	out.proven = visit(0, 0, 1)
	q.settle(out)
}

// worth returns what an option adds to the score at most.
func (p *problem) worth(o int) float64 {
	if p.total == 0 {
		return 0
	}
	opt := &p.options[o]
	sum := 0.0
	for _, l := range opt.lures {
		if l.band >= 0 && p.slots > 0 {
			sum += l.fit / float64(p.slots)
		}
	}
	return math.Max(0, (p.weight[cover]*sum-p.soloCost(opt))/p.total)
}

// missing returns what every completion of a state lacks at least, when rods with so many
// lines are still to be decided and those of done are.
func (q *searcher) missing(s *state, lines int, done []int) int {
	n := max(q.p.lines-s.out-lines, 0)
	for _, r := range done {
		if q.p.must[r] && s.pick[r] == none {
			n++
		}
	}
	return n
}

// hope returns a score that no completion of a state exceeds when the rods still to be
// decided add at most more to it, with so many lines.
func (q *searcher) hope(s *state, more float64, lines int) float64 {
	p := q.p
	if p.total == 0 {
		return 1
	}
	var v [terms]float64
	out := min(s.out+lines, p.likely)
	s.soft(&v, out)
	rest := p.weight[balance] * float64(out) / float64(max(p.likely, 1))
	for i := int(inTurns); i < int(terms); i++ {
		rest += p.weight[i] * v[i]
	}
	covered := 1.0
	if p.slots > 0 {
		covered = s.covered() / float64(p.slots)
	}
	return (math.Min(p.weight[cover]*covered+more*p.total, p.weight[cover]) + rest) / p.total
}

// standardRounds is how long a search goes on when nobody says otherwise.
const standardRounds = 18000
