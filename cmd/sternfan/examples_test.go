package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
)

func examples(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "examples", "*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 5 {
		t.Fatalf("%d scenarios in examples, want at least 5", len(files))
	}
	return files
}

// Every example runs in every format, and what comes out is of that format.
func TestExamples(t *testing.T) {
	readers := map[string]func([]byte) error{
		"table": func(data []byte) error {
			if !strings.Contains(string(data), "ft") || strings.Contains(string(data), "NaN") {
				return errors.New("no feet in it, or NaN")
			}
			return nil
		},
		"json": func(data []byte) error {
			var fan sternfan.Fan
			return json.Unmarshal(data, &fan)
		},
		"csv": func(data []byte) error {
			rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
			if err == nil && len(rows) < 3 {
				err = errors.New("no rows")
			}
			return err
		},
		"svg": func(data []byte) error {
			for d := xml.NewDecoder(bytes.NewReader(data)); ; {
				if _, err := d.Token(); err == io.EOF {
					return nil
				} else if err != nil {
					return err
				}
			}
		},
		"pdf": func(data []byte) error {
			if !bytes.HasPrefix(data, []byte("%PDF-")) || !bytes.Contains(data[max(0, len(data)-16):], []byte("%%EOF")) {
				return errors.New("no PDF")
			}
			return nil
		},
		"png": func(data []byte) error {
			_, err := png.Decode(bytes.NewReader(data))
			return err
		},
	}
	for _, file := range examples(t) {
		for format, read := range readers {
			t.Run(filepath.Base(file)+"/"+format, func(t *testing.T) {
				got := command(t, "", "run", file, "--format", format, "-o", "out")
				if got.code != exitOK || got.stderr != "" {
					t.Fatalf("exit code %d: %s", got.code, got.stderr)
				}
				if err := read(got.files["out"]); err != nil {
					t.Error(err)
				}
			})
		}
	}
}

// What check --expand prints is a scenario that runs and gives the same fan.
func TestExpandedExamplesRunTheSame(t *testing.T) {
	for _, file := range examples(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			expanded := command(t, "", "check", "--expand", file)
			if expanded.code != exitOK {
				t.Fatalf("exit code %d: %s", expanded.code, expanded.stderr)
			}
			a := fanOf(t, command(t, "", "run", file, "--format", "json"))
			b := fanOf(t, command(t, expanded.stdout, "run", "-", "--format", "json"))
			if len(a.Rods) != len(b.Rods) {
				t.Fatalf("%d rods, expanded %d", len(a.Rods), len(b.Rods))
			}
			for i, rod := range a.Rods {
				for j, lure := range rod.Lures {
					// Expanding moves numbers through text once; the solver stops at a
					// thousandth of the depth.
					if other := b.Rods[i].Lures[j]; !near(other.Depth, lure.Depth, 1e-3, 1e-3) {
						t.Errorf("rod %s: lure %s at %g m, expanded %g m", rod.Rod, lure.ID, lure.Depth, other.Depth)
					}
				}
			}
		})
	}
}

// The demo has an answer at every trolling speed and with any fleas: a person turns these
// knobs first.
func TestDemoAtOtherSpeeds(t *testing.T) {
	var changes [][]string
	for mph := 10; mph <= 35; mph += 5 {
		changes = append(changes, []string{"--set", fmt.Sprintf("speed.value=%d.%dmph", mph/10, mph%10)})
	}
	changes = append(changes, []string{"--fleas", "light"}, []string{"--fleas", "heavy"})
	for _, change := range changes {
		t.Run(change[1], func(t *testing.T) {
			got := command(t, "", append([]string{"run", demo, "--format", "json"}, change...)...)
			if got.code != exitOK || got.stderr != "" {
				t.Errorf("exit code %d: %s", got.code, got.stderr)
			}
		})
	}
}

func fanOf(t *testing.T, got outcome) *sternfan.Fan {
	t.Helper()
	if got.code != exitOK {
		t.Fatalf("exit code %d: %s", got.code, got.stderr)
	}
	var fan sternfan.Fan
	if err := json.Unmarshal([]byte(got.stdout), &fan); err != nil {
		t.Fatal(err)
	}
	return &fan
}
