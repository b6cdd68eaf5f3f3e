//go:build !core

package engine

import "sternfan/scenario"

// ProfileAsk is the text of a file of temperatures by depth, CSV or NDBC .ocean.
type ProfileAsk struct {
	Name string `json:"name,omitempty"` // what faults call it
	Text string `json:"text"`
}

// ProfileAnswer is the newest profile in the file.
type ProfileAnswer struct {
	Points   [][2]float64 `json:"points"`             // depth m, deg C, going down
	Measured string       `json:"measured,omitempty"` // the time of its newest reading as the file has it
	Readings int          `json:"readings"`           // how many went into it
}

func (e *Engine) profile(_ *call, ask *ProfileAsk) (*ProfileAnswer, error) {
	name := ask.Name
	if name == "" {
		name = "profile"
	}
	p, err := scenario.DecodeProfile(name, []byte(ask.Text))
	if err != nil {
		return nil, err
	}
	out := &ProfileAnswer{Points: [][2]float64{}, Measured: p.Measured, Readings: p.Readings}
	for _, q := range p.Points {
		out.Points = append(out.Points, [2]float64{float64(q.Depth), float64(q.Temp)})
	}
	return out, nil
}
