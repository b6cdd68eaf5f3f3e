package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"sternfan/web"
)

// syncBuffer is written by the program and read by the test.
type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// The program serves at the address that it prints, follows the file, and stops when
// interrupted.
func TestServe(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "mine.yaml")
	if err := os.WriteFile(file, []byte("version: 1\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	t.Setenv("XDG_CONFIG_HOME", dir)
	var out, errs syncBuffer
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan int, 1)
	go func() {
		done <- run(ctx, []string{"serve", "--port", "0", "--log", filepath.Join(dir, "log.db"), file}, &world{stdin: strings.NewReader(""), stdout: &out, stderr: &errs, open: openFile, write: writeFile, version: "test"})
	}()
	address := ""
	for range 200 {
		if m := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`).FindString(out.String()); m != "" {
			address = m
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if address == "" {
		t.Fatalf("no address in %q %q", out.String(), errs.String())
	}
	events, err := http.Get(address + "log/events")
	if err != nil {
		t.Fatal(err)
	}
	events.Body.Close()
	if events.StatusCode != http.StatusOK || !strings.Contains(out.String(), "log.db") {
		t.Errorf("the log: %d, %q", events.StatusCode, out.String())
	}
	get := func() string {
		r, err := http.Get(address + "api/file")
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	if got := get(); !strings.Contains(got, "version: 1") {
		t.Errorf("the file: %s", got)
	}
	if err := os.WriteFile(file, []byte("version: 1\nname: changed\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	for range 100 {
		if strings.Contains(get(), "changed") {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if got := get(); !strings.Contains(got, "changed") {
		t.Errorf("the file after its change: %s", got)
	}
	cancel()
	select {
	case code := <-done:
		if code != exitOK {
			t.Errorf("exit code %d: %s", code, errs.String())
		}
	case <-time.After(10 * time.Second):
		t.Fatal("it did not stop")
	}
}

// What phones are told: an address, a picture of it that a camera reads, and the code.
func TestAnnounce(t *testing.T) {
	var out bytes.Buffer
	if err := announce(&out, "http://127.0.0.1:4157/", "4157", web.Options{Hosts: []string{"192.168.7.4", "fd00::7"}, Code: "1234 5678"}, true); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"http://127.0.0.1:4157/", "http://192.168.7.4:4157/", "http://[fd00::7]:4157/", "1234 5678", "█", "HTTPS"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
}

// The key is made once and readable by its owner alone.
func TestPairKey(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", dir)
	t.Setenv("HOME", dir)
	first, err := pairKey()
	if err != nil {
		t.Fatal(err)
	}
	again, err := pairKey()
	if err != nil || !bytes.Equal(first, again) || len(first) != 32 {
		t.Errorf("%x, then %x, %v", first, again, err)
	}
}

// A site holds every file as it was before it was packed, and no other folder is touched.
func TestSite(t *testing.T) {
	files, err := web.OpenFiles(fstest.MapFS{
		web.IndexName: {Data: []byte(`[{"name":"index.html","type":"text/html"},{"name":"assets/a-00000000.js","type":"text/javascript"}]`)},
		"index.html":  {Data: []byte("<p>app</p>")}, "assets/a-00000000.js": {Data: []byte("1")},
	})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := &world{stdout: &out, write: writeFile, version: "test"}
	dir := filepath.Join(t.TempDir(), "site")
	for range 2 { // again over the first
		if err := writeSite(t.Context(), w, files, dir); err != nil {
			t.Fatal(err)
		}
	}
	var names []string
	err = filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			name, _ := strings.CutPrefix(filepath.ToSlash(path), filepath.ToSlash(dir)+"/")
			names = append(names, name)
		}
		return err
	})
	slices.Sort(names)
	if err != nil || !slices.Equal(names, []string{"assets/a-00000000.js", "index.html", siteMark}) {
		t.Errorf("%v, %v", names, err)
	}
	if text, err := os.ReadFile(filepath.Join(dir, "index.html")); err != nil || string(text) != "<p>app</p>" {
		t.Errorf("%q, %v", text, err)
	}
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, "photo.jpg"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := writeSite(t.Context(), w, files, other); err == nil || !strings.Contains(err.Error(), "other files") {
		t.Errorf("a folder of other files was written to: %v", err)
	}
}
