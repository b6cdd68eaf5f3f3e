// Package engine answers every question once: it decodes what was given, resolves, solves,
// judges and words it. Command line, HTTP and the browser's worker are its clients. The first
// calls the typed methods of [Engine]; the other two ask the same methods by name and JSON,
// through one table of operations, whose TypeScript types are made from it
// (web/app/src/api.ts).
//
// Every request carries the scenario as the text of its file, which stays the single
// truth: an edit takes the text and gives the new one. An [Engine] remembers what it
// worked out last, so that asking again after a small change is quick; what it answers
// does not depend on what it remembers.
package engine

import (
	"context"
	"errors"
	"fmt"
	"reflect"

	"sternfan"
	"sternfan/wire"
)

// Version is the version of the operations and their types. It grows when a request or
// answer changes its meaning; new members and operations leave it alone.
const Version = 1

// Progress is how far a long operation has come.
type Progress struct {
	Done int     `json:"done"`
	Of   int     `json:"of"` // 0: not known
	Text string  `json:"text,omitempty"`
	Best float64 `json:"best,omitempty"` // score of the best so far, 0 to 1
}

// Op is one operation of the table.
type Op struct {
	Name        string
	Doc         string // what it answers, one sentence
	Long        bool   // reports progress and may be canceled
	Whole       bool   // only the whole engine has it, not the one that is loaded first
	Native      bool   // no engine in a browser has it
	Ask, Answer reflect.Type
	run         func(e *Engine, c *Call, ask []byte) (any, error)
}

// Call is one request on its way: what may end it, and who hears how far it has come.
type Call struct {
	Ctx  context.Context
	Tell func(Progress) // may be nil; it may end Ctx
}

func (c *Call) progress(p Progress) {
	if c.Tell != nil {
		c.Tell(p)
	}
}

// op makes a table entry from a typed handler.
func op[A, R any](name, doc string, f func(e *Engine, c *Call, ask *A) (*R, error)) Op {
	return Op{Name: name, Doc: doc, Ask: reflect.TypeFor[A](), Answer: reflect.TypeFor[R](),
		run: func(e *Engine, c *Call, text []byte) (any, error) {
			var ask A
			if err := decode(text, &ask); err != nil {
				return nil, err
			}
			return f(e, c, &ask)
		}}
}

// long is op for an operation that reports progress.
func long[A, R any](name, doc string, f func(e *Engine, c *Call, ask *A) (*R, error)) Op {
	o := op(name, doc, f)
	o.Long = true
	return o
}

// Ops returns the table: what answers at once, then what takes longer.
func Ops() []Op {
	ops := []Op{
		op("version", "Which versions of the program's parts these are.", (*Engine).version),
		op("check", "Every fault of a scenario at once, with its place, and what the scenario holds.", (*Engine).Check),
		long("spread", "Where everything runs, as a fan, a lines plan and the rows of the table: the digits of the command line.", (*Engine).Spread),
		op("move", "What a change moves, quickly and without intervals: for while a finger drags.", (*Engine).move),
		op("paths", "One rod's possibilities: the way its lure takes at each dial mark as line goes out.", (*Engine).Paths),
		op("speeds", "The speed over ground to hold on each heading for a wanted speed at depth.", (*Engine).Speeds),
		op("edit", "The text of the file after changes to its keys.", (*Engine).edit),
		op("expand", "The file with every named rig written out as parts and every default filled in.", (*Engine).Expand),
		op("form", "The file as it is written, key by key, for forms.", (*Engine).form),
		op("gear", "The names of all gear that rigs may use, built-in and the file's own.", (*Engine).gear),
		op("spools", "How full the rods' spools are with their lines out.", (*Engine).spools),
		op("quantity", "A quantity as a person writes it, in SI and as it is shown.", (*Engine).quantity),
		op("unlink", "The scenario that a link carries.", (*Engine).unlink),
	}
	for _, o := range more() {
		o.Whole = true
		ops = append(ops, o)
	}
	for _, o := range native() {
		o.Native = true
		ops = append(ops, o)
	}
	return ops
}

