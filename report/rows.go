package report

import (
	"sternfan"
	"sternfan/unit"
)

// Row is one row of the table in words, without units: [RowUnits] has them.
type Row struct {
	Rod     string `json:"rod"`            // id of the rod or device
	Part    string `json:"part,omitempty"` // id of the lure or body that the row is about
	Name    string `json:"name"`           // as the crew calls it; of a body its kind
	Lure    string `json:"lure"`
	Setting string `json:"setting"`
	LineOut string `json:"line_out"`
	Depth   string `json:"depth"`
	Span    string `json:"span"` // 4 times in 5 the depth is inside
	Side    string `json:"side"`
	Astern  string `json:"astern"`
	Pull    string `json:"pull"`
	Angle   string `json:"angle"`
}

// RowUnits returns the units of the rows' columns.
func RowUnits(u unit.System) Row {
	ft, lb := u.Label(unit.DepthStyle), u.Label(unit.ForceStyle)
	return Row{LineOut: ft, Depth: ft, Span: ft, Side: ft, Astern: ft, Pull: lb, Angle: "°"}
}

// Rows returns the rows of the table that [Table] prints, in its order.
func Rows(fan *sternfan.Fan, u unit.System) []Row {
	var out []Row
	for _, t := range portToStarboard(fan.Rods) {
		out = append(out, RowsOf(t, u, false)...)
	}
	for _, t := range portToStarboard(fan.Devices) {
		out = append(out, RowsOf(t, u, true)...)
	}
	return out
}

// RowsOf returns the rows of one rod or device.
func RowsOf(t *sternfan.Track, u unit.System, device bool) []Row {
	var out []Row
	for i, r := range trackRows(t, u, device) {
		out = append(out, Row{Rod: t.Rod, Part: rowPart(t, device, i), Name: r[colRod], Lure: r[colLure], Setting: r[colSettings],
			LineOut: r[colOut], Depth: r[colDepth], Span: r[colSpan], Side: r[colSide], Astern: r[colAstern],
			Pull: r[colPull], Angle: r[colAngle]})
	}
	return out
}

// rowPart returns the id of what row i of a track is about: its lures first, then its
// bodies; a device without lures begins with its first body.
func rowPart(t *sternfan.Track, device bool, i int) string {
	if i < len(t.Lures) {
		return t.Lures[i].ID
	}
	if i -= max(len(t.Lures), 1); device && len(t.Lures) == 0 {
		i++
	}
	if i >= 0 && i < len(t.Bodies) {
		return t.Bodies[i].ID
	}
	return ""
}
