package setting

import (
	"sternfan"
)

// Logged are a rod's settings as a log keeps them: plain numbers in SI and words, with
// those of its device.
type Logged struct {
	LineOut    *float64 `json:"line_out_m,omitzero"`
	CountFrom  string   `json:"count_from,omitzero"`
	Colors     *float64 `json:"colors,omitzero"`
	Section    *float64 `json:"section_m,omitzero"`
	Lead       *float64 `json:"lead_m,omitzero"`
	Dial       *float64 `json:"dial,omitzero"`
	Side       string   `json:"side,omitzero"`
	Ring       *bool    `json:"ring,omitzero"`
	Tripped    bool     `json:"tripped,omitzero"`
	AboveBall  *float64 `json:"above_ball_m,omitzero"`
	CableOut   *float64 `json:"cable_out_m,omitzero"` // of the downrigger
	Along      *float64 `json:"along_m,omitzero"`
	TowLineOut *float64 `json:"tow_line_out_m,omitzero"` // of the mast board
	SetLoad    *float64 `json:"set_load_n,omitzero"`
	TripLoad   *float64 `json:"trip_load_n,omitzero"`
	Bottom     string   `json:"bottom,omitzero"`
}

// Log returns settings as a log keeps them. What was said of their uncertainty is not
// kept.
func Log(on On) Logged {
	var out Logged
	for r := range Rows {
		v := r.Get(on)
		switch p := r.logged(&out).(type) {
		case **float64:
			if v.Given {
				*p = &v.Number
			}
		case **bool:
			if v.Given {
				is := v.Number != 0
				*p = &is
			}
		case *bool:
			*p = v.Number != 0
		case *string:
			*p = v.Word
		}
	}
	return out
}

// Model returns logged settings on a rod and devices of their own.
func (l *Logged) Model() On {
	on := On{&sternfan.Settings{}, &sternfan.Downrigger{}, &sternfan.MastBoard{}}
	for r := range Rows {
		r.Set(on, r.Logged(l))
	}
	return on
}

// Logged returns the value of the setting in a log.
func (r *Row) Logged(l *Logged) Value {
	switch p := r.logged(l).(type) {
	case **float64:
		if *p != nil {
			return Value{Given: true, Number: **p}
		}
	case **bool:
		if *p != nil {
			v := flag(**p)
			v.Given = true
			return v
		}
	case *bool:
		return flag(*p)
	case *string:
		if r.Kind == Side {
			return Value{*p != "", float64(SideNamed(*p)), *p}
		}
		return Value{*p != "", 0, *p}
	}
	return Value{}
}

// LogRange returns the least and the greatest number that a log takes for the setting.
// They are wider than the scenario file's: a log takes in what others wrote.
func (r *Row) LogRange() (lo, hi float64) {
	switch r.Kind {
	case Force:
		return 0, 1e5
	case Colors:
		return 0, 1000
	case Mark:
		return 0, 10
	}
	return 0, maxLine
}
