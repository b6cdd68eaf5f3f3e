// Package scenario turns the scenario file into the domain model and back: strictly, with
// every fault found in one pass and its place in the file, and without a way for a
// stranger's file to take time, memory or the program down.
//
// One description (see object and codec) drives the decoder, the encoder and the JSON
// Schema. docs/scenario.md says what every key means.
package scenario

import (
	"strings"

	"sternfan"
)

// Options change how a file is decoded. The zero value checks references within the
// file only and takes every gear id that the file does not define for a built-in one.
type Options struct {
	// Known reports whether a built-in piece of gear exists. Kinds are "line", "reel",
	// "diver", "board", "ball", "weight", "attractor", "lure", "leader" and "snubber".
	Known func(kind, id string) bool
	// List returns the built-in ids of a kind, for suggestions. May be nil.
	List func(kind string) []string
	// Set are edits as a person writes them on a command line, made before decoding:
	// "speed.value=2.6mph", "rods.p1.settings.dial=2".
	Set []string
	// Edits are made after those.
	Edits []sternfan.Edit
}

// Source knows where things stand in the file that was decoded.
type Source struct {
	name  string
	root  *node
	edits []sternfan.Edit
}

// Edits returns the edits that were made before decoding, those of the command line too,
// without their values.
func (s *Source) Edits() []sternfan.Edit { return s.edits }

// Decode reads a scenario from YAML or JSON. The error is a sternfan.Faults with every
// fault, in the order of the file. The Source is never nil; it locates paths even when
// there were faults, as far as the file could be parsed.
func Decode(name string, data []byte) (*sternfan.Scenario, *Source, error) {
	return DecodeWith(name, data, Options{})
}

// DecodeWith is Decode with options.
func DecodeWith(name string, data []byte, opts Options) (*sternfan.Scenario, *Source, error) {
	d := &decoder{name: name, opts: opts}
	src := &Source{name: name}
	d.root = d.parse(data)
	if d.root == nil {
		return nil, src, d.done()
	}
	return d.scenario()
}

// Locate returns the line and column of a path such as "rods[2].settings.dial", or of
// its nearest parent that is in the file. They are 0 when nothing could be parsed or the
// value came from a flag.
func (s *Source) Locate(path string) (line, column int) {
	if s.root == nil {
		return 0, 0
	}
	n := s.root.find(path)
	if n.flag != "" {
		return 0, 0
	}
	return n.line, n.column
}

// Fill gives faults that have only a path their file, line and column.
func (s *Source) Fill(faults sternfan.Faults) {
	for i := range faults {
		f := &faults[i]
		if f.File != "" || f.Line > 0 {
			continue
		}
		f.File = s.name
		if s.root != nil {
			if n := s.root.find(f.Path); n.flag != "" {
				f.File = n.flag
				continue
			}
		}
		f.Line, f.Column = s.Locate(f.Path)
	}
}

// Encode writes a scenario as YAML in US units, with every digit that is needed to read
// the same scenario back.
func Encode(s *sternfan.Scenario) ([]byte, error) {
	if s == nil {
		panic("scenario: Encode of no scenario")
	}
	root := file.encode(s)
	var b strings.Builder
	root.write(&b, 0)
	data := []byte(b.String())
	if _, _, err := Decode("encoded scenario", data); err != nil {
		return nil, err
	}
	return data, nil
}
