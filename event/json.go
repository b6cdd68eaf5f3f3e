package event

import (
	"bytes"
	"encoding/json/jsontext"
	"encoding/json/v2"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sternfan"
)

// Limits of decoding.
const (
	MaxBytes      = 2 << 20 // one event, a trip's scenario in it
	maxEventFault = 100     // faults reported of one text
)

// wireEvent is the JSON of an event.
type wireEvent struct {
	ID      ID              `json:"id"`
	At      Instant         `json:"at"`
	By      string          `json:"by"`
	Kind    Kind            `json:"kind"`
	Trip    ID              `json:"trip,omitzero"`
	Rod     string          `json:"rod,omitzero"`
	Where   *sternfan.Place `json:"where,omitzero"`
	Version int             `json:"version,omitzero"`
	Body    jsontext.Value  `json:"body"`
}

var (
	encodeOptions = json.JoinOptions(json.Deterministic(true))
	onlyKnown     = json.JoinOptions(json.RejectUnknownMembers(true))
	anyMember     = json.JoinOptions()
)

func isUnknownName(err error) bool { return errors.Is(err, json.ErrUnknownName) }

// MarshalJSON returns the JSON text of the event: as it was received, or for one that was
// made or changed here members in order and no space, so that the same event gives the
// same bytes on every device.
func (e Event) MarshalJSON() ([]byte, error) {
	if e.kept != nil && e.kept.text != "" {
		return []byte(e.kept.text), nil
	}
	return e.encode()
}

// Text returns the JSON of an event. It panics on an event that has none, which is one
// without a body.
func (e *Event) Text() string {
	if e.kept != nil && e.kept.text != "" {
		return e.kept.text
	}
	text, err := e.encode()
	if err != nil {
		panic("event: " + err.Error())
	}
	return string(text)
}

// encode writes what is known of the event, with what is not.
func (e *Event) encode() ([]byte, error) {
	if e.Body == nil {
		return nil, errors.New("event: an event without a body has no JSON")
	}
	body, err := json.Marshal(e.Body, encodeOptions)
	if err != nil {
		return nil, err
	}
	w := wireEvent{e.ID, e.At, e.By, e.Kind(), e.Trip, e.Rod, e.Where, versionOf(e.Body), body}
	if e.kept != nil {
		w.Version = max(w.Version, e.kept.version)
	}
	text, err := json.Marshal(w, encodeOptions)
	if err == nil && e.kept != nil && len(e.kept.more) > 0 {
		return graft(text, e.kept.more)
	}
	return text, err
}

// UnmarshalJSON reads one event as [Decode] does.
func (e *Event) UnmarshalJSON(data []byte) error {
	got, err := Decode(data)
	if err == nil {
		*e = got
	}
	return err
}

// Decode reads and checks one event. Members and kinds that this version does not know are
// kept with its text. Repeated keys, values out of range and text that cannot be shown are
// faults; the error is a [sternfan.Faults] with the path of each.
func Decode(data []byte) (Event, error) {
	if len(data) > MaxBytes {
		return Event{}, sternfan.Faults{{Code: "too-long", Text: "this event is too long", Found: strconv.Itoa(len(data)) + " bytes", Allowed: []string{fmt.Sprintf("up to %d bytes", MaxBytes)}}}
	}
	var w wireEvent
	err := json.Unmarshal(data, &w, onlyKnown)
	grown := isUnknownName(err)
	if grown {
		w = wireEvent{}
		err = json.Unmarshal(data, &w, anyMember)
	}
	if err != nil {
		return Event{}, jsonFaults("", err)
	}
	e := Event{ID: w.ID, At: w.At, By: w.By, Trip: w.Trip, Rod: w.Rod, Where: w.Where, kept: &kept{version: w.Version}}
	if w.Kind == "" {
		return e, sternfan.Faults{{Code: "missing", Path: "kind", Text: "an event needs a kind", Allowed: kindNames()}}
	}
	if w.Version < 0 {
		return e, sternfan.Faults{{Code: "out-of-range", Path: "version", Text: "a version is a whole number from 1", Found: strconv.Itoa(w.Version)}}
	}
	g := grower{}
	if r := kinds().byKind[w.Kind]; r == nil {
		grown = true
		g.raw = []reflect.Type{nil}
		e.Body = Unknown{w.Kind, w.Body}
	} else {
		more := false
		if e.Body, more, err = r.decode(w.Body); err != nil {
			return Event{}, err
		}
		g.raw = []reflect.Type{r.body}
		if fix, ok := e.Body.(Fix); ok && fix.To != "" {
			more = true // its changes are kept as text, so nobody has looked at them yet
			g.raw = append(g.raw, bodyType(fix.To))
		}
		grown = grown || more
	}
	if grown {
		g.read(data, reflect.TypeFor[wireEvent](), "")
		e.kept.more = g.found
	}
	if faults := append(g.check.faults, Check(&e)...); len(faults) > 0 {
		return Event{}, faults
	}
	if bytes.ContainsAny(data, "\r\n") {
		v := jsontext.Value(bytes.Clone(data))
		if err := v.Compact(); err != nil { // a log has a line for each
			return Event{}, jsonFaults("", err)
		}
		data = v
	}
	e.kept.text = string(bytes.TrimSpace(data))
	return e, nil
}

// Batch is what a text of many events holds.
type Batch struct {
	Events  []Event
	Refused int             // that are not among them
	Faults  sternfan.Faults // why, by the line of each; of the first hundred
}

