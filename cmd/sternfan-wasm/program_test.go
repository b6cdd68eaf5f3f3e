//go:build !js

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"sternfan/engine"
	"sternfan/internal/tier"
)

// question is one line for testdata/ask.cjs.
type question struct {
	Op    string `json:"op"`
	Ask   any    `json:"ask"`
	Now   bool   `json:"now,omitempty"`
	Abort bool   `json:"abort,omitempty"` // at the first progress
}

// heard is what it answers.
type heard struct {
	Reply struct {
		Answer json.RawMessage `json:"answer"`
		Faults json.RawMessage `json:"faults"`
		Failed string          `json:"failed"`
	} `json:"reply"`
	Points   []float64 `json:"points"`
	Progress int       `json:"progress"`
}

// built is the folder with the engines as the app gets them.
var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "engine")
	if err != nil {
		return "", err
	}
	if text, err := exec.Command(filepath.Join("..", "..", "scripts", "engine.sh"), dir).CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, text)
	}
	return dir, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if dir, err := built(); err == nil {
		if err := os.RemoveAll(dir); err != nil {
			code = 1
		}
	}
	os.Exit(code)
}

// inNode asks an engine, core or sternfan, in a real JavaScript engine.
func inNode(t *testing.T, engine string, questions ...question) []heard {
	t.Helper()
	dir, err := built()
	if err != nil {
		t.Fatal(err)
	}
	var in bytes.Buffer
	for _, q := range questions {
		if err := json.NewEncoder(&in).Encode(q); err != nil {
			t.Fatal(err)
		}
	}
	out := output(t, in.Bytes(), nil, "node", filepath.Join("testdata", "ask.cjs"), filepath.Join(dir, "wasm_exec.js"), filepath.Join(dir, engine+".wasm"))
	var all []heard
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		var h heard
		if err := json.Unmarshal(lines.Bytes(), &h); err != nil {
			t.Fatalf("%v in %.200q", err, lines.Text())
		}
		all = append(all, h)
	}
	if len(all) != len(questions) {
		t.Fatalf("%d answers to %d questions", len(all), len(questions))
	}
	return all
}

func examples(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "examples", "*.yaml"))
	if err != nil || len(files) < 5 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	out := map[string]string{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out[f] = string(text)
	}
	return out
}

// The browser shows the digits that the command line prints, for every example: the rows
// letter by letter, the fan to 1e-9 (of each number, or of a meter, newton or degree when
// it is smaller). The two machines round their last digits differently, near 1e-14, which
// the solver's iterations may raise.
func TestSameAsTheProgram(t *testing.T) {
	program := filepath.Join(t.TempDir(), "sternfan")
	output(t, nil, nil, "go", "build", "-o", program, "../sternfan")
	var files []string
	var questions []question
	texts := examples(t)
	for file := range texts {
		files = append(files, file)
	}
	slices.Sort(files)
	files = files[len(files)-tier.Count(2, len(files), len(files)):] // what drives the app in a browser asks all of them
	for _, file := range files {
		questions = append(questions, question{Op: "spread", Ask: engine.SpreadAsk{Given: engine.Given{Text: texts[file]}, Intervals: true, Fan: true}})
	}
	answers := inNode(t, "core", questions...)
	for i, file := range files {
		var got struct {
			Rows     []map[string]string `json:"rows"`
			Headline string              `json:"headline"`
			Fan      any                 `json:"fan"`
		}
		if err := json.Unmarshal(answers[i].Reply.Answer, &got); err != nil {
			t.Fatalf("%s: %v; %s %s", file, err, answers[i].Reply.Faults, answers[i].Reply.Failed)
		}
		var want any
		if err := json.Unmarshal(output(t, nil, nil, program, "run", file, "--format", "json"), &want); err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		if differ := compare("fan", want, got.Fan, 1e-9, &worst); differ != "" {
			t.Errorf("%s: %s", file, differ)
		}
		t.Logf("%s: largest difference %.1e", filepath.Base(file), worst)
		printed := strings.Split(string(output(t, nil, nil, program, "run", file)), "\n")
		if printed[0] != got.Headline && !strings.HasPrefix(got.Headline, strings.TrimSuffix(printed[0], ".")) {
			t.Errorf("%s: headline %q, printed %q", file, got.Headline, printed[0])
		}
		table := strings.Join(printed, "\n")
		for _, row := range got.Rows {
			var cells []string
			for _, c := range []string{"line_out", "depth", "span", "side", "astern", "pull", "angle"} {
				if row[c] != "" {
					cells = append(cells, row[c])
				}
			}
			if !strings.Contains(squeeze(table), squeeze(strings.Join(cells, " "))) {
				t.Errorf("%s: the table has no row with %v", file, cells)
			}
		}
		if len(got.Rows) == 0 {
			t.Errorf("%s: no rows", file)
		}
	}
}

