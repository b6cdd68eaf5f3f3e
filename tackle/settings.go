package tackle

import (
	"math"
	"slices"
	"strings"

	"sternfan"
	"sternfan/setting"
	"sternfan/unit"
)

// SettingsText returns a rod's settings in words and the person's units, in the order of
// hands: "15 ft lead, dial 2 port, ring on, 180 ft out".
func (m *Model) SettingsText(rod int, u unit.System) string {
	r := &m.Scenario.Rods[rod]
	has := func(kind sternfan.PartKind) bool {
		return slices.ContainsFunc(r.Rig.Parts, func(p sternfan.Part) bool { return p.Kind == kind })
	}
	return strings.Join(setting.Words(setting.On{Settings: &r.Settings}, has, setting.Counted(u)), ", ")
}

// both returns a length in feet and meters, for faults: they are read beside a file that
// may use either. It is rounded up, so that "at least" holds as printed.
func both(v unit.Length) string {
	up := func(x, digits float64) string { return number(math.Ceil(x*digits-1e-6) / digits) }
	return up(float64(v/unit.Foot), 10) + " ft (" + up(float64(v), 100) + " m)"
}
