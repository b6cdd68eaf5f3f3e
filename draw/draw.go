// Package draw gives a drawing model ink: it renders a [sternfan.Drawing] to SVG, PDF or
// PNG in one of four schemes.
//
// The model has meters and classes, no colors and no pixels. Here classes become colors,
// widths and dashes; the sizes of letters, lines and signs are in millimeters of the
// sheet and do not change with the scale of the lake. A drawing is laid out for a sheet
// of Drawing.Sheet across, 297 mm if that is not given, so a millimeter of ink is
// Drawing.Width/Drawing.Sheet; the sheet is then fitted to the page.
//
// Port and starboard differ by color, by dash (port full, starboard dashed), by the sign
// of the lure (port square, starboard triangle) and by letter, so that every scheme can
// be read without color.
package draw

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"sternfan"
)

// Format is a file format.
type Format string

// The formats.
const (
	SVG Format = "svg"
	PDF Format = "pdf"
	PNG Format = "png"
)

// ParseFormat returns the format of a name or file extension: "svg", ".PDF".
func ParseFormat(s string) (Format, error) {
	f := Format(strings.ToLower(strings.TrimPrefix(s, ".")))
	switch f {
	case SVG, PDF, PNG:
		return f, nil
	}
	return "", fmt.Errorf("unknown picture format %.40q; formats: svg, pdf, png", s)
}

// Size is what the picture is rendered to. The zero Size is A4 landscape and 1600 pixels
// across.
type Size struct {
	Width, Height float64 // page of a PDF, mm
	Pixels        int     // across, of a PNG
}

// The pages.
var (
	A4     = Size{Width: 297, Height: 210}
	Letter = Size{Width: 279.4, Height: 215.9}

	A5Upright     = Size{Width: 148, Height: 210}
	LetterUpright = Size{Width: 215.9, Height: 279.4}
)

const (
	sheetWide   = 297.0
	pixelsWide  = 1600
	mostPixels  = 10000
	leastPixels = 100

	leastSide, mostSide = 40, 5000 // mm, of a page
)

// Render writes the drawing. An error says what is wrong with the drawing or the size;
// otherwise it is the writer's. A drawing that is not finite is refused before anything
// is written.
func Render(w io.Writer, d *sternfan.Drawing, format Format, scheme Scheme, size Size) error {
	if err := check(d); err != nil {
		return err
	}
	inks, ok := schemes[scheme]
	if !ok {
		return fmt.Errorf("unknown color scheme %.40q; schemes: day, dusk, night, print", string(scheme))
	}
	if size.Width == 0 && size.Height == 0 {
		size.Width, size.Height = A4.Width, A4.Height
	}
	if size.Pixels == 0 {
		size.Pixels = pixelsWide
	}
	for _, mm := range []float64{size.Width, size.Height} {
		if !(mm >= leastSide && mm <= mostSide) {
			return fmt.Errorf("a page of %g mm by %g mm cannot be drawn; each side is %d to %d mm", size.Width, size.Height, leastSide, mostSide)
		}
	}
	s := compose(d, inks)
	switch format {
	case SVG:
		return writeSVG(w, s)
	case PDF:
		return writePDF(w, s, size)
	case PNG:
		if size.Pixels < leastPixels || size.Pixels > mostPixels {
			return fmt.Errorf("a picture %d pixels across cannot be drawn; %d to %d can", size.Pixels, leastPixels, mostPixels)
		}
		return writePNG(w, s, size.Pixels)
	}
	_, err := ParseFormat(string(format))
	return err
}

var errNotFinite = errors.New("holds a number that is not finite")

// check refuses drawings that no renderer could make sense of.
func check(d *sternfan.Drawing) error {
	if !(d.Width > 0) || !(d.Height > 0) || math.IsInf(d.Width, 0) || math.IsInf(d.Height, 0) {
		return fmt.Errorf("a drawing of %g m by %g m has no sheet", d.Width, d.Height)
	}
	if d.Sheet != 0 && !(d.Sheet >= leastSide && d.Sheet <= mostSide) {
		return fmt.Errorf("a sheet of %g mm across cannot be drawn; %d to %d mm can", d.Sheet, leastSide, mostSide)
	}
	if d.Height > 4*d.Width {
		return fmt.Errorf("a drawing of %g m by %g m is too tall for a sheet", d.Width, d.Height)
	}
	for i := range d.Views {
		v := &d.Views[i]
		numbers := []float64{v.Place[0], v.Place[1], v.U.From, v.U.To, v.V.From, v.V.To}
		for _, a := range []*sternfan.Axis{&v.U, &v.V} {
			for _, t := range a.Ticks {
				numbers = append(numbers, t.At)
			}
		}
		for j := range v.Shapes {
			numbers = append(numbers, v.Shapes[j].Size)
			for _, p := range v.Shapes[j].Points {
				numbers = append(numbers, p[0], p[1])
			}
			if n := len(v.Shapes[j].Points); n == 0 || n < fewest(v.Shapes[j].Kind) {
				return fmt.Errorf("view %.40q, shape %d: a %s of %d points", v.ID, j, v.Shapes[j].Kind, n)
			}
		}
		for _, x := range numbers {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return fmt.Errorf("view %.40q %w", v.ID, errNotFinite)
			}
		}
	}
	return nil
}

func fewest(k sternfan.ShapeKind) int {
	switch k {
	case sternfan.ShapeLine, sternfan.ShapeBar:
		return 2
	case sternfan.ShapeArea:
		return 3
	}
	return 1
}
