package draw

import (
	"bufio"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"sync"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/pdf"
	"github.com/tdewolff/canvas/renderers/rasterizer"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"sternfan/portable"
)

const (
	baseline = 0.35 // from the middle of a line of letters down to where they stand
	haloWide = 0.8
	pointsMM = 72 / 25.4
)

// family returns the Go fonts, which are in the program.
var family = sync.OnceValue(func() *canvas.FontFamily {
	f := canvas.NewFontFamily("Go")
	f.MustLoadFont(goregular.TTF, 0, canvas.FontRegular)
	f.MustLoadFont(gobold.TTF, 0, canvas.FontBold)
	return f
})

// families are shared and a face's shaping is not safe for use by several goroutines.
var shaping sync.Mutex

// paint draws the sheet on a canvas of the page's size, fitted to its width or height
// and standing at its top.
func paint(s *sheet, wide, tall float64) *canvas.Canvas {
	c := canvas.New(wide, tall)
	ctx := canvas.NewContext(c)
	fit := math.Min(wide/s.wide, tall/s.tall)
	right := (wide - fit*s.wide) / 2
	pen := &pen{ctx: ctx, fit: fit, right: right, tall: tall}
	ctx.SetStrokeColor(canvas.Transparent)
	ctx.SetFillColor(s.paper)
	// Past the edges, so that no row of pixels is paper in part.
	ctx.DrawPath(-1, -1, canvas.Rectangle(wide+2, tall+2))
	for i := range s.marks {
		pen.mark(&s.marks[i])
	}
	return c
}

type pen struct {
	ctx              *canvas.Context
	fit, right, tall float64
}

func (p *pen) to(q [2]float64) (x, y float64) { return p.right + p.fit*q[0], p.tall - p.fit*q[1] }

func (p *pen) mark(m *mark) {
	if m.text != "" {
		p.text(m)
		return
	}
	p.ctx.SetFillColor(ink(m.fill))
	p.ctx.SetStrokeColor(ink(m.stroke))
	p.ctx.SetStrokeWidth(p.fit * m.width)
	p.ctx.SetStrokeJoiner(canvas.BevelJoin)
	path := &canvas.Path{}
	if m.circle {
		x, y := p.to(m.at)
		path = canvas.Circle(p.fit*m.radius).Translate(x, y)
	} else {
		for _, line := range dashed(m.points, m.dash) {
			for i, q := range line {
				x, y := p.to(q)
				if i == 0 {
					path.MoveTo(x, y)
				} else {
					path.LineTo(x, y)
				}
			}
		}
		if m.closed {
			path.Close()
		}
	}
	p.ctx.DrawPath(0, 0, path)
}

// dashed cuts a polyline into its dashes; without a pattern it stays whole. The library's
// own dashes leave lines whole that are shorter than a dash is wide.
func dashed(points [][2]float64, pattern []float64) [][][2]float64 {
	if len(pattern) == 0 {
		return [][][2]float64{points}
	}
	const most = 20000 // dashes; no sheet has room for more
	var out [][][2]float64
	k, left := 0, pattern[0]
	line := [][2]float64{points[0]}
	for i := 1; i < len(points) && len(out) < most; i++ {
		a, b := points[i-1], points[i]
		long := portable.Hypot(b[0]-a[0], b[1]-a[1])
		done := 0.0
		for long-done > left && len(out) < most {
			done += left
			q := [2]float64{a[0] + done/long*(b[0]-a[0]), a[1] + done/long*(b[1]-a[1])}
			if k%2 == 0 {
				out = append(out, append(line, q))
			}
			line = [][2]float64{q}
			k++
			left = pattern[k%len(pattern)]
		}
		left -= long - done
		line = append(line, b)
	}
	if k%2 == 0 && len(line) > 1 {
		out = append(out, line)
	}
	return out
}

func ink(c color.RGBA) color.RGBA {
	if c.A == 0 {
		return canvas.Transparent
	}
	return c
}

func (p *pen) text(m *mark) {
	style := canvas.FontRegular
	if m.bold {
		style = canvas.FontBold
	}
	face := family().Face(p.fit*m.size*pointsMM, m.fill, style, canvas.FontNormal)
	align := canvas.Left
	switch m.anchor {
	case "middle":
		align = canvas.Center
	case "end":
		align = canvas.Right
	}
	if m.upward {
		x, y := p.to([2]float64{m.at[0] + baseline*m.size, m.at[1]})
		p.ctx.Push()
		p.ctx.Translate(x, y)
		p.ctx.Rotate(90)
		p.ctx.DrawText(0, 0, canvas.NewTextLine(face, m.text, align))
		p.ctx.Pop()
		return
	}
	x, y := p.to([2]float64{m.at[0], m.at[1] + baseline*m.size})
	if m.halo.A > 0 {
		if outline, wide, err := face.ToPath(m.text); err == nil {
			left := x
			switch align {
			case canvas.Center:
				left -= wide / 2
			case canvas.Right:
				left -= wide
			}
			p.ctx.SetFillColor(ink(m.halo))
			p.ctx.SetStrokeColor(ink(m.halo))
			p.ctx.SetStrokeWidth(p.fit * haloWide)
			p.ctx.SetStrokeJoiner(canvas.RoundJoin)
			p.ctx.DrawPath(left, y, outline)
		}
	}
	p.ctx.DrawText(x, y, canvas.NewTextLine(face, m.text, align))
}

// writePDF writes one page with its fonts embedded.
func writePDF(w io.Writer, s *sheet, size Size) (err error) {
	shaping.Lock()
	defer shaping.Unlock()
	defer recovered(&err)
	buffered := bufio.NewWriter(w)
	doc := pdf.New(buffered, size.Width, size.Height, nil)
	doc.SetInfo(s.title, s.alt, "", "", "sternfan")
	doc.SetLang("en-US")
	paint(s, size.Width, size.Height).RenderTo(doc)
	if err := doc.Close(); err != nil {
		return fmt.Errorf("write the page: %w", err)
	}
	return buffered.Flush()
}

// writePNG writes the sheet, without a page's margins, so many pixels across.
func writePNG(w io.Writer, s *sheet, pixels int) error {
	img, err := raster(s, pixels)
	if err != nil {
		return err
	}
	enc := png.Encoder{CompressionLevel: png.BestCompression}
	return enc.Encode(w, img)
}

func raster(s *sheet, pixels int) (img image.Image, err error) {
	shaping.Lock()
	defer shaping.Unlock()
	defer recovered(&err)
	r := rasterizer.New(s.wide, s.tall, canvas.DPMM(float64(pixels)/s.wide), canvas.LinearColorSpace{})
	paint(s, s.wide, s.tall).RenderTo(r)
	r.Close()
	return r.Image, nil
}

// recovered turns a panic of the drawing library, which has them for unusual fonts and
// paths, into an error: a name in a scenario must not end the program.
func recovered(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("the drawing library failed: %v", r)
	}
}
