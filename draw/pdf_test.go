package draw

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestPDFHasItsTextAndFonts(t *testing.T) {
	for _, c := range []struct {
		name   string
		scheme Scheme
		size   Size
	}{{"plan", Day, A4}, {"plan", Day, Letter}, {"card", Day, A5Upright}, {"card", Night, LetterUpright}, {"card-troubled", Print, LetterUpright}} {
		d, size := drawings(t)[c.name], c.size
		page := rendered(t, d, PDF, c.scheme, size)
		if !bytes.HasPrefix(page, []byte("%PDF-")) {
			t.Fatal("not a PDF")
		}
		if n := bytes.Count(page, []byte("/Type/Page/")); n != 1 {
			t.Errorf("%d pages", n)
		}
		if !bytes.Contains(page, []byte("/FontFile2")) {
			t.Error("no font is embedded")
		}
		box := fmt.Sprintf("/MediaBox[0 0 %.8g", size.Width*pointsMM)
		if !bytes.Contains(page, []byte(box)) {
			t.Errorf("no page %s points wide", box)
		}
		all := "\n" + strings.Join(pdfTexts(t, page), "\n") + "\n"
		for _, want := range texts(d) {
			if !strings.Contains(all, "\n"+want+"\n") {
				t.Errorf("the page lacks %q", want)
			}
		}
	}
}

var (
	streamStart = regexp.MustCompile(`stream\r?\n`)
	fontSwitch  = regexp.MustCompile(`^/F(\d+) [0-9.]+ Tf`)
	oneChar     = regexp.MustCompile(`<([0-9A-F]{4})> <([0-9A-F]{4})>\n?`)
	charRange   = regexp.MustCompile(`<([0-9A-F]{4})> <([0-9A-F]{4})> <([0-9A-F]{4})>`)
)

// pdfTexts returns the texts shown on a page, read through the fonts' own tables from
// glyphs to letters, in the order of the fonts in the file.
func pdfTexts(t *testing.T, page []byte) []string {
	t.Helper()
	var tables []map[uint16]rune
	var content []byte
	for _, at := range streamStart.FindAllIndex(page, -1) {
		z, err := zlib.NewReader(bytes.NewReader(page[at[1]:]))
		if err != nil {
			continue // not compressed, or the word inside a stream
		}
		text, err := io.ReadAll(z)
		if err != nil {
			continue
		}
		switch {
		case bytes.Contains(text, []byte("begincmap")):
			tables = append(tables, table(t, string(text)))
		case bytes.Contains(text, []byte("]TJ")):
			content = text
		}
	}
	if content == nil || len(tables) < 2 {
		t.Fatalf("no page content or too few font tables: %d", len(tables))
	}
	var out []string
	font := 0
	for i := 0; i < len(content); i++ {
		switch content[i] {
		case '/':
			if m := fontSwitch.FindSubmatch(content[i:min(len(content), i+40)]); m != nil {
				font, _ = strconv.Atoi(string(m[1]))
			}
		case '[':
			var b strings.Builder
			for i++; i < len(content) && content[i] != ']'; i++ {
				if content[i] != '(' {
					continue
				}
				var glyphs []byte
				for i++; content[i] != ')'; i++ {
					c := content[i]
					if c == '\\' {
						i++
						c = content[i]
						if k := strings.IndexByte("nrtbf", c); k >= 0 {
							c = "\n\r\t\b\f"[k]
						}
					}
					glyphs = append(glyphs, c)
				}
				for g := 0; g+1 < len(glyphs); g += 2 {
					b.WriteRune(tables[font][uint16(glyphs[g])<<8|uint16(glyphs[g+1])])
				}
			}
			if b.Len() > 0 {
				out = append(out, b.String())
			}
		}
	}
	return out
}

func table(t *testing.T, text string) map[uint16]rune {
	t.Helper()
	number := func(s string) uint16 {
		v, err := strconv.ParseUint(s, 16, 16)
		if err != nil {
			t.Fatal(err)
		}
		return uint16(v)
	}
	out := map[uint16]rune{}
	for _, m := range charRange.FindAllStringSubmatch(text, -1) {
		for g := number(m[1]); g <= number(m[2]); g++ {
			out[g] = rune(number(m[3]) + g - number(m[1]))
		}
	}
	if _, chars, ok := strings.Cut(text, "beginbfchar"); ok {
		for _, m := range oneChar.FindAllStringSubmatch(chars, -1) {
			out[number(m[1])] = rune(number(m[2]))
		}
	}
	return out
}
