package scenario

import (
	"strconv"
	"strings"

	"sternfan/unit"
)

// clip shortens what a person wrote to what fits a message.
func clip(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	const most = 60
	count := 0
	for i := range s {
		if count++; count > most {
			return s[:i] + "..."
		}
	}
	return s
}

// show quotes what a person wrote, clipped.
func show(s string) string { return strconv.Quote(clip(s)) }

// nearest returns the allowed word that is likely meant by a mistyped one, or "".
func nearest(word string, allowed []string) string {
	if len(word) > 64 {
		return ""
	}
	tidy := func(s string) string { return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(s)) }
	word = tidy(word)
	limit := 1 + len(word)/4
	best, least := "", limit+1
	for _, a := range allowed {
		if d := unit.Slips(word, tidy(a)); d < least && d < len(a) {
			best, least = a, d
		}
	}
	return best
}

// didYouMean is the hint for a mistyped word; otherwise the fallback.
func didYouMean(word string, allowed []string, fallback string) string {
	if near := nearest(word, allowed); near != "" {
		return "did you mean " + near + "?"
	}
	return fallback
}
