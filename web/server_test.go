package web

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"sternfan/engine"
)

// packed returns a small app as the packer leaves it.
func packedApp(t testing.TB) *Files {
	t.Helper()
	fsys := fstest.MapFS{
		"secret.txt": {Data: []byte("not of the app")},
		"icon.png":   {Data: []byte("png")},
	}
	list := []File{{Name: "icon.png", Type: "image/png", Size: 3, Hash: strings.Repeat("a", 64)}}
	for name, typ := range map[string]string{"index.html": "text/html; charset=utf-8", "assets/engine-0a1b2c3d.wasm": "application/wasm", "sw.js": "text/javascript; charset=utf-8"} {
		var b bytes.Buffer
		w := gzip.NewWriter(&b)
		if _, err := io.WriteString(w, "content of "+name); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		fsys[name+".gz"] = &fstest.MapFile{Data: b.Bytes()}
		fsys[name+".br"] = &fstest.MapFile{Data: []byte("brotli of " + name)}
		list = append(list, File{Name: name, Type: typ, Size: 10, Hash: strings.Repeat("b", 64), Packed: true, Forever: strings.HasPrefix(name, "assets/")})
	}
	text, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	fsys[IndexName] = &fstest.MapFile{Data: text}
	files, err := OpenFiles(fsys)
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// clock is a time that a test moves.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

const code = "1234 5678"

func newTest(t testing.TB) (*Server, *clock) {
	t.Helper()
	c := &clock{time.Date(2026, 7, 1, 5, 0, 0, 0, time.UTC)}
	return New(Options{Files: packedApp(t), Hosts: []string{"192.168.7.4"}, Code: code, Key: bytes.Repeat([]byte{7}, 32), Now: c.now, Version: "test"}), c
}

// ask sends a request to the handler, from this machine unless from says otherwise.
func ask(s *Server, method, target, from string, body io.Reader, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "http://localhost/", body)
	r.URL.Path, r.URL.RawQuery, _ = strings.Cut(target, "?")
	r.RemoteAddr = from
	if from == "" {
		r.RemoteAddr = "127.0.0.1:5000"
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
			continue
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

func TestFiles(t *testing.T) {
	s, _ := newTest(t)
	for _, row := range []struct {
		path, accept, body, coding, typ, cache string
	}{
		{"/", "gzip, br", "brotli of index.html", "br", "text/html; charset=utf-8", "no-cache"},
		{"/", "", "content of index.html", "", "text/html; charset=utf-8", "no-cache"},
		{"/", "br;q=0", "content of index.html", "", "text/html; charset=utf-8", "no-cache"},
		{"/assets/engine-0a1b2c3d.wasm", "br", "brotli of assets/engine-0a1b2c3d.wasm", "br", "application/wasm", "public, max-age=31536000, immutable"},
		{"/sw.js", "br", "brotli of sw.js", "br", "text/javascript; charset=utf-8", "no-cache"},
		{"/icon.png", "br", "png", "", "image/png", "no-cache"},
	} {
		w := ask(s, "GET", row.path, "", nil, "Accept-Encoding", row.accept)
		h := w.Header()
		if w.Code != 200 || w.Body.String() != row.body || h.Get("Content-Encoding") != row.coding || h.Get("Content-Type") != row.typ || h.Get("Cache-Control") != row.cache {
			t.Errorf("%s for %q: %d %q %v", row.path, row.accept, w.Code, w.Body, h)
		}
		if csp := h.Get("Content-Security-Policy"); strings.Contains(csp, "unsafe-inline") || strings.Contains(csp, "'unsafe-eval'") || !strings.Contains(csp, "'wasm-unsafe-eval'") {
			t.Errorf("policy %q", csp)
		}
		again := ask(s, "GET", row.path, "", nil, "Accept-Encoding", row.accept, "If-None-Match", h.Get("ETag"))
		if again.Code != http.StatusNotModified || again.Body.Len() != 0 {
			t.Errorf("%s again: %d", row.path, again.Code)
		}
	}
	w := ask(s, "GET", "/", "", nil, "Accept-Encoding", "gzip")
	r, err := gzip.NewReader(w.Body)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(r); err != nil || string(text) != "content of index.html" {
		t.Errorf("%q, %v", text, err)
	}
}

// Only what the list names is there, however a path is twisted.
func TestPathTricks(t *testing.T) {
	s, _ := newTest(t)
	for _, path := range []string{
		"/secret.txt", "/files.json", "/index.html.gz", "/../secret.txt", "/assets/../secret.txt", "//secret.txt", "/./secret.txt",
		"/assets/..%2fsecret.txt", "/assets/%2e%2e/secret.txt", `/..\secret.txt`, "/index.html/", "/index.html\x00.png", "/assets", "/assets/",
		"/etc/passwd", "//etc/passwd", "/C:/", "/.keep", "/INDEX.HTML", "/api/../secret.txt",
	} {
		w := ask(s, "GET", path, "", nil)
		if w.Code == http.StatusOK || strings.Contains(w.Body.String(), "not of the app") {
			t.Errorf("%q: %d %q", path, w.Code, w.Body)
		}
	}
	// The same over the wire, where no client tidies the path.
	l := listen(t, s)
	for _, path := range []string{"/../secret.txt", "/assets/../../secret.txt", "/%2e%2e/secret.txt", "/assets/..%2f..%2fsecret.txt", "secret.txt", "http://elsewhere/secret.txt"} {
		reply := raw(t, l, "GET "+path+" HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
		if strings.Contains(reply, " 200 ") || strings.Contains(reply, "not of the app") {
			t.Errorf("%q: %.200q", path, reply)
		}
	}
}

// listen serves until the test ends, and returns the address.
func listen(t testing.TB, s *Server) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("the server ended with %v", err)
		}
	})
	return l.Addr().String()
}

