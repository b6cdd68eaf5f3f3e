//go:build !js

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sternfan"
	"sternfan/engine"
)

// served starts the program's server and returns where it is.
func served(t *testing.T, program string) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	c := exec.CommandContext(ctx, program, "serve", "--port", "0")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cancel()
		_ = c.Wait() // it was killed
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	at, found := strings.CutPrefix(strings.TrimSpace(line), "The app is at ")
	if err != nil || !found {
		t.Fatalf("the server said %q, %v", line, err)
	}
	return at
}

// overHTTP asks the server.
func overHTTP(t *testing.T, at string, q question) json.RawMessage {
	t.Helper()
	ask, err := json.Marshal(q.Ask)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.Post(at+"api/"+q.Op, "application/json", bytes.NewReader(ask))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	var reply struct{ Answer json.RawMessage }
	if err := json.Unmarshal(text, &reply); err != nil || reply.Answer == nil {
		t.Fatalf("%s: %v in %.300s", q.Op, err, text)
	}
	return reply.Answer
}

// member returns the part of an answer that is compared, without what is empty: one says
// an empty list where another leaves it out.
func member(t *testing.T, text []byte, name string) any {
	t.Helper()
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatalf("%v in %.200s", err, text)
	}
	if name != "" {
		v = v.(map[string]any)[name]
	}
	return full(v)
}

func full(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k := range x {
			x[k] = full(x[k])
			if list, ok := x[k].([]any); x[k] == nil || ok && len(list) == 0 {
				delete(x, k)
			}
		}
	case []any:
		for i := range x {
			x[i] = full(x[i])
		}
	}
	return v
}

// A question has one answer, asked by the command line, over HTTP or in the browser's
// worker. The first two run the same code on the same machine and agree in every digit; the
// third rounds its last digits otherwise on some machines, as in TestSameAsTheProgram.
func TestOneAnswerByEveryDoor(t *testing.T) {
	program := filepath.Join(t.TempDir(), "sternfan")
	output(t, nil, nil, "go", "build", "-o", program, "../sternfan")
	file := filepath.Join("..", "..", "examples", "class.yaml")
	given := engine.Given{Text: examples(t)[file]}
	rod := "class"
	cases := []struct {
		args   []string
		q      question
		member string
	}{
		{[]string{"run"}, question{Op: "spread", Ask: engine.SpreadAsk{Given: given, Intervals: true, Fan: true}}, "fan"},
		{[]string{"paths", "--rod", rod}, question{Op: "paths", Ask: engine.PathsAsk{Given: given, Rod: rod, Intervals: true}}, "paths"},
		{[]string{"speeds", "--at", "40ft=2.2mph"}, question{Op: "speeds", Ask: engine.SpeedsAsk{Given: given, At: "40ft", Want: "2.2mph"}}, "table"},
		{[]string{"aim", "--rod", rod, "--depth", "12m"}, question{Op: "aim", Ask: engine.AimAsk{Given: given, Rod: rod, Depth: 12, Top: 5, Intervals: true}}, ""},
		{[]string{"aim", "--all", "down 10ft"}, question{Op: "order", Ask: engine.OrderAsk{Given: given, Order: "down 10ft", Intervals: true}}, ""},
		{[]string{"aim", "--like", "wire, large diver, dial 2, 180ft"}, question{Op: "like", Ask: engine.LikeAsk{Given: given, Said: "wire, large diver, dial 2, 180ft", Top: 1, Intervals: true}}, ""},
		{[]string{"lay", "--top", "1"}, question{Op: "lay", Ask: engine.LayAsk{Given: given, Top: 1, Seed: 1}}, "layout"},
		{[]string{"turn", "--to", "starboard", "--angle", "90", "--radius", "60m", "--before", "20s", "--after", "20s", "--worlds", "0"},
			question{Op: "turn", Ask: engine.TurnAsk{Given: given, To: sternfan.Starboard, Angle: new(degrees90), Radius: new(60.0), Before: new(20.0), After: new(20.0), Seed: 1, Wider: true, Shapes: true}}, "turn"},
		{[]string{"turn", "--event", "strike:" + rod, "--before", "10s", "--after", "20s", "--worlds", "0"},
			question{Op: "turn", Ask: engine.TurnAsk{Given: given, Event: "strike:" + rod, Before: new(10.0), After: new(20.0), Seed: 1, Wider: true, Shapes: true}}, "turn"},
	}
	at := served(t, program)
	var questions []question
	for _, c := range cases {
		questions = append(questions, c.q)
	}
	heard := inNode(t, "sternfan", questions...)
	for i, c := range cases {
		t.Run(strings.Join(c.args, " "), func(t *testing.T) {
			args := append([]string{c.args[0], file, "--format", "json"}, c.args[1:]...)
			printed := output(t, nil, nil, program, args...)
			worst := 0.0
			if d := compare(c.q.Op, member(t, printed, ""), member(t, overHTTP(t, at, c.q), c.member), 0, &worst); d != "" {
				t.Error("over HTTP: ", d)
			}
			if heard[i].Reply.Answer == nil {
				t.Fatalf("in the browser: %s %s", heard[i].Reply.Faults, heard[i].Reply.Failed)
			}
			if d := compare(c.q.Op, member(t, printed, ""), member(t, heard[i].Reply.Answer, c.member), 1e-9, &worst); d != "" {
				t.Error("in the browser: ", d)
			}
			t.Logf("largest difference in the browser %.1e", worst)
		})
	}
}

// degrees90 is what --angle 90 asks for, rad.
const degrees90 = 90 * 3.141592653589793 / 180
