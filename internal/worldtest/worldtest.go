// Package worldtest draws the worlds of statistical tests: the same every day, others on
// demand.
package worldtest

import (
	"flag"
	"math/rand/v2"
)

// seeds are other worlds than those of every day.
var seeds = flag.Uint64("seeds", 0, "draw other worlds")

// Rand returns the numbers of stream n of a test.
func Rand(n, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(n+1e6**seeds, stream)) }

// Poisson draws a count: gaps of unit exponentials within the mean.
func Poisson(r *rand.Rand, mean float64) int {
	n := 0
	for at := r.ExpFloat64(); at < mean; at += r.ExpFloat64() {
		n++
	}
	return n
}
