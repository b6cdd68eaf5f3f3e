package aim

import (
	"fmt"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
)

const foot = .3048

// water holds rigs of every kind, aboard one boat in water with nothing else in it.
const head = `
version: 1
boat:
  holders:
    - {id: p, tip: {forward: 2 ft, port: 8 ft, up: 4 ft}}
    - {id: s, tip: {forward: 3 ft, starboard: 8 ft, up: 5 ft}}
  booms: [{id: b, end: {port: 5 ft, up: 3 ft}}]
  masts: [{id: m, top: {forward: 12 ft, up: 9 ft}}]
water: {temperature: 52 F, bottom: %s}
speed: {given: surface, value: %.3f mph}
downriggers: [{id: d, boom: b, cable: rigger-cable-150, ball: ball-round-12, cable_out: 60 ft}]
mast_boards: [{id: mb, mast: m, board: board-mast, line: braid-50, line_out: 110 ft, side: port}]
rods:
`

// rigs are the rods, the aimed one first.
var rigs = []struct{ name, rods string }{
	{"diver", `
  - {id: r, holder: p, rig: {kind: diver, line: braid-50, diver: diver-standard, behind: [{snubber: snubber-12in}, {leader: fluoro-20, length: 6 ft}, {lure: spoon-standard}]}, settings: {line_out: 120 ft, dial: 2, side: port}}`},
	{"diver on wire, no ring taken", `
  - {id: r, holder: s, reel: reel-line-counter-medium, rig: {kind: diver, line: wire-30, diver: diver-small, behind: [{attractor: flasher-8in}, {leader: fluoro-30, length: 5 ft}, {lure: fly-tinsel}]}, settings: {line_out: 150 ft, dial: 1.5, side: starboard}}`},
	{"tripped diver", `
  - {id: r, holder: p, rig: {kind: diver, line: braid-50, diver: diver-large, behind: [{leader: fluoro-20, length: 8 ft}, {lure: spoon-large}]}, settings: {line_out: 120 ft, dial: 2, side: port, tripped: on}}`},
	{"slide-through", `
  - {id: r, holder: p, rig: {kind: slide-through, line: mono-20, diver: slide-through-standard, behind: [{lure: spoon-light}]}, settings: {line_out: 90 ft, lead: 40 ft}}`},
	{"flat line with a weight", `
  - {id: r, holder: p, rig: {kind: flat-line, line: mono-12, behind: [{weight: sinker-2oz}, {leader: fluoro-20, length: 10 ft}, {lure: spoon-light}]}, settings: {line_out: 100 ft}}`},
	{"plug", `
  - {id: r, holder: s, rig: {kind: flat-line, line: mono-12, behind: [{lure: plug-deep}]}, settings: {line_out: 100 ft}}`},
	{"lead core", `
  - {id: r, holder: p, reel: reel-copper-extra-large, rig: {kind: weighted, line: braid-30, weighted: lead-core-27, behind: [{leader: fluoro-20, length: 20 ft}, {lure: spoon-standard}]}, settings: {line_out: 250 ft, colors: 5}}`},
	{"lead core by colors", `
  - {id: r, holder: p, rig: {kind: weighted, weighted: lead-core-18, behind: [{leader: fluoro-20, length: 20 ft}, {lure: spoon-standard}]}, settings: {colors: 5}}`},
	{"copper", `
  - {id: r, holder: s, rig: {kind: weighted, weighted: copper-45, behind: [{leader: fluoro-30, length: 20 ft}, {lure: plug-cut}]}, settings: {line_out: 220 ft}}`},
	{"weighted steel", `
  - {id: r, holder: p, rig: {kind: weighted, line: braid-50, weighted: weighted-steel-45, behind: [{leader: fluoro-30, length: 25 ft}, {lure: spoon-standard}]}, settings: {line_out: 300 ft}}`},
	{"board", `
  - {id: r, holder: p, rig: {kind: board, line: mono-17, board: board-in-line, behind: [{weight: clip-1oz}, {leader: fluoro-20, length: 8 ft}, {lure: spoon-light}]}, settings: {line_out: 100 ft, lead: 60 ft, side: port}}`},
	{"board and lead core", `
  - {id: r, holder: p, rig: {kind: board, line: braid-50, board: board-in-line, weighted: lead-core-18, behind: [{leader: fluoro-20, length: 20 ft}, {lure: spoon-standard}]}, settings: {line_out: 100 ft, colors: 5, side: port}}`},
	{"board and copper", `
  - {id: r, holder: s, rig: {kind: board, line: braid-50, board: board-in-line, weighted: copper-32, behind: [{leader: fluoro-20, length: 20 ft}, {lure: spoon-standard}]}, settings: {line_out: 90 ft, lead: 220 ft, side: starboard}}`},
	{"downrigger", `
  - {id: r, holder: p, rig: {kind: downrigger, line: mono-20, downrigger: d, behind: [{leader: fluoro-20, length: 6 ft}, {lure: spoon-standard}]}, settings: {lead: 15 ft, above_ball: 3 ft}}`},
	{"stacked", `
  - {id: r, holder: p, rig: {kind: downrigger, line: mono-20, downrigger: d, behind: [{lure: spoon-standard}]}, settings: {lead: 20 ft, above_ball: 20 ft}}
  - {id: low, holder: p, rig: {kind: downrigger, line: mono-20, downrigger: d, behind: [{lure: plug-cut}]}, settings: {lead: 15 ft, above_ball: 3 ft}}`},
	{"slider", `
  - {id: r, holder: p, rig: {kind: downrigger, line: mono-20, downrigger: d, behind: [{lure: spoon-standard}], slider: [{leader: mono-17, length: 6 ft}, {lure: spoon-light}]}, settings: {lead: 15 ft, above_ball: 3 ft, set_load: 4 N}}`},
	{"mast board", `
  - {id: r, holder: p, rig: {kind: mast-board, line: mono-17, mast_board: mb, behind: [{weight: clip-1oz}, {leader: fluoro-20, length: 8 ft}, {lure: spoon-light}]}, settings: {along: 70 ft, lead: 80 ft}}`},
}

func rig(t testing.TB, i int, mph float64, bottom string, set ...string) *sternfan.Scenario {
	t.Helper()
	text := fmt.Sprintf(head, bottom, mph) + rigs[i].rods
	sc, _, err := scenario.DecodeWith(rigs[i].name, []byte(text), scenario.Options{Known: tackle.Known, List: tackle.Names, Set: set})
	if err != nil {
		t.Fatal(err)
	}
	return sc
}
