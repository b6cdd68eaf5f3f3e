package lay

import (
	"cmp"
	"slices"

	"sternfan"
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
	side   sternfan.Side
	look   uint64 // what it is like: two plans differ by their looks
}

// band returns the band that the main lure is meant for, -1 for none.
func (o *option) band() int {
	if len(o.lures) == 0 {
		return -1
	}
	return o.lures[0].band
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
	costs  []float64 // of each option's broken rules of one rod, in weights
	asks   bool      // some band must have lures
	cache  pairCache
}

// fitEnough is the least fit with which a lure counts as being in its band.
const fitEnough = 0.5

// ready sorts the options by rod, adds up the weights and the lures wanted, and sets up what
// pairs of options are looked up in. A problem is searched only after that.
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
	p.asks = slices.ContainsFunc(p.least, func(n int) bool { return n > 0 })
	p.cache = newPairCache(len(p.options))
	return p
}

// rank puts the options of each rod in order.
func (p *problem) rank() {
	// A copy of the problem keeps its own.
	p.worths, p.costs = make([]float64, 0, len(p.options)), make([]float64, 0, len(p.options))
	for o := range p.options {
		p.worths, p.costs = append(p.worths, p.worth(o)), append(p.costs, p.soloCost(&p.options[o]))
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
	if k := p.cache.at[a*(a+1)/2+b]; k != 0 {
		return &p.cache.kept[k]
	}
	return p.ask(a, b)
}

// ask works it out for options a > b and keeps it.
func (p *problem) ask(a, b int) *pairing {
	c := &p.cache
	c.at[a*(a+1)/2+b] = int32(len(c.kept))
	c.kept = append(c.kept, p.pair(b, a))
	out := &c.kept[len(c.kept)-1]
	if out.breaks != 0 {
		c.clash[a*c.words+b/64] |= 1 << (b % 64)
		c.clash[b*c.words+a/64] |= 1 << (a % 64)
	}
	return out
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
	fits [][]float64 // of each band, the best first
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

// become makes the state that of another of the same problem.
func (s *state) become(t *state) {
	copy(s.pick, t.pick)
	copy(s.left, t.left)
	copy(s.in, t.in)
	for b := range s.fits {
		s.fits[b] = append(s.fits[b][:0], t.fits[b]...)
	}
	s.solo, s.pair, s.pull, s.out = t.solo, t.pair, t.pull, t.out
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
	if sign < 0 {
		s.pick[s.p.options[o].rod] = none
	}
	s.in[o/64] ^= 1 << (o % 64)
	f := float64(sign)
	for _, x := range s.pick {
		if x != none {
			b := s.p.between(o, x)
			for i := range s.pair {
				s.pair[i] += f * b.cost[i]
			}
		}
	}
	s.count(o, sign)
}

// count adds an option to all but what it does to others, or takes it out again.
func (s *state) count(o, sign int) {
	opt := &s.p.options[o]
	f := float64(sign)
	for _, u := range opt.uses {
		s.left[u.of] -= sign * u.amount
	}
	for i, v := range opt.solo {
		s.solo[i] += f * v
	}
	s.pull = pulls(s.pull, opt, f)
	s.out += sign
	if sign > 0 {
		s.landAll(opt)
		s.pick[opt.rod] = o
	} else {
		s.liftAll(opt)
		s.pick[opt.rod] = none
	}
}

// land adds a lure to its band; lift takes it out again.
func (s *state) land(l landing) {
	fits := append(s.fits[l.band], l.fit)
	for i := len(fits) - 1; i > 0 && fits[i-1] < l.fit; i-- {
		fits[i], fits[i-1] = fits[i-1], l.fit
	}
	s.fits[l.band] = fits
}

func (s *state) lift(l landing) {
	at := slices.Index(s.fits[l.band], l.fit)
	s.fits[l.band] = slices.Delete(s.fits[l.band], at, at+1)
}

// pulls adds an option's pull so many times to what pulls to port, to starboard and in all.
func pulls(sum [3]float64, o *option, times float64) [3]float64 {
	switch {
	case o.side == sternfan.Port:
		sum[0] += times * o.pull
	case o.side == sternfan.Starboard:
		sum[1] += times * o.pull
	}
	sum[2] += times * o.pull
	return sum
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
	if !s.p.asks {
		return n
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
	same, j := 0, 0
	for _, look := range x {
		for j < len(y) && y[j] < look {
			j++
		}
		if j < len(y) && y[j] == look {
			same++
			j++
		}
	}
	return max(len(x), len(y)) - same
}