// raw sends bytes and returns what comes back until the other side closes.
func raw(t testing.TB, addr, text string) string {
	t.Helper()
	c, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if err := c.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(c, text); err != nil {
		t.Fatal(err)
	}
	reply, err := io.ReadAll(c)
	if err != nil && len(reply) == 0 {
		t.Fatal(err)
	}
	return string(reply)
}

func TestForeignHostAndOrigin(t *testing.T) {
	s, _ := newTest(t)
	version := func(headers ...string) int {
		return ask(s, "POST", "/api/version", "", strings.NewReader("{}"), append([]string{"Content-Type", "application/json"}, headers...)...).Code
	}
	for _, host := range []string{"evil.example", "localhost.evil.example", "192.168.7.5", "127.0.0.2", "", "[::2]:4157"} {
		if got := version("Host", host); got != http.StatusMisdirectedRequest {
			t.Errorf("host %q: %d", host, got)
		}
	}
	for _, host := range []string{"localhost:4157", "127.0.0.1", "[::1]:4157", "192.168.7.4:4157", "LOCALHOST"} {
		if got := version("Host", host); got != http.StatusOK {
			t.Errorf("host %q: %d", host, got)
		}
	}
	for _, origin := range []string{"https://evil.example", "http://localhost:1", "null", "http://127.0.0.1", "file://", "http://localhost.evil.example"} {
		if got := version("Origin", origin); got != http.StatusForbidden {
			t.Errorf("origin %q: %d", origin, got)
		}
		if got := ask(s, "GET", "/api/events", "", nil, "Origin", origin).Code; got != http.StatusForbidden {
			t.Errorf("events from %q: %d", origin, got)
		}
	}
	if got := version("Origin", "http://localhost"); got != http.StatusOK {
		t.Errorf("its own origin: %d", got)
	}
	if got := version("Sec-Fetch-Site", "cross-site"); got != http.StatusForbidden {
		t.Errorf("cross-site: %d", got)
	}
	if got := ask(s, "GET", "/icon.png", "", nil, "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors").Code; got != http.StatusForbidden {
		t.Errorf("a picture for a page elsewhere: %d", got)
	}
	if got := ask(s, "POST", "/api/version", "", strings.NewReader("{}"), "Content-Type", "text/plain").Code; got != http.StatusUnsupportedMediaType {
		t.Errorf("a form's media type: %d", got)
	}
}

