package tackle

import (
	"math"
	"sync"

	"sternfan"
	"sternfan/unit"
)

// The kinds of gear by which [Known] and [Names] ask.
const (
	kindLine      = "line"
	kindReel      = "reel"
	kindDiver     = "diver"
	kindBoard     = "board"
	kindBall      = "ball"
	kindWeight    = "weight"
	kindAttractor = "attractor"
	kindLure      = "lure"
	kindLeader    = "leader"
	kindSnubber   = "snubber"
)

// Builtins returns the built-in gear: named defaults of which every number says its
// source and uncertainty. It is made once and shared; callers must not change it.
func Builtins() *sternfan.Gear { return builtins() }

var builtins = sync.OnceValue(func() *sternfan.Gear {
	return &sternfan.Gear{
		Lines:      defaultLines(),
		Reels:      defaultReels(),
		Divers:     defaultDivers(),
		Boards:     defaultBoards(),
		Balls:      defaultBalls(),
		Weights:    defaultWeights(),
		Attractors: defaultAttractors(),
		Lures:      defaultLures(),
		Snubbers:   defaultSnubbers(),
	}
})

// Names returns the ids of the built-in gear of a kind ("line", "reel", "diver", "board",
// "ball", "weight", "attractor", "lure", "leader", "snubber"), in the order of the list.
func Names(kind string) []string { return names(builtins(), kind) }

func names(g *sternfan.Gear, kind string) []string {
	var out []string
	for _, item := range g.Items(kind) {
		out = append(out, item.ID)
	}
	return out
}

// Known reports whether id is built-in gear of the kind.
func Known(kind, id string) bool { return builtins().Item(kind, id) != nil }

// q is a quantity with its uncertainty and source.
func q[U ~float64](v U, s sternfan.Scatter, source string) sternfan.Q[U] {
	return sternfan.Q[U]{Value: v, Given: true, Scatter: s, Source: source}
}

// exact is a quantity whose uncertainty does not matter to a depth.
func exact[U ~float64](v U, source string) sternfan.Q[U] {
	return sternfan.Q[U]{Value: v, Given: true, Source: source}
}

func rel(sd float64) sternfan.Scatter { return sternfan.Rel(sd) }

const (
	inch = float64(unit.Inch)
	foot = float64(unit.Foot)
	mph  = float64(unit.MilePerHour)
	lbf  = float64(unit.PoundForce)
	lb   = float64(unit.Pound)
	oz   = float64(unit.Ounce)
)

// circle returns the area of a disc of diameter d.
func circle(d float64) float64 { return math.Pi / 4 * d * d }

// fresh is the density by which water held between strands and volumes are reckoned, kg/m3.
const fresh = 1000.0
