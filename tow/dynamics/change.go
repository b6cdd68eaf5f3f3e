package dynamics

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
)

// End is one of a line's two.
type End uint8

// The ends of a line of the system.
const (
	NoEnd End = iota
	FromEnd
	ToEnd
)

// changing lists the segments whose length is not fixed: paid out or in, on a reel that
// gives line, or next to a ring.
func (d *Run) changing() {
	d.atRings()
	d.paying = d.paying[:0]
	for i := range d.segs {
		s := &d.segs[i]
		if s.up >= 0 && (s.rate != 0 || s.winch || s.slides || !math.IsInf(s.limit, 1)) {
			s.had, s.stood = s.length, s.rest
			d.paying = append(d.paying, int32(i))
		}
	}
}

// leastLength is what stays out of a line that is taken in, m.
const leastLength = 0.3

// stretch sets the lengths that change in time to what they are h later.
func (d *Run) stretch(h float64) {
	for _, i := range d.paying {
		s := &d.segs[i]
		more := s.rate * h
		if s.rate < 0 && s.had+more < leastLength {
			more = math.Min(0, leastLength-s.had)
		}
		d.resize(s, s.had+more, s.stood+more)
	}
	if len(d.paying) > 0 {
		d.weigh()
	}
}

// patience returns the longest step that the lines going out or coming in allow, s: one in
// which none gains or loses more than a segment.
func (d *Run) patience() float64 {
	h := math.Inf(1)
	for _, i := range d.paying {
		if s := &d.segs[i]; s.rate != 0 {
			h = math.Min(h, math.Max(d.lines[s.line].piece, leastLength)/math.Abs(s.rate))
		}
	}
	return h
}

func (d *Run) resize(s *segment, length, rest float64) {
	s.length, s.rest = length, rest
	s.give = length/d.mats[s.line].stiffness + s.rod
}

// settleLengths makes what was let out in the step just taken the lines' length, gives
// line where a reel slipped, and keeps segments from growing long or short.
func (d *Run) settleLengths() {
	again := false
	for _, i := range d.paying {
		s := &d.segs[i]
		p, q := &d.points[i], &d.points[s.up]
		over := q.r0.Sub(p.r0).Norm() - s.rest - s.limit*s.give
		if s.reels {
			over = math.Max(over, math.Min(leastLength-s.length, 0))
		}
		if over > 0 || s.reels {
			d.resize(s, s.length+over, s.rest+over)
		}
		s.had, s.stood = s.length, s.rest
		again = again || d.uneven(s)
	}
	if again {
		for n := len(d.paying) - 1; n >= 0; n-- {
			d.recut(d.paying[n])
		}
		d.reorder()
	}
}

// uneven reports whether a segment has become too long or too short to stay.
func (d *Run) uneven(s *segment) bool {
	line := &d.lines[s.line]
	if s.length > 1.6*line.piece {
		return true
	}
	if s.length > 0.4*line.piece || !(s.rate < 0 || s.winch || s.slides) {
		return false
	}
	return len(line.ids) > line.keep || line.keep == 3 && d.Length(int(s.line)) > 4*s.length
}

// recut puts a new point on a segment at the changing end of its line that has grown long,
// or takes one out when it has grown short.
func (d *Run) recut(i int32) {
	s := &d.segs[i]
	if s.up == gone || !d.uneven(s) {
		return
	}
	line := &d.lines[s.line]
	n := len(line.ids)
	at, next := 0, 1 // of the line's points: its end, and the one after it
	if s.feed == ToEnd {
		at, next = n-1, n-2
	}
	end, other := line.ids[at], line.ids[next]
	if s.length > 1.6*line.piece {
		share := 1 - line.piece/s.length // of the part at the end
		p, q := &d.points[end], &d.points[other]
		mid := point{}
		blend := func(a, b geom.Vec) geom.Vec { return a.Scale(1-share).AddScaled(share, b) }
		mid.r, mid.v = blend(p.r, q.r), blend(p.v, q.v)
		mid.r0, mid.v0 = blend(p.r0, q.r0), blend(p.v0, q.v0)
		mid.r1, mid.v1 = blend(p.r1, q.r1), blend(p.v1, q.v1)
		mid.r2 = blend(p.r2, q.r2)
		id := d.add(mid)
		// The far part keeps the strain of the whole, the part at the end the rod.
		whole := d.segs[i]
		ratio := 1.0
		if whole.rod == 0 {
			ratio = whole.rest / whole.length
		}
		far := segment{line: whole.line, limit: math.Inf(1), t: whole.t, span: whole.span, tension: whole.tension, held: whole.held, stiff: whole.stiff}
		d.resize(&far, line.piece, line.piece*ratio)
		near := whole
		d.resize(&near, whole.length-far.length, whole.rest-far.rest)
		far.half, near.half = whole.half.Scale(far.length/whole.length), whole.half.Scale(near.length/whole.length)
		if i == end {
			near.up, far.up = id, whole.up
			d.segs[i], d.segs[id] = near, far
		} else {
			near.up, far.up = end, id
			d.segs[i], d.segs[id] = far, near
		}
		line.ids = append(line.ids, 0)
		put := max(at, next)
		copy(line.ids[put+1:], line.ids[put:])
		line.ids[put] = id
		return
	}
	// The point next to the end goes, and the segment beyond it joins this one.
	beyond := line.ids[2*next-at]
	merged := *s
	j := d.between(other, beyond)
	if n == line.keep {
		d.halve(s, &d.segs[j], other, beyond)
		return
	}
	d.resize(&merged, s.length+d.segs[j].length, s.rest+d.segs[j].rest)
	merged.half = merged.half.Add(d.segs[j].half)
	if i == end {
		merged.up = beyond
		d.segs[i] = merged
	} else {
		d.segs[j] = merged
	}
	d.segs[other].up = gone
	line.ids = append(line.ids[:next], line.ids[next+1:]...)
}

