package sternfan

import (
	"strings"

	"sternfan/unit"
)

// longestWord is the most letters of a word that is still likely to be a mistyped one.
const longestWord = 64

// Meant returns the allowed word that is likely meant by a mistyped one, or "".
func Meant(word string, allowed []string) string {
	if len(word) > longestWord {
		return ""
	}
	tidy := func(s string) string { return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(s)) }
	word = tidy(word)
	best, least := "", 2+len(word)/4
	for _, a := range allowed {
		if d := unit.Slips(word, tidy(a)); d < least && d < len(a) {
			best, least = a, d
		}
	}
	return best
}

// DidYouMean is the hint for a mistyped word; otherwise the fallback.
func DidYouMean(word string, allowed []string, fallback string) string {
	if near := Meant(word, allowed); near != "" {
		return "did you mean " + near + "?"
	}
	return fallback
}
