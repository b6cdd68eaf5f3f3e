package setting

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// Figures writes a number of a kind, with its unit but for colors and marks.
type Figures func(k Kind, v float64) string

// Counted writes numbers as they are counted or paced off: whole feet, halves of short
// lengths; tenths of a meter; tenths of a color.
func Counted(u unit.System) Figures {
	return func(k Kind, v float64) string {
		switch {
		case k == Force:
			return u.Force(unit.Force(v))
		case k == Mark:
			return plain(v)
		case k == Colors:
			return plain(math.Round(v*10) / 10)
		case u == unit.SI:
			return plain(math.Round(v*10)/10) + " m"
		}
		x := v / float64(unit.Foot)
		if x < 10 {
			return plain(math.Round(x*2)/2) + " ft"
		}
		return plain(math.Round(x)) + " ft"
	}
}

func plain(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// Text returns a value by itself: "180 ft", "10 colors", "on"; "" when it is not given.
func (r *Row) Text(v Value, f Figures) string {
	switch {
	case r.Kind == Switch || r.Kind == Flag:
		return r.Words[int(v.Number)]
	case r.Kind == Side || r.Kind == Word:
		return r.word(v)
	case !v.Given:
		return ""
	case r.Kind == Colors:
		n := f(Colors, v.Number)
		if n == "1" {
			return "1 color"
		}
		return n + " colors"
	}
	return f(r.Kind, v.Number)
}

// Card says the setting as a card at the rod does: "count 180 ft".
func (r *Row) Card(on On, f Figures) string { return r.say(r.card, r.Get(on), on, f) }

// Do says how a hand gives the setting a value on such a rod: "let out 180 ft".
func (r *Row) Do(v Value, on On, f Figures) string { return r.say(cmp.Or(r.do, r.said), v, on, f) }

func (r *Row) say(form string, v Value, on On, f Figures) string {
	if form == "" || !v.Given {
		return ""
	}
	text := r.Text(v, f)
	switch s := on.Settings; {
	case r.Kind == Mark && v.Number > 0 && s.Side != sternfan.Amidships:
		text += " " + s.Side.String()
	case r.ID == "line_out" && s.CountFrom == "water":
		form += " from the water"
	}
	return strings.Replace(form, "%s", text, 1)
}

// Words says the settings of a rod with such parts in the order of hands: "15 ft lead",
// "dial 2 port", "ring on", "180 ft out".
func Words(on On, has func(sternfan.PartKind) bool, f Figures) []string {
	var out []string
	for r := range Hands {
		if r.With != "" && !has(r.With) || r.Without != "" && has(r.Without) {
			continue
		}
		if words := r.say(r.said, r.Get(on), on, f); words != "" {
			out = append(out, words)
		}
	}
	return out
}

// Hands iterates over the settings that are said, in the order of hands.
func Hands(yield func(*Row) bool) {
	for _, r := range inHands {
		if !yield(r) {
			return
		}
	}
}

var inHands = func() (out []*Row) {
	for r := range Rows {
		if r.said != "" {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b *Row) int { return cmp.Compare(a.turn, b.turn) })
	return out
}()
