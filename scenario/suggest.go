package scenario

import (
	"strconv"
	"strings"
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
		if d := slips(word, tidy(a)); d < least && d < len(a) {
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

// slips counts the insertions, deletions, substitutions and swaps of neighbors that
// turn a into b (optimal string alignment), in bytes.
func slips(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
