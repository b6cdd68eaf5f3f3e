package wire

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// deepest bounds the nesting of what is read.
const deepest = 100

// mostMembers is how many members of an object are watched for one that comes twice; no
// type has as many.
const mostMembers = 64

// Unmarshal reads JSON into the value that into points to. It is strict: a member that
// the type does not have is an error, and so is anything after the end. Names must be
// written as the type has them, and once; null leaves a value as it is.
func Unmarshal(data []byte, into any) error {
	v := reflect.ValueOf(into)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		panic("wire: Unmarshal needs a pointer")
	}
	d := decoder{data: data}
	d.value(v.Elem(), 0)
	if d.space(); d.err == nil && d.at < len(data) {
		d.fail("there is more after its end")
	}
	return d.err
}

type decoder struct {
	data []byte
	at   int
	err  error
}

func (d *decoder) fail(format string, args ...any) {
	if d.err == nil {
		d.err = fmt.Errorf("at byte %d: %s", d.at+1, fmt.Sprintf(format, args...))
	}
}

var errEnd = errors.New("it ends too early")

// peek returns the next byte that is not space; 0 at the end or after an error.
func (d *decoder) peek() byte {
	if d.space(); d.err != nil {
		return 0
	}
	if d.at >= len(d.data) {
		d.err = errEnd
		return 0
	}
	return d.data[d.at]
}

func (d *decoder) space() {
	for d.at < len(d.data) {
		switch d.data[d.at] {
		case ' ', '\t', '\n', '\r':
			d.at++
		default:
			return
		}
	}
}

// take takes a word such as null.
func (d *decoder) take(word string) bool {
	if len(d.data)-d.at >= len(word) && string(d.data[d.at:d.at+len(word)]) == word {
		d.at += len(word)
		return true
	}
	return false
}

// value reads the next value; an invalid v only checks it.
func (d *decoder) value(v reflect.Value, depth int) {
	if depth > deepest {
		d.fail("it is nested too deeply")
		return
	}
	c := d.peek()
	if d.err != nil {
		return
	}
	if v.IsValid() && v.Type() == rawType {
		start := d.at
		d.value(reflect.Value{}, depth)
		v.SetBytes(append([]byte(nil), d.data[start:d.at]...))
		return
	}
	if c == 'n' {
		if !d.take("null") {
			d.fail("this is no value")
		}
		return
	}
	for v.IsValid() && v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		v = v.Elem()
	}
	switch {
	case c == '{':
		d.object(v, depth)
	case c == '[':
		d.array(v, depth)
	case c == '"':
		s := d.text()
		if d.expect(v, reflect.String, "a string") {
			v.SetString(s)
		}
	case c == 't' && d.take("true"), c == 'f' && d.take("false"):
		if d.expect(v, reflect.Bool, "true or false") {
			v.SetBool(c == 't')
		}
	case c == '-' || c >= '0' && c <= '9':
		d.number(v)
	default:
		d.fail("this is no value")
	}
}

// expect reports whether a value is of a kind, and says so otherwise.
func (d *decoder) expect(v reflect.Value, k reflect.Kind, found string) bool {
	if !v.IsValid() || d.err != nil {
		return false
	}
	if v.Kind() != k {
		d.fail("%s cannot stand here", found)
		return false
	}
	return true
}

func (d *decoder) object(v reflect.Value, depth int) {
	known := v.IsValid()
	if known && v.Kind() == reflect.Map && v.IsNil() {
		v.Set(reflect.MakeMap(v.Type()))
	}
	if known && v.Kind() != reflect.Map && !d.expect(v, reflect.Struct, "an object") {
		return
	}
	d.at++
	if d.peek() == '}' {
		d.at++
		return
	}
	var seen []string
	for d.err == nil {
		if d.peek() != '"' {
			d.fail("a member's name is missing")
			return
		}
		name := d.text()
		if slices.Contains(seen, name) {
			d.fail("the member %.40q is there twice", name)
			return
		}
		if len(seen) < mostMembers {
			seen = append(seen, name)
		}
		if d.peek() != ':' {
			d.fail("a colon is missing")
			return
		}
		d.at++
		switch {
		case !known:
			d.value(reflect.Value{}, depth+1)
		case v.Kind() == reflect.Map:
			elem := reflect.New(v.Type().Elem()).Elem()
			if d.value(elem, depth+1); d.err == nil {
				v.SetMapIndex(reflect.ValueOf(name).Convert(v.Type().Key()), elem)
			}
		default:
			m := member(v, name)
			if !m.IsValid() {
				d.fail("there is no member %.40q", name)
				return
			}
			d.value(m, depth+1)
		}
		if d.more('}') {
			return
		}
	}
}

// more takes what follows an element: a comma, or the end, of which it reports true.
func (d *decoder) more(end byte) bool {
	switch d.peek() {
	case ',':
		d.at++
		return false
	case end:
		d.at++
		return true
	}
	d.fail("a comma is missing")
	return true
}

// member returns a struct's member by its name; an invalid value when there is none.
func member(v reflect.Value, name string) reflect.Value {
	var found reflect.Value
	for _, f := range fieldsOf(v.Type()) {
		switch {
		case f.inline:
			if m := member(v.Field(f.index), name); m.IsValid() && !found.IsValid() {
				found = m
			}
		case f.name == name:
			return v.Field(f.index)
		}
	}
	return found
}

