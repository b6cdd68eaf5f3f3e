//go:build !core

package engine

import (
	"sternfan"
	"sternfan/lay"
	"sternfan/report"
	"sternfan/spread"
)

// TurnAsk asks what a manoeuvre does. What is not given is the file's, or the default.
type TurnAsk struct {
	Given
	To     sternfan.Side `json:"to,omitempty"`        // -1 port, +1 starboard
	Angle  float64       `json:"angle_rad,omitempty"` // change of heading
	Radius float64       `json:"radius_m,omitempty"`  // through the surface water
	Stop   float64       `json:"stop_s,omitempty"`    // instead of a turn: the boat loses her way in so many seconds
	Hands  string        `json:"hands,omitempty"`     // "set" or "clear": the lines go out or come in one after another; straight on unless a turn is given
	People int           `json:"people,omitempty"`    // aboard then; the file's when not given
	Pay    float64       `json:"pay_mps,omitempty"`   // at which lines go out and come in then; 0.61 when not given
	Before float64       `json:"before_s,omitempty"`  // straight on before it
	After  float64       `json:"after_s,omitempty"`   // and after it
	Every  float64       `json:"every_s,omitempty"`   // between samples; 1 when not given
	Worlds int           `json:"worlds,omitempty"`    // sampled, for how often lines come close
	Seed   uint64        `json:"seed,omitempty"`
	First  bool          `json:"first,omitempty"` // only what is quick: the side asked for, without intervals and with margins as wanted
	Draw   bool          `json:"draw,omitempty"`  // the series as points to draw instead of number by number
}

// payOut is how fast lines go out when not given, m/s: two feet a second.
const payOut = 2 * 0.3048

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

// manoeuvre returns the spread and the manoeuvre that are asked about.
func (e *Engine) manoeuvre(c *call, ask *TurnAsk) (*spread.Spread, spread.Manoeuvre, spread.TurnOptions, error) {
	sc, model, err := e.model(&ask.Given)
	if err != nil {
		return nil, spread.Manoeuvre{}, spread.TurnOptions{}, err
	}
	m := spread.ManoeuvreOf(sc)
	if ask.To != sternfan.Amidships {
		m.To = ask.To
	}
	for _, v := range []struct {
		given float64
		to    *float64
	}{{ask.Angle, &m.Angle}, {ask.Radius, &m.Radius}, {ask.Before, &m.Before}, {ask.After, &m.After}} {
		if v.given > 0 {
			*v.to = v.given
		}
	}
	if ask.Stop > 0 {
		m.Event = &spread.Event{Kind: "stop", StopSeconds: ask.Stop}
	}
	switch ask.Hands {
	case "":
	case "set", "clear":
		e := &spread.Event{Kind: ask.Hands, People: ask.People, Pay: ask.Pay, Turn: ask.To != sternfan.Amidships || ask.Angle > 0 || ask.Radius > 0}
		if e.Pay <= 0 {
			e.Pay = payOut
		}
		if e.Order, err = lay.Order(c.ctx, sc, lay.Options{Units: ask.system()}); err != nil {
			return nil, spread.Manoeuvre{}, spread.TurnOptions{}, err
		}
		m.Event = e
	default:
		return nil, spread.Manoeuvre{}, spread.TurnOptions{}, sternfan.Faults{{Code: "out-of-range", Path: "hands", Text: "lines are set or cleared",
			Found: ask.Hands, Allowed: []string{"set", "clear"}}}
	}
	opt := options(&ask.Given, sc)
	opt.Intervals = !ask.First
	return spread.New(model, opt), m, spread.TurnOptions{OneSide: ask.First, Every: ask.Every, Worlds: ask.Worlds, Seed: ask.Seed, Shapes: true,
		Progress: func(done, of int) { c.progress(Progress{Done: done, Of: of}) }}, nil
}

func (e *Engine) turn(c *call, ask *TurnAsk) (*TurnAnswer, error) {
	s, m, opt, err := e.manoeuvre(c, ask)
	if err != nil {
		return nil, err
	}
	turn, err := s.Turn(c.ctx, m, opt)
	if err != nil {
		return nil, err
	}
	sc, _, err := e.model(&ask.Given)
	if err != nil {
		return nil, err
	}
	answer := &TurnAnswer{Turn: turn, Words: report.TurnWords(turn, reporting(&ask.Given, sc)), First: ask.First}
	if ask.Draw {
		answer.draw()
	}
	return answer, nil
}

func (e *Engine) tightest(c *call, ask *TurnAsk) (*TightAnswer, error) {
	s, m, opt, err := e.manoeuvre(c, ask)
	if err != nil {
		return nil, err
	}
	sides, err := s.Tightest(c.ctx, m, opt)
	if err != nil {
		return nil, err
	}
	return &TightAnswer{sides}, nil
}
