package scenario

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// dim is a kind of quantity as the file writes it.
type dim struct {
	name  string
	parse func(text string) (float64, error)
	units []string
}

func dimOf[U unit.Quantity](name string) *dim {
	d := &dim{name: name, parse: func(text string) (float64, error) {
		v, err := unit.Parse[U](text)
		return float64(v), err
	}}
	_, err := unit.Parse[U]("1")
	if e := (*unit.Error)(nil); errors.As(err, &e) {
		d.units = e.Allowed
	}
	return d
}

type named struct {
	name  string
	scale float64 // SI per unit
}

// dimWith is a quantity that package unit does not have.
func dimWith(name string, units ...named) *dim {
	d := &dim{name: name}
	for _, u := range units {
		d.units = append(d.units, u.name)
	}
	d.parse = func(text string) (float64, error) {
		s := strings.TrimSpace(text)
		split := leadingNumber(s)
		label := strings.Join(strings.Fields(s[len(split):]), " ")
		if split == "" {
			return 0, &unit.Error{Quantity: name, Input: text, Problem: "does not begin with a number"}
		}
		if label == "" {
			return 0, &unit.Error{Quantity: name, Input: text, Problem: "has no unit", Allowed: d.units, Hint: "write " + strconv.Quote(s+" "+units[0].name) + " if that is the unit meant"}
		}
		v, err := strconv.ParseFloat(split, 64)
		if err != nil {
			return 0, &unit.Error{Quantity: name, Input: text, Problem: "is too large"}
		}
		for _, u := range units {
			if u.name == label {
				return v * u.scale, nil
			}
		}
		return 0, &unit.Error{Quantity: name, Input: text, Problem: "has unknown unit " + show(label), Allowed: d.units}
	}
	return d
}

var (
	lengths       = dimOf[unit.Length]("length")
	speeds        = dimOf[unit.Speed]("speed")
	forces        = dimOf[unit.Force]("force")
	massesDim     = dimOf[unit.Mass]("mass")
	angles        = dimOf[unit.Angle]("angle")
	temperatures  = dimOf[unit.Temperature]("temperature")
	areas         = dimOf[unit.Area]("area")
	lineDensities = dimOf[unit.LinearDensity]("mass per length")
	densities     = dimOf[unit.Density]("density")
	rates         = dimOf[unit.AngularRate]("rate of turn")
	viscosities   = dimOf[unit.Viscosity]("viscosity")
	volumes       = dimWith("volume", named{"cm3", 1e-6}, named{"ml", 1e-6}, named{"L", 1e-3}, named{"in3", 0.0254 * 0.0254 * 0.0254}, named{"m3", 1})
	gives         = dimWith("angle per force", named{"deg/lb", float64(unit.Degree) / float64(unit.PoundForce)}, named{"deg/N", float64(unit.Degree)}, named{"rad/N", 1})
	numbers       = &dim{name: "number", parse: parseNumber}
)

// parseNumber reads a number without a unit: decimal only.
func parseNumber(text string) (float64, error) {
	s := strings.TrimSpace(text)
	if leadingNumber(s) != s || s == "" {
		return 0, &unit.Error{Quantity: "number", Input: text, Problem: "is not a decimal number without a unit", Hint: "write it as in 0.5 or 12"}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, &unit.Error{Quantity: "number", Input: text, Problem: "is too large"}
	}
	return v, nil
}

// write returns the SI value in the unit, with the digits that read back to it.
func (d *dim) write(si float64, in string) string {
	si += 0 // no negative zero
	if d == numbers {
		return strconv.FormatFloat(si, 'g', -1, 64)
	}
	zero, err0 := d.parse("0 " + in)
	one, err1 := d.parse("1 " + in)
	if err0 != nil || err1 != nil {
		panic("scenario: " + in + " is not a unit of " + d.name)
	}
	shown := (si - zero) / (one - zero)
	for _, digits := range []int{4, 6, 9, 12, 15, 17} {
		text := decimal(shown, digits) + " " + in
		if back, err := d.parse(text); err == nil && math.Abs(back-si) <= 1e-12*math.Abs(si) {
			return text
		}
	}
	if d == temperatures && in != "C" {
		return d.write(si, "C") // near 0 C, where degrees Fahrenheit lose digits
	}
	return decimal(shown, 17) + " " + in
}

func decimal(v float64, digits int) string {
	text := strconv.FormatFloat(v, 'g', digits, 64)
	if short, err := strconv.ParseFloat(text, 64); err == nil {
		if a := math.Abs(short); a == 0 || a >= 1e-4 && a < 1e9 {
			return strconv.FormatFloat(short, 'f', -1, 64)
		}
		return strconv.FormatFloat(short, 'g', -1, 64)
	}
	return text
}

// nothing is read as 0: numbers below it have no digits to spare.
const nothing = 1e-200

