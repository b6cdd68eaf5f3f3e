// Package tackle turns a person's description (rods, rigs, gear) into systems of package
// tow, and holds the built-in gear.
//
// # What the settings mean
//
// Lengths are unstretched. A chain is cut into sections by its devices: board, diver,
// release. A line without a length of its own fills up its section:
//
//   - first section: line_out, from the tip to the first device; without a device to the
//     lure's end. With count_from "water" the tip's height above the water is added.
//   - after a board: lead, from the board to the diver behind it, else to the lure's end.
//   - after a slide-through diver: lead, from the diver to the lure's end.
//   - after a release: lead, from the release to the lure's end. The line from the tip to
//     the release is free: its length is an outcome, the rod's set load its pull.
//   - after a directional diver every part has its own length.
//
// By the trade's rigs that makes:
//
//	diver         line_out from the tip to the diver
//	slide-through line_out from the tip to the diver, lead from the diver to the lure
//	flat-line     line_out from the tip to the lure, leaders and weights within
//	weighted      line_out from the tip to the lure; colors (30 ft each) of lead core, or
//	              the length of a named copper or steel section, within it; the backing is
//	              what is left. With less line out than the section is long, only that
//	              much of the section is out. Without line_out there is no backing out.
//	board         line_out from the tip to the board, lead as above; colors within lead
//	downrigger    lead from the release to the lure; above_ball from ball to release
//	mast-board    along from the mast to the release; lead from the release to the lure
//
// An attractor's own length counts within its section.
package tackle
