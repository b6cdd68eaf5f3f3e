package lay

import (
	"cmp"
	"math"
	"slices"
)

// term is one term of a plan's score.
type term uint8

// The terms: those of the whole plan, of one rod, and of two rods, in this order.
const (
	cover term = iota
	balance
	inTurns
	hookInReach
	snubber
	bears
	lureSpeed
	tripRoom
	asNow
	shallowOutside
	highOutside
	apart
	room
	leadAcross
	variety
	terms

	firstSolo = hookInReach
	firstPair = shallowOutside
	solos     = int(firstPair - firstSolo)
	pairs     = int(terms - firstPair)
)

// breach is a set of hard rules that an option breaks by itself, or two break together.
type breach uint16

// The rules.
const (
	breachBottom breach = 1 << iota
	breachSpool
	breachStrength
	breachTrip
	breachUnsolved
	breachHull
	breachClearance
	breachCable
	everyBreach = breach(1<<iota) - 1
)

// use is an amount of something there is only so much of.
type use struct {
	of, amount int
}

// landing is one lure of an option: the band it is meant for and how well it is there, 0
// to 1.
type landing struct {
	band int
	fit  float64
}

// option is one way to fish one rod.
type option struct {
	rod    int
	uses   []use
	lures  []landing
	solo   [solos]float64 // how far it breaks each rule of one rod, 0 to 1
	breaks breach
	pull   float64 // at the tip, N
	side   int     // -1 port, 1 starboard
	look   uint64  // what it is like: two plans differ by their looks
}

// pairing is what two options do to each other.
type pairing struct {
	breaks breach
	cost   [pairs]float64 // how far they break each rule of two rods, 0 to 1
}

// problem is the choice of an option, or none, for every rod. It knows no water: pair is
// asked for what two options do to each other.
type problem struct {
	options  []option
	byRod    [][]int // options of each rod, those first that are worth the most by themselves
	must     []bool  // rods that are fished in any plan
	capacity []int   // of what options use
	want     []int   // lures meant for each band
	least    []int   // lures that each band must have
	lines    int     // lines that must be out
	likely   int     // the most lines that a plan can have: what sums are measured against
	weight   [terms]float64
	pair     func(a, b int) pairing
	waive    breach  // rules that are not asked of this problem
	spoiled  float64 // lines that the turns intended spoil, of those that are out; known of a whole plan only

	total  float64   // of the weights
	slots  int       // of the bands
	worths []float64 // of each option by itself
	cache  pairCache
}

// fitEnough is the least fit with which a lure counts as being in its band.
const fitEnough = 0.5

// ready fills what follows from the rest.
func (p *problem) ready() *problem {
	p.byRod = make([][]int, len(p.must))
	for i := range p.options {
		r := p.options[i].rod
		p.byRod[r] = append(p.byRod[r], i)
	}
	p.total, p.slots = 0, 0
	for _, w := range p.weight {
		p.total += w
	}
	for _, n := range p.want {
		p.slots += n
	}
	p.rank()
	if p.least == nil {
		p.least = make([]int, len(p.want))
	}
	p.cache = newPairCache(len(p.options))
	return p
}

// rank puts the options of each rod in order.
func (p *problem) rank() {
	p.worths = make([]float64, 0, len(p.options)) // a copy of the problem keeps its own
	for o := range p.options {
		p.worths = append(p.worths, p.worth(o))
	}
	for _, of := range p.byRod {
		slices.SortStableFunc(of, func(a, b int) int { return cmp.Compare(p.worths[b], p.worths[a]) })
	}
}

// pairCache keeps what two options do to each other.
type pairCache struct {
	at    []int32 // by pair, 0: not asked yet
	kept  []pairing
	words int      // of a set of options
	clash []uint64 // of each option the set of those that are known to break a rule with it
}

func newPairCache(n int) pairCache {
	words := (n + 63) / 64
	return pairCache{at: make([]int32, n*(n+1)/2), kept: make([]pairing, 1, 1024), words: words, clash: make([]uint64, n*words)}
}

// between returns what two options of different rods do to each other.
func (p *problem) between(a, b int) *pairing {
	if a < b {
		a, b = b, a
	}
	k := a*(a+1)/2 + b
	if p.cache.at[k] == 0 {
		p.cache.kept = append(p.cache.kept, p.pair(b, a))
		p.cache.at[k] = int32(len(p.cache.kept) - 1)
		if p.cache.kept[p.cache.at[k]].breaks != 0 {
			p.cache.clash[a*p.cache.words+b/64] |= 1 << (b % 64)
			p.cache.clash[b*p.cache.words+a/64] |= 1 << (a % 64)
		}
	}
	return &p.cache.kept[p.cache.at[k]]
}

// none marks a rod that is not fished.
const none = -1

// pick is an option for every rod, or none.
type pick []int

// state is a pick with the sums that its score is made of.
type state struct {
	p    *problem
	pick pick
	left []int // of each capacity
	solo [solos]float64
	pair [pairs]float64
	fits [][]float64 // of each band, as they came
	pull [3]float64  // to port, to starboard, in all
	out  int
	in   []uint64 // the set of the options
}

func newState(p *problem) *state {
	s := &state{p: p, pick: make(pick, len(p.must)), left: slices.Clone(p.capacity), fits: make([][]float64, len(p.want)), in: make([]uint64, p.cache.words)}
	for i := range s.pick {
		s.pick[i] = none
	}
	return s
}

// admits reports whether an option may join: it breaks no rule by itself or with another,
// and there is enough of what it uses.
func (s *state) admits(o int) bool {
	p := s.p
	if p.options[o].breaks&^p.waive != 0 || !s.enough(o) {
		return false
	}
	if s.clashes(o) {
		return false
	}
	for _, x := range s.pick {
		if x != none && p.between(o, x).breaks&^p.waive != 0 {
			return false
		}
	}
	return true
}

