package draw

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/tdewolff/canvas"

	"sternfan"
)

// drawings are the golden drawing models of package report.
func drawings(t *testing.T) map[string]*sternfan.Drawing {
	t.Helper()
	out := map[string]*sternfan.Drawing{}
	for _, name := range []string{"plan", "plan-troubled", "plan-empty", "paths", "card", "card-troubled", "card-empty", "rates", "rates-hour", "rates-none", "depth-fit", "season", "season-empty"} {
		text, err := os.ReadFile("../report/testdata/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		d := &sternfan.Drawing{}
		if err := json.Unmarshal(text, d); err != nil {
			t.Fatal(err)
		}
		out[name] = d
	}
	return out
}

func rendered(t *testing.T, d *sternfan.Drawing, f Format, s Scheme, size Size) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Render(&b, d, f, s, size); err != nil {
		t.Fatalf("%s, %s: %v", f, s, err)
	}
	return b.Bytes()
}

// texts are every word that a reader must find in the drawing.
func texts(d *sternfan.Drawing) []string {
	out := []string{d.Title}
	for i := range d.Views {
		v := &d.Views[i]
		for _, s := range []string{v.Title, v.U.Label, v.V.Label} {
			if s != "" {
				out = append(out, s)
			}
		}
		for _, a := range []*sternfan.Axis{&v.U, &v.V} {
			for _, k := range a.Ticks {
				if k.Text != "" {
					out = append(out, k.Text)
				}
			}
		}
		for j := range v.Shapes {
			if v.Shapes[j].Text != "" {
				out = append(out, v.Shapes[j].Text)
			}
		}
	}
	return out
}

func TestPNGHasInkInEveryScheme(t *testing.T) {
	for name, d := range drawings(t) {
		for _, s := range Schemes {
			if strings.HasPrefix(name, "card") && s != Print {
				continue // a card's inks are the plan's
			}
			img, err := png.Decode(bytes.NewReader(rendered(t, d, PNG, s, Size{Pixels: 900})))
			if err != nil {
				t.Fatal(err)
			}
			if img.Bounds().Dx() != 900 {
				t.Errorf("%s: %d pixels across", name, img.Bounds().Dx())
			}
			// The empty plan's frames and words alone take half a hundredth of a sheet.
			if inked := ink0(img, schemes[s].paper); inked < 0.004 {
				t.Errorf("%s, %s: only %.4f of the sheet is inked", name, s, inked)
			}
		}
	}
}

// ink0 returns the share of pixels that are not near the paper's color.
func ink0(img image.Image, paper color.RGBA) float64 {
	n, b := 0, img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			c := color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)
			far := func(p, q uint8) bool { return math.Abs(float64(p)-float64(q)) > 40 }
			if far(c.R, paper.R) || far(c.G, paper.G) || far(c.B, paper.B) {
				n++
			}
		}
	}
	return float64(n) / float64(b.Dx()*b.Dy())
}

func TestNightPixelsAreRed(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(rendered(t, drawings(t)["plan-troubled"], PNG, Night, Size{Pixels: 900})))
	if err != nil {
		t.Fatal(err)
	}
	const tenth = 0.1 * 0xffff
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if _, g, bl, _ := img.At(x, y).RGBA(); float64(g) > tenth || float64(bl) > tenth {
				t.Fatalf("pixel %d, %d: green %d, blue %d of 65535", x, y, g, bl)
			}
		}
	}
}

func TestSVG(t *testing.T) {
	for name, d := range drawings(t) {
		for _, s := range Schemes {
			svg := rendered(t, d, SVG, s, Size{})
			dec := xml.NewDecoder(bytes.NewReader(svg))
			var found []string
			in := 0
			for {
				tok, err := dec.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				switch tok := tok.(type) {
				case xml.StartElement:
					if tok.Name.Local == "text" {
						in++
						found = append(found, "")
					} else if tok.Name.Local == "title" {
						in = -in
					}
				case xml.EndElement:
					if tok.Name.Local == "text" {
						in--
					} else if tok.Name.Local == "title" {
						in = -in
					}
				case xml.CharData:
					if in > 0 {
						found[len(found)-1] += string(tok)
					}
				}
			}
			all := "\n" + strings.Join(found, "\n") + "\n"
			for _, want := range texts(d) {
				if !strings.Contains(all, "\n"+want+"\n") {
					t.Errorf("%s: no text %q", name, want)
				}
			}
		}
	}
	svg := string(rendered(t, drawings(t)["plan"], SVG, Day, Size{}))
	for _, want := range []string{`role="img"`, `aria-label="Lines plan`, `<desc>`, `data-rod="p3"`, `data-part="diver"`, `class="line port"`, `class="interval starboard"`} {
		if !strings.Contains(svg, want) {
			t.Errorf("the SVG lacks %s", want)
		}
	}
}

