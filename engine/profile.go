package engine

import (
	"strings"

	"sternfan"
	"sternfan/scenario"
)

// ProfileAsk is the text of a file of temperatures by depth, CSV or NDBC .ocean.
type ProfileAsk struct {
	Name string `json:"name,omitempty"` // what faults call it
	Text string `json:"text"`
}

func (p *ProfileAsk) same(q *ProfileAsk) bool { return p == q || p != nil && q != nil && *p == *q }

// ProfileAnswer is the newest profile in the file.
type ProfileAnswer struct {
	Points   [][2]float64 `json:"points"`             // depth m, deg C, going down
	Measured string       `json:"measured,omitempty"` // the time of its newest reading as the file has it
	Readings int          `json:"readings"`           // how many went into it
}

// measured fills the water's temperature from the profile that was given, or from the one
// that the scenario names beside itself.
func (e *Engine) measured(p *ProfileAsk, sc *sternfan.Scenario, src *scenario.Source) error {
	if p == nil {
		if sc.Water.Profile == "" || e.Beside == nil {
			return nil
		}
		file, there, err := e.Beside(sc.Water.Profile)
		switch {
		case err != nil:
			return err
		case !there:
			faults := sternfan.Faults{{Code: "missing", Path: "water.profile", Text: "the profile's file is not there", Found: file.Name,
				Hint: "it is looked for beside the scenario; or give --profile FILE"}}
			src.Fill(faults)
			return faults
		}
		p = &file
	}
	read, err := p.read()
	if err != nil {
		return err
	}
	sc.Water.Temperature, sc.Water.Profile = read.Points, ""
	from := p.Name[strings.LastIndexAny(p.Name, `/\`)+1:]
	sc.Water.Measured = strings.Trim(from+", "+read.Measured, ", ")
	return nil
}
