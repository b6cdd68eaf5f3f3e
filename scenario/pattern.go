package scenario

import "strings"

// The shapes of texts that the package asks about, by hand: package regexp with its tables
// would make up a tenth of the engine that a phone loads.

// identShape is the pattern of an id, for the JSON Schema.
const identShape = `^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$`

// isIdent reports whether s is of identShape.
func isIdent(s string) bool {
	if s == "" || len(s) > 64 || !isWordByte(s[0]) {
		return false
	}
	for i := range len(s) {
		if !isWordByte(s[i]) && s[i] != '_' && s[i] != '-' {
			return false
		}
	}
	return true
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isWordByte(c byte) bool {
	return isDigit(c) || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
}

// digits returns how many decimal digits s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

// sign returns how many signs s begins with, 0 or 1.
func sign(s string) int {
	if s != "" && (s[0] == '+' || s[0] == '-') {
		return 1
	}
	return 0
}

// exponent returns the length of the exponent (e5, E-3) that s begins with, 0 for none.
func exponent(s string) int {
	if s == "" || s[0] != 'e' && s[0] != 'E' {
		return 0
	}
	n := 1 + sign(s[1:])
	if d := digits(s[n:]); d > 0 {
		return n + d
	}
	return 0
}

// leadingNumber returns the plain decimal number at the beginning of a text, "" for none.
func leadingNumber(s string) string {
	n := sign(s)
	whole := digits(s[n:])
	n += whole
	if n < len(s) && s[n] == '.' {
		if frac := digits(s[n+1:]); frac > 0 || whole > 0 {
			n += 1 + frac
			whole += frac
		}
	}
	if whole == 0 {
		return ""
	}
	return s[:n+exponent(s[n:])]
}

// looksOctal reports whether s begins like an octal, hexadecimal or binary number.
func looksOctal(s string) bool {
	s = s[sign(s):]
	return len(s) > 1 && s[0] == '0' && (isDigit(s[1]) || strings.IndexByte("_xXoObB", s[1]) >= 0)
}

// looksNotFinite reports whether s begins like an infinity or what is not a number.
func looksNotFinite(s string) bool {
	s = strings.TrimPrefix(s[sign(s):], ".")
	return len(s) >= 3 && (strings.EqualFold(s[:3], "nan") || strings.EqualFold(s[:3], "inf"))
}

// isBareNumber reports whether s is a number, if perhaps an odd one, without a unit.
func isBareNumber(s string) bool {
	s = s[sign(s):]
	n := 0
	for n < len(s) && (isDigit(s[n]) || s[n] == '.' || s[n] == '_') {
		n++
	}
	return n > 0 && n+exponent(s[n:]) == len(s)
}

// isTabbed reports whether a line of the text is indented by a tab.
func isTabbed(text string) bool {
	for line := range strings.SplitSeq(text, "\n") {
		if strings.HasPrefix(strings.TrimLeft(line, " "), "\t") {
			return true
		}
	}
	return false
}

// isPlain reports whether words may stand in YAML without quotes, by their characters.
func isPlain(s string) bool {
	if s == "" || !isWordByte(s[0]) {
		return false
	}
	return strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 ._/%°()+-") == ""
}

// isReserved reports whether words without quotes would be a number, a truth value or
// nothing to YAML.
func isReserved(s string) bool {
	s = strings.ToLower(s)
	switch s {
	case "":
		return false
	case "true", "false", "on", "off", "yes", "no", "y", "n", "null", "nan", "inf":
		return true
	}
	if (isDigit(s[0]) || strings.IndexByte(".+-", s[0]) >= 0) && strings.Trim(s, "0123456789._+e-") == "" {
		return true
	}
	return len(s) > 1 && s[0] == '0' && strings.IndexByte("xob", s[1]) >= 0 && strings.Trim(s[2:], "0123456789abcdef_") == ""
}

// allNines reports whether s is nines alone, with or without decimals of nines and zeros.
func allNines(s string) bool {
	whole, frac, _ := strings.Cut(s, ".")
	return whole != "" && strings.Trim(whole, "9") == "" && strings.Trim(frac, "09") == ""
}

// headerWords returns the words of lower-case letters, digits and degree signs in s.
func headerWords(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '°')
	})
}
