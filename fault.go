package sternfan

import (
	"fmt"
	"strings"
)

// Fault is something wrong with what a person gave: where, what was found, what is
// allowed, what to do next.
type Fault struct {
	Code    string   `json:"code"`           // "unknown-key", "wrong-unit", "missing", "duplicate-id", "out-of-range", "unknown-gear", "refused", ...
	Path    string   `json:"path,omitempty"` // "rods[2].settings.dial"
	File    string   `json:"file,omitempty"`
	Line    int      `json:"line,omitempty"` // 1-based; 0: not known
	Column  int      `json:"column,omitempty"`
	Text    string   `json:"text"` // one lower-case sentence
	Found   string   `json:"found,omitempty"`
	Allowed []string `json:"allowed,omitempty"`
	Hint    string   `json:"hint,omitempty"`
	Of      string   `json:"-"` // the rod or device whose gear and settings were at hand, where it was found in resolving one
}

// Error returns the fault as one line: position, sentence, found, allowed, hint.
func (f Fault) Error() string {
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File)
		if f.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
		}
		b.WriteString(": ")
	}
	b.WriteString(f.Text)
	if f.Path != "" {
		fmt.Fprintf(&b, " (at %s)", f.Path)
	}
	if f.Found != "" {
		fmt.Fprintf(&b, "; found %s", f.Found)
	}
	if len(f.Allowed) > 0 {
		fmt.Fprintf(&b, "; allowed: %s", strings.Join(f.Allowed, ", "))
	}
	if f.Hint != "" {
		fmt.Fprintf(&b, "; %s", f.Hint)
	}
	return b.String()
}

// Faults is every fault found in one pass.
type Faults []Fault

// Error returns the faults, a line each.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Err returns the faults as an error, nil when there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}
