package dynamics_test

import (
	"testing"

	"sternfan/internal/reference/scipy"
	"sternfan/internal/towtest"
	"sternfan/tow"
)

// built is a fixture's system with the way back to its names.
type built struct {
	id   string
	sys  *tow.System
	env  *tow.Env
	node map[string]int
}

// fixtures builds every case of the statics' reference.
func fixtures(t testing.TB) []built {
	t.Helper()
	cases, err := scipy.Load()
	if err != nil {
		t.Fatal(err)
	}
	var out []built
	for i := range cases {
		r := towtest.FromCase(t, &cases[i], true)
		out = append(out, built{r.ID, r.Sys, r.Env, r.Node})
	}
	return out
}
