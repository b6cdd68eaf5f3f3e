// Package verdict judges a solved spread, once: what a captain is told of it, on paper, on
// screen and in JSON, comes from its findings and from nothing else. It looks at where
// lines run against each other, the boat and the bottom, at how rods are set and rigged
// against what crews do, and at loads and speeds. Solvers never call it.
//
// What is only assumed (a diver's trip load, a lure's window that nobody entered) is no
// ground for more than [sternfan.GradeKnow], and where it is one the sentence says so. docs/findings.md
// lists the codes with their grounds.
package verdict
