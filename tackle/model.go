package tackle

import (
	"slices"

	"sternfan"
	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/water"
)

// Model is a scenario with everything named resolved to numbers. It does not change once
// made, so that many goroutines may build from it.
type Model struct {
	Scenario *sternfan.Scenario // expanded copy: every rig as its parts, every piece of gear in full
	Registry []sternfan.Entry   // every uncertain input, with overrides and calibrations applied
	Groups   []Group            // each one coupled system
	Rods     []RodInfo          // by rod of the scenario
	Refused  []Refusal
	Notes    []sternfan.Warning // what was assumed for want of a number

	dists   []dist
	column  *water.Column
	spec    water.Spec
	current []water.CurrentPoint
	speed   sternfan.SpeedKind
	fouling tow.Fouling

	speedAt, currentAt, bottomAt, fleasAt int // registry entries, -1: none

	// For Changed.
	given []sternfan.Entry    // the registry before overrides and calibrations
	index map[string]int      // of the registry, by name
	plain []sternfan.Warning  // the notes without that on calibrations
	downs map[string]lipFound // lift areas worked out, by lure
	self  *identity
	from  *identity // the model from which this was made; nil: made anew, or too different
	fresh []int     // the groups that differ from it
}

// Refusal is a rod that cannot be fished as described; the others go on without it.
type Refusal struct {
	Rod     int
	Warning sternfan.Warning
	Path    string
}

// Group is one coupled system: a rod of its own, or a downrigger or mast board with the
// rods on it. Nodes and Lines are parallel to those of the system that [Model.Build] fills.
type Group struct {
	Rods       []int
	Downrigger int // index in the scenario, -1: none
	MastBoard  int
	Nodes      []NodeRef
	Lines      []LineRef

	nodes   []nodeTpl
	lines   []lineTpl
	bodies  []bodyTpl
	main    int
	order   []int // registry entries as they were first touched
	touches []int // the same, ascending
}

// NodeRef says what a node of the system is for a person. Kind "" when there is nothing
// to report.
type NodeRef struct {
	Rod                int    // -1: of the device
	ID, Kind           string // of the part; Kind is the part's, or "ball", "tip"
	Gear               string
	Lure               bool
	WindowLo, WindowHi float64 // m/s, both 0: no window
	Bottom             bool    // meant to tick the bottom
}

// LineRef says what a line of the system is for a person.
type LineRef struct {
	Rod      int // -1: of the device
	ID       string
	Kind     sternfan.PartKind
	Gear     string
	LineKind string  // "mono", "wire", ...; "" for a snubber
	Strength float64 // N; 0: not known
	Nominal  float64 // unstretched length at nominal, m; 0 for an open line
	Open     bool
}

// RodInfo is what warnings and words need of a rod.
type RodInfo struct {
	Group    int // -1: refused
	Kind     sternfan.RigKind
	Tip      geom.Vec
	Position string
	Side     sternfan.Side // of the holder
	LineOut  float64       // nominal, from the tip, without what is behind a device, m; 0: an outcome
	Lines    []int         // of the group, tip first (a slider's after them)
	Lures    []int         // nodes of the group
	Trips    []Trip
	Reel     *sternfan.Reel
	Spool    []Wound // what is wound on the reel with nothing out, backing first; nil: not known
	MainLine string  // gear id of the first line
	Kinds    []string
	Bottom   bool // meant to tick the bottom
	SetLoad  float64
}

// Trip is a device or release that lets go: the pull that counts is that of a line of the
// group at one end.
type Trip struct {
	ID       string
	Kind     sternfan.PartKind
	Node     int
	Line     int
	AtFrom   bool    // the pull at the line's From end, else at its To end
	Load     float64 // N
	Adjusted bool    // given as a setting
}

// nodeTpl is a node before a world is chosen.
type nodeTpl struct {
	kind   tow.NodeKind
	at     geom.Vec
	bodies [2]int // first and end in the group's bodies
	own    []int
	pull   int // registry entry of a kept pull, -1: none
}

// lineTpl is a line before a world is chosen. Indices are registry entries, -1: none.
type lineTpl struct {
	props                      hydro.Line
	from, to                   int
	diameter, normal, friction int
	mass                       int
	follow                     bool // mass goes with the diameter squared
	length                     length
	counterAt, leadAt          int
	open                       bool
}

// bodyTpl is a body before a world is chosen.
type bodyTpl struct {
	body hydro.Body
	drag int     // scales or replaces: DragArea = dragUnit times the entry
	unit float64 // m2 per unit of the drag entry
	base float64 // m2 added to that: a round ball's is what its drag differs by
	mass int
	lift int
	cn, incidence, give,
	dial, tilt int
	marks, tilts []float64
	side         float64
}

// bottomFriction is the coefficient of friction of gear dragged over the bottom; assumed.
const bottomFriction = 0.4

// minLength keeps a sampled length from vanishing, m.
const minLength = 0.02

// Touches returns the registry entries that can move group g, those common to the boat
// included, ascending.
func (m *Model) Touches(g int) []int { return m.Groups[g].touches }

