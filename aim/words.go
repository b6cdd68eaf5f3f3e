package aim

import (
	"strings"

	"sternfan/unit"
)

// nearest returns the allowed word that is likely meant by a mistyped one, or "".
func nearest(word string, allowed []string) string {
	word = strings.ToLower(word)
	if len(word) > 40 {
		return ""
	}
	best, least := "", 2+len(word)/4
	for _, a := range allowed {
		if d := unit.Slips(word, a); d < least && d < len(a) {
			best, least = a, d
		}
	}
	return best
}
