//go:build !core

package engine

import (
	"math"
	"strings"

	"sternfan"
	"sternfan/lay"
	"sternfan/report"
	"sternfan/scenario"
	"sternfan/tackle"
	"sternfan/verdict"
)

// LayAsk asks for a whole spread laid out.
type LayAsk struct {
	Given
	Top  int    `json:"top,omitempty"`  // plans, really unlike one another; 2 when not given
	Seed uint64 `json:"seed,omitempty"` // the same seed, the same plans
}

// LayAnswer is the plans, the same in words, and each as a file.
type LayAnswer struct {
	Layout   *sternfan.Layout `json:"layout"`
	Headline string           `json:"headline"` // what a captain reads first
	Words    string           `json:"words"`    // the program's table
	Plans    []PlanText       `json:"plans"`    // in the layout's order
}

// PlanText is one plan as a file and its reasons in words.
type PlanText struct {
	Text    string    `json:"text"`
	Reasons []RodText `json:"reasons"`
}

// RodText is a sentence about one rod.
type RodText struct {
	Rod  string `json:"rod"`
	Text string `json:"text"`
}

// Lay lays out whole spreads.
func (e *Engine) Lay(c *Call, ask *LayAsk) (*LayAnswer, error) {
	sc, _, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	top := ask.Top
	if top == 0 {
		top = 2
	}
	plan, err := lay.Plan(c.Ctx, sc, lay.Options{Top: top, Seed: ask.Seed, Units: ask.system(), Progress: c.part})
	if err != nil {
		return nil, err
	}
	for i := range plan.Plans {
		p := &plan.Plans[i]
		m, faults := tackle.Resolve(p.Scenario)
		if len(faults) > 0 {
			return nil, faults
		}
		verdict.Judge(m, p.Fan, ask.system())
		p.Fan.Verdict.Headline = report.Headline(p.Fan, ask.system())
	}
	opt := reporting(&ask.Given, sc)
	var words strings.Builder
	if err := report.LayTable(&words, plan, opt); err != nil {
		return nil, err
	}
	out := &LayAnswer{Layout: plan, Headline: report.LayHeadline(plan, opt), Words: words.String()}
	for i := range plan.Plans {
		p := &plan.Plans[i]
		text, err := planText(p.Scenario)
		if err != nil {
			return nil, err
		}
		told := PlanText{Text: report.PlanComments(p, opt) + text}
		for k := range p.Rods {
			told.Reasons = append(told.Reasons, RodText{p.Rods[k].Rod, report.PlanReason(p, &p.Rods[k], opt)})
		}
		out.Plans = append(out.Plans, told)
	}
	return out, nil
}

// part tells how much of the whole is done, and the best score so far.
func (c *Call) part(what string, part, best float64) {
	c.progress(Progress{Done: int(math.Round(100 * part)), Of: 100, Text: what, Best: best})
}

// planText is a plan as a file that stands by itself.
func planText(sc *sternfan.Scenario) (string, error) {
	own := *sc
	own.Water.Profile = ""
	text, err := scenario.Encode(&own)
	return string(text), err
}

// ResetAsk asks how one rod's line goes out again while the others are out.
type ResetAsk struct {
	Given
	Rod  string `json:"rod"`
	Seed uint64 `json:"seed,omitempty"` // the same seed, the same answer
}

// ResetAnswer is how, the same in words, and the spread afterward as a file.
type ResetAnswer struct {
	Reset *sternfan.Reset `json:"reset"`
	Words string          `json:"words"`
	Text  string          `json:"text,omitempty"` // none: it does not go out
}

// Reset finds how one line goes out again.
func (e *Engine) Reset(c *Call, ask *ResetAsk) (*ResetAnswer, error) {
	sc, _, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	got, err := lay.Reset(c.Ctx, sc, ask.Rod, lay.Options{Seed: ask.Seed, Units: ask.system(), Progress: c.part})
	if err != nil {
		return nil, err
	}
	out := &ResetAnswer{Reset: got, Words: report.ResetHeadline(got, reporting(&ask.Given, sc))}
	if got.Scenario != nil {
		out.Text, err = planText(got.Scenario)
	}
	return out, err
}