func tryCode(s *Server, from, code string) *httptest.ResponseRecorder {
	return ask(s, "POST", "/pair", from, strings.NewReader(url.Values{"code": {code}}.Encode()),
		"Content-Type", "application/x-www-form-urlencoded", "Host", "192.168.7.4:4157", "Origin", "http://192.168.7.4:4157")
}

func TestPairing(t *testing.T) {
	s, c := newTest(t)
	const phone = "192.168.7.20:40000"
	get := func(path, cookie string) *httptest.ResponseRecorder {
		return ask(s, "GET", path, phone, nil, "Host", "192.168.7.4:4157", "Cookie", cookie)
	}
	for _, path := range []string{"/icon.png", "/api/file", "/api/events", "/assets/engine-0a1b2c3d.wasm"} {
		if w := get(path, ""); w.Code != http.StatusUnauthorized {
			t.Errorf("%s without pairing: %d", path, w.Code)
		}
	}
	if w := get("/", ""); w.Code != 200 || !strings.Contains(w.Body.String(), "Pair this phone") {
		t.Errorf("first page: %d %s", w.Code, w.Body)
	}
	if w := tryCode(s, phone, "0000 0000"); w.Code != http.StatusForbidden || w.Header().Get("Set-Cookie") != "" {
		t.Errorf("a wrong code: %d", w.Code)
	}
	w := tryCode(s, phone, "12345678")
	if w.Code != http.StatusSeeOther || len(w.Result().Cookies()) != 1 {
		t.Fatalf("the code: %d %v", w.Code, w.Header())
	}
	cookie := w.Result().Cookies()[0]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Path != "/" {
		t.Errorf("cookie %v", cookie)
	}
	paired := cookie.Name + "=" + cookie.Value
	if w := get("/icon.png", paired); w.Code != 200 {
		t.Errorf("paired: %d", w.Code)
	}
	for _, forged := range []string{cookie.Name + "=", cookie.Name + "=AAAA", paired[:len(paired)-2] + "AA", strings.Replace(paired, "=A", "=B", 1)} {
		if w := get("/icon.png", forged); w.Code != http.StatusUnauthorized {
			t.Errorf("%s: %d", forged, w.Code)
		}
	}
	// The same key knows it after a start anew; time ends it; another key never knew it.
	later := New(Options{Files: packedApp(t), Hosts: []string{"192.168.7.4"}, Code: NewCode(), Key: bytes.Repeat([]byte{7}, 32), Now: c.now})
	if w := ask(later, "GET", "/icon.png", phone, nil, "Host", "192.168.7.4", "Cookie", paired); w.Code != 200 {
		t.Errorf("after a start anew: %d", w.Code)
	}
	other := New(Options{Files: packedApp(t), Hosts: []string{"192.168.7.4"}, Code: NewCode(), Key: bytes.Repeat([]byte{8}, 32), Now: c.now})
	if w := ask(other, "GET", "/icon.png", phone, nil, "Host", "192.168.7.4", "Cookie", paired); w.Code != http.StatusUnauthorized {
		t.Errorf("under another key: %d", w.Code)
	}
	c.t = c.t.Add(pairedFor + time.Hour)
	if w := get("/icon.png", paired); w.Code != http.StatusUnauthorized {
		t.Errorf("out of date: %d", w.Code)
	}
	// Without a code nobody from elsewhere gets in.
	alone := New(Options{Files: packedApp(t), Hosts: []string{"192.168.7.4"}})
	if w := tryCode(alone, phone, ""); w.Code != http.StatusForbidden {
		t.Errorf("no code: %d", w.Code)
	}
}

