package depth

import (
	"regexp"
	"slices"

	"sternfan"
)

// said finds what a calibration rests on in the words of its source. Files that were
// saved before they kept it as data say it there alone: the mark, and of the log's
// readings that all up to an entry are among the measurements.
var said = regexp.MustCompile(`(?:^| )mark ([^ ,]+)(?:, from the log to ([0-9A-Z]{26}))?`)

// markOf returns the mark of the measurements that a calibration rests on, "" when it was
// not learnt from any.
func markOf(c *sternfan.Calibration) string {
	if m := said.FindStringSubmatch(c.Source); c.Mark == "" && m != nil {
		return m[1]
	}
	return c.Mark
}

// Counted returns whether a reading of the log is among what the calibrations in use were
// learnt from, by the reading's id.
func Counted(all []sternfan.Calibration) func(id string) bool {
	counted, upTo := map[string]bool{}, ""
	for i := range all {
		c := &all[i]
		if c.Off {
			continue
		}
		for _, id := range c.Readings {
			counted[id] = true
		}
		if m := said.FindStringSubmatch(c.Source); c.Mark == "" && m != nil {
			upTo = max(upTo, m[2])
		}
	}
	// Ids are in the order of time, and so are their texts.
	return func(id string) bool { return counted[id] || id <= upTo }
}

// Named returns whether a calibration is meant by a name or a mark.
func Named(c *sternfan.Calibration, which string) bool {
	return c.Name == which || which != "" && markOf(c) == which
}

// Undo returns the calibrations without those of the mark, "" for the latest mark, and
// that mark with how many went; 0 when there are none.
func Undo(all []sternfan.Calibration, mark string) (left []sternfan.Calibration, gone string, count int) {
	for i := len(all) - 1; i >= 0 && mark == ""; i-- {
		mark = markOf(&all[i])
	}
	left = slices.DeleteFunc(slices.Clone(all), func(c sternfan.Calibration) bool { return mark != "" && markOf(&c) == mark })
	return left, mark, len(all) - len(left)
}
