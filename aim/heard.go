package aim

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"sternfan"
	"sternfan/unit"
)

// # What is heard
//
// A setting as people say it to each other: "wire, large diver, dial 2, 180ft". Words come
// in any order, with or without commas. Quantities are known by their units and by the
// word beside them; kinds by plain names. What is not said is taken from a rod of this
// boat.
//
//	line      wire, braid, mono, fluoro, lead core, copper, steel; a strength in lb
//	device    diver, slide-through, downrigger (rigger, ball), board, flat line, tripped
//	size      small, standard, large, light, deep, shallow: of the next thing named
//	behind    spoon, fly, plug, bait; flasher, dodger, paddle; snubber, weight
//	setting   dial 2, ring, no ring, 5 colors, 40ft lead, 6ft leader, 80ft of cable, 180ft
//	where     65ft down (then nothing else is needed), port, starboard
//	speed     2.4 mph

// heard is what was understood; the zero of a member is "not said".
type heard struct {
	kind     sternfan.RigKind
	line     string // kind of line
	size     string // of the diver
	lure     string // kind of lure
	lureSize string
	attr     string // kind of attractor
	weight   bool
	ring     sternfan.Q[float64]
	dial     sternfan.Q[float64]
	colors   sternfan.Q[float64]
	out      sternfan.Q[unit.Length]
	lead     sternfan.Q[unit.Length]
	leader   sternfan.Q[unit.Length]
	cable    sternfan.Q[unit.Length]
	above    sternfan.Q[unit.Length]
	down     sternfan.Q[unit.Length]
	speed    sternfan.Q[unit.Speed]
	strength sternfan.Q[unit.Force]
	ball     sternfan.Q[unit.Mass]
	ounces   sternfan.Q[unit.Mass]
	side     sternfan.Side
	board    bool
	tripped  bool
}

// vocabulary is every word with what it does; "" words fill.
var vocabulary = map[string]string{
	"wire": "line wire", "braid": "line braid", "mono": "line mono", "fluoro": "line fluorocarbon", "fluorocarbon": "line fluorocarbon",
	"lead-core": "line lead-core", "leadcore": "line lead-core", "core": "line lead-core", "copper": "line copper", "steel": "line weighted-steel",
	"diver": "diver", "slide-through": "slide", "slide": "slide", "through": "", "downrigger": "downrigger", "rigger": "downrigger", "ball": "ball",
	"board": "board", "planer": "", "flat": "flat", "tripped": "tripped",
	"small": "size small", "standard": "size standard", "large": "size large", "light": "size light", "deep": "size deep", "shallow": "size shallow",
	"spoon": "lure spoon", "fly": "lure fly", "plug": "lure plug", "bait": "lure bait",
	"flasher": "attractor flasher", "dodger": "attractor dodger", "paddle": "attractor paddle",
	"snubber": "", "weight": "weight", "sinker": "weight",
	"dial": "dial", "ring": "ring", "no": "no", "without": "no", "lead": "lead", "leader": "leader", "cable": "cable", "above": "above", "down": "down",
	"port": "port", "starboard": "starboard",
	"line": "", "out": "", "on": "", "with": "", "and": "", "a": "", "of": "", "the": "", "at": "", "to": "", "behind": "", "back": "", "in": "", "test": "",
}

// token is a word or a quantity of what was heard.
type token struct {
	text string
	num  float64 // a bare number
	bare bool
	unit string // "length", "speed", "mass", "ounces", "color"; "": a word or a bare number
	si   float64
}

// tokens cuts what was said into words and quantities: "180ft", "180 ft", "2 1/2".
func tokens(text string) []token {
	text = strings.NewReplacer(",", " ", ";", " ", "lead core", "lead-core", "slide through", "slide-through", "½", ".5").Replace(strings.ToLower(text))
	words := strings.Fields(text)
	var out []token
	for i := 0; i < len(words); i++ {
		w := words[i]
		if c := w[0]; c < '0' || c > '9' {
			if c != '.' || len(w) < 2 {
				out = append(out, token{text: w})
				continue
			}
		}
		if t, ok := quantity(w); ok {
			out = append(out, t)
			continue
		}
		if i+1 < len(words) {
			if t, ok := quantity(w + " " + words[i+1]); ok {
				out = append(out, t)
				i++
				continue
			}
		}
		n, err := strconv.ParseFloat(w, 64)
		if err != nil {
			out = append(out, token{text: w})
			continue
		}
		if i+1 < len(words) && words[i+1] == "1/2" {
			n += .5
			i++
		}
		out = append(out, token{text: w, num: n, bare: true})
	}
	return out
}

func quantity(w string) (token, bool) {
	if n, found := strings.CutSuffix(w, "colors"); found {
		return colorToken(w, n)
	}
	if n, found := strings.CutSuffix(w, "color"); found {
		return colorToken(w, n)
	}
	if v, err := unit.ParseLength(w); err == nil {
		return token{text: w, unit: "length", si: float64(v)}, true
	}
	if v, err := unit.ParseSpeed(w); err == nil {
		return token{text: w, unit: "speed", si: float64(v)}, true
	}
	if v, err := unit.ParseMass(w); err == nil {
		kind := "mass"
		if strings.HasSuffix(w, "oz") {
			kind = "ounces"
		}
		return token{text: w, unit: kind, si: float64(v)}, true
	}
	return token{}, false
}

func colorToken(w, n string) (token, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(n), 64)
	return token{text: w, unit: "color", si: v}, err == nil
}

// listener is what has been understood of what was said.
type listener struct {
	heard
	all    []token
	sizes  string // said of the next thing named
	faults sternfan.Faults
}

