package event

import (
	"bytes"
	"encoding/json/jsontext"
	"encoding/json/v2"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"sync"
)

// Version is the newest version of events that this program understands. An event says
// which it needs only where it uses a member that is newer than the first.
const Version = 2

// NewerMember is a member of a body that came after the first version.
type NewerMember struct {
	Member  string // its names on the way from the body
	Version int    // that it came with
}

// Newer is every member that came after the first version.
var Newer = []NewerMember{
	{"line.settings.section_m", 2},
	{"change", 2}, // of a fix
}

// Limits of what this version does not understand. A later one keeps to them.
const (
	maxNesting  = 32       // of objects and lists in an event
	maxMore     = 4096     // values
	maxMoreText = 16 << 10 // bytes of one text
)

// kept is what came with an event that was read.
type kept struct {
	text    string // as it was received; "" once the event was changed
	version int    // that it says its reader needs
	more    []member
}

// member is one that this version does not know.
type member struct {
	at    jsontext.Pointer
	value jsontext.Value
}

// NotUnderstood returns the paths of the members that this version does not know. They
// are kept, and passed on with the event.
func (e *Event) NotUnderstood() []string {
	if e.kept == nil {
		return nil
	}
	var out []string
	for _, m := range e.kept.more {
		out = append(out, pathOf("", m.at))
	}
	return out
}

// NewerVersion returns the version that the event needs of its reader where that is one
// after this, else 0.
func (e *Event) NewerVersion() int {
	if e.kept == nil || e.kept.version <= Version {
		return 0
	}
	return e.kept.version
}

// Grown reports whether the event is one that programs of the first version refuse.
func (e *Event) Grown() bool {
	_, unknown := e.Body.(Unknown)
	return unknown || versionOf(e.Body) > 0 || e.kept != nil && (e.kept.version > 0 || len(e.kept.more) > 0)
}

// Seal reads an event that this version refuses though an earlier one took it, because it
// knows more of it by now. Its body is [Unknown]. False means that not even what stands
// around the body can be read.
func Seal(data []byte) (Event, bool) {
	var w wireEvent
	if len(data) > MaxBytes || json.Unmarshal(data, &w, anyMember) != nil || w.Kind == "" {
		return Event{}, false
	}
	e := Event{ID: w.ID, At: w.At, By: w.By, Trip: w.Trip, Rod: w.Rod, Where: w.Where, Body: Unknown{w.Kind, w.Body}}
	e.kept = &kept{text: string(data), version: w.Version}
	return e, len(Check(&e)) == 0
}

// Changed is to be called when an event that was read has been changed: its text is then
// written anew, with what this version does not understand of it.
func (e *Event) Changed() {
	if e.kept != nil {
		e.kept = &kept{version: e.kept.version, more: e.kept.more}
	}
}

// Replace gives the event another body.
func (e *Event) Replace(b Body) { e.replace(b, nil) }

func (e *Event) replace(b Body, more []member) {
	e.Body = b
	k := &kept{}
	if e.kept != nil {
		k.version = e.kept.version
		for _, m := range e.kept.more {
			if !strings.HasPrefix(string(m.at), "/body/") {
				k.more = append(k.more, m)
			}
		}
	}
	k.more = append(k.more, more...)
	e.kept = k
}

// Correct gives the event the body that a fix says it has: the fix's whole one, or its own
// with the fix's changes in it. The error is a [sternfan.Faults], and the event then stays.
func (e *Event) Correct(f *Fix) error {
	text := f.Body
	if len(f.Change) > 0 {
		own, err := e.bodyText()
		if err != nil {
			return err
		}
		if text, err = MergePatch(own, f.Change); err != nil {
			return err
		}
	}
	body, err := DecodeBody(f.To, text)
	if err != nil {
		return err
	}
	g := grower{}
	g.read(text, reflect.TypeOf(body), "/body")
	if err := g.check.faults.Err(); err != nil {
		return err
	}
	e.replace(body, g.found)
	return nil
}

