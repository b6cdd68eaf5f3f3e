package scenario

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/geom"
	"sternfan/unit"
)

// codec is the one description of a kind of value: how it is read, written and
// described. The file's decoder, encoder and JSON Schema are all made from it, so that
// none can know a key that another does not.
type codec[T any] interface {
	decode(d *decoder, n *node, path string, into *T)
	encode(v *T) *node // nil: not given
	schema(b *builder) *schema
}

// reviser is a codec that can decode anew what a way leads to, in a value that was decoded
// before without a fault.
type reviser[T any] interface {
	revise(d *decoder, n *node, path string, way []step, into *T)
}

// field is one key of a map.
type field[S any] struct {
	name, doc string
	required  bool
	decode    func(d *decoder, n *node, path string, into *S)
	revise    func(d *decoder, n *node, path string, way []step, into *S) // nil: with the map around it
	encode    func(v *S) *node
	schema    func(b *builder) *schema
}

func key[S, T any](name, doc string, c codec[T], get func(*S) *T) field[S] {
	return field[S]{name: name, doc: doc,
		decode: func(d *decoder, n *node, path string, into *S) { c.decode(d, n, path, get(into)) },
		revise: func(d *decoder, n *node, path string, way []step, into *S) { revise(c, d, n, path, way, get(into)) },
		encode: func(v *S) *node { return c.encode(get(v)) },
		schema: c.schema,
	}
}

// revise decodes a value anew, or when it can the part of it to which the way leads.
func revise[T any](c codec[T], d *decoder, n *node, path string, way []step, into *T) {
	if r, ok := c.(reviser[T]); ok && len(way) > 0 {
		r.revise(d, n, path, way, into)
		return
	}
	var anew T
	c.decode(d, n, path, &anew)
	*into = anew
}

func need[S, T any](name, doc string, c codec[T], get func(*S) *T) field[S] {
	f := key(name, doc, c, get)
	f.required = true
	return f
}

// needed returns the fields as such that must be given.
func needed[S any](fields []field[S]) []field[S] {
	for i := range fields {
		fields[i].required = true
	}
	return fields
}

// object is a map with the keys of its fields.
type object[S any] struct {
	name, doc string
	fields    []field[S]
	check     func(d *decoder, n *node, path string, v *S) // what more must hold; optional
}

func (o object[S]) decode(d *decoder, n *node, path string, into *S) {
	if !d.want(n, path, kindMap) {
		return
	}
	allowed := make([]string, len(o.fields))
	for i, f := range o.fields {
		allowed[i] = f.name
	}
	for _, e := range n.keys {
		i := slices.Index(allowed, e.name)
		if i < 0 {
			d.unknownKey(n, e, path, o.name, allowed)
			continue
		}
		o.fields[i].decode(d, e.value, join(path, e.name), into)
	}
	for _, f := range o.fields {
		if f.required && n.child(f.name) == nil {
			d.missing(n, path, f.name, f.doc)
		}
	}
	if o.check != nil {
		o.check(d, n, path, into)
	}
}

func (o object[S]) revise(d *decoder, n *node, path string, way []step, into *S) {
	i := slices.IndexFunc(o.fields, func(f field[S]) bool { return f.name == way[0].name })
	if i < 0 || o.fields[i].revise == nil {
		revise(o, d, n, path, nil, into)
		return
	}
	o.fields[i].revise(d, n.child(way[0].name), join(path, way[0].name), way[1:], into)
	if o.check != nil {
		o.check(d, n, path, into)
	}
}

func (o object[S]) encode(v *S) *node {
	out := &node{kind: kindMap}
	for _, f := range o.fields {
		if value := f.encode(v); value != nil {
			out.keys = append(out.keys, entry{name: f.name, value: value})
		}
	}
	if len(out.keys) == 0 {
		return nil
	}
	return out
}

func (o object[S]) schema(b *builder) *schema {
	return b.named(o.name, func() *schema {
		s := &schema{Type: "object", Description: o.doc, AdditionalProperties: new(bool)}
		for _, f := range o.fields {
			p := *f.schema(b)
			p.Description = f.doc
			s.Properties = append(s.Properties, property{f.name, &p})
			if f.required {
				s.Required = append(s.Required, f.name)
			}
		}
		return s
	})
}

