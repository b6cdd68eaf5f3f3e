package web

import (
	"bytes"
	"compress/gzip"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
	"sync"
)

//go:embed all:dist
var dist embed.FS

// Built returns the app that was built into the program; nil when it was built without.
func Built() fs.FS {
	sub, err := fs.Sub(dist, "dist")
	if err != nil {
		panic("web: " + err.Error())
	}
	if _, err := fs.Stat(sub, IndexName); err != nil {
		return nil
	}
	return sub
}

// IndexName is the list of files in a packed app.
const IndexName = "files.json"

// File is one file of a packed app. It lies there compressed: Name.br and Name.gz, or
// as Name alone when compressing it gains nothing.
type File struct {
	Name    string `json:"name"` // path from the root, with slashes
	Type    string `json:"type"` // media type
	Size    int64  `json:"size"`
	Hash    string `json:"hash"`    // SHA-256 of the content, hexadecimal
	Packed  bool   `json:"packed"`  // there are .br and .gz
	Forever bool   `json:"forever"` // the name changes with the content
}

// Files is a packed app.
type Files struct {
	fsys fs.FS
	all  []File
	at   map[string]*File
}

// OpenFiles reads the list of a packed app. Only what the list names is ever opened.
func OpenFiles(fsys fs.FS) (*Files, error) {
	text, err := fs.ReadFile(fsys, IndexName)
	if err != nil {
		return nil, err
	}
	f := &Files{fsys: fsys, at: map[string]*File{}}
	if err := json.Unmarshal(text, &f.all); err != nil {
		return nil, fmt.Errorf("%s of the app: %w", IndexName, err)
	}
	for i := range f.all {
		file := &f.all[i]
		if !fs.ValidPath(file.Name) {
			return nil, fmt.Errorf("%s of the app names %q", IndexName, file.Name)
		}
		f.at[file.Name] = file
	}
	if f.at["index.html"] == nil {
		return nil, errors.New("the app has no index.html")
	}
	return f, nil
}

// All returns the files.
func (f *Files) All() []File { return f.all }

// Read returns a file's content as it was before it was packed.
func (f *Files) Read(name string) ([]byte, error) {
	file := f.at[name]
	if file == nil {
		return nil, fs.ErrNotExist
	}
	if !file.Packed {
		return fs.ReadFile(f.fsys, name)
	}
	packed, err := fs.ReadFile(f.fsys, name+".gz")
	if err != nil {
		return nil, err
	}
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// ServeHTTP answers with a file of the app, compressed as the client can take it.
func (f *Files) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "this can only be read", http.StatusMethodNotAllowed)
		return
	}
	name := strings.TrimPrefix(r.URL.Path, "/")
	if name == "" {
		name = "index.html"
	}
	file := f.at[name]
	if file == nil || path.Clean("/"+name) != "/"+name {
		http.Error(w, "there is no such page", http.StatusNotFound)
		return
	}
	h := w.Header()
	h.Set("Content-Type", file.Type)
	h.Set("Vary", "Accept-Encoding")
	if file.Forever {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		h.Set("Cache-Control", "no-cache")
	}
	coding := ""
	if file.Packed {
		coding = choose(r.Header.Get("Accept-Encoding"))
	}
	tag := `"` + file.Hash[:min(len(file.Hash), 24)] + coding + `"`
	h.Set("ETag", tag)
	if strings.Contains(r.Header.Get("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	var body []byte
	var err error
	switch coding {
	case "br":
		body, err = fs.ReadFile(f.fsys, name+".br")
	case "gzip":
		body, err = fs.ReadFile(f.fsys, name+".gz")
	default:
		body, err = f.Read(name)
	}
	if err != nil {
		http.Error(w, "this file of the app is damaged", http.StatusInternalServerError)
		return
	}
	if coding != "" {
		h.Set("Content-Encoding", coding)
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method != http.MethodHead {
		_, _ = w.Write(body) // a client that went away
	}
}

// choose returns the best coding that a client accepts: br, gzip or "".
func choose(accept string) string {
	ok := map[string]bool{}
	for part := range strings.SplitSeq(accept, ",") {
		name, weight, _ := strings.Cut(strings.TrimSpace(part), ";")
		q, found := strings.CutPrefix(strings.TrimSpace(weight), "q=")
		v, err := strconv.ParseFloat(q, 64)
		ok[strings.ToLower(strings.TrimSpace(name))] = !found || err == nil && v > 0
	}
	for _, name := range []string{"br", "gzip"} {
		if ok[name] {
			return name
		}
	}
	return ""
}

var built = sync.OnceValues(func() (*Files, error) {
	fsys := Built()
	if fsys == nil {
		return nil, ErrNotBuilt
	}
	return OpenFiles(fsys)
})

// ErrNotBuilt says that the program was built without the app.
var ErrNotBuilt = errors.New("this program was built without the app; make app builds it in")

// BuiltFiles returns the app that was built into the program, or [ErrNotBuilt].
func BuiltFiles() (*Files, error) { return built() }
