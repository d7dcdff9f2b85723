package charts

import (
	"image/color"
	"math"

	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"

	"quietwater/charts/typeset"
	"quietwater/i18n"
	"quietwater/model/finding"
)

// ruler measures words without drawing them. Without a typeface everything has no width, and the
// renderer says what is missing.
type ruler struct{ fonts Fonts }

func (l Look) ruler() ruler {
	return ruler{l.Fonts}
}

func (m ruler) width(text string, size float64) int {
	return int(math.Ceil(m.fonts.Extent(text, size, false).Advance - 1e-9))
}

// capHeight and descent are what stands above and hangs below a baseline.
func (m ruler) capHeight(size float64) int {
	return m.part(size, func(f *typeset.Font) float64 { return f.CapHeight })
}
func (m ruler) descent(size float64) int {
	return m.part(size, func(f *typeset.Font) float64 { return f.Descent })
}

func (m ruler) part(size float64, of func(*typeset.Font) float64) int {
	if m.fonts.Regular == nil {
		return 0
	}
	return int(math.Ceil(size * of(m.fonts.Regular)))
}

// wrap breaks words into lines no wider than limit, where single words allow it.
func (m ruler) wrap(text string, size float64, limit int) []string {
	return i18n.Lines(text, func(line string) bool { return m.width(line, size) <= limit })
}

// widest is the width of the widest line.
func (m ruler) widest(lines []string, size float64) int {
	w := 0
	for _, l := range lines {
		w = max(w, m.width(l, size))
	}
	return w
}

// lead is the distance of baselines within a label.
func lead(size float64) int { return int(math.Ceil(1.3 * size)) }

func paint(c color.RGBA) drawing.Color { return drawing.Color{R: c.R, G: c.G, B: c.B, A: c.A} }

// brush draws the shapes of our charts in one look.
type brush struct {
	chart.Renderer
	look Look
	m    ruler
}

// fill paints a rectangle, its right and lower edges not included.
func (b brush) fill(c color.RGBA, x0, y0, x1, y1 int) {
	if x1 <= x0 || y1 <= y0 {
		return
	}
	b.SetFillColor(paint(c))
	b.MoveTo(x0, y0)
	b.LineTo(x1, y0)
	b.LineTo(x1, y1)
	b.LineTo(x0, y1)
	b.Close()
	b.Fill()
}

func (b brush) pen(c color.RGBA, width float64, dash ...float64) {
	b.SetStrokeColor(paint(c))
	b.SetStrokeWidth(width)
	for i := range dash {
		dash[i] *= b.look.Size / 20
	}
	b.SetStrokeDashArray(dash)
}

// frame strokes the path around a rectangle with the pen set last.
func (b brush) frame(x0, y0, x1, y1 int) {
	b.MoveTo(x0, y0)
	b.LineTo(x1, y0)
	b.LineTo(x1, y1)
	b.LineTo(x0, y1)
	b.Close()
	b.Stroke()
}

func (b brush) line(x0, y0, x1, y1 int) {
	b.MoveTo(x0, y0)
	b.LineTo(x1, y1)
	b.Stroke()
}

// hatch strokes slanting lines, each gap pixels after the other, within a rectangle; falling ones slant
// the other way.
func (b brush) hatch(x0, y0, x1, y1, gap int, falling bool) {
	flip := func(x int) int {
		if falling {
			return x0 + x1 - x
		}
		return x
	}
	for c := x0 + y0 + gap; c < x1+y1; c += max(gap, 1) {
		b.MoveTo(flip(max(x0, c-y1)), min(y1, c-x0))
		b.LineTo(flip(min(x1, c-y0)), max(y0, c-x1))
	}
	b.Stroke()
}

// ring draws a point of a line: hollow, so that its edge is what is seen.
func (b brush) ring(x, y int, radius float64) {
	b.SetFillColor(paint(b.look.Paper))
	b.Circle(radius, x, y)
	b.FillStroke()
}

// words writes lines below each other, the first with its baseline at y, about the middle x or from x on.
func (b brush) words(c color.RGBA, size float64, lines []string, x, y int, middle bool) {
	b.SetFont(Regular)
	b.SetFontColor(paint(c))
	b.SetFontSize(size)
	for _, l := range lines {
		left := x
		if middle {
			left -= b.m.width(l, size) / 2
		}
		b.Text(l, left, y)
		y += lead(size)
	}
}

// tide draws the sign for how soon: a gauge filled from below to as many fifths as the urgency has steps,
// a wave on top and five lines to count. From today on it has an amber edge, between two of ink, of a
// width that reaches out of the box given.
func (b brush) tide(u finding.Urgency, x, y, w, h, edge int) {
	l := b.look
	steps := min(max(int(u), 0), int(finding.Emergency))
	line := max(1, int(math.Round(l.Size/20)))
	if u >= finding.Today {
		b.fill(l.Amber, x-edge, y-edge, x+w+edge, y+h+edge)
		b.pen(l.Ink, l.thin())
		b.frame(x-edge, y-edge, x+w+edge-1, y+h+edge-1)
	}
	b.fill(l.Paper, x, y, x+w, y+h)
	// The fifth line lies a little under the rim, so that all five can be seen.
	rim := y + w/3
	level := func(i int) int { return y + h - (y+h-rim)*i/int(finding.Emergency) }
	if steps == int(finding.Emergency) {
		b.fill(l.Water, x, y, x+w, y+h)
	} else if steps > 0 {
		top, swing := level(steps), max(2, w/5)
		b.SetFillColor(paint(l.Water))
		b.MoveTo(x, top)
		b.QuadCurveTo(x+w/4, top-swing, x+w/2, top)
		b.QuadCurveTo(x+w-w/4, top+swing, x+w, top)
		b.LineTo(x+w, y+h)
		b.LineTo(x, y+h)
		b.Close()
		b.Fill()
	}
	for i := 1; i <= int(finding.Emergency); i++ {
		c := l.Ink
		if i < steps || steps == int(finding.Emergency) {
			c = l.Paper
		} else if i == steps {
			continue // it would hide the wave
		}
		b.fill(c, x, level(i), x+w, level(i)+line)
	}
	b.pen(l.Ink, l.thick())
	b.frame(x, y, x+w-1, y+h-1)
}
