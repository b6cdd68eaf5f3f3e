package lay

import (
	"cmp"
	"slices"
)

// fitting is an option for a rod that is to be put back, or none, and what it adds to the
// score beside the lines that are out.
type fitting struct {
	option int
	gain   float64
	pair   [pairs]float64 // how far it breaks the rules of two with them
}

// refitting is the memory of putting rods back.
type refitting struct {
	rods  []int
	lists [][]fitting // of each of the rods
	tops  []float64   // what the rods from each on add at most
	pick  []int       // of each of the rods
	best  []int
	cut   bool // the last search for them ended at refitNodes
}

const (
	// refitRods is how many rods are put back together at most; others wait for fill.
	refitRods = 5
	// refitNodes is how many options are put in place for it at most.
	refitNodes = 150
)

// refit puts rods that are not fished back in the way that scores the most, if that is more
// than a floor and lacks no more than so many things, and reports whether it did: some
// that were just taken out, and others where there is room. Each option is looked at
// beside the lines that are out; what the rods do to each other is worked out by branch
// and bound. Beside each other they are worth no more than alone, but for the balance of
// sides, and where a rule is broken by so many pairs that one more costs nothing: the bound
// is as good as that.
func (q *searcher) refit(s *state, out []int, lacks int, floor float64) bool {
	m := &q.again
	m.rods = append(m.rods[:0], out[:min(len(out), refitRods)]...)
	for _, r := range q.rng.Perm(len(s.pick)) {
		if len(m.rods) < refitRods && s.pick[r] == none && len(q.p.byRod[r]) > 0 && !slices.Contains(m.rods, r) {
			m.rods = append(m.rods, r)
		}
	}
	root := s.score()
	if !q.fittings(s, root, floor) {
		return false
	}
	n := len(m.rods)
	for k := n - 1; k >= 0; k-- {
		m.tops[k] = m.tops[k+1] + m.lists[k][0].gain
	}
	most, found, left := floor, false, refitNodes
	var visit func(k int, at float64)
	visit = func(k int, at float64) {
		if k == n {
			if q.lacks(s) <= lacks {
				most, found = at, true
				copy(m.best, m.pick)
			}
			return
		}
		for i := range m.lists[k] {
			f := &m.lists[k][i]
			if at+f.gain+m.tops[k+1] <= most || left == 0 {
				return
			}
			m.pick[k] = f.option
			if f.option == none {
				visit(k+1, at)
				continue
			}
			if !s.enough(f.option) {
				continue
			}
			was := s.pair
			if q.adds(s, f, m.pick[:k]) {
				left--
				q.looked++
				s.count(f.option, 1)
				if next := s.score(); next+m.tops[k+1] > most {
					visit(k+1, next)
				}
				s.count(f.option, -1)
			}
			s.pair = was
		}
	}
	visit(0, root)
	m.cut = left == 0
	if found {
		for _, o := range m.best[:n] {
			if o != none {
				s.put(o)
			}
		}
	}
	return found
}

// fittings lists the options of the rods to be put back, the best first, and reports
// whether they may bring a score over a floor. What could not is left out.
func (q *searcher) fittings(s *state, root, floor float64) bool {
	p, m := q.p, &q.again
	n := len(m.rods)
	for len(m.lists) < n {
		m.lists = append(m.lists, nil)
	}
	m.tops, m.pick, m.best = slices.Grow(m.tops[:0], n+1)[:n+1], slices.Grow(m.pick[:0], n)[:n], slices.Grow(m.best[:0], n)[:n]
	m.tops[n] = 0
	e := s.earning()
	now := e.beside(&s.pair)
	// What pairs do is asked for last: it is what takes long.
	sum := root
	for k, r := range m.rods {
		list, top := m.lists[k][:0], 0.0
		for _, o := range p.byRod[r] {
			if s.enough(o) && p.options[o].breaks&^p.waive == 0 && !s.clashes(o) {
				list = append(list, fitting{option: o, gain: e.with(s, o) + now - root})
				top = max(top, list[len(list)-1].gain)
			}
		}
		if !p.must[r] || len(list) == 0 {
			list = append(list, fitting{option: none})
		}
		m.lists[k], m.tops[k] = list, top
		sum += top
	}
	for k := range m.rods {
		list, kept, top := m.lists[k], m.lists[k][:0], 0.0
		sum -= m.tops[k]
		for _, f := range list {
			if sum+f.gain <= floor {
				continue
			}
			if f.option != none {
				pair, ok := s.beside(f.option)
				if !ok {
					continue
				}
				q.looked++
				if f.gain += e.beside(&pair) - now; sum+f.gain <= floor {
					continue
				}
				for i := range pair {
					f.pair[i] = pair[i] - s.pair[i]
				}
			}
			kept = append(kept, f)
			top = max(top, f.gain)
		}
		if len(kept) == 0 {
			return false
		}
		slices.SortFunc(kept, func(a, b fitting) int {
			if a.gain != b.gain {
				return cmp.Compare(b.gain, a.gain)
			}
			return a.option - b.option
		})
		m.lists[k] = kept
		sum += top
	}
	return true
}

