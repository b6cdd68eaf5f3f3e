//go:build !core

package engine

import (
	"slices"

	"sternfan"
	"sternfan/report"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
	"sternfan/verdict"
)

// CardAsk asks for the card to stick at the helm.
type CardAsk struct {
	Given
	Page  string   `json:"page,omitempty"`  // "a5" or "letter"
	Order []string `json:"order,omitempty"` // rods in the order to set; those left out follow from the outside in
	Date  string   `json:"date,omitempty"`  // as it is to be printed
	File  string   `json:"file,omitempty"`  // as it is to be printed
}

// CardAnswer is the card as a drawing, and its paper.
type CardAnswer struct {
	Drawing *sternfan.Drawing `json:"drawing"`
	Wide    float64           `json:"wide_mm"`
	Tall    float64           `json:"tall_mm"`
	Order   []string          `json:"order"` // the rods in the order printed
}

// Card lays out the card for the helm.
func (e *Engine) Card(c *Call, ask *CardAsk) (*CardAnswer, error) {
	sc, m, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	var rods []string
	for i := range sc.Rods {
		rods = append(rods, sc.Rods[i].ID)
	}
	for _, id := range ask.Order {
		if !slices.Contains(rods, id) {
			return nil, sternfan.Faults{{Code: "unknown-id", Text: "no rod has that id", Found: id, Allowed: rods}}
		}
	}
	opt := report.CardOptions{Options: report.Options{Units: ask.system(), Scenario: m.Scenario},
		Page: report.PageA5, Order: ask.Order, Date: ask.Date, File: ask.File}
	if ask.Page == "letter" {
		opt.Page = report.PageLetter
	}
	s := e.session(&ask.Given, sc)
	s.Step = func(done, of int) { c.progress(Progress{Done: done, Of: 3 * of}) }
	defer func() { s.Step = nil }()
	if _, err := s.Settle(c.Ctx, m, true); err != nil {
		return nil, err
	}
	fan := s.Fan()
	verdict.Judge(m, fan, ask.system())
	if opt.Slower, err = e.fanAt(c, &ask.Given, sc, -report.CardStep); err != nil {
		return nil, err
	}
	if opt.Faster, err = e.fanAt(c, &ask.Given, sc, report.CardStep); err != nil {
		return nil, err
	}
	return &CardAnswer{report.Card(fan, opt), opt.Page.Wide, opt.Page.Tall, report.CardOrder(fan, opt)}, nil
}

// fanAt solves the scenario at another speed; nil when the boat would make no way.
func (e *Engine) fanAt(c *Call, g *Given, sc *sternfan.Scenario, by unit.Speed) (*sternfan.Fan, error) {
	other := *sc
	other.Speed.Value.Value += by
	if !(other.Speed.Value.Value > 0) {
		return nil, nil
	}
	m, faults := tackle.Resolve(&other)
	if len(faults) > 0 {
		return nil, nil // as when the current alone is faster than that
	}
	c.progress(Progress{})
	opt := options(g, sc)
	opt.Intervals = true
	fan, err := spread.Solve(c.Ctx, m, opt)
	if err == nil {
		verdict.Judge(m, fan, g.system())
	}
	return fan, err
}
