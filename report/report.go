// Package report turns a solved fan into what people and programs read: a table in
// words, JSON, CSV, and the drawing model of the lines plan.
//
// Everything that a person sees is in their units, rounded, with the unit beside it and
// the interval of every predicted depth. Everything that a program reads is SI and
// unrounded. The package does no physics: it says what the fan holds.
package report

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"sternfan"
	"sternfan/unit"
)

// Options says how a report for people is worded.
type Options struct {
	Units unit.System
	Width int // columns of the terminal; 0 is 100

	// Scenario is what the fan was solved from. It is optional: with it the cautions
	// know of wire and copper, and the lines plan has the boat.
	Scenario *sternfan.Scenario
}

const (
	defaultWidth  = 100
	narrowestText = 40 // below this, wrapped words become a column of single words
)

func (o Options) width() int {
	switch {
	case o.Width <= 0:
		return defaultWidth
	case o.Width < narrowestText:
		return narrowestText
	}
	return o.Width
}

// ErrNotFinite is wrapped by the encoders' errors when a result holds a value that is
// infinite or not a number. That is a fault of the solver, never of the person.
var ErrNotFinite = errors.New("a result is not a finite number")

// printer keeps the first error of a run of writes.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err != nil {
		return
	}
	text := strings.TrimRight(fmt.Sprintf(format, args...), " ")
	_, p.err = io.WriteString(p.w, text+"\n")
}

// wrapped prints text broken at spaces to the width; lines after the first begin with
// the indent.
func (p *printer) wrapped(first, indent, text string, width int) {
	line := first
	empty := true
	for _, word := range strings.Fields(text) {
		switch {
		case empty:
			line += word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			p.line("%s", line)
			line = indent + word
		default:
			line += " " + word
		}
		empty = false
	}
	p.line("%s", line)
}

// paragraphs prints each text broken to the width, further lines set in.
func (p *printer) paragraphs(width int, texts ...string) {
	for _, s := range texts {
		p.wrapped("", "  ", s, width)
	}
}
