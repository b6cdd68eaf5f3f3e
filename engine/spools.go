package engine

import (
	"sternfan"
	"sternfan/tackle"
)

// SpoolsAnswer is the spools of the rods that have a reel.
type SpoolsAnswer struct {
	Spools []Spool `json:"spools"`
}

// Spool is how a rod's spool stands: its size, what is wound on it, and how full it is
// with the rod's line out, by the volume of the wound lines.
type Spool struct {
	Rod      string   `json:"rod"`
	Reel     string   `json:"reel"` // gear id
	Arbor    float64  `json:"arbor_m"`
	Flange   float64  `json:"flange_m"`
	Width    float64  `json:"width_m"`
	Lines    []OnReel `json:"lines"` // with nothing out, backing first
	Out      float64  `json:"out_m"`
	Diameter float64  `json:"diameter_m"` // of the wound line with that much out
	Start    float64  `json:"start_m"`    // the same with nothing out
	Full     float64  `json:"full"`       // part of the room that is taken then
	Fits     bool     `json:"fits"`       // all of it fits with nothing out
	Beyond   float64  `json:"beyond_m"`   // line out beyond what is on the spool
}

// OnReel is line wound on a reel.
type OnReel struct {
	Diameter float64 `json:"diameter_m"`
	Length   float64 `json:"length_m"`
}

func (e *Engine) spools(c *Call, ask *Given) (*SpoolsAnswer, error) {
	sc, m, err := e.model(ask)
	if err != nil {
		return nil, err
	}
	s := e.session(ask, sc)
	if _, err := s.Settle(c.Ctx, m, false); err != nil {
		return nil, err
	}
	out := map[string]float64{}
	fan := s.Fan()
	for i := range fan.Rods {
		if t := &fan.Rods[i]; t.Status != sternfan.StatusNotConverged && t.Status != sternfan.StatusRefused {
			out[t.Rod] = t.LineOut
		}
	}
	answer := &SpoolsAnswer{Spools: []Spool{}}
	for i := range sc.Rods {
		info := &m.Rods[i]
		if info.Reel == nil || len(info.Spool) == 0 {
			continue
		}
		r := &sc.Rods[i]
		now, start := tackle.ReelFill(info.Reel, info.Spool, out[r.ID]), tackle.ReelFill(info.Reel, info.Spool, 0)
		spool := Spool{Rod: r.ID, Reel: r.Reel, Arbor: info.Reel.Arbor.SI(), Flange: info.Reel.Flange.SI(), Width: info.Reel.Width.SI(),
			Out: out[r.ID], Diameter: now.Diameter, Start: start.Diameter, Full: now.Full, Fits: now.Fits, Beyond: now.Beyond}
		for _, w := range info.Spool {
			spool.Lines = append(spool.Lines, OnReel{w.Diameter, w.Length})
		}
		answer.Spools = append(answer.Spools, spool)
	}
	return answer, nil
}
