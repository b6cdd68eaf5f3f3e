package main

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"mime"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"sternfan/web"

	"github.com/andybalholm/brotli"
)

// types are the media types of the files that an app may have.
var types = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".mjs": "text/javascript; charset=utf-8",
	".css": "text/css; charset=utf-8", ".json": "application/json", ".webmanifest": "application/manifest+json",
	".wasm": "application/wasm", ".svg": "image/svg+xml", ".png": "image/png", ".ico": "image/x-icon",
	".yaml": "text/yaml; charset=utf-8", ".txt": "text/plain; charset=utf-8", ".woff2": "font/woff2",
}

// hashed is a name that changes with the content, as the bundler makes them.
var hashed = regexp.MustCompile(`^assets/.*-[A-Za-z0-9_-]{8}\.[a-z0-9]+$`)

// pack compresses the built app in the folder from into the folder to, with the list that
// [web.OpenFiles] reads. What lies in to already of the same content, compressed as well or
// better, is kept, since the best compression of the engine takes a minute. Quality is
// brotli's, 0 to 11.
func pack(from, to string, quality int) ([]web.File, error) {
	type packed struct {
		Hash    string
		Quality int
	}
	var before map[string]packed // by name: what lies there
	if text, err := os.ReadFile(filepath.Join(to, ".packed")); err == nil {
		_ = json.Unmarshal(text, &before) // what is not understood is packed anew
	}
	now := map[string]packed{}
	var all []web.File
	var work []job
	wanted := map[string]bool{".keep": true, ".packed": true, web.IndexName: true}
	err := fs.WalkDir(os.DirFS(from), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(filepath.Join(from, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		f := web.File{Name: name, Type: typeOf(name), Size: int64(len(data)), Hash: hex.EncodeToString(sum[:]), Forever: hashed.MatchString(name)}
		small, err := squeeze(data)
		if err != nil {
			return err
		}
		f.Packed = len(small) < len(data)*9/10
		all = append(all, f)
		target := filepath.Join(to, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(target), 0o777); err != nil {
			return err
		}
		if !f.Packed {
			wanted[name] = true
			return os.WriteFile(target, data, 0o666)
		}
		wanted[name+".br"], wanted[name+".gz"] = true, true
		if err := os.WriteFile(target+".gz", small, 0o666); err != nil {
			return err
		}
		now[name] = packed{f.Hash, quality}
		if _, err := os.Stat(target + ".br"); err == nil && before[name].Hash == f.Hash && before[name].Quality >= quality {
			now[name] = before[name]
			return nil
		}
		work = append(work, job{data, target + ".br"})
		return nil
	})
	if err == nil {
		err = pressAll(work, quality)
	}
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, errors.New("there is nothing in " + from)
	}
	if err := clear(to, wanted); err != nil {
		return nil, err
	}
	text, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		return nil, err
	}
	note, err := json.Marshal(now)
	if err != nil {
		return nil, err
	}
	return all, errors.Join(os.WriteFile(filepath.Join(to, web.IndexName), text, 0o666), os.WriteFile(filepath.Join(to, ".packed"), note, 0o666))
}

func typeOf(name string) string {
	ext := strings.ToLower(path.Ext(name))
	if t := types[ext]; t != "" {
		return t
	}
	if t := mime.TypeByExtension(ext); t != "" {
		return t
	}
	return "application/octet-stream"
}

func squeeze(data []byte) ([]byte, error) {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err == nil {
		_, err = w.Write(data)
	}
	if err == nil {
		err = w.Close()
	}
	return b.Bytes(), err
}

// job is a file to be compressed best, and where to.
type job struct {
	data []byte
	to   string
}

// pressAll does the jobs, the largest first, one on each processor.
func pressAll(work []job, quality int) error {
	slices.SortFunc(work, func(a, b job) int { return cmp.Or(cmp.Compare(len(b.data), len(a.data)), cmp.Compare(a.to, b.to)) })
	var next atomic.Int64
	failed := make([]error, len(work))
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(work); i = int(next.Add(1)) - 1 {
				small, err := press(work[i].data, quality)
				if err == nil {
					err = os.WriteFile(work[i].to, small, 0o666)
				}
				failed[i] = err
			}
		})
	}
	wg.Wait()
	return errors.Join(failed...)
}

func press(data []byte, quality int) ([]byte, error) {
	var b bytes.Buffer
	w := brotli.NewWriterOptions(&b, brotli.WriterOptions{Quality: quality, LGWin: 24})
	_, err := w.Write(data)
	err = errors.Join(err, w.Close())
	return b.Bytes(), err
}

// clear removes what an earlier packing left.
func clear(dir string, wanted map[string]bool) error {
	return fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || wanted[name] {
			return err
		}
		return os.Remove(filepath.Join(dir, filepath.FromSlash(name)))
	})
}
