package manoeuvre

import (
	"context"
	"math"
	"slices"

	"sternfan"
	"sternfan/clearance"
	"sternfan/geom"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

// fleet is every solved system of the spread on its way, side by side in time.
type fleet struct {
	s       *Helm
	fan     *sternfan.Fan
	nodes   int
	movers  []mover
	parties []party
	near    []near // by pair of parties, in the order in which run meets them
	pose    dynamics.Pose
	care    float64         // ratio from which on nobody asks how near lines are
	first   bool            // whether they come below it is all that is asked, straight on included
	nearest bool            // only the nearest pair of all is asked for
	only    string          // only pairs with this rod; "": all
	stop    bool            // no more is asked once the manoeuvre brings two inside their margin
	watch   func(t float64) // called when the parties are where they are compared; nil: nobody listens
	step    func(done, of int)
	hands   bool // lines go out or come in
}

// mover is one coupled system.
type mover struct {
	g      *group
	run    dynamics.Run
	status dynamics.Status
	until  float64 // how far it went
	asleep bool    // not out yet, or in again
	now    float64 // when what is being done to it happens, s
	env    *tow.Env
	course dynamics.Course
	sys    tow.System // as it hangs from the tips before it goes out
}

// out reports whether the mover is in the water and was carried on so far.
func (v *mover) out() bool { return v.status == dynamics.OK && !v.asleep }

// party is a rod, a device, the hull or a propeller as others may meet it.
type party struct {
	course *clearance.Course
	mover  int // -1: does not move with the water
	rod    int // -1: a device
	chains []chainPlan
	bufs   []clearance.Chain
	points []geom.Vec // scratch
	parts  []string
	wide   box2       // from above
	wet    box2       // of what is under water
	full   float64    // length of line to its end when all is out, m
	raw    []geom.Vec // its points as last placed, none left out
	moved  float64    // how far they have moved in the boat's frame in all, at most, m
	in     bool       // not out
	moves  bool       // on its way out or in
}

// chainPlan says which lines of a system make a chain, from the tip down.
type chainPlan struct {
	lines  []int
	flip   []bool // of each: it runs from its To end
	parts  []string
	behind bool
	from   float64
	above  []int // the lines between the tip and its beginning
}

type near struct {
	sternfan.TurnPair
	a, b  int
	ok    bool
	first bool       // its first ratio is known
	seen  bool       // it was compared in this run
	at    [2]float64 // how far its two had moved then, m
}

// farApart is the ratio of distance to margin beyond which two lines are not compared.
const farApart = 2.5

// still is how far two parties together may move before they are compared again, m: in a
// steady turn, and straight on, lines hardly move in the boat's frame.
const still = 0.05

// sagged is how far a point may lie off the line that is compared in its stead, m.
const sagged = 0.02

// thin leaves out the points of a chain that lie on the straight way between others of
// the same part, as long as no segment becomes longer than most.
func thin(c *clearance.Chain, most float64) {
	p := c.Points
	if len(p) < 3 {
		return
	}
	out, last := 1, 0
	for next := 2; next < len(p); next++ {
		d := p[next].Sub(p[last])
		d2 := d.Dot(d)
		straight := c.Parts[next-1] == c.Parts[last] && d2 <= most*most
		for k := last + 1; straight && k < next; k++ {
			w := p[k].Sub(p[last])
			x := 0.0
			if d2 > 0 {
				x = w.Dot(d) / d2
			}
			w = w.AddScaled(-x, d)
			straight = w.Dot(w) <= sagged*sagged
		}
		if !straight {
			c.Parts[out-1], p[out] = c.Parts[last], p[next-1]
			last = next - 1
			out++
		}
	}
	c.Parts[out-1], p[out] = c.Parts[last], p[len(p)-1]
	c.Points, c.Parts = p[:out+1], c.Parts[:out]
}

// fleet returns the systems that the statics solved, with their parties.
func (s *Helm) fleet(fan *sternfan.Fan, nodes int) *fleet {
	f := &fleet{s: s, fan: fan, nodes: nodes, care: farApart}
	sc := s.model.Scenario
	for _, g := range s.systems() {
		ref := &s.model.Groups[g.Index]
		f.movers = append(f.movers, mover{g: g})
		at := len(f.movers) - 1
		for _, rod := range ref.Rods {
			if c := clearance.CourseOf(sc, &fan.Rods[rod], rod); c != nil {
				f.join(c, at, rod)
			}
		}
		if id := s.deviceID(g.Index); id != "" {
			for i := range fan.Devices {
				if fan.Devices[i].Rod == id {
					if c := clearance.CourseOf(sc, &fan.Devices[i], -1); c != nil {
						f.join(c, at, -1)
					}
				}
			}
		}
	}
	for _, c := range clearance.Obstacles(&sc.Boat) {
		p := party{course: c, mover: -1, rod: -1}
		p.wet.reset()
		c.Points(p.wet.widen)
		f.parties = append(f.parties, p)
	}
	for i := range f.parties {
		for j := i + 1; j < len(f.parties); j++ {
			if f.parties[i].mover < 0 && f.parties[j].mover < 0 {
				continue
			}
			f.near = append(f.near, near{a: i, b: j})
		}
	}
	return f
}

// deviceID returns the id of a group's downrigger or mast board, "" for a rod of its own.
func (s *Helm) deviceID(gi int) string {
	ref := &s.model.Groups[gi]
	switch {
	case ref.Downrigger >= 0:
		return s.model.Scenario.Downriggers[ref.Downrigger].ID
	case ref.MastBoard >= 0:
		return s.model.Scenario.MastBoards[ref.MastBoard].ID
	}
	return ""
}

// join adds the party of a rod, or -1 for the device, of a mover.
func (f *fleet) join(c *clearance.Course, at, rod int) {
	g := f.movers[at].g
	ref := &f.s.model.Groups[g.Index]
	var lines []int
	for i := range ref.Lines {
		if ref.Lines[i].Rod == rod {
			lines = append(lines, i)
		}
	}
	slices.SortStableFunc(lines, func(a, b int) int {
		return f.s.PartOrder(rod, ref.Lines[a].ID) - f.s.PartOrder(rod, ref.Lines[b].ID)
	})
	clip, order := -1, func(string) int { return -1 }
	if rod >= 0 {
		parts := f.s.parts(rod)
		clip = clipAt(parts)
		order = func(id string) int {
			return slices.IndexFunc(parts, func(p sternfan.Part) bool { return p.ID == id })
		}
	}
	p := party{mover: at, rod: rod}
	along := map[int]float64{} // by node: length of line above it
	above := map[int][]int{}
	end := []int{} // node at the end of each chain
	for _, l := range lines {
		line := &g.Sys.Lines[l]
		first, last, flip := line.To, line.From, true
		if g.FromTip(l) {
			first, last, flip = line.From, line.To, false
		}
		behind := clip >= 0 && order(ref.Lines[l].ID) > clip
		onto := -1
		for k := range p.chains {
			if end[k] == first && p.chains[k].behind == behind {
				onto = k
			}
		}
		if onto < 0 {
			p.chains = append(p.chains, chainPlan{behind: behind, from: along[first], above: above[first]})
			end = append(end, first)
			onto = len(p.chains) - 1
		}
		h := &p.chains[onto]
		h.lines, h.flip, h.parts = append(h.lines, l), append(h.flip, flip), append(h.parts, ref.Lines[l].ID)
		along[last] = along[first] + g.Sol.Length[l]
		above[last] = append(slices.Clone(above[first]), l)
		p.full = math.Max(p.full, along[last])
		end[onto] = last
	}
	p.bufs = make([]clearance.Chain, len(p.chains))
	p.course = c.With(p.bufs)
	f.parties = append(f.parties, p)
}

// run takes the fleet through a manoeuvre and notes the nearest approaches, looking every
// so many seconds; log may be nil. The error is ctx's.
func (f *fleet) run(ctx context.Context, m *Manoeuvre, env *tow.Env, every float64, margins clearance.Margins, log *turnLog) error {
	course, begin, _, until := m.course(env)
	script := newScript(f, m, begin)
	if script.rota != nil {
		f.atRest(margins)
	}
	for i := range f.movers {
		v := &f.movers[i]
		v.env, v.course, v.asleep = env, course, false
		if script.rota != nil && !script.rota.clear {
			v.status, v.asleep, v.until = dynamics.OK, true, math.Inf(1)
			continue
		}
		v.status = v.run.Start(&v.g.Sys, v.g.Sol, env, course, dynamics.Options{Nodes: f.nodes, Hands: script.rota != nil})
		v.until = math.Inf(1)
		if v.status != dynamics.OK {
			v.until = 0
			continue
		}
		v.slide(f.s)
	}
	for i := range f.near {
		f.near[i].seen = false
	}
	n := int(math.Floor(until/every + 1e-9))
	compared := 0.0
	for k := 0; k <= n; k++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		t := float64(k) * every
		if err := script.before(ctx, t); err != nil {
			return err
		}
		course.At(t, &f.pose)
		for i := range f.movers {
			v := &f.movers[i]
			if !v.out() {
				continue
			}
			v.run.Until(script.next(v))
			if v.status = v.run.Reach(ctx, t); v.status != dynamics.OK {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				v.until = v.run.Time()
			}
		}
		script.watch(t)
		if f.step != nil {
			f.step(k, n)
		}
		look := t+1e-9 >= compared+compareEvery || k == 0 || k == n
		if m.Event == nil && m.Course == nil && k > 0 && t < begin {
			look = false // all rest as they lay at the start
		}
		if look || log != nil {
			f.place(look || log != nil && log.draws(k))
		}
		if look {
			compared = t
			if f.watch != nil {
				f.watch(t)
			}
			if f.compare(t, margins) && f.stop {
				return ctx.Err()
			}
		}
		if log != nil {
			log.record(f, t, k)
		}
	}
	return ctx.Err()
}

