package report

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sternfan"
	"sternfan/unit"
)

// Odds returns a chance as crews say it: 0.8 is "4 times in 5". The fraction is the one
// of the fewest parts (2, 3, 4, 5, 6, 10 or 20) that is within 0.02 of the chance, else
// the nearest of them. Outside 0 to 1 the chance counts as the nearer end, and what is
// not a number is "not known".
func Odds(p float64) string {
	if math.IsNaN(p) {
		return "not known"
	}
	p = math.Max(0, math.Min(1, p))
	switch {
	case p == 0:
		return "never"
	case p == 1:
		return "every time"
	case p < 0.025:
		return "less than 1 time in 20"
	case p > 0.975:
		return "more than 19 times in 20"
	}
	bestTimes, bestParts, bestMiss := 0, 0, math.Inf(1)
	for _, parts := range []int{2, 3, 4, 5, 6, 10, 20} {
		times := int(math.Round(p * float64(parts)))
		if times == 0 || times == parts {
			continue
		}
		miss := math.Abs(p - float64(times)/float64(parts))
		if miss <= 0.02 {
			bestTimes, bestParts = times, parts
			break
		}
		if miss < bestMiss {
			bestTimes, bestParts, bestMiss = times, parts, miss
		}
	}
	noun := " times in "
	if bestTimes == 1 {
		noun = " time in "
	}
	return strconv.Itoa(bestTimes) + noun + strconv.Itoa(bestParts)
}

// Count returns "1 line", "2 lines"; the plural is the noun with an s.
func Count(n int, noun string) string { return Counted(n, noun, noun+"s") }

// Counted is Count for what has a plural of its own.
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// List joins phrases as English does: "a", "a and b", "a, b and c".
func List(phrases []string) string { return list(phrases, ", ", " and ") }

// list joins phrases with other words between them and before the last.
func list(phrases []string, sep, last string) string {
	switch len(phrases) {
	case 0:
		return ""
	case 1:
		return phrases[0]
	}
	return strings.Join(phrases[:len(phrases)-1], sep) + last + phrases[len(phrases)-1]
}

// sentence returns text with a capital first letter and a full stop.
func sentence(text string) string {
	text = clean(strings.TrimSpace(text))
	if text == "" {
		return ""
	}
	text = capital(text)
	if !strings.ContainsAny(text[len(text)-1:], ".?!") {
		text += "."
	}
	return text
}

// capital returns the text with a capital first letter.
func capital(text string) string {
	if text == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:]
}

// clean drops what would move the cursor of a terminal or break a row: names come from
// files that other people wrote.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == utf8.RuneError:
			return -1
		}
		return r
	}, text)
}

func sideWord(side int) string {
	switch {
	case side < 0:
		return "port"
	case side > 0:
		return "starboard"
	}
	return "middle"
}

func sideLetter(side int) string {
	switch {
	case side < 0:
		return "P"
	case side > 0:
		return "S"
	}
	return "M"
}

// sideNumber returns a distance to the side with its letter and no unit: "31 P", "12 S".
func sideNumber(u unit.System, m float64) string {
	number, _ := u.Split(unit.DepthStyle, math.Abs(m))
	switch {
	case isZero(number):
		return "0"
	case m < 0:
		return number + " P"
	}
	return number + " S"
}

func isZero(number string) bool { return strings.Trim(number, "0.") == "" }

// span returns an interval without its unit: "62-78". It ends at the surface.
func span(u unit.System, lo, hi float64) string {
	a, _ := u.Split(unit.DepthStyle, belowSurface(lo))
	b, _ := u.Split(unit.DepthStyle, belowSurface(hi))
	return a + "-" + b
}

// belowSurface returns the depth, or 0 above the surface; what is not a number stays so.
func belowSurface(depth float64) float64 {
	if depth < 0 {
		return 0
	}
	return depth
}

// surfaceBand is how far, in meters, a board's middle may be from the still surface
// while it rides there: half of a board's height.
const surfaceBand = 0.3

// rides reports whether the body is a board at the surface, all of its interval too.
func rides(b *sternfan.BodyFan) bool {
	return sign(b.Kind) == "board" && math.Abs(b.Depth) < surfaceBand &&
		math.Abs(b.DepthLo) < surfaceBand && math.Abs(b.DepthHi) < surfaceBand
}

