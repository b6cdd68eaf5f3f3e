package sternfan

import "strings"

// Scope says what an uncertain input is common to: one wrong speed is one error shared
// by all rods, one wrong counter is not.
type Scope string

// The scopes.
const (
	ScopeBoat   Scope = "boat"
	ScopeDevice Scope = "device" // a piece of gear, shared by every rod that uses it
	ScopeRod    Scope = "rod"
)

// Entry is one uncertain input of the registry. Intervals, sampled worlds and
// calibration all read it.
type Entry struct {
	Name    string        `json:"name"`             // "speed", "line braid-50 diameter", "rod p1 counter"
	Param   string        `json:"param"`            // which input of the model it moves
	Target  string        `json:"target,omitempty"` // gear id or rod id, by scope
	Scope   Scope         `json:"scope"`
	Nominal float64       `json:"nominal"` // SI
	Unit    string        `json:"unit"`
	Scatter Scatter       `json:"spread"`
	Source  string        `json:"source"`
	Corr    []Correlation `json:"correlation,omitempty"`
}

// EntryName returns the name of an entry: "rod p1 counter" of a rod's counter, the parameter
// alone where it is of nothing in particular.
func EntryName(of, target, param string) string {
	if of == "" {
		return param
	}
	return of + " " + target + " " + param
}

// SplitEntryName returns what [EntryName] put together, a name that it cannot have made as
// the parameter.
func SplitEntryName(name string) (of, target, param string) {
	if w := strings.Fields(name); len(w) == 3 {
		return w[0], w[1], w[2]
	}
	return "", "", name
}

// Correlation ties an entry's score to another's.
type Correlation struct {
	With string  `json:"with"`
	Rho  float64 `json:"rho"`
}
