package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"sternfan"
	"sternfan/unit"

	"pgregory.net/rapid"
)

// helm is the made-up summer spread with what its rods are rigged with, and the same a
// little slower and faster, made up too.
func helm() (*sternfan.Fan, CardOptions) {
	fan, sc := summer()
	ft := func(v float64) sternfan.Q[unit.Length] { return sternfan.Of(unit.Length(v) * unit.Foot) }
	part := func(k sternfan.PartKind, gear string) sternfan.Part { return sternfan.Part{Kind: k, Gear: gear} }
	clip := func(on string) sternfan.Part { return sternfan.Part{Kind: sternfan.PartRelease, On: on} }
	one, none := sternfan.Of(1.0), sternfan.Of(0.0)
	rod := func(id string, s sternfan.Settings, parts ...sternfan.Part) sternfan.Rod {
		return sternfan.Rod{ID: id, Settings: s, Rig: sternfan.Rig{Parts: append(parts, part(sternfan.PartLure, "spoon"))}}
	}
	line := func(gear string) sternfan.Part { return part(sternfan.PartLine, gear) }
	diver := part(sternfan.PartDiver, "diver-standard")
	board := part(sternfan.PartBoard, "board")
	sc.Gear.Divers = []sternfan.Diver{{Item: sternfan.Item{ID: "diver-standard", Kind: "directional"}}, {Item: sternfan.Item{ID: "slide", Kind: "slide-through"}}}
	sc.Downriggers = []sternfan.Downrigger{{ID: "dr-p", CableOut: ft(80)}, {ID: "dr-s", CableOut: ft(92)}}
	sc.Rods = []sternfan.Rod{
		rod("p4", sternfan.Settings{LineOut: ft(80), Colors: sternfan.Of(6.0), Side: sternfan.Port}, line("lead-core-27"), board),
		rod("p3", sternfan.Settings{LineOut: ft(140), Dial: sternfan.Of(3.0), Ring: one, Side: sternfan.Port}, line("braid-50"), diver),
		rod("p2", sternfan.Settings{LineOut: ft(150), Dial: one, Ring: none, Side: sternfan.Port, CountFrom: "water"}, line("wire-30"), diver),
		rod("p1", sternfan.Settings{Lead: ft(25), AboveBall: ft(2.5)}, line("mono-20"), clip("dr-p")),
		rod("c1", sternfan.Settings{Colors: sternfan.Of(10.0)}, line("lead-core-27")),
		rod("s1", sternfan.Settings{Lead: ft(20)}, line("mono-20"), part(sternfan.PartSlider, ""), clip("dr-s")),
		rod("s2", sternfan.Settings{LineOut: ft(155), Dial: one, Side: sternfan.Starboard}, line("braid-50"), diver),
		rod("s3", sternfan.Settings{LineOut: ft(100), Lead: ft(40)}, line("mono-30"), part(sternfan.PartDiver, "slide")),
		rod("s4", sternfan.Settings{LineOut: ft(80), Lead: ft(100), Side: sternfan.Starboard}, line("mono-20"), board),
	}
	for _, p := range fan.Water.Temperature {
		sc.Water.Temperature = append(sc.Water.Temperature, sternfan.TempPoint{Depth: unit.Length(p[0]), Temperature: unit.Temperature(p[1])})
	}
	sc.Wants.Species = []sternfan.Species{{Name: "king salmon"}, {Name: "lake trout"}}
	at := func(speed, deeper float64) *sternfan.Fan {
		other, _ := summer()
		other.Speed.Surface += speed
		for i := range other.Rods {
			for j := range other.Rods[i].Lures {
				l := &other.Rods[i].Lures[j]
				l.Depth, l.DepthLo, l.DepthHi = deeper*l.Depth, deeper*l.DepthLo, deeper*l.DepthHi
			}
			other.Rods[i].TipPull *= 1 + 0.8*speed
		}
		return other
	}
	return fan, CardOptions{Options: Options{Scenario: sc}, Page: PageA5, Slower: at(-CardStep, 1.1), Faster: at(CardStep, 0.9), Date: "2026-07-14", File: "summer.yaml"}
}

