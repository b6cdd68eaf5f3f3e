package verdict_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/internal/tier"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
	"sternfan/verdict"
)

// number is a length, speed or mark in a base's text that a mutation takes another of.
type number struct {
	key    string
	least  float64
	most   float64
	places int
}

var numbers = []number{
	{"line_out: ", 40, 500, 0}, {"cable_out: ", 15, 160, 0}, {"lead: ", 9, 120, 0}, {"above_ball: ", 1, 30, 0}, {"set_load: ", 1, 6, 1},
	{"dial: ", 0, 8, -1}, {"value: ", 1, 4, 1}, {"bottom: ", 30, 240, 0}, {"port: ", 1, 12, 1}, {"starboard: ", 1, 12, 1}, {"length: ", 1, 40, 0},
}

// mutated makes two to six changes in a base: a side, a rod in another's holder, or a number
// as a slip of the finger does.
func mutated(r *rand.Rand, text string) string {
	for range 2 + r.IntN(5) {
		switch r.IntN(5) {
		case 0:
			sides := []string{"side: port", "side: starboard"}
			text = replaceOne(r, text, sides[r.IntN(2)], func(rest string) (string, string) { return sides[r.IntN(2)], rest })
			continue
		case 1:
			holders := strings.Split(text, "    holder: ")[1:]
			other, _, _ := strings.Cut(holders[r.IntN(len(holders))], "\n")
			text = replaceOne(r, text, "    holder: ", func(rest string) (string, string) {
				_, rest, _ = strings.Cut(rest, "\n")
				return "    holder: " + other + "\n", rest
			})
			continue
		}
		n := numbers[r.IntN(len(numbers))]
		text = replaceOne(r, text, n.key, func(rest string) (string, string) {
			end := strings.IndexFunc(rest, func(c rune) bool { return (c < '0' || c > '9') && c != '.' })
			if end <= 0 {
				return n.key, rest
			}
			x := n.least + r.Float64()*(n.most-n.least)
			if n.places < 0 { // marks go in halves
				return n.key + fmt.Sprint(math.Round(x)/2), rest[end:]
			}
			return n.key + fmt.Sprintf("%.*f", n.places, x), rest[end:]
		})
	}
	return text
}

// replaceOne has one of the places of a key in a text put anew.
func replaceOne(r *rand.Rand, text, key string, put func(rest string) (string, string)) string {
	var at []int
	for from := 0; ; {
		i := strings.Index(text[from:], key)
		if i < 0 {
			break
		}
		at = append(at, from+i)
		from += i + len(key)
	}
	if len(at) == 0 {
		return text
	}
	i := at[r.IntN(len(at))]
	head, rest := put(text[i+len(key):])
	return text[:i] + head + rest
}

// parties are all that a finding of a scenario may be about.
func parties(sc *sternfan.Scenario) map[string]bool {
	out := map[string]bool{}
	for i := range sc.Rods {
		out[sc.Rods[i].ID] = true
	}
	for i := range sc.Downriggers {
		out[sc.Downriggers[i].ID] = true
	}
	for i := range sc.MastBoards {
		out[sc.MastBoards[i].ID] = true
	}
	return out
}