func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

// compare returns where two JSON values differ, "" when nowhere.
func compare(path string, a, b any, tol float64, worst *float64) string {
	switch x := a.(type) {
	case map[string]any:
		y, ok := b.(map[string]any)
		if !ok || len(x) != len(y) {
			return fmt.Sprintf("%s: other members", path)
		}
		for k := range x {
			if d := compare(path+"."+k, x[k], y[k], tol, worst); d != "" {
				return d
			}
		}
	case []any:
		y, ok := b.([]any)
		if !ok || len(x) != len(y) {
			return fmt.Sprintf("%s: other length", path)
		}
		for i := range x {
			if d := compare(fmt.Sprintf("%s[%d]", path, i), x[i], y[i], tol, worst); d != "" {
				return d
			}
		}
	case float64:
		y, ok := b.(float64)
		d := math.Abs(x-y) / math.Max(1, math.Abs(x))
		*worst = math.Max(*worst, d)
		if !ok || !(d <= tol) {
			return fmt.Sprintf("%s: %v here, %v in the browser", path, a, b)
		}
	default:
		if a != b {
			return fmt.Sprintf("%s: %v here, %v in the browser", path, a, b)
		}
	}
	return ""
}

// The worker's calls answer as they should: at once, by promise, with curves as a typed
// array, with progress, canceled, and to nonsense.
func TestCalls(t *testing.T) {
	text := examples(t)[filepath.Join("..", "..", "examples", "summer.yaml")]
	given := engine.Given{Text: text}
	dragged := engine.Given{Text: text, Set: []string{"rods.p-high.settings.line_out=170 ft"}}
	got := inNode(t, "sternfan",
		question{Op: "version", Now: true},
		question{Op: "spread", Ask: engine.SpreadAsk{Given: given, Intervals: true, Plan: true, Curves: true}},
		question{Op: "move", Ask: dragged, Now: true},
		question{Op: "spread", Ask: engine.SpreadAsk{Given: engine.Given{Text: text, Set: []string{"speed.value=2.2mph"}}, Intervals: true}, Abort: true},
		question{Op: "spread", Ask: engine.SpreadAsk{Given: given}},
		question{Op: "spread", Ask: engine.Given{Text: "version: 1\nspede: 2 mph\n"}, Now: true},
		question{Op: "no such", Now: true},
		question{Op: "spread", Ask: 3},
		question{Op: "aim", Ask: engine.AimAsk{Given: given, Rod: "s-slide", Depth: 8}},
	)
	for _, i := range []int{0, 1, 2, 4, 8} {
		if got[i].Reply.Answer == nil {
			t.Errorf("question %d: %s %s", i, got[i].Reply.Faults, got[i].Reply.Failed)
		}
	}
	if len(got[1].Points) == 0 || got[1].Reply.Faults != nil {
		t.Error("no points of the curves asked for")
	}
	if got[1].Progress == 0 {
		t.Error("no progress was told")
	}
	if got[3].Reply.Failed != "canceled" {
		t.Errorf("canceled, it answered %.60s %s", got[3].Reply.Answer, got[3].Reply.Failed)
	}
	if got[5].Reply.Faults == nil || got[6].Reply.Failed == "" || got[7].Reply.Failed == "" {
		t.Errorf("nonsense was answered: %+v", got[5:])
	}
	var moved engine.Moved
	if err := json.Unmarshal(got[2].Reply.Answer, &moved); err != nil {
		t.Fatal(err)
	}
	if len(moved.Tracks) != 1 || moved.Tracks[0].Rod != "p-high" {
		t.Fatalf("moved %+v", moved.Tracks)
	}
	last := moved.Tracks[0].Parts[len(moved.Tracks[0].Parts)-1]
	if moved.Points != nil || len(got[2].Points) != 3*(last.From+last.Count) {
		t.Errorf("%d numbers in the array, parts end at %d", len(got[2].Points), last.From+last.Count)
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
