package verdict

import "slices"

// Rule is what a finding's code stands for.
type Rule struct {
	Code   string
	What   string // what is found, in a few words
	Ground string // why it matters, and how well that is known
}

// rules are every code that a finding may have, in the order of the grades they mostly have.
var rules = []Rule{
	{"lines-cross", "two lines come within a foot of each other", "they cross or touch; a foot is assumed"},
	{"near-boat", "a line under water runs within a yard of a propeller, kicker or speed bag, or within a foot of the hull", "distances assumed; off the hull it is a remark from 4 in on"},
	{"bottom", "a ball, line or lure is on the bottom, unasked", "the solver's contact with the bottom"},
	{"over-strength", "a line's pull is over its label strength", "the solver's pull"},
	{"trips", "a steady pull trips the device or release", "the solver's pull; gives way only when a person entered the load"},
	{"slack", "a rod's set load cannot hold its line in the flow", "the solver's statics"},
	{"board-under", "a board is pulled under", "the solver's statics"},
	{"may-foul", "two lines foul when their depths move within their intervals and two feet to the side", "the intervals; two feet are assumed"},
	{"wrong-side", "a dial or board is set to the side across from its holder, or a line is clipped to a downrigger across the boat", "common practice, several reports"},
	{"holder-side", "a holder's name says one side and its tip is on the other", "the file"},
	{"one-holder", "two rods stand in one holder", "the file"},
	{"one-place", "two rods' lures run within a yard of each other", "assumed"},
	{"diver-order", "of a side's divers the outer runs below the inner, the high one inside, or the high one below on no larger a mark", "common practice, several reports"},
	{"board-inside", "a board runs inside a diver of its side", "common practice, several reports"},
	{"board-order", "of a side's boards the outer one's lure runs below the inner one's, or the one called outer runs inside", "common practice, several reports"},
	{"stacked-close", "two lines are clipped less than 10 ft apart on one cable", "common practice, one report"},
	{"long-leader", "more than 15 ft of leader after the snubber of a fixed diver", "common practice, several reports: the net does not reach"},
	{"no-snubber", "wire or braid to a fixed diver without a snubber behind it", "common practice, from memory"},
	{"far-fly", "a fly over 30 in behind a rotating attractor", "common practice, from memory"},
	{"beyond-spool", "more line is out than the spool holds, or a section that does not fit on it", "the reel's dimensions"},
	{"surface", "a lure runs on the surface", "the solver's statics"},
	{"lure-speed", "lures or attractors outside the speeds at which they work, by more than a tenth of a mile an hour and the speed's own interval", "windows are common practice and soft; far outside is half a mile an hour"},
	{"speed", "the boat's speed is not one of trolling", "1.0 to 3.5 mph, common practice"},
	{"inside-margin", "two lines are nearer than the margin that the file gives", "the file"},
	{"near-strength", "a line's pull is over half its label strength", "common practice, no source"},
	{"near-trip", "a steady pull comes near the trip load", "common practice, no source"},
	{"trip-heavy", "a small fish may not trip the device", "40 N of a small fish is assumed"},
	{"slider", "a free slider finds no place on the line", "the solver's statics"},
	{"short-leader", "less than 8 ft of leader behind a fixed diver", "common practice, several reports: the diver may put fish off"},
	{"no-leader", "an attractor tied straight to the snubber", "common practice, from memory"},
	{"note", "something was assumed for want of a number, or a calibration is in use", "the file"},
	{"tip-order", "the higher diver of a side has its tip farther in", "derived: the two cross in a turn"},
}

// Rules returns every code that a finding may have with what it stands for.
func Rules() []Rule { return slices.Clone(rules) }

func known(code string) bool {
	return slices.ContainsFunc(rules, func(r Rule) bool { return r.Code == code })
}
