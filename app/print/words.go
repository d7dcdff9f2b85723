package print

import (
	"fmt"
	"strings"

	"quietwater/assets"
	"quietwater/charts/typeset"
	"quietwater/i18n"
)

// The PDF library sets one sign after the other, with a font cut down to the
// signs there are. That is right for Latin, Cyrillic and Chinese. Letters that
// change with their neighbours (Devanagari) are drawn as outlines that were
// shaped, and the text itself lies under them unseen, as wide as they are, so
// that it can be searched, copied and read aloud.

const mmPerPt = 25.4 / 72

// faces are the two weights words are shaped with.
type faces struct{ regular, bold *typeset.Font }

func (s *sheet) setFont(style string, pt float64) {
	s.pdf.SetFont("body", style, pt)
	s.bold = style == "B"
}

// shape sets text in the weight chosen last. The typeface is embedded in the
// program, and a test parses it.
func (s *sheet) shape(text string) typeset.Line {
	font, data := &s.faces.regular, assets.FontRegular
	if s.bold {
		font, data = &s.faces.bold, assets.FontBold
	}
	if *font == nil {
		parsed, err := typeset.Parse(data)
		if err != nil {
			s.pdf.SetError(fmt.Errorf("reading our own typeface: %w", err))
			return typeset.Line{}
		}
		*font = parsed
	}
	return (*font).Set(text)
}

// wide is the width of a line of text in millimetres.
func (s *sheet) wide(text string) float64 {
	if !typeset.Joins(text) {
		return s.pdf.GetStringWidth(text)
	}
	pt, _ := s.pdf.GetFontSize()
	return s.shape(text).Advance * pt * mmPerPt
}

// lines breaks text for a width. A word of somebody's own that is wider than
// the column is cut.
func (s *sheet) lines(text string, width float64) []string {
	return s.broken(text, func(line string) bool { return s.wide(line) <= width })
}

// broken is lines for any way of fitting.
func (s *sheet) broken(text string, fits func(line string) bool) []string {
	var out []string
	for _, l := range i18n.Lines(text, fits) {
		for !fits(l) {
			head := i18n.Beginning(l, fits)
			if head == "" { // no room for a single letter: let it stand out
				break
			}
			out, l = append(out, head), strings.TrimPrefix(l, head)
		}
		out = append(out, l)
	}
	return out
}

// para writes text from margin to margin, in lines of a height.
func (s *sheet) para(high float64, text string) {
	for _, l := range s.lines(text, s.paper.Wide-2*s.margin) {
		s.pdf.SetX(s.margin)
		s.cell(0, high, l, "", 1, "LM")
	}
}

// cell writes one line of text into a box, as the library's CellFormat does.
func (s *sheet) cell(w, h float64, text, border string, ln int, align string) {
	if !typeset.Joins(text) {
		s.pdf.CellFormat(w, h, text, border, ln, align, false, 0, "")
		return
	}
	x := s.pdf.GetX()
	if w == 0 {
		w = s.paper.Wide - s.margin - x
	}
	s.pdf.CellFormat(w, h, "", border, 0, align, false, 0, "") // a border, and a new page where one is due
	y := s.pdf.GetY()
	left := x
	if strings.Contains(align, "C") {
		left += (w - s.wide(text)) / 2
	}
	_, size := s.pdf.GetFontSize()
	s.shaped(text, left, y+0.5*h+0.3*size) // where the library sets its baseline
	if ln == 1 {
		x, y, w = s.margin, y+h, 0
	}
	s.pdf.SetXY(x+w, y)
}

// text writes from a place on its baseline.
func (s *sheet) text(text string, x, y float64) {
	if typeset.Joins(text) {
		s.shaped(text, x, y)
		return
	}
	s.pdf.Text(x, y, text)
}

// shaped draws text from a place on its baseline.
func (s *sheet) shaped(text string, x, y float64) {
	pt, _ := s.pdf.GetFontSize()
	s.pdf.RawWriteStr(outlines(s.shape(text), x/mmPerPt, (s.paper.High-y)/mmPerPt, pt))
	plain := s.pdf.GetStringWidth(text)
	if plain == 0 { // marks alone take no room, and nobody looks for them
		return
	}
	s.pdf.SetTextRenderingMode(3) // unseen
	s.pdf.RawWriteStr(fmt.Sprintf("%.2f Tz", 100*s.wide(text)/plain))
	s.pdf.Text(x, y, text)
	s.pdf.RawWriteStr("100 Tz")
	s.pdf.SetTextRenderingMode(0)
}

// outlines is a line of text in the drawing words of PDF, from a place in
// points, y upwards. Every glyph has its own origin and whole numbers, so that
// the same letter is the same text and takes little room.
func outlines(l typeset.Line, x, y, pt float64) string {
	const unit = 1000
	var b strings.Builder
	for _, g := range l.Glyphs {
		if len(g.Outline) == 0 {
			continue
		}
		fmt.Fprintf(&b, "q %g 0 0 %g %.2f %.2f cm\n", pt/unit, pt/unit, x+g.X*pt, y-g.Y*pt)
		var at typeset.Point
		put := func(op string, points ...typeset.Point) {
			for _, p := range points {
				fmt.Fprintf(&b, "%.0f %.0f ", p.X*unit, -p.Y*unit)
			}
			b.WriteString(op + "\n")
			at = points[len(points)-1]
		}
		for _, c := range g.Outline {
			switch c.Op {
			case typeset.Move:
				put("m", c.P[0])
			case typeset.Straight:
				put("l", c.P[0])
			case typeset.Quad: // PDF knows only cubic curves
				put("c", toward(at, c.P[0]), toward(c.P[1], c.P[0]), c.P[1])
			case typeset.Cube:
				put("c", c.P[0], c.P[1], c.P[2])
			}
		}
		b.WriteString("f Q\n")
	}
	return b.String()
}

// toward is two thirds of the way.
func toward(from, to typeset.Point) typeset.Point {
	return typeset.Point{X: from.X + (to.X-from.X)*2/3, Y: from.Y + (to.Y-from.Y)*2/3}
}
