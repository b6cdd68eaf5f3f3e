// Package exampletest reads the files of examples/ for tests.
package exampletest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
	"sternfan/scenario"
	"sternfan/tackle"
)

// Root is the module's folder from a package of the first level.
const Root = ".."

// Load returns the model of one example by its name: "summer".
func Load(t testing.TB, name string) *tackle.Model {
	t.Helper()
	return File(t, filepath.Join(Root, "examples", name+".yaml"))
}

// File returns the model of a scenario file.
func File(t testing.TB, file string) *tackle.Model {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return Parse(t, file, data)
}

// Parse returns the model of a scenario's text.
func Parse(t testing.TB, name string, data []byte) *tackle.Model {
	t.Helper()
	m, faults := tackle.Resolve(Decode(t, name, data))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return m
}

// Decode returns what a scenario's text says, its rigs as they are written.
func Decode(t testing.TB, name string, data []byte) *sternfan.Scenario {
	t.Helper()
	known := func(list, id string) bool { return tackle.Known(strings.TrimSuffix(list, "s"), id) }
	sc, _, err := scenario.DecodeWith(name, data, scenario.Options{Known: known})
	if err != nil {
		t.Fatal(err)
	}
	return sc
}

// All returns every example by name.
func All(t testing.TB) map[string]*tackle.Model {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(Root, "examples", "*.yaml"))
	if err != nil || len(files) < 5 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	out := map[string]*tackle.Model{}
	for _, f := range files {
		out[strings.TrimSuffix(filepath.Base(f), ".yaml")] = File(t, f)
	}
	return out
}
