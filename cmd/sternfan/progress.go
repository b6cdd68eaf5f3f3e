package main

import (
	"errors"
	"fmt"
)

// errNoPlan ends a run that has said why there is no plan.
var errNoPlan = errors.New("there is no plan that keeps every rule")

// progress shows on a person's screen how far long work has come, on one line that it
// clears again. Into a file or a pipe it says nothing.
type progress struct {
	w     *world
	shown bool
}

func newProgress(w *world) *progress { return &progress{w: w} }

// step shows what is being done, how much of the whole is, and the best score so far.
func (p *progress) step(what string, part, best float64) {
	if !p.w.terminal {
		return
	}
	text := fmt.Sprintf("%3.0f %% %s", 100*part, what)
	if best > 0 {
		text += fmt.Sprintf(", best so far %.3f", best)
	}
	p.shown = true
	fmt.Fprintf(p.w.stderr, "\r\x1b[K%s", text)
}

// done clears the line.
func (p *progress) done() {
	if p.shown {
		fmt.Fprint(p.w.stderr, "\r\x1b[K")
	}
}