// depthNumber returns a depth without its unit: "78"; "0" for what rides at the surface
// and "above" for what hangs above it.
func depthNumber(u unit.System, b *sternfan.BodyFan) string {
	if sign(b.Kind) == "board" && math.Abs(b.Depth) < surfaceBand {
		return "0"
	}
	number, _ := u.Split(unit.DepthStyle, b.Depth)
	if b.Depth < 0 {
		if isZero(strings.TrimPrefix(number, "-")) {
			return "0"
		}
		return "above"
	}
	return number
}

// spanNumber returns the interval of [depthNumber], or "" where the surface holds the
// body or all of the interval is above it.
func spanNumber(u unit.System, b *sternfan.BodyFan) string {
	if rides(b) || b.Depth < 0 && b.DepthHi <= 0 {
		return ""
	}
	return span(u, b.DepthLo, b.DepthHi)
}

// depthWords returns a depth with its interval: "92 ft (78-104)".
func depthWords(u unit.System, b *sternfan.BodyFan) string {
	return u.Depth(unit.Length(belowSurface(b.Depth))) + " (" + span(u, b.DepthLo, b.DepthHi) + ")"
}

// where returns a body's place in words: "46 ft deep (40-53), 22 ft to port, 95 ft astern".
func where(u unit.System, b *sternfan.BodyFan) string {
	s := u.Depth(unit.Length(b.Depth)) + " deep (" + span(u, b.DepthLo, b.DepthHi) + "), "
	switch {
	case rides(b):
		s = "at the surface, "
	case depthNumber(u, b) == "above":
		s = "above the water, "
	}
	number, label := u.Split(unit.DepthStyle, math.Abs(b.Side))
	switch {
	case isZero(number):
		s += "on the center line, "
	case b.Side < 0:
		s += number + " " + label + " to port, "
	default:
		s += number + " " + label + " to starboard, "
	}
	return s + u.Depth(unit.Length(b.Astern)) + " astern"
}

// name returns what the crew calls a rod or device.
func name(t *sternfan.Track) string {
	if s := clean(t.Position); s != "" {
		return s
	}
	if s := clean(t.Rod); s != "" {
		return s
	}
	return "a rod without a name"
}

func kindName(kind, id string) string {
	s := clean(kind)
	if s == "" {
		s = clean(id)
	}
	return s
}

// speedKindWords says what a speed is measured against.
func speedKindWords(k sternfan.SpeedKind) string {
	switch k {
	case sternfan.SpeedGround:
		return "over ground"
	case sternfan.SpeedProbe:
		return "at the probe"
	}
	return "through the surface water"
}

// statusWords says what is wrong with a line and the next step.
func statusWords(s sternfan.Status) (trouble, step string) {
	switch s {
	case sternfan.StatusOK:
		return "", ""
	case sternfan.StatusBottom:
		return "is on the bottom", "take line in or move to deeper water"
	case sternfan.StatusSurface:
		return "runs at the surface", "slow down, let line out or add weight"
	case sternfan.StatusOverStrength:
		return "is over its line's strength", "slow down or fish stronger line"
	case sternfan.StatusBeyondSpool:
		return "asks for more line than is on the spool", "take line in or fill the reel"
	case sternfan.StatusNotConverged:
		return "could not be worked out", "do not trust its depth; check its gear and settings"
	case sternfan.StatusRefused:
		return "cannot run as described", "see its warning below"
	}
	return "has the outcome \"" + clean(string(s)) + "\"", "see its warning below"
}

// needsHand reports whether a line does not run as it should: it is missing, or the
// verdict has something on it above a remark.
func needsHand(fan *sternfan.Fan, t *sternfan.Track) bool {
	return !believed(t) || fan.Worst(t.Rod) != nil
}

// troubleWords says what is wrong with a line that needs a hand, and the next step.
func troubleWords(fan *sternfan.Fan, t *sternfan.Track) (wrong, step string) {
	if f := fan.Worst(t.Rod); f != nil {
		return f.Text, f.Do
	}
	wrong, step = statusWords(t.Status)
	for i := range t.Warnings {
		if h := strings.TrimRight(clean(t.Warnings[i].Hint), ". "); h != "" && t.Status == sternfan.StatusRefused {
			return wrong, h
		}
	}
	return wrong, step
}
