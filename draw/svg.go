package draw

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"strconv"
	"strings"
)

// writeSVG writes the sheet as SVG with real text, a title and description for screen
// readers, and the rod and part of every shape as data attributes.
func writeSVG(w io.Writer, s *sheet) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%smm" height="%smm" role="img" aria-label="%s" font-family="Go, Helvetica, Arial, sans-serif">`+"\n",
		coord(s.wide), coord(s.tall), coord(s.wide), coord(s.tall), escaped(s.alt))
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escaped(s.title), escaped(s.alt))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", coord(s.wide), coord(s.tall), hex(s.paper))
	group := ""
	for i := range s.marks {
		m := &s.marks[i]
		if m.group != group {
			if group != "" {
				b.WriteString("</g>\n")
			}
			group = m.group
			fmt.Fprintf(&b, `<g class="view %s">`+"\n", escaped(group))
		}
		writeMark(&b, m)
	}
	if group != "" {
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

func writeMark(b *bytes.Buffer, m *mark) {
	var attrs strings.Builder
	fmt.Fprintf(&attrs, ` class="%s"`, escaped(m.class))
	if m.rod != "" {
		fmt.Fprintf(&attrs, ` data-rod="%s"`, escaped(m.rod))
	}
	if m.part != "" {
		fmt.Fprintf(&attrs, ` data-part="%s"`, escaped(m.part))
	}
	title := ""
	if m.alt != "" {
		title = "<title>" + escaped(m.alt) + "</title>"
	}
	if m.text != "" {
		writeText(b, m, attrs.String(), title)
		return
	}
	fill := "none"
	if m.fill.A > 0 {
		fill = hex(m.fill)
	}
	fmt.Fprintf(&attrs, ` fill="%s"`, fill)
	if m.stroke.A > 0 {
		fmt.Fprintf(&attrs, ` stroke="%s" stroke-width="%s"`, hex(m.stroke), coord(m.width))
		if len(m.dash) > 0 {
			parts := make([]string, len(m.dash))
			for i, d := range m.dash {
				parts[i] = coord(d)
			}
			fmt.Fprintf(&attrs, ` stroke-dasharray="%s"`, strings.Join(parts, " "))
		}
		if !m.closed && !m.circle {
			attrs.WriteString(` stroke-linejoin="round"`)
		}
	}
	tag := ""
	switch {
	case m.circle:
		tag = "circle"
		fmt.Fprintf(&attrs, ` cx="%s" cy="%s" r="%s"`, coord(m.at[0]), coord(m.at[1]), coord(m.radius))
	default:
		tag = "polyline"
		if m.closed {
			tag = "polygon"
		}
		points := make([]string, len(m.points))
		for i, p := range m.points {
			points[i] = coord(p[0]) + "," + coord(p[1])
		}
		fmt.Fprintf(&attrs, ` points="%s"`, strings.Join(points, " "))
	}
	if title == "" {
		fmt.Fprintf(b, "<%s%s/>\n", tag, attrs.String())
		return
	}
	fmt.Fprintf(b, "<%s%s>%s</%s>\n", tag, attrs.String(), title, tag)
}

func writeText(b *bytes.Buffer, m *mark, attrs, title string) {
	x, y := m.at[0], m.at[1]+baseline*m.size
	place := fmt.Sprintf(` x="%s" y="%s"`, coord(x), coord(y))
	if m.upward {
		place = fmt.Sprintf(` transform="translate(%s %s) rotate(-90)"`, coord(m.at[0]+baseline*m.size), coord(m.at[1]))
	}
	extra := ""
	if m.anchor == "middle" || m.anchor == "end" {
		extra += ` text-anchor="` + m.anchor + `"`
	}
	if m.bold {
		extra += ` font-weight="bold"`
	}
	if m.halo.A > 0 {
		extra += fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linejoin="round" paint-order="stroke"`, hex(m.halo), coord(haloWide))
	}
	fmt.Fprintf(b, `<text%s%s font-size="%s" fill="%s"%s>%s%s</text>`+"\n", attrs, place, coord(m.size), hex(m.fill), extra, title, escaped(m.text))
}

// coord returns a length in mm to a hundredth, which no eye resolves.
func coord(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a buffer takes everything
	return b.String()
}
