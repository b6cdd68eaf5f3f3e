// Package tier says how much a test does: as often as one runs it before a commit, as
// often as a machine does for a branch, or in full. STERNFAN_TIER chooses, "test" when it is
// not set; CONTRIBUTING.md has the commands and what each of them leaves to the next.
//
// A package that tests properties of random inputs imports it for its seed too: the same
// inputs in the first two tiers, others at every run, and ten times as many, in the last.
package tier

import (
	"flag"
	"os"
	"runtime"
	"testing"

	_ "pgregory.net/rapid" // its flags are set here, so they must be there
)

// Tier is how much the tests do.
type Tier int

// The tiers, each with more work than the one before.
const (
	Test Tier = iota
	Deep
	Proof
)

// variable is the name in the environment that chooses the tier.
const variable = "STERNFAN_TIER"

// now is read once: a test that changed it half way would be two.
var now = of(os.Getenv(variable))

func of(name string) Tier {
	switch name {
	case "", "test":
		return Test
	case "deep":
		return Deep
	case "proof":
		return Proof
	}
	panic("tier: " + variable + " is test, deep or proof, not " + name)
}

func init() {
	// Before the flags of the command are read: what is given there still holds.
	flags := map[string]string{"rapid.seed": "20261201"}
	if now == Proof {
		flags = map[string]string{"rapid.checks": "1000"}
	}
	for name, value := range flags {
		if err := flag.Set(name, value); err != nil {
			panic("tier: " + err.Error())
		}
	}
}

// Now returns the tier of this run.
func Now() Tier { return now }

// Count returns the number that is meant for this tier.
func Count[N any](test, deep, proof N) N { return [...]N{test, deep, proof}[now] }

// Native skips a test in the browser's build, where it takes several times as long, but for
// the deeper tiers. It is for tests whose digits the browser's build is held to elsewhere.
func Native(t testing.TB) {
	t.Helper()
	if runtime.GOARCH == "wasm" && now == Test {
		t.Skip("in the browser's build by make deep")
	}
}
