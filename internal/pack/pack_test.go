package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/web"

	"github.com/andybalholm/brotli"
	"io"
)

// What was packed comes out as it went in, by either compression; names with a hash are
// kept forever; what an earlier packing left goes.
func TestPack(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	put := func(dir, name, text string) {
		t.Helper()
		file := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	long := strings.Repeat("a spread of lines behind a boat; ", 100)
	put(from, "index.html", long)
	put(from, "assets/main-0aZ_b-c3.js", long+"js")
	put(from, "tiny.txt", "1")
	put(to, "assets/old-00000000.js.br", "old")
	put(to, ".keep", "kept")
	for range 2 { // the second keeps what the first has made
		if _, err := pack(from, to, 5); err != nil {
			t.Fatal(err)
		}
	}
	files, err := web.OpenFiles(os.DirFS(to))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"index.html": long, "assets/main-0aZ_b-c3.js": long + "js", "tiny.txt": "1"} {
		if got, err := files.Read(name); err != nil || string(got) != want {
			t.Errorf("%s: %.40q, %v", name, got, err)
		}
	}
	f, err := os.Open(filepath.Join(to, "index.html.br"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got, err := io.ReadAll(brotli.NewReader(f)); err != nil || string(got) != long {
		t.Errorf("brotli: %.40q, %v", got, err)
	}
	for _, file := range files.All() {
		if file.Forever != strings.HasPrefix(file.Name, "assets/") || file.Packed != (file.Name != "tiny.txt") {
			t.Errorf("%+v", file)
		}
	}
	if _, err := os.Stat(filepath.Join(to, "assets/old-00000000.js.br")); err == nil {
		t.Error("an old file is still there")
	}
	if _, err := os.Stat(filepath.Join(to, ".keep")); err != nil {
		t.Error(err)
	}
}

// A file packed as well or better stays as it is; one packed less well, or of another
// content, is packed anew.
func TestPackKeepsTheBetter(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(from, "index.html"), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	size := func(quality int) int64 {
		t.Helper()
		if _, err := pack(from, to, quality); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(filepath.Join(to, "index.html.br"))
		if err != nil {
			t.Fatal(err)
		}
		return info.Size()
	}
	var text strings.Builder
	for i := range 20000 {
		fmt.Fprintf(&text, "%d lines of %d ft, ", i*i%97, i%89*i%83)
	}
	write(text.String())
	worst := size(0)
	best := size(11)
	if best >= worst {
		t.Fatalf("%d bytes at 11, %d at 0", best, worst)
	}
	if kept := size(0); kept != best {
		t.Errorf("%d bytes after packing at 0 what was packed at 11 in %d", kept, best)
	}
	write("another " + text.String())
	if changed := size(0); changed <= best {
		t.Errorf("%d bytes after a change packed at 0, %d at 11", changed, best)
	}
}
