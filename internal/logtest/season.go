// Package logtest makes logs for tests: invented, seeded, and in proportion to a real
// day's fishing. Not evidence for anything.
package logtest

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"

	"sternfan"
)

// Maker makes the events of one device. Each has its own clock.
type Maker struct {
	By    string
	Now   int64 // milliseconds since 1970, by its clock
	Trip  sternfan.EventID
	East  int16 // minutes
	Rand  *rand.Rand
	lastM int64
}

// NewMaker returns a maker whose random numbers come from the seed.
func NewMaker(by string, now int64, seed uint64) *Maker {
	return &Maker{By: by, Now: now, East: -240, Rand: rand.New(rand.NewPCG(seed, 6))}
}

// Event returns an event at the maker's present, a millisecond later than its last.
func (m *Maker) Event(rod string, body sternfan.Body) sternfan.Event {
	m.lastM = max(m.lastM+1, m.Now)
	var chance [10]byte
	binary.BigEndian.PutUint64(chance[:8], m.Rand.Uint64())
	binary.BigEndian.PutUint16(chance[8:], uint16(m.Rand.Uint32()))
	e := sternfan.Event{
		ID: sternfan.MakeEventID(m.lastM, chance), At: sternfan.Instant{Milli: m.lastM, Offset: m.East},
		By: m.By, Trip: m.Trip, Rod: rod, Body: body,
	}
	if _, ok := body.(sternfan.TripBegins); ok {
		e.Trip, m.Trip = sternfan.EventID{}, e.ID
	}
	return e
}

// Wait lets minutes pass.
func (m *Maker) Wait(minutes float64) { m.Now += int64(minutes * 60000) }

// P returns a pointer to a number.
func P(v float64) *float64 { return &v }

var (
	colors  = []string{"green", "black", "silver", "blue", "orange glow", "white"}
	lures   = []string{"spoon-standard", "spoon-light", "plug-cut", "fly-tinsel"}
	species = []string{"king salmon", "steelhead", "coho salmon", "lake trout"}
)

// Line returns a diver's line with random settings, solved to a made-up depth.
func (m *Maker) Line(rod int) sternfan.LineSet {
	side, sign := "port", -1.0
	if rod%2 == 1 {
		side, sign = "starboard", 1
	}
	out := 30 + 5*float64(m.Rand.IntN(8))
	dial := .5 * float64(m.Rand.IntN(7))
	depth := out * (.55 - .06*dial)
	ring := dial < 2
	return sternfan.LineSet{
		Line: sternfan.LogLine{
			Rig: sternfan.RigDiver, Holder: fmt.Sprintf("holder-%d", rod), Position: fmt.Sprintf("%s diver %d", side, rod/2+1), Side: side,
			Parts: []sternfan.LogPart{
				{ID: "line-1", Kind: sternfan.PartLine, Gear: "braid-50", Type: "braid"},
				{ID: "diver-1", Kind: sternfan.PartDiver, Gear: "diver-large", Type: "directional", Attributes: map[string]string{"color": colors[m.Rand.IntN(len(colors))]}},
				{ID: "leader-1", Kind: sternfan.PartLeader, Gear: "fluoro-20", Type: "fluorocarbon", Length: P(1.83)},
				{ID: "lure-1", Kind: sternfan.PartLure, Gear: lures[m.Rand.IntN(len(lures))], Type: "spoon", Attributes: map[string]string{"color": colors[m.Rand.IntN(len(colors))]}},
			},
			Settings: sternfan.LogSettings{LineOut: P(out), Dial: P(dial), Side: side, Ring: &ring},
		},
		Fan: &sternfan.LogFan{Status: sternfan.StatusOK, Surface: 1.1, TipPull: 60, LineAngle: 35, Engine: "test", Lures: []sternfan.LogLure{{
			ID: "lure-1", Depth: depth, DepthLo: .93 * depth, DepthHi: 1.08 * depth, Side: sign * depth / 2, Astern: out * .7, ThroughWater: 1.05,
		}}},
	}
}

// Day returns the events of one trip of rods, with so many sets in all, in order of time.
// About one set in five ends in a strike.
func (m *Maker) Day(name string, rods, sets int) []sternfan.Event {
	m.Trip = sternfan.EventID{}
	events := []sternfan.Event{m.Event("", sternfan.TripBegins{Name: name, Boat: "Second Cup", People: 5, Anglers: 4})}
	add := func(rod string, b sternfan.Body) { events = append(events, m.Event(rod, b)) }
	add("", sternfan.Conditions{OverGround: P(1.1), Heading: P(20), Bottom: P(60), Temperature: [][2]float64{{0, 19}, {20, 9}}, Current: []sternfan.CurrentRead{{Depth: 0, Speed: .1, Toward: 60}}})
	out := make([]bool, rods)
	for n := range sets {
		m.Wait(2 + 4*m.Rand.Float64())
		k := n % rods
		rod := fmt.Sprintf("rod-%d", k+1)
		if out[k] {
			add(rod, sternfan.LineIn{})
		}
		set := m.Line(k)
		add(rod, set)
		at := events[len(events)-1].ID
		out[k] = true
		switch m.Rand.IntN(15) {
		case 0, 1, 2:
			m.Wait(1 + 10*m.Rand.Float64())
			add(rod, sternfan.Struck{Set: at, Fan: set.Fan})
			strike := events[len(events)-1].ID
			m.Wait(3)
			if m.Rand.IntN(3) == 0 {
				add(rod, sternfan.Lost{Strike: strike})
			} else {
				fate := sternfan.Kept
				if m.Rand.IntN(2) == 0 {
					fate = sternfan.Released
				}
				add(rod, sternfan.Landed{Strike: strike, Species: species[m.Rand.IntN(len(species))], Length: P(.6 + .3*m.Rand.Float64()), Fate: fate})
			}
			out[k] = false
		case 3:
			add(rod, sternfan.LineChecked{})
		case 4:
			m.Wait(5)
			add(rod, sternfan.LineFouled{With: "weed"})
		}
	}
	m.Wait(5)
	add("", sternfan.TripEnds{})
	return events
}
