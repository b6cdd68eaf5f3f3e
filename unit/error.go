package unit

import "strings"

// Error says why a text is not a value of the wanted quantity.
type Error struct {
	Quantity string   // what was wanted: "length", "speed", ...
	Input    string   // the text as it was given
	Problem  string   // what is wrong with it, to be read after the input
	Allowed  []string // units that are allowed, when a unit is at fault
	Hint     string   // what to write instead; may be empty
}

// Error returns one sentence: quantity, input, problem, allowed units, hint.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Quantity)
	b.WriteString(" ")
	b.WriteString(quoted(e.Input))
	b.WriteString(" ")
	b.WriteString(e.Problem)
	if len(e.Allowed) > 0 {
		b.WriteString(" (units: ")
		b.WriteString(strings.Join(e.Allowed, ", "))
		b.WriteString(")")
	}
	if e.Hint != "" {
		b.WriteString("; ")
		b.WriteString(e.Hint)
	}
	return b.String()
}