// A thousand wrong codes, from one address and from many: all refused, most of them unread;
// the right one works again once time has passed.
func TestWrongCodes(t *testing.T) {
	s, c := newTest(t)
	read := 0
	for i := range 1000 {
		from := fmt.Sprintf("192.168.7.%d:4000", 20+i%2*(i%200))
		switch w := tryCode(s, from, fmt.Sprintf("%08d", i)); w.Code {
		case http.StatusForbidden:
			read++
		case http.StatusTooManyRequests:
			if w.Header().Get("Retry-After") == "" {
				t.Fatal("no word on how long to wait")
			}
		default:
			t.Fatalf("try %d: %d", i, w.Code)
		}
		if len(ask(s, "GET", "/api/file", from, nil, "Host", "192.168.7.4").Result().Cookies()) > 0 {
			t.Fatal("a cookie for nothing")
		}
		c.t = c.t.Add(50 * time.Millisecond)
	}
	if most := triesAll + int(50/everyAll) + 1; read > most {
		t.Errorf("%d codes were looked at in 50 s, want %d at most", read, most)
	}
	for range triesEach {
		tryCode(s, "192.168.7.20:4000", "0")
	}
	if w := tryCode(s, "192.168.7.20:4000", code); w.Code != http.StatusTooManyRequests {
		t.Errorf("the right code while too many are tried: %d", w.Code)
	}
	c.t = c.t.Add(time.Minute)
	if w := tryCode(s, "192.168.7.20:4000", code); w.Code != http.StatusSeeOther {
		t.Errorf("the right code a minute later: %d", w.Code)
	}
	if a, b := NewCode(), NewCode(); a == b || len(digitsOf(a)) != 8 {
		t.Error("codes are not eight digits by chance")
	}
}