func (d *decoder) array(v reflect.Value, depth int) {
	known := v.IsValid()
	if known && v.Kind() != reflect.Array && !d.expect(v, reflect.Slice, "a list") {
		return
	}
	if known && v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), 0, 0))
	}
	d.at++
	if d.peek() == ']' {
		d.at++
		return
	}
	for i := 0; d.err == nil; i++ {
		elem := reflect.Value{}
		switch {
		case known && v.Kind() == reflect.Array:
			if i < v.Len() {
				elem = v.Index(i)
			}
		case known:
			elem = reflect.New(v.Type().Elem()).Elem()
		}
		if d.value(elem, depth+1); d.err == nil && known && v.Kind() == reflect.Slice {
			v.Set(reflect.Append(v, elem))
		}
		if d.more(']') {
			return
		}
	}
}

// number reads a number by JSON's grammar.
func (d *decoder) number(v reflect.Value) {
	start := d.at
	digits := func() bool {
		from := d.at
		for d.at < len(d.data) && d.data[d.at] >= '0' && d.data[d.at] <= '9' {
			d.at++
		}
		return d.at > from
	}
	if d.data[d.at] == '-' {
		d.at++
	}
	ok := true
	if d.at < len(d.data) && d.data[d.at] == '0' {
		d.at++
	} else {
		ok = digits()
	}
	if d.at < len(d.data) && d.data[d.at] == '.' {
		d.at++
		ok = digits() && ok
	}
	if d.at < len(d.data) && (d.data[d.at] == 'e' || d.data[d.at] == 'E') {
		d.at++
		if d.at < len(d.data) && (d.data[d.at] == '+' || d.data[d.at] == '-') {
			d.at++
		}
		ok = digits() && ok
	}
	if !ok {
		d.fail("this is no number")
	}
	if !v.IsValid() || d.err != nil {
		return
	}
	text := string(d.data[start:d.at])
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		f, err := strconv.ParseFloat(text, v.Type().Bits())
		if err != nil {
			d.fail("the number is too large")
		}
		v.SetFloat(f)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		n, err := strconv.ParseInt(text, 10, v.Type().Bits())
		if err != nil {
			d.fail("this is no whole number in range")
		}
		v.SetInt(n)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		n, err := strconv.ParseUint(text, 10, v.Type().Bits())
		if err != nil {
			d.fail("this is no whole number in range")
		}
		v.SetUint(n)
	default:
		d.fail("a number cannot stand here")
	}
}

// text reads a string.
func (d *decoder) text() string {
	d.at++
	start := d.at
	for d.at < len(d.data) && d.data[d.at] >= ' ' && d.data[d.at] < utf8.RuneSelf && d.data[d.at] != '"' && d.data[d.at] != '\\' {
		d.at++
	}
	if d.at < len(d.data) && d.data[d.at] == '"' {
		d.at++
		return string(d.data[start : d.at-1])
	}
	// The text is at most as long as up to the next quote, and room for it is made at once.
	out := make([]byte, 0, d.at-start+min(len(d.data)-d.at, 1<<14))
	out = append(out, d.data[start:d.at]...)
	for d.at < len(d.data) {
		c := d.data[d.at]
		switch {
		case c == '"':
			d.at++
			return string(out)
		case c < ' ':
			d.fail("a string holds a control character")
			return ""
		case c == '\\':
			if out = d.escape(out); d.err != nil {
				return ""
			}
		default:
			from := d.at
			for d.at < len(d.data) && d.data[d.at] >= ' ' && d.data[d.at] < utf8.RuneSelf && d.data[d.at] != '"' && d.data[d.at] != '\\' {
				d.at++
			}
			if d.at > from {
				out = append(out, d.data[from:d.at]...)
				continue
			}
			r, n := utf8.DecodeRune(d.data[d.at:])
			out = utf8.AppendRune(out, r) // what is not UTF-8 becomes U+FFFD
			d.at += n
		}
	}
	d.err = errEnd
	return ""
}

func (d *decoder) escape(out []byte) []byte {
	if d.at+1 >= len(d.data) {
		d.err = errEnd
		return out
	}
	c := d.data[d.at+1]
	d.at += 2
	switch c {
	case '"', '\\', '/':
		return append(out, c)
	case 'n':
		return append(out, '\n')
	case 't':
		return append(out, '\t')
	case 'r':
		return append(out, '\r')
	case 'b':
		return append(out, '\b')
	case 'f':
		return append(out, '\f')
	case 'u':
		r, ok := d.hex4()
		if !ok {
			return out
		}
		if utf16.IsSurrogate(r) {
			mark := d.at
			if d.take(`\u`) {
				if low, ok := d.hex4(); ok {
					if both := utf16.DecodeRune(r, low); both != utf8.RuneError {
						return utf8.AppendRune(out, both)
					}
				}
				d.at = mark
			}
			r = utf8.RuneError
		}
		return utf8.AppendRune(out, r)
	}
	d.fail("a string holds an escape that is not known")
	return out
}

func (d *decoder) hex4() (rune, bool) {
	if len(d.data)-d.at < 4 {
		d.err = errEnd
		return 0, false
	}
	n, err := strconv.ParseUint(string(d.data[d.at:d.at+4]), 16, 32)
	if err != nil || d.data[d.at] == '+' {
		d.fail("a string holds an escape that is not known")
		return 0, false
	}
	d.at += 4
	return rune(n), true
}
