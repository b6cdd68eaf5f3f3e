package verdict_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// base reads a sound spread of an invented boat, in which a mistake is then made.
func base(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// within returns the text with a change made in one rod's lines only: many rods are rigged
// alike, and a slip of the hand is made on one of them.
func within(t testing.TB, text []byte, rod, from, to string) []byte {
	t.Helper()
	s := string(text)
	begin := strings.Index(s, "\n  - id: "+rod+"\n")
	if begin < 0 {
		t.Fatalf("no rod %s", rod)
	}
	end := len(s)
	if next := strings.Index(s[begin+1:], "\n  - id: "); next >= 0 {
		end = begin + 1 + next
	}
	own := s[begin:end]
	if !strings.Contains(own, from) {
		t.Fatalf("rod %s does not say %q", rod, from)
	}
	return []byte(s[:begin] + strings.Replace(own, from, to, 1) + s[end:])
}

// edit is one change: of a rod's lines, or of the first place in the file without a rod.
type edit struct{ rod, from, to string }

// slip is a mistake of a morning. It is found when one of the first two findings, which are
// what a captain reads in the first lines, has one of the codes and names all the rods.
type slip struct {
	kind  string
	base  string
	edits []edit
	codes []string
	rods  []string
}

var (
	crossed = []string{"lines-cross", "may-foul"}
	snub    = "        - {snubber: snubber-18in}\n"
)

var slips = []slip{
	{"dial to the wrong side", "weekend", []edit{{"pd", "dial: 2, side: port", "dial: 2, side: starboard"}},
		[]string{"wrong-side", "lines-cross"}, []string{"pd"}},
	{"dial to the wrong side", "dozen", []edit{{"s-high", "side: starboard", "side: port"}}, []string{"wrong-side", "lines-cross"}, []string{"s-high"}},
	{"dial to the wrong side", "metric", []edit{{"sd", "side: starboard", "side: port"}}, []string{"wrong-side", "lines-cross"}, []string{"sd"}},
	{"board to the wrong side", "boards", []edit{{"s2", "side: starboard", "side: port"}}, []string{"wrong-side", "lines-cross"}, []string{"s2"}},
	{"board to the wrong side", "dozen", []edit{{"p-ob", "side: port", "side: starboard"}}, []string{"wrong-side", "lines-cross"}, []string{"p-ob"}},
	{"two rods in one holder", "dozen", []edit{{"s-high", "holder: starboard-high", "holder: starboard-low"}},
		[]string{"one-holder"}, []string{"s-high", "s-low"}},
	{"two rods in one holder", "boards", []edit{{"p2", "holder: port-middle", "holder: port-inner"}}, []string{"one-holder"}, []string{"p1", "p2"}},
	{"two lines clipped at one height", "riggers", []edit{{"ph", "above_ball: 22 ft", "above_ball: 2 ft"}},
		[]string{"stacked-close", "lines-cross"}, []string{"pl", "ph"}},
	{"lines stacked 4 ft apart", "riggers", []edit{{"sh", "above_ball: 22 ft", "above_ball: 6 ft"}}, []string{"stacked-close"}, []string{"sl", "sh"}},
	{"outer board deeper than the inner", "dozen", []edit{{"p-ob", "colors: 5", "colors: 10"}, {"p-ib", "colors: 8", "colors: 4"}},
		[]string{"board-order"}, []string{"p-ob", "p-ib"}},
	{"outer board's line counted short of the inner's", "boards", []edit{{"p3", "line_out: 130 ft", "line_out: 45 ft"}}, append([]string{"board-order"}, crossed...),
		[]string{"p3"}},
	{"high diver dialed lower than the low one", "dozen", []edit{{"p-high", "dial: 3.5", "dial: 1"}, {"p-low", "dial: 1.5", "dial: 3.5"}},
		append([]string{"diver-order"}, crossed...), []string{"p-high", "p-low"}},
	{"high diver far too long", "dozen", []edit{{"s-high", "line_out: 170 ft", "line_out: 400 ft"}},
		append([]string{"diver-order"}, crossed...), []string{"s-high"}},
	{"high and low diver alike", "dozen", []edit{{"p-high", "dial: 3.5", "dial: 1.5"}}, append([]string{"diver-order"}, crossed...), []string{"p-high"}},
	{"ball deeper than the water", "weekend", []edit{{"", "cable_out: 65 ft", "cable_out: 165 ft"}}, []string{"bottom"}, []string{"dr-port"}},
	{"the sounder's 70 ft taken for 190", "riggers", []edit{{"", "bottom: 190 ft", "bottom: 70 ft"}}, []string{"bottom"}, nil},
	{"feet counted as meters", "metric", []edit{{"", "cable_out: 24 m", "cable_out: 65 m"}}, []string{"bottom"}, []string{"port-dr"}},
	{"copper on the bottom", "copper", []edit{{"", "bottom: 160 ft", "bottom: 60 ft"}}, []string{"bottom"}, []string{"cu"}},
	{"one ball on the bottom without asking", "lakers", []edit{{"", "cable_out: 125 ft, bottom: intended}\n  - {id: star", "cable_out: 125 ft}\n  - {id: star"}},
		[]string{"bottom"}, []string{"port-dr"}},
	{"no snubber on wire", "weekend", []edit{{"sd", "        - {snubber: snubber-12in}\n", ""}}, []string{"no-snubber"}, []string{"sd"}},
	{"no snubber on braid", "dozen", []edit{{"p-high", "        - {snubber: snubber-12in}\n", ""}}, []string{"no-snubber"}, []string{"p-high"}},
	{"no snubber on wire, both sides", "copper", []edit{{"pd", snub, ""}, {"sd", snub, ""}}, []string{"no-snubber"}, []string{"pd", "sd"}},
	{"fly 5 ft behind a flasher", "weekend", []edit{{"pd", "length: 22 in", "length: 5 ft"}}, []string{"far-fly"}, []string{"pd"}},
	{"fly 6 ft behind a flasher on a low diver", "dozen", []edit{{"s-low", "length: 22 in", "length: 6 ft"}}, []string{"far-fly"}, []string{"s-low"}},
	{"30 ft of leader behind a fixed diver", "weekend", []edit{{"sd", "length: 12 ft", "length: 30 ft"}}, []string{"long-leader"}, []string{"sd"}},
	{"20 m of leader behind a fixed diver", "metric", []edit{{"sd", "length: 3.6 m", "length: 20 m"}}, []string{"long-leader"}, []string{"sd"}},
	{"more line than the reel holds", "weekend", []edit{{"cu", "reel: reel-copper-extra-large", "reel: reel-line-counter-medium"}, {"cu", "line_out: 225 ft", "line_out: 500 ft"}},
		[]string{"beyond-spool"}, []string{"cu"}},
	{"more line than the reel holds", "copper", []edit{{"cu", "reel: reel-copper-extra-large", "reel: reel-line-counter-medium"}, {"cu", "line_out: 350 ft", "line_out: 600 ft"}},
		[]string{"beyond-spool"}, []string{"cu"}},
	{"5 mph", "riggers", []edit{{"", "value: 2.4 mph", "value: 5 mph"}}, []string{"speed", "lure-speed"}, nil},
	{"0.3 mph", "weekend", []edit{{"", "value: 2.3 mph", "value: 0.3 mph"}}, []string{"speed", "lure-speed", "bottom"}, nil},
	{"knots taken for km/h", "metric", []edit{{"", "value: 3.7 km/h", "value: 3.7 kn"}}, []string{"speed", "lure-speed"}, nil},
	{"lures all too fast", "boards", []edit{{"", "value: 2.0 mph", "value: 3.2 mph"}}, []string{"lure-speed"}, []string{"p1", "p2", "p3", "s1", "s2", "s3"}},
	{"lures all too slow", "dozen", []edit{{"", "value: 2.3 mph", "value: 1.2 mph"}}, []string{"lure-speed"}, []string{"p-rig", "s-rig", "copper"}},
	{"a following current taken for way", "weekend", []edit{{"", "bottom: 140 ft}",
		"bottom: 140 ft, current: [{depth: 0 ft, speed: 1.3 mph, toward: 0 deg}]}"}, {"", "given: surface", "given: ground"}}, []string{"lure-speed", "speed"}, nil},
	{"swaying dodger at 3.3 mph", "lakers", []edit{{"", "value: 2.0 mph", "value: 3.3 mph"}}, []string{"lure-speed"}, []string{"p"}},
	{"kicker down in the line's way", "weekend", []edit{{"", "aft: 1 ft, starboard: 1.5 ft", "aft: 1 ft, starboard: 3.5 ft"}}, []string{"near-boat"}, []string{"sr", "kicker"}},
	{"tip on the wrong side", "copper", []edit{{"", "position: port diver, tip: {forward: 3 ft, port: 10 ft", "position: port diver, tip: {forward: 3 ft, starboard: 10 ft"}},
		[]string{"holder-side", "wrong-side", "lines-cross"}, []string{"pd"}},
	{"rod of one side in the other side's holder", "weekend", []edit{{"pd", "holder: port-diver", "holder: starboard-diver"}, {"sd", "holder: starboard-diver", "holder: port-diver"}},
		[]string{"wrong-side", "lines-cross"}, []string{"pd"}},
	{"board inside a diver", "dozen", []edit{{"p-ib", "line_out: 140 ft", "line_out: 30 ft"}}, append([]string{"board-inside"}, crossed...), []string{"p-ib"}},
	{"copper across a rigger's line", "weekend", []edit{{"cu", "holder: chute", "holder: port-rigger"}, {"pr", "holder: port-rigger", "holder: chute"},
		{"cu", "line_out: 225 ft", "line_out: 350 ft"}, {"", "cable_out: 65 ft", "cable_out: 25 ft"}, {"pr", "lead: 20 ft", "lead: 150 ft"}}, crossed, []string{"cu", "pr"}},
	{"copper over a rigger's long lead", "dozen", []edit{{"center", "lead: 12 ft", "lead: 200 ft"}, {"", "cable_out: 120 ft", "cable_out: 40 ft"}}, crossed, []string{"copper", "center"}},
	{"set load too slack to hold the line", "riggers", []edit{{"cl", "set_load: 3 lb", "set_load: 0.3 lb"}}, []string{"slack"}, []string{"cl"}},
	{"line too weak for its diver", "dozen", []edit{{"p-low", "line: wire-30", "line: thread"},
		{"", "downriggers:", "gear:\n  lines: [{id: thread, from: wire-30, strength: 3 lb}]\ndowndriggers:"}, {"", "downdriggers:", "downriggers:"}},
		[]string{"over-strength"}, []string{"p-low"}},
	{"two lures in one place", "riggers", []edit{{"ch", "above_ball: 27 ft", "above_ball: 4 ft"}}, []string{"one-place", "stacked-close", "lines-cross"}, []string{"cl", "ch"}},
	{"riggers clipped across the stern", "metric", []edit{{"pr", "holder: port-rigger", "holder: starboard-rigger"}, {"sr", "holder: starboard-rigger", "holder: port-rigger"}},
		append([]string{"wrong-side"}, crossed...), []string{"pr"}},
	{"a port rod clipped to the starboard downrigger", "weekend", []edit{{"pr", "downrigger: dr-port", "downrigger: dr-starboard"}},
		append([]string{"wrong-side", "stacked-close"}, crossed...), []string{"pr"}},
	{"diver tripped early: trip set below its pull", "weekend", []edit{{"pd", "side: port}", "side: port, trip_load: 1 lb}"}}, []string{"trips"}, []string{"pd"}},
	{"release too light for its lead", "leads", []edit{{"pr", "set_load: 2 lb}", "set_load: 2 lb, trip_load: 0.05 lb}"}}, []string{"trips"}, []string{"pr"}},
	{"outer board pulled in by a long copper", "dozen", []edit{{"s-ob", "weighted: lead-core-27", "weighted: copper-45"}, {"s-ob", "colors: 5", "lead: 600 ft"}},
		[]string{"board-under", "board-order"}, []string{"s-ob"}},
	{"spoon dragged on top", "boards", []edit{{"sf", "        - {weight: clip-1oz}\n", ""}, {"sf", "line_out: 100 ft", "line_out: 16 ft"}, {"", "value: 2.0 mph", "value: 2.3 mph"}},
		[]string{"surface"}, []string{"sf"}},
	{"slide-through let down into the long lead beside it", "leads", []edit{{"", "port slide-through, tip: {forward: 8 ft, port: 10 ft", "port slide-through, tip: {forward: 8 ft, port: 6 ft"},
		{"ps", "line_out: 60 ft", "line_out: 85 ft"}}, crossed, []string{"ps", "pr"}},
	{"one dial forgotten among four divers", "dozen", []edit{{"p-low", "dial: 1.5", "dial: 3.5"}}, append([]string{"diver-order"}, crossed...), []string{"p-low"}},
	{"both boards of a side counted alike", "boards", []edit{{"p2", "line_out: 90 ft", "line_out: 130 ft"}, {"p2", "lead: 70 ft", "lead: 60 ft"}}, append([]string{"board-order"}, crossed...),
		[]string{"p2", "p3"}},
	{"propeller beside the center rigger", "riggers", []edit{{"", "propellers: [{forward: 2 ft, down: 2 ft}]", "propellers: [{aft: 2 ft, down: 2 ft}]"}}, []string{"near-boat"}, []string{"propeller"}},
	{"lead core left on the bottom in the shallows", "dozen", []edit{{"", "bottom: 220 ft", "bottom: 35 ft"}}, []string{"bottom"}, nil},
	{"20 lb ball's cable of thread", "weekend", []edit{{"", "cable: rigger-cable-150", "cable: mono-12"}, {"", "ball: ball-finned-12", "ball: ball-heavy"},
		{"", "downriggers:", "gear:\n  balls: [{id: ball-heavy, from: ball-finned-12, mass: 20 lb}]\ndownriggers:"}}, []string{"over-strength"}, []string{"dr-port"}},
}

// Every kind of slip is found above a remark, and named in the first two findings.
func TestASlipIsNamedInTheFirstTwoFindings(t *testing.T) {
	kinds := map[string]bool{}
	for i := range slips {
		s := &slips[i]
		kinds[s.kind] = true
		t.Run(s.kind+" "+s.base, func(t *testing.T) {
			text := base(t, s.base)
			for _, e := range s.edits {
				if e.rod == "" {
					text = changed(t, text, e.from, e.to)
				} else {
					text = within(t, text, e.rod, e.from, e.to)
				}
			}
			_, _, v := judged(t, s.base, text)
			for _, f := range v.Findings[:min(2, len(v.Findings))] {
				named := slices.Contains(s.codes, f.Code) && !f.Grade.Clear()
				for _, r := range s.rods {
					named = named && slices.Contains(f.Rods, r)
				}
				if named {
					return
				}
			}
			for _, f := range v.Findings {
				t.Logf("%s (%s) %v: %s", f.Code, f.Grade, f.Rods, f.Text)
			}
			t.Errorf("%v of %v is not among the first two", s.codes, s.rods)
		})
	}
	if len(kinds) < 20 {
		t.Errorf("%d kinds", len(kinds))
	}
}
