package event

import (
	"encoding/json/jsontext"
	"encoding/json/v2"
	"reflect"
	"slices"
	"strings"
	"sync"

	"sternfan"
)

// Kind names what happened.
type Kind string

// The kinds of event.
const (
	KindTripBegins  Kind = "trip-begins"
	KindTripEnds    Kind = "trip-ends"
	KindLineSet     Kind = "line-set"     // a line goes into the water
	KindLineChanged Kind = "line-changed" // other settings without reeling in
	KindLineChecked Kind = "line-checked" // seen to run free
	KindLineFouled  Kind = "line-fouled"  // found fouled: it has not fished since it was last checked
	KindLineIn      Kind = "line-in"      // reeled in
	KindStrike      Kind = "strike"
	KindLanded      Kind = "landed"
	KindLost        Kind = "lost"
	KindConditions  Kind = "conditions"
	KindMeasured    Kind = "measured"
	KindNote        Kind = "note"
	KindFix         Kind = "fix"    // corrects an event
	KindClock       Kind = "clock"  // a device's clock was wrong by so much
	KindSolved      Kind = "solved" // where the lures of an event ran, worked out afterwards
)

// kindTable is what is known of the kinds.
type kindTable struct {
	rows   []*kindRow // in the order of a day
	byKind map[Kind]*kindRow
	byBody map[reflect.Type]*kindRow
}

// kinds returns every kind that this version knows. The table is made when it is first
// asked for: a program that reads no events is then linked without their codec.
func kinds() *kindTable {
	kindsOnce.Do(func() {
		theKinds = kindTable{byKind: map[Kind]*kindRow{}, byBody: map[reflect.Type]*kindRow{}, rows: []*kindRow{
			row[TripBegins](KindTripBegins, false),
			row[TripEnds](KindTripEnds, false),
			row[LineSet](KindLineSet, true),
			row[LineChanged](KindLineChanged, true),
			row[LineChecked](KindLineChecked, true),
			row[LineFouled](KindLineFouled, true),
			row[LineIn](KindLineIn, true),
			row[Strike](KindStrike, true),
			row[Landed](KindLanded, true),
			row[Lost](KindLost, true),
			row[Conditions](KindConditions, false),
			row[Reading](KindMeasured, false),
			row[Note](KindNote, false),
			row[Fix](KindFix, false),
			row[Clock](KindClock, false),
			row[Solved](KindSolved, false),
		}}
		for _, r := range theKinds.rows {
			theKinds.byKind[r.kind], theKinds.byBody[r.body] = r, r
		}
	})
	return &theKinds
}

var (
	kindsOnce sync.Once
	theKinds  kindTable
)

// kindRow is what is known of a kind.
type kindRow struct {
	kind  Kind
	ofRod bool // its events are about a rod
	body  reflect.Type
	read  func(data []byte, options json.Options) (Body, error)
	newer []newerField
}

// newerField is where a member that came after the first version stands in a body.
type newerField struct {
	field   []int
	version int
}

func row[B Body](kind Kind, ofRod bool) *kindRow {
	r := &kindRow{kind: kind, ofRod: ofRod, body: reflect.TypeFor[B]()}
	r.read = func(data []byte, options json.Options) (Body, error) {
		var b B
		if len(data) == 0 {
			return b, nil // an event may have nothing to add to its kind
		}
		err := json.Unmarshal(data, &b, options)
		return b, err
	}
	for _, m := range Newer {
		if field, ok := fieldAt(r.body, strings.Split(m.Member, ".")); ok {
			r.newer = append(r.newer, newerField{field, m.Version})
		}
	}
	return r
}

// Kinds returns every kind that this version knows, in the order of a day.
func Kinds() []Kind {
	out := make([]Kind, len(kinds().rows))
	for i, r := range kinds().rows {
		out[i] = r.kind
	}
	return out
}

// Known reports whether this version knows the kind.
func (k Kind) Known() bool { return kinds().byKind[k] != nil }

// OfRod reports whether events of the kind are about a rod.
func (k Kind) OfRod() bool {
	r := kinds().byKind[k]
	return r != nil && r.ofRod
}

// KindOf returns the kind of event that a body is of, "" of none.
func KindOf(b Body) Kind {
	if u, ok := b.(Unknown); ok {
		return u.Kind
	}
	if r := kinds().byBody[reflect.TypeOf(b)]; r != nil {
		return r.kind
	}
	return ""
}

// Kind returns what kind of event it is, "" of one without a body.
func (e *Event) Kind() Kind { return KindOf(e.Body) }

// Unknown is the body of a kind that this version does not know. It is kept and passed on
// as it is, and takes part in nothing.
type Unknown struct {
	Kind Kind
	Text jsontext.Value // JSON
}

// MarshalJSON returns the body as it was received.
func (b Unknown) MarshalJSON() ([]byte, error) {
	if len(b.Text) == 0 {
		return []byte("{}"), nil
	}
	return b.Text, nil
}

func (b Unknown) check(c *bodyCheck) {
	in := c.in
	c.in = ""
	c.name("kind", string(b.Kind), true)
	c.in = in
}

// kindNames returns the kinds as the words that may stand for one.
func kindNames() []string {
	var names []string
	for _, k := range Kinds() {
		names = append(names, string(k))
	}
	return names
}

// decode reads a body without checking what it says; members that this version does not
// know are passed over, and grown says that there are some.
func (r *kindRow) decode(data []byte) (body Body, grown bool, err error) {
	if body, err = r.read(data, onlyKnown); isUnknownName(err) {
		grown = true
		body, err = r.read(data, anyMember)
	}
	if err != nil {
		return nil, grown, jsonFaults("body", err)
	}
	return body, grown, nil
}

// DecodeBody reads and checks the body of an event of a kind by itself.
func DecodeBody(kind Kind, data []byte) (Body, error) {
	r := kinds().byKind[kind]
	if r == nil {
		return nil, sternfan.Faults{{Code: "unknown-kind", Path: "kind", Text: "there is no such kind of event", Found: clipText(string(kind), 40), Allowed: kindNames()}}
	}
	body, _, err := r.decode(data)
	if err != nil {
		return nil, err
	}
	c := bodyCheck{in: "body."}
	body.check(&c)
	return body, c.faults.Err()
}

// fieldAt returns the index of a field by the JSON names on the way to it.
func fieldAt(t reflect.Type, names []string) ([]int, bool) {
	var index []int
	for _, name := range names {
		if t.Kind() != reflect.Struct {
			return nil, false
		}
		fields := membersOf(t)
		i := slices.IndexFunc(fields, func(f jsonField) bool { return f.name == name })
		if i < 0 {
			return nil, false
		}
		index = append(index, fields[i].index)
		t = fields[i].typ
	}
	return index, true
}

// versionOf returns the version that a body needs of its reader, 0 for the first.
func versionOf(b Body) int {
	r := kinds().byBody[reflect.TypeOf(b)]
	if r == nil || len(r.newer) == 0 {
		return 0
	}
	version, v := 0, reflect.ValueOf(b)
	for _, n := range r.newer {
		if !v.FieldByIndex(n.field).IsZero() {
			version = max(version, n.version)
		}
	}
	return version
}

// bodyType returns the type of a kind's body, nil of one that this version does not know.
func bodyType(k Kind) reflect.Type {
	if r := kinds().byKind[k]; r != nil {
		return r.body
	}
	return nil
}
