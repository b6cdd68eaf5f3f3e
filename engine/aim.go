//go:build !core

package engine

import (
	"sternfan"
	"sternfan/aim"
)

// AimAsk asks how one rod's lure gets to a depth, and to a side where one is given.
type AimAsk struct {
	Given
	Rod       string   `json:"rod"`
	Depth     float64  `json:"depth_m"`
	Side      *float64 `json:"side_m,omitempty"` // from the center line, to the side on which the rod fishes
	Lure      string   `json:"lure,omitempty"`   // part id; the rod's last lure when not given
	Keep      []string `json:"keep,omitempty"`   // settings not to change
	Top       int      `json:"top,omitempty"`    // ways to answer; 5 when not given
	Intervals bool     `json:"intervals,omitempty"`
}

// OrderAsk asks for a change of every rod at once.
type OrderAsk struct {
	Given
	Order     string `json:"order"` // "down 10 ft", "up 2 m", "to 65 ft"
	Intervals bool   `json:"intervals,omitempty"`
}

// LikeAsk asks what a setting heard from elsewhere is on this boat's rods.
type LikeAsk struct {
	Given
	Said      string `json:"said"`          // "wire, large, dial 2, 180ft"
	Top       int    `json:"top,omitempty"` // ways to answer for each rod; 5 when not given
	Intervals bool   `json:"intervals,omitempty"`
}

func (e *Engine) aimer(c *Call, g *Given, top int, intervals bool) (*aim.Boat, error) {
	sc, _, err := e.model(g)
	if err != nil {
		return nil, err
	}
	return aim.New(sc, aim.Options{Units: g.system(), Top: top, Intervals: intervals,
		Progress: func(done, of int) { c.progress(Progress{Done: done, Of: of}) }})
}

// Aim finds the settings that reach a target.
func (e *Engine) Aim(c *Call, ask *AimAsk) (*sternfan.Aim, error) {
	b, err := e.aimer(c, &ask.Given, ask.Top, ask.Intervals)
	if err != nil {
		return nil, err
	}
	return b.Reach(c.Ctx, aim.Request{Rod: ask.Rod, Depth: ask.Depth, Side: ask.Side, Lure: ask.Lure, Keep: ask.Keep})
}

// Order moves every rod.
func (e *Engine) Order(c *Call, ask *OrderAsk) (*sternfan.AimAll, error) {
	o, err := aim.ParseOrder(ask.Order)
	if err != nil {
		return nil, err
	}
	b, err := e.aimer(c, &ask.Given, 0, ask.Intervals)
	if err != nil {
		return nil, err
	}
	return b.All(c.Ctx, o)
}

// Like finds the settings that run as one heard of does.
func (e *Engine) Like(c *Call, ask *LikeAsk) (*sternfan.AimLike, error) {
	b, err := e.aimer(c, &ask.Given, ask.Top, ask.Intervals)
	if err != nil {
		return nil, err
	}
	return b.Like(c.Ctx, ask.Said)
}
