package tow

import (
	"fmt"

	"sternfan/geom"
)

// branch is a chain of lines from a free or fixed end toward the root, up to the node
// where it meets a chain of higher rank.
type branch struct {
	leaf   int     // node at its seaward end
	join   int     // node at its other end
	lines  []int   // in order from leaf to join
	fixed  bool    // leaf is on the boat: its pull is unknown
	hint   float64 // last good depth of a free leaf, m
	slope  float64 // of the end's depth by the leaf's, from the last root
	miss   float64 // by which its end was left above (-) or below where it belongs, m
	float  float64 // depth at which the board on its way floated last, m
	tail   float64 // of what is behind that board: of its end's depth by the leaf's
	warm   bool
	cached bool    // its shape holds at other depths, between these extremes as found
	solved bool    // its shape holds at the depth for which it was found
	steady int     // how many of its lines may be kept while a root moves it in depth
	prefix int     // how many are kept
	part   int     // how many samples of the last line are kept besides
	begin  float64 // depth of the leaf for which they are
	endF   geom.Vec
	endR   geom.Vec
	least  float64
	most   float64
	offset int     // of its unknowns, for a fixed leaf
	resid  int     // of its residuals
	pull   float64 // kept at the leaf; 0: an outcome
}

// plan orders a tree into branches. It is made once per topology.
type plan struct {
	branches []branch // main first, then fixed ones, then free ones; a branch comes after the one it joins
	joining  [][]int  // by node: branches that end there
	rings    []int    // ring nodes, each one residual
	open     []int    // lines of unknown length
	unknowns int
	up, down []int // by node: the line from it, and how many end there
	owned    []bool
}

// build checks the tree and orders it. Faulty trees are programmer mistakes and panic.
//
// long: each check stands where the tree is walked anyway, each with its own message.
func (p *plan) build(sys *System) {
	n := len(sys.Nodes)
	p.up, p.down, p.owned = anew(p.up, n), anew(p.down, n), anew(p.owned, n)
	up, down, owned := p.up, p.down, p.owned
	for i := range up {
		up[i] = -1
	}
	for i, l := range sys.Lines {
		if l.From < 0 || l.To < 0 || l.From >= n || l.To >= n || l.From == l.To {
			panic(fmt.Sprintf("tow: line %d joins nodes %d and %d of %d", i, l.From, l.To, n))
		}
		if up[l.From] >= 0 {
			panic(fmt.Sprintf("tow: node %d has two ways to the root", l.From))
		}
		up[l.From] = i
		down[l.To]++
	}
	if sys.Nodes[sys.Root].Kind != Fixed || up[sys.Root] >= 0 {
		panic("tow: the root is not a fixed end")
	}
	p.branches, p.rings, p.open, p.unknowns = p.branches[:0], p.rings[:0], p.open[:0], 0
	p.joining = longer(p.joining, n)
	for i := range p.joining {
		p.joining[i] = p.joining[i][:0]
	}
	owned[sys.Root] = true
	add := func(leaf int) {
		k := len(p.branches)
		p.branches = longer(p.branches, k+1)
		b := branch{leaf: leaf, fixed: sys.Nodes[leaf].Kind == Fixed, lines: p.branches[k].lines[:0]}
		if leaf < len(sys.Pull) {
			b.pull = sys.Pull[leaf]
		}
		owned[leaf] = true
		at := leaf
		for steps := 0; ; steps++ {
			l := up[at]
			if l < 0 || steps > n {
				panic(fmt.Sprintf("tow: node %d does not lead to the root", leaf))
			}
			b.lines = append(b.lines, l)
			at = sys.Lines[l].To
			if owned[at] {
				break
			}
			owned[at] = true
		}
		b.join = at
		if b.fixed {
			b.offset, b.resid = p.unknowns, p.unknowns
			if b.pull > 0 {
				p.unknowns += 2
			} else {
				p.unknowns += 3
			}
		}
		p.joining[at] = append(p.joining[at], k)
		p.branches[k] = b
	}
	if down[sys.Main] > 0 || sys.Nodes[sys.Main].Kind == Fixed {
		panic("tow: the main end is not a free end")
	}
	add(sys.Main)
	for i := range sys.Nodes {
		if down[i] == 0 && sys.Nodes[i].Kind == Fixed && i != sys.Root {
			add(i)
		}
	}
	for i := range sys.Nodes {
		if down[i] == 0 && sys.Nodes[i].Kind != Fixed && i != sys.Main {
			add(i)
		}
	}
	for i, l := range sys.Lines {
		if l.Open {
			p.open = append(p.open, i)
			p.unknowns++
		}
	}
	// The last line meets the surface; from a fixed branch up the pull changes.
	main := &p.branches[0]
	main.steady = len(main.lines) - 1
	for i, l := range main.lines {
		for _, j := range p.joining[sys.Lines[l].From] {
			if p.branches[j].fixed && i < main.steady {
				main.steady = i
			}
		}
	}
	// Residuals: three where a fixed branch meets another, one a ring.
	rows := 0
	for i := range p.branches {
		if p.branches[i].fixed {
			p.branches[i].resid = rows
			rows += 3
		}
	}
	for i := range sys.Nodes {
		if sys.Nodes[i].Kind == Ring {
			p.rings = append(p.rings, i)
			rows++
		}
	}
	if rows != p.unknowns {
		panic(fmt.Sprintf("tow: %d conditions for %d unknowns", rows, p.unknowns))
	}
}