// slide lets the sliders go that lie against a stop: where the statics left them, or since
// they went out.
func (v *mover) slide(s *Helm) {
	sys, ref := &v.g.Sys, &s.model.Groups[v.g.Index]
	hung := len(v.sys.Nodes) > 0 // they lie at the release
	for n := range ref.Nodes {
		if ref.Nodes[n].Kind != string(sternfan.PartSlider) || sys.Nodes[n].Kind == tow.Ring && !hung {
			continue
		}
		upper, lower := -1, -1
		for l := range sys.Lines {
			switch {
			case sys.Lines[l].To == n && sys.Nodes[sys.Lines[l].From].Kind == tow.Fixed:
				upper = l
			case sys.Lines[l].From == n:
				lower = l
			}
		}
		v.run.Slide(n, upper, lower, !hung && !sys.Lines[upper].Open)
	}
}

// even makes the segments of a party's chains as few and as even as their comparison
// needs: the margin within a segment is that at its lower end, so none is longer than its
// share of the party, as in [clearance.CourseOf].
func (p *party) even() {
	longest := 0.0
	for k := range p.bufs {
		s := p.bufs[k].From
		for n := 1; n < len(p.bufs[k].Points); n++ {
			s += p.bufs[k].Points[n].Sub(p.bufs[k].Points[n-1]).Norm()
		}
		longest = math.Max(longest, s)
	}
	most := longest / clearance.Pieces
	for k := range p.bufs {
		thin(&p.bufs[k], most)
		p.points, p.parts = p.bufs[k].Cut(most, p.points[:0], p.parts[:0])
		b := &p.bufs[k]
		b.Points, b.Parts = append(b.Points[:0], p.points...), append(b.Parts[:0], p.parts...)
	}
}