// hostile is what a name in somebody else's file may hold.
const hostile = `</text><script>alert("x")</script>&'` + "\x00\x1b\ufffe"

func TestNamesAreEscaped(t *testing.T) {
	d := &sternfan.Drawing{
		Title: hostile, Note: hostile, Alt: hostile, Width: 100, Height: 60,
		Views: []sternfan.View{{
			ID: hostile, Title: hostile, Place: [2]float64{10, 10},
			U: sternfan.Axis{Label: hostile, From: 0, To: 60, Ticks: []sternfan.Tick{{At: 3, Text: hostile}}},
			V: sternfan.Axis{Label: hostile, From: 0, To: 30, Ticks: []sternfan.Tick{{At: 3, Text: hostile}}},
			Shapes: []sternfan.Shape{
				{Kind: sternfan.ShapeText, Class: `label" onload="x`, Text: hostile, Points: [][2]float64{{5, 5}}, Rod: hostile, Part: hostile, Alt: hostile},
				{Kind: sternfan.ShapeLine, Class: hostile, Points: [][2]float64{{5, 5}, {6, 7}}, Rod: hostile, Part: hostile, Alt: hostile},
			},
		}},
	}
	svg := rendered(t, d, SVG, Day, Size{})
	dec := xml.NewDecoder(bytes.NewReader(svg))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if el, ok := tok.(xml.StartElement); ok {
			if el.Name.Local == "script" {
				t.Fatal("a script stands in the picture")
			}
			for _, a := range el.Attr {
				if strings.HasPrefix(a.Name.Local, "on") {
					t.Fatalf("a handler stands in the picture: %v", a)
				}
			}
		}
	}
	for _, f := range []Format{PDF, PNG} {
		if len(rendered(t, d, f, Day, Size{})) == 0 {
			t.Errorf("%s: nothing", f)
		}
	}
}