var table = func() map[string]Op {
	m := map[string]Op{}
	for _, o := range Ops() {
		m[o.Name] = o
	}
	return m
}

// Engine answers requests, one at a time. The zero value is ready.
type Engine struct {
	// Beside reads a file that a scenario names beside itself, as its profile, and reports
	// whether it is there. It is nil where there are no files, and called once for a scenario.
	Beside func(path string) (file ProfileAsk, there bool, err error)

	Workers int // processors for one question; 0: one

	ops    map[string]Op
	read   readFile
	done   solved
	logged logged
}

// maxAsk bounds a request: a scenario of the greatest size, escaped, and room for the rest.
const maxAsk = 4 << 20

// MaxAsk is the most bytes that a request may have.
const MaxAsk = maxAsk

// Handle answers one request to an operation, always with valid JSON that has exactly one
// of the members answer, faults and failed. Progress, which may be nil, is called between
// steps of a long operation; it may end ctx.
func (e *Engine) Handle(ctx context.Context, name string, ask []byte, progress func(Progress)) []byte {
	return Encode(e.Do(ctx, name, ask, progress))
}

// Do is Handle before the answer is written out. The error is a sternfan.Faults, an
// *UnknownOp, a *BadAsk, ctx's or the solver's.
func (e *Engine) Do(ctx context.Context, name string, ask []byte, progress func(Progress)) (any, error) {
	if e.ops == nil {
		e.ops = table()
	}
	o, ok := e.ops[name]
	if !ok {
		return nil, &UnknownOp{name}
	}
	if len(ask) > maxAsk {
		return nil, &BadAsk{fmt.Errorf("it has %d bytes, more than %d", len(ask), maxAsk)}
	}
	return o.run(e, &Call{ctx, progress}, ask)
}

// UnknownOp is the error for an operation that is not in the table.
type UnknownOp struct{ Name string }

// Error returns one sentence.
func (u *UnknownOp) Error() string { return fmt.Sprintf("there is no operation %.40q", u.Name) }

// BadAsk is the error for a request that is not of its operation's type.
type BadAsk struct{ Err error }

// Error returns one sentence.
func (b *BadAsk) Error() string { return "the request cannot be read: " + b.Err.Error() }

// Unwrap returns what was wrong.
func (b *BadAsk) Unwrap() error { return b.Err }

// reply is what a request gets: exactly one of the three.
type reply struct {
	Answer any             `json:"answer,omitempty"`
	Faults sternfan.Faults `json:"faults,omitempty"`
	Failed string          `json:"failed,omitempty"`
}

// MarshalProgress writes a step of a long operation as JSON.
func MarshalProgress(p Progress) []byte {
	text, err := wire.Marshal(p)
	if err != nil {
		text = marshal(reply{Failed: err.Error()})
	}
	return text
}

// AskFault is the code of a fault of the request itself. Its path is the member at fault, ""
// when it is several together.
const AskFault = "bad-ask"

func askFault(member, text, hint string) sternfan.Faults {
	return sternfan.Faults{{Code: AskFault, Path: member, Text: text, Hint: hint}}
}

// Encode writes the outcome of [Engine.Do] as the JSON of a reply.
func Encode(answer any, err error) []byte {
	var faults sternfan.Faults
	switch {
	case errors.As(err, &faults):
		return marshal(reply{Faults: faults})
	case errors.Is(err, context.Canceled):
		return marshal(reply{Failed: "canceled"})
	case err != nil:
		return marshal(reply{Failed: err.Error()})
	}
	text, err := wire.Marshal(reply{Answer: answer})
	if err != nil { // a number that is not finite: the solver's fault, said and not hidden
		return marshal(reply{Failed: err.Error()})
	}
	return text
}

func marshal(r reply) []byte {
	text, err := wire.Marshal(r)
	if err != nil {
		panic("engine: a reply cannot be written: " + err.Error())
	}
	return text
}

// decode reads a request strictly: a member that is not known is a slip of the asker's.
func decode(text []byte, ask any) error {
	if len(text) == 0 {
		text = []byte("{}")
	}
	if err := wire.Unmarshal(text, ask); err != nil {
		return &BadAsk{err}
	}
	return nil
}