func TestHandSteps(t *testing.T) {
	fan, opt := helm()
	for id, want := range map[string]string{
		"p4": "6 colors out, clip board, count 80 ft",
		"p3": "dial 3 port, ring on, count 140 ft",
		"p2": "dial 1 port, ring off, count 150 ft from the water",
		"p1": "lead 25 ft, clip 2.5 ft above ball, cable to 80 ft, reel to 3 lb",
		"c1": "10 colors out",
		"s1": "lead 20 ft, clip, cable to 92 ft, reel to 3 lb, add slider",
		"s3": "lead 40 ft, clamp diver, count 100 ft",
		"s4": "lead 100 ft, clip board, count 80 ft",
	} {
		if got := strings.Join(handSteps(opt.Scenario, trackOf(fan, id), unit.US), ", "); got != want {
			t.Errorf("%s: %q, want %q", id, got, want)
		}
	}
	if got := strings.Join(handSteps(opt.Scenario, trackOf(fan, "p1"), unit.SI), ", "); got != "lead 7.6 m, clip 0.8 m above ball, cable to 24.4 m, reel to 13 N" {
		t.Error(got)
	}
	if got := strings.Join(handSteps(nil, trackOf(fan, "p3"), unit.US), ", "); got != "dial 3 port, ring on" {
		t.Errorf("without the scenario: %q", got)
	}
}

// From the outside in, the shallower of those alike; a stack together, its lowest first.
func TestSettingOrder(t *testing.T) {
	fan, opt := helm()
	order := SettingOrder(fan, opt.Scenario)
	// By the sides and depths of the made-up spread: boards at 92 and 88 ft (both in the
	// step of 89 ft? 9 and 8 steps of 3 m), high divers 38 and 35, low divers 18 and 17,
	// riggers 6 and 6 (78 ft before 90), the chute at 0 is in their step and shallower.
	if got, want := strings.Join(order, " "), "p4 s4 s3 p3 p2 s2 c1 p1 s1"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// The same rule held against the numbers, whatever they are.
	for i := 1; i < len(order); i++ {
		a, b := mainLure(trackOf(fan, order[i-1])), mainLure(trackOf(fan, order[i]))
		if math.Abs(b.Side) > math.Abs(a.Side)+3 {
			t.Errorf("%s runs %g m out and is set after %s at %g m", order[i], b.Side, order[i-1], a.Side)
		}
	}
	// s2 stacked over s1 on one downrigger.
	sc := opt.Scenario
	sc.Rods[6].Rig.Parts = append(sc.Rods[6].Rig.Parts, sternfan.Part{Kind: sternfan.PartRelease, On: "dr-s"})
	sc.Rods[6].Settings.AboveBall = sternfan.Of(20 * unit.Foot)
	sc.Rods[6].Settings.Dial.Given = false
	order = SettingOrder(fan, sc)
	if i := slices.Index(order, "s1"); i < 0 || i+1 >= len(order) || order[i+1] != "s2" {
		t.Errorf("the stack is set apart or from above: %s", order)
	}
	if got := handSteps(sc, trackOf(fan, "s1"), unit.US); !slices.Contains(got, "cable to 20 ft") {
		t.Errorf("the cable goes down before the upper rod is clipped: %s", got)
	}
	if got := handSteps(sc, trackOf(fan, "s2"), unit.US); !slices.Contains(got, "cable to 92 ft") {
		t.Errorf("%s", got)
	}
}

// The drag is above the pull by a surge of a fifth in speed: 1.2 squared is 1.44, taken as
// 1.4; a setting is read to whole pounds or 5 N.
func TestDrag(t *testing.T) {
	fan, opt := helm()
	for _, r := range cardRows(fan, &opt) {
		if want := fmt.Sprint(math.Ceil(1.4 * r.track.TipPull / 4.4482216152605)); r.drag != want {
			t.Errorf("%s pulls %s: drag %s, want %s", r.name, r.pull, r.drag, want)
		}
	}
	if got := dragSetting(61, unit.SI); got != "65" {
		t.Error(got)
	}
}

// A drag that the pull asks for and that is over a third of the weakest label on the rod is
// flagged with that line's name; just under it is not. A leader counts as the line it is of.
func TestDragAgainstStrength(t *testing.T) {
	fan, opt := helm()
	sc := opt.Scenario
	sc.Gear.Lines = []sternfan.Line{{Item: sternfan.Item{ID: "wire-30"}, Strength: sternfan.Of(300 * unit.PoundForce)}, {Item: sternfan.Item{ID: "fluoro-x"}}}
	sc.Gear.Leaders = []sternfan.Leader{{Item: sternfan.Item{ID: "short"}, Line: "fluoro-x"}}
	rod := &sc.Rods[2]
	rod.Rig.Parts = append(rod.Rig.Parts, sternfan.Part{Kind: sternfan.PartLeader, Gear: "short"})
	flag := func() string {
		for _, r := range cardRows(fan, &opt) {
			if r.track.Rod == rod.ID {
				return r.flag
			}
		}
		return "?"
	}
	drag := surgePull * trackOf(fan, rod.ID).TipPull
	for _, c := range []struct {
		times float64
		want  string
	}{{2.9, "gloves, no wraps; drag over a third of fluoro-x"}, {3.1, "gloves, no wraps"}} {
		sc.Gear.Lines[1].Strength = sternfan.Of(unit.Force(c.times * drag))
		if got := flag(); got != c.want {
			t.Errorf("%g times the drag: %q, want %q", c.times, got, c.want)
		}
	}
}

