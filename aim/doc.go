// Package aim finds the settings that put a lure where it is wanted.
//
// For every combination of the settings that go in steps (dial, ring, lead, weight) the
// one that is continuous (line out, cable out, ...) is found as a root between samples
// of its whole range, so that nothing is taken to be monotone. What gives way on the
// way (strength, trip, spool, bottom, surface) is a limit, found by halving. The roots
// are rounded to steps that a hand can set, ranked by how much a hand has to change, and
// the best are solved again from nothing, as the whole boat would be.
package aim