// listen understands what was said. What it does not know comes back as faults with the
// word that was likely meant.
func listen(text string) (heard, error) {
	l := &listener{all: tokens(text)}
	for i := range l.all {
		switch t := l.all[i]; {
		case t.bare:
			l.number(i)
		case t.unit != "":
			after := nextWord(l.word, i)
			if does := vocabulary[l.word(i+2)]; after == "deep" && strings.HasPrefix(does, "lure") {
				after = "" // "80 ft deep plug"
			}
			l.measure(t, l.word(i-1), after)
		default:
			does, known := vocabulary[t.text]
			if !known {
				does, known = vocabulary[strings.TrimSuffix(t.text, "s")]
			}
			if !known {
				l.fault("this word is not known", t.text, sternfan.DidYouMean(t.text, words(), "say it as in: wire, large diver, dial 2, 180ft"))
				continue
			}
			what, arg, _ := strings.Cut(does, " ")
			l.name(i, what, arg)
		}
	}
	if l.kind == "" && l.dial.Given {
		l.kind = sternfan.RigDiver // nothing else has a dial
	}
	if l.sizes != "" && l.kind == sternfan.RigDiver {
		l.size = l.sizes
	}
	return l.heard, l.faults.Err()
}

func (l *listener) fault(text, found, hint string) {
	l.faults = append(l.faults, sternfan.Fault{Code: "not-understood", Text: text, Found: found, Hint: hint})
}

// word returns the word at a place, "" for a quantity or beyond the ends.
func (l *listener) word(i int) string {
	if i < 0 || i >= len(l.all) || l.all[i].unit != "" || l.all[i].bare {
		return ""
	}
	return l.all[i].text
}

// number takes a bare number.
func (l *listener) number(i int) {
	t := l.all[i]
	switch {
	case l.word(i-1) == "dial":
		l.dial = sternfan.Of(t.num)
	case t.num >= leastBare && !l.out.Given:
		l.out = sternfan.Of(unit.Length(t.num) * unit.Foot)
	default:
		l.fault("a number needs its unit", t.text, "write 180ft, 2.4mph, 30lb or dial 2")
	}
}

// name takes a word that names a thing, by what the vocabulary says that it does.
func (l *listener) name(i int, what, arg string) {
	size := l.sizes
	switch what {
	case "line":
		l.line = arg
	case "diver":
		l.sizes = ""
		l.diver(size)
	case "slide":
		l.kind, l.sizes = sternfan.RigSlideThrough, ""
		l.size = cmp.Or(size, l.size)
	case "downrigger", "ball":
		if l.kind == "" || l.kind == sternfan.RigDownrigger {
			l.kind, l.sizes = sternfan.RigDownrigger, ""
		}
	case "board":
		l.board, l.sizes = true, ""
	case "flat":
		l.kind = sternfan.RigFlat
	case "tripped":
		l.tripped = true
	case "size":
		l.sizes = arg
	case "lure":
		l.lure, l.lureSize, l.sizes = arg, size, ""
	case "attractor":
		l.attr, l.sizes = arg, ""
	case "weight":
		l.weight = true
	case "ring":
		l.ring = sternfan.Of(1.0)
		if l.word(i-1) == "no" || l.word(i-1) == "without" || l.word(i+1) == "off" {
			l.ring = sternfan.Of(0.0)
		}
	case "port":
		l.side = sternfan.Port
	case "starboard":
		l.side = sternfan.Starboard
	}
}

// leastBare is the least number that is taken for feet of line when nothing is said with it,
// as on the radio; marks and weights are smaller.
const leastBare = 20

func (h *heard) diver(size string) {
	if h.kind != sternfan.RigSlideThrough {
		h.kind = sternfan.RigDiver
	}
	if size != "" {
		h.size = size
	}
}

// nextWord is the word after a quantity, "of" passed over.
func nextWord(word func(int) string, i int) string {
	w := word(i + 1)
	for n := 2; (w == "of" || w == "the" || w == "back" || w == "behind") && n < 4; n++ {
		if next := word(i + n); next != "" {
			w = next
		}
	}
	return w
}

// measure takes a quantity by its unit and the words beside it.
func (h *heard) measure(t token, before, after string) {
	beside := func(w string) bool { return before == w || after == w }
	length := sternfan.Of(unit.Length(t.si))
	switch t.unit {
	case "speed":
		h.speed = sternfan.Of(unit.Speed(t.si))
	case "color":
		h.colors = sternfan.Of(t.si)
		if h.line == "" {
			h.line = "lead-core"
		}
	case "ounces":
		h.ounces, h.weight = sternfan.Of(unit.Mass(t.si)), true
	case "mass":
		if beside("ball") || beside("rigger") || beside("downrigger") {
			h.ball = sternfan.Of(unit.Mass(t.si))
			return
		}
		// A label's pound is a force.
		h.strength = sternfan.Of(unit.Force(t.si * 9.80665))
	default:
		switch {
		case after == "lead" || before == "lead" && after == "":
			h.lead = length
		case after == "leader" || before == "leader":
			h.leader = length
		case beside("cable"):
			h.cable = length
		case after == "above" || before == "above":
			h.above = length
		case after == "down" || after == "deep" || before == "down":
			h.down = length
		case after == "snubber":
		case before == "lead":
			h.lead = length
		default:
			h.out = length
		}
	}
}

func words() []string {
	var out []string
	for w := range vocabulary {
		if len(w) > 2 {
			out = append(out, w)
		}
	}
	slices.Sort(out)
	return out
}
