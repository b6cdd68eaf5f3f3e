// Package wire writes and reads the JSON that the app and the engine exchange. It knows
// what their types need and no more: encoding/json would make up a quarter of the engine
// that a phone loads. What it writes, encoding/json would write too, but for lists that
// are nil, which are empty here: null is for what may be missing.
//
// Types are structs with json tags (name, omitempty, "-", embedded structs), slices,
// arrays, maps by strings, pointers, strings, booleans, numbers, [Raw] and any. Any other
// type panics: it is a mistake in the program.
package wire

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// Raw is JSON that is written as it is, and read without being looked into.
type Raw []byte

// MarshalJSON lets encoding/json write it as it is.
func (r Raw) MarshalJSON() ([]byte, error) {
	if r == nil {
		return []byte("null"), nil
	}
	return r, nil
}

// UnmarshalJSON lets encoding/json read it as it is.
func (r *Raw) UnmarshalJSON(text []byte) error {
	*r = append(Raw(nil), text...)
	return nil
}

// ErrNotFinite is the error for a number that is infinite or not a number.
var ErrNotFinite = errors.New("a result is not a finite number")

// Marshal returns the JSON of a value. The error is [ErrNotFinite], wrapped with the path
// of the number.
func Marshal(v any) ([]byte, error) {
	e := encoder{}
	e.value(reflect.ValueOf(v))
	if e.fault != "" {
		return nil, fmt.Errorf("%s: %w", strings.TrimPrefix(e.fault, "."), ErrNotFinite)
	}
	return e.b, nil
}

// Quote appends a string as JSON, as encoding/json does: what HTML would take for markup
// is escaped.
func Quote(b []byte, s string) []byte {
	b = append(b, '"')
	for i := 0; i < len(s); {
		c := s[i]
		if c >= utf8.RuneSelf {
			r, n := utf8.DecodeRuneInString(s[i:])
			switch {
			case r == utf8.RuneError && n == 1:
				b = append(b, `\ufffd`...)
			case r == '\u2028' || r == '\u2029':
				b = append(b, `\u202`...)
				b = append(b, hex[r&15])
			default:
				b = append(b, s[i:i+n]...)
			}
			i += n
			continue
		}
		i++
		switch {
		case c == '"' || c == '\\':
			b = append(b, '\\', c)
		case c == '\n':
			b = append(b, '\\', 'n')
		case c == '\r':
			b = append(b, '\\', 'r')
		case c == '\t':
			b = append(b, '\\', 't')
		case c == '\b':
			b = append(b, '\\', 'b')
		case c == '\f':
			b = append(b, '\\', 'f')
		case c < ' ' || c == '<' || c == '>' || c == '&':
			b = append(b, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
		default:
			b = append(b, c)
		}
	}
	return append(b, '"')
}

const hex = "0123456789abcdef"

// encoder gathers the text; fault is the path of the first number that is not finite.
type encoder struct {
	b     []byte
	fault string
	path  []string
}

func (e *encoder) value(v reflect.Value) {
	switch v.Kind() {
	case reflect.Invalid:
		e.b = append(e.b, "null"...)
	case reflect.Bool:
		e.b = strconv.AppendBool(e.b, v.Bool())
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		e.b = strconv.AppendInt(e.b, v.Int(), 10)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		e.b = strconv.AppendUint(e.b, v.Uint(), 10)
	case reflect.Float64:
		e.float(v.Float(), 64)
	case reflect.Float32:
		e.float(v.Float(), 32)
	case reflect.String:
		e.b = Quote(e.b, v.String())
	case reflect.Pointer, reflect.Interface:
		e.value(v.Elem())
	case reflect.Slice:
		if v.Type() == rawType {
			if v.IsNil() {
				e.b = append(e.b, "null"...)
			} else {
				e.b = append(e.b, v.Bytes()...)
			}
			return
		}
		e.list(v)
	case reflect.Array:
		e.list(v)
	case reflect.Map:
		e.dict(v)
	case reflect.Struct:
		e.b = append(e.b, '{')
		e.members(v, true)
		e.b = append(e.b, '}')
	default:
		panic("wire: no JSON for " + v.Type().String())
	}
}

var rawType = reflect.TypeFor[Raw]()

// float writes a number as encoding/json does, which is as ECMAScript does.
func (e *encoder) float(f float64, bits int) {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		if e.fault == "" {
			e.fault = strings.Join(e.path, "") + " "
		}
		f = 0
	}
	format := byte('f')
	if abs := math.Abs(f); abs != 0 {
		if bits == 64 && (abs < 1e-6 || abs >= 1e21) || bits == 32 && (float32(abs) < 1e-6 || float32(abs) >= 1e21) {
			format = 'e'
		}
	}
	e.b = strconv.AppendFloat(e.b, f, format, -1, bits)
	if n := len(e.b); format == 'e' && n >= 4 && e.b[n-4] == 'e' && e.b[n-3] == '-' && e.b[n-2] == '0' {
		e.b[n-2] = e.b[n-1] // 1e-09 is written 1e-9
		e.b = e.b[:n-1]
	}
}