// Build fills sys with group g in a world: a standard normal score for each entry of the
// registry, nil for the nominal one. It reuses the slices of sys and, after the first
// call for the group, allocates nothing.
func (m *Model) Build(g int, world []float64, sys *tow.System) {
	t := &m.Groups[g]
	sys.Root, sys.Main = 0, t.main
	sys.Nodes = resize(sys.Nodes, len(t.nodes))
	sys.Lines = resize(sys.Lines, len(t.lines))
	sys.Pull = resize(sys.Pull, len(t.nodes))
	for i := range t.nodes {
		n, node := &t.nodes[i], &sys.Nodes[i]
		node.Kind, node.At = n.kind, n.at
		node.Bodies = node.Bodies[:0]
		for k := n.bodies[0]; k < n.bodies[1]; k++ {
			node.Bodies = append(node.Bodies, hydro.Body{})
			m.body(&t.bodies[k], world, &node.Bodies[len(node.Bodies)-1])
		}
		sys.Pull[i] = 0
		if n.pull >= 0 {
			sys.Pull[i] = m.value(n.pull, world)
		}
	}
	for i := range t.lines {
		m.line(&t.lines[i], world, &sys.Lines[i])
	}
}

// Slides reports whether a free slider runs on a line of the group.
func (g *Group) Slides() bool {
	for i := range g.nodes {
		if g.nodes[i].kind == tow.Ring {
			return true
		}
	}
	return false
}

// stopLength is the line between a release and a slider that lies against it, m.
const stopLength = 0.05

// BuildStopped is [Model.Build] with every free slider lying against the release: where it
// ends when the solver finds no place on its line at which its load along the line
// vanishes. Nodes and lines keep their numbers; a solver needs a Reset in between.
func (m *Model) BuildStopped(g int, world []float64, sys *tow.System) {
	m.Build(g, world, sys)
	for i := range sys.Lines {
		l := &sys.Lines[i]
		if sys.Nodes[l.From].Kind == tow.Ring {
			l.Open, l.Length = false, stopLength
		}
	}
	for i := range sys.Nodes {
		if sys.Nodes[i].Kind == tow.Ring {
			sys.Nodes[i].Kind = tow.Free
		}
	}
}

func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		out := make([]T, n)
		copy(out, s[:cap(s)])
		return out
	}
	return s[:n]
}

func (m *Model) line(t *lineTpl, world []float64, out *tow.Line) {
	p := t.props
	if t.diameter >= 0 {
		d := m.value(t.diameter, world)
		if t.mass >= 0 {
			p.Mass = m.value(t.mass, world)
		}
		if t.follow {
			p.Mass *= square(d / p.Diameter)
		}
		p.Diameter = d
		p.Scale = m.value(t.normal, world)
		p.Cf = m.value(t.friction, world)
	}
	l := t.length.fixed
	if t.counterAt >= 0 {
		l += t.length.counter * m.value(t.counterAt, world)
	}
	if t.leadAt >= 0 {
		l += t.length.lead * m.value(t.leadAt, world)
	}
	if t.open {
		l = 0
	} else if l < minLength {
		l = minLength
	}
	out.From, out.To, out.Length, out.Open, out.Props = t.from, t.to, l, t.open, p
}

func (m *Model) body(t *bodyTpl, world []float64, out *hydro.Body) {
	*out = t.body
	if t.drag >= 0 {
		out.DragArea = t.base + t.unit*m.value(t.drag, world)
	}
	if t.mass >= 0 {
		out.Mass = m.value(t.mass, world)
	}
	if t.lift >= 0 {
		out.LiftArea = m.value(t.lift, world)
	}
	if t.cn >= 0 {
		out.PlateCN = m.value(t.cn, world)
		out.Incidence = m.value(t.incidence, world)
		out.Give = m.value(t.give, world)
	}
	if t.dial >= 0 {
		out.Roll = t.side * m.value(t.tilt, world) * tiltAt(t.marks, t.tilts, m.value(t.dial, world))
	}
}

// tiltAt returns the tilt at a dial mark: linear between the table's marks and beyond the
// last; odd about zero, so that a dial slipped past it tilts to the other side.
func tiltAt(marks, tilts []float64, mark float64) float64 {
	if mark < 0 {
		return -tiltAt(marks, tilts, -mark)
	}
	last := len(marks) - 1
	if last < 1 {
		return 0
	}
	i := 1
	for i < last && marks[i] < mark {
		i++
	}
	return tilts[i-1] + (mark-marks[i-1])*(tilts[i]-tilts[i-1])/(marks[i]-marks[i-1])
}

// Expanded returns a copy of the model's scenario in which no rig is a shorthand: the
// parts that its kind stood for are listed, and the settings go on ruling their lengths.
func (m *Model) Expanded() *sternfan.Scenario {
	out := *m.Scenario
	out.Rods = slices.Clone(out.Rods)
	for i := range out.Rods {
		out.Rods[i].Rig = sternfan.Rig{Parts: out.Rods[i].Rig.Parts}
	}
	return &out
}