// adds adds what an option does to the others to a state's sums: to those that are out, as
// is known, and to some that are being put back. It reports whether it breaks no rule with
// them.
func (q *searcher) adds(s *state, f *fitting, others []int) bool {
	for i := range s.pair {
		s.pair[i] += f.pair[i]
	}
	for _, x := range others {
		if x == none {
			continue
		}
		b := q.p.between(f.option, x)
		if b.breaks&^q.p.waive != 0 {
			return false
		}
		for i := range s.pair {
			s.pair[i] += b.cost[i]
		}
	}
	return true
}

// force puts the better of two options drawn at random of a rod in its place, and takes out
// whatever is in the way and some rods more. It returns which rods are out for it.
func (q *searcher) force(s *state) (out []int) {
	p := q.p
	r := q.rng.IntN(len(s.pick))
	of := p.byRod[r]
	if len(of) == 0 {
		return out
	}
	o := of[min(q.rng.IntN(len(of)), q.rng.IntN(len(of)))]
	opt := &p.options[o]
	if o == s.pick[r] || opt.breaks&^p.waive != 0 {
		return out
	}
	if s.pick[r] != none {
		s.take(r)
	}
	take := func(x int) {
		s.take(x)
		out = append(out, x)
	}
	for range q.rng.IntN(forceMore + 1) {
		if x := q.rng.IntN(len(s.pick)); s.pick[x] != none {
			take(x)
		}
	}
	for x, y := range s.pick {
		if y != none && (p.between(o, y).breaks&^p.waive != 0 || s.short(opt, &p.options[y])) {
			take(x)
		}
	}
	if !s.enough(o) {
		return append(out, r)
	}
	s.put(o)
	return out
}

// forceMore is how many rods are taken out at most besides those that are in the way.
const forceMore = 3

// short reports whether there is too little of what an option uses and another has.
func (s *state) short(o, other *option) bool {
	for _, u := range o.uses {
		if s.left[u.of] < u.amount && slices.ContainsFunc(other.uses, func(v use) bool { return v.of == u.of }) {
			return true
		}
	}
	return false
}

// polish puts every few rods of a pick back in the best way, as often as that helps.
func (q *searcher) polish(s *state, lacks int) {
	rods := len(s.pick)
	before := newState(s.p)
	for range climbRounds {
		was := s.score()
		at := was
		var visit func(from int, out []int)
		visit = func(from int, out []int) {
			if len(out) == polishRods {
				before.become(s)
				for _, r := range out {
					if s.pick[r] != none {
						s.take(r)
					}
				}
				if q.refit(s, out, lacks, at+polishGain) {
					at = s.score()
				} else {
					s.become(before)
				}
				return
			}
			for r := from; r < rods; r++ {
				if len(s.p.byRod[r]) > 0 {
					visit(r+1, append(out, r))
				}
			}
		}
		visit(0, make([]int, 0, polishRods))
		if at <= was+polishGain {
			return
		}
	}
}

const (
	polishRods = 3    // put back together
	polishGain = 1e-9 // that is one, and no rounding
)