// list is a list of values of one kind.
type list[T any] struct {
	elem     codec[T]
	min, max int
	one      bool // a single value may stand for a list of one
}

// listMax is the most elements of a list that has no closer limit.
const listMax = 500

func (l list[T]) decode(d *decoder, n *node, path string, into *[]T) {
	if l.one && n.kind == kindScalar {
		*into = make([]T, 1)
		l.elem.decode(d, n, path, &(*into)[0])
		return
	}
	if !d.want(n, path, kindList) {
		return
	}
	most := l.max
	if most == 0 {
		most = listMax
	}
	if len(n.items) > most || len(n.items) < l.min {
		code, text := "too-many", "this list is too long"
		if len(n.items) < l.min {
			code, text = "missing", "this list is too short"
		}
		d.at(n, path, sternfan.Fault{Code: code, Text: text, Found: fmt.Sprintf("%d entries", len(n.items)),
			Allowed: []string{fmt.Sprintf("%d to %d entries", l.min, most)}})
		if len(n.items) > most {
			return
		}
	}
	*into = make([]T, len(n.items))
	for i, item := range n.items {
		l.elem.decode(d, item, fmt.Sprintf("%s[%d]", path, i), &(*into)[i])
	}
}

func (l list[T]) revise(d *decoder, n *node, path string, way []step, into *[]T) {
	i := n.which(way[0])
	if i < 0 || len(n.items) != len(*into) {
		revise(l, d, n, path, nil, into)
		return
	}
	*into = slices.Clone(*into)
	revise(l.elem, d, n.items[i], fmt.Sprintf("%s[%d]", path, i), way[1:], &(*into)[i])
}

func (l list[T]) encode(v *[]T) *node {
	if len(*v) == 0 {
		return nil
	}
	out := &node{kind: kindList}
	for i := range *v {
		item := l.elem.encode(&(*v)[i])
		if item == nil {
			item = &node{kind: kindMap}
		}
		out.items = append(out.items, item)
	}
	return out
}

func (l list[T]) schema(b *builder) *schema {
	most := l.max
	if most == 0 {
		most = listMax
	}
	s := &schema{Type: "array", Items: l.elem.schema(b), MinItems: l.min, MaxItems: most}
	if l.one {
		return &schema{AnyOf: []*schema{l.elem.schema(b), s}}
	}
	return s
}

// words is free text.
type words[T ~string] struct{}

func (words[T]) decode(d *decoder, n *node, path string, into *T) {
	if !d.want(n, path, kindScalar) {
		return
	}
	if len(n.text) > 20_000 {
		d.at(n, path, sternfan.Fault{Code: "too-large", Text: "this text is too long", Found: fmt.Sprintf("%d characters", len(n.text)),
			Allowed: []string{"up to 20000 characters"}})
		return
	}
	*into = T(n.text)
}

func (words[T]) encode(v *T) *node       { return scalar(string(*v)) }
func (words[T]) schema(*builder) *schema { return &schema{Type: "string"} }

func scalar(text string) *node {
	if text == "" {
		return nil
	}
	return &node{kind: kindScalar, text: text, quoted: !plainText(text)}
}

// ident is an id or a reference to one.
type ident struct{}

const identRule = "letters, digits, - and _, beginning with a letter or digit, up to 64"

func (ident) decode(d *decoder, n *node, path string, into *string) {
	if !d.want(n, path, kindScalar) {
		return
	}
	if !isIdent(n.text) {
		d.at(n, path, sternfan.Fault{Code: "bad-id", Text: "this cannot be an id", Found: show(n.text), Allowed: []string{identRule}})
		return
	}
	*into = n.text
	d.named++
}

func (ident) encode(v *string) *node { return scalar(*v) }
func (ident) schema(b *builder) *schema {
	return b.named("id", func() *schema {
		return &schema{Type: "string", Pattern: identShape, Description: "An id: " + identRule + "."}
	})
}

// choice is one of some words.
type choice[T ~string] []T