// Whatever is changed in a sound spread, what is said of it holds together: codes, grades,
// rods and words are there, the worst comes first and is the headline's, and two lines that
// cross are as near each other as a walk along both says.
func TestWhatIsSaidOfAMutantHoldsTogether(t *testing.T) {
	tier.Native(t)
	codes := map[string]bool{}
	for _, r := range verdict.Rules() {
		codes[r.Code] = true
	}
	bases := map[string]string{}
	for _, name := range sound {
		bases[name] = string(base(t, name))
	}
	judgedOnes, grave, crossings := 0, 0, 0
	count := tier.Count(300, 1000, 3000)
	for seed := range count {
		r := rand.New(rand.NewPCG(uint64(seed), 20261201))
		name := sound[seed%len(sound)]
		text := mutated(r, bases[name])
		sc, _, err := scenario.Decode(name, []byte(text))
		if err != nil {
			continue // a fault of the file is said before anything is solved
		}
		m, faults := tackle.Resolve(sc)
		if len(faults) > 0 {
			continue
		}
		fan, err := spread.Solve(context.Background(), m, spread.Options{Intervals: true})
		if err != nil {
			t.Errorf("%s %d: %v", name, seed, err)
			continue
		}
		judgedOnes++
		verdict.Judge(m, fan, unit.US)
		v := fan.Verdict
		tracks := map[string]*sternfan.Track{}
		for _, list := range [][]sternfan.Track{fan.Rods, fan.Devices} {
			for i := range list {
				tracks[list[i].Rod] = &list[i]
			}
		}
		there := parties(m.Scenario)
		told := map[[2]string]bool{}
		worst := sternfan.GradeClear
		for i := range v.Findings {
			f := &v.Findings[i]
			if i == 0 {
				worst = f.Grade
			}
			if !codes[f.Code] || f.Grade.Rank() < 0 || f.Grade == sternfan.GradeClear || strings.TrimSpace(f.Text) == "" || f.Grade.Rank() < worst.Rank() {
				t.Errorf("%s %d: code, grade, words or order of %+v", name, seed, f)
			}
			for _, id := range f.Rods {
				if !there[id] && !sternfan.PartOfBoat(id) {
					t.Errorf("%s %d: %s is about %q, which is not there", name, seed, f.Code, id)
				}
			}
			if len(f.Rods) == 0 && f.Code != "speed" && f.Code != "note" {
				t.Errorf("%s %d: %s is about nothing", name, seed, f.Code)
			}
			if f.Code != "lines-cross" {
				continue
			}
			a, b := tracks[f.Rods[0]], tracks[f.Rods[1]]
			if slices.Contains(f.Rods, "") || a == nil || b == nil || f.Distance == nil {
				t.Errorf("%s %d: %+v", name, seed, f)
				continue
			}
			if together(m, f.Rods[0], f.Rods[1]) {
				continue // what two lines on one cable are ahead of their releases is left out
			}
			crossings++
			told[[2]string{f.Rods[0], f.Rods[1]}] = true
			if d := scan(a, b); math.Abs(d-*f.Distance) > 0.1*0.3048 {
				t.Errorf("%s %d: %v are %.3f m apart by the walk, told %.3f", name, seed, f.Rods, d, *f.Distance)
			}
		}
		for i := range fan.Rods {
			for k := range i {
				a, b := &fan.Rods[i], &fan.Rods[k]
				if fan.Lacks(a.Rod) || fan.Lacks(b.Rod) || together(m, a.Rod, b.Rod) || told[[2]string{a.Rod, b.Rod}] || told[[2]string{b.Rod, a.Rod}] {
					continue
				}
				if d := scan(a, b); d < 0.3048 {
					t.Errorf("%s %d: %s and %s are %.3f m apart by the walk, and nothing is told of it", name, seed, a.Rod, b.Rod, d)
				}
			}
		}
		if v.Grade != worst {
			t.Errorf("%s %d: grade %s, worst %s", name, seed, v.Grade, worst)
		}
		head := report.Headline(fan, unit.US)
		switch {
		case !v.Grade.Clear():
			grave++
			if !strings.Contains(head, v.Findings[0].Text) {
				t.Errorf("%s %d: the headline is %q, the worst %q", name, seed, head, v.Findings[0].Text)
			}
		case len(fan.Missing) == 0 && !strings.Contains(head, "clear"):
			t.Errorf("%s %d: nothing is wrong and the headline is %q", name, seed, head)
		}
	}
	t.Logf("%d of %d judged, %d with a fault, %d crossings walked", judgedOnes, count, grave, crossings)
	if judgedOnes < count*3/4 || grave < count/5 || grave > judgedOnes*19/20 || crossings < count/30 {
		t.Errorf("the mutations say little: %d of %d judged, %d with a fault, %d crossings", judgedOnes, count, grave, crossings)
	}
}

// together reports whether two parties are or hang on one cable.
func together(m *tackle.Model, a, b string) bool {
	group := func(id string) int {
		for i := range m.Scenario.Rods {
			if m.Scenario.Rods[i].ID == id {
				return m.Rods[i].Group
			}
		}
		for g := range m.Groups {
			if d := m.Groups[g].Downrigger; d >= 0 && m.Scenario.Downriggers[d].ID == id {
				return g
			}
			if d := m.Groups[g].MastBoard; d >= 0 && m.Scenario.MastBoards[d].ID == id {
				return g
			}
		}
		return -1
	}
	return group(a) == group(b)
}