// compareEvery is how often, at most, the parties are compared, s: a boat that comes about
// in two minutes has turned by 3 degrees, and lines have moved some feet among themselves.
const compareEvery = 2.0

// place brings the parties to where they are at the time looked at, in the boat's frame.
func (f *fleet) place(shapes bool) {
	if !shapes {
		return
	}
	sin, cos := math.Sincos(f.pose.Heading)
	for i := range f.parties {
		p := &f.parties[i]
		if p.mover < 0 {
			continue
		}
		v := &f.movers[p.mover]
		if !v.out() {
			continue
		}
		p.wide.reset()
		p.wet.reset()
		move, count := 0.0, 0
		for k := range p.chains {
			h, b := &p.chains[k], &p.bufs[k]
			b.Points, b.Parts = b.Points[:0], b.Parts[:0]
			b.Behind, b.From = h.behind, h.from
			if f.hands {
				b.From = 0
				for _, l := range h.above {
					b.From += v.run.Length(l)
				}
			}
			for j, l := range h.lines {
				at := len(b.Points)
				b.Points = v.run.Line(l, b.Points)
				if h.flip[j] {
					slices.Reverse(b.Points[at:])
				}
				if at > 0 {
					b.Points = append(b.Points[:at], b.Points[at+1:]...)
				}
				for len(b.Parts) < len(b.Points)-1 {
					b.Parts = append(b.Parts, h.parts[j])
				}
			}
			for n := range b.Points {
				x, y := b.Points[n].X-f.pose.At.X, b.Points[n].Y-f.pose.At.Y
				q := geom.Vec{X: cos*x + sin*y, Y: cos*y - sin*x, Z: b.Points[n].Z}
				b.Points[n] = q
				if count == len(p.raw) {
					p.raw = append(p.raw, geom.Vec{X: math.Inf(1)})
				}
				d := q.Sub(p.raw[count])
				move = max(move, d.Dot(d))
				p.raw[count] = q
				count++
			}
		}
		if count < len(p.raw) {
			p.raw, move = p.raw[:count], math.Inf(1)
		}
		p.moved += math.Min(math.Sqrt(move), 1)
		p.even()
		for k := range p.bufs {
			b := &p.bufs[k]
			for n, q := range b.Points {
				p.wide.widen(q)
				switch {
				case q.Z >= 0:
					p.wet.widen(q)
					if n > 0 && b.Points[n-1].Z < 0 {
						o := b.Points[n-1]
						p.wet.widen(o.AddScaled(o.Z/(o.Z-q.Z), q.Sub(o)))
					}
				case n > 0 && b.Points[n-1].Z >= 0:
					p.wet.widen(q)
				}
			}
		}
		p.course.Reset(p.bufs)
		if f.hands {
			p.partOut(v)
		}
	}
}

// partOut asks of a line that is partly out the margins of as much of it as is out.
func (p *party) partOut(v *mover) {
	now := 0.0
	for k := range p.chains {
		sum := p.bufs[k].From
		for _, l := range p.chains[k].lines {
			sum += v.run.Length(l)
		}
		now = math.Max(now, sum)
	}
	p.course.Shrink(math.Min(1, now/p.full))
}