func (c choice[T]) decode(d *decoder, n *node, path string, into *T) {
	if !d.want(n, path, kindScalar) {
		return
	}
	allowed := c.list()
	if i := slices.Index(allowed, n.text); i >= 0 {
		*into = c[i]
		return
	}
	d.at(n, path, sternfan.Fault{Code: "unknown-value", Text: "this is not one of the values allowed here", Found: show(n.text),
		Allowed: allowed, Hint: sternfan.DidYouMean(n.text, allowed, "")})
}

func (c choice[T]) encode(v *T) *node { return scalar(string(*v)) }

func (c choice[T]) list() []string {
	out := make([]string, len(c))
	for i, v := range c {
		out[i] = string(v)
	}
	return out
}

func (c choice[T]) schema(*builder) *schema {
	s := &schema{Type: "string"}
	for _, v := range c {
		s.Enum = append(s.Enum, string(v))
	}
	return s
}

// side is "port" or "starboard".
type side struct{}

func (side) decode(d *decoder, n *node, path string, into *sternfan.Side) {
	var word string
	choice[string]{"port", "starboard"}.decode(d, n, path, &word)
	switch word {
	case "port":
		*into = sternfan.Port
	case "starboard":
		*into = sternfan.Starboard
	}
}

func (side) encode(v *sternfan.Side) *node { return scalar(v.String()) }
func (side) schema(b *builder) *schema     { return choice[string]{"port", "starboard"}.schema(b) }

// yesNo is on or off.
type yesNo struct{}

func (yesNo) decode(d *decoder, n *node, path string, into *bool) {
	if !d.want(n, path, kindScalar) {
		return
	}
	switch strings.ToLower(n.text) {
	case "on", "true", "yes":
		*into = true
	case "off", "false", "no":
		*into = false
	default:
		d.at(n, path, sternfan.Fault{Code: "unknown-value", Text: "this is neither on nor off", Found: show(n.text), Allowed: []string{"on", "off", "true", "false", "yes", "no"}})
	}
}

func (yesNo) encode(v *bool) *node {
	if !*v {
		return nil
	}
	return &node{kind: kindScalar, text: "true"}
}

func (yesNo) schema(b *builder) *schema {
	return b.named("yes-no", func() *schema {
		return &schema{Description: "On or off.", Enum: []any{true, false, "on", "off", "yes", "no"}}
	})
}

// yesNoQ is on or off where the model keeps a number.
type yesNoQ struct{}

func (yesNoQ) decode(d *decoder, n *node, path string, into *sternfan.Q[float64]) {
	var on bool
	before := d.count()
	yesNo{}.decode(d, n, path, &on)
	if d.count() > before || n.kind != kindScalar {
		return
	}
	*into = sternfan.Of(0.0)
	if on {
		into.Value = 1
	}
}

func (yesNoQ) encode(v *sternfan.Q[float64]) *node {
	switch {
	case !v.Given:
		return nil
	case v.Value != 0:
		return &node{kind: kindScalar, text: "true"}
	}
	return &node{kind: kindScalar, text: "false"}
}

func (yesNoQ) schema(b *builder) *schema { return yesNo{}.schema(b) }

// whole is a whole number.
type whole struct{ lo, hi int }

func (w whole) decode(d *decoder, n *node, path string, into *int) {
	var v float64
	number{lo: float64(w.lo), hi: float64(w.hi)}.decode(d, n, path, &v)
	if v != math.Trunc(v) {
		d.at(n, path, sternfan.Fault{Code: "bad-number", Text: "this must be a whole number", Found: show(n.text)})
		return
	}
	*into = int(v)
}

func (w whole) encode(v *int) *node {
	if *v == 0 {
		return nil
	}
	return &node{kind: kindScalar, text: strconv.Itoa(*v)}
}

func (w whole) schema(*builder) *schema {
	lo, hi := float64(w.lo), float64(w.hi)
	return &schema{Type: "integer", Minimum: &lo, Maximum: &hi}
}

// counted is a whole number that is written even when it is 0: there are none.
type counted struct{ whole }

func (c counted) encode(v *int) *node { return &node{kind: kindScalar, text: strconv.Itoa(*v)} }

// attributes are free words about a piece of gear.
type attributes struct{}

