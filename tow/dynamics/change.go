package dynamics

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
)

// changing lists the segments whose length is not fixed: paid out or in, or on a reel
// that gives line.
func (d *Run) changing() {
	d.paying = d.paying[:0]
	for i := range d.segs {
		s := &d.segs[i]
		if s.up >= 0 && (s.rate != 0 || !math.IsInf(s.limit, 1)) {
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
		if s.had+more < leastLength {
			more = math.Min(0, leastLength-s.had)
		}
		d.resize(s, s.had+more, s.stood+more)
	}
	if len(d.paying) > 0 {
		d.weigh()
	}
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
		if over := q.r0.Sub(p.r0).Norm() - s.rest - s.limit*s.give; over > 0 {
			d.resize(s, s.length+over, s.rest+over)
		}
		s.had, s.stood = s.length, s.rest
		ids := d.lines[s.line].ids
		piece := d.lines[s.line].piece
		again = again || s.length > 1.6*piece || s.length < 0.4*piece && len(ids) > 2 && s.rate < 0
	}
	if again {
		for n := len(d.paying) - 1; n >= 0; n-- {
			d.recut(d.paying[n])
		}
		d.reorder()
	}
}

// recut puts a new point on a boat's segment that has grown long, or takes one out when
// it has grown short.
func (d *Run) recut(i int32) {
	s := &d.segs[i]
	line := &d.lines[s.line]
	atFrom := int(i) < d.fixed // the boat's end is the segment's own point
	other := s.up
	if !atFrom {
		other = i
	}
	switch n := len(line.ids); {
	case s.length > 1.6*line.piece:
		share := 1 - line.piece/s.length // of the boat's part
		boat, sea := &d.points[i], &d.points[s.up]
		if !atFrom {
			boat, sea = sea, boat
		}
		mid := point{}
		blend := func(a, b geom.Vec) geom.Vec { return a.Scale(1-share).AddScaled(share, b) }
		mid.r, mid.v = blend(boat.r, sea.r), blend(boat.v, sea.v)
		mid.r0, mid.v0 = blend(boat.r0, sea.r0), blend(boat.v0, sea.v0)
		mid.r1, mid.v1 = blend(boat.r1, sea.r1), blend(boat.v1, sea.v1)
		mid.r2 = blend(boat.r2, sea.r2)
		id := d.add(mid)
		s = &d.segs[i]
		// The sea's part keeps the strain of the whole, the boat's part the rod.
		whole := *s
		natural := whole.rest
		ratio := 1.0
		if whole.rod == 0 {
			ratio = natural / whole.length
		}
		far := segment{line: whole.line, limit: math.Inf(1), t: whole.t, tension: whole.tension, stiff: whole.stiff}
		d.resize(&far, line.piece, line.piece*ratio)
		near := whole
		d.resize(&near, whole.length-far.length, whole.rest-far.rest)
		if atFrom {
			far.up = whole.up
			near.up = id
			d.segs[i], d.segs[id] = near, far
			line.ids = append(line.ids[:1], append([]int32{id}, line.ids[1:]...)...)
		} else {
			far.up = id
			near.up = whole.up
			d.segs[i], d.segs[id] = far, near
			line.ids = append(line.ids[:n-1], id, line.ids[n-1])
		}
	case s.length < 0.4*line.piece && n > 2 && s.rate < 0 && int(other) >= d.fixed:
		// other is the point next to the boat: it goes, and its further segment takes over.
		if atFrom {
			next := d.segs[other]
			merged := *s
			d.resize(&merged, s.length+next.length, s.rest+next.rest)
			merged.up = next.up
			d.segs[i] = merged
			line.ids = append(line.ids[:1], line.ids[2:]...)
		} else {
			below := line.ids[n-3]
			merged := *s
			next := d.segs[below]
			d.resize(&merged, s.length+next.length, s.rest+next.rest)
			d.segs[below] = merged
			line.ids = append(line.ids[:n-2], line.ids[n-1])
		}
		d.segs[other].up = gone
	}
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
	a, b := d.boatEnd(line)
	d.segment(a, b).rate = rate
	d.changing()
	d.restart(firstStep)
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
		if d.sys.Nodes[d.sys.Lines[l].From].Kind != tow.Fixed {
			d.segs[last].up = free
			continue
		}
		// The way toward the boat now leads to this line's own end: its segments turn.
		held = true
		for k := len(ids) - 1; k > 0; k-- {
			s := d.segs[ids[k-1]]
			s.up, s.t = ids[k-1], s.t.Neg()
			d.segs[ids[k]] = s
		}
		d.segs[ids[0]] = segment{up: -1, limit: math.Inf(1)}
	}
	if !held {
		panic("dynamics: no line that leaves the clip comes from the boat")
	}
	d.reorder()
	d.restart(firstStep)
}

// Drag sets the pull at which the reel at the boat's end of a line gives line, N; +Inf:
// never.
func (d *Run) Drag(line int, limit float64) {
	a, b := d.boatEnd(line)
	d.segment(a, b).limit = limit
	d.changing()
}

// boatEnd returns the two points of a line's segment on the boat.
func (d *Run) boatEnd(line int) (a, b int32) {
	ids := d.lines[line].ids
	a, b = ids[0], ids[1]
	if int(a) < d.fixed {
		return a, b
	}
	a, b = ids[len(ids)-2], ids[len(ids)-1]
	if int(b) >= d.fixed {
		panic("dynamics: a line that does not end on the boat has no reel")
	}
	return a, b
}
