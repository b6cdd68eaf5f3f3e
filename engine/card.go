//go:build !core

package engine

import (
	"sternfan"
	"sternfan/report"
	"sternfan/spread"
	"sternfan/tackle"
	"sternfan/unit"
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

func (e *Engine) card(c *call, ask *CardAsk) (*CardAnswer, error) {
	sc, m, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	opt := report.CardOptions{Options: report.Options{Units: ask.system(), Scenario: m.Scenario},
		Page: report.PageA5, Order: ask.Order, Date: ask.Date, File: ask.File}
	if ask.Page == "letter" {
		opt.Page = report.PageLetter
	}
	s := e.session(&ask.Given, sc)
	s.Step = func(done, of int) { c.progress(Progress{Done: done, Of: 3 * of}) }
	defer func() { s.Step = nil }()
	if _, err := s.Settle(c.ctx, m, true); err != nil {
		return nil, err
	}
	fan := s.Fan()
	if opt.Slower, err = e.fanAt(c, &ask.Given, sc, -report.CardStep); err != nil {
		return nil, err
	}
	if opt.Faster, err = e.fanAt(c, &ask.Given, sc, report.CardStep); err != nil {
		return nil, err
	}
	return &CardAnswer{report.Card(fan, opt), opt.Page.Wide, opt.Page.Tall, cardOrder(ask.Order, report.SettingOrder(fan, m.Scenario))}, nil
}

// cardOrder puts the rods that were asked for before the others.
func cardOrder(asked, usual []string) []string {
	out := []string{}
	seen := map[string]bool{}
	for _, id := range append(append([]string{}, asked...), usual...) {
		if !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out
}

// fanAt solves the scenario at another speed; nil when the boat would make no way.
func (e *Engine) fanAt(c *call, g *Given, sc *sternfan.Scenario, by unit.Speed) (*sternfan.Fan, error) {
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
	return spread.Solve(c.ctx, m, opt)
}