func TestOperations(t *testing.T) {
	s, _ := newTest(t)
	text, err := os.ReadFile(filepath.Join("..", "examples", "class.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	body, err := json.Marshal(engine.SpreadAsk{Given: engine.Given{Text: string(text)}, Plan: true})
	if err != nil {
		t.Fatal(err)
	}
	post := func(op, body string, headers ...string) *httptest.ResponseRecorder {
		return ask(s, "POST", "/api/"+op, "", strings.NewReader(body), append(headers, "Content-Type", "application/json")...)
	}
	w := post("spread", string(body))
	var e engine.Engine
	if want := e.Handle(t.Context(), "spread", body, nil); w.Code != 200 || !bytes.Equal(w.Body.Bytes(), want) {
		t.Errorf("%d; another answer than the engine's", w.Code)
	}
	lines := strings.Split(strings.TrimSpace(post("spread", string(body), "Accept", Lines).Body.String()), "\n")
	if len(lines) < 1 || !strings.HasPrefix(lines[len(lines)-1], `{"answer":`) {
		t.Errorf("with progress: %.200q", lines)
	}
	for _, row := range []struct {
		op, body string
		want     int
	}{
		{"spread", `{"text":"version: 1"}`, 422}, {"spread", `{"text":`, 400}, {"spread", `[]`, 400}, {"nothing", `{}`, 404},
		{"spread", `{"text":"` + strings.Repeat("[", 100_000) + `"}`, 422}, {"version", `{}`, 200},
		{"unlink", `{"payload":"` + strings.Repeat("A", 1<<20) + `"}`, 422}, {"unlink", `{"payload":"1.<script>alert(1)</script>"}`, 422},
		{"spread", `{"text":"` + strings.Repeat("a", engine.MaxAsk) + `"}`, 413},
	} {
		if w := post(row.op, row.body); w.Code != row.want {
			t.Errorf("%s %.40s: %d %.200s", row.op, row.body, w.Code, w.Body)
		}
	}
	if w := ask(s, "GET", "/api/spread", "", nil); w.Code != http.StatusMethodNotAllowed && w.Code != http.StatusNotFound {
		t.Errorf("GET: %d", w.Code)
	}
}

// endless is a body that never ends; it counts what was read.
type endless struct{ read atomic.Int64 }

func (e *endless) Read(p []byte) (int, error) {
	const most = 1 << 30
	if e.read.Load() >= most {
		return 0, io.EOF
	}
	e.read.Add(int64(len(p)))
	for i := range p {
		p[i] = 'a'
	}
	return len(p), nil
}

// A gigabyte is refused after a few megabytes, and the server goes on.
func TestGigabyte(t *testing.T) {
	s, _ := newTest(t)
	addr := listen(t, s)
	body := &endless{}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r, err := http.Post("http://"+addr+"/api/spread", "application/json", body)
	if err == nil {
		if err := r.Body.Close(); err != nil {
			t.Error(err)
		}
		if r.StatusCode != http.StatusRequestEntityTooLarge {
			t.Errorf("status %d", r.StatusCode)
		}
	} else {
		var op *net.OpError // the server may close before it is read
		if !errors.As(err, &op) {
			t.Error(err)
		}
	}
	if n := body.read.Load(); n > 64<<20 {
		t.Errorf("%d bytes were taken", n)
	}
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 64<<20 {
		t.Errorf("the heap grew by %d bytes", grown)
	}
	alive(t, addr)
}

func alive(t *testing.T, addr string) {
	t.Helper()
	r, err := http.Post("http://"+addr+"/api/version", "application/json", strings.NewReader("{}"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != 200 {
		t.Errorf("status %d", r.StatusCode)
	}
}

// Clients that send a header a byte at a time are let go, and do not keep others out.
func TestSlowClients(t *testing.T) {
	s, _ := newTest(t)
	addr := listen(t, s)
	var slow []net.Conn
	for range 50 {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		if _, err := io.WriteString(c, "GET / HTTP/1.1\r\nHost: localh"); err != nil {
			t.Fatal(err)
		}
		slow = append(slow, c)
	}
	alive(t, addr)
	start := time.Now()
	if err := slow[0].SetReadDeadline(start.Add(4 * headerTime)); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadAll(slow[0]); err != nil {
		t.Errorf("it was not let go within %s: %v", 4*headerTime, err)
	}
	alive(t, addr)
}

func TestEvents(t *testing.T) {
	s, _ := newTest(t)
	addr := listen(t, s)
	if w := ask(s, "GET", "/api/file", "", nil); w.Code != http.StatusNotFound {
		t.Errorf("no file: %d", w.Code)
	}
	s.Share("mine.yaml", "version: 1")
	r, err := http.Get("http://" + addr + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	lines := bufio.NewScanner(r.Body)
	next := func(want string) {
		t.Helper()
		for lines.Scan() {
			if strings.Contains(lines.Text(), want) {
				return
			}
		}
		t.Errorf("no %q in the stream: %v", want, lines.Err())
	}
	next("event: hello")
	next(`"text":"version: 1"`)
	s.Share("mine.yaml", "version: 1\nname: changed")
	next(`version: 1\nname: changed`)
	var file SharedFile
	if err := json.Unmarshal(ask(s, "GET", "/api/file", "", nil).Body.Bytes(), &file); err != nil || file.Name != "mine.yaml" {
		t.Errorf("%+v, %v", file, err)
	}
}

// An end lets answers under way finish, and ends streams.
func TestStops(t *testing.T) {
	s, _ := newTest(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	r, err := http.Get("http://" + l.Addr().String() + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	cancel()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(2 * graceTime):
		t.Fatal("it did not stop")
	}
}

func TestNotBuilt(t *testing.T) {
	w := ask(New(Options{}), "GET", "/", "", nil)
	if w.Code != http.StatusNotImplemented || !strings.Contains(w.Body.String(), "make app") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}
