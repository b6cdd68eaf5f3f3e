// Package learn finds out from what was logged: which lure, color or depth really
// produced, counted against the effort behind it.
//
// A rate is strikes per rod-hour. A comparison holds the day and the hour equal: within a
// stratum (a trip's hour, and what else is named) the strikes of two levels fall in
// proportion to effort times ratio, whatever the fish did that hour, so that the hour's
// own rate drops out. docs/learning.md has the equations and what the words promise.
package learn

// Confidence is that of the intervals people see: 4 times in 5.
const Confidence = 0.8
