//go:build !core

package engine

import "sternfan/scenario"

func (p *ProfileAsk) read() (*scenario.Profile, error) {
	name := p.Name
	if name == "" {
		name = "profile"
	}
	return scenario.DecodeProfile(name, []byte(p.Text))
}

func (e *Engine) profile(_ *Call, ask *ProfileAsk) (*ProfileAnswer, error) {
	p, err := ask.read()
	if err != nil {
		return nil, err
	}
	out := &ProfileAnswer{Points: [][2]float64{}, Measured: p.Measured, Readings: p.Readings}
	for _, q := range p.Points {
		out.Points = append(out.Points, [2]float64{float64(q.Depth), float64(q.Temperature)})
	}
	return out, nil
}