// read parses a scalar as a value of the dimension; ok is false after a fault.
func (d *decoder) read(n *node, path string, q *dim) (float64, bool) {
	if !d.want(n, path, kindScalar) {
		return 0, false
	}
	f := sternfan.Fault{Found: show(n.text)}
	article := "a "
	if strings.ContainsRune("aeiou", rune(q.name[0])) {
		article = "an "
	}
	text := strings.TrimSpace(n.text)
	switch {
	case looksNotFinite(text):
		f.Code, f.Text, f.Hint = "not-finite", article+q.name+" must be a finite number", "leave the key out if the value is not known"
	case looksOctal(text):
		f.Code, f.Text, f.Hint = "bad-number", "numbers are decimal and do not begin with 0", "write 10 for ten and 0.5 for a half"
	case q == numbers && n.quoted && isBareNumber(text):
		f.Code, f.Text, f.Hint = "wrong-type", "this must be a number and not text", "remove the quotes"
	default:
		v, err := q.parse(text)
		if err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
			if math.Abs(v) < nothing {
				v = 0
			}
			return v, true
		}
		f.Code, f.Text = "bad-number", article+q.name+" cannot be read"
		var e *unit.Error
		if errors.As(err, &e) {
			f.Text, f.Allowed, f.Hint = article+q.name+" "+clip(e.Problem), e.Allowed, e.Hint
			switch {
			case isBareNumber(text) && len(e.Allowed) > 0:
				f.Code = "missing-unit"
			case len(e.Allowed) > 0:
				f.Code = "wrong-unit"
			case e.Problem == "is too large":
				f.Code = "out-of-range"
			case q == numbers && leadingNumber(text) != "":
				f.Code = "wrong-unit"
			}
		}
	}
	d.at(n, path, f)
	return 0, false
}

// quantity is a value with its uncertainty and source: "120 ft", or a map.
type quantity[U ~float64] struct {
	dim    *dim
	in     string  // unit it is written in
	lo, hi float64 // allowed, SI; both 0: any
	above  bool    // lo itself is not allowed
}

var quantityKeys = []string{"value", "sd", "range", "source"}

func (c quantity[U]) decode(d *decoder, n *node, path string, into *sternfan.Q[U]) {
	if n.kind != kindMap {
		if v, ok := c.value(d, n, path); ok {
			*into = sternfan.Of(v)
		}
		return
	}
	for _, e := range n.keys {
		p := join(path, e.name)
		switch e.name {
		case "value":
			if v, ok := c.value(d, e.value, p); ok {
				into.Value, into.Given = v, true
			}
		case "source":
			words[string]{}.decode(d, e.value, p, &into.Source)
		case "sd", "range":
		default:
			d.unknownKey(n, e, path, c.dim.name, quantityKeys)
		}
	}
	if n.child("value") == nil {
		d.missing(n, path, "value", "The value itself, as in 120 ft.")
	}
	d.spread(n, path, c.dim, float64(into.Value), &into.Scatter)
}

// spread reads the keys sd and range of a map.
func (d *decoder) spread(n *node, path string, q *dim, value float64, into *sternfan.Scatter) {
	sd, half := n.child("sd"), n.child("range")
	if sd != nil && half != nil {
		d.at(half, join(path, "range"), sternfan.Fault{Code: "conflict", Text: "an uncertainty has one of sd and range", Hint: "keep one of the two"})
		return
	}
	name, from := "sd", sd
	if sd == nil {
		name, from = "range", half
	}
	if from == nil {
		return
	}
	path = join(path, name)
	if from.kind == kindScalar && strings.HasSuffix(strings.TrimSpace(from.text), "%") {
		percent := &node{kind: kindScalar, text: strings.TrimSuffix(strings.TrimSpace(from.text), "%"), line: from.line, column: from.column, flag: from.flag}
		v, ok := d.read(percent, path, numbers)
		if !ok {
			return
		}
		if v < 0 || v > 300 {
			d.at(from, path, sternfan.Fault{Code: "out-of-range", Text: "this uncertainty is out of range", Found: show(from.text), Allowed: []string{"0 % to 300 %"}})
			return
		}
		if name == "sd" {
			*into = sternfan.Rel(v / 100)
		} else {
			*into = sternfan.Half(math.Abs(value) * v / 100)
		}
		return
	}
	v, ok := d.read(from, path, q)
	if !ok {
		return
	}
	if v < 0 || v > 1e12 {
		d.at(from, path, sternfan.Fault{Code: "out-of-range", Text: "this uncertainty is out of range", Found: show(from.text), Allowed: []string{"0 or more"}})
		return
	}
	if name == "sd" {
		*into = sternfan.Abs(v)
	} else {
		*into = sternfan.Half(v)
	}
}