// halve moves the point between two segments so that both have the same length.
func (d *Run) halve(s, t *segment, at, beyond int32) {
	more := (t.length - s.length) / 2
	share := more / t.length
	p, q := &d.points[at], &d.points[beyond]
	blend := func(a, b geom.Vec) geom.Vec { return a.Scale(1-share).AddScaled(share, b) }
	p.r, p.v, p.r0, p.v0 = blend(p.r, q.r), blend(p.v, q.v), blend(p.r0, q.r0), blend(p.v0, q.v0)
	p.r1, p.v1, p.r2 = blend(p.r1, q.r1), blend(p.v1, q.v1), blend(p.r2, q.r2)
	d.resize(s, s.length+more, s.rest+more)
	d.resize(t, t.length-more, t.rest-more)
}

// gone marks a point that is no more.
const gone = -2

// scratch is the memory of a new order.
type scratch struct {
	points             []point
	segs               []segment
	first, next, stack []int32
	place              []int32
}

// reorder numbers the points anew, each before the next one toward the boat, and leaves
// out those that are gone.
func (d *Run) reorder() {
	n := len(d.points)
	w := &d.scratch
	w.first, w.next, w.place = grow(w.first, n), grow(w.next, n), grow(w.place, n)
	for i := range n {
		w.first[i], w.place[i] = -1, -1
	}
	for i := n - 1; i >= 0; i-- {
		if up := d.segs[i].up; up >= 0 {
			w.next[i], w.first[up] = w.first[up], int32(i)
		}
	}
	w.points, w.segs = append(w.points[:0], d.points[:d.fixed]...), append(w.segs[:0], d.segs[:d.fixed]...)
	for i := range d.fixed {
		w.place[i] = int32(i)
	}
	put := func(i int32) {
		w.place[i] = int32(len(w.points))
		w.points, w.segs = append(w.points, d.points[i]), append(w.segs, d.segs[i])
	}
	for root := range d.fixed {
		for child := w.first[root]; child >= 0; child = w.next[child] {
			w.stack = append(w.stack[:0], child)
			for len(w.stack) > 0 {
				top := w.stack[len(w.stack)-1]
				if c := w.first[top]; c >= 0 {
					w.first[top] = w.next[c]
					if int(c) >= d.fixed {
						w.stack = append(w.stack, c)
					}
					continue
				}
				if int(top) >= d.fixed {
					put(top)
				}
				w.stack = w.stack[:len(w.stack)-1]
			}
		}
	}
	for i := range w.segs {
		if w.segs[i].up >= 0 {
			w.segs[i].up = w.place[w.segs[i].up]
		}
	}
	d.points, w.points = w.points, d.points
	d.segs, w.segs = w.segs, d.segs
	for i := range d.node {
		d.node[i] = w.place[d.node[i]]
	}
	for l := range d.lines {
		ids := d.lines[l].ids
		for k := range ids {
			ids[k] = w.place[ids[k]]
		}
	}
	d.blocks = grow(d.blocks, len(d.points))
	// Points moved in memory share their lists of segments below: make them anew.
	for i := range d.points {
		d.points[i].below = nil
	}
	d.feel()
	d.changing()
	d.weigh()
}

