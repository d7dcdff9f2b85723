package charts

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"

	"quietwater/charts/typeset"
)

// svgFamily is what a reader's machine is asked for: the face our own is made of, then ours, then any.
const svgFamily = `'Noto Sans','Quietwater Sans',sans-serif`

// SVG returns a provider that writes a chart as SVG 1.1, small and the same bytes for the same chart.
// Words stay words (<text>), placed by the measures of our own typeface; every text has the class its
// style names, or "text". Numbers have at most two decimals. A title, if not empty, names the picture to
// those who have it read to them.
func SVG(fonts Fonts, title string) chart.RendererProvider {
	return func(w, h int) (chart.Renderer, error) {
		if fonts.Regular == nil {
			return nil, errNoFont
		}
		return &svg{pen: newPen(fonts), w: max(w, 0), h: max(h, 0), title: title}, nil
	}
}

// svg writes elements. Neighbours of one style are held back and share a group, so that a thousand
// points name their colour once.
type svg struct {
	pen
	w, h  int
	title string
	body  bytes.Buffer
	style string      // of the elements held back
	held  [][2]string // each as what comes before its style, and after
}

// Save writes the whole document.
func (s *svg) Save(w io.Writer) error {
	s.release()
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" font-family="%s" stroke-linejoin="round"`,
		s.w, s.h, s.w, s.h, svgFamily)
	if s.title != "" {
		b.WriteString(` role="img"><title>` + escape(s.title) + `</title>`)
	} else {
		b.WriteString(`>`)
	}
	b.Write(s.body.Bytes())
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

// Stroke draws the lines of the path and forgets it.
func (s *svg) Stroke() { s.draw(false, true) }

// Fill fills the path and forgets it.
func (s *svg) Fill() { s.draw(true, false) }

// FillStroke fills the path, draws its lines above, and forgets it.
func (s *svg) FillStroke() { s.draw(true, true) }

// Text writes a line of words, from x on along the baseline y.
func (s *svg) Text(body string, x, y int) {
	size := s.size()
	if body = typeset.Clean(body); size == 0 || s.ink.A == 0 || !sane(x, y) || body == "" {
		return
	}
	var style []byte
	class := s.class
	if class == "" {
		class = "text"
	}
	style = attr(style, "class", escape(class))
	style = attr(style, "font-size", num(size))
	if s.bold {
		style = attr(style, "font-weight", "700")
	}
	style = colour(style, "fill", s.ink)
	open := `<text x="` + strconv.Itoa(x) + `" y="` + strconv.Itoa(y) + `"`
	if s.turned && s.turn != 0 {
		open += ` transform="rotate(` + num(chart.RadiansToDegrees(s.turn)) + " " + strconv.Itoa(x) + " " + strconv.Itoa(y) + `)"`
	}
	s.put(string(style), open, ">"+escape(body)+"</text>")
}

func (s *svg) draw(fill, stroke bool) {
	defer s.path.reset()
	fill = fill && s.fill.A > 0
	stroke = stroke && s.strokeWidth() > 0
	if !fill && !stroke {
		return
	}
	style := s.drawStyle(fill, stroke)
	if d := s.data(); d != "" {
		s.put(style, `<path d="`+d+`"`, "/>")
	}
	for _, c := range s.path.circles {
		s.put(style, `<circle cx="`+num(c.at.x)+`" cy="`+num(c.at.y)+`" r="`+num(c.r)+`"`, "/>")
	}
}

func (s *svg) drawStyle(fill, stroke bool) string {
	var b []byte
	if s.class != "" {
		b = attr(b, "class", escape(s.class))
	}
	if fill {
		b = colour(b, "fill", s.fill)
	} else {
		b = attr(b, "fill", "none")
	}
	if !stroke {
		return string(b)
	}
	b = colour(b, "stroke", s.stroke)
	b = attr(b, "stroke-width", num(s.strokeWidth()))
	dashes := s.dashes()
	if dashes != nil {
		var list []byte
		for i, d := range dashes {
			if i > 0 {
				list = append(list, ' ')
			}
			list = append(list, num(d)...)
		}
		b = attr(b, "stroke-dasharray", string(list))
	}
	if s.path.level() {
		b = attr(b, "shape-rendering", "crispEdges")
		if dashes == nil {
			b = attr(b, "stroke-linecap", "square")
		}
	}
	return string(b)
}

// data writes the lines of the path as steps from point to point.
func (s *svg) data() string {
	var b []byte
	solid := s.dashes() == nil
	for i := range s.path.lines {
		l := &s.path.lines[i]
		if solid {
			l.thin()
		}
		if len(l.pts) < 2 {
			continue
		}
		at := point{hundredths(l.pts[0].x), hundredths(l.pts[0].y)}
		b = coordinate(append(b, 'M'), at.x)
		b = coordinate(b, at.y)
		verb := byte('M')
		for _, p := range l.pts[1:] {
			to := point{hundredths(p.x), hundredths(p.y)}
			dx, dy := to.x-at.x, to.y-at.y
			at = to
			next := byte('l')
			switch {
			case dx == 0 && dy == 0:
				continue
			case dy == 0:
				next = 'h'
			case dx == 0:
				next = 'v'
			}
			if next != verb {
				b = append(b, next)
				verb = next
			}
			if next != 'v' {
				b = coordinate(b, dx)
			}
			if next != 'h' {
				b = coordinate(b, dy)
			}
		}
		if l.closed {
			b = append(b, 'z')
		}
	}
	return string(b)
}

// put holds an element back, with its style to be put between its two parts.
func (s *svg) put(style, before, after string) {
	if style != s.style {
		s.release()
		s.style = style
	}
	if n := len(s.held); n > 0 && s.held[n-1] == [2]string{before, after} && !strings.Contains(style, "opacity") {
		return // it would lie unseen under its twin
	}
	s.held = append(s.held, [2]string{before, after})
}

// release writes the elements held back.
func (s *svg) release() {
	switch len(s.held) {
	case 0:
	case 1:
		s.body.WriteString(s.held[0][0] + s.style + s.held[0][1])
	default:
		s.body.WriteString("<g" + s.style + ">")
		for _, e := range s.held {
			s.body.WriteString(e[0] + e[1])
		}
		s.body.WriteString("</g>")
	}
	s.held = s.held[:0]
}

func attr(b []byte, name, value string) []byte {
	b = append(b, ' ')
	b = append(b, name...)
	b = append(b, '=', '"')
	b = append(b, value...)
	return append(b, '"')
}

func colour(b []byte, name string, c drawing.Color) []byte {
	b = attr(b, name, fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B))
	if c.A < 0xff {
		b = attr(b, name+"-opacity", num(float64(c.A)/0xff))
	}
	return b
}

// hundredths rounds a coordinate; whole steps between rounded points never drift.
func hundredths(v float64) float64 { return math.Round(v*100) / 100 }

// num writes a number with at most two decimals.
func num(v float64) string {
	v = hundredths(v)
	if v == 0 {
		v = 0 // no minus
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// coordinate appends a number to path data, with a space only where two digits would touch.
func coordinate(b []byte, v float64) []byte {
	text := num(v)
	if n := len(b); n > 0 && text[0] != '-' && (b[n-1] >= '0' && b[n-1] <= '9') {
		b = append(b, ' ')
	}
	return append(b, text...)
}

func escape(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // a buffer takes everything
	return b.String()
}
