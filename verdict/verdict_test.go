package verdict_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
	"sternfan/internal/tier"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
	"sternfan/verdict"
)

// judged reads, solves and judges a scenario's text.
func judged(t *testing.T, name string, text []byte) (*tackle.Model, *sternfan.Fan, sternfan.Verdict) {
	t.Helper()
	sc, _, err := scenario.Decode(name, text)
	if err != nil {
		t.Fatal(err)
	}
	m, faults := tackle.Resolve(sc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	fan, err := spread.Solve(context.Background(), m, spread.Options{Intervals: true})
	if err != nil {
		t.Fatal(err)
	}
	return m, fan, verdict.Of(m, fan, unit.US)
}

func example(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// changed returns the demo with one piece of its text put in another's place.
func changed(t *testing.T, text []byte, pairs ...string) []byte {
	t.Helper()
	s := string(text)
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(s, pairs[i]) {
			t.Fatalf("the example no longer says %q", pairs[i])
		}
		s = strings.Replace(s, pairs[i], pairs[i+1], 1)
	}
	return []byte(s)
}

// The mistakes of a morning, each put into the demo: what must be found, and of which rods.
func TestMistakesAreFound(t *testing.T) {
	demo := example(t, "summer.yaml")
	for _, tt := range []struct {
		name, code string
		rods       []string
		edits      []string
	}{
		{"divers dialed to the wrong sides", "wrong-side", []string{"p-high"}, []string{
			"dial: 3, side: port, ring: off", "dial: 3, side: starboard, ring: off",
			"dial: 3.5, side: starboard, ring: off", "dial: 3.5, side: port, ring: off"}},
		{"they cross under the stern", "lines-cross", []string{"s-high"}, []string{
			"dial: 3, side: port, ring: off", "dial: 3, side: starboard, ring: off",
			"dial: 3.5, side: starboard, ring: off", "dial: 3.5, side: port, ring: off"}},
		{"two lures in one place", "one-place", []string{"p-rigger", "p-stack"}, []string{"lead: 25 ft, above_ball: 20 ft", "lead: 15 ft, above_ball: 2 ft"}},
		{"two rods in one holder", "one-holder", []string{"s-low", "s-high"}, []string{"holder: starboard-high", "holder: starboard-low"}},
		{"a board set to the wrong side", "wrong-side", []string{"s-board"}, []string{"lead: 100 ft, side: starboard", "lead: 100 ft, side: port"}},
		{"fifty feet of leader behind a fixed diver", "long-leader", []string{"p-high"}, []string{
			"leader: fluoro-20, length: 12 ft}\n        - {lure: spoon-dawn}", "leader: fluoro-20, length: 50 ft}\n        - {lure: spoon-dawn}"}},
		{"lures all too fast", "lure-speed", []string{"p-low", "chute"}, []string{"value: 2.5 mph", "value: 3.4 mph"}},
		{"lines stacked at one place", "stacked-close", []string{"p-rigger", "p-stack"}, []string{"above_ball: 20 ft", "above_ball: 6 ft"}},
		{"no snubber on wire", "no-snubber", []string{"s-low"}, []string{"        - {snubber: snubber-18in}\n        - {leader: fluoro-30, length: 11 ft}\n        - {attractor: paddle-10in}", "        - {leader: fluoro-30, length: 11 ft}\n        - {attractor: paddle-10in}"}},
		{"a ball on the bottom", "bottom", []string{"dr-center"}, []string{"bottom: 210 ft", "bottom: 95 ft"}},
	} {
		_, _, v := judged(t, tt.name, changed(t, demo, tt.edits...))
		found := false
		for _, f := range v.Findings {
			has := map[string]bool{}
			for _, r := range f.Rods {
				has[r] = true
			}
			ok := f.Code == tt.code
			for _, r := range tt.rods {
				ok = ok && has[r]
			}
			found = found || ok
			if f.Text == "" || f.Grade.Rank() < 0 || len(f.Rods) == 0 && f.Code != "speed" {
				t.Errorf("%s: a finding without grade, rods or words: %+v", tt.name, f)
			}
		}
		if !found || v.Grade.Clear() {
			t.Errorf("%s: %s of %v is not found; grade %s, %+v", tt.name, tt.code, tt.rods, v.Grade, v.Findings)
		}
	}
}

// step is how far apart the points of a walk are at most, m: two inches.
const step = 2 * 0.0254

// scan is the least distance between two tracks from 10 ft below their tips on, point by
// point along the fan's own curves, two inches at a time. A point that is farther off than
// the nearest yet by so much cannot be followed by a nearer one before that length is gone.
func scan(a, b *sternfan.Track) float64 {
	near := math.Inf(1)
	other := walk(b)
	for _, p := range walk(a) {
		for _, x := range p {
			for _, q := range other {
				for k := 0; k < len(q); {
					y := q[k]
					d := math.Sqrt((x[0]-y[0])*(x[0]-y[0]) + (x[1]-y[1])*(x[1]-y[1]) + (x[2]-y[2])*(x[2]-y[2]))
					near = math.Min(near, d)
					k += max(1, int((d-near)/step))
				}
			}
		}
	}
	return near
}

// walk returns points along each part of a track.
func walk(t *sternfan.Track) [][][3]float64 {
	const tip = 3.048
	var out [][][3]float64
	s := 0.0
	for _, p := range t.Parts {
		var part [][3]float64
		for k := 1; k < len(p.Points); k++ {
			u, v := p.Points[k-1], p.Points[k]
			l := math.Sqrt((u[0]-v[0])*(u[0]-v[0]) + (u[1]-v[1])*(u[1]-v[1]) + (u[2]-v[2])*(u[2]-v[2]))
			n := int(l/step) + 1
			for i := range n {
				f := float64(i) / float64(n)
				if s+f*l < tip {
					continue
				}
				part = append(part, [3]float64{u[0] + f*(v[0]-u[0]), u[1] + f*(v[1]-u[1]), u[2] + f*(v[2]-u[2])})
			}
			s += l
		}
		out = append(out, part)
	}
	return out
}

// The distance of lines that cross is that of walking along both, and no pair that the walk
// finds within a foot is left out.
func TestDistancesAreThoseOfAWalkAlongTheLines(t *testing.T) {
	tier.Native(t)
	demo := example(t, "summer.yaml")
	texts := map[string][]byte{"demo": demo, "wrong sides": changed(t, demo, "dial: 3, side: port, ring: off", "dial: 3, side: starboard, ring: off",
		"dial: 3.5, side: starboard, ring: off", "dial: 3.5, side: port, ring: off")}
	for _, name := range []string{"class.yaml", "deep.yaml", "laketrout.yaml", "spring.yaml"} {
		texts[name] = example(t, name)
	}
	crossings := 0
	for name, text := range texts {
		m, fan, v := judged(t, name, text)
		told := map[[2]string]float64{}
		for _, f := range v.Findings {
			if f.Code == "lines-cross" {
				told[[2]string{f.Rods[0], f.Rods[1]}] = *f.Distance
			}
		}
		for i := range fan.Rods {
			for k := i + 1; k < len(fan.Rods); k++ {
				a, b := &fan.Rods[i], &fan.Rods[k]
				if g := m.Rods[i].Group; g == m.Rods[k].Group {
					continue // what two lines on one cable are ahead of their releases is left out
				}
				d := scan(a, b)
				got, ok := told[[2]string{a.Rod, b.Rod}]
				if ok {
					crossings++
				}
				// The walk's own steps of two inches are worth one inch of distance.
				if !ok && d < 0.3048 || ok && math.Abs(d-got) > 0.03 {
					t.Errorf("%s: %s and %s are %.3f m apart by the walk, told %.3f (%v)", name, a.Rod, b.Rod, d, got, ok)
				}
			}
		}
	}
	if crossings == 0 {
		t.Error("no crossing was looked at")
	}
}

// Every code that a finding may have stands in docs/findings.md with the same words.
func TestCodesAreDocumented(t *testing.T) {
	doc, err := os.ReadFile(filepath.Join("..", "docs", "findings.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range verdict.Rules() {
		if row := "| `" + r.Code + "` | " + r.What + " | " + r.Ground + " |\n"; !strings.Contains(string(doc), row) {
			t.Errorf("docs/findings.md has no row %q", row)
		}
	}
	for _, g := range sternfan.Grades() {
		if !strings.Contains(string(doc), "| `"+string(g)+"` |") {
			t.Errorf("docs/findings.md does not name the grade %s", g)
		}
	}
}