func (e *encoder) list(v reflect.Value) {
	if v.Type().Elem().Kind() == reflect.Uint8 {
		panic("wire: no JSON for " + v.Type().String())
	}
	e.b = append(e.b, '[')
	for i := range v.Len() {
		if i > 0 {
			e.b = append(e.b, ',')
		}
		e.value(v.Index(i))
	}
	e.b = append(e.b, ']')
}

func (e *encoder) dict(v reflect.Value) {
	keys := v.MapKeys()
	slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
	e.b = append(e.b, '{')
	for i, k := range keys {
		if i > 0 {
			e.b = append(e.b, ',')
		}
		e.b = append(Quote(e.b, k.String()), ':')
		e.value(v.MapIndex(k))
	}
	e.b = append(e.b, '}')
}

// members writes the members of a struct; first is whether none was written before. It
// returns whether none was written yet.
func (e *encoder) members(v reflect.Value, first bool) bool {
	for _, f := range fieldsOf(v.Type()) {
		m := v.Field(f.index)
		if f.inline {
			first = e.members(m, first)
			continue
		}
		if f.omit && empty(m) {
			continue
		}
		if !first {
			e.b = append(e.b, ',')
		}
		first = false
		e.b = append(e.b, f.key...)
		e.path = append(e.path, f.step)
		e.value(m)
		e.path = e.path[:len(e.path)-1]
	}
	return first
}

// empty is what omitempty leaves out.
func empty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map, reflect.String, reflect.Array:
		return v.Len() == 0
	case reflect.Struct:
		return false
	}
	return v.IsZero()
}

// field is a member of a struct.
type field struct {
	index  int
	name   string
	key    string // quoted, with the colon
	step   string // of a path
	inline bool
	omit   bool
}

var fields sync.Map // reflect.Type to []field

func fieldsOf(t reflect.Type) []field {
	if known, ok := fields.Load(t); ok {
		return known.([]field)
	}
	var out []field
	for i := range t.NumField() {
		f := t.Field(i)
		tag := f.Tag.Get("json")
		if tag == "-" || !f.IsExported() && !f.Anonymous {
			continue
		}
		name, options, _ := strings.Cut(tag, ",")
		if f.Anonymous && name == "" {
			if f.Type.Kind() != reflect.Struct {
				panic("wire: only structs are embedded, not " + f.Type.String())
			}
			out = append(out, field{index: i, inline: true})
			continue
		}
		if name == "" {
			name = f.Name
		}
		out = append(out, field{index: i, name: name, key: string(Quote(nil, name)) + ":", step: "." + name, omit: strings.Contains(options, "omitempty")})
	}
	fields.Store(t, out)
	return out
}
