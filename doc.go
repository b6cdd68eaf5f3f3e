// Package sternfan is the domain of trolling a spread of lines behind a boat: what a
// person describes (boat, gear, rods, water, speed) and what comes back (the fan: where
// every line, device and lure runs), with the uncertainty of both.
//
// Everything inside is SI in the boat frame of package geom; feet, miles an hour and
// pounds exist only where a person types or reads. The package holds data and its
// rules. It solves nothing and imports nothing of the project but units and vectors.
package sternfan

// FileVersion is the version of the scenario file that this program writes.
const FileVersion = 1
