// Package tow solves systems of lines and bodies towed through water: trees with one or
// more ends fixed to the boat. It knows nothing of fishing.
//
// # Statics
//
// Along a line s runs from its seaward end upward, and F = T t is the pull of the part
// above on the part below. The equilibrium is integrated as an initial-value problem
// from the free ends, where F is known, toward the boat (E6):
//
//	dF/ds = -(w z + f_n + f_t),   dr/ds = (1 + T/EA) F/|F|
//
// with the loads of package hydro; at a body F jumps by minus its loads. Steps are those
// of Dormand & Prince (1980), order 5 with an embedded error of order 4, and land on the
// levels where the loads change form: the surface, a profile's points, a layer of fouling.
//
// What remains is a small root: the depth of the lowest body, so that the line ends at
// the height of its tow point; and, where further ends are fixed to the boat, the pull
// at each of them, so that the lines meet.
package tow

import (
	"math"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/water"
)

// NodeKind says how a node is held.
type NodeKind uint8

// The kinds of node.
const (
	Free  NodeKind = iota // held by its lines alone
	Fixed                 // on the boat, at At
	Ring                  // free, and slides without friction along its two lines
)

// Node joins lines and carries bodies.
type Node struct {
	Kind   NodeKind
	At     geom.Vec     // position of a fixed node, boat frame, m
	Bodies []hydro.Body // at the node; a Fixed node's are ignored
}

// Line is one line of constant properties between two nodes; From is the end toward the
// sea, To the end toward System.Root along the tree. A line to a second fixed node runs
// From that node.
type Line struct {
	From, To int
	Length   float64 // unstretched, m
	Open     bool    // Length is an outcome; the given one is the first guess (0: the chord)
	Props    hydro.Line
}

// System is a tree of lines. Every node but Root has exactly one line of which it is the
// From end.
type System struct {
	Nodes []Node
	Lines []Line
	Root  int // the fixed node to which everything leads
	// Main is the free end whose way to Root is the main chain; others join it.
	Main int
	// Pull holds, by node, the pull that a rod keeps at a fixed node other than Root, N;
	// 0 or a short slice: the pull is an outcome.
	Pull []float64
}

// Fouling is what grows or hangs on lines over a range of depth: an added diameter and
// mass per metre.
type Fouling struct {
	From, To float64 // m
	Diameter float64 // added, m
	Mass     float64 // added, kg/m
	Density  float64 // of what fills the added ring, kg/m3: mass by each line's own diameter, besides Mass
}

// Env is what the system is towed through.
type Env struct {
	Water    *water.Column
	Speed    float64 // through the surface water, m/s, along +X
	Bottom   float64 // depth, m; 0 or +Inf: none
	Friction float64 // of lines and bodies lying on the bottom
	Fouling  Fouling
}

// DefaultTolerance is how far depths may be off, relative to the deepest.
const DefaultTolerance = 1e-3

// Options are the solver's tolerances; the zero value is the default.
type Options struct {
	Tolerance float64 // relative to depth; 0: DefaultTolerance
	MaxSteps  int     // of integration per line, default 4000; of a whole solution 200 times that, and one pass more
	MaxIter   int     // of each root, default 80
}

// Status is why a solution ended.
type Status uint8

// The outcomes.
const (
	Converged Status = iota
	NoBracket        // the ends cannot meet
	Exhausted        // an iteration count ran out
	Singular         // a system of equations had no unique solution
)

// String names the status.
func (s Status) String() string {
	return [...]string{"converged", "ends cannot meet", "out of iterations", "singular"}[s]
}

// Sample is one point of a solved line.
type Sample struct {
	S float64  // unstretched length from the From end, m
	R geom.Vec // position, boat frame, m
	F geom.Vec // pull of the part toward To on the part toward From, N
}

// Solution is the state of a system at rest in the boat's frame. Its slices are reused by
// the next solve on the same Solver.
type Solution struct {
	Status     Status
	Iterations int     // evaluations of the outer equations and roots
	Steps      int     // integration steps, all passes
	Residual   float64 // m (and N/N) left in the equations
	Nodes      []geom.Vec
	Loads      []geom.Vec // of the bodies at each node, N
	Samples    [][]Sample // by line, from From to To
	Length     []float64  // by line, unstretched, m
	Laid       float64    // length of the main chain lying on the bottom, m
}

// Pull returns the tension at the From and the To end of line i, N.
func (s *Solution) Pull(i int) (from, to float64) {
	p := s.Samples[i]
	if len(p) == 0 {
		return 0, 0
	}
	return p[0].F.Norm(), p[len(p)-1].F.Norm()
}

// Flow returns the water's velocity relative to a point at rest in the boat frame at
// depth z (E1).
func (e *Env) Flow(z float64) geom.Vec {
	var top, here water.State
	e.Water.At(0, &top)
	e.Water.At(z, &here)
	return geom.Vec{X: here.Cx - top.Cx - e.Speed, Y: here.Cy - top.Cy}
}

func (e *Env) bottom() float64 {
	if e.Bottom <= 0 {
		return math.Inf(1)
	}
	return e.Bottom
}
