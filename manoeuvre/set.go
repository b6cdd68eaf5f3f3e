package manoeuvre

import (
	"cmp"
	"math"
	"slices"

	"sternfan"
	"sternfan/tackle"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// What is assumed of hands that set and clear lines.
const (
	cableDown  = 20.0 / 60 // m/s at which a downrigger's cable goes out
	cableUp    = 40.0 / 60 // and comes in
	byHand     = 2.5       // m of line that goes over the side at once
	stub       = 0.3       // m that hangs from the tip of what has not gone out
	bait       = 30.0      // s to take a rod up and put its lure over, or away
	clipOn     = 30.0      // s to clip on a diver, a weight or a release, or take it off
	boardOn    = 60.0      // the same of a board
	sliderPush = 2.0       // N: a slider is run down to its release before the line comes in
	comesTo    = 60.0      // s for which a line that was just set is watched
	fewNodes   = 2         // segments at least of what hangs from the tip
	aboard     = 2         // people when the file does not say
	mostHands  = 3         // at rods at once
	unaided    = 1.3       // times as long where who sets also steers
	fullNodes  = 40        // segments that a whole rig comes to
	leastPart  = 0.8       // m of a segment that goes out
	trailed    = 0.5       // of a line that is put over by hand and reaches the water: down; the rest astern
)

// rota says who does what when: the tasks in order, and for each system what happens.
type rota struct {
	clear  bool
	people int
	tasks  []sternfan.TurnTask
	steps  [][]handling // by group, by time
	rods   []span       // by rod of the scenario
	groups [][]span     // by group: when a line of it moves
	until  float64
}

// span is a stretch of time, s; from is +Inf where there is none.
type span struct{ from, to float64 }

// handling is something done to a system.
type handling struct {
	t  float64
	do func(v *mover)
}

// hand adds what one rod asks of a pair of hands, one thing after another.
type hand struct {
	g     *group
	ref   *tackle.Group
	steps []handling
	t     float64 // from the start of the task
	pace  float64 // times as long as given
	piece float64
}

func (h *hand) add(do func(v *mover)) { h.steps = append(h.steps, handling{h.t, do}) }

func (h *hand) wait(s float64) { h.t += s * h.pace }

// feed lets a line out at its upper end, or takes it in.
func (h *hand) feed(line int, rate float64) {
	length := h.g.Sol.Length[line] - stub
	if length <= 0 {
		return
	}
	h.add(func(v *mover) { v.run.Feed(line, dynamics.ToEnd, rate, h.piece) })
	h.t += length / math.Abs(rate)
	h.add(func(v *mover) { v.run.Feed(line, dynamics.ToEnd, 0, 0) })
}

// rig puts the bodies of a node on, or takes them off.
func (h *hand) rig(node int, on bool) {
	h.add(func(v *mover) {
		if on {
			v.run.SetBodies(node, v.g.Sys.Nodes[node].Bodies)
		} else {
			v.run.SetBodies(node, nil)
		}
	})
}

// long reports whether a line is let out rather than put over by hand.
func (h *hand) long(line int) bool { return h.g.Sol.Length[line] > byHand }

// rotaOf plans setting or clearing the spread's lines in an order of rods; where that says
// nothing of a rod it goes by the practice of crews: outside and shallow first. People are
// who is aboard: one steers. What moves begins at the given time.
func (s *Helm) rotaOf(e *Event, fan *sternfan.Fan, begin float64) *rota {
	rods := s.model.Scenario.Rods
	r := &rota{clear: e.Kind == "clear", steps: make([][]handling, len(s.model.Groups)), groups: make([][]span, len(s.model.Groups)),
		rods: make([]span, len(rods)), until: begin}
	for i := range r.rods {
		r.rods[i] = span{math.Inf(1), math.Inf(1)}
	}
	people := e.People
	if people <= 0 {
		people = s.model.Scenario.People
	}
	if people <= 0 {
		people = aboard
	}
	r.people = people
	free := make([]float64, min(max(people-1, 1), mostHands)) // by hand: when it is free
	pace := 1.0
	if people == 1 {
		pace = unaided
	}
	var sides [3]float64
	order := s.handOrder(e.Order, fan)
	// On one cable the lowest goes out first.
	queue := map[int][]int{}
	for _, rod := range order {
		gi := s.model.Rods[rod].Group
		queue[gi] = append(queue[gi], rod)
	}
	for gi := range queue {
		slices.SortStableFunc(queue[gi], func(a, b int) int { return s.clipPlace(a) - s.clipPlace(b) })
	}
	if r.clear {
		slices.Reverse(order)
		for gi := range queue {
			slices.Reverse(queue[gi])
		}
	}
	at := map[int]int{}
	busy := map[int]float64{}
	for _, next := range order {
		gi := s.model.Rods[next].Group
		rod := queue[gi][at[gi]]
		first, done := at[gi] == 0, -1
		if !first {
			done = queue[gi][at[gi]-1]
		}
		at[gi]++
		pending := queue[gi][at[gi]:]
		h := &hand{g: &group{s.System(gi)}, ref: &s.model.Groups[gi], pace: pace}
		h.piece = h.segment()
		if r.clear {
			s.takeIn(h, rod, e, done, len(pending))
		} else {
			s.letOut(h, rod, e, first, pending)
		}
		who := 0
		for i, t := range free {
			if t < free[who] {
				who = i
			}
		}
		side := 1 + int(sternfan.SideOf(s.model.Rods[rod].Tip))
		start := math.Max(math.Max(free[who], sides[side]), busy[gi])
		end := start + h.t
		free[who], sides[side], busy[gi] = end, end, end
		for _, x := range h.steps {
			r.steps[gi] = append(r.steps[gi], handling{begin + start + x.t, x.do})
		}
		r.rods[rod] = span{begin + start, begin + end}
		r.groups[gi] = append(r.groups[gi], r.rods[rod])
		r.tasks = append(r.tasks, sternfan.TurnTask{Rod: rods[rod].ID, Starts: begin + start, Ends: begin + end})
		r.until = math.Max(r.until, begin+end)
	}
	slices.SortStableFunc(r.tasks, func(a, b sternfan.TurnTask) int { return cmp.Compare(a.Starts, b.Starts) })
	return r
}

// handOrder returns the rods that can be set, in the order given, the rest after them by
// practice.
func (s *Helm) handOrder(given []string, fan *sternfan.Fan) []int {
	rods := s.model.Scenario.Rods
	var out, rest []int
	can := func(i int) bool {
		gi := s.model.Rods[i].Group
		return gi >= 0 && s.rests(gi)
	}
	for _, id := range given {
		if i := slices.IndexFunc(rods, func(r sternfan.Rod) bool { return r.ID == id }); i >= 0 && can(i) && !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	for i := range rods {
		if can(i) && !slices.Contains(out, i) {
			rest = append(rest, i)
		}
	}
	place := func(i int) (side, depth float64) {
		for _, l := range fan.Rods[i].Lures {
			return math.Abs(l.Side), l.Depth
		}
		return 0, 0
	}
	slices.SortStableFunc(rest, func(a, b int) int {
		ya, za := place(a)
		yb, zb := place(b)
		return cmp.Or(cmp.Compare(math.Round(yb), math.Round(ya)), cmp.Compare(za, zb))
	})
	return append(out, rest...)
}

// segment returns how long the segments are in which a rig's lines go out, m.
func (h *hand) segment() float64 {
	longest := 0.0
	for n := range h.g.Sys.Nodes {
		if h.g.Sys.Nodes[n].Kind != tow.Fixed {
			longest = math.Max(longest, h.g.above(n))
		}
	}
	return math.Max(longest/fullNodes, leastPart)
}

// above returns the length of line from a node to the root, m.
func (g *group) above(node int) float64 {
	sum := 0.0
	for hops := 0; node != g.Sys.Root && hops < len(g.Sys.Lines); hops++ {
		l := g.upFrom(node)
		sum += g.Sol.Length[l]
		node = g.Sys.Lines[l].To
	}
	return sum
}

// upFrom returns the line that leads from a node toward the root.
func (g *group) upFrom(node int) int {
	return slices.IndexFunc(g.Sys.Lines, func(l tow.Line) bool { return l.From == node })
}

// clip returns the node at which a rod is clipped to a device's line, -1: none.
func (s *Helm) clip(rod int) int {
	for _, t := range s.model.Rods[rod].Trips {
		if t.Kind == sternfan.PartRelease {
			return t.Node
		}
	}
	return -1
}

// clipPlace orders the rods of a device by their releases, the seaward one first.
func (s *Helm) clipPlace(rod int) int {
	gi := s.model.Rods[rod].Group
	return slices.Index((&group{s.System(gi)}).device(), s.clip(rod))
}

// device returns the nodes of a device's line from its end up, without the root.
func (g *group) device() []int {
	var out []int
	for at := g.Sys.Main; at != g.Sys.Root && len(out) < len(g.Sys.Nodes); {
		out = append(out, at)
		at = g.Sys.Lines[g.upFrom(at)].To
	}
	return out
}

// trailing returns the lines of a rod that go out over its tip or trail from its release,
// the far one first.
func (s *Helm) trailing(g *group, rod int) []int {
	ref := &s.model.Groups[g.Index]
	from := s.clip(rod)
	if from < 0 {
		from = g.Sys.Root
	}
	var out []int
	for hops := 0; hops < len(g.Sys.Lines); hops++ {
		next := -1
		for i := range g.Sys.Lines {
			if x := &g.Sys.Lines[i]; x.To == from && ref.Lines[i].Rod == rod && !g.FromTip(i) {
				next = i
			}
		}
		if next < 0 {
			break
		}
		out = append(out, next)
		from = g.Sys.Lines[next].From
	}
	slices.Reverse(out)
	return out
}

// own returns the line of a clipped rod at its tip.
func (s *Helm) own(g *group, rod int) int {
	ref := &s.model.Groups[g.Index]
	return g.TipLine(ref, rod)
}

// tie returns how long it takes to clip on what is at a node, s.
func (s *Helm) tie(rod, node int) float64 {
	for _, t := range s.model.Rods[rod].Trips {
		if t.Node == node && t.Kind == sternfan.PartBoard {
			return boardOn
		}
	}
	return clipOn
}

// over lets out the lines of a rod one after another, what is clipped between them put on
// when it comes to it; or takes them in the other way.
func (s *Helm) over(h *hand, rod int, rate float64) {
	lines := s.trailing(h.g, rod)
	if rate < 0 {
		for k := len(lines) - 1; k >= 0; k-- {
			l := lines[k]
			if h.long(l) {
				h.feed(l, rate)
			}
			if node := h.g.Sys.Lines[l].From; k > 0 && len(h.g.Sys.Nodes[node].Bodies) > 0 && s.anyLong(h, lines[:k]) {
				h.wait(s.tie(rod, node))
				h.rig(node, false)
			}
		}
		return
	}
	for k, l := range lines {
		if node := h.g.Sys.Lines[l].From; k > 0 && len(h.g.Sys.Nodes[node].Bodies) > 0 && s.anyLong(h, lines[:k]) {
			h.wait(s.tie(rod, node))
			h.rig(node, true)
		}
		if h.long(l) {
			h.feed(l, rate)
		}
	}
}

func (s *Helm) anyLong(h *hand, lines []int) bool { return slices.ContainsFunc(lines, h.long) }

// letOut is the work of setting a rod; pending are those of its device that go out later.
func (s *Helm) letOut(h *hand, rod int, e *Event, first bool, pending []int) {
	if first {
		h.add(func(v *mover) { v.hang(s) })
	}
	clip := s.clip(rod)
	h.wait(bait)
	if clip < 0 {
		s.over(h, rod, e.Pay)
		return
	}
	rate := e.Pay
	if h.ref.Downrigger >= 0 {
		rate = cableDown
	}
	nodes := h.g.device()
	here := slices.Index(nodes, clip)
	lower := func(from, to int) {
		for k := from; k < to; k++ {
			if l := h.g.upFrom(nodes[k]); h.long(l) {
				h.feed(l, rate)
			}
		}
	}
	if first {
		lower(0, here)
	}
	s.over(h, rod, e.Pay)
	h.wait(clipOn)
	tip := s.own(h.g, rod)
	h.add(func(v *mover) { v.run.Winch(tip, v.g.setLoad(tip), h.piece) })
	next := len(nodes)
	if len(pending) > 0 {
		next = slices.Index(nodes, s.clip(pending[0]))
	}
	lower(here, next)
	if len(pending) > 0 {
		return
	}
	h.add(func(v *mover) {
		for _, r := range h.ref.Rods {
			if l := s.own(v.g, r); l >= 0 {
				v.run.Winch(l, 0, 0)
			}
		}
		v.slide(s)
	})
}

// takeIn is the work of clearing a rod; done is the rod of its device that came in before
// it, -1: none, and left how many come after it.
func (s *Helm) takeIn(h *hand, rod int, e *Event, done, left int) {
	h.wait(bait)
	clip := s.clip(rod)
	if clip >= 0 {
		rate := e.Pay
		if h.ref.Downrigger >= 0 {
			rate = cableUp
		}
		nodes := h.g.device()
		top := len(nodes)
		if done >= 0 {
			top = slices.Index(nodes, s.clip(done))
		} else {
			h.add(func(v *mover) {
				for _, r := range h.ref.Rods {
					if l := s.own(v.g, r); l >= 0 {
						v.run.Winch(l, v.g.setLoad(l), h.piece)
					}
				}
				v.run.Push(sliderPush)
			})
			h.wait(bait)
		}
		for k := top - 1; k >= slices.Index(nodes, clip); k-- {
			if l := h.g.upFrom(nodes[k]); h.long(l) {
				h.feed(l, -rate)
			}
		}
		h.wait(clipOn)
	}
	s.over(h, rod, -e.Pay)
	h.wait(bait)
	if left == 0 {
		h.add(func(v *mover) { v.asleep = true })
	}
}

// setLoad returns the pull that the rod at the beginning of a line keeps, N.
func (g *group) setLoad(line int) float64 {
	if from := g.Sys.Lines[line].From; from < len(g.Sys.Pull) {
		return g.Sys.Pull[from]
	}
	return 0
}