// In the plan of a card each rod has its number in every view, and one that stands off is led
// to its lure.
func TestCardNumbersEveryRod(t *testing.T) {
	fan, opt := helm()
	for i := range 3 {
		r := fan.Rods[i]
		r.Rod, r.Position = r.Rod+"b", r.Position+" two"
		r.Lures = slices.Clone(r.Lures)
		for j := range r.Lures {
			r.Lures[j].Astern += 6
		}
		fan.Rods = append(fan.Rods, r)
	}
	for _, page := range []Page{PageA5, PageLetter} {
		opt.Page = page
		d := Card(fan, opt)
		if len(d.Views) != 4 {
			t.Fatal("there is no lines plan")
		}
		mm := d.Width / page.Wide
		for _, v := range d.Views[1:] {
			led := map[string]bool{}
			for _, s := range v.Shapes {
				if strings.HasPrefix(s.Class, "leader") {
					led[s.Rod] = true
				}
			}
			for _, r := range fan.Rods {
				var at, lure [2]float64
				seen := false
				for _, s := range v.Shapes {
					switch {
					case s.Rod == r.Rod && s.Kind == sternfan.ShapeText && strings.HasPrefix(s.Class, "label"):
						at, seen = s.Points[0], true
					case s.Rod == r.Rod && s.Kind == sternfan.ShapeMarker && s.Sign == "lure" && s.Part == r.Lures[0].ID:
						lure = s.Points[0]
					}
				}
				if !seen {
					t.Errorf("%g mm, %s: no number for %s", page.Wide, v.ID, r.Rod)
				} else if away := math.Hypot(at[0]-lure[0], at[1]-lure[1]) / mm; away > 8 && !led[r.Rod] {
					t.Errorf("%g mm, %s: the number of %s is %.1f mm off and not led", page.Wide, v.ID, r.Rod, away)
				}
			}
		}
	}
}

func TestCardCautionsStandInPlace(t *testing.T) {
	fan, opt := helm()
	flags := map[string]string{}
	for _, r := range cardRows(fan, &opt) {
		flags[r.track.Rod] = r.flag
	}
	for id, want := range map[string]string{"p2": "gloves, no wraps", "c1": "gloves, no wraps", "p3": "", "p1": "ball hung: slow into it", "s1": "ball hung: slow into it"} {
		if flags[id] != want {
			t.Errorf("%s: %q, want %q", id, flags[id], want)
		}
	}
	all := ""
	for _, n := range cardCautions(fan, &opt) {
		all += n.text + "\n"
	}
	for _, want := range []string{"gloves on", "without a wrap", "slow down into it", "cutter ready", "Not for navigation", "king salmon 5", "about 2 in 5 released lake trout died"} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	if strings.Contains(strings.ToLower(all), "safe") {
		t.Error(all)
	}
}

// Whatever is rigged, the card is one page: everything stands on the paper, no word over
// another, every rod with its number, steps and intervals.
func TestCardHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fan, opt := helm()
		opt.Page = rapid.SampledFrom([]Page{PageA5, PageLetter}).Draw(t, "page")
		opt.Units = rapid.SampledFrom([]unit.System{unit.US, unit.SI}).Draw(t, "units")
		n := rapid.IntRange(0, 64).Draw(t, "rods")
		all := fan.Rods
		fan.Rods = nil
		for i := range n {
			r := all[i%len(all)]
			r.Rod = fmt.Sprintf("%s-%d", r.Rod, i)
			if rapid.Bool().Draw(t, "long name") {
				r.Position = strings.Repeat(rapid.SampledFrom([]string{"port gunwale ", "WWWW", "船尾竿", "x"}).Draw(t, "name"), rapid.IntRange(1, 12).Draw(t, "times"))
			}
			r.Status = rapid.SampledFrom([]sternfan.Status{sternfan.StatusOK, sternfan.StatusOK, sternfan.StatusBottom, sternfan.StatusNotConverged}).Draw(t, "status")
			fan.Rods = append(fan.Rods, r)
		}
		if rapid.Bool().Draw(t, "one speed") {
			opt.Slower, opt.Faster = nil, nil
		}
		d := Card(fan, opt)
		holdsPage(t, d, opt.Page)
		if n > 0 {
			for i := range fan.Rods {
				if !slices.ContainsFunc(d.Views[0].Shapes, func(s sternfan.Shape) bool { return s.Rod == fan.Rods[i].Rod && s.Part == "number" }) {
					t.Fatalf("rod %d of %d is not on the card", i, n)
				}
			}
		}
	})
}

