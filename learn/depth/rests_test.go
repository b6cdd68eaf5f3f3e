package depth_test

import (
	"testing"

	"sternfan"
	"sternfan/learn/depth"
)

// Files saved before a calibration kept its mark and readings say both in the words of
// their source, as these were written; they count, are named and undone as they were then.
func TestSourceInWords(t *testing.T) {
	all := []sternfan.Calibration{
		{Name: "lure spoon-dawn drag", Source: "tank, mark my words"},
		{Name: "diver diver-large normal", Dated: "2026-07-11", Source: "5 measured, mark 288596c9, from the log to 01M8QSD12KPERBYA3SHKJ0P5SH"},
		{Name: "current", Dated: "2026-07-12", Source: "that day's only, off until switched on; 2 measured, mark 4d512017, from morning.csv", Off: true},
	}
	counted := depth.Counted(all)
	for id, want := range map[string]bool{
		"01M8QSCZ0Q90BZHGHM3QX7FAVR": true, "01M8QSD12KPERBYA3SHKJ0P5SH": true, "01M8QSD12KPERBYA3SHKJ0P5SJ": false,
	} {
		if counted(id) != want {
			t.Errorf("%s counts: %v, want %v", id, !want, want)
		}
	}
	if !depth.Named(&all[1], "288596c9") || depth.Named(&all[2], "288596c9") || !depth.Named(&all[2], "current") {
		t.Error("not named by its mark and its name")
	}
	left, mark, count := depth.Undo(all, "")
	if len(left) != 2 || mark != "4d512017" || count != 1 {
		t.Errorf("undone %d of mark %s, left %d", count, mark, len(left))
	}
	all[1].Off = true
	if depth.Counted(all)("01M8QSCZ0Q90BZHGHM3QX7FAVR") {
		t.Error("what is switched off still counts")
	}
}

// What a calibration keeps as data counts whatever its words say.
func TestReadingsCount(t *testing.T) {
	all := []sternfan.Calibration{{Name: "speed", Source: "mark none, from the log to 7ZZZZZZZZZZZZZZZZZZZZZZZZZ", Mark: "4d512017", Readings: []string{"01M8QSD12KPERBYA3SHKJ0P5SH"}}}
	counted := depth.Counted(all)
	if !counted("01M8QSD12KPERBYA3SHKJ0P5SH") || counted("01M8QSCZ0Q90BZHGHM3QX7FAVR") {
		t.Error("not the readings that it names, and no others")
	}
	if !depth.Named(&all[0], "4d512017") || depth.Named(&all[0], "none") {
		t.Error("not its own mark")
	}
}
