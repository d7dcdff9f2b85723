package print

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"sync"

	"github.com/wcharczuk/go-chart/v2/drawing"

	"quietwater/assets"
	"quietwater/charts"
)

// chartUnits is how wide a chart is laid out for paper, in the units of its
// look: its words are then about as large as the page's own.
const chartUnits = 860

// paperLook is how charts look on white paper, in grey as well.
var paperLook = sync.OnceValues(func() (charts.Look, error) {
	fonts, err := charts.ParseFonts(assets.FontRegular, assets.FontBold)
	if err != nil {
		return charts.Look{}, fmt.Errorf("reading our own typeface: %w", err)
	}
	fonts.Chinese = sync.OnceValue(func() charts.Fonts {
		han, err := charts.ParseFonts(assets.HanRegular, assets.HanBold)
		if err != nil {
			return fonts // a test reads it
		}
		return han
	})
	grey := func(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }
	return charts.Look{Paper: grey(255), Ink: grey(0), Muted: grey(70), Line: grey(120),
		Water: color.RGBA{0x0b, 0x4f, 0x6c, 255}, Soft: grey(225), Amber: color.RGBA{0x9a, 0x5b, 0x00, 255}, Fonts: fonts, Size: 20}, nil
})

// onPaper draws a chart from a corner of the page on, so many millimetres a
// unit.
type onPaper struct {
	s         *sheet
	x, y, per float64
}

func (p *onPaper) point(at [2]float64) (x, y float64) { return p.x + at[0]*p.per, p.y + at[1]*p.per }

// Shape draws lines and areas.
func (p *onPaper) Shape(s charts.Shape) {
	pdf := p.s.pdf
	var b strings.Builder
	b.WriteString("q\n")
	rgb := func(c drawing.Color, op string) {
		fmt.Fprintf(&b, "%.3g %.3g %.3g %s\n", onWhite(c.R, c.A), onWhite(c.G, c.A), onWhite(c.B, c.A), op)
	}
	if s.Fill.A > 0 {
		rgb(s.Fill, "rg")
	}
	if s.Stroke.A > 0 {
		rgb(s.Stroke, "RG")
		fmt.Fprintf(&b, "%.2f w 1 j\n", s.Width*p.per/mmPerPt)
		dashes := make([]string, len(s.Dashes))
		for i, d := range s.Dashes {
			dashes[i] = fmt.Sprintf("%.2f", d*p.per/mmPerPt)
		}
		fmt.Fprintf(&b, "[%s] 0 d\n", strings.Join(dashes, " "))
	}
	for _, piece := range s.Pieces {
		op := "m"
		for _, at := range piece.Points {
			x, y := p.point(at)
			fmt.Fprintf(&b, "%.2f %.2f %s\n", x/mmPerPt, (p.s.paper.High-y)/mmPerPt, op)
			op = "l"
		}
		if piece.Closed {
			b.WriteString("h\n")
		}
	}
	switch {
	case s.Fill.A > 0 && s.Stroke.A > 0:
		b.WriteString("B\n")
	case s.Fill.A > 0:
		b.WriteString("f\n")
	default:
		b.WriteString("S\n")
	}
	b.WriteString("Q")
	pdf.RawWriteStr(b.String())
}

// onWhite is a part of a colour over white paper: the library's transparency
// would cost an object each.
func onWhite(part, opacity uint8) float64 {
	return 1 - (1-float64(part)/255)*float64(opacity)/255
}

// Lettering sets a line of words.
func (p *onPaper) Lettering(l charts.Lettering) {
	pdf := p.s.pdf
	style := ""
	if l.Bold {
		style = "B"
	}
	x, y := p.point([2]float64{l.X, l.Y})
	text := p.s.printable(l.Text)
	p.s.setFont(style, l.Size*p.per/mmPerPt)
	r, g, b := int(255*onWhite(l.Ink.R, l.Ink.A)), int(255*onWhite(l.Ink.G, l.Ink.A)), int(255*onWhite(l.Ink.B, l.Ink.A))
	pdf.SetTextColor(r, g, b)
	pdf.SetFillColor(r, g, b) // outlines are areas
	if l.Turn != 0 {
		pdf.TransformBegin()
		pdf.TransformRotate(-l.Turn*180/math.Pi, x, y)
	}
	p.s.text(text, x, y)
	if l.Turn != 0 {
		pdf.TransformEnd()
	}
	pdf.SetTextColor(0, 0, 0)
	pdf.SetFillColor(0, 0, 0)
}
