package lay

import "math"

// values returns how well each term is met, 0 to 1.
func (s *state) values() (v [terms]float64) {
	p := s.p
	v[cover] = 1
	if p.slots > 0 {
		v[cover] = s.covered() / float64(p.slots)
	}
	s.soft(&v, s.out)
	return v
}

// soft fills in the terms that a line earns by being out, for a plan with so many lines
// and the rules broken so far. A plan earns a share of each for every line, less what the
// lines spoil, so that no plan is the better for a line left in.
func (s *state) soft(v *[terms]float64, out int) {
	p := s.p
	d := float64(max(p.likely, 1))
	earned := float64(out)
	v[inTurns] = clamp01((earned - p.spoiled) / d)
	v[balance] = p.balanced(s.pull, s.out, out)
	for i, x := range s.solo {
		v[int(firstSolo)+i] = clamp01((earned - x) / d)
	}
	for i, x := range s.pair {
		v[int(firstPair)+i] = clamp01((earned - x) / d)
	}
}

// balanced returns how well both sides pull alike, of a plan with so many lines, for the
// pulls of those that are out.
func (p *problem) balanced(pull [3]float64, out, lines int) float64 {
	d := float64(max(p.likely, 1))
	v := float64(lines) / d
	if out > 0 && pull[2] > 0 {
		// One rod more on a side than on the other cannot be helped when they are odd.
		mean := pull[2] / float64(out)
		v = clamp01(v - math.Max(math.Abs(pull[0]-pull[1])-mean, 0)/(mean*d))
	}
	return v
}

// covered returns the sum of the fits of the best lures of each band, as many as are
// meant for it.
func (s *state) covered() float64 {
	sum := 0.0
	for b, fits := range s.fits {
		sum += best(fits, s.p.want[b])
	}
	return sum
}

// best returns the sum of the first n.
func best(fits []float64, n int) float64 {
	sum := 0.0
	for _, f := range fits[:min(n, len(fits))] {
		sum += f
	}
	return sum
}

// fills returns what an option's lures add to covered.
func (s *state) fills(o *option) float64 {
	if len(o.lures) > 1 {
		was := s.covered()
		s.landAll(o)
		sum := s.covered() - was
		s.liftAll(o)
		return sum
	}
	for _, l := range o.lures {
		if l.band < 0 {
			continue
		}
		want, fits := s.p.want[l.band], s.fits[l.band]
		switch {
		case len(fits) < want:
			return l.fit
		case want > 0:
			return math.Max(l.fit-fits[want-1], 0)
		}
	}
	return 0
}

func (s *state) landAll(o *option) {
	for _, l := range o.lures {
		if l.band >= 0 {
			s.land(l)
		}
	}
}

func (s *state) liftAll(o *option) {
	for _, l := range o.lures {
		if l.band >= 0 {
			s.lift(l)
		}
	}
}

// score returns the weighted mean of the terms, 0 to 1.
func (s *state) score() float64 {
	if s.p.total == 0 {
		return 1
	}
	v := s.values()
	sum := 0.0
	for i, w := range s.p.weight {
		sum += w * v[i]
	}
	return clamp01(sum / s.p.total)
}

// earning is what the score of a state will be with one line more, as far as all options
// have it in common: millions are held against each other.
type earning struct {
	p      *problem
	lines  float64
	so     float64 // by what is out, pairs of lines and balance left out
	cover  float64 // by each lure in its band
	weight [terms]float64
}

// earning returns what a state earns with one line more.
func (s *state) earning() earning {
	p := s.p
	e := earning{p: p, lines: float64(s.out + 1), so: 1}
	if p.total == 0 {
		return e
	}
	for i, w := range p.weight {
		e.weight[i] = w / p.total
	}
	d := float64(max(p.likely, 1))
	e.so = e.weight[inTurns] * clamp01((e.lines-p.spoiled)/d)
	for i, x := range s.solo {
		e.so += e.weight[int(firstSolo)+i] * (e.lines - x) / d
	}
	if p.slots == 0 {
		e.so += e.weight[cover]
		return e
	}
	e.cover = e.weight[cover] / float64(p.slots)
	e.so += e.cover * s.covered()
	return e
}

// with returns the score with an option, what pairs of lines do to each other left out.
func (e *earning) with(s *state, o int) float64 {
	p := e.p
	if p.total == 0 {
		return e.so
	}
	opt := &p.options[o]
	sum := e.so - p.costs[o]/p.total + e.weight[balance]*p.balanced(pulls(s.pull, opt, 1), s.out+1, s.out+1)
	if e.cover > 0 {
		sum += e.cover * s.fills(opt)
	}
	return sum
}

// beside returns what is earned by pairs that break their rules so far.
func (e *earning) beside(pair *[pairs]float64) float64 {
	d := float64(max(e.p.likely, 1))
	sum := 0.0
	for i, x := range pair {
		sum += e.weight[int(firstPair)+i] * clamp01((e.lines-x)/d)
	}
	return sum
}

// beside returns how far pairs break their rules with one more option, and whether it
// breaks no hard rule with those that are out.
func (s *state) beside(o int) (pair [pairs]float64, ok bool) {
	p := s.p
	if s.clashes(o) {
		return pair, false
	}
	pair = s.pair
	for _, x := range s.pick {
		if x == none {
			continue
		}
		b := p.between(o, x)
		if b.breaks&^p.waive != 0 {
			return pair, false
		}
		for i := range pair {
			pair[i] += b.cost[i]
		}
	}
	return pair, true
}

// clamp01 is without the calls that care for what is not a number: it is asked a million
// times.
func clamp01(x float64) float64 {
	switch {
	case x > 1:
		return 1
	case x > 0:
		return x
	}
	return 0
}

// lineEarns returns the most that one line more adds to the score, but for what its lures
// cover and its own broken rules cost.
func (s *state) lineEarns() float64 {
	p := s.p
	if p.total == 0 {
		return 1
	}
	d := float64(max(p.likely, 1))
	sum := p.weight[balance] * (float64(s.out+1)/d - p.balanced(s.pull, s.out, s.out))
	for _, w := range p.weight[inTurns:] {
		sum += w / d
	}
	return sum / p.total
}