type failer interface {
	Fatalf(format string, args ...any)
	Helper()
}

// holdsPage checks that all of a card stands on its page and that no words overlap.
func holdsPage(t failer, d *sternfan.Drawing, page Page) {
	t.Helper()
	mm := d.Width / page.Wide
	if !d.Bare || d.Sheet != page.Wide || math.Abs(d.Height/mm-page.Tall) > 0.1 {
		t.Fatalf("a sheet of %g by %g mm", d.Sheet, d.Height/mm)
	}
	type word struct {
		text string
		box
	}
	var words []word
	for i := range d.Views {
		v := &d.Views[i]
		across, down := math.Abs(v.U.To-v.U.From), math.Abs(v.V.To-v.V.From)
		if v.Place[0] < 0 || v.Place[1] < 0 || v.Place[0]+across > d.Width+mm/10 || v.Place[1]+down > d.Height+mm/10 {
			t.Fatalf("the view %s leaves the page", v.ID)
		}
		for _, s := range v.Shapes {
			if s.Kind != sternfan.ShapeText {
				continue
			}
			size, wide := labelSize, letters(s.Text)*labelSize
			if s.Size > 0 {
				size = s.Size / mm
				wide = widthOf(s.Text, size, s.Class)
			}
			at := [2]float64{v.Place[0]/mm + s.Points[0][0]/mm, v.Place[1]/mm + s.Points[0][1]/mm}
			if v.ID != "card" {
				continue // labels of the plan are held by the plan's own tests
			}
			switch s.Anchor {
			case "middle":
				at[0] -= wide / 2
			case "end":
				at[0] -= wide
			}
			w := word{s.Text, box{at[0], at[1] - size/2, at[0] + wide, at[1] + size/2}}
			if w.u0 < 0 || w.v0 < 0 || w.u1 > page.Wide || w.v1 > page.Tall {
				t.Fatalf("%q leaves the page: %v", s.Text, w.box)
			}
			words = append(words, w)
		}
	}
	for i, a := range words {
		for _, b := range words[:i] {
			if a.hits(b.box) {
				t.Fatalf("%q %v lies over %q %v", a.text, a.box, b.text, b.box)
			}
		}
	}
	for i := range d.Views {
		v := &d.Views[i]
		if v.ID == "card" {
			continue
		}
		frame := box{v.Place[0] / mm, v.Place[1]/mm - 4, (v.Place[0] + math.Abs(v.U.To-v.U.From)) / mm, (v.Place[1] + math.Abs(v.V.To-v.V.From)) / mm}
		for _, w := range words {
			if w.hits(frame) {
				t.Fatalf("%q lies over the view %s", w.text, v.ID)
			}
		}
	}
}

// What is to be read at arm's length is large enough for it: the rods' names and steps of
// a dozen rods on A5. A capital is 0.72 of the size; at 0.5 m, ISO 9241-303 asks for 16
// minutes of arc at least.
func TestCardIsLegible(t *testing.T) {
	fan, opt := helm()
	for i := range 3 { // nine rods and three more make the dozen
		r := fan.Rods[i]
		r.Rod, r.Position = r.Rod+"b", r.Position+" two"
		fan.Rods = append(fan.Rods, r)
	}
	d := Card(fan, opt)
	if len(d.Views) != 4 {
		t.Fatal("there is no lines plan")
	}
	for _, s := range d.Views[0].Shapes {
		if s.Part != "number" {
			continue
		}
		name := s.Size / (d.Width / opt.Page.Wide) * cardName / cardNumber
		minutes := math.Atan(0.72*name/500) * 180 / math.Pi * 60
		if minutes < 16 {
			t.Errorf("names are %.1f mm, %.1f minutes of arc", name, minutes)
		}
		return
	}
}
