//go:build !js

package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
)

// A page's handler and the program give the same fan, to the byte.
func TestSameAsTheProgram(t *testing.T) {
	want := output(t, nil, nil, "go", "run", "../sternfan", "run", filepath.Join("..", "..", "examples", "summer.yaml"), "--format", "json")
	if got := ask(t, request{Scenario: demo(t)}); string(got.Fan) != strings.TrimSpace(string(want)) {
		t.Error("the fan differs from what the program prints")
	}
}

// The module answers in a real JavaScript engine as the handler does here. The two
// compute with other instructions, so depths are compared, not bytes.
func TestInNode(t *testing.T) {
	module := filepath.Join(t.TempDir(), "main.wasm")
	output(t, nil, []string{"GOOS=js", "GOARCH=wasm"}, "go", "build", "-o", module, ".")
	root := strings.TrimSpace(string(output(t, nil, nil, "go", "env", "GOROOT")))
	req := request{Scenario: demo(t)}
	text, err := json.Marshal(req)
	if err != nil {
		t.Fatal(err)
	}
	var there answer
	reply := output(t, text, nil, "node", filepath.Join("testdata", "ask.cjs"), filepath.Join(root, "lib", "wasm", "wasm_exec.js"), module)
	if err := json.Unmarshal(reply, &there); err != nil {
		t.Fatalf("%v in %.200q", err, reply)
	}
	var a, b sternfan.Fan
	if err := json.Unmarshal(ask(t, req).Fan, &a); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(there.Fan, &b); err != nil {
		t.Fatal(err)
	}
	if len(a.Rods) == 0 || len(a.Rods) != len(b.Rods) {
		t.Fatalf("%d rods here, %d in the module", len(a.Rods), len(b.Rods))
	}
	for i, rod := range a.Rods {
		for j, lure := range rod.Lures {
			// Far below what the solver promises, far above the last digits.
			if other := b.Rods[i].Lures[j].Depth; math.Abs(other-lure.Depth) > 1e-6*(1+lure.Depth) {
				t.Errorf("rod %s: lure %s at %g m here, %g m in the module", rod.Rod, lure.ID, lure.Depth, other)
			}
		}
	}
}

func output(t *testing.T, stdin []byte, env []string, name string, args ...string) []byte {
	t.Helper()
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), env...)
	c.Stdin = bytes.NewReader(stdin)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", c, err, stderr.String())
	}
	return out
}