// clashes reports whether an option is known to break a rule with one that is there.
func (s *state) clashes(o int) bool {
	c := &s.p.cache
	if s.p.waive != 0 {
		return false // not every rule counts
	}
	for i, set := range c.clash[o*c.words : (o+1)*c.words] {
		if set&s.in[i] != 0 {
			return true
		}
	}
	return false
}

// lineEarns returns the most that one line more adds to the score, but for what its lures
// cover and its own broken rules cost.
func (s *state) lineEarns() float64 {
	p := s.p
	if p.total == 0 {
		return 1
	}
	d := float64(max(p.likely, 1))
	var v [terms]float64
	s.soft(&v, s.out)
	sum := p.weight[balance] * (float64(s.out+1)/d - v[balance])
	for _, w := range p.weight[inTurns:] {
		sum += w / d
	}
	return sum / p.total
}

func (s *state) enough(o int) bool {
	for _, u := range s.p.options[o].uses {
		if s.left[u.of] < u.amount {
			return false
		}
	}
	return true
}

// put adds an option of a rod that is not fished; take removes it again.
func (s *state) put(o int)  { s.change(o, 1) }
func (s *state) take(r int) { s.change(s.pick[r], -1) }

func (s *state) change(o, sign int) {
	p, opt := s.p, &s.p.options[o]
	if sign < 0 {
		s.pick[opt.rod] = none
	}
	s.in[o/64] ^= 1 << (o % 64)
	for _, u := range opt.uses {
		s.left[u.of] -= sign * u.amount
	}
	f := float64(sign)
	for i, v := range opt.solo {
		s.solo[i] += f * v
	}
	for _, x := range s.pick {
		if x != none {
			for i, v := range p.between(o, x).cost {
				s.pair[i] += f * v
			}
		}
	}
	for _, l := range opt.lures {
		if l.band < 0 {
			continue
		}
		if sign > 0 {
			s.fits[l.band] = append(s.fits[l.band], l.fit)
			continue
		}
		at := slices.Index(s.fits[l.band], l.fit)
		s.fits[l.band] = slices.Delete(s.fits[l.band], at, at+1)
	}
	s.pulls(opt, f)
	s.out += sign
	if sign > 0 {
		s.pick[opt.rod] = o
	}
}

// pulls adds an option's pull so many times.
func (s *state) pulls(o *option, times float64) {
	switch {
	case o.side < 0:
		s.pull[0] += times * o.pull
	case o.side > 0:
		s.pull[1] += times * o.pull
	}
	s.pull[2] += times * o.pull
}

// set makes the state that of a pick.
func (s *state) set(to pick) {
	fresh := newState(s.p)
	for _, o := range to {
		if o != none {
			fresh.put(o)
		}
	}
	*s = *fresh
}

// lacks returns how many of the things that a plan must have are missing.
func (s *state) lacks() int {
	n := max(s.p.lines-s.out, 0)
	for r, m := range s.p.must {
		if m && s.pick[r] == none {
			n++
		}
	}
	for b, least := range s.p.least {
		in := 0
		for _, f := range s.fits[b] {
			if f >= fitEnough {
				in++
			}
		}
		n += max(least-in, 0)
	}
	return n
}

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
	v[balance] = earned / d
	v[inTurns] = clamp01((earned - p.spoiled) / d)
	if s.out > 0 && s.pull[2] > 0 {
		// One rod more on a side than on the other cannot be helped when they are odd.
		mean := s.pull[2] / float64(s.out)
		v[balance] = clamp01(v[balance] - math.Max(math.Abs(s.pull[0]-s.pull[1])-mean, 0)/(mean*d))
	}
	for i, x := range s.solo {
		v[int(firstSolo)+i] = clamp01((earned - x) / d)
	}
	for i, x := range s.pair {
		v[int(firstPair)+i] = clamp01((earned - x) / d)
	}
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

// best returns the sum of the n largest. It does not depend on their order.
func best(fits []float64, n int) float64 {
	if len(fits) > 1 {
		var few [16]float64
		sorted := append(few[:0], fits...)
		slices.Sort(sorted)
		fits = sorted
	}
	sum := 0.0
	for i := len(fits) - 1; i >= 0 && i >= len(fits)-n; i-- {
		sum += fits[i]
	}
	return sum
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

// exactly returns the state of a pick summed anew, so that the score does not depend on
// the way there.
func (p *problem) exactly(x pick) *state {
	s := newState(p)
	for _, o := range x {
		if o != none {
			s.put(o)
		}
	}
	return s
}

// allowed reports whether a pick keeps every hard rule.
func (p *problem) allowed(x pick) bool {
	s := newState(p)
	for _, o := range x {
		if o == none {
			continue
		}
		if !s.admits(o) {
			return false
		}
		s.put(o)
	}
	return s.lacks() == 0
}

// differ returns by how many rods two picks are unlike each other: rods that swap places
// with others like them do not count.
func (p *problem) differ(a, b pick) int {
	looks := func(x pick) (out []uint64) {
		for _, o := range x {
			if o != none {
				out = append(out, p.options[o].look)
			}
		}
		slices.Sort(out)
		return out
	}
	x, y := looks(a), looks(b)
	same, i, j := 0, 0, 0
	for i < len(x) && j < len(y) {
		switch {
		case x[i] == y[j]:
			same++
			i++
			j++
		case x[i] < y[j]:
			i++
		default:
			j++
		}
	}
	return max(len(x), len(y)) - same
}
