// Package setting is the one table of a rod's settings: what a hand can change without
// retying. A row says how a setting is called and written, what it is on, how it is said
// and in which order hands do it. The scenario file, the log, the words, the card and the
// app's controls are made from it.
package setting

import (
	"math"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Owner is what a setting is on.
type Owner uint8

// The owners. A rod that is clipped to a device has the device's settings too.
const (
	Rod Owner = iota
	Downrigger
	MastBoard
)

// String returns the owner's name.
func (o Owner) String() string { return [...]string{"rod", "downrigger", "mast board"}[o] }

// List returns the scenario's list that the owner is in.
func (o Owner) List() string { return [...]string{"rods", "downriggers", "mast_boards"}[o] }

// Kind is what a setting's value is.
type Kind uint8

// The kinds of value.
const (
	Length Kind = iota // m
	Force              // N
	Colors             // of lead core
	Mark               // of a diver's dial
	Side               // port or starboard
	Switch             // on or off, or not said
	Flag               // so, or not
	Word               // one of some words
)

// String returns the kind's name.
func (k Kind) String() string {
	return [...]string{"length", "force", "colors", "mark", "side", "switch", "flag", "word"}[k]
}

// On is where a rod's settings are: its own and those of the devices that it is clipped
// to, nil where there is none.
type On struct {
	Settings   *sternfan.Settings
	Downrigger *sternfan.Downrigger
	MastBoard  *sternfan.MastBoard
}

// Of returns where the settings of a rod are, its device among those of the scenario.
func Of(sc *sternfan.Scenario, rod *sternfan.Rod) On {
	on, device := On{Settings: &rod.Settings}, rod.Device()
	for i := range sc.Downriggers {
		if sc.Downriggers[i].ID == device {
			on.Downrigger = &sc.Downriggers[i]
		}
	}
	for i := range sc.MastBoards {
		if sc.MastBoards[i].ID == device {
			on.MastBoard = &sc.MastBoards[i]
		}
	}
	return on
}

// Value is a setting's value: a length in m, a force in N, a number of colors, a mark, 1
// for on and 0 for off, or a word. Of what is not given all is zero.
type Value struct {
	Given  bool
	Number float64
	Word   string
}

// Use is a setting as one kind of rig has it.
type Use struct {
	Is  string // what it measures there: "from the tip to the board"
	Ask string // what to give when it is missing; "": it has a default
	Or  string // the setting that does instead
}

// Control is how far a control goes and by what, in feet, colors or marks.
type Control struct {
	Least, Most, Step float64
	StepSI            float64 // of lengths in m
}

// Scale returns the least, the most and the step in a system's units, and the unit as a file
// has it, "" of what has none.
func (r *Row) Scale(u unit.System) (least, most, step float64, of string) {
	c := r.Control
	switch {
	case r.Kind != Length:
		return c.Least, c.Most, c.Step, ""
	case u == unit.SI:
		return math.Round(c.Least * float64(unit.Foot)), math.Round(c.Most * float64(unit.Foot)), c.StepSI, "m"
	}
	return c.Least, c.Most, c.Step, "ft"
}

// Row is one setting.
type Row struct {
	ID     string // unlike any other's: what a change of a rod and the log call it
	Key    string // in its owner's map of a scenario file
	Owner  Owner
	Kind   Kind
	Name   string // what people call it
	Doc    string // what it is, for the file's schema
	Lo, Hi float64
	Above  bool     // Lo itself is not allowed
	Words  []string // the words of a side or a word; of a switch or flag what 0 and 1 are
	Norm   string   // the word that holds when none is given

	Uses    map[sternfan.RigKind]Use // by rig, where it has a use of its own
	Control Control                  // of the app; zero: it has none that counts

	// With and Without are the kinds of part that a rod needs, and must not have, for the
	// setting to be said of it.
	With, Without sternfan.PartKind
	said, card    string // forms of words; "": not said
	do            string // how a hand is told to change it; "": as it is said
	turn          int    // its turn in the order of hands

	in     func(On) any      // a pointer into the model; nil: the rod has no such owner
	logged func(*Logged) any // a pointer into what a log keeps
}

// In returns the place of the setting in the model: a pointer to a sternfan.Q, a Side, a
// bool or a string. It is nil when the rod is on no such device.
func (r *Row) In(on On) any { return r.in(on) }

// Get returns the setting's value.
func (r *Row) Get(on On) Value {
	switch p := r.in(on).(type) {
	case *sternfan.Q[unit.Length]:
		return number(p)
	case *sternfan.Q[unit.Force]:
		return number(p)
	case *sternfan.Q[float64]:
		return number(p)
	case *sternfan.Side:
		return Value{*p != sternfan.Amidships, float64(*p), p.String()}
	case *bool:
		return flag(*p)
	case *string:
		return Value{*p != "", 0, *p}
	}
	return Value{}
}

// Set changes the setting, keeping what was said of its uncertainty, and reports whether
// the rod has it.
func (r *Row) Set(on On, v Value) bool {
	switch p := r.in(on).(type) {
	case *sternfan.Q[unit.Length]:
		put(p, v)
	case *sternfan.Q[unit.Force]:
		put(p, v)
	case *sternfan.Q[float64]:
		put(p, v)
	case *sternfan.Side:
		*p = SideNamed(v.Word)
	case *bool:
		*p = v.Number != 0
	case *string:
		*p = v.Word
	default:
		return false
	}
	return true
}

func number[U ~float64](q *sternfan.Q[U]) Value {
	if !q.Given {
		return Value{}
	}
	return Value{Given: true, Number: q.SI()}
}

func put[U ~float64](q *sternfan.Q[U], v Value) {
	if !v.Given {
		*q = sternfan.Q[U]{}
		return
	}
	q.Value, q.Given = U(v.Number), true
}

func flag(on bool) Value {
	if on {
		return Value{Given: true, Number: 1}
	}
	return Value{}
}

// SideNamed returns the side that a word names, neither for any other.
func SideNamed(word string) sternfan.Side {
	switch word {
	case sternfan.Port.String():
		return sternfan.Port
	case sternfan.Starboard.String():
		return sternfan.Starboard
	}
	return sternfan.Amidships
}

// Use returns what the setting is on a kind of rig.
func (r *Row) Use(rig sternfan.RigKind) Use {
	if use, ok := r.Uses[rig]; ok {
		return use
	}
	return r.Uses[anyRig]
}

// Is reports whether two values are the same to a hand: numbers within near, and what is
// not said as its default has it.
func (r *Row) Is(a, b Value, near float64) bool {
	switch r.Kind {
	case Side, Word:
		return r.word(a) == r.word(b)
	case Switch, Flag:
		return a.Number == b.Number
	}
	return a.Given == b.Given && a.Number-b.Number <= near && b.Number-a.Number <= near
}

func (r *Row) word(v Value) string {
	if v.Word == "" {
		return r.Norm
	}
	return v.Word
}

// Find returns the row with an id.
func Find(id string) (*Row, bool) {
	for i := range rows {
		if rows[i].ID == id {
			return &rows[i], true
		}
	}
	return nil, false
}

// Named returns the row with an id that is known to be there.
func Named(id string) *Row {
	r, ok := Find(id)
	if !ok {
		panic("setting: no setting is called " + id)
	}
	return r
}

// Rows iterates over the settings in the order of the scenario file.
func Rows(yield func(*Row) bool) {
	for i := range rows {
		if !yield(&rows[i]) {
			return
		}
	}
}

// IDs returns the names of all settings.
func IDs() []string {
	out := make([]string, len(rows))
	for i := range rows {
		out[i] = rows[i].ID
	}
	return out
}

// Option returns the name that words and options call the setting by.
func (r *Row) Option() string { return strings.ReplaceAll(r.ID, "_", "-") }

// LogKey returns the name of the member that a log keeps the setting under.
func (r *Row) LogKey() string {
	switch r.Kind {
	case Length:
		return r.ID + "_m"
	case Force:
		return r.ID + "_n"
	}
	return r.ID
}

// Label returns the name as the label of a control.
func (r *Row) Label() string { return strings.ToUpper(r.Name[:1]) + r.Name[1:] }
