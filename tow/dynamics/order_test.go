package dynamics_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"sternfan/geom"
	"sternfan/hydro"
	"sternfan/tow"
	"sternfan/tow/dynamics"
)

var update = flag.Bool("update", false, "rewrite the refinement tables of docs/validation.md")

// weighted is a line with a weight at its end, the tip a little off the boat.
func weighted(length, kg, diameter, mass, ea float64) (*tow.System, *tow.Env) {
	sys := &tow.System{Nodes: []tow.Node{{Kind: tow.Fixed, At: geom.Vec{X: -1, Y: 2, Z: -1}},
		{Bodies: []hydro.Body{{Mass: kg, Volume: kg / 11300, AddedMass: kg / 11.3 / 2, DragArea: 0.002}}}},
		Lines: []tow.Line{{From: 1, To: 0, Length: length, Props: hydro.Line{Diameter: diameter, Mass: mass, EA: ea, Auto: true, Cf: 0.02}}},
		Root:  0, Main: 1, Pull: []float64{0, 0}}
	return sys, &tow.Env{Water: fresh(), Speed: 1.0}
}

// halfTurn is six minutes with a turn of 180 degrees in them.
func halfTurn() *dynamics.Track {
	return dynamics.NewTrack(geom.Vec{}, turning(1, math.Pi, 30, 60, 3, 206))
}

// depths runs the half turn and returns the end's depth every two seconds.
func depths(t testing.TB, sys *tow.System, sol *tow.Solution, env *tow.Env, opt dynamics.Options) ([]float64, dynamics.Count) {
	t.Helper()
	var r dynamics.Run
	if st := r.Start(sys, sol, env, halfTurn(), opt); st != dynamics.OK {
		t.Fatalf("%s, %+v", st, r.Count())
	}
	var z []float64
	if st := r.Watch(context.Background(), 360, 2, func(float64) {
		p, _ := r.Node(1)
		z = append(z, p.Z)
	}); st != dynamics.OK {
		t.Fatalf("%s at %g s, %+v", st, r.Time(), r.Count())
	}
	return z, r.Count()
}

// apart returns the largest difference relative to the depth.
func apart(a, b []float64) float64 {
	worst := 0.0
	for i := range a {
		worst = math.Max(worst, math.Abs(a[i]-b[i])/b[i])
	}
	return worst
}

// TestRefinement measures the orders of convergence in time and space through a half turn
// and holds the default settings to 0.2 % of the finest at all times. The tables go to
// docs/validation.md.
func TestRefinement(t *testing.T) {
	sys, env := weighted(100, 0.5, 0.0005, 0.0015, 4e4)
	sol := at(t, sys, env)
	var table strings.Builder

	fmt.Fprintf(&table, "| step | depth off by | order |\n| --- | --- | --- |\n")
	ref, _ := depths(t, sys, sol, env, dynamics.Options{Step: 0.0125})
	last, order := 0.0, 0.0
	for _, step := range []float64{1.6, 0.8, 0.4, 0.2, 0.1} {
		z, _ := depths(t, sys, sol, env, dynamics.Options{Step: step})
		d := apart(z, ref)
		order = math.Log2(last / d)
		line(&table, fmt.Sprintf("%g s", step), d, order, last > 0)
		last = d
	}
	if order < 1.8 || order > 2.3 {
		t.Errorf("order in time %.2f, want 2", order)
	}

	fmt.Fprintf(&table, "\n| segments | depth off by | order |\n| --- | --- | --- |\n")
	const tight = 2e-5
	ref, _ = depths(t, sys, sol, env, dynamics.Options{Nodes: 320, Tolerance: tight})
	last = 0
	mean := 0.0
	for _, nodes := range []int{10, 20, 40, 80, 160} {
		z, _ := depths(t, sys, sol, env, dynamics.Options{Nodes: nodes, Tolerance: tight})
		d := apart(z, ref)
		order = math.Log2(last / d)
		if last > 0 {
			mean += order / 4
		}
		line(&table, fmt.Sprint(nodes), d, order, last > 0)
		last = d
	}
	if mean < 1.8 || mean > 2.5 {
		t.Errorf("order in space %.2f, want 2", mean)
	}

	z, count := depths(t, sys, sol, env, dynamics.Options{})
	d := apart(z, ref)
	fmt.Fprintf(&table, "\nAt the default settings (20 segments, steps as the tolerance needs): off by %.1e of the\ndepth at most, in %d steps.\n", d, count.Steps)
	if d > 2e-3 {
		t.Errorf("default settings off by %.2e of the depth", d)
	}
	golden(t, "../../docs/validation.md", "refinement", table.String())
}

func line(w *strings.Builder, name string, d, order float64, known bool) {
	text := "–"
	if known {
		text = fmt.Sprintf("%.1f", order)
	}
	fmt.Fprintf(w, "| %s | %.1e | %s |\n", name, d, text)
}

// alike reports whether two texts differ in numbers only, and those by less than a tenth: the
// last digits hang on where the statics lay the points.
func alike(a, b string) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if x[i] == y[i] {
			continue
		}
		v, err1 := strconv.ParseFloat(x[i], 64)
		w, err2 := strconv.ParseFloat(y[i], 64)
		if err1 != nil || err2 != nil || math.Abs(v-w) > 0.1*math.Max(v, w) {
			return false
		}
	}
	return true
}

// golden holds the text between two marks of a file.
func golden(t *testing.T, file, mark, want string) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	begin, end := "<!-- "+mark+": computed, begin -->\n", "<!-- "+mark+": computed, end -->"
	head, rest, ok := strings.Cut(string(data), begin)
	old, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatalf("%s has no marks %q", file, mark)
	}
	if old == want || !*update && alike(old, want) {
		return
	}
	if !*update {
		t.Fatalf("%s: the table %q is not what is computed; run the test with -update\nhave:\n%s\nwant:\n%s", file, mark, old, want)
	}
	if err := os.WriteFile(file, []byte(head+begin+want+end+tail), 0o644); err != nil {
		t.Fatal(err)
	}
}