// refuse notes what is wrong with an event that begins at a place in the text.
func (b *Batch) refuse(name string, data []byte, at int, err error) {
	b.Refused++
	faults, ok := err.(sternfan.Faults)
	if !ok {
		faults = sternfan.Faults{{Code: "bad-json", Text: err.Error()}}
	}
	line := 1 + bytes.Count(data[:at], []byte("\n"))
	for _, f := range faults {
		if len(b.Faults) < maxEventFault {
			f.File, f.Line, f.Column = name, line, 1
			b.Faults = append(b.Faults, f)
		}
	}
}

// DecodeAll reads events one after another: a JSON text each, with or without line
// breaks between, or in one array. One that is not as it should be is refused, with its
// line in the file of that name, and the others are taken. After one that is no JSON the
// next line that begins with a brace is taken to begin an event; in an array nothing is.
func DecodeAll(name string, data []byte) Batch {
	var b Batch
	list := bytes.HasPrefix(bytes.TrimLeft(data, blanks), []byte("["))
	for at := 0; ; {
		stopped, err := b.read(name, data, at, list)
		if err == nil {
			return b
		}
		b.refuse(name, data, stopped, jsonFaults("", err))
		next := bytes.Index(data[stopped:], []byte("\n{"))
		if list || next < 0 {
			return b
		}
		at = stopped + next
	}
}

const blanks = " \t\r\n"

// read reads events from a place on, up to one that is no JSON: it returns where that is.
func (b *Batch) read(name string, data []byte, from int, list bool) (at int, err error) {
	dec := jsontext.NewDecoder(bytes.NewReader(data[from:]))
	if list {
		if _, err := dec.ReadToken(); err != nil {
			return 0, err
		}
	}
	for {
		kind := dec.PeekKind()
		at = len(data) - len(bytes.TrimLeft(data[from+int(dec.InputOffset()):], blanks+","))
		switch {
		case list && kind == ']':
			_, err = dec.ReadToken()
			if err == nil && dec.PeekKind() != 0 {
				err = sternfan.Faults{{Code: "bad-json", Text: "there is something after the list of events"}}
			}
			return at, err
		case !list && at == len(data):
			return at, nil
		}
		value, err := dec.ReadValue()
		if err != nil {
			return at, err
		}
		e, err := Decode(value)
		if err != nil {
			b.refuse(name, data, at, err)
			continue
		}
		b.Events = append(b.Events, e)
	}
}

// EncodeAll returns the events as text, one a line.
func EncodeAll(events []Event) ([]byte, error) {
	var out bytes.Buffer
	for i := range events {
		if events[i].Body == nil {
			return nil, errors.New("event: an event without a body has no JSON")
		}
		out.WriteString(events[i].Text())
		out.WriteByte('\n')
	}
	return out.Bytes(), nil
}

// jsonFaults says what a JSON error means, with the path of the place.
func jsonFaults(in string, err error) sternfan.Faults {
	f := sternfan.Fault{Code: "bad-json", Path: in, Text: "this is not a JSON text as it should be", Found: ""}
	var (
		syntax   *jsontext.SyntacticError
		semantic *json.SemanticError
		faults   sternfan.Faults
	)
	switch {
	case errors.As(err, &faults):
		return faults
	case errors.As(err, &semantic):
		f.Path = pathOf(in, semantic.JSONPointer)
		switch {
		case semantic.Err != nil:
			f.Code, f.Text = "wrong-type", clip(semantic.Err.Error())
		default:
			f.Code, f.Text = "wrong-type", "this is of the wrong kind"
			if semantic.GoType != nil {
				f.Hint = "it should be " + jsonWord(semantic.GoType.Kind().String())
			}
		}
		if len(semantic.JSONValue) > 0 {
			f.Found = clip(string(semantic.JSONValue))
		} else if semantic.JSONKind != 0 {
			f.Found = semantic.JSONKind.String()
		}
	case errors.As(err, &syntax):
		f.Path = pathOf(in, syntax.JSONPointer)
		if errors.Is(err, jsontext.ErrDuplicateName) {
			f.Code, f.Text = "duplicate-key", "this key is given twice"
		} else if syntax.Err != nil {
			f.Text = "this is not JSON: " + clip(syntax.Err.Error())
		}
	default:
		f.Text = "this is not JSON: " + clip(err.Error())
	}
	return sternfan.Faults{f}
}

func clip(s string) string {
	s = strings.ToValidUTF8(s, "?")
	if r := []rune(s); len(r) > 80 {
		s = string(r[:80]) + "..."
	}
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, s)
}

func jsonWord(goKind string) string {
	switch {
	case strings.HasPrefix(goKind, "int"), strings.HasPrefix(goKind, "uint"), strings.HasPrefix(goKind, "float"):
		return "a number"
	case goKind == "bool":
		return "true or false"
	case goKind == "slice", goKind == "array":
		return "a list"
	case goKind == "map", goKind == "struct", goKind == "ptr":
		return "an object"
	}
	return "a text"
}

// pathOf turns a JSON pointer into the path that faults have: "body.line.parts[2]".
func pathOf(in string, p jsontext.Pointer) string {
	path := in
	for token := range p.Tokens() {
		if _, err := strconv.Atoi(token); err == nil {
			path += "[" + token + "]"
			continue
		}
		if path != "" {
			path += "."
		}
		path += clip(token)
	}
	return path
}