func TestUnusualNamesDoNotEndTheProgram(t *testing.T) {
	for _, name := range []string{"Ø ½ ° ± — “é”", "船尾", "مرحبا", "\u0301\u0301", "👩‍👩‍👧", "\xff\xfe", strings.Repeat("long ", 400)} {
		d := &sternfan.Drawing{Title: name, Note: name, Width: 100, Height: 60, Views: []sternfan.View{{
			ID: "side", U: sternfan.Axis{To: 60}, V: sternfan.Axis{To: 30},
			Shapes: []sternfan.Shape{{Kind: sternfan.ShapeText, Class: "label", Text: name, Points: [][2]float64{{5, 5}}}},
		}}}
		for _, f := range []Format{SVG, PDF, PNG} {
			if len(rendered(t, d, f, Print, Size{})) == 0 {
				t.Errorf("%q as %s: nothing", name, f)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	line := func(points ...[2]float64) *sternfan.Drawing {
		return &sternfan.Drawing{Width: 100, Height: 60, Views: []sternfan.View{{
			ID: "side", U: sternfan.Axis{To: 60}, V: sternfan.Axis{To: 30},
			Shapes: []sternfan.Shape{{Kind: sternfan.ShapeLine, Points: points}},
		}}}
	}
	good := line([2]float64{0, 0}, [2]float64{1, 1})
	for name, c := range map[string]struct {
		d      *sternfan.Drawing
		format Format
		scheme Scheme
		size   Size
		says   string
	}{
		"not a number":   {line([2]float64{0, math.NaN()}, [2]float64{1, 1}), SVG, Day, Size{}, "not finite"},
		"infinite":       {line([2]float64{0, 0}, [2]float64{math.Inf(1), 1}), PDF, Day, Size{}, "not finite"},
		"one point":      {line([2]float64{0, 0}), PNG, Day, Size{}, "1 points"},
		"no sheet":       {&sternfan.Drawing{}, PNG, Day, Size{}, "no sheet"},
		"a tower":        {&sternfan.Drawing{Width: 1, Height: 1e9}, PNG, Day, Size{}, "too tall"},
		"no such format": {good, "gif", Day, Size{}, "svg, pdf, png"},
		"no such scheme": {good, SVG, "noon", Size{}, "day, dusk, night, print"},
		"a wall":         {good, PNG, Day, Size{Pixels: 1e9}, "pixels across"},
		"a stamp":        {good, PDF, Day, Size{Width: 1, Height: 1}, "mm"},
	} {
		var b bytes.Buffer
		err := Render(&b, c.d, c.format, c.scheme, c.size)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error that says %q", name, err, c.says)
		}
		if b.Len() > 0 {
			t.Errorf("%s: wrote %d bytes before the error", name, b.Len())
		}
	}
}

func TestFormatsByName(t *testing.T) {
	for in, want := range map[string]Format{"svg": SVG, ".PDF": PDF, "png": PNG} {
		if got, err := ParseFormat(in); err != nil || got != want {
			t.Errorf("%s: %v, %v", in, got, err)
		}
	}
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(c color.RGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func TestContrastFormula(t *testing.T) {
	// WCAG 2.2, definition of contrast ratio: black on white is 21:1; #777 on white is
	// 4.48:1 in the understanding document of success criterion 1.4.3 (rounded down).
	if got := contrast(rgb(0), rgb(0xffffff)); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white: %g", got)
	}
	if got := contrast(rgb(0x777777), rgb(0xffffff)); math.Abs(got-4.478) > 0.01 {
		t.Errorf("grey on white: %g", got)
	}
}

func TestContrast(t *testing.T) {
	for s, k := range schemes {
		want := 7.0
		if s == Night {
			want = 4.5 // red alone on black cannot reach 7:1
		}
		for name, c := range map[string]color.RGBA{"text": k.text, "quiet": k.quiet, "port": k.port, "starboard": k.starboard, "middle": k.middle, "temperature": k.temperature} {
			for under, p := range map[string]color.RGBA{"paper": k.paper, "water": k.water, "panel": k.panel} {
				if got := contrast(c, p); got < want {
					t.Errorf("%s: %s on %s is %.2f:1, want %g:1", s, name, under, got, want)
				}
			}
		}
	}
}

func TestNightSchemeIsRed(t *testing.T) {
	k := schemes[Night]
	for i, c := range []color.RGBA{k.paper, k.water, k.bottom, k.hull, k.frame, k.grid, k.surface, k.panel, k.text, k.quiet, k.port, k.starboard, k.middle, k.temperature, k.context} {
		if float64(c.G) > 0.1*255 || float64(c.B) > 0.1*255 {
			t.Errorf("color %d, %v: green or blue above a tenth", i, c)
		}
	}
}

func TestPortAndStarboardDifferWithoutColor(t *testing.T) {
	port, starboard, middle := classes{"line", "port"}, classes{"line", "starboard"}, classes{"line", "middle"}
	if len(port.dash()) != 0 || len(starboard.dash()) != 2 || len(middle.dash()) != 4 {
		t.Errorf("dashes %v, %v, %v", port.dash(), starboard.dash(), middle.dash())
	}
}

func TestDashes(t *testing.T) {
	// Around a corner: a dash of 2, a gap of 1, over 3 + 4 mm.
	got := dashed([][2]float64{{0, 0}, {3, 0}, {3, 4}}, []float64{2, 1})
	want := [][][2]float64{{{0, 0}, {2, 0}}, {{3, 0}, {3, 2}}, {{3, 3}, {3, 4}}}
	if len(got) != len(want) {
		t.Fatalf("%v", got)
	}
	for i := range want {
		if got[i][0] != want[i][0] || got[i][len(got[i])-1] != want[i][1] {
			t.Errorf("dash %d: %v, want %v", i, got[i], want[i])
		}
	}
	if whole := dashed([][2]float64{{0, 0}, {3, 0}}, nil); len(whole) != 1 || len(whole[0]) != 2 {
		t.Errorf("%v", whole)
	}
}

// The layout of package report knows letters by an estimate; here they have their true
// widths, and labels must still not overlap.
func TestLabelsDoNotOverlapInTheirTrueWidths(t *testing.T) {
	type rect struct {
		text           string
		x0, x1, y0, y1 float64
	}
	for name, d := range drawings(t) {
		s := compose(d, schemes[Day])
		var seen []rect
		for i := range s.marks {
			m := &s.marks[i]
			if m.text == "" || m.upward {
				continue
			}
			style := canvas.FontRegular
			if m.bold {
				style = canvas.FontBold
			}
			wide := family().Face(m.size*pointsMM, canvas.Black, style, canvas.FontNormal).TextWidth(m.text)
			x := m.at[0]
			switch m.anchor {
			case "middle":
				x -= wide / 2
			case "end":
				x -= wide
			}
			// Letters with tails reach a little over half their height each way.
			r := rect{m.text, x, x + wide, m.at[1] - 0.5*m.size, m.at[1] + 0.5*m.size}
			if r.x0 < 0 || r.x1 > s.wide || r.y0 < 0 || r.y1 > s.tall {
				t.Errorf("%s: %q is off the sheet: %v", name, r.text, r)
			}
			for _, q := range seen {
				if r.x0 < q.x1 && q.x0 < r.x1 && r.y0 < q.y1 && q.y0 < r.y1 {
					t.Errorf("%s: %v lies over %v", name, r, q)
				}
			}
			seen = append(seen, r)
		}
	}
}
