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
