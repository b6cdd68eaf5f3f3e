//go:build !core

package engine

import (
	"sternfan"
	"sternfan/report"
	"sternfan/verdict"
)

// TurnAnswer is the manoeuvre and what to say of it. Of one to draw the tracks' series are
// empty and stand in Points.
type TurnAnswer struct {
	Turn   *sternfan.Turn `json:"turn"`
	Words  []string       `json:"words"`
	First  bool           `json:"first,omitempty"` // it has no intervals, and of the other side nothing
	Drawn  []TurnDrawn    `json:"drawn,omitempty"` // of each track
	Points Points         `json:"points,omitempty"`
}

// TurnDrawn says where a track's series stand in the points: those of its points one after
// another, a place over ground for each sample, then the shapes of its chains one after
// another, in the boat's frame. All in meters, depth down.
type TurnDrawn struct {
	From    int     `json:"from"`    // index of the first: its x stands at 3 from
	Samples int     `json:"samples"` // of each of the track's points; fewer than of the boat when it stopped
	Shapes  [][]int `json:"shapes"`  // by chain: how many points each shape has
}

func (a *TurnAnswer) points() *Points { return &a.Points }

// draw moves the tracks' series into the points.
func (a *TurnAnswer) draw() {
	for i := range a.Turn.Tracks {
		t := &a.Turn.Tracks[i]
		d := TurnDrawn{From: len(a.Points) / 3, Shapes: make([][]int, len(t.Shapes))}
		for k := range t.Points {
			q := &t.Points[k]
			d.Samples = len(q.At)
			for _, at := range q.At {
				a.Points = append(a.Points, float32(at[0]), float32(at[1]), float32(at[2]))
			}
			q.At, q.Through = [][3]float64{}, []float64{}
		}
		for k, chain := range t.Shapes {
			d.Shapes[k] = make([]int, len(chain))
			for n, flat := range chain {
				d.Shapes[k][n] = len(flat) / 3
				for _, cm := range flat {
					a.Points = append(a.Points, float32(cm)/100)
				}
			}
		}
		t.Shapes, t.TipPull = nil, []float64{}
		a.Drawn = append(a.Drawn, d)
	}
}

// TightAnswer is how tight a turn each side allows.
type TightAnswer struct {
	Sides []sternfan.Tightest `json:"sides"` // port, starboard
}

// Turn runs a manoeuvre.
func (e *Engine) Turn(c *Call, ask *TurnAsk) (*TurnAnswer, error) {
	r, err := e.manoeuvre(c, ask)
	if err != nil {
		return nil, err
	}
	turn, err := r.helm.Turn(c.Ctx, r.turn, r.opt)
	if err != nil {
		return nil, err
	}
	verdict.Judge(r.helm.Model(), turn.Start, ask.system())
	turn.Start.Verdict.Headline = report.Headline(turn.Start, ask.system())
	turn.Verdict, turn.Missing = turn.Start.Verdict, turn.Start.Missing
	for _, t := range turn.Tracks {
		if t.Stopped != nil && len(t.Warnings) > 0 {
			turn.Missing = append(turn.Missing, sternfan.Missing{Rod: t.Rod, Why: t.Warnings[0].Text})
		}
	}
	sc, err := e.Scenario(&ask.Given)
	if err != nil {
		return nil, err
	}
	answer := &TurnAnswer{Turn: turn, Words: report.TurnWords(turn, reporting(&ask.Given, sc)), First: ask.First}
	if ask.Draw {
		answer.draw()
	}
	return answer, nil
}

// Tightest finds how tight a turn each side allows.
func (e *Engine) Tightest(c *Call, ask *TurnAsk) (*TightAnswer, error) {
	r, err := e.manoeuvre(c, ask)
	if err != nil {
		return nil, err
	}
	if r.turn.Event != nil || r.turn.Course != nil {
		return nil, askFault("event", "the tightest of turns is looked for, not of what else happens", "leave it out")
	}
	sides, err := r.helm.Tightest(c.Ctx, r.turn, r.opt)
	if err != nil {
		return nil, err
	}
	return &TightAnswer{sides}, nil
}
