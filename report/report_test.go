package report

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"sternfan"
	"sternfan/unit"
)

var update = flag.Bool("update", false, "rewrite the golden files")

var used = map[string]bool{}

// golden compares with a file of testdata, or rewrites it.
func golden(t *testing.T, file string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", file)
	used[file] = true
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; if that is meant, run the tests with -update\n%s", file, got)
	}
}

func drawingText(t *testing.T, d *sternfan.Drawing) []byte {
	t.Helper()
	text, err := json.MarshalIndent(d, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(text, '\n')
}

func TestGolden(t *testing.T) {
	fan, sc := summer()
	bad, _ := troubled()
	opt := Options{Scenario: sc}
	for file, write := range map[string]func(*bytes.Buffer) error{
		"summer.txt":    func(b *bytes.Buffer) error { return Table(b, fan, opt) },
		"summer-si.txt": func(b *bytes.Buffer) error { return Table(b, fan, Options{Units: unit.SI, Width: 80}) },
		"troubled.txt":  func(b *bytes.Buffer) error { return Table(b, bad, opt) },
		"summer.csv":    func(b *bytes.Buffer) error { return CSV(b, fan, unit.US) },
		"troubled.csv":  func(b *bytes.Buffer) error { return CSV(b, bad, unit.SI) },
		"empty.txt":     func(b *bytes.Buffer) error { return Table(b, &sternfan.Fan{}, Options{}) },
		"paths.txt":     func(b *bytes.Buffer) error { return PathsTable(b, dialPaths(), Options{}) },
		"paths.csv":     func(b *bytes.Buffer) error { return PathsCSV(b, dialPaths(), unit.US) },
		"speeds.txt":    func(b *bytes.Buffer) error { return SpeedTable(b, speedTable(), unit.US) },
		"speeds.csv":    func(b *bytes.Buffer) error { return SpeedCSV(b, speedTable(), unit.US) },
		"speeds.json":   func(b *bytes.Buffer) error { return JSON(b, speedTable()) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Errorf("%s: %v", file, err)
		}
		golden(t, file, b.Bytes())
	}
	golden(t, "plan.json", drawingText(t, LinesPlan(fan, sc, opt)))
	golden(t, "plan-troubled.json", drawingText(t, LinesPlan(bad, sc, opt)))
	golden(t, "plan-empty.json", drawingText(t, LinesPlan(&sternfan.Fan{}, nil, Options{})))
	boat, card := helm()
	golden(t, "card.json", drawingText(t, Card(boat, card)))
	card.Page, card.Slower, card.Order = PageLetter, nil, []string{"c1"}
	for i, r := range bad.Rods {
		boat.Rods[i].Status, boat.Rods[i].Warnings = r.Status, r.Warnings
	}
	golden(t, "card-troubled.json", drawingText(t, Card(boat, card)))
	golden(t, "card-empty.json", drawingText(t, Card(&sternfan.Fan{}, CardOptions{})))
	golden(t, "paths.json", drawingText(t, PathsDrawing(dialPaths(), fan, opt)))

	files, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !used[f.Name()] && f.Name() != "rapid" {
			t.Errorf("testdata/%s belongs to no test", f.Name())
		}
	}
}
