package tier_test

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sternfan/internal/tier"
)

// drawn draws numbers and says them, in a process of the tier named.
func drawn(t *testing.T, name string, args ...string) string {
	cmd := exec.Command(os.Args[0], append([]string{"-test.run=^TestDraw$", "-test.v"}, args...)...)
	cmd.Env = append(os.Environ(), "STERNFAN_TIER="+name, "TIER_TEST_DRAW=1")
	out, err := cmd.CombinedOutput()
	if err != nil && !strings.Contains(string(out), "panic: tier:") {
		t.Fatalf("%v\n%s", err, out)
	}
	var said []string
	for line := range strings.Lines(string(out)) {
		if strings.HasPrefix(line, "drew") || strings.HasPrefix(line, "panic: tier:") {
			said = append(said, strings.TrimSpace(line))
		}
	}
	return strings.Join(said, "\n")
}

// TestDraw is what TestTiers runs.
func TestDraw(t *testing.T) {
	if os.Getenv("TIER_TEST_DRAW") == "" {
		t.Skip("for TestTiers")
	}
	n, fiftieth := 0, uint64(0)
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Uint64().Draw(t, "x")
		if n++; n == 50 {
			fiftieth = x
		}
	})
	fmt.Printf("\ndrew %s, %d hundred times, seed %s, fiftieth %x\n", tier.Count("few", "more", "all"), n/100, flag.Lookup("rapid.seed").Value, fiftieth)
}

func TestTiers(t *testing.T) {
	if runtime.GOARCH == "wasm" {
		t.Skip("a browser starts no processes")
	}
	unset, test, deep := drawn(t, ""), drawn(t, "test"), drawn(t, "deep")
	if test != unset || !strings.HasPrefix(test, "drew few, 1 hundred times, seed 20261201,") {
		t.Errorf("test: %q, not set: %q", test, unset)
	}
	if want := strings.Replace(test, "few", "more", 1); deep != want {
		t.Errorf("deep: %q, want %q", deep, want)
	}
	proof, again := drawn(t, "proof"), drawn(t, "proof")
	if !strings.HasPrefix(proof, "drew all, 10 hundred times, seed 0,") || proof == again {
		t.Errorf("proof: %q, again: %q", proof, again)
	}
	if own := drawn(t, "test", "-rapid.seed=7"); !strings.Contains(own, "seed 7,") {
		t.Errorf("with a seed given: %q", own)
	}
	if bad := drawn(t, "most"); !strings.Contains(bad, "test, deep or proof, not most") {
		t.Errorf("an unknown tier: %q", bad)
	}
}
