// Package dynamics carries a towed system through time: what its lines and bodies do
// while the boat turns, slows or stops. It starts from the statics of package tow, whose
// loads it shares.
//
// # Model
//
// Each line is cut into segments between points that carry the mass: the line's own and
// the water's, rho pi d2/4 a meter across the line and none along it; bodies bring
// theirs. A segment pulls by its stretch and does not push. Its load (E2 to E4) is taken
// at the middle of what is under water and shared by its two ends. The equations are
//
//	M dv/dt = F(r, v, t),   dr/dt = v
//
// over ground, x along the first heading.
//
// # Steps
//
// The two-step backward differentiation formula of order 2 for variable steps (Hairer,
// Norsett & Wanner, Solving Ordinary Differential Equations I, III.5). With steps of a
// tenth of a second and more a line's own axial vibrations, a hundred times faster, can
// only be damped, and this formula damps them wholly; the trapezoidal rule would let them
// ring, and the generalized-alpha family, which lies between the two, has to be restarted
// with consistent accelerations at every event. It stays stable while a step is less than
// 2.4 times the one before.
//
// Each step is solved by Newton's method: its matrix has 3x3 blocks that couple a point
// with the next one toward the boat, so elimination from the free ends inward costs the
// same for every point and fills nothing in. Lines to further tips end at points whose
// place is known, so that loops through the boat need no border.
package dynamics

import (
	"math"

	"sternfan/geom"
)

// Pose is where the boat is and how it moves, over ground.
type Pose struct {
	At       geom.Vec // of the boat frame's origin, m
	Velocity geom.Vec // m/s
	Heading  float64  // of the x axis, from the first heading toward starboard, rad
	Yaw      float64  // dHeading/dt, rad/s
}

// Point returns place and velocity of a point of the boat given in the boat frame. Its
// speed is that of the origin and the yaw about it, exactly.
func (p *Pose) Point(b geom.Vec) (r, v geom.Vec) {
	q := b.Yaw(p.Heading)
	return p.At.Add(q), geom.Vec{X: p.Velocity.X - p.Yaw*q.Y, Y: p.Velocity.Y + p.Yaw*q.X, Z: p.Velocity.Z}
}

// Course is the boat's way through a manoeuvre.
type Course interface {
	// At gives the pose at time t, s.
	At(t float64, p *Pose)
	// Next returns the first time after t at which the motion has a kink; +Inf: none.
	Next(t float64) float64
}

// Options are the settings of a run; the zero value is the default.
type Options struct {
	Nodes     int     // segments of the longest chain, default 20
	Tolerance float64 // error in the depths that the steps aim at, relative to the deepest point; default 1e-3
	Step      float64 // a fixed step, s; 0: as the tolerance needs
	MaxStep   float64 // s, default 10
	MaxSteps  int     // of a run, default 200,000
	Hands     bool    // lines go out and come in: see [Run.Feed]
	Loose     bool    // what is given is no rest, and is let go as it lies
	At        float64 // time of the course at which the run begins, s
	Pull      float64 // N, the greatest that lines yet to go out come to
	Depth     float64 // m, by which the tolerance goes when it is deeper than what the start reaches
	Rod       float64 // stiffness of a rod whose line is held at a set load, N/m; default 25 (assumed)
	Drag      float64 // pull at which such a rod's reel gives line, N; 0: never
}

// Status is how a run stands.
type Status uint8

// The ways a run can stand.
const (
	OK        Status = iota
	Unsettled        // the system found no rest to start from
	Stuck            // a step did not converge however short it was taken
	Exhausted        // the steps ran out
	Cancelled
)

// String says it in words.
func (s Status) String() string {
	return [...]string{"done", "found no rest to start from", "a step could not be solved however short", "out of steps", "canceled"}[s]
}

// Count is the work done.
type Count struct {
	Steps, Rejected, Failed int // accepted; too coarse; not converged
	Iterations, Factored    int // of Newton's method
}

// The defaults and bounds.
const (
	defaultNodes = 20
	defaultRod   = 25.0
	leastStep    = 1e-7 // s
	firstStep    = 0.02 // s
	growth       = 2.0  // of a step over the one before; 2.4 is the formula's bound
	maxNewton    = 10
	// share is the part of the tolerance that one step may take. Measured: through a half turn
	// of twelve rods, depths at any time come out within half the tolerance.
	share = 0.05
	// leastStrain is the stretch that even a line without any is given, at its greatest
	// pull at rest: its rest length is shortened by as much.
	leastStrain = 1e-4
	restDepth   = 0.02 // m: how far the bottom lets in what it carries, as in package hydro
	wetEdge     = 0.02 // m: over how much at least a segment passes the surface
)

func (o *Options) fill() {
	if o.Nodes <= 0 {
		o.Nodes = defaultNodes
	}
	if o.Tolerance <= 0 {
		o.Tolerance = 1e-3
	}
	if o.MaxStep <= 0 {
		o.MaxStep = 10
	}
	if o.MaxSteps <= 0 {
		o.MaxSteps = 200000
	}
	if o.Rod <= 0 {
		o.Rod = defaultRod
	}
	if o.Drag <= 0 {
		o.Drag = math.Inf(1)
	}
}