func (attributes) decode(d *decoder, n *node, path string, into *map[string]string) {
	if !d.want(n, path, kindMap) {
		return
	}
	if len(n.keys) > listMax {
		d.at(n, path, sternfan.Fault{Code: "too-many", Text: "too many attributes", Found: strconv.Itoa(len(n.keys)), Allowed: []string{"up to 500"}})
		return
	}
	*into = make(map[string]string, len(n.keys))
	for _, e := range n.keys {
		var text string
		words[string]{}.decode(d, e.value, join(path, e.name), &text)
		(*into)[e.name] = text
	}
}

func (attributes) encode(v *map[string]string) *node {
	if len(*v) == 0 {
		return nil
	}
	names := make([]string, 0, len(*v))
	for name := range *v {
		names = append(names, name)
	}
	slices.Sort(names)
	out := &node{kind: kindMap}
	for _, name := range names {
		value := scalar((*v)[name])
		if value == nil {
			value = &node{kind: kindScalar, quoted: true}
		}
		out.keys = append(out.keys, entry{name: name, value: value})
	}
	return out
}

func (attributes) schema(*builder) *schema {
	return &schema{Type: "object", Values: &schema{Type: []string{"string", "number", "boolean"}}}
}

// point is a place on the boat.
type point struct{}

// pointReach is the farthest that a fixed point may be from the transom, meters.
const pointReach = 200

// pointKey is one direction of a point, with the key of the opposite one.
type pointKey struct {
	name, other string
	sign        float64
	axis        func(*geom.Vec) *float64
	doc         string
}

var pointKeys = []pointKey{
	{"forward", "aft", 1, func(v *geom.Vec) *float64 { return &v.X }, "Forward of the transom."},
	{"aft", "forward", -1, func(v *geom.Vec) *float64 { return &v.X }, "Aft of the transom."},
	{"port", "starboard", -1, func(v *geom.Vec) *float64 { return &v.Y }, "To port of the center line."},
	{"starboard", "port", 1, func(v *geom.Vec) *float64 { return &v.Y }, "To starboard of the center line."},
	{"up", "down", -1, func(v *geom.Vec) *float64 { return &v.Z }, "Above the waterline."},
	{"down", "up", 1, func(v *geom.Vec) *float64 { return &v.Z }, "Below the waterline."},
}

func (point) decode(d *decoder, n *node, path string, into *geom.Vec) {
	if !d.want(n, path, kindMap) {
		return
	}
	for _, e := range n.keys {
		i := slices.IndexFunc(pointKeys, func(k pointKey) bool { return k.name == e.name })
		if i < 0 {
			var allowed []string
			for _, k := range pointKeys {
				allowed = append(allowed, k.name)
			}
			d.unknownKey(n, e, path, "point", allowed)
			continue
		}
		k := pointKeys[i]
		if k.sign < 0 && n.child(k.other) != nil {
			d.at(e.value, join(path, e.name), sternfan.Fault{Code: "conflict", Text: "a point has one of " + k.name + " and " + k.other, Hint: "keep one of the two"})
			continue
		}
		var v unit.Length
		plain[unit.Length]{quantity: quantity[unit.Length]{dim: lengths, in: "ft", hi: pointReach}}.decode(d, e.value, join(path, e.name), &v)
		if v != 0 {
			*k.axis(into) = k.sign * float64(v)
		}
	}
}

func (point) encode(v *geom.Vec) *node {
	out := &node{kind: kindMap}
	for _, k := range pointKeys {
		if x := *k.axis(v) * k.sign; x > 0 {
			out.keys = append(out.keys, entry{name: k.name, value: &node{kind: kindScalar, text: lengths.write(x, "ft")}})
		}
	}
	if len(out.keys) == 0 {
		out.keys = []entry{{name: "up", value: &node{kind: kindScalar, text: "0 ft"}}}
	}
	return out
}

func (point) schema(b *builder) *schema {
	return b.named("point", func() *schema {
		s := &schema{Type: "object", AdditionalProperties: new(bool),
			Description: "A place on the boat from the transom's center line at the waterline; what is not given is 0."}
		for _, k := range pointKeys {
			p := *quantity[unit.Length]{dim: lengths, in: "ft"}.text()
			p.Description = k.doc
			s.Properties = append(s.Properties, property{k.name, &p})
		}
		return s
	})
}
