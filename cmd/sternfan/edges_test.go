package main

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"
)

var demo = filepath.Join("..", "..", "examples", "summer.yaml")

func TestBinaryIsNotWrittenToATerminal(t *testing.T) {
	for _, format := range []string{"pdf", "png"} {
		got := commandOn(t.Context(), &world{terminal: true}, "", "run", demo, "--format", format)
		if got.code != exitFaulty || got.stdout != "" || !strings.Contains(got.stderr, "-o OUT."+format) {
			t.Errorf("%s: exit code %d, %d bytes on the screen, said %q", format, got.code, len(got.stdout), got.stderr)
		}
	}
	if got := commandOn(t.Context(), &world{terminal: true}, "", "run", demo, "--format", "svg"); got.code != exitOK {
		t.Errorf("svg is text, but: exit code %d, said %q", got.code, got.stderr)
	}
}

// A wide screen leaves the settings on one row; a file is the same on every screen.
func TestTableFitsTheScreen(t *testing.T) {
	rows := func(text string) int { return strings.Count(text, "\n") }
	piped := commandOn(t.Context(), &world{}, "", "run", demo)
	wide := commandOn(t.Context(), &world{terminal: true, columns: 160}, "", "run", demo)
	if piped.code != exitOK || wide.code != exitOK {
		t.Fatalf("codes %d and %d", piped.code, wide.code)
	}
	if rows(wide.stdout) >= rows(piped.stdout) {
		t.Errorf("%d rows on a wide screen, %d in a pipe", rows(wide.stdout), rows(piped.stdout))
	}
}

// An interrupt ends the wait for a pipe that says nothing.
func TestInterruptWhileReading(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	silent, writer := io.Pipe()
	defer writer.Close()
	var stdout, stderr strings.Builder
	done := make(chan int)
	go func() {
		done <- run(ctx, []string{"run", "-"}, &world{stdin: silent, stdout: &stdout, stderr: &stderr})
	}()
	cancel()
	select {
	case code := <-done:
		if code != exitFailed || stdout.Len() > 0 || !strings.Contains(stderr.String(), "interrupted") {
			t.Errorf("exit code %d, %q on stdout, %q on stderr", code, stdout.String(), stderr.String())
		}
	case <-time.After(10 * time.Second):
		t.Fatal("still reading")
	}
}

// An interrupt while solving leaves no file.
func TestInterruptWhileSolving(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	w := &world{open: func(path string) (io.ReadCloser, error) {
		f, err := os.Open(path)
		return struct {
			io.Reader
			io.Closer
		}{io.MultiReader(f, cancels{cancel}), f}, err
	}}
	got := commandOn(ctx, w, "", "run", demo, "-o", "fan.json")
	if got.code != exitFailed || len(got.files) > 0 || !strings.Contains(got.stderr, "interrupted") {
		t.Errorf("exit code %d, %d files, said %q", got.code, len(got.files), got.stderr)
	}
}

// cancels is an empty reader that ends the context on the way.
type cancels struct{ cancel context.CancelFunc }

func (c cancels) Read([]byte) (int, error) {
	c.cancel()
	return 0, io.EOF
}

// No more of a file is read than shows that it is too large.
func TestReadsNoMoreThanTheLimit(t *testing.T) {
	count := &counts{}
	w := &world{open: func(string) (io.ReadCloser, error) { return io.NopCloser(count), nil }}
	got := commandOn(t.Context(), w, "", "run", "endless.yaml")
	if got.code != exitFaulty || !strings.Contains(got.stderr, "too large") {
		t.Errorf("exit code %d, said %q", got.code, got.stderr)
	}
	if count.n != maxBytes+1 {
		t.Errorf("read %d bytes, want %d", count.n, maxBytes+1)
	}
}

// counts is endless text that counts what is read of it.
type counts struct{ n int }

func (c *counts) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	c.n += len(p)
	return len(p), nil
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "fan.svg")
	names := func() string {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, e := range entries {
			out = append(out, e.Name())
		}
		return strings.Join(out, " ")
	}
	for _, text := range []string{"first", "second"} {
		if err := writeFile(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if data, err := os.ReadFile(path); err != nil || string(data) != text {
			t.Fatalf("holds %q, %v; want %q", data, err, text)
		}
	}

	// The mode of a file that was there stays.
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(path, []byte("third")); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v; want 0600", info.Mode(), err)
	}

	// A link stays a link, and what it leads to is replaced.
	link := filepath.Join(dir, "link.svg")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(link, []byte("fourth")); err != nil {
		t.Fatal(err)
	}
	if data, err := os.ReadFile(path); err != nil || string(data) != "fourth" {
		t.Errorf("through the link: holds %q, %v", data, err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is %v, %v", info.Mode(), err)
	}

	if err := writeFile(dir, nil); err == nil {
		t.Error("wrote over a folder")
	}
	if err := writeFile(os.DevNull, []byte("gone")); err != nil {
		t.Errorf("to a device: %v", err)
	}
	if got := names(); got != "fan.svg link.svg" {
		t.Errorf("the folder holds %q", got)
	}
}

// A result that cannot be written is said, and is not a fault of the file's.
func TestWriteFails(t *testing.T) {
	w := &world{write: func(string, []byte) error { return errors.New("no space left") }}
	got := commandOn(t.Context(), w, "", "run", demo, "-o", "fan.json")
	if got.code != exitFailed || !strings.Contains(got.stderr, "fan.json cannot be written: no space left") {
		t.Errorf("exit code %d, said %q", got.code, got.stderr)
	}
}

// Every command has a help that can be printed.
func TestHelp(t *testing.T) {
	parser, err := newParser(&world{stdout: io.Discard, stderr: io.Discard})
	if err != nil {
		t.Fatal(err)
	}
	for _, node := range parser.Model.Children {
		got := command(t, "", node.Name, "--help")
		if got.code != exitOK || !strings.Contains(got.stdout, "Usage: sternfan "+node.Name) {
			t.Errorf("%s: exit code %d, printed %q", node.Name, got.code, got.stdout)
		}
		if node.Help == "" {
			t.Errorf("%s has no help", node.Name)
		}
		for _, f := range node.Flags {
			if f.Help == "" {
				t.Errorf("%s --%s has no help", node.Name, f.Name)
			}
		}
	}
}

// The completion scripts name all commands and flags of the parser that help names.
func TestCompletionNamesEverything(t *testing.T) {
	parser, err := newParser(&world{stdout: io.Discard, stderr: io.Discard})
	if err != nil {
		t.Fatal(err)
	}
	long := map[string]func(*kong.Flag) string{
		"bash": func(f *kong.Flag) string { return "--" + f.Name },
		"zsh": func(f *kong.Flag) string {
			if f.IsBool() {
				return "*--" + f.Name + "["
			}
			return "*--" + f.Name + "=["
		},
		"fish": func(f *kong.Flag) string { return "-l " + f.Name + " " },
	}
	for shell, form := range long {
		script := command(t, "", "completion", shell).stdout
		for _, node := range parser.Model.Children {
			if !strings.Contains(script, node.Name) {
				t.Errorf("%s: no command %s", shell, node.Name)
			}
			for _, f := range node.Flags {
				// What is hidden from help is for work on the program, not offered.
				if strings.Contains(script, form(f)) == f.Hidden {
					t.Errorf("%s: flag --%s of %s: hidden %t, named %t", shell, f.Name, node.Name, f.Hidden, f.Hidden)
				}
			}
		}
	}
}
