package event

import (
	"bytes"
	"encoding/json/jsontext"
	"encoding/json/v2"
	"errors"
	"fmt"
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
	ID    ID              `json:"id"`
	At    Instant         `json:"at"`
	By    string          `json:"by"`
	Kind  Kind            `json:"kind"`
	Trip  ID              `json:"trip,omitzero"`
	Rod   string          `json:"rod,omitzero"`
	Where *sternfan.Place `json:"where,omitzero"`
	Body  jsontext.Value  `json:"body"`
}

var (
	encodeOptions = json.JoinOptions(json.Deterministic(true))
	decodeOptions = json.JoinOptions(json.RejectUnknownMembers(true))
)

// MarshalJSON returns the one JSON text of the event: members in order, no space. The
// same event gives the same bytes on every device.
func (e Event) MarshalJSON() ([]byte, error) {
	if e.Body == nil {
		return nil, errors.New("event: an event without a body has no JSON")
	}
	body, err := json.Marshal(e.Body, encodeOptions)
	if err != nil {
		return nil, err
	}
	return json.Marshal(wireEvent{e.ID, e.At, e.By, e.Body.Kind(), e.Trip, e.Rod, e.Where, body}, encodeOptions)
}

// UnmarshalJSON reads one event as [Decode] does.
func (e *Event) UnmarshalJSON(data []byte) error {
	got, err := Decode(data)
	if err == nil {
		*e = got
	}
	return err
}

// Decode reads and checks one event. Unknown and repeated keys, values out of range
// and text that cannot be shown are faults; the error is a [sternfan.Faults] with the path of
// each.
func Decode(data []byte) (Event, error) {
	if len(data) > MaxBytes {
		return Event{}, sternfan.Faults{{Code: "too-long", Text: "this event is too long", Found: strconv.Itoa(len(data)) + " bytes", Allowed: []string{fmt.Sprintf("up to %d bytes", MaxBytes)}}}
	}
	var w wireEvent
	if err := json.Unmarshal(data, &w, decodeOptions); err != nil {
		return Event{}, jsonFaults("", err)
	}
	e := Event{ID: w.ID, At: w.At, By: w.By, Trip: w.Trip, Rod: w.Rod, Where: w.Where}
	if w.Kind == "" {
		return e, sternfan.Faults{{Code: "missing", Path: "kind", Text: "an event needs a kind", Allowed: kindNames()}}
	}
	body, err := parseBody(w.Kind, w.Body)
	if err != nil {
		return Event{}, err
	}
	e.Body = body
	if faults := Check(&e); len(faults) > 0 {
		return Event{}, faults
	}
	return e, nil
}

// DecodeAll reads events one after another: a JSON text each, with or without line
// breaks between, or in one array. It returns all of them or every fault, which names the
// number of its event as a line of the file by that name.
func DecodeAll(name string, data []byte) ([]Event, error) {
	dec := jsontext.NewDecoder(bytes.NewReader(data))
	var events []Event
	var faults sternfan.Faults
	list := dec.PeekKind() == '['
	if list {
		if _, err := dec.ReadToken(); err != nil {
			return nil, jsonFaults("", err)
		}
	}
	for len(faults) < maxEventFault {
		kind := dec.PeekKind()
		if list && kind == ']' {
			if _, err := dec.ReadToken(); err != nil {
				faults = append(faults, atEvent(name, data, dec, jsonFaults("", err))...)
				break
			}
			list = false
			if dec.PeekKind() != 0 {
				faults = append(faults, atEvent(name, data, dec, sternfan.Faults{{Code: "bad-json", Text: "there is something after the list of events"}})...)
			}
			break
		}
		if kind == 0 && !list && len(bytes.TrimSpace(data[dec.InputOffset():])) == 0 {
			break
		}
		value, err := dec.ReadValue()
		if err != nil {
			faults = append(faults, atEvent(name, data, dec, jsonFaults("", err))...)
			break // where the next event begins is not known
		}
		e, err := Decode(value)
		if err != nil {
			faults = append(faults, atEvent(name, data, dec, err)...)
			continue
		}
		events = append(events, e)
	}
	if len(faults) > 0 {
		return nil, faults
	}
	return events, nil
}

// atEvent gives faults the line at which the decoder is.
func atEvent(name string, data []byte, dec *jsontext.Decoder, err error) sternfan.Faults {
	faults, ok := err.(sternfan.Faults)
	if !ok {
		faults = sternfan.Faults{{Code: "bad-json", Text: err.Error()}}
	}
	line := 1 + bytes.Count(data[:min(int(dec.InputOffset()), len(data))], []byte("\n"))
	for i := range faults {
		faults[i].File, faults[i].Line, faults[i].Column = name, line, 1
	}
	return faults
}

// EncodeAll returns the events as text, one a line.
func EncodeAll(events []Event) ([]byte, error) {
	var out bytes.Buffer
	for i := range events {
		text, err := events[i].MarshalJSON()
		if err != nil {
			return nil, err
		}
		out.Write(text)
		out.WriteByte('\n')
	}
	return out.Bytes(), nil
}

func kindNames() []string {
	var names []string
	for _, k := range Kinds() {
		names = append(names, string(k))
	}
	return names
}

// DecodeBody reads and checks the body of an event of a kind by itself.
func DecodeBody(kind Kind, data []byte) (Body, error) {
	body, err := parseBody(kind, data)
	if err != nil {
		return nil, err
	}
	c := bodyCheck{in: "body."}
	body.check(&c)
	return body, c.faults.Err()
}

// parseBody reads a body without checking what it says.
func parseBody(kind Kind, data []byte) (Body, error) {
	var (
		body Body
		err  error
	)
	switch kind {
	case KindTripBegins:
		body, err = readBody[TripBegins](data)
	case KindTripEnds:
		body, err = readBody[TripEnds](data)
	case KindLineSet:
		body, err = readBody[LineSet](data)
	case KindLineChanged:
		body, err = readBody[LineChanged](data)
	case KindLineChecked:
		body, err = readBody[LineChecked](data)
	case KindLineFouled:
		body, err = readBody[LineFouled](data)
	case KindLineIn:
		body, err = readBody[LineIn](data)
	case KindStrike:
		body, err = readBody[Strike](data)
	case KindLanded:
		body, err = readBody[Landed](data)
	case KindLost:
		body, err = readBody[Lost](data)
	case KindConditions:
		body, err = readBody[Conditions](data)
	case KindMeasured:
		body, err = readBody[Reading](data)
	case KindNote:
		body, err = readBody[Note](data)
	case KindFix:
		body, err = readBody[Fix](data)
	case KindClock:
		body, err = readBody[Clock](data)
	case KindSolved:
		body, err = readBody[Solved](data)
	default:
		return nil, sternfan.Faults{{Code: "unknown-kind", Path: "kind", Text: "there is no such kind of event", Found: clipText(string(kind), 40), Allowed: kindNames()}}
	}
	if err != nil {
		return nil, jsonFaults("body", err)
	}
	return body, nil
}

func readBody[T Body](data []byte) (Body, error) {
	var b T
	if len(data) == 0 {
		return b, nil // an event may have nothing to add to its kind
	}
	err := json.Unmarshal(data, &b, decodeOptions)
	return b, err
}

// jsonFaults says what a JSON error means, with the path of the place.
func jsonFaults(in string, err error) error {
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
		case errors.Is(err, json.ErrUnknownName):
			f.Code, f.Text = "unknown-key", "there is no such key here"
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
