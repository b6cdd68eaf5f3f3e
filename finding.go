package sternfan

import "slices"

// Grade says how bad a finding is.
type Grade string

// The grades, worst first.
const (
	GradeCross  Grade = "lines-cross"   // lines cross or touch, each other or the boat
	GradeGround Grade = "aground"       // ball, line or lure on the bottom, unasked
	GradeGives  Grade = "gives-way"     // a device trips, a line is slack or over its strength
	GradeFoul   Grade = "may-foul"      // lines foul when depths move within their intervals
	GradeSet    Grade = "set-wrong"     // a setting or rig against its side, role or use
	GradeSpeed  Grade = "off-speed"     // far outside the speed at which a lure works
	GradeMargin Grade = "inside-margin" // nearer than the margin that the file gives
	GradeKnow   Grade = "worth-knowing"
	GradeClear  Grade = "clear" // of a verdict without findings
)

var grades = []Grade{GradeCross, GradeGround, GradeGives, GradeFoul, GradeSet, GradeSpeed, GradeMargin, GradeKnow, GradeClear}

// Grades returns every grade, worst first.
func Grades() []Grade { return slices.Clone(grades) }

// Rank returns the grade's place, 0 for the worst.
func (g Grade) Rank() int { return slices.Index(grades, g) }

// Clear reports whether nothing of the grade needs a hand.
func (g Grade) Clear() bool { return g.Rank() >= GradeKnow.Rank() }

// Finding is one thing that is wrong with a solved spread, or worth knowing.
type Finding struct {
	Code     string         `json:"code"` // docs/findings.md lists them
	Grade    Grade          `json:"grade"`
	Rods     []string       `json:"rods"`                 // and devices, and parts of the boat, by id
	Distance *float64       `json:"distance_m,omitempty"` // between the two, plain
	Margin   *float64       `json:"margin_m,omitempty"`   // that the file gives there
	Places   *[2][3]float64 `json:"places,omitempty"`     // where the two are so near, boat frame, m
	Text     string         `json:"text"`                 // one sentence
	Do       string         `json:"do,omitempty"`         // what to do about it
}

// Missing is a rod or device that an answer does not cover, and why.
type Missing struct {
	Rod string `json:"rod"`
	Why string `json:"why"`
}

// Verdict is what is to be said of a solved spread, once, for every view of it.
type Verdict struct {
	Grade    Grade     `json:"grade"` // the worst of the findings
	Headline string    `json:"headline"`
	Findings []Finding `json:"findings"` // worst first
}

// Worst returns the worst finding about a rod or device that needs a hand, nil when there
// is none or the fan was not judged.
func (f *Fan) Worst(id string) *Finding {
	if f.Verdict == nil {
		return nil
	}
	for i := range f.Verdict.Findings {
		if g := &f.Verdict.Findings[i]; !g.Grade.Clear() && slices.Contains(g.Rods, id) {
			return g
		}
	}
	return nil
}

// Lacks reports whether an answer does not cover a rod or device.
func (f *Fan) Lacks(id string) bool {
	return slices.ContainsFunc(f.Missing, func(m Missing) bool { return m.Rod == id })
}
