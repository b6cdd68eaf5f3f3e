package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/report"
)

// demo is the demonstration scenario.
func demo(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "examples", "summer.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func ask(t *testing.T, req request) answer {
	t.Helper()
	text, err := json.Marshal(req)
	if err != nil {
		t.Fatal(err)
	}
	var got answer
	if err := json.Unmarshal(handle(t.Context(), text), &got); err != nil {
		t.Fatal(err)
	}
	return got
}

func TestFan(t *testing.T) {
	req := request{Scenario: demo(t)}
	got := ask(t, req)
	if got.Fan == nil || got.Faults != nil || got.Failed != "" {
		t.Fatalf("no fan: %v %s", got.Faults, got.Failed)
	}
	fan, err := solve(t.Context(), &req)
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := report.JSON(&want, fan); err != nil {
		t.Fatal(err)
	}
	if string(got.Fan) != strings.TrimSpace(want.String()) {
		t.Error("the fan differs from the report's JSON")
	}
}

func TestSet(t *testing.T) {
	slow := ask(t, request{Scenario: demo(t)})
	fast := ask(t, request{Scenario: demo(t), Set: []string{"speed.value=3mph"}})
	if fast.Fan == nil || string(slow.Fan) == string(fast.Fan) {
		t.Errorf("a change of speed changed nothing: %v %s", fast.Faults, fast.Failed)
	}
}

func TestFaults(t *testing.T) {
	got := ask(t, request{Scenario: "version: 1\nspede: 2 mph\n", Name: "mine.yaml"})
	if got.Fan != nil || len(got.Faults) < 2 {
		t.Fatalf("%d faults, want the unknown key and what is missing", len(got.Faults))
	}
	for _, f := range got.Faults {
		if f.Code == "unknown-key" && f.File == "mine.yaml" && f.Line == 2 && f.Column == 1 {
			return
		}
	}
	t.Errorf("no unknown key at mine.yaml:2:1 in %+v", got.Faults)
}

func TestNoRequest(t *testing.T) {
	for _, text := range []string{"", "{", "[]", `{"scenario":3}`} {
		var got answer
		if err := json.Unmarshal(handle(t.Context(), []byte(text)), &got); err != nil || got.Failed == "" {
			t.Errorf("%q: answered %+v, %v", text, got, err)
		}
	}
}

func TestInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	text, err := json.Marshal(request{Scenario: demo(t)})
	if err != nil {
		t.Fatal(err)
	}
	var got answer
	if err := json.Unmarshal(handle(ctx, text), &got); err != nil || got.Failed == "" {
		t.Errorf("answered %+v, %v", got, err)
	}
}