// bodyText returns the body as the event's text has it.
func (e *Event) bodyText() (jsontext.Value, error) {
	text, err := e.MarshalJSON()
	if err != nil {
		return nil, err
	}
	var w struct {
		Body jsontext.Value `json:"body"`
	}
	err = json.Unmarshal(text, &w)
	return w.Body, err
}

// ChangeTo returns what a fix has to say so that a body becomes another one: null for what
// only the first has. It names nothing that both have alike.
func ChangeTo(from, to Body) (jsontext.Value, error) {
	was, err := treeOf(from)
	if err != nil {
		return nil, err
	}
	is, err := treeOf(to)
	if err != nil {
		return nil, err
	}
	return json.Marshal(difference(was, is), encodeOptions)
}

// treeOf returns a body as JSON's own types.
func treeOf(b Body) (tree any, err error) {
	text, err := json.Marshal(b)
	if err == nil {
		err = json.Unmarshal(text, &tree)
	}
	return tree, err
}

func difference(was, is any) any {
	a, okA := was.(map[string]any)
	b, okB := is.(map[string]any)
	if !okA || !okB {
		return is
	}
	out := map[string]any{}
	for name := range a {
		if _, stays := b[name]; !stays {
			out[name] = nil
		}
	}
	for name, v := range b {
		if old, had := a[name]; !had || !reflect.DeepEqual(old, v) {
			out[name] = difference(old, v)
		}
	}
	return out
}

// MergePatch returns a JSON text with a patch in it, as RFC 7386 says. Both are JSON, or text
// is nothing.
func MergePatch(text, patch jsontext.Value) (jsontext.Value, error) {
	if patch.Kind() != '{' {
		return patch, nil
	}
	var has, changes map[string]jsontext.Value
	if text.Kind() == '{' {
		if err := json.Unmarshal(text, &has); err != nil {
			return nil, err
		}
	}
	if err := json.Unmarshal(patch, &changes); err != nil {
		return nil, err
	}
	if has == nil {
		has = map[string]jsontext.Value{}
	}
	for name, change := range changes {
		if change.Kind() == 'n' {
			delete(has, name)
			continue
		}
		merged, err := MergePatch(has[name], change)
		if err != nil {
			return nil, err
		}
		has[name] = merged
	}
	return json.Marshal(has, encodeOptions)
}

// Canonical returns the form by which events are compared: what this version understands
// as it writes it, with what it does not, canonical after RFC 8785. It panics on an event
// without a body.
func (e *Event) Canonical() []byte {
	text, err := e.encode()
	if err == nil {
		err = (*jsontext.Value)(&text).Canonicalize()
	}
	if err != nil {
		panic("event: " + err.Error())
	}
	return text
}

// Same reports whether two events are one.
func Same(a, b *Event) bool {
	return a.ID == b.ID && (a.Text() == b.Text() || bytes.Equal(a.Canonical(), b.Canonical()))
}

// graft puts members into a JSON text.
func graft(text []byte, more []member) ([]byte, error) {
	var tree any
	if err := json.Unmarshal(text, &tree); err != nil {
		return nil, err
	}
	for _, m := range more {
		var names []string
		for name := range m.at.Tokens() {
			names = append(names, name)
		}
		tree = graftAt(tree, names, m.value)
	}
	return json.Marshal(tree, encodeOptions)
}

func graftAt(tree any, names []string, value jsontext.Value) any {
	if len(names) == 0 {
		return value
	}
	if list, ok := tree.([]any); ok {
		if i, err := strconv.Atoi(names[0]); err == nil && i < len(list) {
			list[i] = graftAt(list[i], names[1:], value)
		}
		return list // what it was a member of is gone
	}
	object, ok := tree.(map[string]any)
	if !ok {
		object = map[string]any{} // left out when it says nothing else
	}
	object[names[0]] = graftAt(object[names[0]], names[1:], value)
	return object
}

// jsonField is a field of a struct by its name in JSON.
type jsonField struct {
	name  string
	index int
	typ   reflect.Type
}

var members sync.Map // reflect.Type -> []jsonField

