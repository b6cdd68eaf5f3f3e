// Package logtest makes logs for tests: invented, seeded, and in proportion to a real
// day's fishing. Not evidence for anything.
package logtest

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"

	"sternfan/event"

	"sternfan"
)

// Maker makes the events of one device. Each has its own clock.
type Maker struct {
	By    string
	Now   int64 // milliseconds since 1970, by its clock
	Trip  event.ID
	East  int16 // minutes
	Rand  *rand.Rand
	lastM int64
}

// NewMaker returns a maker whose random numbers come from the seed.
func NewMaker(by string, now int64, seed uint64) *Maker {
	return &Maker{By: by, Now: now, East: -240, Rand: rand.New(rand.NewPCG(seed, 6))}
}

// Event returns an event at the maker's present, a millisecond later than its last.
func (m *Maker) Event(rod string, body event.Body) event.Event {
	m.lastM = max(m.lastM+1, m.Now)
	var chance [10]byte
	binary.BigEndian.PutUint64(chance[:8], m.Rand.Uint64())
	binary.BigEndian.PutUint16(chance[8:], uint16(m.Rand.Uint32()))
	e := event.Event{
		ID: event.MakeID(m.lastM, chance), At: event.Instant{Milli: m.lastM, Offset: m.East},
		By: m.By, Trip: m.Trip, Rod: rod, Body: body,
	}
	if _, ok := body.(event.TripBegins); ok {
		e.Trip, m.Trip = event.ID{}, e.ID
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
func (m *Maker) Line(rod int) event.LineSet {
	side, sign := "port", -1.0
	if rod%2 == 1 {
		side, sign = "starboard", 1
	}
	out := 30 + 5*float64(m.Rand.IntN(8))
	dial := .5 * float64(m.Rand.IntN(7))
	depth := out * (.55 - .06*dial)
	ring := dial < 2
	return event.LineSet{
		Line: event.Line{
			Rig: sternfan.RigDiver, Holder: fmt.Sprintf("holder-%d", rod), Position: fmt.Sprintf("%s diver %d", side, rod/2+1), Side: side,
			Parts: []event.Part{
				{ID: "line-1", Kind: sternfan.PartLine, Gear: "braid-50", Type: "braid"},
				{ID: "diver-1", Kind: sternfan.PartDiver, Gear: "diver-large", Type: "directional", Attributes: map[string]string{"color": colors[m.Rand.IntN(len(colors))]}},
				{ID: "leader-1", Kind: sternfan.PartLeader, Gear: "fluoro-20", Type: "fluorocarbon", Length: P(1.83)},
				{ID: "lure-1", Kind: sternfan.PartLure, Gear: lures[m.Rand.IntN(len(lures))], Type: "spoon", Attributes: map[string]string{"color": colors[m.Rand.IntN(len(colors))]}},
			},
			Settings: event.Settings{LineOut: P(out), Dial: P(dial), Side: side, Ring: &ring},
		},
		Fan: &event.Fan{Status: sternfan.StatusOK, Surface: 1.1, TipPull: 60, LineAngle: 35, Engine: "test", Lures: []event.Lure{{
			ID: "lure-1", Depth: depth, DepthLo: .93 * depth, DepthHi: 1.08 * depth, Side: sign * depth / 2, Astern: out * .7, ThroughWater: 1.05,
		}}},
	}
}

// Day returns the events of one trip of rods, with so many sets in all, in order of time.
// About one set in five ends in a strike.
func (m *Maker) Day(name string, rods, sets int) []event.Event {
	m.Trip = event.ID{}
	events := []event.Event{m.Event("", event.TripBegins{Name: name, Boat: "Second Cup", People: 5, Anglers: 4})}
	add := func(rod string, b event.Body) { events = append(events, m.Event(rod, b)) }
	add("", event.Conditions{OverGround: P(1.1), Heading: P(20), Bottom: P(60), Temperature: [][2]float64{{0, 19}, {20, 9}}, Current: []event.Current{{Depth: 0, Speed: .1, Toward: 60}}})
	out := make([]bool, rods)
	for n := range sets {
		m.Wait(2 + 4*m.Rand.Float64())
		k := n % rods
		rod := fmt.Sprintf("rod-%d", k+1)
		if out[k] {
			add(rod, event.LineIn{})
		}
		set := m.Line(k)
		add(rod, set)
		at := events[len(events)-1].ID
		out[k] = true
		switch m.Rand.IntN(15) {
		case 0, 1, 2:
			m.Wait(1 + 10*m.Rand.Float64())
			add(rod, event.Strike{Set: at, Fan: set.Fan})
			strike := events[len(events)-1].ID
			m.Wait(3)
			if m.Rand.IntN(3) == 0 {
				add(rod, event.Lost{Strike: strike})
			} else {
				fate := event.Kept
				if m.Rand.IntN(2) == 0 {
					fate = event.Released
				}
				add(rod, event.Landed{Strike: strike, Species: species[m.Rand.IntN(len(species))], Length: P(.6 + .3*m.Rand.Float64()), Fate: fate})
			}
			out[k] = false
		case 3:
			add(rod, event.LineChecked{})
		case 4:
			m.Wait(5)
			add(rod, event.LineFouled{With: "weed"})
		}
	}
	m.Wait(5)
	add("", event.TripEnds{})
	return events
}
