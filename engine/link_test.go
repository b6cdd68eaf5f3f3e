package engine_test

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sternfan/engine"
)

func TestLink(t *testing.T) {
	for _, name := range []string{"summer.yaml", "class.yaml"} {
		text := example(t, name)
		var e engine.Engine
		link := do[engine.LinkAnswer](t, &e, "link", engine.FileText{Text: text}).Payload
		if strings.Trim(link, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.") != "" {
			t.Errorf("the payload has other characters: %s", link)
		}
		if got := do[engine.FileText](t, &e, "unlink", engine.LinkAsk{Payload: "#" + link}).Text; got != text {
			t.Error("another text came back")
		}
	}
}

// A link made at any time opens in every later version: a folder per version of the
// payload, with what a link of that day carried.
func TestKeptLinks(t *testing.T) {
	kept, err := filepath.Glob(filepath.Join("testdata", "links", "*.link"))
	if err != nil || len(kept) != engine.LinkVersion {
		t.Fatalf("%d kept links for %d versions, %v", len(kept), engine.LinkVersion, err)
	}
	for _, file := range kept {
		link, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(strings.TrimSuffix(file, ".link") + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		var e engine.Engine
		got := do[engine.FileText](t, &e, "unlink", engine.LinkAsk{Payload: strings.TrimSpace(string(link))}).Text
		if got != string(want) {
			t.Errorf("%s carries another text", file)
		}
		if s := do[engine.Spread](t, &e, "spread", engine.SpreadAsk{Given: engine.Given{Text: got}}); len(s.Rows) == 0 {
			t.Errorf("%s solves nothing", file)
		}
	}
}

func packed(t testing.TB, raw []byte) string {
	t.Helper()
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(raw); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return "1." + base64.RawURLEncoding.EncodeToString(b.Bytes())
}

// Links that mean harm are refused in words, or carry text that is only ever text.
func TestHostileLinks(t *testing.T) {
	for name, payload := range map[string]string{
		"nothing":         "",
		"no version":      "abc",
		"a word":          "one.abc",
		"a later version": "99.abc",
		"not base64":      "1.%%%",
		"not deflate":     "1.AAAA",
		"half":            packed(t, []byte(example(t, "summer.yaml")))[:500],
		"a bomb":          packed(t, make([]byte, 100<<20)),
		"10 MB long":      "1." + strings.Repeat("A", 10<<20),
		"not text":        packed(t, []byte{0xff, 0xfe, 0x00}),
		"empty":           packed(t, nil),
	} {
		if text, err := engine.DecodeLink(payload); err == nil {
			t.Errorf("%s was taken: %.60q", name, text)
		} else if len(err.Error()) > 300 {
			t.Errorf("%s: the fault repeats the link", name)
		}
	}
	// Nested without end, and script in every string: text, which the decoder judges.
	nested, err := engine.DecodeLink(packed(t, []byte(strings.Repeat("[", 500_000))))
	if err != nil {
		t.Fatal(err)
	}
	var e engine.Engine
	if f, _ := refused(t, &e, "spread", engine.SpreadAsk{Given: engine.Given{Text: nested}}); f[0].Code != "too-deep" && f[0].Code != "too-large" {
		t.Errorf("nested without end: %+v", f[0])
	}
}

func FuzzDecodeLink(f *testing.F) {
	f.Add("1.")
	f.Add(packed(f, []byte("version: 1\n")))
	f.Add("2.abc")
	f.Fuzz(func(t *testing.T, payload string) {
		text, err := engine.DecodeLink(payload)
		if err != nil {
			return
		}
		again, err := engine.EncodeLink(text)
		if err != nil {
			return // too long once packed by us
		}
		if back, err := engine.DecodeLink(again); err != nil || back != text {
			t.Errorf("%q came back as %q, %v", text, back, err)
		}
	})
}
