package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets the scripts run the program itself: the test binary under its name.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sternfan": main})
}

func TestScripts(t *testing.T) {
	examples, err := filepath.Abs(filepath.Join("..", "..", "examples"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("EXAMPLES", examples)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":    exits,
			"bigfile":  bigFile,
			"filehead": fileHead,
			"only":     only,
		},
	})
}

// exits runs "exits CODE sternfan ARGS...": a script's ! does not tell 1 from 2.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE command args...")
	}
	err := ts.Exec(args[1], args[2:]...)
	code := "0"
	if err != nil {
		code = strings.TrimPrefix(err.Error(), "exit status ")
	}
	if code != args[0] {
		ts.Fatalf("exit code %s, want %s", code, args[0])
	}
}

// bigFile makes "bigfile NAME": 2 MiB of comment.
func bigFile(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: bigfile NAME")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), bytes.Repeat([]byte("# nothing here\n"), 2<<20/15), 0o666))
}

// fileHead checks "filehead NAME TEXT": what a file begins with.
func fileHead(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: filehead NAME TEXT")
	}
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	if !bytes.HasPrefix(data, []byte(args[1])) {
		ts.Fatalf("%s begins with %q, want %q", args[0], data[:min(len(data), 16)], args[1])
	}
}

// only checks "only DIR NAMES...": that a folder holds these files and no other, so that
// no unfinished file was left.
func only(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: only DIR names...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if g, w := strings.Join(got, " "), strings.Join(args[1:], " "); g != w {
		ts.Fatalf("%s holds %q, want %q", args[0], g, w)
	}
}

// outcome is what a run of the program within the test left behind.
type outcome struct {
	code           int
	stdout, stderr string
	files          map[string][]byte
}

// command runs the program in-process with the text as standard input.
func command(t *testing.T, stdin string, args ...string) outcome {
	t.Helper()
	return commandOn(t.Context(), &world{}, stdin, args...)
}

func commandOn(ctx context.Context, w *world, stdin string, args ...string) outcome {
	var stdout, stderr bytes.Buffer
	got := outcome{files: map[string][]byte{}}
	w.stdin, w.stdout, w.stderr = strings.NewReader(stdin), &stdout, &stderr
	w.version = "test"
	w.now = func() time.Time { return time.Date(2026, 7, 14, 5, 30, 0, 0, time.UTC) }
	if w.open == nil {
		w.open = openFile
	}
	if w.write == nil {
		w.write = func(path string, data []byte) error {
			got.files[path] = bytes.Clone(data)
			return nil
		}
	}
	got.code = run(ctx, args, w)
	got.stdout, got.stderr = stdout.String(), stderr.String()
	return got
}