// Pay lets line i out at its end on the boat, at rate m/s; negative takes it in, down to
// a last foot.
func (d *Run) Pay(line int, rate float64) {
	d.Feed(line, d.boatSide(line), rate, 0)
}

// Feed lets a line out at one of its ends, wherever that is, at rate m/s; negative takes it
// in, down to a last foot. What is added comes in segments of a length of piece, m; 0: of
// that of the others.
func (d *Run) Feed(line int, end End, rate, piece float64) {
	s := d.lastSegment(line, end)
	s.rate, s.feed = rate, end
	if piece > 0 {
		d.lines[line].piece = piece
	}
	d.changing()
	d.restart(firstStep)
}

// Winch keeps the pull at the boat's end of a line at so many N, letting line out and
// taking it in; 0 ends that, and what is then out stays out.
func (d *Run) Winch(line int, pull, piece float64) {
	end := d.boatSide(line)
	s := d.lastSegment(line, end)
	s.winch, s.limit, s.feed = pull > 0, pull, end
	if pull <= 0 {
		s.limit = d.opt.Drag
	}
	if piece > 0 {
		d.lines[line].piece = piece
	}
	d.changing()
	d.restart(firstStep)
}

func (d *Run) lastSegment(line int, end End) *segment {
	ids := d.lines[line].ids
	if end == FromEnd {
		return d.segment(ids[0], ids[1])
	}
	return d.segment(ids[len(ids)-2], ids[len(ids)-1])
}

// SetBodies replaces the bodies at a node of the system: a diver that trips, a board that
// pops.
func (d *Run) SetBodies(node int, bodies []hydro.Body) {
	d.points[d.node[node]].bodies = bodies
	d.feel()
	d.weigh()
	d.restart(firstStep)
}

// Pull sets a steady force on a node, over ground, N: a fish.
func (d *Run) Pull(node int, force geom.Vec) {
	d.points[d.node[node]].force = force
	d.restart(firstStep)
}

// LetGo opens the clip at a node of the system: the lines named, which end there, stay
// joined with one another but leave the node. One of them must come from the boat. It
// returns nothing to undo it.
func (d *Run) LetGo(node int, lines ...int) {
	old := d.node[node]
	p := d.points[old]
	p.bodies, p.below = nil, nil
	free := d.add(p)
	held := false
	for _, l := range lines {
		ids := d.lines[l].ids
		if d.sys.Lines[l].To != node {
			panic("dynamics: a line that does not end at the clip cannot leave it")
		}
		ids[len(ids)-1] = free
		last := ids[len(ids)-2]
		if !d.FromBoat(l) {
			d.segs[last].up = free
			continue
		}
		held = true
		d.turnAbout(l)
	}
	if !held {
		panic("dynamics: no line that leaves the clip comes from the boat")
	}
	d.reorder()
	d.restart(firstStep)
}

// FromBoat reports whether a line of the system comes from a further end on the boat,
// directly or over a ring.
func (d *Run) FromBoat(line int) bool {
	from := d.sys.Lines[line].From
	return d.sys.Nodes[from].Kind == tow.Fixed || d.above(line) >= 0
}

// above returns the line from the boat that goes on in this one over a ring, -1: none.
func (d *Run) above(line int) int {
	for l := range d.sys.Lines {
		if d.sys.Lines[l].To == d.sys.Lines[line].From && d.sys.Nodes[d.sys.Lines[l].From].Kind == tow.Fixed {
			return l
		}
	}
	return -1
}

// turnAbout makes the way toward the boat lead to the line's own end there.
func (d *Run) turnAbout(line int) {
	ids := d.lines[line].ids
	for k := len(ids) - 1; k > 0; k-- {
		s := d.segs[ids[k-1]]
		s.up, s.t = ids[k-1], s.t.Neg()
		d.segs[ids[k]] = s
	}
	if next := d.above(line); next >= 0 {
		d.turnAbout(next)
		return
	}
	d.segs[ids[0]] = segment{up: -1, limit: math.Inf(1)}
}

// Drag sets the pull at which the reel at the boat's end of a line gives line, N; +Inf:
// never.
func (d *Run) Drag(line int, limit float64) {
	end := d.boatSide(line)
	s := d.lastSegment(line, end)
	s.limit, s.feed = limit, end
	d.changing()
}

// boatSide returns which end of a line is on the boat.
func (d *Run) boatSide(line int) End {
	ids := d.lines[line].ids
	if int(ids[0]) < d.fixed {
		return FromEnd
	}
	if int(ids[len(ids)-1]) >= d.fixed {
		panic("dynamics: a line that does not end on the boat has no reel")
	}
	return ToEnd
}
