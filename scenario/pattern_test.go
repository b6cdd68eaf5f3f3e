package scenario

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Each shape against the regular expression that says the same.
func TestShapes(t *testing.T) {
	number := regexp.MustCompile(`^[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?`)
	notWord := regexp.MustCompile(`[^a-z0-9°]+`)
	shapes := []struct {
		name, expr string
		is         func(string) bool
	}{
		{"id", identShape, isIdent},
		{"octal", `^[+-]?0[0-9_xXoObB]`, looksOctal},
		{"not finite", `(?i)^[+-]?\.?(nan|inf)`, looksNotFinite},
		{"bare number", `^[+-]?[0-9._]+([eE][+-]?[0-9]+)?$`, isBareNumber},
		{"tabbed", `(?m)^ *\t`, isTabbed},
		{"plain", `^[A-Za-z0-9][A-Za-z0-9 ._/%°()+-]*$`, isPlain},
		{"reserved", `(?i)^(true|false|on|off|yes|no|y|n|null|nan|inf|[0-9.+-][0-9._+e-]*|0[xob][0-9a-f_]*)$`, isReserved},
		{"nines", `^9+(\.[09]*)?$`, allNines},
	}
	exprs := make([]*regexp.Regexp, len(shapes))
	for i, s := range shapes {
		exprs[i] = regexp.MustCompile(s.expr)
	}
	piece := rapid.OneOf(
		rapid.StringMatching(`[+-]?[0-9.]{0,4}([eE][+-]?[0-9]{0,2})?`),
		rapid.SampledFrom([]string{"true", "False", "on", "No", "y", "null", "NaN", ".inf", "-Inf", "0x1F", "0b", "0o7_", "9999", "99.90", "\t", "\n", " ", "°", "port-high", "_", "-", "+", "%", "(a)", "é", "_x", "\"", strings.Repeat("a", 63)}),
		rapid.StringN(0, 3, -1),
	)
	rapid.Check(t, func(t *rapid.T) {
		s := strings.Join(rapid.SliceOfN(piece, 0, 3).Draw(t, "pieces"), "")
		for i, shape := range shapes {
			if got, want := shape.is(s), exprs[i].MatchString(s); got != want && !strings.ContainsAny(s, "ſK") {
				t.Errorf("%s %q: %t, want %t", shape.name, s, got, want)
			}
		}
		if got, want := leadingNumber(s), number.FindString(s); got != want {
			t.Errorf("number of %q: %q, want %q", s, got, want)
		}
		if got, want := headerWords(s), strings.Fields(notWord.ReplaceAllString(s, " ")); !slices.Equal(got, want) {
			t.Errorf("words of %q: %q, want %q", s, got, want)
		}
	})
}