func (c quantity[U]) value(d *decoder, n *node, path string) (U, bool) {
	v, ok := d.read(n, path, c.dim)
	if !ok {
		return 0, false
	}
	if c.lo == 0 && c.hi == 0 {
		return U(v), true
	}
	// Values at a limit that was rounded in another unit are allowed.
	slack := 1e-9 * max(math.Abs(c.lo), math.Abs(c.hi))
	if c.lo == 0 {
		slack = 0
	}
	if v < c.lo-slack || v > c.hi*(1+1e-9) || c.above && v <= c.lo {
		f := sternfan.Fault{Code: "out-of-range", Text: "this " + c.dim.name + " is out of range", Found: show(n.text), Allowed: []string{c.limits()}}
		if v < 0 && c.lo == 0 {
			f.Text = "this " + c.dim.name + " cannot be negative"
		}
		d.at(n, path, f)
		return 0, false
	}
	return U(v), true
}

func (c quantity[U]) limits() string {
	show := func(si float64) string {
		if c.dim == numbers {
			return decimal(si, 5)
		}
		zero, _ := c.dim.parse("0 " + c.in)
		one, _ := c.dim.parse("1 " + c.in)
		return decimal((si-zero)/(one-zero), 5) + " " + c.in
	}
	if c.above {
		return "more than " + show(c.lo) + " and up to " + show(c.hi)
	}
	return show(c.lo) + " to " + show(c.hi)
}

func (c quantity[U]) encode(v *sternfan.Q[U]) *node {
	if !v.Given {
		return nil
	}
	value := &node{kind: kindScalar, text: c.dim.write(float64(v.Value), c.in)}
	if v.Scatter == (sternfan.Scatter{}) && v.Source == "" {
		return value
	}
	out := &node{kind: kindMap, keys: []entry{{name: "value", value: value}}}
	out.keys = append(out.keys, c.dim.writeSpread(v.Scatter, c.in)...)
	if s := scalar(v.Source); s != nil {
		out.keys = append(out.keys, entry{name: "source", value: s})
	}
	return out
}

func (d *dim) writeSpread(s sternfan.Scatter, in string) []entry {
	text := func(t string) *node { return &node{kind: kindScalar, text: t} }
	switch s.Kind {
	case sternfan.LogNormal:
		return []entry{{name: "sd", value: text(decimal(s.SD*100, 15) + " %")}}
	case sternfan.Normal:
		return []entry{{name: "sd", value: text(d.write(s.SD, in))}}
	case sternfan.Uniform:
		return []entry{{name: "range", value: text(d.write(s.SD, in))}}
	}
	return nil
}

// text is the schema of the value alone.
func (c quantity[U]) text() *schema {
	if c.dim == numbers {
		s := &schema{Type: "number"}
		if c.lo != 0 || c.hi != 0 {
			s.Minimum, s.Maximum = &c.lo, &c.hi
		}
		return s
	}
	return &schema{Type: "string", Pattern: `^\s*[-+\x{2212}0-9.]`}
}

func (c quantity[U]) describe() string {
	if c.dim == numbers {
		return "A number without a unit."
	}
	article := "A "
	if strings.ContainsRune("aeiou", rune(c.dim.name[0])) {
		article = "An "
	}
	return fmt.Sprintf("%s%s with its unit, as in \"3 %s\". Units: %s.", article, c.dim.name, c.in, strings.Join(c.dim.units, ", "))
}

func (c quantity[U]) schema(b *builder) *schema {
	name := strings.ReplaceAll(c.dim.name, " ", "-") + "-value"
	spread := &schema{Type: "string", Pattern: `^\s*[-+0-9.]`}
	if c.dim == numbers {
		spread = &schema{Type: []string{"number", "string"}}
	}
	return b.named(name, func() *schema {
		plain := quantity[U]{dim: c.dim, in: c.in}.text()
		return &schema{Description: c.describe(), AnyOf: []*schema{plain, {
			Type: "object", AdditionalProperties: new(bool), Required: []string{"value"},
			Properties: []property{
				{"value", plain},
				{"sd", described(spread, "One standard deviation: in the same unit, or relative as in \"5 %\".")},
				{"range", described(spread, "Half width of an equally likely range: in the same unit, or relative.")},
				{"source", &schema{Type: "string", Description: "Where the value comes from."}},
			}}}}
	})
}

// plain is a value without uncertainty of its own.
type plain[U ~float64] struct {
	quantity[U]
	always bool // written even when 0
}

func (c plain[U]) decode(d *decoder, n *node, path string, into *U) {
	if v, ok := c.value(d, n, path); ok {
		*into = v
	}
}

func (c plain[U]) encode(v *U) *node {
	if *v == 0 && !c.always {
		return nil
	}
	return &node{kind: kindScalar, text: c.dim.write(float64(*v), c.in)}
}

func (c plain[U]) schema(b *builder) *schema {
	return described(c.text(), c.describe())
}

// number is a plain number within limits.
type number struct {
	lo, hi float64
	always bool
}

func (c number) as() plain[float64] {
	return plain[float64]{quantity[float64]{dim: numbers, lo: c.lo, hi: c.hi}, c.always}
}
func (c number) decode(d *decoder, n *node, path string, into *float64) {
	c.as().decode(d, n, path, into)
}
func (c number) encode(v *float64) *node   { return c.as().encode(v) }
func (c number) schema(b *builder) *schema { return c.as().schema(b) }
