package aim

import "strings"

// nearest returns the allowed word that is likely meant by a mistyped one, or "".
func nearest(word string, allowed []string) string {
	word = strings.ToLower(word)
	if len(word) > 40 {
		return ""
	}
	best, least := "", 2+len(word)/4
	for _, a := range allowed {
		if d := slips(word, a); d < least && d < len(a) {
			best, least = a, d
		}
	}
	return best
}

// slips counts the insertions, deletions, substitutions and swaps of neighbors that turn
// a into b (optimal string alignment), in bytes.
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