// membersOf returns the fields of a struct by their names in JSON.
func membersOf(t reflect.Type) []jsonField {
	if f, ok := members.Load(t); ok {
		return f.([]jsonField)
	}
	var out []jsonField
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			name = f.Name
		}
		out = append(out, jsonField{name, i, f.Type})
	}
	members.Store(t, out)
	return out
}

// grower finds what this version does not know in a JSON text, and sees that it keeps to
// the limits of what it does.
type grower struct {
	dec    *jsontext.Decoder
	at     jsontext.Pointer // of the whole text
	raw    []reflect.Type   // what the next members are that are kept as text: nil for what is not known
	found  []member
	values int
	check  bodyCheck
}

func (g *grower) read(text []byte, t reflect.Type, at jsontext.Pointer) {
	g.dec, g.at = jsontext.NewDecoder(bytes.NewReader(text)), at
	if err := g.walk(t); err != nil {
		g.check.faults = append(g.check.faults, jsonFaults("", err)...)
	}
}

func (g *grower) walk(t reflect.Type) error {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == reflect.TypeFor[jsontext.Value]() {
		var next reflect.Type
		if len(g.raw) > 0 {
			next, g.raw = g.raw[0], g.raw[1:]
		}
		if next == nil {
			_, err := g.unknown()
			return err
		}
		t = next
	}
	kind := g.dec.PeekKind()
	switch {
	case kind == '{' && t.Kind() == reflect.Struct:
		return g.object(t)
	case kind == '[' && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array):
		if _, err := g.dec.ReadToken(); err != nil {
			return err
		}
		for g.dec.PeekKind() != ']' {
			if err := g.walk(t.Elem()); err != nil {
				return err
			}
		}
		_, err := g.dec.ReadToken()
		return err
	}
	return g.dec.SkipValue()
}

func (g *grower) object(t reflect.Type) error {
	if _, err := g.dec.ReadToken(); err != nil {
		return err
	}
	fields := membersOf(t)
members:
	for g.dec.PeekKind() != '}' {
		token, err := g.dec.ReadToken()
		if err != nil {
			return err
		}
		name := token.String()
		for i := range fields {
			if fields[i].name == name {
				if err := g.walk(fields[i].typ); err != nil {
					return err
				}
				continue members
			}
		}
		at := g.at + g.dec.StackPointer()
		g.check.name(pathOf("", at), name, false)
		value, err := g.unknown()
		if err != nil {
			return err
		}
		g.found = append(g.found, member{at, value})
	}
	_, err := g.dec.ReadToken()
	return err
}

// unknown reads a value that this version does not know.
func (g *grower) unknown() (jsontext.Value, error) {
	at, depth := pathOf("", g.at+g.dec.StackPointer()), g.dec.StackDepth()
	value, err := g.dec.ReadValue()
	if err != nil {
		return nil, err
	}
	value = value.Clone()
	in := jsontext.NewDecoder(bytes.NewReader(value))
	for g.values++; g.values <= maxMore; g.values++ {
		token, err := in.ReadToken()
		if errors.Is(err, io.EOF) {
			return value, nil
		}
		if err != nil {
			return nil, err
		}
		switch token.Kind() {
		case '"':
			most := maxMoreText
			if container, n := in.StackIndex(in.StackDepth()); container == '{' && n%2 == 1 {
				most = maxName // of a member's name
			}
			g.check.text(at, token.String(), most)
		case '0':
			// Of a number that no float64 holds the canonical form would be another one's.
			if _, err := strconv.ParseFloat(token.String(), 64); err != nil {
				g.check.fault(at, "out-of-range", "this number is too large", clipText(token.String(), 40), "")
			}
		}
		if depth+in.StackDepth() > maxNesting {
			g.check.fault(at, "too-deep", "an event is at most "+strconv.Itoa(maxNesting)+" deep", "", "")
			return value, nil
		}
	}
	g.check.fault(at, "too-many", fmt.Sprintf("of what this version does not know there are at most %d values", maxMore), "", "")
	return value, nil
}
